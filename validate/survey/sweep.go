package survey

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

// Failure is one thing that failed in one manner, with what it costs. One at a
// time: nothing else has failed, valves and switches stand as they usually do.
type Failure struct {
	// ID is the part, "PANEL.WAY", the wire or the hose.
	ID    string
	What  string // kind of thing: "fuse", "wire"
	Mode  FailureMode
	Part  *schema.Part // nil for a run
	Way   string
	Wire  *schema.Wire
	Hose  *schema.Hose
	Space *schema.Space

	Loss
	// Blocked are pumps and users whose water has no way out any more.
	Blocked []*schema.Part
	// Floods are the ways for water into the boat.
	Floods []Inrush
	// Fills are engines whose exhaust the sea siphons into while they stand, by the
	// intakes of FillsBy.
	Fills, FillsBy []*schema.Part
	// Bare are conductors left without protection.
	Bare []Bare
	// Opens are the devices that a short opens; NoDevice the batteries and other
	// sources of no limit that feed it with no device between.
	Opens    []string
	NoDevice []*schema.Part
	// Stays are loads that can no longer be switched off.
	Stays []*schema.Part
	// Unpumped are spaces whose last powered bilge pump stops; Unwatched what no
	// alarm tells any more; Untripped what lies behind no residual-current device
	// any more; Unshut the opening whose hose, once off, no valve stops.
	Unpumped  []*schema.Space
	Unwatched []Watch
	Untripped []*schema.Part
	Unshut    *HullInflow
	// Missing is what kept something from being told.
	Missing []Datum
}

// FailureMode is how a thing fails.
type FailureMode string

// The modes.
const (
	Opens    FailureMode = "opens"
	Bypassed FailureMode = "replaced by a link"
	Welded   FailureMode = "cannot be opened"
	StuckOff FailureMode = "stays open"
	StuckOn  FailureMode = "stays closed"
	Shut     FailureMode = "stuck shut"
	Unshut   FailureMode = "stuck open"
	Stops    FailureMode = "stops"
	Breaks   FailureMode = "broken"
	Shorts   FailureMode = "shorted to minus"
	Off      FailureMode = "off its fitting or burst"
	LetsGo   FailureMode = "lets go"
	LidOff   FailureMode = "lid off or bowl broken"
	Clogged  FailureMode = "vent clogged"
)

// Watch is an alarm that no longer tells.
type Watch struct {
	Alarm  *schema.Part
	Senses string
}

// Sweep lets every fuse, breaker, panel way, switch, valve, pump, bus, battery,
// charging source, alarm, loop and hull opening, then every run and hose fail in
// each of its manners, one at a time; worst first.
func (s *Survey) Sweep() []Failure {
	w := &sweeper{Survey: s, guards: s.guards()}
	for _, p := range s.Boat.Parts {
		if !p.Prepared {
			w.part(p)
		}
	}
	w.runs()
	for i := range w.list {
		w.safety(&w.list[i])
	}
	sort.SliceStable(w.list, func(i, j int) bool { return w.list[i].worse(&w.list[j]) })
	return w.list
}

type sweeper struct {
	*Survey
	list   []Failure
	guards map[guardKey][]guarded
}

func (w *sweeper) add(f Failure) { w.list = append(w.list, f) }

