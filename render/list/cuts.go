package list

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"fitout/schema/unit"
	"fitout/validate/tables"
)

// What a piece is cut longer than it runs: ends, lugs or barbs, and the way round
// what is in the way (common practice, no source).
const (
	cutShare = 0.10
	cutLeast = unit.Metre(0.10)
	cutNote  = "Each length carries 10 % for ends, cutting and routing, 0.10 m at least (common practice); quantities are rounded up to whole metres."
	// cutColumn is the column of the metres that a row of cuts takes.
	cutColumn = "H"
)

// cut is one length, or several alike, to be cut from one stock.
type cut struct {
	code, id, from, to string
	length             float64 // m, as run
	pieces             int
	reels              []int // the reel each piece comes from, from 1
}

// each is the length of one piece with its allowance, m.
func (c cut) each() float64 {
	return math.Max(c.length*(1+cutShare), c.length+float64(cutLeast))
}

// stock is one construction of cable or hose and the reels its pieces fit on.
type stock struct {
	group      int
	code, item string
	blind      []string // runs without a length
	reels      []reel
}

// reel is one reel, coil or straight length and what is left of it, m.
type reel struct{ length, left float64 }

type plan struct {
	stock []*stock
	rows  []cut
}

// metres is what is cut of one stock.
func (p plan) metres(code string) float64 {
	sum := 0.0
	for _, c := range p.rows {
		if c.code == code {
			sum += c.each() * float64(c.pieces)
		}
	}
	return sum
}

// of finds or opens the stock with the name.
func (p *plan) of(group int, letter, item string) *stock {
	n := 0
	for _, s := range p.stock {
		if s.group == group {
			n++
			if s.item == item {
				return s
			}
		}
	}
	s := &stock{group: group, code: fmt.Sprintf("%s%d", letter, n+1), item: item}
	p.stock = append(p.stock, s)
	return s
}

// cutPlan lists every length to cut and packs them into reels.
func cutPlan(in Input) plan {
	var p plan
	p.cables(in)
	for _, h := range fittedHoses(in.Survey.Boat) {
		if !h.Bore.Given() || h.Length.Given() && h.Length.V == 0 {
			continue
		}
		s := p.of(4, "H", hoseName(h))
		if !h.Length.Given() {
			s.blind = append(s.blind, h.ID)
			continue
		}
		p.rows = append(p.rows, cut{code: s.code, id: h.ID, from: hoseEnd(h.From), to: hoseEnd(h.To), length: float64(h.Length.V), pieces: 1})
	}
	sort.SliceStable(p.rows, func(i, j int) bool { return p.place(p.rows[i].code) < p.place(p.rows[j].code) })
	for _, s := range p.stock {
		p.pack(s, reelLengths(in, s.group))
	}
	return p
}

func (p plan) place(code string) int {
	for i, s := range p.stock {
		if s.code == code {
			return i
		}
	}
	return -1
}

// cables lists the lengths of cable; the two conductors of a circuit in one cable
// are cut once.
func (p *plan) cables(in Input) {
	seen := map[string]bool{}
	for _, w := range runs(in.Survey.Boat) {
		if !w.Size.Given() || w.Length.Given() && w.Length.V == 0 {
			continue
		}
		name := cableName(in, w)
		if cores(w) > 1 && w.Cable == "" {
			if w.Return && w.Circuit != nil || seen[name+"\x00"+w.ID] {
				continue
			}
			seen[name+"\x00"+w.ID] = true
		}
		s := p.of(1, "W", name)
		if !w.Length.Given() {
			s.blind = append(s.blind, w.Ref())
			continue
		}
		p.rows = append(p.rows, cut{code: s.code, id: w.Ref(), from: cableEnd(w, w.From), to: cableEnd(w, w.To), length: float64(w.Length.V), pieces: max(1, w.Parallel.Or(1))})
	}
}

// reelLengths are usual lengths of reels of cable and coils of hose, m, shortest
// first (common practice, no source): feet where the set is the US one.
func reelLengths(in Input, group int) []float64 {
	lengths := []float64{5, 10, 25, 50, 100}
	scale := 1.0
	if setOf(in) == tables.US {
		lengths, scale = []float64{15, 25, 50, 100, 250}, 0.3048
	}
	if group == 4 {
		lengths = lengths[:4]
	}
	for i := range lengths {
		lengths[i] *= scale
	}
	return lengths
}

