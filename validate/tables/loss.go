package tables

import (
	"math"
	"strings"
	"sync"

	"fitout/schema/unit"
)

// Loss is a minor loss: a factor on the velocity head V²/2g.
type Loss struct {
	K    float64
	Cite Cite
}

// MinorLoss returns the loss factor of a fitting of a bore. The fixed factor of
// the EPANET manual is taken where it has one, else length over diameter times
// the fully turbulent friction factor (TP-410). ids are those of LossIDs.
func MinorLoss(id string, bore unit.Metre) (Loss, bool) {
	for _, r := range kValues() {
		if r["id"] != id {
			continue
		}
		if k, ok := r.num("k"); ok {
			cite := Cite{"EPANET 2.2 manual, minor losses", r.status()}
			if r.status() == Memory {
				cite.Source = "TP-410"
			}
			return Loss{k, cite}, true
		}
		return Loss{r.must("l_over_d") * TurbulentFactor(bore), Cite{"TP-410, length over diameter", r.status()}}, true
	}
	return Loss{}, false
}

// LossIDs lists the fittings MinorLoss knows.
func LossIDs() []string {
	var ids []string
	for _, r := range kValues() {
		ids = append(ids, r["id"])
	}
	return ids
}

var kValues = sync.OnceValue(func() []row { return rows("k_values") })

// Expansion returns the loss of a sudden widening on the velocity head of the
// small bore: (1 − β²)² (Borda–Carnot).
func Expansion(small, large unit.Metre) float64 {
	b := math.Min(1, float64(small)/float64(large))
	return (1 - b*b) * (1 - b*b)
}

// Contraction returns the loss of a sudden narrowing on the velocity head of the
// small bore: 0.5 (1 − β²) (TP-410).
func Contraction(large, small unit.Metre) float64 {
	b := math.Min(1, float64(small)/float64(large))
	return 0.5 * (1 - b*b)
}

// HoseTail returns the loss of a hose on a tail, on the hose's own velocity head:
// a contraction to the tail's bore and an expansion back. A tail whose bore is
// not known is taken one hose size smaller than the hose (derived).
func HoseTail(hose, tail unit.Metre) float64 {
	if tail <= 0 {
		tail = OneBoreSmaller(hose)
	}
	if tail >= hose {
		return 0
	}
	b := float64(tail) / float64(hose)
	return (Contraction(hose, tail) + Expansion(tail, hose)) / (b * b * b * b)
}

// StrainerLoss is the middle of what a clean basket strainer costs, 2 to 6; a
// fouled one doubles it.
func StrainerLoss() Loss { return Loss{4, Cite{"clean basket strainer", Memory}} }

// BendLoss returns the loss of a hose bend by its angle in degrees: about 0.25
// for 90° at a radius of four bores, in proportion for others.
func BendLoss(angle unit.Degree) Loss {
	return Loss{0.25 * float64(angle) / 90, Cite{"hose bend of four bores radius", Memory}}
}

// TurbulentFactor returns the fully turbulent friction factor of schedule 40 pipe
// by bore, by straight lines in the logarithm of the bore.
func TurbulentFactor(bore unit.Metre) float64 {
	return between(turbulent(), math.Log(float64(bore)*1e3))
}

var turbulent = sync.OnceValue(func() []point {
	var line []point
	for _, r := range rows("turbulent_factor") {
		line = append(line, point{math.Log(r.must("bore_mm")), r.must("ft")})
	}
	return line
})

// CorrugatedFactor is how many times the smooth friction factor a corrugated hose
// takes where no roughness is stated (language of the file; published practice is
// a flow loss of 20 to 30 %).
const CorrugatedFactor = 3

// Roughness returns the sand roughness of a wall by words found in a material or
// wall description. Words that say nothing are taken as smooth plastic. A
// corrugated wall is modelled by CorrugatedFactor; its row is the depth of common
// corrugations.
func Roughness(words string) (unit.Metre, Cite) {
	name := wallName(strings.ToLower(words))
	for _, r := range roughness() {
		if r["wall"] == name {
			return unit.Metre(r.must("mm") / 1000), Cite{"EPANET 2.2 manual and Moody values, " + name, r.status()}
		}
	}
	return 0, Cite{}
}

func wallName(words string) string {
	for _, pair := range [...][2]string{
		{"corrugated", "corrugated"}, {"ribbed", "ribbed"}, {"galvanised", "galvanised"}, {"galvanized", "galvanised"},
		{"cast iron", "cast-iron"}, {"copper", "drawn"}, {"brass", "drawn"}, {"bronze", "drawn"}, {"drawn", "drawn"},
		{"steel wire", "plastic"}, {"with wire", "plastic"}, {"steel", "steel"}, {"concrete", "concrete"},
	} {
		if strings.Contains(words, pair[0]) {
			return pair[1]
		}
	}
	return "plastic"
}

var roughness = sync.OnceValue(func() []row { return rows("roughness") })

// Orifice coefficients for water through a hole: Q = Cd A √(2 g h).
const (
	// OrificeSharp is a clean hole in thin plate.
	OrificeSharp = 0.61
	// OrificePlanning is a short tube, such as a hose tail or an open seacock: the
	// one to plan by.
	OrificePlanning = 0.8
	// OrificeIdeal is the upper bound.
	OrificeIdeal = 1.0
)

// OrificeThinPlate returns the coefficient of a round hole in thin plate by
// Unwin's fit to Mair: 0.6075 + 0.0098/√h − 0.0037 d, h in feet, d in inches.
func OrificeThinPlate(head unit.Head, diameter unit.Metre) float64 {
	feet := float64(head) / 0.3048
	return 0.6075 + 0.0098/math.Sqrt(feet) - 0.0037*float64(diameter)/inch
}

// OrificeCite is the source of the coefficients.
func OrificeCite() Cite {
	return Cite{"Encyclopaedia Britannica 11th edition, Hydraulics; short tube by Molesworth", Published}
}

// VelocityLimit returns the most the water in a hose should run, on the suction
// side and behind the pump.
func VelocityLimit(suction bool) (unit.MetrePerSecond, Cite) {
	if suction {
		return 1.5, Cite{"velocity in suction lines", Memory}
	}
	return 2.5, Cite{"velocity in discharge lines", Memory}
}

// NPSHMargin is how many times the needed net positive suction head must be at
// hand (TP-410 example 7.32).
const NPSHMargin = 1.3

// IntakeShare is the least area of a shared intake over the sum of its branches
// (Boat Mechanical Systems Handbook, ch. 17).
const IntakeShare = 1.1

// BilgeDerate is the share of a bilge pump's rated free flow to count on where no
// curve is given.
const BilgeDerate unit.Ratio = 0.5

// BilgeDerateCite is its source.
func BilgeDerateCite() Cite { return Cite{"published tests of installed bilge pumps", Published} }
