package cli

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/schema/diag"
	"fitout/schema/edit"
	"fitout/validate/report"
	"fitout/validate/size"
)

func sizeCommand(s Streams) *cobra.Command {
	var write bool
	var format string
	c := &cobra.Command{
		Use:   "size FILE",
		Short: "propose every `size: auto` and every rating left out",
		Long: `size proposes the smallest standard conductor for every "size: auto" and the
smallest standard device for every rating left out that pass the rules a size or
rating answers, and says which rule binds. With --write it puts them into the
file; comments and everything else stay as they are.`,
		Example: "  fitout size heron.yaml\n  fitout size --write heron.yaml",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			return runSize(s, args[0], format, write)
		},
	}
	c.Flags().BoolVar(&write, "write", false, "put the proposals into the file")
	c.Flags().StringVar(&format, "format", "text", "text or json")
	return c
}

type proposalJSON struct {
	ID     string `json:"id"`
	Key    string `json:"key"`
	Value  string `json:"value"`
	Binds  string `json:"binds"`
	Reason string `json:"reason"`
}

func runSize(s Streams, name, format string, write bool) error {
	if format != "text" && format != "json" {
		return status{Misuse, fmt.Sprintf("--format %q is not known: text or json", format)}
	}
	if write && name == "-" {
		return status{Misuse, "--write needs a file: standard input has none"}
	}
	j, err := job.Read(name, s.In)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	if !j.OK() {
		if format == "json" {
			if err := report.JSON(s.Out, []report.File{j.Report()}); err != nil {
				return err
			}
			return exit(Misuse)
		}
		return writeProblems(s, j)
	}
	list, left := size.Propose(j.Boat)
	if write && len(list) > 0 {
		if err := writeSizes(name, s, list); err != nil {
			return status{Misuse, err.Error()}
		}
	}
	if format == "json" {
		out := []proposalJSON{}
		for _, p := range list {
			out = append(out, proposalJSON{p.ID, p.Key, p.Value, p.Binds, p.Reason})
		}
		enc := json.NewEncoder(s.Out)
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		if err := enc.Encode(map[string]any{"file": name, "proposals": out, "left": len(left)}); err != nil {
			return err
		}
	} else {
		for _, p := range list {
			fmt.Fprintf(s.Out, "%-8s %-7s %-10s %s\n", p.ID, p.Key, p.Value, bindText(p))
		}
		if len(list) == 0 {
			fmt.Fprintln(s.Out, "nothing is left open: no `size: auto` and no rating left out")
		}
		for _, f := range left {
			fmt.Fprintf(s.Out, "left     %s: %s\n", f.Rule, f.Message)
		}
	}
	if len(left) > 0 {
		return exit(Findings)
	}
	return nil
}

func bindText(p size.Proposal) string {
	if p.Binds == "smallest" || strings.HasPrefix(p.Reason, "ampacity") {
		return p.Reason
	}
	return "the next smaller: " + p.Binds + ": " + p.Reason
}

// writeSizes puts the proposals into the file as it stands on disk.
func writeSizes(name string, s Streams, list []size.Proposal) error {
	j, err := job.Read(name, s.In)
	if err != nil {
		return err
	}
	e := edit.On(j.Boat)
	var edits []diag.Edit
	for _, p := range list {
		var more []diag.Edit
		var err error
		switch {
		case p.Key == "size":
			values := make([]string, max(1, p.Stretches))
			for i := range values {
				values[i] = p.Value
			}
			more, err = e.Stretches(p.ID, "size", values)
		case p.Way != "":
			more, err = e.Way(p.Part.ID, p.Way, "rating", p.Value)
		default:
			more, err = e.Part(p.Part.ID, "rating", p.Value)
		}
		if err != nil {
			return fmt.Errorf("%s of %s: %w; nothing was written", p.Key, p.ID, err)
		}
		edits = append(edits, more...)
	}
	texts := map[string]string{}
	for _, f := range edit.Files(edits) {
		text, err := edit.Apply(f, edits)
		if err != nil {
			return fmt.Errorf("%s: %w; nothing was written", f.Name, err)
		}
		texts[f.Name] = text
	}
	check := job.From(name, job.Overlay(job.Disk, texts))
	if !check.OK() {
		return fmt.Errorf("the result would not read as an installation; nothing was written")
	}
	for _, f := range edit.Files(edits) {
		if err := job.WriteFile(f.Name, []byte(texts[f.Name])); err != nil {
			return err
		}
		fmt.Fprintf(s.Err, "wrote %s\n", f.Name)
	}
	return nil
}
