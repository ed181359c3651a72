package dc_test

import (
	"errors"
	"math"
	"testing"

	"fitout/schema/unit"
	"fitout/validate/dc"
)

// checks.md C7: t = H (C/(I H))^k, at or below the rated current C/I.
func TestPeukertFromARating(t *testing.T) {
	b := dc.Bank{Capacity: 100, Peukert: 1.2, Usable: 1}
	for _, w := range []struct{ i, h float64 }{{2, 50}, {5, 20}, {10, 8.705505633}, {20, 3.789291416}, {50, 1.261914689}} {
		near(t, "hours", b.Hours(unit.Amp(w.i)), w.h, 1e-9)
	}
	if h := b.Hours(0); !math.IsInf(float64(h), 1) {
		t.Errorf("no current: %g h", h)
	}
}

// checks.md P-E16, third case, with the 20 h rating: 8.71 h, not 6.31 h; P-E15:
// 70 Ah at 3.5 A gives 20 h ([L] ch. 11); P-E14: 1 Ah at 1.58 V and 1 W gives
// 1.58 h ([O] 20.4), a load above the 20 h rate but without Peukert's law.
func TestPublishedRunTimes(t *testing.T) {
	near(t, "P-E15", dc.Bank{Capacity: 70, Peukert: 1, Usable: 1}.RunTime(3.5, 1), 20, 1e-12)
	near(t, "P-E14", dc.Bank{Capacity: 1, Peukert: 1, Usable: 1}.RunTime(1/1.58, 1), 1.58, 1e-12)
	near(t, "P-E16", dc.Bank{Capacity: 100, Peukert: 1.2, Usable: 1}.RunTime(10, 1), 8.71, 1e-3)
	// Bare form t = C₁/I^k of P-E16 by the same law with the capacity at 1 A.
	for _, w := range []struct{ c1, i, k, h float64 }{{250, 20, 1.3, 5.088631644}, {100, 5, 1.2, 14.49559}, {100, 10, 1.2, 6.309573}} {
		b := dc.Bank{Capacity: unit.AmpHour(20 * math.Pow(w.c1/20, 1/w.k)), Peukert: w.k, Usable: 1}
		near(t, "P-E16 bare", b.RunTime(unit.Amp(w.i), 1), w.h, 1e-6)
	}
}

// checks.md C8: 2 h at 20 A use 0.527803, then 4.110713 h at 10 A.
func TestMixedDischarge(t *testing.T) {
	b := dc.Bank{Capacity: 100, Peukert: 1.2, Usable: 1}
	books, err := dc.Day([]dc.Bank{b}, []unit.Ratio{1}, []dc.Stretch{{0, 2}, {1, 10}},
		func(condition int, _ []unit.Ratio) ([]unit.Amp, error) {
			return []unit.Amp{[]unit.Amp{20, 10}[condition]}, nil
		})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "empty at", books[0].Empty, 2+4.110713, 1e-6)
	near(t, "left", books[0].Least+1, 1, 1e-9)
	near(t, "first part", 1-2/b.Hours(20), 1-0.527803, 1e-6)
	near(t, "run time from there", b.RunTime(10, unit.Ratio(1-2/b.Hours(20))), 4.110713, 1e-6)
}

// language.md: hours are the usable share left times T(I). 250 Ah, 90 % usable,
// half charged: (0.9 − 0.5) × 250/28 with k = 1.
func TestUsableShare(t *testing.T) {
	b := dc.Bank{Capacity: 250, Peukert: 1, Usable: 0.9}
	near(t, "from full", b.RunTime(28, 1), 0.9*250/28, 1e-12)
	near(t, "from half", b.RunTime(28, 0.5), 0.4*250/28, 1e-12)
	if h := b.RunTime(28, 0.05); h != 0 {
		t.Errorf("below the usable share: %g h", h)
	}
}

