package dc

import (
	"math"

	"fitout/schema/unit"
)

// Clears is one point of a device's published time–current curve: the time in
// which it opens at a current.
type Clears struct {
	Amps    unit.Amp
	Seconds float64
}

// ClearingTime reads a time–current curve at a current, straight between its
// points on logarithmic scales as such curves are printed. The points rise in
// current. Below the first the device is not known to open: the time is
// infinite. Above the last the last time stands, though the device will be
// quicker.
func ClearingTime(curve []Clears, i unit.Amp) float64 {
	if len(curve) == 0 || !(i >= curve[0].Amps) {
		return math.Inf(1)
	}
	for k := 1; k < len(curve); k++ {
		a, b := curve[k-1], curve[k]
		if i < b.Amps {
			part := math.Log(float64(i/a.Amps)) / math.Log(float64(b.Amps/a.Amps))
			return math.Exp(math.Log(a.Seconds) + part*math.Log(b.Seconds/a.Seconds))
		}
	}
	return curve[len(curve)-1].Seconds
}

// Withstands is the time a conductor bears a short-circuit current before its
// insulation passes its short-time temperature, no heat leaving it: t = (k S / I)²
// with k in A·√s/mm² (IEC 60364-4-43; from memory). The formula holds up to
// five seconds; beyond it errs to the safe side.
func Withstands(k float64, size unit.SquareMM, i unit.Amp) float64 {
	q := k * float64(size) / float64(i)
	return q * q
}

// WithstandCurrent is the short-circuit current a conductor bears for a time.
func WithstandCurrent(k float64, size unit.SquareMM, seconds float64) unit.Amp {
	return unit.Amp(k * float64(size) / math.Sqrt(seconds))
}
