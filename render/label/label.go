// Package label makes the labels of a boat to scale: markers for both ends of
// every wire and hose, tags for valves, hull openings, batteries and bars, labels
// for devices, strips for panels, and warnings where something stays live. They
// come as sheets of common label stock and as rows for a label printer.
//
// labels*.go say what is printed, stock.go on what, fit.go sets the text, lay.go
// places labels on sheets, printer.go writes the rows.
package label

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"fitout/render/draw"
	"fitout/render/qr"
	"fitout/schema"
	"fitout/validate/survey"
)

// Kind is what labels are stuck to.
type Kind string

// The kinds of label.
const (
	Wires     Kind = "wires"
	Hoses     Kind = "hoses"
	Valves    Kind = "valves"
	Openings  Kind = "openings"
	Panels    Kind = "panels"
	Devices   Kind = "devices"
	Batteries Kind = "batteries" // and other sources and bars
	Warnings  Kind = "warnings"
)

// Kinds lists the kinds in the order in which they are printed.
func Kinds() []Kind {
	return []Kind{Wires, Devices, Panels, Hoses, Valves, Openings, Batteries, Warnings}
}

// Facts answers what a label says beyond the model, in the words of the pack's
// sheets, so that the tag on a valve and the sheet in its locker agree.
type Facts interface {
	// Title is what a part is.
	Title(p *schema.Part) string
	// Stops is what a valve's closing, or a device's opening, stops.
	Stops(p *schema.Part) string
	// Normal is how a valve or switch usually stands: open, closed …
	Normal(p *schema.Part) string
	// Live says from what a part is live with every switch off, and how it is made
	// dead.
	Live(p *schema.Part) (from, kill string, ok bool)
	// Anchor is the address on the pack's page that a label leads to.
	Anchor(k Kind, p *schema.Part, sp *schema.Space) string
}

// Options choose what is printed.
type Options struct {
	// Only names the kinds wanted; empty: all.
	Only []Kind
	// Stock names what to print on, by kind; the empty kind stands for all that
	// are not named. Without it each kind takes the usual one.
	Stock map[Kind]string
	// Letter takes US Letter stock where none is named.
	Letter bool
	// Skip is how many labels of the first sheet of each stock are used already.
	Skip int
	// Outlines draws the edges of the labels, to try on plain paper or to cut by.
	Outlines bool
	// Page is the address of the pack's page that codes lead to; empty: no codes.
	Page string
	// Pitch is the distance from way to way of the panels; 0 takes 19 mm, which is
	// common practice and has no source.
	Pitch draw.MM
	// Boat and Mark stand small in the margin of sheets: whose labels these are,
	// and the input they were made from.
	Boat, Mark string
}

// Label is one thing to be stuck on.
type Label struct {
	Kind Kind
	// ID is what it marks: a wire, hose or part.
	ID string
	// At is the end of a wire or hose that it is stuck to; of a panel's way its key.
	At    string
	Space *schema.Space
	Lines []Line
	// Copies is how many are printed.
	Copies int
	// Outside is the diameter that a marker goes round; 0 for plates.
	Outside draw.MM
	// Code is the text of its QR code, "" for none.
	Code string
	// Stock is what it is printed on.
	Stock string
	// cells are the ways of a strip; the label itself is then its head.
	cells []*Label
	frame bool // a thick line round it
}

// Placed is one copy of a label on its sheet.
type Placed struct {
	*Label
	// Sheet is the index of the sheet, Cell the place of the label on its stock
	// (0 for tape, sleeves and strips), Box its edges.
	Sheet, Cell int
	Box         draw.Box
	// Coded says that its QR code is printed.
	Coded bool
}

// Set is everything to be printed.
type Set struct {
	Labels []*Label
	Sheets []draw.Sheet
	Placed []Placed
	// Notes say in words what found no room, and what was assumed.
	Notes []string
}

