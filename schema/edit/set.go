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

// Editor finds the places of a boat's items in its files. It changes nothing:
// its methods return edits.
type Editor struct {
	boat  *schema.Boat
	files map[*source.File]*index
	lines map[string]*read.Node // items of wires, circuits, hoses by written id
}

// index says what stands where in one file.
type index struct {
	root   *read.Node
	values map[int]*read.Node // by the start of their key
	owners map[int]owner      // by the start of a scalar value: the mapping it is in
}

type owner struct {
	key     string
	mapping *read.Node
}

// On returns an editor of the boat's files.
func On(b *schema.Boat) *Editor {
	e := &Editor{boat: b, files: map[*source.File]*index{}, lines: map[string]*read.Node{}}
	for _, f := range b.Files {
		x := &index{values: map[int]*read.Node{}, owners: map[int]owner{}}
		e.files[f] = x
		x.root, _ = read.Tree(f)
		if x.root == nil {
			continue
		}
		x.walk(x.root)
		e.collect(x.root)
	}
	return e
}

func (x *index) walk(n *read.Node) {
	for i, c := range n.Entries {
		if n.Kind == read.Map && i%2 == 1 {
			key := n.Entries[i-1]
			x.values[key.Start] = c
			if c.Kind == read.Scalar {
				x.owners[c.Start] = owner{key.Text, n}
			}
		}
		x.walk(c)
	}
}

// collect finds the items of the sections that are lists.
func (e *Editor) collect(root *read.Node) {
	if root.Kind != read.Map {
		return
	}
	for i := 0; i+1 < len(root.Entries); i += 2 {
		if !slices.Contains([]string{"wires", "circuits", "hoses"}, root.Entries[i].Text) {
			continue
		}
		for _, item := range root.Entries[i+1].Resolve().Entries {
			m := item.Resolve()
			if m.Kind != read.Map {
				continue
			}
			if v := get(m, "id"); v != nil {
				if _, has := e.lines[v.Resolve().Text]; !has {
					e.lines[v.Resolve().Text] = item
				}
			}
		}
	}
}

// get returns the value of one of the keys in a mapping, merged ones left out.
func get(m *read.Node, keys ...string) *read.Node {
	_, v := pair(m, keys...)
	return v
}

func pair(m *read.Node, keys ...string) (key, value *read.Node) {
	for i := 0; i+1 < len(m.Entries); i += 2 {
		if slices.Contains(keys, m.Entries[i].Text) {
			return m.Entries[i], m.Entries[i+1]
		}
	}
	return nil, nil
}

// Part sets an attribute of a part, replacing the value it has or adding the key
// to the part's description.
func (e *Editor) Part(id, key, value string) ([]diag.Edit, error) {
	p := e.boat.Part(id)
	if p == nil {
		return nil, fmt.Errorf("no part %s", id)
	}
	names := []string{key}
	if a := p.Kind.Attr(key); a != nil {
		names = append([]string{a.Name}, a.Aliases...)
	} else if key != "kind" && key != "stock" {
		return nil, fmt.Errorf("a %s has no %s", p.Kind.Name, key)
	}
	x := e.files[p.At.File]
	if x == nil {
		return nil, fmt.Errorf("%s stands in no file", id)
	}
	if m, ok := x.values[p.At.Start]; ok {
		if m.Kind == read.Scalar && !m.Null {
			return shortPart(p, m, key, value), nil
		}
		return set(m, names, value)
	}
	switch o := x.owners[p.At.Start]; {
	case o.key == "id":
		return set(o.mapping, names, value)
	case o.key == "seacock":
		n := get(o.mapping, "seacock")
		return []diag.Edit{{Span: n.Span(), New: fmt.Sprintf("{id: %s, %s: %s}", id, key, scalar(value, true, read.Plain))}}, nil
	}
	return nil, fmt.Errorf("%s cannot be found in %s", id, p.At.Name())
}

// shortPart changes a part described as {F2: class-t 200 A}.
func shortPart(p *schema.Part, n *read.Node, key, value string) []diag.Edit {
	if v := p.Get(key); v != nil && v.At.File == n.File && v.At.Start >= n.Start && v.At.End <= n.End && v.At.Text() == v.Text {
		return []diag.Edit{{Span: v.At, New: value}}
	}
	words := []string{"kind: " + p.Kind.Name}
	for _, v := range p.Attrs {
		if v.From == schema.Own && v.Attr.Name != key {
			words = append(words, v.Attr.Name+": "+scalar(v.Text, true, read.Plain))
		}
	}
	words = append(words, key+": "+scalar(value, true, read.Plain))
	return []diag.Edit{{Span: n.Span(), New: "{" + strings.Join(words, ", ") + "}"}}
}

