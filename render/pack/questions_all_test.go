package pack

import (
	"fmt"
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// margin is what may stand before a table: blanks, and the letter of a zone.
const margin = `^\s*(?:[A-H]\s+)?`

// rowOf finds the row of a table that begins with a word and holds others, and
// the lines of its cells below it.
func rowOf(text, first string, want ...string) string {
	begins := regexp.MustCompile(margin + regexp.QuoteMeta(first) + `(\s|$)`)
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if !begins.MatchString(l) || slices.ContainsFunc(want, func(w string) bool { return !strings.Contains(l, w) }) {
			continue
		}
		return strings.Join(strings.Fields(strings.Join(lines[i:min(i+6, len(lines))], " ")), " ")
	}
	return ""
}

// asked counts the questions a boat was asked, by kind.
type asked struct {
	*testing.T
	kinds map[string]int
}

func (a *asked) ask(kind, about, answer, text string) {
	a.Helper()
	a.kinds[kind]++
	if answer == "" || !strings.Contains(text, answer) {
		a.Errorf("%s (%s)\n  the model says %q\n  the paper says %q", kind, about, answer, text)
	}
}

// The questions of a technician asked of every example, of every thing they can
// be asked about, and answered from the text of the PDF alone. The answers come
// from the model: its circuits, its net with switches away, its solutions.
func TestQuestionsOnEveryExample(t *testing.T) {
	for _, file := range exampleNames(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			p, in := packOf(t, file, Aboard)
			pages := paperText(t, p)
			a := &asked{t, map[string]int{}}
			a.current(in, p, pages)
			a.water(in, p, pages)
			a.batteries(in, p, pages)
			total := 0
			for _, n := range a.kinds {
				total += n
			}
			if len(a.kinds) < 10 || total < 30 {
				t.Errorf("only %d kinds of question, %d in all: %v", len(a.kinds), total, a.kinds)
			}
		})
	}
}

// nearestDevice is the first fuse or breaker from a load toward a source, on the
// shortest way.
func nearestDevice(in Input, p *schema.Part) (id string, part *schema.Part) {
	var best *survey.Way
	for _, w := range in.Survey.Ways(p) {
		if !w.Water && !w.Return && w.To.Is(schema.Storage) && (best == nil || len(w.Steps) < len(best.Steps)) {
			best = &w
		}
	}
	if best == nil {
		return "", nil
	}
	for _, st := range best.Steps {
		if st.Part != nil && st.Part.Is(schema.Protection) && (st.Way != "" || !st.Part.Is(schema.Panel)) {
			return st.ID, st.Part
		}
	}
	return id, part
}

func (a *asked) current(in Input, p *Pack, pages []string) {
	s, b := in.Survey, in.Survey.Boat
	faults, protection := under(p, pages, "faults"), under(p, pages, "protection")
	for _, q := range b.Parts {
		if q.Prepared || !q.Is(schema.Load) || !slices.ContainsFunc(q.Branches(), func(br schema.Branch) bool { return br.Type == schema.Draw && br.Medium == schema.DC }) {
			continue
		}
		glance := rowOf(faults, q.ID, "(")
		id, part := nearestDevice(in, q)
		if part == nil || glance == "" {
			continue
		}
		a.ask("which fuse feeds it?", q.ID, id, glance)
		if part.Space != nil {
			a.ask("where does that fuse sit?", id, part.Space.Name(), rowOf(protection, id))
		}
		if l := s.Lost(part, strings.TrimPrefix(strings.TrimPrefix(id, part.ID), ".")); len(l.Dead) == 1 {
			a.ask("what stops when it opens?", id, l.Dead[0].ID, rowOf(protection, id))
		}
		var good []string
		for _, c := range s.Conditions() {
			d := s.DCWithoutCranking(c)
			if q.Is(schema.Cranking) {
				d = s.DC(c)
			}
			if v, ok := d.Across(q); ok && d.Solved() && s.Runs(c, q) {
				good = append(good, fmt.Sprintf("%.2f V", float64(v)))
			}
		}
		if len(good) > 0 {
			i := max(0, slices.IndexFunc(good, func(g string) bool { return strings.Contains(glance, g) }))
			a.ask("what reading is good?", q.ID, good[i], glance)
		}
	}
	for _, q := range b.Parts {
		if r := q.Amps("rating"); q.Is(schema.Protection) && !q.Is(schema.Panel) && !q.Prepared && r.Given() && !q.Roles().Any(schema.Residual|schema.ACPart) {
			a.ask("which size of fuse goes in?", q.ID, r.V.RatingText(), rowOf(protection, q.ID))
		}
	}
	// What still runs with every switch and breaker open: the bilge pump or alarm
	// that a walk from the battery's plus reaches over fuses, wires and what moves by
	// itself.
	reach := map[int]bool{}
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Part != nil && e.Part.Is(schema.Storage) && e.Branch.A == "+" {
			reach[e.A] = true
		}
	}
	groups := s.Groups(func(e *trace.Edge) bool {
		return !survey.ByPerson(e) && (e.Passes() || e.Branch != nil && e.Branch.Device != nil && !e.Branch.Device.Breaker)
	})
	for _, q := range b.Parts {
		if q.Prepared || !q.Roles().Any(schema.Bilge|schema.AlarmRole) || q.Space == nil {
			continue
		}
		plus := s.Net.Node(q, "+")
		live := false
		for n := range reach {
			live = live || plus >= 0 && groups.Same(n, plus)
		}
		if live {
			a.ask("what stays live with every switch off?", q.ID, q.ID, rowOf(afterText(under(p, pages, "sheet-space-"+q.Space.ID), "every switch off"), q.ID))
		}
	}
}

