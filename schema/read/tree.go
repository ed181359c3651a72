package read

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"fitout/schema/source"

	"gopkg.in/yaml.v3"
)

// Bounds on hostile input. The language fixes the first three.
const (
	mostText   = 32 << 20
	mostLevels = 64
	mostGrowth = 10
	// growthFloor is the number of nodes that aliases may always make: tenfold
	// growth of a tiny file is no threat.
	growthFloor = 2000
	// mostValues bounds what the YAML library may allocate (about 200 bytes a
	// value) before it starts.
	mostValues = 3_000_000
)

// NodeKind is what a node of the file is.
type NodeKind uint8

// The kinds of node.
const (
	Scalar NodeKind = iota
	Map
	List
	Alias
)

// Style is how a node is written.
type Style uint8

// The styles.
const (
	Plain Style = iota
	SingleQuoted
	DoubleQuoted
	Literal // |
	Folded  // >
	Flow    // { } or [ ]
	Block
)

// Node is one value of a file as it is written. Start and End are byte offsets;
// an anchor or tag before the value is not part of it, quotes and brackets are.
type Node struct {
	Kind  NodeKind
	Style Style
	// Null is set where nothing is written, or a plain null or ~.
	Null bool
	// Braced is set for a flow mapping in braces; the single pair in [a: b] has
	// none.
	Braced bool
	File   *source.File
	Start  int
	End    int
	// Text is a scalar's text as it stands, without quotes.
	Text string
	// Entries are a list's items, or a mapping's keys and values in turn.
	Entries []*Node
	// To is what an alias names.
	To *Node

	merge  bool
	depth  int32
	weight int // how many nodes it is with its aliases written out
}

// Span returns where the node stands.
func (n *Node) Span() source.Span { return source.Span{File: n.File, Start: n.Start, End: n.End} }

// Resolve follows an alias.
func (n *Node) Resolve() *Node {
	for n.Kind == Alias && n.To != nil {
		n = n.To
	}
	return n
}

// treeError is a mistake that keeps a file from being read at all.
type treeError struct {
	start, end int
	message    string
}

// Tree parses the text of a file into nodes. The root is nil for a file with
// nothing in it. A mistake of syntax is returned as a problem.
func Tree(file *source.File) (root *Node, problems []Problem) {
	root, fault := parse(file)
	if fault != nil {
		return nil, []Problem{{
			Span:    source.Span{File: file, Start: fault.start, End: fault.end},
			Message: fault.message,
		}}
	}
	return root, nil
}

func parse(file *source.File) (root *Node, fault *treeError) {
	if fault = screen(file.Text); fault != nil {
		return nil, fault
	}
	body := strings.TrimPrefix(file.Text, bom)
	top, err := decode(body)
	if err != nil {
		return nil, explain(file.Text, err)
	}
	if top == nil || len(top.Content) == 0 {
		return nil, nil
	}
	m := newMender(file)
	root = m.build(top.Content[0], 1)
	if m.fault == nil && root.weight > max(mostGrowth*m.count, growthFloor) {
		m.fail(root.Start, root.Start, fmt.Sprintf("aliases make the file more than %d times as large as it is written", mostGrowth))
	}
	return root, m.fault
}

