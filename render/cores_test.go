package render_test

import (
	"bytes"
	"path/filepath"
	"runtime"
	"testing"

	"fitout/render"
	"fitout/render/pdf"
	"fitout/render/svg"
	"fitout/schema/boattest"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// Sheets are made side by side, and tries at them too: however many cores there
// are, every byte is the same.
func TestSameBytesOnAnyCores(t *testing.T) {
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, path := range files {
		var names []string
		var want [][]byte
		for _, cores := range []int{1, 3} {
			runtime.GOMAXPROCS(cores)
			s := survey.Of(boattest.ReadFile(t, path))
			sheets, err := render.Sheets(s, rules.Check(s), render.Options{})
			if err != nil {
				t.Fatal(err)
			}
			got, err := svg.Files(sheets, svg.Options{})
			if err != nil {
				t.Fatal(err)
			}
			var all bytes.Buffer
			if err := pdf.Write(&all, sheets, pdf.Document{}); err != nil {
				t.Fatal(err)
			}
			got = append(got, all.Bytes())
			if want == nil {
				want = got
				for _, sh := range sheets {
					names = append(names, sh.ID)
				}
				names = append(names, "the PDF")
				continue
			}
			if len(got) != len(want) {
				t.Errorf("%s on %d cores: %d files, %d on one", path, cores, len(got), len(want))
				continue
			}
			for i := range got {
				if !bytes.Equal(got[i], want[i]) {
					t.Errorf("%s on %d cores: %s differs", path, cores, names[i])
				}
			}
		}
	}
}
