package survey

import (
	"math"
	"slices"
	"sort"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/water"
)

// HullInflow is what an opening in the hull lets in with its hose off, laden and
// upright, by both coefficients that the sources use.
type HullInflow struct {
	Part *schema.Part
	// Cock is the valve that stands first inboard, or nil.
	Cock  *schema.Part
	Bore  unit.Metre
	Depth unit.Metre // below the laden waterline; not above 0: it lets nothing in
	// Frictionless is the ideal jet, ShortTube what a hose stub on an open seacock
	// passes: plan by it.
	Frictionless, ShortTube unit.LitrePerMin
	Missing                 []Datum
}

// Inflows returns every opening in the hull that water can come in by, in file
// order; those with something missing say so.
func (s *Survey) Inflows() []HullInflow {
	var out []HullInflow
	for _, p := range s.Boat.Parts {
		if p.Prepared || !p.Roles().Any(schema.SeaOpening|schema.HullHole) {
			continue
		}
		for _, o := range p.Openings() {
			if o.Type == schema.ToSea {
				out = append(out, s.inflow(p, o))
				break
			}
		}
	}
	return out
}

// Inflow returns the inflow of one opening.
func (s *Survey) Inflow(p *schema.Part) (HullInflow, bool) {
	for _, f := range s.Inflows() {
		if f.Part == p || f.Cock == p {
			return f, true
		}
	}
	return HullInflow{}, false
}

func (s *Survey) inflow(p *schema.Part, o schema.Opening) HullInflow {
	f := HullInflow{Part: p, Cock: s.firstInboard(p)}
	if !o.Height.Given() {
		f.Missing = append(f.Missing, partDatum(o.Missing, p))
	}
	bore := o.Bore
	if !bore.Given() && f.Cock != nil {
		bore = f.Cock.Metres("size")
	}
	if !bore.Given() {
		if id, ok := s.flowNet().at[flowEnd{p, o.Terminal}]; ok && s.flowNet().nodes[id].port != nil {
			bore = s.flowNet().nodes[id].port.bore
		}
	}
	if !bore.Given() || bore.V <= 0 {
		f.Missing = append(f.Missing, partDatum("size of "+p.ID, p))
	}
	if len(f.Missing) > 0 {
		return f
	}
	f.Bore, f.Depth = bore.V, s.Boat.Vessel.Laden.V-o.Height.V
	in := water.HoseOff(f.Bore, f.Depth, s.gravityOf())
	f.Frictionless, f.ShortTube = in.Frictionless, in.ShortTube
	return f
}

func (s *Survey) gravityOf() water.Acceleration {
	if s.gravity == 0 {
		return water.StandardGravity
	}
	return s.gravity
}

// firstInboard is the seacock that stands first behind an opening, or nil.
func (s *Survey) firstInboard(p *schema.Part) *schema.Part {
	if p.Cock != nil {
		return p.Cock
	}
	for _, h := range s.Boat.Hoses {
		if h.Prepared {
			continue
		}
		for _, pair := range [][2]schema.HoseEnd{{h.From, h.To}, {h.To, h.From}} {
			if pair[0].Part == p && pair[1].Part != nil && pair[1].Part.Is(schema.Shutoff) && !pair[1].Part.Prepared {
				return pair[1].Part
			}
		}
	}
	return nil
}

// BilgeOutput is what an installed bilge pump moves at its real head, hose and
// voltage, every load of the boat drawing.
type BilgeOutput struct {
	Pump  *schema.Part
	Flow  unit.LitrePerMin
	State water.PumpState
	Hand  bool
	// Derated is set where no curve is stated: a share of its free flow.
	Derated bool
	Missing []Datum
}

// BilgeOutputs returns the bilge pumps in file order.
func (s *Survey) BilgeOutputs() []BilgeOutput {
	var out []BilgeOutput
	all := s.everything()
	for _, p := range s.Boat.Parts {
		if !p.Prepared && p.Is(schema.Bilge) && p.Is(schema.Mover) {
			out = append(out, s.bilgeOutput(all, p))
		}
	}
	return out
}