// checks.md C12: a day in ampere-hours. The 20 h rate of a bank of 200 Ah is
// 10 A; Peukert's law is left out (k = 1) as the example does.
func TestDayInAmpereHours(t *testing.T) {
	b := dc.Bank{Capacity: 200, Peukert: 1, Usable: 0.5, Efficiency: 0.88}
	// Loads run apart from sources, so that charge efficiency meets all of the
	// charge, as in the example.
	draw := []struct{ amps, hours float64 }{{5 * 0.45, 24}, {3.2, 5}, {6.5 * 0.6, 8}, {1.4, 24}, {8, 0.25}, {-9, 4.5}, {-45, 1.2}}
	var plan []dc.Stretch
	for k, d := range draw {
		plan = append(plan, dc.Stretch{Condition: k, Hours: unit.Hour(d.hours)})
	}
	books, err := dc.Day([]dc.Bank{b}, []unit.Ratio{0.9}, plan, func(k int, _ []unit.Ratio) ([]unit.Amp, error) {
		return []unit.Amp{unit.Amp(draw[k].amps)}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	l := books[0]
	near(t, "out", l.Used, 136.8, 1e-9)
	near(t, "stored", l.Charged, 83.16, 1e-9)
	near(t, "net", l.Net(), -53.64, 1e-9)
	near(t, "end", l.End, 0.9-53.64/200, 1e-9)
	near(t, "least", l.Least, 0.9-136.8/200, 1e-9)
	// Half of 200 Ah over 53.64 Ah a day.
	near(t, "days", 0.5*200/-l.Net(), 1.864280, 1e-6)
}

// A full bank takes no more; a bank at the end of its charge stays there.
func TestDayEndsAtFullAndAtNothing(t *testing.T) {
	b := dc.Bank{Capacity: 100, Peukert: 1.1, Usable: 0.5, Efficiency: 0.9, Acceptance: dc.LithiumAcceptance(40)}
	flow := []unit.Amp{-60, 30}
	books, err := dc.Day([]dc.Bank{b}, []unit.Ratio{0.6}, []dc.Stretch{{0, 4}, {1, 10}},
		func(k int, _ []unit.Ratio) ([]unit.Amp, error) { return flow[k : k+1], nil })
	if err != nil {
		t.Fatal(err)
	}
	l := books[0]
	near(t, "charged to full", l.Charged, 40, 1e-9) // two fifths of 100 Ah, at the accepted 40 A
	near(t, "spent after", l.Empty, 4+0.5*20*math.Pow(100/(30*20.0), 1.1), 1e-9)
	if l.End != 0 || l.Least != 0 {
		t.Errorf("end %g, least %g, want 0", l.End, l.Least)
	}
}

// The exponential taper integrates in closed form: bulk (0.8 − c₀) C/(η I₀),
// then ∫ C/(η I₀) (I₀/I₁)^x dx × 0.2 = 0.2 C/(η I₀) (q − 1)/ln q, q = I₀/I₁.
func TestRechargeOfALeadBank(t *testing.T) {
	const c, most, eta = 200.0, 40.0, 0.85
	b := dc.Bank{Capacity: c, Peukert: 1.2, Usable: 0.5, Efficiency: eta, Acceptance: dc.LeadAcceptance(c, most)}
	q := most / 2
	want := 0.3*c/(eta*most) + 0.2*c/(eta*most)*(q-1)/math.Log(q)
	h, err := dc.Recharge(b, 0.5, 1, func(unit.Ratio) (unit.Amp, error) { return 1000, nil })
	if err != nil {
		t.Fatal(err)
	}
	near(t, "hours", h, want, 1e-3)
	// P-E15: 70 Ah at 7 A takes 10 h ([L] ch. 11, no losses).
	h, _ = dc.Recharge(dc.Bank{Capacity: 70, Efficiency: 1}, 0, 1, func(unit.Ratio) (unit.Amp, error) { return 7, nil })
	near(t, "P-E15", h, 10, 1e-9)
	h, _ = dc.Recharge(b, 0.5, 1, func(c unit.Ratio) (unit.Amp, error) { return unit.Amp(10 * (0.9 - c)), nil })
	if !math.IsInf(float64(h), 1) {
		t.Errorf("an offer that ends at 90 %%: %g h, want never", h)
	}
	want2 := errors.New("no solution")
	if _, err = dc.Recharge(b, 0.5, 1, func(unit.Ratio) (unit.Amp, error) { return 0, want2 }); err != want2 {
		t.Errorf("error lost: %v", err)
	}
}

func TestLeast(t *testing.T) {
	balance := func(x float64) (float64, error) { return x*x - 2, nil }
	x, ok, err := dc.Least(0, 10, balance)
	if !ok || err != nil || x < math.Sqrt2 || x > math.Sqrt2+0.01 {
		t.Errorf("%g %v %v", x, ok, err)
	}
	if _, ok, _ = dc.Least(0, 1, balance); ok {
		t.Error("found what is out of range")
	}
	if x, ok, _ = dc.Least(3, 10, balance); !ok || x != 3 {
		t.Errorf("holds from the start: %g %v", x, ok)
	}
}

// Points of the ISO 8820-3 blade family, upper limits (from memory): 135 %
// 600 s, 200 % 5 s, 350 % 0.5 s, 600 % 0.1 s, for a 30 A fuse. Midway between
// two points on the logarithm of current lies their geometric mean.
func TestClearingTime(t *testing.T) {
	curve := []dc.Clears{{Amps: 40.5, Seconds: 600}, {Amps: 60, Seconds: 5}, {Amps: 105, Seconds: 0.5}, {Amps: 180, Seconds: 0.1}}
	for _, p := range curve {
		near(t, "at a point", dc.ClearingTime(curve, p.Amps), p.Seconds, 1e-12)
	}
	near(t, "between", dc.ClearingTime(curve, unit.Amp(math.Sqrt(60*105))), math.Sqrt(5*0.5), 1e-12)
	near(t, "beyond", dc.ClearingTime(curve, 5000), 0.1, 1e-12)
	for _, i := range []unit.Amp{0, 40.4, unit.Amp(math.NaN())} {
		if s := dc.ClearingTime(curve, i); !math.IsInf(s, 1) {
			t.Errorf("%g A: %g s, want never", i, s)
		}
	}
	if s := dc.ClearingTime(nil, 100); !math.IsInf(s, 1) {
		t.Errorf("no curve: %g s", s)
	}
}

// IEC 60364-4-43, copper and PVC: k = 115 A√s/mm² (from memory). 10 mm² bears
// 1150 A for one second.
func TestAdiabaticLimit(t *testing.T) {
	near(t, "time", dc.Withstands(115, 10, 1150), 1, 1e-12)
	near(t, "time at twice the current", dc.Withstands(115, 10, 2300), 0.25, 1e-12)
	near(t, "current", dc.WithstandCurrent(115, 10, 0.25), 2300, 1e-12)
}
