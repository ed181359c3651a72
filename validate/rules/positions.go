package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// position is one way in which contacts can stand otherwise than at rest.
type position struct {
	set survey.Setting
	// words name it: "with S3 closed"; empty at rest.
	words     string
	parts     []*schema.Part
	automatic bool // no person sets it: it comes about by itself
	selector  bool // a position of a selector
}

// severity is that of a finding which is an error at rest.
func (p position) severity() diag.Severity {
	if p.words == "" || p.automatic {
		return diag.Error
	}
	return diag.Warning
}

// with ends a message with the position.
func (p position) with() string {
	if p.words == "" {
		return ""
	}
	return " " + p.words
}

// mover is a part whose contacts can stand otherwise.
type mover struct {
	part      *schema.Part
	positions []string // other than its usual one
	automatic bool
	selector  bool
}

// movers lists parts with contacts that close in some other position, in order of
// the net. Opening a contact joins nothing, so such positions are left out.
func (c *Context) movers(m schema.Medium) []mover {
	var list []mover
	index := map[*schema.Part]int{}
	c.eachEdge(trace.Contact, m, func(_ int, e *trace.Edge) {
		ct := e.Branch.Contact
		if ct.Bond {
			return
		}
		for _, at := range ct.MakesIn {
			if slices.Contains(ct.MakesIn, ct.Position) && !ct.Exclusive || at == ct.Position {
				continue
			}
			i, ok := index[e.Part]
			if !ok {
				i = len(list)
				index[e.Part] = i
				list = append(list, mover{part: e.Part, automatic: ct.Automatic, selector: ct.Exclusive})
			}
			if !slices.Contains(list[i].positions, at) {
				list[i].positions = append(list[i].positions, at)
			}
		}
	})
	return list
}

func (m mover) position(at string) position {
	words := fmt.Sprintf("with %s in position %s", m.part.ID, at)
	if at == "closed" {
		words = fmt.Sprintf("with %s closed", m.part.ID)
		if m.automatic {
			words = fmt.Sprintf("when %s closes", m.part.ID)
		}
	}
	return position{set: survey.Setting{m.part: at}, words: words, parts: []*schema.Part{m.part}, automatic: m.automatic, selector: m.selector}
}

// fewMovers bounds the pairs of contacts that are tried.
const fewMovers = 24

// eachPosition judges the boat at rest, then in every position that differs by
// one part, and, where that can matter and is cheap, by two. judge returns how
// many troubles it met that it had not met before. Positions are first tried all
// together: what then shows nothing new is not tried singly.
func (c *Context) eachPosition(judge func(st *survey.State, at position, report bool) int) {
	judge(c.AtRest(), position{}, true)
	movers := c.movers(schema.DC)
	if len(movers) == 0 {
		return
	}
	if len(movers) > fewMovers && !c.anyTrouble(movers, judge) {
		return
	}
	clean := true
	for _, m := range movers {
		for _, at := range m.positions {
			p := m.position(at)
			clean = judge(c.State(p.set), p, true) == 0 && clean
		}
	}
	if !clean || len(movers) < 2 || len(movers) > fewMovers {
		return
	}
	for i, a := range movers {
		for _, b := range movers[i+1:] {
			for _, x := range a.positions {
				for _, y := range b.positions {
					p := a.position(x)
					p.set = survey.Setting{a.part: x, b.part: y}
					p.words += " and " + b.position(y).words[len("with "):]
					if b.automatic && y == "closed" {
						p.words = a.position(x).words + " and " + b.part.ID + " closed"
					}
					p.parts = append(p.parts, b.part)
					p.automatic = a.automatic && b.automatic
					judge(c.State(p.set), p, true)
				}
			}
		}
	}
}

// anyTrouble tries all positions together: every part in its first other
// position, then every part in its second, and so on.
func (c *Context) anyTrouble(movers []mover, judge func(*survey.State, position, bool) int) bool {
	for k := 0; k < 3; k++ {
		set := survey.Setting{}
		for _, m := range movers {
			if k < len(m.positions) {
				set[m.part] = m.positions[k]
			} else if k > 0 {
				set[m.part] = m.positions[0]
			}
		}
		if judge(c.State(set), position{set: set}, false) > 0 {
			return true
		}
	}
	return false
}
