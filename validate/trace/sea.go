package trace

import (
	"fitout/schema"
	"fitout/schema/source"
	"fitout/schema/unit"
)

// Sea is the boat's water as a graph: joints, and the ways between them that
// hoses and the insides of parts make. Prepared parts and hoses are no part of
// it. Make it with BuildSea.
type Sea struct {
	Nodes []SeaNode
	Ways  []SeaWay
	// Hull are the ways through the hull for water, Inside the places where the
	// boat fills from, Air those that open above deck, Holes the hull openings
	// without a circuit; each in file order.
	Hull, Inside, Air, Holes []*Mouth
	// Screwed are parts that take their place from what they are screwed to.
	Screwed []Screwed

	at     map[endKey]int
	joined map[endKey]int // hose ends that land on a terminal
	hoses  map[*schema.Part]int
	stamp  []int
	clock  int
}

// SeaNode is one joint of the water: the terminals of a part that are one water,
// or the open end of a hose.
type SeaNode struct {
	Part      *schema.Part // nil at the open end of a hose
	Hose      *schema.Hose // the hose, at its open end
	Terminals []string
	Point     Point
	Ways      []int
	Mouths    []*Mouth
}

// Name is the part, or "the open end of H3".
func (n *SeaNode) Name() string {
	if n.Part != nil {
		return n.Part.ID
	}
	return "the open end of " + n.Hose.ID
}

// ID is the part's or the hose's.
func (n *SeaNode) ID() string {
	if n.Part != nil {
		return n.Part.ID
	}
	return n.Hose.ID
}

// SeaWay is a way for water between two joints: a hose, or the inside of a part.
type SeaWay struct {
	A, B    int
	Hose    *schema.Hose
	Part    *schema.Part    // of Channel
	Channel *schema.Channel // nil for a hose
	// Peaks are the places a hose's peak may lie at; the lowest counts, in each
	// attitude. Empty where its ends are its highest. Dips likewise.
	Peaks, Dips []Point
	// Exclusive is set for the ways of a part that cannot be open at once.
	Exclusive bool
}

// Other returns the node at the other end.
func (w *SeaWay) Other(node int) int {
	if w.A == node {
		return w.B
	}
	return w.A
}

// Vented reports whether the way is a vented loop.
func (w *SeaWay) Vented() bool { return w.Channel != nil && w.Channel.Vented }

// Valve reports whether the way can be shut by a valve.
func (w *SeaWay) Valve() bool { return w.Channel != nil && w.Channel.Type == schema.Valve }

// Pump is the pump in the way, or nil. The own pump of equipment is none.
func (w *SeaWay) Pump() *schema.PumpData {
	if w.Channel != nil && w.Channel.Type == schema.PumpWay {
		return w.Channel.Pump
	}
	return nil
}

// Carries reports whether water can pass: coolant never mixes with it, and a
// relief valve is shut.
func (w *SeaWay) Carries() bool {
	return w.Channel == nil || w.Channel.Type != schema.CoilWay && w.Channel.Type != schema.Blocked
}

// Close reports whether the way is a close joint: two parts screwed together.
func (w *SeaWay) Close() bool {
	return w.Hose != nil && w.Hose.Length.Given() && w.Hose.Length.V == 0
}

// Point is a place in the boat as far as it is known.
type Point struct {
	Height, Offset, Station schema.Val[unit.Metre]
	// Of is the part or hose it belongs to; HeightOf names the datum that gives
	// its height where that is not "height of" Of.
	Of, HeightOf string
	At           source.Span
}

// HeightName names the datum of the height: "height of TH1".
func (p Point) HeightName() string {
	if p.HeightOf != "" {
		return p.HeightOf
	}
	return "height of " + p.Of
}

// Mouth is an opening of the water system.
type Mouth struct {
	Type  schema.OpeningType
	Part  *schema.Part // nil for the open end of a hose
	Hose  *schema.Hose
	Space *schema.Space // an open end's
	Node  int           // -1 where no water reaches it (a hull fitting)
	What  string        // rim, bowl, vent, hull, open end …
	Point Point
	Drain bool
}

// ID is the part's or the hose's.
func (m *Mouth) ID() string {
	if m.Part != nil {
		return m.Part.ID
	}
	return m.Hose.ID
}

// Span is where it stands in the file.
func (m *Mouth) Span() source.Span {
	if m.Part != nil {
		return m.Part.At
	}
	return m.Hose.At
}

// Screwed is a part without a height of its own that takes the place of what it
// is screwed to.
type Screwed struct {
	Part, To *schema.Part
	Height   schema.Val[unit.Metre]
}

// BuildSea makes the graph of a boat's water.
func BuildSea(b *schema.Boat) *Sea {
	s := &Sea{at: map[endKey]int{}, joined: map[endKey]int{}, hoses: map[*schema.Part]int{}}
	for _, h := range b.Hoses {
		if fitted(h) {
			s.noteEnds(h)
		}
	}
	for _, p := range b.Parts {
		if !p.Prepared {
			s.addPart(p)
		}
	}
	for _, h := range b.Hoses {
		if fitted(h) {
			s.addHose(h)
		}
	}
	s.screw()
	for i := range s.Ways {
		s.placePeaks(&s.Ways[i])
	}
	s.stamp = make([]int, len(s.Nodes))
	return s
}

