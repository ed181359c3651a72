package pack

import (
	"strings"

	"fitout/render/sheet"
	"fitout/schema"
)

// registers are the equipment register, the maintenance calendar and the change
// log.
func (m *maker) registers() []section {
	return []section{m.register(), m.maintenance(), m.changes()}
}

// register lists what has a serial number, with its settings.
func (m *maker) register() section {
	s := section{id: "register", title: "Equipment register", document: "What is fitted, settings", lying: true}
	var lines [][]string
	for _, p := range m.fitted() {
		r := p.Roles()
		if !r.Any(schema.Equipment|schema.Storage|schema.Charging|schema.Converter|schema.Inverting|schema.SeaUser|schema.Mover|schema.AlarmRole|schema.Engine|schema.FuelBurner|schema.Residual|schema.ShorePower|schema.Holding) && p.Word("serial").V == "" {
			continue
		}
		lines = append(lines, []string{p.ID, titleOf(p), p.Kind.Title, place(p), strings.TrimSpace(p.Word("make").V + " " + modelOf(p)), p.Word("serial").V, rating(p), settings(p), p.Word("fitted").V})
	}
	s.blocks = []block{para("Fill in by hand what is blank; maker and number are on the plate."), table([]sheet.Column{col("Id"), wide("It is"), col("Kind"), wide("Where"), {Head: "Make, model", Least: 30}, {Head: "Serial", Least: 25}, col("Rating"), wide("Settings"), {Head: "Fitted", Least: 18}}, lines)}
	return s
}

func modelOf(p *schema.Part) string {
	switch v := p.Word("model").V; v {
	case "current", "power", "resistance":
		return ""
	default:
		return v
	}
}

// settings are what a person has set or must set at the device.
func settings(p *schema.Part) string {
	var out []string
	for _, n := range []string{"profile", "volts", "output", "holds", "chemistry", "capacity", "max-charge", "regulator", "trip", "relief", "pressure"} {
		if p.Kind.Attr(n) == nil {
			continue
		}
		if v := p.Get(n); v != nil && v.Text != "" && len(v.Points) == 0 {
			out = append(out, n+" "+v.Text)
		}
	}
	return strings.Join(out, ", ")
}

// maintenance is what falls due, with the last date that the file knows.
func (m *maker) maintenance() section {
	s := section{id: "maintenance", title: "Maintenance calendar", document: "What is due, with boxes", lying: true}
	var lines [][]string
	row := func(every, what, id, last, source string) {
		lines = append(lines, []string{every, what, id, orText(last, "not stated"), "", "", source})
	}
	date := func(p *schema.Part, key string) string {
		if p.Kind.Attr(key) == nil {
			return ""
		}
		return p.Word(key).V
	}
	for _, p := range m.fitted() {
		r := p.Roles()
		where := name(p) + ", " + place(p)
		switch {
		case r.Any(schema.Seacock):
			row("month", "Shut and open it once", where, dateOf(p, "exercised"), "seamanship practice")
		case r.Any(schema.AlarmRole):
			row("month", "Test with real water, smoke or its button", where, dateOf(p, "tested"), "common practice, no source")
		case r.Any(schema.Residual) && p.Kind.Name == "rcd":
			row("3 months", "Test button: must trip", where, date(p, "tested"), "inspection scheme's advice")
		case r.Any(schema.Sensing) && p.Kind.Name == "float-switch":
			row("month", "Lift it: the pump runs", where, "", "common practice, no source")
		case r.Any(schema.Strainer):
			row("month", "Valve shut, clean basket and seal", where, "", "common practice, no source")
		case r.Any(schema.Storage):
			row("year", "Lugs clean and tight to torque; strap; volts at rest", where, "", "common practice, no source")
		case p.Kind.Name == "anode":
			row("year", "Replace at half its size", where, dateOf(p, "fitted"), "common practice, no source")
		case r.Any(schema.Vent):
			row("year", "Air valve free of salt", where, "", "common practice, no source")
		case r.Any(schema.ShorePower):
			row("3 months", "Pins of plug and inlet: bright, dry, not brown", where, "", "common practice, no source")
		}
	}
	for _, h := range m.hoses() {
		for _, rt := range h.Rating {
			if rt.V == "below waterline" || rt.V == "exhaust" || rt.V == "sanitation" {
				row("year", "Hose: cracks, soft spots; clamps: rust", h.ID+" "+endText(h.From)+" → "+endText(h.To), h.Fitted.V, "common practice, no source")
				break
			}
		}
	}
	s.blocks = []block{table([]sheet.Column{col("Every"), wide("Do"), {Head: "At", Grow: 2}, col("Last, by the file"), {Head: "Done", Least: 22}, {Head: "Done", Least: 22}, col("Source")}, lines)}
	return s
}

func dateOf(p *schema.Part, key string) string {
	if p.Kind.Attr(key) == nil {
		return ""
	}
	if v := p.Get(key); v != nil {
		return v.Text
	}
	return ""
}

// changes is the log of what is done after these sheets were printed.
func (m *maker) changes() section {
	sh := m.boat().Sheets
	lines := [][]string{{sh.Revision.V, sh.Date.V, "This set", "all", sh.Drawn.V}}
	for range 14 {
		lines = append(lines, []string{"", "", "", "", ""})
	}
	return section{id: "changes", title: "Change log", document: "What changed since", blocks: []block{
		para("Write each change down when it is made; a change that is not drawn is the next fault. Then correct the file, check it, and print the sheets named here anew."),
		large([]sheet.Column{{Head: "Rev.", Least: 14}, {Head: "Date", Least: 24}, {Head: "What changed", Grow: 1, Least: 70}, {Head: "Sheets", Least: 22}, {Head: "By", Least: 26}}, lines),
	}}
}
