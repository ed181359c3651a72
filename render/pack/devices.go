package pack

import (
	"strings"

	"fitout/schema"
)

// device is an overcurrent device: a part, or one way of a panel.
type device struct {
	part *schema.Part
	way  string
	data *schema.DeviceData
}

func (d device) id() string {
	if d.way != "" {
		return d.part.ID + "." + d.way
	}
	return d.part.ID
}

func (d device) title() string {
	if w, ok := d.part.Way(d.way); ok && d.way != "" {
		return w.Title.V
	}
	return titleOf(d.part)
}

// word is what the device is: "fuse", "breaker".
func (d device) word() string {
	switch {
	case d.data.ResidualOnly, d.part.Is(schema.Residual):
		return "residual-current device"
	case d.data.Breaker:
		return "breaker"
	}
	return "fuse"
}

// rating is "225 A class-t".
func (d device) rating() string {
	r := "rating not given"
	if d.data.Rating.Given() {
		r = d.data.Rating.V.RatingText()
	}
	return strings.TrimSpace(r + " " + d.data.Family)
}

// devices lists fuses and breakers, the ways of panels among them; the poles of
// one device count once.
func (m *maker) devices() []device {
	var out []device
	for _, p := range m.fitted() {
		seen := map[string]bool{}
		for _, br := range p.Branches() {
			if br.Type != schema.Device || br.Device == nil || br.Device.Inside {
				continue
			}
			if w, ok := p.Way(br.Way); ok && br.Way != "" && w.Spare {
				continue
			}
			key := br.Way + "/" + br.Device.Group
			if seen[key] && (br.Device.Group != "" || br.Way != "") {
				continue
			}
			seen[key] = true
			out = append(out, device{p, br.Way, br.Device})
		}
	}
	return out
}

// switches lists what a person throws and what closes by itself.
func (m *maker) switches() []*schema.Part {
	var out []*schema.Part
	for _, p := range m.fitted() {
		if p.Roles().Any(schema.Switching|schema.Sensing) && !p.Is(schema.Protection) {
			out = append(out, p)
		}
	}
	return out
}

// valves lists what shuts a line.
func (m *maker) valves() []*schema.Part {
	var out []*schema.Part
	for _, p := range m.fitted() {
		if p.Roles().Any(schema.Seacock | schema.Shutoff) {
			out = append(out, p)
		}
	}
	return out
}

// normal is how a part usually stands.
func normal(p *schema.Part) string {
	if p.Kind.Attr("position") == nil {
		return ""
	}
	def := "open"
	if p.Roles().Any(schema.Switching) {
		def = "closed"
	}
	if a := p.Kind.Attr("position"); a.Default != "" {
		def = a.Default
	}
	return p.Word("position").Or(def)
}