// Make makes the labels. It fails on a stock or a code that is not possible; what
// does not fit is named in the notes, never cut.
func Make(s *survey.Survey, f Facts, o Options) (*Set, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	g := gatherer{survey: s, facts: f, options: o}
	out := &Set{}
	for _, k := range Kinds() {
		if len(o.Only) > 0 && !slices.Contains(o.Only, k) {
			continue
		}
		list := g.of(k)
		bySpace(s.Boat, list)
		out.Labels = append(out.Labels, list...)
	}
	out.Notes = append(out.Notes, g.notes...)
	p := placer{set: out, options: o, left: map[string]int{}}
	if err := p.place(); err != nil {
		return nil, err
	}
	return out, nil
}

// check refuses stock that is not known, or not for the kind it is named for.
func (o Options) check() error {
	for _, k := range append([]Kind{""}, Kinds()...) {
		name, asked := o.Stock[k]
		if !asked {
			continue
		}
		st, err := StockNamed(name)
		switch {
		case err != nil:
			return err
		case k != "" && k != Wires && st.Form == Sleeve:
			return fmt.Errorf("sleeves go over wires, not on %s", k)
		case k == Panels && st.Form == Sheet:
			return fmt.Errorf("panel strips need a whole page or a tape, not %s", st.Name)
		case k != "" && k != Panels && st.Form == Page:
			return fmt.Errorf("%s is for panel strips; %s take cut labels or tape", st.Name, k)
		}
	}
	return nil
}

// bySpace sorts labels by the space they are stuck on in, in the order of the
// file; the ends of a run stay together, in the space of the first.
func bySpace(b *schema.Boat, list []*Label) {
	at := func(sp *schema.Space) int {
		if i := slices.Index(b.Spaces, sp); i >= 0 {
			return i
		}
		return len(b.Spaces)
	}
	first := map[string]int{}
	for _, l := range list {
		if _, ok := first[l.ID]; !ok {
			first[l.ID] = at(l.Space)
		}
	}
	slices.SortStableFunc(list, func(x, y *Label) int { return first[x.ID] - first[y.ID] })
}

// gatherer collects what is to be printed.
type gatherer struct {
	survey  *survey.Survey
	facts   Facts
	options Options
	notes   []string
}

func (g *gatherer) of(k Kind) []*Label {
	switch k {
	case Wires:
		return g.wires()
	case Hoses:
		return g.hoses()
	case Valves:
		return g.valves()
	case Openings:
		return g.openings()
	case Panels:
		return g.panels()
	case Devices:
		return g.devices()
	case Batteries:
		return g.batteries()
	}
	return g.warnings()
}

// code is the text of a label's QR code.
func (g *gatherer) code(k Kind, p *schema.Part, sp *schema.Space) string {
	if g.options.Page == "" {
		return ""
	}
	if a := g.facts.Anchor(k, p, sp); a != "" {
		return Address(g.options.Page, a)
	}
	return ""
}

// parts are what is fitted.
func (g *gatherer) parts() []*schema.Part {
	var out []*schema.Part
	for _, p := range g.survey.Boat.Parts {
		if !p.Prepared {
			out = append(out, p)
		}
	}
	return out
}

// PageOf is the address of the pack's page under what the user gave: a folder,
// or the page itself.
func PageOf(given, page string) string {
	given, _, _ = strings.Cut(given, "#")
	if l := strings.ToLower(given); given == "" || strings.HasSuffix(l, ".html") || strings.HasSuffix(l, ".htm") {
		return given
	}
	return strings.TrimSuffix(given, "/") + "/" + url.PathEscape(page)
}

// Address is a place on the pack's page as a code writes it.
func Address(page, anchor string) string {
	return page + "#" + (&url.URL{Fragment: anchor}).EscapedFragment()
}

// encode makes a code, or says why not.
func encode(text string) (qr.Code, bool, error) {
	if text == "" {
		return qr.Code{}, false, nil
	}
	c, err := qr.Encode(text)
	return c, err == nil, err
}
