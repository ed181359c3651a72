package list

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
)

// Columns of the order that formulas of the workbook read.
const (
	orderGroup    = "B"
	orderQuantity = "C"
	orderPrice    = "H"
	orderCurrency = "I"
	orderTotal    = "J"
	orderCut      = "K"
)

// groups name the parts of the order in their sequence.
func groups() []string {
	return []string{"parts", "cable", "terminals", "heat-shrink", "hose", "clamps", "spares", "labels"}
}

// order is the bill of materials: what is fitted, then what joins it, each line
// with its reason.
func order(in Input) Table {
	t := Table{Title: "Order list", Columns: []Column{
		{Key: "item", Title: "Item"}, {Key: "group", Title: "Group"}, {Key: "quantity", Title: "Quantity", Right: true}, {Key: "unit", Title: "Unit"},
		{Key: "for", Title: "For"}, {Key: "make", Title: "Make and model"}, {Key: "supplier", Title: "Supplier"},
		{Key: "price", Title: "Price each", Right: true}, {Key: "currency", Title: "Currency"}, {Key: "total", Title: "Line total", Right: true},
		{Key: "cut", Title: "Cut"}, {Key: "reason", Title: "Reason"},
	}}
	plan := cutPlan(in)
	book := orderOf(in, plan)
	unread := 0
	for _, l := range book.lines {
		t.Rows = append(t.Rows, l.cells(len(plan.rows)))
		if _, ok := priceOf(l.price); l.price != "" && !ok {
			unread++
		}
	}
	t.Notes = []string{
		cutNote,
		"Lugs whose stud is not stated in the file are to be measured before ordering.",
		"Prepared parts are not ordered.",
	}
	if unread > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("%d prices cannot be read as one figure and one currency; they stand as written and are in no total.", unread))
	}
	cut := cutTable(plan)
	cut.Name, cut.Paper = "cuts", in.Survey.Boat.Sheets.Paper.Or("A4")
	sum := totalTable(book)
	sum.Name, sum.Paper = "totals", cut.Paper
	t.Beside = []Table{cut, sum}
	return t
}

// cells are the row of a line; in a workbook the quantity of cable and hose is
// summed from the sheet of cuts and the total is quantity times price.
func (l line) cells(cuts int) []Cell {
	quantity := number(l.quantity, l.digits)
	if l.cut != "" {
		quantity.Formula = fmt.Sprintf("ROUNDUP(ROUND(SUMIF(cuts!$A$2:$A$%d,%s{row},cuts!$%s$2:$%s$%d),6),0)", cuts+1, orderCut, cutColumn, cutColumn, cuts+1)
	}
	price, currency, total := text(l.price), text(""), text("")
	if m, ok := priceOf(l.price); ok {
		price = number(m.amount, 2)
		currency = text(m.currency)
		total = number(l.quantity*m.amount, 2)
	}
	total.Formula = fmt.Sprintf("IF(ISNUMBER(%s{row}),ROUND(%s{row}*%s{row},2),\"\")", orderPrice, orderQuantity, orderPrice)
	return []Cell{text(l.item), text(groups()[l.group]), quantity, text(l.unit), text(forText(l.ids)), text(l.make), text(l.supplier),
		price, currency, total, text(l.cut), text(l.reason)}
}

// orderOf gathers the lines, by group.
func orderOf(in Input, plan plan) *orderBook {
	o := &orderBook{index: map[string]int{}}
	o.parts(in)
	o.lengths(plan, 1)
	o.lugs(in)
	o.hose(in)
	o.lengths(plan, 4)
	o.clamps(in)
	o.spares(in)
	o.labels(in)
	sort.SliceStable(o.lines, func(i, j int) bool { return o.lines[i].group < o.lines[j].group })
	return o
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
	cut      string // code of its lengths on the sheet of cuts
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

// lengths orders the cable (group 1) and hose (group 4) of the cutting plan.
func (o *orderBook) lengths(p plan, group int) {
	for _, k := range p.stock {
		if k.group != group {
			continue
		}
		var ids []string
		run := 0.0
		for _, c := range p.rows {
			if c.code == k.code {
				ids = appendNew(ids, c.id)
				run += c.length * float64(c.pieces)
			}
		}
		reason := fmt.Sprintf("%.1f m run, with allowance %.1f m", run, p.metres(k.code))
		if len(k.reels) > 0 {
			reason += "; by reel: " + reelsText(k.reels)
		}
		if len(k.blind) > 0 {
			reason += "; no length given for " + strings.Join(k.blind, ", ")
		}
		o.add(line{group: group, item: k.item, quantity: math.Ceil(p.metres(k.code) - 1e-6), unit: "m", ids: ids, reason: reason, cut: k.code})
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
	for _, h := range fittedHoses(in.Survey.Boat) {
		if h.Bore.Given() && h.Length.Given() && h.Length.V == 0 {
			o.add(line{group: 4, item: "close nipple, " + h.Bore.V.BoreText(), quantity: 1, unit: "piece", ids: []string{h.ID}, reason: "screwed together"})
		}
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
