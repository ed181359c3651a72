package pack

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/render/draw"
	"fitout/render/list"
	"fitout/render/sheet"
	"fitout/schema"
)

// lists are the tables beside the pages.
func (m *maker) lists() []list.Table {
	var out []list.Table
	for _, n := range list.Names() {
		if t, ok := list.Of(n, list.Input{Survey: m.Survey, Result: m.Result}); ok {
			out = append(out, t)
		}
	}
	return out
}

// listSections are the lists on paper.
func (m *maker) listSections() []section {
	in := m.wires()
	out := []section{in, m.protection(), m.hoseList(), m.loadList()}
	if m.isFor(Aboard) {
		return []section{in, m.protection(), m.hoseList(), m.loadList()}
	}
	return out
}

// wires are listed by number, by space and by device.
func (m *maker) wires() section {
	s := section{id: "wires", title: "Wire lists", document: "Wire lists", lying: true}
	all := m.cables()
	byNumber := slices.Clone(all)
	slices.SortStableFunc(byNumber, func(a, b *schema.Wire) int { return natural(a.Ref(), b.Ref()) })
	s.blocks = []block{para("Cut length is the length as run and a tenth more, rounded up to 5 cm (common practice, no source). Two wires of one circuit that say \"2 core\" are one cable: cut it once. Tick when the wire lies and both numbers are on."), heading("By number"), m.wireTable(byNumber)}
	s.blocks = append(s.blocks, heading("By space"), m.wiresBySpace(byNumber), heading("By device"), m.wiresByDevice(byNumber))
	return []section{s}[0]
}

func (m *maker) wireTable(list []*schema.Wire) rows {
	var lines [][]string
	for _, w := range list {
		cores := ""
		if n := w.Cores.Or(1); n > 1 {
			cores = fmt.Sprintf("%d core ", n)
		}
		if n := w.Parallel.Or(1); n > 1 {
			cores = fmt.Sprintf("%d × ", n)
		}
		lines = append(lines, []string{w.Ref(), m.wireEnd(w, w.From), place(w.From.Part), m.wireEnd(w, w.To), place(w.To.Part), cores + sizeText(w), m.colour(w), lengthText(w.Length), cutLength(w), lug(w, 0), lug(w, 1), m.drawnRun(w), box})
	}
	t := table([]sheet.Column{col("Wire"), col("From"), wide("In"), col("To"), wide("In"), col("Size"), col("Colour"), num("m"), num("Cut, m"), col("Lug, from"), col("Lug, to"), col("Drawn on"), col("Done")}, lines)
	t.refs = true
	return t
}

// cutLength is what is cut from the reel.
func cutLength(w *schema.Wire) string {
	if !w.Length.Given() {
		return ""
	}
	if w.Length.V == 0 {
		return "stud to stud"
	}
	return fmt.Sprintf("%.2f", math.Ceil(float64(w.Length.V)*1.1/0.05-1e-9)*0.05)
}

// natural orders ids as people count: 2 before 10, 2a before 2b.
func natural(a, b string) int {
	x, y := chunks(a), chunks(b)
	for i := 0; i < len(x) && i < len(y); i++ {
		if x[i] == y[i] {
			continue
		}
		p, q := x[i], y[i]
		if p[0] <= '9' && q[0] <= '9' && p[0] >= '0' && q[0] >= '0' {
			p, q = strings.TrimLeft(p, "0"), strings.TrimLeft(q, "0")
			if c := cmp.Compare(len(p), len(q)); c != 0 {
				return c
			}
		}
		if c := strings.Compare(p, q); c != 0 {
			return c
		}
	}
	if c := cmp.Compare(len(x), len(y)); c != 0 {
		return c
	}
	return strings.Compare(a, b)
}

// chunks parts an id into runs of digits and of other letters.
func chunks(s string) []string {
	digit := func(c byte) bool { return c >= '0' && c <= '9' }
	var out []string
	for i := 0; i < len(s); {
		k := i + 1
		for k < len(s) && digit(s[k]) == digit(s[i]) {
			k++
		}
		out = append(out, s[i:k])
		i = k
	}
	return out
}

