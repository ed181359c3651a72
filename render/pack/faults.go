package pack

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// look is one line of a fault page: what to look at, where it sits, what is good,
// and where to go from there.
type look struct{ at, where, good, next string }

// faults is the guide, made from the graph: what lies between the dead thing and
// its source, in the order that is quickest.
func (m *maker) faults() []section {
	s := section{id: "faults", title: "Fault guide", document: "From symptom to cause",
		caution: "Readings are computed for this boat at full draw, between the point and the minus of the battery unless the line says otherwise. Mains voltage is for a licensed person."}
	s.blocks = []block{
		para("Start with the symptom. Go down the lines: they stand in the order that is quickest. Full volts ahead of a thing and none behind it: that thing is the fault. A fuse that opened had a reason: find it before the next fuse goes in, and never fit a larger one."),
		m.atAGlance(),
	}
	s.blocks = append(s.blocks, m.waterFaults()...)
	s.blocks = append(s.blocks, m.bilgeFaults()...)
	s.blocks = append(s.blocks, m.chargeFaults()...)
	s.blocks = append(s.blocks, m.shoreFaults()...)
	s.blocks = append(s.blocks, m.batteryFlat())
	if m.poweredBilge() {
		s.blocks = append(s.blocks, m.pumpCycles())
	}
	s.blocks = append(s.blocks, m.loadFaults()...)
	return []section{s}
}

// loads are the parts that take direct current.
func (m *maker) loads() []*schema.Part {
	var out []*schema.Part
	for _, p := range m.fitted() {
		for _, br := range p.Branches() {
			if br.Type == schema.Draw && br.Medium == schema.DC || br.Type == schema.Convert {
				out = append(out, p)
				break
			}
		}
	}
	return out
}

// feedWay is the shortest way from a load to a battery, and the way back: to the
// same battery where there is one.
func (m *maker) feedWay(p *schema.Part) (feed, back *survey.Way) {
	ways := m.Survey.Ways(p)
	for i := range ways {
		if w := &ways[i]; !w.Water && !w.Return && w.To.Is(schema.Storage) && (feed == nil || len(w.Steps) < len(feed.Steps)) {
			feed = w
		}
	}
	own := func(w *survey.Way) bool { return feed != nil && w.To == feed.To }
	for i := range ways {
		w := &ways[i]
		switch {
		case w.Water || !w.Return || !w.To.Is(schema.Storage):
		case back == nil, own(w) && !own(back), own(w) == own(back) && len(w.Steps) < len(back.Steps):
			back = w
		}
	}
	return feed, back
}

// chargesFrom reports whether a part takes current to charge a battery with: its
// page is among those of what does not charge.
func chargesFrom(p *schema.Part) bool {
	return p.Is(schema.Charging) && !p.Is(schema.Inverting)
}

// atAGlance is every load with the way to it on one line.
func (m *maker) atAGlance() block {
	var lines [][]string
	for _, p := range m.loads() {
		feed, _ := m.feedWay(p)
		if feed == nil || chargesFrom(p) {
			continue
		}
		var on []string
		for _, st := range feed.Steps {
			if st.Opens {
				on = append(on, m.stepName(st)+" ("+place(st.Part)+")")
			}
		}
		on = append(on, at(feed.To))
		v, a, c := m.goodAt(p)
		good := "not computed"
		if v != "" {
			good = strings.Trim(v+", "+a, ", ") + ", " + c
		}
		lines = append(lines, []string{name(p), strings.Join(on, " → "), good})
	}
	return table([]sheet.Column{{Head: "Dead or weak", Grow: 1}, {Head: "Look at, in this order", Grow: 2}, {Head: "Good at its terminals", Grow: 1}}, lines)
}

// stepName is "F1 225 A class-t" or "DP.3 VHF radio 10 A".
func (m *maker) stepName(st survey.WayStep) string {
	if st.Way != "" {
		w, _ := st.Part.Way(st.Way)
		out := st.ID
		if w.Title.Given() {
			out += " " + w.Title.V
		}
		if w.Rating.Given() {
			out += " " + w.Rating.V.RatingText()
		}
		return out
	}
	return strings.TrimSpace(name(st.Part) + " " + rating(st.Part))
}

// runsIn lists the conditions in which a load runs, at most three; the built-in
// one where the file has none.
func (m *maker) runsIn(p *schema.Part) []*schema.Condition {
	var out []*schema.Condition
	for _, c := range m.Survey.Conditions() {
		if !c.BuiltIn && m.Survey.Runs(c, p) && len(out) < 3 {
			if d := m.Survey.DC(c); d.Solved() {
				out = append(out, c)
			}
		}
	}
	if len(out) > 0 {
		return out
	}
	for _, c := range m.Survey.Conditions() {
		if c.BuiltIn && m.Survey.DCWithoutCranking(c).Solved() {
			return []*schema.Condition{c}
		}
	}
	return nil
}

// stateOf is the state a load is judged in: a starter while it cranks, all else
// while nothing does.
func (m *maker) stateOf(p *schema.Part, c *schema.Condition) *survey.DCState {
	if p.Is(schema.Cranking) {
		return m.Survey.DC(c)
	}
	return m.state(c)
}

