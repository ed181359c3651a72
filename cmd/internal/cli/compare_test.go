package cli

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

const small = `fitout: 1
include: [lamp.yaml]
spaces: {cabin: {title: Cabin}}
parts:
  B1: {kind: battery, title: House, chemistry: agm, volts: 12 V, capacity: 100 Ah, space: cabin}
wires:
  - {id: 1, path: [B1.+, {F1: blade 20 A}, L1.+], size: 6 mm2, lengths: [0.1 m, 2 m]}
  - {id: 2, from: L1.-, to: B1.-, size: 6 mm2, length: 2 m}
`

func put(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func run(args ...string) (code int, out, words string) {
	var o, e bytes.Buffer
	code = Run(args, Streams{In: strings.NewReader(""), Out: &o, Err: &e})
	return code, o.String(), e.String()
}

// The old state comes out of git, included files too.
func TestCompareSince(t *testing.T) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("git is not installed")
	}
	dir := t.TempDir()
	git := func(args ...string) {
		t.Helper()
		cmd := exec.Command("git", append([]string{"-C", dir, "-c", "user.name=t", "-c", "user.email=t@example.org"}, args...)...)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("git %v: %s", args, out)
		}
	}
	file, part := filepath.Join(dir, "boat.yaml"), filepath.Join(dir, "lamp.yaml")
	put(t, file, small)
	put(t, part, "parts:\n  L1: {kind: light, title: Lamp, draw: 2 A, space: cabin}\n")
	git("init", "-q")
	git("add", ".")
	git("commit", "-q", "-m", "first")
	put(t, part, "parts:\n  L1: {kind: light, title: Lamp, draw: 3 A, space: cabin}\n")

	if code, out, words := run("compare", "--since", "HEAD", file); code != Clean || !strings.Contains(out, "2 A -> 3 A") {
		t.Errorf("status %d\n%s%s", code, out, words)
	}
	git("commit", "-q", "-a", "-m", "second")
	if code, out, words := run("compare", "--since", "HEAD~1", "--until", "HEAD", file); code != Clean || !strings.Contains(out, "2 A -> 3 A") {
		t.Errorf("two revisions: status %d\n%s%s", code, out, words)
	}
	put(t, file, strings.Replace(small, "blade 20 A", "blade 150 A", 1))
	if code, out, _ := run("compare", "--since", "HEAD", file); code != Findings || !strings.Contains(out, "fuse-exceeds-wire") {
		t.Errorf("a new error: status %d\n%s", code, out)
	}
	for _, args := range [][]string{
		{"compare", file}, {"compare", "--since", "none", file}, {"compare", "--since", "--output=x", file}, {"compare", "--format", "odd", file, file},
	} {
		if code, _, words := run(args...); code != Misuse || words == "" {
			t.Errorf("%v: status %d, %q", args, code, words)
		}
	}
}

func TestFixCommand(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "boat.yaml")
	text := strings.Replace(small, "include: [lamp.yaml]\n", "", 1)
	text = strings.Replace(text, "wires:", "  L1: {kind: light, title: Lamp, draw: 2 A, space: cabin}\nwires:", 1)
	text = strings.Replace(text, "blade 20 A", "blade 150 A", 1)
	put(t, file, text)
	code, out, words := run("check", "--fix", "--dry-run", file)
	if code != Findings || !strings.Contains(out, "\n-  - {id: 1") || !strings.Contains(out, "\n+  - {id: 1") || !strings.HasPrefix(out, "--- a/") {
		t.Errorf("status %d\n%s%s", code, out, words)
	}
	if got, _ := os.ReadFile(file); string(got) != text {
		t.Error("a dry run wrote the file")
	}
	run("check", "--fix", file)
	got, err := os.ReadFile(file)
	if err != nil || strings.Contains(string(got), "150 A") {
		t.Errorf("%v\n%s", err, got)
	}
	if code, out, _ := run("check", "--fix", "--dry-run", file); out != "" {
		t.Errorf("a second run still changes: status %d\n%s", code, out)
	}
	if code, _, _ := run("check", "--dry-run", file); code != Misuse {
		t.Errorf("--dry-run alone: status %d", code)
	}
}

// What was added, removed and changed is drawn and told apart.
func TestCompareDraws(t *testing.T) {
	dir := t.TempDir()
	text := strings.Replace(small, "include: [lamp.yaml]\n", "", 1)
	old := strings.Replace(text, "wires:", "  L1: {kind: light, title: Lamp, draw: 2 A, space: cabin}\n  L2: {kind: light, title: Old lamp, draw: 2 A}\nwires:\n"+
		"  - {id: 8, path: [B1.+, {F8: blade 5 A}, L2.+], size: 2.5 mm2, lengths: [0.1 m, 2 m]}\n  - {id: 9, from: L2.-, to: B1.-, size: 2.5 mm2, length: 2 m}", 1)
	fresh := strings.Replace(text, "wires:", "  L1: {kind: light, title: Lamp, draw: 3 A, space: cabin}\n  L3: {kind: light, title: New lamp, draw: 2 A}\nwires:\n"+
		"  - {id: 6, path: [B1.+, {F6: blade 5 A}, L3.+], size: 2.5 mm2, lengths: [0.1 m, 2 m]}\n  - {id: 7, from: L3.-, to: B1.-, size: 2.5 mm2, length: 2 m}", 1)
	a, b, out := filepath.Join(dir, "a.yaml"), filepath.Join(dir, "b.yaml"), filepath.Join(dir, "out")
	put(t, a, old)
	put(t, b, fresh)
	if code, _, words := run("compare", a, b, "-o", out); code == Misuse {
		t.Fatal(words)
	}
	names, err := filepath.Glob(filepath.Join(out, "*dc*.svg"))
	if err != nil || len(names) == 0 {
		t.Fatalf("nothing is drawn: %v", err)
	}
	var all string
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		all += string(data)
	}
	for _, want := range []string{
		`class="part removed" id="part-L2"`, `class="part added" id="part-L3"`, `class="part changed" id="part-L1"`,
		`removed" data-wire="8b"`, `added" data-wire="6b"`, `unchanged dc" data-wire="1a"`,
	} {
		if !strings.Contains(all, want) {
			t.Errorf("%s is not drawn", want)
		}
	}
}
