package read

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"fitout/schema"
	"fitout/schema/source"
	"fitout/schema/unit"
)

// hasText returns the scalar's text, or reports what stands there instead.
func (r *reader) hasText(key string, n *Node) (string, bool) {
	n = n.Resolve()
	switch {
	case n.Kind == Map:
		r.at(n, "%s takes one value, not a mapping {…}", key)
	case n.Kind == List:
		r.at(n, "%s takes one value, not a list […]", key)
	case n.Null:
		r.at(n, "%s has no value: write one or leave the key out", key)
	default:
		return n.Text, true
	}
	return "", false
}

// one makes a Val of a scalar with the reader fn; a mistake leaves it absent.
func one[T any](r *reader, key string, n *Node, from schema.Origin, fn func(text string) (T, string)) schema.Val[T] {
	text, ok := r.hasText(key, n)
	if !ok {
		return schema.Val[T]{}
	}
	v, reason := fn(text)
	if reason != "" {
		r.at(n.Resolve(), "%s", reason)
		return schema.Val[T]{}
	}
	return schema.Val[T]{V: v, Text: text, At: n.Resolve().Span(), From: from}
}

func (r *reader) text(key string, n *Node, from schema.Origin) schema.Val[string] {
	return one(r, key, n, from, func(s string) (string, string) { return s, "" })
}

func (r *reader) flag(key string, n *Node, from schema.Origin) schema.Val[bool] {
	return one(r, key, n, from, yesNo)
}

func yesNo(s string) (bool, string) {
	switch strings.ToLower(s) {
	case "yes", "true", "on":
		return true, ""
	case "no", "false", "off":
		return false, ""
	}
	return false, fmt.Sprintf("%q is neither yes nor no", clip(s))
}

func (r *reader) date(key string, n *Node, from schema.Origin) schema.Val[string] {
	return one(r, key, n, from, isoDate)
}

func isoDate(s string) (string, string) {
	if _, err := time.Parse("2006-01-02", s); err != nil {
		return "", fmt.Sprintf("%q is not a date: write year-month-day, for example 2026-05-02", clip(s))
	}
	return s, ""
}

func (r *reader) count(f *schema.Attr, n *Node, from schema.Origin) schema.Val[int] {
	return one(r, f.Name, n, from, func(s string) (int, string) { return wholeNumber(f, s) })
}

// mostCount bounds a count whose attribute sets no bound of its own.
const mostCount = 10000

func wholeNumber(f *schema.Attr, s string) (int, string) {
	if s == "" || strings.Trim(s, "0123456789") != "" {
		return 0, fmt.Sprintf("%q is not a whole number", clip(s))
	}
	most := f.Max
	if most == 0 {
		most = mostCount
	}
	v, err := strconv.Atoi(s)
	if err != nil || float64(v) > most {
		return 0, fmt.Sprintf("%s is more than the %s that make sense here", clip(s), strconv.FormatFloat(most, 'f', -1, 64))
	}
	if float64(v) < f.Min {
		return 0, fmt.Sprintf("%s is less than the %s that makes sense here", s, strconv.FormatFloat(f.Min, 'f', -1, 64))
	}
	return v, ""
}

// word reads one of an enumeration.
func (r *reader) word(f *schema.Attr, n *Node, from schema.Origin) schema.Val[string] {
	text, ok := r.hasText(f.Name, n)
	if !ok {
		return schema.Val[string]{}
	}
	w, ok := meant(f, text)
	if !ok {
		r.unknown(n.Resolve().Span(), "word", text, " for "+f.Name, f.Words)
		return schema.Val[string]{}
	}
	return schema.Val[string]{V: w, Text: text, At: n.Resolve().Span(), From: from}
}

// meant returns the word of an enumeration that a spelling stands for.
func meant(f *schema.Attr, text string) (string, bool) {
	for _, w := range f.Words {
		if w == text {
			return w, true
		}
	}
	for _, a := range f.Also {
		if a[0] == text {
			return a[1], true
		}
	}
	return "", false
}

