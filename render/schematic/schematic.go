// Package schematic draws a boat's circuits as ladders: the direct-current
// sheets and the single-line sheets of shore and inverter power. It turns the
// boat into a layout graph, has it placed, and draws what comes back; positions
// of parts and wires are the layout's, colours and widths the styles'.
//
//	in := schematic.Input{Survey: s, Result: r, Papers: []sheet.Paper{a4.Portrait(), a4.Landscape()}, First: 1}
//	pages, err := schematic.DC(in)
//
// The steps are a file each: circuit (parts, sides and directions), graph (what
// the layout sees), body (symbols, bars, panels), foot (live parts, legend, key)
// and marks (findings).
package schematic

import (
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// Input is what the sheets are drawn from.
type Input struct {
	Survey *survey.Survey
	Result rules.Result
	// Papers are the sizes that may be used, each one way up.
	Papers []sheet.Paper
	// Larger are those to be used where a sheet does not fit on the others.
	Larger []sheet.Paper
	// First is the number of the first sheet in its set, or, where Before is set,
	// of the first sheet of all: Before then counts those before these. It is asked
	// late and may wait for them to be made.
	First  int
	Before func() int
	// Clean leaves the marks of the findings out.
	Clean bool
}

// numbered is a finding with its number in the set.
type numbered struct {
	diag.Finding
	number int
}

// findings are the open findings in order of the report, numbered from 1.
func (in Input) findings() []numbered {
	if in.Clean {
		return nil
	}
	out := make([]numbered, len(in.Result.Findings))
	for i, f := range in.Result.Findings {
		out[i] = numbered{f, i + 1}
	}
	return out
}

// first is the number of the first sheet in its set.
func (in Input) first() int {
	if in.Before == nil {
		return in.First
	}
	return in.First + in.Before()
}

func (in Input) boat() *schema.Boat { return in.Survey.Boat }

// shows reports whether the file asks for a datum on the sheets.
func (in Input) shows(what string) bool {
	for _, w := range in.boat().Sheets.Show {
		if w.V == what {
			return true
		}
	}
	return false
}
