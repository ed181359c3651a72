package label

import (
	"fmt"
	"strings"

	"fitout/render/list"
	"fitout/schema"
)

// State is a valve's or switch's usual state in the words on tags.
func State(normal string) string {
	switch normal {
	case "closed":
		return "SHUT"
	case "open":
		return "OPEN"
	}
	return strings.ToUpper(normal)
}

// valves are tags for every seacock, valve and diverter: the usual state large,
// what it is for, which way the water goes, what stops when it is shut.
func (g *gatherer) valves() []*Label {
	var out []*Label
	for _, p := range g.parts() {
		if !isValve(p) {
			continue
		}
		n := g.facts.Normal(p)
		l := g.plate(Valves, p)
		l.Lines[0].Lead = 1
		l.Lines = append(l.Lines, Line{Text: "normally"}, Line{Text: State(n), Lead: 3, Bold: true})
		if s := g.way(p); s != "" {
			l.Lines = append(l.Lines, Line{Text: s, Rank: 2, Rows: 2})
		}
		if t := g.consequence(p, n); t != "" {
			l.Lines = append(l.Lines, Line{Text: t, Rank: 3, Rows: 4})
		}
		out = append(out, l)
	}
	return out
}

// consequence says what hangs on a valve: an engine that must not be started with
// it shut, else what stops.
func (g *gatherer) consequence(p *schema.Part, normal string) string {
	for _, q := range g.survey.Lost(p, "").Dry {
		if q.Is(schema.Engine) {
			return strings.TrimSpace("open before starting " + q.ID + " " + g.facts.Title(q))
		}
	}
	switch stops := g.facts.Stops(p); {
	case stops == "":
		return ""
	case normal == "open":
		return "shut stops " + stops
	default:
		return "serves " + stops
	}
}

// isValve reports whether a hand turns it to let water pass or not.
func isValve(p *schema.Part) bool {
	if p.Roles().Any(schema.Seacock | schema.Shutoff) {
		return true
	}
	for _, c := range p.Channels() {
		if c.Type == schema.Valve && p.Kind.Attr("position") != nil {
			return true
		}
	}
	return false
}

// way says which way the water goes: by the opening's service, else by the flow
// of the hoses on either side.
func (g *gatherer) way(p *schema.Part) string {
	if p.Host != nil {
		s := p.Host.Word("service").V
		switch s {
		case "":
			return ""
		case "intake":
			return "intake: sea → boat"
		}
		return s + ": boat → sea"
	}
	var from, to []string
	for _, h := range g.survey.Boat.Hoses {
		if h.From.Part != p && h.To.Part != p {
			continue
		}
		d, far := g.flow(h), h.From
		if h.From.Part == p {
			d, far = -d, h.To
		}
		switch {
		case d > 0:
			from = append(from, endName(far))
		case d < 0:
			to = append(to, endName(far))
		}
	}
	if len(from) == 0 && len(to) == 0 {
		return ""
	}
	return strings.TrimSpace(strings.Join(from, ", ") + " → " + strings.Join(to, ", "))
}

func endName(e schema.HoseEnd) string {
	if e.IsOpen() {
		return e.Open.Name()
	}
	return e.Part.ID
}

// plate begins a tag of a part: its id large, what it is below.
func (g *gatherer) plate(k Kind, p *schema.Part) *Label {
	return &Label{Kind: k, ID: p.ID, Space: p.Space, Copies: 1, Code: g.code(k, p, p.Space),
		Lines: []Line{{Text: p.ID, Lead: 2, Bold: true}, {Text: g.title(p), Bold: true, Rank: 1, Rows: 2}}}
}

// title is the text the file wants on the label, else what the part is.
func (g *gatherer) title(p *schema.Part) string {
	if p.Kind.Attr("label") != nil {
		if l := p.Word("label"); l.Given() {
			return l.V
		}
	}
	return g.facts.Title(p)
}

// openings are tags for every hole in the hull, numbered bow to stern as on the
// emergency plan.
func (g *gatherer) openings() []*Label {
	var out []*Label
	for i, p := range list.Openings(g.survey.Boat) {
		l := g.plate(Openings, p)
		l.Lines[0].Text = fmt.Sprintf("%d  %s", i+1, p.ID)
		what := strings.ReplaceAll(strings.TrimSpace(p.Word(openingWord(p)).V), "-", " ")
		if v := p.Metres("size"); v.Given() {
			what = strings.TrimSpace(what + " " + v.V.BoreText())
		}
		if what != "" {
			l.Lines = append(l.Lines, Line{Text: what, Rank: 3, Rows: 2})
		}
		shut := "NO VALVE"
		if p.Cock != nil {
			shut = "shut " + p.Cock.ID
		}
		if v := p.Metres("size"); v.Given() {
			shut += fmt.Sprintf(", plug %.0f mm", float64(v.V)*1000)
		}
		l.Lines = append(l.Lines, Line{Text: shut, Bold: true, Lead: 1, Rows: 2})
		if h := p.Height(); h.Given() {
			l.Lines = append(l.Lines, Line{Text: heightText(float64(h.V)), Rank: 2, Rows: 2})
		}
		out = append(out, l)
	}
	return out
}

