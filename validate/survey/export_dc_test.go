package survey

import "fitout/schema"

// SolveAgain solves a condition without the memory of the survey.
func (s *Survey) SolveAgain(c *schema.Condition) *DCState { return s.solveDC(c, dcOptions{}) }
