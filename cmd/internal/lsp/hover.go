package lsp

import (
	"fmt"
	"strings"

	"fitout/schema"
	"fitout/schema/source"
	"fitout/validate/figures"
)

// at answers what stands under the cursor.
func (s *Server) at(method string, p positionParams) any {
	s.mu.Lock()
	defer s.mu.Unlock()
	file := pathOf(p.TextDocument.URI)
	d := s.docs[file]
	if d == nil {
		return nil
	}
	a := s.fresh(file)
	offset := offsetOf(d.text, p.Position)
	switch method {
	case "textDocument/hover":
		if h := a.hover(file, d.text, offset); h != nil {
			return h
		}
	case "textDocument/definition":
		if at, ok := a.definition(d.text, offset); ok {
			return location{s.uri(at.Name()), rangeOf(at)}
		}
	case "textDocument/completion":
		return a.complete(d.text, offset)
	}
	return nil
}

// item is a thing of the file with an id.
type item struct {
	id, text string
	at       source.Span
}

// find looks an id up: a part, with a terminal or way behind the dot or without,
// a run, a space, a condition, a bank, a loom.
func (a *analysis) find(word string) (item, bool) {
	if a.good == nil || word == "" {
		return item{}, false
	}
	b := a.good.Boat
	id, _, _ := strings.Cut(word, ".")
	if p := b.Part(id); p != nil {
		return item{id, partText(p), p.At}, true
	}
	for _, w := range b.Wires {
		if !w.Implied && (w.ID == word || w.Ref() == word || w.Path == word) {
			return item{w.Ref(), wireText(w), w.At}, true
		}
	}
	for _, c := range b.Circuits {
		if c.ID == word {
			return item{c.ID, "circuit, fed from " + c.Feed.String(), c.At}, true
		}
	}
	for _, h := range b.Hoses {
		if !h.Implied && (h.ID == word || h.Path == word) {
			return item{h.ID, fmt.Sprintf("hose from %s to %s, %s", h.From, h.To, h.Bore.Text), h.At}, true
		}
	}
	if sp := b.Space(word); sp != nil {
		return item{sp.ID, "space: " + sp.Name(), sp.At}, true
	}
	for _, c := range b.Conditions {
		if c.ID == word && c.At.Valid() {
			return item{c.ID, "condition: " + c.Title.Or(c.ID), c.At}, true
		}
	}
	for _, k := range b.Banks {
		if k.ID == word {
			return item{k.ID, "bank", k.At}, true
		}
	}
	for _, l := range b.Looms {
		if l.ID == word {
			return item{l.ID, "loom", l.At}, true
		}
	}
	return item{}, false
}

func partText(p *schema.Part) string {
	text := p.Kind.Title
	if p.Kind.Rating != nil {
		if r := p.Kind.Rating(p); r != "" {
			text += ", " + r
		}
	}
	if t := p.Title(); t != "" {
		text += ", " + t
	}
	if p.Space != nil {
		text += ", in " + p.Space.Name()
	}
	return text
}

func wireText(w *schema.Wire) string {
	text := fmt.Sprintf("wire from %s to %s", w.From, w.To)
	for _, t := range []string{w.Size.Text, w.Length.Text} {
		if t != "" {
			text += ", " + t
		}
	}
	return text
}

func (a *analysis) definition(text string, offset int) (source.Span, bool) {
	word, _, _ := wordAt(text, offset)
	it, ok := a.find(word)
	return firstLine(it.at), ok && it.at.Valid()
}

// hover tells what an id is with its figures, or what a key means.
func (a *analysis) hover(file, text string, offset int) *hover {
	word, start, end := wordAt(text, offset)
	f := source.New(file, text)
	at := textRange{positionOf(f, start), positionOf(f, end)}
	isKey := strings.HasPrefix(strings.TrimLeft(text[end:], " "), ":")
	if isKey {
		if help := keyHelp(text, start, word); help != "" {
			return &hover{markup{"markdown", help}, at}
		}
	}
	it, ok := a.find(word)
	if !ok {
		return nil
	}
	var b strings.Builder
	fmt.Fprintf(&b, "**%s** %s\n", escape(it.id), escape(it.text))
	a.figureTable(&b, it.id)
	return &hover{markup{"markdown", b.String()}, at}
}

// figureTable writes the figures of a thing, a condition a row.
func (a *analysis) figureTable(b *strings.Builder, id string) {
	title := map[string]string{"": "always"}
	for _, c := range a.good.Boat.Conditions {
		title[c.ID] = c.Title.Or(c.ID)
	}
	var rows [][2]string
	at := map[string]int{}
	for _, f := range a.figures {
		if f.ID != id {
			continue
		}
		i, ok := at[f.Condition]
		if !ok {
			i = len(rows)
			at[f.Condition] = i
			rows = append(rows, [2]string{title[f.Condition], ""})
		}
		if rows[i][1] != "" {
			rows[i][1] += ", "
		}
		rows[i][1] += word(f)
	}
	if len(rows) == 0 {
		return
	}
	b.WriteString("\n| condition | figures |\n|---|---|\n")
	for _, r := range rows {
		fmt.Fprintf(b, "| %s | %s |\n", escape(r[0]), escape(r[1]))
	}
}

func word(f figures.Figure) string { return string(f.Quantity) + " " + f.Text() }

// escape keeps text of the file from being read as markup.
var escaper = strings.NewReplacer("|", `\|`, "<", "&lt;", ">", "&gt;", "*", `\*`, "_", `\_`, "`", "\\`", "[", `\[`, "]", `\]`, "\n", " ")

func escape(s string) string { return escaper.Replace(s) }
