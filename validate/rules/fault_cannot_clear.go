package rules

import (
	"fmt"
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var faultCannotClear = Rule{
	Name: "fault-cannot-clear", Section: dcSolved,
	Asks:     "Does a short at the far end of every run open its device before the conductor reaches its short-time limit?",
	Why:      "a long thin run lets so little current through that the device stays closed and the wire burns",
	Severity: "error; without a published curve: error under twice the rating, not checked under five times",
	Source:   "IEC 60364-4-43 adiabatic limit (from memory); ISO 8820-3 and UL 248-14 opening times",
	Quiet:    "a conductor that stays under its short-time temperature for good at that current never reaches the limit",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  LT1: {kind: light, draw: 0.5 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 30 A}, LT1.+], size: 16 AWG, lengths: [0.15 m, 12 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 16 AWG, length: 12 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  LT1: {kind: light, draw: 0.5 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 3 A}, LT1.+], size: 16 AWG, lengths: [0.15 m, 12 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 16 AWG, length: 12 m}
`,
	Check: checkFaultCannotClear,
}

// Without a published curve a short is taken to open a device from five times its
// rating, and not to open it under twice.
const (
	surelyOpens  = 5.0
	hardlyOpens  = 2.0
	firesWithout = "common practice, no source"
)

// clears is how a short in one conductor ends.
type clears struct {
	wire    *schema.Wire
	amps    unit.Amp
	fails   bool
	words   string
	missing string
	source  string
}

func checkFaultCannotClear(c *Context) {
	if c.shortedAtRest() {
		return // no prospective current is what it will be: short-circuit tells
	}
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if e.Type != trace.Device || e.Medium != schema.DC || spareWay(e) {
			continue
		}
		for _, side := range [2]int{e.B, e.A} {
			c.clearing(id, e, side)
		}
	}
}

// stretch is a conductor of the zone behind a device, entered at near.
type stretch struct {
	wire      *schema.Wire
	near, far int
	load      *trace.Edge // the first load beyond it
}

// zone walks what lies behind a device up to the next devices.
func (c *Context) zone(device, side int) (runs []stretch, guarded bool) {
	n := c.Net
	other := n.Edges[device].Other(side)
	type at struct{ node, up int }
	seen := map[int]bool{side: true}
	queue := []at{{side, -1}}
	var parent []int
	guarded = true
	for i := 0; i < len(queue); i++ {
		v := queue[i]
		for _, id := range n.Nodes[v.node].Edges {
			e := &n.Edges[id]
			switch {
			case e.Medium != schema.DC || id == device:
			case e.Type == trace.Battery:
				guarded = false // fed from here: the device is not what guards it
			case e.Type == trace.Load && e.A == v.node || e.Type == trace.ConvertIn && e.A == v.node:
				for k := v.up; k >= 0 && runs[k].load == nil; k = parent[k] {
					runs[k].load = e
				}
			case e.Type == trace.Conductor, e.Type == trace.Series, e.Type == trace.Contact && c.WorkingSetting().Closed(e):
				w := e.Other(v.node)
				if w == other {
					guarded = false
				}
				if seen[w] {
					continue
				}
				seen[w] = true
				up := v.up
				if e.Type == trace.Conductor {
					runs = append(runs, stretch{wire: e.Wire, near: v.node, far: w})
					parent = append(parent, v.up)
					up = len(runs) - 1
				}
				queue = append(queue, at{w, up})
			}
		}
	}
	return runs, guarded
}

func (c *Context) clearing(id int, e *trace.Edge, side int) {
	if c.Net.Nodes[side].Grounded {
		return
	}
	// A limited source alone opens no device; what it may feed is judged by the
	// conductor's own protection.
	if !c.DeviceSides(true).Of(id, e.Other(side)).Battery {
		return
	}
	runs, guarded := c.zone(id, side)
	if !guarded || len(runs) == 0 {
		return
	}
	var worst *clears
	for i := range runs {
		r := &runs[i]
		if isLink(r.wire) || r.wire.Carries.V == "signal" && r.load == nil {
			continue
		}
		k := c.clearsRun(id, e, side, r)
		if k == nil {
			continue
		}
		c.Looked("")
		switch {
		case k.missing != "":
			c.Missing("", k.missing, r.wire.At, r.wire.Ref(), e.Part.ID)
		case k.fails && (worst == nil || k.amps < worst.amps):
			worst = k
		}
	}
	if worst == nil {
		return
	}
	d := e.Branch.Device
	c.Add(figure(diag.Finding{Severity: diag.Error, Span: worst.wire.At, At: append([]string{worst.wire.Ref()}, c.atDevice(e)...),
		Message: fmt.Sprintf("a short at the far end of wire %s draws %s through %s, %s: %s", worst.wire.Ref(), amps1(worst.amps), edgeName(e), d.Rating.V, worst.words),
		Risk:    "the short burns on behind a closed device until the wire or what lies beside it is on fire",
		Do:      "fit a smaller device, a family with a quicker curve, or a thicker run",
		Source:  worst.source + "; batteries at the high end of their internal resistance, copper at 20 °C"}, worst.amps, d.Rating.V, "A"))
}

// clearsRun judges one conductor; nil where nothing pushes through the device.
func (c *Context) clearsRun(id int, e *trace.Edge, side int, r *stretch) *clears {
	ret := c.returnFor(r)
	if ret < 0 {
		return nil
	}
	d := e.Branch.Device
	k := &clears{wire: r.wire}
	if d.Rating.Given() && d.Rating.V > 0 && c.onlyPush(id, side) && c.lengthsKnown() {
		if least := c.ShortAtLeast(r.far, ret); least > 0 {
			c.judgeClearing(k, d, least)
			if !k.fails && k.missing == "" { // a larger current can only do better
				return k
			}
		}
	}
	k = &clears{wire: r.wire}
	short, ok := c.ShortBetween(r.far, ret)
	if !ok || short.Limited() {
		return nil
	}
	amps, ok := short.Through(id)
	if !ok {
		return nil
	}
	if side == e.A {
		amps = -amps
	}
	if amps < 1 {
		return nil // nothing pushes from beyond the device
	}
	switch {
	case !d.Rating.Given():
		k.missing = "rating of " + edgeName(e)
	case !r.wire.Size.Given() && !r.wire.Resistance.Given():
		k.missing = "size of wire " + r.wire.Ref()
	default:
		k.amps = amps
		c.judgeClearing(k, d, amps)
		if k.fails || k.missing != "" {
			if more := c.whenOthersOpen(id, e, side, r, ret); more > amps*(1+1e-6) {
				k = &clears{wire: r.wire}
				c.judgeClearing(k, d, more)
			}
		}
		if !k.fails && k.missing == "" && !c.lengthsKnown() {
			if gap, unsure := short.Unsure(id); unsure {
				k.missing = gap
			}
		}
	}
	return k
}

// whenOthersOpen is what flows through a device into a short once the other devices
// that guard the same stretch have opened: a short that one of them feeds best
// leaves the others little until then. 0 where there are none.
func (c *Context) whenOthersOpen(id int, e *trace.Edge, side int, r *stretch, ret int) unit.Amp {
	others := c.otherGuards(id, side)
	if len(others) == 0 {
		return 0
	}
	short, ok := c.ShortWithout(r.far, ret, others)
	if !ok || short.Limited() {
		return 0
	}
	amps, ok := short.Through(id)
	if !ok {
		return 0
	}
	if side == e.A {
		amps = -amps
	}
	return amps
}

// otherGuards lists the parts whose devices bound a zone besides the one asked for,
// where they can open without it.
func (c *Context) otherGuards(device, side int) (list []*schema.Part) {
	own := c.Net.Edges[device].Part
	seen := map[int]bool{side: true}
	queue := []int{side}
	for i := 0; i < len(queue); i++ {
		for _, id := range c.Net.Nodes[queue[i]].Edges {
			e := &c.Net.Edges[id]
			switch {
			case e.Medium != schema.DC || id == device:
			case e.Type == trace.Device:
				if e.Part != own && !e.Part.Is(schema.Panel) && !slices.Contains(list, e.Part) {
					list = append(list, e.Part)
				}
			case e.Type == trace.Conductor, e.Type == trace.Series, e.Type == trace.Contact && c.WorkingSetting().Closed(e):
				if w := e.Other(queue[i]); !seen[w] {
					seen[w] = true
					queue = append(queue, w)
				}
			}
		}
	}
	return list
}

// judgeClearing fills in whether a current opens a device before its conductor
// reaches its short-time limit.
func (c *Context) judgeClearing(k *clears, d *schema.DeviceData, amps unit.Amp) {
	k.amps = amps
	each := amps / unit.Amp(max(1, k.wire.Parallel.Or(1)))
	m := float64(amps / d.Rating.V)
	o, known := tables.OpeningTime(d.Family, d.Rating.V, amps)
	switch {
	case known && o.Carries:
		k.fails = true
		k.words = fmt.Sprintf("%.1f times its rating, which it may carry for good", m)
		k.source = o.Cite.String()
	case known:
		limit := tables.ShortTimeLimit(k.wire.Size.V.Area, c.insulation(k.wire), each)
		if !k.wire.Size.Given() {
			k.missing = "size of wire " + k.wire.Ref()
			return
		}
		if o.Latest > limit && c.reachesLimit(k.wire, each) {
			k.fails = true
			k.words = fmt.Sprintf("it may take %s to open; the conductor reaches its short-time limit in %s", secondsText(o.Latest.Seconds()), secondsText(limit.Seconds()))
			_, cite := tables.ShortTimeFactor(c.insulation(k.wire))
			k.source = o.Cite.String() + "; " + cite.String()
		}
	case m < hardlyOpens:
		k.fails = true
		k.words = fmt.Sprintf("%.1f times its rating, and no curve is published that says it opens", m)
		k.source = "under twice the rating of a family without a published curve, " + firesWithout
	case m < surelyOpens:
		k.missing = "time-current curve of the device of wire " + k.wire.Ref()
	}
}

func (c *Context) insulation(w *schema.Wire) unit.Celsius {
	t := unit.Celsius(200)
	for _, set := range c.Sets() {
		t = min(t, w.Insulation.Or(tables.DefaultInsulation(set)))
	}
	return t
}

// reachesLimit reports whether a current, held for good, would heat a conductor
// to its short-time temperature: its rise at rest grows with the square of the
// current over its ampacity.
func (c *Context) reachesLimit(w *schema.Wire, amps unit.Amp) bool {
	end := unit.Celsius(250)
	if c.insulation(w) < 90 {
		end = 160
	}
	for _, set := range c.Sets() {
		a, missing := c.Ampacity(w, set)
		if missing != "" || a.Amps <= 0 {
			return true
		}
		air := float64(c.WorkingTemperature(w))
		rise := (float64(c.insulation(w)) - air) * math.Pow(float64(amps/a.Amps), 2)
		if air+rise > float64(end) {
			return true
		}
	}
	return false
}

// returnFor is the joint a short at the far end of a run goes to: the other pole
// of the load behind it, else the negative of the boat.
func (c *Context) returnFor(r *stretch) int {
	if r.load != nil {
		return r.load.B
	}
	return c.MainReturn(r.far)
}

// onlyPush reports whether a zone is fed through one device alone, so that all
// the current of a short there passes it.
func (c *Context) onlyPush(device, side int) bool {
	at := c.DeviceSides(false).Of(device, side)
	return !at.Loop && !at.Source
}

// lengthsKnown reports whether every conductor has a resistance.
func (c *Context) lengthsKnown() bool {
	if c.lengths == 0 {
		c.lengths = 1
		for _, w := range c.Boat.Wires {
			if id, ok := c.Net.WireEdge[w]; ok && id >= 0 && w.Medium == schema.DC {
				if _, missing := c.WireOhms(w, true); missing != "" {
					c.lengths = 2
				}
			}
		}
	}
	return c.lengths == 1
}
