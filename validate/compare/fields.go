package compare

import (
	"fmt"
	"reflect"
	"sort"
	"strconv"
	"strings"
	"unicode"

	"fitout/schema"
	"fitout/schema/source"
	"fitout/schema/unit"
)

// field is one value of an item: what it means, to be compared, and how it is
// written, to be shown.
type field struct{ name, means, text string }

// differ lists the fields whose meaning differs, in the order of b, then of a.
func differ(a, b []field) []Field {
	old := map[string]field{}
	for _, f := range a {
		old[f.name] = f
	}
	var out []Field
	seen := map[string]bool{}
	for _, f := range b {
		seen[f.name] = true
		if o := old[f.name]; o.means != f.means {
			out = append(out, Field{f.name, o.text, f.text})
		}
	}
	for _, f := range a {
		if !seen[f.name] && f.means != "" {
			out = append(out, Field{f.name, f.text, ""})
		}
	}
	return out
}

// partFields are a part's kind, place and attributes, and the ways of a panel.
func partFields(p *schema.Part) []field {
	out := []field{{"kind", p.Kind.Name, p.Kind.Name}}
	if p.Stock != "" {
		out = append(out, field{"stock", p.Stock, p.Stock})
	}
	if p.Space != nil {
		out = append(out, field{"space", p.Space.ID, p.Space.ID})
	}
	if p.Prepared {
		out = append(out, field{"prepared", "yes", "yes"})
	}
	for i := range p.Attrs {
		v := &p.Attrs[i]
		switch v.Attr.Name {
		case "kind", "stock", "space", "prepared", "ways", "seacock":
			continue
		}
		means := *v
		means.Attr, means.Text, means.At, means.KeyAt, means.From = nil, "", source.Span{}, source.Span{}, 0
		out = append(out, field{v.Attr.Name, v.Attr.Name + meaning(reflect.ValueOf(means)), v.Text})
	}
	for _, w := range p.Ways {
		for _, f := range fieldsOf(w) {
			if f.name != "key" {
				out = append(out, field{"way " + w.Key + " " + f.name, f.means, f.text})
			}
		}
	}
	return out
}

// unseen are fields of the model that say where a thing is written, or repeat
// what another field says.
var unseen = map[string]bool{"At": true, "EngineAt": true, "Path": true, "Stretch": true, "Circuit": true, "BuiltIn": true, "ID": true, "Text": true, "BendsText": true}

// fieldsOf lists the fields of a model struct that are given, named as the file
// names them.
func fieldsOf(v any) []field {
	rv := reflect.ValueOf(v)
	var out []field
	for i := range rv.NumField() {
		f := rv.Type().Field(i)
		if !f.IsExported() || unseen[f.Name] || rv.Field(i).IsZero() {
			continue
		}
		if means := meaning(rv.Field(i)); means != "" {
			out = append(out, field{kebab(f.Name), means, strings.TrimSpace(spelling(rv.Field(i)))})
		}
	}
	return out
}

// kebab turns WaterTemperature into water-temperature.
func kebab(name string) string {
	var b strings.Builder
	runes := []rune(name)
	for i, r := range runes {
		if unicode.IsUpper(r) && i > 0 && unicode.IsLower(runes[i-1]) {
			b.WriteByte('-')
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}

// meaning writes what a value is, without its spelling and place. The model has
// no loops besides those by pointers to named things.
func meaning(v reflect.Value) string { return walk(v, false) }

// spelling writes a value as it stands in the file, where it does.
func spelling(v reflect.Value) string { return walk(v, true) }

func walk(v reflect.Value, shown bool) string {
	switch v.Kind() {
	case reflect.Pointer:
		return pointer(v, shown)
	case reflect.Struct:
		return structure(v, shown)
	case reflect.Slice, reflect.Array:
		var parts []string
		for i := range v.Len() {
			if s := strings.TrimSpace(walk(v.Index(i), shown)); s != "" {
				parts = append(parts, s)
			}
		}
		return strings.Join(parts, ", ")
	case reflect.Map:
		var parts []string
		for _, k := range v.MapKeys() {
			parts = append(parts, fmt.Sprintf("%v: %s", k, strings.TrimSpace(walk(v.MapIndex(k), shown))))
		}
		sort.Strings(parts)
		return strings.Join(parts, ", ")
	case reflect.Func, reflect.Interface:
		return ""
	case reflect.Bool:
		if v.Bool() {
			return "yes"
		}
		return "no"
	case reflect.Float64:
		if !shown { // the unit's own text would round
			return strconv.FormatFloat(v.Float(), 'g', -1, 64)
		}
	}
	return fmt.Sprint(v)
}

func pointer(v reflect.Value, shown bool) string {
	if v.IsNil() {
		return ""
	}
	switch p := v.Interface().(type) {
	case *schema.Part:
		return p.ID
	case *schema.Space:
		return p.ID
	case *schema.Circuit:
		return p.ID
	case *schema.Condition:
		return p.ID
	case *schema.Attr, *schema.Kind:
		return ""
	}
	return walk(v.Elem(), shown)
}

func structure(v reflect.Value, shown bool) string {
	switch x := v.Interface().(type) {
	case source.Span:
		return ""
	case unit.Size:
		return x.Name()
	case schema.End:
		return x.String()
	case schema.HoseEnd:
		return x.String() + " " + walk(reflect.ValueOf(x.Height), shown)
	}
	// A Val is its value; one that nobody gave is nothing.
	if from := v.FieldByName("From"); from.IsValid() && from.Type() == reflect.TypeFor[schema.Origin]() && v.FieldByName("V").IsValid() {
		if from.Int() == int64(schema.Absent) {
			return ""
		}
		if text := v.FieldByName("Text").String(); shown && text != "" {
			return text
		}
		return walk(v.FieldByName("V"), shown)
	}
	var parts []string
	for i := range v.NumField() {
		f := v.Type().Field(i)
		if !f.IsExported() || f.Type == reflect.TypeFor[source.Span]() || f.Name == "Text" && !shown || v.Field(i).IsZero() {
			continue
		}
		if s := strings.TrimSpace(walk(v.Field(i), shown)); s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, " ")
}
