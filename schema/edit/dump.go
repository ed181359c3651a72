package edit

import (
	"fmt"
	"reflect"
	"sort"
	"strings"

	"fitout/schema"
	"fitout/schema/source"
	"fitout/schema/unit"
)

// Dump writes what a boat is, without where and in what spelling it is written:
// two texts that mean the same installation give the same lines. One line an
// item, in the order of the file.
func Dump(b *schema.Boat) []string {
	var d dumper
	d.line("vessel", b.Vessel)
	d.line("rules", b.Rules)
	each(&d, "deviation", b.Deviations)
	each(&d, "space", values(b.Spaces))
	each(&d, "part", values(b.Parts))
	each(&d, "bank", b.Banks)
	each(&d, "loom", b.Looms)
	each(&d, "wire", values(b.Wires))
	each(&d, "circuit", values(b.Circuits))
	each(&d, "hose", values(b.Hoses))
	each(&d, "condition", values(b.Conditions))
	each(&d, "day", b.Day)
	each(&d, "reading", b.Readings)
	d.line("sheets", b.Sheets)
	return d.out
}

// Same reports whether two boats are the same installation, and the first lines
// that differ if not.
func Same(a, b *schema.Boat) (same bool, before, after string) {
	x, y := Dump(a), Dump(b)
	for i := range max(len(x), len(y)) {
		var p, q string
		if i < len(x) {
			p = x[i]
		}
		if i < len(y) {
			q = y[i]
		}
		if p != q {
			return false, p, q
		}
	}
	return true, "", ""
}

type dumper struct{ out []string }

func each[T any](d *dumper, what string, list []T) {
	for _, v := range list {
		d.line(what, v)
	}
}

func values[T any](list []*T) []T {
	out := make([]T, len(list))
	for i, p := range list {
		out[i] = *p
	}
	return out
}

func (d *dumper) line(what string, v any) {
	var b strings.Builder
	b.WriteString(what)
	write(&b, reflect.ValueOf(v), 0)
	d.out = append(d.out, b.String())
}

// written are the fields that say how and where a thing is written.
var written = map[string]bool{"Text": true, "BendsText": true, "Help": true, "Kinds": true, "Files": true}

func write(b *strings.Builder, v reflect.Value, level int) {
	if level > 12 {
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		writePointer(b, v, level)
	case reflect.Struct:
		writeStruct(b, v, level)
	case reflect.Slice, reflect.Array:
		b.WriteString(" [")
		for i := range v.Len() {
			write(b, v.Index(i), level+1)
		}
		b.WriteString(" ]")
	case reflect.Map:
		keys := v.MapKeys()
		sort.Slice(keys, func(i, j int) bool { return fmt.Sprint(keys[i]) < fmt.Sprint(keys[j]) })
		for _, k := range keys {
			fmt.Fprintf(b, " %v", k)
			write(b, v.MapIndex(k), level+1)
		}
	case reflect.Func, reflect.Interface:
	default:
		fmt.Fprintf(b, " %v", v)
	}
}

// writePointer writes a thing that has a name by its name.
func writePointer(b *strings.Builder, v reflect.Value, level int) {
	if v.IsNil() {
		return
	}
	switch p := v.Interface().(type) {
	case *schema.Part:
		b.WriteString(" " + p.ID)
	case *schema.Space:
		b.WriteString(" " + p.ID)
	case *schema.Circuit:
		b.WriteString(" " + p.ID)
	case *schema.Condition:
		b.WriteString(" " + p.ID)
	case *schema.Wire:
		b.WriteString(" " + p.ID)
	case *schema.Kind:
		b.WriteString(" " + p.Name)
	case *schema.Attr:
		b.WriteString(" " + p.Name)
	default:
		write(b, v.Elem(), level+1)
	}
}

func writeStruct(b *strings.Builder, v reflect.Value, level int) {
	t := v.Type()
	switch t {
	case reflect.TypeFor[source.Span]():
		return
	case reflect.TypeFor[unit.Size]():
		s := v.Interface().(unit.Size)
		fmt.Fprintf(b, " %s %v", s.Name(), float64(s.Area))
		return
	}
	for i := range t.NumField() {
		f := t.Field(i)
		if !f.IsExported() || written[f.Name] || v.Field(i).IsZero() {
			continue
		}
		b.WriteString(" " + f.Name + ":")
		write(b, v.Field(i), level+1)
	}
}
