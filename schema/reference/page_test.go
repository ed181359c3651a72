package reference

import (
	"strings"
	"testing"

	"fitout/schema/kinds"
	"fitout/schema/read"
)

// Every kind, attribute and key stands on the page, and every table row has its
// four cells.
func TestPageIsComplete(t *testing.T) {
	page := Page(kinds.All())
	for _, k := range kinds.All().All() {
		_, after, ok := strings.Cut(page, "\n### "+k.Name+"\n")
		if !ok {
			t.Errorf("%s has no section", k.Name)
			continue
		}
		section, _, _ := strings.Cut(after, "\n### ")
		for _, a := range k.Attrs {
			if !strings.Contains(section, "| `"+a.Name+"`") {
				t.Errorf("%s: %s is not listed", k.Name, a.Name)
			}
		}
		if !strings.Contains(section, k.Example) {
			t.Errorf("%s: no example", k.Name)
		}
	}
	for _, s := range read.Sections() {
		for _, name := range s.Names() {
			if !strings.Contains(page, "| `"+name+"`") {
				t.Errorf("%s: %s is not listed", s.Name, name)
			}
		}
	}
	for _, line := range strings.Split(page, "\n") {
		if !strings.HasPrefix(line, "|") || strings.HasPrefix(line, "|---") {
			continue
		}
		if n := strings.Count(strings.ReplaceAll(line, `\|`, ""), "|"); n != 5 && n != 4 {
			t.Errorf("a row of %d cells: %s", n-1, line)
		}
	}
	if page != Page(kinds.All()) {
		t.Error("two runs differ")
	}
}
