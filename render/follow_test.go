package render_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"

	"fitout/render"
	"fitout/render/svg"
	"fitout/schema/boattest"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// drawn is what a person can read off finished DC sheets: which run ends where,
// and what kind each symbol is.
type drawn struct {
	kind map[string]string    // part → data-kind
	runs map[string][2]string // run → its ends, PART.TERMINAL
}

func readSheets(t *testing.T, example string) (drawn, *survey.Survey) {
	t.Helper()
	b := boattest.ReadFile(t, "../examples/"+example+".yaml")
	s := survey.Of(b)
	sheets, err := render.Sheets(s, rules.Check(s), render.Options{Which: []string{"dc"}, Clean: true})
	if err != nil {
		t.Fatal(err)
	}
	d := drawn{kind: map[string]string{}, runs: map[string][2]string{}}
	for _, sh := range sheets {
		var buf bytes.Buffer
		if err := svg.Write(&buf, sh, svg.Options{NoFont: true}); err != nil {
			t.Fatal(err)
		}
		d.read(t, &buf)
	}
	return d, s
}

func (d *drawn) read(t *testing.T, r io.Reader) {
	t.Helper()
	dec := xml.NewDecoder(r)
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		el, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		at := map[string]string{}
		for _, a := range el.Attr {
			at[a.Name.Local] = a.Value
		}
		switch {
		case el.Name.Local == "g" && strings.Contains(at["class"], "part"):
			d.kind[at["data-part"]] = at["data-kind"]
		case el.Name.Local == "path" && strings.Contains(at["class"], "wire"):
			// A run cut at a sheet's edge stands on both sheets with its true ends.
			d.runs[at["data-wire"]] = [2]string{at["data-from"], at["data-to"]}
		}
	}
}

// passing are the symbols that a reader's finger goes through.
var passing = map[string]bool{"fuse": true, "breaker": true, "switch": true, "selector": true, "relay": true, "float-switch": true,
	"bus": true, "block": true, "stud": true, "panel": true, "fuse-block": true, "shunt": true}

// follow goes from a load's plus to the nearest battery's, run by run, and
// returns the fuses and breakers met; a panel's way is one.
func (d drawn) follow(from string) (battery string, devices []string) {
	type step struct {
		at      string
		devices []string
	}
	seen := map[string]bool{from: true}
	queue := []step{{from, nil}}
	for len(queue) > 0 {
		s := queue[0]
		queue = queue[1:]
		part, terminal, _ := strings.Cut(s.at, ".")
		kind := d.kind[part]
		if kind == "battery" && terminal == "+" {
			return part, s.devices
		}
		next := func(to string, met []string) {
			if !seen[to] {
				seen[to] = true
				queue = append(queue, step{to, met})
			}
		}
		for _, id := range d.order() {
			ends := d.runs[id]
			for i, end := range ends {
				if end == s.at {
					next(ends[1-i], s.devices)
				}
			}
		}
		if !passing[kind] {
			continue
		}
		for _, id := range d.order() {
			for _, end := range d.runs[id] {
				p, t, _ := strings.Cut(end, ".")
				if p != part || end == s.at {
					continue
				}
				next(end, append(slices.Clone(s.devices), d.met(part, kind, terminal, t)...))
			}
		}
	}
	return "", nil
}

// met names the devices between two terminals of a symbol.
func (d drawn) met(part, kind, a, b string) []string {
	switch kind {
	case "fuse", "breaker":
		return []string{part}
	case "panel", "fuse-block":
		var out []string
		for _, t := range []string{a, b} {
			if t != "in" && t != "-" {
				out = append(out, part+"."+t)
			}
		}
		return out
	}
	return nil
}

func (d drawn) order() []string {
	var ids []string
	for id := range d.runs {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

// TestLoadsCanBeFollowedToTheirBattery: with nothing but the finished sheets,
// five loads of the cruiser are followed back through every device, and the
// model says the same.
func TestLoadsCanBeFollowedToTheirBattery(t *testing.T) {
	d, s := readSheets(t, "cruiser")
	for _, load := range []string{"NL1", "FR1", "AC1", "P1", "P3"} {
		battery, got := d.follow(load + ".+")
		var want []string
		steps := -1
		for _, w := range s.Ways(s.Boat.Part(load)) {
			if w.To.ID != battery || w.Water || w.Return || w.Terminal != "+" || steps >= 0 && len(w.Steps) >= steps {
				continue
			}
			steps, want = len(w.Steps), nil
			for _, st := range w.Steps {
				if st.Part != nil && st.Opens && (st.Way != "" || st.Part.Kind.Name == "fuse" || st.Part.Kind.Name == "breaker") {
					want = append(want, st.ID)
				}
			}
		}
		if battery == "" || steps < 0 {
			t.Errorf("%s leads to no battery on the sheets (%q)", load, battery)
			continue
		}
		if len(want) == 0 || !slices.Equal(got, want) {
			t.Errorf("%s: the sheets show %v on the way to %s, the model %v", load, got, battery, want)
		}
	}
}