func (m *maker) wiresBySpace(list []*schema.Wire) rows {
	var lines [][]string
	for _, sp := range append(slices.Clone(m.boat().Spaces), nil) {
		var ids []string
		for _, w := range list {
			if sp != nil && slices.Contains(m.Survey.Spaces(w), sp) || sp == nil && len(m.Survey.Spaces(w)) == 0 {
				ids = append(ids, w.Ref())
			}
		}
		if len(ids) > 0 {
			n := "space not stated"
			if sp != nil {
				n = sp.Name()
			}
			lines = append(lines, []string{n, strings.Join(ids, ", ")})
		}
	}
	return table(cols2("Space", "Wires that end there or pass"), lines)
}

func (m *maker) wiresByDevice(list []*schema.Wire) rows {
	var lines [][]string
	for _, p := range m.fitted() {
		var ids []string
		for _, w := range list {
			if w.From.Part == p || w.To.Part == p {
				ids = append(ids, w.Ref())
			}
		}
		if len(ids) > 0 {
			lines = append(lines, []string{p.ID, titleOf(p), strings.Join(ids, ", ")})
		}
	}
	return table([]sheet.Column{col("Device"), col("It is"), wide("Wires")}, lines)
}

// protection lists fuses and breakers by place, with their spares.
func (m *maker) protection() section {
	s := section{id: "protection", title: "Fuses and breakers; spares", document: "Protection list", lying: true,
		caution: "Replace a device only by one of the same family, rating, voltage and breaking capacity. One that opened had a reason: find it first."}
	var lines [][]string
	for _, d := range m.devices() {
		volts, breaks := "not given", "not given"
		if d.data.Volts.Given() {
			volts = d.data.Volts.V.String()
		}
		if d.data.Interrupt.Given() {
			breaks = d.data.Interrupt.V.String()
		}
		lines = append(lines, []string{d.id(), d.title(), place(d.part), d.word(), d.rating(), volts, breaks, m.most(d), m.feeds(d.part, d.way), m.page(spaceID(d.part.Space))})
	}
	s.blocks = []block{
		table([]sheet.Column{col("Id"), wide("It is"), wide("Where"), col("Kind"), col("Rating"), col("Volts"), col("Breaks"), col("Most through it"), {Head: "Stops when it opens", Grow: 2}, col("Sheet")}, lines),
		heading("Spares to carry, and where they lie"), m.spares(),
	}
	return s
}

// most is the largest current of a device over the conditions.
func (m *maker) most(d device) string {
	best, cond := -1.0, ""
	for _, c := range m.Survey.Conditions() {
		s := m.state(c)
		if !s.Solved() {
			continue
		}
		if a, ok := s.DeviceAmps(d.part, d.way); ok && math.Abs(float64(a)) > best+0.005 {
			best, cond = math.Abs(float64(a)), conditionName(c)
		}
	}
	if best < 0 {
		return "not computed"
	}
	return fmt.Sprintf("%.1f A %s", best, cond)
}

// spares groups fuses by family and rating.
func (m *maker) spares() block {
	type kind struct {
		what, ids string
		n         int
	}
	var needs []kind
	at := map[string]int{}
	for _, d := range m.devices() {
		if d.data.Breaker || d.data.ResidualOnly {
			continue
		}
		i, ok := at[d.rating()]
		if !ok {
			i = len(needs)
			at[d.rating()] = i
			needs = append(needs, kind{what: d.rating()})
		}
		needs[i].ids = strings.TrimPrefix(needs[i].ids+", "+d.id(), ", ")
		needs[i].n = max(needs[i].n, list.Spares(d.part, d.data))
	}
	var lines [][]string
	for _, k := range needs {
		lines = append(lines, []string{k.what, k.ids, fmt.Sprint(k.n), "", box})
	}
	for _, p := range m.fitted() {
		if n := p.Count("spares"); n.Given() && n.V > 0 && !p.Is(schema.Protection) {
			lines = append(lines, []string{titleOf(p), p.ID, fmt.Sprint(n.V), "", box})
		}
	}
	if len(lines) == 0 {
		return para("The file names no fuse and no spare.")
	}
	return table([]sheet.Column{col("Spare"), wide("Fits"), num("Carry"), {Head: "Lies where (write in)", Least: 60}, col("Aboard")}, lines)
}

