package dc_test

import (
	"testing"

	"fitout/schema/unit"
	"fitout/validate/dc"
)

// ldc10 builds the invented 10-node circuit of checks.md (L-DC10), whose
// figures come from ngspice and a separate dense solver.
func ldc10() (*circuit, map[string]dc.ID) {
	c := &circuit{}
	c.Ground(c.at("NEG"))
	id := map[string]dc.ID{
		"B1":  c.emf("B1P", "NEG", 12.8, 0.004),
		"B2":  c.emf("B2P", "NEG", 12.55, 0.007),
		"F1":  c.wire("B1P", "F1O", 0.00025),
		"W1":  c.wire("F1O", "POS", 0.000602735508),
		"W2":  c.wire("B2P", "POS", 0.000753419385),
		"CB1": c.wire("POS", "CB1O", 0.002),
		"W3P": c.wire("CB1O", "L1P", 0.011647071345),
		"W3N": c.wire("L1N", "NEG", 0.011647071345),
		"L1":  c.watts("L1P", "L1N", 300),
		"CB2": c.wire("POS", "CB2O", 0.006),
		"W4P": c.wire("CB2O", "L2P", 0.05733942816),
		"L2":  c.ohms("L2P", "NEG", 3.2),
		"L3":  c.amps("POS", "NEG", 4.5),
	}
	return c, id
}

func TestTenNodeCircuit(t *testing.T) {
	c, id := ldc10()
	s := c.solve(t)
	for _, v := range []struct {
		node string
		want float64
	}{{"B1P", 12.63844188}, {"B2P", 12.59875295}, {"F1O", 12.6283445}, {"POS", 12.6040003}, {"CB1O", 12.55387526},
		{"L1P", 12.2619703}, {"L1N", 0.2919049564}, {"CB2O", 12.58082649}, {"L2P", 12.35936434}} {
		near(t, v.node, c.volts(t, s, v.node, "NEG"), v.want, 1e-9)
	}
	for _, i := range []struct {
		element string
		want    float64
	}{{"B1", 40.38952883}, {"B2", -6.964707651}, {"F1", 40.38952883}, {"W1", 40.38952883}, {"W2", -6.964707651},
		{"CB1", 25.06251982}, {"W3P", 25.06251982}, {"W3N", 25.06251982}, {"L1", 25.06251982},
		{"CB2", 3.862301356}, {"W4P", 3.862301356}, {"L2", 3.862301356}, {"L3", 4.5}} {
		near(t, i.element, s.Amps[id[i.element]], i.want, 1e-9)
	}
}

func TestTenNodeFaults(t *testing.T) {
	c, id := ldc10()
	f, err := dc.NewFaults(&c.Network)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []struct {
		device          string
		total, from, to float64
	}{{"F1", 4701.886952, 3200, 1501.886952}, {"CB1", 4256.32822, 4256.32822, 0}, {"CB2", 4256.32822, 4256.32822, 0}} {
		s, err := f.Device(id[w.device], c.at("NEG"))
		if err != nil {
			t.Fatal(err)
		}
		near(t, w.device+" total", s.Total, w.total, 1e-9)
		near(t, w.device+" from", s.FromSide, w.from, 1e-9)
		near(t, w.device+" to", s.ToSide, w.to, 1e-8)
		near(t, w.device+" duty", s.Duty(), w.from, 1e-9)
		near(t, w.device+" shares", sum(s.Shares), w.total, 1e-9)
	}
	// The first device's two sides are the two batteries.
	s, err := f.Device(id["F1"], c.at("NEG"))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "share of B1", s.Shares[0].Amps, 3200, 1e-9)
	near(t, "share of B2", s.Shares[1].Amps, 1501.886952, 1e-9)
}

func sum(shares []dc.Share) (total unit.Amp) {
	for _, s := range shares {
		total += s.Amps
	}
	return total
}

// checks.md C4: n E / r.
func TestParallelBankFault(t *testing.T) {
	for _, link := range []float64{0, 1e-10} { // a joint either way
		var c circuit
		for _, b := range []string{"a", "b", "c"} {
			c.emf(b, "-", 12.8, 0.005)
			c.wire(b, "bus", link)
		}
		s, err := dc.Fault(&c.Network, c.at("bus"), c.at("-"))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "fault", s.Total, 7680, 1e-12)
		for _, sh := range s.Shares {
			near(t, "share", sh.Amps, 2560, 1e-12)
		}
	}
}

