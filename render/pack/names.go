package pack

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// boat is the model.
func (m *maker) boat() *schema.Boat { return m.Survey.Boat }

// fitted are the parts that are in the boat.
func (m *maker) fitted() []*schema.Part {
	var out []*schema.Part
	for _, p := range m.boat().Parts {
		if !p.Prepared {
			out = append(out, p)
		}
	}
	return out
}

// cables are the conductors as they are pulled: one for a cable.
func (m *maker) cables() []*schema.Wire {
	var out []*schema.Wire
	seen := map[string]bool{}
	for _, w := range m.boat().Wires {
		if w.Implied || w.Prepared || w.Cable != "" && seen[w.Cable] {
			continue
		}
		seen[w.Cable] = w.Cable != ""
		out = append(out, w)
	}
	return out
}

// hoses are the hoses that are in the boat.
func (m *maker) hoses() []*schema.Hose {
	var out []*schema.Hose
	for _, h := range m.boat().Hoses {
		if !h.Implied && !h.Prepared {
			out = append(out, h)
		}
	}
	return out
}

// cache keeps what is asked often.
type cache struct {
	parts, runs map[string]bool
	live        *liveness
}

func (m *maker) isPart(id string) bool {
	if m.cache.parts == nil {
		m.cache.parts = map[string]bool{}
		for _, p := range m.boat().Parts {
			m.cache.parts[p.ID] = true
		}
	}
	return m.cache.parts[id]
}

func (m *maker) isRun(id string) bool {
	if m.cache.runs == nil {
		m.cache.runs = map[string]bool{}
		for _, w := range m.cables() {
			m.cache.runs[w.Ref()] = true
		}
		for _, h := range m.hoses() {
			m.cache.runs[h.ID] = true
		}
	}
	return m.cache.runs[id]
}

// name is an id with its title: "F1 House main".
func name(p *schema.Part) string { return strings.TrimSpace(p.ID + " " + titleOf(p)) }

// titleOf is what a part is: its title, else that of
// the panel way that feeds it alone, else its kind's.
func titleOf(p *schema.Part) string {
	if t := p.Title(); t != "" {
		return t
	}
	if c := p.Circuit; c != nil && c.Feed.Part != nil && slices.Contains(c.Loads, p) && len(c.Loads) == 1 {
		if w, ok := c.Feed.Part.Way(c.Feed.Terminal); ok && w.Title.V != "" {
			return w.Title.V
		}
	}
	return p.Kind.Title
}

// place says where a part stands.
func place(p *schema.Part) string {
	if p == nil {
		return ""
	}
	if p.Space == nil {
		return "place not stated"
	}
	return p.Space.Name()
}

// at is a part with its title and place: "F1 House main (Lazarette)".
func at(p *schema.Part) string { return name(p) + " (" + place(p) + ")" }

// ids lists parts by id and title.
func names(list []*schema.Part) string {
	var out []string
	for _, p := range list {
		out = append(out, name(p))
	}
	return strings.Join(out, "; ")
}

// lossText says what stops: at once, and what goes on only while something else
// gives.
func (m *maker) lossText(p *schema.Part, way string) string { return lossWords(m.Survey.Lost(p, way)) }

// lostAtOnce are the loads dead with engines standing, without sun and shore.
func (m *maker) lostAtOnce(p *schema.Part, way string) []*schema.Part {
	l := m.Survey.Lost(p, way)
	return l.AtOnce()
}

func lossWords(l survey.Loss) string {
	var out []string
	if len(l.Dead) > 0 {
		out = append(out, names(l.Dead))
	}
	for _, g := range sameWhile(l.Only) {
		out = append(out, names(g.parts)+" ("+goesOn(len(g.parts), len(out) > 0)+" only "+g.while+")")
	}
	if len(l.Dry) > 0 {
		out = append(out, "no sea water: "+names(l.Dry))
	}
	if len(l.Uncharged) > 0 {
		out = append(out, "no longer charged: "+names(l.Uncharged))
	}
	return strings.Join(out, "; ")
}

