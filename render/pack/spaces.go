package pack

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/render/label"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// spaceID is the address of a space's sheet.
func spaceID(s *schema.Space) string {
	if s == nil {
		return "space-none"
	}
	return "space-" + s.ID
}

// spaces are sheets to be posted in the lockers, a page for every space.
func (m *maker) spaces() []section {
	live := m.withSwitchesOff()
	var out []section
	for _, sp := range m.sheetSpaces() {
		e := m.spaceSheet(sp, live)
		out = append(out, section{id: "sheet-" + spaceID(sp), title: "Space: " + e.title, document: "To be posted there", blocks: []block{e}})
	}
	return out
}

// sheetSpaces are the spaces that have a sheet; nil stands for the parts whose
// space is not stated.
func (m *maker) sheetSpaces() []*schema.Space {
	out := slices.Clone(m.boat().Spaces)
	if len(m.partsIn(nil)) > 0 {
		out = append(out, nil)
	}
	return out
}

// firstSpace is the address of the first space sheet.
func (m *maker) firstSpace() string {
	for _, sp := range m.sheetSpaces() {
		return spaceID(sp)
	}
	return "spaces"
}

func (m *maker) partsIn(sp *schema.Space) []*schema.Part {
	var out []*schema.Part
	for _, p := range m.fitted() {
		if p.Space == sp {
			out = append(out, p)
		}
	}
	return out
}

func (m *maker) spaceSheet(sp *schema.Space, live *liveness) entry {
	title, find := "Parts whose space is not stated", "space not stated"
	if sp != nil {
		title, find = sp.Name(), "space locker "+sp.ID
	}
	e := entry{id: spaceID(sp), title: title, find: find, page: true}
	parts := m.partsIn(sp)
	put := func(title string, t rows) {
		if len(t.Rows) > 0 {
			e.blocks = append(e.blocks, heading(title), t)
		}
	}
	if m.options.Page != "" {
		e.blocks = append(e.blocks, code(label.Address(m.options.Page, "at-"+e.id)))
	}
	e.blocks = append(e.blocks, m.spaceDanger(sp))
	e.blocks = append(e.blocks, m.staysLive(parts, live)...)
	put("Fuses and breakers", m.spaceDevices(sp))
	put("Switches", m.spaceSwitches(parts))
	put("Valves and hull openings", m.spaceValves(parts))
	put("Pumps", m.spacePumps(parts))
	put("Everything else here", m.spaceRest(parts))
	put("Wires that end here or pass", m.spaceWires(sp))
	put("Hoses that end here or pass", m.spaceHoses(sp))
	if len(parts) == 0 {
		e.blocks = append(e.blocks, para("The file names no part in this space."))
	}
	return e
}

// spaceDanger says what makes the space dangerous.
func (m *maker) spaceDanger(sp *schema.Space) block {
	if sp == nil {
		return warning("Find out where these parts stand and write it into the file.")
	}
	var out []string
	if f := sp.Fuel.V; f == "petrol" || f == "gasoline" {
		out = append(out, "Petrol vapour: run the blower and smell before you switch anything.")
	}
	if sp.Engine.V {
		out = append(out, "Engine space: hot and turning parts; stop the engine first.")
	}
	for _, p := range m.partsIn(sp) {
		if p.Is(schema.Storage) {
			out = append(out, "Batteries: what lies before the first fuse cannot be switched off.")
			break
		}
	}
	for _, p := range m.partsIn(sp) {
		if p.Is(schema.ACPart) {
			out = append(out, "Mains voltage here: for a licensed person; pull the shore plug and stop the inverter before a cover comes off.")
			break
		}
	}
	if len(out) == 0 {
		return para("Read what stays live before you put a tool in here.")
	}
	return warning(strings.Join(out, " "))
}

// staysLive says what is live here with every switch and breaker off, and how to
// make it dead.
func (m *maker) staysLive(parts []*schema.Part, live *liveness) []block {
	var lines [][]string
	for _, p := range parts {
		if from, kill, ok := live.part(p); ok {
			lines = append(lines, []string{name(p), from, kill})
		}
	}
	if len(lines) == 0 {
		return []block{heading("Live with every switch off"), para("Nothing here, as far as the file goes. Measure before you touch.")}
	}
	return []block{heading("Live with every switch off"), table([]sheet.Column{wide("Live"), wide("From"), wide("To make it dead")}, lines)}
}

