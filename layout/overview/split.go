package overview

import (
	"cmp"
	"slices"
	"strings"
)

// Room is the space of a sheet.
type Room struct{ W, H int }

// Sheet is a part of a graph in its place.
type Sheet struct {
	Plan
	// Room is the index of the room that holds it, or -1 where none does.
	Room int
}

// Split lays a graph out on as few sheets as it finds, each in one of the rooms.
// What does not hang together is set side by side; what does not fit is cut
// first where a node feeds leaves, which then stand on a later sheet, and last
// along the columns. Every node stands on one sheet; an edge that is cut is a
// reference at both its ends.
func Split(g Graph, rooms []Room) ([]Sheet, error) {
	g.Edges = distinct(g)
	if _, err := Place(g); err != nil {
		return nil, err
	}
	s := newSplitter(g, rooms)
	all := make([]int, len(g.Nodes))
	for i := range all {
		all[i] = i
	}
	if plan, room := s.fit(all); room >= 0 {
		return []Sheet{{plan, room}}, nil
	}
	return s.pack(s.atoms()), nil
}

func distinct(g Graph) (out []Edge) {
	for _, e := range g.Edges {
		if e.From != e.To && !slices.Contains(out, e) {
			out = append(out, e)
		}
	}
	return out
}

type splitter struct {
	g       Graph
	rooms   []Room
	index   map[string]int
	in, out [][]int
}

func newSplitter(g Graph, rooms []Room) *splitter {
	n := len(g.Nodes)
	s := &splitter{g: g, rooms: rooms, index: map[string]int{}, in: make([][]int, n), out: make([][]int, n)}
	for i, d := range g.Nodes {
		s.index[d.ID] = i
	}
	for _, e := range g.Edges {
		a, b := s.index[e.From], s.index[e.To]
		s.out[a] = append(s.out[a], b)
		s.in[b] = append(s.in[b], a)
	}
	return s
}

func (s *splitter) leaf(v int) bool { return len(s.out[v]) == 0 && len(s.in[v]) == 1 }

// atoms lists what is kept together, in the order of the sheets.
func (s *splitter) atoms() (out [][]int) {
	var later [][]int
	for _, c := range s.components() {
		if s.fits(c) {
			out = append(out, c)
			continue
		}
		trunk, blocks := s.prune(c)
		if s.fits(trunk) {
			out = append(out, trunk)
		} else {
			out = append(out, s.byColumn(trunk)...)
		}
		for _, b := range blocks {
			if s.fits(b) {
				later = append(later, b)
				continue
			}
			for _, v := range b {
				later = append(later, []int{v})
			}
		}
	}
	return append(out, later...)
}

// components lists what hangs together, nodes in the order of the graph.
func (s *splitter) components() (out [][]int) {
	of := make([]int, len(s.g.Nodes))
	for v := range s.g.Nodes {
		if of[v] > 0 {
			continue
		}
		out = append(out, nil)
		todo := []int{v}
		of[v] = len(out)
		for len(todo) > 0 {
			w := todo[0]
			todo = todo[1:]
			out[len(out)-1] = append(out[len(out)-1], w)
			for _, x := range append(slices.Clone(s.in[w]), s.out[w]...) {
				if of[x] == 0 {
					of[x] = len(out)
					todo = append(todo, x)
				}
			}
		}
		slices.Sort(out[len(out)-1])
	}
	return out
}

// prune takes the leaves off, as a block for every node that has more than two.
func (s *splitter) prune(c []int) (trunk []int, blocks [][]int) {
	for _, v := range c {
		if s.leaf(v) && s.leaves(s.in[v][0]) > 2 {
			continue
		}
		trunk = append(trunk, v)
		if s.leaves(v) <= 2 {
			continue
		}
		var b []int
		for _, w := range s.out[v] {
			if s.leaf(w) {
				b = append(b, w)
			}
		}
		blocks = append(blocks, b)
	}
	return trunk, blocks
}

func (s *splitter) leaves(v int) (n int) {
	for _, w := range s.out[v] {
		if s.leaf(w) {
			n++
		}
	}
	return n
}

