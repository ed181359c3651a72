package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var fuseBelowLoad = Rule{
	Name: "fuse-below-load", Section: dcSolved,
	Asks:     "Does every device carry what its loads take, 125 % of what runs for hours, and their starting currents?",
	Why:      "a fuse that opens in use takes its load with it, and is replaced by a larger one",
	Severity: "warning",
	Source:   "125 % of continuous duty: land code practice, as published; starting: ISO 8820-3 and UL 248-14 opening times",
	Quiet:    "a start is taken to last one second (common practice, no source); up to twice the rating a device with no published curve is taken to carry it",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  HT1: {kind: heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 25 A}, HT1.+], size: 8 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  HT1: {kind: heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 40 A}, HT1.+], size: 8 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`,
	Check: checkFuseBelowLoad,
}

const (
	continuousDuty = 1.25
	startLasts     = 1.0 // s
	carriesStart   = 2.0 // times the rating, without a curve
)

// mostNamed bounds the loads that a finding names.
const mostNamed = 12

// asked is what a device must carry in one condition.
type asked struct {
	amps, start unit.Amp
	cond        *schema.Condition
	when        string // words the state where no condition does
	duty        bool
	starter     *schema.Part
	loads       []*schema.Part
}

func checkFuseBelowLoad(c *Context) {
	worst := c.worstByEdge()
	looked := false
	c.eachEdge(trace.Device, schema.DC, func(id int, e *trace.Edge) {
		c.Looked("")
		looked = true
		if worst[id].amps < calm {
			return
		}
		d := e.Branch.Device
		if !d.Rating.Given() {
			c.Missing("", "rating of "+edgeName(e), e.Part.At, e.Part.ID)
			return
		}
		run, start := c.askedOf(id, e, worst[id])
		switch {
		case run.amps > d.Rating.V*(1+1e-9):
			c.Add(c.belowLoad(e, run))
		case start.starter != nil:
			c.startOpens(e, start)
		}
	})
	if looked {
		c.eachDC(func(_ *schema.Condition, d *survey.DCState) { c.lackDC("", d) })
	}
	c.acDevices()
}

// askedOf finds the condition that asks most of a device, running and starting.
func (c *Context) askedOf(id int, e *trace.Edge, worst worstAmps) (run, start asked) {
	run = asked{amps: worst.amps, cond: worst.cond}
	side := e.B
	if a, _ := worst.d.EdgeAmps(id); a < 0 {
		side = e.A
	}
	behind, radial := c.loadsBehind(id, side)
	if !radial {
		return run, start
	}
	for _, l := range behind {
		if !l.Part.Prepared && len(run.loads) < mostNamed {
			run.loads = append(run.loads, l.Part)
		}
	}
	c.eachDC(func(cond *schema.Condition, d *survey.DCState) {
		if !d.Bounded() {
			return
		}
		a, _ := d.EdgeAmps(id)
		now := absAmp(a)
		extra := unit.Amp(0)
		for _, edge := range behind {
			l := d.LoadAt(edge)
			if l == nil || !l.Runs {
				continue
			}
			x, _ := d.LoadAmps(l)
			if l.Data.Continuous {
				extra += (continuousDuty - 1) * absAmp(x)
			}
			if s := l.Data.Starting; s.Given() {
				total := now - absAmp(x) + s.V*unit.Amp(max(1, l.Data.Count))
				if total > start.start {
					start = asked{start: total, cond: cond, starter: l.Part}
				}
			}
		}
		if now+extra > run.amps*(1+1e-9) {
			run.amps, run.cond, run.duty = now+extra, cond, extra > 0
		}
	})
	return run, start
}

func (c *Context) belowLoad(e *trace.Edge, run asked) diag.Finding {
	d := e.Branch.Device
	text := fmt.Sprintf("%s, %s, carries %s %s", edgeName(e), d.Rating.V, amps1(run.amps), whenText(run.when, run.cond))
	if run.duty {
		text = fmt.Sprintf("%s, %s, must carry %s %s, what runs for hours counted at 125 %%", edgeName(e), d.Rating.V, amps1(run.amps), whenText(run.when, run.cond))
	}
	do := "fit a larger device, if the wire behind it allows, or part the loads"
	if next, _, ok := tables.NextStandardRating(seriesOf(d), run.amps); ok {
		do = fmt.Sprintf("fit %s, if the wire behind it allows, or part the loads", next)
	}
	return figure(diag.Finding{Severity: diag.Warning, Span: e.Part.At, At: c.at(e.Part, e.A, run.loads...), Message: text,
		Risk: "it opens in use, and is then replaced by one too large", Do: do,
		Source: "device rating against the solved current; 125 % for continuous duty: published practice", Condition: condID(run.cond)}, d.Rating.V, run.amps, "A")
}

// seriesOf is the series of standard ratings a device comes in.
func seriesOf(d *schema.DeviceData) string {
	if d.Family != "" {
		return d.Family
	}
	if d.Breaker {
		return "thermal"
	}
	return "nec"
}

// startOpens judges whether a starting current opens a device.
func (c *Context) startOpens(e *trace.Edge, start asked) {
	d := e.Branch.Device
	m := float64(start.start / d.Rating.V)
	if m <= 1 {
		return
	}
	o, known := tables.OpeningTime(d.Family, d.Rating.V, start.start)
	opens := false
	switch {
	case known && o.Carries:
		return
	case known && o.Earliest > 0:
		opens = math.Sqrt(o.Earliest.Seconds()*o.Latest.Seconds()) < startLasts
	case known:
		opens = o.Latest.Seconds() < startLasts
	case m <= carriesStart:
		return
	default:
		c.Missing("", "time-current curve of "+edgeName(e), e.Part.At, e.Part.ID, start.starter.ID)
		return
	}
	if !opens {
		return
	}
	c.Add(figure(diag.Finding{Severity: diag.Warning, Span: e.Part.At, At: c.at(e.Part, e.A, start.starter),
		Message: fmt.Sprintf("%s, %s, opens when %s starts: %s, %.1f times its rating, opens it in %s to %s", edgeName(e), d.Rating.V, start.starter.ID, amps1(start.start), m, secondsText(o.Earliest.Seconds()), secondsText(o.Latest.Seconds())),
		Risk:    fmt.Sprintf("%s does not start, or not every time", start.starter.Name()),
		Do:      "fit a larger device if the wire behind it allows, or a slower family",
		Source:  o.Cite.String() + "; a start of one second is common practice, no source", Condition: condID(start.cond)}, d.Rating.V, start.start, "A"))
}

func secondsText(s float64) string {
	switch {
	case s >= 60:
		return fmt.Sprintf("%.0f min", s/60)
	case s >= 1:
		return fmt.Sprintf("%.0f s", s)
	default:
		return fmt.Sprintf("%.0f ms", s*1000)
	}
}
