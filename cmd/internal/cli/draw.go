package cli

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/render"
	"fitout/render/draw"
	"fitout/render/pdf"
	"fitout/render/svg"
	"fitout/validate/report"
)

type drawFlags struct {
	out   string
	paper string
	mono  bool
	sheet []string
	clean bool
}

func drawCommand(s Streams) *cobra.Command {
	var f drawFlags
	c := &cobra.Command{
		Use:     "draw FILE -o DIR",
		Short:   "the drawings: SVG a sheet, and one PDF of them all",
		Example: "  fitout draw examples/cruiser.yaml -o drawings\n  fitout draw heron.yaml -o out --paper A3 --mono --sheet dc",
		Args:    cobra.ExactArgs(1),
		RunE:    func(_ *cobra.Command, args []string) error { return runDraw(s, args[0], f) },
	}
	c.Flags().StringVarP(&f.out, "output", "o", "", "folder that the files are written to")
	c.Flags().StringVar(&f.paper, "paper", "", "A4, A3, Letter or Tabloid; \"A4 landscape\" for one way up (default the file's, else A4)")
	c.Flags().BoolVar(&f.mono, "mono", false, "black only: meaning by width, dash and text")
	c.Flags().StringSliceVar(&f.sheet, "sheet", nil, "kinds of sheet wanted: "+strings.Join(render.Kinds(), ", ")+" (default all)")
	c.Flags().BoolVar(&f.clean, "clean", false, "without the marks of the findings")
	if err := c.MarkFlagRequired("output"); err != nil {
		panic("cli: " + err.Error()) // the flag is defined above
	}
	return c
}

// drawMemory is where the collector works harder while sheets are drawn, in bytes. The
// tries at a drawing leave much behind and keep little: of a boat of 600 parts 40 MB
// are in use, and without a bound of its own up to 310 MB were held.
const drawMemory = 256 << 20

func runDraw(s Streams, name string, f drawFlags) error {
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(drawMemory))
	j, err := job.Read(name, s.In)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	if !j.OK() {
		if err := report.Text(s.Err, j.Report(), report.TextOptions{Color: terminal(s.Err)}); err != nil {
			return err
		}
		return exit(Misuse)
	}
	j.Check()
	o := render.Options{Mono: f.mono || j.Boat.Sheets.Mono.V, Clean: f.clean, Which: f.sheet}
	o.Paper, o.Turn = paperFlag(f.paper)
	sheets, err := render.Sheets(j.Survey, j.Result, o)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	if err := writeSheets(f.out, baseName(name), sheets, document(j, o)); err != nil {
		return err
	}
	tellLacking(s, sheets)
	return nil
}

// tellLacking names the letters that the PDF could not show.
func tellLacking(s Streams, sheets []draw.Sheet) {
	const most = 12
	list := pdf.Lacking(sheets)
	if len(list) == 0 {
		return
	}
	some := ""
	for _, r := range list[:min(len(list), most)] {
		some += " " + string(r)
	}
	if len(list) > most {
		some += fmt.Sprintf(" and %d more", len(list)-most)
	}
	fmt.Fprintf(s.Err, "the PDF has no letter for%s and shows ? instead; the SVG files hold them\n", some)
}

// paperFlag parts "A4 landscape" into the name and which way up.
func paperFlag(s string) (string, render.Turn) {
	name, turn, _ := strings.Cut(strings.TrimSpace(s), " ")
	switch strings.ToLower(strings.TrimSpace(turn)) {
	case "landscape":
		return name, render.Landscape
	case "portrait":
		return name, render.Portrait
	case "":
		return name, render.Auto
	}
	return s, render.Auto
}

func baseName(name string) string {
	if name == "-" {
		return "fitout"
	}
	return strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
}

func document(j *job.Job, o render.Options) pdf.Document {
	d := pdf.Document{Title: j.Boat.Vessel.Name.Or(baseName(j.Name)) + ": drawings", Author: j.Boat.Sheets.Drawn.V,
		Subject: "drawings of the installation", Keywords: "input " + render.Fingerprint(j.Boat), Theme: o.Theme()}
	if t, err := time.Parse(time.DateOnly, j.Boat.Sheets.Date.V); err == nil {
		d.Created = t
	}
	return d
}

// writeSheets writes every file or none: all are made before the first is put in
// its place.
func writeSheets(dir, base string, sheets []draw.Sheet, d pdf.Document) error {
	if len(sheets) == 0 {
		return status{Misuse, "nothing to draw: the file has no part for these sheets"}
	}
	files, err := drawnFiles(base, sheets, base+".pdf", d)
	if err != nil {
		return err
	}
	return writeFiles(dir, files)
}

// drawnFiles makes the SVG file of each sheet and the PDF of all, side by side.
func drawnFiles(base string, sheets []draw.Sheet, name string, d pdf.Document) ([]outFile, error) {
	var all bytes.Buffer
	var failed error
	var wait sync.WaitGroup
	wait.Go(func() { failed = pdf.Write(&all, sheets, d) })
	each, err := svg.Files(sheets, svg.Options{Theme: d.Theme})
	wait.Wait()
	if err != nil {
		return nil, err
	}
	if failed != nil {
		return nil, failed
	}
	var files []outFile
	for i, sh := range sheets {
		files = append(files, outFile{base + "-" + sh.ID + ".svg", each[i]})
	}
	return append(files, outFile{name, all.Bytes()}), nil
}

// outFile is a file to be written into a folder.
type outFile struct {
	name string
	data []byte
}

// writeFiles writes files whole or not at all: to temporary files first, which
// then take their names.
func writeFiles(dir string, files []outFile) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	var temps []string
	defer func() {
		for _, t := range temps {
			os.Remove(t) // those that took their names are gone already
		}
	}()
	for _, f := range files {
		t, err := writeTemp(dir, f)
		if t != "" {
			temps = append(temps, t)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
	}
	for i, f := range files {
		if err := os.Rename(temps[i], filepath.Join(dir, f.name)); err != nil {
			return err
		}
	}
	return nil
}

func writeTemp(dir string, f outFile) (string, error) {
	t, err := os.CreateTemp(dir, "."+f.name+"-*")
	if err != nil {
		return "", err
	}
	if _, err = t.Write(f.data); err == nil {
		err = t.Chmod(0o644)
	}
	if e := t.Close(); err == nil {
		err = e
	}
	return t.Name(), err
}
