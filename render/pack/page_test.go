package pack

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fitout/schema/boattest"
)

// browser opens a page from disk in headless Chromium, w wide. Without Chromium
// the test is skipped, unless FITOUT_REQUIRE_ENGINES=1 asks for it.
func browser(t *testing.T, html []byte, w, h int) context.Context {
	t.Helper()
	var path string
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		if os.Getenv("FITOUT_REQUIRE_ENGINES") == "1" {
			t.Fatal("Chromium is not installed")
		}
		t.Skip("Chromium is not installed: the page is not tested in a browser")
	}
	name := filepath.Join(t.TempDir(), "pack.html")
	if err := os.WriteFile(name, html, 0o644); err != nil {
		t.Fatal(err)
	}
	o := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-background-networking", true), chromedp.NoFirstRun)
	alloc, stop := chromedp.NewExecAllocator(context.Background(), o...)
	t.Cleanup(stop)
	ctx, stop := chromedp.NewContext(alloc)
	t.Cleanup(stop)
	// A browser that hangs ends the test, it does not hang it.
	ctx, stop = context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(stop)
	do(t, ctx, chromedp.EmulateViewport(int64(w), int64(h)), chromedp.Navigate("file://"+name))
	return ctx
}

func do(t *testing.T, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	for _, step := range steps {
		if _, err := chromedp.Run(ctx, step); err != nil {
			t.Fatal(err)
		}
	}
}

// js evaluates an expression in the page.
func js[T any](t *testing.T, ctx context.Context, expression string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// find types into the search field and returns the titles that are found.
func find(t *testing.T, ctx context.Context, text string) []string {
	t.Helper()
	return js[[]string](t, ctx, `(function(){var f=document.getElementById("find");f.value="`+text+`";f.dispatchEvent(new Event("input"));
		return Array.from(document.querySelectorAll("#results a")).map(function(a){return a.textContent})})()`)
}

// The page of every example in a browser at a phone's width: nothing is wider
// than the screen, ids are unique, links within lead somewhere, what a reader needs
// has a name, every button and link is reached by the keyboard, nothing is loaded.
func TestEveryPageOnAPhone(t *testing.T) {
	for _, file := range exampleNames(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			p, _ := packOf(t, file, Reviewer)
			structure(t, browser(t, p.HTML, 360, 740))
		})
	}
}

func structure(t *testing.T, ctx context.Context) {
	t.Helper()
	if w := js[int](t, ctx, `document.documentElement.scrollWidth`); w > 360 {
		t.Errorf("the page is %d wide on a screen of 360", w)
	}
	if d := js[[]string](t, ctx, `(function(){var s={},d=[];document.querySelectorAll("[id]").forEach(function(e){if(s[e.id])d.push(e.id);s[e.id]=1});return d})()`); len(d) > 0 {
		t.Errorf("ids that stand twice: %v", d[:min(len(d), 8)])
	}
	if d := js[[]string](t, ctx, `Array.from(document.querySelectorAll('a[href^="#"]')).map(function(a){return a.getAttribute("href").slice(1)}).filter(function(h){return !document.getElementById(h)})`); len(d) > 0 {
		t.Errorf("links that lead nowhere: %v", d)
	}
	if d := js[[]string](t, ctx, `Array.from(document.querySelectorAll("[aria-labelledby],[aria-describedby],[aria-controls]")).flatMap(function(e){return ["aria-labelledby","aria-describedby","aria-controls"].map(function(n){return e.getAttribute(n)})}).filter(function(h){return h && !h.split(" ").every(function(x){return document.getElementById(x)})})`); len(d) > 0 {
		t.Errorf("names that are not there: %v", d)
	}
	if n := js[int](t, ctx, `Array.from(document.querySelectorAll("input")).filter(function(e){return !(e.labels && e.labels.length)}).length`); n > 0 {
		t.Errorf("%d fields have no label", n)
	}
	for _, tag := range []string{"header", "nav", "main", "footer", "h1", "[role=search]", "[role=status]", "html[lang]"} {
		if n := js[int](t, ctx, `document.querySelectorAll("`+tag+`").length`); n != 1 {
			t.Errorf("%s stands %d times", tag, n)
		}
	}
	// Headings go down by one level at most (WCAG 2 technique G141).
	if n := js[int](t, ctx, `(function(){var last=0,bad=0;document.querySelectorAll("h1,h2,h3,h4").forEach(function(h){var l=+h.tagName[1];if(l>last+1)bad++;last=l});return bad})()`); n > 0 {
		t.Errorf("%d headings skip a level", n)
	}
	if n := js[int](t, ctx, `Array.from(document.querySelectorAll("[onclick],[role=button]")).filter(function(e){return e.tabIndex<0}).length`); n > 0 {
		t.Errorf("%d things are worked by the mouse alone", n)
	}
	if n := js[int](t, ctx, `Array.from(document.querySelectorAll("a,button,input,summary")).filter(function(e){return e.tabIndex<0}).length`); n > 0 {
		t.Errorf("%d links, buttons or fields are not reached by the keyboard", n)
	}
	if n := js[int](t, ctx, `Array.from(document.querySelectorAll("svg")).filter(function(e){return e.getAttribute("aria-hidden")!=="true" && !e.getAttribute("aria-label") && !e.getAttribute("aria-labelledby") && !e.querySelector("title")}).length`); n > 0 {
		t.Errorf("%d drawings have no name", n)
	}
	if n := js[int](t, ctx, `performance.getEntriesByType("resource").filter(function(e){return !e.name.startsWith("data:")}).length`); n > 0 {
		t.Errorf("%d things were loaded", n)
	}
}

