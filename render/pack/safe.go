package pack

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// makeSafe is the order to make dead and to restore, per bank.
func (m *maker) makeSafe() []section {
	s := section{id: "safe", title: "Make safe and restore", document: "Work at the batteries",
		caution: "Smoke or fire: people first. Open the battery switches only if you can reach them; then leave the space shut and call for help."}
	s.blocks = append(s.blocks, warning("Cables put back wrongly after service burn boats. Mark each cable before it comes off; put it back by the terminal sheet."))
	for _, bank := range m.banks() {
		s.blocks = append(s.blocks, m.safeBank(bank))
	}
	if len(m.banks()) == 0 {
		s.blocks = append(s.blocks, para("The file names no battery."))
	}
	return []section{s}
}

// bank is batteries that are made safe together.
type bank struct {
	title     string
	batteries []*schema.Part
}

// banks are those of the file, then the batteries alone.
func (m *maker) banks() []bank {
	in := map[*schema.Part]bool{}
	var out []bank
	for _, b := range m.boat().Banks {
		var list []*schema.Part
		for _, p := range b.Batteries {
			if !p.Prepared {
				in[p] = true
				list = append(list, p)
			}
		}
		if len(list) > 0 {
			out = append(out, bank{"Bank " + b.ID, list})
		}
	}
	for _, p := range m.Survey.Batteries() {
		if !in[p] {
			out = append(out, bank{name(p), []*schema.Part{p}})
		}
	}
	return out
}

func (m *maker) safeBank(b bank) entry {
	var where []string
	for _, p := range b.batteries {
		where = append(where, at(p))
	}
	e := entry{id: "safe-" + b.batteries[0].ID, title: b.title, find: "battery disconnect make dead fire"}
	off := m.chargersOff(b)
	off = append(off, m.switchesOf(b)...)
	off = append(off, m.postsOff(b)...)
	off = append(off, "Tape or cap each lug. Measure between the terminals you will touch: 0 V before a tool goes in.")
	on := m.restore(b)
	e.blocks = []block{
		para(strings.Join(where, "; ") + ". Still live until the cables are off: the posts, and all that stands on the space sheets under \"Live with every switch off\"."),
		heading("To make dead: " + b.title), steps(off),
		heading("To restore: " + b.title), steps(on),
	}
	return e
}

// chargersOff stops what charges the bank.
func (m *maker) chargersOff(b bank) []string {
	out := []string{m.drawsMuch()}
	seen := map[*schema.Part]bool{}
	for _, p := range m.fitted() {
		if !p.Is(schema.Charging) || seen[p] || !m.charges(p, b) {
			continue
		}
		seen[p] = true
		out = append(out, m.stopCharge(p))
	}
	return out
}

// drawsMuch names what is switched off before a battery switch.
func (m *maker) drawsMuch() string {
	var out []string
	for _, p := range m.loads() {
		if a, ok := drawOf(p); ok && a >= 20 && !p.Is(schema.Cranking) || p.Is(schema.Inverting) {
			out = append(out, name(p))
		}
	}
	if len(out) == 0 {
		return "Switch the loads off, engine stopped. A switch opened under load burns its contacts."
	}
	return "Switch off what draws much: " + strings.Join(out, ", ") + ". A switch opened under load burns its contacts."
}

// charges reports whether a source's way leads to a battery of the bank.
func (m *maker) charges(p *schema.Part, b bank) bool {
	for _, w := range m.Survey.Ways(p) {
		if w.Water || w.Return {
			continue
		}
		for _, q := range b.batteries {
			if w.To == q {
				return true
			}
		}
	}
	return false
}

func (m *maker) stopCharge(p *schema.Part) string {
	for _, br := range p.Branches() {
		if br.Type != schema.Feed || br.Feed == nil {
			continue
		}
		switch br.Feed.Needs {
		case "engine":
			return "Stop the engine: " + at(p) + " must not charge into nothing, it would burn out."
		case "sun":
			return "Cover " + at(p) + " from the light, or open its own switch: it gives current whenever there is light."
		case "shore":
			return "Pull the shore plug, at the quay first: it feeds " + at(p) + "."
		}
	}
	return "Stop " + at(p) + " and open its fuse or breaker: " + m.cutOff(p) + "."
}

