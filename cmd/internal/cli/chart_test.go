package cli

import (
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/boattest"
)

// TestEveryChartDrawsOrSaysWhy: each device and pump of the cruiser gives a
// well-formed sheet, or names what is missing and writes nothing.
func TestEveryChartDrawsOrSaysWhy(t *testing.T) {
	const file = "../../../examples/cruiser.yaml"
	b := boattest.ReadFile(t, file)
	drawn := 0
	for _, p := range b.Parts {
		if !p.Roles().Any(schema.Protection | schema.Mover) {
			continue
		}
		name := filepath.Join(t.TempDir(), "chart.svg")
		code, out, errs := fitout(t, "", "chart", file, p.ID, "-o", name)
		text, err := os.ReadFile(name)
		switch {
		case code != Clean:
			if strings.TrimSpace(errs+out) == "" || err == nil {
				t.Errorf("%s: status %d, %q, file written: %v", p.ID, code, errs, err == nil)
			}
			continue
		case err != nil:
			t.Errorf("%s: %v", p.ID, err)
			continue
		}
		drawn++
		dec := xml.NewDecoder(strings.NewReader(string(text)))
		for {
			if _, err := dec.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Errorf("%s: %v", p.ID, err)
				break
			}
		}
	}
	if drawn < 8 {
		t.Errorf("only %d charts could be drawn", drawn)
	}
}
