package rules

import (
	"slices"

	"fitout/validate/survey"
)

// Judge runs the rules of these names only, with those that share their walk.
func Judge(s *survey.Survey, names ...string) Result {
	c := &Context{Survey: s, looked: map[string]int{}}
	for _, r := range All() {
		if r.Check != nil && slices.Contains(names, r.Name) {
			c.rule = r.Name
			r.Check(c)
		}
	}
	return c.result()
}
