package read

import (
	"fmt"
	"strconv"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
)

// line is one item of wires, circuits or hoses as written: where it goes, and
// what it is made of.
type line struct {
	sec  *Section
	node *Node // the item
	id   *Node // nil where it could not be read

	from, to, path, feed, via, load, back *Node

	conductor
	hosing
}

// conductor is what wires and circuits are told.
type conductor struct {
	size         sizing
	sizes        series[sizing]
	length       schema.Val[unit.Metre]
	lengths      series[schema.Val[unit.Metre]]
	resistance   schema.Val[unit.Ohm]
	resistances  series[schema.Val[unit.Ohm]]
	cores        schema.Val[int]
	cableSize    schema.Val[unit.Size]
	returnLength schema.Val[unit.Metre]
	returnSize   sizing
	returnColor  schema.Val[string]
	rating       schema.Val[unit.Amp]
	wire         schema.Wire // all that is the same for every stretch
}

// hosing is what hoses are told.
type hosing struct {
	peak, dip   schema.Val[unit.Metre]
	peaks, dips series[schema.Val[unit.Metre]]
	hose        schema.Hose
}

// sizing is a conductor size, or the wish to have one computed.
type sizing struct {
	size schema.Val[unit.Size]
	auto bool
}

func (s sizing) given() bool { return s.auto || s.size.Given() }

// series is a list with one value a stretch; node is nil where none is written.
type series[T any] struct {
	node *Node
	list []T
}

// collectLines reads the items of wires, circuits and hoses, and makes the parts
// they describe in place.
func (r *reader) collectLines() {
	for _, s := range []*Section{&wireKeys, &circuitKeys, &hoseKeys} {
		names := &r.electric
		if s == &hoseKeys {
			names = &r.hoseIDs
		}
		defaults := r.sectionDefaults(s.Name)
		for _, item := range r.items(s.Name) {
			l := &line{sec: s, node: item.Resolve()}
			mine := r.entries(item, s.Item)
			r.lineValues(l, mine, own)
			r.lineValues(l, defaults.except(s, mine), schema.FromFile)
			r.lineID(l, names)
			r.runs = append(r.runs, r.route(l))
		}
	}
}

func (r *reader) lineID(l *line, names *ids[bool]) {
	if l.id == nil {
		r.at(l.node, "%s needs an id", l.sec.Item)
		return
	}
	n := l.id
	l.id = nil
	if text, ok := r.hasText("id", n); ok && claim(r, names, n.Resolve(), text, "the id", true) {
		l.id = n.Resolve()
	}
}

// lineValues reads the keys of an item into the line.
func (r *reader) lineValues(l *line, entries []entry, from schema.Origin) {
	r.each(l.sec, entries, func(f *Field, e entry) {
		switch f.Name {
		case "id":
			l.id = e.value
		case "from":
			l.from = e.value
		case "to":
			l.to = e.value
		case "path":
			l.path = e.value
		case "feed":
			l.feed = e.value
		case "via":
			l.via = e.value
		case "load":
			l.load = e.value
		case "return":
			l.back = e.value
		case "length":
			l.length = amount[unit.Metre](r, f, e.value, from)
		case "lengths":
			l.lengths = perStretch(r, f, e.value, func(n *Node) schema.Val[unit.Metre] { return amount[unit.Metre](r, f, n, from) })
		default:
			if l.sec == &hoseKeys {
				r.hoseValue(l, f, e.value, from)
			} else {
				r.wireValue(l, f, e.value, from)
			}
		}
	})
}

// perStretch reads a list with one value a stretch; null leaves one out.
func perStretch[T any](r *reader, f *Field, n *Node, each func(*Node) T) series[T] {
	n = n.Resolve()
	if n.Kind != List {
		r.at(n, "%s is a list with one value a stretch", f.Name)
		return series[T]{}
	}
	s := series[T]{node: n, list: make([]T, len(n.Entries))}
	for i, item := range n.Entries {
		if v := item.Resolve(); v.Kind != Scalar || !v.Null {
			s.list[i] = each(item)
		}
	}
	return s
}

