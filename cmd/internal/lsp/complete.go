package lsp

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/schema/source"
	"fitout/validate/rules"
	"fitout/validate/tables"
)

// where is the place of a cursor, judged from the lines before it alone: while a
// line is typed the file seldom parses.
type where struct {
	section string // of the top level
	kind    *schema.Kind
	key     string // whose value is being typed, "" at a key
	typed   string // the word before the cursor
}

var (
	topKey   = regexp.MustCompile(`^([A-Za-z][\w-]*):`)
	kindWord = regexp.MustCompile(`\bkind:\s*([\w-]+)`)
	lastKey  = regexp.MustCompile(`([A-Za-z][\w-]*):\s*[\["']?[^{}:]*$`)
)

func place(text string, offset int) where {
	start := offset
	for start > 0 && (idLetter(text[start-1]) || text[start-1] == '.') {
		start--
	}
	w := where{typed: text[start:offset]}
	lines := strings.Split(text[:start], "\n")
	for i := len(lines) - 1; i >= 0 && w.section == ""; i-- {
		if m := topKey.FindStringSubmatch(lines[i]); m != nil {
			w.section = m[1]
		}
	}
	line := lines[len(lines)-1]
	w.kind = kindNear(text, start, lines)
	segment := line[strings.LastIndexAny(line, "{")+1:]
	if c := lastComma(segment); c >= 0 {
		segment = segment[c+1:]
	}
	if m := lastKey.FindStringSubmatch(segment); m != nil {
		w.key = m[1]
	}
	return w
}

// lastComma finds the last comma that parts pairs: not one inside a list, closed
// or still open.
func lastComma(s string) int {
	last, depth := -1, 0
	for i := range len(s) {
		switch s[i] {
		case '[':
			depth++
		case ']':
			depth = max(0, depth-1)
		case ',':
			if depth == 0 {
				last = i
			}
		}
	}
	return last
}

// kindNear is the kind of the part that is being written: the one named in the
// same braces, else on a line of the same block.
func kindNear(text string, at int, lines []string) *schema.Kind {
	open := strings.LastIndexByte(text[:at], '{')
	if open >= 0 && strings.LastIndexByte(text[:at], '}') < open {
		stop := len(text)
		if n := strings.IndexByte(text[open:], '}'); n >= 0 {
			stop = open + n
		}
		if m := kindWord.FindStringSubmatch(text[open:stop]); m != nil {
			return kinds.All().Kind(m[1])
		}
		return nil
	}
	indent := len(lines[len(lines)-1]) - len(strings.TrimLeft(lines[len(lines)-1], " "))
	rest := strings.Split(text[at:], "\n")
	for i := len(lines) - 2; i >= 0; i-- {
		if m := kindWord.FindStringSubmatch(lines[i]); m != nil {
			return kinds.All().Kind(m[1])
		}
		if l := strings.TrimRight(lines[i], " \r"); l != "" && len(l)-len(strings.TrimLeft(l, " ")) < indent {
			break
		}
	}
	for _, l := range rest[1:] {
		if l = strings.TrimRight(l, " \r"); l == "" || len(l)-len(strings.TrimLeft(l, " ")) < indent {
			break
		}
		if m := kindWord.FindStringSubmatch(l); m != nil {
			return kinds.All().Kind(m[1])
		}
	}
	return nil
}

// refs are the keys whose values name things of the file.
var refs = map[string]bool{
	"from": true, "to": true, "path": true, "feed": true, "return": true, "load": true, "via": true, "at": true, "running": true,
	"open": true, "closed": true, "off": true, "disconnect": true, "watches": true, "engine": true, "bank": true, "banks": true,
}

// complete lists what could stand at an offset.
func (a *analysis) complete(text string, offset int) []completionItem {
	w := place(text, offset)
	f := source.New("", text)
	c := &completer{analysis: a, where: w, at: textRange{positionOf(f, offset-len(w.typed)), positionOf(f, offset)}, list: []completionItem{}}
	switch {
	case strings.Contains(w.typed, "."):
		c.terminals()
	case w.key == "kind":
		for _, k := range kinds.All().All() {
			c.add(k.Name, itemClass, k.Title, k.Help)
		}
	case w.key == "space" || w.key == "through" || w.key == "joins" || w.key == "below":
		c.spaces()
	case w.key == "rule":
		for _, r := range rules.All() {
			c.add(r.Name, itemEnum, r.Severity, r.Asks)
		}
	case w.key == "stock":
		c.keysOf("stock")
	case w.key == "loom":
		c.looms()
	case w.key == "condition":
		c.conditions()
	case w.key != "":
		c.value()
	default:
		c.keys()
	}
	return c.list
}

type completer struct {
	*analysis
	where
	at   textRange
	list []completionItem
}

func (c *completer) add(label string, kind int, detail, help string) {
	if slices.ContainsFunc(c.list, func(i completionItem) bool { return i.Label == label }) {
		return
	}
	c.list = append(c.list, completionItem{Label: label, Kind: kind, Detail: detail, Documentation: help, TextEdit: &textEdit{c.at, label}})
}

