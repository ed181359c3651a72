package survey

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/dc"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// ohmEnd is an end of the range an internal resistance is known within.
type ohmEnd int

const (
	usualOhms ohmEnd = iota
	lowOhms          // the highest fault current: what a device must break
	highOhms         // the lowest: what must clear
)

// batteries adds every battery as an electromotive force behind its internal
// resistance.
func (b *builder) batteries() {
	for i := range b.s.Net.Edges {
		e := &b.s.Net.Edges[i]
		if e.Type != trace.Battery || e.Part == b.opt.without {
			continue
		}
		emf, ok := b.emf(e.Part)
		r, ok2 := b.batteryOhms(e)
		if ok && ok2 && e.A != e.B {
			b.add(i, dc.EMF{Pos: node(e.A), Neg: node(e.B), E: emf, R: r})
		}
	}
}

// emf is a battery's electromotive force: as stated, else by chemistry and
// charge.
func (b *builder) emf(p *schema.Part) (unit.Volt, bool) {
	if v := p.Volts("emf"); v.Given() {
		return v.V, true
	}
	nominal := p.Volts("volts")
	if !nominal.Given() {
		b.missing("volts of "+p.ID, p)
		return 0, false
	}
	c, ok := tables.ChemistryOf(p.Word("chemistry").V)
	if !ok {
		b.missing("chemistry of "+p.ID, p)
		return 0, false
	}
	charge := b.s.ChargeOf(b.Condition, p)
	if b.opt.asShort {
		charge = 1
	}
	if v, ok := b.opt.charge[p]; ok {
		charge = v
	}
	emf := c.OpenCircuit(nominal.V, charge)
	if b.opt.charge == nil {
		b.uses(p.ID, "emf", fmt.Sprintf("%.2f V at %.0f %%", float64(emf), 100*float64(charge)), c.Cite.String())
	}
	return emf, true
}

// missing notes a datum that no figure can do without. A short-circuit study
// leaves the battery out and notes it instead.
func (b *builder) missing(what string, p *schema.Part) {
	b.want(what, p)
	b.fatal = b.fatal || !b.opt.asShort
}

// ChargeOf is a battery's state of charge at the start of a condition: the
// condition's where it speaks of the battery, else the battery's own, else full.
func (s *Survey) ChargeOf(c *schema.Condition, p *schema.Part) unit.Ratio {
	if c != nil && c.Charge.Given() && (!c.Bank.Given() || s.inBank(c.Bank.V, p)) {
		return c.Charge.V
	}
	return p.Share("charge").Or(1)
}

func (s *Survey) inBank(id string, p *schema.Part) bool {
	if bank := s.Boat.Bank(id); bank != nil {
		for _, x := range bank.Batteries {
			if x == p {
				return true
			}
		}
	}
	return false
}

func (b *builder) batteryOhms(e *trace.Edge) (unit.Ohm, bool) {
	r, source, ok := b.s.batteryOhms(e, b.opt.end, b.opt.asShort)
	if !ok {
		b.missing("resistance of "+e.Part.ID+" (or its chemistry, volts and capacity)", e.Part)
		return 0, false
	}
	if source != "" && b.opt.charge == nil {
		b.uses(e.Part.ID, "internal resistance", ohmText(r), source)
	}
	return r, true
}

