package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// drainUnsafe judges where condensate and shower drains end.
var drainUnsafe = Rule{
	Name: "drain-unsafe", Section: waterStatic,
	Asks:     "Does every condensate and shower drain end in a sump, a tank or overboard above the sea, away from engines and exhausts?",
	Why:      "a dry drain draws engine or bilge air and carbon monoxide into the cabin; a wet one rots the bilge or lets the sea in",
	Severity: "error",
	Source:   "common practice, no source; a carbon-monoxide path by owners' manuals",
	Quiet:    "not for a drain to a sump or a tank, nor overboard above the waterline or past a vented loop; a pump is no break",
	Bad: `
fitout: 1
vessel: {hull: motor}
spaces:
  engine: {title: Engine space, engine: yes, fuel: diesel}
parts:
  AC1: {kind: aircon, capacity: 9000 BTU/h, height: 0.4 m, offset: 0 m}
hoses:
  - {id: H1, from: AC1.drain, to: {open: engine, height: -0.2 m}, bore: 16 mm, length: 1 m}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.6 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 3/4 in, height: -0.45 m, offset: 0 m}
  P1: {kind: pump, duty: circulating, design: centrifugal, height: -0.3 m, offset: 0 m}
  AC1: {kind: aircon, capacity: 9000 BTU/h, height: 0.4 m, offset: 0 m}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m, offset: 0.5 m}
  SU1: {kind: sump, rim: 0.1 m, offset: 0 m}
  P2: {kind: pump, duty: sump, design: diaphragm, height: 0 m, offset: 0 m}
  TH3: {kind: through-hull, service: drain, size: 3/4 in, height: 0.3 m, offset: 0.5 m}
hoses:
  - {id: H1, path: [TH1, ST1, P1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 2 m, 2 m], clamps: 2}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2 m, clamps: 2}
  - {id: H3, from: AC1.drain, to: SU1.in, bore: 16 mm, length: 1 m}
  - {id: H4, path: [SU1.out, P2, TH3], bore: 19 mm, lengths: [1 m, 1 m]}
`,
	Check: checkDrains,
}

// drainOf is where a condensate or shower drain leaves its part.
type drainOf struct {
	part     *schema.Part
	terminal string
}

// drains returns the drains of condensate pans and showers.
func (c *Context) drains() []drainOf {
	var out []drainOf
	for _, p := range c.Boat.Parts {
		if p.Prepared {
			continue
		}
		for _, o := range p.Openings() {
			if o.Drips && o.Type == schema.ToInside {
				out = append(out, drainOf{p, o.Terminal})
			}
		}
	}
	return out
}

func checkDrains(c *Context) {
	c.floodDefaults()
	sea := c.Sea()
	if !hasHoses(c.Boat) {
		return
	}
	var exhausts []*trace.Mouth
	for _, m := range sea.Hull {
		if m.Part.Word("service").V == "exhaust" {
			exhausts = append(exhausts, m)
		}
	}
	for _, d := range c.drains() {
		c.Looked("drain-unsafe")
		if sea.Joined(d.part, d.terminal) == 0 {
			t, _ := d.part.Terminal(d.terminal)
			if !t.Needed {
				c.Missing("drain-unsafe", "drain of "+d.part.ID, d.part.At, d.part.ID)
			}
			continue
		}
		c.judgeDrain(d, exhausts)
	}
}

// judgeDrain follows a drain down to where it ends, with the flow through pumps:
// not past a tank, a sump or a vented loop.
func (c *Context) judgeDrain(d drainOf, exhausts []*trace.Mouth) {
	sea := c.Sea()
	start := sea.Node(d.part, d.terminal)
	t := sea.Walk([]int{start}, trace.Walk{
		Through: func(w *trace.SeaWay, from int) bool { return (w.Pump() == nil || from == w.A) && !w.Vented() },
		Beyond:  func(n int) bool { return !isVessel(&sea.Nodes[n]) },
	})
	for _, st := range t.Steps {
		for _, m := range sea.Nodes[st.Node].Mouths {
			switch {
			case m.Part == nil:
				c.judgeOpenDrain(d, m)
			case m.Type == schema.ToSea:
				c.judgeDrainOverboard(d, m, exhausts)
			}
		}
	}
}