// named is the condition as it is spoken of at a load.
func named(p *schema.Part, c *schema.Condition) string {
	if p.Is(schema.Cranking) {
		return "cranking"
	}
	return conditionName(c)
}

func (m *maker) state(c *schema.Condition) *survey.DCState {
	if c.BuiltIn {
		return m.Survey.DCWithoutCranking(c)
	}
	return m.Survey.DC(c)
}

// goodAt is what a meter shows at a load and through it in the first condition
// it runs in.
func (m *maker) goodAt(p *schema.Part) (v, a, condition string) {
	for _, c := range m.runsIn(p) {
		d := m.stateOf(p, c)
		if across, ok := d.Across(p); ok {
			v = volts(across)
		}
		for _, l := range d.Loads {
			if l.Part == p && l.Runs {
				if i, ok := d.LoadAmps(l); ok {
					a = amps(i)
				}
			}
		}
		if v != "" && across0(v) {
			return v, a, named(p, c)
		}
	}
	return "", "", ""
}

func across0(v string) bool { return v != "0.00 V" }

// goodVolts is the reading at a step of a way in each condition the load runs in,
// against the minus post of the battery b.
func (m *maker) goodVolts(p, b *schema.Part, st survey.WayStep) string {
	var out []string
	for _, c := range m.runsIn(p) {
		d := m.stateOf(p, c)
		v, ok := stepVolts(d, st)
		if !ok {
			continue
		}
		out = append(out, volts(v-minusOf(d, b))+" "+named(p, c))
	}
	return strings.Join(slices.Compact(out), "; ")
}

// minusOf is the voltage of a battery's minus post against the reference, which
// lies behind a shunt and some wire. The upper batteries of a row in series have
// none of the boat's: there the reference itself is measured against.
func minusOf(d *survey.DCState, b *schema.Part) unit.Volt {
	const mostInReturn = 2 // a return that loses more is a finding of its own
	v, ok := d.Volts(b, "-")
	if !ok || math.Abs(float64(v)) > mostInReturn {
		return 0
	}
	return v
}

// stepVolts is the voltage behind a step: at the terminal nearest the load.
func stepVolts(d *survey.DCState, st survey.WayStep) (unit.Volt, bool) {
	if st.Way != "" {
		return d.Volts(st.Part, st.Way)
	}
	best, found := unit.Volt(math.Inf(1)), false
	for _, t := range st.Part.Terminals() {
		if t.Medium == schema.Water || t.Hidden || t.Polarity == schema.Signal || t.Way != "" {
			continue
		}
		if v, ok := d.Volts(st.Part, t.Name); ok && v < best {
			best, found = v, true
		}
	}
	return best, found
}

// loadFaults are the pages "dead" and "weak" of every load.
func (m *maker) loadFaults() []block {
	out := []block{heading("Each load: dead or weak")}
	for _, p := range m.loads() {
		if p.Is(schema.Bilge) || p.Is(schema.SeaUser) && p.Is(schema.Engine) {
			continue // has a page of its own above
		}
		if chargesFrom(p) {
			continue
		}
		feed, back := m.feedWay(p)
		if feed == nil {
			continue
		}
		e := entry{id: "fault-" + p.ID, title: name(p) + ": dead or weak", find: "no power dead weak dim slow does not work " + p.Kind.Title + " " + place(p)}
		e.blocks = []block{m.lookTable(m.loadLooks(p, feed, back)), para(m.partLine(p))}
		e.screen = !m.printed(p)
		out = append(out, e)
	}
	return out
}

// printed reports whether a load's page is worth paper: what safety or the boat's
// main work hangs on. All are on the screen.
func (m *maker) printed(p *schema.Part) bool {
	return p.Flag("essential").V || p.Roles().Any(schema.AlarmRole|schema.SeaUser|schema.Mover|schema.Cranking) || p.Kind.Name == "electronics" || len(m.loads()) <= 12
}

// partLine says where the thing itself is.
func (m *maker) partLine(p *schema.Part) string {
	return name(p) + " stands in " + place(p) + sideText(p) + "; its space sheet is " + m.page(spaceID(p.Space)) + "."
}

// loadLooks are the lines for a load that is dead or weak.
func (m *maker) loadLooks(p *schema.Part, feed, back *survey.Way) []look {
	var out []look
	if n, via := m.neighbour(p, feed); n != nil {
		out = append(out, look{"Does " + name(n) + " work? Both are fed from " + via.ID, place(n), "it works", "Works: the fault lies between " + via.ID + " and " + p.ID + ". Dead too: begin at " + via.ID + "."})
	}
	for _, st := range feed.Steps {
		if st.Part == nil {
			continue
		}
		if l, ok := m.stepLook(p, feed.To, st); ok {
			out = append(out, l)
		}
	}
	out = append(out, m.batteryLook(p, feed.To))
	out = append(out, m.terminalLooks(p, feed, back)...)
	return out
}

