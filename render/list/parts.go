package list

import (
	"strings"

	"fitout/schema"
)

func parts(in Input) Table {
	t := Table{Title: "Parts", Columns: []Column{
		{Key: "id", Title: "Id"}, {Key: "title", Title: "What it is"}, {Key: "kind", Title: "Kind"}, {Key: "class", Title: "Class"},
		{Key: "rating", Title: "Rating"}, {Key: "space", Title: "Space"}, {Key: "position", Title: "Position"},
		{Key: "make", Title: "Make and model"}, {Key: "serial", Title: "Serial"}, {Key: "note", Title: "Note"},
	}}
	for _, p := range in.Survey.Boat.Parts {
		note := p.Word("note").V
		if p.Prepared {
			note = strings.TrimSpace("prepared for, not fitted. " + note)
		}
		t.Rows = append(t.Rows, []Cell{
			text(p.ID), text(p.Title()), text(p.Kind.Title), text(p.Kind.Class), text(rating(p)), text(place(p)), text(position(p)),
			text(strings.TrimSpace(p.Word("make").V + " " + modelOf(p))), text(p.Word("serial").V), text(note),
		})
	}
	t.Notes = []string{"Class letters of IEC 81346-2, from memory."}
	return t
}

// modelOf is the maker's model; a load's electrical model (current, power,
// resistance) is a word of its own and no model number.
func modelOf(p *schema.Part) string {
	m := p.Word("model").V
	switch m {
	case "current", "power", "resistance":
		return ""
	}
	return m
}

func rating(p *schema.Part) string {
	if p.Kind.Rating == nil {
		return ""
	}
	return p.Kind.Rating(p)
}

// position prints where the part lies: station, offset and height as written.
func position(p *schema.Part) string {
	var out []string
	if v := p.Station(); v.Given() {
		out = append(out, v.Text+" from stem")
	}
	if v := p.Offset(); v.Given() {
		switch {
		case v.V > 0:
			out = append(out, strings.TrimPrefix(v.Text, "+")+" starboard")
		case v.V < 0:
			out = append(out, strings.TrimPrefix(v.Text, "-")+" port")
		default:
			out = append(out, "centreline")
		}
	}
	if v := p.Height(); v.Given() {
		if v.V < 0 {
			out = append(out, strings.TrimPrefix(v.Text, "-")+" below waterline")
		} else {
			out = append(out, v.Text+" above waterline")
		}
	}
	return strings.Join(out, ", ")
}
