package tables

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"fitout/schema/unit"
)

// Run is what the ampacity of a conductor depends on.
type Run struct {
	Size unit.Size
	// Insulation is the temperature rating; 0 takes the set's default.
	Insulation unit.Celsius
	// EngineSpace is set when any part of the run lies in an engine space.
	EngineSpace bool
	// Ambient is the hottest stated ambient along the run; 0 and anything up to
	// 30 °C is the tables' base.
	Ambient unit.Celsius
	// Bundled counts the current-carrying conductors that run together and are
	// to be derated (see Bundles); under three there is nothing to derate.
	Bundled int
}

// Factor is one correction of an ampacity.
type Factor struct {
	// Why names the correction: engine space, ambient 60 °C, 5 conductors bundled.
	Why   string
	Value float64
	Cite  Cite
}

// Ampacity is what a conductor may carry continuously.
type Ampacity struct {
	// Amps is Base times the factors.
	Amps unit.Amp
	// Base is the figure of the table.
	Base unit.Amp
	// Row is the size whose row was used; it differs from the conductor's own
	// where the table has another series. Say both.
	Row unit.Size
	// Column is the insulation rating of the column used.
	Column  unit.Celsius
	Factors []Factor
	// Cite is the source of Base.
	Cite Cite
}

// Stated reports whether the table has the conductor's own size.
func (a Ampacity) Stated(size unit.Size) bool { return a.Row == size }

// Errors of AmpacityOf: the table cannot answer, so whatever needs it is not
// checked.
var (
	// ErrTooThin means that the conductor is thinner than the table's first row.
	ErrTooThin = errors.New("the conductor is thinner than the ampacity table")
	// ErrInsulation means that the table has no column for the insulation.
	ErrInsulation = errors.New("no ampacity is known for this insulation rating")
	// ErrNoSize means that no size is stated.
	ErrNoSize = errors.New("no conductor size is stated")
)

// DefaultInsulation is the rating assumed where none is stated: 105 °C under us,
// the 85–90 °C column under iso.
func DefaultInsulation(set Set) unit.Celsius {
	if set == ISO {
		return 90
	}
	return 105
}

// BaseAmbient is the air temperature the ampacity tables stand for, outside
// engine spaces.
const BaseAmbient unit.Celsius = 30

// AmpacityOf returns what a conductor may carry: 33 CFR 183 Table 5 under us, the
// ISO 10133 table under iso. Under us a metric or SAE size takes the row of the
// next smaller AWG by area; under iso an AWG or SAE size the next smaller mm².
// The factors of engine space (or a hotter ambient) and bundling multiply.
func AmpacityOf(set Set, run Run) (Ampacity, error) {
	if run.Size.IsZero() {
		return Ampacity{}, ErrNoSize
	}
	insulation := run.Insulation
	if insulation == 0 {
		insulation = DefaultInsulation(set)
	}
	t := ampacityUS()
	if set == ISO {
		t = ampacityISO()
	}
	out, err := t.look(run.Size, insulation)
	if err != nil {
		return Ampacity{}, err
	}
	if f, ok := heatFactor(set, run, insulation, out.Column); ok {
		out.Factors = append(out.Factors, f)
	}
	if f, ok := BundlingFactor(run.Bundled); ok {
		out.Factors = append(out.Factors, f)
	}
	out.Amps = out.Base
	for _, f := range out.Factors {
		out.Amps *= unit.Amp(f.Value)
	}
	return out, nil
}

// heatFactor is the smaller of the engine-space factor and that of the stated
// ambient, where either applies.
func heatFactor(set Set, run Run, insulation, column unit.Celsius) (Factor, bool) {
	ambient, hot := AmbientFactor(insulation, run.Ambient)
	if !run.EngineSpace {
		return ambient, hot
	}
	engine := EngineSpaceFactor(set, column)
	if base := engineAmbient(set); hot && run.Ambient > base && ambient.Value < engine.Value {
		return ambient, true
	}
	return engine, true
}

// engineAmbient is the air temperature the engine-space factors stand for.
func engineAmbient(set Set) unit.Celsius {
	if set == ISO {
		return 60
	}
	return 50
}

// ampacityTable is one table of base ampacities, rows by rising area.
type ampacityTable struct {
	columns []unit.Celsius
	sizes   []unit.Size
	amps    [][]unit.Amp
	// doubtful columns are kept out of use.
	doubtful unit.Celsius
	cite     Cite
}

func (t *ampacityTable) look(size unit.Size, insulation unit.Celsius) (Ampacity, error) {
	col := -1
	for i, c := range t.columns {
		if c <= insulation {
			col = i
		}
	}
	if col < 0 || t.columns[col] == t.doubtful {
		return Ampacity{}, fmt.Errorf("%w: %v", ErrInsulation, insulation)
	}
	r := -1
	for i, s := range t.sizes {
		if noLarger(s.Area, size.Area) {
			r = i
		}
	}
	if r < 0 {
		return Ampacity{}, fmt.Errorf("%w: %s, the first row is %s", ErrTooThin, size.Name(), t.sizes[0].Name())
	}
	cite := t.cite
	if t.sizes[r].System != size.System {
		cite.Source += ", row " + t.sizes[r].Name()
	}
	return Ampacity{Base: t.amps[r][col], Row: t.sizes[r], Column: t.columns[col], Cite: cite}, nil
}

