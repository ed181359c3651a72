package read

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/source"
)

// Opener returns the text of a file by its name. The reader opens nothing
// itself.
type Opener func(name string) ([]byte, error)

// Boat reads an installation: the file with the name and all it includes. The
// boat is always returned, as far as it could be read; it is an installation
// only if there are no problems.
func Boat(files Opener, name string, catalogue *schema.Catalogue) (*schema.Boat, []Problem) {
	r := newReader(catalogue)
	text, err := files(name)
	if err != nil {
		r.boat.Files = []*source.File{source.New(name, "")}
		r.add(Problem{Span: source.Span{File: r.boat.Files[0]}, Message: "the file cannot be read: " + err.Error()})
		r.boat.Index()
		return r.boat, r.list
	}
	return r.read(files, name, string(text))
}

// Text reads an installation that stands in one text.
func Text(name, text string, catalogue *schema.Catalogue) (*schema.Boat, []Problem) {
	none := func(string) ([]byte, error) { return nil, fmt.Errorf("a text alone can include nothing") }
	return newReader(catalogue).read(none, name, text)
}

// reader is the state of one reading.
type reader struct {
	problems
	cat   *schema.Catalogue
	boat  *schema.Boat
	total int // bytes of text read

	sections map[string][]*Node
	attrs    map[*schema.Kind]map[string]*schema.Attr

	spaces     ids[*schema.Space]
	parts      ids[*schema.Part] // nil for a part that could not be read
	looms      ids[*schema.Loom]
	banks      ids[*schema.Bank]
	conditions ids[*schema.Condition]
	stock      ids[*stockEntry]
	electric   ids[bool] // wires and circuits
	hoseIDs    ids[bool]

	defaults map[string]*Node // by section or kind
	kindSets map[*schema.Kind][]schema.Value

	inPlace map[*Node]*schema.Part // the scalar or key of a part described in place
	runs    []*run
	meets   map[meeting]*tally
	joins   map[schema.End]bool
}

func newReader(catalogue *schema.Catalogue) *reader {
	return &reader{
		cat: catalogue, boat: &schema.Boat{Kinds: catalogue}, sections: map[string][]*Node{},
		attrs: map[*schema.Kind]map[string]*schema.Attr{}, defaults: map[string]*Node{},
		kindSets: map[*schema.Kind][]schema.Value{}, inPlace: map[*Node]*schema.Part{},
		meets: map[meeting]*tally{},
	}
}

func (r *reader) read(files Opener, name, text string) (*schema.Boat, []Problem) {
	l := &loader{r: r, files: files, base: folder(name), main: name, open: map[string]bool{}, done: map[string]source.Span{}}
	l.file(name, text, source.Span{})
	r.readDefaults()
	r.simple()
	r.declare()
	r.lines()
	r.usage()
	r.boat.Index()
	for _, h := range r.boat.Hoses {
		for _, e := range []schema.HoseEnd{h.From, h.To} {
			if e.Part != nil && !h.Prepared {
				e.Part.Plumbed = true
			}
		}
	}
	for _, p := range r.boat.Parts {
		p.Settle()
	}
	return r.boat, r.sorted(r.boat.Files)
}

// loader follows includes.
type loader struct {
	r          *reader
	files      Opener
	base, main string
	open       map[string]bool        // files being read: a second time is a loop
	done       map[string]source.Span // where each was included
}

// mostFiles bounds how many files one installation is made of.
const mostFiles = 200

func (l *loader) file(name, text string, from source.Span) {
	f := source.New(name, text)
	l.r.boat.Files = append(l.r.boat.Files, f)
	if l.r.total += len(text); l.r.total > mostText && len(text) <= mostText {
		l.r.add(Problem{Span: from, Message: fmt.Sprintf("the files together have more than %d MB", mostText>>20)})
		return
	}
	root, fault := parse(f)
	if fault != nil {
		l.r.add(Problem{Span: source.Span{File: f, Start: fault.start, End: fault.end}, Message: fault.message})
		return
	}
	if root == nil {
		if !from.Valid() {
			l.r.add(Problem{Span: source.Span{File: f}, Message: "the file is empty: it describes no installation"})
		}
		return
	}
	if root = root.Resolve(); root.Kind != Map {
		l.r.at(root, "an installation is a mapping with keys such as parts and wires")
		return
	}
	l.open[name] = true
	l.topLevel(root)
	delete(l.open, name)
}

func (l *loader) topLevel(root *Node) {
	known := TopLevel()
	var include *Node
	for _, e := range l.r.entries(root, "the file") {
		switch key := e.key.Text; {
		case key == "include":
			include = e.value
		case key == "fitout":
			l.r.version(e.value)
		case slices.Contains(known, key):
			l.r.sections[key] = append(l.r.sections[key], e.value)
		default:
			l.r.unknown(e.key.Span(), "section", key, "", known)
		}
	}
	if include != nil {
		l.includes(include)
	}
}

func (r *reader) version(n *Node) {
	if text, ok := r.hasText("fitout", n); ok && text != "1" {
		r.at(n.Resolve(), "version %s of the format is not known: this program reads version 1", clip(text))
	}
}

func (l *loader) includes(n *Node) {
	n = n.Resolve()
	items := []*Node{n}
	if n.Kind == List {
		items = n.Entries
	} else if n.Null {
		return
	}
	for _, item := range items {
		if text, ok := l.r.hasText("include", item); ok {
			l.include(item.Resolve(), text)
		}
	}
}

