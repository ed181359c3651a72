package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// SolveText writes the solution of one file as tables that a technician reads.
func SolveText(w io.Writer, f Solved, color bool) error {
	p := &printer{w: w, color: color}
	if len(f.Problems) > 0 || f.Survey == nil {
		p.problems(f.Problems)
		return p.err
	}
	s := f.Survey
	if title := s.Boat.Vessel.Name; title.Given() {
		p.line("%s", title.V)
		p.line("")
	}
	for _, c := range f.conditions() {
		p.solved(s, c)
	}
	if f.Condition == "" {
		p.worst(s)
	}
	p.faults(s)
	p.day(s)
	return p.err
}

// worst shows, over all conditions, the conductors that carry more than a third
// of what they may, and the loads that lose more than a third of their class.
func (p *printer) worst(s *survey.Survey) {
	wires := &grid{head: []string{"wire", "A", "may carry", "share", "in"}, left: map[int]bool{0: true, 4: true}}
	for _, w := range s.Boat.Wires {
		id, ok := s.Net.WireEdge[w]
		may, has := Ampacity(s, w)
		if !ok || id < 0 || w.Medium != schema.DC || !has || may <= 0 {
			continue
		}
		most, at := unit.Amp(0), ""
		for _, c := range s.Conditions() {
			if a, ok := s.DCWithoutCranking(c).Amps(w); ok && max(a, -a) > most*(1+1e-9) {
				most, at = max(a, -a), c.ID
			}
		}
		if most > may/3 {
			wires.add(w.ID, cell(float64(most), true, "%.2f"), cell(float64(may), true, "%.1f"), cell(100*float64(most/may), true, "%.0f %%"), at)
		}
	}
	loads := &grid{head: []string{"load", "drop V", "drop %", "class", "in"}, left: map[int]bool{0: true, 4: true}}
	type worst struct {
		drop unit.Volt
		at   string
	}
	found := map[*trace.Edge]worst{}
	for _, c := range s.Conditions() {
		d := s.DCWithoutCranking(c)
		for _, l := range d.Loads {
			if x, ok := d.DropTo(l.Edge); ok && l.Runs && d.Solved() && x.Volts > found[l.Edge].drop*(1+1e-9) {
				found[l.Edge] = worst{x.Volts, c.ID}
			}
		}
	}
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		w, ok := found[e]
		if !ok || e.Branch.Load == nil {
			continue
		}
		nominal := e.Branch.Load.Volts.V
		if nominal <= 0 {
			nominal, _ = s.NominalVolts(e)
		}
		class := e.Branch.Load.Drop
		if nominal > 0 && class.Given() && float64(w.drop/nominal) > float64(class.V)/3 {
			loads.add(e.Part.ID, cell(float64(w.drop), true, "%.3f"), cell(100*float64(w.drop/nominal), true, "%.1f"), cell(100*float64(class.V), true, "%.0f %%"), w.at)
		}
	}
	if len(wires.rows)+len(loads.rows) == 0 {
		return
	}
	p.line("%s", p.paint("1", "worst over all conditions"))
	p.line("")
	p.grid("conductors at more than a third of what they may carry", wires)
	p.grid("loads that lose more than a third of their class", loads)
}

// grid is a table of text columns.
type grid struct {
	head []string
	rows [][]string
	left map[int]bool
}

func (g *grid) add(cells ...string) { g.rows = append(g.rows, cells) }

func (p *printer) grid(title string, g *grid) {
	if len(g.rows) == 0 {
		return
	}
	width := make([]int, len(g.head))
	for i, h := range g.head {
		width[i] = len([]rune(h))
	}
	for _, r := range g.rows {
		for i, c := range r {
			width[i] = max(width[i], len([]rune(c)))
		}
	}
	p.line("  %s", title)
	line := func(cells []string) {
		var b strings.Builder
		for i, c := range cells {
			pad := strings.Repeat(" ", width[i]-len([]rune(c)))
			if g.left[i] {
				b.WriteString("  " + c + pad)
			} else {
				b.WriteString("  " + pad + c)
			}
		}
		p.line("  %s", strings.TrimRight(b.String(), " "))
	}
	line(g.head)
	for _, r := range g.rows {
		line(r)
	}
	p.line("")
}

// cell formats a figure that may not be known.
func cell(v float64, ok bool, format string) string {
	if !ok || math.IsNaN(v) {
		return "–"
	}
	if math.Abs(v) < 5e-7 {
		v = 0
	}
	return fmt.Sprintf(format, v)
}

