package list

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
)

// cutAllowance is added to cable and hose for cutting and routing (common
// practice, no source).
const cutAllowance = 0.10

// order is the bill of materials: what is fitted, then what joins it, each line
// with its reason.
func order(in Input) Table {
	t := Table{Title: "Order list", Columns: []Column{
		{Key: "item", Title: "Item"}, {Key: "quantity", Title: "Quantity", Right: true}, {Key: "unit", Title: "Unit"},
		{Key: "for", Title: "For"}, {Key: "make", Title: "Make and model"}, {Key: "supplier", Title: "Supplier"},
		{Key: "price", Title: "Price each"}, {Key: "reason", Title: "Reason"},
	}}
	o := &orderBook{index: map[string]int{}}
	o.parts(in)
	o.cable(in)
	o.lugs(in)
	o.hose(in)
	o.clamps(in)
	o.spares(in)
	o.labels(in)
	for _, l := range o.lines {
		t.Rows = append(t.Rows, []Cell{text(l.item), number(l.quantity, l.digits), text(l.unit), text(forText(l.ids)), text(l.make), text(l.supplier), text(l.price), text(l.reason)})
	}
	t.Notes = []string{
		fmt.Sprintf("Cable and hose carry %.0f %% for cutting, rounded up to whole metres.", cutAllowance*100),
		"Lugs whose stud is not stated in the file are to be measured before ordering.",
		"Prepared parts are not ordered.",
	}
	return t
}

// line is one line of the order; equal items are counted together.
type line struct {
	group    int
	item     string
	quantity float64
	digits   int
	unit     string
	ids      []string
	make     string
	supplier string
	price    string
	reason   string
}

type orderBook struct {
	lines []line
	index map[string]int
}

func (o *orderBook) add(l line) {
	key := strings.Join([]string{fmt.Sprint(l.group), l.item, l.unit, l.make, l.supplier, l.price}, "\x00")
	if i, ok := o.index[key]; ok {
		o.lines[i].quantity += l.quantity
		for _, id := range l.ids {
			o.lines[i].ids = appendNew(o.lines[i].ids, id)
		}
		return
	}
	o.index[key] = len(o.lines)
	o.lines = append(o.lines, l)
}

func forText(ids []string) string {
	const most = 12
	if len(ids) > most {
		return strings.Join(ids[:most], ", ") + fmt.Sprintf(" and %d more", len(ids)-most)
	}
	return strings.Join(ids, ", ")
}

func (o *orderBook) parts(in Input) {
	for _, p := range fittedParts(in.Survey.Boat) {
		item := p.Kind.Title
		if p.Kind.Order != nil {
			item = p.Kind.Order(p)
		}
		if item == "" {
			continue
		}
		n := 1
		if c := p.Get("count"); c != nil && p.Count("count").V > 1 {
			n = p.Count("count").V
		}
		o.add(line{group: 0, item: item, quantity: float64(n), unit: "piece", ids: []string{p.ID},
			make: strings.TrimSpace(p.Word("make").V + " " + modelOf(p)), supplier: p.Word("supplier").V, price: p.Word("price").V, reason: "fitted"})
		if s := p.Count("spares"); s.Given() && s.V > 0 && !p.Is(schema.Protection) {
			o.add(line{group: 6, item: item, quantity: float64(s.V), unit: "piece", ids: []string{p.ID}, reason: "spares asked for in the file"})
		}
		for _, w := range p.Ways {
			if !w.Spare && w.Rating.Given() && w.Family.Given() {
				o.add(line{group: 0, item: w.Family.V + deviceWord(w.Family.V) + " " + w.Rating.V.String(), quantity: 1, unit: "piece", ids: []string{p.ID + "." + w.Key}, reason: "fills the way"})
			}
		}
	}
}

func deviceWord(family string) string {
	switch family {
	case "thermal", "magnetic", "hydraulic-magnetic":
		return " breaker"
	}
	return " fuse"
}

// cable sums the runs of each construction, size and colour.
func (o *orderBook) cable(in Input) {
	type sum struct {
		metres float64
		ids    []string
		blind  []string
	}
	sums := map[string]*sum{}
	var names []string
	seen := map[string]bool{}
	for _, w := range runs(in.Survey.Boat) {
		if !w.Size.Given() {
			continue
		}
		name := cableName(in, w)
		if c := cores(w); c > 1 && w.Cable == "" {
			// The two conductors of a circuit lie in one cable: buy it once.
			key := w.Path + strings.TrimRight(w.ID, "+-abcdefghijklmnopqrstuvwxyz")
			if w.Circuit != nil {
				key = w.Circuit.ID
			}
			if w.Return && w.Circuit != nil || seen[key+name+w.ID] {
				continue
			}
			seen[key+name+w.ID] = true
		}
		s := sums[name]
		if s == nil {
			s = &sum{}
			sums[name] = s
			names = append(names, name)
		}
		if !w.Length.Given() {
			s.blind = append(s.blind, w.Ref())
			continue
		}
		s.metres += float64(w.Length.V) * float64(max(1, w.Parallel.Or(1)))
		s.ids = appendNew(s.ids, w.Ref())
	}
	for _, name := range names {
		s := sums[name]
		reason := fmt.Sprintf("%.1f m run, plus %.0f %%", s.metres, cutAllowance*100)
		if len(s.blind) > 0 {
			reason += "; no length given for " + strings.Join(s.blind, ", ")
		}
		o.add(line{group: 1, item: name, quantity: math.Ceil(s.metres*(1+cutAllowance) - 1e-9), unit: "m", ids: s.ids, reason: reason})
	}
}

