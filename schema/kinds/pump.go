package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

func pump() *schema.Kind {
	return &schema.Kind{
		Name: "pump", Title: "pump", Class: "G",
		Help:      "Moves water; one part in both drawings.",
		Media:     []schema.Medium{schema.DC, schema.AC, schema.Water},
		Directed:  true,
		Passes:    passes(schema.Water, "in", "out"),
		Roles:     pumpRoles,
		Terminals: pumpTerminals,
		Attrs: attrs([]attr{
			word("duty", "what it is for", "circulating", "bilge", "pressure", "waste", "sump", "wash", "transfer"),
			word("design", "how it moves water", "centrifugal", "impeller", "diaphragm"),
			word("drive", "what turns it", "dc", "ac", "hand", "engine").def("dc", language),
			curve("curve", "head by flow at its volts", "{0 L/min: 3 m head, 40 L/min: 0 m head}", unit.FlowRate, unit.Pressure),
			flag("submersible", "stands in the water: its `in` is its own space"),
			flag("self-priming", "lifts water through a dry pipe").def("yes for impeller and diaphragm", practice),
			flag("automatic", "has a float of its own"),
			bore("inlet", "size of its inlet tail"), bore("outlet", "size of its outlet tail"),
			head("npsh", "net positive suction head it needs").eg("2 m head"),
			flag("dry-run", "may run dry"),
			flow("flow", "flow stated by its maker, at no head").eg("60 L/min"),
			head("head", "head stated by its maker, at no flow").eg("3 m head"),
			share("ratio", "pump speed over engine speed").eg("1"),
			quantity("speed", "speed at which its curve holds", unit.RotationalSpeed),
			flag("light", "a light shows that it runs"),
		}, watery(), loadAttrs("10 %; 3 % for bilge pumps")),
		Branches: func(p *schema.Part) []schema.Branch {
			spec := loadSpec{drop: comfort, motor: true}
			if p.Word("duty").V == "bilge" {
				spec.drop = mustWork
			}
			switch p.Word("drive").Or("dc") {
			case "dc", "ac":
				return suppliedDraw(p, spec)
			}
			return nil
		},
		Channels: func(p *schema.Part) []schema.Channel {
			c := passage(p, "in", "out", 0, "")
			c.Type, c.Pump = schema.PumpWay, pumpData(p)
			return []schema.Channel{c}
		},
		Openings: func(p *schema.Part) []schema.Opening {
			if !p.Flag("submersible").V {
				return nil
			}
			return []schema.Opening{opening(p, schema.ToInside, "in", "intake", "")}
		},
		Symbol: drawnAs("pump", pumpForm), Rating: rated("draw", "duty"),
		Order:   ordered("pump", "duty", "design", "volts", "draw", "flow", "inlet %inlet", "outlet %outlet", "submersible", "self-priming", "automatic"),
		Example: `{kind: pump, duty: bilge, draw: 4 A, submersible: yes, curve: {0 L/min: 3 m head, 60 L/min: 0 m head}}`,
	}
}

func pumpRoles(p *schema.Part) schema.Role {
	r := schema.Mover | schema.Equipment
	switch p.Word("drive").Or("dc") {
	case "dc":
		r |= schema.Load
	case "ac":
		r |= schema.Load | schema.ACPart
	}
	if p.Word("duty").V == "bilge" {
		r |= schema.Bilge | schema.Safety
	}
	return r
}

func pumpTerminals(p *schema.Part) []schema.Terminal {
	in := need("in", schema.Water, schema.WaterIn)
	in.Needed = !p.Flag("submersible").V
	out := []schema.Terminal{in, need("out", schema.Water, schema.WaterOut)}
	switch p.Word("drive").Or("dc") {
	case "dc", "ac":
		out = append(out, supplied(p, true)...)
	}
	return out
}

func pumpData(p *schema.Part) *schema.PumpData {
	design := p.Word("design").V
	displacement := design == "impeller" || design == "diaphragm"
	return &schema.PumpData{
		Duty: p.Word("duty").V, Design: design, Drive: p.Word("drive").Or("dc"),
		Curve: pumpCurve(p), Volts: p.Volts("volts"),
		Submersible: p.Flag("submersible").V, SelfPriming: p.Flag("self-priming").Or(displacement),
		Automatic: p.Flag("automatic").V, Displacement: displacement,
		NPSH: p.Head("npsh"), Flow: p.Flow("flow"),
	}
}

// pumpCurve is the written curve, else a straight line between the stated head
// at no flow and the stated flow at no head.
func pumpCurve(p *schema.Part) []schema.CurvePoint {
	if c := p.Curve("curve"); len(c) > 0 {
		return c
	}
	q, h := p.Flow("flow"), p.Head("head")
	if q.V > 0 && h.V > 0 {
		return []schema.CurvePoint{{X: 0, Y: float64(h.V)}, {X: float64(q.V), Y: 0}}
	}
	return nil
}

func pumpForm(p *schema.Part, m schema.Medium) string {
	if m != schema.Water {
		if p.Flag("automatic").V {
			return "automatic"
		}
		return ""
	}
	switch {
	case p.Flag("submersible").V:
		return "submersible"
	case p.Word("drive").V == "hand":
		return "hand"
	}
	return p.Word("design").V
}
