package schematic_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
)

// boatMaker writes invented boats: a house bank behind fuse, switch and shunt, a
// starting battery, sources of charge, panels and buses with loads.
type boatMaker struct {
	rng      *rand.Rand
	parts    []string
	wires    []string
	wire, n  int
	careless bool
}

func (m *boatMaker) part(id, format string, args ...any) {
	m.parts = append(m.parts, fmt.Sprintf("  %s: {%s}", id, fmt.Sprintf(format, args...)))
	m.n++
}

// run writes a conductor; a careless author writes every second one backwards.
func (m *boatMaker) run(a, b, size, length string, more ...string) {
	m.wire++
	if m.careless && m.rng.IntN(2) == 0 {
		a, b = b, a
	}
	m.wires = append(m.wires, fmt.Sprintf("  - {id: %d, from: %s, to: %s, size: %s, length: %s%s}", m.wire, a, b, size, length, strings.Join(more, "")))
}

func (m *boatMaker) length(most float64) string {
	return fmt.Sprintf("%.1f m", 0.2+m.rng.Float64()*most)
}

var loadKinds = []struct{ kind, title, draw string }{
	{"light", "Saloon lights", "draw: 1.8 A"}, {"light", "Navigation lights", "draw: 2.2 A"}, {"electronics", "VHF radio", "draw: 5 A"},
	{"electronics", "Plotter", "draw: 2 A"}, {"fan", "Cabin fan", "draw: 0.6 A"}, {"refrigerator", "Refrigerator", "draw: 4.5 A"},
	{"pump", "Fresh water pump", "draw: 6 A, duty: pressure"}, {"heater", "Cabin heater", "draw: 3 A"}, {"load", "Cigar socket", "draw: 8 A"},
	{"alarm", "Gas alarm", "draw: 0.2 A, senses: smoke"}, {"electronics", "Autopilot", "draw: 6 A"}, {"toilet", "Toilet, forward", "draw: 12 A, design: electric"},
}

// makeBoat writes a boat of about n parts.
func makeBoat(n int, seed uint64, careless bool) string {
	m := &boatMaker{rng: rand.New(rand.NewPCG(seed, 5)), careless: careless}
	m.part("HP", "kind: bus, title: Main positive, rating: 300 A, polarity: positive")
	m.part("HN", "kind: bus, title: Main negative, rating: 300 A, polarity: negative")
	m.part("BP", "kind: bus, title: Battery positive, rating: 300 A")
	m.part("BM", "kind: bus, title: Battery negative, rating: 300 A")
	m.part("SH1", "kind: shunt, rating: 300 A, millivolts: 50 mV, title: Monitor shunt")
	m.part("S1", "kind: switch, rating: 300 A, title: House switch")
	m.run("BP", "S1.in", "70 mm2", "0.4 m")
	m.run("S1.out", "HP", "70 mm2", "0.5 m")
	m.run("BM", "SH1.battery", "70 mm2", "0.3 m")
	m.run("SH1.load", "HN", "70 mm2", "0.3 m")
	banks := 1 + n/60
	for i := range banks {
		m.part(fmt.Sprintf("B%d", i+2), "kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 200 Ah, title: House battery %d", i+1)
		m.part(fmt.Sprintf("FB%d", i+2), "kind: fuse, family: class-t, rating: 225 A")
		m.run(fmt.Sprintf("B%d.+", i+2), fmt.Sprintf("FB%d.in", i+2), "70 mm2", "0.15 m")
		m.run(fmt.Sprintf("FB%d.out", i+2), "BP", "70 mm2", "0.3 m")
		m.run(fmt.Sprintf("B%d.-", i+2), "BM", "70 mm2", "0.4 m")
	}
	m.part("GND", "kind: ground, title: Engine block")
	m.run("HN", "GND", "50 mm2", "1.8 m")
	if n >= 40 {
		m.starting()
	}
	for i := range n / 60 {
		m.solar(i)
	}
	m.part("AN1", "kind: anode, title: Hull anode")
	m.run("GND", "AN1", "16 mm2", "2 m")
	for k := 0; m.n < n-2; k++ {
		if k%3 != 2 {
			m.busPanel(k, n)
		} else {
			m.panel(k, n)
		}
	}
	if careless {
		m.mess(banks)
		m.rng.Shuffle(len(m.parts), func(i, j int) { m.parts[i], m.parts[j] = m.parts[j], m.parts[i] })
		m.rng.Shuffle(len(m.wires), func(i, j int) { m.wires[i], m.wires[j] = m.wires[j], m.wires[i] })
	}
	return "fitout: 1\nvessel: {name: Invented, hull: motor, length: 12 m}\nparts:\n" + strings.Join(m.parts, "\n") +
		"\nwires:\n" + strings.Join(m.wires, "\n") + "\nsheets: {paper: A4, drawn: Test, date: 2026-05-02, show: [length]}\n"
}

