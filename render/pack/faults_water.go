package pack

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/validate/trace"
)

// waterFaults are the pages "no water, trips" of every user of water: those of
// the sea, then taps and showers.
func (m *maker) waterFaults() []block {
	var out []block
	for _, p := range m.Survey.SeaUsers() {
		if p.Prepared {
			continue
		}
		out = append(out, m.seaFault(p))
	}
	for _, p := range m.fitted() {
		if e, ok := m.tapFault(p); ok {
			out = append(out, e)
		}
	}
	if len(out) > 0 {
		out = append([]block{heading("No water")}, out...)
	}
	return out
}

// line is what lies on the way of water to a user.
type line struct {
	parts              []*schema.Part // from the sea to the user
	valve, strainer    *schema.Part
	pump, bleed, inlet *schema.Part
	hoses              []*schema.Hose
}

// intake is the shortest way from an intake to a user, and out of it to an outlet.
func (m *maker) intake(p *schema.Part) (in line, out []*schema.Part) {
	for _, w := range m.Survey.Ways(p) {
		if !w.Water {
			continue
		}
		if w.To.Word("service").V != "intake" {
			out = append(out, w.To)
			continue
		}
		if in.inlet != nil {
			continue
		}
		in.inlet = w.To
		for i := len(w.Steps) - 1; i >= 0; i-- {
			st := w.Steps[i]
			if st.Hose != nil {
				in.hoses = append(in.hoses, st.Hose)
				continue
			}
			in.take(st.Part)
		}
	}
	return in, out
}

func (l *line) take(p *schema.Part) {
	l.parts = append(l.parts, p)
	switch r := p.Roles(); {
	case r.Any(schema.Seacock|schema.Shutoff) && l.valve == nil:
		l.valve = p
	case r.Any(schema.Strainer) && l.strainer == nil:
		l.strainer = p
	case r.Any(schema.Bleeding):
		l.bleed = p
	case r.Any(schema.Mover):
		l.pump = p
	}
}

// seaFault is the page of a user of sea water, in the safe order.
func (m *maker) seaFault(p *schema.Part) entry {
	in, outlets := m.intake(p)
	word := "no water from the outlet, trips on pressure or runs hot"
	e := entry{id: "water-" + p.ID, title: name(p) + ": no water, or it trips", find: "no water overheats high pressure trips strainer bleed air lock " + p.Kind.Title}
	if in.inlet == nil {
		e.blocks = []block{para("The file shows no intake that reaches " + name(p) + ".")}
		return e
	}
	e.blocks = []block{para("Symptom: " + word + ". In this order, so that no opened strainer or hose lets the sea in:"), steps(m.strainerSteps(p, in, outlets)), m.lookTable(m.waterLooks(p, in, outlets))}
	return e
}

// strainerSteps is the order in which a strainer is cleaned and a line bled: the
// valve is shut before anything is opened.
func (m *maker) strainerSteps(p *schema.Part, in line, outlets []*schema.Part) []string {
	s := []string{m.stopStep(p, in)}
	switch {
	case in.strainer == nil && in.valve != nil:
		s = append(s, "See that "+at(in.valve)+" is open.")
	case in.strainer == nil:
	case in.valve != nil:
		s = append(s, "Close "+at(in.valve)+". No valve shut, no strainer opened.")
	default:
		s = append(s, "There is no valve on this intake: do not open the strainer afloat unless its lid lies above the water and you hold a plug.")
	}
	if in.strainer != nil {
		s = append(s, "Open "+at(in.strainer)+lidText(in.strainer)+"; clean basket and seal.", "Fill the strainer with water, close its lid.")
		if in.valve != nil {
			s = append(s, "Open "+in.valve.ID+". Look at the lid: dry?")
		}
	}
	s = append(s, m.bleedStep(in))
	last := "Start again"
	if len(outlets) > 0 {
		last += " and look for the stream at " + at(outlets[0]) + sideText(outlets[0])
	}
	return append(s, last+". No stream within a minute: stop"+dryText(p, in.pump)+".")
}

