package pack

import (
	"fmt"
	"strings"

	"fitout/render/sheet"
	"fitout/validate/report"
	"fitout/validate/survey"
)

// sweep shows what one failure costs: all that cost anything for the yard and the
// reviewer; for the others those that flood, that silence an alarm or stop the
// last bilge pump, or that stop what is marked essential.
func (m *maker) sweep() []section {
	list := m.Survey.Sweep()
	full := m.isFor(Yard, Reviewer)
	s := section{id: "sweep", title: "When one thing fails", document: "Single failures", lying: true,
		caution: "One failure at a time, everything else as it usually stands. Two at once are not looked at. Inflow is that of a short open end and no promise."}
	groups := m.failures(list, full)
	if len(groups) == 0 {
		s.blocks = []block{para("No single failure of what the file names floods the boat, silences an alarm, stops the last bilge pump or stops what is marked essential.")}
		return []section{s}
	}
	intro := "Each line: what fails, what stops, what comes in, what to do. Worst first. Only what floods the boat, what silences an alarm, stops the last bilge pump or stops what is marked essential stands here; the yard's set has all."
	if full {
		intro = "Each fuse, breaker, switch, valve, pump, wire, hose, bus, battery and hull opening fails in turn, one at a time. Worst first; what costs the same stands on one line."
	}
	s.blocks = append(s.blocks, para(intro))
	if t, any := m.waterTable(groups); any {
		s.blocks = append(s.blocks, entry{id: "sweep-water", title: "What lets water in", find: "flood leak sink hose off burst seacock broken siphon single failure", blocks: []block{
			para("Litres a minute through the open end with valves as they usually stand, laden: upright, and in the worst of the heels and trims that flooding is judged in. \"Under\" is when the water stands over a thing with nothing pumping."), t}})
	}
	if t, any := m.failureTable(groups, full); any {
		s.blocks = append(s.blocks, entry{id: "sweep-stops", title: "What stops, and what is left without protection", find: "fuse blown wire broken short battery fails what if single failure", blocks: []block{t}})
	}
	if idle := idleCount(list); idle > 0 && full {
		s.blocks = append(s.blocks, para(fmt.Sprintf("%d more single failures cost nothing: another way keeps going what they stop, and no water comes in.", idle)))
	}
	return []section{s}
}

func idleCount(list []survey.Failure) (n int) {
	for i := range list {
		if !list[i].Costs() {
			n++
		}
	}
	return n
}

// failure is failures with one cost.
type failure struct {
	what                  []string
	lost, unprotected, do string
	water                 []report.WaterRow
}

// failures puts together what costs the same, whichever part fails.
func (m *maker) failures(list []survey.Failure, full bool) []failure {
	var out []failure
	at := map[[3]string]int{}
	for _, r := range report.SweepRows(m.Survey, list) {
		if !r.Costs() || !full && !r.Grave() {
			continue
		}
		key := [3]string{r.Lost, r.Floods, r.Unprotected}
		what := m.failing(r)
		i, ok := at[key]
		if !ok {
			i = len(out)
			at[key] = i
			out = append(out, failure{lost: r.Lost, unprotected: r.Unprotected, water: report.WaterRows(m.Survey, r.Failure)})
			if r.Unshut != nil {
				out[i].unprotected = strings.Trim(out[i].unprotected+"; "+r.Floods, "; ")
			}
		}
		out[i].what = append(out[i].what, what)
		if !strings.Contains(out[i].do, r.Do) {
			out[i].do = strings.Trim(out[i].do+"; "+r.Do, "; ")
		}
	}
	return out
}

// failing names what fails: a part with title and place, a hose with its ends.
func (m *maker) failing(r report.SweepRow) string {
	switch {
	case r.Hose != nil && len(r.IDs) == 1:
		return r.Hose.ID + " (hose " + endText(r.Hose.From) + " → " + endText(r.Hose.To) + ") " + string(r.Mode)
	case r.Wire != nil && len(r.IDs) == 1:
		return "wire " + r.Head()
	case r.Wire != nil:
		return "wires " + r.Head()
	}
	return r.ID + " (" + r.Thing() + ") " + string(r.Mode)
}

func (m *maker) waterTable(groups []failure) (block, bool) {
	var lines [][]string
	for _, g := range groups {
		for i, w := range g.water {
			fails, stops := "", ""
			if i == 0 {
				fails, stops = strings.Join(g.what, "; "), g.lost
			}
			lines = append(lines, []string{fails, w.By, w.AtRest, w.Most, w.Pumps, w.Under, stops, w.Do})
		}
	}
	cols := []sheet.Column{{Head: "Fails", Grow: 1.3}, {Head: "Water comes by", Grow: 1}, num("L/min"), {Head: "Most, L/min", Grow: 0.9}, num("Pumps move"), {Head: "Under", Grow: 0.9}, {Head: "Stops too", Grow: 0.7}, {Head: "Do", Grow: 1}}
	return table(cols, lines), len(lines) > 0
}

func (m *maker) failureTable(groups []failure, full bool) (block, bool) {
	cols := []sheet.Column{{Head: "Fails", Grow: 1.2}, {Head: "Stops", Grow: 1.6}}
	if full {
		cols = append(cols, sheet.Column{Head: "Left without protection", Grow: 1.1})
	}
	cols = append(cols, sheet.Column{Head: "Do", Grow: 0.9})
	var lines [][]string
	for _, g := range groups {
		if len(g.water) > 0 {
			continue
		}
		line := []string{strings.Join(g.what, "; "), g.lost}
		if full {
			line = append(line, g.unprotected)
		}
		lines = append(lines, append(line, g.do))
	}
	return table(cols, lines), len(lines) > 0
}
