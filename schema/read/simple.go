package read

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/schema/unit"
)

const own = schema.Own

// joined returns the entries of a section that several files may share. The
// same key in two files is a mistake shown at both.
func (r *reader) joined(name string) []entry {
	var out []entry
	first := finder{}
	for _, n := range r.sections[name] {
		for _, e := range r.entries(n, name) {
			if i := first.put(out, e.key.Text); i >= 0 {
				r.both(e.key, out[i].key.Span(), "the first time", "%q is there twice in %s", clip(e.key.Text), name)
				continue
			}
			out = append(out, e)
		}
	}
	return out
}

// items returns the items of a section that is a list, of all files.
func (r *reader) items(name string) []*Node {
	var out []*Node
	for _, n := range r.sections[name] {
		n = n.Resolve()
		switch {
		case n.Kind == List:
			out = append(out, n.Entries...)
		case n.Kind == Scalar && n.Null:
		default:
			r.at(n, "%s is a list: each item begins with a dash", name)
		}
	}
	return out
}

// each calls set for every known key of an item, and reports the others.
func (r *reader) each(s *Section, entries []entry, set func(f *Field, e entry)) {
	var seen [64]*Node
	for _, e := range entries {
		f := s.byName[e.key.Text]
		if f == nil {
			r.unknown(e.key.Span(), "key", e.key.Text, " for "+s.Item, s.Names())
			continue
		}
		if before := seen[f.place]; before != nil {
			r.both(e.key, before.Span(), "the first time", "%s and %s are the same key", e.key.Text, before.Text)
			continue
		}
		seen[f.place] = e.key
		set(f, e)
	}
}

// sectionSpan is where a section begins, in the first file that has it.
func (r *reader) sectionSpan(name string) source.Span {
	if nodes := r.sections[name]; len(nodes) > 0 {
		return nodes[0].Span()
	}
	return source.Span{}
}

// simple reads the sections that name nothing else.
func (r *reader) simple() {
	r.vessel()
	r.ruleSet()
	r.deviations()
	r.sheets()
	r.readSpaces()
	r.readLooms()
}

func (r *reader) vessel() {
	v := &r.boat.Vessel
	v.At = r.sectionSpan("vessel")
	r.each(&vesselKeys, r.joined("vessel"), func(f *Field, e entry) {
		n := e.value
		switch f.Name {
		case "name":
			v.Name = r.text(f.Name, n, own)
		case "type":
			v.Type = r.text(f.Name, n, own)
		case "hull":
			v.Hull = r.word(&f.Attr, n, own)
		case "length":
			v.Length = r.more(amount[unit.Metre](r, f, n, own), f)
		case "beam":
			v.Beam = r.more(amount[unit.Metre](r, f, n, own), f)
		case "sheer":
			v.Sheer = amount[unit.Metre](r, f, n, own)
		case "heel":
			v.Heel = amount[unit.Degree](r, f, n, own)
		case "trim":
			v.Trim = amount[unit.Degree](r, f, n, own)
		case "laden":
			v.Laden = amount[unit.Metre](r, f, n, own)
		case "speed":
			v.Speed = amount[unit.Knot](r, f, n, own)
		case "water":
			v.Water = r.word(&f.Attr, n, own)
		case "water-temperature":
			v.WaterTemperature = amount[unit.Celsius](r, f, n, own)
		case "category":
			v.Category = r.word(&f.Attr, n, own)
		case "persons":
			v.Persons = r.count(&f.Attr, n, own)
		default:
			r.text(f.Name, n, own)
		}
	})
}

// more refuses a length of nothing where there must be some.
func (r *reader) more(v schema.Val[unit.Metre], f *Field) schema.Val[unit.Metre] {
	if v.Given() && v.V <= 0 {
		r.add(Problem{Span: v.At, Message: fmt.Sprintf("%s must be more than nothing", f.Name)})
		return schema.Val[unit.Metre]{}
	}
	return v
}

