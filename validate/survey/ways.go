package survey

import (
	"slices"

	"fitout/schema"
	"fitout/validate/trace"
)

// Way is a way from a part back to what feeds it: a source, or a hull opening.
// Steps run from the part outward.
type Way struct {
	From *schema.Part
	// Terminal is where the way leaves the part.
	Terminal string
	To       *schema.Part
	// Water ways lead to hull openings, the others to sources; Return ways lead
	// from a minus to the battery that takes the current back.
	Water, Return bool
	Steps         []WayStep
}

// Word says what the part has of what the way leads to: "fed from" B1.
func (w Way) Word() string {
	switch {
	case w.Water:
		return "water, to hull opening"
	case w.Return:
		return "return, to the minus of"
	}
	return "fed from"
}

// WayStep is one thing on a way.
type WayStep struct {
	ID    string // "F1", "DP.3", "2a", "H1b"
	Part  *schema.Part
	Way   string // panel way
	Wire  *schema.Wire
	Hose  *schema.Hose
	Opens bool // a fuse, breaker, switch or valve: it can cut the way
	Shut  bool // it stands open (a switch) or shut (a valve) at rest
}

// Space is where the step stands, or nil.
func (s WayStep) Space() *schema.Space {
	if s.Part != nil {
		return s.Part.Space
	}
	return nil
}

// Ways returns the shortest way from a part to each source and each hull opening
// that can reach it, every switch and valve taken as open for it.
func (s *Survey) Ways(p *schema.Part) []Way {
	ways := dedupe(s.pastConverters(s.sourceWays(p), map[*schema.Part]bool{p: true}))
	return append(ways, s.seaWays(p)...)
}

// pastConverters carries the ways that end at a converter on to what feeds its
// input.
func (s *Survey) pastConverters(ways []Way, passed map[*schema.Part]bool) []Way {
	var on []Way
	for _, w := range ways {
		in := s.inputOf(w.To)
		if w.Return || in < 0 || passed[w.To] {
			continue
		}
		passed[w.To] = true
		var behind []Way
		for _, b := range s.sourceWays(w.To) {
			if !b.Return && s.Net.Node(w.To, b.Terminal) == in {
				behind = append(behind, b)
			}
		}
		for _, b := range s.pastConverters(behind, passed) {
			steps := append(slices.Clone(w.Steps), WayStep{ID: w.To.ID, Part: w.To})
			on = append(on, Way{From: w.From, Terminal: w.Terminal, To: b.To, Steps: append(steps, b.Steps...)})
		}
	}
	return append(ways, on...)
}

// inputOf is the joint of a converter's or inverter's input plus, or -1.
func (s *Survey) inputOf(p *schema.Part) int {
	draws, feedsAC := -1, false
	for i := range s.Net.Edges {
		switch e := &s.Net.Edges[i]; {
		case e.Part != p:
		case e.Type == trace.ConvertIn:
			return e.A
		case e.Type == trace.Load && e.Medium == schema.DC:
			draws = e.A
		case e.Type == trace.Feed && e.Medium == schema.AC:
			feedsAC = true
		}
	}
	if feedsAC {
		return draws
	}
	return -1
}

func (s *Survey) sourceWays(p *schema.Part) []Way {
	n := s.Net
	var out []Way
	for _, t := range p.Terminals() {
		start := n.Node(p, t.Name)
		if start < 0 || t.Medium == schema.Water || t.Hidden {
			continue
		}
		via := map[int]int{start: -1}
		queue := []int{start}
		reached := map[*schema.Part]bool{p: true}
		for i := 0; i < len(queue); i++ {
			v := queue[i]
			for _, end := range s.endsAt(v) {
				if !reached[end.part] {
					reached[end.part] = true
					out = append(out, Way{From: p, Terminal: t.Name, To: end.part, Return: end.back, Steps: s.stepsOf(via, v)})
				}
			}
			for _, id := range n.Nodes[v].Edges {
				e := &n.Edges[id]
				w := e.Other(v)
				if _, seen := via[w]; seen || e.Part == p || !e.Passes() && e.Type != trace.Device {
					continue
				}
				via[w] = id
				queue = append(queue, w)
			}
		}
	}
	return dedupe(out)
}

type sourceEnd struct {
	part *schema.Part
	back bool
}

