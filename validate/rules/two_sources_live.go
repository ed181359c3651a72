package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var twoSourcesLive = Rule{
	Name: "two-sources-live", Section: "Shore power, static",
	Asks:     "Is there no position in which two AC sources feed one conductor, and does every change-over part the neutrals too?",
	Why:      "two sources out of step burn each other; a dead plug ashore becomes live at its pins",
	Severity: "error",
	Source:   "E-11 11.5.5.6.1 and 11.5.5.6.2; 67 failures of this kind in one national scheme's count",
	Quiet:    "a selector is in one position at a time; an inverter-charger's own transfer relay parts shore and inverter",
	Bad: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  RC1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  GE1: {kind: generator, fuel: diesel, power: 3 kW, volts: 230 V, neutral-bond: always, self-limiting: yes, rating: 13 A}
  AB1: {kind: ac-breaker, title: Generator, rating: 16 A, space: cabin}
  TS: {kind: selector-ac, title: Shore or generator, rating: 32 A, breaks: live, space: cabin}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
wires:
  - {id: 70, path: [SI, RC1.in], cable: 3 core 2.5 mm2, length: 1 m}
  - {id: 71, from: RC1.out, to: TS.1, cable: 3 core 2.5 mm2, length: 1 m}
  - {id: 72, path: [GE1, AB1.in], cable: 3 core 2.5 mm2, length: 0.15 m}
  - {id: 73, from: AB1.out, to: TS.2, cable: 3 core 2.5 mm2, length: 1 m}
  - {id: 74, from: TS, to: HE1, cable: 3 core 2.5 mm2, length: 2 m}
`,
	Good: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  RC1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  GE1: {kind: generator, fuel: diesel, power: 3 kW, volts: 230 V, neutral-bond: always, self-limiting: yes, rating: 13 A}
  AB1: {kind: ac-breaker, title: Generator, rating: 16 A, space: cabin}
  TS: {kind: selector-ac, title: Shore or generator, rating: 32 A, breaks: both, space: cabin}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
wires:
  - {id: 70, path: [SI, RC1.in], cable: 3 core 2.5 mm2, length: 1 m}
  - {id: 71, from: RC1.out, to: TS.1, cable: 3 core 2.5 mm2, length: 1 m}
  - {id: 72, path: [GE1, AB1.in], cable: 3 core 2.5 mm2, length: 0.15 m}
  - {id: 73, from: AB1.out, to: TS.2, cable: 3 core 2.5 mm2, length: 1 m}
  - {id: 74, from: TS, to: HE1, cable: 3 core 2.5 mm2, length: 2 m}
`,
	Check: checkTwoSourcesLive,
}

// feeding knows which AC sources can meet, and by what.
type feeding struct {
	*Context
	g        *survey.Groups // conductors and devices alone
	contacts map[int][]*trace.Edge
}

func newFeeding(c *Context) *feeding {
	f := &feeding{Context: c, contacts: map[int][]*trace.Edge{}}
	f.g = c.Groups(func(e *trace.Edge) bool { return acPasses(e) && e.Type != trace.Contact })
	c.eachEdge(trace.Contact, schema.AC, func(_ int, e *trace.Edge) {
		if survey.Bond(e) {
			return
		}
		a, b := f.g.Of(e.A), f.g.Of(e.B)
		if a != b {
			f.contacts[a] = append(f.contacts[a], e)
			f.contacts[b] = append(f.contacts[b], e)
		}
	})
	return f
}

// meet looks for a setting of the contacts that joins two joints: no part in two
// positions at once, and no transfer relay of one of the two sources themselves.
func (f *feeding) meet(from, to int, not [2]*schema.Part) (set map[*schema.Part]string, ok bool) {
	set = map[*schema.Part]string{}
	seen := map[int]bool{}
	var walk func(g, steps int) bool
	walk = func(g, steps int) bool {
		if g == f.g.Of(to) {
			return true
		}
		if steps == 0 || seen[g] {
			return false
		}
		seen[g] = true
		defer delete(seen, g)
		for _, e := range f.contacts[g] {
			if transfers(e) && (e.Part == not[0] || e.Part == not[1]) {
				continue
			}
			at := e.Branch.Contact.MakesIn[0]
			have, moved := set[e.Part]
			if moved && have != at {
				continue
			}
			set[e.Part] = at
			next := f.g.Of(e.A)
			if next == g {
				next = f.g.Of(e.B)
			}
			if walk(next, steps-1) {
				return true
			}
			if !moved {
				delete(set, e.Part)
			}
		}
		return false
	}
	return set, walk(f.g.Of(from), 12)
}