// checks.md C5: 12.8 V over 5 mΩ and 2 × 3.2326875 mΩ.
func TestFaultAtTheEndOfARun(t *testing.T) {
	var c circuit
	c.emf("+", "-", 12.8, 0.005)
	c.wire("+", "end", 0.003232687500)
	c.wire("end-", "-", 0.003232687500)
	s, err := dc.Fault(&c.Network, c.at("end"), c.at("end-"))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "fault", s.Total, 1116.405, 1e-6)
}

// electrical-worked-examples.csv W26 to W28: E/R at terminals, of one cell, of
// four cells with three links.
func TestPublishedShortCircuits(t *testing.T) {
	for _, w := range []struct{ e, r, want float64 }{{12, 0.005, 2400}, {3.5, 0.00075, 4667}} {
		var c circuit
		c.emf("+", "-", w.e, w.r)
		s, err := dc.Fault(&c.Network, c.at("+"), c.at("-"))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "fault", s.Total, w.want, 1/w.want)
	}
	var c circuit
	for k, ends := range [][2]string{{"1+", "-"}, {"2+", "2-"}, {"3+", "3-"}, {"+", "4-"}} {
		c.emf(ends[0], ends[1], 3.5, 0.00075)
		if k > 0 {
			c.wire([]string{"1+", "2+", "3+"}[k-1], ends[1], 0.00025)
		}
	}
	s, err := dc.Fault(&c.Network, c.at("+"), c.at("-"))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pack", s.Total, 3733, 1.0/3733)
	near(t, "each cell", s.Shares[0].Amps, 14/0.00375, 1e-9)
}

// short asks for a device fault with the negative as return.
func (c *circuit) short(t *testing.T, device dc.ID) dc.Short {
	t.Helper()
	f, err := dc.NewFaults(&c.Network)
	if err != nil {
		t.Fatal(err)
	}
	s, err := f.Device(device, c.at("-"))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// outputs.md: batteries in full, other sources at their limits.
func TestFaultWithBatteryAndAlternator(t *testing.T) {
	var c circuit
	b := c.emf("+", "-", 12.8, 0.004)
	fuse := c.wire("+", "bus", 0.0002)
	alt := c.source("bus", "-", dc.Output{V: 14.4, MaxI: 60})
	sun := c.source("bus", "-", dc.Output{V: 14, MaxP: 140})
	c.watts("bus", "-", 300)
	s := c.short(t, fuse)
	near(t, "battery side", s.FromSide, 3200, 1e-12)
	near(t, "source side", s.ToSide, 70, 1e-9)
	near(t, "total", s.Total, 3270, 1e-12)
	if len(s.LimitedBy) != 0 || len(s.Shares) != 3 {
		t.Fatalf("%+v", s)
	}
	for k, want := range []dc.Share{{b, 3200}, {alt, 60}, {sun, 10}} {
		if s.Shares[k].Element != want.Element {
			t.Errorf("share %d of element %d", k, s.Shares[k].Element)
		}
		near(t, "share", s.Shares[k].Amps, float64(want.Amps), 1e-9)
	}
}

// outputs.md: fed by limited sources only, their sum, with their names.
func TestFaultByLimitedSourcesOnly(t *testing.T) {
	for _, r := range []float64{0, 0.002} {
		var c circuit
		c.emf("b+", "b-", 25.6, 0.004) // the other side of the converter does not count
		conv := c.converter("b+", "b-", "12", "-", dc.Output{V: 13.2, MaxI: 30}, 0.9, 2, true)
		fuse := c.wire("12", "bus", r)
		ch := c.source("bus", "-", dc.Output{V: 14.4, MaxI: 25})
		c.ohms("bus", "-", 5)
		s := c.short(t, fuse)
		near(t, "total", s.Total, 55, 1e-12)
		near(t, "converter side", s.FromSide, 30, 1e-12)
		near(t, "charger side", s.ToSide, 25, 1e-12)
		if len(s.LimitedBy) != 2 || s.LimitedBy[0] != conv || s.LimitedBy[1] != ch {
			t.Errorf("limited by %v", s.LimitedBy)
		}
		at, err := dc.Fault(&c.Network, c.at("bus"), c.at("-"))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "at the bus", at.Total, 55, 1e-12)
	}
}

