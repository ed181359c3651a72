package cli

import (
	"bytes"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/render"
	"fitout/render/draw"
	"fitout/render/label"
	"fitout/render/list"
	"fitout/render/pack"
	"fitout/render/pdf"
)

type packFlags struct {
	out, audience, paper, readings, round, qr string
	mono, write, dryRun                       bool
}

func packCommand(s Streams) *cobra.Command {
	var f packFlags
	var names []string
	for _, a := range pack.Audiences() {
		names = append(names, string(a))
	}
	c := &cobra.Command{
		Use:   "pack FILE -o DIR",
		Short: "all that goes aboard and to the owner: sheets, lists, fault guide, cards",
		Long: `One PDF to print, its sheets as loose SVG, the lists as CSV and in one workbook,
the labels to scale on sheets of label stock (see "fitout labels"), and one HTML page that works from disk. commissioning.csv is to be filled in
aboard; --readings prints it as the section "readings:" of the file, with --write
it is added to the file, comments kept, with --dry-run the change is shown.
round.csv asks, space by space, for what checks lacked and for what only eyes can
tell; --round reads it back the same way, each value to the place its key names.`,
		Example: "  fitout pack examples/cruiser.yaml -o pack --for owner\n  fitout pack heron.yaml --readings pack/heron-commissioning.csv --write\n  fitout pack heron.yaml --round pack/heron-round.csv --dry-run",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			switch {
			case f.readings != "" && f.round != "":
				return status{Misuse, "--readings and --round: one at a time"}
			case f.readings != "":
				return runReadings(s, args[0], f)
			case f.round != "":
				return runRound(s, args[0], f)
			case f.write || f.dryRun:
				return status{Misuse, "--write and --dry-run go with --readings or --round"}
			}
			return runPack(s, args[0], f)
		},
	}
	c.Flags().StringVarP(&f.out, "output", "o", "", "folder that the files are written to")
	c.Flags().StringVar(&f.audience, "for", string(pack.Owner), "whom it is for: "+strings.Join(names, ", "))
	c.Flags().StringVar(&f.paper, "paper", "", "A4 or Letter (default the file's, else A4)")
	c.Flags().BoolVar(&f.mono, "mono", false, "black only")
	c.Flags().StringVar(&f.qr, "qr", "", qrHelp)
	c.Flags().StringVar(&f.readings, "readings", "", "a filled-in commissioning.csv; prints it as readings for the file")
	c.Flags().StringVar(&f.round, "round", "", "a filled-in round.csv; prints what it says, each datum under its key")
	c.Flags().BoolVar(&f.write, "write", false, "with --readings or --round: put them into the file")
	c.Flags().BoolVar(&f.dryRun, "dry-run", false, "with --readings or --round: show the change as a patch and write nothing")
	return c
}

func runPack(s Streams, name string, f packFlags) error {
	if f.out == "" {
		return status{Misuse, "say where to: -o DIR"}
	}
	j, err := readJob(s, name)
	if err != nil {
		return err
	}
	mono := f.mono || j.Boat.Sheets.Mono.V
	p, err := pack.Make(pack.Input{Survey: j.Survey, Result: j.Result}, pack.Options{For: pack.Audience(f.audience), Paper: f.paper, Mono: mono,
		Page: label.PageOf(f.qr, baseName(j.Name)+"-pack.html")})
	if err != nil {
		return status{Misuse, err.Error()}
	}
	files, err := packFiles(j, p, mono)
	if err != nil {
		return err
	}
	if err := writeFiles(f.out, files); err != nil {
		return err
	}
	tellLacking(s, p.Sheets)
	if p.Labels != nil {
		for _, n := range p.Labels.Notes {
			fmt.Fprintln(s.Err, n)
		}
	}
	return nil
}

// packFiles makes every file of a pack in memory.
func packFiles(j *job.Job, p *pack.Pack, mono bool) ([]outFile, error) {
	base := baseName(j.Name)
	theme := render.Options{Mono: mono}.Theme()
	files := []outFile{{base + "-pack.html", p.HTML}}
	drawn, err := drawnFiles(base, p.Sheets, base+"-pack.pdf", packDocument(j, theme))
	if err != nil {
		return nil, err
	}
	files = append(files, drawn...)
	var b bytes.Buffer
	for _, t := range p.Lists {
		b.Reset()
		if err := list.Write(&b, t, "csv"); err != nil {
			return nil, err
		}
		files = append(files, outFile{base + "-" + t.Name + ".csv", bytes.Clone(b.Bytes())})
	}
	b.Reset()
	if err := list.WriteWorkbook(&b, p.Lists); err != nil {
		return nil, err
	}
	files = append(files, outFile{base + "-lists.xlsx", bytes.Clone(b.Bytes())})
	b.Reset()
	if err := pack.WriteCSV(&b, p.Commissioning, j.Boat.Rules.US()); err != nil {
		return nil, err
	}
	files = append(files, outFile{base + "-commissioning.csv", bytes.Clone(b.Bytes())})
	b.Reset()
	if err := pack.WriteRound(&b, p.Round); err != nil {
		return nil, err
	}
	files = append(files, outFile{base + "-round.csv", bytes.Clone(b.Bytes())})
	if p.Labels == nil || len(p.Labels.Labels) == 0 {
		return files, nil
	}
	labels, err := labelFiles(j, p.Labels)
	return append(files, labels...), err
}

func packDocument(j *job.Job, theme draw.Theme) pdf.Document {
	d := pdf.Document{Title: j.Boat.Vessel.Name.Or(baseName(j.Name)) + ": pack", Author: j.Boat.Sheets.Drawn.V,
		Subject: "what is where, what to do, drawings and lists", Keywords: "input " + render.Fingerprint(j.Boat), Theme: theme}
	if t, err := time.Parse(time.DateOnly, j.Boat.Sheets.Date.V); err == nil {
		d.Created = t
	}
	return d
}
