package dc

import (
	"math"

	"fitout/schema/unit"
)

// Bank is what run time and charge need to know of a battery or of batteries
// used as one.
type Bank struct {
	Capacity   unit.AmpHour // at the 20-hour rate
	Peukert    float64      // exponent; below 1 counts as 1
	Usable     unit.Ratio   // share of the capacity that may be drawn
	Efficiency unit.Ratio   // charge out over charge in
	// Acceptance is the most the bank takes on charge at a state of charge; nil
	// for no limit. LeadAcceptance and LithiumAcceptance make the usual ones.
	Acceptance func(charge unit.Ratio) unit.Amp
}

// ratedHours is the rate the capacity is stated at.
const ratedHours = 20

// Hours is the time from full to empty at a constant current: Peukert's law in
// the rated-hour form, T = H (C / (I H))^k with H = 20 h. At or below the
// rated current C/H it is C/I: the law would promise more than the capacity.
// Infinite where nothing is drawn.
func (b Bank) Hours(i unit.Amp) unit.Hour {
	if i <= 0 {
		return unit.Hour(math.Inf(1))
	}
	rate := float64(b.Capacity) / (float64(i) * ratedHours)
	if rate >= 1 {
		return unit.Hour(ratedHours * rate)
	}
	return unit.Hour(ratedHours * math.Pow(rate, max(b.Peukert, 1)))
}

// Left is the usable share of the capacity that remains at a state of charge,
// never under zero.
func (b Bank) Left(charge unit.Ratio) unit.Ratio {
	return max(0, charge-b.floor())
}

// floor is the state of charge at which the bank counts as empty.
func (b Bank) floor() unit.Ratio { return 1 - b.Usable }

// RunTime is the time a bank gives a current from a state of charge until its
// usable share is spent.
func (b Bank) RunTime(i unit.Amp, charge unit.Ratio) unit.Hour {
	left := float64(b.Left(charge))
	if left == 0 && i > 0 {
		return 0
	}
	return unit.Hour(left) * b.Hours(i)
}

// Drawn is the change of the state of charge, per hour, at a current: out at
// the fraction rule (time over the run time at that current), in at the charge
// efficiency.
func (b Bank) Drawn(i unit.Amp) float64 {
	if i > 0 {
		return -1 / float64(b.Hours(i))
	}
	return -float64(i) * float64(b.Efficiency) / float64(b.Capacity)
}

// LeadAcceptance gives a lead battery's acceptance: most up to a state of
// charge of 80 %, from there falling exponentially to a hundredth of the
// capacity in amperes at full charge. The shape of a constant-voltage taper is
// common practice, no source; it decides how long the last fifth takes, not
// whether there is enough.
func LeadAcceptance(capacity unit.AmpHour, most unit.Amp) func(unit.Ratio) unit.Amp {
	const bend = 0.8
	tail := min(float64(capacity)/100, float64(most))
	return func(charge unit.Ratio) unit.Amp {
		switch {
		case charge >= 1 || most <= 0:
			return 0
		case charge <= bend:
			return most
		}
		part := (float64(charge) - bend) / (1 - bend)
		return unit.Amp(float64(most) * math.Pow(tail/float64(most), part))
	}
}

// LithiumAcceptance gives a lithium battery's acceptance: its limit until it
// is full, then nothing.
func LithiumAcceptance(most unit.Amp) func(unit.Ratio) unit.Amp {
	return func(charge unit.Ratio) unit.Amp {
		if charge >= 1 {
			return 0
		}
		return most
	}
}

// accept limits a current (positive out of the bank) to what it takes on charge.
func (b Bank) accept(i unit.Amp, charge unit.Ratio) unit.Amp {
	if i >= 0 {
		return i
	}
	if charge >= 1 {
		return 0
	}
	if b.Acceptance == nil {
		return i
	}
	return max(i, -b.Acceptance(charge))
}

// Least finds the smallest value in [low, high] at which balance is not
// negative, for a balance that rises with the value (the current left over at
// an engine speed), to within 1/1000 of the range. False where even high does
// not reach it.
func Least(low, high float64, balance func(float64) (float64, error)) (float64, bool, error) {
	top, err := balance(high)
	if err != nil || top < 0 {
		return 0, false, err
	}
	if bottom, err := balance(low); err != nil || bottom >= 0 {
		return low, err == nil, err
	}
	for within := (high - low) / 1000; high-low > within; {
		mid := (low + high) / 2
		b, err := balance(mid)
		if err != nil {
			return 0, false, err
		}
		if b >= 0 {
			high = mid
		} else {
			low = mid
		}
	}
	return high, true, nil
}
