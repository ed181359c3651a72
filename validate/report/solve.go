package report

import (
	"encoding/json"
	"io"
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// Solved is one installation file as solve prints it.
type Solved struct {
	Name     string
	Problems []diag.Problem
	Survey   *survey.Survey
	// Condition restricts the output to one condition; "" for all.
	Condition string
}

// SolveOK reports whether every condition asked for has a solution.
func (f Solved) SolveOK() bool {
	if f.Survey == nil {
		return false
	}
	for _, c := range f.conditions() {
		if f.Survey.DC(c).Trouble != nil || len(SolveWater(f.Survey, c).Failed) > 0 {
			return false
		}
	}
	return true
}

func (f Solved) conditions() []*schema.Condition {
	var out []*schema.Condition
	for _, c := range f.Survey.Conditions() {
		if f.Condition == "" || f.Condition == c.ID {
			out = append(out, c)
		}
	}
	return out
}

type solveJSON struct {
	Files  []solvedFile  `json:"files"`
	Errors []jsonProblem `json:"errors,omitempty"`
}

type solvedFile struct {
	File       string            `json:"file"`
	Conditions []solvedCondition `json:"conditions"`
	Day        *solvedDay        `json:"day"`
}

type solvedCondition struct {
	ID         string           `json:"id"`
	Reference  string           `json:"reference"`
	Wires      []solvedWire     `json:"wires"`
	Terminals  []solvedTerminal `json:"terminals"`
	Protection []solvedDevice   `json:"protection"`
	Batteries  []solvedBattery  `json:"batteries"`
	Sources    []solvedSource   `json:"sources"`
	Loads      []solvedLoad     `json:"loads"`
	Hoses      []HoseSolution   `json:"hoses"`
	Pumps      []PumpSolution   `json:"pumps"`
	Equipment  []EquipmentWater `json:"equipment"`
	HoldsAt    *float64         `json:"holds_at_rpm"`
	Islands    [][]string       `json:"islands,omitempty"`
	Missing    []solvedMissing  `json:"missing,omitempty"`
	Failed     []string         `json:"failed,omitempty"`
	Balance    *solvedBalance   `json:"balance,omitempty"`
}

type solvedWire struct {
	ID       string   `json:"id"`
	From     string   `json:"from"`
	To       string   `json:"to"`
	Amps     *float64 `json:"amps"`
	Drop     *float64 `json:"drop_v"`
	Ampacity *float64 `json:"ampacity"`
	Size     *string  `json:"size"`
	Ohms     *float64 `json:"ohms"`
}

type solvedTerminal struct {
	At       string   `json:"at"`
	Volts    *float64 `json:"volts,omitempty"`
	Head     *float64 `json:"head_m,omitempty"`
	Pressure *float64 `json:"pressure_m,omitempty"`
}

type solvedDevice struct {
	Part      string   `json:"part"`
	Amps      *float64 `json:"amps"`
	Rating    *float64 `json:"rating"`
	Fault     *float64 `json:"fault_amps"`
	LimitedBy []string `json:"limited_by"`
	Interrupt *float64 `json:"interrupt"`
}

type solvedBattery struct {
	Part  string   `json:"part"`
	Amps  *float64 `json:"amps"`
	Hours *float64 `json:"hours"`
}

type solvedSource struct {
	Part   string   `json:"part"`
	Amps   *float64 `json:"amps"`
	Limit  *float64 `json:"limit"`
	InAmps *float64 `json:"in_amps,omitempty"`
	State  string   `json:"state"`
}

type solvedLoad struct {
	Part  string   `json:"part"`
	Amps  *float64 `json:"amps"`
	Volts *float64 `json:"volts"`
	Duty  float64  `json:"duty"`
}

type solvedMissing struct {
	What string   `json:"what"`
	At   []string `json:"at"`
}

type solvedBalance struct {
	Share    float64 `json:"imbalance"`
	Residual float64 `json:"residual_a"`
	Worst    string  `json:"worst"`
}

type solvedDay struct {
	Batteries []solvedLedger  `json:"batteries"`
	Missing   []solvedMissing `json:"missing,omitempty"`
	Failed    *string         `json:"failed,omitempty"`
}

type solvedLedger struct {
	Part    string  `json:"part"`
	Used    float64 `json:"used_ah"`
	Charged float64 `json:"charged_ah"`
	Net     float64 `json:"net_ah"`
	End     float64 `json:"end_charge"`
	Least   float64 `json:"least_charge"`
}

// SolveJSON writes the solution of every file and condition as one object.
func SolveJSON(w io.Writer, files []Solved) error {
	out := solveJSON{Files: []solvedFile{}}
	for _, f := range files {
		for _, p := range f.Problems {
			line, column := p.Span.Position()
			out.Errors = append(out.Errors, jsonProblem{nameOf(p.Span.Name(), f.Name), line, column, p.Message, orNull(p.Near)})
		}
		if len(f.Problems) > 0 || f.Survey == nil {
			continue
		}
		out.Files = append(out.Files, solved(f))
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(out)
}

func solved(f Solved) solvedFile {
	s := f.Survey
	out := solvedFile{File: f.Name, Conditions: []solvedCondition{}}
	devices := deviceRows(s)
	for _, c := range f.conditions() {
		out.Conditions = append(out.Conditions, condition(s, c, devices))
	}
	if len(s.Boat.Day) > 0 {
		out.Day = dayOf(s)
	}
	return out
}

func amount[T ~float64](v T, ok bool) *float64 {
	if !ok || math.IsInf(float64(v), 0) || math.IsNaN(float64(v)) {
		return nil
	}
	if math.Abs(float64(v)) < noise {
		v = 0
	}
	return digits(float64(v))
}

// noise is what rounding leaves of a current or voltage that is nothing.
const noise = 1e-9

func given[T ~float64](v schema.Val[T]) *float64 { return amount(v.V, v.Given()) }

func condition(s *survey.Survey, c *schema.Condition, devices []solvedDevice) solvedCondition {
	d := s.DC(c)
	out := solvedCondition{ID: c.ID, Reference: s.Reference(),
		Wires: []solvedWire{}, Terminals: []solvedTerminal{}, Batteries: []solvedBattery{}, Sources: []solvedSource{}, Loads: []solvedLoad{}}
	for _, w := range s.Boat.Wires {
		if id, ok := s.Net.WireEdge[w]; ok && id >= 0 && w.Medium == schema.DC {
			out.Wires = append(out.Wires, wireRow(s, d, w))
		}
	}
	out.Wires = append(out.Wires, mainsWires(s, c)...)
	out.Terminals = terminalRows(s, d)
	out.Protection = slices.Clone(devices)
	k := 0
	for id := range s.Net.Edges {
		if e := &s.Net.Edges[id]; isDevice(e) {
			a, ok := d.EdgeAmps(id)
			out.Protection[k].Amps = amount(a, ok && d.Solved())
			k++
		}
	}
	for _, p := range s.Batteries() {
		a, ok := d.Mean().BatteryAmps(p)
		h, ok2 := d.Hours(p)
		out.Batteries = append(out.Batteries, solvedBattery{p.ID, amount(a, ok), amount(h, ok2)})
	}
	for _, src := range d.Sources {
		out.Sources = append(out.Sources, sourceRow(s, d, src))
	}
	for _, l := range d.Loads {
		if !l.Runs {
			continue
		}
		a, ok := d.LoadAmps(l)
		v, ok2 := d.LoadVolts(l)
		out.Loads = append(out.Loads, solvedLoad{l.Part.ID, amount(a, ok && d.Solved()), amount(v, ok2 && d.Solved()), *digits(float64(l.Duty))})
	}
	out.Protection = append(out.Protection, mainsDevices(s, c)...)
	out.Loads = append(out.Loads, mainsLoads(s, c)...)
	rpm, ok := s.HoldsAt(c)
	out.HoldsAt = amount(rpm, ok)
	out.Islands = d.Islands()
	for _, g := range d.Missing {
		out.Missing = append(out.Missing, solvedMissing{g.What, list(g.IDs)})
	}
	if d.Trouble != nil {
		out.Failed = append(out.Failed, d.Trouble.String())
	}
	if share, residual, worst := d.Balance(); d.Bounded() {
		out.Balance = &solvedBalance{*digits(share), *digits(float64(residual)), worst}
	}
	water := SolveWater(s, c)
	out.Hoses, out.Pumps, out.Equipment = water.Hoses, water.Pumps, water.Equipment
	for _, t := range water.Terminals {
		out.Terminals = append(out.Terminals, solvedTerminal{At: t.At, Head: t.Head, Pressure: t.Pressure})
	}
	out.Failed = append(out.Failed, water.Failed...)
	return out
}

func wireRow(s *survey.Survey, d *survey.DCState, w *schema.Wire) solvedWire {
	row := solvedWire{ID: w.ID, From: w.From.String(), To: w.To.String()}
	a, ok := d.Amps(w)
	row.Amps = amount(a, ok)
	r, known := d.Ohms(w)
	row.Ohms = amount(r, known)
	row.Drop = amount(unit.Volt(float64(a)*float64(r)), ok && known)
	row.Ampacity = amount(Ampacity(s, w))
	row.Size = sizeOf(w)
	return row
}

// Ampacity is what a run may carry, all its parallel strands together, by the
// stricter of the boat's rule sets.
func Ampacity(s *survey.Survey, w *schema.Wire) (unit.Amp, bool) {
	least, ok := unit.Amp(math.Inf(1)), false
	for _, set := range s.Sets() {
		if a, missing := s.Ampacity(w, set); missing == "" {
			least, ok = min(least, a.Amps), true
		}
	}
	return least * unit.Amp(max(1, w.Parallel.Or(1))), ok
}

func terminalRows(s *survey.Survey, d *survey.DCState) []solvedTerminal {
	rows := []solvedTerminal{}
	for _, p := range s.Boat.Parts {
		if p.Prepared {
			continue
		}
		last := ""
		for _, t := range p.Terminals() {
			if t.Medium != schema.DC || t.Hidden {
				continue
			}
			name := survey.TerminalName(p, t.Name)
			v, ok := d.Volts(p, t.Name)
			if !ok || name == last {
				continue
			}
			last = name
			rows = append(rows, solvedTerminal{At: name, Volts: amount(v, true)})
		}
	}
	return rows
}

func isDevice(e *trace.Edge) bool {
	return e.Type == trace.Device && e.Medium == schema.DC
}

// deviceRows lists the devices with what does not change with the condition.
func deviceRows(s *survey.Survey) []solvedDevice {
	rows := []solvedDevice{}
	for id := range s.Net.Edges {
		e := &s.Net.Edges[id]
		if !isDevice(e) {
			continue
		}
		row := solvedDevice{Part: deviceLabel(e), Rating: given(e.Branch.Device.Rating), LimitedBy: []string{}}
		p := s.FaultAt(id)
		row.Fault = amount(p.Amps, p.Known && p.Trouble == "")
		for _, by := range p.LimitedBy {
			row.LimitedBy = append(row.LimitedBy, by.ID)
		}
		row.Interrupt = amount(s.Interrupt(e))
		rows = append(rows, row)
	}
	return rows
}

func deviceLabel(e *trace.Edge) string {
	if e.Branch.Way != "" {
		return e.Part.ID + "." + e.Branch.Way
	}
	return e.Part.ID
}

func sourceRow(s *survey.Survey, d *survey.DCState, src *survey.DCSource) solvedSource {
	row := solvedSource{Part: src.Part.ID, State: d.Mode(src).String()}
	if id := s.EdgeID(src.Edge); id >= 0 {
		a, ok := d.EdgeAmps(id)
		row.Amps = amount(a, ok && d.Solved())
	}
	row.Limit = amount(src.Output.MaxI, src.Output.MaxI > 0)
	if src.Edge.Type == trace.ConvertIn {
		a, ok := d.InAmps(src)
		row.InAmps = amount(a, ok && d.Solved())
	}
	return row
}

func dayOf(s *survey.Survey) *solvedDay {
	day := &solvedDay{Batteries: []solvedLedger{}}
	books, missing, trouble := s.Day()
	for _, b := range books {
		day.Batteries = append(day.Batteries, solvedLedger{b.Part.ID, *digits(float64(b.Used)), *digits(float64(b.Charged)), *digits(float64(b.Net())), *digits(float64(b.End)), *digits(float64(b.Least))})
	}
	for _, g := range missing {
		day.Missing = append(day.Missing, solvedMissing{g.What, list(g.IDs)})
	}
	if trouble != nil {
		text := trouble.String()
		day.Failed = &text
	}
	return day
}
