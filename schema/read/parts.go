package read

import (
	"fmt"
	"sort"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
)

// withDefaults are the sections that `defaults:` may speak of, beside kinds.
var withDefaults = []string{"spaces", "parts", "looms", "wires", "circuits", "hoses"}

func (r *reader) readDefaults() {
	for _, e := range r.joined("defaults") {
		name := e.key.Text
		known := false
		for _, s := range withDefaults {
			known = known || s == name
		}
		if k := r.cat.Kind(name); k != nil && !known {
			name, known = k.Name, true
		}
		if !known {
			r.unknown(e.key.Span(), "section or kind", name, "", append(append([]string(nil), withDefaults...), r.cat.Names()...))
			continue
		}
		if first := r.defaults[name]; first != nil {
			r.both(e.key, first.Span(), "the first time", "defaults for %s are there twice", name)
			continue
		}
		r.defaults[name] = e.value
	}
}

// checkDefaults reads every default once, so that one nobody uses is checked
// as well.
func (r *reader) checkDefaults() {
	r.space(&schema.Space{}, r.sectionDefaults("spaces"), schema.FromFile)
	r.loom(&schema.Loom{}, r.sectionDefaults("looms"), schema.FromFile)
	for _, s := range []*Section{&wireKeys, &circuitKeys, &hoseKeys} {
		for _, e := range r.sectionDefaults(s.Name) {
			f := s.byName[e.key.Text]
			if f == nil {
				continue // reported by the reading below
			}
			switch f.Name {
			case "id", "from", "to", "path", "feed", "via", "load", "lengths", "sizes", "resistances", "peaks", "dips":
				r.at(e.key, "%s belongs to one item and can have no default", f.Name)
			}
		}
		r.lineValues(&line{sec: s}, r.sectionDefaults(s.Name), schema.FromFile)
	}
	for _, k := range r.cat.All() {
		r.kindDefaults(k)
	}
}

// attr returns a kind's attribute by name or other spelling, or nil.
func (r *reader) attr(k *schema.Kind, name string) *schema.Attr {
	byName := r.attrs[k]
	if byName == nil {
		byName = map[string]*schema.Attr{}
		r.attrs[k] = byName
	}
	a, asked := byName[name]
	if !asked {
		a = k.Attr(name)
		byName[name] = a
	}
	return a
}

// stockEntry is one bought item that parts take their attributes from.
type stockEntry struct {
	id      string
	key     *Node
	entries []entry
	kind    *schema.Kind // nil where the entry names none
	values  map[*schema.Kind][]schema.Value
}

// pending is a part whose attributes are still to be set.
type pending struct {
	p       *schema.Part
	entries []entry
	stock   *stockEntry
	cock    entry // the seacock it carries; key nil for none
}

// declare reads the stock and all parts, in the parts section and in place.
func (r *reader) declare() {
	r.readStock()
	var list []*pending
	for _, n := range r.sections["parts"] {
		for _, e := range r.entries(n, "parts") {
			if p := r.declarePart(e, "the part"); p != nil {
				list = append(list, p)
			}
		}
	}
	for _, p := range list {
		r.fill(p)
		r.boat.Parts = append(r.boat.Parts, p.p)
		if p.cock.key != nil {
			r.cockOf(p)
		}
	}
	r.checkStock()
	r.collectLines()
	r.checkDefaults()
	for _, p := range r.boat.Parts {
		if p.Host != nil {
			r.inherit(p)
		}
	}
}

func (r *reader) readStock() {
	for _, n := range r.sections["stock"] {
		for _, e := range r.entries(n, "stock") {
			s := &stockEntry{id: e.key.Text, key: e.key, values: map[*schema.Kind][]schema.Value{}}
			if !claim(r, &r.stock, e.key, s.id, "the stock entry", s) {
				continue
			}
			s.entries = r.entries(e.value, "a stock entry")
			for _, a := range s.entries {
				if a.key.Text == "kind" {
					s.kind = r.kindOf(a.value)
				}
			}
		}
	}
}

