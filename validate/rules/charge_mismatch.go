package rules

import (
	"fmt"
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var chargeMismatch = Rule{
	Name: "charge-mismatch", Section: "DC, static",
	Asks:     "Do profile, voltage and current of every charging source suit the bank, and their sum too?",
	Why:      "a wrong charge boils lead, shuts lithium off or overheats it",
	Severity: "error",
	Source:   "absorption and float voltages by chemistry (from memory); `max-charge` as stated by the battery's maker",
	Quiet:    "any voltage from the lowest float to the highest absorption suits; `charge-volts` of the battery wins; a source that only a person's switch joins is not counted",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 100 Ah, protection: internal, max-charge: 50 A}
  CH1: {kind: charger, output: 20 A, volts: 14.8 V, profile: flooded}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 40 A}, CH1.+], size: 10 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: CH1.-, to: B1.-, size: 10 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 100 Ah, protection: internal, max-charge: 50 A}
  CH1: {kind: charger, output: 20 A, volts: 14.4 V, profile: lfp}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 40 A}, CH1.+], size: 10 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: CH1.-, to: B1.-, size: 10 mm2, length: 2 m}
`,
	Check: checkChargeMismatch,
}

// chargeSource is one output that charges: what it gives and between which joints.
type chargeSource struct {
	part    *schema.Part
	edge    *trace.Edge
	a, b    int
	volts   schema.Val[unit.Volt]
	profile string
	amps    unit.Amp
	known   bool
	missing string
}

// chargeSources lists the outputs that can put charge into a battery, in order of
// the net.
func (c *Context) chargeSources() []chargeSource {
	var list []chargeSource
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		switch {
		case e.Type == trace.Feed && e.Medium == schema.DC:
			list = append(list, chargeSource{part: e.Part, edge: e, a: e.A, b: c.Back(e), volts: e.Branch.Feed.Volts, profile: e.Branch.Feed.Profile})
		case e.Type == trace.ConvertIn:
			cv := e.Branch.Convert
			list = append(list, chargeSource{part: e.Part, edge: e, a: c.Net.Node(e.Part, cv.OutA), b: c.Net.Node(e.Part, cv.OutB), volts: cv.Volts, profile: cv.Profile})
		}
	}
	limits := map[*trace.Edge]*trace.Source{}
	for i := range c.Net.Sources {
		if s := &c.Net.Sources[i]; !s.Back {
			limits[&c.Net.Edges[s.Edge]] = s
		}
	}
	for i := range list {
		s := &list[i]
		f := s.edge.Branch.Feed
		if f != nil && f.Needs == "sun" {
			s.volts = schema.Val[unit.Volt]{} // a panel follows the battery
		}
		s.known, s.amps, s.missing = outputAmps(s)
		if lim := limits[s.edge]; !s.known && lim != nil && lim.Known {
			s.known, s.amps = true, lim.Amps
		}
	}
	return list
}

// outputAmps is the most a source gives, whatever device it carries.
func outputAmps(s *chargeSource) (known bool, amps unit.Amp, missing string) {
	if f := s.edge.Branch.Feed; f != nil {
		switch {
		case f.Amps.Given():
			return true, f.Amps.V, ""
		case f.Watts.Given() && f.Volts.Given() && f.Volts.V > 0:
			return true, unit.Amp(float64(f.Watts.V) / float64(f.Volts.V)), ""
		}
	}
	if cv := s.edge.Branch.Convert; cv != nil {
		switch {
		case cv.Amps.Given():
			return true, cv.Amps.V, ""
		case cv.Watts.Given() && cv.Volts.Given() && cv.Volts.V > 0:
			return true, unit.Amp(float64(cv.Watts.V) / float64(cv.Volts.V)), ""
		}
	}
	return false, 0, "output of " + s.part.ID
}

func checkChargeMismatch(c *Context) {
	sources := c.chargeSources()
	if len(sources) == 0 {
		return
	}
	rest := c.AtRest()
	closing := c.automaticState()
	atRest := c.chains(rest.Groups)
	joined := atRest
	if closing != rest {
		joined = c.chains(closing.Groups)
	}
	for _, s := range sources {
		c.Looked("charge-mismatch")
		c.judgeCharge(rest, atRest, joined, s)
	}
	c.judgeSum(rest, atRest, sources, closing == rest)
	if closing != rest {
		c.judgeSum(closing, joined, sources, true)
	}
}

// automaticState is the state with every contact closed that closes by itself;
// the state at rest where there are none.
func (c *Context) automaticState() *survey.State {
	set := survey.Setting{}
	for _, m := range c.movers(schema.DC) {
		if m.automatic {
			set[m.part] = m.positions[0]
		}
	}
	if len(set) == 0 {
		return c.AtRest()
	}
	return c.State(set)
}

// chains finds the batteries between two joints, one after the other.
type chains struct {
	g   *survey.Groups
	top map[int][]*trace.Edge // batteries by the group of their positive
}

func (c *Context) chains(g *survey.Groups) *chains {
	x := &chains{g, map[int][]*trace.Edge{}}
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) {
		if !g.Same(e.A, e.B) {
			x.top[g.Of(e.A)] = append(x.top[g.Of(e.A)], e)
		}
	})
	return x
}

// longestString bounds how many batteries a string is followed through.
const longestString = 64

// between returns the batteries of every string whose positive end is joined to a
// and whose negative end to b.
func (x *chains) between(a, b int) []*trace.Edge {
	if a < 0 || b < 0 || x.g.Same(a, b) {
		return nil
	}
	return x.down(x.g.Of(a), x.g.Of(b), longestString)
}

func (x *chains) down(from, to, left int) []*trace.Edge {
	var list []*trace.Edge
	if left == 0 {
		return nil
	}
	for _, e := range x.top[from] {
		next := x.g.Of(e.B)
		if next == to {
			list = append(list, e)
			continue
		}
		if rest := x.down(next, to, left-1); len(rest) > 0 {
			list = append(append(list, e), rest...)
		}
	}
	slices.SortStableFunc(list, func(p, q *trace.Edge) int { return p.A - q.A })
	return slices.Compact(list)
}

func (c *Context) judgeCharge(rest *survey.State, atRest, joined *chains, s chargeSource) {
	batteries := atRest.between(s.a, s.b)
	if len(batteries) == 0 {
		batteries = atRest.between(s.b, s.a) // the wrong way round
	}
	for _, e := range batteries {
		if s.edge.Type == trace.ConvertIn && len(batteries) > 0 && slices.Contains(atRest.between(s.edge.A, s.edge.B), e) {
			continue // an equaliser: it moves charge within the string it hangs on
		}
		if c.profileSuits(rest, s, e, batteries) && !c.unregulated(s, e, len(batteries)) {
			continue
		}
		return // one cause, one finding
	}
	if joined == atRest {
		return
	}
	for _, e := range joined.between(s.a, s.b) {
		if !slices.Contains(batteries, e) && (s.profile == "lfp") != (e.Part.Word("chemistry").V == "lfp") && s.profile != "" && e.Part.Word("chemistry").Given() {
			c.mismatch(s, e, fmt.Sprintf("%s has a profile for %s and reaches %s, %s, when a relay closes", s.part.ID, s.profile, e.Part.ID, e.Part.Word("chemistry").V), 0, 0, "")
			return
		}
	}
}

// profileSuits judges one source on one battery.
func (c *Context) profileSuits(st *survey.State, s chargeSource, e *trace.Edge, bank []*trace.Edge) bool {
	p := e.Part
	chem := p.Word("chemistry")
	v, _, ok := st.Volts(s.a, s.b)
	if !ok {
		return true // the battery states no voltage
	}
	if v < 0 {
		c.mismatch(s, e, fmt.Sprintf("%s is joined the wrong way round: its + lies on the negative of %s", s.part.ID, p.ID), 0, 0, "")
		return false
	}
	if s.volts.Given() && !survey.SameNominal(s.volts.V, v) {
		c.mismatch(s, e, fmt.Sprintf("%s gives %s to a bank of %s", s.part.ID, s.volts.V, v), s.volts.V, v, "V")
		return false
	}
	if !chem.Given() && !p.Volts("charge-volts").Given() {
		if s.volts.Given() || s.profile != "" {
			c.Missing("charge-mismatch", "chemistry of "+p.ID, p.At, p.ID)
		}
		return true
	}
	if s.profile != "" && chem.Given() && s.profile != chem.V {
		c.mismatch(s, e, fmt.Sprintf("%s has a profile for %s; %s is %s", s.part.ID, s.profile, p.ID, chem.V), 0, 0, "")
		return false
	}
	if !s.volts.Given() {
		if f := s.edge.Branch.Feed; s.part.Is(schema.Charging) && s.profile == "" && (f == nil || f.Needs != "sun") {
			c.Missing("charge-mismatch", "volts of "+s.part.ID, s.part.At, s.part.ID)
		}
		return true
	}
	low, high := chargeSpan(p)
	// The whole string's span, by this battery's share of its volts.
	scale := unit.Volt(1)
	if n := p.Volts("volts"); n.Given() && n.V > 0 && len(bank) > 0 {
		// 12 V and 12.8 V side by side are nominally the same.
		scale = v / n.V
		if whole := unit.Volt(math.Round(float64(scale))); whole > 0 && survey.SameNominal(scale*12, whole*12) {
			scale = whole
		}
	}
	low, high = low*scale, high*scale
	switch {
	case s.volts.V > high+0.005:
		c.mismatch(s, e, fmt.Sprintf("%s gives %s; %s bears %s", s.part.ID, s.volts.V, p.ID, high), s.volts.V, high, "V")
		return false
	case s.volts.V < low-0.005:
		c.mismatch(s, e, fmt.Sprintf("%s gives %s; %s needs %s to hold its charge", s.part.ID, s.volts.V, p.ID, low), s.volts.V, low, "V")
		return false
	}
	return true
}

// trickle is the share of a lead battery's capacity, in amperes for each
// ampere-hour, that a panel may give with nothing to hold its voltage. Common
// practice, no source.
const trickle = 0.01

// unregulated judges a panel joined straight to a battery: nothing keeps its
// voltage, at which it still gives its power, from the battery.
func (c *Context) unregulated(s chargeSource, e *trace.Edge, batteries int) bool {
	f := s.edge.Branch.Feed
	if f == nil || f.Needs != "sun" || !f.Volts.Given() || batteries != 1 {
		return false
	}
	p := e.Part
	_, high := chargeSpan(p)
	capacity := p.AmpHours("capacity")
	lead := p.Word("chemistry").V != "lfp"
	if high <= 0 || f.Volts.V <= high+0.005 || lead && (!capacity.Given() || float64(s.amps) <= trickle*float64(capacity.V)*(1+1e-9)) {
		return false
	}
	c.mismatch(s, e, fmt.Sprintf("%s drives %s to %s in full sun with no charge controller; it bears %s", s.part.ID, p.ID, f.Volts.V, high), f.Volts.V, high, "V")
	return true
}

// chargeSpan is the span of charging voltages that suit a battery.
func chargeSpan(p *schema.Part) (low, high unit.Volt) {
	nominal := p.Volts("volts").V
	if chem, ok := tables.ChemistryOf(p.Word("chemistry").V); ok {
		low, _ = chem.FloatVolts(nominal)
		_, high = chem.ChargeVolts(nominal)
		if !chem.Lead() {
			high, _ = chem.Highest(nominal)
		}
	}
	if v := p.Volts("charge-volts"); v.Given() {
		high = v.V
	}
	return low, high
}

func (c *Context) mismatch(s chargeSource, e *trace.Edge, message string, value, limit unit.Volt, name string) {
	f := diag.Finding{Rule: "charge-mismatch", Severity: diag.Error, Span: s.part.At, At: c.at(s.part, s.a, e.Part), Message: message,
		Risk:   "lead boils dry or never fills; lithium is overcharged or shuts off",
		Do:     fmt.Sprintf("set %s to what the maker of %s asks for, or charge it through a charger of its own", s.part.ID, e.Part.ID),
		Source: "charging voltages by chemistry (from memory); the battery maker's figures come first"}
	if name != "" {
		f.Value, f.Limit, f.Unit = diag.Figure(value), diag.Figure(limit), name
	}
	c.Add(f)
}

// judgeSum compares all sources of a bank with what its batteries take together.
func (c *Context) judgeSum(st *survey.State, x *chains, sources []chargeSource, last bool) {
	sums := map[int]*chargeSum{}
	var order []*chargeSum
	for _, bank := range c.joinedBatteries(st) {
		top := bank[0]
		for _, e := range bank[1:] {
			if v, _, ok := st.Volts(e.A, top.A); ok && v > 0 {
				top = e
			}
		}
		sum := &chargeSum{bank: bank, top: top}
		for _, e := range bank {
			sums[st.Of(e.A)] = sum
		}
		order = append(order, sum)
	}
	for _, s := range sources {
		if s.a < 0 || s.b < 0 || st.Same(s.a, s.b) {
			continue
		}
		if sum := sums[st.Of(s.a)]; sum != nil && len(x.between(s.a, s.b)) > 0 {
			sum.add(s)
		}
	}
	for _, sum := range order {
		c.reportSum(st, sum, last)
	}
}

type chargeSum struct {
	bank    []*trace.Edge
	top     *trace.Edge
	sources []chargeSource
}

// add takes a source once, however many of its outputs reach the bank.
func (s *chargeSum) add(src chargeSource) {
	for _, have := range s.sources {
		if have.part == src.part {
			return
		}
	}
	s.sources = append(s.sources, src)
}

func (c *Context) reportSum(st *survey.State, sum *chargeSum, last bool) {
	if len(sum.sources) == 0 {
		return
	}
	limit, known := c.chargeLimit(st, sum, last)
	if !known {
		return
	}
	total := unit.Amp(0)
	var names []string
	var from []*schema.Part
	for _, s := range sum.sources {
		if !s.known {
			if last {
				c.Missing("charge-mismatch", s.missing, s.part.At, s.part.ID)
			}
			continue
		}
		total += s.amps
		names = append(names, fmt.Sprintf("%s %s", s.part.ID, s.amps))
		from = append(from, s.part)
	}
	if total <= limit+slack || c.summed(sum) {
		return
	}
	where := c.at(from[0], sum.sources[0].a)
	for _, id := range append(ids(from), ids(parts(sum.bank))...) {
		if !slices.Contains(where, id) {
			where = append(where, id)
		}
	}
	c.Add(diag.Finding{Rule: "charge-mismatch", Severity: diag.Error, Span: sum.bank[0].Part.At, At: where,
		Message: fmt.Sprintf("%s can charge %s with %s together; it takes %s", list(names), list(ids(parts(sum.bank))), total, limit),
		Risk:    "the battery overheats, or its protection shuts off under charge",
		Do:      "limit a source, or see that they cannot charge at once",
		Source:  "max-charge as stated by the battery's maker",
		Value:   diag.Figure(total), Limit: diag.Figure(limit), Unit: "A"})
}

// summed reports whether the sum on a bank has been reported in another state.
func (c *Context) summed(sum *chargeSum) bool {
	for _, f := range c.found {
		if f.Rule == "charge-mismatch" && f.Unit == "A" && f.Span == sum.bank[0].Part.At {
			return true
		}
	}
	return false
}

// chargeLimit is what a bank takes: parallel batteries add up, of those in series
// the one that takes least limits the string.
func (c *Context) chargeLimit(st *survey.State, sum *chargeSum, last bool) (unit.Amp, bool) {
	known := true
	limitOf := func(p *schema.Part) unit.Amp {
		m := p.Amps("max-charge")
		if !m.Given() {
			known = false
			if last {
				c.Missing("charge-mismatch", "max-charge of "+p.ID, p.At, p.ID)
			}
		}
		return m.V
	}
	var under func(node, depth int) unit.Amp
	under = func(node, depth int) unit.Amp {
		total := unit.Amp(0)
		var done []int // negatives of the batteries at this level, each joint once
		for _, e := range sum.bank {
			if !st.Same(e.A, node) || slices.ContainsFunc(done, func(n int) bool { return st.Same(n, e.B) }) {
				continue
			}
			done = append(done, e.B)
			level := unit.Amp(0)
			for _, o := range sum.bank {
				if st.Same(o.A, node) && st.Same(o.B, e.B) {
					level += limitOf(o.Part)
				}
			}
			below := slices.ContainsFunc(sum.bank, func(o *trace.Edge) bool { return st.Same(o.A, e.B) })
			if below && depth < len(sum.bank) {
				level = min(level, under(e.B, depth+1))
			}
			total += level
		}
		return total
	}
	return under(sum.top.A, 0), known
}
