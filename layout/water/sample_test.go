package waterlayout

import (
	"fmt"
	"math/rand"
)

// The sample boats draw their parts from a small box of shapes.

func name(s string) Size { return Size{max(4, (len(s)*2+5)/4), 4} }

func mk(id string, w, h int, l Level, hint Hint, ports ...Port) Box {
	return Box{ID: id, Size: Size{w, h}, Anchor: h / 2, Level: l, Hint: hint, Ports: ports, Name: name(id)}
}

func hull(id string, l Level, hint Hint) Box {
	return mk(id, 4, 2, l, hint, Port{"in", Top, 2})
}

func seacock(id string, l Level) Box {
	return mk(id, 4, 4, l, Anywhere, Port{"out", Top, 2}, Port{"in", Bottom, 2})
}

func flowing(id string, w, h int, l Level) Box {
	return mk(id, w, h, l, Anywhere, Port{"in", Left, h / 2}, Port{"out", Right, h / 2})
}

func loop(id string, l Level) Box {
	return mk(id, 4, 4, l, Anywhere, Port{"in", Bottom, 0}, Port{"out", Bottom, 4})
}

func hose(id, fb, fp, tb, tp string) Run {
	return Run{ID: id, From: End{fb, fp}, To: End{tb, tp}, Labels: []Size{{9, 2}, {6, 2}, {3, 2}}}
}

func stacked(th, sc string) Stack { return Stack{End{th, "in"}, End{sc, "in"}} }

// rawWater is a cooling circuit with a vented loop and a wet exhaust.
func rawWater(p string) Graph {
	b := []Box{
		hull(p+"TH1", At(-600), Inlet), seacock(p+"SC1", At(-500)),
		flowing(p+"ST1", 6, 6, At(-100)), flowing(p+"P1", 6, 6, At(-150)),
		flowing(p+"HX1", 10, 6, At(200)), loop(p+"VL1", At(700)),
		mk(p+"WL1", 8, 8, At(-200), Anywhere, Port{"in", Top, 2}, Port{"out", Top, 6}),
		mk(p+"TH2", 4, 2, At(150), Outlet, Port{"in", Left, 1}),
	}
	r := []Run{
		hose(p+"H0", p+"TH1", "in", p+"SC1", "in"), hose(p+"H1", p+"SC1", "out", p+"ST1", "in"),
		hose(p+"H2", p+"ST1", "out", p+"P1", "in"), hose(p+"H3", p+"P1", "out", p+"HX1", "in"),
		hose(p+"H4", p+"HX1", "out", p+"VL1", "in"), hose(p+"H5", p+"VL1", "out", p+"WL1", "in"),
		hose(p+"H6", p+"WL1", "out", p+"TH2", "in"),
	}
	r[6].Vias = []Via{{Level: At(450)}}
	return Graph{Boxes: b, Runs: r, Stacks: []Stack{stacked(p+"TH1", p+"SC1")}}
}

// bilge has two pumps, one with a loop of its own in the hose.
func bilge(p string) Graph {
	pump := func(id string, mm int) Box {
		return mk(id, 6, 4, At(mm), Anywhere, Port{"out", Right, 1})
	}
	b := []Box{
		pump(p+"BP1", -450), pump(p+"BP2", -380), flowing(p+"CV1", 4, 2, At(-200)),
		mk(p+"TH3", 4, 2, At(300), Outlet, Port{"in", Left, 1}), loop(p+"VL2", At(800)),
		mk(p+"TH4", 4, 2, At(350), Outlet, Port{"in", Left, 1}),
	}
	r := []Run{
		hose(p+"H10", p+"BP1", "out", p+"CV1", "in"), hose(p+"H11", p+"CV1", "out", p+"VL2", "in"),
		hose(p+"H12", p+"VL2", "out", p+"TH3", "in"), hose(p+"H13", p+"BP2", "out", p+"TH4", "in"),
	}
	r[3].Vias = []Via{{Level: At(900)}}
	return Graph{Boxes: b, Runs: r}
}