// checkStock reads stock entries that no part takes.
func (r *reader) checkStock() {
	for _, id := range r.stock.names {
		s := r.stock.byID[id]
		if s.kind != nil {
			r.stockValues(s, s.kind)
			continue
		}
		if len(s.values) > 0 {
			continue
		}
		for _, e := range s.entries {
			if e.key.Text != "kind" && !r.anyAttr(e.key.Text) {
				r.unknown(e.key.Span(), "key", e.key.Text, " for any kind", r.allAttrs())
			}
		}
	}
}

func (r *reader) anyAttr(name string) bool {
	for _, k := range r.cat.All() {
		if r.attr(k, name) != nil {
			return true
		}
	}
	return false
}

func (r *reader) allAttrs() []string {
	seen := map[string]bool{}
	var out []string
	for _, k := range r.cat.All() {
		for _, name := range attrNames(k) {
			if !seen[name] {
				seen[name] = true
				out = append(out, name)
			}
		}
	}
	sort.Strings(out)
	return out
}

// attrNames lists what a part of the kind may be told, its own first.
func attrNames(k *schema.Kind) []string {
	var out []string
	for _, a := range k.Attrs {
		out = append(out, a.Name)
	}
	for _, a := range schema.Common {
		out = append(out, a.Name)
	}
	return append(out, "kind", "stock")
}

func (r *reader) kindOf(n *Node) *schema.Kind {
	text, ok := r.hasText("kind", n)
	if !ok {
		return nil
	}
	k := r.cat.Kind(text)
	if k == nil {
		r.unknownKind(n.Resolve(), text)
	}
	return k
}

// unknownKind reports a word that is no kind: those it may mean in the trade,
// else the nearest name.
func (r *reader) unknownKind(n *Node, text string) {
	meant := r.cat.Meant(plainName(text))
	if len(meant) == 0 {
		r.unknown(n.Span(), "kind", text, "", r.cat.Names())
		return
	}
	r.add(Problem{Span: n.Span(), Near: meant[0],
		Message: fmt.Sprintf("unknown kind %q; did you mean %s?", clip(text), strings.Join(meant, " or "))})
}

// declarePart claims a part's id and finds its kind. It returns nil for one that
// cannot be read further; what names it is then not reported again.
func (r *reader) declarePart(e entry, what string) *pending {
	q := &pending{entries: r.entries(e.value, "a part")}
	p := &schema.Part{ID: e.key.Text, At: e.key.Span()}
	var kindAt, stockAt *Node
	for _, a := range q.entries {
		switch a.key.Text {
		case "kind":
			kindAt = a.value
			p.Kind = r.kindOf(a.value)
		case "stock":
			stockAt = a.value
		}
	}
	if stockAt != nil {
		if text, ok := r.hasText("stock", stockAt); ok {
			q.stock, _ = find(r, &r.stock, stockAt.Resolve(), text, "stock entry")
			p.Stock = text
		}
	}
	if q.stock != nil && q.stock.kind != nil {
		switch {
		case kindAt == nil:
			p.Kind = q.stock.kind
		case p.Kind != nil && p.Kind != q.stock.kind:
			r.both(kindAt.Resolve(), q.stock.key.Span(), "the stock entry", "%s is a %s, but its stock entry %s is a %s", p.ID, p.Kind.Name, q.stock.id, q.stock.kind.Name)
		}
	}
	if p.Kind == nil {
		if kindAt == nil && (stockAt == nil || q.stock != nil) {
			r.at(e.key, "%s has no kind: write what it is, for example kind: fuse", clip(p.ID))
		}
		claim[*schema.Part](r, &r.parts, e.key, p.ID, what, nil)
		return nil
	}
	if !claim(r, &r.parts, e.key, p.ID, what, p) {
		return nil
	}
	q.p = p
	return q
}

// fill sets a part's attributes: its own, those of its stock entry, the file's
// defaults.
func (r *reader) fill(q *pending) {
	p := q.p
	var taken []schema.Value
	if q.stock != nil {
		taken = r.stockValues(q.stock, p.Kind)
	}
	defaults := r.kindDefaults(p.Kind)
	p.Attrs = make([]schema.Value, 0, len(q.entries)+len(taken)+len(defaults))
	for _, e := range q.entries {
		r.setOwn(q, e)
	}
	if q.stock != nil {
		for _, v := range taken {
			p.Set(v)
		}
		r.stockWays(q)
	}
	for _, v := range defaults {
		p.Set(v)
	}
	r.settle(p)
}