func (r *reader) ruleSet() {
	s := &r.boat.Rules
	s.At = r.sectionSpan("rules")
	r.each(&ruleKeys, r.joined("rules"), func(f *Field, e entry) {
		switch f.Name {
		case "set":
			s.Set = r.word(&f.Attr, e.value, own)
		case "bundling":
			s.Bundling = r.word(&f.Attr, e.value, own)
		}
	})
}

func (r *reader) deviations() {
	for _, item := range r.items("deviations") {
		d := diag.Deviation{Span: item.Resolve().Span()}
		var at []schema.Val[string]
		r.each(&deviationKeys, r.entries(item, "a deviation"), func(f *Field, e entry) {
			switch f.Name {
			case "rule":
				d.Rule = r.text(f.Name, e.value, own).V
			case "at":
				at = r.texts(f.Name, e.value, own)
			case "why":
				d.Why = r.text(f.Name, e.value, own).V
			case "by":
				d.By = r.text(f.Name, e.value, own).V
			}
		})
		for _, need := range []struct{ name, v string }{{"rule", d.Rule}, {"why", d.Why}, {"by", d.By}} {
			if need.v == "" {
				r.at(item.Resolve(), "a deviation needs %s: it is accepted with a reason and a name", need.name)
			}
		}
		if len(at) == 0 {
			r.boat.Deviations = append(r.boat.Deviations, d)
		}
		for _, a := range at {
			d.At = a.V
			r.boat.Deviations = append(r.boat.Deviations, d)
		}
	}
}

func (r *reader) sheets() {
	s := &r.boat.Sheets
	s.At = r.sectionSpan("sheets")
	texts := map[string]*schema.Val[string]{
		"drawn": &s.Drawn, "checked": &s.Checked, "revision": &s.Revision, "owner": &s.Owner,
		"hull-number": &s.HullNumber, "title": &s.Title, "number": &s.Number,
	}
	r.each(&sheetKeys, r.joined("sheets"), func(f *Field, e entry) {
		switch f.Name {
		case "paper":
			s.Paper = r.word(&f.Attr, e.value, own)
		case "date":
			s.Date = r.date(f.Name, e.value, own)
		case "mono":
			s.Mono = r.flag(f.Name, e.value, own)
		case "show":
			s.Show = r.texts(f.Name, e.value, own)
		default:
			*texts[f.Name] = r.text(f.Name, e.value, own)
		}
	})
}

func (r *reader) readSpaces() {
	type written struct {
		s       *schema.Space
		entries []entry
	}
	var all []written
	for _, n := range r.sections["spaces"] {
		for _, e := range r.entries(n, "spaces") {
			s := &schema.Space{ID: e.key.Text, At: e.key.Span()}
			if !claim(r, &r.spaces, e.key, s.ID, "the space", s) {
				continue
			}
			r.boat.Spaces = append(r.boat.Spaces, s)
			all = append(all, written{s, r.entries(e.value, "a space")})
		}
	}
	defaults := r.sectionDefaults("spaces")
	for _, w := range all {
		r.space(w.s, w.entries, own)
		r.space(w.s, defaults.except(&spaceKeys, w.entries), schema.FromFile)
	}
	for _, s := range r.boat.Spaces {
		if s.Below.Given() && s.Below.V == s.ID {
			r.add(Problem{Span: s.Below.At, Message: "a space cannot lie below itself"})
		}
	}
}

