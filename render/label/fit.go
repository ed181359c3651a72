package label

import (
	"slices"
	"strings"

	"fitout/render/draw"
)

// Line is one line of a label's text.
type Line struct {
	Text string
	// Lead is how many steps of ISO 3098 the line stands above the plain lines.
	Lead int
	Bold bool
	// Rank says what is left out first where not all fits: the highest; 0 stays.
	Rank int
	// Rows is the most rows the text may take; 0 is one.
	Rows int
}

// set is a line set in letters.
type set struct {
	Line
	letters draw.Letters
	rows    []string
}

// block is lines set one below the other.
type block []set

var (
	boldLadder  = draw.TagLetters(draw.Bold)
	plainLadder = draw.TagLetters(draw.Regular)
)

func (l Line) ladder() []draw.Letters {
	if l.Bold {
		return boldLadder
	}
	return plainLadder
}

// gap is the room below a row of letters: for its descenders (0.3 of the
// capitals) and some air.
func gap(l draw.Letters) draw.MM { return max(0.7, l.Cap()*0.45) }

func (b block) height() draw.MM {
	h := draw.MM(0)
	for _, s := range b {
		h += draw.MM(len(s.rows)) * (s.letters.Cap() + gap(s.letters))
	}
	return h
}

func (b block) width() draw.MM {
	w := draw.MM(0)
	for _, s := range b {
		for _, r := range s.rows {
			w = max(w, s.letters.Width(r))
		}
	}
	return w
}

// least is the height of the smallest capitals.
func (b block) least() draw.MM {
	c := draw.MM(100)
	for _, s := range b {
		c = min(c, s.letters.Cap())
	}
	return c
}

// fit sets lines in a box with the largest letters that fit and returns those
// that found no room even in the least: the caller says so. ok is false where
// a line that must stay does not fit.
func fit(lines []Line, w, h draw.MM) (b block, left []Line, ok bool) {
	kept := slices.Clone(lines)
	for {
		if b, ok := fitAll(kept, w, h); ok {
			return b, left, true
		}
		worst := -1
		for i, l := range kept {
			if l.Rank > 0 && (worst < 0 || l.Rank >= kept[worst].Rank) {
				worst = i
			}
		}
		if worst < 0 {
			return nil, lines, false
		}
		left = append(left, kept[worst])
		kept = slices.Delete(kept, worst, worst+1)
	}
}

// fitAll sets every line or none: the body as large as it goes, then each line
// by itself, the leading ones first.
func fitAll(lines []Line, w, h draw.MM) (block, bool) {
	most := 0
	for _, l := range lines {
		most = max(most, l.Lead)
	}
	for body := len(boldLadder) - 1; body >= -most; body-- {
		steps := make([]int, len(lines))
		for i, l := range lines {
			steps[i] = min(max(0, body+l.Lead), len(l.ladder())-1)
		}
		if b, ok := at(lines, steps, w, h); ok {
			return grow(lines, steps, b, w, h), true
		}
	}
	return nil, false
}

// grow enlarges the lines as far as they fit, those of one lead and weight
// together, the leading ones first.
func grow(lines []Line, steps []int, b block, w, h draw.MM) block {
	groups := groupsOf(lines)
	for grown := true; grown; {
		grown = false
		for _, g := range groups {
			next := slices.Clone(steps)
			for _, i := range g {
				next[i] = min(next[i]+1, len(lines[i].ladder())-1)
			}
			if larger, ok := at(lines, next, w, h); ok && !slices.Equal(next, steps) {
				b, steps, grown = larger, next, true
			}
		}
	}
	return b
}

// groupsOf are the indices of the lines of one lead and weight.
func groupsOf(lines []Line) [][]int {
	var out [][]int
	for i, l := range lines {
		k := slices.IndexFunc(out, func(g []int) bool { return lines[g[0]].Lead == l.Lead && lines[g[0]].Bold == l.Bold })
		if k < 0 {
			out = append(out, []int{i})
			continue
		}
		out[k] = append(out[k], i)
	}
	slices.SortStableFunc(out, func(a, b []int) int { return lines[b[0]].Lead - lines[a[0]].Lead })
	return out
}

// at sets the lines in letters so many steps up; ok is false where they do not
// fit.
func at(lines []Line, steps []int, w, h draw.MM) (block, bool) {
	rows := draw.MM(0) // a row a line at least: most tries end here
	for i, l := range lines {
		letters := l.ladder()[steps[i]]
		rows += letters.Cap() + gap(letters)
	}
	if rows > h {
		return nil, false
	}
	b := make(block, 0, len(lines))
	for i, l := range lines {
		s := set{Line: l, letters: l.ladder()[steps[i]]}
		s.rows = s.letters.Wrap(l.Text, w)
		if len(s.rows) > max(1, l.Rows) || lone(s.rows) || !whole(s.rows, l.Text, steps[i] == 0) {
			return nil, false
		}
		b = append(b, s)
	}
	return b, b.width() <= w && b.height() <= h
}

// lone reports whether a row holds one sign that was broken off a name: "PV1."
// and "+" below it.
func lone(rows []string) bool {
	for i, r := range rows {
		if i > 0 && len([]rune(r)) == 1 && strings.HasSuffix(rows[i-1], ".") {
			return true
		}
	}
	return false
}

// whole reports whether a text was broken at its blanks or behind a hyphen or
// slash; in the least letters also behind a dot, comma or underline.
func whole(rows []string, text string, least bool) bool {
	rest := strings.Join(strings.Fields(draw.Text{S: text}.Clean()), " ")
	for i, r := range rows {
		var ok bool
		if rest, ok = strings.CutPrefix(rest, r); !ok {
			return false
		}
		next, blank := strings.CutPrefix(rest, " ")
		if rest = next; blank || i == len(rows)-1 {
			continue
		}
		breaks := "-/"
		if least {
			breaks = "-/.,_"
		}
		if r == "" || !strings.ContainsAny(r[len(r)-1:], breaks) {
			return false
		}
	}
	return rest == ""
}

// level places a block in a box, each row in the middle, reading from the foot.
func (b block) level(box draw.Box) []draw.Stroke {
	var out []draw.Stroke
	y := box.Min.Y + (box.Height()-b.height())/2
	x := (box.Min.X + box.Max.X) / 2
	for _, s := range b {
		for _, r := range s.rows {
			// half the gap above, so that the block stands in the middle
			out = append(out, draw.Text{At: draw.Point{X: x, Y: y + gap(s.letters)*0.3 + s.letters.Cap()}, S: r, Letters: s.letters, Align: draw.Middle})
			y += s.letters.Cap() + gap(s.letters)
		}
	}
	return out
}

// turned places a block in a box so that it is read from the right: its height
// runs from left to right, from x on.
func (b block) turned(x draw.MM, box draw.Box) []draw.Stroke {
	var out []draw.Stroke
	y := (box.Min.Y + box.Max.Y) / 2
	for _, s := range b {
		for _, r := range s.rows {
			out = append(out, draw.Text{At: draw.Point{X: x + gap(s.letters)*0.3 + s.letters.Cap(), Y: y}, S: r, Letters: s.letters, Align: draw.Middle, Up: true})
			x += s.letters.Cap() + gap(s.letters)
		}
	}
	return out
}
