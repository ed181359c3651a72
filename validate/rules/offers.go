package rules

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/schema/unit"
	"fitout/validate/tables"
)

// This file holds the edits that more than one rule offers: a device of a lower
// rating, a thicker conductor. They change values that stand in the file and
// never add a part.

// rated is a device, or the device of a panel's way, and the rating it should
// have; 0 where none is known.
type rated struct {
	part *schema.Part
	way  string
	to   unit.Amp
}

// fix offers to lower a rating that the part itself, its way or its circuit
// states.
func (r rated) fix() *diag.Fix {
	if r.part == nil || r.to <= 0 {
		return nil
	}
	v, name := r.part.Amps("rating"), r.part.ID
	if r.way != "" {
		name += "." + r.way
		way, ok := r.part.Way(r.way)
		if !ok {
			return nil
		}
		v = way.Rating
	}
	if !ownText(v) || v.V <= r.to {
		return nil
	}
	return &diag.Fix{
		Title: fmt.Sprintf("set the rating of %s to %s", name, r.to),
		Edits: []diag.Edit{{Span: v.At, New: r.to.String()}},
	}
}

// lowest is the rating a device may have for a conductor: the next standard size
// over what it carries where the set lets it, else the largest within it.
func (p *protection) lowest(a allowed, family string) unit.Amp {
	if family == "" {
		family = "nec"
	}
	if next, _, ok := tables.NextStandardRating(family, a.Amp); ok && next <= a.Hard+slack {
		return next
	}
	least, _, ok := tables.LargestStandardRating(family, a.Hard)
	if !ok {
		return 0
	}
	return least
}

// ownText reports whether a value stands at its own item, as it was written: the
// edit of a stock entry, a default or an alias would change other items too.
func ownText[T any](v schema.Val[T]) bool {
	return v.From == schema.Own && v.At.Valid() && strings.TrimSpace(v.At.Text()) == v.Text
}

// thicker offers the least size of the series a conductor is written in for
// which holds is true, for all of the conductors given; conductors that share
// one written size share the edit. It offers nothing where a size is not written
// at its own item.
func (c *Context) thicker(wires []*schema.Wire, holds func(w *schema.Wire, size unit.Size) bool) *diag.Fix {
	at := map[source.Span]unit.Size{}
	var order []source.Span
	var names []string
	for _, w := range wires {
		if !ownText(w.Size) {
			return nil
		}
		size, ok := c.leastSize(w, holds)
		if !ok {
			return nil
		}
		had, seen := at[w.Size.At]
		if !seen {
			order = append(order, w.Size.At)
		}
		if !seen || size.Area > had.Area {
			at[w.Size.At] = size
		}
		name := w.Path
		if w.Circuit != nil {
			name = w.Circuit.ID
		}
		if name = cmpOr(name, w.Ref()); !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	f := &diag.Fix{}
	var sizes []string
	for _, span := range order {
		if text := spelled(at[span], span.Text()); text != span.Text() {
			f.Edits = append(f.Edits, diag.Edit{Span: span, New: text})
			sizes = append(sizes, text)
		}
	}
	if len(f.Edits) == 0 {
		return nil
	}
	f.Title = fmt.Sprintf("set the size of %s to %s", named(names), strings.Join(slices.Compact(sizes), " and "))
	return f
}

// spelled writes a size as its file writes sizes.
func spelled(s unit.Size, like string) string {
	if strings.Contains(like, "mm2") {
		return strings.ReplaceAll(s.Name(), "mm²", "mm2")
	}
	return s.Name()
}

func cmpOr(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// leastSize is the thinnest size from the conductor's own up that holds.
func (c *Context) leastSize(w *schema.Wire, holds func(*schema.Wire, unit.Size) bool) (unit.Size, bool) {
	if holds(w, w.Size.V) {
		return w.Size.V, true
	}
	set := tables.US
	if w.Size.V.System == unit.Metric {
		set = tables.ISO
	}
	for _, s := range tables.SizesFor(set) {
		if s.Area > w.Size.V.Area && holds(w, s) {
			return s, true
		}
	}
	return unit.Size{}, false
}

// carries reports whether a conductor of another size may carry a current under
// every set that applies.
func (c *Context) carries(amps unit.Amp) func(*schema.Wire, unit.Size) bool {
	return func(w *schema.Wire, size unit.Size) bool {
		other := *w
		other.Size.V = size
		for _, set := range c.Sets() {
			a, missing := c.Ampacity(&other, set)
			if missing != "" || a.Amps*unit.Amp(w.Parallel.Or(1)) < amps {
				return false
			}
		}
		return true
	}
}

// dropFix offers the least size that would bring a load's own run, out and back,
// within its class, everything else left as it is.
func (c *Context) dropFix(w *dropped) *diag.Fix {
	own := float64(w.drop.FromPanel)
	spare := float64(w.limit)*float64(w.nominal) - float64(w.drop.Volts) + own
	run := c.ownRun(w)
	if own <= 0 || spare <= 0 || len(run) == 0 {
		return nil
	}
	by := own / spare
	return c.thicker(run, func(x *schema.Wire, size unit.Size) bool {
		return float64(size.Area) >= by*float64(x.Size.V.Area)*(1-1e-9)
	})
}

// ownRun is the conductors that carry nothing but a load's own current: both
// sides of its circuit, else those that land on it.
func (c *Context) ownRun(w *dropped) []*schema.Wire {
	if cir := w.part.Circuit; cir != nil && len(cir.Loads) == 1 && len(cir.Supply) > 0 {
		return slices.Concat(cir.Supply, cir.Back)
	}
	var out []*schema.Wire
	for _, node := range [2]int{w.edge.A, w.edge.B} {
		if x := c.wireTo(w.part, node); x != nil {
			out = append(out, x)
		}
	}
	return out
}
