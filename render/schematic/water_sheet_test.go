package schematic_test

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"math"
	"math/rand"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/schematic"
	"fitout/render/sheet"
	"fitout/render/svg"
	"fitout/schema"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// element is one element of a sheet as a reader of the file finds it.
type element struct {
	XMLName xml.Name
	Attrs   []xml.Attr `xml:",any,attr"`
	Kids    []element  `xml:",any"`
}

func (e *element) get(name string) string {
	for _, a := range e.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func (e *element) has(class string) bool {
	for _, c := range strings.Fields(e.get("class")) {
		if c == class {
			return true
		}
	}
	return false
}

// waterFile is what the contract of section 11 of the layout note lets a reader
// find on a water sheet.
type waterFile struct {
	parts  map[string]*partFile
	hoses  []hoseFile
	levels []float64 // y of the waterline, one a band
	hull   [][][2]float64
	plates [][4]float64 // ends of the hull's plate in each fitting
}

type partFile struct {
	terminals    map[string][4]float64
	x0, y0       float64
	x1, y1       float64
	height       string
	ref          string
	band         int
	continuation bool
	pierces      bool
}

type hoseFile struct {
	id, from, to string
	points       [][2]float64
}

func readSheet(t *testing.T, s draw.Sheet) *waterFile {
	t.Helper()
	var b bytes.Buffer
	if err := svg.Write(&b, s, svg.Options{NoFont: true}); err != nil {
		t.Fatal(err)
	}
	var root element
	if err := xml.Unmarshal(b.Bytes(), &root); err != nil {
		t.Fatal(err)
	}
	f := &waterFile{parts: map[string]*partFile{}}
	f.walk(&root, nil, -1, false)
	return f
}

func (f *waterFile) walk(e *element, p *partFile, band int, hull bool) {
	switch {
	case e.has("hull"):
		hull = true
	case hull && e.XMLName.Local == "line":
		f.hull = append(f.hull, [][2]float64{{num(e.get("x1")), num(e.get("y1"))}, {num(e.get("x2")), num(e.get("y2"))}})
	case hull && e.XMLName.Local == "path":
		f.hull = append(f.hull, points(e.get("d")))
	case e.has("band"):
		band = len(f.levels)
		f.levels = append(f.levels, math.NaN())
	case e.has("part"):
		p = &partFile{terminals: map[string][4]float64{}, x0: math.Inf(1), y0: math.Inf(1), x1: math.Inf(-1), y1: math.Inf(-1),
			pierces: e.get("data-kind") == "through-hull" || e.get("data-kind") == "hull-fitting",
			height:  e.get("data-height"), ref: e.get("data-ref"), band: band, continuation: e.get("data-kind") == "continuation"}
		f.parts[strings.TrimPrefix(e.get("id"), "part-")] = p
	case e.has("hose"):
		f.hoses = append(f.hoses, hoseFile{e.get("data-hose"), e.get("data-from"), e.get("data-to"), points(e.get("d"))})
	case e.has("waterline") && e.XMLName.Local == "line":
		y := num(e.get("y1"))
		if !math.IsNaN(f.levels[band]) {
			y = math.Inf(1) // two in one band
		}
		f.levels[band] = y
	}
	if p != nil && p.pierces && e.XMLName.Local == "line" && num(e.get("stroke-width")) == 1 {
		f.plate(extent(e))
	}
	if p != nil && e.XMLName.Local != "g" && e.XMLName.Local != "text" {
		b := extent(e)
		if name := e.get("data-terminal"); name != "" {
			p.terminals[name] = b
		} else if b[0] <= b[2] {
			p.x0, p.y0, p.x1, p.y1 = math.Min(p.x0, b[0]), math.Min(p.y0, b[1]), math.Max(p.x1, b[2]), math.Max(p.y1, b[3])
		}
	}
	for i := range e.Kids {
		f.walk(&e.Kids[i], p, band, hull)
	}
}

// plate joins the two halves of the hull in a fitting, drawn one after the other.
func (f *waterFile) plate(b [4]float64) {
	if n := len(f.plates); n > 0 {
		q := &f.plates[n-1]
		level := b[1] == b[3] && q[1] == q[3] && b[1] == q[1] && b[0]-q[2] > 0 && b[0]-q[2] < 5
		upright := b[0] == b[2] && q[0] == q[2] && b[0] == q[0] && (b[1]-q[3] > 0 && b[1]-q[3] < 5 || q[1]-b[3] > 0 && q[1]-b[3] < 5)
		if level || upright {
			q[0], q[1], q[2], q[3] = min(q[0], b[0]), min(q[1], b[1]), max(q[2], b[2]), max(q[3], b[3])
			return
		}
	}
	f.plates = append(f.plates, b)
}

func num(s string) float64 {
	v, err := strconv.ParseFloat(strings.TrimSuffix(s, "mm"), 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// points reads a path of M and L pieces; arcs count by their ends.
func points(d string) (out [][2]float64) {
	f := strings.Fields(strings.NewReplacer("M", " ", "L", " ", "Z", " ", ",", " ").Replace(d))
	for i := 0; i+1 < len(f); i += 2 {
		out = append(out, [2]float64{num(f[i]), num(f[i+1])})
	}
	return out
}

func extent(e *element) [4]float64 {
	switch e.XMLName.Local {
	case "circle":
		x, y, r := num(e.get("cx")), num(e.get("cy")), num(e.get("r"))
		if e.get("data-terminal") != "" {
			r = 0
		}
		return [4]float64{x - r, y - r, x + r, y + r}
	case "ellipse":
		x, y, rx, ry := num(e.get("cx")), num(e.get("cy")), num(e.get("rx")), num(e.get("ry"))
		return [4]float64{x - rx, y - ry, x + rx, y + ry}
	case "rect":
		x, y := num(e.get("x")), num(e.get("y"))
		return [4]float64{x, y, x + num(e.get("width")), y + num(e.get("height"))}
	case "line":
		x0, y0, x1, y1 := num(e.get("x1")), num(e.get("y1")), num(e.get("x2")), num(e.get("y2"))
		return [4]float64{math.Min(x0, x1), math.Min(y0, y1), math.Max(x0, x1), math.Max(y0, y1)}
	}
	b := [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	if strings.ContainsAny(e.get("d"), "A") {
		return b
	}
	pts := points(e.get("d"))
	if e.get("points") != "" {
		pts = points(e.get("points"))
	}
	for _, p := range pts {
		b = [4]float64{math.Min(b[0], p[0]), math.Min(b[1], p[1]), math.Max(b[2], p[0]), math.Max(b[3], p[1])}
	}
	return b
}

// faults measures one sheet against the contract: hoses end on the terminals
// they name, run level or upright; parts stand on their side of the waterline,
// one waterline a band.
func (f *waterFile) faults() (out []string) {
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	for i, y := range f.levels {
		if math.IsNaN(y) || math.IsInf(y, 0) {
			say("band %d has not one waterline", i)
		}
	}
	for _, h := range f.hoses {
		for i := 1; i < len(h.points); i++ {
			if a, b := h.points[i-1], h.points[i]; a[0] != b[0] && a[1] != b[1] {
				say("%s: slanted", h.id)
			}
		}
		for k, ref := range []string{h.from, h.to} {
			end := h.points[0]
			if k == 1 {
				end = h.points[len(h.points)-1]
			}
			id, terminal, _ := strings.Cut(ref, ".")
			p := f.parts[id]
			if p == nil {
				say("%s: ends on %s, which is not there", h.id, ref)
				continue
			}
			b, ok := p.terminals[terminal]
			if terminal == "" {
				b, ok = [4]float64{p.x0, p.y0, p.x1, p.y1}, true
			}
			if !ok {
				say("%s: %s has no such terminal on the sheet", h.id, ref)
			} else if end[0] < b[0]-0.6 || end[0] > b[2]+0.6 || end[1] < b[1]-0.6 || end[1] > b[3]+0.6 {
				say("%s: loose at %s", h.id, ref)
			}
		}
	}
	for id, p := range f.parts {
		if h, err := strconv.ParseFloat(p.height, 64); err == nil && math.Abs(h) > 0.02 {
			if mid := (p.y0 + p.y1) / 2; (mid < f.levels[p.band]) != (h > 0) {
				say("%s at %s m stands on the wrong side of the waterline", id, p.height)
			}
		}
	}
	return out
}

// waterFigures are what is scored on a boat's water sheets.
type waterFigures struct {
	sheets, crossings, bends, hoses int
	hull                            hullFigures
	crossed, wound                  int // sheets beyond 2 crossings, beyond 1.8 bends a hose
}

func (f *waterFigures) add(g waterFigures) {
	f.sheets, f.crossings, f.bends, f.hoses = f.sheets+g.sheets, f.crossings+g.crossings, f.bends+g.bends, f.hoses+g.hoses
	f.crossed, f.wound = f.crossed+g.crossed, f.wound+g.wound
	f.hull.plates, f.hull.joined = f.hull.plates+g.hull.plates, f.hull.joined+g.hull.joined
}

func (f waterFigures) String() string {
	return fmt.Sprintf("%d sheets, %d hoses, %d crossings (%d sheets with more than 2), %.2f bends per hose (%d sheets beyond 1.8), hull on from %d of %d ends",
		f.sheets, f.hoses, f.crossings, f.crossed, float64(f.bends)/math.Max(1, float64(f.hoses)), f.wound, f.hull.joined, f.hull.plates)
}

// sheetsOf draws the water of a boat and checks all of it: no fault of any kind on
// any sheet, every hose and every water part of the model is there, every
// continuation mark has its other half.
func sheetsOf(t *testing.T, name string, in schematic.Input) (sum waterFigures) {
	t.Helper()
	pages, err := schematic.Water(in)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	seen, refs := map[string]bool{}, map[string]int{}
	for i, p := range pages {
		s := p.Finish(sheet.TitleBlock{}, i+1, len(pages))
		f := readSheet(t, s)
		whole := readCircuit(t, s.ID, asSVG(t, s, svg.Options{NoFont: true}))
		hull, bad := measureHull(f, whole)
		for _, x := range append(append(bad, f.faults()...), whole.measure().faults...) {
			t.Errorf("%s, sheet %d: %s", name, i+1, x)
		}
		for id, p := range f.parts {
			seen[id] = true
			if p.continuation {
				refs[p.ref]++
			}
		}
		one := waterFigures{sheets: 1, hoses: len(f.hoses), hull: hull}
		for k, h := range f.hoses {
			seen[h.id] = true
			one.bends += len(h.points) - 2
			for _, o := range f.hoses[:k] {
				one.crossings += crossing(h, o)
			}
		}
		if one.crossings > 2 {
			one.crossed = 1
		}
		if 10*one.bends > 18*one.hoses {
			one.wound = 1
		}
		if testing.Verbose() && (one.crossed > 0 || one.wound > 0) {
			t.Logf("%s, sheet %d: %d crossings, %d bends on %d hoses", name, i+1, one.crossings, one.bends, one.hoses)
		}
		if *keepWater != "" && strings.HasPrefix(name, "seed") {
			write(t, filepath.Join(*keepWater, strings.ReplaceAll(name, " ", "-")+"-"+s.ID+".svg"), s, draw.InColour)
		}
		sum.add(one)
	}
	for ref, n := range refs {
		if n < 2 {
			t.Errorf("%s: the mark %s stands alone", name, ref)
		}
	}
	for _, h := range in.Survey.Boat.Hoses {
		if !h.Implied && !seen[h.ID] {
			t.Errorf("%s: hose %s is on no sheet", name, h.ID)
		}
		for _, e := range []schema.HoseEnd{h.From, h.To} {
			if e.Part != nil && !seen[e.Part.ID] {
				t.Errorf("%s: %s is on no sheet", name, e.Part.ID)
			}
		}
	}
	for _, p := range in.Survey.Boat.Parts {
		if p.Roles().Any(schema.SeaOpening|schema.HullHole) && !seen[p.ID] {
			t.Errorf("%s: the opening %s is on no sheet", name, p.ID)
		}
	}
	return sum
}

func crossing(a, b hoseFile) (n int) {
	for i := 1; i < len(a.points); i++ {
		for j := 1; j < len(b.points); j++ {
			p, q, r, s := a.points[i-1], a.points[i], b.points[j-1], b.points[j]
			if p[1] != q[1] {
				p, q, r, s = r, s, p, q
			}
			if p[1] == q[1] && r[0] == s[0] && r[0] > math.Min(p[0], q[0]) && r[0] < math.Max(p[0], q[0]) &&
				p[1] > math.Min(r[1], s[1]) && p[1] < math.Max(r[1], s[1]) {
				n++
			}
		}
	}
	return n
}

// waysUp are a paper both ways up, and each alone.
func waysUp(paper string) map[string][]sheet.Paper {
	both := papers(paper)
	return map[string][]sheet.Paper{"": both, " landscape": both[:1], " portrait": both[1:]}
}

// mostSheets are how many water sheets an example may take: as many as it takes now,
// so that none comes unseen.
var mostSheets = map[string]int{
	"dayboat.yaml A4": 1, "cruiser.yaml A4": 5, "tired.yaml A4": 4, "workboat.yaml A4": 5, "yacht.yaml A4": 8,
	"dayboat.yaml A3": 1, "cruiser.yaml A3": 2, "tired.yaml A3": 2, "workboat.yaml A3": 3, "yacht.yaml A3": 4,
}

// The targets are those of section 9 of the layout note: at most 2 crossings on
// every sheet, at most 1.8 bends a hose on every set, no fault of any kind. A sheet
// of a few hoses may wind more than 1.8 where each must: a riser over a crest to a
// fitting with its terminal at the side has three or four corners. Such sheets are
// counted, at most one in twenty-five. The hull goes on at four of five ends of the
// fittings' plates at least.
func TestWaterSheets(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of sheets; not under the race detector, which has TestSameBytesOnAnyCores")
	}
	files, _ := filepath.Glob("../../examples/*.yaml")
	if len(files) == 0 {
		t.Fatal("no examples")
	}
	var all waterFigures
	for _, path := range files {
		in := readBoat(t, path)
		in.Larger = nil
		for _, paper := range []string{"A4", "A3", "Letter", "Tabloid"} {
			ways := waysUp(paper)
			for _, way := range []string{"", " landscape", " portrait"} {
				in.Papers = ways[way]
				f := sheetsOf(t, filepath.Base(path)+" "+paper+way, in)
				t.Logf("%-13s %-17s %s", filepath.Base(path), paper+way, f)
				if n, ok := mostSheets[filepath.Base(path)+" "+paper+way]; ok && f.sheets > n {
					t.Errorf("%s %s: %d sheets, want at most %d", filepath.Base(path), paper, f.sheets, n)
				}
				if f.crossed > 0 || 10*f.bends > 18*f.hoses {
					t.Errorf("%s %s%s: %s", filepath.Base(path), paper, way, f)
				}
				all.add(f)
			}
		}
	}
	t.Log(all)
	if 25*all.wound > all.sheets || 5*all.hull.joined < 4*all.hull.plates {
		t.Error(all)
	}
}

// The sea at a heeled opening: the survey's own height of a place that lies in
// that surface must be the laden sea, in every attitude and on both sides.
func TestWaterHeeledText(t *testing.T) {
	const boat = `fitout: 1
vessel: {name: X, hull: sail, length: 10 m, beam: 3 m, heel: 30 deg}
parts:
  TH1: {kind: through-hull, service: discharge, size: 1 in, height: 0.2 m, offset: 1 m, station: 5 m}
  TH2: {kind: through-hull, service: discharge, size: 1 in, height: 0.9 m, offset: 1 m, station: 5 m}
`
	b, problems := read.Boat(func(string) ([]byte, error) { return []byte(boat), nil }, "x.yaml", kinds.All())
	if len(problems) > 0 {
		t.Fatal(problems[0].Message)
	}
	pages, err := schematic.Water(schematic.Input{Survey: survey.Of(b), First: 1, Papers: papers("A4")})
	if err != nil || len(pages) != 1 {
		t.Fatal(len(pages), err)
	}
	var out bytes.Buffer
	if err := svg.Write(&out, pages[0].Finish(sheet.TitleBlock{}, 1, 1), svg.Options{NoFont: true}); err != nil {
		t.Fatal(err)
	}
	// closed form: 1 m × tan 30° = 0.577 m, 0.377 m above TH1 and below TH2, both to
	// starboard and so under water on that side
	if n := strings.Count(out.String(), "heel 30° stbd: 0.38 m under"); n != 1 {
		t.Errorf("%d openings are told to be 0.38 m under water, want TH1 alone", n)
	}
	if strings.Contains(out.String(), "° port") {
		t.Error("an opening to starboard is told to go under on the other side")
	}
}

// boatText is an invented boat: some systems of raw water, bilge and waste, with
// heights and places drawn by lot, and some heights not stated.
func boatText(seed int64) string {
	r := rand.New(rand.NewSource(seed))
	return boatOf(r, 1+r.Intn(5))
}

// boatOf is such a boat with a number of systems of some ten parts each.
func boatOf(r *rand.Rand, systems int) string {
	var parts, hoses []string
	height := func(lo, hi float64) string {
		if r.Intn(9) == 0 {
			return ""
		}
		return fmt.Sprintf(", height: %.2f m", lo+(hi-lo)*r.Float64())
	}
	part := func(id, what, more string) {
		parts = append(parts, fmt.Sprintf("  %s: {kind: %s%s, offset: %.2f m, station: %.1f m}", id, what, more, 2*r.Float64()-1, 10*r.Float64()))
	}
	hose := func(id, path string, n int, more string) {
		hoses = append(hoses, fmt.Sprintf("  - {id: %s, path: [%s], bore: 19 mm, lengths: [%s]%s}", id, path, strings.TrimSuffix(strings.Repeat("0.7 m, ", n), ", "), more))
	}
	for k := range systems {
		s := strconv.Itoa(k + 1)
		part("TH"+s+"1", "through-hull, service: intake, size: 3/4 in, seacock: {id: SC"+s+"1}", height(-0.8, -0.2))
		part("SR"+s, "strainer", height(-0.4, 0.2))
		part("P"+s, "pump, duty: circulating, drive: engine", height(-0.4, 0))
		part("AC"+s, "heat-exchanger", height(-0.2, 0.5))
		part("VL"+s, "vented-loop", height(0.4, 1))
		part("TH"+s+"2", "through-hull, service: discharge, size: 3/4 in", height(0.05, 0.5))
		hose("H"+s, "TH"+s+"1, SR"+s+", P"+s+", AC"+s+", VL"+s+", TH"+s+"2", 5, "")
		if r.Intn(2) == 0 {
			part("BP"+s, "pump, duty: bilge, submersible: yes, drive: engine, space: bilge", height(-0.6, -0.3))
			part("TH"+s+"3", "through-hull, service: bilge, size: 1 in", height(0.2, 0.8))
			hose("HB"+s, "BP"+s+".out, TH"+s+"3", 1, fmt.Sprintf(", peaks: [%.2f m]", 0.9+0.3*r.Float64()))
		}
		if r.Intn(2) == 0 {
			part("TK"+s, "tank, contents: fresh, capacity: 100 L", height(-0.3, 0.3))
			part("DF"+s, "deck-fill", height(0.9, 1.2))
			part("TP"+s, "tap", height(0.6, 0.9))
			part("WP"+s, "pump, duty: pressure, drive: engine", height(-0.3, 0.1))
			part("T"+s, "tee", height(-0.2, 0.4))
			part("TQ"+s, "tap", height(0.6, 0.9))
			hose("HF"+s, "DF"+s+", TK"+s+".fill", 1, "")
			hose("HP"+s, "TK"+s+".outlet, WP"+s+", T"+s, 2, "")
			hose("HQ"+s, "T"+s+", TP"+s+".in", 1, "")
			hose("HR"+s, "T"+s+", TQ"+s+".in", 1, "")
		}
	}
	if r.Intn(3) > 0 { // an engine, its exhaust and what it heats
		part("TE1", "through-hull, service: intake, size: 1 in, seacock: {id: SE1}", height(-0.7, -0.3))
		part("SE2", "strainer", height(-0.3, 0.1))
		part("EN", fmt.Sprintf("engine, injection: %.2f m", 0.3*r.Float64()-0.1), height(-0.2, 0.1))
		part("VE", "vented-loop", height(0.5, 0.9))
		part("WL", "waterlock", height(-0.4, -0.1))
		part("TE2", "through-hull, service: exhaust, size: 3 in", height(0.15, 0.4))
		hose("HX1", "TE1, SE2, EN.water-in", 2, "")
		hose("HX2", "EN.water-out, VE, EN.elbow", 2, "")
		hose("HX3", "EN.exhaust, WL, TE2", 2, fmt.Sprintf(", peaks: [null, %.2f m]", 0.6+0.4*r.Float64()))
		part("FT", "tank, contents: fresh, capacity: 200 L", height(-0.2, 0.2))
		part("FF", "deck-fill", height(0.9, 1.2))
		part("FP", "pump, duty: pressure, drive: engine", height(-0.3, 0.1))
		part("MF", "manifold", height(-0.1, 0.2))
		part("CA", "calorifier", height(0.1, 0.4))
		part("TX", "tee", height(0.1, 0.5))
		hose("HW1", "FF, FT.fill", 1, "")
		hose("HW2", "FT.outlet, FP, MF", 2, "")
		hose("HW3", "MF, CA.cold", 1, "")
		hose("HW4", "CA.hot, TX", 1, "")
		hose("HC1", "EN.coolant-out, CA.coolant-in", 1, "")
		hose("HC2", "CA.coolant-out, EN.coolant-in", 1, "")
		for k := range 2 {
			m := "MX" + strconv.Itoa(k)
			part(m, "mixer", height(0.8, 1.2))
			hose("HM"+strconv.Itoa(k), "MF, "+m+".cold", 1, "")
			hose("HN"+strconv.Itoa(k), "TX, "+m+".hot", 1, "")
		}
	}
	if r.Intn(3) > 0 { // a head with a holding tank
		part("TI", "through-hull, service: intake, size: 3/4 in, seacock: {id: SI}", height(-0.5, -0.2))
		part("WC", fmt.Sprintf("toilet, rim: %.2f m", 0.3+0.2*r.Float64()), height(0, 0.2))
		part("VI", "vented-loop", height(0.5, 0.9))
		part("DV", "diverter", height(0.2, 0.5))
		part("BT", "tank, contents: black, capacity: 60 L", height(0.2, 0.6))
		part("TO", "through-hull, service: waste, size: 1-1/2 in, seacock: {id: SO}", height(-0.5, -0.2))
		part("VO", "vented-loop", height(0.7, 1))
		hose("HT1", "TI, VI, WC.supply", 2, "")
		hose("HT2", "WC.out, DV.common", 1, "")
		hose("HT3", "DV.a, BT.fill", 1, "")
		hose("HT4", "DV.b, VO, TO", 2, "")
	}
	r.Shuffle(len(parts), func(i, j int) { parts[i], parts[j] = parts[j], parts[i] })
	r.Shuffle(len(hoses), func(i, j int) { hoses[i], hoses[j] = hoses[j], hoses[i] })
	return "fitout: 1\nvessel: {name: Invented, hull: motor, length: 11 m, beam: 3.4 m}\nspaces: {bilge: {title: Bilge, bilge: yes}}\nparts:\n" +
		strings.Join(parts, "\n") + "\nhoses:\n" + strings.Join(hoses, "\n") + "\n"
}

// waterSeeds is how many invented boats are drawn: more, to measure on a wider set.
var waterSeeds = flag.Int64("water-seeds", 24, "invented boats with water")

// Invented boats of up to 100 water parts: the same targets; one sheet in twenty may
// wind.
func TestWaterInventedBoats(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of sheets; not under the race detector, which has TestSameBytesOnAnyCores")
	}
	var all waterFigures
	for seed := range *waterSeeds {
		text := boatText(seed)
		boat, problems := read.Boat(func(string) ([]byte, error) { return []byte(text), nil }, "invented.yaml", kinds.All())
		if len(problems) > 0 {
			t.Fatalf("seed %d: %s\n%s", seed, problems[0].Message, text)
		}
		s := survey.Of(boat)
		in := schematic.Input{Survey: s, Result: rules.Check(s), First: 1, Papers: papers([]string{"A4", "A3", "Letter", "Tabloid"}[seed%4])}
		f := sheetsOf(t, fmt.Sprintf("seed %d", seed), in)
		if 10*f.bends > 18*f.hoses {
			t.Errorf("seed %d: %s", seed, f)
		}
		all.add(f)
	}
	t.Log(all)
	if all.crossed > 0 || 20*all.wound > all.sheets || 5*all.hull.joined < 4*all.hull.plates {
		t.Error(all)
	}
}