// goesOn begins what is said behind loads that something else keeps for a while.
// It stands behind them: "stops only while …" would be read the wrong way round.
func goesOn(n int, behindOthers bool) string {
	switch {
	case n == 1 && behindOthers:
		return "the last goes on"
	case n == 1:
		return "goes on"
	case behindOthers:
		return fmt.Sprintf("the last %d go on", n)
	}
	return "all go on"
}

// keptGroup is loads that are left with the same.
type keptGroup struct {
	while string
	parts []*schema.Part
}

func sameWhile(list []survey.Kept) []keptGroup {
	var out []keptGroup
	for _, k := range list {
		w := k.While()
		i := slices.IndexFunc(out, func(g keptGroup) bool { return g.while == w })
		if i < 0 {
			i = len(out)
			out = append(out, keptGroup{while: w})
		}
		out[i].parts = append(out[i].parts, k.Part)
	}
	return out
}

func rating(p *schema.Part) string {
	if p.Kind.Rating == nil {
		return ""
	}
	return p.Kind.Rating(p)
}

// title of a condition as it is spoken of: "At anchor".
func conditionName(c *schema.Condition) string {
	if c.BuiltIn {
		return "everything on"
	}
	return c.Title.Or(c.ID)
}

func volts(v unit.Volt) string { return fmt.Sprintf("%.2f V", float64(v)) }

func amps(a unit.Amp) string {
	x := math.Abs(float64(a))
	switch {
	case x < 0.1:
		return fmt.Sprintf("%.0f mA", 1000*x)
	case x < 10:
		return fmt.Sprintf("%.2g A", x)
	}
	return fmt.Sprintf("%.0f A", x)
}

func litresPerMin(q unit.LitrePerMin) string {
	return fmt.Sprintf("%.3g L/min", math.Abs(float64(q)))
}

func lengthText(v schema.Val[unit.Metre]) string {
	if !v.Given() {
		return "not given"
	}
	return fmt.Sprintf("%.2f", float64(v.V))
}

// colour of a conductor as written, else the set's for its polarity.
func (m *maker) colour(w *schema.Wire) string {
	switch {
	case w.Cable != "" && !w.Color.Given():
		return "cable"
	case w.Color.Given():
		return w.Color.V
	}
	return m.Survey.DefaultColour(w)
}

// lug names the terminal at an end, 0 at from and 1 at to.
func lug(w *schema.Wire, end int) string {
	switch {
	case len(w.Lugs) > end:
		return w.Lugs[end].V
	case len(w.Lugs) == 1:
		return w.Lugs[0].V
	}
	return "not given"
}

func sizeText(w *schema.Wire) string {
	switch {
	case w.Auto:
		return "auto"
	case w.Size.Given():
		return w.Size.V.String()
	}
	return "not given"
}

func endText(e schema.HoseEnd) string {
	if e.IsOpen() {
		return "open in " + e.Open.Name()
	}
	return e.End.String()
}

// service of a hull opening.
func service(p *schema.Part) string {
	if s := p.Word("service").V; s != "" {
		return s
	}
	return strings.ReplaceAll(p.Word("type").V, "-", " ")
}

// height says how high a part lies.
func height(p *schema.Part) string {
	h := p.Height()
	switch {
	case !h.Given():
		return "not given"
	case h.V < 0:
		return fmt.Sprintf("%.2f m below", -float64(h.V))
	}
	return fmt.Sprintf("%.2f m above", float64(h.V))
}

// minutes of a time of rising water.
func minutes(x float64) string {
	switch {
	case x < 1.5:
		return fmt.Sprintf("%.0f s", 60*x)
	case x < 90:
		return fmt.Sprintf("%.0f min", x)
	}
	return fmt.Sprintf("%.1f h", x/60)
}

func hours(h unit.Hour) string {
	if h >= 48 {
		return fmt.Sprintf("%.1f days", float64(h)/24)
	}
	return fmt.Sprintf("%.1f h", float64(h))
}
