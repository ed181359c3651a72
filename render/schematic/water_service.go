package schematic

import (
	"fitout/render/draw"
	"fitout/schema"
)

// serviceCode is the letters that stand on the hoses of a style, whatever the
// colour: after the service codes of the drafting reference.
func serviceCode(s draw.Style) string {
	switch s {
	case draw.Sea, draw.Discharge:
		return "RW"
	case draw.Drain:
		return "DR"
	case draw.Fresh:
		return "CW"
	case draw.Hot:
		return "HW"
	case draw.Waste:
		return "BW"
	case draw.GreyWater:
		return "GW"
	case draw.Bilge:
		return "BG"
	case draw.Exhaust:
		return "EX"
	case draw.Coolant:
		return "EC"
	case draw.Vent:
		return "VT"
	}
	return ""
}

type jointKey struct {
	part     *schema.Part
	terminal string
}

// Services finds what runs in every hose, by its id: from what its ends say, then along the
// ways through the parts.
func Services(b *schema.Boat) map[string]draw.Style {
	f := flood{of: map[string]draw.Style{}, at: map[jointKey][]*schema.Hose{}}
	for _, h := range b.Hoses {
		for _, e := range []schema.HoseEnd{h.From, h.To} {
			if e.Part != nil {
				k := jointKey{e.Part, e.Terminal}
				f.at[k] = append(f.at[k], h)
			}
		}
	}
	// what is surest speaks first
	for _, said := range []func(schema.HoseEnd) (draw.Style, bool){byTerminal, byOpening, byUse} {
		for _, h := range b.Hoses {
			for _, e := range []schema.HoseEnd{h.From, h.To} {
				if _, done := f.of[h.ID]; done {
					break
				}
				if s, ok := said(e); ok {
					f.of[h.ID] = s
					f.todo = append(f.todo, h)
				}
			}
		}
		f.spread()
	}
	for _, h := range b.Hoses {
		if _, ok := f.of[h.ID]; !ok {
			f.of[h.ID] = draw.Sea
		}
	}
	return f.of
}

type flood struct {
	of   map[string]draw.Style
	at   map[jointKey][]*schema.Hose
	todo []*schema.Hose
}

func (f *flood) spread() {
	for len(f.todo) > 0 {
		h := f.todo[0]
		f.todo = f.todo[1:]
		for _, e := range []schema.HoseEnd{h.From, h.To} {
			if e.Part == nil {
				continue
			}
			for _, n := range f.beyond(e) {
				if _, done := f.of[n.ID]; !done {
					f.of[n.ID] = f.of[h.ID]
					f.todo = append(f.todo, n)
				}
			}
		}
	}
}

// beyond lists the hoses that the same water runs on in.
func (f *flood) beyond(e schema.HoseEnd) []*schema.Hose {
	p := e.Part
	out := append([]*schema.Hose(nil), f.at[jointKey{p, e.Terminal}]...)
	if p.Roles().Any(schema.Holding | schema.InsideOpening | schema.SeaOpening) {
		return out // what fills it and what leaves it need not be one water
	}
	if p.Roles().Any(schema.Junction) {
		for _, t := range p.Terminals() {
			if t.Name != e.Terminal {
				out = append(out, f.at[jointKey{p, t.Name}]...)
			}
		}
		return out
	}
	for _, c := range p.Channels() {
		if c.Type == schema.Blocked {
			continue
		}
		switch e.Terminal {
		case c.A:
			out = append(out, f.at[jointKey{p, c.B}]...)
		case c.B:
			out = append(out, f.at[jointKey{p, c.A}]...)
		}
	}
	return out
}

// byTerminal is what the name of a terminal alone says.
func byTerminal(e schema.HoseEnd) (draw.Style, bool) {
	if e.Part == nil {
		return 0, false
	}
	t, _ := e.Part.Terminal(e.Terminal)
	if t.Polarity == schema.Exhaust {
		return draw.Exhaust, true
	}
	r := e.Part.Roles()
	switch e.Terminal {
	case "coolant-in", "coolant-out":
		return draw.Coolant, true
	case "vent":
		return draw.Vent, true
	case "hot":
		return draw.Hot, true
	case "cold", "product":
		return draw.Fresh, true
	case "brine":
		return draw.Discharge, true
	case "relief":
		return draw.Hot, true
	case "drain":
		if !r.Any(schema.Holding) {
			return draw.Drain, true
		}
	case "water-out":
		if r.Any(schema.SeaUser) {
			return draw.Discharge, true
		}
	case "elbow":
		return draw.Discharge, true
	case "water-in", "feed", "supply":
		return draw.Sea, true
	case "out":
		if r.Any(schema.Toilet) {
			return draw.Waste, true
		}
	}
	return 0, false
}

// byOpening is what a hull opening, an open end or a tank says.
func byOpening(e schema.HoseEnd) (draw.Style, bool) {
	if e.IsOpen() {
		return draw.Bilge, true
	}
	p := e.Part
	if p == nil {
		return 0, false
	}
	switch p.Word("service").V {
	case "intake":
		return draw.Sea, true
	case "discharge":
		return draw.Discharge, true
	case "bilge":
		return draw.Bilge, true
	case "waste":
		return draw.Waste, true
	case "exhaust":
		return draw.Exhaust, true
	case "scupper":
		return draw.Drain, true
	}
	switch p.Word("contents").V {
	case "fresh":
		return draw.Fresh, true
	case "grey":
		return draw.GreyWater, true
	case "black":
		return draw.Waste, true
	}
	switch p.Word("duty").V {
	case "bilge":
		return draw.Bilge, true
	case "pressure":
		return draw.Fresh, true
	case "waste":
		return draw.Waste, true
	}
	return 0, false
}

// byUse is what is left: basins drain grey water, pans and sumps drain.
func byUse(e schema.HoseEnd) (draw.Style, bool) {
	p := e.Part
	if p == nil {
		return 0, false
	}
	if p.Is(schema.InsideOpening) && (e.Terminal == "out" || e.Terminal == "") {
		if p.Word("duty").Given() || !hasTerminal(p, "cold") {
			return draw.Drain, true
		}
		return draw.GreyWater, true
	}
	switch {
	case p.Word("duty").V == "sump" || p.Word("service").V == "drain":
		return draw.Drain, true
	case p.Is(schema.DeckOpening):
		return draw.Fresh, true
	}
	return 0, false
}

func hasTerminal(p *schema.Part, name string) bool {
	_, ok := p.Terminal(name)
	return ok
}
