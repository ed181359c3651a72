package read

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/source"
	"fitout/schema/unit"
)

// usage reads how the boat is used: banks, conditions, the day, readings.
func (r *reader) usage() {
	r.banksSection()
	r.conditionsSection()
	r.everything()
	r.day()
	r.readings()
}

// partNamed finds the part that a scalar names. It is nil where there is none
// (reported) or where the part itself could not be read (reported there).
func (r *reader) partNamed(key string, n *Node) *schema.Part {
	text, ok := r.hasText(key, n)
	if !ok {
		return nil
	}
	return r.partCalled(n.Resolve(), text)
}

func (r *reader) partCalled(n *Node, id string) *schema.Part {
	p, known := r.parts.byID[id]
	if known {
		return p
	}
	if owner, name, dotted := strings.Cut(id, "."); dotted && r.parts.byID[owner] != nil {
		r.add(Problem{Span: sub(n, len(owner), len(owner)+1+len(name)), Message: fmt.Sprintf("%s is named alone here, without a terminal", owner)})
		return nil
	}
	r.unknown(sub(n, 0, len(id)), "part", id, "", r.parts.names)
	return nil
}

func (r *reader) banksSection() {
	for _, n := range r.sections["banks"] {
		for _, e := range r.entries(n, "banks") {
			b := schema.Bank{ID: e.key.Text, At: e.key.Span()}
			if !claim(r, &r.banks, e.key, b.ID, "the bank", &b) {
				continue
			}
			if at, taken := r.parts.at[b.ID]; taken {
				r.both(e.key, at, "the part", "the bank %s has the id of a part", b.ID)
			}
			list := e.value.Resolve()
			items := []*Node{list}
			if list.Kind == List {
				items = list.Entries
			}
			seen := map[*schema.Part]bool{}
			for _, item := range items {
				p := r.partNamed("a bank", item)
				switch {
				case p == nil:
				case !p.Is(schema.Storage):
					r.at(item.Resolve(), "%s is %s: a bank is made of batteries", p.ID, article(p.Kind.Name))
				case seen[p]:
					r.at(item.Resolve(), "%s is in the bank %s twice", p.ID, b.ID)
				default:
					seen[p] = true
					b.Batteries = append(b.Batteries, p)
				}
			}
			r.boat.Banks = append(r.boat.Banks, b)
		}
	}
}

func (r *reader) conditionsSection() {
	for _, n := range r.sections["conditions"] {
		for _, e := range r.entries(n, "conditions") {
			c := &schema.Condition{ID: e.key.Text, At: e.key.Span(), Positions: map[string]string{}}
			if !claim(r, &r.conditions, e.key, c.ID, "the condition", c) {
				continue
			}
			r.boat.Conditions = append(r.boat.Conditions, c)
			r.condition(c, r.entries(e.value, "a condition"))
		}
	}
}

func (r *reader) condition(c *schema.Condition, entries []entry) {
	r.each(&conditionKeys, entries, func(f *Field, e entry) {
		n := e.value
		switch f.Name {
		case "title":
			c.Title = r.text(f.Name, n, own)
		case "hours":
			c.Hours = amount[unit.Hour](r, f, n, own)
		case "running":
			c.Running = r.running(n)
		case "bank":
			c.Bank = r.bankName(r.text(f.Name, n, own))
		case "charge":
			c.Charge = amount[unit.Ratio](r, f, n, own)
		case "engine":
			r.engineSpeeds(c, f, n)
		case "speed":
			c.Speed = amount[unit.Knot](r, f, n, own)
		case "heel":
			c.Heel = amount[unit.Degree](r, f, n, own)
		case "trim":
			c.Trim = amount[unit.Degree](r, f, n, own)
		case "sun":
			c.Sun = amount[unit.Hour](r, f, n, own)
		case "shore":
			c.Shore = r.flag(f.Name, n, own)
		case "holds":
			c.Holds = r.flag(f.Name, n, own)
		case "unattended":
			c.Unattended = r.flag(f.Name, n, own)
		case "open":
			c.Open = r.moved(c, n, "open", "off")
		case "closed":
			c.Closed = r.moved(c, n, "closed", "off")
		case "off":
			c.Off = r.partList(f.Name, n)
		case "positions":
			r.positions(c, n)
		case "water-temperature":
			c.WaterTemperature = amount[unit.Celsius](r, f, n, own)
		default:
			r.text(f.Name, n, own)
		}
	})
}