func afterText(text, mark string) string {
	if i := strings.Index(text, mark); i >= 0 {
		return text[i:]
	}
	return ""
}

func (a *asked) water(in Input, p *Pack, pages []string) {
	s, b := in.Survey, in.Survey.Boat
	plan, faults := under(p, pages, "openings"), under(p, pages, "faults")
	for _, q := range b.Parts {
		if q.Prepared || !q.Roles().Any(schema.SeaOpening|schema.HullHole) {
			continue
		}
		row := rowNumbered(plan, q.ID)
		if q.Cock != nil {
			a.ask("which valve shuts it?", q.ID, q.Cock.ID, row)
		} else {
			a.ask("which valve shuts it?", q.ID, "no valve", row)
		}
		if v := q.Metres("size"); v.Given() {
			a.ask("which plug fits?", q.ID, fmt.Sprintf(" %.0f", 1000*float64(v.V)), row)
		}
		if f, ok := s.Inflow(q); ok && len(f.Missing) == 0 && f.Depth > 0 {
			a.ask("how fast does the water come?", q.ID, fmt.Sprintf("%.0f", float64(f.ShortTube)), row)
		}
		if q.Space != nil {
			a.ask("where is the hole?", q.ID, q.Space.Name(), row)
		}
	}
	for _, q := range s.SeaUsers() {
		for _, c := range s.Conditions() {
			if f, ok := s.Water(c).Equipment(q); ok && f.Flow > 1 && !c.BuiltIn && s.Runs(c, q) {
				a.ask("how much water must come out?", q.ID, fmt.Sprintf("%.3g L/min", math.Abs(float64(f.Flow))), faults)
			}
		}
	}
}

// rowNumbered is rowOf for a table whose rows begin with a number.
func rowNumbered(text, id string) string {
	begins := regexp.MustCompile(margin + `\d+\s+` + regexp.QuoteMeta(id) + `(\s|$)`)
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if begins.MatchString(l) {
			return strings.Join(strings.Fields(strings.Join(lines[i:min(i+5, len(lines))], " ")), " ")
		}
	}
	return ""
}

func (a *asked) batteries(in Input, p *Pack, pages []string) {
	s, b := in.Survey, in.Survey.Boat
	terminals := under(p, pages, "terminals")
	for _, q := range s.Batteries() {
		post := afterText(terminals, q.ID+" ")
		for _, w := range b.Wires {
			if !w.Prepared && !w.Implied && (w.From.Part == q && w.From.Terminal == "+" || w.To.Part == q && w.To.Terminal == "+") {
				other := w.To
				if w.To.Part == q {
					other = w.From
				}
				row := regexp.MustCompile(`(?m)^.*\s` + regexp.QuoteMeta(w.Ref()) + `\s.*` + regexp.QuoteMeta(other.Part.ID) + `.*$`).FindString(post)
				a.ask("which cable goes on the plus post, and whence?", q.ID+" "+w.Ref(), other.Part.ID, row)
			}
		}
	}
	loads := under(p, pages, "loads")
	for _, c := range s.Conditions() {
		for _, sup := range s.Supplies(c) {
			if c.BuiltIn || sup.Missing != "" || math.IsInf(float64(sup.Hours), 1) || sup.Hours <= 0 || sup.Hours >= 48 {
				continue
			}
			a.ask("how long does the battery last?", c.ID, fmt.Sprintf("%.1f h", float64(sup.Hours)), loads)
		}
	}
}
