package schematic_test

import (
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/schematic"
	"fitout/render/sheet"
	"fitout/schema/boattest"
	"fitout/validate/survey"
)

// readView is what a person with a ruler reads off a sheet of places: where each
// part lies by the figures of the two rulers, in metres.
type readView struct {
	station, side map[string]float64
	at            map[string]draw.Point
	// off is how far the place may be off: in a stack, whose parts share the dot of
	// one of them, what 2 mm of paper are
	off map[string]float64
	// middle is where the middle of the mark itself is by the upright ruler
	middle map[string]float64
}

func readPlaces(t *testing.T, p sheet.Page) readView {
	t.Helper()
	v := readView{map[string]float64{}, map[string]float64{}, map[string]draw.Point{}, map[string]float64{}, map[string]float64{}}
	var along, up [][2]float64 // place on paper, figure
	words := map[string]draw.Point{}
	var leaders []draw.Polyline
	var zero float64
	for _, it := range p.Items {
		g, ok := it.(draw.Group)
		if !ok {
			continue
		}
		for _, s := range g.Strokes {
			if l, ok := s.(draw.Polyline); ok && g.Class == "leaders" {
				leaders = append(leaders, l)
			}
			x, ok := s.(draw.Text)
			if !ok || g.Class != "ruler" {
				continue
			}
			f, err := strconv.ParseFloat(strings.Replace(x.S, "−", "-", 1), 64)
			switch b := x.Bounds(); {
			case err != nil:
				words[x.S] = x.At
			case x.Align == draw.Middle:
				along = append(along, [2]float64{float64(b.Min.X+b.Max.X) / 2, f})
			default:
				y := float64(b.Min.Y+b.Max.Y) / 2
				up = append(up, [2]float64{y, f})
				if f == 0 {
					zero = y
				}
			}
		}
	}
	if len(along) < 2 || len(up) < 2 {
		t.Fatalf("%s: %d and %d figures on the rulers", p.Title, len(along), len(up))
	}
	if s, ok := words["starboard"]; ok {
		for i := range up { // from above: figures on the side of the word are to starboard
			if (up[i][0] < zero) != (float64(s.Y) < zero) {
				up[i][1] = -up[i][1]
			}
		}
	}
	var ids []string
	var boxes []draw.Box
	for _, it := range p.Items {
		if part, ok := it.(draw.Part); ok {
			ids, boxes = append(ids, part.ID), append(boxes, part.Strokes[0].Bounds())
		}
	}
	for i, id := range ids {
		at := placeOf(i, boxes, leaders)
		v.at[id] = at
		v.station[id] = onRuler(along, float64(at.X))
		v.side[id] = onRuler(up, float64(at.Y))
		v.middle[id] = onRuler(up, float64(boxes[i].Min.Y+boxes[i].Max.Y)/2)
		v.off[id] = 0.02
		for k := range boxes {
			if k != i && boxes[i].Grow(0.01).Overlaps(boxes[k]) {
				v.off[id] = max(0.02, math.Abs(onRuler(along, 2)-onRuler(along, 0)))
			}
		}
	}
	return v
}

// onRuler reads a place off a ruler by its first and last figure.
func onRuler(r [][2]float64, at float64) float64 {
	a, b := r[0], r[len(r)-1]
	return a[1] + (at-a[0])/(b[0]-a[0])*(b[1]-a[1])
}

// The places can be read off the sheets: the figures of the rulers give station,
// side and height of every part as the file has them, and the key names the sheet
// and zone in which its place lies.
func TestPlacesCanBeReadOff(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, path := range files {
		in := readBoat(t, path)
		in.First = 3
		pages, err := schematic.Places(in)
		if err != nil {
			t.Fatal(err)
		}
		zones := map[string]string{}
		for i, p := range pages {
			if strings.Contains(p.Title, "key") {
				continue
			}
			plan, v := strings.Contains(p.Title, "from above"), readPlaces(t, p)
			for _, it := range p.Items {
				part, ok := it.(draw.Part)
				if !ok {
					continue
				}
				q := in.Survey.Boat.Part(part.ID)
				if got, want := v.station[q.ID], float64(q.Station().V); math.Abs(got-want) > v.off[q.ID] {
					t.Errorf("%s: %s stands %.2f m from the stem, the sheet shows %.2f", path, q.ID, want, got)
				}
				want := float64(q.Height().V)
				if plan {
					want = float64(q.Offset().V)
				}
				said := strconv.FormatFloat(want, 'f', 2, 64) // of a mark at the upper edge
				if got := v.side[q.ID]; math.Abs(got-want) > v.off[q.ID] && !drawsText(part, "+"+said+" m") {
					t.Errorf("%s, %s: %s is at %.2f m, the sheet shows %.2f", path, p.Title, q.ID, want, got)
				}
				if math.Abs(want) > 0.05 && v.middle[q.ID]*want < 0 {
					t.Errorf("%s, %s: the mark of %s stands on the wrong side of the line", path, p.Title, q.ID)
				}
				if zones[q.ID] == "" {
					zones[q.ID] = strconv.Itoa(in.First+i) + "/" + p.Frame.Zone(v.at[q.ID])
				}
			}
		}
		var key []string
		for _, p := range pages {
			for _, it := range p.Items {
				if g, ok := it.(draw.Group); ok && g.Class == "places-key" && strings.Contains(p.Title, "key") {
					line := ""
					for _, s := range g.Strokes {
						line += s.(draw.Text).S + " "
					}
					key = append(key, line)
				}
			}
		}
		for _, q := range in.Survey.Boat.Parts {
			if q.Prepared || q.Host != nil {
				continue
			}
			n := 0
			for _, line := range key {
				if words := strings.Fields(line); len(words) > 0 && words[0] == q.ID || len(words) > 1 && words[1] == q.ID && words[0] == zones[q.ID] {
					n++
				}
			}
			if n != 1 {
				t.Errorf("%s: %s stands %d times in the key with its sheet %q", path, q.ID, n, zones[q.ID])
			}
		}
	}
}

func drawsText(p draw.Part, s string) bool {
	for _, k := range p.Strokes {
		if x, ok := k.(draw.Text); ok && x.S == s {
			return true
		}
	}
	return false
}

// A boat measured in feet is shown in feet: by hand from the file, the panel stands
// 12 ft from the stem and 3 ft 6 in = 3.5 ft to starboard, 4 ft up.
func TestPlacesInFeet(t *testing.T) {
	var text string
	for _, o := range oddBoats() {
		if strings.Contains(o.name, "feet") {
			text = o.text
		}
	}
	pages, err := schematic.Places(schematic.Input{Survey: survey.Of(boattest.Read(t, text)), Papers: papers("A4"), First: 1})
	if err != nil || len(pages) != 3 {
		t.Fatal(len(pages), err)
	}
	above, aside := readPlaces(t, pages[0]), readPlaces(t, pages[1])
	for _, c := range [][2]float64{{above.station["Verteilung"], 12}, {above.side["Verteilung"], 3.5}, {aside.side["Verteilung"], 4}} {
		if math.Abs(c[0]-c[1]) > 0.05 {
			t.Errorf("the sheet shows %.2f ft, the file has %.2f", c[0], c[1])
		}
	}
	key := ""
	for _, x := range textsOf(pages[2].Items) {
		key += x.S + "|"
	}
	if !strings.Contains(key, "aft, ft|") || !strings.Contains(key, "|12.0|S 3.5|+4.0|") {
		t.Errorf("the key says %q", key)
	}
}
