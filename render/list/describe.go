package list

import (
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
)

// place says where a part stands: the title of its space.
func place(p *schema.Part) string {
	if p == nil || p.Space == nil {
		return ""
	}
	return p.Space.Name()
}

// endText names a terminal with its place: "F1.in".
func endText(e schema.End) string { return e.String() }

func hoseEnd(e schema.HoseEnd) string {
	if e.IsOpen() {
		return "open in " + e.Open.Name()
	}
	return e.End.String()
}

// colorOf is the conductor's colour as written, else the set's for its polarity.
func colorOf(in Input, w *schema.Wire) string {
	if w.Color.Given() {
		return w.Color.V
	}
	return in.Survey.DefaultColour(w)
}

// lug names the terminal at one end of a conductor: as the file says, else a
// ring whose stud is to be measured; a device with cage or spade terminals takes
// what its maker says.
func lug(w *schema.Wire, end int) string {
	if len(w.Lugs) > end {
		return w.Lugs[end].V
	}
	if len(w.Lugs) == 1 {
		return w.Lugs[0].V
	}
	return ""
}

// bore prints a hose bore or nominal size in both systems.
func bore(v schema.Val[unit.Metre]) string {
	if !v.Given() {
		return ""
	}
	return v.V.BoreText()
}

func words(list []schema.Val[string]) string {
	var out []string
	for _, w := range list {
		out = append(out, w.V)
	}
	return strings.Join(out, ", ")
}

// fittedWires are the conductors that are in the boat.
func fittedWires(b *schema.Boat) []*schema.Wire {
	var out []*schema.Wire
	for _, w := range b.Wires {
		if !w.Implied && !w.Prepared {
			out = append(out, w)
		}
	}
	return out
}

// runs are the conductors as they are cut and pulled: one for a cable, whatever
// its cores.
func runs(b *schema.Boat) []*schema.Wire {
	var out []*schema.Wire
	seen := map[string]bool{}
	for _, w := range fittedWires(b) {
		if w.Cable != "" {
			if seen[w.Cable] {
				continue
			}
			seen[w.Cable] = true
		}
		out = append(out, w)
	}
	return out
}

func fittedHoses(b *schema.Boat) []*schema.Hose {
	var out []*schema.Hose
	for _, h := range b.Hoses {
		if !h.Implied && !h.Prepared {
			out = append(out, h)
		}
	}
	return out
}

func fittedParts(b *schema.Boat) []*schema.Part {
	var out []*schema.Part
	for _, p := range b.Parts {
		if !p.Prepared {
			out = append(out, p)
		}
	}
	return out
}

// setOf is the set whose words and colours lists use: the first that applies.
func setOf(in Input) tables.Set { return in.Survey.Sets()[0] }

// device is an overcurrent device: a part, or one way of a panel.
type device struct {
	part *schema.Part
	way  string
	data *schema.DeviceData
	br   schema.Branch
}

func (d device) name() string {
	if d.way != "" {
		return d.part.ID + "." + d.way
	}
	return d.part.ID
}

func (d device) title() string {
	if d.way != "" {
		if w, ok := d.part.Way(d.way); ok && w.Title.Given() {
			return w.Title.V
		}
		return ""
	}
	return d.part.Title()
}

// devices lists fuses and breakers, panel ways included; the poles of one device
// count once.
func devices(b *schema.Boat) []device {
	var out []device
	for _, p := range fittedParts(b) {
		seen := map[string]bool{}
		for _, br := range p.Branches() {
			if br.Type != schema.Device || br.Device == nil {
				continue
			}
			key := br.Way + "/" + br.Device.Group
			if br.Device.Group != "" && seen[key] {
				continue
			}
			if w, ok := p.Way(br.Way); ok && br.Way != "" && w.Spare {
				continue
			}
			seen[key] = true
			out = append(out, device{p, br.Way, br.Device, br})
		}
	}
	return out
}
