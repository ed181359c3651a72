package rules

import (
	"fmt"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
	"fitout/validate/water"
)

// airTrap looks for high points where air gathers before a pump or between it and
// the equipment.
var airTrap = Rule{
	Name: "air-trap", Section: waterStatic,
	Asks:     "Does the line rise without a high point from the sea to the pump, and is every one after it bled before the equipment?",
	Why:      "air that gathers there stops a centrifugal pump, which cannot push it out",
	Severity: "error for a pump that does not prime itself, note for one that does and at a strainer",
	Source:   "trade practice; class rules on sea-water cooling (vents on exchangers)",
	Quiet:    "not for a rise to one high point behind the equipment, nor at a bleed or a vented loop",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.6 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 3/4 in, height: -0.45 m, offset: 0 m}
  P1: {kind: pump, duty: circulating, design: centrifugal, height: -0.3 m, offset: 0 m}
  AC1: {kind: aircon, capacity: 9000 BTU/h, height: 0.4 m, offset: 0 m}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m, offset: 0.5 m}
hoses:
  - {id: H1, path: [TH1, ST1, P1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 2 m, 2 m], peaks: [null, -0.1 m, null], clamps: 2}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2 m, clamps: 2}
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
hoses:
  - {id: H1, path: [TH1, ST1, P1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 2 m, 2 m], clamps: 2}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2 m, clamps: 2}
`,
	Check: checkAirTraps,
}

func checkAirTraps(c *Context) {
	for _, p := range c.seaPumps() {
		if p.own && p.data.Drive != "engine" {
			continue // equipment primes its own pump
		}
		c.Looked("air-trap")
		for _, s := range p.suctions {
			c.trapsOn(p, s.path, "before")
		}
		for _, path := range c.pressureWays(p) {
			c.trapsOn(p, path, "behind")
		}
	}
}

// pressureWays returns the ways from a pump to the equipment it serves.
func (c *Context) pressureWays(p seaPump) [][]trace.Step {
	if p.own {
		return nil
	}
	sea := c.Sea()
	t := sea.Walk([]int{p.out}, trace.Walk{
		Through: func(w *trace.SeaWay, _ int) bool {
			return w.Channel == nil || w.Channel.Pump == nil && !w.Part.Is(schema.SeaUser)
		},
		Beyond: func(n int) bool { return !isVessel(&sea.Nodes[n]) },
	})
	var out [][]trace.Step
	for i, st := range t.Steps {
		if n := &sea.Nodes[st.Node]; n.Part != nil && n.Part.Is(schema.SeaUser) && n.Part != p.part {
			out = append(out, t.Path(i))
		}
	}
	return out
}

// trapsOn judges the high points of a way in every attitude that a condition
// gives; the first attitude that shows one is told.
func (c *Context) trapsOn(p seaPump, path []trace.Step, where string) {
	told := map[string]bool{}
	var missing []survey.Lack
	for _, a := range c.FlowAttitudes() {
		heights, spots := c.stations(path, a.Attitude)
		known := true
		for _, h := range heights {
			known = known && h.Known()
		}
		if !known {
			missing = c.lacksAlong(missing, path, a.Attitude)
			continue
		}
		run := water.Run{}
		for i, h := range heights {
			run.Stations = append(run.Stations, water.Station{Along: unit.Metre(i), Height: unit.Metre(h.Lo)})
		}
		for _, high := range run.HighPoints() {
			spot := spots[high.At]
			if high.Drop <= tinyHeight || spot.bled(c, run, high, spots) || told[spot.name] {
				continue
			}
			told[spot.name] = true
			c.addTrap(p, a, high, spot, where)
		}
	}
	c.lacks("air-trap", missing, p.part.ID)
}

// spot is what stands at a station of a way.
type spot struct {
	name string
	part *schema.Part
	hose *schema.Hose
}

// bled reports whether air can leave at a high point: a bleed or an air valve
// stands at it, on a level with it.
func (s spot) bled(c *Context, run water.Run, high water.High, spots []spot) bool {
	for i := high.At; i < len(spots) && run.Stations[i].Height == high.Height; i++ {
		if p := spots[i].part; p != nil && (p.Is(schema.Bleeding) || p.Is(schema.Vent)) {
			return true
		}
	}
	return false
}

// stations are the heights along a way with what stands there: joints, then the
// dips and peaks of the hoses between them.
func (c *Context) stations(path []trace.Step, a survey.Attitude) ([]survey.Level, []spot) {
	sea := c.Sea()
	var heights []survey.Level
	var spots []spot
	add := func(l survey.Level, s spot) { heights, spots = append(heights, l), append(spots, s) }
	for i, st := range path {
		if i > 0 && st.Way >= 0 {
			w := &sea.Ways[st.Way]
			rising := i > 0 && heights[len(heights)-1].Lo <= c.HeightOf(sea.Nodes[st.Node].Point, a).Lo
			dip, peak := len(w.Dips) > 0, len(w.Peaks) > 0
			if dip && rising {
				add(c.LowestOf(w.Dips, a), spot{"the dip of " + w.Hose.ID, nil, w.Hose})
			}
			if peak {
				add(c.LowestOf(w.Peaks, a), spot{"the peak of " + w.Hose.ID, nil, w.Hose})
			}
			if dip && !rising {
				add(c.LowestOf(w.Dips, a), spot{"the dip of " + w.Hose.ID, nil, w.Hose})
			}
		}
		n := &sea.Nodes[st.Node]
		add(c.HeightOf(n.Point, a), spot{n.Name(), n.Part, nil})
	}
	return heights, spots
}

func (c *Context) addTrap(p seaPump, a survey.FlowAttitude, high water.High, s spot, where string) {
	c.nameDesign(p)
	severity := diag.Error
	kind := "does not prime itself"
	if !p.centrifugal {
		severity, kind = diag.Note, "primes itself"
	}
	if s.part != nil && s.part.Is(schema.Strainer) {
		severity = diag.Note
	}
	id := p.part.ID
	ids, span := []string{id}, p.part.At
	if s.hose != nil {
		ids, span = []string{s.hose.ID, id}, s.hose.At
	} else if s.part != nil {
		ids, span = append(ids, s.part.ID), s.part.At
	}
	f := diag.Finding{
		Rule: "air-trap", Severity: severity, Span: span, At: ids, Value: diag.Figure(high.Drop), Limit: diag.Figure(0.0), Unit: "m",
		Message: fmt.Sprintf("the line %s pump %s, which %s, has a high point at %s, %s over the lower side of it, with no bleed",
			where, id, kind, s.name, tall(high.Drop)),
		Risk:   "air gathers there and the pump loses its water",
		Do:     "let the line rise all the way, or fit a bleed at the high point",
		Source: "trade practice, no standard found",
	}
	if !a.Upright() {
		f.Attitude, f.Condition = a.Attitude.String(), conditionID(a.Condition)
		f.Message += ", when " + a.Attitude.String()
	}
	c.Add(f)
}

func conditionID(cond *schema.Condition) string {
	if cond == nil {
		return ""
	}
	return strings.TrimSpace(cond.ID)
}
