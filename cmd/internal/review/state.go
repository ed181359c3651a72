package review

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"fitout/cmd/internal/job"
	"fitout/render"
	"fitout/render/draw"
	"fitout/render/list"
	"fitout/render/svg"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/validate/figures"
	"fitout/validate/report"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// snapshot is one state of the installation that could be read. Its survey keeps
// what it computed, so that one request at a time may use it.
type snapshot struct {
	version int
	job     *job.Job
	figures []figures.Figure
	heel    float64       // the greatest that flooding is judged at
	use     chan struct{} // held by whoever asks the survey
}

// drawn is the sheets of one state.
type drawn struct {
	version int
	sheets  []draw.Sheet
	svg     [][]byte
	fonts   string
	failed  string
}

// The JSON of the page. Places are a file's number in the source and a line.
type (
	problem struct {
		File    string `json:"file"`
		Line    int    `json:"line"`
		Column  int    `json:"column"`
		Message string `json:"message"`
		Near    string `json:"near,omitempty"`
		Excerpt string `json:"excerpt"`
		Caret   string `json:"caret"`
	}
	finding struct {
		Number    int      `json:"number"`
		Rule      string   `json:"rule"`
		Severity  string   `json:"severity"`
		Class     string   `json:"class"`
		Water     bool     `json:"water"`
		At        []string `json:"at"`
		File      string   `json:"file"`
		Line      int      `json:"line"`
		Message   string   `json:"message"`
		Risk      string   `json:"risk"`
		Do        string   `json:"do"`
		Source    string   `json:"source"`
		Where     string   `json:"where"`
		Condition string   `json:"condition"`
		Fix       string   `json:"fix"`
		Accepted  string   `json:"accepted"`
	}
	unchecked struct {
		Rule    string   `json:"rule"`
		At      []string `json:"at"`
		Missing string   `json:"missing"`
		File    string   `json:"file"`
		Line    int      `json:"line"`
	}
	condition struct {
		ID    string `json:"id"`
		Title string `json:"title"`
		Facts string `json:"facts"`
	}
	figure struct {
		ID        string  `json:"id"`
		Condition string  `json:"condition"`
		Quantity  string  `json:"quantity"`
		Value     float64 `json:"value"`
		Text      string  `json:"text"`
		Known     bool    `json:"known"`
	}
	thing struct {
		ID    string `json:"id"`
		Type  string `json:"type"` // part, wire, hose
		Title string `json:"title"`
	}
	sheet struct {
		ID    string `json:"id"`
		Title string `json:"title"`
	}
	state struct {
		Version    int         `json:"version"`
		File       string      `json:"file"`
		Boat       string      `json:"boat"`
		Heading    string      `json:"heading"`
		Heel       float64     `json:"heel"`
		Problems   []problem   `json:"problems"`
		Good       bool        `json:"good"` // there is a state to show
		Findings   []finding   `json:"findings"`
		Unchecked  []unchecked `json:"unchecked"`
		Conditions []condition `json:"conditions"`
		Things     []thing     `json:"things"`
		Figures    []figure    `json:"figures"`
		Lists      []string    `json:"lists"`
		Sheets     []sheet     `json:"sheets"`
		Drawn      int         `json:"drawn"` // the version the sheets show, 0 for none yet
		DrawFailed string      `json:"drawFailed"`
	}
)

// Reload reads the files again. A file with a mistake leaves the last good state
// in place and its mistakes beside it.
func (s *Server) Reload() {
	j := job.From(s.name, s.folder.open)
	var broken []problem
	var n *snapshot
	if j.OK() {
		j.Check()
		n = &snapshot{job: j, figures: figures.Of(j.Survey), heel: heelOf(j), use: make(chan struct{}, 1)}
	} else {
		for _, p := range j.Problems {
			broken = append(broken, problemOf(p))
		}
	}
	s.mu.Lock()
	s.version++
	s.broken = broken
	if n != nil {
		n.version = s.version
		s.now = n
	}
	s.mu.Unlock()
	s.tell("state")
}

func problemOf(p diag.Problem) problem {
	line, column := p.Span.Position()
	text, caret := p.Span.Excerpt()
	return problem{p.Span.Name(), line, column, p.Message, p.Near, text, caret}
}

// files are the installation's files as it was read last.
func (s *Server) files() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	out := []string{s.name}
	if s.now != nil {
		for _, f := range s.now.job.Boat.Files[1:] {
			out = append(out, f.Name)
		}
	}
	for _, p := range s.broken {
		if p.File != "" && !slices.Contains(out, p.File) {
			out = append(out, p.File)
		}
	}
	return out
}

// with lets one caller at a time ask the survey, which keeps what it computes.
func (n *snapshot) with(f func()) {
	n.use <- struct{}{}
	defer func() { <-n.use }()
	f()
}

// draw makes the sheets of each new state, the newest only where several came
// while it drew.
func (s *Server) draw(ctx context.Context) {
	news := make(chan string, 8)
	s.mu.Lock()
	s.listener[news] = true
	s.mu.Unlock()
	for {
		s.mu.Lock()
		n, have := s.now, s.sheets
		s.mu.Unlock()
		if n != nil && (have == nil || have.version != n.version) {
			d := drawSheets(n)
			s.mu.Lock()
			s.sheets = d
			s.mu.Unlock()
			s.tell("sheets")
			continue
		}
		select {
		case <-ctx.Done():
			return
		case <-news:
		}
	}
}

