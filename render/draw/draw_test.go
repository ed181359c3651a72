package draw

import (
	"math"
	"strings"
	"testing"

	"fitout/schema/symbol"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// WCAG 2 states 21:1 for black on white; the other figures are those of the
// published palette table (drafting reference, 4.3).
func TestContrastFormula(t *testing.T) {
	for hex, want := range map[string]float64{
		"#000000": 21.00, "#0072B2": 5.19, "#D55E00": 3.87, "#009E73": 3.42, "#CC79A7": 3.06,
		"#999999": 2.85, "#56B4E9": 2.31, "#E69F00": 2.25, "#F0E442": 1.32,
	} {
		got, err := Contrast(hex, "#FFFFFF")
		if err != nil || math.Abs(got-want) > 0.005 {
			t.Errorf("%s on white: %.3f %v, published %.2f", hex, got, err, want)
		}
	}
	for _, bad := range []string{"", "#12", "red", "#12345", "#1234567", "#GGGGGG"} {
		if _, err := Contrast(bad, "#FFFFFF"); err == nil {
			t.Errorf("%q was read as a colour", bad)
		}
	}
}

// Text: 4.5:1 (WCAG 2 SC 1.4.3). Lines: 4.5:1 is the target of the readability
// table, row R29. Widths: at least 0.18 mm (layout.md section 9), of the series
// of ISO 128.
func TestStylesAreLegible(t *testing.T) {
	series := []MM{0.18, 0.25, 0.35, 0.5, 0.7, 1, 1.4, 2}
	for _, theme := range []Theme{InColour, InMono} {
		for _, s := range Styles() {
			k := theme.Stroking(s)
			if c, err := Contrast(k.Colour, theme.PaperColour()); err != nil || c < 4.5 {
				t.Errorf("%s: contrast %.2f %v", s, c, err)
			}
			ok := false
			for _, w := range series {
				ok = ok || k.Width == w
			}
			if !ok {
				t.Errorf("%s: %v mm is no width of ISO 128", s, k.Width)
			}
			for _, d := range k.Dash {
				if d < 0.5 {
					t.Errorf("%s: a dash or gap of %v mm closes up in print", s, d)
				}
			}
			if s.String() == "" {
				t.Errorf("style %d has no name", s)
			}
		}
	}
	for _, l := range AllLetters() {
		if c, err := Contrast(l.Colour(), "#FFFFFF"); err != nil || c < 4.5 {
			t.Errorf("%s: contrast %.2f %v", l, c, err)
		}
		if l.Cap() < 1.8 {
			t.Errorf("%s: capitals of %v mm; 1.8 mm is the least (ISO 3098)", l, l.Cap())
		}
	}
}

// Without colour every class of run must still be told from its neighbours on
// the same kind of sheet (readability table, rows R30 and R31). A reader who is
// blind to some colours then loses nothing either: no meaning hangs on colour.
func TestMonoKeepsRunsApart(t *testing.T) {
	for _, sheet := range [][]Style{
		{Positive, PositiveMain, Negative, NegativeMain, Bonding, Signal, Exposed, Prepared},
		{Live, Neutral, Earth, Cable},
		{Sea, Discharge, Drain, Fresh, Hot, Waste, GreyWater, Bilge, Exhaust, Coolant, Vent, Prepared, StaticWaterline, HeeledWaterline},
		{Positive, FeedAC}, // the overview: by dash, not by width alone
		{Added, Removed, Changed, Unchanged},
		{CurveFirst, CurveSecond, CurveThird, CurveFourth, CurveDamage, CurveMark, GridLine},
		{FindingError, FindingWarning, FindingNote},
	} {
		for i, a := range sheet {
			for _, b := range sheet[:i] {
				ka, kb := InMono.Stroking(a), InMono.Stroking(b)
				// widths of ISO 128 are told apart from one step of √2 on (from memory)
				if ratio := max(ka.Width, kb.Width) / min(ka.Width, kb.Width); ratio < 1.35 && equal(ka.Dash, kb.Dash) {
					t.Errorf("%s and %s look alike in black and white", a, b)
				}
				if ka.Colour != "#000000" {
					t.Errorf("%s is not black in mono", a)
				}
			}
		}
	}
}

func equal(a, b []MM) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// advanceFromFile reads the advance of a glyph straight from the hmtx and cmap
// tables of the font file, as the OpenType specification lays them out: an
// independent reading of the same font.
func advanceFromFile(t *testing.T, data []byte, r rune) float64 {
	t.Helper()
	u16 := func(o int) int { return int(data[o])<<8 | int(data[o+1]) }
	u32 := func(o int) int { return u16(o)<<16 | u16(o+2) }
	table := map[string]int{}
	for i := range u16(4) {
		o := 12 + 16*i
		table[string(data[o:o+4])] = u32(o + 8)
	}
	cm, glyph := table["cmap"], 0
	for i := range u16(cm + 2) {
		o := cm + u32(cm+4+8*i+4)
		if u16(o) != 4 {
			continue
		}
		n := u16(o+6) / 2
		for k := range n {
			end, start := u16(o+14+2*k), u16(o+16+2*n+2*k)
			if int(r) < start || int(r) > end {
				continue
			}
			delta, ro := u16(o+16+4*n+2*k), u16(o+16+6*n+2*k)
			if ro == 0 {
				glyph = (int(r) + delta) & 0xffff
			} else if g := u16(o + 16 + 6*n + 2*k + ro + 2*(int(r)-start)); g != 0 {
				glyph = (g + delta) & 0xffff
			}
		}
	}
	if glyph == 0 {
		t.Fatalf("no glyph for %q", r)
	}
	glyph = min(glyph, u16(table["hhea"]+34)-1)
	return float64(u16(table["hmtx"]+4*glyph)) / float64(u16(table["head"]+18))
}

func TestWidthAgreesWithFontFile(t *testing.T) {
	const sample = "F1 225 A  70 mm² RD θΔΩ°µ–−×≤→ éß"
	for _, c := range []struct {
		l    Letters
		data []byte
	}{{Rating, goregular.TTF}, {Designation, gobold.TTF}} {
		want := 0.0
		for _, r := range sample {
			want += advanceFromFile(t, c.data, r)
		}
		want *= float64(c.l.Size())
		if got := float64(c.l.Width(sample)); math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: %.6f mm, the font file says %.6f", c.l, got, want)
		}
	}
}

