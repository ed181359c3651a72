package pack

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// Tolerances of the commissioning sheet: what a usual meter and a careful reading
// give (common practice, no source). Volts are held closer than the rule's own
// tenth: a bad joint shows in the second place.
const (
	withinVolts unit.Ratio = 0.02
	withinAmps  unit.Ratio = 0.10
	withinFlow  unit.Ratio = 0.15
)

// Measurement is one value worth taking.
type Measurement struct {
	No        int
	Condition string
	// At is the terminal or part, as the file's readings name it.
	At, What string
	// Quantity is the key of the reading: volts, current, flow.
	Quantity string
	// Predicted is the figure at full draw, Low and High the ends of what the check
	// lets pass.
	Predicted, Low, High float64
	Unit                 string
	Within               unit.Ratio
	Place                string
}

func measurement(c *schema.Condition, at schema.End, what, quantity, in string, e survey.Expected, within unit.Ratio) Measurement {
	x := Measurement{Condition: c.ID, At: at.String(), What: what, Quantity: quantity, Predicted: e.Predicted, Unit: in, Within: within, Place: place(at.Part)}
	x.Low, x.High = e.Band(within)
	return x
}

// measurements are the values worth taking, in each condition of the file in the
// order of a walk: batteries, protection, panels, loads, then water.
func (m *maker) measurements() []Measurement {
	var out []Measurement
	for _, c := range m.boat().Conditions {
		if c.Unattended.V || c.BuiltIn && m.cranks() {
			continue
		}
		out = append(out, m.electric(c)...)
		out = append(out, m.flows(c)...)
	}
	for i := range out {
		out[i].No = i + 1
	}
	return out
}

// cranks reports whether the boat has a starter: the condition of everything on
// then holds while it cranks, for seconds.
func (m *maker) cranks() bool {
	return slices.ContainsFunc(m.fitted(), func(p *schema.Part) bool { return p.Is(schema.Cranking) })
}

func (m *maker) electric(c *schema.Condition) []Measurement {
	d := m.Survey.DC(c)
	if !d.Solved() {
		return nil
	}
	var out []Measurement
	volt := func(p *schema.Part, terminal, what string) {
		at := schema.End{Part: p, Terminal: terminal}
		if e, ok := d.ExpectedVolts(at); ok && math.Abs(e.Predicted) > 1 {
			out = append(out, measurement(c, at, what, "volts", "V", e, withinVolts))
		}
	}
	amp := func(p *schema.Part, what string) {
		at := schema.End{Part: p}
		if e, ok := d.ExpectedAmps(at); ok && e.Predicted >= 0.05 {
			out = append(out, measurement(c, at, what, "current", "A", e, withinAmps))
		}
	}
	for _, p := range m.Survey.Batteries() {
		volt(p, "+", "volts at the post of "+name(p))
	}
	for _, p := range m.fitted() {
		r := p.Roles()
		switch {
		case r.Any(schema.Measuring):
			amp(p, "current through "+name(p))
		case r.Any(schema.Protection|schema.Switching) && !r.Any(schema.Panel|schema.Sensing|schema.ACPart):
			for _, t := range p.Terminals() {
				if t.Medium == schema.DC && t.Polarity == schema.Through {
					volt(p, t.Name, "volts at "+p.ID+"."+t.Name+", "+titleOf(p))
				}
			}
		case r.Any(schema.Panel) && !r.Any(schema.ACPart):
			volt(p, "in", "volts at the bar of "+name(p))
		case r.Any(schema.Distribution) && !r.Any(schema.ACPart) && p.Word("polarity").V != "negative":
			volt(p, "", "volts at "+name(p))
		}
	}
	for _, l := range d.Loads {
		if !l.Runs || l.Part.Prepared {
			continue
		}
		for _, t := range l.Part.Terminals() {
			if t.Polarity == schema.Plus && t.Medium == schema.DC {
				volt(l.Part, t.Name, "volts at "+name(l.Part)+" while it runs")
				break
			}
		}
		amp(l.Part, "current of "+name(l.Part))
	}
	return slices.CompactFunc(out, func(a, b Measurement) bool { return a.At == b.At && a.Quantity == b.Quantity })
}

