package review

import (
	"strconv"

	"fitout/cmd/internal/job"
	"fitout/schema"
	"fitout/schema/unit"
)

// heelOf is the greatest heel that flooding is judged at.
func heelOf(j *job.Job) float64 {
	most := 0.0
	for _, set := range j.Survey.Sets() {
		most = max(most, float64(j.Survey.Heel(set).Angle))
	}
	return most
}

// heel judges the same texts at another heel and returns the findings about
// water. Figures and sheets stay those of the file.
func (s *Server) heel(n *snapshot, text string) (any, bool) {
	angle, err := strconv.ParseFloat(text, 64)
	if err != nil || !(angle >= 0 && angle <= 60) {
		return nil, false
	}
	texts := map[string]string{}
	for _, f := range n.job.Boat.Files {
		texts[f.Name] = f.Text
	}
	j := job.From(s.name, job.Overlay(s.folder.open, texts))
	if !j.OK() {
		return nil, false
	}
	j.Boat.Vessel.Heel = schema.Val[unit.Degree]{V: unit.Degree(angle), Text: text + " deg", From: schema.Own}
	j.Check()
	out := []finding{}
	for _, f := range findingsOf(j.Result) {
		if f.Water {
			out = append(out, f)
		}
	}
	return struct {
		Heel     float64   `json:"heel"`
		Findings []finding `json:"findings"`
	}{angle, out}, true
}