func TestWidthOfWhatTheFontLacks(t *testing.T) {
	if w := Note.Width("海"); math.Abs(float64(w-Note.Size())) > 1e-9 {
		t.Errorf("a full-width letter takes %v, an em is %v", w, Note.Size())
	}
	if HasGlyph(Regular, '海') || !HasGlyph(Regular, 'Ω') || !HasGlyph(Bold, '²') {
		t.Error("glyph coverage is not as in the file")
	}
}

func TestTextBounds(t *testing.T) {
	tx := Text{At: Point{10, 20}, S: "AB", Letters: Rating, Align: Middle}
	w := tx.Width()
	if b := tx.Bounds(); b != (Box{Point{10 - w/2, 17.5}, Point{10 + w/2, 20}}) {
		t.Errorf("level: %v", b)
	}
	tx.Up = true // read from the right: starts below, ends above, capitals to the left
	if b := tx.Bounds(); b != (Box{Point{7.5, 20 - w/2}, Point{10, 20 + w/2}}) {
		t.Errorf("turned: %v", b)
	}
	tx.Align = Start
	if b := tx.Bounds(); b.Max.Y != 20 || b.Min.Y != 20-w {
		t.Errorf("turned, from the start: %v", b)
	}
}

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		s     string
		width MM
	}{
		{"put F1 within 0.18 m of B1 along the wire, or sheathe the run", 30},
		{"averylongwordwithoutanyblankinitatall", 12},
		{"a/b-c.d/e-f.g/h-i.j/k-l.m", 9}, {"", 10}, {"one\ntwo", 50}, {"x", 0.1}, {"\x00\u202eevil", 40},
	} {
		lines := TableText.Wrap(c.s, c.width)
		if len(lines) == 0 {
			t.Fatalf("%q: no line", c.s)
		}
		for _, l := range lines {
			if TableText.Width(l) > c.width && len([]rune(l)) > 1 {
				t.Errorf("%q: line %q is %.1f mm wide, %v allowed", c.s, l, TableText.Width(l), c.width)
			}
		}
		strip := func(s string) string { return strings.Join(strings.Fields(clean(s)), "") }
		if got, want := strip(strings.Join(lines, "")), strip(c.s); got != want {
			t.Errorf("%q lost letters: %q", c.s, got)
		}
	}
	if f := Note.Fit("a rather long title", 20); Note.Width(f) > 20 || !strings.HasSuffix(f, "…") {
		t.Errorf("fit: %q is %v mm", f, Note.Width(f))
	}
	if f := Note.Fit("short", 50); f != "short" {
		t.Errorf("fit: %q", f)
	}
}

