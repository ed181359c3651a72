package jsonschema

import (
	"fitout/schema"
	"fitout/schema/read"
)

// sectionItem describes one item of a section.
func sectionItem(s *read.Section) object {
	props := object{}
	for _, f := range s.Fields {
		for _, name := range append([]string{f.Name}, f.Aliases...) {
			props[name] = field(f, s.Name)
		}
	}
	if s.Name == "deviations" {
		props["at"] = described(oneOrMore(ref("text")), "The id it is accepted at.")
	}
	return object{"type": []string{"object", "null"}, "properties": props, "additionalProperties": false}
}

func field(f read.Field, section string) object {
	one := attribute(f.Attr)
	h := help(f.Attr)
	switch f.Form {
	case read.PerStretch:
		return described(object{"type": "array", "items": orNull(value(f.Attr))}, h)
	case read.Pair:
		return described(object{"type": "array", "minItems": 2, "maxItems": 2, "items": value(f.Attr)}, h)
	case read.OneOrMore:
		return described(oneOrMore(value(f.Attr)), h)
	case read.AnEnd:
		if section == "hoses" {
			return described(object{"anyOf": []any{ref("end"), ref("open-end")}}, h)
		}
		return described(ref("end"), h)
	case read.Ends:
		return described(oneOrMore(object{"anyOf": []any{ref("end"), ref("open-end"), ref("device-here")}}), h)
	case read.Loads:
		here := object{"type": "object", "minProperties": 1, "propertyNames": ref("id-key"),
			"additionalProperties": object{"anyOf": []any{ref("text"), ref("part")}}}
		return described(oneOrMore(object{"anyOf": []any{ref("end"), here}}), h)
	case read.Cable:
		return described(object{"type": "string", "examples": []string{"3 core 1.5 mm2"}}, h)
	case read.SizeOrAuto:
		return described(sizeOrAuto(), h)
	case read.Duties:
		return described(oneOrMore(object{"anyOf": []any{ref("text"), object{"type": "object"}}}), h)
	case read.BySpeed:
		rpm := ref("quantity-rotational-speed")
		return described(object{"anyOf": []any{rpm, object{"type": "object", "additionalProperties": rpm}}}, h)
	case read.ByPart:
		return described(object{"type": "object", "additionalProperties": ref("text")}, h)
	case read.BendCount:
		return described(ref("text"), h)
	}
	return one
}

func orNull(s object) object { return object{"anyOf": []any{s, object{"type": "null"}}} }

// partDefs adds the parts: the attributes of each kind, and a part whose kind
// decides which of them it may have.
func partDefs(defs object, c *schema.Catalogue) {
	var names []any
	var cases []any
	all := object{}
	for _, k := range c.All() {
		props := object{}
		for _, list := range [][]schema.Attr{schema.Common, k.Attrs} {
			for _, a := range list {
				for _, name := range append([]string{a.Name}, a.Aliases...) {
					props[name] = attribute(a)
					all[name] = true
				}
			}
		}
		props["kind"], props["stock"], props["id"] = true, ref("id"), ref("id")
		defs["attributes-"+k.Name] = object{
			"title": k.Title, "description": k.Help, "type": []string{"object", "null"},
			"properties": props, "additionalProperties": false, "examples": []string{k.Example},
		}
		spellings := append([]string{k.Name}, k.Aliases...)
		for _, n := range spellings {
			names = append(names, n)
		}
		cases = append(cases, object{
			"if":   object{"properties": object{"kind": object{"enum": spellings}}, "required": []string{"kind"}},
			"then": ref("attributes-" + k.Name),
		})
	}
	all["kind"], all["stock"], all["id"] = object{"enum": names}, ref("id"), ref("id")
	defs["part-loose"] = object{
		"description": "Attributes of a part whose kind is written elsewhere.",
		"type":        []string{"object", "null"}, "properties": all, "additionalProperties": false,
	}
	defs["part"] = object{
		"type":       "object",
		"properties": object{"kind": object{"description": "What kind of part it is.", "enum": names}, "stock": object{"description": "The stock entry whose attributes it takes."}},
		"anyOf":      []any{object{"required": []string{"kind"}}, object{"required": []string{"stock"}}},
		"allOf":      cases,
	}
}