// toilet has an intake, a flushing loop, a holding tank and a discharge.
func toilet(p string) Graph {
	b := []Box{
		hull(p+"TH5", At(-550), Inlet), seacock(p+"SC5", Level{}), loop(p+"VL5", At(650)),
		mk(p+"WC", 8, 8, At(100), Anywhere, Port{"in", Top, 2}, Port{"out", Right, 6}),
		mk(p+"YV", 4, 4, At(160), Anywhere, Port{"in", Left, 2}, Port{"a", Top, 2}, Port{"b", Right, 2}),
		mk(p+"HT", 12, 8, At(500), Anywhere, Port{"fill", Left, 6}, Port{"out", Right, 6}, Port{"vent", Top, 10}),
		mk(p+"VT", 3, 2, At(1100), Anywhere, Port{"in", Bottom, 1}),
		mk(p+"DK", 4, 2, At(1050), Anywhere, Port{"out", Bottom, 2}),
		loop(p+"VL6", At(750)), hull(p+"TH6", At(-400), Outlet), seacock(p+"SC6", Level{}),
	}
	b[6].Name = name("VENT")
	b[5].Ports = append(b[5].Ports, Port{"deck", Top, 2})
	r := []Run{
		hose(p+"H20", p+"TH5", "in", p+"SC5", "in"), hose(p+"H21", p+"SC5", "out", p+"VL5", "in"),
		hose(p+"H22", p+"VL5", "out", p+"WC", "in"), hose(p+"H23", p+"WC", "out", p+"YV", "in"),
		hose(p+"H24", p+"YV", "b", p+"HT", "fill"), hose(p+"H25", p+"HT", "vent", p+"VT", "in"),
		hose(p+"H26", p+"HT", "deck", p+"DK", "out"), hose(p+"H27", p+"HT", "out", p+"VL6", "in"),
		hose(p+"H28", p+"VL6", "out", p+"SC6", "out"), hose(p+"H29", p+"SC6", "in", p+"TH6", "in"),
	}
	return Graph{Boxes: b, Runs: r, Stacks: []Stack{stacked(p+"TH5", p+"SC5"), stacked(p+"TH6", p+"SC6")}}
}

// fresh has a tank, a pump, an accumulator on a tee and three taps.
func fresh(p string) Graph {
	tee := func(id string, mm int) Box {
		return mk(id, 2, 2, At(mm), Anywhere, Port{"a", Left, 1}, Port{"b", Right, 1}, Port{"c", Top, 1})
	}
	tap := func(id string, mm int) Box { return mk(id, 4, 4, At(mm), Anywhere, Port{"in", Bottom, 2}) }
	tank := mk(p+"T1", 14, 8, At(-150), Anywhere, Port{"fill", Top, 3}, Port{"vent", Top, 11}, Port{"outlet", Right, 6})
	tank.Straddle = true
	b := []Box{
		tank, mk(p+"DF", 4, 2, At(1000), Inlet, Port{"out", Bottom, 2}), mk(p+"TV", 4, 2, At(950), Anywhere, Port{"in", Bottom, 2}),
		flowing(p+"P5", 6, 6, At(-200)), tee(p+"TE1", 50), tap(p+"TP1", 800), tee(p+"TE2", 60), tap(p+"TP2", 820),
		tee(p+"TE3", 70), tap(p+"TP3", 810), mk(p+"AC", 4, 6, At(300), Anywhere, Port{"in", Bottom, 2}),
	}
	r := []Run{
		hose(p+"H30", p+"DF", "out", p+"T1", "fill"), hose(p+"H31", p+"T1", "vent", p+"TV", "in"),
		hose(p+"H32", p+"T1", "outlet", p+"P5", "in"), hose(p+"H33", p+"P5", "out", p+"TE1", "a"),
		hose(p+"H34", p+"TE1", "c", p+"AC", "in"), hose(p+"H35", p+"TE1", "b", p+"TE2", "a"),
		hose(p+"H36", p+"TE2", "c", p+"TP1", "in"), hose(p+"H37", p+"TE2", "b", p+"TE3", "a"),
		hose(p+"H38", p+"TE3", "c", p+"TP2", "in"), hose(p+"H39", p+"TE3", "b", p+"TP3", "in"),
	}
	return Graph{Boxes: b, Runs: r}
}

// usable areas: A3 and A4 with a frame and a title block, in units
var (
	a3 = []Size{{156, 100}}
	a4 = []Size{{106, 68}, {72, 102}}
)