// part lets one part fail in each of its manners.
func (w *sweeper) part(p *schema.Part) {
	base := Failure{ID: p.ID, What: p.Kind.Title, Part: p, Space: p.Space}
	in := func(mode FailureMode) Failure {
		f := base
		f.Mode = mode
		return f
	}
	for _, way := range p.Ways {
		if !way.Spare && (p.Is(schema.Panel) || len(w.guards[guardKey{p, way.Key}]) > 0) {
			w.device(Failure{ID: p.ID + "." + way.Key, What: "panel way", Part: p, Way: way.Key, Space: p.Space})
		}
	}
	r := p.Roles()
	switch {
	case r.Any(schema.Protection) && !r.Any(schema.Panel):
		w.device(base)
	case r.Any(schema.Switching | schema.Sensing):
		w.contact(in)
	case r.Any(schema.Storage | schema.Distribution | schema.Charging | schema.Converter | schema.Inverting | schema.ShorePower):
		f := in(Stops)
		f.Loss = w.Lost(p, "")
		w.add(f)
	}
	switch {
	case r.Any(schema.Seacock | schema.Shutoff):
		w.valve(in)
	case r.Any(schema.Mover):
		f := in(Stops)
		f.Loss = w.Lost(p, "")
		w.add(f)
	case r.Any(schema.AlarmRole):
		f := in(Stops)
		f.Unwatched = []Watch{watchOf(p)}
		w.add(f)
	case r.Any(schema.Vent):
		f := in(Clogged)
		f.Floods, f.Missing = w.siphonsWithout(p)
		f.Fills, f.FillsBy = w.fillsWithout(p)
		w.add(f)
	case r.Any(schema.Strainer):
		f := in(LidOff)
		f.Floods, f.Missing = w.partOpen(p)
		w.add(f)
	case r.Any(schema.SeaOpening | schema.HullHole):
		f := in(LetsGo)
		f.Floods, f.Missing = w.hole(p)
		w.add(f)
	}
}

// device opens a fuse or breaker, and puts a link in its place.
func (w *sweeper) device(base Failure) {
	f := base
	f.Mode, f.Loss = Opens, w.Lost(f.Part, f.Way)
	w.add(f)
	f = base
	f.Mode = Bypassed
	f.Bare, f.Missing = w.bareWithout(f.Part, f.Way)
	for _, br := range f.Part.Branches() {
		if d := br.Device; br.Type == schema.Device && d != nil && br.Way == f.Way && !d.Rating.Given() && !d.ResidualOnly && !d.Inside {
			f.Missing = merge(f.Missing, []Datum{partDatum("rating of "+f.ID, f.Part)})
		}
	}
	if f.Part.Is(schema.Residual) || residual(f.Part, f.Way) {
		f.Untripped = w.untripped(f.Part, f.Way)
	}
	w.add(f)
}

func (w *sweeper) contact(in func(FailureMode) Failure) {
	off := in(StuckOff)
	p := off.Part
	off.Loss = w.Lost(p, "")
	w.add(off)
	if p.Is(schema.Sensing) {
		on := in(StuckOn)
		on.Stays = off.Dead
		w.add(on)
		return
	}
	on := in(Welded)
	on.Stays = w.staysLive(p)
	w.add(on)
}

// valve shuts a valve for good, and keeps it open for good.
func (w *sweeper) valve(in func(FailureMode) Failure) {
	f := in(Shut)
	p := f.Part
	f.Loss = w.Lost(p, "")
	f.Blocked = w.blockedBy(p)
	w.add(f)
	f = in(Unshut)
	f.Floods = w.heldShut(p)
	for _, x := range w.Inflows() {
		if x.Cock != p {
			continue
		}
		f.Missing = x.Missing
		if len(x.Missing) == 0 && x.Depth > 0 {
			f.Unshut = &x
		}
	}
	w.add(f)
}

// runs breaks and shorts every wire, and takes every hose off.
func (w *sweeper) runs() {
	seen := map[string]bool{}
	for _, x := range w.Boat.Wires {
		if x.Prepared || x.Implied || seen[x.Ref()] {
			continue
		}
		seen[x.Ref()] = true
		f := Failure{ID: x.Ref(), What: "wire", Mode: Breaks, Wire: x, Loss: w.LostRun(x, nil)}
		w.add(f)
		if id := w.Net.WireEdge[x]; id >= 0 && x.Medium == schema.DC && w.Net.Live(id) && w.Net.Edges[id].A != w.Net.Edges[id].B {
			w.short(x, id)
		}
	}
	for _, h := range w.Boat.Hoses {
		if h.Prepared || h.Implied {
			continue
		}
		f := Failure{ID: h.ID, What: "hose", Mode: Off, Hose: h, Loss: w.LostRun(nil, h)}
		f.Floods, f.Missing = w.hoseOff(h)
		w.add(f)
	}
}

