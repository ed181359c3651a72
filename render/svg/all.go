package svg

import (
	"bytes"
	"runtime"
	"sync"
	"sync/atomic"

	"fitout/render/draw"
)

// Files writes each sheet as a file of its own, as many at a time as the machine
// has cores. The files stand in the order of the sheets; the error is that of the
// first sheet in this order that has one.
func Files(sheets []draw.Sheet, o Options) ([][]byte, error) {
	files, errs := make([][]byte, len(sheets)), make([]error, len(sheets))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(sheets)) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(sheets); i = int(next.Add(1)) - 1 {
				var b bytes.Buffer
				errs[i] = Write(&b, sheets[i], o)
				files[i] = b.Bytes()
			}
		})
	}
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return files, nil
}