func together(pages []Size, parts ...Graph) Graph {
	g := Graph{Pages: pages}
	for _, p := range parts {
		g.Boxes = append(g.Boxes, p.Boxes...)
		g.Runs = append(g.Runs, p.Runs...)
		g.Stacks = append(g.Stacks, p.Stacks...)
	}
	return g
}

func fourSystems(pages []Size) Graph {
	return together(pages, rawWater("a"), bilge("b"), toilet("c"), fresh("d"))
}

// boat makes an invented boat of the given number of parts and systems: chains
// with branches, as hoses are run, some heights not known.
func boat(seed int64, systems, parts int, pages []Size) Graph {
	rnd := rand.New(rand.NewSource(seed))
	g := Graph{Pages: pages, Lines: []int{120, -180}}
	run := 0
	connect := func(fb, fp, tb, tp string) {
		run++
		h := hose(fmt.Sprintf("H%d", run), fb, fp, tb, tp)
		if rnd.Intn(12) == 0 {
			h.Vias = []Via{{Level: At(300 + rnd.Intn(800))}}
		}
		if rnd.Intn(20) == 0 {
			h.Flow = Flow(rnd.Intn(3))
		}
		g.Runs = append(g.Runs, h)
	}
	level := func(lo, hi int) Level {
		if rnd.Intn(8) == 0 {
			return Level{}
		}
		return At(lo + 10*rnd.Intn((hi-lo)/10))
	}
	for s := 0; s < systems; s++ {
		n := parts / systems
		if s < parts%systems {
			n++
		}
		id := func(k int) string { return fmt.Sprintf("S%dP%d", s+1, k) }
		type open struct{ box, port string }
		var outs []open
		k := 0
		add := func(b Box) { g.Boxes = append(g.Boxes, b); k++ }
		if n > 2 && rnd.Intn(2) == 0 {
			add(hull(id(k), level(-700, -200), Inlet))
			add(seacock(id(k), Level{}))
			g.Stacks = append(g.Stacks, stacked(id(k-2), id(k-1)))
			run++
			g.Runs = append(g.Runs, hose(fmt.Sprintf("H%d", run), id(k-2), "in", id(k-1), "in"))
			outs = append(outs, open{id(k - 1), "out"})
		} else {
			add(mk(id(k), 14, 8, level(-400, 400), Anywhere, Port{"o1", Right, 6}, Port{"o2", Top, 4}))
			g.Boxes[len(g.Boxes)-1].Straddle = true
			outs = append(outs, open{id(0), "o1"}, open{id(0), "o2"})
		}
		for k < n {
			o := outs[0]
			outs = outs[1:]
			left := n - k
			switch pick := rnd.Intn(6); {
			case len(outs) > 0 && rnd.Intn(3) == 0 || left == 1:
				switch rnd.Intn(3) {
				case 0:
					add(mk(id(k), 4, 2, level(50, 600), Outlet, Port{"in", Left, 1}))
				case 1:
					add(mk(id(k), 4, 4, level(500, 1200), Anywhere, Port{"in", Bottom, 2}))
				default:
					add(hull(id(k), level(-600, -100), Outlet))
				}
				connect(o.box, o.port, id(k-1), "in")
				if len(outs) == 0 && k < n { // a system of its own
					add(mk(id(k), 6, 4, level(-500, -100), Anywhere, Port{"out", Right, 1}))
					outs = append(outs, open{id(k - 1), "out"})
				}
			case pick == 0:
				add(loop(id(k), level(400, 1000)))
				connect(o.box, o.port, id(k-1), "in")
				outs = append(outs, open{id(k - 1), "out"})
			case pick <= 2:
				add(mk(id(k), 2, 2, level(-300, 500), Anywhere, Port{"in", Left, 1}, Port{"b", Right, 1}, Port{"c", Top, 1}))
				connect(o.box, o.port, id(k-1), "in")
				outs = append(outs, open{id(k - 1), "b"}, open{id(k - 1), "c"})
			default:
				add(flowing(id(k), 4+2*rnd.Intn(4), 4+2*rnd.Intn(2), level(-500, 500)))
				connect(o.box, o.port, id(k-1), "in")
				outs = append(outs, open{id(k - 1), "out"})
			}
		}
	}
	return g
}
