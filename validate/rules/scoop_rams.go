package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// scoopRams judges scoops that feed engines.
var scoopRams = Rule{
	Name: "scoop-rams", Section: waterStatic,
	Asks:     "Does the way to an engine that can stand while the boat moves rise higher than a scoop can ram water?",
	Why:      "the scoop pushes water past the standing pump into the exhaust and the cylinders",
	Severity: "warning",
	Source:   "head v²/2g (physics); no scoop for an engine that can idle: common practice, no source",
	Quiet:    "not for a flush fitting, nor for the only engine of a motor boat",
	Bad: `
fitout: 1
vessel: {hull: motor, speed: 15 kn}
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, scoop: yes, height: -0.5 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 1 in, height: -0.3 m, offset: 0 m}
  G1: {kind: generator, fuel: diesel, height: 0 m, offset: 0 m, injection: 0.1 m}
  VL1: {kind: vented-loop, height: 0.6 m, offset: 0 m}
  WL1: {kind: waterlock, height: -0.3 m, offset: 0 m}
  TH2: {kind: through-hull, service: exhaust, size: 2 in, height: 0.35 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, ST1, G1.water-in], bore: 25 mm, lengths: [0.5 m, 1 m], clamps: 2}
  - {id: H3, path: [G1.water-out, VL1, G1.elbow], bore: 25 mm, lengths: [1 m, 1 m], clamps: 2}
  - {id: H2, path: [G1.exhaust, WL1, TH2], bore: 51 mm, lengths: [0.5 m, 2 m], peaks: [null, 0.6 m], clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor, speed: 6 kn}
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, scoop: yes, height: -0.5 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 1 in, height: -0.3 m, offset: 0 m}
  G1: {kind: generator, fuel: diesel, height: 0 m, offset: 0 m, injection: 0.1 m}
  VL1: {kind: vented-loop, height: 0.6 m, offset: 0 m}
  WL1: {kind: waterlock, height: -0.3 m, offset: 0 m}
  TH2: {kind: through-hull, service: exhaust, size: 2 in, height: 0.35 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, ST1, G1.water-in], bore: 25 mm, lengths: [0.5 m, 1 m], clamps: 2}
  - {id: H3, path: [G1.water-out, VL1, G1.elbow], bore: 25 mm, lengths: [1 m, 1 m], clamps: 2}
  - {id: H2, path: [G1.exhaust, WL1, TH2], bore: 51 mm, lengths: [0.5 m, 2 m], peaks: [null, 0.6 m], clamps: 2}
`,
	Check: checkScoops,
}

// gravity is the standard acceleration of free fall, m/s².
const gravity = 9.80665

// knot is one knot in m/s.
const knot = 1852.0 / 3600

func checkScoops(c *Context) {
	sea := c.Sea()
	for _, m := range sea.Hull {
		if !m.Part.Flag("scoop").V {
			continue
		}
		t := sea.Walk([]int{m.Node}, trace.Walk{
			Through: func(w *trace.SeaWay, from int) bool {
				return w.Channel == nil || w.Part.Is(schema.Engine) || !w.Part.Is(schema.SeaUser)
			},
			Beyond: func(n int) bool { return !isVessel(&sea.Nodes[n]) },
		})
		for _, p := range c.fitted(schema.Engine) {
			elbow := sea.Node(p, "elbow")
			if elbow < 0 || t.Find(elbow) < 0 || !c.canStand(p) {
				continue
			}
			c.Looked("scoop-rams")
			c.judgeScoop(m, p, t.Path(t.Find(elbow)))
		}
	}
}

// canStand reports whether an engine can stand while the boat moves: one that
// makes electricity, one of several, or one in a sailing boat.
func (c *Context) canStand(p *schema.Part) bool {
	if p.Is(schema.Source) || c.Boat.Vessel.Hull.V == "sail" {
		return true
	}
	n := 0
	for _, e := range c.fitted(schema.Engine) {
		if !e.Is(schema.Source) {
			n++
		}
	}
	return n > 1
}

// speed is the greatest the file tells: the vessel's or a condition's.
func (c *Context) speed() (unit.Knot, bool) {
	v, given := c.Boat.Vessel.Speed.V, c.Boat.Vessel.Speed.Given()
	for _, cond := range c.Boat.Conditions {
		if cond.Speed.Given() {
			v, given = max(v, cond.Speed.V), true
		}
	}
	return v, given
}

// judgeScoop compares the ram head with the highest place on the way to the
// elbow, in the attitude in which that lies lowest.
func (c *Context) judgeScoop(m *trace.Mouth, p *schema.Part, path []trace.Step) {
	speed, given := c.speed()
	if !given {
		c.Missing("scoop-rams", "speed of the vessel", c.Boat.Vessel.At, m.ID(), p.ID)
		return
	}
	v := float64(speed) * knot
	head := v * v / (2 * gravity)
	least, where := math.Inf(1), ""
	var missing []survey.Lack
	way, elbow := c.outside(p, path)
	for _, a := range c.Attitudes() {
		heights, names := c.profile(path, a)
		if elbow != nil {
			heights, names = append(heights, c.HeightOf(*elbow, a)), append(names, elbow.HeightOf)
		}
		high, name := math.Inf(-1), ""
		for i, h := range heights {
			if h.Known() && h.Lo-c.Laden() > high {
				high, name = h.Lo-c.Laden(), names[i]
			}
		}
		if high >= head-tinyHeight {
			continue
		}
		lacks := c.lacksAlong(nil, way, a)
		for _, st := range path {
			if st.Way < 0 {
				continue
			}
			for _, peak := range c.Sea().Ways[st.Way].Peaks {
				if d, lack := c.Lacks(peak, a); lack {
					lacks = addLack(lacks, d)
				}
			}
		}
		if elbow != nil {
			if d, lack := c.Lacks(*elbow, a); lack {
				lacks = addLack(lacks, d)
			}
		}
		for _, d := range lacks {
			missing = addLack(missing, d)
		}
		if len(lacks) == 0 && high < least {
			least, where = high, name
		}
	}
	if math.IsInf(least, 1) && len(missing) == 0 {
		return
	}
	if math.IsInf(least, 1) {
		c.lacks("scoop-rams", missing, m.ID(), p.ID)
		return
	}
	c.Add(diag.Finding{
		Rule: "scoop-rams", Severity: diag.Warning, Span: m.Span(), At: []string{m.ID(), p.ID},
		Value: diag.Figure(head), Limit: diag.Figure(least), Unit: "m",
		Message: fmt.Sprintf("scoop %s rams water to %s at %s; the way to %s rises only to %s (%s)", m.ID(), tall(head), speed, p.ID, againstSea(least), where),
		Risk:    "with the engine stopped and the boat moving, water is pushed into its exhaust and cylinders",
		Do:      "use a flush intake, or a loop higher than the ram head",
		Source:  "v²/2g; common practice, no source",
	})
}

// outside is a way without an engine's own joints, and the place of its elbow,
// where the injection height is stated: that is the engine's highest place.
func (c *Context) outside(p *schema.Part, path []trace.Step) ([]trace.Step, *trace.Point) {
	if !p.Metres("injection").Given() {
		return path, nil
	}
	sea := c.Sea()
	var list []trace.Step
	for _, st := range path {
		if sea.Nodes[st.Node].Part != p {
			list = append(list, st)
		}
	}
	elbow := sea.Nodes[sea.Node(p, "elbow")].Point
	elbow.Height, elbow.HeightOf = p.Metres("injection"), "injection of "+p.ID
	return list, &elbow
}