func (r *reader) wireValue(l *line, f *Field, n *Node, from schema.Origin) {
	w := &l.wire
	switch f.Name {
	case "size":
		l.size = r.sizing(f, n, from)
	case "sizes":
		l.sizes = perStretch(r, f, n, func(n *Node) sizing { return r.sizing(f, n, from) })
	case "resistance":
		l.resistance = amount[unit.Ohm](r, f, n, from)
	case "resistances":
		l.resistances = perStretch(r, f, n, func(n *Node) schema.Val[unit.Ohm] { return amount[unit.Ohm](r, f, n, from) })
	case "cable":
		r.cable(l, n, from)
	case "return-length":
		l.returnLength = amount[unit.Metre](r, f, n, from)
	case "return-size":
		l.returnSize = r.sizing(f, n, from)
	case "return-color":
		l.returnColor = r.text(f.Name, n, from)
	case "rating":
		l.rating = amount[unit.Amp](r, f, n, from)
	case "color":
		w.Color = r.text(f.Name, n, from)
	case "insulation":
		w.Insulation = amount[unit.Celsius](r, f, n, from)
	case "strands":
		w.Strands = r.count(&f.Attr, n, from)
	case "sheath":
		w.Sheath = r.flag(f.Name, n, from)
	case "loom":
		w.Loom = r.loomName(r.text(f.Name, n, from))
	case "through":
		w.Through = r.spaceNames(f.Name, n, from)
	case "parallel":
		w.Parallel = r.count(&f.Attr, n, from)
	case "terminals":
		w.Lugs = r.texts(f.Name, n, from)
	case "impractical":
		w.Impractical = r.text(f.Name, n, from)
	case "chafe-guard":
		w.ChafeGuard = r.text(f.Name, n, from)
	case "carries":
		w.Carries = r.word(&f.Attr, n, from)
	case "torque":
		w.Torque = amount[unit.NewtonMetre](r, f, n, from)
	case "label":
		w.Label = r.text(f.Name, n, from)
	case "title":
		w.Title = r.text(f.Name, n, from)
	case "note":
		w.Note = r.text(f.Name, n, from)
	case "fitted":
		w.Fitted = r.date(f.Name, n, from)
	case "prepared":
		w.Prepared = r.flag(f.Name, n, from).V
	}
}

func (r *reader) loomName(v schema.Val[string]) schema.Val[string] {
	if !v.Given() {
		return v
	}
	if _, ok := r.looms.byID[v.V]; !ok {
		r.unknown(v.At, "loom", v.V, "", r.looms.names)
		return schema.Val[string]{}
	}
	return v
}

func (r *reader) sizing(f *Field, n *Node, from schema.Origin) sizing {
	text, ok := r.hasText(f.Name, n)
	if !ok {
		return sizing{}
	}
	if text == "auto" {
		return sizing{auto: true}
	}
	return sizing{size: r.size(f.Name, text, n.Resolve(), from)}
}

// size reads a conductor size.
func (r *reader) size(key, text string, n *Node, from schema.Origin) schema.Val[unit.Size] {
	s, err := unit.ParseSize(text)
	if err != nil {
		a := schema.Attr{Name: key, Dims: []unit.Dimension{unit.CrossSection}}
		r.at(n, "%s", notQuantity(&a, text, err))
		return schema.Val[unit.Size]{}
	}
	return schema.Val[unit.Size]{V: s, Text: text, At: n.Span(), From: from}
}

// cable reads "3 core 1.5 mm2", "2 core", "2-core 14 AWG".
func (r *reader) cable(l *line, n *Node, from schema.Origin) {
	text, ok := r.hasText("cable", n)
	if !ok {
		return
	}
	n = n.Resolve()
	i := 0
	for i < len(text) && text[i] >= '0' && text[i] <= '9' {
		i++
	}
	cores, err := strconv.Atoi(text[:i])
	rest := strings.TrimLeft(text[i:], " -")
	name := strings.TrimPrefix(rest, "cores")
	if name == rest {
		name = strings.TrimPrefix(rest, "core")
	}
	if err != nil || name == rest || cores < 1 || cores > 100 || name != "" && name[0] != ' ' {
		r.at(n, "%q is no cable: write the number of cores and their size, for example 3 core 1.5 mm2", clip(text))
		return
	}
	l.cores = schema.Val[int]{V: cores, Text: text, At: n.Span(), From: from}
	if size := strings.TrimSpace(name); size != "" {
		l.cableSize = r.size("cable", size, n, from)
	}
}

