package render

import (
	"fitout/render/schematic"
	"fitout/render/sheet"
)

func placesPages(j *job) ([]sheet.Page, error) { return schematic.Places(j.schematic()) }
