package schematic

import (
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
)

// panel is a bar with a device in every way.
type panel struct {
	ways   []panelWay
	medium schema.Medium
	main   string // rating of a breaker of its own ahead of all ways
}

type panelWay struct {
	key, title, rating string
	fuse               bool
	spare              bool
	poles              int
}

func newPanel(p *schema.Part, m schema.Medium) *panel {
	out := &panel{medium: m}
	fuse := map[string]bool{}
	poles := map[string]int{}
	for _, b := range p.Branches() {
		if b.Device == nil || b.Medium != m {
			continue
		}
		if b.Way == "" && m == schema.DC {
			out.main = ratingText(b.Device.Rating)
			continue
		}
		fuse[b.Way], poles[b.Way] = !b.Device.Breaker, b.Device.Poles
	}
	for _, w := range p.Ways {
		title := w.Title.Or(w.Label.V)
		rating := strings.TrimSpace(ratingText(w.Rating) + " " + ratingText(w.Trip))
		out.ways = append(out.ways, panelWay{key: w.Key, title: title, rating: rating, fuse: fuse[w.Key], spare: w.Spare, poles: poles[w.Key]})
	}
	return out
}

// poles is how many contacts a device for mains opens at once; 0 for other parts.
func poles(p *schema.Part) int {
	for _, b := range p.Branches() {
		if b.Medium == schema.AC && b.Device != nil && b.Way == "" && !b.Device.Inside {
			return b.Device.Poles
		}
	}
	return 0
}

func ratingText(a schema.Val[unit.Amp]) string {
	switch {
	case !a.Given():
		return ""
	case strings.TrimSpace(a.Text) != "":
		return strings.TrimSpace(a.Text)
	}
	return a.V.RatingText()
}

func (p *panel) way(key string) (panelWay, bool) {
	for _, w := range p.ways {
		if w.key == key {
			return w, true
		}
	}
	return panelWay{}, false
}

// feeds tells whether a port is where the panel is fed.
func (p *panel) feeds(port string) bool {
	return port == "in"
}

// side of a port: ways and the minus leave below; the feed comes from above
// unless a further panel is fed from it.
func (p *panel) side(port string) sideways {
	if p.feeds(port) {
		return either
	}
	return below
}

// without lists the ways that no conductor uses, spare ones and others.
func (p *panel) without(used map[string]int) (spare, empty []string) {
	for _, w := range p.ways {
		switch {
		case used[w.key] > 0:
		case w.spare:
			spare = append(spare, w.key)
		default:
			empty = append(empty, w.key)
		}
	}
	return spare, empty
}

// Sizes of a panel in grid units: from the upper edge to the bar, the depth of
// the ways below it with their device and text, of a device, and of a main
// breaker above; and the distance of the ways.
const (
	panelFeed  = 1
	panelWays  = 5
	wayDevice  = 4
	panelMain  = 4
	panelPitch = 6
)

func (p *panel) barAt() int {
	if p.main != "" {
		return panelFeed + panelMain
	}
	return panelFeed
}

func (p *panel) height() int { return p.barAt() + panelWays }