func (m *maker) hoseList() section {
	s := section{id: "hoses", title: "Hoses and pipes", document: "Hose list", lying: true}
	var lines [][]string
	for _, h := range m.hoses() {
		bore, clamps, length := "not given", "not given", lengthText(h.Length)
		if h.Bore.Given() {
			bore = h.Bore.V.BoreText()
		}
		if h.Clamps.Given() {
			clamps = fmt.Sprint(h.Clamps.V)
		}
		if h.Length.Given() && h.Length.V == 0 {
			length = "close nipple"
		}
		var rate []string
		for _, r := range h.Rating {
			rate = append(rate, r.V)
		}
		flow := ""
		if f := m.Survey.HoseFigure(h); f.Known {
			flow = litresPerMin(f.Flow)
		}
		lines = append(lines, []string{h.ID, endText(h.From), place(h.From.Part), endText(h.To), place(h.To.Part), bore, length, orText(h.Material.V, "not given"), strings.Join(rate, ", "), clamps, flow, orText(h.Fitted.V, "not given"), m.drawnOn(h.ID)})
	}
	t := table([]sheet.Column{col("Hose"), col("From"), wide("In"), col("To"), wide("In"), col("Bore"), num("m"), col("Material"), col("Rated for"), num("Clamps"), num("Most flow"), col("Fitted"), col("Drawn on")}, lines)
	t.refs = true
	s.blocks = []block{t}
	if len(lines) == 0 {
		s.blocks = []block{para("The file names no hose.")}
	}
	return s
}

// loadList are loads by condition, and how long each battery lasts.
func (m *maker) loadList() section {
	s := section{id: "loads", title: "Loads and battery hours", document: "Load list by condition", lying: true}
	conds := m.boat().Conditions
	cols := []sheet.Column{col("Load"), wide("It is"), col("Full draw")}
	for _, c := range conds {
		cols = append(cols, sheet.Column{Head: conditionName(c), Align: draw.End})
	}
	var lines [][]string
	for _, p := range m.loads() {
		full := "not given"
		if a, ok := drawOf(p); ok {
			full = amps(a)
		}
		row := []string{p.ID, titleOf(p), full}
		for _, c := range conds {
			row = append(row, m.loadIn(p, c))
		}
		lines = append(lines, row)
	}
	s.blocks = []block{table(cols, lines), para("Amperes at full draw, with the share of the time in which it runs. Blank: off."), heading("Battery hours"), m.batteryHours()}
	return s
}

func (m *maker) loadIn(p *schema.Part, c *schema.Condition) string {
	d := m.state(c)
	if !d.Solved() {
		return "?"
	}
	for _, l := range d.Loads {
		if l.Part != p || !l.Runs {
			continue
		}
		a, ok := d.LoadAmps(l)
		if !ok {
			return "?"
		}
		if l.Duty < 1 {
			return fmt.Sprintf("%s, %.0f %%", amps(a), 100*float64(l.Duty))
		}
		return amps(a)
	}
	return ""
}

func (m *maker) batteryHours() block {
	var lines [][]string
	for _, c := range m.boat().Conditions {
		for _, s := range m.Survey.Supplies(c) {
			last := ""
			switch {
			case s.Missing != "":
				last = "not computed, needs " + s.Missing
			case math.IsInf(float64(s.Hours), 1):
				last = "charges or rests"
			default:
				last = hours(s.Hours)
			}
			asked := ""
			if c.Hours.Given() {
				asked = hours(c.Hours.V)
			}
			lines = append(lines, []string{conditionName(c), names(s.Batteries), amps(s.Amps), amps(s.Peak), last, asked})
		}
	}
	if len(lines) == 0 {
		return para("The file names no condition with a battery in it.")
	}
	return table([]sheet.Column{wide("Condition"), wide("Battery"), num("Mean"), num("Most"), col("Lasts"), col("Asked for")}, lines)
}
