package survey

import (
	"errors"
	"math"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/dc"
	"fitout/validate/trace"
)

// Batteries lists the fitted batteries in file order.
func (s *Survey) Batteries() []*schema.Part {
	if !s.counted {
		s.counted = true
		for i := range s.Net.Edges {
			if e := &s.Net.Edges[i]; e.Type == trace.Battery {
				s.batteries = append(s.batteries, e.Part)
			}
		}
	}
	return s.batteries
}

// Hours returns how long a battery gives the condition's mean current from the
// charge it starts with until its usable share is spent. ok is false while it
// charges or rests, and where a datum is missing.
func (d *DCState) Hours(p *schema.Part) (unit.Hour, bool) {
	m := d.Mean()
	i, ok := m.BatteryAmps(p)
	if !ok || i <= resting {
		return 0, false
	}
	bank, missing := d.s.Store(p)
	if missing != "" {
		return 0, false
	}
	return bank.RunTime(i, d.s.ChargeOf(d.Condition, p)), true
}

// resting is the current under which a battery counts as neither charged nor
// discharged.
const resting unit.Amp = 1e-6

// Supply is batteries that stand in parallel in a condition: they empty together.
type Supply struct {
	Batteries []*schema.Part
	// Amps is their mean current together, positive out; Peak the same with every
	// load at full draw.
	Amps, Peak unit.Amp
	// Hours is how long their usable share lasts; infinite while they charge or
	// rest. Missing names the datum without which that is not known.
	Hours   unit.Hour
	Missing string
}

// Supplies groups the batteries of a condition by the posts they share, with the
// sun spread over the hours of the condition. trouble says why there is none.
func (s *Survey) Supplies(c *schema.Condition) []Supply {
	d := s.DCWithoutCranking(c)
	if !d.Solved() {
		return nil
	}
	m := s.overHours(d)
	if !m.Solved() {
		return nil
	}
	var out []Supply
	index := map[[2]int]int{}
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Type != trace.Battery {
			continue
		}
		key := [2]int{d.groups.Of(e.A), d.groups.Of(e.B)}
		k, ok := index[key]
		if !ok {
			k = len(out)
			index[key] = k
			out = append(out, Supply{})
		}
		a, _ := m.edgeAmps(i)
		peak, _ := d.edgeAmps(i)
		out[k].Batteries = append(out[k].Batteries, e.Part)
		out[k].Amps += a
		out[k].Peak += peak
	}
	for k := range out {
		s.runTime(c, &out[k])
	}
	return out
}

// overHours is the mean state of a condition with the energy of its sun spread over
// its hours, a day at most.
func (s *Survey) overHours(d *DCState) *DCState {
	if d.sunny == nil {
		d.sunny = s.spreadSun(d)
	}
	return d.sunny
}

func (s *Survey) spreadSun(d *DCState) *DCState {
	c := d.Condition
	if !c.Sun.Given() || c.Sun.V <= 0 || !s.hasSun() {
		return d.Mean()
	}
	hours := min(c.Hours.Or(24), 24)
	share := 1.0
	if hours > c.Sun.V {
		share = float64(c.Sun.V / hours)
	}
	return d.with(func(o *dcOptions) {
		o.mean = o.mean || d.pauses() // as Mean
		o.sun = &share
	})
}

func (s *Survey) hasSun() bool {
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Feed && e.Medium == schema.DC && e.Branch.Feed.Needs == "sun" {
			return true
		}
	}
	return false
}

func (s *Survey) runTime(c *schema.Condition, x *Supply) {
	x.Hours = unit.Hour(math.Inf(1))
	if x.Amps <= resting {
		return
	}
	var whole dc.Bank
	usable, charge := 0.0, 0.0
	for k, p := range x.Batteries {
		b, missing := s.Store(p)
		if missing != "" {
			x.Missing = missing
			return
		}
		if k == 0 {
			whole.Peukert = b.Peukert
		}
		whole.Peukert = max(whole.Peukert, b.Peukert)
		whole.Capacity += b.Capacity
		usable += float64(b.Usable) * float64(b.Capacity)
		charge += float64(s.ChargeOf(c, p)) * float64(b.Capacity)
	}
	whole.Usable = unit.Ratio(usable / float64(whole.Capacity))
	x.Hours = whole.RunTime(x.Amps, unit.Ratio(charge/float64(whole.Capacity)))
}

// BankBatteries are the batteries a condition speaks of: those of its bank, else
// all.
func (s *Survey) BankBatteries(c *schema.Condition) []*schema.Part {
	if c != nil && c.Bank.Given() {
		if b := s.Boat.Bank(c.Bank.V); b != nil {
			return b.Batteries
		}
	}
	return s.Batteries()
}

// NetAmps is the mean current out of the condition's bank, the sun spread over
// its hours; ok is false where it is not known.
func (s *Survey) NetAmps(c *schema.Condition) (unit.Amp, bool) {
	d := s.DCWithoutCranking(c)
	if !d.Solved() {
		return 0, false
	}
	m := s.overHours(d)
	return s.bankAmps(c, m)
}

func (s *Survey) bankAmps(c *schema.Condition, m *DCState) (unit.Amp, bool) {
	sum := unit.Amp(0)
	for _, p := range s.BankBatteries(c) {
		a, ok := m.BatteryAmps(p)
		if !ok {
			return 0, false
		}
		sum += a
	}
	return sum, true
}