func checkTwoSourcesLive(c *Context) {
	sources := c.acSources()
	if len(sources) < 2 {
		return
	}
	f := newFeeding(c)
	spoken := map[int]bool{}
	for i, a := range sources {
		for _, b := range sources[i+1:] {
			c.Looked("two-sources-live")
			f.judgePair(a, b, spoken)
		}
	}
}

// neutralsMeet reports two sources whose neutrals are one in some position while
// their lines never are, with the parts that must stand so.
func (f *feeding) neutralsMeet(a, b acSource) (set map[*schema.Part]string, ok bool) {
	if f.g.Same(a.l, b.l) {
		return nil, false
	}
	return f.meet(a.n, b.n, [2]*schema.Part{a.part, b.part})
}

const idleNeutral = "the neutral of the idle source carries current, and its bond puts the other's neutral on earth"

// movers lists what a setting moves, in order of the file, and words it.
func (f *feeding) movers(set map[*schema.Part]string) (list []*schema.Part, words string) {
	for _, p := range f.Boat.Parts {
		if to, in := set[p]; in {
			list = append(list, p)
			words = fmt.Sprintf("with %s in position %s", p.ID, to)
		}
	}
	return list, words
}

func (f *feeding) judgePair(a, b acSource, spoken map[int]bool) {
	at := appendNew(f.at(a.part, a.l), f.at(b.part, b.l)...)
	set, ok := f.meet(a.l, b.l, [2]*schema.Part{a.part, b.part})
	if ok {
		key := f.g.Of(a.l)
		if len(set) == 0 && spoken[key] {
			return
		}
		spoken[key] = true
		movers, position := f.movers(set)
		if position == "" {
			position = "in every position"
		}
		f.Add(diag.Finding{Rule: "two-sources-live", Severity: diag.Error, Span: b.part.At, At: appendNew(at, ids(movers)...),
			Message: fmt.Sprintf("%s and %s can feed the same conductors, %s", a.part.ID, b.part.ID, position),
			Risk:    "two sources out of step burn each other, and a plug pulled ashore is live at its pins",
			Do:      "fit a change-over that opens line and neutral of one before it closes the other" + licensed,
			Source:  "E-11 11.5.5.6.1"})
		return
	}
	set, ok = f.neutralsMeet(a, b)
	if !ok {
		return
	}
	movers, position := f.movers(set)
	at = appendNew(at, ids(movers)...)
	if position != "" {
		position = ", " + position
	}
	message := fmt.Sprintf("the change-over between %s and %s leaves their neutrals joined", a.part.ID, b.part.ID)
	source := "E-11 11.5.5.6.1"
	if a.shore && b.shore {
		message, source = fmt.Sprintf("the neutrals of the shore inlets %s and %s are joined", a.part.ID, b.part.ID), "E-11 11.5.5.6.2"
	}
	message += position
	for i := range f.found { // a third source on the same neutral is no second cause
		if have := &f.found[i]; have.Rule == "two-sources-live" && have.Risk == idleNeutral && (slices.Contains(have.At, a.part.ID) || slices.Contains(have.At, b.part.ID)) {
			have.At = appendNew(have.At, at...)
			return
		}
	}
	path := f.Path(a.n, b.n, func(e *trace.Edge) bool { return acPasses(e) && e.Type != trace.Contact })
	f.Add(diag.Finding{Rule: "two-sources-live", Severity: diag.Error, Span: b.part.At, At: appendNew(at, refs(path)...),
		Message: message,
		Risk:    idleNeutral,
		Do:      "let the change-over open the neutral too" + licensed,
		Source:  source})
}
