package review

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

func fetch(t *testing.T, address string, change func(*http.Request)) (int, string, http.Header) {
	t.Helper()
	r, err := http.NewRequest(http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(r)
	}
	resp, err := http.DefaultTransport.RoundTrip(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(body), resp.Header
}

func TestRefuses(t *testing.T) {
	s, address := serve(t, boat(t, "dayboat.yaml"))
	if code, body, h := fetch(t, address, nil); code != 200 || !strings.Contains(body, "<main>") || h.Get("Content-Security-Policy") == "" {
		t.Fatalf("the page itself: %d", code)
	}
	for name, c := range map[string]struct {
		url    string
		change func(*http.Request)
		code   int
	}{
		"another host":           {address, func(r *http.Request) { r.Host = "boat.example" }, 403},
		"another port":           {address, func(r *http.Request) { r.Host = "127.0.0.1:1" }, 403},
		"another origin":         {address + "state", func(r *http.Request) { r.Header.Set("Origin", "http://boat.example") }, 403},
		"the null origin":        {address + "state", func(r *http.Request) { r.Header.Set("Origin", "null") }, 403},
		"another site":           {address + "state", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, 403},
		"another port's page":    {address + "state", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-site") }, 403},
		"writing":                {address + "state", func(r *http.Request) { r.Method = http.MethodPost }, 403},
		"no token":               {"http://" + s.host + "/", nil, 404},
		"another token":          {"http://" + s.host + "/" + strings.Repeat("A", len(s.token)) + "/state", nil, 404},
		"half a token":           {"http://" + s.host + "/" + s.token[:10] + "/state", nil, 404},
		"out of the assets":      {address + "app/..%2f..%2fserver.go", nil, 404},
		"up":                     {address + "app/../../../etc/passwd", nil, 404},
		"no such sheet":          {address + "sheet/..%2f..%2fetc%2fpasswd", nil, 404},
		"no such list":           {address + "list/..%2fwires", nil, 404},
		"heel that is no number": {address + "heel/NaN", nil, 404},
		"heel beyond":            {address + "heel/1e9", nil, 404},
		"anything else":          {address + "boat.yaml", nil, 404},
	} {
		if code, body, _ := fetch(t, c.url, c.change); code != c.code || strings.Contains(body, "root:") {
			t.Errorf("%s: status %d, want %d", name, code, c.code)
		}
	}
	if code, _, _ := fetch(t, strings.Replace(address, "127.0.0.1", "localhost", 1), nil); code != 200 {
		t.Errorf("localhost: %d", code)
	}
}

func stateOf(t *testing.T, address string) (v state) {
	t.Helper()
	_, body, _ := fetch(t, address+"state", nil)
	if err := json.Unmarshal([]byte(body), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// Nothing outside the folder is read, by path or by link.
func TestStaysInFolder(t *testing.T) {
	outer := t.TempDir()
	put(t, filepath.Join(outer, "secret.yaml"), "parts:\n  XX9: {kind: light, title: secret light, draw: 1 A}\n")
	dir := filepath.Join(outer, "boat")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(filepath.Join(outer, "secret.yaml"), filepath.Join(dir, "link.yaml")); err != nil {
		t.Skip("no links here:", err)
	}
	for _, include := range []string{"../secret.yaml", "link.yaml", filepath.Join(outer, "secret.yaml")} {
		file := filepath.Join(dir, "boat.yaml")
		put(t, file, "fitout: 1\ninclude: ["+include+"]\n")
		_, address := serve(t, file)
		v := stateOf(t, address)
		if len(v.Problems) == 0 || v.Good {
			t.Errorf("%s was read", include)
		}
		if _, body, _ := fetch(t, address+"source", nil); strings.Contains(body, "secret light") {
			t.Errorf("%s was served", include)
		}
	}
}

// A file beyond 32 MB, the reader's bound, is refused and not held.
func TestHugeFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "boat.yaml")
	put(t, file, "fitout: 1\n# "+strings.Repeat("x", 33<<20))
	_, address := serve(t, file)
	if v := stateOf(t, address); len(v.Problems) != 1 || len(v.Problems[0].Excerpt) > 1000 {
		t.Errorf("%d problems", len(v.Problems))
	}
}

// Deeper heel lets in more: what floods at the file's heel floods at 45° too.
func TestHeel(t *testing.T) {
	_, address := serve(t, boat(t, "cruiser.yaml"))
	at := func(angle string) (n int) {
		_, body, _ := fetch(t, address+"heel/"+angle, nil)
		var v struct{ Findings []finding }
		if err := json.Unmarshal([]byte(body), &v); err != nil {
			t.Fatal(err)
		}
		return len(v.Findings)
	}
	if low, high := at("0"), at("45"); high <= low {
		t.Errorf("%d findings upright, %d at 45°", low, high)
	}
}

// A thousand saves leave the heap as it was after the first hundred, within a
// state's own size.
func TestThousandSaves(t *testing.T) {
	if testing.Short() {
		t.Skip("a thousand saves take a while")
	}
	file := boat(t, "dayboat.yaml")
	s, err := New(file)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	heap := func() uint64 {
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var after uint64
	for i := range 1000 {
		if i == 100 {
			after = heap()
		}
		put(t, file, string(bytes.Repeat([]byte("#\n"), i%7))+string(text))
		s.Reload()
	}
	if end := heap(); end > after+after/4+2<<20 {
		t.Errorf("the heap grew from %d to %d bytes", after, end)
	}
}
