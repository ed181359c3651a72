package survey

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/water"
)

// HoseFigure is what a list says of a hose: the most that runs in it over all
// conditions, and the least pressure at its crest.
type HoseFigure struct {
	Hose *schema.Hose
	// Known is false where no pump moves its water, or where a datum is missing.
	Known     bool
	Missing   []Datum
	Flow      unit.LitrePerMin // of the greater size, positive
	Velocity  unit.MetrePerSecond
	Condition *schema.Condition // in which Flow runs
	// HasCrest says that CrestPressure is computed, in CrestIn.
	HasCrest      bool
	CrestPressure unit.Head
	CrestIn       *schema.Condition
}

// HoseFigure returns the figures of a hose for a list.
func (s *Survey) HoseFigure(h *schema.Hose) HoseFigure {
	out := HoseFigure{Hose: h}
	for _, c := range s.Boat.Conditions {
		k := s.Water(c).OfHose(h)
		if k == nil {
			continue
		}
		out.Missing = merge(out.Missing, k.Missing)
		for _, r := range k.Runs {
			f, ok := r.Hose(h)
			if !ok {
				continue
			}
			if q := unit.LitrePerMin(math.Abs(float64(f.Flow))); !out.Known || q > out.Flow {
				out.Known, out.Flow, out.Condition = true, q, c
				out.Velocity = unit.MetrePerSecond(math.Abs(float64(f.Velocity)))
			}
			if f.HasCrest && (!out.HasCrest || f.CrestPressure < out.CrestPressure) {
				out.HasCrest, out.CrestPressure, out.CrestIn = true, f.CrestPressure, c
			}
		}
	}
	return out
}

// OpeningFigure is what a list says of an opening in the hull: what it lets in
// with its hose off by both coefficients, and when water covers what stands in
// its space.
type OpeningFigure struct {
	HullInflow
	Reached []Reached
	// TimesMissing says what keeps Reached from being computed.
	TimesMissing []Datum
}

// OpeningFigure returns the figures of an opening for a list; ok is false for a
// part that is none.
func (s *Survey) OpeningFigure(p *schema.Part) (OpeningFigure, bool) {
	f, ok := s.Inflow(p)
	if !ok {
		return OpeningFigure{}, false
	}
	out := OpeningFigure{HullInflow: f}
	if len(f.Missing) == 0 && f.Depth > 0 {
		out.Reached, out.TimesMissing = s.Rising(f)
	}
	return out, true
}

// First is the thing that water covers first, by the short tube's coefficient.
func (f *OpeningFigure) First() (Reached, bool) {
	var best Reached
	found := false
	for _, r := range f.Reached {
		if r.ShortTube.Reached && (!found || r.ShortTube.After < best.ShortTube.After) {
			best, found = r, true
		}
	}
	return best, found
}

// Minutes returns a rise as minutes; false where the water never gets there.
func Minutes(r water.Rise) (float64, bool) { return float64(r.After) * 60, r.Reached }
