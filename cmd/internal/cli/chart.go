package cli

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/render"
	"fitout/render/chart"
	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/render/svg"
	"fitout/schema"
	"fitout/validate/survey"
)

type chartFlags struct {
	out, paper, condition string
	mono                  bool
}

func chartCommand(s Streams) *cobra.Command {
	var f chartFlags
	c := &cobra.Command{
		Use:   "chart FILE ID -o FILE.svg|DIR",
		Short: "the time-current chart of a circuit, or a pump's curve against that of its line",
		Long: `ID is a fuse, a breaker, a panel's way (DP.3), a wire, a circuit or a load: the chart shows
when each device on the way opens, what the thinnest conductor bears, and the
currents of load, starting and short circuit. Where several loads are fed through
it, the one with the least short-circuit current is drawn.

ID is a pump: the chart shows its curve, the curve of the line and the working
point. What is missing for a chart is named, and nothing is written.`,
		Example: "  fitout chart examples/cruiser.yaml DP.3 -o charts\n  fitout chart heron.yaml BP1 --condition anchor -o bilge.svg",
		Args:    cobra.ExactArgs(2),
		RunE:    func(_ *cobra.Command, args []string) error { return runChart(s, args[0], args[1], f) },
	}
	c.Flags().StringVarP(&f.out, "output", "o", "", "SVG file, or folder that it is written to")
	c.Flags().StringVar(&f.paper, "paper", "", "A4, A3, Letter or Tabloid (default the file's, else A4)")
	c.Flags().StringVar(&f.condition, "condition", "", "condition that a pump is drawn in (default the first in which it runs)")
	c.Flags().BoolVar(&f.mono, "mono", false, "black only")
	if err := c.MarkFlagRequired("output"); err != nil {
		panic("cli: " + err.Error()) // the flag is defined above
	}
	return c
}

func runChart(s Streams, file, id string, f chartFlags) error {
	j, err := readJob(s, file)
	if err != nil {
		return err
	}
	paper := f.paper
	if paper == "" {
		paper = j.Boat.Sheets.Paper.Or("A4")
	}
	size, err := sheet.PaperNamed(paper)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	page, err := chartPage(j, id, f.condition, sheet.NewFrame(size.Landscape()))
	if err != nil {
		return status{Misuse, err.Error()}
	}
	return writeChart(f, baseName(file), page.Finish(render.Title(j.Survey, j.Result), 1, 1), render.Options{Mono: f.mono || j.Boat.Sheets.Mono.V})
}

// chartPage draws what an id stands for.
func chartPage(j *job.Job, id, condition string, f sheet.Frame) (sheet.Page, error) {
	subject, err := chartSubject(j.Boat, id)
	switch {
	case err != nil:
		return sheet.Page{}, err
	case condition != "" && !has(j.Survey, condition):
		return sheet.Page{}, fmt.Errorf("%s has no condition %q", j.Name, condition)
	case j.Boat.Part(id) != nil && pumps(subject.Part):
		return pumpPage(j.Survey, subject.Part, condition, f)
	case condition != "":
		return sheet.Page{}, fmt.Errorf("--condition is for pumps; the chart of %s does not depend on one", id)
	}
	c, missing := j.Survey.ChartOf(subject)
	if len(missing) > 0 {
		return sheet.Page{}, fmt.Errorf("no chart of %s: missing: %s", id, words(missing))
	}
	return chart.TimeCurrent(f, c)
}

func words(list []survey.Datum) string {
	var out []string
	for _, d := range list {
		out = append(out, d.Missing)
	}
	return strings.Join(out, "; ")
}

// chartSubject finds a part, a panel's way or a wire by its id.
func chartSubject(b *schema.Boat, id string) (survey.ChartSubject, error) {
	if p := b.Part(id); p != nil {
		return survey.ChartSubject{Part: p}, nil
	}
	name, way, cut := strings.Cut(id, ".")
	if p := b.Part(name); p != nil && cut {
		if _, ok := p.Way(way); ok {
			return survey.ChartSubject{Part: p, Way: way}, nil
		}
	}
	for _, p := range b.Parts {
		if p.Circuit != nil && p.Circuit.ID == id {
			return survey.ChartSubject{Part: p}, nil
		}
	}
	var known, stretches []string
	for _, w := range b.Wires {
		if w.Path == id && w.ID != id {
			stretches = append(stretches, w.ID)
		}
		if w.ID == id {
			if w.Medium != schema.DC {
				return survey.ChartSubject{}, fmt.Errorf("wire %s carries AC; the chart is for DC circuits", id)
			}
			return survey.ChartSubject{Wire: w}, nil
		}
		known = append(known, w.ID)
	}
	if len(stretches) > 0 {
		return survey.ChartSubject{}, fmt.Errorf("%s is a path of several wires; name one of %s", id, strings.Join(stretches, ", "))
	}
	for _, p := range b.Parts {
		known = append(known, p.ID)
	}
	return survey.ChartSubject{}, fmt.Errorf("there is no part, way or wire %q; the nearest is %s", id, nearest(id, known))
}

// pumps reports whether a part moves water.
func pumps(p *schema.Part) bool {
	for _, c := range p.Channels() {
		if c.Pump != nil {
			return true
		}
	}
	return false
}

// pumpPage draws a pump in a condition, or in the first in which it can be drawn.
func pumpPage(s *survey.Survey, p *schema.Part, condition string, f sheet.Frame) (sheet.Page, error) {
	var first error
	for _, c := range s.Conditions() {
		if condition != "" && c.ID != condition {
			continue
		}
		d, missing, err := s.PumpDiagram(c, p)
		switch {
		case len(missing) > 0:
			err = fmt.Errorf("no chart of %s in condition %s: missing: %s", p.ID, c.ID, words(missing))
		case err != nil:
			err = fmt.Errorf("no chart of %s in condition %s: %w", p.ID, c.ID, err)
		case d.Pump == nil:
			err = fmt.Errorf("no chart of %s in condition %s: its line is not solved", p.ID, c.ID)
		default:
			return chart.PumpAndLine(f, d)
		}
		if first == nil {
			first = err
		}
	}
	if first == nil {
		first = errors.New("no chart of " + p.ID + ": missing: a condition")
	}
	return sheet.Page{}, first
}

// writeChart writes the sheet to a file named .svg, else into a folder.
func writeChart(f chartFlags, base string, sh draw.Sheet, o render.Options) error {
	var b bytes.Buffer
	if err := svg.Write(&b, sh, svg.Options{Theme: o.Theme()}); err != nil {
		return err
	}
	dir, name := f.out, base+"-"+sh.ID+".svg"
	if info, err := os.Stat(f.out); strings.EqualFold(filepath.Ext(f.out), ".svg") && (err != nil || !info.IsDir()) {
		dir, name = filepath.Dir(f.out), filepath.Base(f.out)
	}
	return writeFiles(dir, []outFile{{name, b.Bytes()}})
}
