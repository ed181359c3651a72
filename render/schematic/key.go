package schematic

import (
	"fmt"
	"slices"
	"strings"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/symbol"
	"fitout/validate/tables"
)

// chapter is a medium of the key.
type chapter struct {
	name   string
	medium schema.Medium
	forms  symbol.Medium
	styles []draw.Style
}

var chapters = []chapter{
	{"Direct current", schema.DC, symbol.DC, []draw.Style{draw.Positive, draw.PositiveMain, draw.Negative, draw.NegativeMain, draw.Bonding, draw.Signal, draw.Exposed}},
	{"Shore power and inverter", schema.AC, symbol.AC, []draw.Style{draw.Cable, draw.Earth}},
	{"Water", schema.Water, symbol.Water, nil},
}

// Key explains the symbols and lines of the set: every form of the table that a
// part of the boat is drawn with, with the words of the table, and the lines.
func Key(in Input) ([]sheet.Page, error) {
	if len(in.Papers) == 0 {
		return nil, fmt.Errorf("key: no paper to draw on")
	}
	frame := sheet.NewFrame(in.Papers[0])
	fl := sheet.NewFlow(frame)
	any := false
	for _, c := range chapters {
		entries := c.entries(in.boat())
		if len(entries) == 0 {
			continue
		}
		any = true
		fl.Heading(c.name)
		fl.SymbolKey(entries)
		fl.LineKey(c.lines(in.boat()))
	}
	if !any {
		return nil, nil
	}
	if words := in.reading(); len(words) > 0 {
		fl.Heading("How the electrical sheets are read")
		for _, s := range words {
			fl.Paragraph(s, draw.Small)
		}
	}
	return fl.Framed(sheet.Page{ID: "key", Title: "Symbols and lines", Document: "Key", Frame: frame,
		Desc: "What the symbols and lines of the set stand for."}), nil
}

// entries lists the forms that the boat's parts have on the sheets of a medium,
// in the order of the table.
func (c chapter) entries(b *schema.Boat) (out []sheet.KeyEntry) {
	used := map[string]bool{}
	for _, p := range b.Parts {
		if c.shows(p) {
			used[c.formOf(p)] = true
		}
	}
	for _, h := range b.Hoses {
		if c.medium == schema.Water && (h.From.IsOpen() || h.To.IsOpen()) {
			used[string(c.forms)+"/open-end"] = true
		}
	}
	for _, id := range symbol.Forms(c.forms) {
		if s, ok := symbol.Get(id); ok && used[id] {
			out = append(out, sheet.KeyEntry{Symbol: s.With(), Text: s.Title})
		}
	}
	return out
}

func (c chapter) shows(p *schema.Part) bool {
	if c.medium == schema.Water && p.Is(schema.HullHole) {
		return true // a fitting without a circuit stands there without a hose
	}
	for _, t := range p.Terminals() {
		if t.Medium == c.medium && !t.Hidden {
			return true
		}
	}
	return false
}

// formOf is the id of the form that a part is drawn with.
func (c chapter) formOf(p *schema.Part) string {
	if c.medium == schema.AC && !p.Is(schema.Panel) {
		return acSymbol(p, nil).ID
	}
	return p.Kind.Symbol(p, c.medium).ID
}

// lines lists the lines of a medium: of the water those that the boat has.
func (c chapter) lines(b *schema.Boat) (out []sheet.LineEntry) {
	styles := c.styles
	if c.medium == schema.Water {
		of := Services(b)
		used := map[draw.Style]bool{draw.StaticWaterline: true, draw.HeeledWaterline: true}
		for _, h := range b.Hoses {
			used[of[h.ID]] = true
		}
		for _, s := range draw.Styles() {
			if used[s] {
				styles = append(styles, s)
			}
		}
	}
	for _, s := range styles {
		if s.Meaning() != "" {
			out = append(out, sheet.LineEntry{Style: s, Text: s.Meaning()})
		}
	}
	return out
}

// reading explains the texts of the circuit sheets, by an example of each.
func (in Input) reading() (out []string) {
	var colours []string
	given, taken := false, false
	d := &drawing{in: in, medium: schema.DC, pot: newPotential(in.boat())}
	for _, w := range in.boat().Wires {
		if w.Cable != "" || w.Implied {
			continue
		}
		name := w.Color.V
		if w.Color.Given() {
			given = true
		} else {
			name, taken = in.Survey.DefaultColour(w), true
		}
		if c := d.colour(w); c != "" {
			if s := c + " " + tables.ColourName(name); !slices.Contains(colours, s) {
				colours = append(colours, s)
			}
		}
	}
	if !given && !taken {
		return nil
	}
	size, own := "2.5 mm²", ""
	if in.boat().Rules.US() {
		size = "14 AWG"
	}
	if taken {
		own = " Where the file gives no colour, it is the one that the rule set has for that conductor: check it aboard."
	}
	out = []string{
		"Along a run, 7: " + size + "  RD: its number, size and colour by IEC 60757, and its length where there is room; the wire list has them all. " +
			"On this boat " + strings.Join(colours, ", ") + "." + own,
		"In a panel, 3: 10 A: the way's number and its device's rating. In a flag, BN 5/A1: the bar or run goes on on sheet 5, in zone A1. " +
			"Over a bar, B1 +: that terminal of B1 and all that lands on it. At rest 1: how a contact stands; all are drawn open, a selector at off. " +
			"A number in a ring: a finding of the check.",
	}
	if slices.ContainsFunc(in.boat().Parts, func(p *schema.Part) bool { return p.Is(schema.ACPart) }) {
		out[1] += " 7: 3×" + size + ": one line for a cable with all its cores, here three. Slashes across a lead: as many contacts, opened together."
	}
	return out
}
