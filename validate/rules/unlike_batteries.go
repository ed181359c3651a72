package rules

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var unlikeBatteries = Rule{
	Name: "unlike-batteries", Section: "DC, static",
	Asks:     "Are batteries that are joined in parallel or series of one chemistry, voltage, capacity and age?",
	Why:      "the stronger pushes current into the weaker, and no charging voltage suits both",
	Severity: "error for chemistry and voltage, at rest or when a relay closes by itself; warning in a position a person can set; warning for capacity and age",
	Source:   "makers' rule; trade reference; common practice, no source",
	Quiet:    "an emergency switch that stands open may join lead and lithium of one nominal voltage for a start; a combining relay may join lead batteries of two kinds while they charge; capacity and age count only where batteries are joined for good",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 300 A}
  B2: {kind: battery, chemistry: gel, volts: 12 V, capacity: 100 Ah, cranking: 300 A}
  F1: {kind: fuse, title: One, family: class-t, rating: 40 A, space: cabin}
  F2: {kind: fuse, title: Two, family: class-t, rating: 40 A, space: cabin}
  BP: {kind: bus, title: Positive}
  BN: {kind: bus, title: Negative}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, BP], size: 25 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 2, path: [B2.+, F2, BP], size: 25 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 3, from: B1.-, to: BN, size: 25 mm2, length: 0.5 m}
  - {id: 4, from: B2.-, to: BN, size: 25 mm2, length: 0.5 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 300 A}
  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 300 A}
  F1: {kind: fuse, title: One, family: class-t, rating: 40 A, space: cabin}
  F2: {kind: fuse, title: Two, family: class-t, rating: 40 A, space: cabin}
  BP: {kind: bus, title: Positive}
  BN: {kind: bus, title: Negative}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, BP], size: 25 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 2, path: [B2.+, F2, BP], size: 25 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 3, from: B1.-, to: BN, size: 25 mm2, length: 0.5 m}
  - {id: 4, from: B2.-, to: BN, size: 25 mm2, length: 0.5 m}
