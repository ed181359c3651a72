package pack

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// cards are pages to be followed line by line, each on a page of its own.
func (m *maker) cards() []section {
	list := []entry{m.leaving(), m.starting(), m.frost()}
	if e, ok := m.shoreCard(); ok {
		list = append(list, e)
	}
	var out []section
	for _, e := range list {
		out = append(out, section{id: "sheet-" + e.id, title: e.title, document: "Follow line by line", blocks: []block{e}})
	}
	return out
}

// unattended is the condition of the file in which nobody is aboard, or nil.
func (m *maker) unattended() *schema.Condition {
	for _, c := range m.boat().Conditions {
		if c.Unattended.V {
			return c
		}
	}
	return nil
}

// leaving goes valve by valve and breaker by breaker.
func (m *maker) leaving() entry {
	c := m.unattended()
	e := entry{id: "card-leaving", title: "Card: leaving the boat", find: "leave close valves switch off unattended", page: true}
	switch c {
	case nil:
		e.blocks = append(e.blocks, warning("Nobody has said how this boat is left (no condition with `unattended: yes` in the file). What stands below follows from how things are joined: cross out what you do otherwise."))
	default:
		e.blocks = append(e.blocks, para("As the file says for \""+conditionName(c)+"\". Tick each line; hang a tag on the engine key for each valve that must be open before starting."))
	}
	if dead := m.leftDry(c); len(dead) > 0 {
		e.blocks = append(e.blocks, warning("With the switches as the file leaves them this is dead: "+names(dead)+". Nothing pumps or warns when water comes in. Feed it ahead of the switch, on a fuse of its own; until then leave its switch on and its neighbours off."))
	}
	e.blocks = append(e.blocks, heading("Valves"), m.leaveValves(c))
	e.blocks = append(e.blocks, heading("Switches and breakers"), m.leaveSwitches(c))
	if m.has(schema.Bilge) {
		e.blocks = append(e.blocks, heading("How long the battery keeps the bilge pump alive"), para(m.aliveText(c)))
	} else {
		e.blocks = append(e.blocks, heading("Bilge pump"), para("The file names no bilge pump: what leaks in stays in. Look at the boat often."))
	}
	e.blocks = append(e.blocks, heading("Last round"), m.lastRound(c))
	return e
}

// leftDry are the bilge pumps and water alarms that the switches of a condition
// without a crew cut off.
func (m *maker) leftDry(c *schema.Condition) []*schema.Part {
	if c == nil {
		return nil
	}
	live := m.withSwitchesOff()
	var out []*schema.Part
	for _, sw := range c.Open {
		for _, p := range m.lostAtOnce(sw, "") {
			senses := p.Get("senses")
			guards := p.Is(schema.Bilge) || p.Is(schema.AlarmRole) && senses != nil && strings.Contains(senses.Text, "water")
			if guards && !live.always(p) && !slices.Contains(out, p) {
				out = append(out, p)
			}
		}
	}
	return out
}

// lastRound is what is looked at before the hatch is shut; what the boat has not
// is left out.
func (m *maker) lastRound(c *schema.Condition) steps {
	pumped := m.poweredBilge() && !slices.ContainsFunc(m.leftDry(c), func(p *schema.Part) bool { return p.Is(schema.Bilge) })
	s := steps{"Bilge dry."}
	if pumped {
		s[0] = "Bilge dry; float lifted by hand: the pump runs."
	}
	if m.has(schema.Strainer) {
		s = append(s, "Strainer lids tight and dry.")
	}
	s = append(s, "Town water hose off the boat. Gas shut at the bottle.")
	if m.has(schema.ShorePower) {
		s = append(s, "Shore power on or off: the owner's choice, written here: ______________")
	}
	last := "Write down the date and the volts of each battery."
	if pumped {
		last = "Write down the date, the volts of each battery, the cycles of the bilge pump."
	}
	return append(s, last)
}

// has reports whether something with a role is fitted.
func (m *maker) has(r schema.Role) bool {
	return slices.ContainsFunc(m.fitted(), func(p *schema.Part) bool { return p.Is(r) })
}

// poweredBilge reports whether a bilge pump runs by itself.
func (m *maker) poweredBilge() bool {
	return slices.ContainsFunc(m.fitted(), func(p *schema.Part) bool { return p.Is(schema.Bilge) && p.Word("drive").V != "hand" })
}