func cableName(in Input, w *schema.Wire) string {
	size := w.Size.V.String()
	insulation := ""
	if w.Insulation.Given() {
		insulation = ", " + w.Insulation.V.String() + " insulation"
	}
	if c := cores(w); c > 1 {
		return fmt.Sprintf("boat cable, stranded, tinned, %d core %s%s", c, size, insulation)
	}
	color := wireColor(in, w)
	if color != "" {
		color = ", " + color
	}
	return "boat cable, stranded, tinned, " + size + color + insulation
}

// lugs counts the crimp terminals and the heat-shrink over them.
func (o *orderBook) lugs(in Input) {
	pieces := map[string]int{}
	var order []string
	for _, w := range fittedWires(in.Survey.Boat) {
		if !w.Size.Given() {
			continue
		}
		n := max(1, w.Parallel.Or(1))
		for end, at := range []schema.End{w.From, w.To} {
			name := lug(w, end)
			if name == "" {
				name = "ring or maker's terminal, stud to be measured"
			}
			o.add(line{group: 2, item: fmt.Sprintf("crimp terminal for %s: %s", w.Size.V, name), quantity: float64(n), unit: "piece", ids: []string{at.Part.ID}, reason: "one an end of each conductor"})
		}
		size := w.Size.V.String()
		if pieces[size] == 0 {
			order = append(order, size)
		}
		pieces[size] += 2 * n
	}
	for _, size := range order {
		o.add(line{group: 3, item: "adhesive heat-shrink for " + size, quantity: math.Ceil(float64(pieces[size])*0.05*10) / 10, digits: 1, unit: "m", reason: fmt.Sprintf("%d pieces of 50 mm", pieces[size])})
	}
}

func (o *orderBook) hose(in Input) {
	type sum struct {
		metres float64
		ids    []string
	}
	sums := map[string]*sum{}
	var names []string
	for _, h := range fittedHoses(in.Survey.Boat) {
		if !h.Bore.Given() || !h.Length.Given() {
			continue
		}
		if h.Length.V == 0 {
			o.add(line{group: 4, item: "close nipple, " + h.Bore.V.BoreText(), quantity: 1, unit: "piece", ids: []string{h.ID}, reason: "screwed together"})
			continue
		}
		name := hoseName(h)
		if sums[name] == nil {
			sums[name] = &sum{}
			names = append(names, name)
		}
		sums[name].metres += float64(h.Length.V)
		sums[name].ids = append(sums[name].ids, h.ID)
	}
	for _, name := range names {
		s := sums[name]
		o.add(line{group: 4, item: name, quantity: math.Ceil(s.metres*(1+cutAllowance) - 1e-9), unit: "m", ids: s.ids, reason: fmt.Sprintf("%.1f m run, plus %.0f %%", s.metres, cutAllowance*100)})
	}
}

func hoseName(h *schema.Hose) string {
	material := h.Material.V
	if material == "" {
		material = "hose"
	} else {
		material += " hose"
	}
	name := fmt.Sprintf("%s, bore %s", material, h.Bore.V.BoreText())
	if h.Wall.V == "corrugated" {
		name += ", corrugated"
	}
	if len(h.Rating) > 0 {
		name += ", for " + words(h.Rating)
	}
	return name
}

// clampRange is the span of outer diameters of a hose of that bore: wall of 3 to
// 6 mm (common practice, no source).
func clampRange(bore unit.Metre) string {
	b := float64(bore) * 1000
	return fmt.Sprintf("%.0f to %.0f mm", b+6, b+12)
}

func (o *orderBook) clamps(in Input) {
	for _, h := range fittedHoses(in.Survey.Boat) {
		if !h.Bore.Given() || h.Length.Given() && h.Length.V == 0 {
			continue
		}
		ends := 0
		for _, e := range []schema.HoseEnd{h.From, h.To} {
			if !e.IsOpen() {
				ends++
			}
		}
		n := h.Clamps.Or(1)
		reason := fmt.Sprintf("%d an end", n)
		if !h.Clamps.Given() {
			reason = "one an end: the file does not say"
		}
		o.add(line{group: 5, item: "hose clamp, stainless band and screw, " + clampRange(h.Bore.V), quantity: float64(n * ends), unit: "piece", ids: []string{h.ID}, reason: reason})
	}
}

// spares orders fuses beyond those fitted: one line a family and rating.
func (o *orderBook) spares(in Input) {
	type key struct{ item string }
	most := map[key]int{}
	ids := map[key][]string{}
	var order []key
	for _, d := range devices(in.Survey.Boat) {
		if d.data.Breaker || !d.data.Rating.Given() {
			continue
		}
		k := key{strings.TrimSpace(d.data.Family + " fuse " + d.data.Rating.V.String())}
		if _, ok := most[k]; !ok {
			order = append(order, k)
		}
		most[k] = max(most[k], Spares(d.part, d.data))
		ids[k] = append(ids[k], d.name())
	}
	sort.SliceStable(order, func(i, j int) bool { return order[i].item < order[j].item })
	for _, k := range order {
		if most[k] > 0 {
			o.add(line{group: 6, item: k.item, quantity: float64(most[k]), unit: "piece", ids: ids[k], reason: "spares: a fuse that opened is replaced by its like"})
		}
	}
}

func (o *orderBook) labels(in Input) {
	n := 2 * len(runs(in.Survey.Boat))
	if n > 0 {
		o.add(line{group: 7, item: "wire marker", quantity: float64(n), unit: "piece", reason: "one an end of each wire"})
	}
}
