package cli

import (
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/aymanbagabas/go-udiff"

	"fitout/cmd/internal/job"
	"fitout/render/pack"
	"fitout/schema"
	"fitout/schema/edit"
)

// readToFill reads the installation that a filled sheet belongs to.
func readToFill(s Streams, name string, f packFlags) (*job.Job, error) {
	if f.write && name == "-" {
		return nil, status{Misuse, "--write needs a file: standard input has none"}
	}
	j, err := job.Read(name, s.In)
	if err != nil {
		return nil, status{Misuse, err.Error()}
	}
	if !j.OK() {
		return nil, writeProblems(s, j)
	}
	return j, nil
}

// runReadings prints a commissioning file that was filled in as readings, or puts
// them into the installation file.
func runReadings(s Streams, name string, f packFlags) error {
	j, err := readToFill(s, name, f)
	if err != nil {
		return err
	}
	lines, err := readingsOf(s, f.readings, j.Boat)
	if err != nil {
		return status{Misuse, f.readings + ": " + err.Error()}
	}
	if len(lines) == 0 {
		return nil // notes alone
	}
	if !f.write && !f.dryRun {
		_, err = fmt.Fprintf(s.Out, "readings:\n%s\n", strings.Join(lines, "\n"))
		return err
	}
	if err := writeReadings(s, j, lines, f.dryRun); err != nil {
		return status{Misuse, err.Error()}
	}
	return nil
}

func readingsOf(s Streams, name string, b *schema.Boat) ([]string, error) {
	in, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	filled, err := pack.Readings(in, b)
	if err != nil {
		return nil, err
	}
	if len(filled.Notes) > 0 {
		fmt.Fprintf(s.Err, "notes only, no reading of the file can hold them; keep %s:\n", name)
		for _, n := range filled.Notes {
			fmt.Fprintln(s.Err, "  "+n)
		}
	}
	if len(filled.Lines) == 0 && len(filled.Notes) == 0 {
		err = fmt.Errorf("the column `measured` is empty")
	}
	return filled.Lines, err
}

// writeReadings adds the lines that the file does not hold yet; the result must
// read as an installation, else nothing is written.
func writeReadings(s Streams, j *job.Job, lines []string, dryRun bool) error {
	has := map[string]bool{}
	for i := range j.Boat.Readings {
		has[j.Boat.Readings[i].At.Text()] = true
	}
	var fresh []string
	for _, l := range lines {
		if l = strings.TrimPrefix(l, "  - "); !has[l] {
			fresh = append(fresh, l)
		}
	}
	if len(fresh) == 0 {
		fmt.Fprintln(s.Err, "the file holds every one of these readings already")
		return nil
	}
	edits, err := edit.On(j.Boat).Readings(fresh)
	if err != nil {
		return err
	}
	file := edits[0].Span.File
	text, err := edit.Apply(file, edits)
	if err != nil {
		return fmt.Errorf("%s: %w; nothing was written", file.Name, err)
	}
	after := job.From(j.Name, job.Overlay(j.Open, map[string]string{file.Name: text}))
	if !after.OK() || len(after.Boat.Readings) != len(j.Boat.Readings)+len(fresh) {
		return fmt.Errorf("%s would not read as the same installation with %d readings more; nothing was written", file.Name, len(fresh))
	}
	if dryRun {
		_, err := io.WriteString(s.Out, udiff.Unified("a/"+patchName(file.Name), "b/"+patchName(file.Name), file.Text, text))
		return err
	}
	if err := job.WriteFile(file.Name, []byte(text)); err != nil {
		return err
	}
	fmt.Fprintf(s.Err, "wrote %d readings into %s\n", len(fresh), file.Name)
	return nil
}
