package schematic

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/validate/survey"
)

// heeledLevel is the sea at one opening when the boat lies over: how high it
// stands there in the boat's own heights, in the attitude that brings it
// highest.
type heeledLevel struct {
	attitude survey.Attitude
	mm       int // height of the sea at the opening, in boat heights
	over     int // how far above the opening
}

// text says which way the boat lies, and how far the opening is under water then.
func (h heeledLevel) text() string {
	return fmt.Sprintf("%s: %.2f m under", lies(h.attitude), float64(h.over)/1000)
}

// lies is an attitude in few letters; beside a heel its trim has no room.
func lies(a survey.Attitude) string {
	switch {
	case a.Heel > 0:
		return fmt.Sprintf("heel %g° stbd", float64(a.Heel))
	case a.Heel < 0:
		return fmt.Sprintf("heel %g° port", -float64(a.Heel))
	}
	return fmt.Sprintf("trim %g°", math.Abs(float64(a.Trim)))
}

// heeled is the sea at an opening that is dry upright and under water in an
// attitude that flooding is judged in; ok is false where it stays dry, is under
// water all the time, or its place is not known.
func (g *waterGraph) heeled(p *schema.Part) (heeledLevel, bool) {
	s := g.in.Survey
	h, y := p.Height(), p.Offset()
	if !p.Roles().Any(schema.SeaOpening|schema.HullHole) || !h.Given() || h.V <= 0 || !y.Given() {
		return heeledLevel{}, false
	}
	best, found := heeledLevel{}, false
	for _, a := range s.Attitudes() {
		trim := 0.0
		if a.Trim != 0 {
			if !p.Station().Given() || !s.Boat.Vessel.Length.Given() {
				continue
			}
			trim = float64(s.Boat.Vessel.Length.V)/2 - float64(p.Station().V)
		}
		if mm := surfaceAt(a, float64(y.V), trim, s.Laden()); !found || mm > best.mm {
			best, found = heeledLevel{attitude: a, mm: mm}, true
		}
	}
	best.over = best.mm - millimetres(h.V)
	return best, found && best.over > 0
}

// surfaceAt solves h = z cos θ cos τ − y sin θ − x sin τ for the height z at
// which h is the laden sea: what the survey computes, the other way round.
func surfaceAt(a survey.Attitude, y, x, laden float64) int {
	sh, ch := math.Sincos(float64(a.Heel) * math.Pi / 180)
	st, ct := math.Sincos(float64(a.Trim) * math.Pi / 180)
	return int(math.Round((laden + y*sh + x*st) / (ch * ct) * 1000))
}
