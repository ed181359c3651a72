package lsp

import (
	"context"
	"encoding/json"
	"errors"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/sourcegraph/jsonrpc2"
)

// editor is a client at the other end of the wire.
type editor struct {
	t       testing.TB
	conn    *jsonrpc2.Conn
	news    chan publishParams
	ended   chan error
	version int
	uri     string
	text    string
}

func disk(name string) ([]byte, error) { return os.ReadFile(filepath.FromSlash(name)) }

// start connects an editor to a server over a pipe.
func start(t testing.TB) *editor {
	t.Helper()
	here, there := net.Pipe()
	e := &editor{t: t, news: make(chan publishParams, 100), ended: make(chan error, 1)}
	go func() { e.ended <- Serve(context.Background(), there, "test", disk) }()
	e.conn = jsonrpc2.NewConn(context.Background(), jsonrpc2.NewBufferedStream(here, jsonrpc2.VSCodeObjectCodec{}),
		jsonrpc2.HandlerWithError(func(_ context.Context, _ *jsonrpc2.Conn, r *jsonrpc2.Request) (any, error) {
			var p publishParams
			if r.Method == "textDocument/publishDiagnostics" && json.Unmarshal(*r.Params, &p) == nil {
				e.news <- p
			}
			return nil, nil
		}))
	var hello map[string]any
	e.call("initialize", map[string]any{"capabilities": map[string]any{}}, &hello)
	if hello["capabilities"] == nil {
		t.Fatal("no capabilities")
	}
	e.tell("initialized", map[string]any{})
	return e
}

func (e *editor) call(method string, params, result any) {
	e.t.Helper()
	if err := e.conn.Call(context.Background(), method, params, result); err != nil {
		e.t.Fatalf("%s: %v", method, err)
	}
}

func (e *editor) tell(method string, params any) {
	e.t.Helper()
	if err := e.conn.Notify(context.Background(), method, params); err != nil {
		e.t.Fatalf("%s: %v", method, err)
	}
}

func (e *editor) open(path, text string) {
	e.uri, e.text, e.version = uriOf(path), text, 1
	e.tell("textDocument/didOpen", map[string]any{"textDocument": map[string]any{"uri": e.uri, "languageId": "yaml", "version": 1, "text": text}})
}

// change replaces one text by another, as a range.
func (e *editor) change(old, new string) {
	e.t.Helper()
	i := strings.Index(e.text, old)
	if i < 0 || strings.Count(e.text, old) != 1 {
		e.t.Fatalf("%q does not stand once in the text", old)
	}
	e.version++
	e.tell("textDocument/didChange", map[string]any{
		"textDocument":   map[string]any{"uri": e.uri, "version": e.version},
		"contentChanges": []any{map[string]any{"range": textRange{at(e.text, i), at(e.text, i+len(old))}, "text": new}},
	})
	e.text = strings.Replace(e.text, old, new, 1)
}

// at is the position of an offset in a text of plain letters.
func at(text string, offset int) position {
	line := strings.Count(text[:offset], "\n")
	return position{line, len([]rune(text[strings.LastIndexByte(text[:offset], '\n')+1 : offset]))}
}

// diagnostics waits for those of the text as it stands.
func (e *editor) diagnostics() []diagnostic {
	e.t.Helper()
	late := time.After(30 * time.Second)
	for {
		select {
		case p := <-e.news:
			if p.URI == e.uri && p.Version != nil && *p.Version == e.version {
				return p.Diagnostics
			}
		case err := <-e.ended:
			e.t.Fatalf("the server ended: %v", err)
		case <-late:
			e.t.Fatal("no diagnostics")
		}
	}
}

func has(list []diagnostic, code string) bool {
	return slices.ContainsFunc(list, func(d diagnostic) bool { return d.Code == code })
}

func (e *editor) position(mark string, within int) map[string]any {
	e.t.Helper()
	i := strings.Index(e.text, mark)
	if i < 0 {
		e.t.Fatalf("%q is not in the text", mark)
	}
	return map[string]any{"textDocument": map[string]any{"uri": e.uri}, "position": at(e.text, i+within)}
}