// HoldsAt is the engine speed at which a condition's bank just neither gains nor
// loses charge, every engine turning alike; ok is false where it holds with the
// engines standing, where no speed holds it, and where no alternator's curve is
// known.
func (s *Survey) HoldsAt(c *schema.Condition) (unit.RPM, bool) {
	top := s.topSpeed(c)
	d := s.DCWithoutCranking(c)
	if top <= 0 || !d.Solved() {
		return 0, false
	}
	base := s.overHours(d)
	balance := func(x float64) (float64, error) {
		rpm := unit.RPM(x)
		m := base.with(func(o *dcOptions) { o.rpm = &rpm; o.mean = true })
		out, ok := s.bankAmps(c, m)
		if !ok {
			return 0, errUnsolved
		}
		return -float64(out) + 1e-9, nil
	}
	if b, err := balance(0); err != nil || b >= 0 {
		return 0, false
	}
	x, ok, err := dc.Least(0, float64(top), balance)
	if err != nil || !ok {
		return 0, false
	}
	step := float64(top) / 1000
	x, ok, err = dc.Least(max(0, x-1.5*step), x, balance)
	if err == nil && ok {
		x, ok, err = dc.Least(max(0, x-step/500), x, balance)
	}
	return unit.RPM(x), ok && err == nil
}

var errUnsolved = errors.New("the condition has no solution")

// topSpeed is the engine speed at which the last alternator reaches the end of
// its curve, 0 without one.
func (s *Survey) topSpeed(c *schema.Condition) unit.RPM {
	top := 0.0
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Type != trace.Feed || e.Medium != schema.DC || e.Branch.Feed.Needs != "engine" {
			continue
		}
		off := false
		for _, p := range c.Off {
			off = off || p == e.Part
		}
		f := e.Branch.Feed
		if n := len(f.BySpeed); n > 0 && !off && f.Ratio.Or(2) > 0 {
			top = max(top, f.BySpeed[n-1].X/f.Ratio.Or(2))
		}
	}
	return unit.RPM(top)
}

// DayLedger is what the file's day does to one battery.
type DayLedger struct {
	Part *schema.Part
	dc.Ledger
}

// Day follows the batteries through the file's day. missing names the data
// without which there is no answer; both are nil where the file has no day.
func (s *Survey) Day() (list []DayLedger, missing []Gap, trouble *Trouble) {
	if len(s.Boat.Day) == 0 {
		return nil, nil, nil
	}
	parts := s.Batteries()
	if len(parts) == 0 {
		return nil, nil, nil
	}
	banks, start := make([]dc.Bank, len(parts)), make([]unit.Ratio, len(parts))
	first := s.Boat.Day[0].Condition
	for k, p := range parts {
		bank, lack := s.Store(p)
		if lack != "" {
			missing = append(missing, Gap{What: lack, At: p.At, IDs: []string{p.ID}})
		}
		banks[k], start[k] = bank, s.ChargeOf(first, p)
	}
	if len(missing) > 0 {
		return nil, missing, nil
	}
	var plan []dc.Stretch
	var order []*schema.Condition
	hours := map[*schema.Condition]unit.Hour{}
	for _, step := range s.Boat.Day {
		if _, ok := hours[step.Condition]; !ok {
			order = append(order, step.Condition)
		}
		hours[step.Condition] += step.Hours
	}
	number := map[*schema.Condition]int{}
	for k, c := range order {
		number[c] = k
	}
	for _, step := range s.Boat.Day {
		plan = append(plan, dc.Stretch{Condition: number[step.Condition], Hours: step.Hours})
	}
	books, err := dc.Day(banks, start, plan, func(k int, charge []unit.Ratio) ([]unit.Amp, error) {
		c := order[k]
		d := s.dayState(c, hours[c], parts, charge)
		if !d.Solved() {
			missing, trouble = d.Missing, d.Trouble
			return nil, errUnsolved
		}
		amps := make([]unit.Amp, len(parts))
		for i, p := range parts {
			amps[i], _ = d.BatteryAmps(p)
		}
		return amps, nil
	})
	if err != nil {
		return nil, missing, trouble
	}
	for k, p := range parts {
		list = append(list, DayLedger{p, books[k]})
	}
	return list, nil, nil
}

// dayState is a condition at given states of charge, its sun spread over the
// hours it has in the day.
func (s *Survey) dayState(c *schema.Condition, hours unit.Hour, parts []*schema.Part, charge []unit.Ratio) *DCState {
	o := dcOptions{mean: true, noCrank: true, charge: map[*schema.Part]unit.Ratio{}}
	for i, p := range parts {
		o.charge[p] = charge[i]
	}
	if c.Sun.Given() && c.Sun.V > 0 && hours > c.Sun.V {
		share := float64(c.Sun.V / hours)
		o.sun = &share
	}
	return s.solveDC(c, o)
}

// RechargeTime is how long a condition needs to bring a battery from the end of
// its usable share to full; ok is false where it does not charge it or a datum is
// missing.
func (s *Survey) RechargeTime(c *schema.Condition, p *schema.Part) (unit.Hour, bool) {
	bank, missing := s.Store(p)
	if missing != "" {
		return 0, false
	}
	h, err := dc.Recharge(bank, 1-bank.Usable, 1, func(charge unit.Ratio) (unit.Amp, error) {
		d := s.solveDC(c, dcOptions{mean: true, noCrank: true, charge: map[*schema.Part]unit.Ratio{p: charge}})
		a, ok := d.BatteryAmps(p)
		if !ok {
			return 0, errUnsolved
		}
		return -a, nil
	})
	return h, err == nil && !math.IsInf(float64(h), 1) && h > 0
}