// fitted reports whether a hose and the parts at its ends are there.
func fitted(h *schema.Hose) bool {
	there := func(e schema.HoseEnd) bool { return e.IsOpen() || e.Part != nil && !e.Part.Prepared }
	return !h.Prepared && there(h.From) && there(h.To)
}

func (s *Sea) noteEnds(h *schema.Hose) {
	for _, e := range []schema.HoseEnd{h.From, h.To} {
		if e.Part != nil {
			s.joined[endKey{e.Part, e.Terminal}]++
			if !h.Implied {
				s.hoses[e.Part]++
			}
		}
	}
}

// Joined returns how many hoses land on a terminal, close joints included.
func (s *Sea) Joined(p *schema.Part, terminal string) int { return s.joined[endKey{p, terminal}] }

// HosesAt returns how many hoses of the file land on a part.
func (s *Sea) HosesAt(p *schema.Part) int { return s.hoses[p] }

// Node returns the joint of a terminal, or -1.
func (s *Sea) Node(p *schema.Part, terminal string) int {
	if i, ok := s.at[endKey{p, terminal}]; ok {
		return i
	}
	return -1
}

// NodesOf returns the joints of a part in the order of its terminals.
func (s *Sea) NodesOf(p *schema.Part) []int {
	var out []int
	for _, t := range p.Terminals() {
		if t.Medium != schema.Water {
			continue
		}
		i := s.Node(p, t.Name)
		if i >= 0 && (len(out) == 0 || out[len(out)-1] != i) {
			out = append(out, i)
		}
	}
	return out
}

// addPart adds a part's joints, the ways inside it and its openings.
func (s *Sea) addPart(p *schema.Part) {
	var names []string
	for _, t := range p.Terminals() {
		if t.Medium == schema.Water {
			names = append(names, t.Name)
		}
	}
	channels := p.Channels()
	group := unite(names, channels, func(c *schema.Channel) bool { return s.stands(p, c) })
	for i, n := range names {
		if group[i] == i {
			s.at[endKey{p, n}] = len(s.Nodes)
			s.Nodes = append(s.Nodes, SeaNode{Part: p, Point: pointOf(p, n)})
		} else {
			s.at[endKey{p, n}] = s.at[endKey{p, names[group[i]]}]
		}
		node := &s.Nodes[s.at[endKey{p, n}]]
		node.Terminals = append(node.Terminals, n)
	}
	exclusive := exclusive(p, channels)
	for i := range channels {
		c := &channels[i]
		a, b := s.Node(p, c.A), s.Node(p, c.B)
		if c.Type == schema.Open || a < 0 || b < 0 || a == b {
			continue
		}
		s.addWay(SeaWay{A: a, B: b, Part: p, Channel: c, Exclusive: exclusive && c.Type == schema.Valve})
	}
	s.addMouths(p)
}

// stands reports whether an inner joint is there: the file may replace it.
func (s *Sea) stands(p *schema.Part, c *schema.Channel) bool {
	for _, t := range []string{c.BreaksIfJoined, c.OrIfJoined} {
		if t != "" && s.Joined(p, t) > 0 {
			return false
		}
	}
	return true
}

// unite returns for each name the index of the first that is one water with it.
func unite(names []string, channels []schema.Channel, stands func(*schema.Channel) bool) []int {
	group := make([]int, len(names))
	index := map[string]int{}
	for i, n := range names {
		group[i] = i
		index[n] = i
	}
	for i := range channels {
		c := &channels[i]
		a, okA := index[c.A]
		b, okB := index[c.B]
		if c.Type != schema.Open || !okA || !okB || !stands(c) {
			continue
		}
		from, to := max(group[a], group[b]), min(group[a], group[b])
		for k := range group {
			if group[k] == from {
				group[k] = to
			}
		}
	}
	return group
}

// exclusive reports whether a part's valves cannot be open at once: those of a
// diverter, unless it stands on both.
func exclusive(p *schema.Part, channels []schema.Channel) bool {
	n := 0
	for i := range channels {
		if channels[i].Type == schema.Valve {
			n++
			if channels[i].Position == "both" {
				return false
			}
		}
	}
	return n > 1
}

// pointOf is the place of a part's terminal.
func pointOf(p *schema.Part, terminal string) Point {
	pt := Point{Height: p.Height(), Offset: p.Offset(), Station: p.Station(), Of: p.ID, At: p.At}
	if h := p.Host; h != nil {
		pt.Height, pt.Offset, pt.Station = orElse(pt.Height, h.Height()), orElse(pt.Offset, h.Offset()), orElse(pt.Station, h.Station())
		if !p.Height().Given() && !p.Offset().Given() && !p.Station().Given() {
			pt.Of = h.ID // what is missing is the through-hull's to give
		}
	}
	if terminal == "elbow" && p.Kind.Attr("injection") != nil {
		if h := p.Metres("injection"); h.Given() {
			pt.Height = h
		}
	}
	return pt
}

