package survey_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gopkg.in/yaml.v3"
)

// This file writes an ngspice deck straight from the text of a boat and the CSV
// tables. It shares nothing with the solver but the YAML library: no reader, no
// unit, no kind, no table code. It knows what the example boats need and fails on
// anything else.

type deckBoat struct {
	t      *testing.T
	parts  map[string]map[string]any
	order  []string
	spaces map[string]any
	defs   map[string]any
	wires  []deckWire
	met    map[string]int // two-way parts named without a terminal, so far
	node   map[string]int
	lines  []string
	seed   map[int]float64
}

type deckWire struct {
	id, from, to string
	ohms, cold   float64
}

func loadDeck(t *testing.T, text []byte) *deckBoat {
	doc := decode(t, text)
	d := &deckBoat{t: t, parts: map[string]map[string]any{}, met: map[string]int{}, node: map[string]int{}, seed: map[int]float64{}}
	d.spaces, _ = doc["spaces"].(map[string]any)
	d.defs, _ = doc["defaults"].(map[string]any)
	stock, _ := doc["stock"].(map[string]any)
	var tree yaml.Node
	yaml.Unmarshal(text, &tree)
	for id, v := range doc["parts"].(map[string]any) {
		d.part(id, v, stock)
	}
	for i, n := range tree.Content[0].Content { // file order of the parts
		if n.Value == "parts" {
			for k := 0; k < len(tree.Content[0].Content[i+1].Content); k += 2 {
				d.order = append(d.order, tree.Content[0].Content[i+1].Content[k].Value)
			}
		}
	}
	for _, w := range list(doc["wires"]) {
		d.wireItem(w.(map[string]any), "wires")
	}
	for _, c := range list(doc["circuits"]) {
		d.circuit(c.(map[string]any))
	}
	return d
}

// decode reads the text as plain maps and lists with every key a text.
func decode(t *testing.T, text []byte) map[string]any {
	var doc any
	if err := yaml.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	return plain(doc).(map[string]any)
}

func plain(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			v[k] = plain(x)
		}
	case map[any]any:
		out := map[string]any{}
		for k, x := range v {
			out[fmt.Sprint(k)] = plain(x)
		}
		return out
	case []any:
		for i, x := range v {
			v[i] = plain(x)
		}
	}
	return v
}

func list(v any) []any { l, _ := v.([]any); return l }

func (d *deckBoat) part(id string, v any, stock map[string]any) {
	m, ok := v.(map[string]any)
	if !ok { // class-t 200 A
		f := strings.Fields(fmt.Sprint(v))
		m = map[string]any{"kind": "fuse", "family": f[0], "rating": strings.Join(f[1:], " ")}
	}
	out := map[string]any{}
	if s, ok := m["stock"]; ok {
		for k, v := range stock[fmt.Sprint(s)].(map[string]any) {
			out[k] = v
		}
	}
	for k, v := range m {
		out[k] = v
	}
	d.parts[id] = out
}

var deckUnits = map[string]float64{"": 1, "V": 1, "mV": 1e-3, "A": 1, "mA": 1e-3, "kA": 1e3, "W": 1, "kW": 1e3, "ohm": 1, "Ω": 1, "mohm": 1e-3, "mΩ": 1e-3,
	"m": 1, "mm": 1e-3, "ft": 0.3048, "in": 0.0254, "°C": 1, "Ah": 1, "%": 0.01, "h": 1, "rpm": 1, "mm2": 1, "mm²": 1}

func (d *deckBoat) num(v any) float64 {
	f := strings.Fields(fmt.Sprint(v))
	x, err := strconv.ParseFloat(f[0], 64)
	if err != nil {
		d.t.Fatalf("deck: %v is no number", v)
	}
	u := ""
	if len(f) > 1 {
		u = f[1]
	}
	k, ok := deckUnits[u]
	if !ok {
		d.t.Fatalf("deck: unit of %v", v)
	}
	return x * k
}

