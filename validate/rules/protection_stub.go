package rules

import (
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// stub reports whether a conductor that a device upstream lets more through than
// it carries, though no more than the hard limit, ends on every way in a device
// of its own within the set's distance: then the device upstream is not its
// protection, as with one that lets still more through.
func (p *protection) stub(d trace.Direction) bool {
	if p.stubs == nil {
		p.findStubs()
	}
	return p.stubs[d]
}

// over reports whether more enters a conductor there than it carries for long.
func (p *protection) over(d trace.Direction) bool {
	f := p.pushInto(d).low
	return f.Unlimited || f.Amps > p.allowedOf(p.Net.Edges[d.Edge].Wire).Soft+slack
}

func (p *protection) findStubs() {
	p.stubs = map[trace.Direction]bool{}
	n := p.Net
	walker := &trace.Walker{Net: n, Exposed: p.over, Skip: p.skip}
	for _, w := range p.Boat.Wires {
		id := n.WireEdge[w]
		if id < 0 || !n.Live(id) || n.Edges[id].A == n.Edges[id].B || w.Medium != schema.DC {
			continue
		}
		for _, from := range [2]int{n.Edges[id].A, n.Edges[id].B} {
			d := trace.Direction{Edge: id, From: from}
			if p.skip(d) || !p.over(d) || p.exposed(d) || p.arrivesOver(d) {
				continue
			}
			if r := walker.From(d); p.endsInDevices(r) {
				p.markStub(r)
			}
		}
	}
}

// arrivesOver reports whether a conductor goes on from one that is over already:
// it is measured from where that one begins.
func (p *protection) arrivesOver(d trace.Direction) bool {
	for _, node := range p.joints(d.From) {
		for _, id := range p.Net.Nodes[node].Edges {
			e := &p.Net.Edges[id]
			in := trace.Direction{Edge: id, From: e.Other(node)}
			if e.Type == trace.Conductor && id != d.Edge && p.Net.Live(id) && p.over(in) {
				return true
			}
		}
	}
	return false
}

// endsInDevices reports whether every way on ends, within the plain distance, in
// a device that the conductor carries.
func (p *protection) endsInDevices(r *trace.Run) bool {
	limit, _ := p.limitFor(start{node: r.From}, !r.Sheathed, r.Wire)
	for _, end := range r.Ends {
		if end.Type != trace.AtDevice || float64(r.Length.High) > float64(limit)+1e-9 {
			return false
		}
		d := p.Net.Edges[end.Edge].Branch.Device
		if !d.Rating.Given() || d.Rating.V > p.carries(r.Wire, d)+slack {
			return false
		}
	}
	for _, next := range r.Next {
		if !p.endsInDevices(next) {
			return false
		}
	}
	return true
}

// carries is the rating a device may have for a conductor without a word said.
func (p *protection) carries(w *schema.Wire, d *schema.DeviceData) unit.Amp {
	soft := p.allowedOf(w).Soft
	if next, _, ok := tables.NextStandardRating(seriesOf(d), soft); ok && next > soft {
		return next
	}
	return soft
}

func (p *protection) markStub(r *trace.Run) {
	p.stubs[r.Direction] = true
	for _, next := range r.Next {
		p.markStub(next)
	}
}
