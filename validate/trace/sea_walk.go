package trace

// Walk says where a walk over the water goes.
type Walk struct {
	// Through reports whether the walk takes a way from a joint; nil takes every
	// way that carries water.
	Through func(w *SeaWay, from int) bool
	// Beyond reports whether the walk goes on past a joint it has come to; nil
	// goes on everywhere. The joints it starts at are always left.
	Beyond func(node int) bool
}

// Step is one joint a walk has come to: by Way (-1 at the start) from the step
// Prev.
type Step struct{ Node, Way, Prev int }

// Trail is the joints a walk has come to, nearest first.
type Trail struct {
	sea   *Sea
	Steps []Step
	index map[int]int // node → first step, made when it is asked for
}

// Walk goes from joints over all ways it may take. Ways of one part that cannot
// be open at once are never taken one after the other.
func (s *Sea) Walk(from []int, how Walk) *Trail {
	t := &Trail{sea: s}
	s.clock++
	var special map[[2]int]bool
	visit := func(st Step) {
		if st.Way >= 0 && s.Ways[st.Way].Exclusive {
			key := [2]int{st.Node, st.Way}
			if s.stamp[st.Node] == s.clock || special[key] {
				return
			}
			if special == nil {
				special = map[[2]int]bool{}
			}
			special[key] = true
		} else {
			if s.stamp[st.Node] == s.clock {
				return
			}
			s.stamp[st.Node] = s.clock
		}
		t.Steps = append(t.Steps, st)
	}
	for _, n := range from {
		if n >= 0 {
			visit(Step{n, -1, -1})
		}
	}
	for i := 0; i < len(t.Steps); i++ {
		st := t.Steps[i]
		if st.Prev >= 0 && how.Beyond != nil && !how.Beyond(st.Node) {
			continue
		}
		for _, id := range s.Nodes[st.Node].Ways {
			w := &s.Ways[id]
			if id == st.Way || !w.Carries() || s.bars(st.Way, w) || how.Through != nil && !how.Through(w, st.Node) {
				continue
			}
			visit(Step{w.Other(st.Node), id, i})
		}
	}
	return t
}

// bars reports whether the way come by keeps the next one shut.
func (s *Sea) bars(by int, next *SeaWay) bool {
	return by >= 0 && next.Exclusive && s.Ways[by].Exclusive && s.Ways[by].Part == next.Part && &s.Ways[by] != next
}

// Find returns the first step that came to a joint, or -1.
func (t *Trail) Find(node int) int {
	const few = 16
	if len(t.Steps) > few && t.index == nil {
		t.index = make(map[int]int, len(t.Steps))
		for i := len(t.Steps) - 1; i >= 0; i-- {
			t.index[t.Steps[i].Node] = i
		}
	}
	if t.index != nil {
		if i, ok := t.index[node]; ok {
			return i
		}
		return -1
	}
	for i, st := range t.Steps {
		if st.Node == node {
			return i
		}
	}
	return -1
}

// Path returns the steps from the start to step i.
func (t *Trail) Path(i int) []Step {
	var out []Step
	for ; i >= 0; i = t.Steps[i].Prev {
		out = append(out, t.Steps[i])
	}
	for a, b := 0, len(out)-1; a < b; a, b = a+1, b-1 {
		out[a], out[b] = out[b], out[a]
	}
	return out
}