func (m *maker) flows(c *schema.Condition) []Measurement {
	w := m.Survey.Water(c)
	var out []Measurement
	for _, p := range m.Survey.SeaUsers() {
		f, ok := w.Equipment(p)
		if !ok || f.Flow == 0 || len(w.Missing(p)) > 0 || f.OffCurve {
			continue
		}
		_, outlets := m.intake(p)
		for _, o := range outlets {
			if e, _, ok := w.ExpectedFlow(schema.End{Part: o}); ok && e.Predicted > 0.05 {
				out = append(out, measurement(c, schema.End{Part: o}, "water of "+name(p)+" at its outlet, bucket and watch", "flow", "L/min", e, withinFlow))
				break
			}
		}
	}
	return out
}

// commission is the sheet of measurements with empty boxes, and what is tested
// without a figure of the file.
func (m *maker) commission() []section {
	s := section{id: "commissioning", title: "Commissioning sheet", document: "Predicted and measured", lying: true,
		caution: "Measurements at mains voltage are for a licensed person. Volts: meter between the place and the minus post of the main battery, at the load that the condition runs."}
	s.blocks = []block{
		para("Bring the boat into the condition, wait a minute, write down what the meter shows. The same rows lie beside these sheets as commissioning.csv: type the values into its column `measured`, and `fitout pack FILE --readings commissioning.csv` prints them as `readings:` for the file (with --write it puts them there). A value that strays is then a finding that names the stretch."),
		para("Date ____________   Meter ____________   Measured by ____________   Signed ____________"),
	}
	var lines [][]string
	cond := ""
	flush := func() {
		if len(lines) > 0 {
			c := m.conditionOf(cond)
			s.blocks = append(s.blocks, heading("Condition: "+conditionName(c)), para(m.howToGetThere(c)), table([]sheet.Column{num("No."), col("At"), wide("Measure"), col("Where"), num("Predicted"), col("Good from, to"), {Head: "Measured", Least: 28}}, lines))
		}
		lines = nil
	}
	for _, x := range m.measurements() {
		if x.Condition != cond {
			flush()
			cond = x.Condition
		}
		lines = append(lines, []string{fmt.Sprint(x.No), x.At, x.What, x.Place, figureText(x.Predicted) + " " + x.Unit, bandText(x), m.measured(x)})
	}
	flush()
	s.blocks = append(s.blocks, m.drops(), heading("Tests without a figure in the file"), m.tests())
	return []section{s}
}

// measured is what the file's readings say of a measurement, "" where the box is
// still to be filled; the last one written counts.
func (m *maker) measured(x Measurement) string {
	out := ""
	for i := range m.boat().Readings {
		r := &m.boat().Readings[i]
		if r.Condition == nil || r.Condition.ID != x.Condition || r.Where.Part == nil {
			continue
		}
		if at := r.Where.String(); at != x.At && r.Where.Part.ID != x.At {
			continue
		}
		var v float64
		switch {
		case x.Quantity == "volts" && r.Volts.Given():
			v = float64(r.Volts.V)
		case x.Quantity == "current" && r.Current.Given():
			v = math.Abs(float64(r.Current.V))
		case x.Quantity == "flow" && r.Flow.Given():
			v = float64(r.Flow.V)
		default:
			continue
		}
		out = figureText(v) + " " + x.Unit
		// The check judges, not the sheet: a current may lie anywhere between full
		// draw and the mean of the loads that come and go.
		if slices.ContainsFunc(m.Result.Findings, func(f diag.Finding) bool { return f.Rule == "reading-off" && f.Span == r.At }) {
			out += ", off"
		}
		if r.Date.Given() {
			out += " (" + r.Date.V + ")"
		}
	}
	return out
}

func figureText(x float64) string { return fmt.Sprintf("%.*f", digits(x), x) }

// digits are those behind the point that a usual meter shows.
func digits(x float64) int {
	switch x = math.Abs(x); {
	case x >= 100:
		return 0
	case x >= 1:
		return 2
	}
	return 3
}

// bandText is what is good, rounded inward: what is printed as good passes the
// check.
func bandText(x Measurement) string {
	n := digits(x.Predicted)
	p := math.Pow10(n)
	low := fmt.Sprintf("%.*f", n, math.Ceil(x.Low*p)/p)
	if math.IsInf(x.High, 1) {
		return low + " or more"
	}
	return low + " – " + fmt.Sprintf("%.*f", n, math.Floor(x.High*p)/p)
}

func (m *maker) conditionOf(id string) *schema.Condition {
	for _, c := range m.boat().Conditions {
		if c.ID == id {
			return c
		}
	}
	return &schema.Condition{ID: id}
}

