package survey

import (
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

// LoadAnalysis is the electrical load analysis: what is connected, and what runs
// in each condition, as DDS 310-1 and 46 CFR 111.60-7 lay it out.
type LoadAnalysis struct {
	Conditions []*schema.Condition
	Rows       []LoadRow
	Totals     []LoadTotal // by condition
	// Missing are the data without which a figure is left out.
	Missing []Gap
}

// LoadRow is one load.
type LoadRow struct {
	Part *schema.Part
	// Volts is the nominal voltage, Amps and Watts what all alike take at it.
	Volts unit.Volt
	Amps  unit.Amp
	Watts unit.Watt
	Count int
	// Steady loads are those of column A of the E-11 feeder table: what runs at the
	// same time as a rule; the others are column B.
	Steady   bool
	Starting unit.Amp
	// Cells are its share of each condition.
	Cells []LoadCell
	Known bool
}

// LoadCell is a load in one condition.
type LoadCell struct {
	Runs bool
	// Demand is the demand factor: the share of the time it runs.
	Demand unit.Ratio
	// Mean is the mean current, AmpHours what it takes over the condition's hours;
	// 0 where the condition states none.
	Mean     unit.Amp
	AmpHours unit.AmpHour
}

// LoadTotal is a condition's sum.
type LoadTotal struct {
	// Connected is everything that runs in the condition at full draw, Mean at its
	// demand, AmpHours over its hours, Day over 24 h at the mean.
	Connected, Mean unit.Amp
	AmpHours, Day   unit.AmpHour
	// Feeder is the demand by the E-11 panel-feeder table (from memory): the steady
	// loads that run, and the larger of a tenth of the others and the largest of
	// them.
	Feeder unit.Amp
	Hours  schema.Val[unit.Hour]
}

// FeederCite is the source of LoadTotal.Feeder.
const FeederCite = "E-11 panel feeder: column A at 100 %, the larger of 10 % of column B and its largest load (from memory)"

// LoadAnalysis lists the DC loads of the boat with their demand in every
// condition.
func (s *Survey) LoadAnalysis() LoadAnalysis {
	out := LoadAnalysis{Conditions: s.Conditions()}
	index := map[*trace.Edge]int{}
	for k, c := range out.Conditions {
		d := s.DC(c)
		total := LoadTotal{Hours: c.Hours}
		others, largest := unit.Amp(0), unit.Amp(0)
		for _, l := range d.Loads {
			if l.Data.Feeds == "" && !l.Data.Amps.Given() && !l.Data.Watts.Given() && !l.Part.Is(schema.Load) {
				continue
			}
			i, ok := index[l.Edge]
			if !ok {
				i = len(out.Rows)
				index[l.Edge] = i
				out.Rows = append(out.Rows, s.loadRow(l, len(out.Conditions)))
			}
			row := &out.Rows[i]
			if !l.Runs {
				continue
			}
			full := row.Amps
			if a, ok := d.LoadAmps(l); ok && d.Solved() && l.Data.Feeds != "" {
				full = a
			}
			cell := LoadCell{Runs: true, Demand: l.Duty, Mean: full * unit.Amp(l.Duty)}
			cell.AmpHours = unit.AmpHour(float64(cell.Mean) * float64(c.Hours.V))
			row.Cells[k] = cell
			total.Connected += full
			total.Mean += cell.Mean
			total.AmpHours += cell.AmpHours
			if row.Steady {
				total.Feeder += full
			} else {
				others += full
				largest = max(largest, full)
			}
		}
		total.Feeder += max(others/10, largest)
		total.Day = unit.AmpHour(24 * float64(total.Mean))
		out.Totals = append(out.Totals, total)
		for _, g := range d.Missing {
			out.addGap(g)
		}
	}
	return out
}

func (a *LoadAnalysis) addGap(g Gap) {
	for _, have := range a.Missing {
		if have.What == g.What {
			return
		}
	}
	a.Missing = append(a.Missing, g)
}

func (s *Survey) loadRow(l *DCLoad, conditions int) LoadRow {
	row := LoadRow{Part: l.Part, Count: max(1, l.Data.Count), Cells: make([]LoadCell, conditions), Starting: l.Data.Starting.V}
	row.Volts = l.Data.Volts.V
	if row.Volts <= 0 {
		row.Volts, _ = s.NominalVolts(l.Edge)
	}
	n := unit.Amp(row.Count)
	switch {
	case l.Data.Amps.Given():
		row.Amps, row.Known = l.Data.Amps.V*n, true
	case l.Data.Watts.Given() && row.Volts > 0:
		row.Amps, row.Known = unit.Amp(float64(l.Data.Watts.V)/float64(row.Volts))*n, true
	}
	row.Watts = unit.Watt(float64(row.Amps) * float64(row.Volts))
	row.Steady = !l.Data.Motor || l.Data.Continuous || l.Part.Is(schema.Safety)
	return row
}