func (r *reader) bankName(v schema.Val[string]) schema.Val[string] {
	if !v.Given() {
		return v
	}
	if _, ok := r.banks.byID[v.V]; ok {
		return v
	}
	p, known := r.parts.byID[v.V]
	switch {
	case !known:
		r.unknown(v.At, "bank", v.V, "", append(append([]string(nil), r.banks.names...), r.batteries()...))
	case p != nil && !p.Is(schema.Storage):
		r.add(Problem{Span: v.At, Message: fmt.Sprintf("%s is %s, neither a bank nor a battery", p.ID, article(p.Kind.Name))})
	default:
		return v
	}
	return schema.Val[string]{}
}

func (r *reader) batteries() []string {
	var out []string
	for _, p := range r.boat.Parts {
		if p.Is(schema.Storage) {
			out = append(out, p.ID)
		}
	}
	return out
}

// running reads the loads that run: FR1, FR1 50 %, {FR1: 50 %}.
func (r *reader) running(n *Node) []schema.Running {
	n = n.Resolve()
	items := []*Node{n}
	if n.Kind == List {
		items = n.Entries
	}
	var out []schema.Running
	first := map[*schema.Part]source.Span{}
	add := func(n *Node, id, duty string, dutyAt *Node) {
		p := r.partCalled(n, id)
		if p == nil {
			return
		}
		if at, twice := first[p]; twice {
			r.both(n, at, "the first time", "%s is there twice in running", id)
			return
		}
		first[p] = n.Span()
		if !runs(p.Roles()) && !draws(p) {
			r.at(n, "%s is %s: running names what takes current or moves water", p.ID, article(p.Kind.Name))
			return
		}
		run := schema.Running{Part: p, Duty: 1, At: n.Span()}
		if duty != "" {
			v, _, reason := figure(&dutyField.Attr, duty)
			if reason != "" {
				r.add(Problem{Span: sub(dutyAt, len(dutyAt.Text)-len(duty), len(dutyAt.Text)), Message: reason})
				return
			}
			run.Duty = unit.Ratio(v)
		}
		out = append(out, run)
	}
	for _, item := range items {
		v := item.Resolve()
		if v.Kind == Map {
			for _, e := range r.entries(v, "running") {
				if text, ok := r.hasText("a duty", e.value); ok {
					add(e.key, e.key.Text, text, e.value.Resolve())
				}
			}
			continue
		}
		if text, ok := r.hasText("running", v); ok {
			id, duty, _ := strings.Cut(strings.TrimSpace(text), " ")
			add(v, id, strings.TrimSpace(duty), v)
		}
	}
	return out
}

var dutyField = quantity("a duty", "share of the time", unit.Proportion).within(0, 1)

// runs reports whether a part can be said to run. Parts of no such role are
// let through unless they plainly only carry, protect or hold.
func runs(roles schema.Role) bool {
	const still = schema.Storage | schema.Protection | schema.Switching | schema.Distribution | schema.Measuring |
		schema.Shutoff | schema.SeaOpening | schema.HullHole | schema.Grounding | schema.Bonding
	const live = schema.Load | schema.Mover | schema.Converter | schema.Charging | schema.Inverting | schema.SeaUser | schema.Engine
	return roles.Any(live) || !roles.Any(still)
}

// draws reports a part that takes current itself, whatever else it is: a relay's
// coil, a control with a draw.
func draws(p *schema.Part) bool {
	return slices.ContainsFunc(p.Branches(), func(b schema.Branch) bool { return b.Type == schema.Draw })
}

