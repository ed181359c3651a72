package review

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// browser starts a headless Chromium with a page on the file. Without Chromium
// the test is skipped, unless FITOUT_REQUIRE_ENGINES=1 asks for it.
func browser(t *testing.T, file string, width, height int) (ctx context.Context, s *Server) {
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
	s, address := serve(t, file)
	o := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-background-networking", true), chromedp.NoFirstRun, chromedp.WindowSize(width, height))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), o...)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(alloc)
	t.Cleanup(stop)
	do(t, ctx, chromedp.Navigate(address), chromedp.WaitVisible("#view svg"))
	return ctx, s
}

// serve starts the page's server for the length of the test.
func serve(t testing.TB, file string) (*Server, string) {
	t.Helper()
	s, err := New(file)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ready, ended := make(chan string, 1), make(chan error, 1)
	go func() { ended <- s.Serve(ctx, func(a string) { ready <- a }) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		s.Close()
	})
	select {
	case a := <-ready:
		return s, a
	case err := <-ended:
		t.Fatal(err)
		return nil, ""
	}
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

func act(t *testing.T, ctx context.Context, statement string) {
	t.Helper()
	js[bool](t, ctx, statement+"; true")
}

// until waits for an expression to become true in the page.
func until(t *testing.T, ctx context.Context, what, expression string) {
	t.Helper()
	for range 800 {
		if js[bool](t, ctx, "Boolean("+expression+")") {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("%s: does not come\n%s", what, js[string](t, ctx, `document.body.innerText.slice(0, 600)`))
}

// set gives a control a value as a person would.
func set(t *testing.T, ctx context.Context, selector, value, event string) {
	t.Helper()
	act(t, ctx, `(e => { e.value = "`+value+`"; e.dispatchEvent(new Event("`+event+`")); })(document.querySelector("`+selector+`"))`)
}

// shot keeps a screenshot where FITOUT_SHOTS names a folder, to be looked at.
func shot(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	dir := os.Getenv("FITOUT_SHOTS")
	if dir == "" {
		return
	}
	b, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(dir, name+".png"), string(b))
}

// boat copies an example to a folder of its own, changed as asked.
func boat(t testing.TB, example string, change ...string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("../../../examples", example))
	if err != nil {
		t.Fatal(err)
	}
	out := string(text)
	for i := 0; i+1 < len(change); i += 2 {
		if !strings.Contains(out, change[i]) {
			t.Fatalf("%s does not hold %q", example, change[i])
		}
		out = strings.Replace(out, change[i], change[i+1], 1)
	}
	file := filepath.Join(t.TempDir(), example)
	put(t, file, out)
	return file
}

