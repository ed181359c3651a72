package schematic_test

import (
	"fmt"
	"math/rand"
	"regexp"
	"strings"
	"testing"

	"fitout/render"
	"fitout/schema/boattest"
)

// makeWhole writes a boat of about n parts that has something for every sheet: a
// tenth of it is on shore power and at most three tenths hold water, the rest is
// direct current, and every part has its space and place. A careless author adds jumpers,
// writes wires backwards and lists nothing in order.
func makeWhole(n int, seed uint64, careless bool) string {
	r := rand.New(rand.NewSource(int64(seed)))
	wet := sections(boatOf(r, max(1, n/40)))
	ac := acLines(max(4, n/10))
	dry := sections(makeBoat(max(20, n-len(wet["parts"])-len(ac.parts)), seed, careless))
	parts := append(append([]string{}, dry["parts"]...), ac.parts...)
	for i, p := range parts {
		k := r.Intn(len(wholeSpaces))
		at := fmt.Sprintf(", space: %s, station: %.2f m, offset: %.2f m, height: %.2f m}", wholeSpaces[k].id,
			wholeSpaces[k].from+(wholeSpaces[k].to-wholeSpaces[k].from)*r.Float64(), 3*r.Float64()-1.5, 1.2*r.Float64()-0.2)
		parts[i] = strings.TrimSuffix(p, "}") + at
	}
	for _, p := range wet["parts"] {
		parts = append(parts, pumpID.ReplaceAllString(p, "CP$1"))
	}
	var hoses []string
	for _, h := range wet["hoses"] {
		hoses = append(hoses, pumpID.ReplaceAllString(h, "CP$1"))
	}
	wires := append(append([]string{}, dry["wires"]...), ac.wires...)
	if careless {
		r.Shuffle(len(parts), func(i, j int) { parts[i], parts[j] = parts[j], parts[i] })
		r.Shuffle(len(wires), func(i, j int) { wires[i], wires[j] = wires[j], wires[i] })
	}
	spaces := "  bilge: {title: Bilge, bilge: yes}\n"
	for _, s := range wholeSpaces {
		spaces += fmt.Sprintf("  %s: {title: %s, station: [%g m, %g m]}\n", s.id, s.title, s.from, s.to)
	}
	return "fitout: 1\nvessel: {name: Invented, hull: motor, length: 14 m, beam: 4.2 m}\nspaces:\n" + spaces +
		"parts:\n" + strings.Join(parts, "\n") + "\nwires:\n" + strings.Join(wires, "\n") + "\nhoses:\n" + strings.Join(hoses, "\n") +
		"\nsheets: {paper: A4, drawn: Test, date: 2026-05-02, show: [length]}\n"
}

// pumpID is a pump of boatOf whose id a panel of makeBoat has too.
var pumpID = regexp.MustCompile(`\bP(\d+)\b`)

var wholeSpaces = []struct {
	id, title string
	from, to  float64
}{{"fore", "Fore cabin", 1, 4}, {"saloon", "Saloon", 4, 8}, {"engine", "Engine room", 8, 11}, {"aft", "Lazarette", 11, 13}}

// sections lists the lines below each key of a file.
func sections(text string) map[string][]string {
	out := map[string][]string{}
	key := ""
	for _, l := range strings.Split(text, "\n") {
		if !strings.HasPrefix(l, " ") {
			key, _, _ = strings.Cut(l, ":")
			continue
		}
		out[key] = append(out[key], l)
	}
	return out
}

type acPart struct{ parts, wires []string }

// acLines are an inlet, a main switch, panels and what they feed, n parts in all.
func acLines(n int) acPart {
	var a acPart
	part := func(format string, args ...any) { a.parts = append(a.parts, "  "+fmt.Sprintf(format, args...)) }
	wire := func(from, to, cable string) {
		a.wires = append(a.wires, fmt.Sprintf("  - {id: A%d, from: %s, to: %s, cable: 3 core %s mm2, length: 3 m}", len(a.wires)+1, from, to, cable))
	}
	part("SHI: {kind: shore-inlet, title: Shore inlet, volts: 230 V, rating: 32 A}")
	part("RC: {kind: rcd, title: Shore main, rating: 32 A, poles: 2, trip: 30 mA, volts: 230 V}")
	wire("SHI", "RC", "6")
	feed, ways := "RC", 0
	for k := 0; len(a.parts) < n; k++ {
		ways = min(6, n-len(a.parts)-1)
		if ways < 1 {
			break
		}
		var list []string
		for i := range ways + 1 {
			list = append(list, fmt.Sprintf("%d: {title: Circuit %d, rating: 16 A, poles: 2}", i+1, i+1))
		}
		id := fmt.Sprintf("AP%d", k)
		part("%s: {kind: ac-panel, title: AC panel %d, rating: 32 A, ways: {%s}}", id, k+1, strings.Join(list, ", "))
		wire(feed, id+".in", "4")
		for i := range ways {
			o := fmt.Sprintf("OU%d%c", k, 'a'+i)
			part("%s: {kind: outlet, title: Socket %s, rating: 10 A}", o, o)
			wire(fmt.Sprintf("%s.%d", id, i+1), o, "1.5")
		}
		feed = fmt.Sprintf("%s.%d", id, ways+1)
	}
	return a
}

// TestWholeBoat: the boat that is timed has something on every kind of sheet.
func TestWholeBoat(t *testing.T) {
	for _, careless := range []bool{false, true} {
		b := boattest.Read(t, makeWhole(150, 1, careless))
		if n := len(b.Parts); n < 140 || n > 175 {
			t.Errorf("%d parts", n)
		}
		kinds := map[string]int{}
		for _, s := range drawBoat(t, b, render.Options{}) {
			k, _, _ := strings.Cut(s.ID, "-")
			kinds[k]++
		}
		for _, k := range render.Kinds() {
			if kinds[k] == 0 {
				t.Errorf("no sheet %s: %v", k, kinds)
			}
		}
	}
}
