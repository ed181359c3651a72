package jsonschema

import (
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
)

// dimensionDef is the name of a dimension's definition.
func dimensionDef(d unit.Dimension) string {
	return "quantity-" + strings.ReplaceAll(d.Name(), " ", "-")
}

// dimension is a quantity as text with its unit. A bracketed second system may
// follow. A bare 0 is a length; shares and ratios are bare.
func dimension(d unit.Dimension) object {
	text := object{"type": "string", "pattern": strings.TrimSuffix(d.Pattern(), "$") + `(\(.*\) *)?$`}
	out := object{
		"title":       strings.ToUpper(d.Name()[:1]) + d.Name()[1:],
		"description": "Units: " + strings.Join(d.Symbols(), ", ") + ".",
		"examples":    []string{d.Example()},
	}
	switch {
	case d.BareZero():
		out["anyOf"] = []any{text, object{"const": 0}}
	case d.Bare():
		out["anyOf"] = []any{text, object{"type": "number"}}
	default:
		out["type"], out["pattern"] = text["type"], text["pattern"]
	}
	return out
}

// fixedDefs adds the values that are no quantities. YAML readers turn a plain
// 1 or yes into a number or truth value before a schema sees it.
func fixedDefs(defs object) {
	scalar := []string{"string", "number", "boolean"}
	defs["text"] = object{"type": scalar}
	defs["flag"] = object{"enum": []any{"yes", "no", "true", "false", true, false}}
	defs["date"] = object{"type": "string", "pattern": `^[0-9]{4}-[0-9]{2}-[0-9]{2}$`, "examples": []string{"2026-05-02"}}
	defs["count"] = object{"anyOf": []any{object{"type": "integer", "minimum": 0}, object{"type": "string", "pattern": "^[0-9]+$"}}}
	defs["number"] = object{"anyOf": []any{object{"type": "number"}, object{"type": "string", "pattern": `^[-+]?[0-9./:]+$`}}}
	defs["id-key"] = object{"pattern": idPattern}
	defs["id"] = object{"anyOf": []any{object{"type": "string", "pattern": idPattern}, object{"type": "number"}}}
	defs["end"] = object{
		"description": "A part, or a part and its terminal: BP, F1.in.",
		"anyOf":       []any{object{"type": "string"}, object{"type": "number"}},
		"examples":    []string{"B1.+", "BP"},
	}
	defs["open-end"] = ref("item-hoses-open-end")
	defs["device-here"] = object{
		"description": "A device described where it sits: {F2: class-t 200 A}.",
		"type":        "object", "minProperties": 1, "maxProperties": 1,
		"propertyNames":        ref("id-key"),
		"additionalProperties": object{"anyOf": []any{ref("text"), ref("part")}},
	}
	defs["built-in"] = object{"type": scalar, "examples": []string{"fuse 60 A"}}
}

// attribute describes the value of one attribute.
func attribute(a schema.Attr) object {
	v := value(a)
	if a.BareUnit != "" {
		v = object{"anyOf": []any{v, object{"type": "number"}}}
	}
	out := described(v, help(a))
	if a.Example != "" && !strings.ContainsAny(a.Example, "{[") {
		out["examples"] = []string{a.Example}
	}
	return out
}

// help is the attribute's help with what holds where nothing is written.
func help(a schema.Attr) string {
	h := a.Help
	if h != "" {
		h = strings.ToUpper(h[:1]) + h[1:] + "."
	}
	if a.Default != "" {
		h += " Default: " + a.Default + " (" + a.DefaultSource + ")."
	}
	return h
}

func value(a schema.Attr) object {
	switch a.Type {
	case schema.Quantity:
		if len(a.Dims) == 0 {
			return sizeOrAuto() // a conductor size: the one quantity the reader reads by itself
		}
		return anyOf(append(dimensions(a.Dims), wordsOf(a)...))
	case schema.Word:
		return anyOf(wordsOf(a))
	case schema.WordList:
		return oneOrMore(anyOf(wordsOf(a)))
	case schema.Flag:
		return ref("flag")
	case schema.Count:
		return bounded(ref("count"), a)
	case schema.Number:
		return ref("number")
	case schema.Date:
		return ref("date")
	case schema.Curve:
		return anyOf(append([]any{points(a)}, dimensions(a.Dims)...))
	case schema.WayMap:
		return object{"type": []string{"object", "null"}, "additionalProperties": ref("item-ways")}
	case schema.PartRef:
		return ref("id")
	case schema.PartRefs, schema.SpaceRefs, schema.PlaceRefs:
		return oneOrMore(ref("id"))
	case schema.ChargeCut:
		return anyOf([]any{ref("id"), object{"type": "object", "additionalProperties": false,
			"properties": object{"charge": ref("id"), "discharge": ref("id")}}})
	case schema.CockOf:
		return anyOf([]any{ref("id"), object{"allOf": []any{ref("part-loose")}, "required": []string{"id"}}})
	case schema.Fused:
		return ref("built-in")
	}
	return ref("text")
}

func bounded(s object, a schema.Attr) object {
	if a.Max > a.Min {
		return object{"allOf": []any{s}, "minimum": a.Min, "maximum": a.Max}
	}
	return s
}

func dimensions(dims []unit.Dimension) []any {
	var out []any
	for _, d := range dims {
		out = append(out, ref(dimensionDef(d)))
	}
	return out
}

// wordsOf are the words of an enumeration with their other spellings; a word
// that looks like a number may arrive as one.
func wordsOf(a schema.Attr) []any {
	if len(a.Words) == 0 {
		return nil
	}
	var all []any
	for _, w := range a.Words {
		all = append(all, w)
		switch w {
		case "1":
			all = append(all, 1)
		case "2":
			all = append(all, 2)
		case "yes":
			all = append(all, true)
		case "no":
			all = append(all, false)
		case "off":
			all = append(all, false)
		}
	}
	for _, also := range a.Also {
		all = append(all, also[0])
	}
	return []any{object{"enum": distinct(all)}}
}

func distinct(list []any) []any {
	var out []any
	seen := map[any]bool{}
	for _, v := range list {
		if !seen[v] {
			seen[v] = true
			out = append(out, v)
		}
	}
	return out
}

// points is a mapping from x to y. Its keys are quantities, which patterns of
// property names can hold.
func points(a schema.Attr) object {
	return object{
		"type": "object", "minProperties": 1,
		"propertyNames":        anyOf(dimensions(a.X)),
		"additionalProperties": anyOf(dimensions(a.Y)),
	}
}

func anyOf(list []any) object {
	if len(list) == 1 {
		if o, ok := list[0].(object); ok {
			return o
		}
	}
	return object{"anyOf": list}
}

func oneOrMore(item object) object {
	return object{"anyOf": []any{item, object{"type": "array", "items": item}}}
}

func sizeOrAuto() object {
	return object{"anyOf": []any{object{"const": "auto"}, ref(dimensionDef(unit.CrossSection))}}
}

// idPattern is an id: a letter or digit, then letters, digits, - and _. What an
// id may not hold is listed, since not every validator knows classes of Unicode
// letters (Python's has none).
const idPattern = `^[^\x00-\x2f\x3a-\x40\x5b-\x60\x7b-\xa9][^\x00-\x2c\x2e\x2f\x3a-\x40\x5b-\x5e\x60\x7b-\xa9]*$`