func (r *reader) setOwn(q *pending, e entry) {
	p := q.p
	if e.key.Text == "kind" || e.key.Text == "stock" {
		return
	}
	a := r.attr(p.Kind, e.key.Text)
	if a == nil {
		r.unknownAttr(p.Kind, e.key)
		return
	}
	switch a.Type {
	case schema.WayMap:
		p.Ways = r.ways(e.value, own)
		return
	case schema.CockOf:
		q.cock = e
		return
	}
	if before := p.Get(a.Name); before != nil {
		r.both(e.key, before.KeyAt, "the first time", "%s and %s are the same key", e.key.Text, before.KeyAt.Text())
		return
	}
	if v, ok := r.attribute(a, e.key, e.value, own); ok {
		p.Set(v)
	}
}

func (r *reader) unknownAttr(k *schema.Kind, key *Node) {
	r.unknown(key.Span(), "key", key.Text, " for "+article(k.Name), attrNames(k))
}

func article(word string) string {
	if strings.ContainsAny(word[:1], "aeiou") {
		return "an " + word
	}
	return "a " + word
}

// stockValues reads a stock entry as the kind that takes it, once a kind.
func (r *reader) stockValues(s *stockEntry, k *schema.Kind) []schema.Value {
	if v, done := s.values[k]; done {
		return v
	}
	values := []schema.Value{}
	for _, e := range s.entries {
		if e.key.Text == "kind" {
			continue
		}
		a := r.attr(k, e.key.Text)
		switch {
		case a == nil:
			r.unknownAttr(k, e.key)
		case a.Type == schema.WayMap:
		case a.Type == schema.CockOf:
			r.at(e.key, "a seacock has an id of its own: write it at the part, not in stock")
		default:
			if v, ok := r.attribute(a, e.key, e.value, schema.FromStock); ok {
				values = append(values, v)
			}
		}
	}
	s.values[k] = values
	return values
}

// stockWays adds the ways of the stock entry that the part does not have.
func (r *reader) stockWays(q *pending) {
	for _, e := range q.stock.entries {
		a := r.attr(q.p.Kind, e.key.Text)
		if a == nil || a.Type != schema.WayMap {
			continue
		}
		for _, w := range r.ways(e.value, schema.FromStock) {
			if _, has := q.p.Way(w.Key); !has {
				q.p.Ways = append(q.p.Ways, w)
			}
		}
	}
}

// kindDefaults reads what `defaults:` says of a kind and of all parts, once.
func (r *reader) kindDefaults(k *schema.Kind) []schema.Value {
	if v, done := r.kindSets[k]; done {
		return v
	}
	values := []schema.Value{}
	for _, section := range []string{k.Name, "parts"} {
		n := r.defaults[section]
		if n == nil {
			continue
		}
		for _, e := range r.entries(n, "defaults for "+section) {
			a := r.attr(k, e.key.Text)
			if a == nil {
				if section == k.Name {
					r.unknownAttr(k, e.key)
				} else if !r.anyAttr(e.key.Text) {
					r.unknown(e.key.Span(), "key", e.key.Text, " for any kind", r.allAttrs())
				}
				continue
			}
			if a.Type == schema.WayMap || a.Type == schema.CockOf {
				r.at(e.key, "%s belongs to one part and can have no default", a.Name)
				continue
			}
			if v, ok := r.attribute(a, e.key, e.value, schema.FromFile); ok {
				values = append(values, v)
			}
		}
	}
	r.kindSets[k] = values
	return values
}

// settle draws what a part's fields say out of its attributes.
func (r *reader) settle(p *schema.Part) {
	if s := p.Word("space"); s.Given() {
		if r.spaceName(s).Given() {
			p.Space = r.spaces.byID[s.V]
		}
	}
	p.Prepared = p.Flag("prepared").V
}

