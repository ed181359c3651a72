package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The drawings of an example: every sheet an SVG file, all of them in one PDF, and
// nothing else in the folder. Writing them twice gives the same bytes.
func TestDraw(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "drawings")
	run := func() map[string]string {
		var out, errs bytes.Buffer
		if code := Run([]string{"draw", "../../../examples/dayboat.yaml", "-o", dir, "--sheet", "dc"}, Streams{Out: &out, Err: &errs}); code != Clean {
			t.Fatalf("exit status %d: %s", code, errs.String())
		}
		if out.Len() > 0 {
			t.Errorf("standard output has %q", out.String())
		}
		files := map[string]string{}
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			data, err := os.ReadFile(filepath.Join(dir, e.Name()))
			if err != nil {
				t.Fatal(err)
			}
			files[e.Name()] = string(data)
		}
		return files
	}
	first := run()
	svgs := 0
	for name, data := range first {
		switch {
		case strings.HasPrefix(name, "dayboat-dc") && strings.HasSuffix(name, ".svg") && strings.HasPrefix(data, "<?xml"):
			if strings.Contains(data, "data-wire") {
				svgs++
			}
		case name == "dayboat.pdf" && strings.HasPrefix(data, "%PDF-"):
		default:
			t.Errorf("unexpected file %s", name)
		}
	}
	if svgs == 0 || first["dayboat.pdf"] == "" {
		t.Errorf("%d drawings, PDF of %d bytes", svgs, len(first["dayboat.pdf"]))
	}
	for name, data := range run() {
		if first[name] != data {
			t.Errorf("%s differs the second time", name)
		}
	}
}

// A file with a mistake is never drawn; a wrong command line writes nothing.
func TestDrawRefuses(t *testing.T) {
	bad := filepath.Join(t.TempDir(), "bad.yaml")
	if err := os.WriteFile(bad, []byte("fitout: 1\nparts: {B1: {kind: batery}}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	good := "../../../examples/dayboat.yaml"
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"draw", bad}, "batery"},
		{[]string{"draw", good, "--paper", "A9"}, "A9"},
		{[]string{"draw", good, "--sheet", "sails"}, "sails"},
	} {
		dir := filepath.Join(t.TempDir(), "out")
		var out, errs bytes.Buffer
		if code := Run(append(c.args, "-o", dir), Streams{Out: &out, Err: &errs}); code != Misuse {
			t.Errorf("%v: exit status %d", c.args, code)
		}
		if !strings.Contains(errs.String(), c.says) {
			t.Errorf("%v: says %q", c.args, errs.String())
		}
		if _, err := os.Stat(dir); err == nil {
			t.Errorf("%v: wrote into the folder", c.args)
		}
	}
}