// everything is the built-in condition in which every load draws.
func (s *Survey) everything() *schema.Condition {
	for _, c := range s.Boat.Conditions {
		if c.BuiltIn {
			return c
		}
	}
	return nil
}

func (s *Survey) bilgeOutput(all *schema.Condition, p *schema.Part) BilgeOutput {
	out := BilgeOutput{Pump: p, Hand: p.Word("drive").V == "hand"}
	if q := p.Flow("flow"); len(p.Curve("curve")) == 0 && !p.Has("head") && q.Given() {
		out.Flow, out.Derated, out.State = unit.LitrePerMin(float64(q.V)*float64(tables.BilgeDerate)), true, water.Runs
		return out
	}
	if all == nil {
		out.Missing = []Datum{partDatum("a condition in which "+p.ID+" runs", p)}
		return out
	}
	if p.Word("drive").V == "engine" { // engines stand in the built-in condition
		all = &schema.Condition{ID: all.ID, Running: []schema.Running{{Part: p, Duty: 1}}, Positions: map[string]string{}}
	}
	w := s.Water(all)
	circuit := w.Of(p)
	switch {
	case circuit == nil:
		out.Missing = []Datum{partDatum("hoses at "+p.ID, p)}
	case len(circuit.Missing) > 0:
		out.Missing = circuit.Missing
	case circuit.Worst == nil:
		out.Missing = []Datum{partDatum("a solution for "+p.ID, p)}
	default:
		f, ok := circuit.Worst.Pump(p)
		if !ok {
			out.State = water.CannotLift // no voltage
			return out
		}
		out.Flow, out.State = f.Flow, f.State
	}
	return out
}

// basin is the space that water from an opening runs into, with those it joins:
// their areas add up above their floors.
type basin struct {
	spaces []*schema.Space
	stages water.Basin
	start  unit.Metre
	lacks  []Datum
}

// basinOf returns the basin of a space.
func (s *Survey) basinOf(sp *schema.Space) basin {
	if b, ok := s.basins[sp]; ok {
		return b
	}
	b := s.fillBasin(sp)
	if s.basins == nil {
		s.basins = map[*schema.Space]basin{}
	}
	s.basins[sp] = b
	return b
}

// fillBasin works a basin out.
func (s *Survey) fillBasin(sp *schema.Space) basin {
	b := basin{spaces: s.joinedSpaces(sp)}
	type step struct {
		floor unit.Metre
		area  unit.SquareMetre
	}
	var steps []step
	b.start = unit.Metre(math.Inf(1))
	for _, one := range b.spaces {
		floor, ok := s.floorOf(one)
		if !ok {
			if one == sp {
				b.lacks = append(b.lacks, Datum{Missing: "sole of " + one.ID, At: one.At, IDs: []string{one.ID}})
			}
			continue
		}
		b.start = min(b.start, floor)
		if a, ok := s.areaOf(one, floor); ok {
			steps = append(steps, step{floor, a})
		} else if one == sp {
			b.lacks = append(b.lacks, Datum{Missing: "area of " + one.ID, At: one.At, IDs: []string{one.ID}})
		}
	}
	if len(steps) == 0 || len(b.lacks) > 0 {
		return b
	}
	sort.SliceStable(steps, func(i, j int) bool { return steps[i].floor < steps[j].floor })
	b.start = steps[0].floor
	volume, wide := unit.CubicMetre(0), unit.SquareMetre(0)
	for i, st := range steps {
		if i > 0 {
			volume += unit.CubicMetre(float64(wide) * float64(st.floor-steps[i-1].floor))
		}
		if i == 0 || st.floor > steps[i-1].floor {
			b.stages = append(b.stages, water.Stage{Height: st.floor, Volume: volume})
		}
		wide += st.area
	}
	b.stages = append(b.stages, water.Stage{Height: steps[len(steps)-1].floor + 1, Volume: volume + unit.CubicMetre(wide)})
	return b
}