func put(t testing.TB, file, text string) {
	t.Helper()
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestPage(t *testing.T) {
	file := boat(t, "cruiser.yaml")
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	good := string(raw)
	ctx, _ := browser(t, file, 1500, 950)
	until(t, ctx, "findings are listed", `document.querySelectorAll(".find").length > 0`)
	shot(t, ctx, "open")

	t.Run("click a finding", func(t *testing.T) {
		do(t, ctx, chromedp.Click(`.find > button`))
		until(t, ctx, "its card opens", `document.querySelector(".find[data-lit] dl") !== null`)
		until(t, ctx, "its line is lit", `document.querySelector("#strip .lit") !== null && !document.querySelector("#strip").hidden`)
		until(t, ctx, "its part or run is lit", `document.querySelector("#view .halo.chosen") !== null`)
		shot(t, ctx, "finding")
	})
	t.Run("click a part", func(t *testing.T) {
		act(t, ctx, `document.querySelector("#view [data-part]").dispatchEvent(new MouseEvent("click", {bubbles: true}))`)
		until(t, ctx, "its data is shown", `!document.querySelector("#panel-part").hidden && document.querySelector("#panel-part dl") !== null`)
	})
	t.Run("trace", func(t *testing.T) {
		set(t, ctx, "#pick", "AC1", "change")
		until(t, ctx, "ways to a battery and to the sea", `["fed from B2", "hull opening TH1"].every(w => [...document.querySelectorAll("#panel-part .way")].some(s => s.innerText.includes(w)))`)
		until(t, ctx, "the way is drawn", `document.querySelectorAll("#view .halo.way").length > 0`)
		until(t, ctx, "figures by condition", `[...document.querySelectorAll("#panel-part td")].some(c => c.innerText === "current")`)
		shot(t, ctx, "trace")
		set(t, ctx, "#pick", "P1", "change")
		until(t, ctx, "what is lost", `document.querySelector("#panel-part h2").innerText.startsWith("P1") && document.querySelector("#panel-part").innerText.includes("AC1 Cabin unit: no water")`)
		do(t, ctx, chromedp.Click("#lost"))
		until(t, ctx, "lost parts are marked", `document.querySelectorAll("#view .halo.lost").length > 0`)
	})
	t.Run("layers", func(t *testing.T) {
		act(t, ctx, `(e => { e.selectedIndex = [...e.options].findIndex(o => o.text.startsWith("DC: Starting")); e.dispatchEvent(new Event("change")); })(document.querySelector("#sheet"))`)
		for _, layer := range []string{"voltage", "ahead of any device", "current"} {
			set(t, ctx, "#layer", layer, "change")
			until(t, ctx, layer, `document.querySelectorAll("#view .layer .reading").length > 0`)
		}
		shot(t, ctx, "current")
		set(t, ctx, "#layer", "", "change")
	})
	t.Run("keys", func(t *testing.T) {
		before := js[string](t, ctx, `document.querySelector("#fit").click(), document.querySelector("#view svg").getAttribute("viewBox")`)
		do(t, ctx, chromedp.Focus("#view"), chromedp.KeyEvent("+"), chromedp.KeyEvent("+"))
		if js[string](t, ctx, `document.querySelector("#view svg").getAttribute("viewBox")`) == before {
			t.Error("plus does not zoom")
		}
		do(t, ctx, chromedp.KeyEvent("0"))
		if got := js[string](t, ctx, `document.querySelector("#view svg").getAttribute("viewBox")`); got != before {
			t.Errorf("0 does not fit: %s, want %s", got, before)
		}
	})
	t.Run("heel", func(t *testing.T) {
		do(t, ctx, chromedp.Click("#tab-findings"))
		set(t, ctx, "#heel", "40", "input")
		until(t, ctx, "findings at 40°", `[...document.querySelectorAll(".find .tag")].some(x => x.innerText.includes("at 40° heel"))`)
		shot(t, ctx, "heel")
		do(t, ctx, chromedp.Click("#heel-back"))
		until(t, ctx, "back", `![...document.querySelectorAll(".find .tag")].some(x => x.innerText.includes("° heel"))`)
	})
	t.Run("live", func(t *testing.T) {
		put(t, file, strings.Replace(good, "name: Curlew", "name: Whimbrel", 1))
		until(t, ctx, "the new name", `document.querySelector("#boat").innerText === "Whimbrel"`)
		until(t, ctx, "the new sheets", `document.querySelector("#view svg").textContent.includes("Whimbrel")`)
	})
	t.Run("broken and mended", func(t *testing.T) {
		put(t, file, strings.Replace(good, "kind: shunt", "kind: shumt", 1))
		until(t, ctx, "the mistake with its line", `!document.querySelector("#broken").hidden && /cruiser.yaml:\d+:\d+/.test(document.querySelector("#broken").innerText) && document.querySelector("#broken").innerText.includes("shumt")`)
		until(t, ctx, "the last good drawing stays", `document.querySelector("#view svg").textContent.includes("Whimbrel") && !document.querySelector("#stale").hidden`)
		shot(t, ctx, "broken")
		put(t, file, good)
		until(t, ctx, "recovery", `document.querySelector("#broken").hidden && document.querySelector("#view svg").textContent.includes("Curlew")`)
	})
	t.Run("panels", func(t *testing.T) {
		for _, tab := range []string{"conditions", "lists", "unchecked", "source"} {
			do(t, ctx, chromedp.Click("#tab-"+tab))
			until(t, ctx, tab, `!document.querySelector("#panel-`+tab+`").hidden && document.querySelector("#panel-`+tab+`").innerText.length > 80`)
			shot(t, ctx, tab)
		}
	})
}

func TestNarrow(t *testing.T) {
	ctx, _ := browser(t, boat(t, "dayboat.yaml"), 390, 800)
	until(t, ctx, "findings are listed", `document.querySelectorAll("#panel-findings li").length > 0`)
	shot(t, ctx, "narrow")
	if js[bool](t, ctx, `document.documentElement.scrollWidth > document.documentElement.clientWidth + 1`) {
		t.Error("the page scrolls sideways on a narrow screen")
	}
}

// Text of the file is text on the page: in titles and notes it does not run.
func TestScriptIsInert(t *testing.T) {
	evil := `"<img src=x onerror=\"document.title='run'\"><script>document.title='run'</script>"`
	file := boat(t, "dayboat.yaml", "parts:", "parts:\n  ZZ1: {kind: light, title: "+evil+", note: "+evil+", draw: 1 A, volts: 12 V}")
	ctx, _ := browser(t, file, 1200, 800)
	set(t, ctx, "#pick", "ZZ1", "change")
	until(t, ctx, "the title stands as text", `document.querySelector("#panel-part h2")?.innerText.includes("<script>")`)
	if js[bool](t, ctx, `document.title === "run" || document.querySelector("img") !== null || document.querySelectorAll("script").length !== 1`) {
		t.Error("text of the file became markup")
	}
}

// axe-core (npm) finds nothing serious; FITOUT_AXE_DIR names the folder it is
// installed in.
func TestAccessible(t *testing.T) {
	axe, err := os.ReadFile(filepath.Join(os.Getenv("FITOUT_AXE_DIR"), "node_modules/axe-core/axe.min.js"))
	if err != nil {
		if os.Getenv("FITOUT_REQUIRE_ENGINES") == "1" {
			t.Fatalf("axe-core: %v", err)
		}
		t.Skip("axe-core is not installed (FITOUT_AXE_DIR): accessibility is not tested")
	}
	ctx, _ := browser(t, boat(t, "cruiser.yaml"), 1400, 900)
	until(t, ctx, "findings are listed", `document.querySelectorAll(".find").length > 0`)
	js[chromedp.Void](t, ctx, string(axe))
	for _, tab := range []string{"findings", "part", "conditions", "lists", "unchecked", "source"} {
		do(t, ctx, chromedp.Click("#tab-"+tab))
		switch tab {
		case "findings":
			do(t, ctx, chromedp.Click(".find > button"))
		case "part":
			set(t, ctx, "#pick", "AC1", "change")
			until(t, ctx, "a part", `document.querySelector("#panel-part dl") !== null`)
		}
		act(t, ctx, `window.axeDone = undefined; axe.run(document, {resultTypes: ["violations"]}).then(r => { window.axeDone = r.violations.filter(v => ["serious", "critical"].includes(v.impact)).map(v => v.id + ": " + v.nodes.slice(0, 3).map(n => n.target.join(" ") + " " + n.failureSummary).join("; ")); }); 1`)
		until(t, ctx, "axe", `window.axeDone !== undefined`)
		for _, v := range js[[]string](t, ctx, `window.axeDone`) {
			t.Errorf("%s: %s", tab, v)
		}
	}
}
