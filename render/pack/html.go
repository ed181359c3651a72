package pack

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"strings"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/render/svg"
)

//go:embed page.tmpl page.css page.js
var files embed.FS

// page is what the template is filled with.
type page struct {
	Title, Boat, Line string
	CSS, FontCSS      template.CSS
	JS                template.JS
	Sections          []pageSection
}

type pageSection struct {
	ID, Title, Document, Caution string
	Blocks                       []pageBlock
}

// pageBlock is one block for the template; Type names it.
type pageBlock struct {
	Type     string
	ID, Text string
	Find     string
	Label    string
	Heads    []pageCell
	Rows     [][]pageCell
	SVG      template.HTML
	Blocks   []pageBlock
	Steps    []string
	Level    int
}

type pageCell struct {
	Head, Text string
	Right      bool
}

// html writes the sections as one page that needs nothing else.
func (m *maker) html(sections []section) ([]byte, error) {
	t, err := template.New("page.tmpl").ParseFS(files, "page.tmpl")
	if err != nil {
		return nil, err
	}
	css, err := files.ReadFile("page.css")
	if err != nil {
		return nil, err
	}
	js, err := files.ReadFile("page.js")
	if err != nil {
		return nil, err
	}
	h := &htmlWriter{theme: draw.InColour}
	p := page{Title: m.coverTitle(), Boat: m.boat().Vessel.Name.Or("Boat without a name"), Line: m.counts(), CSS: template.CSS(css), JS: template.JS(js)}
	for _, s := range sections {
		p.Sections = append(p.Sections, h.section(s))
	}
	at := len(p.Sections)
	for i, s := range p.Sections {
		if s.ID == "sec-wires" {
			at = i
		}
	}
	rest := append([]pageSection{m.drawingSection(h)}, p.Sections[at:]...)
	p.Sections = append(p.Sections[:at:at], rest...)
	if h.err != nil {
		return nil, h.err
	}
	font, err := svg.FontCSS(h.sheets...)
	if err != nil {
		return nil, err
	}
	p.FontCSS = template.CSS(font)
	var b bytes.Buffer
	if err := t.Execute(&b, p); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

type htmlWriter struct {
	theme  draw.Theme
	sheets []draw.Sheet
	n      int
	err    error
}

func (h *htmlWriter) section(s section) pageSection {
	return pageSection{ID: "sec-" + s.id, Title: s.title, Document: s.document, Caution: s.caution, Blocks: h.blocks(s.blocks, 3)}
}

func (h *htmlWriter) blocks(list []block, level int) []pageBlock {
	var out []pageBlock
	label := ""
	for _, b := range list {
		p, ok := h.block(b, level)
		if !ok {
			continue
		}
		switch p.Type {
		case "heading":
			label = p.Text
		case "table":
			p.Label = strings.TrimSpace(label)
			if p.Label == "" {
				p.Label = "table"
			}
		}
		out = append(out, p)
	}
	return out
}

func (h *htmlWriter) block(b block, level int) (pageBlock, bool) {
	switch b := b.(type) {
	case heading:
		return pageBlock{Type: "heading", Text: string(b), Level: level}, true
	case para:
		return pageBlock{Type: "para", Text: string(b)}, true
	case warning:
		return pageBlock{Type: "warning", Text: string(b)}, true
	case steps:
		return pageBlock{Type: "steps", Steps: b}, len(b) > 0
	case rows:
		return tableBlock(b.Table), len(b.Rows) > 0
	case figure:
		return h.figure(b), true
	case entry:
		inner := h.blocks(b.blocks, level+1)
		return pageBlock{Type: "entry", ID: "at-" + b.id, Text: b.title, Find: b.find, Level: level, Blocks: inner}, true
	}
	return pageBlock{}, false
}

func tableBlock(t sheet.Table) pageBlock {
	p := pageBlock{Type: "table"}
	for _, c := range t.Columns {
		p.Heads = append(p.Heads, pageCell{Text: c.Head, Right: c.Align == draw.End})
	}
	for _, r := range t.Rows {
		var line []pageCell
		for i, c := range r {
			line = append(line, pageCell{Head: t.Columns[i].Head, Text: c, Right: t.Columns[i].Align == draw.End})
		}
		p.Rows = append(p.Rows, line)
	}
	return p
}

// figure draws a block by itself, as wide as a page of paper.
func (h *htmlWriter) figure(f figure) pageBlock {
	const width = draw.MM(175)
	h.n++
	s := draw.Sheet{ID: fmt.Sprintf("fig%d", h.n), Title: f.alt, W: width, H: f.h}
	s.Add(f.items(draw.Point{}, width)...)
	return h.svg(s)
}

func (h *htmlWriter) svg(s draw.Sheet) pageBlock {
	h.sheets = append(h.sheets, s)
	var b bytes.Buffer
	if err := svg.Write(&b, s, svg.Options{Theme: h.theme, Inline: true, NoFont: true}); err != nil && h.err == nil {
		h.err = err
	}
	return pageBlock{Type: "figure", Text: s.Title, SVG: template.HTML(b.String())}
}

// drawingSection holds the drawings.
func (m *maker) drawingSection(h *htmlWriter) pageSection {
	out := pageSection{ID: "sec-drawings", Title: "Drawings", Document: "Drawn from the file, without marks of findings"}
	for i, p := range m.drawings.pages {
		s := p.Finish(m.titleBlock(), m.drawings.first+i, 0)
		s.ID = fmt.Sprintf("drw%d", i+1)
		out.Blocks = append(out.Blocks, pageBlock{Type: "entry", ID: "at-draw-" + p.ID, Text: p.Title, Find: "drawing diagram", Level: 3, Blocks: []pageBlock{h.svg(s)}})
	}
	return out
}
