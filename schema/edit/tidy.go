package edit

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/read"
	"fitout/schema/source"
	"fitout/schema/unit"
)

// Tidy returns the text of an installation file in its usual order and spelling:
// sections in the order of the reference page, one name for one thing, units as
// the reference page writes them, a blank after each comma and colon, no blanks
// at the ends of lines. Comments stay with what they stand at. The installation
// is the same before and after; a text with mistakes is refused. Only the file
// itself is tidied, not what it includes.
func Tidy(files read.Opener, name string, catalogue *schema.Catalogue) (string, error) {
	data, err := files(name)
	if err != nil {
		return "", err
	}
	before, problems := read.Boat(files, name, catalogue)
	if len(problems) > 0 {
		line, column := problems[0].Span.Position()
		return "", fmt.Errorf("%s:%d:%d: %s", problems[0].Span.Name(), line, column, problems[0].Message)
	}
	same := func(text string) error {
		after, problems := read.Boat(func(n string) ([]byte, error) {
			if n == name {
				return []byte(text), nil
			}
			return files(n)
		}, name, catalogue)
		if len(problems) > 0 {
			return fmt.Errorf("the tidy text cannot be read: %s", problems[0].Message)
		}
		if ok, was, is := Same(before, after); !ok {
			return fmt.Errorf("the tidy text means another installation: %q became %q", was, is)
		}
		return nil
	}
	text, err := respellFile(before, before.Files[0])
	if err != nil {
		return "", err
	}
	if err := same(text); err != nil {
		return "", err
	}
	// Sections that cannot be moved (an alias would come before its anchor) stay.
	if ordered := order(name, text); ordered != text && same(ordered) == nil {
		text = ordered
	}
	if len(data) > 0 && before.Files[0].Text == text {
		return string(data), nil
	}
	return text, nil
}

// tidier collects the edits of one file.
type tidier struct {
	boat     *schema.Boat
	file     *source.File
	edits    []diag.Edit
	verbatim [][2]int // spans whose line ends may not be touched
}

func respellFile(b *schema.Boat, f *source.File) (string, error) {
	root, _ := read.Tree(f)
	if root == nil {
		return f.Text, nil
	}
	t := &tidier{boat: b, file: f}
	t.sections(root.Resolve())
	t.spacing(root)
	t.lineEnds()
	return Apply(f, t.edits)
}

func (t *tidier) replace(n *read.Node, text string) {
	if n.File == t.file && n.Span().Text() != text {
		t.edits = append(t.edits, diag.Edit{Span: n.Span(), New: text})
	}
}

// pairs calls each for the pairs a mapping itself has.
func pairs(m *read.Node, each func(key, value *read.Node)) {
	if m.Kind != read.Map {
		return
	}
	for i := 0; i+1 < len(m.Entries); i += 2 {
		each(m.Entries[i], m.Entries[i+1])
	}
}

func (t *tidier) sections(root *read.Node) {
	sections := map[string]*read.Section{}
	for _, s := range read.Sections() {
		if sections[s.Name] == nil {
			sections[s.Name] = s
		}
	}
	pairs(root, func(key, value *read.Node) {
		s := sections[key.Text]
		switch key.Text {
		case "vessel", "rules", "sheets":
			t.fields(s, value)
		case "spaces", "looms", "conditions":
			pairs(value, func(_, item *read.Node) { t.fields(s, item) })
		case "deviations", "readings":
			for _, item := range value.Entries {
				t.fields(s, item)
			}
		case "wires", "circuits", "hoses":
			for _, item := range value.Entries {
				t.fields(s, item)
				t.places(item)
			}
		case "parts":
			pairs(value, func(id, item *read.Node) { t.part(id.Text, item) })
		case "stock":
			pairs(value, func(id, item *read.Node) { t.stock(item) })
		case "defaults":
			pairs(value, func(name, item *read.Node) {
				if s := sections[name.Text]; s != nil {
					t.fields(s, item)
				} else if k := t.boat.Kinds.Kind(name.Text); k != nil {
					t.replaceWord(name, k.Name)
					t.attributes(k, item)
				}
			})
		}
	})
}

