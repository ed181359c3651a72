package survey

import (
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
	"fitout/validate/water"
)

func place(z, y, station float64) trace.Point {
	m := func(v float64) schema.Val[unit.Metre] { return schema.Of(unit.Metre(v), schema.Own) }
	return trace.Point{Height: m(z), Offset: m(y), Station: m(station), Of: "X"}
}

func hullOf(length float64) *Survey {
	b := &schema.Boat{}
	b.Vessel.Length = schema.Of(unit.Metre(length), schema.Own)
	return &Survey{Boat: b}
}

// dryHeights is the published-style table of heights a point must have to stay
// dry, z = y tan heel: plumbing reference, water-heel-heights.csv (derived), in
// degrees, metres and millimetres.
const dryHeights = `7,0,0
7,0.25,31
7,0.5,61
7,1.0,123
7,1.5,184
7,2.0,246
15,0.25,67
15,0.5,134
15,1.0,268
15,1.5,402
15,2.0,536
20,0.25,91
20,0.5,182
20,1.0,364
20,1.5,546
20,2.0,728
30,0.25,144
30,0.5,289
30,1.0,577
30,1.5,866
30,2.0,1155`

// TestHeelHeights holds the height of a point against the table: a millimetre
// under the figure it is wet on its own side, a millimetre over it dry.
func TestHeelHeights(t *testing.T) {
	rows, err := csv.NewReader(strings.NewReader(dryHeights)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	s := hullOf(10)
	for _, r := range rows {
		n := func(i int) float64 {
			v, err := strconv.ParseFloat(r[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		heel, y, mm := n(0), n(1), n(2)
		for _, side := range []float64{1, -1} {
			a := NewAttitude(unit.Degree(side*heel), 0)
			if h := s.HeightOf(place((mm+1)/1000, side*y, 0), a); h.Lo <= 0 {
				t.Errorf("heel %g°, offset %g m: %g mm is %g m, want dry", heel, y, mm+1, h.Lo)
			}
			if h := s.HeightOf(place((mm-1)/1000, side*y, 0), a); h.Lo >= 0 {
				t.Errorf("heel %g°, offset %g m: %g mm is %g m, want wet", heel, y, mm-1, h.Lo)
			}
			if h := s.HeightOf(place((mm+1)/1000, -side*y, 0), a); h.Lo <= 0 {
				t.Errorf("heel %g°: the high side is wet", heel)
			}
		}
	}
}

// TestHeightsAgreeWithSolver: the two places that know the formula h = z cos θ
// cos τ − y sin θ − x sin τ (plumbing reference 0.1) agree; x is length/2 −
// station.
func TestHeightsAgreeWithSolver(t *testing.T) {
	s := hullOf(12)
	for _, heel := range []unit.Degree{0, 7, -20, 30} {
		for _, trim := range []unit.Degree{0, 2, -3} {
			for _, p := range [][3]float64{{0.3, 1.2, 2}, {-0.5, -0.8, 11}, {0, 0, 6}} {
				a := NewAttitude(heel, trim)
				want := water.Attitude{Heel: heel, Trim: trim}.HeightOf(water.Place{Forward: unit.Metre(6 - p[2]), Offset: unit.Metre(p[1]), Height: unit.Metre(p[0])})
				if got := s.HeightOf(place(p[0], p[1], p[2]), a); math.Abs(got.Lo-float64(want)) > 1e-12 || !got.Known() {
					t.Errorf("%v %v: %v, want %v", a, p, got, want)
				}
			}
		}
	}
	// Closed form: trimmed 1° by the stern, a point 5 m abaft midships lies
	// 5 sin 1° = 87 mm lower.
	h := s.HeightOf(place(0.1, 0, 11), NewAttitude(0, -1))
	if want := 0.1*math.Cos(math.Pi/180) - 5*math.Sin(math.Pi/180); math.Abs(h.Lo-want) > 1e-12 {
		t.Errorf("trim: %v, want %v", h.Lo, want)
	}
}

// TestMissingPlace: what is not given makes a height unknown, and is named.
func TestMissingPlace(t *testing.T) {
	s := hullOf(10)
	p := place(0.1, 0.5, 3)
	none := schema.Val[unit.Metre]{}
	for _, c := range []struct {
		name    string
		change  func(*trace.Point)
		a       Attitude
		missing string
	}{
		{"height", func(p *trace.Point) { p.Height = none }, NewAttitude(0, 0), "height of X"},
		{"offset upright", func(p *trace.Point) { p.Offset = none }, NewAttitude(0, 0), ""},
		{"offset heeled", func(p *trace.Point) { p.Offset = none }, NewAttitude(-7, 0), "offset of X"},
		{"station untrimmed", func(p *trace.Point) { p.Station = none }, NewAttitude(7, 0), ""},
		{"station trimmed", func(p *trace.Point) { p.Station = none }, NewAttitude(0, 1), "station of X"},
	} {
		q := p
		c.change(&q)
		d, lacks := s.Lacks(q, c.a)
		if lacks != (c.missing != "") || d.Name != c.missing || s.HeightOf(q, c.a).Known() == lacks {
			t.Errorf("%s: lacks %q, want %q", c.name, d.Name, c.missing)
		}
	}
}

// TestFloodAttitudes: the angles of ISO 9093:2020 and H-27 as the reference gives
// them, and their crossing with trim.
func TestFloodAttitudes(t *testing.T) {
	v := func(m float64) schema.Val[unit.Metre] { return schema.Of(unit.Metre(m), schema.Own) }
	for _, c := range []struct {
		hull        string
		beam, sheer float64
		set         tables.Set
		want        float64
	}{
		{"motor", 3, 1, tables.US, 7}, {"multihull", 6, 1, tables.ISO, 7},
		{"sail", 3.4, 1.2, tables.ISO, 30},                                   // the sheer goes under at 35.2°
		{"sail", 3.4, 1.2, tables.US, 35.2175},                               // atan(1.2/1.7)
		{"sail", 4, 0.8, tables.ISO, 21.8014}, {"sail", 0, 0, tables.US, 30}, // atan(0.8/2); without sheer 30° is said
	} {
		s := hullOf(10)
		s.Boat.Vessel.Hull = schema.Of(c.hull, schema.Own)
		if c.sheer > 0 {
			s.Boat.Vessel.Beam, s.Boat.Vessel.Sheer = v(c.beam), v(c.sheer)
		}
		if got := s.Heel(c.set); math.Abs(float64(got.Angle)-c.want) > 1e-4 || got.Assumed != (c.hull == "sail" && c.sheer == 0) {
			t.Errorf("%s %v: %v, want %g°", c.hull, c.set, got, c.want)
		}
	}
	s := hullOf(10)
	s.Boat.Vessel.Trim = schema.Of(unit.Degree(1), schema.Own)
	var said []string
	for _, a := range s.Attitudes() {
		said = append(said, a.String())
	}
	want := "upright|heeled 7° to starboard|heeled 7° to port|trimmed 1° by the bow|" +
		"heeled 7° to starboard, trimmed 1° by the bow|heeled 7° to port, trimmed 1° by the bow|trimmed 1° by the stern|" +
		"heeled 7° to starboard, trimmed 1° by the stern|heeled 7° to port, trimmed 1° by the stern"
	if got := strings.Join(said, "|"); got != want {
		t.Errorf("attitudes:\n%s\nwant\n%s", got, want)
	}
}