// Line sets a key of an item of wires, circuits or hoses, found by its written
// id.
func (e *Editor) Line(id, key, value string) ([]diag.Edit, error) {
	m, ok := e.lines[id]
	if !ok {
		return nil, fmt.Errorf("no wire, circuit or hose %s", id)
	}
	return set(m, spellings(key), value)
}

// spellings lists a key of wires, circuits or hoses with its other spellings.
func spellings(key string) []string {
	for _, s := range read.Sections() {
		if f := s.Field(key); f != nil && len(f.Aliases) > 0 {
			return append([]string{f.Name}, f.Aliases...)
		}
	}
	return []string{key}
}

// manyOf names the key that holds a list with one value a stretch.
var manyOf = map[string]string{"size": "sizes", "length": "lengths", "resistance": "resistances", "peak": "peaks", "dip": "dips"}

// Stretches sets a value for each stretch of an item found by its written id: one
// key where all are alike, else a list. An empty text leaves a stretch as it is
// where the item has a list, and makes it null where it has none.
func (e *Editor) Stretches(id, key string, values []string) ([]diag.Edit, error) {
	item, ok := e.lines[id]
	if !ok {
		return nil, fmt.Errorf("no wire, circuit or hose %s", id)
	}
	m := item.Resolve()
	if item.Kind == read.Alias {
		return nil, aliased(item)
	}
	many := manyOf[key]
	if v := get(m, many); many != "" && v != nil {
		return stretchList(v, values)
	}
	alike := true
	for _, v := range values {
		alike = alike && v == values[0]
	}
	if alike && len(values) > 0 && values[0] != "" {
		return set(m, []string{key}, values[0])
	}
	if many == "" {
		return nil, fmt.Errorf("%s cannot differ from stretch to stretch", key)
	}
	if k, v := pair(m, key); k != nil {
		return []diag.Edit{{Span: k.Span(), New: many}, {Span: v.Span(), New: list(values)}}, nil
	}
	return insert(m, many, list(values))
}

// stretchList replaces the items of a list that change.
func stretchList(v *read.Node, values []string) ([]diag.Edit, error) {
	n := v.Resolve()
	if v.Kind == read.Alias {
		return nil, aliased(v)
	}
	if n.Kind != read.List || len(n.Entries) != len(values) {
		return nil, fmt.Errorf("%s:%d: the list does not have %d values", n.File.Name, n.Span().Line(), len(values))
	}
	var out []diag.Edit
	for i, item := range n.Entries {
		if values[i] != "" && item.Resolve().Text != values[i] {
			out = append(out, diag.Edit{Span: item.Span(), New: scalar(values[i], n.Style == read.Flow, item.Style)})
		}
	}
	return out, nil
}

// Way sets a key of a panel's way. The rating of a way that the panel does not
// list is set at the circuit that leaves it.
func (e *Editor) Way(part, way, key, value string) ([]diag.Edit, error) {
	p := e.boat.Part(part)
	if p == nil {
		return nil, fmt.Errorf("no part %s", part)
	}
	if m := e.way(p, way); m != nil {
		return set(m, []string{key}, value)
	}
	for _, c := range e.boat.Circuits {
		if t, ok := p.Terminal(c.Feed.Terminal); key == "rating" && c.Feed.Part == p && ok && t.Way == way {
			return e.Line(c.ID, "rating", value)
		}
	}
	return nil, fmt.Errorf("%s does not list its way %s", part, way)
}

// way finds the description of a way that the part itself lists.
func (e *Editor) way(p *schema.Part, way string) *read.Node {
	x := e.files[p.At.File]
	if x == nil {
		return nil
	}
	m := x.values[p.At.Start]
	if m == nil || m.Kind != read.Map {
		return nil
	}
	ways := get(m, "ways")
	if ways == nil || ways.Kind != read.Map {
		return nil
	}
	return get(ways, way)
}

func aliased(n *read.Node) error {
	return fmt.Errorf("%s:%d: %s is an alias; what it names is shared and must be changed by hand", n.File.Name, n.Span().Line(), n.Span().Text())
}

