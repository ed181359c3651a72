package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// What the solved rules ask of mains circuits: the same questions as on DC, of the
// currents that the loads take from shore power, a generator, an inverter or a
// transformer.

// eachAC visits every condition's AC system, then each load on its own on every
// source and in every position of the selectors.
func (c *Context) eachAC(visit func(*survey.ACState)) {
	for _, cond := range c.Conditions() {
		if st := c.AC(cond); st != nil {
			visit(st)
		}
	}
	for _, st := range c.ACAlone() {
		visit(st)
	}
}

// lackAC reports the data without which a condition's AC currents are too small,
// and names what was assumed.
func (c *Context) lackAC() {
	for _, cond := range c.Conditions() {
		st := c.AC(cond)
		if st == nil {
			continue
		}
		for _, g := range st.Missing {
			c.Missing("", g.What, g.At, g.IDs...)
		}
		for _, u := range st.Used {
			c.Default(u.At, u.What, u.Value, u.Source)
		}
	}
}

// acWorst is the greatest current of an AC edge over the states.
type acWorst struct {
	survey.ACEdge
	st *survey.ACState
}

// when words the state of a figure.
func (x acWorst) when() string { return acWhen(x.st, x.Feed, x.Load) }

func acWhen(st *survey.ACState, f *survey.ACFeed, l *survey.ACLoad) string {
	if st.Condition != nil {
		return conditionText(st.Condition)
	}
	text := "on " + f.Source.Part.ID
	if st.Position != "" {
		text += ", " + st.Position
	}
	if l != nil {
		text += ", with " + l.Part.ID + " alone"
	}
	return text
}

// worstAC finds the state in which an AC edge carries most, the first of equals.
// asked weighs the current: as it stands, or with its lasting part counted more.
func (c *Context) worstAC(id int, asked func(survey.ACEdge) unit.Amp) (worst acWorst, hidden string) {
	most := unit.Amp(0)
	c.eachAC(func(st *survey.ACState) {
		x, missing := st.Edge(id)
		if missing != "" {
			hidden = missing
			return
		}
		if a := asked(x); a > most*(1+1e-9) {
			most, worst = a, acWorst{x, st}
		}
	})
	return worst, hidden
}

func flowing(x survey.ACEdge) unit.Amp { return x.Amps }

// acWires judges the conductors of mains circuits.
func (c *Context) acWires() {
	spoken := map[string]bool{}
	looked := false
	for _, w := range c.Boat.Wires {
		id, ok := c.Net.WireEdge[w]
		if !ok || id < 0 || w.Medium != schema.AC || w.Core == "PE" {
			continue
		}
		looked = true
		c.Looked("")
		x, hidden := c.worstAC(id, flowing)
		if hidden != "" {
			c.Missing("", hidden, w.At, w.Ref())
		}
		if x.Amps < calm {
			continue
		}
		run := w.Path
		if run == "" {
			run = w.Ref()
		}
		run += " " + w.Size.V.String()
		if spoken[run] {
			continue
		}
		f, found := c.overloaded(w, worstAmps{amps: x.Amps, cond: x.st.Condition, when: x.when()})
		if !found {
			continue
		}
		spoken[run] = true
		f.Do += licensed
		c.Add(f)
	}
	if looked {
		c.lackAC()
	}
}

// acDevices judges the breakers of mains circuits, both poles as one. 125 % of what
// runs for hours is the US land code's; IEC breakers carry their rating without end.
func (c *Context) acDevices() {
	duty := unit.Amp(0)
	if c.Boat.Rules.US() {
		duty = continuousDuty - 1
	}
	spoken := map[string]bool{}
	looked := false
	c.eachEdge(trace.Device, schema.AC, func(id int, e *trace.Edge) {
		d := e.Branch.Device
		if d.ResidualOnly || spoken[edgeName(e)] {
			return
		}
		looked = true
		c.Looked("")
		lasting := func(x survey.ACEdge) unit.Amp { return x.Amps + duty*x.Continuous }
		x, hidden := c.worstAC(id, lasting)
		switch {
		case hidden != "":
			c.Missing("", hidden, e.Part.At, e.Part.ID)
		case x.Amps < calm:
			return
		case !d.Rating.Given():
			c.Missing("", "rating of "+edgeName(e), e.Part.At, e.Part.ID)
		case lasting(x.ACEdge) > d.Rating.V*(1+1e-9):
			spoken[edgeName(e)] = true
			f := c.belowLoad(e, asked{amps: lasting(x.ACEdge), cond: x.st.Condition, when: x.when(), duty: duty*x.Continuous > 0, loads: x.Behind[:min(len(x.Behind), mostNamed)]})
			f.Do += licensed
			c.Add(f)
		default:
			start, _ := c.worstAC(id, func(x survey.ACEdge) unit.Amp { return x.Start })
			if start.Starter != nil {
				spoken[edgeName(e)] = true
				c.startOpens(e, asked{start: start.Start, cond: start.st.Condition, when: start.when(), starter: start.Starter.Part})
			}
		}
	})
	if looked {
		c.lackAC()
	}
}

