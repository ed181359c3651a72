package list

import (
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/unit"
)

func openings(in Input) Table {
	t := Table{Title: "Hull openings, bow to stern", Columns: []Column{
		{Key: "no", Title: "No.", Right: true}, {Key: "id", Title: "Id"}, {Key: "title", Title: "What it is"}, {Key: "service", Title: "Service"},
		{Key: "space", Title: "Space"}, {Key: "size_mm", Title: "Size", Right: true}, {Key: "material", Title: "Material"},
		{Key: "height_m", Title: "Height, m", Right: true}, {Key: "station_m", Title: "From stem, m", Right: true}, {Key: "side", Title: "Side"},
		{Key: "valve", Title: "Valve"}, {Key: "valve_type", Title: "Type"}, {Key: "normal", Title: "Normally"}, {Key: "reach_s", Title: "Reach, s", Right: true},
		{Key: "exercised", Title: "Moved last"}, {Key: "plug_mm", Title: "Plug, mm", Right: true},
	}}
	for i, p := range Openings(in.Survey.Boat) {
		service := p.Word("service").V
		if service == "" {
			service = p.Word("type").V
		}
		row := []Cell{whole(i + 1), text(p.ID), text(p.Title()), text(service), text(place(p)), mm(p.Metres("size")), text(p.Word("material").V),
			metres(p.Height()), metres(p.Station()), text(side(p))}
		t.Rows = append(t.Rows, append(row, valveCells(p)...))
	}
	t.Notes = []string{"Heights are above the static waterline; minus is below. A plug tapers from smaller to larger than the size given."}
	return t
}

// Openings lists every hole in the hull from the bow aft; those without a
// station come last, in the order of the file.
func Openings(b *schema.Boat) []*schema.Part {
	var out []*schema.Part
	for _, p := range fittedParts(b) {
		if p.Roles().Any(schema.SeaOpening | schema.HullHole) {
			out = append(out, p)
		}
	}
	at := func(p *schema.Part) float64 {
		if s := p.Station(); s.Given() {
			return float64(s.V)
		}
		return math.Inf(1)
	}
	slices.SortStableFunc(out, func(a, b *schema.Part) int {
		switch {
		case at(a) < at(b):
			return -1
		case at(a) > at(b):
			return 1
		}
		return 0
	})
	return out
}

func mm(v schema.Val[unit.Metre]) Cell {
	if !v.Given() {
		return text("not given")
	}
	f := float64(v.V) * 1000
	return Cell{Text: bore(v), Number: &f}
}

func side(p *schema.Part) string {
	o := p.Offset()
	switch {
	case !o.Given():
		return ""
	case o.V > 0.05:
		return "starboard"
	case o.V < -0.05:
		return "port"
	}
	return "centre"
}

func valveCells(p *schema.Part) []Cell {
	plug := text("")
	if s := p.Metres("size"); s.Given() {
		plug = number(s.V*1000, 0)
	}
	c := p.Cock
	if c == nil {
		return []Cell{text("none"), text(""), text(""), text(""), text(""), plug}
	}
	reach := text("not given")
	if r := c.Hours("reach"); r.Given() {
		reach = number(r.V*3600, 0)
	}
	return []Cell{text(c.ID), text(c.Word("type").V), text(c.Word("position").Or("open")), reach, text(c.Word("exercised").V), plug}
}