// joinedSpaces are the space and those that water runs freely to: by limber
// holes, and down into what lies below unless that is watertight.
func (s *Survey) joinedSpaces(sp *schema.Space) []*schema.Space {
	list := []*schema.Space{sp}
	for i := 0; i < len(list); i++ {
		for _, o := range s.Boat.Spaces {
			if !slices.Contains(list, o) && !o.Watertight.V && !list[i].Watertight.V && joins(list[i], o) {
				list = append(list, o)
			}
		}
	}
	return list
}

func joins(a, b *schema.Space) bool {
	named := func(a, b *schema.Space) bool {
		for _, j := range a.Joins {
			if j.V == b.ID {
				return true
			}
		}
		return a.Below.V == b.ID
	}
	return named(a, b) || named(b, a)
}

// floorOf is where water starts in a space: its sole, or its lowest part where
// that lies lower or no sole is stated.
func (s *Survey) floorOf(sp *schema.Space) (unit.Metre, bool) {
	floor, ok := sp.Sole.V, sp.Sole.Given()
	for _, p := range s.Boat.Parts {
		if p.Space != sp || p.Prepared {
			continue
		}
		h := p.Height()
		if !h.Given() && p.Host != nil {
			h = p.Host.Height()
		}
		if h.Given() && (!ok || h.V < floor) {
			floor, ok = h.V, true
		}
	}
	return floor, ok
}

// areaOf is the area of a space, or its volume spread from its floor to the sole
// of the space above it.
func (s *Survey) areaOf(sp *schema.Space, floor unit.Metre) (unit.SquareMetre, bool) {
	if sp.Area.Given() && sp.Area.V > 0 {
		return sp.Area.V, true
	}
	if above := s.Boat.Space(sp.Below.V); sp.Volume.Given() && above != nil && above.Sole.Given() && above.Sole.V > floor {
		return unit.SquareMetre(float64(sp.Volume.V) / float64(above.Sole.V-floor)), true
	}
	return 0, false
}

// Reached is when water covers something.
type Reached struct {
	What   string // "seacock SC1", "battery B1", "alarm AL1", "sole of saloon"
	Part   *schema.Part
	Space  *schema.Space
	Height unit.Metre
	// Frictionless and ShortTube are by the two coefficients, Pumped by the second
	// with the bilge pumps running.
	Frictionless, ShortTube, Pumped water.Rise
}

// Rising returns when water from an opening with its hose off covers what stands
// in its space: valves, batteries, alarms, panels, the sole above. Missing says
// what keeps the times from being computed.
func (s *Survey) Rising(f HullInflow) (list []Reached, missing []Datum) {
	if len(f.Missing) > 0 {
		return nil, f.Missing
	}
	sp, lack := spaceOfInflow(f)
	if sp == nil {
		return nil, []Datum{lack}
	}
	b := s.basinOf(sp)
	if len(b.lacks) > 0 {
		return nil, b.lacks
	}
	add := func(r Reached) {
		r.Frictionless = s.riseTo(f, b, r.Height, water.Frictionless, nil)
		r.ShortTube = s.riseTo(f, b, r.Height, water.ShortTube, nil)
		r.Pumped = s.riseTo(f, b, r.Height, water.ShortTube, s.BilgeOutputs())
		list = append(list, r)
	}
	for _, p := range s.Boat.Parts {
		if p.Prepared || p.Space == nil || !slices.Contains(b.spaces, p.Space) {
			continue
		}
		h := p.Height()
		if !h.Given() && p.Host != nil {
			h = p.Host.Height()
		}
		word := ""
		switch {
		case p == f.Cock:
			word = "seacock "
		case p.Is(schema.Storage):
			word = "battery "
		case p.Is(schema.AlarmRole):
			word = "alarm "
		case p.Is(schema.Panel):
			word = "panel "
		}
		if word != "" && h.Given() {
			add(Reached{What: word + p.ID, Part: p, Height: h.V})
		}
	}
	for _, o := range b.spaces {
		if above := s.Boat.Space(o.Below.V); above != nil && above.Sole.Given() {
			add(Reached{What: "sole of " + above.ID, Space: above, Height: above.Sole.V})
		} else if o.Sole.Given() && o.Sole.V > b.start {
			add(Reached{What: "sole of " + o.ID, Space: o, Height: o.Sole.V})
		}
	}
	return list, nil
}