// fields tidies the keys and values of an item of a section.
func (t *tidier) fields(s *read.Section, item *read.Node) {
	pairs(item, func(key, value *read.Node) {
		f := s.Field(key.Text)
		if f == nil {
			return
		}
		t.replaceWord(key, f.Name)
		switch f.Form {
		case read.One, read.OneOrMore, read.Pair, read.PerStretch, read.SizeOrAuto:
			t.value(&f.Attr, value)
		}
	})
}

// replaceWord writes a word another way, in the quotes it has.
func (t *tidier) replaceWord(n *read.Node, word string) {
	if n.Kind == read.Scalar && n.Text != word {
		t.replace(n, scalar(word, true, n.Style))
	}
}

// value tidies a quantity or a word, or each of a list.
func (t *tidier) value(a *schema.Attr, n *read.Node) {
	if n.Kind == read.List {
		for _, item := range n.Entries {
			t.value(a, item)
		}
		return
	}
	if n.Kind != read.Scalar || n.Null {
		return
	}
	for _, w := range a.Also {
		if w[0] == n.Text {
			t.replaceWord(n, w[1])
			return
		}
	}
	if a.Type == schema.Quantity || a.Type == schema.Curve {
		t.quantity(a.Dims, n)
	}
}

func (t *tidier) quantity(dims []unit.Dimension, n *read.Node) {
	if n.Kind != read.Scalar {
		return
	}
	for _, d := range dims {
		if text, ok := respell(d, n.Text); ok {
			t.replaceWord(n, text)
			return
		}
	}
}

// places tidies the parts that a line describes in place.
func (t *tidier) places(item *read.Node) {
	pairs(item, func(_, value *read.Node) { t.place(value) })
}

func (t *tidier) place(n *read.Node) {
	switch n.Kind {
	case read.List:
		for _, c := range n.Entries {
			t.place(c)
		}
	case read.Map:
		pairs(n, func(id, desc *read.Node) {
			if id.Text == "height" {
				t.quantity([]unit.Dimension{unit.Length}, desc)
				return
			}
			t.part(id.Text, desc)
		})
	}
}

func (t *tidier) part(id string, item *read.Node) {
	p := t.boat.Part(id)
	if p == nil || item.Kind != read.Map {
		return
	}
	t.attributes(p.Kind, item)
}

func (t *tidier) stock(item *read.Node) {
	if v := get(item, "kind"); v != nil {
		if k := t.boat.Kinds.Kind(v.Resolve().Text); k != nil {
			t.attributes(k, item)
		}
	}
}

// attributes tidies the description of a part of the kind.
func (t *tidier) attributes(k *schema.Kind, item *read.Node) {
	pairs(item, func(key, value *read.Node) {
		if key.Text == "kind" {
			if k := t.boat.Kinds.Kind(value.Text); k != nil && value.Kind == read.Scalar {
				t.replaceWord(value, k.Name)
			}
			return
		}
		a := k.Attr(key.Text)
		if a == nil {
			return
		}
		t.replaceWord(key, a.Name)
		switch a.Type {
		case schema.WayMap:
			for _, s := range read.Sections() {
				if s.Name == "ways" {
					pairs(value, func(_, way *read.Node) { t.fields(s, way) })
				}
			}
		case schema.CockOf:
			if cock := t.boat.Kinds.Kind("seacock"); cock != nil {
				t.attributes(cock, value)
			}
		case schema.Curve:
			pairs(value, func(x, y *read.Node) {
				t.quantity(a.X, x)
				t.quantity(a.Y, y)
			})
			t.value(a, value)
		default:
			t.value(a, value)
		}
	})
}

