package job

import (
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"fitout/schema/source"
)

// Files expands names: a folder stands for every installation file below it (a
// YAML file that says `fitout:` at its top; included files do not). Order is by
// path, each file once.
func Files(names []string) ([]string, error) {
	var out []string
	seen := map[string]bool{}
	add := func(name string) {
		if !seen[name] {
			seen[name] = true
			out = append(out, name)
		}
	}
	for _, name := range names {
		st, err := os.Stat(name)
		switch {
		case name == "-":
			add(name)
			continue
		case err != nil:
			return nil, err
		case !st.IsDir():
			add(name)
			continue
		}
		found, err := below(name)
		if err != nil {
			return nil, err
		}
		for _, f := range found {
			add(f)
		}
	}
	return out, nil
}

func below(dir string) ([]string, error) {
	var out []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		hidden := strings.HasPrefix(d.Name(), ".") && path != dir
		if d.IsDir() && hidden {
			return filepath.SkipDir
		}
		ext := strings.ToLower(filepath.Ext(path))
		if hidden || !d.Type().IsRegular() || ext != ".yaml" && ext != ".yml" {
			return nil
		}
		if ok, err := saysFitout(path); err != nil || !ok {
			return err
		}
		out = append(out, path)
		return nil
	})
	slices.Sort(out)
	return out, err
}

// saysFitout reports whether a file has the version key at its top level.
func saysFitout(path string) (bool, error) {
	text, err := readFile(path)
	if err != nil {
		return false, err
	}
	f := source.New(path, string(text))
	for n := 1; n <= f.Lines(); n++ {
		if strings.HasPrefix(f.Line(n), "fitout:") {
			return true, nil
		}
	}
	return false, nil
}

// Fleet reads and judges files in parallel; results keep the order of the names.
// done, where not nil, is called after each file, one call at a time.
func Fleet(names []string, stdin io.Reader, done func(finished, all int)) ([]*Job, error) {
	jobs := make([]*Job, len(names))
	errs := make([]error, len(names))
	var mu sync.Mutex
	finished := 0
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(len(names), runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := range next {
				j, err := Read(names[i], stdin)
				if err == nil {
					j.Check()
				}
				jobs[i], errs[i] = j, err
				mu.Lock()
				finished++
				if done != nil {
					done(finished, len(names))
				}
				mu.Unlock()
			}
		})
	}
	for i := range names {
		next <- i
	}
	close(next)
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return jobs, nil
}
