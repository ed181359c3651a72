package layout

import (
	"fmt"
	"slices"
	"sort"
	"strings"
)

// Room for what may come. A sheet drawn to the last column has to be drawn anew for one lamp more, and every part on it moves. So
// the columns between two bars are counted in steps, and those that a step has beyond the real ones are laid out as ghosts: copies of
// a middling column that hold their place and are not drawn. A lamp more takes the place of a ghost, a lamp less leaves one.

// ghost begins the identifiers of ghosts.
const ghost = "\x02"

func isGhost(id string) bool { return strings.HasPrefix(id, ghost) }

// strand is a chain of boxes from one bar down to another, each with one link above and one below.
type strand struct {
	boxes, links []int // indices in the graph; a link more than boxes
}

// bundles lists the columns between each two bars, in order of the file, and by their bar the chains that hang from one and lead no
// further, such as a breaker whose load is gone.
func (g *Graph) bundles() (order [][2]string, by map[[2]string][]strand, open map[string][]strand) {
	bars := map[string]bool{}
	for _, b := range g.Bars {
		bars[b.ID] = true
	}
	box := map[string]int{}
	for i, b := range g.Boxes {
		box[b.ID] = i
	}
	links := map[string][]int{}
	for i, k := range g.Links {
		links[k.From.Node] = append(links[k.From.Node], i)
		links[k.To.Node] = append(links[k.To.Node], i)
	}
	by, open = map[[2]string][]strand{}, map[string][]strand{}
	for i, k := range g.Links {
		if k.Bridge || !bars[k.From.Node] || bars[k.To.Node] {
			continue
		}
		c := strand{links: []int{i}}
		at := k.To.Node
		for !bars[at] && len(links[at]) == 2 {
			next := links[at][0]
			if next == c.links[len(c.links)-1] {
				next = links[at][1]
			}
			if n := &g.Links[next]; n.Bridge || n.From.Node != at || n.To.Node == at {
				break
			}
			c.boxes = append(c.boxes, box[at])
			c.links = append(c.links, next)
			at = g.Links[next].To.Node
		}
		if !bars[at] {
			if len(links[at]) == 1 {
				c.boxes = append(c.boxes, box[at])
				open[k.From.Node] = append(open[k.From.Node], c)
			}
			continue
		}
		k := [2]string{k.From.Node, at}
		if by[k] == nil {
			order = append(order, k)
		}
		by[k] = append(by[k], c)
	}
	for _, k := range order {
		cs := by[k]
		sort.SliceStable(cs, func(i, j int) bool { return cs[i].boxes[0] < cs[j].boxes[0] })
	}
	return order, by, open
}

