package layout

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

func svg(g Graph, s *Sheet, name string) {
	var b strings.Builder
	k := 2.5
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%gmm" height="%gmm" viewBox="-2 -2 %g %g"><rect x="-2" y="-2" width="100%%" height="100%%" fill="white"/>`, float64(s.W)*k+4, float64(s.H)*k+4, float64(s.W)*k+4, float64(s.H)*k+4)
	rect := func(r Rect, style, t string) {
		fmt.Fprintf(&b, `<rect x="%g" y="%g" width="%g" height="%g" style="%s"/>`, float64(r.X)*k, float64(r.Y)*k, float64(r.W)*k, float64(r.H)*k, style)
		if t != "" {
			fmt.Fprintf(&b, `<text x="%g" y="%g" font-size="2">%s</text>`, float64(r.X)*k+.2, float64(r.Y)*k+2, t)
		}
	}
	for _, x := range g.Boxes {
		for _, p := range s.Boxes {
			if p.ID == x.ID {
				rect(Rect{p.X, p.Y, x.W, x.H}, "fill:#eef;stroke:black;stroke-width:.25", x.ID)
				if p.Text.W > 0 {
					rect(p.Text, "fill:#efe;stroke:#9c9;stroke-width:.1", "")
				}
				for _, d := range p.Landings {
					fmt.Fprintf(&b, `<path d="M%g %gL%g %gM%g %gL%g %g" stroke="black" stroke-width=".6"/>`, float64(d.Port0.X)*k, float64(d.Port0.Y)*k, float64(d.Stem.X)*k, float64(d.Stem.Y)*k, float64(d.Bar[0].X)*k, float64(d.Bar[0].Y)*k, float64(d.Bar[1].X)*k, float64(d.Bar[1].Y)*k)
				}
			}
		}
	}
	for _, p := range s.Bars {
		rect(p.Rect, "fill:#888", "")
		if p.Name.W > 0 {
			rect(p.Name, "fill:#ffd;stroke:#cc9;stroke-width:.1", p.ID)
		}
	}
	for _, m := range s.Marks {
		rect(m.Rect, "fill:#fcc;stroke:red;stroke-width:.2", m.Ref)
	}
	for _, w := range s.Wires {
		var d []string
		for _, p := range w.Points {
			d = append(d, fmt.Sprintf("%g,%g", float64(p.X)*k, float64(p.Y)*k))
		}
		c := "black"
		if w.Bridge {
			c = "blue"
		}
		fmt.Fprintf(&b, `<polyline points="%s" fill="none" stroke="%s" stroke-width=".3"/>`, strings.Join(d, " "), c)
		for _, t := range w.Labels {
			rect(t.Cell, "fill:#ddd;stroke:#999;stroke-width:.1", "")
		}
	}
	b.WriteString("</svg>")
	os.WriteFile(name, []byte(b.String()), 0o644)
}

func TestDbg(t *testing.T) {
	for _, c := range []struct {
		n    int
		twin bool
		pg   []Page
	}{{59, false, a4l}, {59, false, a4p}, {150, false, a3}, {150, false, a4p}, {150, true, a4p}} {
		g := boat(c.n, 1)
		if c.twin {
			g = careless(g, 1)
		}
		p, _ := Run(g, c.pg)
		for i := range p.Sheets {
			s := &p.Sheets[i]
			f := Measure(s)
			fmt.Println(c.n, c.twin, c.pg[0].Name, i, s.W, s.H, s.Fits, s.Level, f.Boxes, f.Bars, f.Crossings)
			svg(g, s, fmt.Sprintf("/tmp/fitout/layout/%d%v%s_%d.svg", c.n, c.twin, strings.ReplaceAll(c.pg[0].Name, " ", ""), i))
		}
	}
}
