package pack

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// RoundRow is one fact that the file does not hold: what checks lacked, or what
// only eyes can tell.
type RoundRow struct {
	No int
	// Space is the name of the space it is looked up in; empty for what belongs to
	// the whole boat.
	Space string
	// At is the part, wire or hose, Is what it is.
	At, Is string
	// Key is where the file holds it, and what the row is read back by. It names
	// none where the file must be written on: a hose that is not drawn.
	Key diag.Key
	// What says what to measure or read.
	What string
	// Unit is that of a bare figure; empty where none goes with it, or where it
	// must be written beside the figure.
	Unit string
	// Rules wait for the datum; none where only eyes can tell.
	Rules []string
}

// RoundOf is the survey round of a boat: exactly what its checks lacked and what
// is not stated, in the order in which a person walks, from the stem aft.
func RoundOf(in Input) []RoundRow {
	m := maker{Input: in}
	return m.round()
}

func (m *maker) round() []RoundRow {
	var out []RoundRow
	at := map[string]int{}
	for _, u := range m.Result.Unchecked {
		if survey.Consequence(u.Missing) {
			continue
		}
		id := u.Key.String()
		if id == "" {
			id = "words " + u.Missing
		}
		i, ok := at[id]
		if !ok {
			i = len(out)
			at[id] = i
			out = append(out, m.lackRow(u))
		}
		if !slices.Contains(out[i].Rules, u.Rule) {
			out[i].Rules = append(out[i].Rules, u.Rule)
		}
	}
	for _, n := range m.Result.NotStated {
		k := m.Survey.KeyOf(n.What + " of " + n.At)
		if _, ok := at[k.String()]; ok && k.Named() {
			continue
		}
		at[k.String()] = len(out)
		id := n.At
		if k.Named() {
			id = k.ID // the run as a whole, where the file says it of that
		}
		out = append(out, RoundRow{At: id, Is: m.isWhat(id), Key: k, What: askFor(n.What)})
	}
	m.walk(out)
	for i := range out {
		out[i].No = i + 1
	}
	return out
}

func (m *maker) lackRow(u diag.Unchecked) RoundRow {
	r := RoundRow{At: firstOf(u.At), Key: u.Key, What: u.Missing}
	if u.Key.Named() {
		r.At = u.Key.ID
		attr := m.attrOf(u.Key)
		r.What = ask(u.Key, attr)
		r.Unit = bareUnit(u.Key, attr, m.inFeet())
	}
	r.Is = m.isWhat(r.At)
	if r.At == "" {
		r.At, r.Is = m.boat().Vessel.Name.Or("the vessel"), "the whole boat"
	}
	return r
}

func firstOf(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}

// attrOf is the description of a part's attribute, nil for those of wires, hoses
// and spaces.
func (m *maker) attrOf(k diag.Key) *schema.Attr {
	if p := m.boat().Part(k.ID); k.Of == diag.PartHolder && p != nil {
		return p.Kind.Attr(k.Attribute)
	}
	return nil
}

// isWhat says what an id is: a part's title, a way's, the ends of a run.
func (m *maker) isWhat(id string) string {
	b := m.boat()
	if p := b.Part(id); p != nil {
		return titleOf(p)
	}
	if panel, way, ok := strings.Cut(id, "."); ok && b.Part(panel) != nil {
		if w, there := b.Part(panel).Way(way); there {
			return strings.TrimSpace("way " + w.Title.V)
		}
	}
	if sp := b.Space(id); sp != nil {
		return sp.Name()
	}
	from, to := "", ""
	for _, w := range b.Wires {
		if (w.Ref() == id || w.ID == id || w.Path == id) && !w.Return && !w.Implied {
			from, to = orText(from, m.wireEnd(w, w.From)), m.wireEnd(w, w.To)
		}
	}
	for _, h := range b.Hoses {
		if (h.ID == id || h.Path == id) && !h.Implied {
			from, to = orText(from, endText(h.From)), endText(h.To)
		}
	}
	if from == "" {
		return ""
	}
	return from + " to " + to
}

