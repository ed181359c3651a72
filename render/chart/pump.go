package chart

import (
	"fmt"
	"math"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/water"
)

const pumpCaution = "Computed from the owner's description and the stated or assumed pump curve; measure the flow before relying on it. Check against the boat before work; local codes and licensed practice come first."

// The other system: the foot of 1959, and the US gallon of 231 cubic inches.
const (
	feet    = 1 / 0.3048
	gallons = 1 / 3.785411784
)

// PumpAndLine draws a pump's curve, the curve of the line it works into and the
// point at which both meet. It fails, naming what is missing, where the pump has
// no curve.
func PumpAndLine(f sheet.Frame, d survey.PumpDiagram) (sheet.Page, error) {
	pump, system := finite(d.Curve), finite(d.System)
	if len(pump) < 2 || pump[len(pump)-1][0] <= 0 {
		return sheet.Page{}, fmt.Errorf("%s: nothing to draw: no curve and no rated flow of the pump is known", d.Pump.ID)
	}
	p := &plot{box: diagramBox(f, true, true)}
	p.x, p.y = pumpScales(pump, system, d)
	p.secondX, p.factorX = "Flow, US gpm", gallons
	p.secondY, p.factorY = "Head, ft", feet
	list := p.pumpCurves(d, pump, system)
	title := "Pump " + d.Pump.ID
	if t := d.Pump.Title(); t != "" {
		title = d.Pump.ID + ", " + t
	}
	return sheet.Page{
		ID: "pump-" + fileWord(d.Pump.ID), Title: title, Document: "Pump diagram", Desc: title + ". " + describe(list),
		Caution: pumpCaution, Frame: f, Items: append(p.items(), notes(f, list)...),
	}, nil
}

func finite(pts []water.Point) [][2]float64 {
	var out [][2]float64
	for _, pt := range pts {
		q, h := float64(pt.Flow), float64(pt.Head)
		if !math.IsNaN(q+h) && !math.IsInf(q, 0) && !math.IsInf(h, 0) {
			out = append(out, [2]float64{q, h})
		}
	}
	return out
}

func works(d survey.PumpDiagram) bool { return d.State == water.Runs || d.State == water.OffCurve }

// pumpScales takes the whole pump curve, the line's curve at no flow, and the
// working point; the line's curve may rise out of the box.
func pumpScales(pump, system [][2]float64, d survey.PumpDiagram) (x, y axis) {
	most, lo, hi := 0.0, 0.0, 0.0
	take := func(q, h float64) { most, lo, hi = max(most, q), min(lo, h), max(hi, h) }
	for _, v := range pump {
		take(v[0], v[1])
	}
	if len(system) > 0 {
		take(system[0][0], system[0][1])
	}
	if works(d) {
		take(float64(d.Works.Flow), float64(d.Works.Head))
	}
	for _, s := range d.Stated {
		take(float64(s.Flow), float64(s.Head))
	}
	x = axis{title: "Flow, L/min", hi: open(most * 1.08)}
	y = axis{title: "Head, m", hi: open(hi * 1.08)}
	// a lift a hair below nothing is the solver's last digit, not a fall
	if lo < -0.01*hi {
		step := niceStep(y.hi - lo)
		y.lo = math.Floor(lo/step) * step
	}
	return x, y
}

// open rounds up to a whole step of the scale.
func open(v float64) float64 {
	if v <= 0 {
		return 1
	}
	step := niceStep(v)
	return math.Ceil(v/step-1e-9) * step
}

func (p *plot) pumpCurves(d survey.PumpDiagram, pump, system [][2]float64) []note {
	list := []note{{text: "As solved", head: true}, {text: "condition " + d.Condition.ID + "; " + d.Attitude.String() + ", the attitude in which least flows"}}
	curve := points(p.curve(pump, draw.CurveFirst))
	line := points(p.curve(system, draw.CurveSecond))
	list = append(list, note{text: "Curves", head: true},
		note{text: "pump, at " + unit.Ratio(d.Speed).String() + " of its rated speed", sampled: true, line: draw.CurveFirst})
	if len(line) > 0 {
		list = append(list, note{text: "line: what hoses, fittings and lift ask at a flow", sampled: true, line: draw.CurveSecond})
	} else {
		list = append(list, note{text: "The curve of the line is not drawn: " + lineMissing(d, system)})
	}
	for _, s := range d.Stated {
		at := p.at(float64(s.Flow), float64(s.Head))
		p.marks = append(p.marks, draw.Rect{Box: draw.Box{Min: at, Max: at}.Grow(0.9), Pen: draw.Pen{Style: draw.Outline, Fill: draw.Paper}})
	}
	if len(d.Stated) > 0 {
		list = append(list, note{text: "squares: points of the curve as stated, at rated speed"})
	}
	list = append(list, p.working(d)...)
	if works(d) {
		p.label("working point", []draw.Point{p.at(float64(d.Works.Flow), float64(d.Works.Head))})
	}
	p.label("pump "+d.Pump.ID, curve)
	if len(line) > 0 {
		p.label("line", line)
	}
	return list
}

func lineMissing(d survey.PumpDiagram, system [][2]float64) string {
	switch {
	case d.State == water.Dry:
		return "no water reaches the pump's inlet."
	case len(system) == 0:
		return "water cannot pass it, or the pump is not in a solved line."
	}
	return "it lies above the scale."
}

// working marks the working point, or says why there is none.
func (p *plot) working(d survey.PumpDiagram) []note {
	list := []note{{text: "Working point", head: true}}
	if works(d) {
		at := p.at(float64(d.Works.Flow), float64(d.Works.Head))
		if p.box.Contains(draw.Box{Min: at, Max: at}) {
			p.marks = append(p.marks, draw.Circle(at, 1.4, draw.Pen{Style: draw.Outline, Fill: draw.Paper}))
		}
		list = append(list, note{text: d.Works.Flow.Text(unit.Down) + " at " + d.Works.Head.Text()})
	}
	switch d.State {
	case water.Runs:
	case water.OffCurve:
		list = append(list, note{text: "The pump works outside its curve; the figures do not hold."})
	case water.CannotLift:
		list = append(list, note{text: "None: the lift of the line is above what the pump reaches; it moves no water."})
	case water.Dry:
		list = append(list, note{text: "None: no water reaches the pump's inlet."})
	default:
		list = append(list, note{text: "None: the pump stands still."})
	}
	return list
}
