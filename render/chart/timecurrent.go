package chart

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
)

const timeCurrentCaution = "Bands from published least and greatest opening times, not from the maker's own curve; the maker's sheet comes first. Check against the boat before work; local codes and licensed practice come first."

// leastTime is the foot of the chart in seconds: what the damage curve is given
// for, and shorter than any time published for the families known.
const leastTime = 0.01

// TimeCurrent draws the time-current chart of a circuit. It fails, naming what is
// missing, where neither a device nor a conductor has a curve.
func TimeCurrent(f sheet.Frame, c survey.CircuitChart) (sheet.Page, error) {
	if err := drawable(c); err != nil {
		return sheet.Page{}, err
	}
	p := &plot{box: diagramBox(f, false, false)}
	p.scales(c)
	list := p.devices(c)
	list = append(list, p.damage(c)...)
	list = append(list, p.currents(c)...)
	list = append(list, reading(c)...)
	title := "Time and current: " + subject(c)
	return sheet.Page{
		ID: "time-current-" + fileWord(subject(c)), Title: title, Document: "Time–current chart",
		Desc:    title + ". " + describe(list),
		Caution: timeCurrentCaution, Frame: f, Items: append(p.items(), notes(f, list)...),
	}, nil
}

// drawable names what is missing where the chart would hold no curve.
func drawable(c survey.CircuitChart) error {
	if len(c.Damage) > 0 {
		return nil
	}
	var lacks []string
	for _, d := range c.Devices {
		if len(d.Latest) > 0 {
			return nil
		}
		lacks = append(lacks, noCurve(d))
	}
	return fmt.Errorf("%s: nothing to draw: %s", subject(c), strings.Join(append(lacks, "no conductor of stated size on the way"), "; "))
}

func noCurve(d survey.ChartDevice) string {
	switch {
	case d.Rating <= 0:
		return "the rating of " + d.Name + " is missing"
	case d.Family == "":
		return "the family of " + d.Name + " is missing"
	}
	return "no curve of " + d.Name + ": none is published for the family " + d.Family
}

// subject is what the chart is called after.
func subject(c survey.CircuitChart) string {
	if c.Subject != "" && c.Subject != c.Circuit {
		return c.Subject + ", circuit " + c.Circuit
	}
	return c.Circuit
}

// fileWord keeps what may stand in a file name and in an id.
func fileWord(s string) string {
	s, _, _ = strings.Cut(s, ", ")
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '.' || r == '-' || r == '_' {
			return r
		}
		return '-'
	}, s)
}

// scales chooses the ranges: all currents that matter, times from leastTime to the
// longest of a curve.
func (p *plot) scales(c survey.CircuitChart) {
	lo, hi, longest := math.Inf(1), 0.0, 10.0
	take := func(v unit.Amp) {
		if v > 0 {
			lo, hi = min(lo, float64(v)), max(hi, float64(v))
		}
	}
	take(c.Load)
	take(c.Inrush)
	take(c.Fault)
	for _, d := range c.Devices {
		take(d.Rating)
		for _, pt := range d.Latest {
			longest = max(longest, pt.Seconds)
		}
		if len(d.Latest) > 0 {
			take(d.Rating * 10)
		}
	}
	for _, pt := range c.Damage {
		if pt.Seconds >= 0.5 {
			take(pt.Amps)
		}
	}
	// a lamp behind a large fuse would push the curves into a corner
	if least := leastRating(c); least > 0 {
		lo = max(lo, float64(least)/20)
	}
	lo, hi = logBounds(lo*0.9, hi*1.15)
	p.x = axis{title: "Current, A", log: true, lo: lo, hi: hi}
	_, top := logBounds(leastTime, longest*1.5)
	p.y = axis{title: "Time, s", log: true, lo: leastTime, hi: top}
}

func leastRating(c survey.CircuitChart) (least unit.Amp) {
	for _, d := range c.Devices {
		if d.Rating > 0 && (least == 0 || d.Rating < least) {
			least = d.Rating
		}
	}
	return least
}

var deviceStyles = [4]draw.Style{draw.CurveFirst, draw.CurveSecond, draw.CurveThird, draw.CurveFourth}

func values(pts []survey.ChartPoint) [][2]float64 {
	var out [][2]float64
	for _, p := range pts {
		out = append(out, [2]float64{float64(p.Amps), p.Seconds})
	}
	return out
}

// points joins what is left of a curve within the box.
func points(pieces []draw.Polyline) []draw.Point {
	var out []draw.Point
	for _, l := range pieces {
		out = append(out, l.Points...)
	}
	return out
}

type tagged struct {
	text  string
	along []draw.Point
}

// devices draws the bands; a device without a curve stands as a line at its
// rating.
func (p *plot) devices(c survey.CircuitChart) []note {
	if len(c.Devices) == 0 {
		return []note{{text: "No fuse or breaker lies on the way."}}
	}
	list := []note{{text: "Devices, from the source on", head: true}}
	var tags []tagged
	for i, d := range c.Devices {
		style := deviceStyles[i%len(deviceStyles)]
		text := d.Name
		if d.Rating > 0 {
			text += ", " + d.Rating.RatingText()
		}
		if d.Family != "" {
			text += ", " + d.Family
		}
		switch {
		case len(d.Latest) > 0:
			tags = append(tags, tagged{d.Name + " at the latest", points(p.curve(values(d.Latest), style))})
			if len(d.Earliest) > 1 {
				tags = append(tags, tagged{d.Name + " at the earliest", points(p.curve(values(d.Earliest), style))})
			} else {
				text += "; no least time is published"
			}
			text += ". " + d.Cite.String()
		case d.Rating > 0:
			tags = append(tags, tagged{d.Name + " rated " + d.Rating.RatingText(), p.upright(d.Rating, style)})
			text += ": " + noCurve(d) + "; drawn at its rating"
		default:
			text += ": " + noCurve(d)
		}
		list = append(list, note{text: text, sampled: len(d.Latest) > 0 || d.Rating > 0, line: style})
	}
	p.pending = append(p.pending, tags...)
	return list
}

