package rules

import (
	"fmt"
	"slices"

	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// floodGroup is floods of one cause: one inside opening, reached by one last
// way, from one or several sea openings.
type floodGroup struct {
	survey.Flood
	hulls []*trace.Mouth
}

// floodsOf groups the floods of a type that stand for a rule.
func (c *Context) floodsOf(want func(*survey.Flood) bool) []*floodGroup {
	type key struct {
		inside *trace.Mouth
		way    int
		shut   bool
	}
	index := map[key]*floodGroup{}
	var out []*floodGroup
	for i := range c.Floods().List {
		f := &c.Floods().List[i]
		if !want(f) {
			continue
		}
		k := key{f.Inside, -1, len(f.Shut) > 0}
		if n := len(f.Path); n > 0 {
			k.way = f.Path[n-1].Way
		}
		g := index[k]
		if g == nil {
			g = &floodGroup{Flood: *f}
			index[k] = g
			out = append(out, g)
		} else if f.Worst.Upright() && !g.Worst.Upright() || f.Worst.Upright() == g.Worst.Upright() && f.Depth > g.Depth {
			g.Flood = *f
		}
		g.hulls = append(g.hulls, f.Sea)
	}
	return out
}

// doubtsOf reports the judgements of a rule that could not be made.
func (c *Context) doubtsOf(rule string, want func(*survey.Doubt) bool) {
	for i := range c.Floods().Doubts {
		if d := &c.Floods().Doubts[i]; want(d) {
			c.lacks(rule, d.Missing, d.Sea.ID(), d.Inside.ID())
		}
	}
}

// byGravity reports whether a flood by gravity is to be told: what runs back
// through a bilge pump only when the boat heels is that pump's discharge, which
// bilge-discharge-low judges.
func (c *Context) byGravity(f *survey.Flood) bool {
	return f.Type == survey.Gravity && (f.Worst.Upright() || !bilgeWay(c.Sea(), f.Path))
}

// gravityDoubt likewise.
func (c *Context) gravityDoubt(d *survey.Doubt) bool {
	return d.Type == survey.Gravity && !bilgeWay(c.Sea(), d.Path)
}

func (c *Context) addGravity(rule string, g *floodGroup) {
	var hulls []string
	for _, m := range g.hulls {
		if !slices.Contains(hulls, m.ID()) {
			hulls = append(hulls, m.ID())
		}
	}
	how := attitudeWords(g.Worst, g.Attitudes)
	f := diag.Finding{
		Rule: rule, Severity: diag.Error, Span: g.Inside.Span(), Attitude: g.Worst.String(),
		At: floodIDs(c.Sea(), g, hulls), Value: diag.Figure(-g.Depth), Limit: diag.Figure(0.0), Unit: "m",
		Message: fmt.Sprintf("%s, the sea runs in through %s to %s, which lies %s; no crest on the way stands above it",
			how, named(hulls), mouthWords(g.Inside), againstSea(-g.Depth)),
		Risk: "the boat fills until the level inside is that outside",
		Do: fmt.Sprintf("bring a vented loop into the line, at least %s above the sea in every attitude; or put the opening higher, or keep the seacock shut and write so",
			tall(ventMargin())),
		Source: "water finds its level; " + c.heelSource(),
	}
	if len(g.Shut) > 0 {
		c.onlyOpened(&f, g)
	}
	c.Add(f)
}

// onlyOpened turns a flood whose valve stands shut whenever people are aboard
// into a note.
func (c *Context) onlyOpened(f *diag.Finding, g *floodGroup) {
	f.Severity = diag.Note
	f.Message += fmt.Sprintf("; %s stands shut in every condition with people aboard and keeps it out", named(partIDs(g.Shut)))
	f.Do = "keep " + named(partIDs(g.Shut)) + " shut: the card for leaving the boat says so"
}

// floodIDs names the hoses of the way, the openings, then what lies between.
func floodIDs(sea *trace.Sea, g *floodGroup, hulls []string) []string {
	var ids []string
	path := pathIDs(sea, g.Path)
	add := func(id string) {
		if !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	for _, st := range g.Path {
		if st.Way >= 0 && sea.Ways[st.Way].Hose != nil && !sea.Ways[st.Way].Hose.Implied {
			add(sea.Ways[st.Way].Hose.ID)
		}
	}
	for _, h := range hulls {
		add(h)
	}
	add(g.Inside.ID())
	for _, id := range path {
		add(id)
	}
	return ids
}