// drawSheets draws a state. A sheet that cannot be drawn is told, not hidden.
func drawSheets(n *snapshot) (d *drawn) {
	d = &drawn{version: n.version}
	// Drawing takes longer than a reader wants to wait for an answer: it asks a
	// survey of its own.
	sheets, err := render.Sheets(survey.Of(n.job.Boat), n.job.Result, render.Options{Mono: n.job.Boat.Sheets.Mono.V})
	if err != nil {
		d.failed = err.Error()
	}
	d.sheets = sheets
	for _, sh := range d.sheets {
		var b bytes.Buffer
		if err := svg.Write(&b, sh, svg.Options{Inline: true, NoFont: true}); err != nil {
			d.failed = err.Error()
		}
		d.svg = append(d.svg, b.Bytes())
	}
	css, err := svg.FontCSS(d.sheets...)
	if err != nil {
		d.failed = err.Error()
	}
	d.fonts = css
	return d
}

func (s *Server) fonts() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.sheets == nil {
		return ""
	}
	return s.sheets.fonts
}

func (s *Server) sheet(w http.ResponseWriter, r *http.Request, id string) {
	s.mu.Lock()
	d := s.sheets
	s.mu.Unlock()
	if d != nil {
		for i, sh := range d.sheets {
			if sh.ID == id {
				w.Header().Set("Content-Type", "image/svg+xml")
				w.Write(d.svg[i])
				return
			}
		}
	}
	http.NotFound(w, r)
}

// state is what the page shows.
func (s *Server) state() state {
	s.mu.Lock()
	n, d := s.now, s.sheets
	out := state{Version: s.version, File: s.name, Problems: orEmpty(s.broken), Findings: []finding{}, Unchecked: []unchecked{},
		Conditions: []condition{}, Things: []thing{}, Figures: []figure{}, Lists: list.Names(), Sheets: []sheet{}}
	s.mu.Unlock()
	if d != nil {
		out.Drawn, out.DrawFailed = d.version, d.failed
		for _, sh := range d.sheets {
			out.Sheets = append(out.Sheets, sheet{sh.ID, sh.Title})
		}
	}
	if n == nil {
		return out
	}
	b := n.job.Boat
	out.Good, out.Boat, out.Heading = true, b.Vessel.Name.Or(s.name), n.job.Report().Heading
	out.Heel = n.heel
	out.Findings = findingsOf(n.job.Result)
	for _, u := range n.job.Result.Unchecked {
		out.Unchecked = append(out.Unchecked, unchecked{u.Rule, orEmpty(u.At), u.Missing, u.Span.Name(), u.Span.Line()})
	}
	for _, c := range b.Conditions {
		out.Conditions = append(out.Conditions, condition{c.ID, c.Title.Or(c.ID), conditionFacts(c)})
	}
	out.Things = n.things()
	for _, f := range n.figures {
		out.Figures = append(out.Figures, figure{f.ID, f.Condition, string(f.Quantity), f.Value, f.Text(), f.Known()})
	}
	return out
}

func findingsOf(r rules.Result) []finding {
	out := []finding{}
	for i, f := range append(slices.Clone(r.Findings), r.Deviations...) {
		j := finding{Number: i + 1, Rule: f.Rule, Severity: f.Severity.String(), Class: f.Severity.Class(), At: orEmpty(f.At),
			File: f.Span.Name(), Line: f.Span.Line(), Message: f.Message, Risk: f.Risk, Do: f.Do, Source: f.Source,
			Where: report.Where(f), Condition: f.Condition, Water: isWater(f.Rule)}
		if f.Fix != nil {
			j.Fix = f.Fix.Title
		}
		if f.Deviation != nil {
			j.Number, j.Accepted = 0, fmt.Sprintf("accepted by %s: %s", f.Deviation.By, f.Deviation.Why)
		}
		out = append(out, j)
	}
	return out
}

func isWater(rule string) bool {
	r, ok := rules.Named(rule)
	return ok && strings.HasPrefix(r.Section, "Water")
}

// sources are the texts of the installation's files.
func (n *snapshot) sources() any {
	type text struct {
		Name string `json:"name"`
		Text string `json:"text"`
	}
	out := []text{}
	for _, f := range n.job.Boat.Files {
		out = append(out, text{f.Name, f.Text})
	}
	return out
}

// table is one of the lists.
func (n *snapshot) table(name string) (any, bool) {
	type column struct {
		Title string `json:"title"`
		Right bool   `json:"right"`
	}
	var t list.Table
	var ok bool
	n.with(func() { t, ok = list.Of(name, list.Input{Survey: n.job.Survey, Result: n.job.Result}) })
	if !ok {
		return nil, false
	}
	out := struct {
		Title   string     `json:"title"`
		Columns []column   `json:"columns"`
		Rows    [][]string `json:"rows"`
		Notes   []string   `json:"notes"`
	}{t.Title, []column{}, [][]string{}, orEmpty(t.Notes)}
	for _, c := range t.Columns {
		out.Columns = append(out.Columns, column{c.Title, c.Right})
	}
	for _, r := range t.Rows {
		var row []string
		for _, c := range r {
			row = append(row, c.Text)
		}
		out.Rows = append(out.Rows, row)
	}
	return out, true
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// place is where a span stands.
func place(s source.Span) (file string, line int) { return s.Name(), s.Line() }
