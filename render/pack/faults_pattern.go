package pack

import (
	"fmt"
	"slices"
	"strings"

	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// bilgeFaults: float by hand, manual switch, fuse, volts, impeller.
func (m *maker) bilgeFaults() []block {
	var out []block
	for _, p := range m.fitted() {
		if !p.Is(schema.Bilge) || p.Kind.Attr("drive") == nil || p.Word("drive").Or("dc") != "dc" {
			continue
		}
		out = append(out, m.bilgeFault(p))
	}
	if len(out) > 0 {
		out = append([]block{heading("Bilge pump silent")}, out...)
	}
	return out
}

func (m *maker) bilgeFault(p *schema.Part) entry {
	e := entry{id: "fault-" + p.ID, title: name(p) + ": silent, or runs and moves no water", find: "bilge pump dead does not run float switch water in the bilge flooding"}
	feed, back := m.feedWay(p)
	var list []look
	if feed == nil {
		e.blocks = []block{para("The file shows no battery that feeds " + name(p) + ".")}
		return e
	}
	var floats, hands, rest []survey.WayStep
	for _, st := range m.allSteps(p) {
		switch {
		case st.Part == nil:
		case st.Part.Is(schema.Sensing):
			floats = append(floats, st)
		case st.Part.Roles().Any(schema.Switching) && !st.Part.Is(schema.Protection) && !m.high(st.Part):
			hands = append(hands, st)
		default:
			rest = append(rest, st)
		}
	}
	for _, st := range floats {
		list = append(list, look{"Lift the float " + name(st.Part) + " by hand", place(st.Part), "the pump runs", "Runs: free the float of dirt, hang it anew. Silent: go on."})
	}
	for _, st := range hands {
		list = append(list, look{"Switch " + name(st.Part) + " to on", place(st.Part), "the pump runs", "Runs: the float or its wire is the fault. Silent: go on."})
	}
	live := m.withSwitchesOff()
	for _, st := range rest {
		l, ok := m.stepLook(p, feed.To, st)
		if !ok {
			continue
		}
		if live.always(st.Part) && st.Opens {
			l.next = "Stays live with the battery switch off. " + l.next
		}
		list = append(list, l)
	}
	list = append(list, m.batteryLook(p, feed.To))
	list = append(list, m.terminalLooks(p, feed, back)...)
	list = append(list, look{"Impeller and strainer of the pump", place(p), "turns free", "Fuse or breaker out first. Clear it."})
	list = append(list, look{"Runs and moves no water: outlet and hose", place(p), m.goodFlow(p), "Kinked, frozen, check valve stuck, sucking air."})
	e.blocks = []block{para("Until it runs, pump by hand" + m.handPump() + "."), m.lookTable(list)}
	return e
}

// allSteps are the steps of all ways from a part to batteries, each once.
func (m *maker) allSteps(p *schema.Part) []survey.WayStep {
	feed, _ := m.feedWay(p)
	if feed == nil {
		return nil
	}
	out := slices.Clone(feed.Steps)
	have := func(q *schema.Part) bool {
		return slices.ContainsFunc(out, func(s survey.WayStep) bool { return s.Part == q })
	}
	// What a person or a float closes beside the shortest way feeds it too.
	for _, q := range m.fitted() {
		if have(q) || !q.Roles().Any(schema.Switching|schema.Sensing) || m.high(q) {
			continue
		}
		for _, t := range []string{"in", "out"} {
			a := m.Survey.Net.Node(q, t)
			b := m.Survey.Net.Node(p, "+")
			if a >= 0 && a == b || m.joined(a, b) {
				out = append(out, survey.WayStep{ID: q.ID, Part: q, Opens: true})
				break
			}
		}
	}
	return out
}

// joined reports whether one conductor joins two joints.
func (m *maker) joined(a, b int) bool {
	if a < 0 || b < 0 {
		return false
	}
	for _, id := range m.Survey.Net.Nodes[a].Edges {
		e := &m.Survey.Net.Edges[id]
		if e.Wire != nil && e.Other(a) == b {
			return true
		}
	}
	return false
}

func (m *maker) handPump() string {
	for _, p := range m.fitted() {
		if p.Is(schema.Bilge) && p.Kind.Attr("drive") != nil && p.Word("drive").V == "hand" {
			return ": " + at(p) + ", " + m.goodFlow(p)
		}
	}
	return " or bucket; the file names no hand pump"
}

// chargeFaults: both fuses of a charge run on one line.
func (m *maker) chargeFaults() []block {
	var out []block
	for _, p := range m.fitted() {
		if !p.Is(schema.Charging) {
			continue
		}
		if e, ok := m.chargeFault(p); ok {
			out = append(out, e)
		}
	}
	if len(out) > 0 {
		out = append([]block{heading("Does not charge")}, out...)
	}
	return out
}

func (m *maker) chargeFault(p *schema.Part) (entry, bool) {
	way := m.chargeWay(p)
	if way == nil {
		return entry{}, false
	}
	var list []look
	list = append(list, m.chargeInput(p)...)
	var ids, places []string
	for _, st := range way.Steps {
		if st.Opens && st.Part.Roles().Any(schema.Protection|schema.Panel) {
			ids = append(ids, m.stepName(st))
			places = append(places, place(st.Part))
		}
	}
	good, cond := m.chargeVolts(p, way.To)
	switch len(ids) {
	case 0:
		list = append(list, look{"No fuse of its own between " + p.ID + " and " + way.To.ID, "", "", "See the findings, " + m.page("findings") + "."})
	case 1:
		list = append(list, look{"The fuse of the charge run: " + ids[0], places[0], "both sides alike", "Blown: find the short first."})
	default:
		list = append(list, look{"All fuses of the charge run, charger end first: " + strings.Join(ids, " and "), strings.Join(places, "; "), "both sides alike, at each", "One good and one blown fools many: measure each. Blown: find the short first."})
	}
	for _, st := range way.Steps {
		if st.Part != nil && st.Opens && st.Part.Roles().Any(schema.Switching) && !st.Part.Is(schema.Protection) {
			list = append(list, look{"Switch " + name(st.Part), place(st.Part), onOff(st.Part), "An open switch between charger and battery stops the charge."})
		}
	}
	list = append(list, look{"Volts at the posts of " + name(way.To) + " while it charges", place(way.To), good + " " + cond, "As at rest: nothing arrives. Near the charger's setting" + setting2(p) + " and little current: it is full."})
	list = append(list, look{"Temperature sensor and lead of the charger", place(p), "plugged in", "Hot or missing: many chargers hold back."})
	return entry{id: "charge-" + p.ID, title: name(p) + ": idle, battery does not fill", find: "charger charge battery low alternator solar idle both fuses " + p.Kind.Title, blocks: []block{m.lookTable(list)}}, true
}

// chargeWay is the shortest way from a charging source to a battery, nil for
// anything else.
func (m *maker) chargeWay(p *schema.Part) *survey.Way {
	if !p.Is(schema.Charging) {
		return nil
	}
	var way *survey.Way
	ways := m.Survey.Ways(p)
	for i := range ways {
		w := &ways[i]
		if !w.Water && !w.Return && w.To.Is(schema.Storage) && m.gives(p, w.Terminal) && (way == nil || len(w.Steps) < len(way.Steps)) {
			way = w
		}
	}
	return way
}

// gives reports whether a terminal is one that a charging source gives from.
func (m *maker) gives(p *schema.Part, terminal string) bool {
	for _, br := range p.Branches() {
		if br.Type == schema.Feed && br.A == terminal || br.Type == schema.Convert && br.Convert.OutA == terminal {
			return true
		}
	}
	return false
}

func setting2(p *schema.Part) string {
	if p.Kind.Attr("volts") == nil {
		return ""
	}
	if v := p.Volts("volts"); v.Given() {
		return " (" + v.V.String() + ")"
	}
	return ""
}

// chargeInput is what the source itself needs.
func (m *maker) chargeInput(p *schema.Part) []look {
	for _, br := range p.Branches() {
		switch {
		case br.Type == schema.Convert:
			return []look{{"Input volts of " + name(p) + " and its signal lamp", place(p), "volts of the battery that feeds it", "None: its input fuse " + m.cutOff(p) + "."}}
		case br.Type != schema.Feed || br.Feed == nil:
		case br.Feed.Needs == "engine":
			return []look{{"Belt and charge lamp of " + name(p), place(p), "tight; lamp goes out above idle", "Slipping: tighten. Lamp on: field or regulator."}}
		case br.Feed.Needs == "sun":
			return []look{{"Light on the panel " + name(p), place(p), "no shade of mast or boom", "Shade on one cell stops most of it."}}
		case br.Feed.Needs == "shore":
			by := m.cutOffAC(p)
			return []look{{"AC breaker " + by, "", "on", "Trips again: leave it to a licensed person."}, {"AC lamp of " + name(p), place(p), "on", "Dark with the breaker on: plug, pedestal, then a licensed person."}}
		}
	}
	return nil
}

func (m *maker) cutOffAC(p *schema.Part) string {
	for _, w := range m.Survey.Ways(p) {
		if w.Water || w.Return || !w.To.Is(schema.ShorePower) {
			continue
		}
		for _, st := range w.Steps {
			if st.Opens {
				return m.stepName(st) + " (" + place(st.Part) + ")"
			}
		}
	}
	return "not named in the file"
}

// chargeVolts is what stands at a battery while the source works.
func (m *maker) chargeVolts(p, b *schema.Part) (good, condition string) {
	for _, c := range m.Survey.Conditions() {
		d := m.state(c)
		if !d.Solved() {
			continue
		}
		for _, s := range d.Sources {
			if s.Part != p {
				continue
			}
			if v, ok := d.Across(b); ok {
				return volts(v), conditionName(c)
			}
		}
	}
	return "above its volts at rest", ""
}

// shoreFaults: breaker trips, and the residual trip with the inverter.
func (m *maker) shoreFaults() []block {
	var inlet, main *schema.Part
	inverter := false
	for _, p := range m.fitted() {
		switch {
		case p.Is(schema.ShorePower) && inlet == nil:
			inlet = p
		case p.Is(schema.Residual) && main == nil:
			main = p
		}
		inverter = inverter || p.Is(schema.Inverting)
	}
	if inlet == nil && !inverter {
		return nil
	}
	out := []block{heading("Shore power and inverter")}
	if inlet != nil {
		e := entry{id: "fault-shore", title: "Shore breaker or pedestal trips at once", find: "shore power breaker trips residual current earth leakage pedestal plug"}
		s := []string{"Pull the plug at the quay, then at " + at(inlet) + ". Dry and look at the pins: black or green means a new plug.", "Switch all branch breakers off:" + m.acBranches()}
		if main != nil {
			s = append(s, "Plug in. Switch "+at(main)+" on. It trips: the fault is in cable, inlet or main; stop, a licensed person.")
		} else {
			s = append(s, "Plug in, main on. It trips: the fault is in cable, inlet or main; stop, a licensed person.")
		}
		s = append(s, "Branches on one by one. The one that trips has the fault: water heater elements and old cords first.", "Leave that branch off and marked. A licensed person finds and measures the rest.")
		e.blocks = []block{steps(s)}
		out = append(out, e)
	}
	if inverter {
		out = append(out, entry{id: "fault-rcd-inverter", title: "Residual-current device trips only with the inverter", find: "rcd inverter neutral earth bond trips",
			blocks: []block{para("Look at the neutral-to-earth link of the inverter: it must be made while it inverts and open on shore power. Never take the link or the device away. For a licensed person.")}})
	}
	return out
}

func (m *maker) acBranches() string {
	var out []string
	for _, d := range m.devices() {
		if d.way != "" && d.part.Is(schema.ACPart) {
			out = append(out, d.id()+" "+d.title())
		}
	}
	if len(out) == 0 {
		return " the file names none."
	}
	return " " + strings.Join(out, ", ") + "."
}

// batteryFlat: the parasitic sum, then fuses in order.
func (m *maker) batteryFlat() block {
	e := entry{id: "fault-flat", title: "Battery flat overnight", find: "battery flat dead parasitic drain leak current overnight"}
	sum, lines := m.parasitic()
	e.blocks = []block{steps{
		"Everything off, all switches as when you leave. Clamp meter, or a meter in the minus cable of the battery: " + sum + ".",
		"More than that: pull the fuses below one by one; the one that brings the current down feeds the leak.",
		"Within that and still flat: charge it full, rest it a day, measure its volts; a battery that sinks by itself is worn out.",
	}}
	if len(lines) > 0 {
		e.blocks = append(e.blocks, table([]sheet.Column{num("Order"), wide("Pull"), wide("Feeds"), wide("May take with all off")}, lines))
	}
	return e
}

// parasitic is the sum of what stays on by nature, and the devices to pull.
func (m *maker) parasitic() (string, [][]string) {
	live := m.withSwitchesOff()
	total, unknown := unit.Amp(0), 0
	var lines [][]string
	for _, d := range m.devices() {
		if !live.always(d.part) || d.part.Is(schema.ACPart) {
			continue
		}
		var takes []string
		for _, q := range m.lostAtOnce(d.part, d.way) {
			if !steady(q) || !live.always(q) {
				continue // dead with all off
			}
			if a, ok := drawOf(q); ok {
				takes = append(takes, q.ID+" "+amps(a))
			} else {
				takes = append(takes, q.ID+" draw not given")
			}
		}
		lines = append(lines, []string{"", d.id() + " " + d.rating() + " (" + place(d.part) + ")", m.feeds(d.part, d.way), strings.Join(takes, ", ")})
	}
	for _, p := range m.loads() {
		if !live.always(p) || !steady(p) {
			continue
		}
		if a, ok := drawOf(p); ok {
			total += a
		} else {
			unknown++
		}
	}
	for i := range lines {
		lines[i][0] = fmt.Sprint(i + 1)
	}
	s := fmt.Sprintf("%s is expected from what stays on", amps(total))
	if total == 0 && unknown == 0 {
		s = "less than 5 mA is expected, for nothing stays on"
	}
	if unknown > 0 {
		s += fmt.Sprintf(", and that of %s whose draw is not given", numberText(unknown, "thing", "things"))
	}
	return s, lines
}

// steady loads take current all the time while they are fed; others wait for a
// float, a thermostat, a hand.
func steady(p *schema.Part) bool {
	return p.Roles().Any(schema.AlarmRole) || p.Kind.Name == "monitor" || p.Kind.Attr("memory") != nil && p.Flag("memory").V
}

func drawOf(p *schema.Part) (unit.Amp, bool) {
	for _, br := range p.Branches() {
		if br.Type == schema.Draw && br.Load != nil {
			l := br.Load
			if l.Amps.Given() {
				return l.Amps.V * unit.Amp(max(1, l.Count)), true
			}
			if l.Watts.Given() && l.Volts.V > 0 {
				return unit.Amp(float64(l.Watts.V) / float64(l.Volts.V)), true
			}
		}
	}
	return 0, false
}

// pumpCycles: water comes in from somewhere.
func (m *maker) pumpCycles() block {
	e := entry{id: "fault-cycles", title: "Bilge pump cycles with nobody aboard", find: "bilge pump runs often cycles leak water in bilge"}
	s := []string{"Count the cycles in an hour and write it down with the date; compare next week.", "Taste it: fresh means rain or the tank; salt means the hull.", "Mark the water level, switch the pump off for ten minutes: back-flow from its own hose falls back at once and then stops."}
	var seals, valves []string
	for _, p := range m.fitted() {
		switch {
		case p.Is(schema.HullHole):
			seals = append(seals, at(p))
		case p.Is(schema.Seacock):
			valves = append(valves, p.ID+" "+titleOf(p)+" ("+place(p)+")")
		}
	}
	if len(seals) > 0 {
		s = append(s, "Look at each hole without a valve: "+strings.Join(seals, "; ")+".")
	}
	if len(valves) > 0 {
		s = append(s, "Close the valves one by one, ten minutes each; the one that stops the water has the leak behind it: "+strings.Join(valves, "; ")+".")
	}
	e.blocks = []block{steps(s)}
	return e
}