func TestFaultWithoutSource(t *testing.T) {
	var c circuit
	c.emf("+", "-", 12.8, 0.004)
	lone := c.wire("x", "y", 0.01)
	if s := c.short(t, lone); s.Total != 0 || len(s.Shares) != 0 {
		t.Errorf("%+v", s)
	}
	ret := c.wire("-", "n", 0.001)
	if s := c.short(t, ret); s.Total != 0 {
		t.Errorf("a short of the negative to itself: %+v", s)
	}
}

// A device without resistance splits its joint: same answer as a tiny one.
func TestFaultOfADeviceWithoutResistance(t *testing.T) {
	for _, r := range []float64{0, 2e-9, 1e-6} {
		var c circuit
		c.emf("a", "-", 12.8, 0.004)
		c.emf("b", "-", 12.6, 0.006)
		c.wire("a", "x", 0)
		dev := c.wire("x", "y", r)
		c.wire("y", "b", 0)
		s := c.short(t, dev)
		near(t, "from", s.FromSide, 3200, 1e-6)
		near(t, "to", s.ToSide, 2100, 1e-6)
		near(t, "total", s.Total, 5300, 1e-6)
	}
}

// An isolator keeps the banks out of a fault at the alternator, and passes the
// alternator's limit into a fault at a bank.
func TestFaultThroughAnIsolator(t *testing.T) {
	var c circuit
	alt := c.source("alt", "-", dc.Output{V: 14.6, MaxI: 50})
	c.diode("alt", "a", 0.7, 0.001)
	c.diode("alt", "b", 0.7, 0.001)
	c.emf("a", "-", 12.8, 0.01)
	c.emf("b", "-", 12.6, 0.01)
	s, err := dc.Fault(&c.Network, c.at("alt"), c.at("-"))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "at the alternator", s.Total, 50, 1e-9)
	if len(s.LimitedBy) != 1 || s.LimitedBy[0] != alt {
		t.Errorf("limited by %v", s.LimitedBy)
	}
	s, err = dc.Fault(&c.Network, c.at("a"), c.at("-"))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "at bank a", s.Total, 1280+50, 1e-9)
}

func TestFaultOfAnIdealBattery(t *testing.T) {
	var c circuit
	b := c.emf("+", "-", 12, 0)
	c.wire("+", "end", 0.01)
	s, err := dc.Fault(&c.Network, c.at("end"), c.at("-"))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "behind 10 mΩ", s.Total, 1200, 1e-12)
	if len(s.Shares) != 1 || s.Shares[0].Element != b {
		t.Fatalf("%+v", s)
	}
	near(t, "its share", s.Shares[0].Amps, 1200, 1e-12)
	if _, err := dc.Fault(&c.Network, c.at("+"), c.at("-")); err == nil || err.(*dc.Failure).Cause != dc.Conflict {
		t.Errorf("a short of a battery without resistance: %v", err)
	}
}

// What a source without limit feeds has no answer; the rest has.
func TestFaultOfASourceWithoutLimit(t *testing.T) {
	var c circuit
	c.emf("+", "-", 25.6, 0.01)
	conv := c.converter("+", "-", "12", "n12", dc.Output{V: 12}, 0.9, 0, true)
	way := c.wire("12", "way", 0.01)
	f, err := dc.NewFaults(&c.Network)
	if err != nil {
		t.Fatal(err)
	}
	s, err := f.At(c.at("+"), c.at("-"))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "at the battery", s.Total, 2560, 1e-12)
	_, err = f.Device(way, c.at("n12"))
	if fail, ok := err.(*dc.Failure); !ok || fail.Cause != dc.Invalid || fail.Element != conv {
		t.Errorf("at the converter: %v", err)
	}
}

func TestFaultQuestionsOutOfRange(t *testing.T) {
	c, id := ldc10()
	f, err := dc.NewFaults(&c.Network)
	if err != nil {
		t.Fatal(err)
	}
	for _, err := range []error{
		second(f.At(-1, 0)), second(f.At(0, 99)), second(f.Device(-1, 0)), second(f.Device(99, 0)),
		second(f.Device(id["L1"], 0)), second(f.Device(id["F1"], 99)),
	} {
		if fail, ok := err.(*dc.Failure); !ok || fail.Cause != dc.Invalid {
			t.Errorf("%v", err)
		}
	}
}

func second(_ dc.Short, err error) error { return err }
