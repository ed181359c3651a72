package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// exhaustFloods judges wet exhausts from the raw-water pump to the outlet.
var exhaustFloods = Rule{
	Name: "exhaust-floods", Section: waterStatic,
	Asks:     "Is raw water injected well above the sea or past a vented loop, and does the exhaust rise over a crest before its outlet?",
	Why:      "the sea siphons through the raw-water pump, or runs up the exhaust, into the cylinders of a standing engine",
	Severity: "error; warning for a crest between 300 mm in every attitude and 450 mm at rest",
	Source:   "300 mm and 450 mm: published exhaust practice quoting P-1; Boat Mechanical Systems Handbook, ch. 7",
	Quiet:    "not for a dry or air-cooled engine, nor one cooled by a keel cooler",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, height: -0.5 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 1 in, height: -0.3 m, offset: 0 m}
  E1: {kind: engine, fuel: diesel, height: -0.1 m, offset: 0 m, injection: 0.1 m}
  WL1: {kind: waterlock, height: -0.3 m, offset: 0 m}
  TH2: {kind: through-hull, service: exhaust, size: 2 in, height: 0.35 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, ST1, E1.water-in], bore: 25 mm, lengths: [0.5 m, 1 m], clamps: 2}
  - {id: H2, path: [E1.exhaust, WL1, TH2], bore: 51 mm, lengths: [0.5 m, 2 m], peaks: [null, 0.6 m], clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, height: -0.5 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 1 in, height: -0.3 m, offset: 0 m}
  E1: {kind: engine, fuel: diesel, height: -0.1 m, offset: 0 m, injection: 0.1 m}
  VL1: {kind: vented-loop, height: 0.6 m, offset: 0 m}
  WL1: {kind: waterlock, height: -0.3 m, offset: 0 m}
  TH2: {kind: through-hull, service: exhaust, size: 2 in, height: 0.35 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, ST1, E1.water-in], bore: 25 mm, lengths: [0.5 m, 1 m], clamps: 2}
  - {id: H3, path: [E1.water-out, VL1, E1.elbow], bore: 25 mm, lengths: [1 m, 1 m], clamps: 2}
  - {id: H2, path: [E1.exhaust, WL1, TH2], bore: 51 mm, lengths: [0.5 m, 2 m], peaks: [null, 0.6 m], clamps: 2}
