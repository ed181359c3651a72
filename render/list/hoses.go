package list

import "fitout/schema"

func hoses(in Input) Table {
	t := Table{Title: "Hoses and pipes", Columns: []Column{
		{Key: "id", Title: "Hose"}, {Key: "from", Title: "From"}, {Key: "from_space", Title: "In"}, {Key: "to", Title: "To"}, {Key: "to_space", Title: "In"},
		{Key: "bore_mm", Title: "Bore", Right: true}, {Key: "length_m", Title: "Length, m", Right: true}, {Key: "material", Title: "Material"},
		{Key: "rating", Title: "Rated for"}, {Key: "clamps", Title: "Clamps an end", Right: true}, {Key: "peak_m", Title: "Peak, m", Right: true},
		{Key: "dip_m", Title: "Dip, m", Right: true}, {Key: "l_min", Title: "Flow, L/min", Right: true}, {Key: "m_s", Title: "Speed, m/s", Right: true},
		{Key: "crest_pressure_m", Title: "At crest, m", Right: true}, {Key: "in_condition", Title: "Most in"}, {Key: "fitted", Title: "Fitted"}, {Key: "note", Title: "Note"},
	}}
	for _, h := range fittedHoses(in.Survey.Boat) {
		from, to := "", ""
		if h.From.Part != nil {
			from = place(h.From.Part)
		}
		if h.To.Part != nil {
			to = place(h.To.Part)
		}
		t.Rows = append(t.Rows, []Cell{
			text(h.ID), text(hoseEnd(h.From)), text(from), text(hoseEnd(h.To)), text(to), boreCell(h), lengthCell(h),
			text(h.Material.V), text(words(h.Rating)), count(h.Clamps), metres(h.Peak), metres(h.Dip),
		})
		last := len(t.Rows) - 1
		t.Rows[last] = append(append(t.Rows[last], flowCells(in, h)...), text(h.Fitted.V), text(h.Note.V))
	}
	t.Notes = []string{"Flows are the most over all conditions, computed; pressure at a crest is in metres of water, minus below atmosphere.", "Heights are above the static waterline. Two clamps an end on the sea side, both on the barb."}
	return t
}

// flowCells are the most that runs in the hose over all conditions, and the least
// pressure at its crest.
func flowCells(in Input, h *schema.Hose) []Cell {
	f := in.Survey.HoseFigure(h)
	if !f.Known {
		return []Cell{text(""), text(""), text(""), text("")}
	}
	crest := text("")
	if f.HasCrest {
		crest = number(f.CrestPressure, 2)
	}
	return []Cell{number(f.Flow, 1), number(f.Velocity, 2), crest, text(f.Condition.ID)}
}

func boreCell(h *schema.Hose) Cell {
	if !h.Bore.Given() {
		return text("not given")
	}
	mm := float64(h.Bore.V) * 1000
	return Cell{Text: bore(h.Bore), Number: &mm}
}

func lengthCell(h *schema.Hose) Cell {
	switch {
	case !h.Length.Given():
		return text("not given")
	case h.Length.V == 0:
		zero := 0.0
		return Cell{Text: "close nipple", Number: &zero}
	}
	return number(h.Length.V, 2)
}

func metres[T ~float64](v schema.Val[T]) Cell {
	if !v.Given() {
		return text("")
	}
	return number(v.V, 2)
}

func count(v schema.Val[int]) Cell {
	if !v.Given() {
		return text("")
	}
	return whole(v.V)
}
