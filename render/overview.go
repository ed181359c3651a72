package render

import (
	"fitout/render/schematic"
	"fitout/render/sheet"
)

func overviewPages(j *job) ([]sheet.Page, error) { return schematic.Overview(j.schematic()) }