`,
	Check: checkExhaust,
}

func checkExhaust(c *Context) {
	c.floodDefaults()
	for _, p := range c.fitted(schema.Engine | schema.SeaUser) {
		if p.Kind.Attr("injection") == nil || p.Word("exhaust-type").V == "dry" {
			continue
		}
		if !p.Word("exhaust-type").Given() {
			c.Default(p.ID, "exhaust-type", "wet", "documented default")
		}
		c.Looked("exhaust-floods")
		c.judgeInjection(p)
		c.judgeOutlet(p)
	}
}

// judgeInjection looks for a siphon break between the raw-water pump and the
// elbow where the injection point is low.
func (c *Context) judgeInjection(p *schema.Part) {
	sea := c.Sea()
	elbow, in := sea.Node(p, "elbow"), sea.Node(p, "water-in")
	if elbow < 0 || in < 0 {
		return
	}
	from := c.pressureSide(p)
	if from < 0 || sea.Walk([]int{from}, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool {
		return !w.Vented() && (w.Channel == nil || w.Channel.Type != schema.PumpWay)
	}}).Find(elbow) < 0 {
		return
	}
	point := sea.Nodes[elbow].Point
	point.Height, point.HeightOf = p.Metres("injection"), "injection of "+p.ID
	margin := tables.InjectionMargin()
	least, worst, missing := c.Margin(point)
	if least >= float64(margin.Margin)-tinyHeight {
		c.lacks("exhaust-floods", missing, p.ID)
		return
	}
	c.Add(diag.Finding{
		Rule: "exhaust-floods", Severity: diag.Error, Span: p.At, At: []string{p.ID}, Attitude: worst.String(),
		Value: diag.Figure(least), Limit: diag.Figure(margin.Margin), Unit: "m",
		Message: fmt.Sprintf("raw water is injected into the exhaust of %s %s when %s, under %s, with no vented loop between pump and elbow",
			p.ID, againstSea(least), worst, tall(margin.Margin)),
		Risk:   "with the engine stopped the sea siphons through the pump into the exhaust and the cylinders",
		Do:     "bring the line from the pump to the elbow over a vented loop that stays above the sea by the margin in every attitude",
		Source: margin.Cite.String() + "; " + c.heelSource(),
	})
}

// pressureSide is the joint behind the last pump before an engine's elbow: its
// own raw-water pump's, or that of a pump of the file on the line to it. -1 where
// no sea water gets to the engine.
func (c *Context) pressureSide(p *schema.Part) int {
	sea := c.Sea()
	t := sea.Walk([]int{sea.Node(p, "water-in")}, trace.Walk{
		Through: func(w *trace.SeaWay, _ int) bool { return w.Part != p && w.Pump() == nil },
	})
	for _, st := range t.Steps {
		for _, id := range sea.Nodes[st.Node].Ways {
			if w := &sea.Ways[id]; w.Pump() != nil && w.B == st.Node {
				return w.B
			}
		}
	}
	if len(seaAt(sea, t)) == 0 {
		return -1
	}
	return sea.Node(p, "water-out")
}

// judgeOutlet looks for a crest between the engine and its exhaust outlet.
func (c *Context) judgeOutlet(p *schema.Part) {
	sea := c.Sea()
	node := sea.Node(p, "exhaust")
	if node < 0 {
		return
	}
	t := sea.Walk([]int{node}, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool { return w.Part != p && w.Pump() == nil }})
	for _, m := range seaAt(sea, t) {
		c.judgeCrest(p, m, t.Path(t.Find(m.Node)))
	}
}

func (c *Context) judgeCrest(p *schema.Part, m *trace.Mouth, path []trace.Step) {
	least, worst, missing := c.crest(path[1:], m)
	low, static := tables.InjectionMargin(), tables.ExhaustCrest()
	upright := c.crestIn(path[1:], m, survey.NewAttitude(0, 0))
	f := diag.Finding{
		Rule: "exhaust-floods", Span: m.Span(), At: []string{p.ID, m.ID()}, Unit: "m",
		Risk: "a following sea, or one tack, runs up the exhaust into the engine",
		Do:   fmt.Sprintf("carry the exhaust up to a crest at least %s above the waterline before it falls to %s", tall(static.Margin), m.ID()),
	}
	quoted := fmt.Sprintf("%s in every attitude and %s at rest are asked for", tall(low.Margin), tall(static.Margin))
	switch {
	case least < float64(low.Margin)-tinyHeight:
		f.Severity, f.Attitude, f.Value, f.Limit = diag.Error, worst.String(), diag.Figure(least), diag.Figure(low.Margin)
		f.Message = fmt.Sprintf("the highest point of the exhaust of %s before its outlet %s stands %s when %s; %s", p.ID, m.ID(), againstSea(least), worst, quoted)
		f.Source = low.Cite.String() + "; " + static.Cite.String() + "; " + c.heelSource()
		c.Add(f)
		return
	case upright.Known() && upright.Lo < float64(static.Margin)-tinyHeight:
		f.Severity, f.Value, f.Limit = diag.Warning, diag.Figure(upright.Lo), diag.Figure(static.Margin)
		f.Message = fmt.Sprintf("the highest point of the exhaust of %s before its outlet %s stands %s above the waterline at rest; %s", p.ID, m.ID(), tall(upright.Lo), quoted)
		f.Source = static.Cite.String()
		c.Add(f)
	}
	c.lacks("exhaust-floods", missing, p.ID, m.ID())
}

// crestIn is the highest place of a way in an attitude, the outlet included.
func (c *Context) crestIn(path []trace.Step, m *trace.Mouth, a survey.Attitude) survey.Level {
	sea, l := c.Sea(), c.HeightOf(m.Point, a)
	for _, st := range path {
		add := []survey.Level{c.HeightOf(sea.Nodes[st.Node].Point, a)}
		if st.Way >= 0 && len(sea.Ways[st.Way].Peaks) > 0 {
			add = append(add, c.LowestOf(sea.Ways[st.Way].Peaks, a))
		}
		for _, h := range add {
			l.Lo, l.Hi = max(l.Lo, h.Lo), max(l.Hi, h.Hi)
		}
	}
	return l
}

// crest is how high the crest of a way stands above the sea at least, in the
// worst attitude in which all its places are known; missing names what the
// others lack.
func (c *Context) crest(path []trace.Step, m *trace.Mouth) (least float64, worst survey.Attitude, missing []survey.Lack) {
	least = 1e9
	for _, a := range c.Attitudes() {
		l := c.crestIn(path, m, a)
		if h := l.Lo - c.Laden(); l.Known() && h < least-tinyHeight {
			least, worst = h, a
		}
		if l.Known() || l.Lo-c.Laden() >= float64(tables.InjectionMargin().Margin) {
			continue
		}
		for _, p := range c.places(path, m) {
			if d, lacks := c.Lacks(p, a); lacks {
				missing = addLack(missing, d)
			}
		}
	}
	return least, worst, missing
}

// places are the points of a way and of the peaks along it, its outlet first.
func (c *Context) places(path []trace.Step, m *trace.Mouth) []trace.Point {
	sea, list := c.Sea(), []trace.Point{m.Point}
	for _, st := range path {
		list = append(list, sea.Nodes[st.Node].Point)
		if st.Way >= 0 {
			list = append(list, sea.Ways[st.Way].Peaks...)
		}
	}
	return list
}