func (r *reader) hoseValue(l *line, f *Field, n *Node, from schema.Origin) {
	h := &l.hose
	switch f.Name {
	case "bore":
		h.Bore = r.more(amount[unit.Metre](r, f, n, from), f)
	case "material":
		h.Material = r.text(f.Name, n, from)
	case "rating":
		h.Rating = list(n, func(n *Node) schema.Val[string] { return r.word(&f.Attr, n, from) })
	case "clamps":
		h.Clamps = r.count(&f.Attr, n, from)
	case "peak":
		l.peak = amount[unit.Metre](r, f, n, from)
	case "dip":
		l.dip = amount[unit.Metre](r, f, n, from)
	case "peaks":
		l.peaks = perStretch(r, f, n, func(n *Node) schema.Val[unit.Metre] { return amount[unit.Metre](r, f, n, from) })
	case "dips":
		l.dips = perStretch(r, f, n, func(n *Node) schema.Val[unit.Metre] { return amount[unit.Metre](r, f, n, from) })
	case "peak-at":
		h.PeakAt = r.pair(f, n, from)
	case "bends":
		r.bends(h, n, from)
	case "wall":
		h.Wall = r.word(&f.Attr, n, from)
	case "roughness":
		h.Roughness = amount[unit.Metre](r, f, n, from)
	case "reinforced":
		h.Reinforced = r.flag(f.Name, n, from)
	case "through":
		h.Through = r.spaceNames(f.Name, n, from)
	case "label":
		h.Label = r.text(f.Name, n, from)
	case "title":
		h.Title = r.text(f.Name, n, from)
	case "note":
		h.Note = r.text(f.Name, n, from)
	case "fitted":
		h.Fitted = r.date(f.Name, n, from)
	case "prepared":
		h.Prepared = r.flag(f.Name, n, from).V
	}
}

// bends reads 2x90, 1x90 + 2x45 or a bare count of right angles. The model
// counts right angles, part ones rounded up.
func (r *reader) bends(h *schema.Hose, n *Node, from schema.Origin) {
	text, ok := r.hasText("bends", n)
	if !ok {
		return
	}
	degrees := 0
	for _, part := range strings.FieldsFunc(text, func(c rune) bool { return c == '+' || c == ',' }) {
		count, angle, has := strings.Cut(strings.ReplaceAll(strings.TrimSpace(part), "×", "x"), "x")
		if !has {
			angle = "90"
		}
		c, err := strconv.Atoi(strings.TrimSpace(count))
		a, err2 := strconv.Atoi(strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(strings.TrimSpace(angle), "°"), "deg")))
		if err != nil || err2 != nil || c < 0 || c > 1000 || a < 1 || a > 360 {
			degrees = -1
			break
		}
		degrees += c * a
	}
	if degrees < 0 || strings.TrimSpace(text) == "" {
		r.at(n.Resolve(), "%q is no count of bends: write for example 2x90", clip(text))
		return
	}
	h.Bends = schema.Val[int]{V: (degrees + 89) / 90, Text: text, At: n.Resolve().Span(), From: from}
	h.BendsText = text
}

// letters returns the letters of the i-th of n stretches: none for one, else a,
// b … z, aa, ab …
func letters(i, n int) string {
	if n <= 1 {
		return ""
	}
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('a'+(i-1)%26)) + s
	}
	return s
}

// fits reports a list whose length is not the number of stretches; what it says
// then reads as not stated.
func fits[T any](r *reader, s series[T], name, of string, wanted int) bool {
	if s.node == nil {
		return false
	}
	if len(s.list) == wanted {
		return true
	}
	r.at(s.node, "%s has %s; %s has %s", name, counted(len(s.list), "value"), of, counted(wanted, "stretch"))
	return false
}

// counted writes 1 value, 2 values, 3 stretches.
func counted(n int, what string) string {
	switch {
	case n == 1:
		return "1 " + what
	case strings.HasSuffix(what, "ch"):
		what += "e"
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// clash reports a line that says the same of one run and of each stretch.
func (r *reader) clash(single bool, node *Node, one, many string) {
	if single && node != nil {
		r.at(node, "%s and %s exclude each other", one, many)
	}
}

// shared splits a total evenly over n stretches. A share of a total is derived:
// rules take the length of the stretch as not stated.
func shared[T ~float64](v schema.Val[T], n int, text func(T) string) schema.Val[T] {
	if !v.Given() || n <= 1 {
		return v
	}
	v.V /= T(n)
	v.From = schema.Derived
	v.Text = text(v.V)
	return v
}

func stretchName(l *line) string {
	if l.id == nil {
		return l.sec.Item
	}
	return fmt.Sprintf("%s %s", strings.TrimPrefix(strings.TrimPrefix(l.sec.Item, "a "), "an "), l.id.Text)
}
