package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// noSeacock judges what stands first inboard of every way through the hull.
var noSeacock = Rule{
	Name: "no-seacock", Section: waterStatic,
	Asks:     "Is a seacock the first thing inboard of every opening that lies under the waterline, at rest or heeled?",
	Why:      "if anything behind such an opening lets go, nothing stops the sea",
	Severity: "error; warning for an opening within 150 mm of the waterline under us",
	Source:   "H-27, 27.5.1 and 27.5.3 (as quoted); ISO 9093:2020 (summary); 46 CFR 179.350(c), (d)",
	Quiet:    "not for a hull-fitting or an exhaust; under us not for a discharge above the static waterline whose hose is reinforced and rises above the heeled one",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0.5 m}
  T1: {kind: tee, size: 3/4 in, height: -0.4 m, offset: 0.5 m}
  SC1: {kind: seacock, type: inline-ball, size: 3/4 in, height: -0.4 m, offset: 0.5 m}
  SC2: {kind: seacock, type: inline-ball, size: 3/4 in, height: -0.4 m, offset: 0.5 m}
hoses:
  - {id: H1, from: TH1, to: T1, bore: 19 mm, length: 0, clamps: 2}
  - {id: H2, from: T1.1, to: SC1.in, bore: 19 mm, length: 0, clamps: 2}
  - {id: H3, from: T1.2, to: SC2.in, bore: 19 mm, length: 0, clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0.5 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0.5 m}
  WD1: {kind: washdown, height: 1 m, offset: 0.5 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2}