func (m *maker) leaveValves(c *schema.Condition) block {
	var lines [][]string
	for _, p := range m.valves() {
		if !m.onSea(p) {
			continue
		}
		state, why := m.leaveValve(c, p)
		lines = append(lines, []string{box, p.ID, titleOf(p), place(p), state, why})
	}
	if len(lines) == 0 {
		return para("The file names no valve on a hull opening.")
	}
	return large([]sheet.Column{col(""), col("Valve"), wide("It is"), col("Where"), col("Leave it"), wide("Why")}, lines)
}

// onSea reports whether a valve stands at a hull opening or on a line to one.
func (m *maker) onSea(p *schema.Part) bool {
	if p.Host != nil || p.Is(schema.Seacock) {
		return true
	}
	for _, w := range m.Survey.Ways(p) {
		if w.Water {
			return true
		}
	}
	return false
}

func (m *maker) leaveValve(c *schema.Condition, p *schema.Part) (state, why string) {
	if c != nil && slices.Contains(c.Closed, p) {
		return "CLOSED", "keeps the sea out when a hose fails; stops " + orText(m.stopsWhenShut(p), "nothing named")
	}
	host := p.Host
	if host != nil && m.drainsOutside(p) {
		return "OPEN", "rain must run out of the cockpit or scupper"
	}
	if host != nil && host.Word("service").V == "bilge" {
		return "OPEN", "the bilge pump must get its water out"
	}
	if normal(p) == "closed" {
		return "CLOSED", "stands closed always"
	}
	if c != nil {
		return "as is", "the file leaves it open: ask why before you leave"
	}
	return "CLOSED", "keeps the sea out when a hose fails; stops " + orText(m.stopsWhenShut(p), "nothing named")
}

