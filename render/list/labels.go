package list

import "fitout/schema"

func labels(in Input) Table {
	t := Table{Title: "Labels", Columns: []Column{
		{Key: "where", Title: "Where"}, {Key: "text", Title: "Text"}, {Key: "count", Title: "Count", Right: true}, {Key: "on", Title: "On"}, {Key: "space", Title: "Space"},
	}}
	add := func(where, what string, n int, on, space string) {
		t.Rows = append(t.Rows, []Cell{text(where), text(what), whole(n), text(on), text(space)})
	}
	for _, p := range fittedParts(in.Survey.Boat) {
		if on := labelled(p); on != "" {
			add(p.ID, labelText(p), 1, on, place(p))
		}
		for _, w := range p.Ways {
			if !w.Spare {
				add(p.ID+"."+w.Key, wayLabel(p, w), 1, "panel way", place(p))
			}
		}
	}
	for _, w := range runs(in.Survey.Boat) {
		what := w.Ref()
		if w.Label.Given() {
			what = w.Label.V
		}
		add(w.Ref(), what, 2, "wire, at each end", "")
	}
	t.Notes = []string{
		"A device's label gives its load and its rating (46 CFR 111.30-15 asks it of passenger vessels). Letters at least 2.5 mm high.",
		"Mark wires within reach of each end, text reading from left to right or top to bottom.",
	}
	return t
}

// labelled says what the label is stuck to, "" for parts that carry none.
func labelled(p *schema.Part) string {
	r := p.Roles()
	switch {
	case r.Any(schema.Seacock | schema.Shutoff):
		return "valve handle"
	case r.Any(schema.Protection) && !r.Any(schema.Panel):
		return "device"
	case r.Any(schema.Switching):
		return "switch"
	case r.Any(schema.Distribution | schema.Panel):
		return "bus or panel"
	case r.Any(schema.Source):
		return "source"
	case r.Any(schema.Residual):
		return "device"
	}
	return ""
}

func labelText(p *schema.Part) string {
	if l := p.Word("label"); l.Given() {
		return l.V
	}
	what := p.ID
	if t := p.Title(); t != "" {
		what += " " + t
	}
	if r := rating(p); r != "" && p.Roles().Any(schema.Protection|schema.Switching|schema.Residual) {
		what += ", " + r
	}
	return what
}

func wayLabel(p *schema.Part, w schema.Way) string {
	if w.Label.Given() {
		return w.Label.V
	}
	what := p.ID + "." + w.Key
	if w.Title.Given() {
		what += " " + w.Title.V
	}
	if w.Rating.Given() {
		what += ", " + w.Rating.V.String()
	}
	return what
}