// list reads one value or a list of them.
func list[T any](n *Node, each func(*Node) schema.Val[T]) []schema.Val[T] {
	n = n.Resolve()
	items := []*Node{n}
	if n.Kind == List {
		items = n.Entries
	}
	var out []schema.Val[T]
	for _, item := range items {
		if v := each(item); v.Given() {
			out = append(out, v)
		}
	}
	return out
}

func (r *reader) texts(key string, n *Node, from schema.Origin) []schema.Val[string] {
	return list(n, func(n *Node) schema.Val[string] { return r.text(key, n, from) })
}

// amount reads a quantity of one dimension.
func amount[T ~float64](r *reader, f *Field, n *Node, from schema.Origin) schema.Val[T] {
	return one(r, f.Name, n, from, func(s string) (T, string) {
		v, _, reason := figure(&f.Attr, s)
		return T(v), reason
	})
}

// figure reads a quantity in any of the attribute's dimensions and holds it
// against the attribute's bounds.
func figure(f *schema.Attr, s string) (v float64, dim unit.Dimension, reason string) {
	var first error
	for _, d := range f.Dims {
		v, err := parseIn(d, s)
		if err == nil {
			return v, d, outside(f, d, v, s)
		}
		if first == nil {
			first = err
		}
	}
	if first == nil {
		return 0, 0, fmt.Sprintf("%q is no quantity", clip(s))
	}
	return 0, 0, notQuantity(f, s, first)
}

func parseIn(d unit.Dimension, s string) (float64, error) {
	switch d {
	case unit.CrossSection:
		size, err := unit.ParseSize(s)
		return float64(size.Area), err
	case unit.Temperature:
		v, err := unit.ParseCelsius(s)
		return float64(v), err
	}
	return d.Parse(s)
}

// notQuantity says what is wrong with a text that is none of the quantities.
func notQuantity(f *schema.Attr, s string, first error) string {
	if len(s) < 40 {
		if _, err := unit.Proportion.Parse(s); err == nil && !strings.ContainsAny(s, "%:/") {
			return fmt.Sprintf("%s needs a unit: %s", strings.TrimSpace(s), accepts(f.Dims))
		}
	}
	var e *unit.Error
	if !errors.As(first, &e) {
		return first.Error()
	}
	names := make([]string, len(f.Dims))
	for i, d := range f.Dims {
		names[i] = d.Name()
	}
	reason := e.Reason
	if len(f.Dims) > 1 && strings.Contains(reason, "; write it in") {
		reason = reason[:strings.Index(reason, "; write it in")] + "; write it in " + accepts(f.Dims)
	}
	return fmt.Sprintf("%q is no %s: %s", clip(s), orList(names), reason)
}

// accepts lists the units of the dimensions, the commonest.
func accepts(dims []unit.Dimension) string {
	if len(dims) == 1 {
		return dims[0].Accepts()
	}
	var out []string
	for _, d := range dims {
		symbols := d.Symbols()
		out = append(out, symbols[:min(3, len(symbols))]...)
	}
	return orList(out)
}

// outside says that a figure passes the attribute's bounds, or "".
func outside(f *schema.Attr, d unit.Dimension, v float64, s string) string {
	lower := f.Min
	switch {
	case f.Min == 0 && f.Max == 0:
		if f.Signed || v >= 0 {
			return ""
		}
		return fmt.Sprintf("%s is negative: %s is zero or more", clip(s), f.Name)
	case v < lower:
		return fmt.Sprintf("%s is less than %s, the least that makes sense for %s", clip(s), inUnit(d, f.Min), f.Name)
	case f.Max > f.Min && v > f.Max:
		return fmt.Sprintf("%s is more than %s, the most that makes sense for %s", clip(s), inUnit(d, f.Max), f.Name)
	}
	return ""
}

