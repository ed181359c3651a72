package list

import (
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// loads is the electrical load analysis: what is connected, and its share of
// each condition with the demand factor.
func loads(in Input) Table {
	a := in.Survey.LoadAnalysis()
	t := Table{Title: "Electrical loads by condition", Columns: []Column{
		{Key: "id", Title: "Load"}, {Key: "title", Title: "What it is"}, {Key: "space", Title: "Space"}, {Key: "count", Title: "Count", Right: true},
		{Key: "volts", Title: "Volts", Right: true}, {Key: "amps", Title: "Full, A", Right: true}, {Key: "watts", Title: "Full, W", Right: true},
		{Key: "starting_a", Title: "Starts, A", Right: true}, {Key: "column", Title: "Column"},
	}}
	for _, c := range a.Conditions {
		name := c.Title.Or(c.ID)
		t.Columns = append(t.Columns,
			Column{Key: c.ID + "_demand_percent", Title: name + ": demand, %", Right: true},
			Column{Key: c.ID + "_a", Title: "mean, A", Right: true},
			Column{Key: c.ID + "_ah", Title: "Ah", Right: true})
	}
	for _, r := range a.Rows {
		t.Rows = append(t.Rows, loadRow(r))
	}
	t.Rows = append(t.Rows, loadTotals(a)...)
	t.Notes = []string{
		"Demand is the share of the time a load runs; Ah over the hours the condition states. The condition `all` is every load at full draw.",
		"Column A runs at the same time as a rule, B does not. Feeder: " + survey.FeederCite + ".",
	}
	for _, g := range a.Missing {
		t.Notes = append(t.Notes, "Left out for want of a datum: "+g.What+".")
	}
	return t
}

func loadRow(r survey.LoadRow) []Cell {
	column := "B"
	if r.Steady {
		column = "A"
	}
	amps, watts := text("not known"), text("not known")
	if r.Known {
		amps, watts = number(r.Amps, 2), number(r.Watts, 0)
	}
	starting := text("")
	if r.Starting > 0 {
		starting = number(r.Starting, 1)
	}
	row := []Cell{text(r.Part.ID), text(r.Part.Title()), text(place(r.Part)), whole(r.Count), number(r.Volts, 0), amps, watts, starting, text(column)}
	for _, c := range r.Cells {
		if !c.Runs {
			row = append(row, text(""), text(""), text(""))
			continue
		}
		ah := text("")
		if c.AmpHours > 0 {
			ah = number(c.AmpHours, 1)
		}
		row = append(row, number(c.Demand*100, 0), number(c.Mean, 2), ah)
	}
	return row
}

// loadTotals are the sums under the loads: connected, mean, feeder demand, and
// what a day at the mean takes.
func loadTotals(a survey.LoadAnalysis) [][]Cell {
	sum := func(name string, amps func(survey.LoadTotal) unit.Amp, ah func(survey.LoadTotal) (unit.AmpHour, bool)) []Cell {
		row := []Cell{text(name)}
		for len(row) < 9 {
			row = append(row, text(""))
		}
		for _, t := range a.Totals {
			cell, charge := text(""), text("")
			if amps != nil {
				cell = number(amps(t), 1)
			}
			if ah != nil {
				if q, ok := ah(t); ok {
					charge = number(q, 1)
				}
			}
			row = append(row, text(""), cell, charge)
		}
		return row
	}
	return [][]Cell{
		sum("connected", func(t survey.LoadTotal) unit.Amp { return t.Connected }, nil),
		sum("mean", func(t survey.LoadTotal) unit.Amp { return t.Mean }, func(t survey.LoadTotal) (unit.AmpHour, bool) { return t.AmpHours, given(t.Hours) }),
		sum("24 h at the mean", nil, func(t survey.LoadTotal) (unit.AmpHour, bool) { return t.Day, true }),
		sum("feeder demand", func(t survey.LoadTotal) unit.Amp { return t.Feeder }, nil),
	}
}

func given(v schema.Val[unit.Hour]) bool { return v.Given() && v.V > 0 }
