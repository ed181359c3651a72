package render

import (
	"fitout/render/schematic"
	"fitout/render/sheet"
)

func panelsPages(j *job) ([]sheet.Page, error) { return schematic.Panels(j.schematic()) }
