package waterlayout

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// svg draws one sheet plainly, after the contract of the project's drawings.
func svg(p Plan, s Sheet) string {
	var b strings.Builder
	mm := func(u int) float64 { return 2.5 * float64(u) }
	f := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	f(`<svg xmlns="http://www.w3.org/2000/svg" width="%gmm" height="%gmm" viewBox="0 0 %g %g">`, mm(p.Size.W), mm(p.Size.H), mm(p.Size.W), mm(p.Size.H))
	f(`<style>text{font:2.5px Helvetica,Arial,sans-serif} .part path,.part rect{fill:#eef;stroke:#000;stroke-width:.35} .hose{fill:none;stroke:#06a;stroke-width:.5}</style>`)
	text := func(t Text, class, s string) {
		lines := strings.Split(s, "\n")
		cx, cy := mm(t.Rect.X)+mm(t.Rect.W)/2, mm(t.Rect.Y)+mm(t.Rect.H)/2
		for i, l := range lines {
			off := 3*(float64(i)-float64(len(lines)-1)/2) + .75
			turn := ""
			if t.Turned {
				turn = fmt.Sprintf(` transform="rotate(-90 %.2f %.2f)"`, cx, cy)
			}
			f(`<text%s text-anchor="middle" x="%.2f" y="%.2f"%s>%s</text>`, class, cx, cy+off, turn, l)
		}
	}
	for _, band := range s.Bands {
		f(`<g class="band">`)
		f(`<line class="waterline" x1="%g" x2="%g" y1="%g" y2="%g" stroke="#08f" stroke-width=".35"/>`, mm(band.RulerX), mm(band.Area.W), mm(band.Waterline), mm(band.Waterline))
		for h := -5000; h <= 5000; h += 100 {
			y := 2.5 * band.Ruler.Y(h)
			if y > mm(band.Area.Y)+2 && y < mm(band.Area.Y+band.Area.H)-2 {
				f(`<path class="tick" d="M %g %.2f H %g" stroke="#888" stroke-width=".18"/>`, mm(band.RulerX)-3, y, mm(band.RulerX))
				if h%500 == 0 {
					f(`<text text-anchor="end" x="%g" y="%.2f">%.1f</text>`, mm(band.RulerX)-4, y+.9, float64(h)/1000)
				}
			}
		}
		for _, l := range band.Lines {
			for _, sp := range l.Spans {
				f(`<path class="heel" d="M %g %.3f H %g" stroke="#aaf" stroke-width=".18"/>`, mm(sp[0]), 2.5*l.Y, mm(sp[1]))
			}
		}
		for _, x := range band.Boxes {
			kind, more := "box", ""
			if x.Mark != "" {
				kind, more = "continuation", fmt.Sprintf(` data-ref="%s"`, x.Mark)
			}
			if x.Level.Known {
				more += fmt.Sprintf(` data-height="%.3f"`, float64(x.Level.MM)/1000)
			}
			f(`<g class="part" id="part-%s" data-kind="%s"%s>`, x.ID, kind, more)
			f(`<rect x="%g" y="%g" width="%g" height="%g"/>`, mm(x.Rect.X), mm(x.Rect.Y), mm(x.Rect.W), mm(x.Rect.H))
			if x.Mark != "" {
				f(`<text x="%g" y="%g">%s</text>`, mm(x.Rect.X)+1, mm(x.Rect.Y+x.Rect.H)-1.5, x.Mark)
			}
			if x.Name.Placed {
				h := "?"
				if x.Level.Known {
					h = fmt.Sprintf("%.2f", float64(x.Level.MM)/1000)
				}
				text(x.Name, "", x.ID+"\n"+h)
			}
			f(`</g>`)
		}
		for _, r := range band.Runs {
			d := fmt.Sprintf("M %g %g", mm(r.Points[0].X), mm(r.Points[0].Y))
			for _, q := range r.Points[1:] {
				d += fmt.Sprintf(" L %g %g", mm(q.X), mm(q.Y))
			}
			f(`<path class="hose" data-hose="%s" data-from="%s" data-to="%s" d="%s"/>`, r.ID, r.From.Box, r.To.Box, d)
			if r.Label.Placed {
				s := [...]string{r.ID + " 25 mm 1.2 m", r.ID + " 25 mm", r.ID}[r.Label.Variant]
				text(r.Label, fmt.Sprintf(` class="label" data-hose="%s"`, r.ID), s)
			}
		}
		f(`</g>`)
	}
	f(`</svg>`)
	return b.String()
}

// TestDraw writes sheets to look at, if WATERLAYOUT_DRAW names a folder.
func TestDraw(t *testing.T) {
	dir := os.Getenv("WATERLAYOUT_DRAW")
	if dir == "" {
		t.Skip("WATERLAYOUT_DRAW is not set")
	}
	for name, g := range map[string]Graph{
		"raw": together(a4, rawWater("")), "bilge": together(a4, bilge("")), "toilet": together(a4, toilet("")),
		"fresh": together(a4, fresh("")), "all3": fourSystems(a3), "all4": fourSystems(a4),
		"boat60": boat(2060, 2, 60, a3), "boat100": boat(1100, 1, 100, a4),
	} {
		p := mustLayout(t, g)
		for i, s := range p.Sheets {
			path := filepath.Join(dir, fmt.Sprintf("%s-%d.svg", name, i+1))
			if err := os.WriteFile(path, []byte(svg(p, s)), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
