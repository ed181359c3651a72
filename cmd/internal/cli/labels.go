package cli

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/render"
	"fitout/render/draw"
	"fitout/render/label"
	"fitout/render/pack"
	"fitout/render/pdf"
	"fitout/render/svg"
	"fitout/schema/unit"
)

type labelFlags struct {
	out, qr, pitch string
	only, stock    []string
	skip           int
	outlines       bool
}

func labelsCommand(s Streams) *cobra.Command {
	var f labelFlags
	var kinds []string
	for _, k := range label.Kinds() {
		kinds = append(kinds, string(k))
	}
	var help strings.Builder
	for _, st := range label.Stocks() {
		fmt.Fprintf(&help, "  %-11s %s\n", st.Name, st.Title)
	}
	c := &cobra.Command{
		Use:   "labels FILE -o DIR",
		Short: "wire markers, valve tags, panel strips, device labels, to scale for label stock",
		Long: `SVG a sheet, one PDF of them all, and a CSV for a label printer. Print at 100 %;
every sheet has a bar of 50 mm to measure. Try --outlines on plain paper first: the
sizes are those that stock of this form commonly has.

Stock ("sleeve" takes the size that goes over each wire):
` + help.String(),
		Example: "  fitout labels examples/cruiser.yaml -o labels\n  fitout labels heron.yaml -o labels --only wires,valves --stock wires=sleeve --stock valves=a4-8\n" +
			"  fitout labels heron.yaml -o labels --skip 7 --qr https://boat.example/heron/",
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return runLabels(s, args[0], f) },
	}
	c.Flags().StringVarP(&f.out, "output", "o", "", "folder that the files are written to")
	c.Flags().StringSliceVar(&f.only, "only", nil, "kinds wanted: "+strings.Join(kinds, ", ")+" (default all)")
	c.Flags().StringSliceVar(&f.stock, "stock", nil, "what to print on: NAME, or KIND=NAME")
	c.Flags().IntVar(&f.skip, "skip", 0, "labels of the first sheet of each stock that are used already")
	c.Flags().BoolVar(&f.outlines, "outlines", false, "draw the edges of the labels")
	c.Flags().StringVar(&f.qr, "qr", "", qrHelp)
	c.Flags().StringVar(&f.pitch, "pitch", "", "distance from way to way of the panels (default 19.05 mm, 3/4 in: measure)")
	if err := c.MarkFlagRequired("output"); err != nil {
		panic("cli: " + err.Error()) // the flag is defined above
	}
	return c
}

const qrHelp = "where the pack's HTML page will be found: its address, or that of its folder; prints codes that lead there"

func runLabels(s Streams, name string, f labelFlags) error {
	o, err := f.options()
	if err != nil {
		return status{Misuse, err.Error()}
	}
	o.Page = label.PageOf(f.qr, baseName(name)+"-pack.html")
	j, err := readJob(s, name)
	if err != nil {
		return err
	}
	set, err := pack.Labels(pack.Input{Survey: j.Survey, Result: j.Result}, o)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	if len(set.Labels) == 0 {
		return status{Misuse, "the file has nothing to label of that kind"}
	}
	files, err := labelFiles(j, set)
	if err != nil {
		return err
	}
	if err := writeFiles(f.out, files); err != nil {
		return err
	}
	for _, n := range set.Notes {
		fmt.Fprintln(s.Err, n)
	}
	return nil
}

func (f labelFlags) options() (label.Options, error) {
	o := label.Options{Skip: f.skip, Outlines: f.outlines, Stock: map[label.Kind]string{}}
	if f.skip < 0 {
		return o, fmt.Errorf("--skip %d is less than none", f.skip)
	}
	for _, k := range f.only {
		if !slices.Contains(label.Kinds(), label.Kind(k)) {
			return o, fmt.Errorf("there are no labels %q; the nearest is %s", k, nearest(k, kindNames()))
		}
		o.Only = append(o.Only, label.Kind(k))
	}
	for _, st := range f.stock {
		kind, name, two := strings.Cut(st, "=")
		if !two {
			kind, name = "", st
		}
		if two && !slices.Contains(label.Kinds(), label.Kind(kind)) {
			return o, fmt.Errorf("there are no labels %q; the nearest is %s", kind, nearest(kind, kindNames()))
		}
		o.Stock[label.Kind(kind)] = name
	}
	if f.pitch != "" {
		v, err := unit.ParseMetre(f.pitch)
		if err != nil {
			return o, fmt.Errorf("--pitch: %w", err)
		}
		o.Pitch = draw.MM(v * 1000)
		if o.Pitch < 5 || o.Pitch > 100 {
			return o, fmt.Errorf("--pitch %s is outside 5 to 100 mm", f.pitch)
		}
	}
	return o, nil
}

func kindNames() []string {
	var out []string
	for _, k := range label.Kinds() {
		out = append(out, string(k))
	}
	return out
}

// labelFiles makes the files of a set of labels in memory.
func labelFiles(j *job.Job, set *label.Set) ([]outFile, error) {
	base := baseName(j.Name)
	var files []outFile
	var b bytes.Buffer
	for _, sh := range set.Sheets {
		b.Reset()
		if err := svg.Write(&b, sh, svg.Options{}); err != nil {
			return nil, err
		}
		files = append(files, outFile{base + "-" + sh.ID + ".svg", bytes.Clone(b.Bytes())})
	}
	if len(set.Sheets) > 0 {
		b.Reset()
		d := document(j, render.Options{})
		d.Title, d.Subject = j.Boat.Vessel.Name.Or(base)+": labels", "labels to scale; print at 100 %"
		if err := pdf.Write(&b, set.Sheets, d); err != nil {
			return nil, err
		}
		files = append(files, outFile{base + "-labels.pdf", bytes.Clone(b.Bytes())})
	}
	b.Reset()
	if err := label.WriteCSV(&b, set); err != nil {
		return nil, err
	}
	return append(files, outFile{base + "-label-printer.csv", bytes.Clone(b.Bytes())}), nil
}
