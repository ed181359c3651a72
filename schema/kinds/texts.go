package kinds

import (
	"strconv"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
)

// percent prints a share as the file would write it.
func percent(r unit.Ratio) string {
	return strconv.FormatFloat(float64(r)*100, 'g', 4, 64) + " %"
}

// value is the attribute as it was written: of the part, or, for a seacock fixed
// to a through-hull, of that.
func value(p *schema.Part, name string) *schema.Value {
	if v := p.Get(name); v != nil {
		return v
	}
	if p.Host != nil {
		return p.Host.Get(name)
	}
	return nil
}

func itoa(n int) string { return strconv.Itoa(n) }

// counted writes "2 poles", "1 pole", "6 alike".
func counted(n int, name string) string {
	switch {
	case name == "count":
		name = "alike"
	case n == 1:
		name = strings.TrimSuffix(name, "s")
	}
	return itoa(n) + " " + name
}

// said is the text of an attribute, "" where nothing is written or it is a flag
// that says no.
func said(p *schema.Part, name string) string {
	v := value(p, name)
	if v == nil {
		return ""
	}
	switch v.Attr.Type {
	case schema.Flag:
		if v.Yes {
			return name
		}
		return ""
	case schema.Count:
		return counted(int(v.Number), name)
	case schema.WordList:
		list := make([]string, len(v.Words))
		for i, w := range v.Words {
			list[i] = w.V
		}
		return strings.Join(list, " ")
	case schema.Curve:
		if len(v.Points) > 0 {
			return ""
		}
	}
	return strings.TrimSpace(v.Text)
}

// rated makes the short text beside the symbol from the attributes named.
func rated(names ...string) func(*schema.Part) string {
	return func(p *schema.Part) string { return strings.Join(saidAll(p, names), " ") }
}

// ordered makes the line a shop is asked for: what it is, then its attributes.
func ordered(title string, names ...string) func(*schema.Part) string {
	return func(p *schema.Part) string {
		line := append([]string{title}, saidAll(p, names)...)
		return strings.Join(line, ", ")
	}
}

// saidAll collects what is written. A name may have words before it and a per
// cent sign: "breaks %interrupt".
func saidAll(p *schema.Part, names []string) []string {
	var out []string
	for _, n := range names {
		lead, attr, found := strings.Cut(n, "%")
		if !found {
			lead, attr = "", n
		}
		if t := said(p, attr); t != "" {
			out = append(out, lead+t)
		}
	}
	return out
}