func (r *reader) space(s *schema.Space, entries []entry, from schema.Origin) {
	r.each(&spaceKeys, entries, func(f *Field, e entry) {
		n := e.value
		switch f.Name {
		case "title":
			s.Title = r.text(f.Name, n, from)
		case "ambient":
			s.Ambient = amount[unit.Celsius](r, f, n, from)
		case "engine":
			s.Engine = r.flag(f.Name, n, from)
		case "fuel":
			s.Fuel = r.word(&f.Attr, n, from)
		case "stowage":
			s.Stowage = r.flag(f.Name, n, from)
		case "sleeps":
			s.Sleeps = r.flag(f.Name, n, from)
		case "bilge":
			s.Bilge = r.flag(f.Name, n, from)
		case "watertight":
			s.Watertight = r.flag(f.Name, n, from)
		case "ventilated":
			s.Ventilated = r.flag(f.Name, n, from)
		case "weather":
			s.Weather = r.flag(f.Name, n, from)
		case "below":
			s.Below = r.spaceName(r.text(f.Name, n, from))
		case "joins":
			s.Joins = r.spaceNames(f.Name, n, from)
		case "sole":
			s.Sole = amount[unit.Metre](r, f, n, from)
		case "area":
			s.Area = amount[unit.SquareMetre](r, f, n, from)
		case "volume":
			s.Volume = amount[unit.CubicMetre](r, f, n, from)
		case "station":
			s.Station = r.pair(f, n, from)
		case "side":
			s.Side = r.text(f.Name, n, from)
		case "note":
			s.Note = r.text(f.Name, n, from)
		}
	})
}

// spaceName checks that a space is there.
func (r *reader) spaceName(v schema.Val[string]) schema.Val[string] {
	if !v.Given() {
		return v
	}
	if _, ok := r.spaces.byID[v.V]; !ok {
		r.unknown(v.At, "space", v.V, "", r.spaces.names)
		return schema.Val[string]{}
	}
	return v
}

func (r *reader) spaceNames(key string, n *Node, from schema.Origin) []schema.Val[string] {
	return list(n, func(n *Node) schema.Val[string] { return r.spaceName(r.text(key, n, from)) })
}

// pair reads a list of two quantities.
func (r *reader) pair(f *Field, n *Node, from schema.Origin) (out [2]schema.Val[unit.Metre]) {
	n = n.Resolve()
	if n.Kind != List || len(n.Entries) != 2 {
		r.at(n, "%s takes two values: [3.1 m, 6.4 m]", f.Name)
		return out
	}
	for i, item := range n.Entries {
		out[i] = amount[unit.Metre](r, f, item, from)
	}
	return out
}

func (r *reader) readLooms() {
	for _, n := range r.sections["looms"] {
		for _, e := range r.entries(n, "looms") {
			l := &schema.Loom{ID: e.key.Text, At: e.key.Span()}
			if !claim(r, &r.looms, e.key, l.ID, "the loom", l) {
				continue
			}
			mine := r.entries(e.value, "a loom")
			r.loom(l, mine, own)
			r.loom(l, r.sectionDefaults("looms").except(&loomKeys, mine), schema.FromFile)
			r.boat.Looms = append(r.boat.Looms, *l)
		}
	}
}

func (r *reader) loom(l *schema.Loom, entries []entry, from schema.Origin) {
	r.each(&loomKeys, entries, func(f *Field, e entry) {
		switch f.Name {
		case "spaces":
			l.Spaces = r.spaceNames(f.Name, e.value, from)
		case "longest":
			l.Longest = amount[unit.Metre](r, f, e.value, from)
		default:
			r.text(f.Name, e.value, from)
		}
	})
}

// defaultSet is what `defaults:` says for one section or kind.
type defaultSet []entry

// sectionDefaults returns what `defaults:` says for a section.
func (r *reader) sectionDefaults(name string) defaultSet {
	n := r.defaults[name]
	if n == nil {
		return nil
	}
	return r.entries(n, "defaults for "+name)
}

// replaces lists keys that exclude each other: an item's own key keeps out the
// default of the other.
var replaces = map[string]string{
	"length": "lengths", "lengths": "length", "size": "sizes", "sizes": "size",
	"resistance": "resistances", "resistances": "resistance",
	"peak": "peaks", "peaks": "peak", "dip": "dips", "dips": "dip",
}

// except returns the defaults whose keys the item does not set itself.
func (d defaultSet) except(s *Section, mine []entry) []entry {
	if len(d) == 0 {
		return nil
	}
	var out []entry
	for _, e := range d {
		f := s.byName[e.key.Text]
		taken := false
		for _, m := range mine {
			g := s.byName[m.key.Text]
			taken = taken || f != nil && g != nil && (g == f || replaces[g.Name] == f.Name)
		}
		if !taken {
			out = append(out, e)
		}
	}
	return out
}