// A symptom, a part and a place are found, and a result is followed by keyboard.
func TestSearchOnAPhone(t *testing.T) {
	p, in := packOf(t, examples+"cruiser.yaml", Owner)
	ctx := browser(t, p.HTML, 360, 740)
	for text, want := range map[string]string{"no water": "AC1 Cabin unit: no water, or it trips", "bilge pump dead": "P3 Bilge pump: silent, or runs and moves no water",
		"lazarette": "Lazarette", "hose off": "What lets water in", "VHF1": "VHF1 VHF radio: dead or weak", "battery flat": "Battery flat overnight"} {
		got := find(t, ctx, text)
		if len(got) == 0 || !contains(got[:min(4, len(got))], want) {
			t.Errorf("%q finds %q first; %q was wanted among four", text, got[:min(4, len(got))], want)
		}
	}
	if got := find(t, ctx, "zzzz"); len(got) != 0 || !strings.Contains(js[string](t, ctx, `document.getElementById("count").textContent`), "Nothing") {
		t.Errorf("nonsense finds %v", got)
	}
	// Every load has its page on the screen; a charger's is among those of what
	// does not charge.
	for _, q := range in.Survey.Boat.Parts {
		for _, l := range in.Survey.DC(in.Survey.Conditions()[0]).Loads {
			if l.Part == q && !strings.Contains(string(p.HTML), `id="at-fault-`+q.ID+`"`) && !strings.Contains(string(p.HTML), `id="at-charge-`+q.ID+`"`) {
				t.Errorf("no fault page of %s", q.ID)
			}
		}
	}
	// A result is followed by keyboard: the focus goes to the heading.
	find(t, ctx, "VHF1")
	js[bool](t, ctx, `document.querySelector("#results a").click(); true`)
	for range 100 {
		if strings.Contains(js[string](t, ctx, `document.activeElement.textContent`), "VHF1") {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Errorf("the focus is on %q", js[string](t, ctx, `document.activeElement.textContent`))
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// Titles that are written to do harm are text: no element, no script of theirs;
// and nothing is loaded.
func TestHostileTitlesAreInert(t *testing.T) {
	const evil = `<img src=x onerror=window.pwned=1></script><script>window.pwned=1</script>&quot;\" javascript:1`
	boat := boattest.Read(t, `fitout: 1
vessel: {name: '`+evil+`', length: 6 m, beam: 2 m}
spaces:
  s: {title: '`+evil+`'}
parts:
  B1: {kind: battery, title: '`+evil+`', space: s, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  LT1: {kind: light, title: '`+evil+`', space: s, draw: 1 A, note: '`+evil+`'}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 10 A, title: '`+evil+`'}}, LT1.+], size: 2.5 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 1 m, color: '`+evil+`'}
conditions:
  a: {title: '`+evil+`', running: [LT1]}
sheets: {owner: '`+evil+`', drawn: '`+evil+`'}
`)
	p, err := Make(inputOf(boat), Options{})
	if err != nil {
		t.Fatal(err)
	}
	ctx := browser(t, p.HTML, 360, 740)
	if js[bool](t, ctx, `Boolean(window.pwned)`) {
		t.Error("a title was run")
	}
	if n := js[int](t, ctx, `document.querySelectorAll("img,iframe,object,link,script[src]").length`); n > 0 {
		t.Errorf("%d elements of a title's making, or loaded from elsewhere", n)
	}
	if n := js[int](t, ctx, `document.scripts.length`); n != 1 {
		t.Errorf("%d scripts", n)
	}
	if n := js[int](t, ctx, `performance.getEntriesByType("resource").filter(function(e){return !e.name.startsWith("data:")}).length`); n > 0 {
		t.Errorf("%d things were loaded", n)
	}
	find(t, ctx, "img")
	if js[bool](t, ctx, `Boolean(window.pwned) || document.querySelector("#results img") !== null`) {
		t.Error("a title was run in the results")
	}
}