// byColumn gives the nodes one by one, those nearer the sources first.
func (s *splitter) byColumn(trunk []int) (out [][]int) {
	g := Graph{Height: s.g.Height}
	for _, v := range trunk {
		g.Nodes = append(g.Nodes, s.g.Nodes[v])
	}
	for _, v := range trunk {
		for _, w := range s.out[v] {
			if slices.Contains(trunk, w) {
				g.Edges = append(g.Edges, Edge{s.g.Nodes[v].ID, s.g.Nodes[w].ID})
			}
		}
	}
	p, err := Place(g)
	if err != nil {
		return [][]int{trunk}
	}
	slices.SortStableFunc(p.Boxes, func(a, b Box) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	for _, b := range p.Boxes {
		out = append(out, []int{s.index[b.ID]})
	}
	return out
}

// lookahead is how many atoms more are tried after one that does not fit: a node
// may take the place of references to it.
const lookahead = 8

// pack fills sheet after sheet, each with as many atoms as it holds.
func (s *splitter) pack(atoms [][]int) []Sheet {
	var sheets [][]int
	for len(atoms) > 0 {
		var now, best []int
		taken := 0
		for k, a := range atoms {
			if k-taken > lookahead {
				break
			}
			now = append(now, a...)
			if s.fits(now) {
				best, taken = slices.Clone(now), k+1
			}
		}
		if taken == 0 {
			best, taken = atoms[0], 1
		}
		sheets = append(sheets, best)
		atoms = atoms[taken:]
	}
	on := make([]int, len(s.g.Nodes))
	for i, list := range sheets {
		for _, v := range list {
			on[v] = i
		}
	}
	out := make([]Sheet, len(sheets))
	for i, list := range sheets {
		out[i].Plan, out[i].Room = s.fit(list)
		s.name(&out[i].Plan, on, i)
	}
	return out
}

func (s *splitter) fits(nodes []int) bool { _, room := s.fit(nodes); return room >= 0 }

// fit places some nodes in the first room that holds them; room is -1 where none
// does, and the plan the one that comes nearest.
func (s *splitter) fit(nodes []int) (best Plan, room int) {
	least := -1
	g := s.cut(nodes)
	for i, r := range s.rooms {
		for _, height := range []int{r.H, 0} { // columns of leaves broken, or whole
			g.Height = height
			p, err := Place(g)
			if err != nil {
				continue
			}
			over := max(p.W-r.W, 0) + max(p.H-r.H, 0)
			if over == 0 {
				return p, i
			}
			if least < 0 || over < least {
				best, least = p, over
			}
		}
	}
	return best, -1
}

// Marks before the ids of references, which no part's id may hold.
const (
	fromMark = "\x00from "
	toMark   = "\x00to "
	moreMark = "\x00more "
	between  = "\x00"
)

// cut is the graph of some nodes, with references for what is elsewhere.
func (s *splitter) cut(nodes []int) Graph {
	here := make([]bool, len(s.g.Nodes))
	for _, v := range nodes {
		here[v] = true
	}
	g := Graph{MoreW: s.g.MoreW, MoreH: s.g.MoreH}
	had := map[string]bool{}
	add := func(n Node) string {
		if !had[n.ID] {
			had[n.ID] = true
			g.Nodes = append(g.Nodes, n)
		}
		return n.ID
	}
	for v, n := range s.g.Nodes {
		if here[v] {
			add(n)
		}
	}
	for _, e := range s.g.Edges {
		a, b := s.index[e.From], s.index[e.To]
		from, to := e.From, e.To
		switch {
		case here[a] && here[b]:
		case here[b]:
			n := s.g.Nodes[a]
			from = add(Node{ID: fromMark + n.ID, W: n.RefW, H: n.RefH})
		case here[a] && s.leaf(b) && s.leaves(a) > 2:
			to = add(Node{ID: moreMark + from, W: s.g.MoreW, H: s.g.MoreH})
		case here[a]:
			n := s.g.Nodes[b]
			to = add(Node{ID: toMark + e.From + between + n.ID, W: n.RefW, H: n.RefH})
		default:
			continue
		}
		if x := (Edge{from, to}); !slices.Contains(g.Edges, x) {
			g.Edges = append(g.Edges, x)
		}
	}
	return g
}

// name turns the marked ids of references back, and says where they lead.
func (s *splitter) name(p *Plan, on []int, sheet int) {
	for i := range p.Boxes {
		b := &p.Boxes[i]
		b.ID, b.Ref = unmark(b.ID)
		if b.Ref != Itself {
			b.Feeder = b.ID
		}
		if b.Ref == To {
			b.Feeder, b.ID, _ = strings.Cut(b.ID, between)
		}
		switch b.Ref {
		case From, To:
			b.Sheets = []int{on[s.index[b.ID]]}
		case More:
			for _, v := range s.away(b.ID, on, sheet) {
				b.Count++
				if !slices.Contains(b.Sheets, on[v]) {
					b.Sheets = append(b.Sheets, on[v])
				}
			}
		}
	}
	for i := range p.Nets {
		n := &p.Nets[i]
		n.From, _ = unmark(n.From)
		var to []string
		for _, t := range n.To {
			id, ref := unmark(t)
			if ref == To {
				_, id, _ = strings.Cut(id, between)
			}
			if ref != More {
				to = append(to, id)
				continue
			}
			for _, v := range s.away(id, on, sheet) {
				to = append(to, s.g.Nodes[v].ID)
			}
		}
		n.To = to
	}
}

// away lists the leaves of a node that stand on other sheets.
func (s *splitter) away(id string, on []int, sheet int) (out []int) {
	for _, v := range s.out[s.index[id]] {
		if s.leaf(v) && on[v] != sheet {
			out = append(out, v)
		}
	}
	return out
}

func unmark(id string) (string, Ref) {
	for _, m := range []struct {
		mark string
		ref  Ref
	}{{fromMark, From}, {toMark, To}, {moreMark, More}} {
		if len(id) > len(m.mark) && id[:len(m.mark)] == m.mark {
			return id[len(m.mark):], m.ref
		}
	}
	return id, Itself
}