func (p *printer) solved(s *survey.Survey, c *schema.Condition) {
	d := s.DC(c)
	title := c.ID
	if c.Title.Given() && c.Title.V != "" {
		title += ": " + c.Title.V
	}
	p.line("%s", p.paint("1", title))
	if d.Trouble != nil {
		p.line("  no solution: %s", d.Trouble)
	}
	if ref := s.Reference(); ref != "" && d.Bounded() {
		share, residual, worst := d.Balance()
		p.line("  volts against %s; power balances to %.1e, currents to %.1e A at %s", ref, share, math.Abs(float64(residual)), worst)
	}
	for _, g := range d.Missing {
		p.line("  not known for want of: %s", g.What)
	}
	p.line("")
	p.batteries(s, c, d)
	p.sources(s, d)
	p.loads(s, d)
	p.wires(s, d)
	p.mains(s, c)
	for _, island := range d.Islands() {
		p.line("  no source reaches %s", strings.Join(island, ", "))
	}
	p.water(s, c)
	p.line("")
}

func (p *printer) batteries(s *survey.Survey, c *schema.Condition, d *survey.DCState) {
	g := &grid{head: []string{"battery", "A", "mean A", "V", "lasts", "full again in"}, left: map[int]bool{0: true}}
	for _, b := range s.Batteries() {
		a, ok := d.BatteryAmps(b)
		m, ok2 := d.Mean().BatteryAmps(b)
		v, ok3 := d.Across(b)
		h, ok4 := d.Hours(b)
		again := "–"
		if ok2 && m < -1e-3 {
			if t, ok := s.RechargeTime(c, b); ok {
				again = fmt.Sprintf("%.1f h", float64(t))
			}
		}
		g.add(b.ID, cell(float64(a), ok, "%.2f"), cell(float64(m), ok2, "%.2f"), cell(float64(v), ok3, "%.3f"), cell(float64(h), ok4, "%.2f h"), again)
	}
	p.grid("batteries (discharge positive; hours at the mean draw)", g)
	if rpm, ok := s.HoldsAt(c); ok {
		p.line("  the engine holds the load from %.0f rpm", float64(rpm))
		p.line("")
	}
}

func (p *printer) sources(s *survey.Survey, d *survey.DCState) {
	g := &grid{head: []string{"source", "A", "limit A", "state"}, left: map[int]bool{0: true, 3: true}}
	for _, src := range d.Sources {
		a, ok := unit.Amp(0), false
		if id := s.EdgeID(src.Edge); id >= 0 {
			a, ok = d.EdgeAmps(id)
		}
		g.add(src.Part.ID, cell(float64(a), ok, "%.2f"), cell(float64(src.Output.MaxI), src.Output.MaxI > 0, "%.1f"), d.Mode(src).String())
	}
	p.grid("sources", g)
}

func (p *printer) loads(s *survey.Survey, d *survey.DCState) {
	g := &grid{head: []string{"load", "A", "V", "drop V", "drop %", "from panel %", "title"}, left: map[int]bool{0: true, 6: true}}
	for _, l := range d.Loads {
		if !l.Runs {
			continue
		}
		a, ok := d.LoadAmps(l)
		v, ok2 := d.LoadVolts(l)
		drop, ok3 := d.DropTo(l.Edge)
		nominal := l.Data.Volts.V
		if nominal <= 0 {
			nominal, _ = s.NominalVolts(l.Edge)
		}
		g.add(l.Part.ID, cell(float64(a), ok, "%.2f"), cell(float64(v), ok2, "%.3f"), cell(float64(drop.Volts), ok3, "%.3f"),
			cell(100*float64(drop.Volts/nominal), ok3 && nominal > 0, "%.1f"), cell(100*float64(drop.FromPanel/nominal), ok3 && nominal > 0 && drop.Panel != nil, "%.1f"), l.Part.Title())
	}
	p.grid("loads (at full draw)", g)
}

func (p *printer) wires(s *survey.Survey, d *survey.DCState) {
	g := &grid{head: []string{"wire", "from", "to", "size", "mΩ", "A", "may carry", "mV"}, left: map[int]bool{0: true, 1: true, 2: true, 3: true}}
	for _, w := range s.Boat.Wires {
		id, ok := s.Net.WireEdge[w]
		if !ok || id < 0 || w.Medium != schema.DC {
			continue
		}
		a, ok := d.Amps(w)
		r, known := d.Ohms(w)
		may, has := Ampacity(s, w)
		size := "–"
		if w.Size.Given() && !w.Size.V.IsZero() {
			size = w.Size.V.String()
		}
		if n := w.Parallel.Or(1); n > 1 {
			size = fmt.Sprintf("%d × %s", n, size)
		}
		g.add(w.ID, w.From.String(), w.To.String(), size, cell(1000*float64(r), known, "%.3f"), cell(float64(a), ok, "%.2f"),
			cell(float64(may), has, "%.1f"), cell(1000*float64(a)*float64(r), ok && known, "%.1f"))
	}
	p.grid("wires (from → to positive)", g)
}

