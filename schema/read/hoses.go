package read

import (
	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/schema/unit"
)

func related(at source.Span, message string) []diag.Related {
	return []diag.Related{{Span: at, Message: message}}
}

// closeJoint joins a through-hull to the seacock it carries.
func (r *reader) closeJoint(host *schema.Part) {
	cock := host.Cock
	if cock == nil {
		return
	}
	in, _, ok := passes(cock, true)
	names := visible(host, true)
	if !ok || len(names) == 0 {
		return
	}
	h := &schema.Hose{
		ID:      host.ID + "+" + cock.ID,
		From:    schema.HoseEnd{End: schema.End{Part: host, Terminal: names[0], At: host.At}},
		To:      schema.HoseEnd{End: schema.End{Part: cock, Terminal: in, At: cock.At}},
		Length:  schema.Of[unit.Metre](0, schema.Derived),
		Bore:    host.Metres("size"),
		Implied: true, Prepared: host.Prepared, At: cock.At,
	}
	if h.Bore.Given() {
		h.Bore.From = schema.Derived
	}
	r.boat.Hoses = append(r.boat.Hoses, h)
}

// hoses expands an item of hoses into its stretches.
func (r *reader) hoses(u *run) {
	list := r.stretches(u, u.stops, func(s *stop, first, last bool) {
		if s.open != nil && !first && !last {
			r.at(s.node, "an open end stands at an end of the path")
			s.bad = true
			return
		}
		r.resolve(u, s, first, last)
	})
	n := len(list)
	if n == 0 {
		return // only a seacock's close joint, or reported
	}
	lengths, peaks, dips := r.hoseSeries(u, n)
	for i, st := range list {
		if st.from.broken() || st.to.broken() {
			continue
		}
		h := u.hose
		h.ID, h.Path, h.Stretch = r.stretchID(u, i, n), u.pathID(), i
		h.From, h.To = hoseEnd(st.from, st.from.leave), hoseEnd(st.to, st.to.enter)
		h.Length, h.Peak, h.Dip = lengths[i], peaks[i], dips[i]
		h.At = u.node.Span()
		if i > 0 {
			h.Bends = schema.Val[int]{} // those of the run count once
			h.BendsText = ""
		}
		if !h.Peak.Given() {
			h.PeakAt = [2]schema.Val[unit.Metre]{}
		}
		r.boat.Hoses = append(r.boat.Hoses, &h)
	}
}

func hoseEnd(s *stop, name string) schema.HoseEnd {
	if s.open != nil {
		return schema.HoseEnd{End: schema.End{At: s.node.Span()}, Open: s.open, Height: s.height}
	}
	return schema.HoseEnd{End: s.end(name)}
}

// hoseSeries gives each of n stretches its length, peak and dip.
func (r *reader) hoseSeries(u *run, n int) (lengths, peaks, dips []schema.Val[unit.Metre]) {
	name := stretchName(u.line)
	r.clash(u.length.Given(), u.lengths.node, "length", "lengths")
	r.clash(u.peak.Given(), u.peaks.node, "peak", "peaks")
	r.clash(u.dip.Given(), u.dips.node, "dip", "dips")
	one := func(s series[schema.Val[unit.Metre]], key string) []schema.Val[unit.Metre] {
		s = undropped(s, u.dropped, n)
		if !fits(r, s, key, name, n) {
			return make([]schema.Val[unit.Metre], n)
		}
		return s.list
	}
	lengths, peaks, dips = one(u.lengths, "lengths"), one(u.peaks, "peaks"), one(u.dips, "dips")
	if u.lengths.node == nil {
		for i := range lengths {
			lengths[i] = shared(u.length, n, unit.Metre.String)
		}
	}
	for _, v := range []struct {
		val  schema.Val[unit.Metre]
		list []schema.Val[unit.Metre]
		many string
	}{{u.peak, peaks, "peaks"}, {u.dip, dips, "dips"}} {
		switch {
		case !v.val.Given():
		case n == 1:
			v.list[0] = v.val
		default:
			r.add(Problem{Span: v.val.At, Message: name + " has several stretches: write " + v.many + " with one value a stretch, null where there is none"})
		}
	}
	if u.hose.PeakAt[0].Given() && !u.peak.Given() && u.peaks.node == nil {
		r.add(Problem{Span: u.hose.PeakAt[0].At, Message: "peak-at is the place of a peak, and none is given"})
	}
	return lengths, peaks, dips
}

// undropped takes the values of stretches that are a seacock's close joint out of
// a list that has them.
func undropped[T any](s series[T], dropped []int, n int) series[T] {
	if s.node == nil || len(dropped) == 0 || len(s.list) != n+len(dropped) {
		return s
	}
	out := series[T]{node: s.node}
	for i, v := range s.list {
		gone := false
		for _, d := range dropped {
			gone = gone || d == i
		}
		if !gone {
			out.list = append(out.list, v)
		}
	}
	return out
}