func (m *maker) spaceDevices(sp *schema.Space) rows {
	var lines [][]string
	for _, d := range m.devices() {
		if d.part.Space != sp {
			continue
		}
		lines = append(lines, []string{d.id(), d.title(), d.word() + " " + d.rating(), m.feeds(d.part, d.way), m.drawnOn(d.part.ID)})
	}
	return table([]sheet.Column{col("Id"), wide("It is"), wide("Rating"), wide("Stops when it opens"), col("Drawn on")}, lines)
}

func (m *maker) feeds(p *schema.Part, way string) string {
	if s := m.lossText(p, way); s != "" {
		return s
	}
	var loads, charge []string
	id := p.ID
	if way != "" {
		id += "." + way
	}
	for _, q := range m.loads() {
		if feed, _ := m.feedWay(q); feed != nil && on(feed, id) {
			loads = append(loads, q.ID)
		}
	}
	for _, q := range m.fitted() {
		if w := m.chargeWay(q); w != nil && on(w, id) {
			charge = append(charge, q.ID)
		}
	}
	var out []string
	if len(loads) > 0 {
		out = append(out, "unless another source takes over: "+strings.Join(loads, ", "))
	}
	if len(charge) > 0 {
		out = append(out, "charge from "+strings.Join(charge, ", "))
	}
	if len(out) == 0 {
		return "no load by itself"
	}
	return strings.Join(out, "; ")
}

// on reports whether a way leads through something.
func on(w *survey.Way, id string) bool {
	return slices.ContainsFunc(w.Steps, func(s survey.WayStep) bool { return s.ID == id })
}

func (m *maker) spaceSwitches(parts []*schema.Part) rows {
	var lines [][]string
	for _, p := range m.switches() {
		if !slices.Contains(parts, p) {
			continue
		}
		lines = append(lines, []string{p.ID, titleOf(p), rating(p), onOff(p), m.feeds(p, ""), m.drawnOn(p.ID)})
	}
	return table([]sheet.Column{col("Id"), wide("It is"), col("Rating"), col("Usually"), wide("Stops when it is off"), col("Drawn on")}, lines)
}

// onOff says how a switch usually stands, in the words on switches.
func onOff(p *schema.Part) string {
	switch {
	case p.Is(schema.Sensing):
		return "by itself"
	case p.Kind.Attr("position") == nil:
		return ""
	}
	switch n := normal(p); n {
	case "closed":
		return "on"
	case "open":
		return "off"
	default:
		return n
	}
}

func (m *maker) spaceValves(parts []*schema.Part) rows {
	var lines [][]string
	for _, p := range parts {
		r := p.Roles()
		switch {
		case r.Any(schema.Seacock | schema.Shutoff):
			lines = append(lines, []string{p.ID, titleOf(p), "valve, usually " + normal(p), m.stopsWhenShut(p), m.drawnOn(p.ID)})
		case r.Any(schema.SeaOpening | schema.HullHole):
			lines = append(lines, []string{p.ID, titleOf(p), "hull opening, " + height(p) + " the waterline", closedBy(p), m.drawnOn(p.ID)})
		}
	}
	return table([]sheet.Column{col("Id"), wide("It is"), wide("State"), wide("Stops when shut"), col("Drawn on")}, lines)
}

func closedBy(p *schema.Part) string {
	if p.Cock != nil {
		return "shut by " + p.Cock.ID
	}
	return "no valve: plug it"
}

func (m *maker) spacePumps(parts []*schema.Part) rows {
	var lines [][]string
	for _, p := range parts {
		if !p.Is(schema.Mover) || !p.Roles().Any(schema.Mover) || p.Kind.Attr("duty") == nil || p.Kind.Attr("curve") == nil {
			continue
		}
		lines = append(lines, []string{p.ID, titleOf(p), p.Word("duty").V, m.cutOff(p), m.goodFlow(p), m.drawnOn(p.ID)})
	}
	return table([]sheet.Column{col("Id"), wide("It is"), col("Duty"), wide("Stopped by"), wide("Good"), col("Drawn on")}, lines)
}

func (m *maker) spaceRest(parts []*schema.Part) rows {
	var lines [][]string
	for _, p := range parts {
		r := p.Roles()
		if r.Any(schema.Protection|schema.Switching|schema.Sensing|schema.Seacock|schema.Shutoff|schema.SeaOpening|schema.HullHole) && !r.Any(schema.Panel) || p.Is(schema.Mover) && p.Kind.Attr("duty") != nil {
			continue
		}
		lines = append(lines, []string{p.ID, titleOf(p), rating(p), m.drawnOn(p.ID)})
	}
	return table([]sheet.Column{col("Id"), wide("It is"), wide("Rating"), col("Drawn on")}, lines)
}

