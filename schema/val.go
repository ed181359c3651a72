package schema

import "fitout/schema/source"

// Origin says where a value comes from.
type Origin int

// The origins of a value.
const (
	Absent    Origin = iota // nobody gave it
	Own                     // written at the item itself
	FromStock               // written in the stock entry the item takes
	FromFile                // written in the file's defaults section
	ByKind                  // a documented default of the kind: to be named when used
	Derived                 // split from a written total, or taken from a neighbour
)

// Val is a value with the spelling it was written in and the place it was
// written at. "Not written", "written as zero" and "could not be read" are
// three states: Origin Absent, a zero V, and a Problem in the reader's list.
type Val[T any] struct {
	V    T
	Text string
	At   source.Span
	From Origin
}

// Given reports whether there is a value, whoever gave it.
func (v Val[T]) Given() bool { return v.From != Absent }

// Or returns the value, or d where there is none.
func (v Val[T]) Or(d T) T {
	if v.From == Absent {
		return d
	}
	return v.V
}

// Of makes a value that stands nowhere in the file.
func Of[T any](v T, from Origin) Val[T] { return Val[T]{V: v, From: from} }
