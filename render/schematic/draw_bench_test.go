package schematic_test

import (
	"bytes"
	"fmt"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"sync"
	"testing"
	"time"

	"fitout/render"
	"fitout/render/pdf"
	"fitout/render/svg"
	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// BenchmarkDraw draws whole boats that have been read and checked: every sheet,
// an SVG file each, and the PDF. The collector runs as the command has it. held-MB
// is the most memory taken from the system and not given back, sampled every
// millisecond.
func BenchmarkDraw(b *testing.B) {
	yacht := boattest.ReadFile(b, "../../examples/yacht.yaml")
	for _, paper := range []string{"A3", "A4"} {
		b.Run("yacht "+paper, func(b *testing.B) { benchDraw(b, yacht, render.Options{Paper: paper}) })
	}
	for _, n := range []int{150, 600} {
		for _, careless := range []bool{false, true} {
			name := fmt.Sprintf("%d parts", n)
			if careless {
				name += " careless"
			}
			boat := boattest.Read(b, makeWhole(n, 1, careless))
			b.Run(name, func(b *testing.B) { benchDraw(b, boat, render.Options{}) })
		}
	}
}

func benchDraw(b *testing.B, boat *schema.Boat, o render.Options) {
	s := survey.Of(boat)
	r := rules.Check(s)
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(256 << 20))
	runtime.GC()
	debug.FreeOSMemory()
	held := watchMemory()
	sheets := 0
	for b.Loop() {
		sheets = wholeSet(b, s, r, o)
	}
	b.ReportMetric(float64(held())/1e6, "held-MB")
	b.ReportMetric(float64(sheets), "sheets")
	b.ReportAllocs()
}

// wholeSet draws and writes every file, as the command does.
func wholeSet(t testing.TB, s *survey.Survey, r rules.Result, o render.Options) int {
	sheets, err := render.Sheets(s, r, o)
	if err != nil {
		t.Fatal(err)
	}
	var failed error
	var wait sync.WaitGroup
	wait.Go(func() {
		var file bytes.Buffer
		failed = pdf.Write(&file, sheets, pdf.Document{Title: "drawings", Theme: o.Theme()})
	})
	if _, err := svg.Files(sheets, svg.Options{Theme: o.Theme()}); err != nil {
		t.Fatal(err)
	}
	if wait.Wait(); failed != nil {
		t.Fatal(failed)
	}
	return len(sheets)
}

// watchMemory samples what the program holds until the function it returns is
// called, which gives the most.
func watchMemory() func() uint64 {
	stop, most := make(chan struct{}), make(chan uint64)
	go func() {
		list := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
		top := uint64(0)
		tick := time.NewTicker(time.Millisecond)
		defer tick.Stop()
		for {
			metrics.Read(list)
			top = max(top, list[0].Value.Uint64()-list[1].Value.Uint64())
			select {
			case <-stop:
				most <- top
				return
			case <-tick.C:
			}
		}
	}()
	return func() uint64 {
		close(stop)
		return <-most
	}
}