`,
	Check: func(c *Context) {
		c.floodDefaults()
		for _, m := range c.Sea().Hull {
			if m.Part.Word("service").V == "exhaust" {
				continue
			}
			c.Looked("no-seacock")
			c.judgeSeacock(m)
		}
	},
}

func (c *Context) judgeSeacock(m *trace.Mouth) {
	first, way := firstInboard(c.Sea(), m)
	if m.Part.Cock != nil && !m.Part.Cock.Prepared {
		return
	}
	if first != nil && first.Is(schema.Shutoff) {
		if way.Close() {
			return
		}
		if !way.Hose.Length.Given() {
			if f, _ := c.wantsSeacock(m); f != nil {
				c.Missing("no-seacock", "length of "+way.Hose.ID, way.Hose.At, way.Hose.ID, m.ID())
			}
			return
		}
	}
	f, missing := c.wantsSeacock(m)
	if f == nil {
		c.lacks("no-seacock", missing, m.ID())
		return
	}
	if f.Severity != diag.Error {
		c.lacks("no-seacock", missing, m.ID())
	}
	f.At = []string{m.ID()}
	before := ""
	if way != nil && way.Hose != nil && !way.Close() {
		f.At = []string{way.Hose.ID, m.ID()}
	}
	if first != nil {
		f.At = append(f.At, first.ID)
		before = "; what stands first inboard is " + first.ID
		if way.Hose != nil && !way.Close() {
			before = "; what stands first inboard is hose " + way.Hose.ID + " to " + first.ID
		}
	}
	f.Rule, f.Span = "no-seacock", m.Part.At
	f.Message = fmt.Sprintf("through-hull %s has no seacock fixed to it and %s%s", m.ID(), f.Message, before)
	f.Risk = "a hose that lets go there floods the boat and cannot be stopped"
	f.Do = fmt.Sprintf("fit a seacock straight to %s, before anything else", m.ID())
	c.Add(*f)
}

// firstInboard returns the first part inboard of a through-hull, and the way to
// it.
func firstInboard(sea *trace.Sea, m *trace.Mouth) (*schema.Part, *trace.SeaWay) {
	for _, id := range sea.Nodes[m.Node].Ways {
		w := &sea.Ways[id]
		return sea.Nodes[w.Other(m.Node)].Part, w
	}
	return nil, nil
}

// wantsSeacock reports whether a set wants a seacock at an opening: the most
// severe answer of all sets, nil where none does, with what could not be told.
func (c *Context) wantsSeacock(m *trace.Mouth) (*diag.Finding, []survey.Lack) {
	var f *diag.Finding
	var missing []survey.Lack
	for _, set := range c.Sets() {
		if set == tables.US && c.reinforced(m) {
			continue
		}
		for _, a := range c.AttitudesOf(set) {
			if d, lacks := c.Lacks(m.Point, a); lacks {
				missing = addLack(missing, d)
				continue
			}
			h := c.HeightOf(m.Point, a).Lo - c.Laden()
			if h >= -tinyHeight || f != nil {
				continue
			}
			source := "H-27, 27.5.1 (as quoted)"
			if set == tables.ISO {
				source = "ISO 9093:2020 (summary)"
			}
			f = &diag.Finding{
				Severity: diag.Error, Attitude: a.String(), Value: diag.Figure(h), Limit: diag.Figure(0.0), Unit: "m",
				Message: fmt.Sprintf("lies %s when %s", againstSea(h), a), Source: source + "; heel: " + c.Heel(set).Cite.String(),
			}
		}
	}
	if f == nil {
		f = c.inBand(m, &missing)
	}
	return f, missing
}

// inBand judges the band over the deepest waterline that 46 CFR names: law on
// passenger vessels, a warning on private ones.
func (c *Context) inBand(m *trace.Mouth, missing *[]survey.Lack) *diag.Finding {
	if !c.Boat.Rules.US() {
		return nil
	}
	upright, band := survey.NewAttitude(0, 0), tables.SeacockBand()
	if d, lacks := c.Lacks(m.Point, upright); lacks {
		*missing = addLack(*missing, d)
		return nil
	}
	h := c.HeightOf(m.Point, upright).Lo - c.Laden()
	if h >= float64(band.Margin)-tinyHeight {
		return nil
	}
	return &diag.Finding{
		Severity: diag.Warning, Value: diag.Figure(h), Limit: diag.Figure(band.Margin), Unit: "m",
		Message: fmt.Sprintf("lies %s; a way to stop water is asked for under %s above the deepest waterline", againstSea(h), tall(band.Margin)),
		Source:  band.Cite.String() + ": binds inspected passenger vessels, as practice here",
	}
}

func addLack(list []survey.Lack, d survey.Lack) []survey.Lack {
	for _, have := range list {
		if have.Name == d.Name {
			return list
		}
	}
	return append(list, d)
}

// reinforced reports whether an opening is a discharge above the static waterline
// whose run is reinforced until it stands above the sea in every attitude.
func (c *Context) reinforced(m *trace.Mouth) bool {
	upright := survey.NewAttitude(0, 0)
	if m.Part.Word("service").V == "intake" || c.HeightOf(m.Point, upright).Lo-c.Laden() < -tinyHeight ||
		math.IsInf(c.HeightOf(m.Point, upright).Lo, 0) {
		return false
	}
	sea, node, last := c.Sea(), m.Node, -1
	for range len(sea.Nodes) {
		next := -1
		for _, id := range sea.Nodes[node].Ways {
			if id == last || !sea.Ways[id].Carries() {
				continue
			}
			if next >= 0 {
				return false // it branches while still low
			}
			next = id
		}
		if next < 0 {
			return false
		}
		w := &sea.Ways[next]
		if w.Hose != nil && !w.Close() && !w.Hose.Reinforced.V {
			return false
		}
		if len(w.Peaks) > 0 && c.dry(w.Peaks...) {
			return true
		}
		node, last = w.Other(node), next
		if c.dry(sea.Nodes[node].Point) {
			return true
		}
	}
	return false
}

// dry reports whether the lowest of places stands above the sea in every
// attitude.
func (c *Context) dry(list ...trace.Point) bool {
	for _, a := range c.AttitudesOf(tables.US) {
		if l := c.LowestOf(list, a); l.Lo < c.Laden()+tinyHeight {
			return false
		}
	}
	return true
}
