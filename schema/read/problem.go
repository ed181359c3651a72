package read

import (
	"fmt"
	"sort"
	"strings"

	"fitout/schema/diag"
	"fitout/schema/source"

	"github.com/agnivade/levenshtein"
)

// Problem is a mistake of the file.
type Problem = diag.Problem

// mostProblems bounds what a hostile file can make us say.
const mostProblems = 1000

type problemKey struct {
	file       *source.File
	start, end int
	message    string
}

// problems collects mistakes; the same one at the same place is said once (a
// merged or aliased value is read more than once).
type problems struct {
	list []Problem
	seen map[problemKey]bool
}

func (p *problems) add(pr Problem) {
	if len(p.list) > mostProblems {
		return
	}
	key := problemKey{pr.Span.File, pr.Span.Start, pr.Span.End, pr.Message}
	if p.seen[key] {
		return
	}
	if p.seen == nil {
		p.seen = map[problemKey]bool{}
	}
	p.seen[key] = true
	if len(p.list) == mostProblems {
		pr = Problem{Span: pr.Span, Message: fmt.Sprintf("more than %d mistakes; the rest are not listed", mostProblems)}
	}
	p.list = append(p.list, pr)
}

func (p *problems) at(n *Node, format string, args ...any) {
	p.add(Problem{Span: n.Span(), Message: fmt.Sprintf(format, args...)})
}

// both reports a mistake that two places make together.
func (p *problems) both(n *Node, first source.Span, note, format string, args ...any) {
	p.add(Problem{Span: n.Span(), Message: fmt.Sprintf(format, args...), Related: []diag.Related{{Span: first, Message: note}}})
}

// unknown reports a name that is not known: the nearest one, and those that
// would fit where they are few enough to read.
func (p *problems) unknown(at source.Span, what, written, context string, known []string) {
	near := ""
	if len(p.list) < mostProblems/5 {
		near = nearest(written, known)
	}
	message := fmt.Sprintf("unknown %s %q%s", what, clip(written), context)
	if near != "" {
		message += "; did you mean " + near + "?"
	}
	if len(known) > 0 && len(known) <= 45 && (near == "" || len(known) <= 16) {
		if near == "" {
			message += ";"
		}
		message += " known here: " + strings.Join(known, ", ")
	} else if near == "" && what == "kind" {
		message += "; fitout schema --kinds lists them all"
	}
	p.add(Problem{Span: at, Message: message, Near: near})
}

// sorted returns the problems by file as read, then by place.
func (p *problems) sorted(files []*source.File) []Problem {
	order := make(map[*source.File]int, len(files))
	for i, f := range files {
		order[f] = i
	}
	sort.SliceStable(p.list, func(i, j int) bool {
		a, b := p.list[i].Span, p.list[j].Span
		if a.File != b.File {
			return order[a.File] < order[b.File]
		}
		return a.Start < b.Start
	})
	return p.list
}

// clip shortens a text for a message.
func clip(s string) string {
	const most = 60
	if len(s) <= most {
		return s
	}
	cut := most
	for cut > 0 && s[cut]&0xC0 == 0x80 {
		cut--
	}
	return s[:cut] + "…"
}

// nearest returns the known name that a slip of the finger may have meant, or
// "". Case, and - for _ or a blank, count for nothing; two letters in the wrong
// order are one slip. Of names equally near, the one that begins alike is taken.
func nearest(written string, known []string) string {
	if len(written) == 0 || len(written) > 60 {
		return ""
	}
	best, least, alike := "", 1+max(1, len([]rune(written))/3), -1
	plain := plainName(written)
	for _, k := range known {
		if d := len(k) - len(written); d > least || -d > least {
			continue
		}
		if len(known) > 1000 && len(k) > 0 && k[0]|0x20 != written[0]|0x20 {
			continue // among many, one that begins alike
		}
		name := plainName(k)
		d := levenshtein.ComputeDistance(plain, name)
		if d == 2 && len(plain) > 2 && sameLetters(plain, name) {
			d = 1
		}
		if d >= 1 && len([]rune(written)) == 1 && d >= len([]rune(k)) {
			continue // any other single letter is as near
		}
		if c := commonStart(plain, name); d < least || d == least && best != "" && c > alike {
			best, least, alike = k, d, c
		}
	}
	return best
}

var looksAlike = strings.NewReplacer("_", "-", " ", "-")

func plainName(s string) string { return looksAlike.Replace(strings.ToLower(s)) }

func sameLetters(a, b string) bool {
	if len(a) != len(b) {
		return false
	}
	var count [256]int
	for i := range len(a) {
		count[a[i]]++
		count[b[i]]--
	}
	return count == [256]int{}
}

func commonStart(a, b string) int {
	n := 0
	for n < len(a) && n < len(b) && a[n] == b[n] {
		n++
	}
	return n
}

func orList(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " or " + words[n-1]
	}
}