func orText(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// drainsOutside reports whether a cockpit drain or scupper leaves by the valve.
func (m *maker) drainsOutside(p *schema.Part) bool {
	if p.Host != nil && p.Host.Word("service").V == "scupper" {
		return true
	}
	for _, list := range m.hosesFrom(p) {
		for _, q := range list {
			for _, o := range q.Openings() {
				if o.Drain {
					return true
				}
			}
		}
	}
	return false
}

func (m *maker) leaveSwitches(c *schema.Condition) block {
	live := m.withSwitchesOff()
	var lines [][]string
	var told []*schema.Part // what a line has said already
	row := func(id, what, where, state, why string) {
		lines = append(lines, []string{box, id, what, where, state, why})
	}
	for _, p := range m.switches() {
		if p.Is(schema.Sensing) || p.Kind.Attr("position") == nil || p.Kind.Name == "relay" {
			continue
		}
		switch {
		case c != nil && slices.Contains(c.Open, p):
			row(p.ID, titleOf(p), place(p), "OFF", "stops "+m.feeds(p, ""))
		case normal(p) == "open":
			row(p.ID, titleOf(p), place(p), "OFF", "stands off usually")
		case c == nil && m.keeps(c, p) == "":
			row(p.ID, titleOf(p), place(p), "OFF", "nothing behind it must run with nobody aboard; stops "+m.feeds(p, ""))
		default:
			row(p.ID, titleOf(p), place(p), "as is", orText(m.keeps(c, p), "the file does not turn it off"))
		}
	}
	for _, d := range m.devices() {
		if !live.always(d.part) || d.way == "" || m.keepers(d) == "" {
			continue
		}
		row(d.id(), d.title(), place(d.part), "STAYS ON", m.keepers(d))
		told = append(told, m.lostAtOnce(d.part, d.way)...)
	}
	// A pump or an alarm that hangs on a fuse alone has no way of a panel to say
	// it on: its fuse says it.
	for _, d := range m.nearestFirst() {
		lost := m.lostAtOnce(d.part, d.way)
		alone := func(q *schema.Part) bool { return keeper(q) && live.always(q) && !slices.Contains(told, q) }
		if !live.always(d.part) || !slices.ContainsFunc(lost, alone) {
			continue
		}
		row(d.id(), d.title(), place(d.part), "STAYS IN", m.keepers(d))
		told = append(told, lost...)
	}
	if len(lines) == 0 {
		return para("The file names no switch.")
	}
	return large([]sheet.Column{col(""), col("Id"), wide("It is"), col("Where"), col("Leave it"), wide("Why")}, lines)
}

// nearestFirst are the devices that are no way of a panel, those that carry least
// before those that carry it too.
func (m *maker) nearestFirst() []device {
	var out []device
	for _, d := range m.devices() {
		if d.way == "" {
			out = append(out, d)
		}
	}
	slices.SortStableFunc(out, func(a, b device) int {
		return cmp.Compare(len(m.lostAtOnce(a.part, "")), len(m.lostAtOnce(b.part, "")))
	})
	return out
}

// keeps says what needs a switch to stay on in a condition.
func (m *maker) keeps(c *schema.Condition, p *schema.Part) string {
	var out []*schema.Part
	for _, q := range m.lostAtOnce(p, "") {
		if c == nil && (q.Roles().Any(schema.Bilge|schema.AlarmRole) || steady(q)) || c != nil && m.Survey.Runs(c, q) {
			out = append(out, q)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "feeds " + names(out)
}

// keeper reports what must have current with nobody aboard.
func keeper(q *schema.Part) bool {
	return q.Roles().Any(schema.Bilge|schema.AlarmRole) || steady(q)
}

// keepers says why a device that no switch cuts must stay on.
func (m *maker) keepers(d device) string {
	var out []string
	for _, q := range m.lostAtOnce(d.part, d.way) {
		switch {
		case q.Is(schema.Bilge):
			out = append(out, name(q)+" pumps the bilge")
		case q.Is(schema.AlarmRole):
			out = append(out, name(q)+" must be able to sound")
		case steady(q):
			out = append(out, name(q)+" keeps its memory")
		}
	}
	return strings.Join(out, "; ")
}

// aliveText is how long the battery lasts with nobody aboard.
func (m *maker) aliveText(c *schema.Condition) string {
	if c == nil {
		return "Not computed: the file says no duty for the pump with nobody aboard."
	}
	var list []said
	for _, s := range m.Survey.Supplies(c) {
		list = put(list, names(s.Batteries), m.aliveOn(c, s))
	}
	var pumps []said
	dead := m.leftDry(c)
	for _, p := range m.fitted() {
		if a, ok := drawOf(p); ok && p.Is(schema.Bilge) && !slices.Contains(dead, p) {
			if h, ok := m.hoursAlone(p, a); ok {
				pumps = put(pumps, name(p), hours(h))
			}
		}
	}
	var out []string
	for _, x := range list {
		out = append(out, strings.Join(x.who, "; ")+": "+x.what)
	}
	for _, x := range pumps {
		with := x.who[0]
		if len(x.who) > 1 {
			with = "one of " + strings.Join(x.who, "; ")
		}
		out = append(out, "From full, with "+with+" running without a pause: "+x.what)
	}
	if len(out) == 0 {
		return "Not computed."
	}
	return strings.Join(out, ". ") + ". An old battery gives less."
}

// aliveOn is how long the batteries of a supply last.
func (m *maker) aliveOn(c *schema.Condition, s survey.Supply) string {
	switch {
	case s.Missing != "":
		return "not computed, needs " + s.Missing
	case math.IsInf(float64(s.Hours), 1):
		return restText(s.Amps)
	}
	own := fmt.Sprintf("%s at a mean of %s (running: %s)", hours(s.Hours), amps(s.Amps), runningText(c))
	if with := m.notCounted(c, s); with != "" {
		return with + ". By the condition of the file alone: " + own
	}
	return own
}

// said is what is said alike of several.
type said struct {
	who  []string
	what string
}

// put adds what is said of one, to others of whom the same is said.
func put(list []said, who, what string) []said {
	for i := range list {
		if list[i].what == what {
			list[i].who = append(list[i].who, who)
			return list
		}
	}
	return append(list, said{[]string{who}, what})
}

// restText says why a battery does not run down.
func restText(mean unit.Amp) string {
	if mean < -0.005 {
		return fmt.Sprintf("does not run down: charging gives %s more on the mean than what runs takes", amps(mean))
	}
	return "does not run down: nothing runs on it, by the file"
}

// notCounted names what no switch cuts and the condition does not count, with
// how long the battery lasts when it is counted.
func (m *maker) notCounted(c *schema.Condition, s survey.Supply) string {
	live := m.withSwitchesOff()
	sum, known := s.Amps, true
	var out []string
	for _, p := range m.loads() {
		feed, _ := m.feedWay(p)
		if feed == nil || !slices.Contains(s.Batteries, feed.To) || !live.always(p) || !steady(p) || m.Survey.Runs(c, p) {
			continue
		}
		a, ok := drawOf(p)
		known = known && ok
		sum += a
		out = append(out, p.ID)
	}
	if len(out) == 0 {
		return ""
	}
	text := "no switch cuts " + strings.Join(out, ", ") + ", which the file does not count"
	if len(s.Batteries) == 1 && known {
		if store, missing := m.Survey.Store(s.Batteries[0]); missing == "" {
			text = fmt.Sprintf("%s at %s, with what no switch cuts (%s)", hours(store.RunTime(sum, m.Survey.ChargeOf(c, s.Batteries[0]))), amps(sum), strings.Join(out, ", "))
		}
	}
	return text
}

// hoursAlone is how long the battery that feeds a pump runs it alone.
func (m *maker) hoursAlone(p *schema.Part, a unit.Amp) (unit.Hour, bool) {
	feed, _ := m.feedWay(p)
	if feed == nil || a <= 0 {
		return 0, false
	}
	store, missing := m.Survey.Store(feed.To)
	if missing != "" {
		return 0, false
	}
	h := store.RunTime(a, 1)
	return h, h > 0 && !math.IsInf(float64(h), 0)
}

func runningText(c *schema.Condition) string {
	var out []string
	for _, r := range c.Running {
		s := r.Part.ID
		if r.Duty < 1 {
			s += fmt.Sprintf(" %.0f %%", 100*float64(r.Duty))
		}
		out = append(out, s)
	}
	return strings.Join(out, ", ")
}

// leftOff are the switches that the card for leaving puts off.
func (m *maker) leftOff(c *schema.Condition) []*schema.Part {
	if c != nil {
		return c.Open
	}
	var out []*schema.Part
	for _, p := range m.switches() {
		if !p.Is(schema.Sensing) && p.Kind.Attr("position") != nil && p.Kind.Name != "relay" && normal(p) != "open" && m.keeps(nil, p) == "" {
			out = append(out, p)
		}
	}
	return out
}

// starting undoes leaving, valves before switches before the engine.
func (m *maker) starting() entry {
	c := m.unattended()
	e := entry{id: "card-starting", title: "Card: starting up", find: "start open valves switch on arrive", page: true}
	s := []string{"Smell: gas, fuel, hot plastic? Air the boat before anything is switched.", "Bilge: how much water, and does it taste of salt?"}
	for _, p := range m.valves() {
		if !m.onSea(p) || normal(p) == "closed" && (c == nil || !slices.Contains(c.Closed, p)) {
			continue
		}
		if state, _ := m.leaveValve(c, p); state != "CLOSED" {
			continue
		}
		s = append(s, "Open "+at(p)+" for "+orText(m.stopsWhenShut(p), "its line")+". Look at its hose: dry?")
	}
	for _, p := range m.Survey.SeaUsers() {
		in, _ := m.intake(p)
		if in.strainer != nil {
			s = append(s, "Look into "+at(in.strainer)+": clean, full of water.")
		}
	}
	for _, p := range m.leftOff(c) {
		s = append(s, "Switch on: "+at(p)+".")
	}
	for _, p := range m.fitted() {
		if p.Is(schema.AlarmRole) {
			s = append(s, "Test button of "+at(p)+".")
		}
	}
	for _, b := range m.Survey.Batteries() {
		s = append(s, fmt.Sprintf("Volts of %s at rest: %s when full. Read: ______", at(b), volts(m.Survey.HighestEMF(b))))
	}
	for _, p := range m.fitted() {
		if p.Is(schema.Engine) && p.Is(schema.SeaUser) {
			s = append(s, "Start "+at(p)+"; water must come out of the exhaust within a few seconds. None: stop.")
		}
	}
	e.blocks = []block{steps(s)}
	return e
}

// shoreCard is how shore power is joined and parted.
func (m *maker) shoreCard() (entry, bool) {
	var inlet *schema.Part
	for _, p := range m.fitted() {
		if p.Is(schema.ShorePower) && inlet == nil {
			inlet = p
		}
	}
	if inlet == nil {
		return entry{}, false
	}
	rcd := "the residual-current device"
	for _, p := range m.fitted() {
		if p.Is(schema.Residual) && p.Kind.Name == "rcd" {
			rcd = at(p)
			break
		}
	}
	e := entry{id: "card-shore", title: "Card: shore power", find: "shore power plug polarity", page: true}
	e.blocks = []block{
		warning("Mains voltage kills, in the water too. No swimming near a boat on shore power. Faults are for a licensed person; this card is for plug and switch only."),
		para("Inlet: " + at(inlet) + ", " + rating(inlet) + ". Branches:" + m.acBranches()),
		heading("To join"), steps{"Main and branch breakers off.", "Cable unrolled, dry, no wear at the ends; hung clear of the water.", "Plug in at the boat first (" + inlet.ID + "), locked.", "Plug in at the quay, its breaker on.", "Polarity lamp good? If it shows a fault: out again, another socket.", "Main on, then " + rcd + " with its test button: it must trip. Reset.", "Branches on one by one."},
		heading("To part"), steps{"Branches off, main off.", "Breaker at the quay off, plug out at the quay first.", "Plug out at the boat, cap on."},
	}
	return e, true
}
