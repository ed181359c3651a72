package render

import (
	"fitout/render/schematic"
	"fitout/render/sheet"
)

func waterPages(j *job) ([]sheet.Page, error) { return schematic.Water(j.schematic()) }
