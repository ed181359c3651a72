package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// leaves says where exposure begins: "leaves battery B1", "leaves bus BP".
func (p *protection) leaves(s start, w *schema.Wire) string {
	switch {
	case s.tap:
		return "leaves " + p.startName(s, w) + ", where an unfused cranking feed ends,"
	case s.source != nil && s.source.Unlimited && s.source.Medium == schema.DC:
		return "leaves battery " + s.source.Part.ID
	case s.source != nil:
		return "leaves source " + s.source.Part.ID
	}
	return "leaves " + p.startName(s, w)
}

func (p *protection) startName(s start, w *schema.Wire) string {
	if s.source != nil && !s.tap {
		return s.source.Part.ID
	}
	id := p.Net.WireEdge[w]
	if id >= 0 {
		e := &p.Net.Edges[id]
		if e.A == s.node {
			return w.From.String()
		}
		if e.B == s.node {
			return w.To.String()
		}
	}
	return p.Net.Nodes[s.node].Name()
}

// until says what an unprotected run ends in.
func (p *protection) until(o outcome) string {
	length := ""
	if !math.IsInf(float64(o.length.High), 1) {
		length = fmt.Sprintf(" over its %s", metres(o.length.Low))
	}
	switch o.end.Type {
	case trace.AtLoad:
		return length + " to " + o.end.Part.ID
	case trace.AtSource:
		return length + " to " + o.end.Part.ID + ", a source too"
	case trace.AtDevice:
		return length + " that fits it before " + o.end.Part.ID
	}
	return length
}

// risk says what feeds a fault in the conductor.
func (p *protection) risk(s start, w *schema.Wire) string {
	what := "a chafed or shorted wire there"
	if s.source != nil && s.source.Unlimited && s.source.Medium == schema.DC {
		return what + " is fed by the whole of " + s.source.Part.ID + " and burns"
	}
	if len(s.flow.Cut) > 0 {
		return what + fmt.Sprintf(" is fed with more than the wire carries (%s)", s.flow.Amps)
	}
	return what + " is fed until it burns"
}

// distance words the set's greatest distance: "0.18 m (7 in)".
func (p *protection) distance(s start, w *schema.Wire) string {
	plain, sheathed := p.limitFor(s, true, w)
	if p.set == tables.ISO {
		return metres(plain)
	}
	if s.battery && !s.tap {
		return fmt.Sprintf("%s (7 in), or %s (72 in) in a sheath,", metres(plain), metres(sheathed))
	}
	return metres(plain) + " (7 in)"
}

// atMost is the greatest rating the conductor allows, or a word where its size
// is not known.
func (p *protection) atMost(w *schema.Wire) string {
	a := p.allowedOf(w)
	if a.missing != "" {
		return "what the wire carries"
	}
	return fmt.Sprintf("%.0f A", math.Floor(float64(a.Hard)))
}

func (p *protection) cite(s start, w *schema.Wire) string {
	switch {
	case p.set == tables.ISO && w.Medium == schema.AC:
		return "ISO 13297:2020 13.2.2, 0.5 m"
	case p.set == tables.ISO && s.source != nil && s.source.Charging && !s.source.Unlimited:
		return "ISO 13297:2020 12.3, 1.8 m"
	case p.set == tables.ISO:
		return "ISO 13297 / ISO 10133 8.1, 200 mm (from memory)"
	case w.Medium == schema.AC:
		return "E-11 11.10.2.8: 7 in, 40 in sheathed"
	case s.battery && !s.tap:
		return "33 CFR 183.460(a), 72 in (paragraph from memory); 7 in: " + p.LawSource("183.455(b)")
	}
	return p.LawSource("183.455(b)") + ": 7 in, 40 in sheathed"
}

func (p *protection) ratingCite(w *schema.Wire) string {
	a := p.allowedOf(w)
	table := "ampacity: " + a.cite
	switch {
	case p.set == tables.ISO:
		return "ISO 13297 / ISO 10133: rating at most the conductor's; " + table
	case w.Medium == schema.AC:
		return p.LawSource("183.455(c)(2)") + "; " + table
	}
	return p.LawSource("183.455(c)(1)") + ": at most 150 %; " + table
}

// demandAtChargers asks, under ISO, for a device at every charging source that
// is neither self-limiting nor protected inside, whatever the wire carries.
func (p *protection) demandAtChargers() {
	if p.set != tables.ISO {
		return
	}
	n := p.Net
	all := &trace.Walker{Net: n, Exposed: func(trace.Direction) bool { return true }, Skip: p.skip}
	for i := range n.Sources {
		s := &n.Sources[i]
		if !s.Charging || s.Back || s.SelfLimiting || s.BuiltIn != nil || s.Unlimited {
			continue
		}
		for _, node := range p.joints(s.Node) {
			for _, id := range n.Nodes[node].Edges {
				e := &n.Edges[id]
				if e.Type != trace.Conductor || !n.Live(id) || p.spoken[e.Wire] || p.skip(trace.Direction{Edge: id, From: node}) {
					continue
				}
				st := start{source: s, node: node}
				r := all.From(trace.Direction{Edge: id, From: node})
				for _, o := range p.demandOutcomes(r, st) {
					p.report(o, r, st)
				}
			}
		}
	}
}

// demandOutcomes judges only the distance to the first device.
func (p *protection) demandOutcomes(r *trace.Run, s start) []outcome {
	if len(r.Ends) == 0 || r.Ends[0].Type == trace.AtLoad && len(r.Next) > 0 {
		var all []outcome
		for _, next := range r.Next {
			all = append(all, p.demandOutcomes(next, s)...)
		}
		return all
	}
	o := outcome{run: r, end: r.Ends[0], length: r.Length, bare: !r.Sheathed}
	limit, _ := p.limitFor(s, o.bare, r.Wire)
	switch {
	case o.end.Type != trace.AtDevice:
		o.rule = "unfused-run"
	case float64(o.length.High) <= float64(limit)+1e-9:
		return nil
	case o.length.Low > limit:
		o.rule = "fuse-too-far"
	default:
		o.missing = "length of wire " + o.run.Unsure.Ref()
	}
	return []outcome{o}
}

// exempt notes an exemption that was used, once.
func (p *protection) exempt(w *schema.Wire, message, source string) {
	if p.pigtail[w] {
		return
	}
	p.pigtail[w] = true
	p.Add(diag.Finding{Rule: "exemption-used", Severity: diag.Note, Span: w.At, At: []string{w.Ref()}, Message: message,
		Risk: "none while the exemption holds: nothing else may be joined to it", Do: "keep it short, guarded and alone", Source: source})
}

// reportCranking notes the exempt cranking conductors, one note a starter.
func (p *protection) reportCranking() {
	for _, f := range p.crank.feeds {
		var ids []string
		for _, id := range f.edges {
			ids = append(ids, p.Net.Edges[id].Wire.Ref())
		}
		if len(ids) == 0 {
			continue
		}
		w := p.Net.Edges[f.edges[0]].Wire
		p.Add(diag.Finding{Rule: "exemption-used", Severity: diag.Note, Span: w.At, At: append(ids, f.starter.ID),
			Message: fmt.Sprintf("the feed of %s needs no device of its own: it cranks the engine", f.starter.ID),
			Risk:    "the feed burns when it shorts: its route and guards are all that protect it",
			Do:      "keep it short, supported and clear of edges",
			Source:  "33 CFR 183.460(a) (from memory; exemption confirmed in trade articles)"})
	}
}
