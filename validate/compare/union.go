package compare

import (
	"slices"

	"fitout/schema"
)

// Union is the new boat with what was removed put back, to be drawn: no boat to
// be judged. A removed run is left out where what it joined is gone in another
// way (the terminal is no more); the list tells of it. The boats given stay as
// they are, save that open parts of the new one may gain a terminal.
func Union(before, after *schema.Boat) *schema.Boat {
	u := *after
	u.Parts = slices.Clone(after.Parts)
	u.Wires = slices.Clone(after.Wires)
	u.Hoses = slices.Clone(after.Hoses)
	for _, p := range before.Parts {
		if after.Part(p.ID) == nil {
			q := *p
			q.Space = nil
			if p.Space != nil {
				q.Space = after.Space(p.Space.ID)
			}
			q.Circuit = nil
			u.Parts = append(u.Parts, &q)
		}
	}
	u.Index()
	for _, p := range u.Parts[len(after.Parts):] {
		p.Host, p.Cock = again(&u, p.Host), again(&u, p.Cock)
	}
	ids := map[string]bool{}
	for _, w := range after.Wires {
		ids[w.ID] = true
	}
	for _, w := range before.Wires {
		if ids[w.ID] || w.Implied {
			continue
		}
		r := *w
		r.Circuit = nil
		if joint(&u, &r.From) && joint(&u, &r.To) {
			u.Wires = append(u.Wires, &r)
		}
	}
	ids = map[string]bool{}
	for _, h := range after.Hoses {
		ids[h.ID] = true
	}
	for _, h := range before.Hoses {
		if ids[h.ID] {
			continue
		}
		r := *h
		if hoseJoint(&u, &r.From) && hoseJoint(&u, &r.To) {
			u.Hoses = append(u.Hoses, &r)
		}
	}
	return &u
}

func again(b *schema.Boat, p *schema.Part) *schema.Part {
	if p == nil {
		return nil
	}
	return b.Part(p.ID)
}

// joint leads an end to the part of the same id; it reports whether that part
// has the terminal.
func joint(b *schema.Boat, e *schema.End) bool {
	if e.Part == nil {
		return false
	}
	p := b.Part(e.Part.ID)
	if p == nil {
		return false
	}
	if _, ok := p.Terminal(e.Terminal); !ok {
		t, had := e.Part.Terminal(e.Terminal)
		if !had || !p.Kind.Open {
			return false
		}
		p.AddTerminal(t)
	}
	e.Part = p
	return true
}

func hoseJoint(b *schema.Boat, e *schema.HoseEnd) bool {
	if e.IsOpen() {
		sp := b.Space(e.Open.ID)
		if sp != nil {
			e.Open = sp
		}
		return sp != nil
	}
	return joint(b, &e.End)
}