// engineSpeeds reads 1400 rpm, or {EP: 1600 rpm, ES: 0 rpm}.
func (r *reader) engineSpeeds(c *schema.Condition, f *Field, n *Node) {
	n = n.Resolve()
	c.EngineAt = n.Span()
	speed := quantity("engine", "", unit.RotationalSpeed)
	if n.Kind != Map {
		if v := amount[unit.RPM](r, &speed, n, own); v.Given() {
			c.Engine = []schema.Speed{{RPM: v.V}}
		}
		return
	}
	for _, e := range r.entries(n, "engine") {
		p := r.partCalled(e.key, e.key.Text)
		v := amount[unit.RPM](r, &speed, e.value, own)
		switch {
		case p == nil || !v.Given():
		case !p.Is(schema.Engine):
			r.at(e.key, "%s is %s, not an engine", p.ID, article(p.Kind.Name))
		default:
			c.Engine = append(c.Engine, schema.Speed{Engine: p.ID, RPM: v.V})
		}
	}
}

func (r *reader) partList(key string, n *Node) []*schema.Part {
	n = n.Resolve()
	items := []*Node{n}
	if n.Kind == List {
		items = n.Entries
	}
	var out []*schema.Part
	for _, item := range items {
		if p := r.partNamed(key, item); p != nil {
			out = append(out, p)
		}
	}
	return out
}

// moved reads the parts that a condition opens or closes, and notes the
// position each takes: the word itself, or its other where the kind says it so
// (a selector's off).
func (r *reader) moved(c *schema.Condition, n *Node, word, other string) []*schema.Part {
	n = n.Resolve()
	items := []*Node{n}
	if n.Kind == List {
		items = n.Entries
	}
	var out []*schema.Part
	for _, item := range items {
		p := r.partNamed(word, item)
		if p == nil {
			continue
		}
		position := word
		a := r.attr(p.Kind, "position")
		switch {
		case a == nil && !p.Roles().Any(schema.Switching|schema.Protection|schema.Shutoff):
			r.at(item.Resolve(), "%s is %s: it can be neither opened nor closed", p.ID, article(p.Kind.Name))
			continue
		case a == nil:
		case !contains(a.Words, word) && contains(a.Words, other) && word == "open":
			position = other
		case !contains(a.Words, word):
			r.at(item.Resolve(), "%s stands in one of %s: write positions: {%s: …}", p.ID, orList(a.Words), p.ID)
			continue
		}
		if r.position(c, item.Resolve(), p, position) {
			out = append(out, p)
		}
	}
	return out
}

// position notes the position of a part, once.
func (r *reader) position(c *schema.Condition, n *Node, p *schema.Part, position string) bool {
	if before, set := c.Positions[p.ID]; set {
		r.at(n, "%s has a position here already: %s", p.ID, before)
		return false
	}
	c.Positions[p.ID] = position
	return true
}

func (r *reader) positions(c *schema.Condition, n *Node) {
	for _, e := range r.entries(n, "positions") {
		p := r.partCalled(e.key, e.key.Text)
		if p == nil {
			continue
		}
		a := r.attr(p.Kind, "position")
		if a == nil {
			r.at(e.key, "%s is %s: it has no positions", p.ID, article(p.Kind.Name))
			continue
		}
		if v := r.word(a, e.value, own); v.Given() {
			r.position(c, e.key, p, v.V)
		}
	}
}

// everything adds the built-in condition `all`: every load at full draw, the
// engines stand, no sun, no shore power.
func (r *reader) everything() {
	if _, has := r.conditions.byID["all"]; has {
		return
	}
	c := &schema.Condition{
		ID: "all", Title: schema.Of("Every load at full draw", schema.ByKind), BuiltIn: true,
		Positions: map[string]string{},
	}
	for _, p := range r.boat.Parts {
		if !p.Prepared && p.Roles().Any(schema.Load|schema.Mover) {
			c.Running = append(c.Running, schema.Running{Part: p, Duty: 1, At: p.At})
		}
	}
	r.boat.Conditions = append(r.boat.Conditions, c)
	if r.conditions.byID == nil {
		r.conditions.byID = map[string]*schema.Condition{}
	}
	r.conditions.byID["all"] = c
	r.conditions.names = append(r.conditions.names, "all")
}