// acContacts judges source selectors and what passes through an inverter.
func (c *Context) acContacts() {
	spoken := map[*schema.Part]bool{}
	looked := false
	c.eachEdge(trace.Contact, schema.AC, func(id int, e *trace.Edge) {
		if survey.Bond(e) || spoken[e.Part] {
			return
		}
		looked = true
		c.Looked("")
		rating := e.Branch.Contact.Rating
		x, hidden := c.worstAC(id, flowing)
		switch {
		case hidden != "":
			c.Missing("", hidden, e.Part.At, e.Part.ID)
		case x.Amps < calm:
		case !rating.Given():
			if !e.Part.Is(schema.Inverting) { // its figure is `power`; what it passes is its maker's
				spoken[e.Part] = true
				c.Missing("", "rating of "+e.Part.ID, e.Part.At, e.Part.ID)
			}
		case x.Amps > rating.V*(1+1e-9):
			spoken[e.Part] = true
			c.Add(figure(diag.Finding{Severity: diag.Error, Span: e.Part.At, At: c.at(e.Part, e.A),
				Message: fmt.Sprintf("%s carries %s %s; it is rated %s", e.Part.ID, amps1(x.Amps), x.when(), rating.V),
				Risk:    "its contacts heat, weld or burn: it fails when it is to be opened",
				Do:      fmt.Sprintf("fit one rated %s or more, or take load off it", amps1(x.Amps)) + licensed,
				Source:  "the part's own rating", Condition: condID(x.st.Condition)}, x.Amps, rating.V, "A"))
		}
	})
	if looked {
		c.lackAC()
	}
}

// acBars judges the bars of AC panels that state what they carry.
func (c *Context) acBars() {
	looked := false
	for _, p := range c.Boat.Parts {
		node := c.Net.Node(p, "L-in")
		rating := p.Amps("rating")
		if p.Prepared || !p.Is(schema.Distribution|schema.ACPart) || node < 0 || !rating.Given() {
			continue
		}
		c.Looked("")
		looked = true
		var worst acWorst
		most := unit.Amp(0)
		c.eachAC(func(st *survey.ACState) {
			sum, x := unit.Amp(0), survey.ACEdge{}
			for _, id := range c.Net.Nodes[node].Edges {
				if e := &c.Net.Edges[id]; e.Medium == schema.AC && e.A != e.B {
					y, hidden := st.Edge(id)
					if hidden != "" {
						c.Missing("", hidden, p.At, p.ID)
					}
					sum += y.Amps
					if y.Amps > x.Amps {
						x = y
					}
				}
			}
			if sum /= 2; sum > most*(1+1e-9) {
				most, worst = sum, acWorst{x, st}
			}
		})
		if most > rating.V*(1+1e-9) {
			c.Add(figure(diag.Finding{Severity: diag.Error, Span: p.At, At: []string{p.ID},
				Message: fmt.Sprintf("%s carries %s %s; it is rated %s", p.Name(), amps1(most), worst.when(), rating.V),
				Risk:    "the bar, its studs and the lugs on them overheat",
				Do:      fmt.Sprintf("fit one rated %s or more, or part its loads between two", amps1(most)) + licensed,
				Source:  "the part's own rating; common practice, no source", Condition: condID(worst.st.Condition)}, most, rating.V, "A"))
		}
	}
	if looked {
		c.lackAC()
	}
}

// acDrops collects the worst drop of every AC load.
func (c *Context) acDrops(note func(*dropped)) {
	c.eachAC(func(st *survey.ACState) {
		for _, f := range st.Feeds {
			for _, l := range f.Loads {
				if l.Data == nil || !l.Data.Drop.Given() {
					continue
				}
				d, missing := st.Drop(f, l, nil)
				w := &dropped{edge: l.Edge, part: l.Part, limit: l.Data.Drop.V, nominal: f.Volts, drop: d, cond: st.Condition, when: acWhen(st, f, l),
					share: float64(d.Volts) / float64(f.Volts)}
				if missing != "" {
					c.Missing("", missing, l.Part.At, l.Part.ID)
					w.share = 0
				}
				note(w)
			}
		}
	})
	c.lackAC()
}

// acSags visits what every AC load with a least voltage sees, at rest and while a
// load starts.
func (c *Context) acSags(note func(l *survey.ACLoad, v unit.Volt, st *survey.ACState, when string, start *schema.Part)) {
	c.eachAC(func(st *survey.ACState) {
		for _, f := range st.Feeds {
			for _, l := range f.Loads {
				if l.Data == nil || !l.Data.LeastVolts.Given() {
					continue
				}
				see := func(starter *survey.ACLoad) {
					d, missing := st.Drop(f, l, starter)
					if missing != "" {
						c.Missing("", missing, l.Part.At, l.Part.ID)
						return
					}
					var start *schema.Part
					if starter != nil {
						start = starter.Part
					}
					note(l, f.Volts-d.Volts, st, acWhen(st, f, l), start)
				}
				see(nil)
				for _, s := range f.Loads {
					if s.Data != nil && s.Data.Starting.Given() && (!f.Alone || s == l) {
						see(s)
					}
				}
			}
		}
	})
}
