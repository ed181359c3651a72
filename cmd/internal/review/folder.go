package review

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// mostBytes is one more than the reader accepts, so that it can say so.
const mostBytes = 32<<20 + 1

// folder opens the installation's files: all of them lie in or below the main
// file's folder, links that lead out of it are refused.
type folder struct {
	root *os.Root
	dir  string
}

func openFolder(file string) (*folder, string, error) {
	st, err := os.Stat(file)
	switch {
	case err != nil:
		return nil, "", err
	case !st.Mode().IsRegular():
		return nil, "", fmt.Errorf("%s is no file", file)
	}
	real, err := filepath.EvalSymlinks(file)
	if err != nil {
		return nil, "", err
	}
	if real, err = filepath.Abs(real); err != nil {
		return nil, "", err
	}
	root, err := os.OpenRoot(filepath.Dir(real))
	if err != nil {
		return nil, "", err
	}
	return &folder{root, filepath.Dir(real)}, filepath.Base(real), nil
}

func (f *folder) open(name string) ([]byte, error) {
	st, err := f.root.Stat(filepath.FromSlash(name))
	switch {
	case err != nil:
		return nil, err
	case !st.Mode().IsRegular(): // a pipe would be waited for
		return nil, errors.New("it is no file")
	}
	r, err := f.root.Open(filepath.FromSlash(name))
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(io.LimitReader(r, mostBytes))
}
