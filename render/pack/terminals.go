package pack

import (
	"cmp"
	"fmt"
	"slices"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/validate/tables"
)

// terminals are sheets of every place where cables are bolted, drawn as it lies.
func (m *maker) terminals() []section {
	s := section{id: "terminals", title: "Terminal sheets", document: "What is bolted where",
		caution: "The order on a stud is the heaviest lug at the bottom (common practice); the file does not say which stud of a bus a cable has. Mark what you find, correct the sheet."}
	s.blocks = []block{para("Each stud is read from the bottom of the stack up: the heaviest lug lies against the bar, the lightest on top, washer and nut above all. Compare number, colour, size and polarity before you tighten.")}
	for _, p := range m.fitted() {
		if e, ok := m.terminalSheet(p); ok {
			s.blocks = append(s.blocks, e)
		}
	}
	return []section{s}
}

// bolted reports whether a part is one that cables are taken off and put back at.
func bolted(p *schema.Part) bool {
	r := p.Roles()
	return r.Any(schema.Storage|schema.Distribution|schema.Panel|schema.Protection|schema.Grounding|schema.Bonding|schema.Measuring) || r.Any(schema.Switching) && !r.Any(schema.Sensing)
}

type landing struct {
	terminal schema.Terminal
	wires    []*schema.Wire
}

func (m *maker) terminalSheet(p *schema.Part) (entry, bool) {
	if !bolted(p) {
		return entry{}, false
	}
	var list []landing
	var lines [][]string
	for _, t := range p.Terminals() {
		if t.Medium == schema.Water || t.Hidden {
			continue
		}
		ws := m.wiresAt(p, t.Name)
		if len(ws) == 0 && (p.Is(schema.Distribution) || !t.Needed) && t.Way == "" {
			continue
		}
		list = append(list, landing{t, ws})
		for i, w := range ws {
			line := m.landingLine(p, t, i, w)
			if len(split(p, landing{t, ws})) > 1 {
				line[1] = "" // the file does not say which stud of the bar
			}
			lines = append(lines, line)
		}
	}
	if len(lines) == 0 {
		return entry{}, false
	}
	t := table([]sheet.Column{col("Stud"), num("From below"), col("Wire"), col("Colour"), col("Size"), col("Lug"), wide("Other end"), col("Torque")}, lines)
	e := entry{id: "terminal-" + p.ID, title: name(p) + ", " + place(p), find: "terminal stud torque polarity " + p.Kind.Title}
	if text := studText(p, list); text != "" {
		e.blocks = append(e.blocks, para(text))
	}
	e.blocks = append(e.blocks, m.lies(p, list), t)
	return e, true
}

// studText says of a bar how its lugs share its studs.
func studText(p *schema.Part, list []landing) string {
	for _, l := range list {
		n, given := studs(p, l)
		lugs := len(l.wires)
		switch {
		case !onBar(p, l):
		case !given:
			return fmt.Sprintf("%s; how many studs the bar has is not in the file: it is drawn with one a lug.", numberText(lugs, "lug", "lugs"))
		case n == 1:
			return fmt.Sprintf("%s on one stud, the heaviest below.", numberText(lugs, "lug", "lugs"))
		case lugs > n:
			return fmt.Sprintf("%s on %s: some studs carry more than one. Which lugs share a stud is not in the file; they are drawn the heaviest below, the lightest on top.", numberText(lugs, "lug", "lugs"), numberText(n, "stud", "studs"))
		default:
			return fmt.Sprintf("%s on %s.", numberText(lugs, "lug", "lugs"), numberText(n, "stud", "studs"))
		}
	}
	return ""
}

// onBar reports whether conductors land on a bar as a whole, the file not saying
// on which of its studs.
func onBar(p *schema.Part, l landing) bool {
	return p.Roles().Any(schema.Distribution|schema.Grounding|schema.Bonding) && l.terminal.Name == "" && p.Kind.Attr("studs") != nil
}

