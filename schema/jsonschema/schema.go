// Package jsonschema writes the JSON Schema (2020-12) of the installation file
// for editors: every section and key, every kind of part with its attributes,
// enumerations, and patterns of quantities by unit. It is made from the same
// tables that the reader uses, so that it cannot lag behind them.
//
// A schema sees one value at a time. It lets through what only the reader can
// judge: ids that name nothing, terminals, words whose meaning depends on others.
package jsonschema

import (
	"encoding/json"

	"fitout/schema"
	"fitout/schema/read"
	"fitout/schema/unit"
)

// object is one JSON object; encoding/json writes its keys sorted, so that the
// same tables give the same bytes.
type object = map[string]any

// ID names the schema; it is a name and no address.
const ID = "urn:fitout:installation:1"

// Document returns the schema as indented JSON, with a line end.
func Document(c *schema.Catalogue) ([]byte, error) {
	out, err := json.MarshalIndent(root(c), "", "  ")
	if err != nil {
		return nil, err
	}
	return append(out, '\n'), nil
}

func root(c *schema.Catalogue) object {
	defs := object{}
	for _, d := range unit.Dimensions() {
		defs[dimensionDef(d)] = dimension(d)
	}
	fixedDefs(defs)
	for _, s := range read.Sections() {
		defs["item-"+s.Name+suffix(s, defs)] = sectionItem(s)
	}
	partDefs(defs, c)
	return object{
		"$schema":              "https://json-schema.org/draft/2020-12/schema",
		"$id":                  ID,
		"title":                "Installation file",
		"description":          "What is fitted in a boat: the parts, the wires and hoses between their terminals, where they sit, and how the boat is used.",
		"type":                 "object",
		"properties":           sections(c),
		"required":             []string{"fitout"},
		"additionalProperties": false,
		"$defs":                defs,
	}
}

// suffix tells two sections of one name apart: an open end is a value of hoses.
func suffix(s *read.Section, defs object) string {
	if _, taken := defs["item-"+s.Name]; taken {
		return "-open-end"
	}
	return ""
}

func ref(name string) object { return object{"$ref": "#/$defs/" + name} }

func described(s object, help string) object {
	if help == "" {
		return s
	}
	s["description"] = help
	return s
}

// byID is a mapping from ids to items.
func byID(item object, help string) object {
	return described(object{
		"type": []string{"object", "null"}, "propertyNames": ref("id-key"), "additionalProperties": item,
	}, help)
}

func listOf(item object, help string) object {
	return described(object{"type": []string{"array", "null"}, "items": item}, help)
}

// sections describes the keys of the file itself.
func sections(c *schema.Catalogue) object {
	return object{
		"fitout":     object{"description": "Version of this format.", "enum": []any{1, "1"}},
		"include":    described(object{"anyOf": []any{ref("text"), object{"type": "array", "items": ref("text")}}}, "Further files, relative and inside the folder, whose sections are joined to these."),
		"vessel":     described(ref("item-vessel"), "The boat."),
		"rules":      described(ref("item-rules"), "The rules that are judged by."),
		"deviations": listOf(ref("item-deviations"), "Accepted departures from rules; printed on the report and the sheets."),
		"defaults":   described(defaults(c), "Values for what is not written, by section or kind."),
		"spaces":     byID(ref("item-spaces"), "Compartments."),
		"stock":      byID(ref("part-loose"), "Reusable descriptions of bought items."),
		"parts":      byID(ref("part"), "What is fitted, by reference designator."),
		"banks":      byID(object{"anyOf": []any{ref("id"), object{"type": "array", "items": ref("id")}}}, "Batteries used as one."),
		"looms":      byID(ref("item-looms"), "Wires run together."),
		"wires":      listOf(ref("item-wires"), "Single conductors and cables."),
		"circuits":   listOf(ref("item-circuits"), "Out-and-back pairs to a load."),
		"hoses":      listOf(ref("item-hoses"), "Hoses and pipes, written with the flow."),
		"conditions": byID(ref("item-conditions"), "How the boat is used."),
		"day": listOf(object{"type": "object", "minProperties": 1, "maxProperties": 1, "additionalProperties": ref(dimensionDef(unit.Duration))},
			"A sequence of conditions that makes 24 hours."),
		"readings": listOf(ref("item-readings"), "What was measured aboard."),
		"sheets":   described(ref("item-sheets"), "What stands in the title block, and how sheets are made."),
	}
}

// defaults takes the keys of a section or the attributes of a kind.
func defaults(c *schema.Catalogue) object {
	props := object{"parts": ref("part-loose")}
	for _, s := range read.Sections() {
		switch s.Name {
		case "wires", "circuits", "hoses", "spaces", "conditions":
			if _, done := props[s.Name]; !done {
				props[s.Name] = ref("item-" + s.Name)
			}
		}
	}
	for _, k := range c.All() {
		for _, name := range append([]string{k.Name}, k.Aliases...) {
			props[name] = ref("attributes-" + k.Name)
		}
	}
	return object{"type": []string{"object", "null"}, "properties": props, "additionalProperties": false}
}