func (p *printer) water(s *survey.Survey, c *schema.Condition) {
	w := SolveWater(s, c)
	show := func(v *float64, format string) string {
		if v == nil {
			return "–"
		}
		return fmt.Sprintf(format, *v)
	}
	g := &grid{head: []string{"pump", "L/min", "head m", "state"}, left: map[int]bool{0: true, 3: true}}
	for _, x := range w.Pumps {
		g.add(x.Part, show(x.Flow, "%.2f"), show(x.Head, "%.2f"), x.State)
	}
	p.grid("pumps", g)
	g = &grid{head: []string{"equipment", "L/min", "needs", "rise K"}, left: map[int]bool{0: true}}
	for _, x := range w.Equipment {
		g.add(x.Part, show(x.Flow, "%.2f"), show(x.Needs, "%.2f"), show(x.Rise, "%.2f"))
	}
	p.grid("equipment", g)
	g = &grid{head: []string{"hose", "L/min", "m/s", "head lost m"}, left: map[int]bool{0: true}}
	for _, x := range w.Hoses {
		if x.Flow != nil && *x.Flow != 0 {
			g.add(x.ID, show(x.Flow, "%.2f"), show(x.Velocity, "%.2f"), show(x.HeadLoss, "%.3f"))
		}
	}
	p.grid("hoses", g)
	for _, x := range w.Failed {
		p.line("  no solution for the water: %s", x)
	}
}

func (p *printer) faults(s *survey.Survey) {
	g := &grid{head: []string{"device", "rating A", "short A", "breaks A", "from"}, left: map[int]bool{0: true, 4: true}}
	for id := range s.Net.Edges {
		e := &s.Net.Edges[id]
		if !isDevice(e) {
			continue
		}
		x := s.FaultAt(id)
		rating := e.Branch.Device.Rating
		can, ok := s.Interrupt(e)
		var shares []string
		for _, sh := range x.Shares {
			if math.Abs(float64(sh.Amps)) > 0.5 && sh.Part != nil {
				shares = append(shares, fmt.Sprintf("%s %.0f A", sh.Part.ID, float64(sh.Amps)))
			}
		}
		from := strings.Join(shares, ", ")
		if len(x.LimitedBy) > 0 {
			from = "limited by " + from
		}
		if x.Trouble != "" {
			from = x.Trouble
		}
		for _, m := range x.Missing {
			from += "; not known for want of: " + m.What
			break
		}
		g.add(deviceLabel(e), cell(float64(rating.V), rating.Given(), "%g"), cell(float64(x.Amps), x.Known, "%.0f"), cell(float64(can), ok, "%.0f"), from)
	}
	p.grid("short circuits at the devices (dead short, batteries full, copper at 20 °C, contacts as they give most)", g)
}

func (p *printer) day(s *survey.Survey) {
	if len(s.Boat.Day) == 0 {
		return
	}
	books, missing, trouble := s.Day()
	for _, g := range missing {
		p.line("  the day is not known for want of: %s", g.What)
	}
	if trouble != nil {
		p.line("  the day has no solution: %s", trouble)
	}
	g := &grid{head: []string{"battery", "used Ah", "charged Ah", "net Ah", "end", "least", "usable share spent"}, left: map[int]bool{0: true}}
	first, when := "", math.Inf(1)
	for _, b := range books {
		spent := "never"
		if !math.IsInf(float64(b.Empty), 1) {
			spent = fmt.Sprintf("after %.1f h", float64(b.Empty))
			if float64(b.Empty) < when {
				first, when = b.Part.ID, float64(b.Empty)
			}
		}
		g.add(b.Part.ID, cell(float64(b.Used), true, "%.1f"), cell(float64(b.Charged), true, "%.1f"), cell(float64(b.Net()), true, "%+.1f"),
			cell(100*float64(b.End), true, "%.0f %%"), cell(100*float64(b.Least), true, "%.0f %%"), spent)
	}
	p.grid("the day", g)
	if first != "" {
		p.line("  %s empties first", first)
	}
}