// watchOf is what an alarm tells.
func watchOf(p *schema.Part) Watch {
	var senses []string
	for _, v := range p.WordList("senses") {
		senses = append(senses, v.V)
	}
	if len(senses) == 0 && p.Word("senses").V != "" {
		senses = []string{p.Word("senses").V}
	}
	return Watch{p, strings.ReplaceAll(strings.Join(senses, " and "), "-", " ")}
}

// safety reads off a loss which spaces lose their last powered bilge pump and
// which alarms fall silent.
func (w *sweeper) safety(f *Failure) {
	stopped := map[*schema.Part]bool{}
	for _, q := range append(append(f.AtOnce(), f.Dry...), f.Blocked...) {
		stopped[q] = true
	}
	if f.Mode == Stops {
		stopped[f.Part] = true
	}
	for _, q := range w.Boat.Parts {
		if stopped[q] && q.Is(schema.AlarmRole) && f.Part != q {
			f.Unwatched = append(f.Unwatched, watchOf(q))
		}
	}
	// an alarm whose float fails open is silent, too
	if f.Mode == StuckOff && f.Part.Is(schema.Sensing) {
		for _, q := range w.Boat.Parts {
			if !q.Prepared && q.Is(schema.AlarmRole) && !stopped[q] && w.sensorOf(q) == f.Part {
				f.Unwatched = append(f.Unwatched, watchOf(q))
			}
		}
	}
	for _, sp := range w.Boat.Spaces {
		lost, left := false, false
		for _, q := range w.Boat.Parts {
			if q.Prepared || !q.Is(schema.Bilge) || q.Word("drive").V == "hand" || !w.serves(q, sp) {
				continue
			}
			lost, left = lost || stopped[q], left || !stopped[q]
		}
		if lost && !left {
			f.Unpumped = append(f.Unpumped, sp)
		}
	}
}

// serves reports whether a bilge pump draws from a space: it stands there, or its
// suction ends there.
func (s *Survey) serves(p *schema.Part, sp *schema.Space) bool {
	for _, h := range s.Boat.Hoses {
		if h.Prepared {
			continue
		}
		for _, pair := range [][2]schema.HoseEnd{{h.From, h.To}, {h.To, h.From}} {
			if pair[0].Part == p && pair[0].Terminal == "in" && pair[1].IsOpen() {
				return pair[1].Open == sp
			}
		}
	}
	return p.Space == sp && p.Word("drive").V != "hand"
}

// residual reports a device, or a way of a panel, that opens on residual current.
func residual(p *schema.Part, way string) bool {
	for _, br := range p.Branches() {
		if br.Type == schema.Device && br.Device != nil && br.Device.Trip.Given() && br.Way == way {
			return true
		}
	}
	return false
}

// untripped are the AC loads behind a residual-current device and no other.
func (w *sweeper) untripped(p *schema.Part, way string) []*schema.Part {
	behind := func(p *schema.Part, way string) map[*schema.Part]bool {
		out := map[*schema.Part]bool{}
		l := w.Lost(p, way)
		for _, q := range l.AtOnce() {
			out[q] = q.Roles().Any(schema.ACPart) || hasACDraw(q)
		}
		return out
	}
	mine := behind(p, way)
	for _, q := range w.Boat.Parts {
		if q.Prepared {
			continue
		}
		if hasOwnTrip(q) {
			delete(mine, q)
		}
		for _, br := range q.Branches() {
			if br.Type == schema.Device && br.Device != nil && br.Device.Trip.Given() && !(q == p && br.Way == way) {
				for x := range behind(q, br.Way) {
					delete(mine, x)
				}
			}
		}
	}
	var out []*schema.Part
	for _, q := range w.Boat.Parts {
		if mine[q] {
			out = append(out, q)
		}
	}
	return out
}