func spaceOfInflow(f HullInflow) (*schema.Space, Datum) {
	p := f.Part
	if f.Cock != nil {
		p = f.Cock
		if p.Space == nil {
			if f.Part.Space != nil {
				return f.Part.Space, Datum{}
			}
			return nil, partDatum("space of "+p.ID, p)
		}
	}
	if p.Space == nil {
		return nil, partDatum("space of "+p.ID, p)
	}
	return p.Space, Datum{}
}

// riseTo is when water from an opening reaches a height.
func (s *Survey) riseTo(f HullInflow, b basin, to unit.Metre, cd unit.Ratio, pumps []BilgeOutput) water.Rise {
	fl := water.Flooding{Basin: b.stages, Start: b.start, Outside: s.Boat.Vessel.Laden.V, Gravity: s.gravityOf(),
		Holes: []water.Hole{{Bore: f.Bore, Height: s.Boat.Vessel.Laden.V - f.Depth, Cd: cd}}}
	for _, p := range pumps {
		if len(p.Missing) == 0 && p.Flow > 0 && !p.Hand && p.Pump.Space != nil && slices.Contains(b.spaces, p.Pump.Space) {
			fl.Drains = append(fl.Drains, water.SteadyDrain(b.start, p.Flow))
		}
	}
	return fl.TimeTo(to)
}

// Drowning is the race between the water and the person who comes to shut the
// valve.
type Drowning struct {
	HullInflow
	Missing []Datum
	// Alarm is what tells, Trigger the part whose height the water meets first (a
	// sensor, or the alarm itself).
	Alarm, Trigger *schema.Part
	// Below is set for a valve that lies lower than the alarm's trigger.
	Below bool
	// Covered is when water stands over the valve, Told when it meets the trigger,
	// Person when a person can be there.
	Covered, Told, Person water.Rise
	// Others are the sounder and panels covered before that.
	Others []Reached
}

// Drownings judges every opening below the laden waterline that has a valve which
// usually stands open.
func (s *Survey) Drownings() []Drowning {
	var out []Drowning
	shut := s.StandsShut()
	for _, f := range s.Inflows() {
		if f.Cock == nil || shut[f.Cock] || len(f.Missing) == 0 && f.Depth <= 0 {
			continue
		}
		out = append(out, s.drowning(f))
	}
	return out
}

func (s *Survey) drowning(f HullInflow) Drowning {
	d := Drowning{HullInflow: f, Missing: slices.Clone(f.Missing)}
	sp, lack := spaceOfInflow(f)
	if sp == nil {
		d.Missing = append(d.Missing, lack)
		return d
	}
	b := s.basinOf(sp)
	d.Alarm, d.Trigger = s.alarmOf(sp, b.spaces)
	if d.Alarm == nil {
		d.Missing = append(d.Missing, Datum{Missing: "a high-water alarm that watches " + sp.ID, At: sp.At, IDs: []string{sp.ID}})
		return d
	}
	trigger := d.Trigger.Height()
	if !trigger.Given() {
		d.Missing = append(d.Missing, partDatum("height of "+d.Trigger.ID, d.Trigger))
		return d
	}
	if len(f.Missing) > 0 {
		return d
	}
	valve := s.Boat.Vessel.Laden.V - f.Depth
	if h := f.Cock.Height(); h.Given() {
		valve = h.V
	}
	d.Below = valve < trigger.V
	reach := f.Cock.Hours("reach")
	if !reach.Given() {
		reach = f.Part.Hours("reach")
	}
	if !reach.Given() {
		d.Missing = merge(d.Missing, []Datum{partDatum("reach of "+f.Cock.ID, f.Cock)})
	}
	d.Missing = merge(d.Missing, b.lacks)
	if len(d.Missing) > 0 {
		return d
	}
	d.Covered = s.riseTo(f, b, valve, water.ShortTube, nil)
	d.Told = s.riseTo(f, b, trigger.V, water.ShortTube, nil)
	d.Person = d.Told
	d.Person.After += reach.V
	for _, p := range s.Boat.Parts {
		over := p.Is(schema.Panel) || p == d.Alarm && d.Trigger != d.Alarm
		if !over || p.Prepared || !p.Height().Given() || p.Space == nil || !slices.Contains(b.spaces, p.Space) {
			continue
		}
		r := Reached{What: p.ID, Part: p, Height: p.Height().V, ShortTube: s.riseTo(f, b, p.Height().V, water.ShortTube, nil)}
		if r.ShortTube.Reached && d.Person.Reached && r.ShortTube.After < d.Person.After {
			d.Others = append(d.Others, r)
		}
	}
	return d
}