// decode calls the YAML library and turns a panic of it into an error.
func decode(text string) (top *yaml.Node, err error) {
	defer func() {
		if p := recover(); p != nil {
			top, err = nil, fmt.Errorf("yaml: the file cannot be parsed")
		}
	}()
	d := yaml.NewDecoder(strings.NewReader(text))
	var doc yaml.Node
	if err := d.Decode(&doc); err == io.EOF {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	var second yaml.Node
	switch err := d.Decode(&second); {
	case err == io.EOF:
		return &doc, nil
	case err != nil:
		return nil, err
	}
	return nil, fmt.Errorf("yaml: line %d: %s", second.Line, secondDocument)
}

const bom = "\uFEFF"

// mender finds the byte span of each node: the YAML library gives the start as
// a line and a column in characters, and no end.
type mender struct {
	file   *source.File
	text   string
	starts []int32 // byte offset of each line as YAML counts lines
	wide   []bool  // whether a line holds characters of several bytes
	// the last place looked up on a wide line: long lines are walked once
	line, column, at int

	count    int
	anchored map[*yaml.Node]*Node // nil while it is being built
	slab     []Node
	fault    *treeError
}

func newMender(file *source.File) *mender {
	m := &mender{file: file, text: file.Text, anchored: map[*yaml.Node]*Node{}}
	first := len(m.text) - len(strings.TrimPrefix(m.text, bom))
	m.starts = append(m.starts, int32(first))
	wide := false
	for i := first; i < len(m.text); {
		n := lineBreak(m.text, i)
		if n == 0 {
			wide = wide || m.text[i] >= utf8.RuneSelf
			i++
			continue
		}
		i += n
		m.starts = append(m.starts, int32(i))
		m.wide = append(m.wide, wide)
		wide = false
	}
	m.wide = append(m.wide, wide)
	return m
}

// lineBreak returns the length of the line break at i, or 0. YAML 1.1 counts
// five of them.
func lineBreak(s string, i int) int {
	switch c := s[i]; {
	case c == '\n':
		return 1
	case c == '\r':
		if i+1 < len(s) && s[i+1] == '\n' {
			return 2
		}
		return 1
	case c == 0xC2 && strings.HasPrefix(s[i:], "\u0085"):
		return 2
	case c == 0xE2 && (strings.HasPrefix(s[i:], "\u2028") || strings.HasPrefix(s[i:], "\u2029")):
		return 3
	}
	return 0
}

// offset turns line and column (both from 1) into a byte offset.
func (m *mender) offset(line, column int) int {
	if line < 1 || line > len(m.starts) {
		return len(m.text)
	}
	start := int(m.starts[line-1])
	if !m.wide[line-1] {
		return min(start+column-1, len(m.text))
	}
	if m.line != line || m.column > column {
		m.line, m.column, m.at = line, 1, start
	}
	for m.column < column && m.at < len(m.text) {
		_, n := utf8.DecodeRuneInString(m.text[m.at:])
		m.at += n
		m.column++
	}
	return m.at
}

func (m *mender) fail(start, end int, message string) {
	if m.fault == nil {
		m.fault = &treeError{start, end, message}
	}
}

func (m *mender) newNode() *Node {
	if len(m.slab) == 0 {
		m.slab = make([]Node, 512)
	}
	n := &m.slab[0]
	m.slab = m.slab[1:]
	m.count++
	n.File, n.weight, n.depth = m.file, 1, 1
	return n
}

func (m *mender) build(y *yaml.Node, level int) *Node {
	n := m.newNode()
	n.Start = m.offset(y.Line, y.Column)
	n.End = n.Start
	if level > mostLevels {
		m.fail(n.Start, n.Start, fmt.Sprintf("more than %d levels inside one another", mostLevels))
		return n
	}
	if m.fault != nil {
		return n
	}
	if y.Anchor != "" && y.Kind != yaml.AliasNode {
		m.anchored[y] = nil
		defer func() { m.anchored[y] = n }()
	}
	if n.Start < len(m.text) && (m.text[n.Start] == '&' || m.text[n.Start] == '!') {
		// The library puts the start at an anchor or tag before the value.
		hasValue := y.Kind != yaml.ScalarNode || y.Value != "" || y.Style&^yaml.TaggedStyle != 0
		n.Start = skipAnchor(m.text, n.Start, hasValue)
		n.End = n.Start
		if n.Start < len(m.text) && m.text[n.Start] == '!' {
			m.fail(n.Start, n.Start+1, "a tag (!…) says nothing here: every value is the text that stands in the file")
			return n
		}
	}
	switch y.Kind {
	case yaml.AliasNode:
		m.alias(n, y)
	case yaml.MappingNode:
		n.Kind = Map
		m.children(n, y, level)
	case yaml.SequenceNode:
		n.Kind = List
		m.children(n, y, level)
	default:
		m.scalar(n, y)
	}
	return n
}

func (m *mender) alias(n *Node, y *yaml.Node) {
	n.Kind = Alias
	n.End = nameEnd(m.text, min(n.Start+1, len(m.text)))
	target, known := m.anchored[y.Alias]
	if !known || target == nil {
		m.fail(n.Start, n.End, fmt.Sprintf("the alias *%s stands inside what it names", y.Value))
		n.Kind, n.Null = Scalar, true
		return
	}
	n.To, n.depth = target, target.depth
	n.weight = target.weight
	if n.depth > mostLevels {
		m.fail(n.Start, n.End, fmt.Sprintf("more than %d levels inside one another", mostLevels))
	}
}

func (m *mender) children(n *Node, y *yaml.Node, level int) {
	n.Style = Block
	if y.Style&yaml.FlowStyle != 0 {
		n.Style = Flow
	}
	n.Entries = make([]*Node, 0, len(y.Content))
	end := n.Start
	open := n.Style == Flow && n.Start < len(m.text) && (m.text[n.Start] == '{' || m.text[n.Start] == '[')
	n.Braced = open && n.Kind == Map
	if open {
		end++
	}
	for i, child := range y.Content {
		c := m.build(child, level+1)
		if m.fault != nil {
			return
		}
		if c.Null && c.Start == c.End {
			m.placeEmpty(c, end, n.Kind == Map && i%2 == 1)
		}
		n.Entries = append(n.Entries, c)
		n.weight = min(n.weight+c.weight, 1<<40)
		n.depth = max(n.depth, c.depth+1)
		end = max(end, c.End)
	}
	if n.depth > mostLevels {
		m.fail(n.Start, n.Start, fmt.Sprintf("more than %d levels inside one another", mostLevels))
	}
	if open {
		end = closing(m.text, end)
	}
	n.End = end
}

// placeEmpty puts a value that is not there behind the colon of its key; the
// library reports the place of whatever follows.
func (m *mender) placeEmpty(c *Node, end int, isValue bool) {
	at := min(max(c.Start, end), len(m.text))
	if isValue {
		at = end
		i := end
		for i < len(m.text) && (m.text[i] == ' ' || m.text[i] == '\t') {
			i++
		}
		if i < len(m.text) && m.text[i] == ':' {
			at = i + 1
		}
	}
	c.Start, c.End = at, at
}

func (m *mender) scalar(n *Node, y *yaml.Node) {
	n.Text = y.Value
	switch {
	case y.Style&yaml.DoubleQuotedStyle != 0:
		n.Style = DoubleQuoted
		n.End = quoteEnd(m.text, n.Start)
	case y.Style&yaml.SingleQuotedStyle != 0:
		n.Style = SingleQuoted
		n.End = quoteEnd(m.text, n.Start)
	case y.Style&yaml.LiteralStyle != 0:
		n.Style = Literal
		n.End = blockEnd(m.text, n.Start)
	case y.Style&yaml.FoldedStyle != 0:
		n.Style = Folded
		n.End = blockEnd(m.text, n.Start)
	default:
		n.End = plainEnd(m.text, n.Start, y.Value)
		n.Null = y.Value == "" || y.Value == "~" || y.Value == "null" || y.Value == "Null" || y.Value == "NULL"
		n.merge = y.Value == "<<"
	}
}