// ask says what to measure or read, with what the attribute may be.
func ask(k diag.Key, a *schema.Attr) string {
	text := k.Attribute
	said, ok := lineQuestions[k.Attribute]
	if k.Of == diag.WayHolder && k.Attribute == "rating" {
		said = "rated current of its device, as printed on it"
	}
	switch {
	case a != nil:
		text += ": " + a.Help
		switch {
		case len(a.Words) > 0 && len(a.Dims) == 0:
			text += " (" + strings.Join(a.Words, ", ") + ")"
		case a.Type == schema.Flag:
			text += " (yes or no)"
		case a.Type == schema.Curve && a.Example != "":
			text += ", for example " + a.Example
		case len(a.Dims) > 1:
			var with []string
			for _, d := range a.Dims {
				with = append(with, d.Example())
			}
			text += ", with its unit (" + strings.Join(with, " or ") + ")"
		}
	case ok:
		text += ": " + said
	}
	return text
}

// lineQuestions say of the keys of wires, hoses, spaces and sections what is to
// be measured.
var lineQuestions = map[string]string{
	"size":       "cross section, with its unit (35 mm2, 2 AWG), as printed on the insulation",
	"length":     "length of the run, one way",
	"resistance": "as measured, joints included",
	"insulation": "temperature that is printed on the insulation",
	"bore":       "inner diameter",
	"rating":     "what it is rated for, or its rated current, as printed on it",
	"clamps":     "how many at each end",
	"material":   "what it is made of, as printed on it",
	"height":     "height above the waterline, minus below",
	"peak":       "greatest height along the run",
	"dip":        "least height along the run",
	"sole":       "height of the sole above the waterline, minus below",
	"area":       "area that water rises on",
	"volume":     "volume that water fills",
	"watertight": "no water passes to or from other spaces (yes or no)",
	"station":    "where it begins and ends, from the stem aft",
	"interrupt":  "the current that its device can break, as printed on it",
	"date":       "date of the sheets",
	"speed":      "her usual speed",
}

// inFeet reports whether the file writes its lengths in feet and inches rather
// than in metres: a person measures as the file is written, whatever its rules.
func (m *maker) inFeet() bool {
	feet, metres := 0, 0
	count := func(v schema.Val[unit.Metre]) {
		switch {
		case !v.Given():
		case strings.Contains(v.Text, "ft"), strings.Contains(v.Text, "in"), strings.ContainsAny(v.Text, `'"`):
			feet++
		default:
			metres++
		}
	}
	for _, w := range m.boat().Wires {
		count(w.Length)
	}
	for _, h := range m.boat().Hoses {
		count(h.Length)
	}
	for _, p := range m.boat().Parts {
		count(p.Height())
	}
	return feet > metres
}

// bareUnit is the unit that a bare figure is read in. A conductor's size has
// none: 2 is thin copper in mm² and thick in AWG.
func bareUnit(k diag.Key, a *schema.Attr, feet bool) string {
	if a == nil {
		a = &schema.Attr{Dims: lineDims[k.Attribute]}
		if k.Of == diag.HoseHolder && k.Attribute == "rating" {
			a.Dims = nil
		}
	}
	if len(a.Dims) != 1 || a.Type == schema.Curve {
		return ""
	}
	small := slices.Contains([]string{"bore", "size", "inlet", "outlet"}, k.Attribute)
	switch d := a.Dims[0]; d {
	case unit.CrossSection:
		return ""
	case unit.Length:
		switch {
		case small && feet:
			return "in"
		case small:
			return "mm"
		case feet:
			return "ft"
		}
		return "m"
	default:
		_, symbol, _ := strings.Cut(d.Example(), " ")
		return symbol
	}
}

var lineDims = map[string][]unit.Dimension{
	"length": {unit.Length}, "bore": {unit.Length}, "peak": {unit.Length}, "dip": {unit.Length}, "height": {unit.Length},
	"sole": {unit.Length}, "area": {unit.Area}, "volume": {unit.Volume}, "rating": {unit.Current}, "interrupt": {unit.Current},
	"insulation": {unit.Temperature}, "speed": {unit.BoatSpeed}, "size": {unit.CrossSection},
}