// Drowns reports whether the water wins.
func (d *Drowning) Drowns() bool {
	if d.Below || len(d.Others) > 0 {
		return true
	}
	return len(d.Missing) == 0 && d.Covered.Reached && (!d.Person.Reached || d.Covered.After < d.Person.After)
}

// alarmOf is waterAlarm for the basin of a space, found once.
func (s *Survey) alarmOf(sp *schema.Space, spaces []*schema.Space) (alarm, trigger *schema.Part) {
	if a, ok := s.alarms[sp]; ok {
		return a[0], a[1]
	}
	alarm, trigger = s.waterAlarm(spaces)
	if s.alarms == nil {
		s.alarms = map[*schema.Space][2]*schema.Part{}
	}
	s.alarms[sp] = [2]*schema.Part{alarm, trigger}
	return alarm, trigger
}

// waterAlarm is the alarm that watches one of the spaces for water, with the part
// that senses it: a sensor wired to it, or itself. The lowest wins.
func (s *Survey) waterAlarm(spaces []*schema.Space) (alarm, trigger *schema.Part) {
	for _, p := range s.Boat.Parts {
		if p.Prepared || !p.Is(schema.AlarmRole) || !s.watches(p, spaces) {
			continue
		}
		t := p
		if sensor := s.sensorOf(p); sensor != nil {
			t = sensor
		}
		if alarm == nil || t.Height().Given() && (!trigger.Height().Given() || t.Height().V < trigger.Height().V) {
			alarm, trigger = p, t
		}
	}
	return alarm, trigger
}

func (s *Survey) watches(p *schema.Part, spaces []*schema.Space) bool {
	if !slices.ContainsFunc(p.WordList("senses"), func(v schema.Val[string]) bool { return v.V == "water" }) && p.Word("senses").V != "water" {
		return false
	}
	refs := p.Refs("watches")
	if len(refs) == 0 {
		return p.Space != nil && slices.Contains(spaces, p.Space)
	}
	for _, id := range refs {
		if sp := s.Boat.Space(id); sp != nil && slices.Contains(spaces, sp) {
			return true
		}
		if o := s.Boat.Part(id); o != nil && o.Space != nil && slices.Contains(spaces, o.Space) {
			return true
		}
	}
	return false
}

// sensorOf is the float or level sensor that sets off an alarm: joined to it by a
// wire, or in its circuit; nil where the alarm senses by itself.
func (s *Survey) sensorOf(alarm *schema.Part) *schema.Part {
	senses := func(p *schema.Part) bool { return p != nil && p.Is(schema.Sensing) && !p.Prepared }
	for _, w := range s.Boat.Wires {
		switch {
		case w.Prepared:
		case w.From.Part == alarm && senses(w.To.Part):
			return w.To.Part
		case w.To.Part == alarm && senses(w.From.Part):
			return w.From.Part
		}
	}
	if alarm.Circuit != nil {
		for _, p := range alarm.Circuit.Via {
			if senses(p) {
				return p
			}
		}
	}
	return nil
}