func (r *reader) day() {
	var sum unit.Hour
	hours := quantity("hours", "", unit.Duration)
	for _, item := range r.items("day") {
		for _, e := range r.entries(item, "a step of the day") {
			c, known := find(r, &r.conditions, e.key, e.key.Text, "condition")
			v := amount[unit.Hour](r, &hours, e.value, own)
			if !known || !v.Given() {
				continue
			}
			before := sum
			if sum += v.V; sum > 24+1e-9 && before <= 24+1e-9 {
				r.at(e.value.Resolve(), "the day has more than 24 h: %s up to here", sum)
			}
			r.boat.Day = append(r.boat.Day, schema.DayStep{Condition: c, Hours: v.V, At: e.key.Span()})
		}
	}
}

func (r *reader) readings() {
	for _, item := range r.items("readings") {
		m := schema.Reading{At: item.Resolve().Span()}
		missing := true
		r.each(&readingKeys, r.entries(item, "a reading"), func(f *Field, e entry) {
			n := e.value
			switch f.Name {
			case "date":
				m.Date = r.date(f.Name, n, own)
			case "condition":
				if t := r.text(f.Name, n, own); t.Given() {
					m.Condition, _ = find(r, &r.conditions, n.Resolve(), t.V, "condition")
				}
			case "at":
				missing = false
				m.Where = r.where(n)
			case "current":
				m.Current = amount[unit.Amp](r, f, n, own)
			case "volts":
				m.Volts = amount[unit.Volt](r, f, n, own)
			case "flow":
				m.Flow = amount[unit.LitrePerMin](r, f, n, own)
			case "head":
				m.Head = amount[unit.Head](r, f, n, own)
			case "rise":
				m.Rise = rise(amount[unit.Celsius](r, f, n, own))
			case "within":
				m.Within = amount[unit.Ratio](r, f, n, own)
			case "by":
				m.By = r.text(f.Name, n, own)
			case "note":
				m.Note = r.text(f.Name, n, own)
			}
		})
		if missing {
			r.at(item.Resolve(), "a reading needs at: where it was taken")
			continue
		}
		if !m.Current.Given() && !m.Volts.Given() && !m.Flow.Given() && !m.Head.Given() && !m.Rise.Given() {
			r.at(item.Resolve(), "a reading needs a figure: current, volts, flow, head or rise")
		}
		if m.Where.Part != nil {
			r.boat.Readings = append(r.boat.Readings, m)
		}
	}
}

// rise turns a temperature into a difference of temperatures: 9 °F is 5 K.
func rise(v schema.Val[unit.Celsius]) schema.Val[unit.Celsius] {
	if !v.Given() {
		return v
	}
	switch text := strings.ToUpper(strings.TrimSpace(v.Text)); {
	case strings.HasSuffix(text, "F") || strings.HasSuffix(text, "FAHRENHEIT"):
		v.V += 160.0 / 9
	case strings.HasSuffix(text, "K") || strings.HasSuffix(text, "KELVIN"):
		v.V += 273.15
	}
	return v
}

// where finds the part, and the terminal if one is named, of a reading.
func (r *reader) where(n *Node) schema.End {
	if _, ok := r.hasText("at", n); !ok {
		return schema.End{}
	}
	s := r.stop(&run{line: &line{sec: &readingKeys}}, n, "at")
	if s.part == nil {
		return schema.End{}
	}
	e := schema.End{Part: s.part, Terminal: s.name, At: s.node.Span()}
	if s.named {
		if t, ok := s.part.Terminal(s.name); !ok || t.Hidden {
			all := append(withoutEmpty(visible(s.part, false)), withoutEmpty(visible(s.part, true))...)
			r.unknownTerminal(s, all)
		}
	}
	return e
}
