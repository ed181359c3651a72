package pack

import (
	"slices"

	"fitout/render"
	"fitout/render/label"
	"fitout/schema"
)

// Labels makes the labels of a boat in the words of its pack. Letter paper in the
// file takes US Letter stock.
func Labels(in Input, o label.Options) (*label.Set, error) {
	m, err := newMaker(in, Options{})
	if err != nil {
		return nil, err
	}
	return m.labels(o)
}

func (m *maker) labels(o label.Options) (*label.Set, error) {
	o.Letter = o.Letter || m.frame.Name == "Letter"
	o.Boat, o.Mark = m.boat().Vessel.Name.V, "Input "+render.Fingerprint(m.boat())+"."
	facts := labelFacts{m: m}
	if o.Page != "" {
		facts.addresses = m.addresses()
	}
	return label.Make(m.Survey, facts, o)
}

// hasLabels reports whether labels lie beside the set: for those who stick them
// on, not for the reviewer.
func (m *maker) hasLabels() bool { return m.isFor(Aboard, Owner, Yard) }

// labelFacts gives labels the words of the sheets.
type labelFacts struct {
	m         *maker
	addresses []string
}

func (f labelFacts) Title(p *schema.Part) string { return titleOf(p) }

func (f labelFacts) Stops(p *schema.Part) string { return f.m.stopsWhenShut(p) }

func (f labelFacts) Normal(p *schema.Part) string { return normal(p) }

func (f labelFacts) Live(p *schema.Part) (from, kill string, ok bool) {
	live := f.m.withSwitchesOff()
	if !live.always(p) {
		return "", "", false
	}
	return live.part(p)
}

// Anchor leads to what a person in front of the label wants to know: of a valve
// the fault guide of what it serves, of what is bolted its terminals, of a hull
// opening the emergency plan; else the sheet of the space.
func (f labelFacts) Anchor(k label.Kind, p *schema.Part, sp *schema.Space) string {
	var want []string
	switch k {
	case label.Valves:
		for _, q := range f.m.Survey.Lost(p, "").Dry {
			want = append(want, "water-"+q.ID)
		}
	case label.Openings:
		return "sec-openings"
	case label.Devices, label.Batteries, label.Warnings:
		want = append(want, "terminal-"+p.ID, "fault-"+p.ID)
	}
	for _, a := range append(want, spaceID(sp)) {
		if slices.Contains(f.addresses, a) {
			return "at-" + a
		}
	}
	return ""
}

// addresses are the entries of the page.
func (m *maker) addresses() []string {
	var out []string
	before, after := m.sections()
	var walk func([]block)
	walk = func(list []block) {
		for _, b := range list {
			if e, ok := b.(entry); ok {
				out = append(out, e.id)
				walk(e.blocks)
			}
		}
	}
	for _, s := range append(before, after...) {
		walk(s.blocks)
	}
	return out
}