// upright draws a single current.
func (p *plot) upright(a unit.Amp, style draw.Style) []draw.Point {
	return points(p.curve([][2]float64{{float64(a), p.y.lo}, {float64(a), p.y.hi}}, style))
}

func (p *plot) damage(c survey.CircuitChart) []note {
	if c.Wire == nil {
		return []note{{text: "Conductor", head: true}, {text: "No conductor of stated size lies on the way: no damage curve."}}
	}
	name := "wire " + c.Wire.ID
	size := c.Wire.Size.V.String()
	p.pending = append(p.pending, tagged{name + " is damaged", points(p.curve(values(c.Damage), draw.CurveDamage))})
	return []note{
		{text: "Conductor", head: true},
		{text: fmt.Sprintf("%s, %s: right of the line its insulation is past its short-time limit, no heat lost; no more than five seconds. %s", name, size, c.DamageCite), sampled: true, line: draw.CurveDamage},
	}
}

// currents draws the single currents and says which are not known.
func (p *plot) currents(c survey.CircuitChart) []note {
	list := []note{{text: "Currents", head: true}}
	alone := c.Circuits == 0
	for _, m := range []struct {
		amps        unit.Amp
		tag, known  string
		missing     string
		onlyCircuit bool
	}{
		{c.Load, "load " + loadText(c.Load), "load, running: " + loadText(c.Load), "load current: not known", true},
		{c.Inrush, "starting " + loadText(c.Inrush), "load, starting: " + loadText(c.Inrush), "starting current: not stated", true},
		{c.Fault, "short circuit " + c.Fault.FaultText(unit.Down), "short circuit, least: " + c.Fault.FaultText(unit.Down) + where(alone), faultMissing(c), false},
	} {
		switch {
		case alone && m.onlyCircuit:
		case m.amps <= 0:
			list = append(list, note{text: m.missing})
		case float64(m.amps) < p.x.lo || float64(m.amps) > p.x.hi:
			list = append(list, note{text: m.known + " (outside the scale)"})
		default:
			p.pending = append(p.pending, tagged{m.tag, p.upright(m.amps, draw.CurveMark)})
			list = append(list, note{text: m.known, sampled: true, line: draw.CurveMark})
		}
	}
	for _, t := range p.pending {
		p.label(t.text, t.along)
	}
	if c.Circuits > 1 {
		list = append(list, note{text: fmt.Sprintf("%d loads are fed through it; drawn is the one with the least short-circuit current at its end.", c.Circuits)})
	}
	if alone {
		list = append(list, note{text: "No load is fed through it; it is drawn alone, with the conductor at its terminals."})
	}
	return list
}

// loadText keeps small loads, which tenths would round up many times over.
func loadText(a unit.Amp) string {
	if a < 1 {
		return a.String()
	}
	return a.LoadText()
}

func faultMissing(c survey.CircuitChart) string {
	if c.FaultMissing != "" {
		return "short-circuit current: not known, for want of " + c.FaultMissing
	}
	return "short-circuit current: not known"
}

func where(alone bool) string {
	if alone {
		return ", at its ends"
	}
	return ", at the far end"
}

// reading says what happens at the short-circuit current.
func reading(c survey.CircuitChart) []note {
	if c.Fault <= 0 {
		return nil
	}
	var list []note
	for _, d := range c.Devices {
		o, ok := tables.OpeningTime(d.Family, d.Rating, c.Fault)
		switch {
		case !ok:
			list = append(list, note{text: "when " + d.Name + " opens is not known: no curve"})
		case o.Carries:
			list = append(list, note{text: d.Name + " may carry it for good"})
		default:
			list = append(list, note{text: d.Name + " opens within " + seconds(o.Latest)})
		}
	}
	if c.Wire != nil && len(c.Damage) > 0 {
		area := c.Wire.Size.V.Area * unit.SquareMM(max(1, c.Wire.Parallel.Or(1)))
		bears := tables.ShortTimeLimit(area, c.Wire.Insulation.Or(tables.DefaultInsulation(tables.US)), c.Fault)
		list = append(list, note{text: "wire " + c.Wire.ID + " bears it for " + seconds(bears)})
	}
	if len(list) == 0 {
		return nil
	}
	return append([]note{{text: "At the short-circuit current", head: true}}, list...)
}

func seconds(d time.Duration) string {
	s := d.Seconds()
	switch {
	case s > 1000:
		return "more than 1000 s"
	case s < 0.001:
		return "less than 0.001 s"
	}
	return number(unit.RoundSignificant(s, 2, unit.Nearest)) + " s"
}

func describe(list []note) string {
	var out []string
	for _, n := range list {
		if !n.head {
			out = append(out, strings.TrimRight(n.text, "."))
		}
	}
	return strings.Join(out, ". ") + "."
}