// set replaces the value of a key in a mapping, or adds the key.
func set(m *read.Node, names []string, value string) ([]diag.Edit, error) {
	if m.Kind == read.Alias {
		return nil, aliased(m)
	}
	if v := get(m, names...); v != nil {
		style := read.Plain
		if v.Kind == read.Scalar {
			style = v.Style
		}
		text := valueText(value, m.Style == read.Flow, style)
		if v.Null && v.Start == v.End && v.Start > 0 && v.File.Text[v.Start-1] != ' ' {
			text = " " + text
		}
		return []diag.Edit{{Span: v.Span(), New: text}}, nil
	}
	return insert(m, names[0], valueText(value, m.Style == read.Flow, read.Plain))
}

// insert adds a key to a mapping in the style of its neighbours.
func insert(m *read.Node, key, written string) ([]diag.Edit, error) {
	at := func(from, to int, text string) diag.Edit {
		return diag.Edit{Span: source.Span{File: m.File, Start: from, End: to}, New: text}
	}
	switch {
	case m.Kind == read.Scalar && m.Null && m.Start == m.End:
		return []diag.Edit{at(m.Start, m.End, " {"+key+": "+written+"}")}, nil
	case m.Kind != read.Map:
		return nil, fmt.Errorf("%s:%d: no mapping to add %s to", m.File.Name, m.Span().Line(), key)
	case m.Style == read.Flow && !m.Braced:
		return nil, fmt.Errorf("%s:%d: %s cannot be added to a single pair", m.File.Name, m.Span().Line(), key)
	case len(m.Entries) == 0:
		return []diag.Edit{at(m.Start, m.End, "{"+key+": "+written+"}")}, nil
	case m.Style == read.Flow:
		return insertFlow(m, at, key+": "+written), nil
	}
	return insertBlock(m, at, key+": "+written), nil
}

type editAt func(from, to int, text string) diag.Edit

// insertFlow adds a pair before the closing brace: on the last line, or on a
// line of its own where each of the others has one.
func insertFlow(m *read.Node, at editAt, pair string) []diag.Edit {
	text, last := m.File.Text, m.Entries[len(m.Entries)-1]
	key := m.Entries[len(m.Entries)-2]
	indent, alone := ownLine(text, key.Start)
	if !alone || len(m.Entries) < 4 || strings.TrimRight(text[m.Start:m.Entries[0].Start], " \t") == "{" {
		return []diag.Edit{at(last.End, last.End, ", "+pair)}
	}
	comma := strings.TrimLeft(text[last.End:m.End], " \t")
	tail := strings.HasPrefix(comma, ",")
	stop := lineEnd(text, last.End)
	if stop >= m.End { // the brace stands on the line of the last pair
		return []diag.Edit{at(last.End, last.End, ","+newline(text, last.End)+indent+pair)}
	}
	if tail {
		return []diag.Edit{at(stop, stop, newline(text, stop)+indent+pair+",")}
	}
	return []diag.Edit{at(last.End, last.End, ","), at(stop, stop, newline(text, stop)+indent+pair)}
}

// insertBlock adds a line after the last pair of a block mapping.
func insertBlock(m *read.Node, at editAt, pair string) []diag.Edit {
	text, last := m.File.Text, m.Entries[len(m.Entries)-1]
	key := m.Entries[len(m.Entries)-2]
	indent, alone := ownLine(text, key.Start)
	if !alone {
		indent = strings.Repeat(" ", len(indent))
	}
	stop := lineEnd(text, max(last.End, key.End))
	return []diag.Edit{at(stop, stop, newline(text, stop)+indent+pair)}
}

// ownLine returns what stands before a byte on its line, and whether that is
// blank.
func ownLine(text string, i int) (before string, alone bool) {
	start := strings.LastIndexByte(text[:i], '\n') + 1
	before = strings.TrimPrefix(text[start:i], "\uFEFF")
	return before, strings.Trim(before, " \t") == ""
}

func lineEnd(text string, i int) int {
	for i < len(text) && text[i] != '\n' && text[i] != '\r' {
		i++
	}
	return i
}

// newline returns the line end that is used at a place of the text.
func newline(text string, i int) string {
	near := strings.IndexByte(text[i:], '\n')
	if near >= 0 {
		near += i
	} else {
		near = strings.LastIndexByte(text[:i], '\n')
	}
	if near > 0 && text[near-1] == '\r' {
		return "\r\n"
	}
	return "\n"
}
