package render

import (
	"fitout/render/schematic"
	"fitout/render/sheet"
)

func keyPages(j *job) ([]sheet.Page, error) { return schematic.Key(j.schematic()) }