// area reads a conductor size from the table of areas (ASTM B258), or in mm².
func (d *deckBoat) area(v any) float64 {
	f := strings.Fields(fmt.Sprint(v))
	if strings.HasPrefix(f[len(f)-1], "mm") {
		return d.num(v)
	}
	for _, r := range table(d.t, "resistance_awg") {
		if r["awg"] == f[0] {
			if f[1] == "SAE" {
				return atof(r["sae_mm2"])
			}
			n := awgNumber(f[0]) // d = 0.005 in × 92^((36 − n)/39), ASTM B258
			dia := 0.127 * math.Pow(92, (36-n)/39)
			if x := math.Pi / 4 * dia * dia; math.Abs(x/atof(r["area_mm2"])-1) < 1e-3 {
				return x
			}
			return atof(r["area_mm2"])
		}
	}
	d.t.Fatalf("deck: size %v", v)
	return 0
}

func awgNumber(s string) float64 {
	if n, _, ok := strings.Cut(s, "/"); ok {
		return 1 - atof(n)
	}
	return atof(s)
}

func atof(s string) float64 { x, _ := strconv.ParseFloat(s, 64); return x }

func table(t *testing.T, name string) []map[string]string {
	f, err := os.Open("../tables/data/" + name + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	r.LazyQuotes = true
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range all[1:] {
		m := map[string]string{}
		for i, h := range all[0] {
			m[h] = row[i]
		}
		out = append(out, m)
	}
	return out
}

// ambient is the hottest space of the ends: 30 °C where none is stated, 50 °C in
// an engine space (33 CFR 183 Table 5).
func (d *deckBoat) ambient(w map[string]any, ends ...string) float64 {
	t, some := 30.0, false
	add := func(space any) {
		s, ok := d.spaces[fmt.Sprint(space)].(map[string]any)
		if !ok {
			return
		}
		x := 30.0
		if a, ok := s["ambient"]; ok {
			x = d.num(a)
		} else if truth(s["engine"]) {
			x = 50
		}
		if !some || x > t {
			t, some = x, true
		}
	}
	for _, e := range ends {
		id, _, _ := strings.Cut(e, ".")
		add(d.parts[id]["space"])
	}
	for _, s := range list(w["through"]) {
		add(s)
	}
	return t
}

func truth(v any) bool { s := strings.ToLower(fmt.Sprint(v)); return s == "yes" || s == "true" }

// copper: ρ20 (1 + 0.00393 (T − 20)) L / A, ρ20 = 0.017241 Ω·mm²/m (IEC 60028).
func copper(length, area, at float64) float64 {
	return 0.017241 * (1 + 0.00393*(at-20)) * length / area
}

func (d *deckBoat) joint(id string) bool {
	switch fmt.Sprint(d.parts[id]["kind"]) {
	case "bus", "block", "stud", "ground", "bond", "anode":
		return true
	}
	return false
}

func (d *deckBoat) ends(id string) (in, out string) {
	if fmt.Sprint(d.parts[id]["kind"]) == "shunt" {
		return id + ".battery", id + ".load"
	}
	return id + ".in", id + ".out"
}

// place turns what a line names into a terminal.
func (d *deckBoat) place(v any) string {
	if m, ok := v.(map[string]any); ok {
		for id, p := range m {
			d.part(id, p, nil)
			d.order = append(d.order, id)
			return id
		}
	}
	return fmt.Sprint(v)
}

// lone is the terminal of an end that names a part without one.
func (d *deckBoat) lone(s string) string {
	id, _, has := strings.Cut(s, ".")
	if d.joint(id) {
		return id
	}
	if has {
		return s
	}
	in, out := d.ends(id)
	if d.met[id]++; d.met[id] == 1 {
		return in
	}
	return out
}

func (d *deckBoat) wireItem(w map[string]any, section string) {
	if w["cable"] != nil {
		return
	}
	var stops []string
	if p := list(w["path"]); p != nil {
		for _, v := range p {
			stops = append(stops, d.place(v))
		}
	} else {
		stops = []string{d.place(w["from"]), d.place(w["to"])}
	}
	d.run(w, fmt.Sprint(w["id"]), "", stops)
}

// run adds the stretches of a path. Two terminals of one part that follow each
// other are passed inside it, and make no stretch.
func (d *deckBoat) run(w map[string]any, id, suffix string, stops []string) {
	type hop struct{ from, to string }
	var hops []hop
	at := d.lone(stops[0])
	for i := 1; i < len(stops); i++ {
		s := stops[i]
		pid, _, has := strings.Cut(s, ".")
		prev, _, _ := strings.Cut(at, ".")
		switch {
		case has && pid == prev && !d.joint(pid):
			at = s
			continue
		case !has && !d.joint(pid) && i < len(stops)-1:
			in, out := d.ends(pid)
			hops = append(hops, hop{at, in})
			at = out
		default:
			to := d.lone(s)
			hops = append(hops, hop{at, to})
			at = to
		}
	}
	lengths := list(w["lengths"])
	for i, h := range hops {
		name := id + suffix
		if len(hops) > 1 {
			name += string(rune('a' + i))
		}
		length := 0.0
		switch {
		case lengths != nil && i < len(lengths) && suffix != "-":
			length = d.num(lengths[i])
		case lengths != nil:
			for _, l := range lengths {
				length += d.num(l)
			}
		case w["length"] != nil:
			length = d.num(w["length"]) / float64(len(hops))
		}
		x := deckWire{id: name, from: h.from, to: h.to}
		if r, ok := w["resistance"]; ok {
			x.ohms = d.num(r)
			x.cold = x.ohms
		} else if length > 0 {
			a := d.area(w["size"])
			if p, ok := w["parallel"]; ok {
				a *= d.num(p)
			}
			x.ohms, x.cold = copper(length, a, d.ambient(w, h.from, h.to)), copper(length, a, 20)
		}
		d.wires = append(d.wires, x)
	}
}

func (d *deckBoat) circuit(c map[string]any) {
	if defs, ok := d.defs["circuits"].(map[string]any); ok {
		for k, v := range defs {
			if _, own := c[k]; !own {
				c[k] = v
			}
		}
	}
	stops := []string{d.place(c["feed"])}
	for _, v := range list(c["via"]) {
		stops = append(stops, d.place(v))
	}
	loads := list(c["load"])
	if loads == nil {
		loads = []any{c["load"]}
	}
	first := ""
	for i, l := range loads {
		id := d.place(l)
		if i == 0 {
			first = id
			continue
		}
		d.wires = append(d.wires, deckWire{id: "", from: first + ".+", to: id + ".+"}, deckWire{id: "", from: first + ".-", to: id + ".-"})
	}
	delete(c, "path")
	id := fmt.Sprint(c["id"])
	d.run(c, id, "+", append(stops, first+".+"))
	d.run(c, id, "-", []string{first + ".-", fmt.Sprint(c["return"])})
}

func (d *deckBoat) n(terminal string) string {
	id, _, _ := strings.Cut(terminal, ".")
	if d.joint(id) {
		terminal = id
	}
	k, ok := d.node[terminal]
	if !ok {
		k = len(d.node) + 1
		d.node[terminal] = k
	}
	return fmt.Sprintf("n%d", k)
}

func (d *deckBoat) line(format string, args ...any) {
	d.lines = append(d.lines, fmt.Sprintf(format, args...))
}

func (d *deckBoat) resistor(name, a, b string, ohms float64) {
	// ngspice has no resistor of nothing, and chains of zero-volt sources make it
	// answer wrongly without a word (checks.md, trap 7).
	d.line("r%s %s %s %.17g", name, d.n(a), d.n(b), math.Max(ohms, 1e-7))
}

func safe(id string) string {
	return strings.NewReplacer("+", "p", "-", "m", ".", "_").Replace(strings.ToLower(id))
}

// ocv reads the rest-voltage table: the middle of its span, straight between its
// points.
func (d *deckBoat) ocv(chemistry string, charge float64) float64 {
	var xs, ys []float64
	for _, r := range table(d.t, "battery_ocv") {
		if r["chemistry"] == chemistry {
			xs, ys = append(xs, atof(r["soc_pct"])/100), append(ys, (atof(r["low_v"])+atof(r["high_v"]))/2)
		}
	}
	for i := 1; i < len(xs); i++ { // falling
		if charge >= xs[i] {
			return ys[i] + (ys[i-1]-ys[i])*(charge-xs[i])/(xs[i-1]-xs[i])
		}
	}
	d.t.Fatalf("deck: rest voltage of %s", chemistry)
	return 0
}

// battery returns the electromotive force and the internal resistance; short asks
// for the low end of the range.
func (d *deckBoat) battery(id string, charge float64, short bool) (emf, ohms float64) {
	p := d.parts[id]
	chem := fmt.Sprint(p["chemistry"])
	of12 := 1.0
	if v, ok := p["volts"]; ok {
		of12 = math.Round(d.num(v) / 12.4)
	}
	if e, ok := p["emf"]; ok {
		emf = d.num(e)
	} else {
		emf = d.ocv(chem, charge) * of12
	}
	fc, hasFault := p["fault-current"]
	switch {
	case hasFault && short:
		full := emf
		if _, ok := p["emf"]; !ok {
			full = d.ocv(chem, 1) * of12
		}
		return emf, full / d.num(fc)
	case p["resistance"] != nil:
		return emf, d.num(p["resistance"])
	case hasFault:
		return emf, d.num(p["volts"]) / d.num(fc) // nominal volts over the stated current
	case p["cranking"] != nil: // (12.6 − 7.2) V over the rating, halved warm
		return emf, (12.6 - 7.2) / d.num(p["cranking"]) * of12 / 2
	}
	for _, r := range table(d.t, "battery_facts") {
		if r["fact"] == "resistance_mohm" && r["chemistry"] == chem {
			mid := (atof(r["low"]) + atof(r["high"])) / 2
			if short {
				mid = atof(r["low"])
			}
			return emf, mid / 1e3 * of12 * 100 / d.num(p["capacity"])
		}
	}
	d.t.Fatalf("deck: resistance of %s", id)
	return 0, 0
}

// fuseOhms: 100 mV at the rated current, 70 mV for bolted families (common
// practice, no source), unless stated.
func (d *deckBoat) fuseOhms(p map[string]any, rating any, family string) float64 {
	if r, ok := p["resistance"]; ok {
		return d.num(r)
	}
	drop := 0.100
	switch family {
	case "strip", "strip-48v", "single-bolt", "terminal", "class-t", "class-j":
		drop = 0.070
	}
	return drop / d.num(rating)
}

// write writes the deck of a condition. amps, by part, are the outputs of
// alternators at their limit.
func (d *deckBoat) write(cond map[string]any, all bool) {
	running := map[string]bool{}
	for _, r := range list(cond["running"]) {
		running[strings.Fields(fmt.Sprint(r))[0]] = true
	}
	open := map[string]bool{}
	for _, o := range list(cond["open"]) {
		open[fmt.Sprint(o)] = true
	}
	off := map[string]bool{}
	for _, o := range list(cond["off"]) {
		off[fmt.Sprint(o)] = true
	}
	d.network(func(id, pos string) bool { return !open[id] && pos != "open" }, false)
	for _, id := range d.order {
		p := d.parts[id]
		switch kind := fmt.Sprint(p["kind"]); kind {
		case "battery":
			charge := 1.0
			if c, ok := cond["charge"]; ok {
				charge = d.num(c)
			}
			emf, ohms := d.battery(id, charge, false)
			s := safe(id)
			d.line("vb%s x%s %s dc %.17g", s, s, d.n(id+".-"), emf)
			d.line("rb%s x%s %s %.17g", s, s, d.n(id+".+"), ohms)
		case "alternator":
			d.alternator(id, cond)
		case "converter", "dc-charger":
			d.converter(id, cond, off[id])
		case "load", "light", "windlass", "thruster", "starter", "electronics", "fan", "heater", "refrigerator", "monitor", "alarm", "pump", "aircon", "water-maker", "toilet":
			if (running[id] || all) && p["draw"] != nil && fmt.Sprint(p["drive"]) != "hand" && fmt.Sprint(p["supply"]) != "ac" {
				d.load(id)
			}
		case "control":
			if p["draw"] != nil {
				d.line("il%s %s %s dc %.17g", safe(id), d.n(id+".+"), d.n(id+".-"), d.num(p["draw"]))
			}
		case "inverter", "inverter-charger":
			idle := 0.0
			if v, ok := p["idle"]; ok {
				idle = d.num(v)
			}
			if idle > 0 {
				d.line("bl%s %s %s i=%.17g/v(%s,%s)", safe(id), d.n(id+".+"), d.n(id+".-"), idle, d.n(id+".+"), d.n(id+".-"))
			}
		}
	}
}

// network writes wires, devices, contacts and shunts; with cold copper at 20 °C.
func (d *deckBoat) network(closed func(id, position string) bool, cold bool) {
	for i, w := range d.wires {
		r := w.ohms
		if cold {
			r = w.cold
		}
		d.resistor(fmt.Sprintf("w%d", i), w.from, w.to, r)
	}
	for _, id := range d.order {
		p := d.parts[id]
		pos := fmt.Sprint(p["position"])
		s := safe(id)
		stated := func(def float64) float64 {
			if r, ok := p["resistance"]; ok {
				return d.num(r)
			}
			return def
		}
		switch fmt.Sprint(p["kind"]) {
		case "fuse", "breaker":
			if closed(id, "closed") {
				d.resistor("d"+s, id+".in", id+".out", d.fuseOhms(p, p["rating"], fmt.Sprint(p["family"])))
			}
		case "switch", "relay", "float-switch", "level-sensor", "thermostat":
			if closed(id, pos) {
				d.resistor("c"+s, id+".in", id+".out", stated(0.0002))
			}
		case "selector":
			for _, n := range []string{"1", "2"} {
				if closed(id, "closed") && (pos == n || pos == "both" || pos == "<nil>" && n == "1" || cold) {
					d.resistor("c"+s+n, id+"."+n, id+".common", stated(0.0002))
				}
			}
		case "control":
			for way := range p["ways"].(map[string]any) {
				d.resistor("c"+s+way, id+".+", id+"."+way, 0.0002)
			}
		case "shunt":
			mv := 0.05
			if v, ok := p["millivolts"]; ok {
				mv = d.num(v)
			}
			d.resistor("s"+s, id+".battery", id+".load", stated(mv/d.num(p["rating"])))
		case "panel", "fuse-block":
			for way, v := range p["ways"].(map[string]any) {
				w := v.(map[string]any)
				family := fmt.Sprint(p["family"])
				if f, ok := w["family"]; ok {
					family = fmt.Sprint(f)
				}
				if w["rating"] != nil {
					d.resistor("d"+s+"_"+way, id+".in", id+"."+way, d.fuseOhms(map[string]any{}, w["rating"], family))
				} else {
					d.resistor("d"+s+"_"+way, id+".in", id+"."+way, 0)
				}
			}
		}
	}
}

func (d *deckBoat) load(id string) {
	p := d.parts[id]
	count := 1.0
	if c, ok := p["count"]; ok {
		count = d.num(c)
	}
	draw := fmt.Sprint(p["draw"])
	x := d.num(draw) * count
	watts := strings.HasSuffix(draw, "W")
	model := fmt.Sprint(p["model"])
	if model == "<nil>" {
		model = map[bool]string{true: "power", false: "current"}[watts]
	}
	volts := 0.0
	if v, ok := p["volts"]; ok {
		volts = d.num(v)
	}
	a, b, s := d.n(id+".+"), d.n(id+".-"), safe(id)
	switch {
	case model == "current" && !watts:
		d.line("il%s %s %s dc %.17g", s, a, b, x)
	case model == "power" && watts:
		d.line("bl%s %s %s i=%.17g/v(%s,%s)", s, a, b, x, a, b)
	case model == "power":
		d.line("bl%s %s %s i=%.17g/v(%s,%s)", s, a, b, x*volts, a, b)
	case model == "resistance" && watts:
		d.line("rl%s %s %s %.17g", s, a, b, volts*volts/x)
	case model == "resistance":
		d.line("rl%s %s %s %.17g", s, a, b, volts/x)
	default:
		d.line("il%s %s %s dc %.17g", s, a, b, x/volts)
	}
}

// alternator at its current limit: straight lines between the points of its
// curve, by engine speed × ratio; its case is its negative where nothing is
// joined to it.
func (d *deckBoat) alternator(id string, cond map[string]any) {
	rpm := 0.0
	switch e := cond["engine"].(type) {
	case map[string]any:
		rpm = d.num(e[fmt.Sprint(d.parts[id]["engine"])])
	case nil:
	default:
		rpm = d.num(e)
	}
	p := d.parts[id]
	amps := d.curve(p["output"], rpm*d.num(p["ratio"]))
	if amps > 0 {
		d.line("ia%s %s %s dc %.17g", safe(id), d.n(id+".-"), d.n(id+".+"), amps)
	}
}

func (d *deckBoat) curve(v any, x float64) float64 {
	m := v.(map[string]any)
	var xs, ys []float64
	for k, y := range m {
		xs, ys = append(xs, d.num(k)), append(ys, d.num(y))
	}
	for i := range xs {
		for k := i + 1; k < len(xs); k++ {
			if xs[k] < xs[i] {
				xs[i], xs[k], ys[i], ys[k] = xs[k], xs[i], ys[k], ys[i]
			}
		}
	}
	if x < xs[0] {
		return 0
	}
	for i := 1; i < len(xs); i++ {
		if x <= xs[i] {
			return ys[i-1] + (ys[i]-ys[i-1])*(x-xs[i-1])/(xs[i]-xs[i-1])
		}
	}
	return ys[len(ys)-1]
}

// converter: constant voltage, or constant current for a battery-to-battery
// charger whose engine turns; its negatives are one point.
func (d *deckBoat) converter(id string, cond map[string]any, off bool) {
	p := d.parts[id]
	if p["engine"] != nil && cond["engine"] == nil {
		off = true
	}
	s, ip, im, op := safe(id), d.n(id+".in+"), d.n(id+".in-"), d.n(id+".out+")
	d.line("vn%s %s %s dc 0", s, im, d.n(id+".out-"))
	if off {
		return
	}
	om := d.n(id + ".out-")
	eff, idle := 0.9, 0.0
	if v, ok := p["efficiency"]; ok {
		eff = d.num(v)
	}
	if v, ok := p["idle"]; ok {
		idle = d.num(v)
	}
	if fmt.Sprint(p["kind"]) == "dc-charger" || fmt.Sprint(p["holds"]) == "current" {
		amps := d.num(p["output"])
		d.line("io%s %s %s dc %.17g", s, om, op, amps)
		d.line("bi%s %s %s i=(%.17g+v(%s,%s)*%.17g/%.17g)/v(%s,%s)", s, ip, im, idle, op, om, amps, eff, ip, im)
		return
	}
	droop := 0.0
	if v, ok := p["resistance"]; ok {
		droop = d.num(v)
	}
	d.line("vo%s y%s %s dc %.17g", s, s, om, d.num(p["volts"]))
	if droop > 0 {
		d.line("ro%s y%s %s %.17g", s, s, op, droop)
	} else {
		d.line("ro%s y%s %s 1e-9", s, s, op)
	}
	d.line("bi%s %s %s i=(%.17g-v(%s,%s)*i(vo%s)/%.17g)/v(%s,%s)", s, ip, im, idle, op, om, s, eff, ip, im)
}