// inUnit prints a figure in the unit its dimension is stored in.
func inUnit(d unit.Dimension, v float64) string {
	switch d {
	case unit.Voltage:
		return unit.Volt(v).String()
	case unit.Current:
		return unit.Amp(v).String()
	case unit.Resistance:
		return unit.Ohm(v).String()
	case unit.Power:
		return unit.Watt(v).String()
	case unit.Charge:
		return unit.AmpHour(v).String()
	case unit.Energy:
		return unit.WattHour(v).String()
	case unit.Length:
		return unit.Metre(v).String()
	case unit.CrossSection:
		return unit.SquareMM(v).String()
	case unit.Area:
		return unit.SquareMetre(v).String()
	case unit.Volume:
		return unit.CubicMetre(v).String()
	case unit.Angle:
		return unit.Degree(v).String()
	case unit.FlowRate:
		return unit.LitrePerMin(v).String()
	case unit.Pressure:
		return unit.Head(v).String()
	case unit.Temperature:
		return unit.Celsius(v).String()
	case unit.Duration:
		return unit.Hour(v).String()
	case unit.RotationalSpeed:
		return unit.RPM(v).String()
	case unit.BoatSpeed:
		return unit.Knot(v).String()
	case unit.Torque:
		return unit.NewtonMetre(v).String()
	case unit.Proportion:
		return unit.Ratio(v).String()
	}
	return strconv.FormatFloat(v, 'g', 6, 64)
}

// attribute reads the value of an attribute of a part by the attribute's type.
// ok is false where it could not be read; the mistake is then reported.
func (r *reader) attribute(a *schema.Attr, key, n *Node, from schema.Origin) (v schema.Value, ok bool) {
	n = n.Resolve()
	v = schema.Value{Attr: a, At: n.Span(), KeyAt: key.Span(), From: from, Text: n.Text}
	switch a.Type {
	case schema.Word, schema.WordOrText:
		return v, r.wordValue(a, n, &v)
	case schema.WordList:
		v.Words = list(n, func(n *Node) schema.Val[string] { return r.word(a, n, from) })
		return v, len(v.Words) > 0
	case schema.Flag:
		f := r.flag(a.Name, n, from)
		v.Yes = f.V
		return v, f.Given()
	case schema.Count:
		c := r.count(a, n, from)
		v.Number = float64(c.V)
		return v, c.Given()
	case schema.Number:
		return v, r.bareNumber(a, n, &v)
	case schema.Text:
		t := r.text(a.Name, n, from)
		v.Word = t.V
		return v, t.Given()
	case schema.Date:
		d := r.date(a.Name, n, from)
		v.Word = d.V
		return v, d.Given()
	case schema.Curve:
		return v, r.curve(a, n, &v)
	case schema.PartRef, schema.PartRefs, schema.SpaceRefs, schema.PlaceRefs:
		return v, r.references(a, n, &v)
	case schema.ChargeCut:
		return v, r.chargeCut(a, n, &v)
	case schema.Fused:
		return v, r.builtIn(a, n, &v)
	case schema.Quantity:
		return v, r.quantityValue(a, n, &v)
	}
	r.at(n, "%s cannot stand here", a.Name)
	return v, false
}

func (r *reader) wordValue(a *schema.Attr, n *Node, v *schema.Value) bool {
	if a.Type == schema.Word {
		w := r.word(a, n, v.From)
		v.Word = w.V
		return w.Given()
	}
	text, ok := r.hasText(a.Name, n)
	v.Word = text
	if w, known := meant(a, text); known {
		v.Word = w
	}
	return ok
}

func (r *reader) bareNumber(a *schema.Attr, n *Node, v *schema.Value) bool {
	text, ok := r.hasText(a.Name, n)
	if !ok {
		return false
	}
	figure, err := unit.Proportion.Parse(text)
	if err != nil || strings.Contains(text, "%") {
		r.at(n, "%q is not a bare number", clip(text))
		return false
	}
	if reason := outside(a, unit.Dimension(-1), figure, text); reason != "" {
		r.at(n, "%s", reason)
		return false
	}
	v.Number = figure
	return true
}

