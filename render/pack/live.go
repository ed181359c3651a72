package pack

import (
	"slices"
	"strings"

	"fitout/schema"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// liveness says which joints stay live with every switch and breaker that a
// person can open open. Each source is followed by itself: a part is dead only
// when all that reach it are away.
type liveness struct {
	m       *maker
	sources []liveSource
}

// liveSource is a source with the joints it reaches.
type liveSource struct {
	part  *schema.Part
	node  int
	reach map[int]bool
	// engine is set for a converter that works while an engine turns.
	engine bool
}

// withSwitchesOff walks from every source over what a person cannot open.
func (m *maker) withSwitchesOff() *liveness {
	if m.cache.live != nil {
		return m.cache.live
	}
	l := &liveness{m: m}
	n := m.Survey.Net
	for i := range n.Edges {
		e := &n.Edges[i]
		switch e.Type {
		case trace.Battery:
			l.add(e.A, e.Part, false)
			l.add(e.B, e.Part, false)
		case trace.Feed:
			if f := e.Branch.Feed; f != nil && (f.Needs == "sun" || f.Needs == "shore" && e.Part.Is(schema.ShorePower)) {
				l.add(e.A, e.Part, false)
			}
		}
	}
	l.converters()
	m.cache.live = l
	return l
}

// converters make their outputs live where their inputs are.
func (l *liveness) converters() {
	n := l.m.Survey.Net
	done := map[int]bool{}
	for grown := true; grown; {
		grown = false
		for i := range n.Edges {
			e := &n.Edges[i]
			if e.Type != trace.ConvertIn || done[i] || !l.live(e.A) {
				continue
			}
			done[i], grown = true, true
			engine := e.Part.Kind.Attr("engine") != nil && e.Part.Has("engine")
			l.add(n.Node(e.Part, e.Branch.Convert.OutA), e.Part, engine)
		}
	}
}

// live reports whether any source reaches a joint.
func (l *liveness) live(node int) bool {
	return slices.ContainsFunc(l.sources, func(s liveSource) bool { return s.reach[node] })
}

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

func (l *liveness) add(node int, from *schema.Part, engine bool) {
	if reach := l.reach(node, nil); reach != nil {
		l.sources = append(l.sources, liveSource{from, node, reach, engine})
	}
}

// reach is what stays joined to a joint with one device out; nil for a joint at
// the ground.
func (l *liveness) reach(node int, out *trace.Edge) map[int]bool {
	n := l.m.Survey.Net
	hot := func(v int) bool { return v >= 0 && !n.Nodes[v].Grounded && !n.Nodes[v].Return }
	if !hot(node) {
		return nil
	}
	seen := map[int]bool{node: true}
	queue := []int{node}
	for i := 0; i < len(queue); i++ {
		for _, id := range n.Nodes[queue[i]].Edges {
			e := &n.Edges[id]
			v := e.Other(queue[i])
			if e == out || !stays(e) || seen[v] || !hot(v) {
				continue
			}
			seen[v] = true
			queue = append(queue, v)
		}
	}
	return seen
}

// part says what a part's live terminals are live from and how each is made dead.
func (l *liveness) part(p *schema.Part) (from, kill string, ok bool) {
	var names, kills []string
	for _, s := range l.sources {
		node, hit := l.touches(p, s)
		if !hit {
			continue
		}
		n := name(s.part)
		if s.engine {
			n += " while the engine runs"
		}
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
		if k := l.kill(node, s, p); !slices.Contains(kills, k) {
			kills = append(kills, k)
		}
	}
	return strings.Join(names, "; "), strings.Join(kills, "; and "), len(names) > 0
}

// always reports whether a part is live with the engine standing.
func (l *liveness) always(p *schema.Part) bool {
	return slices.ContainsFunc(l.sources, func(s liveSource) bool {
		_, hit := l.touches(p, s)
		return hit && !s.engine
	})
}

// touches finds a terminal of a part that a source reaches.
func (l *liveness) touches(p *schema.Part, s liveSource) (node int, ok bool) {
	for _, t := range p.Terminals() {
		if t.Medium == schema.Water || t.Hidden {
			continue
		}
		if n := l.m.Survey.Net.Node(p, t.Name); n >= 0 && s.reach[n] {
			return n, true
		}
	}
	return -1, false
}

// kill says how a joint is made dead: the device whose opening parts it from the
// source, the nearest to the joint; where no single one does, the source itself.
func (l *liveness) kill(node int, s liveSource, self *schema.Part) string {
	n := l.m.Survey.Net
	if node == s.node {
		return sourceOff(s.part)
	}
	path := slices.Clone(l.m.Survey.Path(s.node, node, stays))
	slices.Reverse(path)
	for _, e := range path {
		if e.Type != trace.Device || e.Part == self || l.reach(s.node, e)[node] {
			continue
		}
		id := e.Part.ID
		if e.Branch.Way != "" {
			id += "." + e.Branch.Way
		}
		return "pull fuse " + id + " (" + place(e.Part) + ")"
	}
	for i := range n.Edges {
		if e := &n.Edges[i]; e.Part == self && e.Type == trace.Device && e.Branch.Way == "" {
			return "pulling it leaves the side toward " + s.part.ID + " live; for both sides " + sourceOff(s.part)
		}
	}
	return sourceOff(s.part)
}

// sourceOff says how a source is taken away.
func sourceOff(p *schema.Part) string {
	switch {
	case p.Is(schema.Storage):
		return "take the cables off the minus post of " + p.ID + " (" + place(p) + ")"
	case p.Is(schema.ShorePower):
		return "pull the shore plug, at the quay first"
	case p.Is(schema.Converter):
		return "take the feed of " + p.ID + " (" + place(p) + ") away"
	}
	return "cover " + p.ID + " (" + place(p) + ") from the light"
}
