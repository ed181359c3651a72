package survey

import (
	"math"
	"strings"

	"fitout/schema"
	"fitout/schema/source"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
	"fitout/validate/water"
)

// Attitude is how the boat lies while something is judged.
type Attitude struct {
	water.Attitude
	sinH, cosH, sinT, cosT float64
}

// NewAttitude returns an attitude: heel starboard down, trim bow down.
func NewAttitude(heel, trim unit.Degree) Attitude {
	a := Attitude{Attitude: water.Attitude{Heel: heel, Trim: trim}}
	a.sinH, a.cosH = math.Sincos(float64(heel) * math.Pi / 180)
	a.sinT, a.cosT = math.Sincos(float64(trim) * math.Pi / 180)
	return a
}

// Upright reports whether the boat neither heels nor trims.
func (a Attitude) Upright() bool { return a.Heel == 0 && a.Trim == 0 }

// String says it as a finding does: "heeled 7° to starboard, trimmed 1° by the
// bow".
func (a Attitude) String() string {
	var parts []string
	switch {
	case a.Heel > 0:
		parts = append(parts, "heeled "+a.Heel.String()+" to starboard")
	case a.Heel < 0:
		parts = append(parts, "heeled "+(-a.Heel).String()+" to port")
	}
	switch {
	case a.Trim > 0:
		parts = append(parts, "trimmed "+a.Trim.String()+" by the bow")
	case a.Trim < 0:
		parts = append(parts, "trimmed "+(-a.Trim).String()+" by the stern")
	}
	if len(parts) == 0 {
		return "upright"
	}
	return strings.Join(parts, ", ")
}

// Lack is a datum of a place that the file does not give.
type Lack struct {
	Name string // "offset of TH1"
	Of   string // the part or hose, or "vessel"
	At   source.Span
}

// Level is the height of a place above the upright waterline plane of an
// attitude, from Lo to Hi: where a datum is missing it may lie anywhere.
type Level struct{ Lo, Hi float64 }

// Known reports whether the level is one figure.
func (l Level) Known() bool { return l.Lo == l.Hi }

var anywhere = Level{math.Inf(-1), math.Inf(1)}

// HeightOf returns how high a place lies in an attitude: h = z cos θ cos τ −
// y sin θ − x sin τ, with x = length/2 − station.
func (s *Survey) HeightOf(p trace.Point, a Attitude) Level {
	if !p.Height.Given() || a.Heel != 0 && !p.Offset.Given() {
		return anywhere
	}
	x := 0.0
	if a.Trim != 0 {
		length := s.Boat.Vessel.Length
		if !p.Station.Given() || !length.Given() {
			return anywhere
		}
		x = float64(length.V)/2 - float64(p.Station.V)
	}
	h := float64(p.Height.V)*a.cosH*a.cosT - float64(p.Offset.V)*a.sinH - x*a.sinT
	return Level{h, h}
}

// LowestOf returns the lowest of places of which one counts: a peak lies where
// it is lowest.
func (s *Survey) LowestOf(list []trace.Point, a Attitude) Level {
	l := Level{math.Inf(1), math.Inf(1)}
	for _, p := range list {
		h := s.HeightOf(p, a)
		l.Lo, l.Hi = math.Min(l.Lo, h.Lo), math.Min(l.Hi, h.Hi)
	}
	return l
}

// Lacks names what is missing to know a place's height in an attitude; ok is
// false where nothing is.
func (s *Survey) Lacks(p trace.Point, a Attitude) (Lack, bool) {
	switch {
	case !p.Height.Given():
		return Lack{p.HeightName(), p.Of, p.At}, true
	case a.Heel != 0 && !p.Offset.Given():
		return Lack{"offset of " + p.Of, p.Of, p.At}, true
	case a.Trim != 0 && !s.Boat.Vessel.Length.Given():
		return Lack{"length of the vessel", "vessel", s.Boat.Vessel.At}, true
	case a.Trim != 0 && !p.Station.Given():
		return Lack{"station of " + p.Of, p.Of, p.At}, true
	}
	return Lack{}, false
}

// Heel is the angle flooding is judged at under a set.
func (s *Survey) Heel(set tables.Set) tables.Heel {
	v := s.Boat.Vessel
	if v.Heel.Given() {
		angle := v.Heel.V
		if angle < 0 {
			angle = -angle
		}
		return tables.Heel{Angle: angle, Cite: tables.Cite{Source: "the vessel's own heel"}}
	}
	return tables.DefaultHeel(set, v.Hull.V, v.Sheer.V, v.Beam.V)
}

// Laden is how high the sea stands over the static waterline in every flooding
// judgement.
func (s *Survey) Laden() float64 { return float64(s.Boat.Vessel.Laden.V) }

// Attitudes returns the attitudes that flooding is judged in, by all sets that
// apply: upright first, then the heels, then the trims.
func (s *Survey) Attitudes() []Attitude {
	if s.attitudes == nil {
		var angles []unit.Degree
		for _, set := range s.Sets() {
			angles = append(angles, s.Heel(set).Angle)
		}
		s.attitudes = attitudes(angles, s.Boat.Vessel.Trim.V)
	}
	return s.attitudes
}

// AttitudesOf returns the attitudes that flooding is judged in under one set.
func (s *Survey) AttitudesOf(set tables.Set) []Attitude {
	return attitudes([]unit.Degree{s.Heel(set).Angle}, s.Boat.Vessel.Trim.V)
}

// attitudes crosses the heels and the trim to both sides, upright first.
func attitudes(angles []unit.Degree, trim unit.Degree) []Attitude {
	heels := []unit.Degree{0}
	for _, a := range angles {
		heels = appendBoth(heels, a)
	}
	var out []Attitude
	for _, t := range appendBoth([]unit.Degree{0}, trim) {
		for _, h := range heels {
			out = append(out, NewAttitude(h, t))
		}
	}
	return out
}

func appendBoth(list []unit.Degree, a unit.Degree) []unit.Degree {
	for _, v := range []unit.Degree{a, -a} {
		have := false
		for _, l := range list {
			have = have || l == v
		}
		if !have {
			list = append(list, v)
		}
	}
	return list
}

// Running is the attitudes a condition is judged in: its heel and trim, to both
// sides.
func Running(c *schema.Condition) []Attitude {
	var list []Attitude
	for _, t := range appendBoth(nil, c.Trim.V) {
		for _, h := range appendBoth(nil, c.Heel.V) {
			list = append(list, NewAttitude(h, t))
		}
	}
	return list
}

// FlowAttitudes are upright and the attitudes of all conditions, each once, with
// the first condition that gives it (nil for upright).
func (s *Survey) FlowAttitudes() []FlowAttitude {
	list := []FlowAttitude{{NewAttitude(0, 0), nil}}
	for _, c := range s.Boat.Conditions {
		for _, a := range Running(c) {
			have := false
			for _, l := range list {
				have = have || l.Heel == a.Heel && l.Trim == a.Trim
			}
			if !have {
				list = append(list, FlowAttitude{a, c})
			}
		}
	}
	return list
}

// FlowAttitude is an attitude of a condition.
type FlowAttitude struct {
	Attitude
	Condition *schema.Condition
}
