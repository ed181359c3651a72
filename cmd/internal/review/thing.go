package review

import (
	"strings"

	"fitout/schema"
	"fitout/schema/source"
	"fitout/validate/survey"
)

// detail is all there is to say about one part or run.
type detail struct {
	ID     string  `json:"id"`
	Type   string  `json:"type"`
	Title  string  `json:"title"`
	Space  string  `json:"space"`
	File   string  `json:"file"`
	Line   int     `json:"line"`
	Values []value `json:"values"`
	Ways   []way   `json:"ways"`
	Dead   []thing `json:"dead"`
	Dry    []thing `json:"dry"`
	// Only are fed only while something else gives; Uncharged the batteries that
	// nothing charges any more.
	Only      []kept    `json:"only"`
	Uncharged []thing   `json:"uncharged"`
	Lost      bool      `json:"lost"` // Dead and Dry were computed
	Figure    []figure  `json:"figures"`
	Finds     []finding `json:"findings"`
}

type value struct {
	Name string `json:"name"`
	Text string `json:"text"`
	From string `json:"from,omitempty"`
	File string `json:"file,omitempty"`
	Line int    `json:"line,omitempty"`
}

type way struct {
	Word  string `json:"word"`
	To    thing  `json:"to"`
	Water bool   `json:"water"`
	Steps []step `json:"steps"`
}

type step struct {
	ID    string `json:"id"`
	Text  string `json:"text"`
	Opens bool   `json:"opens"`
	Shut  bool   `json:"shut"`
}

// things lists what can be looked at: parts, wires and hoses.
func (n *snapshot) things() []thing {
	out := []thing{}
	for _, p := range n.job.Boat.Parts {
		out = append(out, partThing(p))
	}
	seen := map[string]bool{}
	for _, w := range n.job.Boat.Wires {
		if !w.Implied && !seen[w.Ref()] {
			seen[w.Ref()] = true
			out = append(out, thing{w.Ref(), "wire", w.From.String() + " to " + w.To.String()})
		}
	}
	for _, h := range n.job.Boat.Hoses {
		if !h.Implied {
			out = append(out, thing{h.ID, "hose", h.From.String() + " to " + h.To.String()})
		}
	}
	return out
}

func partThing(p *schema.Part) thing {
	title := p.Title()
	if title == "" {
		title = p.Kind.Title
	}
	return thing{p.ID, "part", title}
}

// thing tells about the part or run with an id.
func (n *snapshot) thing(id string) (any, bool) {
	var d *detail
	n.with(func() {
		id, _, _ := strings.Cut(id, ".")
		if p := n.job.Boat.Part(id); p != nil {
			d = n.partDetail(p)
		}
	})
	if d == nil {
		n.with(func() { d = n.runDetail(id) })
	}
	if d == nil {
		return nil, false
	}
	d.Figure, d.Finds = []figure{}, []finding{}
	for _, f := range n.figures {
		if f.ID == d.ID || strings.HasPrefix(f.ID, d.ID+".") {
			d.Figure = append(d.Figure, figure{f.ID, f.Condition, string(f.Quantity), f.Value, f.Text(), f.Known()})
		}
	}
	for _, f := range findingsOf(n.job.Result) {
		for _, at := range f.At {
			if at == d.ID || strings.HasPrefix(at, d.ID+".") {
				d.Finds = append(d.Finds, f)
				break
			}
		}
	}
	return d, true
}

// kept is a part that is fed only for as long as something gives.
type kept struct {
	thing
	While string `json:"while"`
}

var origins = map[schema.Origin]string{schema.FromStock: "from stock", schema.FromFile: "from defaults", schema.ByKind: "by default", schema.Derived: "derived"}

func (n *snapshot) partDetail(p *schema.Part) *detail {
	d := &detail{ID: p.ID, Type: p.Kind.Title, Title: p.Title(), Space: p.Space.Name(), Values: []value{}}
	d.File, d.Line = place(p.At)
	for i := range p.Attrs {
		v := &p.Attrs[i]
		if v.Attr.Name == "title" || v.Attr.Name == "space" {
			continue
		}
		d.add(v.Attr.Name, v.Text, v.From, v.At)
	}
	for _, w := range p.Ways {
		d.add("way "+w.Key, strings.TrimSpace(w.Title.V+" "+w.Rating.Text), schema.Own, w.At)
	}
	d.Ways = n.ways(n.job.Survey.Ways(p))
	if !p.Prepared {
		d.loss(n.job.Survey.Lost(p, ""))
	}
	return d
}

func (d *detail) add(name, text string, from schema.Origin, at source.Span) {
	if text == "" {
		return
	}
	v := value{Name: name, Text: text, From: origins[from]}
	v.File, v.Line = place(at)
	d.Values = append(d.Values, v)
}