func orElse(a, b schema.Val[unit.Metre]) schema.Val[unit.Metre] {
	if a.Given() {
		return a
	}
	return b
}

func (s *Sea) addWay(w SeaWay) int {
	id := len(s.Ways)
	s.Ways = append(s.Ways, w)
	s.Nodes[w.A].Ways = append(s.Nodes[w.A].Ways, id)
	s.Nodes[w.B].Ways = append(s.Nodes[w.B].Ways, id)
	return id
}

// addMouths adds a part's openings.
func (s *Sea) addMouths(p *schema.Part) {
	for _, o := range p.Openings() {
		m := &Mouth{Type: o.Type, Part: p, Node: s.Node(p, o.Terminal), What: o.What, Drain: o.Drain}
		m.Point = pointOf(p, o.Terminal)
		m.Point.Height, m.Point.HeightOf = o.Height, o.Missing
		s.addMouth(m)
	}
}

func (s *Sea) addMouth(m *Mouth) {
	switch {
	case m.Type == schema.ToSea && m.Node < 0:
		s.Holes = append(s.Holes, m)
	case m.Type == schema.ToSea:
		s.Hull = append(s.Hull, m)
	case m.Type == schema.ToInside:
		s.Inside = append(s.Inside, m)
	default:
		s.Air = append(s.Air, m)
	}
	if m.Node < 0 {
		return
	}
	n := &s.Nodes[m.Node]
	n.Mouths = append(n.Mouths, m)
	// A basin that gives only its rim lies no higher than that.
	if !n.Point.Height.Given() {
		n.Point.Height, n.Point.HeightOf = m.Point.Height, m.Point.HeightOf
	}
}

func (s *Sea) addHose(h *schema.Hose) {
	a, b := s.hoseEnd(h, h.From, h.To), s.hoseEnd(h, h.To, h.From)
	if a >= 0 && b >= 0 {
		s.addWay(SeaWay{A: a, B: b, Hose: h})
	}
}

// hoseEnd returns the joint of a hose's end; an open end is a joint of its own
// that lies over, or beside, the other end of the hose.
func (s *Sea) hoseEnd(h *schema.Hose, e, other schema.HoseEnd) int {
	if !e.IsOpen() {
		return s.Node(e.Part, e.Terminal)
	}
	pt := Point{Height: e.Height, Of: h.ID, HeightOf: "height of the open end of " + h.ID, At: h.At}
	if other.Part != nil {
		beside := pointOf(other.Part, other.Terminal)
		pt.Offset, pt.Station, pt.Of = beside.Offset, beside.Station, beside.Of
	}
	id := len(s.Nodes)
	s.Nodes = append(s.Nodes, SeaNode{Hose: h, Point: pt})
	m := &Mouth{Type: schema.ToInside, Hose: h, Space: e.Open, Node: id, What: "open end", Point: pt}
	if e.Open.Weather.V {
		m.Type = schema.ToAir
	}
	s.addMouth(m)
	return id
}

// screw gives parts without a height that of what they are screwed to.
func (s *Sea) screw() {
	var queue []int
	for i := range s.Nodes {
		if s.Nodes[i].Point.Height.Given() {
			queue = append(queue, i)
		}
	}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		for _, w := range s.Nodes[n].Ways {
			way := &s.Ways[w]
			to := &s.Nodes[way.Other(n)]
			if to.Point.Height.Given() || to.Part == nil {
				continue
			}
			same := way.Channel != nil && to.Part == s.Nodes[n].Part
			if !way.Close() && !same || s.Nodes[n].Part == nil {
				continue
			}
			from := s.Nodes[n].Point
			to.Point.Height = from.Height
			to.Point.Offset, to.Point.Station = orElse(to.Point.Offset, from.Offset), orElse(to.Point.Station, from.Station)
			if way.Close() {
				s.Screwed = append(s.Screwed, Screwed{Part: to.Part, To: s.Nodes[n].Part, Height: from.Height})
			}
			queue = append(queue, way.Other(n))
		}
	}
}

// placePeaks sets where a hose's peak and dip may lie: at a stated place, else at
// either end of the hose.
func (s *Sea) placePeaks(w *SeaWay) {
	h := w.Hose
	if h == nil {
		return
	}
	at := func(v schema.Val[unit.Metre]) []Point {
		p := Point{Height: v, Of: h.ID, At: h.At}
		if h.PeakAt[0].Given() || h.PeakAt[1].Given() {
			p.Offset, p.Station = h.PeakAt[0], h.PeakAt[1]
			return []Point{p}
		}
		var out []Point
		for _, n := range [2]int{w.A, w.B} {
			end := s.Nodes[n].Point
			p.Offset, p.Station, p.Of = end.Offset, end.Station, end.Of
			out = append(out, p)
		}
		return out
	}
	if h.Peak.Given() {
		w.Peaks = at(h.Peak)
	}
	if h.Dip.Given() {
		w.Dips = at(h.Dip)
	}
}
