package report

import (
	"math"
	"strconv"

	"fitout/schema"
	"fitout/validate/survey"
	"fitout/validate/water"
)

// WaterSolution is the water of one condition in the form solve prints: SI, with
// flows in L/min. A value that is not known is null.
type WaterSolution struct {
	Terminals []WaterTerminal  `json:"terminals"`
	Hoses     []HoseSolution   `json:"hoses"`
	Pumps     []PumpSolution   `json:"pumps"`
	Equipment []EquipmentWater `json:"equipment"`
	// Failed says where no solution was found.
	Failed []string `json:"-"`
}

// WaterTerminal is the head at a water terminal: head above the static
// waterline, pressure = head − height − v²/2g.
type WaterTerminal struct {
	At       string   `json:"at"`
	Head     *float64 `json:"head_m"`
	Pressure *float64 `json:"pressure_m"`
}

// HoseSolution is what runs in a hose, along it as written.
type HoseSolution struct {
	ID            string   `json:"id"`
	Flow          *float64 `json:"l_min"`
	Velocity      *float64 `json:"m_s"`
	HeadLoss      *float64 `json:"head_loss_m"`
	Crest         *float64 `json:"crest_m"`
	CrestPressure *float64 `json:"crest_pressure_m"`
}

// PumpSolution is what a running pump does: runs, cannot-lift, off-curve, dry.
type PumpSolution struct {
	Part  string   `json:"part"`
	Flow  *float64 `json:"l_min"`
	Head  *float64 `json:"head_m"`
	State string   `json:"state"`
}

// EquipmentWater is the water through equipment that needs it.
type EquipmentWater struct {
	Part  string   `json:"part"`
	Flow  *float64 `json:"l_min"`
	Needs *float64 `json:"needs_l_min"`
	Rise  *float64 `json:"rise_k"`
}

// SolveWater returns the water of a condition.
func SolveWater(s *survey.Survey, c *schema.Condition) WaterSolution {
	w := s.Water(c)
	out := WaterSolution{Terminals: []WaterTerminal{}, Hoses: []HoseSolution{}, Pumps: []PumpSolution{}, Equipment: []EquipmentWater{}}
	for _, k := range w.Circuits {
		if k.Failed != nil {
			out.Failed = append(out.Failed, k.Failed.Error())
		}
	}
	for _, h := range s.Boat.Hoses {
		if !h.Prepared && !h.Implied {
			out.Hoses = append(out.Hoses, hoseSolution(w, h))
		}
	}
	for _, p := range s.Boat.Parts {
		if p.Prepared {
			continue
		}
		for _, t := range p.Terminals() {
			if h, ok := w.HeadAt(p, t.Name); ok && t.Medium == schema.Water {
				out.Terminals = append(out.Terminals, waterTerminal(p, t.Name, h))
			}
		}
		if f, ok := w.Pump(p); ok && p.Is(schema.Mover) {
			out.Pumps = append(out.Pumps, pumpSolution(f))
		}
	}
	for _, p := range s.SeaUsers() {
		out.Equipment = append(out.Equipment, equipmentWater(w, p))
	}
	return out
}

func waterTerminal(p *schema.Part, name string, h survey.HeadAt) WaterTerminal {
	t := WaterTerminal{At: schema.End{Part: p, Terminal: name}.String(), Head: digits(float64(h.Head))}
	if h.HasPressure {
		t.Pressure = digits(float64(h.Pressure))
	}
	return t
}

func hoseSolution(w *survey.WaterState, h *schema.Hose) HoseSolution {
	out := HoseSolution{ID: h.ID}
	k := w.OfHose(h)
	if k == nil { // nothing moves there
		out.Flow, out.Velocity, out.HeadLoss = digits(0), digits(0), digits(0)
		return out
	}
	f, ok := w.Hose(h)
	if !ok || offCurve(k) {
		return out
	}
	out.Flow = digits(float64(f.Flow))
	if h.Bore.Given() {
		out.Velocity = digits(float64(f.Velocity))
	}
	if f.Heads {
		out.HeadLoss = digits(float64(f.Loss))
	}
	if f.HasCrest {
		out.Crest, out.CrestPressure = digits(float64(f.Crest)), digits(float64(f.CrestPressure))
	}
	return out
}

// offCurve reports a circuit whose figures rest on a curve past its end.
func offCurve(k *survey.WaterCircuit) bool {
	for _, p := range k.Pumps {
		if f, ok := k.Worst.Pump(p); ok && f.State == water.OffCurve {
			return true
		}
	}
	return false
}

func pumpSolution(f survey.PumpFlow) PumpSolution {
	out := PumpSolution{Part: f.Pump.ID, State: string(f.State)}
	if f.State != water.Runs {
		return out
	}
	out.Flow = digits(float64(f.Flow))
	if f.Heads {
		out.Head = digits(float64(f.Head))
	}
	return out
}

func equipmentWater(w *survey.WaterState, p *schema.Part) EquipmentWater {
	out := EquipmentWater{Part: p.ID}
	e, ok := w.Equipment(p)
	if !ok {
		return out
	}
	if e.HasNeeds {
		out.Needs = digits(float64(e.Needs))
	}
	if e.OffCurve {
		return out
	}
	out.Flow = digits(float64(e.Flow))
	if e.HasHeat && e.Flow > 0 {
		out.Rise = digits(float64(e.Rise))
	}
	return out
}

// digits rounds to nine significant digits, so that the last bits of a float do
// not differ from one processor to the next.
func digits(v float64) *float64 {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		v = 0
		return &v
	}
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 9, 64), 64)
	if err != nil {
		return &v
	}
	return &r
}