func hasACDraw(p *schema.Part) bool {
	return slices.ContainsFunc(p.Branches(), func(b schema.Branch) bool { return b.Type == schema.Draw && b.Medium == schema.AC })
}

func hasOwnTrip(p *schema.Part) bool {
	return slices.ContainsFunc(p.Branches(), func(b schema.Branch) bool { return b.Type == schema.Draw && b.Device != nil && b.Device.Trip.Given() })
}

// staysLive are the loads that stay fed with every switch and breaker that a
// person can open open, but this one.
func (w *sweeper) staysLive(p *schema.Part) []*schema.Part {
	f := w.feeds()
	off := &outage{edges: map[int]bool{}}
	for i := range w.Net.Edges {
		e := &w.Net.Edges[i]
		if ByPerson(e) || Breaker(e) || e.Type == trace.Device && e.Part.Is(schema.Panel) && e.Branch.Device.Breaker {
			off.edges[i] = true
		}
	}
	all := f.loads(f.state(OnShore, off, true))
	with := &outage{edges: map[int]bool{}}
	for i := range off.edges {
		with.edges[i] = w.Net.Edges[i].Part != p
	}
	some := f.loads(f.state(OnShore, with, true))
	var out []*schema.Part
	for _, q := range w.Boat.Parts {
		if some[q] && !all[q] {
			out = append(out, q)
		}
	}
	return out
}

// rank orders failures: 0 floods, 1 a safety function lost or a conductor bare, 2
// essential things dead, 3 things dead, 4 things fed only for a while, 5 a way of
// safety gone that matters with a second failure, 6 nothing.
func (f *Failure) rank() int {
	essential := slices.ContainsFunc(append(append(f.AtOnce(), f.Dry...), f.Blocked...), func(p *schema.Part) bool { return p.Flag("essential").V })
	switch {
	case slices.ContainsFunc(f.Floods, func(x Inrush) bool { return x.Sea != nil }):
		return 0
	case len(f.Unpumped)+len(f.Unwatched)+len(f.Untripped)+len(f.Bare)+len(f.NoDevice)+len(f.Fills) > 0:
		return 1
	case essential:
		return 2
	case len(f.Dead)+len(f.Dry)+len(f.Blocked)+len(f.Floods) > 0:
		return 3
	case len(f.Only)+len(f.Uncharged) > 0:
		return 4
	case f.Unshut != nil || len(f.Stays) > 0 || len(f.Missing) > 0:
		return 5
	}
	return 6
}

// Costs reports whether the failure costs anything.
func (f *Failure) Costs() bool { return f.rank() < 6 }

// Grave reports a failure that lets the sea in, takes a safety function, or stops
// something essential.
func (f *Failure) Grave() bool {
	r := f.rank()
	return r <= 2 && (r != 1 || len(f.Unpumped)+len(f.Unwatched)+len(f.Fills) > 0)
}

// worse orders by rank, then by what comes in, then by how much stops.
func (f *Failure) worse(g *Failure) bool {
	if a, b := f.rank(), g.rank(); a != b {
		return a < b
	}
	if a, b := f.worst(), g.worst(); a != b {
		return a > b
	}
	return f.count() > g.count()
}

// worst is what comes in by itself at rest, before what comes heeled or pumped.
func (f *Failure) worst() (q unit.LitrePerMin) {
	for _, x := range f.Floods {
		if x.Pump == nil && !x.Siphon {
			q = max(q, 1000*x.AtRest)
		}
		q = max(q, x.Worst)
	}
	if f.Unshut != nil {
		q = max(q, f.Unshut.ShortTube)
	}
	return q
}

func (f *Failure) count() int {
	return 100*(len(f.Fills)+len(f.Unpumped)+len(f.Unwatched)+len(f.Untripped)) + 20*(len(f.NoDevice)+len(f.Bare)) + len(f.Dead) + len(f.Only) + len(f.Dry) + len(f.Blocked) + len(f.Stays)
}

// String names a failure: "F1 opens".
func (f *Failure) String() string { return fmt.Sprintf("%s %s", f.ID, f.Mode) }
