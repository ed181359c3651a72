package water

import (
	"math"

	"fitout/schema/unit"
)

// Station is a point along a run. Bore is that of the stretch to the next.
type Station struct {
	Along  unit.Metre // from the start of the run, never falling
	Height unit.Metre
	Bore   unit.Metre
}

// Run is the height profile of hoses end to end.
type Run struct {
	Stations []Station
	// StartShut and EndShut say that water cannot run out at that end: a shut
	// valve, a check valve, a pump that does not let back.
	StartShut, EndShut bool
}

// Trap is water that lies where it cannot run out.
type Trap struct {
	At     int // station of the low point
	Height unit.Metre
	Level  unit.Metre // where it stands; +Inf between two shut ends
	Volume unit.CubicMetre
}

// Trapped returns the water that stays in a run after it has drained: every
// low point with its level and volume, in order along the run. Two low points
// under one level each have their own share: draining one leaves the other.
// Each hose is taken as full below the level and empty above.
func (r Run) Trapped() []Trap {
	p := r.Stations
	if len(p) < 2 {
		return nil
	}
	left, right := r.walls()
	var traps []Trap
	t, volume := Trap{At: -1}, 0.0
	flush := func() {
		if t.At >= 0 && volume > 0 {
			t.Volume = unit.CubicMetre(volume)
			traps = append(traps, t)
		}
		t, volume = Trap{At: -1}, 0
	}
	for i := 0; i+1 < len(p); i++ {
		// A stretch is straight, so the way out to either side has one sill,
		// and the lower of the two holds the water.
		sill := math.Min(left[i], right[i+1])
		wet := wetShare(float64(p[i].Height), float64(p[i+1].Height), sill)
		turns := i > 0 && p[i-1].Height < p[i].Height && p[i+1].Height < p[i].Height
		if wet == 0 || turns {
			flush()
		}
		if wet == 0 {
			continue
		}
		d := float64(p[i].Bore)
		volume += wet * float64(p[i+1].Along-p[i].Along) * math.Pi / 4 * d * d
		t.Level = unit.Metre(sill)
		for _, k := range [2]int{i, i + 1} {
			if t.At < 0 || p[k].Height < t.Height {
				t.At, t.Height = k, p[k].Height
			}
		}
	}
	flush()
	return traps
}

// walls returns, for every station, the greatest height from the start up to
// it and from it to the end; a shut end is a wall without top.
func (r Run) walls() (left, right []float64) {
	p := r.Stations
	left, right = make([]float64, len(p)), make([]float64, len(p))
	w := math.Inf(-1)
	if r.StartShut {
		w = math.Inf(1)
	}
	for i := range p {
		w = math.Max(w, float64(p[i].Height))
		left[i] = w
	}
	w = math.Inf(-1)
	if r.EndShut {
		w = math.Inf(1)
	}
	for i := len(p) - 1; i >= 0; i-- {
		w = math.Max(w, float64(p[i].Height))
		right[i] = w
	}
	return left, right
}

// wetShare returns the share of a straight stretch below a level.
func wetShare(a, b, level float64) float64 {
	lo, hi := math.Min(a, b), math.Max(a, b)
	switch {
	case hi <= level && lo < level:
		return 1
	case lo >= level:
		return 0
	}
	return (level - lo) / (hi - lo)
}

// High is a point where air gathers: the run rises to it and falls after it.
type High struct {
	At     int // station; the first of a level stretch
	Height unit.Metre
	Drop   unit.Metre // to the lowest point before the run is as high again, the lesser side
}

// HighPoints returns the points inside a run where air gathers, in order.
func (r Run) HighPoints() []High {
	p := r.Stations
	var highs []High
	for i := 1; i+1 < len(p); i++ {
		if p[i].Height <= p[i-1].Height {
			continue
		}
		j := i
		for j+1 < len(p) && p[j+1].Height == p[i].Height {
			j++
		}
		if j+1 < len(p) && p[j+1].Height < p[i].Height {
			highs = append(highs, High{At: i, Height: p[i].Height, Drop: min(dropTo(p, i, -1), dropTo(p, j, 1))})
		}
		i = j
	}
	return highs
}

// dropTo returns how far the run falls from station i in a direction before it
// comes as high again.
func dropTo(p []Station, i, step int) unit.Metre {
	low := p[i].Height
	for k := i + step; k >= 0 && k < len(p) && p[k].Height <= p[i].Height; k += step {
		low = min(low, p[k].Height)
	}
	return p[i].Height - low
}
