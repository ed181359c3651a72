package job

import (
	"fitout/schema/kinds"
	"fitout/schema/read"
)

// From reads an installation through an opener: an editor's unsaved text, a
// revision out of version control.
func From(name string, open read.Opener) *Job {
	boat, problems := read.Boat(open, name, kinds.All())
	return &Job{Name: name, Boat: boat, Problems: problems, Open: open}
}

// Overlay returns an opener that gives these texts by name, and what open gives
// for every other name.
func Overlay(open read.Opener, texts map[string]string) read.Opener {
	return func(name string) ([]byte, error) {
		if text, ok := texts[name]; ok {
			return []byte(text), nil
		}
		return open(name)
	}
}

// Disk opens files of the file system, each at most one byte longer than the
// reader accepts.
func Disk(name string) ([]byte, error) { return readFile(name) }
