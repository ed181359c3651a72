package survey

import (
	"fitout/schema"
	"fitout/validate/trace"
)

// Side says whether a hose lies on the sea side: joined to the sea without
// passing above the heeled waterline, so that the sea stands in it in some
// attitude.
type Side struct {
	Wet bool
	// Maybe is set where it may be, and Missing what would tell.
	Maybe   bool
	Missing []Lack
	// From is the sea opening it is joined to.
	From *trace.Mouth
}

// SeaSide returns where hoses lie on the sea side; others are absent.
func (s *Survey) SeaSide() map[*schema.Hose]*Side {
	if s.seaSide != nil {
		return s.seaSide
	}
	s.seaSide = map[*schema.Hose]*Side{}
	f := &flooder{Survey: s, sea: s.Sea(), level: s.Laden()}
	for _, hull := range f.sea.Hull {
		for _, a := range s.Attitudes() {
			s.markSide(f, hull, a)
		}
	}
	return s.seaSide
}

func (s *Survey) markSide(f *flooder, hull *trace.Mouth, a Attitude) {
	at := s.HeightOf(hull.Point, a)
	if !f.possible(at) {
		return
	}
	if f.sure(at) {
		for _, st := range f.submergedAll(hull, a, f.sure).Steps {
			s.eachHose(st.Node, func(side *Side) { side.Wet, side.From = true, hull })
		}
	}
	for _, st := range f.submergedAll(hull, a, f.possible).Steps {
		node := &f.sea.Nodes[st.Node]
		if st.Node == hull.Node {
			node = &trace.SeaNode{Point: hull.Point}
		}
		d, lacks := s.Lacks(node.Point, a)
		s.eachHose(st.Node, func(side *Side) {
			if side.From == nil {
				side.From = hull
			}
			side.Maybe = true
			if lacks {
				side.Missing = appendLack(side.Missing, d)
			}
		})
	}
}

func appendLack(list []Lack, d Lack) []Lack {
	for _, l := range list {
		if l.Name == d.Name {
			return list
		}
	}
	return append(list, d)
}

func (s *Survey) eachHose(node int, mark func(*Side)) {
	for _, id := range s.sea.Nodes[node].Ways {
		h := s.sea.Ways[id].Hose
		if h == nil {
			continue
		}
		side := s.seaSide[h]
		if side == nil {
			side = &Side{}
			s.seaSide[h] = side
		}
		mark(side)
	}
}

// submergedAll is submerged without stopping at openings that fill.
func (f *flooder) submergedAll(hull *trace.Mouth, a Attitude, under func(Level) bool) *trace.Trail {
	return f.sea.Walk([]int{hull.Node}, trace.Walk{Through: f.underWater(a, under)})
}

// underWater takes the ways that lie under water as the test of a level says.
func (f *flooder) underWater(a Attitude, under func(Level) bool) func(*trace.SeaWay, int) bool {
	return func(w *trace.SeaWay, from int) bool {
		to := &f.sea.Nodes[w.Other(from)]
		return under(f.HeightOf(to.Point, a)) && (len(w.Peaks) == 0 || under(f.LowestOf(w.Peaks, a)))
	}
}
