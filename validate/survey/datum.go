package survey

import (
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
)

// KeyOf is the place in the file of a missing datum. Rules and solvers name a
// datum in one way, as the file would: "height of TH2", "length of wire 2a",
// "rating of DP.4", "length of the vessel". What is not named so is no one value
// that a person could write down, and its key names none.
func (s *Survey) KeyOf(missing string) diag.Key {
	name, of, ok := strings.Cut(missing, " of ")
	if !ok {
		return diag.Key{}
	}
	attr := attributeNamed(strings.TrimPrefix(name, "the "))
	if rest, found := strings.CutPrefix(of, "the loss of "); found { // a flow goes with it
		of, attr = rest, "loss"
	}
	if rest, found := strings.CutPrefix(of, "the open end of "); found {
		of = rest
	}
	of = strings.TrimPrefix(of, "the ")
	hint, id, hinted := strings.Cut(of, " ")
	if !hinted || hint != string(diag.WireHolder) && hint != string(diag.HoseHolder) {
		hint, id = "", of
	}
	id, _, _ = strings.Cut(id, " ") // what follows says why: "(or its chemistry)"
	k := s.holderOf(hint, id, attr)
	if k.Of == "" {
		return diag.Key{}
	}
	return k
}

// attributeNamed is the attribute of a datum whose name in words is longer.
func attributeNamed(name string) string {
	switch name {
	case "interrupt rating":
		return "interrupt"
	case "cranking rating":
		return "cranking"
	case "usable share":
		return "usable"
	}
	return name
}

func (s *Survey) holderOf(hint, id, attr string) diag.Key {
	b := s.Boat
	if hint == "" {
		if k, ok := s.partKey(id, attr); ok {
			return k
		}
		switch {
		case id == string(diag.VesselHolder), id == string(diag.SheetsHolder):
			return diag.Key{Of: diag.Holder(id), Attribute: attr}
		case b.Space(id) != nil:
			return diag.Key{Of: diag.SpaceHolder, ID: id, Attribute: attr}
		}
	}
	if hint != string(diag.WireHolder) {
		for _, h := range b.Hoses {
			if h.ID == id && !h.Implied {
				return diag.Key{Of: diag.HoseHolder, ID: writtenID(h.ID, h.Path, attr), Attribute: attr}
			}
		}
	}
	if hint != string(diag.HoseHolder) {
		for _, w := range b.Wires {
			if w.Ref() == id || w.ID == id {
				return wireKey(w, attr)
			}
		}
	}
	return diag.Key{}
}

// fromHost are what a valve takes from the opening that it is fixed to.
var fromHost = [...]string{"size", "material", "space", "station", "offset", "height"}

// givesRise is what the file lacks where a figure that a part has no attribute for
// follows from others: what a charger draws from what it gives.
func givesRise(p *schema.Part, attr string) string {
	if attr != "draw" && attr != "output" {
		return ""
	}
	for _, a := range []string{"output", "volts", "power"} {
		if p.Kind.Attr(a) != nil && !p.Has(a) {
			return a
		}
	}
	return ""
}

// partKey is the key of a part's attribute or of a panel's way.
func (s *Survey) partKey(id, attr string) (diag.Key, bool) {
	if p := s.Boat.Part(id); p != nil {
		if p.Kind.Attr(attr) == nil {
			attr = givesRise(p, attr)
		}
		if attr == "" {
			return diag.Key{}, true
		}
		if p.Host != nil && slices.Contains(fromHost[:], attr) {
			id = p.Host.ID
		}
		return diag.Key{Of: diag.PartHolder, ID: id, Attribute: attr}, true
	}
	panel, way, ok := strings.Cut(id, ".")
	if p := s.Boat.Part(panel); ok && p != nil {
		if _, there := p.Way(way); there {
			return diag.Key{Of: diag.WayHolder, ID: id, Attribute: attr}, true
		}
	}
	return diag.Key{}, false
}

// byStretch are the attributes of a wire or hose that each stretch may have its
// own value of.
var byStretch = [...]string{"size", "length", "resistance", "peak", "dip"}

// writtenID is the id under which the file holds an attribute of a stretch.
func writtenID(id, path, attr string) string {
	if path == "" || slices.Contains(byStretch[:], attr) {
		return id
	}
	return path
}

// wireKey is the key of a conductor's attribute: of a stretch of the circuit that
// it belongs to, of the cable it is a core of, or of the wire. A return is as long
// and as thick as its supply where the file does not say otherwise, so that what
// lacks is the supply's.
func wireKey(w *schema.Wire, attr string) diag.Key {
	c := w.Circuit
	if c == nil {
		return diag.Key{Of: diag.WireHolder, ID: writtenID(w.Ref(), w.Path, attr), Attribute: attr}
	}
	k := diag.Key{Of: diag.CircuitHolder, ID: c.ID, Attribute: attr}
	stretches := 0
	for _, x := range c.Supply {
		if !x.Implied {
			stretches++
		}
	}
	if stretches < 2 || !slices.Contains(byStretch[:], attr) {
		return k
	}
	if !w.Return {
		k.ID = w.ID
		return k
	}
	for _, x := range c.Supply {
		given := x.Length.Given()
		if attr == "size" {
			given = x.Size.Given()
		}
		if !x.Implied && !given {
			k.ID = x.ID
			return k
		}
	}
	return k
}

// Consequence reports whether what is missing is no datum but what would follow
// from others: a solution, a reading that was to be compared. The data it waits
// for are named by themselves.
func Consequence(missing string) bool {
	return strings.HasPrefix(missing, "a solution of ") || strings.HasPrefix(missing, "volts at ")
}
