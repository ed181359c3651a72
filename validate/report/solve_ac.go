package report

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// Mains circuits in a solution: amperes are magnitudes, all that the running loads
// ask of their source; a cable has a row for its line and one for its neutral.

// mainsWires lists the AC conductors that load current flows in.
func mainsWires(s *survey.Survey, c *schema.Condition) (rows []solvedWire) {
	st := s.AC(c)
	for _, w := range s.Boat.Wires {
		id, ok := s.Net.WireEdge[w]
		if !ok || id < 0 || w.Medium != schema.AC || w.Core == "PE" {
			continue
		}
		row := solvedWire{ID: w.ID, From: w.From.String(), To: w.To.String()}
		x, missing := st.Edge(id)
		known := st != nil && missing == ""
		r, lacks := s.WireOhms(w, false)
		row.Amps = amount(x.Asked, known)
		row.Ohms = amount(r, lacks == "")
		row.Drop = amount(unit.Volt(float64(x.Asked)*float64(r)), known && lacks == "")
		row.Ampacity = amount(Ampacity(s, w))
		row.Size = sizeOf(w)
		rows = append(rows, row)
	}
	return rows
}

func sizeOf(w *schema.Wire) *string {
	if !w.Size.Given() || w.Size.V.IsZero() {
		return nil
	}
	text := w.Size.Text
	if text == "" {
		text = w.Size.V.Name()
	}
	return &text
}

// mainsDevices lists the AC devices that open on overcurrent, both poles as one.
func mainsDevices(s *survey.Survey, c *schema.Condition) (rows []solvedDevice) {
	st := s.AC(c)
	seen := map[string]bool{}
	for id := range s.Net.Edges {
		e := &s.Net.Edges[id]
		if e.Type != trace.Device || e.Medium != schema.AC || e.Branch.Device.ResidualOnly || seen[deviceLabel(e)] {
			continue
		}
		seen[deviceLabel(e)] = true
		x, missing := st.Edge(id)
		rows = append(rows, solvedDevice{Part: deviceLabel(e), Amps: amount(x.Asked, st != nil && missing == ""), Rating: given(e.Branch.Device.Rating),
			LimitedBy: []string{}, Interrupt: given(e.Branch.Device.Interrupt)})
	}
	return rows
}

// mainsLoads lists the AC loads that run, with the voltage they see.
func mainsLoads(s *survey.Survey, c *schema.Condition) (rows []solvedLoad) {
	st := s.AC(c)
	if st == nil {
		return nil
	}
	for _, f := range st.Feeds {
		for _, l := range f.Loads {
			d, missing := st.Drop(f, l, nil)
			rows = append(rows, solvedLoad{l.Part.ID, amount(l.Amps, true), amount(f.Volts-d.Volts, missing == ""), 1})
		}
	}
	return rows
}

// mains writes the AC circuits of a condition.
func (p *printer) mains(s *survey.Survey, c *schema.Condition) {
	st := s.AC(c)
	if st == nil || len(st.Feeds) == 0 {
		return
	}
	sources := &grid{head: []string{"source", "A", "gives A", "V"}, left: map[int]bool{0: true}}
	loads := &grid{head: []string{"load", "A", "V", "drop V", "drop %", "title"}, left: map[int]bool{0: true, 5: true}}
	for _, f := range st.Feeds {
		sources.add(f.Source.Part.ID, cell(float64(f.Asked), true, "%.2f"), cell(float64(f.Limit), f.Limit > 0, "%.1f"), cell(float64(f.Volts), true, "%.0f"))
		for _, l := range f.Loads {
			d, missing := st.Drop(f, l, nil)
			known := missing == ""
			loads.add(l.Part.ID, cell(float64(l.Amps), true, "%.2f"), cell(float64(f.Volts-d.Volts), known, "%.2f"), cell(float64(d.Volts), known, "%.2f"),
				cell(100*float64(d.Volts/f.Volts), known, "%.1f"), l.Part.Title())
		}
	}
	wires := &grid{head: []string{"wire", "from", "to", "A", "may carry", "mV"}, left: map[int]bool{0: true, 1: true, 2: true}}
	for _, row := range mainsWires(s, c) {
		at := func(v *float64, k float64, format string) string {
			if v == nil {
				return cell(math.NaN(), false, format)
			}
			return cell(k**v, true, format)
		}
		if row.Amps == nil || *row.Amps > 0 {
			wires.add(row.ID, row.From, row.To, at(row.Amps, 1, "%.2f"), at(row.Ampacity, 1, "%.1f"), at(row.Drop, 1000, "%.1f"))
		}
	}
	p.grid("mains sources", sources)
	p.grid("mains loads (at full draw)", loads)
	p.grid("mains conductors", wires)
}
