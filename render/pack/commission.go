package pack

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/diag"
)

// commission is the sheet of measurements with empty boxes.
func (m *maker) commission() []section {
	s := section{id: "commissioning", title: "Commissioning sheet", document: "Predicted and measured", lying: true,
		caution: "Measurements at mains voltage are for a licensed person only. Volts: meter between the place and " + m.minusLead() + ", over a load or a device between its own two terminals."}
	s.blocks = []block{
		para("Bring the boat into the condition, wait a minute, write down what the meter shows. The same rows lie beside these sheets as commissioning.csv: type the values into its column `measured`, and `fitout pack FILE --readings commissioning.csv` prints them as `readings:` for the file (with --write it puts them there). A value that strays is then a finding that names the stretch. A flow may be typed as the seconds that the bucket took (63 s)" + m.otherUnits() + "."),
		para("Good: volts within 2 %, amperes within 10 %, both anywhere between full draw and the mean of what comes and goes; flow within 15 %; a temperature rise that tells of a flow within 20 %; a device up to double the drop that is usual for its kind (all " + habit + "). Rows whose number bears an asterisk are notes: the file has no place for them, they stay on this sheet and in the CSV."),
		para("Date ____________   Meter ____________   Measured by ____________   Signed ____________"),
	}
	list := m.measurements()
	for len(list) > 0 {
		n := 1
		for n < len(list) && list[n].table == list[0].table && (list[n].table != inCondition || list[n].Condition == list[0].Condition) {
			n++
		}
		s.blocks = append(s.blocks, m.measureBlocks(list[:n])...)
		list = list[n:]
	}
	return []section{s}
}

// minusLead is where the other lead of the meter lies.
func (m *maker) minusLead() string {
	if r := m.Survey.Reference(); r != "" {
		return r
	}
	return "the minus post of the main battery"
}

func (m *maker) otherUnits() string {
	if m.boat().Rules.US() {
		return ", in gpm or in °F with the unit behind it"
	}
	return ""
}

// measureBlocks sets the rows of one table.
func (m *maker) measureBlocks(list []Measurement) []block {
	var lines [][]string
	readable := list[0].table == inCondition || list[0].table == overDevices
	for _, x := range list {
		no, what := fmt.Sprint(x.No), x.What
		if x.Bucket > 0 {
			what += "; " + m.bucketText(x)
		}
		if !readable {
			lines = append(lines, []string{no + "*", x.At, what, x.Place, m.figures(x, x.Predicted), m.goodText(x), x.Source, ""})
			continue
		}
		if x.Quantity == noteQuantity {
			no += "*"
		}
		if x.table == overDevices {
			what += " (" + conditionName(m.conditionOf(x.Condition)) + ")"
		}
		lines = append(lines, []string{no, x.At, what, x.Place, m.figures(x, x.Predicted), m.goodText(x), m.measured(x)})
	}
	cols := []sheet.Column{num("No."), col("At"), wide("Measure"), col("Where"), num("Predicted"), col("Good from, to"), {Head: "Measured", Least: 28}}
	if !readable {
		cols = []sheet.Column{num("No."), col("At"), wide("Measure"), col("Where"), num("Predicted"), {Head: "Good", Grow: 0.5}, {Head: "Tolerance by", Grow: 0.3}, {Head: "Measured", Least: 28}}
	}
	t := table(cols, lines)
	switch list[0].table {
	case overDevices:
		return []block{heading("Drop over each device"), para("Meter in millivolts from stud to stud of the device, in the condition in which it carries most. " + dropHint), t}
	case overRuns:
		t.Columns[0], t.Columns[1] = col("Wire"), t.Columns[0]
		for _, l := range t.Rows {
			l[0], l[1] = l[1], l[0]
		}
		t.refs = true
		return []block{entry{id: "drops", title: "Drop along each run that carries 5 A or more", blocks: []block{para("Meter in millivolts from stud to stud, at the current given; in proportion at another. More than a fifth above: a lug. " + dropHint), t}}}
	case bySpeed:
		return []block{heading("Charge current and volts by engine speed"), para("Battery well down, engine warm. A cold or nearly full battery takes less."), t}
	case atShore:
		return []block{heading("Shore power: for a licensed person only"), warning("Mains voltage kills. These rows are for a licensed person with the instrument for it; the owner presses the test button and no more."), t}
	case atAlarms:
		return []block{heading("Alarms"), t}
	case atRest:
		return []block{heading("Bilge pumps, and everything off"), t}
	}
	c := m.conditionOf(list[0].Condition)
	return []block{heading("Condition: " + conditionName(c)), para(m.howToGetThere(c)), t}
}