// No symbol has letters on its own strokes once they are set in the real face,
// and all keep their terminals within the 0.6 mm that the sheet checker allows.
func TestSymbolLettersInTheRealFace(t *testing.T) {
	for _, id := range symbol.IDs() {
		if !strings.Contains(id, "/") {
			continue
		}
		s, _ := symbol.Get(id)
		p := SymbolPart("X", "x", s, Point{}, 0, 0, false)
		for _, st := range p.Strokes {
			tx, ok := st.(Text)
			if !ok {
				continue
			}
			b := tx.Bounds().Grow(-0.1)
			for _, o := range p.Strokes {
				if _, text := o.(Text); text {
					if o != st && o.Bounds().Grow(-0.1).Overlaps(b) {
						t.Errorf("%s: %q on another text", id, tx.S)
					}
					continue
				}
				if hits(o, b) {
					t.Errorf("%s: a stroke runs through %q", id, tx.S)
				}
			}
		}
	}
}

func hits(s Stroke, b Box) bool {
	var pts []Point
	switch s := s.(type) {
	case Polyline:
		pts = append(pts, s.Points...)
		if s.Closed {
			pts = append(pts, s.Points[0])
		}
	case Rect:
		m, x := s.Box.Min, s.Box.Max
		pts = []Point{m, {x.X, m.Y}, x, {m.X, x.Y}, m}
	case Ellipse:
		for a := 0.0; a <= 360; a += 10 {
			pts = append(pts, arcPoint(s.Centre, s.RX, s.RY, a))
		}
	case Arc:
		for i := 0.0; i <= 20; i++ {
			pts = append(pts, arcPoint(s.Centre, s.R, s.R, s.From+(s.To-s.From)*i/20))
		}
	}
	for i := 1; i < len(pts); i++ {
		for k := MM(0); k <= 40; k++ {
			p := Point{pts[i-1].X + (pts[i].X-pts[i-1].X)*k/40, pts[i-1].Y + (pts[i].Y-pts[i-1].Y)*k/40}
			if p.X > b.Min.X && p.X < b.Max.X && p.Y > b.Min.Y && p.Y < b.Max.Y {
				return true
			}
		}
	}
	return false
}

func TestCoreColour(t *testing.T) {
	// IEC 60757: GNYE is one code, BNYE joins two, base colour first
	for code, want := range map[string]string{"RD": "#E03020", "GNYE": "#7DBE3C", "BNYE": "#8B5A2B", "TAN": "#D2B48C"} {
		if got, ok := CoreColour(code); !ok || got != want {
			t.Errorf("%s: %s %v", code, got, ok)
		}
	}
	if _, ok := CoreColour("?"); ok {
		t.Error("? is no colour")
	}
}

// The heights of tags are those of ISO 3098 (drafting reference, 3.3: seen), each
// √2 above the one before, in the weight asked for.
func TestTagLettersAreASeries(t *testing.T) {
	series := []float64{1.8, 2.5, 3.5, 5, 7, 10, 14, 20}
	for _, w := range []Weight{Regular, Bold} {
		for i, l := range TagLetters(w) {
			if l.Weight() != w {
				t.Errorf("%s is of the other weight", l)
			}
			if c := float64(l.Cap()); math.Abs(c-series[i]) > 0.051 {
				t.Errorf("%s: %v mm, the series has %v", l, c, series[i])
			}
		}
	}
}
