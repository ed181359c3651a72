package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

func joined(m schema.Medium, a, b string) schema.Branch {
	return schema.Branch{Type: schema.Joined, Medium: m, A: a, B: b}
}

// hub joins every other terminal of one part to the first: one node. Numbered
// terminals that the file adds are among them.
func hub(m schema.Medium) func(*schema.Part) []schema.Branch {
	return func(p *schema.Part) []schema.Branch {
		var out []schema.Branch
		list := p.Terminals()
		for i := 1; i < len(list); i++ {
			out = append(out, joined(m, list[0].Name, list[i].Name))
		}
		return out
	}
}

// byKind is a documented default of the kind.
func byKind[T any](v T, text string) schema.Val[T] {
	return schema.Val[T]{V: v, Text: text, From: schema.ByKind}
}

// derived is a value that follows from others that were given.
func derived[T any](v T) schema.Val[T] { return schema.Of(v, schema.Derived) }

// loadSpec is what a kind of load knows beyond what is written.
type loadSpec struct {
	drop       unit.Ratio
	motor      bool
	continuous bool
}

// drawBranch is a load between two terminals.
func drawBranch(p *schema.Part, m schema.Medium, a, b string, spec loadSpec) schema.Branch {
	return schema.Branch{Type: schema.Draw, Medium: m, A: a, B: b, Load: loadData(p, spec)}
}

// suppliedDraw is the load on the power terminals that `supply` or `drive` gives.
func suppliedDraw(p *schema.Part, spec loadSpec) []schema.Branch {
	if isAC(p) {
		return []schema.Branch{drawBranch(p, schema.AC, "L", "N", spec), joined(schema.AC, "PE", "case")}
	}
	return []schema.Branch{drawBranch(p, schema.DC, "+", "-", spec)}
}

func loadData(p *schema.Part, spec loadSpec) *schema.LoadData {
	d := &schema.LoadData{
		Amps: p.Amps("draw"), Watts: p.Watts("draw"), Volts: p.Volts("volts"),
		LeastVolts: p.Volts("least-volts"), Drop: p.Share("drop"), Count: p.Count("count").Or(1),
		Motor: spec.motor, Continuous: spec.continuous, PowerFactor: p.Share("power-factor"),
	}
	if !d.Amps.Given() && !d.Watts.Given() {
		d.Watts = p.Watts("power")
	}
	if !d.Drop.Given() && spec.drop > 0 {
		d.Drop = byKind(spec.drop, percent(spec.drop))
	}
	d.Model = loadModel(p, d.Watts.Given())
	d.Starting = startingCurrent(p, d)
	if v := p.Get("duty"); v != nil {
		switch v.Word {
		case "continuous":
			d.Continuous = true
		case "intermittent":
			d.Continuous = false
		}
		d.Duty = p.Share("duty")
	}
	return d
}

func loadModel(p *schema.Part, byPower bool) string {
	switch w := p.Word("model").V; w {
	case "current", "power", "resistance":
		return w
	}
	if byPower {
		return "power"
	}
	return "current"
}

// startingCurrent reads `starting` as a current, as a power at the stated volts,
// or as a multiple of the draw.
func startingCurrent(p *schema.Part, d *schema.LoadData) schema.Val[unit.Amp] {
	if a := p.Amps("starting"); a.Given() {
		return a
	}
	if w := p.Watts("starting"); w.Given() && d.Volts.V > 0 {
		return derived(unit.Amp(float64(w.V) / float64(d.Volts.V)))
	}
	k := p.Share("starting")
	if !k.Given() {
		return schema.Val[unit.Amp]{}
	}
	if d.Amps.Given() {
		return derived(unit.Amp(float64(k.V) * float64(d.Amps.V)))
	}
	if d.Watts.Given() && d.Volts.V > 0 {
		return derived(unit.Amp(float64(k.V) * float64(d.Watts.V) / float64(d.Volts.V)))
	}
	return schema.Val[unit.Amp]{}
}

// outputPower is what a source gives at most: its power, else output × volts.
func outputPower(p *schema.Part, output string) schema.Val[unit.Watt] {
	if w := p.Watts(output); w.Given() {
		return w
	}
	a, v := p.Amps(output), p.Volts("volts")
	if !a.Given() || !v.Given() {
		return schema.Val[unit.Watt]{}
	}
	return derived(unit.Watt(float64(a.V) * float64(v.V)))
}

// inputLoad is what a converter or charger takes at full output.
func inputLoad(p *schema.Part, feeds string, output schema.Val[unit.Watt], eff schema.Val[unit.Ratio], at schema.Val[unit.Volt]) *schema.LoadData {
	idle := idlePower(p)
	d := &schema.LoadData{
		Model: "power", Count: 1, Feeds: feeds, Output: output, Efficiency: eff, Idle: idle, Volts: at,
		LeastVolts: p.Volts("least-volts"), Drop: p.Share("drop"), Starting: p.Amps("starting"),
		PowerFactor: p.Share("power-factor"),
	}
	if !d.Drop.Given() {
		d.Drop = byKind[unit.Ratio](0.10, "10 %")
	}
	if output.Given() && eff.V > 0 {
		d.Watts = derived(unit.Watt(float64(output.V)/float64(eff.V) + float64(idle.V)))
	}
	return d
}

func idlePower(p *schema.Part) schema.Val[unit.Watt] {
	if w := p.Watts("idle"); w.Given() {
		return w
	}
	// Written in amperes it holds at the input's nominal voltage.
	if a := p.Amps("idle"); a.Given() {
		for _, name := range []string{"in-volts", "volts"} {
			if v := p.Volts(name); v.Given() {
				return schema.Val[unit.Watt]{V: unit.Watt(float64(a.V) * float64(v.V)), Text: a.Text, At: a.At, From: a.From}
			}
		}
	}
	return byKind[unit.Watt](0, "0 W")
}

func efficiencyOr(p *schema.Part, r unit.Ratio) schema.Val[unit.Ratio] {
	if e := p.Share("efficiency"); e.Given() {
		return e
	}
	return byKind(r, percent(r))
}