func (m *maker) spaceWires(sp *schema.Space) rows {
	var lines [][]string
	for _, w := range m.cables() {
		ends := w.From.Part != nil && w.From.Part.Space == sp || w.To.Part != nil && w.To.Part.Space == sp
		if !ends && (sp == nil || !slices.Contains(m.Survey.Spaces(w), sp)) {
			continue
		}
		how := "passes"
		if ends {
			how = ""
		}
		lines = append(lines, []string{w.Ref(), sizeText(w), m.colour(w), m.wireEnd(w, w.From) + " → " + m.wireEnd(w, w.To), how, m.drawnRun(w)})
	}
	t := table([]sheet.Column{col("Wire"), col("Size"), col("Colour"), wide("From, to"), col(""), col("Drawn on")}, lines)
	t.refs = true
	return t
}

// drawnRun lists the drawings with a conductor, by any of its cores.
func (m *maker) drawnRun(w *schema.Wire) string {
	if !m.drawings.made {
		return "00"
	}
	out := slices.Concat(m.drawn[w.ID], m.drawn[w.Cable])
	return pagesOf(out)
}

// wireEnd names an end with its place: "F1.in".
func (m *maker) wireEnd(w *schema.Wire, e schema.End) string {
	if w.Cable != "" && e.Part != nil {
		return e.Part.ID
	}
	return e.String()
}

func (m *maker) spaceHoses(sp *schema.Space) rows {
	var lines [][]string
	for _, h := range m.hoses() {
		in := func(e schema.HoseEnd) bool {
			return e.IsOpen() && e.Open == sp || e.Part != nil && e.Part.Space == sp
		}
		passes := false
		for _, t := range h.Through {
			passes = passes || sp != nil && t.V == sp.ID
		}
		if !in(h.From) && !in(h.To) && !passes {
			continue
		}
		how := ""
		if passes {
			how = "passes"
		}
		bore := "not given"
		if h.Bore.Given() {
			bore = h.Bore.V.BoreText()
		}
		lines = append(lines, []string{h.ID, bore, endText(h.From) + " → " + endText(h.To), how, m.drawnOn(h.ID)})
	}
	t := table([]sheet.Column{col("Hose"), col("Bore"), wide("From, to"), col(""), col("Drawn on")}, lines)
	t.refs = true
	return t
}

// cutOff names the nearest thing that a person opens to stop a part.
func (m *maker) cutOff(p *schema.Part) string {
	for _, w := range m.Survey.Ways(p) {
		if w.Water || w.Return {
			continue
		}
		for _, st := range w.Steps {
			if st.Opens && st.Part != nil && !st.Part.Is(schema.Sensing) {
				return st.ID + " (" + place(st.Part) + ")"
			}
		}
	}
	if p.Is(schema.Engine) {
		return "its stop"
	}
	if p.Kind.Attr("drive") != nil {
		switch p.Word("drive").V {
		case "hand":
			return "worked by hand"
		case "engine":
			return "stop the engine"
		}
	}
	return "nothing named"
}

// goodFlow is what a pump gives in the conditions it runs in.
func (m *maker) goodFlow(p *schema.Part) string {
	least, most := unit.LitrePerMin(math.Inf(1)), unit.LitrePerMin(0)
	for _, c := range m.boat().Conditions {
		if !m.Survey.Runs(c, p) {
			continue
		}
		f, ok := m.Survey.Water(c).Pump(p)
		if !ok || len(m.Survey.Water(c).Missing(p)) > 0 || f.Flow == 0 {
			continue
		}
		q := unit.LitrePerMin(math.Abs(float64(f.Flow)))
		least, most = min(least, q), max(most, q)
	}
	if most == 0 {
		for _, b := range m.Survey.BilgeOutputs() {
			if b.Pump == p && len(b.Missing) == 0 {
				return litresPerMin(b.Flow)
			}
		}
		return "not computed"
	}
	if low, high := litresPerMin(least), litresPerMin(most); low != high {
		return strings.TrimSuffix(low, " L/min") + " to " + high
	}
	return litresPerMin(most)
}

func numberText(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