// endsAt are the sources at a joint, and the batteries whose minus it is.
func (s *Survey) endsAt(node int) []sourceEnd {
	var out []sourceEnd
	for _, i := range s.Net.AtNode(node) {
		if src := &s.Net.Sources[i]; !src.Back {
			out = append(out, sourceEnd{src.Part, false})
		}
	}
	for _, id := range s.Net.Nodes[node].Edges {
		if e := &s.Net.Edges[id]; e.Type == trace.Battery && e.B == node {
			out = append(out, sourceEnd{e.Part, true})
		}
	}
	return out
}

// dedupe keeps one way to each source and one return, the shortest.
func dedupe(list []Way) []Way {
	type key struct {
		to   *schema.Part
		back bool
	}
	at := map[key]int{}
	var out []Way
	for _, w := range list {
		k := key{w.To, w.Return}
		if i, ok := at[k]; ok {
			if len(w.Steps) < len(out[i].Steps) {
				out[i] = w
			}
			continue
		}
		at[k] = len(out)
		out = append(out, w)
	}
	return out
}

func (s *Survey) seaWays(p *schema.Part) []Way {
	sea := s.Sea()
	from := sea.NodesOf(p)
	if len(from) == 0 {
		return nil
	}
	trail := sea.Walk(from, trace.Walk{})
	var out []Way
	for _, m := range sea.Hull {
		i := trail.Find(m.Node)
		if i < 0 || m.Part == p {
			continue
		}
		w := Way{From: p, To: m.Part, Water: true}
		for _, st := range trail.Path(i) {
			if st.Way < 0 {
				w.Terminal = firstOf(sea.Nodes[st.Node].Terminals)
				continue
			}
			w.Steps = append(w.Steps, seaStep(&sea.Ways[st.Way])...)
		}
		out = append(out, w)
	}
	return out
}

func firstOf(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}

func seaStep(w *trace.SeaWay) []WayStep {
	switch {
	case w.Hose != nil && w.Hose.Implied:
		return nil
	case w.Hose != nil:
		return []WayStep{{ID: w.Hose.ID, Hose: w.Hose}}
	}
	st := WayStep{ID: w.Part.ID, Part: w.Part, Opens: w.Valve()}
	if w.Valve() {
		st.Shut = !slices.Contains(w.Channel.MakesIn, w.Channel.Position)
	}
	return []WayStep{st}
}

// stepsOf lists what a walk went through from its start to a joint.
func (s *Survey) stepsOf(via map[int]int, v int) []WayStep {
	var out []WayStep
	for _, id := range s.Net.Crossed(via, v) {
		e := &s.Net.Edges[id]
		if e.Type == trace.Conductor {
			out = append(out, WayStep{ID: e.Wire.Ref(), Wire: e.Wire})
			continue
		}
		st := WayStep{ID: e.Part.ID, Part: e.Part, Way: e.Branch.Way, Opens: e.Type == trace.Device || e.Type == trace.Contact}
		if st.Way != "" {
			st.ID += "." + st.Way
		}
		st.Shut = e.Type == trace.Contact && !atRest(e)
		out = append(out, st)
	}
	return out
}

// atRest reports whether a contact makes as the boat lies: in its default
// position, or by itself.
func atRest(e *trace.Edge) bool {
	c := e.Branch.Contact
	return c == nil || c.Automatic || slices.Contains(c.MakesIn, c.Position)
}

// wet returns the users that sea water reaches: from an intake through open
// valves and pumps that run, with one hose off.
func (s *Survey) wet(stopped map[*schema.Part]bool, off *schema.Hose) map[*schema.Part]bool {
	sea := s.Sea()
	var from []int
	for _, m := range sea.Hull {
		if m.Part.Word("service").V == "intake" && !stopped[m.Part] && !stopped[m.Part.Cock] {
			from = append(from, m.Node)
		}
	}
	trail := sea.Walk(from, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool {
		return (w.Part == nil || !stopped[w.Part]) && (off == nil || w.Hose != off)
	}})
	out := map[*schema.Part]bool{}
	for _, st := range trail.Steps {
		if p := sea.Nodes[st.Node].Part; p != nil && p.Is(schema.SeaUser) {
			out[p] = true
		}
	}
	return out
}