// pack puts the pieces of a stock on reels, the longest first, each on the first
// reel that still holds it; the last reel is then the shortest that will do. A
// piece longer than any reel is a length of its own.
func (p *plan) pack(s *stock, lengths []float64) {
	type piece struct {
		row    int
		length float64
	}
	var pieces []piece
	for i := range p.rows {
		if p.rows[i].code == s.code {
			for range p.rows[i].pieces {
				pieces = append(pieces, piece{i, p.rows[i].each()})
			}
		}
	}
	sort.SliceStable(pieces, func(i, j int) bool { return pieces[i].length > pieces[j].length })
	longest := lengths[len(lengths)-1]
	const slack = 1e-9
	for _, x := range pieces {
		at := -1
		for i, r := range s.reels {
			if r.left+slack >= x.length {
				at = i
				break
			}
		}
		if at < 0 {
			at = len(s.reels)
			s.reels = append(s.reels, reel{math.Max(longest, x.length), math.Max(longest, x.length)})
		}
		s.reels[at].left -= x.length
		p.rows[x.row].reels = append(p.rows[x.row].reels, at+1)
	}
	for i, r := range s.reels {
		used := r.length - r.left
		for _, l := range lengths {
			if l+slack >= used {
				s.reels[i] = reel{l, math.Max(0, l-used)}
				break
			}
		}
	}
}

func reelsText(reels []reel) string {
	var out []string
	for i := 0; i < len(reels); {
		n := 1
		for i+n < len(reels) && reels[i+n].length == reels[i].length {
			n++
		}
		out = append(out, fmt.Sprintf("%d of %s", n, lengthText(reels[i].length)))
		i += n
	}
	return strings.Join(out, ", ")
}

// lengthText prints a reel's length in both systems.
func lengthText(m float64) string {
	return fmt.Sprintf("%.1f m (%.0f ft)", m, m/0.3048)
}

func cuts(in Input) Table { return cutTable(cutPlan(in)) }

func cutTable(p plan) Table {
	t := Table{Title: "Cutting plan", Columns: []Column{
		{Key: "cut", Title: "Cut"}, {Key: "item", Title: "Item"}, {Key: "id", Title: "Wire or hose"}, {Key: "from", Title: "From"}, {Key: "to", Title: "To"},
		{Key: "length_m", Title: "Length, m", Right: true}, {Key: "pieces", Title: "Pieces", Right: true}, {Key: "cut_m", Title: "With allowance, m", Right: true},
		{Key: "reel", Title: "From reel"},
	}}
	for _, c := range p.rows {
		var on []string
		for _, r := range c.reels {
			on = appendNew(on, fmt.Sprint(r))
		}
		total := number(c.each()*float64(c.pieces), 3)
		total.Formula = fmt.Sprintf("G{row}*MAX(F{row}*%g,F{row}+%g)", 1+cutShare, float64(cutLeast))
		t.Rows = append(t.Rows, []Cell{text(c.code), text(p.stock[p.place(c.code)].item), text(c.id), text(c.from), text(c.to),
			number(c.length, 2), whole(c.pieces), total, text(strings.Join(on, ", "))})
	}
	t.Notes = []string{cutNote, "Reels are usual lengths (common practice, no source); pieces go on them longest first, each on the first reel that still holds it. Cut the longest first.",
		"In a workbook a changed length changes the quantity ordered; the share of reels is as it was when the list was made."}
	for _, s := range p.stock {
		for i, r := range s.reels {
			t.Notes = append(t.Notes, fmt.Sprintf("%s, reel %d of %s: %.1f m left over (%s).", s.code, i+1, lengthText(r.length), r.left, s.item))
		}
		if len(s.blind) > 0 {
			t.Notes = append(t.Notes, fmt.Sprintf("%s: no length is given for %s; they are in no reel.", s.code, strings.Join(s.blind, ", ")))
		}
	}
	return t
}
