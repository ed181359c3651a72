package schematic

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
)

// placesCaution stands on the places sheet.
const placesCaution = "Places as the file gives them; the outline is a sketch from length and beam, not the boat's lines. Check aboard before cutting or drilling."

// Places draws the boat in plan and profile with every part at its place, and
// names them by space. Without a length or positions there is the key alone, and
// nothing at all for a boat whose parts have neither place nor space.
func Places(in Input) ([]sheet.Page, error) {
	if len(in.Papers) == 0 {
		return nil, nil
	}
	b := newBoatPlan(in)
	if len(b.parts) == 0 && !slices.ContainsFunc(b.unplaced, func(p *schema.Part) bool { return p.Space != nil }) {
		return nil, nil
	}
	paper := in.Papers[0]
	for _, p := range in.Papers {
		if p.W > p.H {
			paper = p
		}
	}
	return b.pages(sheet.NewFrame(paper)), nil
}

// mostAbove is how far above the deck edge the profile reaches, in metres.
const mostAbove = 1.6

// boatPlan is what the places sheet shows.
type boatPlan struct {
	in           Input
	length, beam float64 // metres
	lo, hi       float64 // heights shown, metres
	parts        []placed
	unplaced     []*schema.Part
	spaces       map[*schema.Space]int
	assumed      []string // what the outline takes for granted
	box          bool     // several hulls, whose lines are not known
	unit         placeUnit
}

// placeUnit is what the sheets measure in: feet where the file gives the length of
// the boat in feet, else metres.
type placeUnit struct {
	name   string
	metres float64
	digits int // of figures to a hundredth of a metre or so
}

var (
	inMetres = placeUnit{"m", 1, 2}
	inFeet   = placeUnit{"ft", 0.3048, 1}
)

// figure prints a length without its unit.
func (u placeUnit) figure(m float64) string { return fmt.Sprintf("%.*f", u.digits, m/u.metres) }

// height prints a height with its sign.
func (u placeUnit) height(m float64) string {
	if m < 0 {
		return "−" + u.figure(-m)
	}
	return "+" + u.figure(m)
}

// placed is a part and its place in metres.
type placed struct {
	part                    *schema.Part
	station, offset, height float64
	hasOffset, hasHeight    bool
}

func newBoatPlan(in Input) *boatPlan {
	v := in.boat().Vessel
	b := &boatPlan{in: in, lo: -0.5, hi: 1.2, spaces: map[*schema.Space]int{nil: len(in.boat().Spaces)}}
	for i, s := range in.boat().Spaces {
		b.spaces[s] = i
	}
	b.unit = inMetres
	if strings.Contains(v.Length.Text, "ft") {
		b.unit = inFeet
	}
	b.size(v)
	if v.Sheer.Given() {
		b.hi = float64(v.Sheer.V)
	}
	deck := b.hi
	for _, p := range in.boat().Parts {
		s := p.Station()
		if !s.Given() || p.Host != nil { // a seacock stands at its through-hull
			if p.Host == nil && !p.Prepared {
				b.unplaced = append(b.unplaced, p)
			}
			continue
		}
		x := placed{part: p, station: float64(s.V), offset: float64(p.Offset().V), height: float64(p.Height().V),
			hasOffset: p.Offset().Given(), hasHeight: p.Height().Given()}
		if x.hasHeight {
			b.lo, b.hi = math.Min(b.lo, x.height), math.Max(b.hi, x.height)
		}
		b.parts = append(b.parts, x)
	}
	// a light at the masthead must not shrink the boat: what is higher stands at
	// the upper edge, with its height
	b.hi = math.Min(b.hi, deck+mostAbove) + 0.15
	b.lo -= 0.2
	b.order()
	return b
}

// size takes length and beam from the file. Where it lacks one the outline is made
// to hold the parts, and the sheet says so.
func (b *boatPlan) size(v schema.Vessel) {
	b.length, b.beam = float64(v.Length.V), float64(v.Beam.V)
	far, wide := 0.0, 0.0
	for _, p := range b.in.boat().Parts {
		far = math.Max(far, float64(p.Station().V))
		wide = math.Max(wide, math.Abs(float64(p.Offset().V)))
	}
	if b.length <= 0 && far > 0 {
		b.length = math.Ceil(far*1.05*2) / 2
		b.assumed = append(b.assumed, fmt.Sprintf("length not given: drawn %s %s long to hold the parts", b.unit.figure(b.length), b.unit.name))
	}
	if b.beam <= 0 && b.length > 0 {
		b.beam = math.Max(b.length/3, math.Ceil(wide*2.1*5)/5)
		b.assumed = append(b.assumed, fmt.Sprintf("beam not given: drawn %s %s wide", b.unit.figure(b.beam), b.unit.name))
	}
	if b.box = v.Hull.V == "multihull"; b.box {
		b.assumed = append(b.assumed, "multihull: the box is length by beam, the hulls are not drawn")
	}
}

// order runs space by space in the order of the file, forward before aft within a
// space.
func (b *boatPlan) order() {
	slices.SortStableFunc(b.parts, func(x, y placed) int {
		if c := cmp.Compare(b.spaces[x.part.Space], b.spaces[y.part.Space]); c != 0 {
			return c
		}
		return cmp.Compare(x.station, y.station)
	})
	slices.SortStableFunc(b.unplaced, func(x, y *schema.Part) int { return cmp.Compare(b.spaces[x.Space], b.spaces[y.Space]) })
}

