package pack

import (
	"slices"

	"fitout/schema"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// liveness says which joints stay live with every switch and breaker that a
// person can open open.
type liveness struct {
	m *maker
	// from is the source each joint is live from, by the edge it was come to by.
	via   map[int]int
	start map[int]*schema.Part
}

// withSwitchesOff walks from every source over what a person cannot open.
func (m *maker) withSwitchesOff() *liveness {
	l := &liveness{m: m, via: map[int]int{}, start: map[int]*schema.Part{}}
	n := m.Survey.Net
	for i := range n.Edges {
		e := &n.Edges[i]
		switch e.Type {
		case trace.Battery:
			l.walk(e.A, -1, e.Part)
			l.walk(e.B, -1, e.Part)
		case trace.Feed:
			if e.Branch.Feed != nil && (e.Branch.Feed.Needs == "sun" || e.Branch.Feed.Needs == "shore" && e.Part.Is(schema.ShorePower)) {
				l.walk(e.A, -1, e.Part)
			}
		}
	}
	l.converters()
	return l
}

// converters make their outputs live where their inputs are.
func (l *liveness) converters() {
	n := l.m.Survey.Net
	for range n.Edges {
		grown := false
		for i := range n.Edges {
			e := &n.Edges[i]
			if e.Type != trace.ConvertIn || !l.is(e.A) {
				continue
			}
			if out := n.Node(e.Part, e.Branch.Convert.OutA); out >= 0 && !l.is(out) {
				l.walk(out, -1, e.Part)
				grown = true
			}
		}
		if !grown {
			return
		}
	}
}

func (l *liveness) is(node int) bool { _, ok := l.start[node]; return ok }

// stays reports whether current passes an edge whatever a person switches off.
func stays(e *trace.Edge) bool {
	switch e.Type {
	case trace.Conductor, trace.Series:
		return true
	case trace.Contact:
		return !survey.ByPerson(e)
	case trace.Device:
		return e.Branch.Device == nil || !e.Branch.Device.Breaker
	}
	return false
}

func (l *liveness) walk(node, via int, from *schema.Part) {
	n := l.m.Survey.Net
	if node < 0 || n.Nodes[node].Grounded || n.Nodes[node].Return || l.is(node) {
		return
	}
	l.via[node], l.start[node] = via, from
	queue := []int{node}
	for i := 0; i < len(queue); i++ {
		for _, id := range n.Nodes[queue[i]].Edges {
			e := &n.Edges[id]
			v := e.Other(queue[i])
			if !stays(e) || l.is(v) || n.Nodes[v].Grounded || n.Nodes[v].Return {
				continue
			}
			l.via[v], l.start[v] = id, from
			queue = append(queue, v)
		}
	}
}

// part reports what a part's live terminals are live from, and what kills them:
// the first device on the way, else the source itself.
func (l *liveness) part(p *schema.Part) (from, kill string, ok bool) {
	for _, t := range p.Terminals() {
		node := l.m.Survey.Net.Node(p, t.Name)
		if t.Medium == schema.Water || t.Hidden || node < 0 || !l.is(node) {
			continue
		}
		src := l.start[node]
		return name(src), l.kill(node, src, p), true
	}
	return "", "", false
}

// kill says how a joint is made dead.
func (l *liveness) kill(node int, src, self *schema.Part) string {
	var devices []*trace.Edge
	for at := node; ; {
		id, ok := l.via[at]
		if !ok || id < 0 {
			break
		}
		e := &l.m.Survey.Net.Edges[id]
		if e.Type == trace.Device {
			devices = append(devices, e)
		}
		at = e.Other(at)
	}
	slices.Reverse(devices)
	for _, e := range devices {
		if e.Part == self && e.Branch.Way == "" {
			return "pull the fuse: the side toward " + src.ID + " stays live; for both sides " + sourceOff(src)
		}
		id := e.Part.ID
		if e.Branch.Way != "" {
			id += "." + e.Branch.Way
		}
		return "pull fuse " + id + " (" + place(e.Part) + ")"
	}
	return sourceOff(src)
}

// sourceOff says how a source is taken away.
func sourceOff(p *schema.Part) string {
	switch {
	case p.Is(schema.Storage):
		return "take the cable off the minus post of " + p.ID + " (" + place(p) + ")"
	case p.Is(schema.ShorePower):
		return "pull the shore plug, at the quay first"
	case p.Is(schema.Converter):
		return "take the feed of " + p.ID + " (" + place(p) + ") away"
	}
	return "cover " + p.ID + " (" + place(p) + ") from the light"
}