func (m *maker) howToGetThere(c *schema.Condition) string {
	var out []string
	for _, s := range c.Engine {
		out = append(out, strings.TrimSpace("engine "+s.Engine+" "+s.RPM.String()))
	}
	if c.Shore.V {
		out = append(out, "shore power in")
	}
	var on []string
	for _, r := range c.Running {
		on = append(on, r.Part.ID)
	}
	out = append(out, "on, at full: "+strings.Join(on, ", "))
	if len(c.Open) > 0 {
		var ids []string
		for _, p := range c.Open {
			ids = append(ids, p.ID)
		}
		out = append(out, "open: "+strings.Join(ids, ", "))
	}
	return strings.Join(out, "; ") + ". All else off."
}

// drops are what is lost across each run and device at full draw.
func (m *maker) drops() block {
	var lines [][]string
	for _, w := range m.cables() {
		if id, ok := m.Survey.Net.WireEdge[w]; !ok || id < 0 {
			continue // it leads to a part that is prepared for, not fitted
		}
		best, amp, cond := 0.0, 0.0, ""
		for _, c := range m.boat().Conditions {
			d := m.state(c)
			a, ok := d.Amps(w)
			r, known := d.Ohms(w)
			if ok && known && math.Abs(float64(a)*float64(r)) > best {
				best, amp, cond = math.Abs(float64(a)*float64(r)), math.Abs(float64(a)), conditionName(c)
			}
		}
		if best < 0.005 || amp < 5 {
			continue
		}
		lines = append(lines, []string{w.Ref(), m.wireEnd(w, w.From), m.wireEnd(w, w.To), fmt.Sprintf("%.1f A", amp), fmt.Sprintf("%.0f mV", 1000*best), cond, ""})
	}
	if len(lines) == 0 {
		return para("No run carries 5 A or more in a condition of the file: drops are too small to tell a joint from the meter.")
	}
	t := table([]sheet.Column{col("Wire"), col("From"), col("To"), num("At"), num("Drop, lug to lug"), wide("Condition"), {Head: "Measured", Least: 28}}, lines)
	t.refs = true
	return entry{id: "drops", title: "Drop across each run that carries 5 A or more", blocks: []block{para("Meter in millivolts from stud to stud, at the current given; in proportion at another. More than a fifth above: a lug. 0.02 Ω at 30 A is 0.6 V and 18 W of heat in one joint."), t}}
}

func (m *maker) tests() block {
	var lines [][]string
	row := func(what, good string) { lines = append(lines, []string{what, good, ""}) }
	for _, p := range m.fitted() {
		switch {
		case p.Is(schema.AlarmRole):
			row("Alarm "+at(p)+" by real water, smoke or test gas", alarmGood(p))
		case p.Is(schema.Bilge) && p.Kind.Attr("drive") != nil:
			row("Bilge pump "+at(p)+": litres in a minute by bucket, at 12.2 V and at 13.6 V where it is a 12 V pump", m.goodFlow(p))
		case p.Is(schema.Residual) && p.Kind.Name == "rcd":
			row("Residual trip of "+at(p)+" by instrument (licensed person)", orText(p.Amps("trip").Text, "its rated trip")+" at most; time by the local code")
		case p.Is(schema.ShorePower):
			row("Polarity and earth continuity at "+at(p)+" (licensed person)", "live on live; earth below 1 Ω (navy text for tool earths)")
		case p.Kind.Name == "alternator":
			row("Charge current and volts of "+at(p)+" by engine speed", curveText(p))
		}
	}
	row("Current with everything off, meter in the minus cable", m.parasiticText())
	return table([]sheet.Column{{Head: "Test", Grow: 2}, {Head: "Good", Grow: 1}, {Head: "Found", Least: 45}}, lines)
}

func (m *maker) parasiticText() string {
	s, _ := m.parasitic()
	return s
}

func alarmGood(p *schema.Part) string {
	if h := p.Height(); h.Given() && p.WordList("senses") != nil {
		return "sounds when water stands " + height(p) + " the waterline"
	}
	return "sounds"
}

func curveText(p *schema.Part) string {
	if p.Kind.Attr("output") == nil {
		return ""
	}
	v := p.Get("output")
	if v == nil {
		return "output not given"
	}
	ratio := 1.0
	if p.Kind.Attr("ratio") != nil {
		if r := p.Number("ratio"); r.Given() && r.V > 0 {
			ratio = r.V
		}
	}
	var out []string
	for _, pt := range v.Points {
		out = append(out, fmt.Sprintf("%.0f rpm engine: up to %.0f A", pt.X/ratio, pt.Y))
	}
	return strings.Join(out, "; ")
}