// batteryOhms is the internal resistance of a battery. In a short-circuit study
// a stated fault-current wins; else a stated resistance; else it is estimated, at
// the end of its range that is asked for. source is empty for a stated value.
func (s *Survey) batteryOhms(e *trace.Edge, end ohmEnd, short bool) (r unit.Ohm, source string, ok bool) {
	p := e.Part
	stated := p.Ohms("resistance")
	if i := p.Amps("fault-current"); short && i.Given() && i.V > 0 {
		emf := p.Volts("emf").Or(p.Volts("volts").V)
		if c, ok := tables.ChemistryOf(p.Word("chemistry").V); ok && !p.Volts("emf").Given() {
			emf = c.OpenCircuit(p.Volts("volts").V, 1)
		}
		return unit.Ohm(float64(emf) / float64(i.V)), "open-circuit volts over the stated fault-current", emf > 0
	}
	if stated.Given() {
		return stated.V, "", true
	}
	nominal := p.Volts("volts").V
	if !p.Amps("fault-current").Given() {
		if i := p.Amps("cranking"); i.Given() && i.V > 0 {
			cold, warm, cite := tables.CrankingResistance(nominal, i.V)
			if end == highOhms {
				return cold, cite.String() + ", cold", true
			}
			return warm, cite.String() + ", halved for a warm battery", true
		}
		if c, known := tables.ChemistryOf(p.Word("chemistry").V); known && s.capacity(p) > 0 && nominal > 0 {
			low, mid, high := c.Resistance(nominal, s.capacity(p))
			switch end {
			case lowOhms:
				return low, "low end for its chemistry and capacity, " + c.Cite.String(), true
			case highOhms:
				return high, "high end for its chemistry and capacity, " + c.Cite.String(), true
			}
			return mid, "middle for its chemistry and capacity, " + c.Cite.String(), true
		}
	}
	return e.Branch.OhmsDefault, e.Branch.OhmsDefaultSource, e.Branch.OhmsDefault > 0
}

// capacity is a battery's capacity at the 20 h rate, 0 where it is not stated.
func (s *Survey) capacity(p *schema.Part) unit.AmpHour {
	if c := p.AmpHours("capacity"); c.Given() {
		return c.V
	}
	if e := p.WattHours("capacity"); e.Given() && p.Volts("volts").V > 0 {
		return unit.AmpHour(float64(e.V) / float64(p.Volts("volts").V))
	}
	return 0
}

// Store is what run time and charge need to know of a battery; missing names the
// datum without which it is not known.
func (s *Survey) Store(p *schema.Part) (bank dc.Bank, missing string) {
	c, known := tables.ChemistryOf(p.Word("chemistry").V)
	bank.Capacity = s.capacity(p)
	if bank.Capacity <= 0 {
		return bank, "capacity of " + p.ID
	}
	bank.Usable = p.Share("usable").Or(c.Usable)
	if !known && !p.Has("usable") {
		return bank, "usable share of " + p.ID + " (or its chemistry)"
	}
	bank.Peukert = p.Number("peukert").Or(c.Peukert.Mid())
	if !known && !p.Has("peukert") {
		return bank, "chemistry of " + p.ID
	}
	bank.Efficiency = p.Share("charge-efficiency").Or(unit.Ratio(c.Coulombic.Mid()))
	if !known && !p.Has("charge-efficiency") {
		bank.Efficiency = 1
	}
	most := p.Amps("max-charge").Or(unit.Amp(c.ChargeCUpper * float64(bank.Capacity)))
	switch {
	case known && c.Lead():
		bank.Acceptance = dc.LeadAcceptance(bank.Capacity, most)
	case known:
		bank.Acceptance = dc.LithiumAcceptance(most)
	}
	return bank, ""
}

// StoreDefaults names what stands in for data of a battery that its file does
// not give.
func (s *Survey) StoreDefaults(p *schema.Part) [][3]string {
	c, known := tables.ChemistryOf(p.Word("chemistry").V)
	if !known {
		return nil
	}
	var out [][3]string
	if !p.Has("usable") {
		out = append(out, [3]string{"usable share", fmt.Sprintf("%.0f %%", 100*float64(c.Usable)), c.UsableCite.String()})
	}
	if !p.Has("peukert") {
		out = append(out, [3]string{"Peukert exponent", fmt.Sprintf("%.3g", c.Peukert.Mid()), c.Cite.String() + ", middle"})
	}
	return out
}

// HighestEMF is a battery's open-circuit voltage when full.
func (s *Survey) HighestEMF(p *schema.Part) unit.Volt {
	if v := p.Volts("emf"); v.Given() {
		return v.V
	}
	if c, ok := tables.ChemistryOf(p.Word("chemistry").V); ok {
		return c.OpenCircuit(p.Volts("volts").V, 1)
	}
	return p.Volts("volts").V
}