// stopStep says what is stopped first, and by what: the user with its pump, or
// the pump alone where the user is a tap.
func (m *maker) stopStep(p *schema.Part, in line) string {
	what, by := name(p), m.cutOff(p)
	switch {
	case in.pump != nil && tapLike(p):
		what, by = at(in.pump), m.cutOff(in.pump)
	case in.pump != nil:
		what, by = name(p)+" and its pump "+at(in.pump), m.cutOff(in.pump)
	case tapLike(p):
		return "Close " + name(p) + "."
	}
	if by == "" || by == "nothing named" {
		return "Stop " + what + "."
	}
	return "Stop " + what + ": " + by + "."
}

// dryText says what a pump suffers when it turns without water.
func dryText(list ...*schema.Part) string {
	for _, p := range list {
		if p == nil {
			continue
		}
		for _, c := range p.Channels() {
			switch {
			case c.Pump == nil:
			case c.Pump.Design == "impeller":
				return ", an impeller burns when dry"
			case c.Pump.Design == "diaphragm":
				return " and look for air on its suction side"
			}
		}
	}
	return ": pumps run hot when dry"
}

func lidText(p *schema.Part) string {
	h := p.Height()
	if h.Given() && h.V < 0 {
		return ": it lies below the water, water runs in if the valve does not hold"
	}
	return ""
}

func (m *maker) bleedStep(in line) string {
	if in.bleed != nil {
		return "Open the bleed " + at(in.bleed) + " until water runs without bubbles; close it."
	}
	if in.pump != nil {
		for _, h := range m.hoses() {
			if h.From.Part == in.pump {
				return "Loosen hose " + h.ID + " at the outlet of " + at(in.pump) + " until water runs without bubbles; tighten both clamps."
			}
		}
	}
	return "Loosen the highest hose of the line until water runs without bubbles; tighten both clamps."
}

// waterLooks follow when the strainer was not it.
func (m *maker) waterLooks(p *schema.Part, in line, outlets []*schema.Part) []look {
	out := []look{{"Intake " + name(in.inlet) + " from outside: weed, bag, growth", place(in.inlet) + sideText(in.inlet), "free", "Rod it or blow it back from " + orPart(in.valve, "the hose") + "."}}
	if in.pump != nil {
		v, a, c := m.goodAt(in.pump)
		good := strings.Trim(v+", "+a, ", ")
		if good != "" {
			out = append(out, look{"Pump " + name(in.pump) + ": volts and current", place(in.pump), good + " " + c, "No volts: " + m.cutOff(in.pump) + ", then its fault page. Much less current: it turns in air. Much more: jammed."})
		}
	}
	out = append(out, look{"Flow by bucket and watch at the outlet", outletPlace(outlets), m.flowGood(p), "Less: hose kinked or furred, pump worn, strainer half blocked."})
	if r := m.riseGood(p); r != "" {
		out = append(out, look{"Temperature of the water in and out", place(p), r, "More: too little water. Right flow and still hot: scale in the exchanger."})
	}
	return out
}

func orWord(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}

func orPart(p *schema.Part, other string) string {
	if p == nil {
		return other
	}
	return p.ID
}

func outletPlace(list []*schema.Part) string {
	if len(list) == 0 {
		return "at the outlet"
	}
	return name(list[0]) + sideText(list[0])
}

// flowGood is the flow through a part in each condition that moves its water.
func (m *maker) flowGood(p *schema.Part) string {
	var out []string
	for _, c := range m.boat().Conditions {
		w := m.Survey.Water(c)
		f, ok := w.Equipment(p)
		if !ok || len(w.Missing(p)) > 0 || f.Flow == 0 || f.OffCurve {
			continue
		}
		text := litresPerMin(f.Flow) + " " + conditionName(c)
		if f.HasNeeds {
			text += fmt.Sprintf(" (needs %s)", litresPerMin(f.Needs))
		}
		out = append(out, text)
	}
	if len(out) == 0 {
		return "not computed"
	}
	return strings.Join(slices.Compact(out), "; ")
}

