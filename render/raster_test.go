package render_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fitout/render/draw"
	"fitout/render/svg"
)

// perMM is the resolution of the comparison: 8 pixels a millimetre, 203 dpi.
const perMM = 8

// tool finds a program from outside the project. Without it the test is skipped,
// unless FITOUT_REQUIRE_ENGINES=1 asks for it.
func tool(t *testing.T, names ...string) string {
	t.Helper()
	for _, n := range names {
		if p, err := exec.LookPath(n); err == nil {
			return p
		}
	}
	if os.Getenv("FITOUT_REQUIRE_ENGINES") == "1" {
		t.Fatalf("%s is not installed and FITOUT_REQUIRE_ENGINES=1 asks for it", names[0])
	}
	t.Skipf("%s is not installed: not tested with it", names[0])
	return ""
}

func runTool(t *testing.T, env []string, name string, args ...string) []byte {
	t.Helper()
	c := exec.Command(name, args...)
	c.Env = append(os.Environ(), env...)
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	if err := c.Run(); err != nil {
		t.Fatalf("%s: %v\n%s", filepath.Base(name), err, errs.String())
	}
	return out.Bytes()
}

// ink is a sheet as one rasteriser shows it: 0 is black, 255 paper.
type ink struct {
	w, h int
	grey []uint8
}

func inkOf(t *testing.T, data []byte) ink {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	b := img.Bounds()
	k := ink{w: b.Dx(), h: b.Dy(), grey: make([]uint8, b.Dx()*b.Dy())}
	for y := range k.h {
		for x := range k.w {
			k.grey[y*k.w+x] = greyOf(img, b.Min.X+x, b.Min.Y+y)
		}
	}
	return k
}

func greyOf(img image.Image, x, y int) uint8 {
	return color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y
}

// at is the grey of a pixel; paper beyond the sheet.
func (k ink) at(x, y int) uint8 {
	if x < 0 || y < 0 || x >= k.w || y >= k.h {
		return 255
	}
	return k.grey[y*k.w+x]
}

// Grey levels: a pixel that is surely drawn, and one that has some ink. Between
// them lie the edges, which rasterisers smooth each in its own way.
const (
	surely = 110
	some   = 225
)

// speck is how many pixels of a square millimetre may differ: the first sliver of
// a dash that one program draws and another does not.
const speck = 3

// missing lists the places, in millimetres, where a has surely ink and b has none
// within reach: a place for each square millimetre at most.
func missing(a, b ink, reach float64) (out [][2]float64) {
	r := int(reach * perMM)
	seen := map[[2]int]int{}
	near := func(x, y int) bool {
		for dy := -r; dy <= r; dy++ {
			for dx := -r; dx <= r; dx++ {
				if dx*dx+dy*dy <= r*r && b.at(x+dx, y+dy) < some {
					return true
				}
			}
		}
		return false
	}
	for y := range a.h {
		for x := range a.w {
			cell := [2]int{x / perMM, y / perMM}
			if a.at(x, y) < surely && b.at(x, y) >= some && seen[cell] <= speck && !near(x, y) {
				if seen[cell]++; seen[cell] <= speck {
					continue
				}
				out = append(out, [2]float64{float64(x) / perMM, float64(y) / perMM})
			}
		}
	}
	return out
}

func svgFile(t *testing.T, s draw.Sheet, theme draw.Theme) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := svg.Write(&b, s, svg.Options{Theme: theme}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pixels(s draw.Sheet) (w, h int) {
	return int(float64(s.W)*perMM + 0.5), int(float64(s.H)*perMM + 0.5)
}

// byRsvg has librsvg draw a file. It does not read embedded faces, so the same
// face is offered to it by name; TestOtherFacesStayInTheFrame goes without.
func byRsvg(t *testing.T, rsvg, dir string, s draw.Sheet, file []byte) ink {
	t.Helper()
	return rsvgWith(t, []string{"FONTCONFIG_FILE=" + fontConfig(t, dir)}, rsvg, dir, s, file)
}

func rsvgWith(t *testing.T, env []string, rsvg, dir string, s draw.Sheet, file []byte) ink {
	t.Helper()
	name := filepath.Join(dir, s.ID+".svg")
	put(t, name, file)
	w, h := pixels(s)
	return inkOf(t, runTool(t, env, rsvg, "-w", fmt.Sprint(w), "-h", fmt.Sprint(h), name))
}

func fontConfig(t *testing.T, dir string) string {
	t.Helper()
	put(t, filepath.Join(dir, "regular.ttf"), draw.FontData(draw.Regular))
	put(t, filepath.Join(dir, "bold.ttf"), draw.FontData(draw.Bold))
	name := filepath.Join(dir, "fonts.conf")
	put(t, name, []byte(`<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd"><fontconfig><dir>`+dir+`</dir><match target="font"><edit name="hinting"><bool>false</bool></edit></match><cachedir>`+dir+`/cache</cachedir></fontconfig>`))
	return name
}

func put(t *testing.T, name string, data []byte) {
	t.Helper()
	if err := os.WriteFile(name, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// chromium is headless Chromium.
func chromium(t *testing.T) context.Context {
	t.Helper()
	path := tool(t, "chromium", "chromium-browser", "google-chrome")
	o := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("font-render-hinting", "none"), chromedp.Flag("disable-lcd-text", true))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), o...)
	t.Cleanup(stop)
	ctx, stop := chromedp.NewContext(alloc)
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, 4*time.Minute) // a browser that hangs ends the test
	t.Cleanup(stop)
	return ctx
}

// byChromium has the browser draw a file as an image in a page.
func byChromium(t *testing.T, ctx context.Context, s draw.Sheet, file []byte) ink {
	t.Helper()
	w, h := pixels(s)
	page := fmt.Sprintf(`<body style="margin:0"><img width="%d" height="%d" style="display:block" src="data:image/svg+xml;base64,%s">`,
		w, h, base64.StdEncoding.EncodeToString(file))
	name := filepath.Join(t.TempDir(), "page.html")
	put(t, name, []byte(page))
	for _, a := range []chromedp.Action[chromedp.Void]{chromedp.EmulateViewport(int64(w), int64(h)), chromedp.Navigate("file://" + name)} {
		if _, err := chromedp.Run(ctx, a); err != nil {
			t.Fatal(err)
		}
	}
	data, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	return inkOf(t, data)
}

// byPoppler has poppler draw a page of a PDF.
func byPoppler(t *testing.T, pdftoppm, name string, page int, s draw.Sheet) ink {
	t.Helper()
	w, h := pixels(s)
	return inkOf(t, runTool(t, nil, pdftoppm, "-png", "-f", fmt.Sprint(page), "-l", fmt.Sprint(page), "-scale-to-x", fmt.Sprint(w), "-scale-to-y", fmt.Sprint(h), name))
}
