package edit

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/read"
	"fitout/schema/source"
)

// Datum writes a value at the place that a key names: an attribute of a part, of
// a panel's way, of a wire, circuit or hose, of one stretch of these, of a space,
// or of the vessel. A place that has a value already is an error: what was
// written by a person is not overruled.
func (e *Editor) Datum(k diag.Key, value string) ([]diag.Edit, error) {
	switch k.Of {
	case diag.PartHolder:
		return e.partDatum(k, value)
	case diag.WayHolder:
		return e.wayDatum(k, value)
	case diag.WireHolder, diag.CircuitHolder, diag.HoseHolder:
		return e.lineDatum(k, value)
	case diag.SpaceHolder:
		return e.spaceDatum(k, value)
	case diag.VesselHolder, diag.SheetsHolder:
		return e.sectionDatum(k, value)
	}
	return nil, fmt.Errorf("%s names nothing that the file can hold", k)
}

// has is the answer where the file has a value: nothing to do where it is the
// same.
func has(k diag.Key, text, value string) error {
	if text == value {
		return nil
	}
	return fmt.Errorf("the file says %s for %s already, the round %s: change it by hand if it is wrong", text, k, value)
}

func (e *Editor) partDatum(k diag.Key, value string) ([]diag.Edit, error) {
	p := e.boat.Part(k.ID)
	if p == nil {
		return nil, fmt.Errorf("the file has no part %s", k.ID)
	}
	if v := p.Get(k.Attribute); v != nil && v.From == schema.Own {
		return nil, has(k, v.Text, value)
	}
	return e.Part(k.ID, k.Attribute, value)
}

func (e *Editor) wayDatum(k diag.Key, value string) ([]diag.Edit, error) {
	part, way, _ := strings.Cut(k.ID, ".")
	p := e.boat.Part(part)
	if p == nil {
		return nil, fmt.Errorf("the file has no part %s", part)
	}
	if m := e.way(p, way); m != nil {
		if v := get(m, k.Attribute); v != nil && !v.Null {
			return nil, has(k, v.Resolve().Text, value)
		}
	}
	return e.Way(part, way, k.Attribute, value)
}

// lineDatum writes a datum of a wire, circuit or hose, or of one stretch of it.
func (e *Editor) lineDatum(k diag.Key, value string) ([]diag.Edit, error) {
	id, stretch, n := e.stretchOf(k)
	item, ok := e.lines[id]
	if !ok {
		return nil, fmt.Errorf("the file has no %s %s", k.Of, k.ID)
	}
	m := item.Resolve()
	if end := openEnd(m); end != nil && k.Of == diag.HoseHolder && k.Attribute == "height" {
		if v := get(end, "height"); v != nil && !v.Null {
			return nil, has(k, v.Resolve().Text, value)
		}
		return set(end, []string{"height"}, value)
	}
	if v := get(m, k.Attribute); v != nil && !v.Null {
		return nil, has(k, v.Resolve().Text, value)
	}
	if stretch < 0 || manyOf[k.Attribute] == "" {
		return e.Line(id, k.Attribute, value)
	}
	if v := get(m, manyOf[k.Attribute]); v != nil && v.Resolve().Kind == read.List {
		list := v.Resolve().Entries
		if stretch < len(list) && !list[stretch].Null {
			return nil, has(k, list[stretch].Resolve().Text, value)
		}
		n = len(list)
	}
	values := make([]string, max(n, stretch+1))
	values[stretch] = value
	return e.Stretches(id, k.Attribute, values)
}

// stretchOf finds the written id of a line, and which of its n stretches a key
// names; −1 for the whole line.
func (e *Editor) stretchOf(k diag.Key) (id string, stretch, n int) {
	id, stretch = k.ID, -1
	list := e.stretchesOf(k.Of)
	for _, r := range list {
		if r.id == k.ID && r.path != "" && r.path != r.id {
			id, stretch = r.path, r.index
		}
	}
	for _, r := range list {
		if r.path == id {
			n = max(n, r.index+1)
		}
	}
	return id, stretch, n
}

// stretchRef is a stretch of a line: its own id, the written one, its place.
type stretchRef struct {
	id, path string
	index    int
}

func (e *Editor) stretchesOf(h diag.Holder) []stretchRef {
	var out []stretchRef
	if h == diag.HoseHolder {
		for _, x := range e.boat.Hoses {
			if !x.Implied {
				out = append(out, stretchRef{x.ID, x.Path, x.Stretch})
			}
		}
		return out
	}
	for _, x := range e.boat.Wires {
		if !x.Implied && !x.Return && (x.Circuit != nil) == (h == diag.CircuitHolder) {
			out = append(out, stretchRef{x.Ref(), x.Path, x.Stretch})
		}
	}
	return out
}

// openEnd finds the description of a line's open end.
func openEnd(m *read.Node) *read.Node {
	ends := []*read.Node{get(m, "from"), get(m, "to")}
	if path := get(m, "path"); path != nil {
		ends = append(ends, path.Resolve().Entries...)
	}
	for _, n := range ends {
		if n != nil && n.Resolve().Kind == read.Map && get(n.Resolve(), "open") != nil {
			return n.Resolve()
		}
	}
	return nil
}

func (e *Editor) spaceDatum(k diag.Key, value string) ([]diag.Edit, error) {
	for _, f := range e.boat.Files {
		root := e.files[f].root
		if root == nil || root.Kind != read.Map {
			continue
		}
		spaces := get(root, "spaces")
		if spaces == nil || spaces.Resolve().Kind != read.Map {
			continue
		}
		m := get(spaces.Resolve(), k.ID)
		if m == nil {
			continue
		}
		if v := get(m, k.Attribute); v != nil && !v.Null {
			return nil, has(k, v.Resolve().Text, value)
		}
		return set(m, []string{k.Attribute}, value)
	}
	return nil, fmt.Errorf("the file describes no space %s", k.ID)
}

// sectionDatum writes a key of a section that is one mapping, and opens the
// section where the file has none.
func (e *Editor) sectionDatum(k diag.Key, value string) ([]diag.Edit, error) {
	i := slices.IndexFunc(read.Sections(), func(s *read.Section) bool { return s.Name == string(k.Of) })
	if i < 0 || read.Sections()[i].Field(k.Attribute) == nil {
		return nil, fmt.Errorf("the section %s has no %s", k.Of, k.Attribute)
	}
	for _, f := range e.boat.Files {
		root := e.files[f].root
		if root == nil || root.Kind != read.Map {
			continue
		}
		m := get(root, string(k.Of))
		if m == nil {
			continue
		}
		if v := get(m, k.Attribute); v != nil && !v.Null {
			return nil, has(k, v.Resolve().Text, value)
		}
		return set(m, []string{k.Attribute}, value)
	}
	f := e.boat.Files[0]
	root := e.files[f].root
	if root == nil || root.Kind != read.Map || root.Style != read.Block {
		return nil, fmt.Errorf("%s is not written in lines: add the section %s by hand", f.Name, k.Of)
	}
	end := lineEnd(f.Text, root.End)
	nl := newline(f.Text, len(f.Text))
	return []diag.Edit{{Span: source.Span{File: f, Start: end, End: end},
		New: nl + string(k.Of) + ": {" + k.Attribute + ": " + valueText(value, true, read.Plain) + "}"}}, nil
}