// studs is how many studs a bar has by the file.
func studs(p *schema.Part, l landing) (n int, given bool) {
	if !onBar(p, l) {
		return 1, true
	}
	if v := p.Count("studs"); v.Given() {
		return max(1, v.V), true
	}
	if p.Kind.Attr("studs").Default == "1" {
		return 1, true
	}
	return len(l.wires), false
}

func (m *maker) landingLine(p *schema.Part, t schema.Terminal, i int, w *schema.Wire) []string {
	end, other := 0, w.To
	if w.To.Part == p && w.To.Terminal == t.Name {
		end, other = 1, w.From
	}
	torque := "not stated"
	switch {
	case w.Torque.Given():
		torque = w.Torque.V.String()
	case p.Torque().Given():
		torque = p.Torque().V.String()
	}
	ref := w.Ref()
	if w.Core != "" {
		ref += " core " + w.Core
	}
	far := m.wireEnd(w, other)
	if other.Part != nil {
		far += " " + titleOf(other.Part) + " (" + place(other.Part) + ")"
	}
	return []string{studName(t, m.sign(p, t, m.wiresAt(p, t.Name))), fmt.Sprint(i + 1), ref, m.colour(w), sizeText(w), lug(w, end), far, torque}
}

// studName is the terminal as it is called on the part, with its polarity large.
func studName(t schema.Terminal, s string) string {
	n := t.Name
	if n == "" {
		n = "bar"
	}
	if n == "-" {
		return "−"
	}
	if s != "" && s != n {
		return s + " " + n
	}
	return n
}

// sign is the polarity of a terminal: its own, else that of what lands on it,
// where all of that agrees.
func (m *maker) sign(p *schema.Part, t schema.Terminal, ws []*schema.Wire) string {
	s := sign(p, t)
	for i, w := range ws {
		switch of := m.wireSign(p, t, w); {
		case sign(p, t) != "":
			return s
		case i > 0 && of != s:
			return ""
		default:
			s = of
		}
	}
	return s
}

// wireSign is what a conductor is at a terminal, as far as its colour tells.
func (m *maker) wireSign(p *schema.Part, t schema.Terminal, w *schema.Wire) string {
	if w.Carries.V == "signal" {
		return ""
	}
	switch m.Survey.ColourRole(w) {
	case tables.DCPositive:
		// what returns is never a plus, whatever its colour
		if n := m.Survey.Net.Node(p, t.Name); n < 0 || m.Survey.Net.Nodes[n].Return || m.Survey.Net.Nodes[n].Grounded {
			return ""
		}
		return "+"
	case tables.DCNegative:
		return "−"
	case tables.ACLive:
		return "L"
	case tables.ACNeutral:
		return "N"
	case tables.ACEarth:
		return "PE"
	}
	return "GND"
}

// sign is the polarity of a terminal: +, −, or the letter of AC.
func sign(p *schema.Part, t schema.Terminal) string {
	switch t.Polarity {
	case schema.Plus:
		return "+"
	case schema.Minus:
		return "−"
	case schema.Ground:
		return "GND"
	case schema.Earth:
		return "PE"
	case schema.Live:
		return "L"
	case schema.Neutral:
		return "N"
	}
	if p.Kind.Attr("polarity") != nil {
		switch p.Word("polarity").V {
		case "positive":
			return "+"
		case "negative":
			return "−"
		}
	}
	return ""
}

// lies draws the part as a block with its terminals in order, the wires stacked
// on each from the bottom up and the polarity in large letters.
func (m *maker) lies(p *schema.Part, list []landing) figure {
	const cell = draw.MM(17)
	return figure{h: m.liesHeight(p, list), alt: "terminals of " + p.ID + " as they lie", items: func(at draw.Point, width draw.MM) []draw.Item {
		g := draw.Group{Class: "terminals", Title: name(p)}
		perRow := max(1, int(width/cell))
		x, y := 0, at.Y
		high := tallest(p, list)
		for _, l := range list {
			for _, stack := range split(p, l) {
				if x == perRow {
					x, y = 0, y+rowHeight(high)
				}
				g.Strokes = append(g.Strokes, stud(p, l.terminal, m.sign(p, l.terminal, l.wires), stack, at.X+cell*draw.MM(x)+cell/2, y, high)...)
				x++
			}
		}
		return []draw.Item{g}
	}}
}