// noLarger compares areas; a thousandth is no difference, so that an AWG size
// written by its area keeps its row.
func noLarger(a, b unit.SquareMM) bool { return float64(a) <= float64(b)*1.001 }

var ampacityUS = sync.OnceValue(func() *ampacityTable {
	return loadAmpacity("ampacity_us", []string{"60", "75", "80", "90", "105", "125", "200"}, 0,
		Cite{"33 CFR 183.425 Table 5", Law}, func(r row) unit.Size {
			s, _ := unit.AWGSize(mustGauge(r["awg"]))
			return s
		})
})

var ampacityISO = sync.OnceValue(func() *ampacityTable {
	return loadAmpacity("ampacity_iso", []string{"60", "70", "85", "105", "125", "200"}, 60,
		Cite{"ISO 10133 / ISO 13297 conductor table", Memory}, func(r row) unit.Size {
			return unit.MetricSize(unit.SquareMM(r.must("mm2")))
		})
})

func loadAmpacity(name string, columns []string, doubtful unit.Celsius, cite Cite, size func(row) unit.Size) *ampacityTable {
	t := &ampacityTable{doubtful: doubtful, cite: cite}
	for _, c := range columns {
		t.columns = append(t.columns, unit.Celsius(mustFloat(c)))
	}
	for _, r := range rows(name) {
		t.sizes = append(t.sizes, size(r))
		amps := make([]unit.Amp, len(columns))
		for i, c := range columns {
			amps[i] = unit.Amp(r.must(c))
		}
		t.amps = append(t.amps, amps)
	}
	return t
}

// SizesFor lists the sizes of a set's ampacity table, thinnest first: what
// `size: auto` may choose from.
func SizesFor(set Set) []unit.Size {
	if set == ISO {
		return append([]unit.Size(nil), ampacityISO().sizes...)
	}
	return append([]unit.Size(nil), ampacityUS().sizes...)
}

// EngineSpaceFactor returns the factor of a run in an engine space: note 1 of
// Table 5 under us, the ISO figures under iso. column is the insulation rating
// of the column the ampacity was read from.
func EngineSpaceFactor(set Set, column unit.Celsius) Factor {
	name, cite := "engine_space_us", Cite{Source: "33 CFR 183 Table 5 note 1"}
	if set == ISO {
		name, cite = "engine_space_iso", Cite{Source: "ISO 10133 / ISO 13297, engine space"}
	}
	f := Factor{Why: "engine space", Value: 1, Cite: cite}
	for i, r := range engineRows(name) {
		if unit.Celsius(r.must("insulation_c")) <= column || i == 0 {
			f.Value = r.must("factor")
			f.Cite.Status = r.status()
		}
	}
	return f
}

var (
	engineUS  = sync.OnceValue(func() []row { return rows("engine_space_us") })
	engineISO = sync.OnceValue(func() []row { return rows("engine_space_iso") })
)

func engineRows(name string) []row {
	if name == "engine_space_iso" {
		return engineISO()
	}
	return engineUS()
}

// AmbientFactor returns the factor of an ambient above 30 °C: the square root of
// the temperature rise that is left over the rise at 30 °C. It gives the figures
// IEC 60364-5-52 prints for 70 °C and 90 °C insulation and those of Table 5
// note 1 for 50 °C. ok is false up to 30 °C. At or above the rating it is 0: the
// conductor may carry nothing.
func AmbientFactor(insulation, ambient unit.Celsius) (f Factor, ok bool) {
	if ambient <= BaseAmbient || insulation <= BaseAmbient {
		return Factor{}, false
	}
	left := math.Max(0, float64(insulation-ambient))
	return Factor{
		Why:   "ambient " + ambient.String(),
		Value: math.Sqrt(left / float64(insulation-BaseAmbient)),
		Cite:  Cite{"rise over 30 °C, as IEC 60364-5-52 tabulates it", Derived},
	}, true
}

// Bundles reports whether conductors that run together are derated: by law from
// 50 V up, by practice for DC too where they run together for more than 0.6 m.
func Bundles(byLaw bool, volts unit.Volt, together unit.Metre) bool {
	return volts >= 50 || !byLaw && together > BundleLength
}

// BundleLength is how long a loom may be before practice derates it (2 ft, from
// memory of E-11).
const BundleLength unit.Metre = 0.6

// BundlingFactor returns the factor of a number of current-carrying conductors
// in one duct, bundle or cable; ok is false under three.
func BundlingFactor(conductors int) (f Factor, ok bool) {
	for _, r := range bundling() {
		if conductors >= int(r.must("least")) {
			f.Value, ok = r.must("factor"), true
		}
	}
	f.Why = fmt.Sprintf("%d conductors bundled", conductors)
	f.Cite = Cite{"33 CFR 183 Table 5 note 2", Published}
	return f, ok
}

var bundling = sync.OnceValue(func() []row { return rows("bundling") })
