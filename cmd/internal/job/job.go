// Package job runs the one sequence of fitout: read, survey, check. Commands,
// the review page and the language server share it.
package job

import (
	"io"
	"os"
	"path/filepath"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/report"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// mostBytes is the largest file the reader accepts; one byte more is read so
// that it can say so.
const mostBytes = 32 << 20

// Job is one installation, read and judged. Boat, Survey and Result are unset
// where there are problems: a file with a mistake is never judged or drawn.
type Job struct {
	Name     string
	Problems []diag.Problem
	Boat     *schema.Boat
	Survey   *survey.Survey
	Result   rules.Result
	// Open reads the file and what it includes again; standard input is kept.
	Open read.Opener
}

// OK reports whether the file could be read as an installation.
func (j *Job) OK() bool { return len(j.Problems) == 0 && j.Boat != nil }

// Read reads a file from disk, or standard input for "-".
func Read(name string, stdin io.Reader) (*Job, error) {
	var piped []byte
	open := func(path string) ([]byte, error) {
		if path != "-" {
			return readFile(path)
		}
		if piped == nil {
			text, err := io.ReadAll(io.LimitReader(stdin, mostBytes+1))
			if err != nil {
				return nil, err
			}
			piped = text
		}
		return piped, nil
	}
	if name != "-" {
		if _, err := os.Stat(name); err != nil {
			return nil, err
		}
	}
	boat, problems := read.Boat(open, name, kinds.All())
	return &Job{Name: name, Boat: boat, Problems: problems, Open: open}, nil
}

// readFile reads at most one byte more than the reader accepts, so that a huge
// file is refused without being held.
func readFile(path string) ([]byte, error) {
	f, err := os.Open(filepath.FromSlash(path))
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, mostBytes+1))
}

// Check surveys and judges what was read.
func (j *Job) Check() *Job {
	if j.OK() {
		j.Survey = survey.Of(j.Boat)
		j.Result = rules.Check(j.Survey)
	}
	return j
}

// Report returns the job in the form the report package writes.
func (j *Job) Report() report.File {
	f := report.File{Name: j.Name, Problems: j.Problems, Result: j.Result}
	if j.OK() && j.Survey != nil {
		f.Heading = heading(j.Survey)
	}
	return f
}

func heading(s *survey.Survey) string {
	set := s.Boat.Rules.Set.Or("us")
	text := "rules: " + set
	if set != "iso" {
		if s.Binding() {
			text += "; 33 CFR 183 subpart I binds this boat (petrol engine)"
		} else {
			text += "; 33 CFR 183 is quoted as practice: no petrol engine is stated, so the law does not bind"
		}
	}
	return text
}
