// Package reference writes the reference page of the installation file in
// Markdown: every section with its keys, every kind of part with its terminals
// and attributes, units and defaults. It is made from the tables the reader uses.
package reference

import (
	"fmt"
	"strings"

	"fitout/schema"
	"fitout/schema/read"
	"fitout/schema/unit"
)

// Page returns the page. The same tables give the same bytes.
func Page(c *schema.Catalogue) string {
	var b strings.Builder
	b.WriteString("# Reference of the installation file\n\nMade by the program from its own tables; do not edit.\n\n")
	units(&b)
	b.WriteString("## Sections\n\nThe keys of the file: `" + strings.Join(read.TopLevel(), "` `") + "`.\n")
	for _, s := range read.Sections() {
		b.WriteString("\n### " + s.Name + ": " + s.Item + "\n\n")
		rows := make([]schema.Attr, len(s.Fields))
		for i, f := range s.Fields {
			rows[i] = f.Attr
		}
		table(&b, rows)
	}
	b.WriteString("\n## Attributes open to every kind\n\n")
	table(&b, schema.Common)
	b.WriteString("\n## Kinds\n")
	for _, k := range c.All() {
		Kind(&b, k)
	}
	return b.String()
}

func units(b *strings.Builder) {
	b.WriteString("## Units\n\n| quantity | units | example |\n|---|---|---|\n")
	for _, d := range unit.Dimensions() {
		fmt.Fprintf(b, "| %s | %s | `%s` |\n", d.Name(), cell(strings.Join(d.Symbols(), ", ")), cell(d.Example()))
	}
	b.WriteString("\n")
}

// Kind writes the section of one kind.
func Kind(b *strings.Builder, k *schema.Kind) {
	fmt.Fprintf(b, "\n### %s\n\n%s. %s\n\n", k.Name, upper(k.Title), k.Help)
	if len(k.Aliases) > 0 {
		fmt.Fprintf(b, "Also read: `%s`.\n\n", strings.Join(k.Aliases, "` `"))
	}
	fmt.Fprintf(b, "Class letter (IEC 81346-2, from memory): %s.\n\n", k.Class)
	terminals(b, k)
	table(b, k.Attrs)
	if len(k.NotStated) > 0 {
		fmt.Fprintf(b, "\nAsked for, and listed under *not stated* where left out: `%s`.\n", strings.Join(k.NotStated, "` `"))
	}
	fmt.Fprintf(b, "\n```yaml\n%s\n```\n", k.Example)
}

// terminals lists those of a part with nothing written; attributes change some.
func terminals(b *strings.Builder, k *schema.Kind) {
	var need, spare []string
	for _, t := range k.Terminals(&schema.Part{ID: "X1", Kind: k}) {
		switch {
		case t.Hidden || t.Name == "":
		case t.Needed:
			need = append(need, "`"+t.Name+"`")
		default:
			spare = append(spare, "`"+t.Name+"`")
		}
	}
	switch {
	case k.Open && k.Single:
		b.WriteString("One joint: any number of terminals, unnamed or numbered.\n\n")
		return
	case len(need)+len(spare) == 0:
		b.WriteString("No terminals.\n\n")
		return
	}
	line := "Terminals: " + strings.Join(need, " ")
	if len(spare) > 0 {
		line += "; spare: " + strings.Join(spare, " ")
	}
	if k.Open {
		line += "; more by number"
	}
	b.WriteString(strings.Replace(line, ": ; ", ": ", 1) + ".\n\n")
}

func table(b *strings.Builder, attrs []schema.Attr) {
	if len(attrs) == 0 {
		return
	}
	b.WriteString("| key | value | what it says | default |\n|---|---|---|---|\n")
	for _, a := range attrs {
		name := "`" + a.Name + "`"
		if len(a.Aliases) > 0 {
			name += " (`" + strings.Join(a.Aliases, "` `") + "`)"
		}
		def := a.Default
		if def != "" {
			def += " (" + a.DefaultSource + ")"
		}
		fmt.Fprintf(b, "| %s | %s | %s | %s |\n", name, cell(value(a)), cell(a.Help+example(a)), cell(def))
	}
}

func example(a schema.Attr) string {
	if a.Example == "" || a.Example == "yes" || a.Type == schema.Word {
		return ""
	}
	return ", for example `" + a.Example + "`"
}

// value says in words what may be written.
func value(a schema.Attr) string {
	words := strings.Join(a.Words, ", ")
	switch a.Type {
	case schema.Quantity:
		v := names(a.Dims)
		if len(a.Dims) == 0 {
			v = unit.CrossSection.Name()
		}
		if words != "" {
			v += ", or " + words
		}
		return v
	case schema.Word:
		return words
	case schema.WordList:
		return "one or several of " + words
	case schema.WordOrText:
		return words + ", or free words"
	case schema.Flag:
		return "yes, no"
	case schema.Count:
		return "whole number"
	case schema.Number:
		return "bare number"
	case schema.Date:
		return "date"
	case schema.Curve:
		v := names(a.Y) + " by " + names(a.X)
		if len(a.Dims) > 0 {
			v += ", or one " + names(a.Dims)
		}
		return v
	case schema.WayMap:
		return "ways by key"
	case schema.PartRef:
		return "id of a part"
	case schema.PartRefs:
		return "ids of parts"
	case schema.SpaceRefs:
		return "ids of spaces"
	case schema.PlaceRefs:
		return "ids of spaces or parts"
	case schema.ChargeCut:
		return "id of a relay, or one for charge and one for discharge"
	case schema.CockOf:
		return "id of a seacock, or its attributes"
	case schema.Fused:
		return "fuse or breaker and its rating"
	}
	return "free words"
}

func names(dims []unit.Dimension) string {
	out := make([]string, len(dims))
	for i, d := range dims {
		out[i] = d.Name()
	}
	return strings.Join(out, " or ")
}

// cell keeps a text within its cell.
func cell(s string) string { return strings.NewReplacer("|", `\|`, "\n", " ").Replace(s) }

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