// openingWord is the attribute that says what an opening is for.
func openingWord(p *schema.Part) string {
	if p.Kind.Attr("service") != nil {
		return "service"
	}
	return "type"
}

func heightText(h float64) string {
	if h < 0 {
		return fmt.Sprintf("%.2f m BELOW water", -h)
	}
	return fmt.Sprintf("%.2f m above water", h)
}

// devices are labels for every fuse, breaker and switch that stands by itself:
// id, circuit, rating. A device's label gives its load and its setting (46 CFR
// 111.30-15 asks it of passenger vessels).
func (g *gatherer) devices() []*Label {
	var out []*Label
	for _, p := range g.parts() {
		r := p.Roles()
		if !r.Any(schema.Protection|schema.Switching|schema.Residual) || r.Any(schema.Panel) || isValve(p) {
			continue
		}
		l := g.plate(Devices, p)
		if s := rating(p); s != "" {
			l.Lines = append(l.Lines, Line{Text: s, Bold: true, Lead: 1, Rows: 2})
		}
		out = append(out, l)
	}
	return out
}

func rating(p *schema.Part) string {
	if p.Kind.Rating == nil {
		return ""
	}
	return p.Kind.Rating(p)
}

// panels are strips: the ways in order at the panel's pitch, spare ones too.
func (g *gatherer) panels() []*Label {
	var out []*Label
	for _, p := range g.parts() {
		if len(p.Ways) == 0 {
			continue
		}
		l := &Label{Kind: Panels, ID: p.ID, Space: p.Space, Copies: 1, Lines: []Line{{Text: p.ID, Bold: true}, {Text: g.title(p), Rank: 1, Rows: 2}}}
		for _, w := range p.Ways {
			l.cells = append(l.cells, g.cell(p, w))
		}
		out = append(out, l)
	}
	return out
}

func (g *gatherer) cell(p *schema.Part, w schema.Way) *Label {
	l := &Label{Kind: Panels, ID: p.ID, At: w.Key, Space: p.Space, Copies: 1, Lines: []Line{{Text: w.Key, Bold: true, Lead: 1}}}
	text := w.Title.V
	switch {
	case w.Label.Given():
		text = w.Label.V
	case w.Spare:
		text = "spare"
	}
	if text != "" {
		l.Lines = append(l.Lines, Line{Text: text, Bold: !w.Spare, Rank: 2, Rows: 3})
	}
	if w.Rating.Given() {
		l.Lines = append(l.Lines, Line{Text: w.Rating.V.RatingText(), Rank: 1})
	}
	return l
}

// batteries are tags for batteries and other sources, and for the bars, blocks and
// studs that many cables meet at, the polarity large.
func (g *gatherer) batteries() []*Label {
	var out []*Label
	for _, p := range g.parts() {
		r := p.Roles()
		if !r.Any(schema.Source|schema.Storage|schema.Distribution|schema.Grounding) || r.Any(schema.Panel|schema.Protection) {
			continue
		}
		l := g.plate(Batteries, p)
		if sign, word := polarity(p); word != "" {
			l.Lines = append(l.Lines, Line{Text: word, Bold: true, Lead: 1})
			if sign != "" {
				l.Lines[0].Text = sign + " " + l.Lines[0].Text
			}
		}
		if s := rating(p); s != "" {
			l.Lines = append(l.Lines, Line{Text: s, Rank: 2, Rows: 2})
		}
		if r.Any(schema.Storage) {
			l.Lines = append(l.Lines, Line{Text: "minus cable off first, on last", Rank: 3, Rows: 2})
		}
		out = append(out, l)
	}
	return out
}

func polarity(p *schema.Part) (sign, word string) {
	if p.Kind.Attr("polarity") == nil {
		return "", ""
	}
	switch s := p.Word("polarity").V; s {
	case "positive":
		return "+", "POSITIVE"
	case "negative":
		return "−", "NEGATIVE"
	default:
		return "", strings.ToUpper(s)
	}
}

// warnings are for what stays live with every switch and breaker off: batteries
// left out, which everybody knows of, and loads, whose covers nobody opens with
// a spanner in hand; the space sheet names those.
func (g *gatherer) warnings() []*Label {
	var out []*Label
	for _, p := range g.parts() {
		r := p.Roles()
		if r.Any(schema.Storage) || !r.Any(schema.Protection|schema.Distribution|schema.Switching|schema.Measuring|schema.Source|schema.Converter|schema.Charging|schema.Inverting|schema.ShorePower) {
			continue
		}
		from, kill, ok := g.facts.Live(p)
		if !ok {
			continue
		}
		l := g.plate(Warnings, p)
		l.frame = true
		l.Lines = []Line{
			{Text: "LIVE", Bold: true, Lead: 2}, {Text: "with every switch off", Bold: true, Lead: 1, Rows: 2},
			{Text: strings.TrimSpace(p.ID + " " + g.title(p)), Bold: true, Rows: 2},
			{Text: "from " + from, Rank: 2, Rows: 4}, {Text: "to make it dead: " + kill, Rank: 1, Rows: 6},
		}
		out = append(out, l)
	}
	return out
}