// ways reads the ways of a panel.
func (r *reader) ways(n *Node, from schema.Origin) []schema.Way {
	var out []schema.Way
	var keys ids[bool]
	for _, e := range r.entries(n, "ways") {
		w := schema.Way{Key: e.key.Text, At: e.key.Span()}
		if !claim(r, &keys, e.key, w.Key, "the way", true) {
			continue
		}
		r.each(&wayKeys, r.entries(e.value, "a way"), func(f *Field, e entry) {
			switch f.Name {
			case "title":
				w.Title = r.text(f.Name, e.value, from)
			case "rating":
				w.Rating = amount[unit.Amp](r, f, e.value, from)
			case "family":
				w.Family = r.family(e.value, from)
			case "spare":
				w.Spare = r.flag(f.Name, e.value, from).V
			case "poles":
				w.Poles = r.count(&f.Attr, e.value, from)
			case "trip":
				w.Trip = amount[unit.Amp](r, f, e.value, from)
			case "volts":
				w.Volts = amount[unit.Volt](r, f, e.value, from)
			case "interrupt":
				w.Interrupt = amount[unit.Amp](r, f, e.value, from)
			case "label":
				w.Label = r.text(f.Name, e.value, from)
			}
		})
		out = append(out, w)
	}
	return out
}

// family reads the family of a way's device: a fuse's or a breaker's.
func (r *reader) family(n *Node, from schema.Origin) schema.Val[string] {
	v := r.text("family", n, from)
	if v.Given() && !r.deviceWord(v.V, &schema.DeviceData{}) {
		r.unknown(v.At, "family", v.V, "", r.deviceWords())
		return schema.Val[string]{}
	}
	return v
}

// cockOf makes the seacock that a through-hull carries, or links the part that
// its id names.
func (r *reader) cockOf(q *pending) {
	n := q.cock.value.Resolve()
	if n.Kind == Scalar {
		id, ok := r.hasText("seacock", n)
		if !ok {
			return
		}
		if known, there := r.parts.byID[id]; there {
			r.linkCock(q.p, known, n)
			return
		}
		r.makeCock(q, entry{n, &Node{Kind: Map, File: n.File, Start: n.Start, End: n.End}})
		return
	}
	var id *Node
	rest := &Node{Kind: Map, Style: n.Style, File: n.File, Start: n.Start, End: n.End}
	for _, e := range r.entries(n, "a seacock") {
		if e.key.Text == "id" {
			id = e.value.Resolve()
			continue
		}
		rest.Entries = append(rest.Entries, e.key, e.value)
	}
	if id == nil {
		r.at(n, "the seacock of %s needs an id", q.p.ID)
		return
	}
	if _, ok := r.hasText("id", id); ok {
		r.makeCock(q, entry{id, rest})
	}
}

func (r *reader) makeCock(q *pending, e entry) {
	kind := r.cat.Kind("seacock")
	hasKind := false
	for i := 0; i+1 < len(e.value.Entries); i += 2 {
		hasKind = hasKind || e.value.Entries[i].Text == "kind" || e.value.Entries[i].Text == "stock"
	}
	if !hasKind && kind != nil {
		e.value.Entries = append([]*Node{word1(e.key, "kind"), word1(e.key, kind.Name)}, e.value.Entries...)
	}
	cock := r.declarePart(e, "the part")
	if cock == nil {
		return
	}
	r.fill(cock)
	r.boat.Parts = append(r.boat.Parts, cock.p)
	r.linkCock(q.p, cock.p, e.key)
}

// word1 is a scalar that stands nowhere in the file, placed at another node.
func word1(at *Node, text string) *Node {
	return &Node{Kind: Scalar, File: at.File, Start: at.Start, End: at.End, Text: text}
}

func (r *reader) linkCock(host, cock *schema.Part, n *Node) {
	switch {
	case cock == nil: // could not be read
	case !cock.Is(schema.Shutoff):
		r.at(n, "%s is a %s, not a seacock", cock.ID, cock.Kind.Name)
	case cock.Host != nil:
		r.at(n, "%s is fixed to %s already", cock.ID, cock.Host.ID)
	default:
		host.Cock, cock.Host = cock, host
	}
}