func (c *Context) addDrain(d drainOf, ids []string, what, why, do string, f diag.Finding) {
	f.Rule, f.Severity, f.Span, f.At = "drain-unsafe", diag.Error, d.part.At, append(ids, d.part.ID)
	f.Message = fmt.Sprintf("the drain of %s %s", d.part.ID, what)
	f.Risk, f.Do = why, do
	if f.Source == "" {
		f.Source = "common practice, no source"
	}
	c.Add(f)
}

func (c *Context) judgeOpenDrain(d drainOf, m *trace.Mouth) {
	sp := m.Space
	ids := []string{m.Hose.ID}
	lead := "lead it to a sump with a pump, a tank, or overboard above the heeled waterline"
	switch {
	case sp.Weather.V:
	case sp.Engine.V || c.exhaustIn(sp):
		c.addDrain(d, ids, "ends open in "+sp.Name()+", with an engine or its exhaust",
			"when dry it draws exhaust and carbon monoxide into the cabin", lead, diag.Finding{})
	case sp.Bilge.V:
		c.addDrain(d, ids, "ends open in "+sp.Name()+", a bilge", "damp and mould; the fan draws bilge air, vapour and carbon monoxide up the dry drain", lead, diag.Finding{})
	case sp.Below.V != "":
		c.addDrain(d, ids, "ends open in "+sp.Name()+", which lies below "+c.Boat.Space(sp.Below.V).Name(),
			"the water stands there; the fan draws that air up the dry drain", lead, diag.Finding{})
	}
}

// exhaustIn reports whether an engine or an exhaust outlet stands in a space.
func (c *Context) exhaustIn(sp *schema.Space) bool {
	for _, p := range c.Boat.Parts {
		if p.Prepared || p.Space != sp {
			continue
		}
		if p.Is(schema.Engine) || p.Is(schema.SeaOpening) && p.Word("service").V == "exhaust" {
			return true
		}
	}
	return false
}

// judgeDrainOverboard judges a drain that leaves the boat with no break on its
// way: below the waterline, or beside an exhaust.
func (c *Context) judgeDrainOverboard(d drainOf, m *trace.Mouth, exhausts []*trace.Mouth) {
	upright := survey.NewAttitude(0, 0)
	if lack, lacks := c.Lacks(m.Point, upright); lacks {
		c.lacks("drain-unsafe", []survey.Lack{lack}, d.part.ID, m.ID())
		return
	}
	if h := c.HeightOf(m.Point, upright).Lo - c.Laden(); h < -tinyHeight {
		c.addDrain(d, []string{m.ID()}, fmt.Sprintf("leaves overboard through %s, %s, with no break on the way", m.ID(), againstSea(h)),
			"the sea stands in the drain, and in the pan when she heels or settles",
			"lead it overboard above the heeled waterline, or to a sump with a pump and a vented loop",
			diag.Finding{Value: diag.Figure(h), Limit: diag.Figure(0.0), Unit: "m"})
		return
	}
	for _, e := range exhausts {
		c.judgeDrainByExhaust(d, m, e)
	}
}

func (c *Context) judgeDrainByExhaust(d drainOf, m, exhaust *trace.Mouth) {
	far := tables.DrainFromExhaust()
	sum, known := 0.0, true
	for _, v := range [][2]schema.Val[unit.Metre]{
		{m.Point.Height, exhaust.Point.Height}, {m.Point.Offset, exhaust.Point.Offset}, {m.Point.Station, exhaust.Point.Station}} {
		if !v[0].Given() || !v[1].Given() {
			known = false
			continue
		}
		sum += square(float64(v[0].V - v[1].V))
	}
	if sum >= square(float64(far.Margin))-tinyHeight {
		return
	}
	if !known {
		for _, e := range []*trace.Mouth{m, exhaust} {
			for _, v := range []struct {
				name  string
				given bool
			}{{"offset", e.Point.Offset.Given()}, {"station", e.Point.Station.Given()}} {
				if !v.given {
					c.Missing("drain-unsafe", v.name+" of "+e.ID(), e.Span(), e.ID(), d.part.ID)
				}
			}
		}
		return
	}
	c.addDrain(d, []string{m.ID(), exhaust.ID()}, fmt.Sprintf("ends at %s, %s from exhaust outlet %s", m.ID(), tall(math.Sqrt(sum)), exhaust.ID()),
		"the fan draws exhaust and carbon monoxide up the dry drain",
		fmt.Sprintf("end it at least %s from any exhaust", tall(far.Margin)),
		diag.Finding{Value: diag.Figure(math.Sqrt(sum)), Limit: diag.Figure(far.Margin), Unit: "m", Source: far.Cite.String()})
}