// pages draws the two views, a sheet each for every share of the parts, and the
// key.
func (b *boatPlan) pages(f sheet.Frame) []sheet.Page {
	var pages []sheet.Page
	at := map[string]placeRef{}
	for _, share := range b.shares(f) {
		for _, v := range share.views {
			for _, m := range v.marks {
				for _, c := range m.cells {
					if _, ok := at[c.part.ID]; !ok {
						at[c.part.ID] = placeRef{len(pages), f.Zone(m.at)}
					}
				}
			}
			pages = append(pages, v.page(f, share.name))
		}
	}
	pages = append(pages, newKeyFlow(b, f, at).pages()...)
	for i := range pages {
		pages[i].ID = "places"
		if i > 0 {
			pages[i].ID = fmt.Sprintf("places-%d", i+1)
		}
	}
	return pages
}

// placeRef is a sheet, counted from the first plan, and a zone on it.
type placeRef struct {
	sheet int
	zone  string
}

// mostMarks is how many marks an A4 sheet holds that a person can follow; larger
// paper holds more by its area.
const mostMarks = 120

// share is the parts of one sheet from above and one from the side.
type share struct {
	name  string
	parts []placed
	views []*view
}

// trial is a way to share the parts out: their letters, and how far a mark may
// stand from its place before the parts are shared out over more sheets.
type trial struct {
	letters draw.Letters
	shares  []share
	reach   draw.MM
}

// farthest is the reach of the last trial, whose sheets are taken as they are.
const farthest = draw.MM(60)

// shares parts the list so that every mark stands near its place: on one sheet
// where that goes, else the electrical parts apart from the water, else space by
// space.
func (b *boatPlan) shares(f sheet.Frame) []share {
	if len(b.parts) == 0 || b.length <= 0 {
		return nil
	}
	most := int(float64(mostMarks) * float64(f.Paper.W*f.Paper.H) / (210 * 297))
	all := []share{{parts: b.parts}}
	trades := b.trades()
	tries := []trial{{draw.Designation, all, 9}, {draw.Caution, all, 13}, {draw.Caution, all, 18}, {draw.Designation, trades, 9}, {draw.Caution, trades, 15}, {draw.Caution, trades, 22}}
	for _, each := range []int{70, 50, 35, 20, 10, 6} { // parts a sheet, of A4
		each = int(float64(each) * math.Sqrt(float64(most)/mostMarks))
		tries = append(tries, trial{draw.Caution, bySpace(trades, each), 40})
	}
	for _, t := range tries {
		if b.try(f, t, most) {
			return t.shares
		}
	}
	last := trial{draw.Caution, bySpace(trades, 3), farthest}
	b.draw(f, last)
	return last.shares
}

// try draws the views of a trial; false where one of them has too many marks, or a
// mark too far from its place.
func (b *boatPlan) try(f sheet.Frame, t trial, most int) bool {
	for i := range t.shares {
		if len(t.shares[i].parts) > most {
			return false
		}
	}
	return b.draw(f, t)
}

// draw makes the views of a trial; false at the first that does not hold its marks,
// unless reach is as far as it goes.
func (b *boatPlan) draw(f sheet.Frame, t trial) bool {
	good := true
	for i := range t.shares {
		s := &t.shares[i]
		s.views = nil
		for _, plan := range []bool{true, false} {
			v := b.view(f, plan)
			if good = v.spread(s.parts, t.letters, t.reach) && good; !good && t.reach < farthest {
				return false
			}
			if len(v.marks) > 0 {
				s.views = append(s.views, v)
			}
		}
	}
	return good
}

// trades shares the parts out between the electrical and the water.
func (b *boatPlan) trades() []share {
	out := []share{{name: "electrical"}, {name: "water"}}
	for _, p := range b.parts {
		k := 0
		if p.part.Roles().Any(schema.SeaOpening|schema.HullHole) || hasMedium(p.part, schema.Water) {
			k = 1
		}
		out[k].parts = append(out[k].parts, p)
	}
	return slices.DeleteFunc(out, func(s share) bool { return len(s.parts) == 0 })
}

func hasMedium(p *schema.Part, m schema.Medium) bool {
	return slices.ContainsFunc(p.Terminals(), func(t schema.Terminal) bool { return t.Medium == m })
}

// bySpace parts each share into lots of about so many, at the borders of spaces
// where one is near.
func bySpace(shares []share, each int) (out []share) {
	for _, s := range shares {
		n := (len(s.parts) + each - 1) / each
		for from, k := 0, 0; from < len(s.parts); k++ {
			to := len(s.parts)
			if k < n-1 {
				to = nearBorder(s.parts, from, from+max(1, (to-from)/(n-k)), each/3)
			}
			name := s.name
			if n > 1 {
				name = fmt.Sprintf("%s, part %d", s.name, k+1)
			}
			out = append(out, share{name: name, parts: s.parts[from:to]})
			from = to
		}
	}
	return out
}

// nearBorder moves a cut to the border between two spaces, by so many parts at most.
func nearBorder(parts []placed, from, to, by int) int {
	for d := 0; d <= by; d++ {
		for _, c := range []int{to - d, to + d} {
			if c > from && (c == len(parts) || c < len(parts) && parts[c].part.Space != parts[c-1].part.Space) {
				return c
			}
		}
	}
	return to
}