`,
	Check: checkUnlikeBatteries,
}

// strings of batteries that a state joins: positives together, or the positive of
// one on the negative of another.
func (c *Context) joinedBatteries(st *survey.State) [][]*trace.Edge {
	var all []*trace.Edge
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) { all = append(all, e) })
	set := map[int]int{} // group of a post to number in all
	parent := make([]int, len(all))
	var find func(int) int
	find = func(i int) int {
		if parent[i] != i {
			parent[i] = find(parent[i])
		}
		return parent[i]
	}
	for i := range all {
		parent[i] = i
	}
	for i, e := range all {
		for _, post := range []int{e.A, e.B} {
			if c.Net.Nodes[post].Grounded || st.Same(e.A, e.B) {
				continue
			}
			g := st.Of(post)
			if j, ok := set[g]; ok {
				parent[find(i)] = find(j)
			} else {
				set[g] = i
			}
		}
	}
	var out [][]*trace.Edge
	at := map[int]int{}
	for i, e := range all {
		r := find(i)
		k, ok := at[r]
		if !ok {
			k = len(out)
			at[r] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], e)
	}
	return out
}

func checkUnlikeBatteries(c *Context) {
	known := map[string]bool{}
	c.eachPosition(func(st *survey.State, at position, report bool) int {
		fresh := 0
		clash := map[*schema.Part]bool{}
		for _, l := range st.Loops {
			clash[l.Edge.Part] = c.isMismatch(l)
			key := "volts " + l.Edge.Part.ID
			if !c.isMismatch(l) || known[key] {
				continue
			}
			fresh++
			if report {
				known[key] = true
				c.unlikeVolts(st, at, l)
			}
		}
		for _, bank := range c.joinedBatteries(st) {
			if at.words == "" && report {
				c.Looked("unlike-batteries")
			}
			if len(bank) < 2 {
				continue
			}
			key := bankKey(bank)
			if known[key] {
				continue
			}
			if report {
				known[key] = true
			}
			if c.unlikeBank(at, bank, report, known, clash) {
				fresh++
			}
		}
		return fresh
	})
}

func bankKey(bank []*trace.Edge) string {
	var names []string
	for _, e := range bank {
		names = append(names, e.Part.ID)
	}
	return strings.Join(names, "+")
}

func parts(edges []*trace.Edge) []*schema.Part {
	var out []*schema.Part
	for _, e := range edges {
		out = append(out, e.Part)
	}
	return out
}

func (c *Context) unlikeVolts(st *survey.State, at position, l survey.Loop) {
	names := []string{l.Edge.Part.ID}
	if other := c.acrossFrom(st, l.Edge); other != nil {
		names = append(names, other.ID)
	}
	v := l.Edge.Part.Volts("volts").V
	where := append(c.at(l.Edge.Part, l.Edge.A), names[1:]...)
	c.Add(diag.Finding{Rule: "unlike-batteries", Severity: at.severity(), Span: l.Edge.Part.At, At: append(where, ids(at.parts)...),
		Message: fmt.Sprintf("%s of %s stands in parallel with %s%s", l.Edge.Part.ID, v, l.Other, at.with()),
		Risk:    "the higher voltage drives its whole short-circuit current into the lower",
		Do:      "part them, or join them through a converter",
		Source:  "volts summed along the batteries; common practice, no source",
		Value:   diag.Figure(l.Other), Limit: diag.Figure(v), Unit: "V"})
}

// unlikeBank compares the batteries of one bank and reports whether a finding
// holds.
func (c *Context) unlikeBank(at position, bank []*trace.Edge, report bool, known map[string]bool, clash map[*schema.Part]bool) bool {
	first := bank[0].Part
	for _, e := range bank {
		if !e.Part.Word("chemistry").Given() {
			if report {
				c.Missing("unlike-batteries", "chemistry of "+e.Part.ID, e.Part.At, e.Part.ID)
			}
			return false
		}
	}
	what, severity := "", at.severity()
	for _, e := range bank[1:] {
		a, b := first.Word("chemistry").V, e.Part.Word("chemistry").V
		if a != b && !quietMix(at, a, b) && !known["mix "+first.ID+"+"+e.Part.ID] {
			what = fmt.Sprintf("chemistries (%s and %s)", a, b)
			if report {
				known["mix "+first.ID+"+"+e.Part.ID] = true
			}
			break
		}
	}
	if what == "" && !slices.ContainsFunc(bank, func(e *trace.Edge) bool { return clash[e.Part] }) {
		what = c.unlikeString(bank)
	}
	if what == "" && at.words == "" {
		what, severity = c.unlikeSize(bank, report), diag.Warning
	}
	if what == "" || !report {
		return what != ""
	}
	where := c.at(first, bank[0].A)
	for _, id := range append(ids(parts(bank)), ids(at.parts)...) {
		if !slices.Contains(where, id) {
			where = append(where, id)
		}
	}
	c.Add(diag.Finding{Rule: "unlike-batteries", Severity: severity, Span: first.At, At: where,
		Message: fmt.Sprintf("%s are joined%s and have unlike %s", list(ids(parts(bank))), at.with(), what),
		Risk:    "the stronger pushes current into the weaker; no charging voltage suits both, and the weaker fails early",
		Do:      "use batteries of one kind, size and age, or part them by a converter",
		Source:  "makers' rule; common practice, no source"})
	return true
}

// unlikeString finds two batteries of unlike nominal voltage in one string of a bank
// whose other batteries are alike: a string of unlike ones is charged wrong in each.
func (c *Context) unlikeString(bank []*trace.Edge) string {
	g := c.Groups(func(e *trace.Edge) bool {
		return e.Medium == schema.DC && (e.Type == trace.Device || survey.Setting(nil).Passes(e))
	})
	for _, low := range bank {
		for _, up := range bank {
			a, b := low.Part.Volts("volts").V, up.Part.Volts("volts").V
			if low != up && g.Same(low.A, up.B) && a > 0 && b > 0 && !survey.SameNominal(a, b) {
				return fmt.Sprintf("voltages in series (%s of %s and %s of %s)", low.Part.ID, a, up.Part.ID, b)
			}
		}
	}
	return ""
}

// quietMix: an emergency switch joins what it must for a start, and a combining
// relay joins lead batteries while they charge.
func quietMix(at position, a, b string) bool {
	if at.words == "" {
		return false
	}
	lead := a != "lfp" && b != "lfp"
	return !at.selector && !at.automatic || at.automatic && lead
}

// unlikeSize compares capacity and age; the differences that count are judgement.
func (c *Context) unlikeSize(bank []*trace.Edge, report bool) string {
	least, most := 0.0, 0.0
	var oldest, newest time.Time
	for _, e := range bank {
		p := e.Part
		ah := float64(p.AmpHours("capacity").V)
		if w := p.WattHours("capacity"); w.Given() && p.Volts("volts").V > 0 {
			ah = float64(w.V) / float64(p.Volts("volts").V)
		}
		if ah == 0 {
			if report {
				c.Missing("unlike-batteries", "capacity of "+p.ID, p.At, p.ID)
			}
			continue
		}
		if least == 0 || ah < least {
			least = ah
		}
		most = max(most, ah)
		if d, err := time.Parse("2006-01-02", p.Word("fitted").V); err == nil {
			if oldest.IsZero() || d.Before(oldest) {
				oldest = d
			}
			if d.After(newest) {
				newest = d
			}
		}
	}
	switch {
	case most > least*1.05:
		return fmt.Sprintf("capacities (%.4g Ah and %.4g Ah)", least, most)
	case newest.After(oldest.AddDate(1, 0, 0)):
		return fmt.Sprintf("ages (fitted %s and %s)", oldest.Format("2006-01-02"), newest.Format("2006-01-02"))
	}
	return ""
}
