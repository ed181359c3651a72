package report

import (
	"encoding/xml"
	"fmt"
	"io"

	"fitout/schema/diag"
	"fitout/validate/rules"
)

// JUnit writes one test suite a file and one test case a rule, in the XML form
// that build servers read: a case fails with the rule's errors and warnings;
// notes stand in its output; a rule that could judge nothing for want of data is
// skipped, with the data named.
func JUnit(w io.Writer, files []File) error {
	var out junitSuites
	for _, f := range files {
		s := junitSuite{Name: f.Name}
		for _, p := range f.Problems {
			s.Cases = append(s.Cases, junitCase{Name: place(p.Span), Class: f.Name, Error: &junitText{Message: p.Message}})
			s.Errors++
		}
		if len(f.Problems) == 0 {
			for _, r := range rules.All() {
				s.add(f, r.Name)
			}
		}
		s.Tests = len(s.Cases)
		out.Suites = append(out.Suites, s)
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	enc := xml.NewEncoder(w)
	enc.Indent("", "  ")
	if err := enc.Encode(out); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

func (s *junitSuite) add(f File, rule string) {
	c := junitCase{Name: rule, Class: f.Name}
	var failed, notes string
	count := 0
	for _, x := range f.Result.Findings {
		if x.Rule != rule {
			continue
		}
		row := fmt.Sprintf("%s %s %s\n", x.Severity.Class(), place(x.Span), x.Message)
		if x.Severity == diag.Note {
			notes += row
			continue
		}
		failed += row
		count++
	}
	missing := ""
	for _, u := range f.Result.Unchecked {
		if u.Rule == rule {
			missing += u.Missing + "\n"
		}
	}
	switch {
	case count > 0:
		c.Failure = &junitText{Message: fmt.Sprintf("%d findings", count), Text: failed}
		s.Failures++
	case missing != "":
		c.Skipped = &junitText{Message: "not checked, missing: " + missing}
		s.Skipped++
	}
	c.Out = notes
	s.Cases = append(s.Cases, c)
}

type junitSuites struct {
	XMLName xml.Name     `xml:"testsuites"`
	Suites  []junitSuite `xml:"testsuite"`
}

type junitSuite struct {
	Name     string      `xml:"name,attr"`
	Tests    int         `xml:"tests,attr"`
	Failures int         `xml:"failures,attr"`
	Errors   int         `xml:"errors,attr"`
	Skipped  int         `xml:"skipped,attr"`
	Cases    []junitCase `xml:"testcase"`
}

type junitCase struct {
	Name    string     `xml:"name,attr"`
	Class   string     `xml:"classname,attr"`
	Failure *junitText `xml:"failure,omitempty"`
	Error   *junitText `xml:"error,omitempty"`
	Skipped *junitText `xml:"skipped,omitempty"`
	Out     string     `xml:"system-out,omitempty"`
}

type junitText struct {
	Message string `xml:"message,attr"`
	Text    string `xml:",chardata"`
}