const lamp = `fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  B1: {kind: battery, title: House, chemistry: agm, volts: 12 V, capacity: 100 Ah, emf: 12 V, resistance: 0 ohm, space: cabin}
  F1: {kind: fuse, title: Main, family: blade, rating: 20 A, resistance: 0 ohm, space: cabin}
  L1: {kind: light, title: Lamp, draw: 12 A, volts: 12 V, model: resistance, space: cabin}
wires:
  - {id: 1, path: [B1.+, F1, L1.+], size: 6 mm2, lengths: [0.1 m, 2 m], resistances: [0 ohm, 0.1 ohm]}
  - {id: 2, from: L1.-, to: B1.-, size: 6 mm2, length: 2 m, resistance: 0.1 ohm}
`

// Open, break, diagnostics, code action, clean.
func TestOverTheWire(t *testing.T) {
	e := start(t)
	e.open(filepath.Join(t.TempDir(), "boat.yaml"), lamp)
	if d := e.diagnostics(); has(d, "fuse-exceeds-wire") {
		t.Fatalf("the sound boat: %+v", d)
	}

	e.change("kind: fuse", "kind: fuze")
	d := e.diagnostics()
	if len(d) == 0 || d[0].Severity != severityError || !strings.Contains(d[0].Message, "fuse") || d[0].Range.Start.Line != 4 {
		t.Errorf("a mistake: %+v", d)
	}
	e.change("kind: fuze", "kind: fuse")
	e.diagnostics()

	e.change("rating: 20 A", "rating: 150 A")
	if d := e.diagnostics(); !has(d, "fuse-exceeds-wire") {
		t.Fatalf("the fuse: %+v", d)
	}
	var actions []codeAction
	e.call("textDocument/codeAction", map[string]any{"textDocument": map[string]any{"uri": e.uri},
		"range": textRange{position{0, 0}, position{20, 0}}, "context": map[string]any{"diagnostics": []any{}}}, &actions)
	i := slices.IndexFunc(actions, func(a codeAction) bool {
		return len(a.Diagnostics) == 1 && a.Diagnostics[0].Code == "fuse-exceeds-wire"
	})
	if i < 0 {
		t.Fatalf("no edit is offered: %+v", actions)
	}
	edits := actions[i].Edit.Changes[e.uri]
	if len(edits) != 1 {
		t.Fatalf("edits: %+v", actions[i].Edit)
	}
	from, to := offsetOf(e.text, edits[0].Range.Start), offsetOf(e.text, edits[0].Range.End)
	if old := e.text[from:to]; old != "150 A" {
		t.Fatalf("the edit replaces %q", old)
	}
	e.change("150 A", edits[0].NewText)
	if d := e.diagnostics(); has(d, "fuse-exceeds-wire") {
		t.Errorf("after the edit: %+v", d)
	}

	var none any
	e.call("shutdown", nil, &none)
	e.tell("exit", nil)
	select {
	case err := <-e.ended:
		if err != nil && !errors.Is(err, jsonrpc2.ErrClosed) {
			t.Error(err)
		}
	case <-time.After(10 * time.Second):
		t.Error("the server does not end")
	}
}

// The lamp of 1 Ω over 0.2 Ω of wire takes 10 A and sees 10 V (Ohm's law): hover
// says so, also while a line is broken.
func TestHover(t *testing.T) {
	e := start(t)
	e.open(filepath.Join(t.TempDir(), "boat.yaml"), lamp)
	e.diagnostics()
	for range 2 {
		var h hover
		e.call("textDocument/hover", e.position("L1: {kind", 1), &h)
		if !strings.Contains(h.Contents.Value, "current 10.0 A") || !strings.Contains(h.Contents.Value, "voltage 10.0 V") {
			t.Errorf("hover: %q", h.Contents.Value)
		}
		e.change("wires:", "wires: [")
		e.diagnostics()
		e.text = strings.Replace(e.text, "wires: [", "wires:", 1)
		e.version++
		e.tell("textDocument/didChange", map[string]any{"textDocument": map[string]any{"uri": e.uri, "version": e.version}, "contentChanges": []any{map[string]any{"text": e.text}}})
		e.diagnostics()
	}
	var h hover
	e.call("textDocument/hover", e.position("rating: 20 A", 2), &h)
	if !strings.Contains(h.Contents.Value, "rating") {
		t.Errorf("hover over a key: %q", h.Contents.Value)
	}
}

func TestDefinition(t *testing.T) {
	e := start(t)
	e.open(filepath.Join(t.TempDir(), "boat.yaml"), lamp)
	for mark, line := range map[string]int{"F1, L1.+": 4, "L1.-, to": 5, "cabin}\n  F1": 1} {
		var l location
		e.call("textDocument/definition", e.position(mark, 1), &l)
		if l.URI != e.uri || l.Range.Start.Line != line {
			t.Errorf("%q leads to %+v, want line %d", mark, l, line)
		}
	}
}