func rowHeight(high int) draw.MM { return draw.MM(high)*3.6 + 19 }

func (m *maker) liesHeight(p *schema.Part, list []landing) draw.MM {
	n := 0
	for _, l := range list {
		n += stacks(p, l)
	}
	perRow := 10
	rows := (n + perRow - 1) / perRow
	return rowHeight(tallest(p, list)) * draw.MM(rows)
}

// split spreads the conductors of a bar over its studs, as the file does not say
// which has which: one each, and where there are more lugs than studs the
// lightest on top of the others. Studs that stay free are drawn as well. Other
// terminals stack theirs.
func split(p *schema.Part, l landing) [][]*schema.Wire {
	n, _ := studs(p, l)
	if n < 2 {
		return [][]*schema.Wire{l.wires}
	}
	out := make([][]*schema.Wire, n)
	for i, w := range l.wires {
		out[i%n] = append(out[i%n], w)
	}
	return out
}

func stacks(p *schema.Part, l landing) int { return len(split(p, l)) }

func tallest(p *schema.Part, list []landing) int {
	n := 1
	for _, l := range list {
		for _, s := range split(p, l) {
			n = max(n, len(s))
		}
	}
	return n
}

// stud draws one stud: ring with polarity, name below, wires above.
func stud(p *schema.Part, t schema.Terminal, s string, ws []*schema.Wire, x, y draw.MM, high int) []draw.Stroke {
	base := y + draw.MM(high)*3.6 + 2
	var out []draw.Stroke
	for i, w := range ws {
		by := base - 1.2 - draw.MM(i)*3.6
		b := draw.Box{Min: draw.Point{X: x - 8, Y: by - 3}, Max: draw.Point{X: x + 8, Y: by + 0.2}}
		out = append(out, draw.Rect{Box: b, Pen: draw.Pen{Style: draw.Rule}},
			draw.Text{At: draw.Point{X: x, Y: by - 0.6}, S: draw.Small.Fit(w.Ref(), 15), Letters: draw.Small, Align: draw.Middle})
	}
	c := draw.Point{X: x, Y: base + 4}
	out = append(out, draw.Circle(c, 4, draw.Pen{Style: draw.Outline}))
	if s != "" {
		l := draw.Heading
		if len(s) > 2 || l.Width(s) > 6 {
			l = draw.Small
		}
		out = append(out, draw.Text{At: c.Add(0, l.Cap()/2), S: s, Letters: l, Align: draw.Middle})
	}
	if s == "−" { // the letter alone is too short to be seen
		out = append(out, draw.Line(c.Add(-2, 0), c.Add(2, 0), draw.OutlineThick))
	}
	n := t.Name
	if n == "" {
		n = p.ID
	}
	label := draw.Small.Fit(n, 16)
	return append(out, draw.Text{At: draw.Point{X: x, Y: base + 11.5}, S: label, Letters: draw.Small, Align: draw.Middle},
		draw.Line(draw.Point{X: x - 8.5, Y: base + 8.6}, draw.Point{X: x + 8.5, Y: base + 8.6}, draw.OutlineThick))
}

func heaviestFirst(list []*schema.Wire) {
	slices.SortStableFunc(list, func(a, b *schema.Wire) int { return cmp.Compare(area(b), area(a)) })
}

func area(w *schema.Wire) float64 {
	if !w.Size.Given() {
		return 0
	}
	return float64(w.Size.V.Area) * float64(max(1, w.Parallel.Or(1)))
}