func (c *completer) terminals() {
	id, _, _ := strings.Cut(c.typed, ".")
	if c.good == nil || c.good.Boat.Part(id) == nil {
		return
	}
	for _, t := range c.good.Boat.Part(id).Terminals() {
		if t.Name != "" && !t.Hidden {
			c.add(id+"."+t.Name, itemRef, c.good.Boat.Part(id).Name(), "")
		}
	}
}

// value completes the value of a key: its words, sizes, or ids.
func (c *completer) value() {
	if at := c.attr(c.key); at != nil {
		for _, word := range at.Words {
			c.add(word, itemEnum, c.key, at.Help)
		}
		switch at.Type {
		case schema.Flag:
			c.add("yes", itemValue, c.key, at.Help)
			c.add("no", itemValue, c.key, at.Help)
		case schema.PartRef, schema.PartRefs, schema.PlaceRefs, schema.ChargeCut:
			c.parts()
		case schema.SpaceRefs:
			c.spaces()
		}
		if at.Type == schema.PlaceRefs {
			c.spaces()
		}
	}
	if c.key == "size" && (c.section == "wires" || c.section == "circuits") || c.key == "sizes" {
		for _, set := range []tables.Set{tables.US, tables.ISO} {
			for _, s := range tables.SizesFor(set) {
				c.add(s.Name(), itemValue, s.String(), "")
			}
		}
		c.add("auto", itemValue, "let size choose", "")
	}
	if refs[c.key] {
		c.parts()
	}
	if c.key == "at" {
		c.runs()
	}
}

func (c *completer) parts() {
	if c.good == nil {
		return
	}
	for _, p := range c.good.Boat.Parts {
		c.add(p.ID, itemRef, partText(p), "")
	}
	for _, b := range c.good.Boat.Banks {
		if c.key == "bank" {
			c.add(b.ID, itemRef, "bank", "")
		}
	}
}

func (c *completer) runs() {
	if c.good == nil {
		return
	}
	for _, w := range c.good.Boat.Wires {
		if !w.Implied {
			c.add(w.Ref(), itemRef, wireText(w), "")
		}
	}
	for _, h := range c.good.Boat.Hoses {
		if !h.Implied {
			c.add(h.ID, itemRef, "hose", "")
		}
	}
}

func (c *completer) spaces() {
	if c.good != nil {
		for _, s := range c.good.Boat.Spaces {
			c.add(s.ID, itemRef, s.Name(), "")
		}
	}
}

func (c *completer) looms() {
	if c.good != nil {
		for _, l := range c.good.Boat.Looms {
			c.add(l.ID, itemRef, "loom", "")
		}
	}
}

func (c *completer) conditions() {
	if c.good != nil {
		for _, k := range c.good.Boat.Conditions {
			c.add(k.ID, itemRef, k.Title.V, "")
		}
	}
}

// keysOf lists the keys of a section as the last good text has them.
func (c *completer) keysOf(section string) {
	if c.good == nil {
		return
	}
	for _, f := range c.good.Boat.Files {
		root, _ := read.Tree(f)
		if root == nil || root.Kind != read.Map {
			continue
		}
		for i := 0; i+1 < len(root.Entries); i += 2 {
			if m := root.Entries[i+1].Resolve(); root.Entries[i].Text == section && m.Kind == read.Map {
				for k := 0; k < len(m.Entries); k += 2 {
					c.add(m.Entries[k].Text, itemRef, section, "")
				}
			}
		}
	}
}

// attr is the description of a key where it stands.
func (w where) attr(key string) *schema.Attr {
	if w.kind != nil {
		if a := w.kind.Attr(key); a != nil {
			return a
		}
	}
	for _, s := range read.Sections() {
		if s.Name == w.section {
			if f := s.Field(key); f != nil {
				return &f.Attr
			}
		}
	}
	return nil
}

// keys completes a key: of the file, of a part's kind, of a section.
func (c *completer) keys() {
	switch {
	case c.section == "":
		for _, k := range read.TopLevel() {
			c.add(k, itemField, "section", "")
		}
	case c.section == "parts" || c.section == "stock":
		c.add("kind", itemField, "what it is", "")
		if c.kind != nil {
			for _, a := range c.kind.Attrs {
				c.add(a.Name, itemField, a.Example, a.Help)
			}
			for _, a := range schema.Common {
				c.add(a.Name, itemField, a.Example, a.Help)
			}
		}
	default:
		for _, s := range read.Sections() {
			if s.Name != c.section {
				continue
			}
			for i := range s.Fields {
				c.add(s.Fields[i].Name, itemField, s.Fields[i].Example, s.Fields[i].Help)
			}
		}
	}
}

// keyHelp tells what a key means where it stands.
func keyHelp(text string, at int, key string) string {
	w := place(text, at)
	a := w.attr(key)
	if a == nil {
		return ""
	}
	var b strings.Builder
	fmt.Fprintf(&b, "**%s** %s\n", escape(key), escape(a.Help))
	if len(a.Words) > 0 {
		fmt.Fprintf(&b, "\nwords: %s\n", escape(strings.Join(a.Words, ", ")))
	}
	if a.Example != "" {
		fmt.Fprintf(&b, "\nexample: `%s: %s`\n", key, strings.ReplaceAll(a.Example, "`", ""))
	}
	if a.Default != "" {
		fmt.Fprintf(&b, "\ndefault: %s (%s)\n", escape(a.Default), escape(a.DefaultSource))
	}
	return b.String()
}