// spacing puts a blank after each comma and colon of flow collections and takes
// those before them away. It also notes the values whose lines are left alone.
func (t *tidier) spacing(n *read.Node) {
	if n.Kind == read.Scalar && strings.ContainsAny(n.Span().Text(), "\n\r") {
		t.verbatim = append(t.verbatim, [2]int{n.Start, n.End})
	}
	for i, c := range n.Entries {
		if i > 0 && n.Style == read.Flow {
			t.gap(n.Entries[i-1], c, n.Kind == read.Map && i%2 == 1)
		}
		t.spacing(c)
	}
}

// gap tidies what stands between two values: a comma or colon, blanks. Blanks
// that align columns stay.
func (t *tidier) gap(a, b *read.Node, colon bool) {
	if a.End >= b.Start || b.Start == b.End {
		return
	}
	between := t.file.Text[a.End:b.Start]
	mark := ","
	if colon {
		mark = ":"
	}
	trimmed := strings.TrimLeft(between, " \t")
	after, ok := strings.CutPrefix(trimmed, mark)
	if !ok || strings.Trim(after, " \t") != "" || a.Kind == read.Alias || a.Start == a.End {
		return
	}
	if after == "" {
		after = " "
	}
	if text := mark + after; text != between {
		t.edits = append(t.edits, diag.Edit{Span: source.Span{File: t.file, Start: a.End, End: b.Start}, New: text})
	}
}

// lineEnds takes the blanks at the ends of lines away.
func (t *tidier) lineEnds() {
	sort.Slice(t.verbatim, func(i, j int) bool { return t.verbatim[i][0] < t.verbatim[j][0] })
	text, v := t.file.Text, 0
	for at := 0; at < len(text); {
		stop := lineEnd(text, at)
		for v < len(t.verbatim) && t.verbatim[v][1] < stop {
			v++
		}
		kept := len(strings.TrimRight(text[at:stop], " \t")) + at
		inside := v < len(t.verbatim) && t.verbatim[v][0] < stop && stop <= t.verbatim[v][1]
		if kept < stop && !inside {
			t.edits = append(t.edits, diag.Edit{Span: source.Span{File: t.file, Start: kept, End: stop}})
		}
		at = stop + 1
	}
}

// order puts the sections of a file in their usual order. What stands above the
// first section's own comment stays at the top.
func order(name, text string) string {
	root, problems := read.Tree(source.New(name, text))
	if len(problems) > 0 || root == nil || root.Kind != read.Map || root.Style != read.Block {
		return text
	}
	type chunk struct {
		rank, start int
		text        string
	}
	usual := read.TopLevel()
	var chunks []chunk
	for i := 0; i+1 < len(root.Entries); i += 2 {
		rank := slices.Index(usual, root.Entries[i].Text)
		if rank < 0 {
			return text
		}
		chunks = append(chunks, chunk{rank: rank, start: above(text, root.Entries[i].Start)})
	}
	for i := range chunks {
		end := len(text)
		if i+1 < len(chunks) {
			end = chunks[i+1].start
		}
		if end < chunks[i].start {
			return text
		}
		chunks[i].text = text[chunks[i].start:end]
	}
	if slices.IsSortedFunc(chunks, func(a, b chunk) int { return a.rank - b.rank }) {
		return text
	}
	head := text[:chunks[0].start]
	slices.SortStableFunc(chunks, func(a, b chunk) int { return a.rank - b.rank })
	var out strings.Builder
	out.WriteString(head)
	for _, c := range chunks {
		out.WriteString(c.text)
		if !strings.HasSuffix(c.text, "\n") {
			out.WriteString(newline(text, 0))
		}
	}
	return out.String()
}

// above returns where the comment lines that stand right above a line begin.
func above(text string, i int) int {
	start := strings.LastIndexByte(text[:i], '\n') + 1
	for start > 0 {
		prev := strings.LastIndexByte(text[:start-1], '\n') + 1
		if !strings.HasPrefix(text[prev:start], "#") {
			break
		}
		start = prev
	}
	if start == 0 {
		return len(text) - len(strings.TrimPrefix(text, "\uFEFF"))
	}
	return start
}