// neighbour is another load behind the same panel or bus.
func (m *maker) neighbour(p *schema.Part, feed *survey.Way) (load, via *schema.Part) {
	for _, st := range feed.Steps {
		if st.Part == nil || !st.Part.Is(schema.Distribution) && !st.Part.Is(schema.Panel) {
			continue
		}
		for _, q := range m.loads() {
			if q == p {
				continue
			}
			other, _ := m.feedWay(q)
			if other == nil {
				continue
			}
			for _, o := range other.Steps {
				if o.Part == st.Part && o.ID != st.ID || o.Part == st.Part && st.Way == "" {
					return q, st.Part
				}
			}
		}
	}
	return nil, nil
}

// stepLook is the line of one thing on the way.
func (m *maker) stepLook(p, b *schema.Part, st survey.WayStep) (look, bool) {
	good := m.goodVolts(p, b, st)
	if good == "" {
		good = "volts of the battery"
	}
	l := look{at: m.stepName(st), where: place(st.Part), good: good}
	r := st.Part.Roles()
	switch {
	case r.Any(schema.Sensing):
		l.at, l.good = "Lift or bridge "+l.at, "it switches"
		l.next = "Runs when bridged: " + st.ID + " is the fault."
	case st.Opens && (r.Any(schema.Switching) && !r.Any(schema.Protection)):
		l.next = "Usually " + onOff(st.Part) + ". Volts ahead of it and none behind: " + st.ID + " is the fault."
	case st.Opens && st.Way != "":
		l.next = "Tripped or blown: part the load first; does it open again? Then the wire. Volts on the bar and none on the way: its contacts."
	case st.Opens:
		l.next = "Blown: find the short behind it before a new one of the same kind goes in."
	case r.Any(schema.Distribution):
		l.next = "Full here: the fault lies nearer the load. Low here: go on."
	default:
		return look{}, false
	}
	return l, true
}

func (m *maker) batteryLook(p, b *schema.Part) look {
	var out []string
	for _, c := range m.runsIn(p) {
		if v, ok := m.stateOf(p, c).Across(b); ok {
			out = append(out, volts(v)+" "+named(p, c))
		}
	}
	return look{"Battery " + name(b) + ", between its posts", place(b), strings.Join(slices.Compact(out), "; "), "Low: charge it; see \"Battery flat\"."}
}

// terminalLooks measure at the load itself: volts, amperes, the return.
func (m *maker) terminalLooks(p *schema.Part, feed, back *survey.Way) []look {
	var out []look
	v, a, c := m.goodAt(p)
	if v != "" {
		next := "Good volts and dead: the thing itself is the fault."
		if lv := leastVolts(p); lv != "" {
			next += " Below " + lv + " it need not work."
		}
		out = append(out, look{"Volts at its own terminals, " + p.ID + ".+ to " + p.ID + ".−, while it is on", place(p), v + " " + c, next})
	}
	if a != "" {
		out = append(out, look{"Current with a clamp meter", place(p), a + " " + c, "Much more: jammed or shorted. Much less with good volts: a joint inside, worn out."})
	}
	if back != nil {
		out = append(out, look{"Return, wires " + m.wayWires(back), place(p), m.returnGood(p, feed.To), "More than that between " + p.ID + ".− and the battery's minus: a bad joint in the return."})
	}
	if len(feed.Steps) > 0 {
		out = append(out, look{"Wires of the feed, from it back: " + m.wayWires(feed), "see the wire list, " + m.page("wires"), "no more than the drop above", "Good ahead and bad behind a wire: its lugs, then the wire."})
	}
	return out
}

func leastVolts(p *schema.Part) string {
	if p.Kind.Attr("least-volts") == nil {
		return ""
	}
	if v := p.Volts("least-volts"); v.Given() {
		return v.V.String()
	}
	return ""
}

func (m *maker) wayWires(w *survey.Way) string {
	var out []string
	for _, st := range w.Steps {
		if st.Wire != nil && !st.Wire.Implied {
			out = append(out, st.Wire.Ref())
		} else if st.Part != nil && len(out) > 0 && st.Part.Is(schema.Distribution) {
			out = append(out, st.ID)
		}
	}
	return strings.Join(out, " → ")
}

func (m *maker) returnGood(p, b *schema.Part) string {
	for _, c := range m.runsIn(p) {
		d := m.stateOf(p, c)
		for _, t := range p.Terminals() {
			if t.Polarity != schema.Minus || t.Medium != schema.DC {
				continue
			}
			if v, ok := d.Volts(p, t.Name); ok {
				return fmt.Sprintf("at most %.2f V %s", math.Abs(float64(v-minusOf(d, b))), named(p, c))
			}
		}
	}
	return "a few hundredths of a volt"
}

// lookTable numbers the lines.
func (m *maker) lookTable(list []look) block {
	var lines [][]string
	for i, l := range list {
		lines = append(lines, []string{fmt.Sprint(i + 1), l.at, l.where, l.good, l.next})
	}
	return table([]sheet.Column{num("No."), {Head: "Look at", Grow: 2}, {Head: "Where", Grow: 1}, {Head: "Good", Grow: 1}, {Head: "If not", Grow: 2}}, lines)
}