func (m *boatMaker) starting() {
	m.part("B1", "kind: battery, chemistry: agm, volts: 12 V, capacity: 90 Ah, cranking: 800 A, title: Starting battery")
	m.part("S2", "kind: switch, rating: 350 A, title: Start switch")
	m.part("ST1", "kind: starter, draw: 200 A, title: Starter")
	m.part("ALT1", "kind: alternator, volts: 14.2 V, output: {2000 rpm: 40 A, 6000 rpm: 80 A}, ratio: 2, title: Alternator")
	m.part("FA1", "kind: fuse, family: class-t, rating: 125 A, title: Alternator")
	m.part("PS1", "kind: switch, rating: 300 A, position: open, title: Emergency parallel")
	m.run("B1.+", "S2.in", "50 mm2", "0.5 m")
	m.run("S2.out", "ST1.+", "50 mm2", "1.6 m")
	m.run("ALT1.+", "FA1.in", "25 mm2", "0.8 m")
	m.run("FA1.out", "ST1.+", "25 mm2", "0.2 m")
	m.run("S2.out", "PS1.in", "50 mm2", "1 m")
	m.run("PS1.out", "HP", "50 mm2", "1 m")
	m.run("B1.-", "GND", "50 mm2", "1.5 m")
	m.run("ST1.-", "GND", "50 mm2", "0.3 m")
	m.run("ALT1.-", "GND", "25 mm2", "0.5 m")
}

func (m *boatMaker) solar(i int) {
	id := func(s string) string { return fmt.Sprintf("%s%d", s, i+1) }
	m.part(id("SP"), "kind: solar, power: 200 W, volts: 18 V, title: Panel %d", i+1)
	m.part(id("CC"), "kind: charge-controller, rating: 20 A, output: 15 A, title: Solar controller")
	m.part(id("FS"), "kind: fuse, family: blade, rating: 30 A")
	m.run(id("SP")+".+", id("CC")+".pv+", "6 mm2", m.length(5))
	m.run(id("SP")+".-", id("CC")+".pv-", "6 mm2", m.length(5))
	m.run(id("CC")+".+", id("FS")+".in", "6 mm2", "1 m")
	m.run(id("FS")+".out", "HP", "6 mm2", "0.2 m")
	m.run(id("CC")+".-", "HN", "6 mm2", "1.5 m")
}

func (m *boatMaker) load(id string) {
	k := loadKinds[m.rng.IntN(len(loadKinds))]
	m.part(id, "kind: %s, title: %q, %s", k.kind, k.title, k.draw)
}

// busPanel is a feed to a bus with a breaker of its own for every load.
func (m *boatMaker) busPanel(k, n int) {
	id := fmt.Sprintf("P%d", k)
	m.part("F"+id, "kind: fuse, family: strip, rating: 80 A, title: Feed of %s", id)
	m.part(id, "kind: bus, title: Sub-panel %d, rating: 100 A", k)
	m.part(id+"N", "kind: bus, title: Returns of %s, rating: 100 A", id)
	m.run("HP", "F"+id+".in", "16 mm2", "0.2 m")
	m.run("F"+id+".out", id, "16 mm2", m.length(4))
	m.run(id+"N", "HN", "16 mm2", m.length(4))
	for i := range min(4+m.rng.IntN(7), max(1, (n-m.n)/2)) {
		b, l := fmt.Sprintf("Q%d%c", k, 'a'+i), fmt.Sprintf("L%d%c", k, 'a'+i)
		m.part(b, "kind: breaker, family: thermal, rating: 10 A")
		m.load(l)
		m.run(id, b+".in", "2.5 mm2", "0.1 m")
		m.run(b+".out", l+".+", "2.5 mm2", m.length(8))
		m.run(l+".-", id+"N", "2.5 mm2", m.length(8))
	}
}

// panel is a switch panel with a way for every load.
func (m *boatMaker) panel(k, n int) {
	id := fmt.Sprintf("DP%d", k)
	count := min(3+m.rng.IntN(6), max(1, n-m.n-1))
	var ways []string
	for i := range count + 1 {
		w := fmt.Sprintf("%d: {title: Way %d, rating: 10 A}", i+1, i+1)
		if i == count {
			w = fmt.Sprintf("%d: {spare: yes}", i+1)
		}
		ways = append(ways, w)
	}
	m.part("F"+id, "kind: fuse, family: strip, rating: 80 A, title: Feed of %s", id)
	m.part(id, "kind: panel, title: Switch panel %d, rating: 100 A, ways: {%s}", k, strings.Join(ways, ", "))
	m.run("HP", "F"+id+".in", "16 mm2", "0.2 m")
	m.run("F"+id+".out", id+".in", "16 mm2", m.length(4))
	for i := range count {
		l := fmt.Sprintf("L%d%c", k, 'a'+i)
		m.load(l)
		m.run(fmt.Sprintf("%s.%d", id, i+1), l+".+", "2.5 mm2", m.length(8))
		m.run(l+".-", "HN", "2.5 mm2", m.length(8))
	}
}

// mess adds what a careless author writes: jumpers, a second wire on a breaker, a
// monitor with sense leads.
func (m *boatMaker) mess(banks int) {
	if banks > 1 {
		m.run("B2.+", "B3.+", "70 mm2", "0.3 m")
		m.run("B2.-", "B3.-", "70 mm2", "0.3 m")
	}
	m.part("LX1", "kind: light, draw: 0.5 A, title: Added later")
	m.run("Q0a.out", "LX1.+", "1.5 mm2", "3 m")
	m.run("LX1.-", "HN", "1.5 mm2", "3 m")
	m.part("BM1", "kind: monitor, draw: 15 mA, title: Battery monitor")
	m.run("P0", "BM1.+", "1.5 mm2", "2 m")
	m.run("BM1.-", "P0N", "1.5 mm2", "2 m")
	m.run("BM1.sense", "BP", "1 mm2", "3 m", ", carries: signal")
}