// padded is the graph with ghosts: one for every port of a bar that no link uses, beside the column of the port before it, and as
// many more as make the columns of a bar that may grow a multiple of step. It returns nil where there are none.
func (g *Graph) padded(step int) *Graph {
	grow, ports := map[string]bool{}, map[string][]string{}
	used := map[End]bool{}
	for _, b := range g.Bars {
		grow[b.ID], ports[b.ID] = b.Grow, b.Ports
	}
	for _, k := range g.Links {
		used[End{Node: k.From.Node, Port: k.From.Port}] = true
		used[End{Node: k.To.Node, Port: k.To.Port}] = true
	}
	out := &Graph{Bars: g.Bars, Links: slices.Clone(g.Links), Same: g.Same, Below: g.Below, First: g.First}
	behind := make([][]Box, len(g.Boxes)+1) // ghosts behind the box before
	ghosts := 0
	boxes := slices.Clone(g.Boxes)
	// lead completes an open chain with copies of what comes later in another
	lead := func(c, like strand, name string) {
		last := &boxes[c.boxes[len(c.boxes)-1]]
		last.Ports = append(slices.Clone(last.Ports), Port{Name: ghost, Side: Bottom, Offset: last.W / 2})
		prev := End{Node: last.ID, Port: ghost}
		for i := len(c.boxes); i <= len(like.boxes); i++ {
			l := Link{ID: name + "w" + fmt.Sprint(i), From: prev, To: g.Links[like.links[i]].To}
			l.To.Tag = Size{}
			if i < len(like.boxes) {
				copied := g.Boxes[like.boxes[i]]
				copied.ID = name + fmt.Sprint(i)
				behind[c.boxes[len(c.boxes)-1]+1] = append(behind[c.boxes[len(c.boxes)-1]+1], copied)
				l.To.Node = copied.ID
				prev = g.Links[like.links[i+1]].From
				prev.Node, prev.Tag = copied.ID, Size{}
			}
			out.Links = append(out.Links, l)
		}
	}
	order, by, open := g.bundles()
	done := map[string]bool{}
	for _, k := range order {
		cs := by[k]
		if !grow[k[0]] || len(cs) < 2 {
			continue
		}
		like := cs[middling(g, cs)]
		n := len(cs)
		if !done[k[0]] { // what hangs from the bar alone is led on by a ghost
			for _, c := range open[k[0]] {
				if len(c.boxes) < len(like.boxes) {
					n++
					ghosts++
					lead(c, like, fmt.Sprintf("%s%s#%s#%d#", ghost, k[0], k[1], n))
				}
			}
		}
		add := func(port string, at int) {
			n++
			ghosts++
			name := fmt.Sprintf("%s%s#%s#%d#", ghost, k[0], k[1], n)
			prev := g.Links[like.links[0]].From
			prev.Port, prev.Tag = port, Size{}
			for i, b := range like.boxes {
				copied := g.Boxes[b]
				copied.ID = name + fmt.Sprint(i)
				behind[at] = append(behind[at], copied)
				l := Link{ID: name + "w" + fmt.Sprint(i), From: prev, To: g.Links[like.links[i]].To}
				l.To.Node, l.To.Tag = copied.ID, Size{}
				out.Links = append(out.Links, l)
				prev = g.Links[like.links[i+1]].From
				prev.Node, prev.Tag = copied.ID, Size{}
			}
			last := Link{ID: name + "w", From: prev, To: g.Links[like.links[len(like.links)-1]].To}
			last.To.Tag = Size{}
			out.Links = append(out.Links, last)
		}
		at := map[string]int{} // port → column
		for i, c := range cs {
			at[g.Links[c.links[0]].From.Port] = i + 1
		}
		end := func(i int) int { // place behind column i-1
			if i == 0 {
				return cs[0].boxes[0]
			}
			return slices.Max(cs[i-1].boxes) + 1
		}
		before := 0
		for _, port := range ports[k[0]] {
			switch {
			case at[port] > 0:
				before = at[port]
			case !used[End{Node: k[0], Port: port}] && !done[k[0]]:
				add(port, end(before))
			}
		}
		done[k[0]] = true
		for step > 1 && n > 2 && n%step != 0 {
			add(ghost, end(len(cs)))
		}
	}
	if ghosts == 0 {
		return nil
	}
	for i := range behind {
		out.Boxes = append(out.Boxes, behind[i]...)
		if i < len(g.Boxes) {
			out.Boxes = append(out.Boxes, boxes[i])
		}
	}
	return out
}

// middling is the column of middle width.
func middling(g *Graph, cs []strand) int {
	width := func(c strand) int {
		w := 0
		for _, b := range c.boxes {
			w = max(w, g.Boxes[b].W+g.Boxes[b].Text.W)
		}
		return w
	}
	by := make([]int, len(cs))
	for i := range by {
		by[i] = i
	}
	sort.SliceStable(by, func(i, j int) bool { return width(cs[by[i]]) < width(cs[by[j]]) })
	return by[len(by)/2]
}

// strip takes the ghosts out of a plan. It reports false if a sheet or the part of a bar on it then holds nothing.
func (p *Plan) strip() bool {
	ok := true
	for i := range p.Sheets {
		s := &p.Sheets[i]
		s.Boxes = slices.DeleteFunc(slices.Clone(s.Boxes), func(b PlacedBox) bool { return isGhost(b.ID) })
		s.Wires = slices.DeleteFunc(slices.Clone(s.Wires), func(w Wire) bool { return isGhost(w.ID) })
		s.Marks = slices.DeleteFunc(slices.Clone(s.Marks), func(m Mark) bool { return !m.Bar && isGhost(m.Ref) })
		s.Bars = slices.Clone(s.Bars)
		for j := range s.Bars {
			b := &s.Bars[j]
			had := len(b.Studs)
			b.Studs = slices.DeleteFunc(slices.Clone(b.Studs), func(t Stud) bool { return isGhost(t.Link) })
			ok = ok && (len(b.Studs) > 0 || had == 0)
		}
		ok = ok && len(s.Boxes)+len(s.Bars) > 0
	}
	return ok
}
