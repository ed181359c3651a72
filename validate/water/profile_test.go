package water

import (
	"math"
	"testing"

	"fitout/schema/unit"
)

// run makes a profile of 20 mm bore with stations a metre apart.
func run(heights ...float64) Run {
	var r Run
	for i, h := range heights {
		r.Stations = append(r.Stations, Station{Along: unit.Metre(i), Height: unit.Metre(h), Bore: 0.02})
	}
	return r
}

// metreOfHose is the volume of a metre of 20 mm.
const metreOfHose = math.Pi / 4 * 0.02 * 0.02

func TestTrappedWater(t *testing.T) {
	type trap struct {
		at            int
		level, metres float64
	}
	shut := func(r Run, start, end bool) Run { r.StartShut, r.EndShut = start, end; return r }
	for _, c := range []struct {
		name string
		r    Run
		want []trap
	}{
		{"falls all the way", run(1, 0.5, 0), nil},
		{"rises over a crest", run(0, 1, 0.2), nil},
		{"U, level ends", run(1, 0, 1), []trap{{1, 1, 2}}},
		{"U, one end lower", run(1, 0, 0.5), []trap{{1, 0.5, 1.5}}},
		{"level stretch at the bottom", run(1, 0, 0, 1), []trap{{1, 1, 3}}},
		{"W, middle crest under the ends", run(1, 0, 0.5, 0.2, 1), []trap{{1, 1, 2}, {3, 1, 2}}},
		{"two U apart", run(1, 0, 2, 0, 1), []trap{{1, 1, 1.5}, {3, 1, 1.5}}},
		{"bottom of a shut end", shut(run(1, 0), false, true), []trap{{1, 1, 1}}},
		{"a shut top drains", shut(run(1, 0), true, false), nil},
		{"shut at both ends", shut(run(1, 0.3), true, true), []trap{{1, math.Inf(1), 1}}},
		{"one point", run(1), nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := c.r.Trapped()
			if len(got) != len(c.want) {
				t.Fatalf("%+v, want %+v", got, c.want)
			}
			for i, w := range c.want {
				if got[i].At != w.at || float64(got[i].Level) != w.level {
					t.Errorf("%+v, want %+v", got[i], w)
				}
				near(t, "volume", float64(got[i].Volume), w.metres*metreOfHose, 1e-9, 0)
			}
		})
	}
}

func TestHighPoints(t *testing.T) {
	for _, c := range []struct {
		name string
		r    Run
		at   []int
		drop []float64
	}{
		{"rises", run(0, 0.5, 1), nil, nil},
		{"falls", run(1, 0.5, 0), nil, nil},
		{"rise then fall", run(0, 1, 0.4, 2), []int{1}, []float64{0.6}},
		{"a dip is none", run(1, 0, 2), nil, nil},
		{"level top", run(0, 1, 1, 0.5), []int{1}, []float64{0.5}},
		{"level, then up", run(0, 1, 1, 2), nil, nil},
		{"two", run(0, 1, 0.8, 1.2, 0), []int{1, 3}, []float64{0.2, 1.2}},
	} {
		got := c.r.HighPoints()
		if len(got) != len(c.at) {
			t.Errorf("%s: %+v, want %v", c.name, got, c.at)
			continue
		}
		for i := range got {
			if got[i].At != c.at[i] {
				t.Errorf("%s: %+v, want %v", c.name, got, c.at)
			}
			near(t, c.name, float64(got[i].Drop), c.drop[i], 1e-12, 1e-12)
		}
	}
}