// walk sorts rows as a person meets them: the whole boat first, then space by
// space from the stem aft, in a space in the order of the file.
func (m *maker) walk(rows []RoundRow) {
	order := m.walkOrder()
	place := map[string]int{}
	for i, p := range m.boat().Parts {
		place[p.ID] = i
	}
	where := func(r RoundRow) (space, item int) {
		sp, whole := m.spaceOfID(r.At)
		if whole {
			return -1, 0
		}
		item = len(place)
		if i, ok := place[r.At]; ok {
			item = i
		}
		return slices.Index(order, sp), item
	}
	for i := range rows {
		if sp, whole := m.spaceOfID(rows[i].At); sp != nil {
			rows[i].Space = sp.Name()
		} else if !whole {
			rows[i].Space = "Space not stated"
		}
	}
	slices.SortStableFunc(rows, func(a, b RoundRow) int {
		as, ai := where(a)
		bs, bi := where(b)
		return cmp.Or(cmp.Compare(as, bs), cmp.Compare(ai, bi), strings.Compare(a.At, b.At))
	})
}

// walkOrder are the spaces from the stem aft; those whose place is not known, and
// nil for none, come last.
func (m *maker) walkOrder() []*schema.Space {
	type placed struct {
		space   *schema.Space
		known   bool
		station float64
	}
	var list []placed
	for _, sp := range m.boat().Spaces {
		x := placed{space: sp}
		x.station, x.known = m.stationOf(sp)
		list = append(list, x)
	}
	slices.SortStableFunc(list, func(a, b placed) int {
		switch {
		case a.known && b.known:
			return cmp.Compare(a.station, b.station)
		case a.known != b.known && a.known:
			return -1
		case a.known != b.known:
			return 1
		}
		return 0
	})
	var out []*schema.Space
	for _, x := range list {
		out = append(out, x.space)
	}
	return append(out, nil)
}

// stationOf is the middle of a space along the boat, by its own extent or by what
// stands in it.
func (m *maker) stationOf(sp *schema.Space) (float64, bool) {
	if a, b := sp.Station[0], sp.Station[1]; a.Given() && b.Given() {
		return (float64(a.V) + float64(b.V)) / 2, true
	}
	sum, n := 0.0, 0
	for _, p := range m.partsIn(sp) {
		if s := p.Station(); s.Given() {
			sum += float64(s.V)
			n++
		}
	}
	return sum / float64(max(n, 1)), n > 0
}

// spaceOfID is the space in which a datum is looked up; whole for what belongs to
// the boat as a whole.
func (m *maker) spaceOfID(id string) (sp *schema.Space, whole bool) {
	b := m.boat()
	if p := b.Part(id); p != nil {
		return p.Space, false
	}
	if panel, _, ok := strings.Cut(id, "."); ok && b.Part(panel) != nil {
		return b.Part(panel).Space, false
	}
	if sp := b.Space(id); sp != nil {
		return sp, false
	}
	for _, w := range b.Wires {
		if (w.Ref() == id || w.ID == id || w.Path == id) && w.From.Part != nil {
			return w.From.Part.Space, false
		}
	}
	for _, h := range b.Hoses {
		if h.ID == id || h.Path == id {
			for _, e := range []schema.HoseEnd{h.From, h.To} {
				if e.Part != nil && e.Part.Space != nil {
					return e.Part.Space, false
				}
			}
			return nil, false
		}
	}
	return nil, true
}

// surveyRound is a form to be taken round the boat, a table a space, for exactly
// what the file does not say.
func (m *maker) surveyRound() []section {
	s := section{id: "round", title: "Survey round: what is still to be looked at", document: "Blank form by space"}
	rows := m.round()
	if len(rows) == 0 {
		s.blocks = []block{para("Nothing is open: every check had its data, and every fact that only eyes can tell is stated. Walk the round again after a year.")}
		return []section{s}
	}
	s.blocks = []block{para("Walk the spaces in this order and write down what you see. Then type it into the column `value` of the file that ends in -round.csv and lies beside this page; `fitout pack FILE --round CSV --write` puts it into the installation file. The key says where. A line with no rule waits for eyes only.")}
	for i := 0; i < len(rows); {
		var lines [][]string
		space := rows[i].Space
		for ; i < len(rows) && rows[i].Space == space; i++ {
			r := rows[i]
			key := r.Key.String()
			if key == "" {
				key = "by hand"
			}
			what := r.What
			if r.Unit != "" {
				what += " [" + r.Unit + "]"
			}
			lines = append(lines, []string{strconv.Itoa(r.No), r.At, r.Is, what, waits(r.Rules), key, ""})
		}
		s.blocks = append(s.blocks, heading(orText(space, "The whole boat")),
			table([]sheet.Column{num("No."), col("At"), {Head: "It is", Grow: 1}, {Head: "What to write down", Grow: 2}, {Head: "Waits for it", Grow: 1}, {Head: "Key", Grow: 1}, {Head: "Seen", Least: 30}}, lines))
	}
	return []section{s}
}