func (d *detail) loss(l survey.Loss) {
	d.Lost, d.Dead, d.Dry, d.Only, d.Uncharged = true, []thing{}, []thing{}, []kept{}, []thing{}
	for _, p := range l.Dead {
		d.Dead = append(d.Dead, partThing(p))
	}
	for _, k := range l.Only {
		d.Only = append(d.Only, kept{partThing(k.Part), k.While()})
	}
	for _, p := range l.Uncharged {
		d.Uncharged = append(d.Uncharged, partThing(p))
	}
	for _, p := range l.Dry {
		d.Dry = append(d.Dry, partThing(p))
	}
}

func (n *snapshot) ways(list []survey.Way) []way {
	out := []way{}
	for _, w := range list {
		j := way{Word: w.Word(), To: partThing(w.To), Water: w.Water, Steps: []step{}}
		for _, st := range w.Steps {
			j.Steps = append(j.Steps, stepOf(st))
		}
		out = append(out, j)
	}
	return out
}

func stepOf(st survey.WayStep) step {
	out := step{ID: st.ID, Opens: st.Opens, Shut: st.Shut}
	switch {
	case st.Wire != nil:
		out.Text = strings.TrimSpace("wire " + st.Wire.Size.Text)
	case st.Hose != nil:
		out.Text = strings.TrimSpace("hose " + st.Hose.Bore.Text)
	default:
		out.Text = st.Part.Kind.Title
		if t := st.Part.Title(); t != "" {
			out.Text += ", " + t
		}
		if sp := st.Space(); sp != nil {
			out.Text += ", in " + sp.Name()
		}
	}
	return out
}

// runDetail tells about a wire or hose: its ways are those of the parts at its
// ends that pass through it.
func (n *snapshot) runDetail(id string) *detail {
	s := n.job.Survey
	for _, w := range n.job.Boat.Wires {
		if w.Implied || w.Ref() != id && w.ID != id {
			continue
		}
		d := &detail{ID: w.Ref(), Type: "wire", Title: w.Title.V, Values: []value{}}
		d.File, d.Line = place(w.At)
		d.add("from", w.From.String(), schema.Own, w.From.At)
		d.add("to", w.To.String(), schema.Own, w.To.At)
		d.add("size", w.Size.Text, w.Size.From, w.Size.At)
		d.add("length", w.Length.Text, w.Length.From, w.Length.At)
		d.add("colour", w.Color.V, w.Color.From, w.Color.At)
		d.add("insulation", w.Insulation.Text, w.Insulation.From, w.Insulation.At)
		d.add("loom", w.Loom.V, w.Loom.From, w.Loom.At)
		d.add("label", w.Label.V, w.Label.From, w.Label.At)
		d.add("note", w.Note.V, w.Note.From, w.Note.At)
		d.Ways = n.through(id, w.From.Part, w.To.Part)
		d.loss(s.LostRun(w, nil))
		return d
	}
	for _, h := range n.job.Boat.Hoses {
		if h.Implied || h.ID != id {
			continue
		}
		d := &detail{ID: h.ID, Type: "hose", Title: h.Title.V, Values: []value{}}
		d.File, d.Line = place(h.At)
		d.add("from", h.From.String(), schema.Own, h.From.At)
		d.add("to", h.To.String(), schema.Own, h.To.At)
		d.add("bore", h.Bore.Text, h.Bore.From, h.Bore.At)
		d.add("length", h.Length.Text, h.Length.From, h.Length.At)
		d.add("material", h.Material.V, h.Material.From, h.Material.At)
		d.add("clamps", h.Clamps.Text, h.Clamps.From, h.Clamps.At)
		d.add("peak", h.Peak.Text, h.Peak.From, h.Peak.At)
		d.add("dip", h.Dip.Text, h.Dip.From, h.Dip.At)
		d.add("note", h.Note.V, h.Note.From, h.Note.At)
		d.Ways = n.through(id, h.From.Part, h.To.Part)
		d.loss(s.LostRun(nil, h))
		return d
	}
	return nil
}

func (n *snapshot) through(id string, ends ...*schema.Part) []way {
	out := []way{}
	for _, p := range ends {
		if p == nil {
			continue
		}
		for _, w := range n.ways(n.job.Survey.Ways(p)) {
			for _, st := range w.Steps {
				if st.ID == id {
					out = append(out, w)
					break
				}
			}
		}
	}
	return out
}

// conditionFacts words what a condition states.
func conditionFacts(c *schema.Condition) string {
	var parts []string
	add := func(name, text string) {
		if text != "" {
			parts = append(parts, name+" "+text)
		}
	}
	add("hours", c.Hours.Text)
	for _, e := range c.Engine {
		add(strings.TrimSpace("engine "+e.Engine), e.RPM.String())
	}
	add("heel", c.Heel.Text)
	add("sun", c.Sun.Text)
	if c.Shore.V {
		parts = append(parts, "shore power")
	}
	if c.Unattended.V {
		parts = append(parts, "unattended")
	}
	if c.Holds.V {
		parts = append(parts, "must hold its charge")
	}
	return strings.Join(parts, ", ")
}
