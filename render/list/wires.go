package list

import (
	"fmt"
	"strings"

	"fitout/schema"
)

func wires(in Input) Table {
	t := Table{Title: "Wires", Columns: []Column{
		{Key: "id", Title: "Wire"}, {Key: "title", Title: "Circuit"}, {Key: "from", Title: "From"}, {Key: "from_space", Title: "In"},
		{Key: "to", Title: "To"}, {Key: "to_space", Title: "In"}, {Key: "size", Title: "Size"}, {Key: "cores", Title: "Cores", Right: true},
		{Key: "color", Title: "Colour"}, {Key: "length_m", Title: "Length, m", Right: true}, {Key: "lug_from", Title: "Lug, from"},
		{Key: "lug_to", Title: "Lug, to"}, {Key: "ampacity_a", Title: "Carries, A", Right: true}, {Key: "sheath", Title: "Sheath"}, {Key: "note", Title: "Note"},
	}}
	missing := 0
	for _, w := range runs(in.Survey.Boat) {
		length := text("not given")
		if w.Length.Given() {
			length = number(w.Length.V, 2)
		} else {
			missing++
		}
		size := "not given"
		if w.Auto {
			size = "auto"
		} else if w.Size.Given() {
			size = w.Size.V.String()
		}
		amps := text("")
		if a, miss := in.Survey.Ampacity(w, setOf(in)); miss == "" {
			amps = number(a.Amps, 1)
		}
		t.Rows = append(t.Rows, []Cell{
			text(w.Ref()), text(wireTitle(w)), text(cableEnd(w, w.From)), text(place(w.From.Part)), text(cableEnd(w, w.To)), text(place(w.To.Part)),
			text(size), whole(cores(w)), text(wireColor(in, w)), length, text(lug(w, 0)), text(lug(w, 1)), amps, text(sheath(w)), text(wireNote(w)),
		})
	}
	t.Notes = append(t.Notes, "Lengths are as run, without allowance for cutting. Mark each wire at both ends with its number.")
	if missing > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("%d wires have no length in the file.", missing))
	}
	return t
}

// cableEnd names the part alone for a cable, the terminal for a conductor.
func cableEnd(w *schema.Wire, e schema.End) string {
	if w.Cable == "" || e.Part == nil {
		return endText(e)
	}
	if t, ok := e.Part.Terminal(e.Terminal); ok && t.Cable != "" {
		return e.Part.ID + "." + t.Cable
	}
	return e.Part.ID
}

func wireTitle(w *schema.Wire) string {
	if w.Title.Given() {
		return w.Title.V
	}
	c := w.Circuit
	switch {
	case c == nil:
		return ""
	case c.Title.Given():
		return c.Title.V
	}
	if way, ok := c.Feed.Part.Way(c.Feed.Terminal); ok && way.Title.Given() {
		return way.Title.V
	}
	if len(c.Loads) > 0 {
		return c.Loads[0].Title()
	}
	return ""
}

func cores(w *schema.Wire) int { return max(1, w.Cores.Or(1)) }

func wireColor(in Input, w *schema.Wire) string {
	if w.Cable != "" && !w.Color.Given() {
		return ""
	}
	return colorOf(in, w)
}

func sheath(w *schema.Wire) string {
	if w.Sheath.V {
		return "whole run"
	}
	return ""
}

func wireNote(w *schema.Wire) string {
	var out []string
	if n := w.Parallel.Or(1); n > 1 {
		out = append(out, fmt.Sprintf("%d in parallel", n))
	}
	if w.Loom.Given() {
		out = append(out, "loom "+w.Loom.V)
	}
	if w.Carries.V == "signal" {
		out = append(out, "signal")
	}
	if w.Note.Given() {
		out = append(out, w.Note.V)
	}
	return strings.Join(out, "; ")
}