// inherit gives a seacock what it takes from the through-hull it is fixed to.
func (r *reader) inherit(cock *schema.Part) {
	host := cock.Host
	for _, name := range []string{"size", "material", "station", "offset", "height", "space"} {
		v, a := host.Get(name), r.attr(cock.Kind, name)
		if v == nil || a == nil || cock.Has(name) {
			continue
		}
		taken := *v
		taken.Attr, taken.From = a, schema.Derived
		cock.Set(taken)
	}
	if cock.Space == nil {
		cock.Space = host.Space
	}
	cock.Prepared = cock.Prepared || host.Prepared
}

// place makes a part described where it sits: {F2: class-t 200 A} or {BP1:
// {kind: pump, …}}.
func (r *reader) place(e entry) *schema.Part {
	if p, done := r.inPlace[e.key]; done {
		return p
	}
	var q *pending
	if v := e.value.Resolve(); v.Kind == Map {
		q = r.declarePart(e, "the part")
	} else {
		q = r.shortPart(e)
	}
	var p *schema.Part
	if q != nil {
		p = q.p
		r.fill(q)
		r.boat.Parts = append(r.boat.Parts, p)
		if q.cock.key != nil {
			r.cockOf(q)
		}
	}
	r.inPlace[e.key] = p
	return p
}

// shortPart reads {F2: class-t 200 A}: a family or kind, and a rating.
func (r *reader) shortPart(e entry) *pending {
	v := e.value.Resolve()
	text, ok := r.hasText(e.key.Text, v)
	if !ok {
		claim[*schema.Part](r, &r.parts, e.key, e.key.Text, "the part", nil)
		return nil
	}
	name, rating := splitDevice(text)
	kind, family := r.shortKind(name)
	if kind == "" && name == "" {
		r.at(v, "say what %s is, for example fuse %s", clip(e.key.Text), clip(rating))
	} else if kind == "" {
		r.unknown(sub(v, 0, len(name)), "device", name, fmt.Sprintf(" for %s", clip(e.key.Text)), append(r.deviceWords(), "switch"))
	}
	if kind == "" {
		claim[*schema.Part](r, &r.parts, e.key, e.key.Text, "the part", nil)
		return nil
	}
	desc := &Node{Kind: Map, File: v.File, Start: v.Start, End: v.End}
	add := func(key, value string) {
		n := word1(v, value)
		if i := strings.Index(v.Span().Text(), value); i >= 0 {
			n.Start, n.End = v.Start+i, v.Start+i+len(value)
		}
		desc.Entries = append(desc.Entries, word1(n, key), n)
	}
	add("kind", kind)
	if family != "" {
		add("family", family)
	}
	if rating != "" {
		add("rating", rating)
	}
	return r.declarePart(entry{e.key, desc}, "the part")
}

// shortKind returns the kind and family that the words of a short description
// name; kind is empty where they name none.
func (r *reader) shortKind(name string) (kind, family string) {
	var d schema.DeviceData
	switch {
	case name == "":
	case r.deviceWord(name, &d):
		kind = "fuse"
		if d.Breaker {
			kind = "breaker"
		}
		return kind, d.Family
	case r.cat.Kind(name) != nil:
		return r.cat.Kind(name).Name, ""
	}
	return "", ""
}

// references of attributes to other parts and spaces can be checked once all
// stand.
func (r *reader) checkReferences() {
	for _, p := range r.boat.Parts {
		for i := range p.Attrs {
			v := &p.Attrs[i]
			for _, w := range v.Words {
				switch v.Attr.Type {
				case schema.PartRef, schema.PartRefs, schema.ChargeCut:
					r.partRef(w)
				case schema.SpaceRefs:
					r.spaceName(w)
				case schema.PlaceRefs:
					if _, ok := r.spaces.byID[w.V]; !ok {
						if _, ok := r.parts.byID[w.V]; !ok {
							r.unknown(w.At, "space or part", w.V, "", append(append([]string(nil), r.spaces.names...), r.parts.names...))
						}
					}
				}
			}
		}
	}
}

func (r *reader) partRef(w schema.Val[string]) {
	if _, ok := r.parts.byID[w.V]; !ok {
		r.unknown(w.At, "part", w.V, "", r.parts.names)
	}
}
