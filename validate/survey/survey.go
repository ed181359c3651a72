// Package survey computes everything about one boat once, so that rules, lists
// and drawings ask the same figures: the electrical net, conductor ratings,
// attitudes, the water graph, and the solution of every condition.
package survey

import (
	"fitout/schema"
	"fitout/validate/trace"
)

// Survey is what is known about one boat. Make it with Of.
type Survey struct {
	Boat *schema.Boat
	Net  *trace.Net

	loomCount map[string]int

	waterMemory

	anyPosition *Groups
	atRest      *State
	feedingMemo *feeding
	blocks      []groundAt

	seaMemory

	dcMemory
}

// Of surveys a boat.
func Of(b *schema.Boat) *Survey {
	s := &Survey{Boat: b, Net: trace.Build(b)}
	s.countLooms()
	return s
}
