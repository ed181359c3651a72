package render

import (
	"fitout/render/schematic"
	"fitout/render/sheet"
)

func (j *job) schematic() schematic.Input {
	return schematic.Input{Survey: j.survey, Result: j.result, Papers: j.papers, Larger: j.larger, First: j.first, Before: j.before, Clean: j.options.Clean}
}

func dcPages(j *job) ([]sheet.Page, error) { return schematic.DC(j.schematic()) }

func acPages(j *job) ([]sheet.Page, error) { return schematic.AC(j.schematic()) }
