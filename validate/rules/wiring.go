package rules

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

// licensed ends the advice of every finding on shore power.
const licensed = " (work for a licensed person)"

// eachEdge calls visit for every edge of a type and medium, in order of the net.
func (c *Context) eachEdge(t trace.EdgeType, m schema.Medium, visit func(id int, e *trace.Edge)) {
	for id := range c.Net.Edges {
		if e := &c.Net.Edges[id]; e.Type == t && e.Medium == m {
			visit(id, e)
		}
	}
}

// wiresAt lists the conductors that meet a joint.
func (c *Context) wiresAt(node int) []*schema.Wire {
	var list []*schema.Wire
	if node < 0 {
		return nil
	}
	for _, id := range c.Net.Nodes[node].Edges {
		if e := &c.Net.Edges[id]; e.Type == trace.Conductor {
			list = append(list, e.Wire)
		}
	}
	return list
}

// wireTo returns the first conductor that lands on the part itself at a joint,
// else the first that meets the joint.
func (c *Context) wireTo(p *schema.Part, node int) *schema.Wire {
	list := c.wiresAt(node)
	for _, w := range list {
		if w.From.Part == p || w.To.Part == p {
			return w
		}
	}
	if len(list) > 0 {
		return list[0]
	}
	return nil
}

// at names the conductor a part hangs on, if any, then the parts.
func (c *Context) at(p *schema.Part, node int, others ...*schema.Part) []string {
	var ids []string
	if w := c.wireTo(p, node); w != nil {
		ids = append(ids, w.Ref())
	}
	for _, o := range append([]*schema.Part{p}, others...) {
		if o != nil && !slices.Contains(ids, o.ID) {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

// refs names the conductors and then the parts of a way, each once.
func refs(path []*trace.Edge) []string {
	var wires, parts []string
	for _, e := range path {
		switch {
		case e.Wire != nil:
			if r := e.Wire.Ref(); !slices.Contains(wires, r) {
				wires = append(wires, r)
			}
		case !slices.Contains(parts, e.Part.ID):
			parts = append(parts, e.Part.ID)
		}
	}
	return append(wires, parts...)
}

// firstWire returns the first conductor of a way, or nil.
func firstWire(path []*trace.Edge) *schema.Wire {
	for _, e := range path {
		if e.Wire != nil {
			return e.Wire
		}
	}
	return nil
}

// spanOf is the place of the first conductor of a way, else of the part.
func spanOf(path []*trace.Edge, p *schema.Part) source.Span {
	if w := firstWire(path); w != nil {
		return w.At
	}
	return p.At
}

// ids names parts in order, each once.
func ids(parts []*schema.Part) []string {
	var out []string
	for _, p := range parts {
		if !slices.Contains(out, p.ID) {
			out = append(out, p.ID)
		}
	}
	return out
}

// list words names: "B1", "B1 and B2", "B1, B2 and B3".
func list(names []string) string {
	switch n := len(names); n {
	case 0:
		return "nothing"
	case 1:
		return names[0]
	default:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}

// brief is list cut after a few names.
func brief(names []string) string {
	if len(names) <= 6 {
		return list(names)
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:5], ", "), len(names)-5)
}

// are is the verb for a list of names.
func are(names []string) string {
	if len(names) == 1 {
		return "is"
	}
	return "are"
}

// draws returns the load of an edge and whether it is one that takes current:
// loads and the input of converters.
func draws(e *trace.Edge) bool { return e.Type == trace.Load || e.Type == trace.ConvertIn }

// readsShunt reports a part that can name the shunt it reads: a battery monitor.
func readsShunt(p *schema.Part) bool { return p.Kind.Attr("shunt") != nil }

// thickest returns the conductor with most copper at a joint, parallel ones
// counted, and whether the size of one is not stated.
func thickest(list []*schema.Wire) (w *schema.Wire, area unit.SquareMM, unknown *schema.Wire) {
	for _, x := range list {
		if x.Carries.V == "signal" {
			continue
		}
		if !x.Size.Given() || x.Size.V.IsZero() {
			if !isLink(x) {
				unknown = x
			}
			continue
		}
		if a := x.Size.V.Area * unit.SquareMM(max(1, x.Parallel.Or(1))); a > area {
			w, area = x, a
		}
	}
	return w, area, unknown
}

// isLink reports a joint of stud to stud: `length: 0`.
func isLink(w *schema.Wire) bool {
	return w.Length.Given() && w.Length.V == 0
}

// insertInto makes the edit that adds `key: value` to the mapping that follows a
// key written as `KEY: {…}`; ok is false where it is written otherwise.
func insertInto(key source.Span, text string) (diag.Edit, bool) {
	if !key.Valid() {
		return diag.Edit{}, false
	}
	rest := key.File.Text[min(key.End, len(key.File.Text)):]
	trimmed := strings.TrimLeft(rest, "\"' ")
	if !strings.HasPrefix(trimmed, ":") {
		return diag.Edit{}, false
	}
	after := strings.TrimLeft(trimmed[1:], " ")
	if !strings.HasPrefix(after, "{") || strings.HasPrefix(strings.TrimLeft(after[1:], " "), "}") {
		return diag.Edit{}, false
	}
	at := key.End + len(rest) - len(after) + 1
	return diag.Edit{Span: source.Span{File: key.File, Start: at, End: at}, New: text + ", "}, true
}

// quoted writes a text as a YAML scalar that keeps its letters.
func quoted(s string) string {
	plain := s != "" && strings.Trim(s, " ") == s
	for _, r := range s {
		if !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == ' ' || r == '-' || r == '_' || r == '/' || r == '.') {
			plain = false
		}
	}
	if plain && (s[0] < '0' || s[0] > '9') && s[0] != '-' && s[0] != '.' {
		return s
	}
	return "\"" + strings.NewReplacer("\\", "\\\\", "\"", "\\\"").Replace(s) + "\""
}