// riseGood is the rise in temperature through a part, where its heat is known.
func (m *maker) riseGood(p *schema.Part) string {
	var out []string
	for _, c := range m.boat().Conditions {
		w := m.Survey.Water(c)
		if f, ok := w.Equipment(p); ok && f.HasHeat && f.Flow > 0 && len(w.Missing(p)) == 0 {
			out = append(out, fmt.Sprintf("%.1f K warmer %s", float64(f.Rise), conditionName(c)))
		}
	}
	return strings.Join(slices.Compact(out), "; ")
}

// tapLike reports what a person draws water at.
func tapLike(p *schema.Part) bool {
	return slices.Contains([]string{"tap", "mixer", "shower", "washdown"}, p.Kind.Name)
}

// tapSource is the pump and the tank behind a tap, and the taps of its line.
func (m *maker) tapSource(p *schema.Part) (pump, tank *schema.Part, others []*schema.Part) {
	sea := m.Survey.Sea()
	for _, st := range sea.Walk(sea.NodesOf(p), trace.Walk{}).Steps {
		if st.Way >= 0 {
			if q := sea.Ways[st.Way].Part; q != nil && q.Is(schema.Mover) && pump == nil && feedsTaps(q) {
				pump = q
			}
		}
		q := sea.Nodes[st.Node].Part
		if q == nil {
			continue
		}
		if q.Is(schema.Holding) && q.Kind.Attr("contents") != nil && tank == nil && q.Kind.Name != "accumulator" && q.Word("contents").Or("fresh") == "fresh" {
			tank = q
		}
		if q != p && tapLike(q) && !slices.Contains(others, q) {
			others = append(others, q)
		}
	}
	return pump, tank, others
}

// feedsTaps reports whether a pump brings water to taps: not what empties the
// tray below them.
func feedsTaps(p *schema.Part) bool {
	return p.Kind.Attr("duty") != nil && !slices.Contains([]string{"sump", "waste", "bilge"}, p.Word("duty").V)
}

// tapFault is the page of a tap, shower or mixer: pump and tank by the graph. One
// that draws from the sea has its valve and strainer besides, in the safe order.
func (m *maker) tapFault(p *schema.Part) (entry, bool) {
	if !tapLike(p) {
		return entry{}, false
	}
	pump, tank, others := m.tapSource(p)
	in, _ := m.intake(p)
	if pump == nil && tank == nil && in.inlet == nil {
		return entry{}, false
	}
	e := entry{id: "water-" + p.ID, title: name(p) + ": no water", find: "no water tap pressure pump tank"}
	var list []look
	if tank != nil {
		list = append(list, look{"Water in " + name(tank), place(tank), "above its outlet", "Empty: fill it, then bleed each tap, the farthest first."})
	}
	if in.valve != nil {
		list = append(list, look{"Valve " + name(in.valve), place(in.valve), "open", "Shut: open it, look at the hose, try again."})
	}
	if pump != nil {
		v, a, c := m.goodAt(pump)
		on := "an empty tank, or a leak."
		if in.inlet != nil {
			on = "a blocked intake or strainer, or a leak."
		}
		list = append(list, look{"Does " + name(pump) + " run?", place(pump), strings.TrimSpace(strings.Trim(v+", "+a, ", ") + " " + c), "Silent: " + m.cutOff(pump) + ", then its fault page. Runs on and on: air, " + on})
	}
	list = append(list, look{"Strainer of the tap's nozzle", place(p), "clean", "Unscrew, rinse."})
	if len(others) > 0 {
		list = append(list, look{"Another tap of the same line: " + others[0].ID, place(others[0]), "runs", "It runs: the fault is in the branch to " + p.ID + "."})
	}
	e.blocks = []block{m.lookTable(list)}
	if in.inlet != nil {
		e.find += " sea water strainer bleed air lock intake"
		e.blocks = append(e.blocks, para("Still none: "+orWord(in.strainer != nil, "strainer and air", "air")+", in this order, so that no opened "+orWord(in.strainer != nil, "strainer or hose", "hose")+" lets the sea in:"),
			steps(m.strainerSteps(p, in, []*schema.Part{p})),
			m.lookTable([]look{{"Intake " + name(in.inlet) + " from outside: weed, bag, growth", place(in.inlet) + sideText(in.inlet), "free", "Rod it or blow it back from " + orPart(in.valve, "the hose") + "."}}))
	}
	return e, true
}