const dropHint = "0.02 Ω at 30 A is 0.6 V and 18 W of heat in one joint."

// figures is a value in its unit, and in the other system where the boat's set
// uses it.
func (m *maker) figures(x Measurement, v float64) string {
	if x.Unit == "" {
		return ""
	}
	s := fmt.Sprintf("%.*f %s", digits(v, x.Unit), v, x.Unit)
	if o, in, ok := otherSystem(x.Unit, v, m.boat().Rules.US()); ok {
		s += fmt.Sprintf(" (%s %s)", figureText(o), in)
	}
	return s
}

// otherSystem turns a value into the unit that a boat under US rules reads.
func otherSystem(in string, v float64, us bool) (float64, string, bool) {
	switch {
	case !us:
	case in == "L/min":
		return v / litresPerGallon, "gpm", true
	case in == "K":
		return v * 9 / 5, "°F", true
	case in == "mm":
		return v / 25.4, "in", true
	}
	return 0, "", false
}

// litresPerGallon is the US gallon of 231 cubic inches, exactly.
const litresPerGallon = 3.785411784

// goodText is the band, then what else is good.
func (m *maker) goodText(x Measurement) string {
	s := ""
	if x.Unit != "" {
		s = bandText(x)
		lo, in, ok := otherSystem(x.Unit, x.Low, m.boat().Rules.US())
		if hi, _, _ := otherSystem(x.Unit, x.High, true); ok && !math.IsInf(hi, 1) {
			o := x
			o.Predicted, o.Low, o.High, o.Unit = hi, lo, hi, in
			s += " (" + bandText(o) + " " + in + ")"
		}
	}
	if x.Good != "" && s != "" {
		return s + "; " + x.Good
	}
	return s + x.Good
}

// bucketText is how long a bucket takes.
func (m *maker) bucketText(x Measurement) string {
	size := fmt.Sprintf("%.0f L", x.Bucket)
	if m.boat().Rules.US() {
		size += fmt.Sprintf(" (%.2f gal)", x.Bucket/litresPerGallon)
	}
	return fmt.Sprintf("a bucket of %s fills in %.0f s, good %.0f to %.0f s", size, 60*x.Bucket/x.Predicted, math.Ceil(60*x.Bucket/x.High), math.Floor(60*x.Bucket/x.Low))
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
		if at := r.Where.String(); at != x.At && (r.Where.Part.ID != x.At || x.Quantity == "volts") {
			continue
		}
		var v float64
		switch {
		case x.Quantity == "volts" && r.Volts.Given():
			v = float64(r.Volts.V)
			if x.Unit == "mV" {
				v *= 1000
			}
		case x.Quantity == "current" && r.Current.Given():
			v = math.Abs(float64(r.Current.V))
		case x.Quantity == "flow" && r.Flow.Given():
			v = float64(r.Flow.V)
		case x.Quantity == "rise" && r.Rise.Given():
			v = float64(r.Rise.V)
		default:
			continue
		}
		out = fmt.Sprintf("%.*f %s", digits(v, x.Unit), v, x.Unit)
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

func figureText(x float64) string { return fmt.Sprintf("%.*f", digits(x, ""), x) }

// digits are those behind the point that a usual meter shows.
func digits(x float64, in string) int {
	x = math.Abs(x)
	small := in == "mV" || in == "mm"
	switch {
	case x >= 100, small && x >= 10:
		return 0
	case small:
		return 1
	case x >= 1:
		return 2
	}
	return 3
}

const bandDash = " to "

// bandText is what is good, rounded inward: what is printed as good passes the
// check.
func bandText(x Measurement) string {
	n := digits(x.Predicted, x.Unit)
	p := math.Pow10(n)
	low := fmt.Sprintf("%.*f", n, math.Ceil(x.Low*p)/p)
	if math.IsInf(x.High, 1) {
		return low + " or more"
	}
	return low + bandDash + fmt.Sprintf("%.*f", n, math.Floor(x.High*p)/p)
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