// switchesOf are the switches a person opens on the ways out of the bank.
func (m *maker) switchesOf(b bank) []string {
	var out []string
	n := m.Survey.Net
	for i := range n.Edges {
		e := &n.Edges[i]
		if e.Type == trace.Contact && survey.Disconnects(e) && m.reaches(e, b) && m.high(e.Part) {
			line := "Switch off " + at(e.Part) + "."
			if l := m.feeds(e.Part, ""); l != "no load by itself" {
				line = "Switch off " + at(e.Part) + ". This stops: " + l + "."
			}
			if len(out) == 0 || out[len(out)-1] != line {
				out = append(out, line)
			}
		}
	}
	return out
}

// reaches reports whether a contact is joined to a post of the bank without
// another switch between.
func (m *maker) reaches(e *trace.Edge, b bank) bool {
	for _, p := range b.batteries {
		for _, t := range []string{"+", "-"} {
			post := m.Survey.Net.Node(p, t)
			if post < 0 || m.Survey.Net.Nodes[post].Grounded {
				continue
			}
			for _, end := range []int{e.A, e.B} {
				if post == end || m.Survey.Path(post, end, stays) != nil {
					return true
				}
			}
		}
	}
	return false
}

// postsOff names the cables of a bank: every minus post before any plus post, and
// among these first the one with the cable to the boat. While one battery still
// has both its cables, the loose end of a link from it is live.
func (m *maker) postsOff(b bank) []string {
	var out []string
	for _, post := range []struct{ t, word string }{{"-", "MINUS"}, {"+", "PLUS"}} {
		for _, p := range m.outerFirst(b, post.t) {
			list := m.wiresAt(p, post.t)
			out = append(out, fmt.Sprintf("%s: take the cables off the %s post: %s. Cover the post and each lug at once.", at(p), post.word, wireNames(list)))
		}
	}
	return out
}

// outerFirst are the batteries of a bank with cables on a post, those first whose
// cables lead out of the bank.
func (m *maker) outerFirst(b bank, post string) []*schema.Part {
	var out []*schema.Part
	for _, p := range b.batteries {
		if len(m.wiresAt(p, post)) > 0 {
			out = append(out, p)
		}
	}
	links := func(p *schema.Part) int {
		for _, w := range m.wiresAt(p, post) {
			if !slices.Contains(b.batteries, w.From.Part) || !slices.Contains(b.batteries, w.To.Part) {
				return 0
			}
		}
		return 1
	}
	slices.SortStableFunc(out, func(a, b *schema.Part) int { return cmp.Compare(links(a), links(b)) })
	return out
}

// restore is the other way round: every plus post, then every minus post, the
// cable to the boat last.
func (m *maker) restore(b bank) []string {
	var out []string
	for _, post := range []struct{ t, word string }{{"+", "PLUS"}, {"-", "MINUS"}} {
		order := m.outerFirst(b, post.t)
		slices.Reverse(order)
		for i, p := range order {
			line := fmt.Sprintf("%s: cables back on the %s post, from the bottom up: %s.", at(p), post.word, wireNames(m.wiresAt(p, post.t)))
			if t := p.Torque(); t.Given() {
				line += " Tighten to " + t.V.Both() + "."
			} else {
				line += " Torque not stated: ask the maker."
			}
			if post.t == "-" && i == len(order)-1 {
				line += " A small spark is usual; a large one means that something is still on: stop."
			}
			out = append(out, line)
		}
	}
	out = append(out, "Covers back over the posts. Nothing loose on top of the battery.")
	line := "Battery switches on, then the breakers one by one."
	if m.poweredBilge() {
		line += " Bilge pump first: lift its float, hear it run."
	}
	out = append(out, line)
	last := "Compare the volts of each battery with the commissioning sheet."
	if slices.ContainsFunc(m.fitted(), func(p *schema.Part) bool { return p.Is(schema.Charging) && m.charges(p, b) }) {
		last = "Charging back last. " + last
	}
	return append(out, last)
}

// wiresAt are the conductors on a terminal, the heaviest first: it lies at the
// bottom of the stack.
func (m *maker) wiresAt(p *schema.Part, terminal string) []*schema.Wire {
	var out []*schema.Wire
	for _, w := range m.boat().Wires {
		if w.Prepared || w.Implied {
			continue
		}
		if w.From.Part == p && w.From.Terminal == terminal || w.To.Part == p && w.To.Terminal == terminal {
			out = append(out, w)
		}
	}
	heaviestFirst(out)
	return out
}

func wireNames(list []*schema.Wire) string {
	var out []string
	for _, w := range list {
		out = append(out, "wire "+w.Ref())
	}
	return strings.Join(out, ", ")
}
