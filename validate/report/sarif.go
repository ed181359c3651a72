package report

import (
	"encoding/json"
	"io"
	"path/filepath"

	"fitout/schema/diag"
	"fitout/validate/rules"
)

// SARIF writes findings as SARIF 2.1.0 (OASIS): one run over all files, every
// rule described once, accepted deviations as suppressed results, mistakes of a
// file as notifications.
func SARIF(w io.Writer, files []File, version string) error {
	run := sarifRun{Results: []sarifResult{}}
	run.Tool.Driver.Name = "fitout"
	run.Tool.Driver.Version = version
	index := map[string]int{}
	for i, r := range rules.All() {
		index[r.Name] = i
		run.Tool.Driver.Rules = append(run.Tool.Driver.Rules, sarifRule{ID: r.Name, Short: sarifText{r.Asks}, Full: sarifText{r.Why + "; source: " + r.Source}})
	}
	run.ColumnKind = "unicodeCodePoints"
	inv := sarifInvocation{Successful: true, Notifications: []sarifNotification{}}
	for _, f := range files {
		for _, p := range f.Problems {
			inv.Successful = false
			inv.Notifications = append(inv.Notifications, sarifNotification{Level: "error", Message: sarifText{p.Message}, Locations: sarifPlace(f, diag.Finding{Span: p.Span})})
		}
		for _, x := range f.Result.Findings {
			run.Results = append(run.Results, sarifOf(f, x, index))
		}
		for _, x := range f.Result.Deviations {
			r := sarifOf(f, x, index)
			r.Suppressions = []sarifSuppression{{Kind: "inSource", Justification: x.Deviation.Why + " (" + x.Deviation.By + ")"}}
			run.Results = append(run.Results, r)
		}
		for _, u := range f.Result.Unchecked {
			inv.Notifications = append(inv.Notifications, sarifNotification{Level: "note", Message: sarifText{u.Rule + " not checked: missing " + u.Missing}, Locations: sarifPlace(f, diag.Finding{Span: u.Span})})
		}
	}
	run.Invocations = []sarifInvocation{inv}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(sarifLog{Schema: "https://json.schemastore.org/sarif-2.1.0.json", Version: "2.1.0", Runs: []sarifRun{run}})
}

func sarifOf(f File, x diag.Finding, index map[string]int) sarifResult {
	text := x.Message
	for _, more := range []string{Where(x), x.Risk, x.Do, x.Source} {
		if more != "" {
			text += ". " + more
		}
	}
	r := sarifResult{RuleID: x.Rule, Level: x.Severity.String(), Message: sarifText{text}, Locations: sarifPlace(f, x)}
	if i, ok := index[x.Rule]; ok {
		r.RuleIndex = &i
	}
	r.Fingerprints = map[string]string{"fitout/v1": x.Rule + "@" + join(x.At) + "@" + x.Condition + "@" + x.Attitude}
	return r
}

func join(at []string) string {
	if len(at) == 0 {
		return ""
	}
	return at[0]
}

func sarifPlace(f File, x diag.Finding) []sarifLocation {
	name := x.Span.Name()
	if name == "" {
		name = f.Name
	}
	var l sarifLocation
	l.Physical.Artifact.URI = filepath.ToSlash(name)
	if x.Span.Valid() {
		line, column := x.Span.Position()
		endLine, endColumn := x.Span.File.Position(max(x.Span.End, x.Span.Start+1))
		l.Physical.Region = &sarifRegion{line, column, endLine, endColumn}
	}
	return []sarifLocation{l}
}

type sarifLog struct {
	Schema  string     `json:"$schema"`
	Version string     `json:"version"`
	Runs    []sarifRun `json:"runs"`
}

type sarifRun struct {
	Tool struct {
		Driver struct {
			Name    string      `json:"name"`
			Version string      `json:"version,omitempty"`
			Rules   []sarifRule `json:"rules"`
		} `json:"driver"`
	} `json:"tool"`
	Invocations []sarifInvocation `json:"invocations"`
	Results     []sarifResult     `json:"results"`
	ColumnKind  string            `json:"columnKind"`
}

type sarifRule struct {
	ID    string    `json:"id"`
	Short sarifText `json:"shortDescription"`
	Full  sarifText `json:"fullDescription"`
}

type sarifText struct {
	Text string `json:"text"`
}

type sarifInvocation struct {
	Successful    bool                `json:"executionSuccessful"`
	Notifications []sarifNotification `json:"toolExecutionNotifications"`
}

type sarifNotification struct {
	Level     string          `json:"level"`
	Message   sarifText       `json:"message"`
	Locations []sarifLocation `json:"locations"`
}

type sarifResult struct {
	RuleID       string             `json:"ruleId"`
	RuleIndex    *int               `json:"ruleIndex,omitempty"`
	Level        string             `json:"level"`
	Message      sarifText          `json:"message"`
	Locations    []sarifLocation    `json:"locations"`
	Fingerprints map[string]string  `json:"partialFingerprints"`
	Suppressions []sarifSuppression `json:"suppressions,omitempty"`
}

type sarifSuppression struct {
	Kind          string `json:"kind"`
	Justification string `json:"justification"`
}

type sarifLocation struct {
	Physical struct {
		Artifact struct {
			URI string `json:"uri"`
		} `json:"artifactLocation"`
		Region *sarifRegion `json:"region,omitempty"`
	} `json:"physicalLocation"`
}

type sarifRegion struct {
	StartLine   int `json:"startLine"`
	StartColumn int `json:"startColumn"`
	EndLine     int `json:"endLine"`
	EndColumn   int `json:"endColumn"`
}
