package dc

import "math"

// slack keeps a source that sits exactly on a corner of its characteristic
// from switching on rounding.
const (
	slackAmps  = 1e-9
	slackVolts = 1e-9
)

// wish gives the mode a source should work in at the present state, and how
// far beyond its corner the present mode is.
func (p *part) wish(x []float64) (Mode, float64) {
	v, i := p.a.volt(x)-p.b.volt(x), x[p.row]
	short := p.e - p.r*i - v // what is missing to the regulated voltage
	over := func(i float64) (Mode, float64) {
		if i > p.maxI*(1+1e-12)+slackAmps {
			return CurrentLimit, i - p.maxI
		}
		if w := v * i; w > p.maxP*(1+1e-12)+slackAmps {
			return PowerLimit, (w - p.maxP) / math.Max(v, 1)
		}
		return p.mode, 0
	}
	switch p.mode {
	case Regulating:
		if i < -slackAmps {
			return Off, -i
		}
		return over(i)
	case Off:
		if !p.ceiling {
			return p.capped(), 0
		}
		if short > slackVolts {
			return Regulating, 100 * short
		}
	case CurrentLimit:
		if p.ceiling && short < -slackVolts {
			return Regulating, -100 * short
		}
		return over(i)
	case PowerLimit:
		if p.ceiling && short < -slackVolts {
			return Regulating, -100 * short
		}
		return over(i)
	}
	return p.mode, 0
}

// capped is the limit a source without a voltage ceiling works at.
func (p *part) capped() Mode {
	if math.IsInf(p.maxI, 1) {
		return PowerLimit
	}
	return CurrentLimit
}

// switchModes lets sources switch that wish to: at first all of them, later
// the worst only, then the first only, which breaks cycles of sources that
// trade places. It returns one that switched, or nil.
func (s *system) switchModes(x []float64, load float64, round int) (switched *part) {
	s.deficit = false
	let := func(p *part, mode Mode) {
		p.left = p.mode == Regulating
		s.deficit = s.deficit || p.left && mode != Off
		p.mode, switched = mode, p
	}
	worst := 0.0
	var pick *part
	var pickMode Mode
	for k := range s.parts {
		p := &s.parts[k]
		if p.law != limited {
			continue
		}
		p.left = false
		mode, by := p.wish(x)
		if mode == p.mode {
			continue
		}
		switch {
		case round < allTogether:
			let(p, mode)
		case round < worstOnly:
			if by > worst {
				worst, pick, pickMode = by, p, mode
			}
		case pick == nil:
			pick, pickMode = p, mode
		}
	}
	if pick != nil {
		let(pick, pickMode)
	}
	if switched != nil {
		s.hold(x, load)
	}
	return switched
}

const (
	allTogether = 15
	worstOnly   = 60
	giveUp      = 150
)

// hold keeps sources and diodes from letting go of a group of nodes that
// nothing else fixes: when one reaches its limit the next in line that is off
// takes over, when one goes off the next that can give less does. Where there
// is no next, one that went off stays as it was: it carries nothing. One that
// reached its limit does not: there the supply ends.
func (s *system) hold(x []float64, load float64) {
	for range s.parts {
		ties := s.ties(load)
		var best *part
		least := math.Inf(1)
		for k := range s.parts {
			p := &s.parts[k]
			if p.law != limited || !p.ceiling || p.mode == Regulating || ties.find(s.tie(p.a)) == ties.find(s.tie(p.b)) {
				continue
			}
			if d := p.distance(x, s.deficit); d < least {
				best, least = p, d
			}
		}
		if best == nil {
			return
		}
		best.mode = Regulating
	}
}

// distance ranks a source as successor of those that let go: near its corner
// first; one that has just let go last, or never.
func (p *part) distance(x []float64, deficit bool) float64 {
	gap := math.Abs(p.e - p.r*x[p.row] - (p.a.volt(x) - p.b.volt(x)))
	const last, other = 1e12, 1e6
	switch {
	case p.left && p.mode == CurrentLimit:
		return math.Inf(1)
	case p.left:
		return last + math.Abs(x[p.row])
	case p.mode == CurrentLimit && deficit:
		return math.Inf(1)
	case p.mode == Off && !deficit:
		return other + gap
	}
	return gap
}

// tie numbers a port for ties: all references are one.
func (s *system) tie(p port) int32 {
	if p.row < 0 {
		return int32(s.rows)
	}
	return p.row
}

// ties joins what fixes each other's potential.
func (s *system) ties(load float64) sets {
	t := newSets(s.rows + 1)
	for k := range s.parts {
		p := &s.parts[k]
		loose := p.law == current && load > 0 || p.law == limited && (p.mode == Off || p.mode == CurrentLimit)
		if !loose {
			t.join(s.tie(p.a), s.tie(p.b))
		}
		if p.converter {
			t.join(s.tie(p.c), s.tie(p.d))
		}
	}
	return t
}
