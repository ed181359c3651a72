package review

import (
	"context"
	"path/filepath"
	"time"

	"github.com/fsnotify/fsnotify"
)

// settle is how long the folder must be quiet before it is read: editors save in
// several steps.
const settle = 40 * time.Millisecond

// watch reads the installation again whenever one of its files changes. Folders
// are watched, not files: many editors save by putting a new file in the place
// of the old one.
func (s *Server) watch(ctx context.Context) error {
	w, err := fsnotify.NewWatcher()
	if err != nil {
		return err
	}
	defer w.Close()
	watched := map[string]bool{}
	var quiet <-chan time.Time
	for {
		for _, name := range s.files() {
			dir := filepath.Dir(filepath.Join(s.folder.dir, filepath.FromSlash(name)))
			if !watched[dir] && w.Add(dir) == nil {
				watched[dir] = true
			}
		}
		select {
		case <-ctx.Done():
			return nil
		case e, ok := <-w.Events:
			if !ok {
				return nil
			}
			if e.Op != fsnotify.Chmod && s.reads(e.Name) {
				quiet = time.After(settle)
			}
		case err, ok := <-w.Errors:
			if !ok {
				return nil
			}
			if err != nil { // events were lost: look at once
				quiet = time.After(settle)
			}
		case <-quiet:
			quiet = nil
			s.Reload()
		}
	}
}

// reads reports whether a path is one of the installation's files.
func (s *Server) reads(path string) bool {
	for _, name := range s.files() {
		if filepath.Join(s.folder.dir, filepath.FromSlash(name)) == filepath.Clean(path) {
			return true
		}
	}
	return false
}