func (l *loader) include(n *Node, written string) {
	if strings.ContainsAny(written, "\\:") || path.IsAbs(written) || written == "" {
		l.r.at(n, "an included file is named by a relative path with forward slashes")
		return
	}
	name := path.Join(folder(n.File.Name), written)
	inside := name
	if l.base != "" {
		inside = strings.TrimPrefix(name, l.base+"/")
	}
	if inside == name && l.base != "" || path.IsAbs(inside) || inside == ".." || strings.HasPrefix(inside, "../") {
		l.r.at(n, "%s lies outside the folder of %s", written, path.Base(l.main))
		return
	}
	if l.open[name] || name == l.main {
		l.r.at(n, "%s includes itself", written)
		return
	}
	if first, twice := l.done[name]; twice {
		l.r.both(n, first, "the first time", "%s is included twice", written)
		return
	}
	l.done[name] = n.Span()
	if len(l.done) > mostFiles {
		l.r.at(n, "more than %d files are included", mostFiles)
		return
	}
	text, err := l.files(name)
	if err != nil {
		l.r.at(n, "%s cannot be read: %s", written, err)
		return
	}
	l.file(name, string(text), n.Span())
}

// folder returns the folder of a file name, "" for none.
func folder(name string) string {
	i := strings.LastIndexAny(name, `/\`)
	if i <= 0 {
		return ""
	}
	return path.Clean(name[:i])
}

// entry is one key and value of a mapping.
type entry struct{ key, value *Node }

// entries returns a mapping's keys and values in the order of writing, merged
// ones after its own. A key written twice is a mistake.
func (r *reader) entries(n *Node, what string) []entry {
	n = n.Resolve()
	if n.Null && n.Kind == Scalar {
		return nil
	}
	if n.Kind != Map {
		r.at(n, "%s needs a mapping {key: value, …}", what)
		return nil
	}
	out := make([]entry, 0, len(n.Entries)/2)
	first := finder{}
	var merges []*Node
	for i := 0; i+1 < len(n.Entries); i += 2 {
		key := n.Entries[i].Resolve()
		switch {
		case key.Kind != Scalar:
			r.at(key, "a key is one word, not a list or mapping")
			continue
		case key.merge:
			merges = append(merges, n.Entries[i+1])
			continue
		}
		if j := first.put(out, key.Text); j >= 0 {
			r.both(key, out[j].key.Span(), "the first time", "%q is written twice in %s", clip(key.Text), what)
			continue
		}
		out = append(out, entry{key, n.Entries[i+1]})
	}
	for _, m := range merges {
		out = r.merged(out, &first, m, what, 0)
	}
	return out
}

// merged adds the entries of a merge key: a mapping, or a list of them of which
// the earlier wins.
func (r *reader) merged(out []entry, first *finder, m *Node, what string, level int) []entry {
	m = m.Resolve()
	if level > mostLevels {
		return out
	}
	if m.Kind == List {
		for _, item := range m.Entries {
			out = r.merged(out, first, item, what, level+1)
		}
		return out
	}
	if m.Kind != Map {
		r.at(m, "a merge key << takes a mapping or a list of mappings")
		return out
	}
	for _, e := range r.entries(m, what) {
		if first.put(out, e.key.Text) < 0 {
			out = append(out, e)
		}
	}
	return out
}

// finder finds a key among those before it: by looking while there are few, by
// a map when there are many.
type finder struct{ index map[string]int }

// put returns where the key stands already, or -1 and takes it that the caller
// appends it now.
func (f *finder) put(before []entry, key string) int {
	if len(before) < 16 {
		for i := range before {
			if before[i].key.Text == key {
				return i
			}
		}
		return -1
	}
	if f.index == nil {
		f.index = make(map[string]int, 2*len(before))
		for i := range before {
			f.index[before[i].key.Text] = i
		}
	}
	if i, ok := f.index[key]; ok {
		return i
	}
	f.index[key] = len(before)
	return -1
}

// ids are the names of one section, found by their exact spelling; two that
// differ in case only are a mistake.
type ids[T any] struct {
	byID  map[string]T
	at    map[string]source.Span
	fold  map[string]string
	names []string
}

// claim takes an id for a thing, or reports why it cannot be.
func claim[T any](r *reader, s *ids[T], n *Node, id, what string, v T) bool {
	if !validID(id) {
		r.at(n, "%q is no id: letters, digits, - and _, a letter or digit first", clip(id))
		return false
	}
	return claimAny(r, s, n, id, what, v)
}

// claimAny is claim for ids that are derived from written ones.
func claimAny[T any](r *reader, s *ids[T], n *Node, id, what string, v T) bool {
	if s.byID == nil {
		s.byID, s.at, s.fold = map[string]T{}, map[string]source.Span{}, map[string]string{}
	}
	low := strings.ToLower(id)
	if other, taken := s.fold[low]; taken {
		first := s.at[other]
		if other == id {
			r.both(n, first, "the first time", "%s %q is there twice", what, id)
		} else {
			r.both(n, first, "the other one", "%s %q and %q differ in case only", what, id, other)
		}
		return false
	}
	s.byID[id], s.at[id], s.fold[low] = v, n.Span(), id
	s.names = append(s.names, id)
	return true
}

func validID(id string) bool {
	if id == "" || len(id) > 100 {
		return false
	}
	for i := 0; i < len(id); i++ {
		switch c := id[i]; {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9':
		case (c == '-' || c == '_') && i > 0:
		default:
			return false
		}
	}
	return true
}

// find looks an id up and reports one that is not there.
func find[T any](r *reader, s *ids[T], n *Node, id, what string) (v T, ok bool) {
	if v, ok = s.byID[id]; !ok {
		r.unknown(n.Span(), what, id, "", s.names)
	}
	return v, ok
}
