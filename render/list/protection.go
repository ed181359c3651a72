package list

import (
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
)

func protection(in Input) Table {
	t := Table{Title: "Fuses and breakers", Columns: []Column{
		{Key: "id", Title: "Device"}, {Key: "title", Title: "Protects"}, {Key: "space", Title: "Space"}, {Key: "type", Title: "Type"},
		{Key: "family", Title: "Family"}, {Key: "rating_a", Title: "Rating, A", Right: true}, {Key: "volts", Title: "Volts", Right: true},
		{Key: "interrupt_a", Title: "Breaks, A", Right: true}, {Key: "interrupt_from", Title: "Breaks: from"}, {Key: "trip_ma", Title: "Residual trip, mA", Right: true},
		{Key: "wires", Title: "Wires"}, {Key: "allows_a", Title: "Wires allow, A", Right: true}, {Key: "spares", Title: "Spares", Right: true},
	}}
	for _, d := range devices(in.Survey.Boat) {
		kind := "fuse"
		if d.data.Breaker {
			kind = "breaker"
		}
		if d.data.ResidualOnly {
			kind = "residual-current device"
		}
		ids, allows := around(in, d)
		breaks, from := interrupt(d)
		t.Rows = append(t.Rows, []Cell{
			text(d.name()), text(protects(d)), text(place(d.part)), text(kind), text(d.data.Family),
			amps(d.data.Rating), volts(d.data.Volts), breaks, text(from), milliamps(d.data.Trip), text(strings.Join(ids, ", ")), allows, spares(d),
		})
	}
	t.Notes = []string{
		"Replace a device only by one of the same family, rating, voltage and breaking capacity. A device that opened had a reason: find it first.",
		"Breaking capacities marked as usual for the family are not the maker's figure.",
	}
	return t
}

func protects(d device) string {
	if s := d.title(); s != "" {
		return s
	}
	return ""
}

func amps(v schema.Val[unit.Amp]) Cell {
	if !v.Given() {
		return text("not given")
	}
	f := float64(v.V)
	return Cell{Text: strings.TrimSuffix(v.V.String(), " A"), Number: &f}
}

func milliamps(v schema.Val[unit.Amp]) Cell {
	if !v.Given() {
		return text("")
	}
	return number(1000*v.V, 0)
}

func volts(v schema.Val[unit.Volt]) Cell {
	if !v.Given() {
		return text("")
	}
	return number(v.V, 0)
}

// interrupt is what the device breaks: as stated, else what is usual for its
// family, else nothing known.
func interrupt(d device) (Cell, string) {
	if d.data.Interrupt.Given() {
		return number(d.data.Interrupt.V, 0), "stated"
	}
	if f, ok := tables.FuseFamily(d.data.Family); ok && !d.data.Breaker {
		if a, ok := f.Interrupt(d.data.Volts.Or(f.Volts)); ok {
			return number(a, 0), "usual for " + f.Word + ", " + f.Cite.String()
		}
	}
	return text("not known"), ""
}

// around lists the conductors that meet the device, and what the thinnest of
// them allows.
func around(in Input, d device) ([]string, Cell) {
	var ids []string
	least := unit.Amp(-1)
	for _, w := range fittedWires(in.Survey.Boat) {
		at := w.From.Part == d.part && (w.From.Terminal == d.br.A || w.From.Terminal == d.br.B) ||
			w.To.Part == d.part && (w.To.Terminal == d.br.A || w.To.Terminal == d.br.B)
		if !at {
			continue
		}
		ids = appendNew(ids, w.Ref())
		if a, missing := in.Survey.Ampacity(w, setOf(in)); missing == "" && (least < 0 || a.Amps < least) {
			least = a.Amps
		}
	}
	if least < 0 {
		return ids, text("")
	}
	return ids, number(least, 1)
}

func appendNew(list []string, s string) []string {
	for _, have := range list {
		if have == s {
			return list
		}
	}
	return append(list, s)
}

func spares(d device) Cell {
	if d.data.Breaker {
		return text("")
	}
	return whole(Spares(d.part, d.data))
}

// Spares is how many spares of a part's fuse to carry: the number written, else
// two of a small fuse and one of a large one (common practice, no source).
func Spares(p *schema.Part, d *schema.DeviceData) int {
	if n := p.Count("spares"); n.Given() {
		return n.V
	}
	switch d.Family {
	case "blade", "glass", "":
		return 2
	}
	return 1
}
