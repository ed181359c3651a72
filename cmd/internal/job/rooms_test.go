package job

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// rank orders the rooms: a package may import only rooms of a lower rank, or its
// own room.
var rank = map[string]int{"schema": 0, "layout": 1, "validate": 1, "render": 2, "cmd": 3}

// only names the one package that may import a library.
var only = map[string]string{
	"gopkg.in/yaml.v3":               "fitout/schema/read",
	"github.com/ajstarks/svgo":       "fitout/render/svg",
	"github.com/ajstarks/svgo/float": "fitout/render/svg",
	"github.com/goccy/go-graphviz":   "fitout/layout/overview",
	"codeberg.org/go-pdf/fpdf":       "fitout/render/pdf",
	"github.com/xuri/excelize/v2":    "fitout/render/list",
	"github.com/piglig/go-qr":        "fitout/render/qr",
}

func TestImportsPointOneWay(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "fitout/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(strings.NewReader(string(out)))
	packages := 0
	for {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		packages++
		for _, i := range p.Imports {
			checkImport(t, p.ImportPath, i)
		}
	}
	if packages < 20 {
		t.Fatalf("go list found %d packages; the test looks in the wrong place", packages)
	}
}

func checkImport(t *testing.T, from, to string) {
	t.Helper()
	if home, ok := only[to]; ok && from != home {
		t.Errorf("%s imports %s; only %s may", from, to, home)
	}
	if !strings.HasPrefix(to, "fitout/") {
		return
	}
	a, b := room(from), room(to)
	if a == b {
		return
	}
	if rank[b] >= rank[a] {
		t.Errorf("%s imports %s: the arrow points the wrong way", from, to)
	}
	if a == "layout" && to != "fitout/schema/symbol" {
		t.Errorf("%s imports %s: layout sees only schema/symbol", from, to)
	}
	if to == "fitout/schema/kinds" && a != "cmd" {
		t.Errorf("%s imports the kinds; only cmd and tests do", from)
	}
}

func room(path string) string { return strings.Split(path, "/")[1] }

// TestBelowCmdTouchesNothingOutside: no package below cmd imports what reads
// files, the environment or the network.
func TestBelowCmdTouchesNothingOutside(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", "{{.ImportPath}} {{join .Imports \" \"}}", "fitout/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		fields := strings.Fields(line)
		if room(fields[0]) == "cmd" || fields[0] == "fitout/schema/boattest" {
			continue
		}
		for _, bad := range []string{"os", "os/exec", "net", "net/http", "flag"} {
			if slices.Contains(fields[1:], bad) {
				t.Errorf("%s imports %s", fields[0], bad)
			}
		}
	}
}
