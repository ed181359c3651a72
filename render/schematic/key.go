package schematic

import (
	"fmt"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/symbol"
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
