package pack

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/schema"
	"fitout/validate/trace"
)

// cells are the texts of the sheets of a kind, one a cell.
func cells(p *Pack, prefix string) []string {
	var out []string
	for _, s := range p.Sheets {
		if kind := s.ID[4:]; kind == prefix || strings.HasPrefix(kind, prefix+"-") {
			out = append(out, texts(s)...)
		}
	}
	return out
}

// drawnAs lists the drawings (dc, ac, water) that show a part.
func drawnAs(p *Pack, id string) []string {
	var out []string
	for _, s := range p.Sheets {
		kind, _, _ := strings.Cut(s.ID[4:], "-")
		if !slices.Contains([]string{"dc", "ac", "water"}, kind) || slices.Contains(out, kind) {
			continue
		}
		if slices.ContainsFunc(s.Items, func(it draw.Item) bool { return drawsPart(it, id) }) {
			out = append(out, kind)
		}
	}
	slices.Sort(out)
	return out
}

// Every fuse, breaker, valve and hull opening stands on exactly the sheets it
// should, of every example, for those aboard and for the owner: a device in the
// list of fuses and on the drawing of its own current, and nowhere among the
// openings; an opening and its valve on the emergency plan and on the water
// drawing, and in no list of fuses; a valve toward the sea on the card for leaving,
// no other. (The space sheets have a test of their own.) What is asked for comes
// from the model.
func TestExactlyTheSheetsItShould(t *testing.T) {
	for _, file := range exampleNames(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			for _, a := range []Audience{Aboard, Owner} {
				p, in := packOf(t, file, a)
				fuses, plan, card := cells(p, "protection"), cells(p, "openings"), cells(p, "sheet-card-leaving")
				is := func(what, id string, list []string, want bool) {
					t.Helper()
					has := slices.ContainsFunc(list, func(c string) bool { return c == id || strings.HasPrefix(c, id+" ") })
					if has != want {
						t.Errorf("%s: %s on %s: %v; it should be %v", a, id, what, has, want)
					}
				}
				drawn := func(id string, want ...string) {
					t.Helper()
					if got := drawnAs(p, id); !slices.Equal(got, want) {
						t.Errorf("%s: %s is drawn as %v; wanted %v", a, id, got, want)
					}
				}
				count := 0
				for _, q := range in.Survey.Boat.Parts {
					if q.Prepared {
						continue
					}
					seen := map[string]bool{}
					var media []string
					for _, br := range q.Branches() {
						if br.Type != schema.Device || br.Device.Inside {
							continue
						}
						medium := map[bool]string{true: "ac", false: "dc"}[br.Medium == schema.AC]
						if !slices.Contains(media, medium) {
							media = append(media, medium)
						}
						id := q.ID
						if w, ok := q.Way(br.Way); br.Way != "" && ok {
							if w.Spare {
								continue
							}
							id += "." + br.Way
						}
						if !seen[id] {
							seen[id] = true
							count++
							is("the list of fuses", id, fuses, true)
						}
					}
					if len(media) > 0 && !q.Is(schema.Mover) {
						slices.Sort(media)
						drawn(q.ID, media...)
						is("the emergency plan", q.ID, plan, false)
					}
					switch r := q.Roles(); {
					case r.Any(schema.SeaOpening | schema.HullHole):
						count++
						is("the emergency plan", q.ID, plan, true)
						is("the list of fuses", q.ID, fuses, false)
						if r.Any(schema.SeaOpening) {
							drawn(q.ID, "water")
						}
					case r.Any(schema.Seacock | schema.Shutoff):
						count++
						is("the emergency plan", q.ID, plan, q.Host != nil)
						is("the list of fuses", q.ID, fuses, false)
						is("the card for leaving", q.ID, card, toSea(in, q))
						drawn(q.ID, "water")
					}
				}
				if count < 8 {
					t.Errorf("%d things looked for", count)
				}
			}
		})
	}
}

// toSea reports whether water gets from a valve to an opening in the hull.
func toSea(in Input, valve *schema.Part) bool {
	sea := in.Survey.Sea()
	trail := sea.Walk(sea.NodesOf(valve), trace.Walk{})
	return slices.ContainsFunc(sea.Hull, func(m *trace.Mouth) bool { return trail.Find(m.Node) >= 0 })
}