func TestCompletion(t *testing.T) {
	e := start(t)
	e.open(filepath.Join(t.TempDir(), "boat.yaml"), lamp)
	e.diagnostics()
	for _, c := range []struct {
		old, new, mark string
		within         int
		want, not      string
	}{
		{"  - {id: 2", "  - {id: 3, from: L1., to: B1.-}\n  - {id: 2", "from: L1., to", 9, "L1.+", "B1.+"},
		{"kind: fuse", "kind: f", "kind: f,", 7, "fuse", ""},
		{"family: blade", "family: b", "family: b,", 9, "class-t", ""},
		{"space: cabin}\nwires", "space: c}\nwires", "space: c}\nwires", 8, "cabin", ""},
		{"size: 6 mm2, length: 2", "size: , length: 2", "size: , length", 6, "2/0 AWG", ""},
		{"from: L1.-, to: B1.-", "from: L1.-, to: B", "to: B, size", 5, "B1", ""},
		{"path: [B1.+, F1, L1.+]", "path: [B1.+, F, L1.+]", "path: [B1.+, F,", 14, "F1", ""},
		{"draw: 12 A,", "dra", "dra volts", 3, "draw", "chemistry"},
		{"id: 1, path", "id: 1, col, path", "col, path", 3, "color", "family"},
	} {
		e.change(c.old, c.new)
		var list []completionItem
		e.call("textDocument/completion", e.position(c.mark, c.within), &list)
		find := func(label string) bool {
			return slices.ContainsFunc(list, func(i completionItem) bool { return i.Label == label })
		}
		if !find(c.want) || c.not != "" && find(c.not) {
			var labels []string
			for _, i := range list {
				labels = append(labels, i.Label)
			}
			t.Errorf("%s: want %s in %v", c.mark, c.want, labels)
		}
		e.version++
		e.text = lamp
		e.tell("textDocument/didChange", map[string]any{"textDocument": map[string]any{"uri": e.uri, "version": e.version}, "contentChanges": []any{map[string]any{"text": e.text}}})
	}
}

// An included file is judged as part of its boat.
func TestIncluded(t *testing.T) {
	dir := t.TempDir()
	parts := "parts:\n  L1: {kind: light, title: Lamp, draw: 2 A, space: cabin}\n"
	for name, text := range map[string]string{"boat.yaml": "fitout: 1\ninclude: [lamp.yaml]\nspaces: {cabin: {title: Cabin}}\n", "lamp.yaml": parts} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	e := start(t)
	e.open(filepath.Join(dir, "lamp.yaml"), parts)
	for _, d := range e.diagnostics() {
		if d.Severity == severityError && d.Code == "" {
			t.Errorf("alone it would lack its space: %+v", d)
		}
	}
	e.change("space: cabin", "space: cabim")
	if d := e.diagnostics(); len(d) == 0 || !strings.Contains(d[0].Message, "cabin") {
		t.Errorf("a mistake in the included file: %+v", d)
	}
}

// Positions count UTF-16 units.
func TestPositions(t *testing.T) {
	text := "a: é\U0001F6A4x\nb: 1\r\nc"
	for _, c := range []struct {
		p    position
		want string
	}{{position{0, 3}, "é"}, {position{0, 4}, "\U0001F6A4"}, {position{0, 6}, "x"}, {position{0, 99}, "\nb"}, {position{1, 99}, "\r\nc"}, {position{2, 0}, "c"}, {position{9, 0}, ""}} {
		if got := text[offsetOf(text, c.p):]; !strings.HasPrefix(got, c.want) {
			t.Errorf("%v: %q, want %q", c.p, got, c.want)
		}
	}
}

func BenchmarkEditToDiagnostics(b *testing.B) {
	text, err := os.ReadFile("../../../examples/yacht.yaml")
	if err != nil {
		b.Fatal(err)
	}
	e := start(b)
	e.open(filepath.Join(b.TempDir(), "boat.yaml"), string(text))
	e.diagnostics()
	for b.Loop() {
		e.change("fitout: 1\n", "# a\nfitout: 1\n")
		e.diagnostics()
		e.change("# a\nfitout: 1\n", "fitout: 1\n")
		e.diagnostics()
	}
}
