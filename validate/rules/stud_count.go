package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/tables"
)

var studCount = Rule{
	Name: "stud-count", Section: "DC, static",
	Asks:     "Do no more than four lugs sit on one stud?",
	Why:      "a tall stack loosens, and the lug on top carries its current through all the others",
	Severity: "warning",
	Source:   "E-11 11.14.6.9: at most four terminals on one stud",
	Quiet:    "`studs` of them count; a battery post, a stud and a named terminal are one; a bus or block that does not say how many it has is not checked above four",
	Bad: `
fitout: 1
parts:
  BN: {kind: stud, title: Negative}
  C1: {kind: block, title: One}
  C2: {kind: block, title: Two}
  C3: {kind: block, title: Three}
  C4: {kind: block, title: Four}
  C5: {kind: block, title: Five}
wires:
  - {id: 1, from: BN, to: C1, size: 2.5 mm2, length: 1 m}
  - {id: 2, from: BN, to: C2, size: 2.5 mm2, length: 1 m}
  - {id: 3, from: BN, to: C3, size: 2.5 mm2, length: 1 m}
  - {id: 4, from: BN, to: C4, size: 2.5 mm2, length: 1 m}
  - {id: 5, from: BN, to: C5, size: 2.5 mm2, length: 1 m}
`,
	Good: `
fitout: 1
parts:
  BN: {kind: stud, title: Negative}
  C1: {kind: block, title: One}
  C2: {kind: block, title: Two}
  C3: {kind: block, title: Three}
  C4: {kind: block, title: Four}
wires:
  - {id: 1, from: BN, to: C1, size: 2.5 mm2, length: 1 m}
  - {id: 2, from: BN, to: C2, size: 2.5 mm2, length: 1 m}
  - {id: 3, from: BN, to: C3, size: 2.5 mm2, length: 1 m}
  - {id: 4, from: BN, to: C4, size: 2.5 mm2, length: 1 m}
`,
	Check: checkStudCount,
}

// lug is one terminal with the conductors on it.
type lug struct {
	part     *schema.Part
	terminal string
	wires    []*schema.Wire
	count    int
}

func checkStudCount(c *Context) {
	lugs, order := map[schema.End]*lug{}, []*lug{}
	for _, w := range c.Boat.Wires {
		if w.Prepared || w.Implied || c.Net.WireEdge[w] < 0 {
			continue
		}
		for _, end := range []schema.End{w.From, w.To} {
			// An earth conductor's lug takes its place on the negative stud too.
			if t, ok := end.Part.Terminal(end.Terminal); !ok || t.Medium != schema.DC {
				continue
			}
			key := schema.End{Part: end.Part, Terminal: end.Terminal}
			l := lugs[key]
			if l == nil {
				l = &lug{part: end.Part, terminal: end.Terminal}
				lugs[key] = l
				order = append(order, l)
			}
			l.wires = append(l.wires, w)
			l.count += max(1, w.Parallel.Or(1))
		}
	}
	for _, l := range order {
		c.Looked("stud-count")
		if l.count > tables.StudLugs {
			c.judgeStud(l)
		}
	}
}

func (c *Context) judgeStud(l *lug) {
	studs, known := studsOf(l)
	if !known {
		c.Missing("stud-count", "studs of "+l.part.ID, l.part.At, l.part.ID)
		return
	}
	limit := tables.StudLugs * studs
	if l.count <= limit {
		return
	}
	name := schema.End{Part: l.part, Terminal: l.terminal}.String()
	where := "one stud"
	if studs > 1 {
		where = fmt.Sprintf("%d studs", studs)
	}
	c.Add(diag.Finding{Rule: "stud-count", Severity: diag.Warning, Span: l.part.At, At: []string{l.wires[len(l.wires)-1].Ref(), l.part.ID},
		Message: fmt.Sprintf("%s holds %d lugs on %s; %d are allowed", name, l.count, where, limit),
		Risk:    "a tall stack loosens and heats",
		Do:      "move some to a bus or a further stud joined by a strap",
		Source:  "E-11 11.14.6.9",
		Value:   diag.Figure(float64(l.count)), Limit: diag.Figure(float64(limit)), Unit: "lugs"})
}

// studsOf returns how many studs a terminal stands for: a numbered or named one
// is one; the joint of a bar has as many as the file says.
func studsOf(l *lug) (int, bool) {
	p := l.part
	bar := p.Roles().Any(schema.Distribution | schema.Grounding | schema.Bonding)
	named := l.terminal != ""
	if p.Is(schema.Panel) {
		named = l.terminal != "-"
	}
	if !bar || named && !p.Is(schema.Panel) || named && p.Is(schema.Panel) {
		return 1, true
	}
	if n := p.Count("studs"); n.Given() {
		return max(1, n.V), true
	}
	if a := p.Kind.Attr("studs"); a != nil && a.Default == "1" {
		return 1, true
	}
	return 0, false
}