// waits names the rules that wait for a datum, the first few on paper; the file
// beside it names all.
func waits(rules []string) string {
	const most = 3
	if len(rules) <= most+1 {
		return strings.Join(rules, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(rules[:most], ", "), len(rules)-most)
}

// askFor puts a key that only eyes can fill into a question.
func askFor(key string) string {
	questions := map[string]string{
		"restrained":        "is it held so that it cannot move? (yes or no)",
		"terminals-covered": "are both posts covered? (yes or no)",
		"exercised":         "date on which it was last worked to and fro, year-month-day",
		"fitted":            "date on which it was fitted, or the one printed on it, year-month-day",
		"chafe-guard":       "how is it guarded wherever it passes an edge or a bulkhead?",
		"tested":            "date on which it was last tested, year-month-day",
		"torque":            "the torque its joints were tightened to, by the maker's sheet, with its unit (12 Nm)",
	}
	if q, ok := questions[key]; ok {
		return key + ": " + q
	}
	return key
}

// roundHead are the columns of the file of the survey round. The last is filled
// in aboard.
var roundHead = [...]string{"no", "space", "at", "is", "key", "what", "unit", "rules", "value"}

// WriteRound writes the survey round to be filled in.
func WriteRound(w io.Writer, rows []RoundRow) error {
	c := csv.NewWriter(w)
	if err := c.Write(roundHead[:]); err != nil {
		return err
	}
	for _, r := range rows {
		line := []string{strconv.Itoa(r.No)}
		for _, cell := range []string{r.Space, r.At, r.Is, r.Key.String(), r.What, r.Unit, strings.Join(r.Rules, " ")} {
			line = append(line, guard(cell))
		}
		if err := c.Write(append(line, "")); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// Answer is a datum that came back.
type Answer struct {
	Line  int // of the file of the round
	Key   diag.Key
	Value string
}

// Answers are what was read from a round that was filled in.
type Answers struct {
	Data []Answer
	// Notes are the rows with a value that no key can hold: what, and the value.
	Notes []string
}

// ReadRound reads a survey round that was filled in, the rows with a value. A bare
// figure gets the row's unit. A key that is none, and a key that is answered twice
// and not alike, are errors with their line.
func ReadRound(r io.Reader) (Answers, error) {
	var out Answers
	rows, err := csvRows(r, []string{"key", "value"})
	if err != nil {
		return out, err
	}
	seen := map[diag.Key]Answer{}
	for _, row := range rows {
		value := row.cell("value")
		if value == "" {
			continue
		}
		if row.cell("key") == "" {
			out.Notes = append(out.Notes, strings.TrimSpace(row.cell("at")+": "+row.cell("what"))+": "+value)
			continue
		}
		k, err := diag.ParseKey(row.cell("key"))
		if err != nil {
			return Answers{}, fmt.Errorf("line %d: %w", row.line, err)
		}
		text, err := withUnit(value, row.cell("unit"))
		if err != nil {
			return Answers{}, fmt.Errorf("line %d: %s: %w", row.line, k, err)
		}
		a := Answer{row.line, k, text}
		if was, twice := seen[k]; twice {
			if was.Value != a.Value {
				return Answers{}, fmt.Errorf("line %d: %s is %s here and %s on line %d", row.line, k, a.Value, was.Value, was.Line)
			}
			continue
		}
		seen[k] = a
		out.Data = append(out.Data, a)
	}
	if len(out.Data)+len(out.Notes) == 0 {
		return out, fmt.Errorf("the column `value` is empty")
	}
	return out, nil
}

// withUnit gives a bare figure its unit; a decimal comma is read as a point, but
// not where it may be one of thousands.
func withUnit(value, unit string) (string, error) {
	whole, part, comma := strings.Cut(value, ",")
	figure := value
	if comma {
		figure = whole + "." + part
	}
	if _, err := strconv.ParseFloat(figure, 64); err != nil || unit == "" {
		return value, nil
	}
	if comma && len(part) == 3 {
		return "", fmt.Errorf("%q may be %s%s or %s: write it without a comma", value, whole, part, figure)
	}
	return figure + " " + unit, nil
}
