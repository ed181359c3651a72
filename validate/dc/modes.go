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
func (s *system) switchModes(x []float64, round int) (switched *part) {
	worst := 0.0
	var pick *part
	var pickMode Mode
	for k := range s.parts {
		p := &s.parts[k]
		if p.law != limited {
			continue
		}
		mode, by := p.wish(x)
		if mode == p.mode {
			continue
		}
		switch {
		case round < allTogether:
			p.mode, switched = mode, p
		case round < worstOnly:
			if by > worst {
				worst, pick, pickMode = by, p, mode
			}
		case pick == nil:
			pick, pickMode = p, mode
		}
	}
	if pick != nil {
		pick.mode, switched = pickMode, pick
	}
	if switched != nil {
		s.hold(x)
	}
	return switched
}

const (
	allTogether = 15
	worstOnly   = 60
	giveUp      = 150
)

// hold keeps sources and diodes that carry no current from letting go of a
// group of nodes altogether: of those that alone could fix its potential, the
// one that lies least on the wrong side stays.
func (s *system) hold(x []float64) {
	for range s.parts {
		ties := newSets(s.rows + 1)
		at := func(p port) int32 {
			if p.row < 0 {
				return int32(s.rows)
			}
			return p.row
		}
		for k := range s.parts {
			p := &s.parts[k]
			loose := p.law == current || p.law == limited && (p.mode == Off || p.mode == CurrentLimit)
			if !loose {
				ties.join(at(p.a), at(p.b))
			}
			if p.converter {
				ties.join(at(p.c), at(p.d))
			}
		}
		var best *part
		most := math.Inf(-1)
		for k := range s.parts {
			p := &s.parts[k]
			if p.law != limited || !p.ceiling || p.mode == Regulating || ties.find(at(p.a)) == ties.find(at(p.b)) {
				continue
			}
			if p.a.row < 0 && p.b.row < 0 {
				continue
			}
			if gap := p.e - (p.a.volt(x) - p.b.volt(x)); gap > most {
				best, most = p, gap
			}
		}
		if best == nil {
			return
		}
		best.mode = Regulating
	}
}
