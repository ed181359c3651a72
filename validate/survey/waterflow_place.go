package survey

import (
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
	"fitout/validate/water"
)

// place is where a terminal lies, with the height it takes from what it is
// screwed to.
func (f *flowBuilder) place(p *schema.Part, terminal string) trace.Point {
	if n := f.sea.Node(p, terminal); n >= 0 {
		pt := f.sea.Nodes[n].Point
		if !pt.Height.Given() {
			pt.Of, pt.HeightOf = p.ID, ""
		}
		return pt
	}
	return trace.Point{Height: p.Height(), Offset: p.Offset(), Station: p.Station(), Of: p.ID, At: p.At}
}

// at returns the place with another height; lacks names what would give it.
func raised(pt trace.Point, h schema.Val[unit.Metre], lacks string) trace.Point {
	pt.Height, pt.HeightOf = h, lacks
	return pt
}

// beside is the place of an open end: over, or beside, the hose's other end.
func (f *flowBuilder) beside(h *schema.Hose, e, other schema.HoseEnd) trace.Point {
	pt := trace.Point{Of: h.ID}
	if other.Part != nil {
		pt = f.place(other.Part, other.Terminal)
	}
	pt.At = h.At
	return raised(pt, e.Height, "height of the open end of "+h.ID)
}

// heightIn returns the height above the sea in an attitude, or the datum it
// lacks.
func (s *Survey) heightIn(a Attitude, pt trace.Point) (unit.Metre, *Datum) {
	if lack, any := s.Lacks(pt, a); any {
		return 0, &Datum{Missing: lack.Name, At: lack.At, IDs: []string{lack.Of}}
	}
	return unit.Metre(s.HeightOf(pt, a).Lo), nil
}

// modelOf returns the model of a kind of water at a condition's temperature.
func (s *Survey) modelOf(word string, c *schema.Condition) water.Model {
	t := s.Boat.Vessel.WaterTemperature.Or(tables.DefaultWaterTemperature)
	if c != nil && c.WaterTemperature.Given() {
		t = c.WaterTemperature.V
	}
	w, err := tables.WaterOf(word, t)
	if err != nil { // a temperature no table knows: the nearest it does
		w, _ = tables.WaterOf(word, min(max(t, 0), 60))
	}
	return water.Model{Gravity: s.gravity, Fluid: water.Fluid{
		Density: water.Density(w.Density), Viscosity: water.KinematicViscosity(w.Kinematic),
		Heat: water.SpecificHeat(w.Heat), Vapour: water.Pascal(w.Vapour),
	}}
}
