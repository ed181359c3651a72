package dc

import (
	"math"

	"fitout/schema/unit"
)

// Stretch is a part of a day in one condition.
type Stretch struct {
	Condition int // the caller's number of it
	Hours     unit.Hour
}

// Currents gives the mean current of each bank, positive when it discharges,
// in a condition at given states of charge. It is the network's solution, or
// an error that ends the day.
type Currents func(condition int, charge []unit.Ratio) ([]unit.Amp, error)

// Ledger is what a day does to one bank.
type Ledger struct {
	Used    unit.AmpHour // drawn
	Charged unit.AmpHour // stored: what went in, times the charge efficiency
	End     unit.Ratio   // state of charge at the end
	Least   unit.Ratio   // lowest state of charge
	Empty   unit.Hour    // when its usable share was first spent; infinite if never
}

// Net is what the day adds.
func (l Ledger) Net() unit.AmpHour { return l.Charged - l.Used }

// finest and coarsest bound a step of the day; in between a step may change no
// bank by more than a hundredth.
const (
	finest    = 1.0 / 3600
	coarsest  = 0.5
	perStep   = 0.01
	fullCount = 1e-9
)

// Day follows the banks through a sequence of conditions. In each step the
// currents hold; a step ends where a condition does, where a bank is full or
// spent, or where one has changed by a hundredth. A bank drawn beyond its
// usable share goes on to zero and stays there: that it fails is for the
// caller to say, from Empty and Least.
func Day(banks []Bank, start []unit.Ratio, plan []Stretch, currents Currents) ([]Ledger, error) {
	d := day{banks: banks, charge: append([]unit.Ratio(nil), start...), books: make([]Ledger, len(banks))}
	for k := range d.books {
		d.books[k].Least = start[k]
		d.books[k].Empty = unit.Hour(math.Inf(1))
		d.note(k)
	}
	for _, s := range plan {
		for left := float64(s.Hours); left > 1e-12; {
			flow, err := currents(s.Condition, d.charge)
			if err != nil {
				return nil, err
			}
			h := d.stride(flow, left)
			d.step(flow, h)
			left -= h
		}
	}
	for k := range d.books {
		d.books[k].End = d.charge[k]
	}
	return d.books, nil
}

type day struct {
	banks  []Bank
	charge []unit.Ratio
	books  []Ledger
	now    float64
}

// stride chooses the hours of the next step.
func (d *day) stride(flow []unit.Amp, left float64) float64 {
	h := math.Min(left, coarsest)
	for k, b := range d.banks {
		rate := b.Drawn(b.accept(flow[k], d.charge[k]))
		if rate == 0 {
			continue
		}
		h = math.Min(h, math.Max(perStep/math.Abs(rate), finest))
		for _, mark := range [...]unit.Ratio{0, b.floor(), 1} {
			if to := float64(mark-d.charge[k]) / rate; to > 1e-9 {
				h = math.Min(h, to)
			}
		}
	}
	return h
}

func (d *day) step(flow []unit.Amp, h float64) {
	d.now += h
	for k, b := range d.banks {
		i := b.accept(flow[k], d.charge[k])
		book := &d.books[k]
		if i > 0 {
			book.Used += unit.AmpHour(float64(i) * h)
		} else {
			book.Charged -= unit.AmpHour(float64(i) * h * float64(b.Efficiency))
		}
		c := float64(d.charge[k]) + b.Drawn(i)*h
		if c > 1-fullCount {
			c = 1
		}
		d.charge[k] = unit.Ratio(math.Max(c, 0))
		d.note(k)
	}
}

// note keeps the lowest charge and the time the usable share was spent.
func (d *day) note(k int) {
	book := &d.books[k]
	book.Least = min(book.Least, d.charge[k])
	if d.charge[k] <= d.banks[k].floor()+fullCount && math.IsInf(float64(book.Empty), 1) {
		book.Empty = unit.Hour(d.now)
	}
}

// Recharge is the time a bank needs from one state of charge to another, given
// the current on offer (positive into the bank) at each; infinite where the
// bank stops short of it.
func Recharge(b Bank, from, to unit.Ratio, offer func(charge unit.Ratio) (unit.Amp, error)) (unit.Hour, error) {
	const steps = 200
	hours := 0.0
	part := (to - from) / steps
	if part <= 0 {
		return 0, nil
	}
	for k := range steps {
		// The middle of the step stands for the whole of it.
		charge := from + part*(unit.Ratio(k)+0.5)
		i, err := offer(charge)
		if err != nil {
			return 0, err
		}
		i = -b.accept(-i, charge)
		if i <= 0 {
			return unit.Hour(math.Inf(1)), nil
		}
		hours += float64(part) / b.Drawn(-i)
	}
	return unit.Hour(hours), nil
}