func (r *reader) quantityValue(a *schema.Attr, n *Node, v *schema.Value) bool {
	text, ok := r.hasText(a.Name, n)
	if !ok {
		return false
	}
	if w, known := meant(a, text); known {
		v.Word, v.Dim = w, unit.Dimension(-1)
		return true
	}
	if _, err := strconv.ParseFloat(text, 64); err == nil && a.BareUnit != "" {
		text += " " + a.BareUnit
	}
	figure, dim, reason := figure(a, text)
	if reason != "" {
		if len(a.Words) > 0 {
			reason += "; or one of " + orList(a.Words)
		}
		r.at(n, "%s", reason)
		return false
	}
	v.Number, v.Dim = figure, dim
	if dim == unit.CrossSection {
		v.Size, _ = unit.ParseSize(text)
	}
	return true
}

// curve reads {x: y, …}, or the one quantity that may stand for it.
func (r *reader) curve(a *schema.Attr, n *Node, v *schema.Value) bool {
	if n.Kind == Scalar && !n.Null && len(a.Dims) > 0 {
		return r.quantityValue(a, n, v)
	}
	if n.Kind != Map || len(n.Entries) == 0 {
		r.at(n, "%s needs points, for example %s", a.Name, orElse(a.Example, "{0 L/min: 3 m head}"))
		return false
	}
	x := &schema.Attr{Name: a.Name, Dims: a.X}
	y := &schema.Attr{Name: a.Name, Dims: a.Y}
	ok := true
	at := map[float64]source.Span{}
	for _, e := range r.entries(n, a.Name) {
		px, xdim, why := figure(x, e.key.Text)
		if why != "" {
			r.at(e.key, "%s", why)
			ok = false
		}
		text, good := r.hasText(a.Name, e.value)
		if !good {
			ok = false
			continue
		}
		py, ydim, whyY := figure(y, text)
		if whyY != "" {
			r.at(e.value.Resolve(), "%s", whyY)
			ok = false
		}
		if why != "" || whyY != "" {
			continue
		}
		if first, twice := at[px]; twice {
			r.both(e.key, first, "the first value", "%s has two values at %s", a.Name, e.key.Text)
			ok = false
			continue
		}
		at[px] = e.key.Span()
		v.XDim, v.YDim = xdim, ydim
		v.Points = append(v.Points, schema.CurvePoint{X: px, Y: py})
	}
	v.Text = n.Span().Text()
	return ok && len(v.Points) > 0
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// references reads ids of parts or spaces; whether they are there is checked
// when all of them stand.
func (r *reader) references(a *schema.Attr, n *Node, v *schema.Value) bool {
	if a.Type == schema.PartRef && n.Kind == List {
		r.at(n, "%s names one part, not a list", a.Name)
		return false
	}
	v.Words = r.texts(a.Name, n, v.From)
	for _, w := range v.Words {
		v.Parts = append(v.Parts, w.V)
	}
	return len(v.Parts) > 0
}

func (r *reader) chargeCut(a *schema.Attr, n *Node, v *schema.Value) bool {
	if n.Kind != Map {
		t := r.text(a.Name, n, v.From)
		if !t.Given() {
			return false
		}
		v.Words, v.Parts = []schema.Val[string]{t}, []string{t.V, t.V}
		return true
	}
	v.Parts = []string{"", ""}
	for _, e := range r.entries(n, a.Name) {
		i := 0
		switch e.key.Text {
		case "charge":
		case "discharge":
			i = 1
		default:
			r.unknown(e.key.Span(), "key", e.key.Text, " for "+a.Name, []string{"charge", "discharge"})
			continue
		}
		if t := r.text(a.Name, e.value, v.From); t.Given() {
			v.Words = append(v.Words, t)
			v.Parts[i] = t.V
		}
	}
	return len(v.Words) > 0
}

// builtIn reads `fuse 60 A`, a family and a rating, or a mapping of them. `no`
// says that there is none.
func (r *reader) builtIn(a *schema.Attr, n *Node, v *schema.Value) bool {
	v.Inside = &schema.DeviceData{Inside: true}
	if n.Kind == Map {
		return r.builtInMap(n, v)
	}
	text, ok := r.hasText(a.Name, n)
	if !ok {
		return false
	}
	if yes, reason := yesNo(text); reason == "" {
		return yes
	}
	name, rating := splitDevice(text)
	if name != "" && !r.deviceWord(name, v.Inside) {
		r.unknown(sub(n, 0, len(name)), "device", name, " for "+a.Name, r.deviceWords())
		return false
	}
	if rating == "" {
		return true
	}
	amps, _, reason := figure(&wayKeys.Field("rating").Attr, rating)
	if reason != "" {
		r.at(n, "%s", reason)
		return false
	}
	v.Inside.Rating = schema.Val[unit.Amp]{V: unit.Amp(amps), Text: rating, At: v.At, From: v.From}
	return true
}

func (r *reader) builtInMap(n *Node, v *schema.Value) bool {
	for _, e := range r.entries(n, "built-in") {
		switch f := wayKeys.Field(e.key.Text); {
		case e.key.Text == "kind" || e.key.Text == "family":
			t := r.text(e.key.Text, e.value, v.From)
			if t.Given() && !r.deviceWord(t.V, v.Inside) {
				r.unknown(t.At, "device", t.V, " for built-in", r.deviceWords())
			}
		case f == nil:
			r.unknown(e.key.Span(), "key", e.key.Text, " for built-in", []string{"family", "rating", "volts", "interrupt"})
		case f.Name == "rating":
			v.Inside.Rating = amount[unit.Amp](r, f, e.value, v.From)
		case f.Name == "volts":
			v.Inside.Volts = amount[unit.Volt](r, f, e.value, v.From)
		case f.Name == "interrupt":
			v.Inside.Interrupt = amount[unit.Amp](r, f, e.value, v.From)
		}
	}
	v.Text = n.Span().Text()
	return true
}

// splitDevice parts "class-t 200 A" into the words and the rating.
func splitDevice(text string) (name, rating string) {
	text = strings.TrimSpace(text)
	for i := 0; i < len(text); i++ {
		if text[i] >= '0' && text[i] <= '9' && (i == 0 || text[i-1] == ' ') {
			return strings.TrimSpace(text[:i]), text[i:]
		}
	}
	return text, ""
}

// deviceWord sets what a word says of an overcurrent device: fuse, breaker, or
// a family of either.
func (r *reader) deviceWord(name string, d *schema.DeviceData) bool {
	switch {
	case name == "fuse":
	case name == "breaker":
		d.Breaker = true
	case r.isFamily("fuse", name):
		d.Family = name
	case r.isFamily("breaker", name):
		d.Family, d.Breaker = name, true
	default:
		if kind, rest, ok := strings.Cut(name, " "); ok && (kind == "fuse" || kind == "breaker") {
			return r.deviceWord(kind, d) && r.isFamily(kind, rest) && r.deviceWord(rest, d)
		}
		return false
	}
	return true
}

func (r *reader) families(kind string) *schema.Attr {
	if k := r.cat.Kind(kind); k != nil {
		return k.Attr("family")
	}
	return nil
}

func (r *reader) isFamily(kind, name string) bool {
	a := r.families(kind)
	if a == nil {
		return false
	}
	_, ok := meant(a, name)
	return ok
}

func (r *reader) deviceWords() []string {
	out := []string{"fuse", "breaker"}
	for _, kind := range []string{"fuse", "breaker"} {
		if a := r.families(kind); a != nil {
			out = append(out, a.Words...)
		}
	}
	return out
}
