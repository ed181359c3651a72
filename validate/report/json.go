package report

import (
	"encoding/json"
	"io"

	"fitout/schema/diag"
)

type jsonReport struct {
	Files  []jsonFile    `json:"files"`
	Errors []jsonProblem `json:"errors,omitempty"`
	Counts jsonCounts    `json:"counts"`
}

type jsonFile struct {
	File       string          `json:"file"`
	Findings   []jsonFinding   `json:"findings"`
	Deviations []jsonFinding   `json:"deviations"`
	Unchecked  []jsonUnchecked `json:"unchecked"`
	NotStated  []jsonNotStated `json:"not_stated"`
}

type jsonFinding struct {
	Rule      string         `json:"rule"`
	Severity  string         `json:"severity"`
	Class     string         `json:"class"`
	File      string         `json:"file"`
	Line      int            `json:"line"`
	Column    int            `json:"column"`
	At        []string       `json:"at"`
	Message   string         `json:"message"`
	Risk      string         `json:"risk"`
	Do        string         `json:"do"`
	Source    string         `json:"source"`
	Value     *float64       `json:"value"`
	Limit     *float64       `json:"limit"`
	Unit      *string        `json:"unit"`
	Condition *string        `json:"condition"`
	Attitude  *string        `json:"attitude"`
	Accepted  *jsonDeviation `json:"accepted,omitempty"`
}

type jsonDeviation struct {
	Why string `json:"why"`
	By  string `json:"by"`
}

type jsonUnchecked struct {
	Rule    string   `json:"rule"`
	At      []string `json:"at"`
	Missing string   `json:"missing"`
	File    string   `json:"file"`
	Line    int      `json:"line"`
	Column  int      `json:"column"`
	Datum   *jsonKey `json:"datum"` // null where no one value is missing
}

// jsonKey names a value that the file lacks.
type jsonKey struct {
	Key       string `json:"key"` // as the survey round writes it
	Of        string `json:"of"`  // part, way, wire, circuit, hose, space, vessel, sheets
	ID        string `json:"id"`
	Attribute string `json:"attribute"`
}

func keyJSON(k diag.Key) *jsonKey {
	if !k.Named() {
		return nil
	}
	return &jsonKey{k.String(), string(k.Of), k.ID, k.Attribute}
}

type jsonNotStated struct {
	At    string `json:"at"`
	What  string `json:"what"`
	Space string `json:"space"`
}

type jsonProblem struct {
	File    string  `json:"file"`
	Line    int     `json:"line"`
	Column  int     `json:"column"`
	Message string  `json:"message"`
	Near    *string `json:"near"`
}

type jsonCounts struct {
	Error     int `json:"error"`
	Warning   int `json:"warning"`
	Note      int `json:"note"`
	Deviation int `json:"deviation"`
	Unchecked int `json:"unchecked"`
}

// JSON writes one object for all files.
func JSON(w io.Writer, files []File) error {
	out := jsonReport{Files: []jsonFile{}}
	for _, f := range files {
		for _, p := range f.Problems {
			line, column := p.Span.Position()
			out.Errors = append(out.Errors, jsonProblem{nameOf(p.Span.Name(), f.Name), line, column, p.Message, orNull(p.Near)})
		}
		if len(f.Problems) > 0 {
			continue
		}
		out.Files = append(out.Files, fileJSON(f))
		out.Counts.Error += f.Result.Count(diag.Error)
		out.Counts.Warning += f.Result.Count(diag.Warning)
		out.Counts.Note += f.Result.Count(diag.Note)
		out.Counts.Deviation += len(f.Result.Deviations)
		out.Counts.Unchecked += len(f.Result.Unchecked)
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(out)
}

func fileJSON(f File) jsonFile {
	jf := jsonFile{File: f.Name, Findings: []jsonFinding{}, Deviations: []jsonFinding{}, Unchecked: []jsonUnchecked{}, NotStated: []jsonNotStated{}}
	for _, x := range f.Result.Findings {
		jf.Findings = append(jf.Findings, findingJSON(x))
	}
	for _, x := range f.Result.Deviations {
		j := findingJSON(x)
		j.Accepted = &jsonDeviation{x.Deviation.Why, x.Deviation.By}
		jf.Deviations = append(jf.Deviations, j)
	}
	for _, u := range f.Result.Unchecked {
		line, column := u.Span.Position()
		jf.Unchecked = append(jf.Unchecked, jsonUnchecked{u.Rule, list(u.At), u.Missing, u.Span.Name(), line, column, keyJSON(u.Key)})
	}
	for _, n := range f.Result.NotStated {
		jf.NotStated = append(jf.NotStated, jsonNotStated{n.At, n.What, n.Space})
	}
	return jf
}

func findingJSON(x diag.Finding) jsonFinding {
	line, column := x.Span.Position()
	return jsonFinding{
		Rule: x.Rule, Severity: x.Severity.String(), Class: x.Severity.Class(),
		File: x.Span.Name(), Line: line, Column: column, At: list(x.At),
		Message: x.Message, Risk: x.Risk, Do: x.Do, Source: x.Source,
		Value: x.Value, Limit: x.Limit, Unit: orNull(x.Unit), Condition: orNull(x.Condition), Attitude: orNull(x.Attitude),
	}
}

func orNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

func nameOf(name, file string) string {
	if name == "" {
		return file
	}
	return name
}

func list(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}
