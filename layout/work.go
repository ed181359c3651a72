package layout

// work holds the room that placing and lettering need for a moment, so that the many tries at a drawing share it. What is in it holds
// until the next use; one goroutine uses it at a time.
type work struct {
	canvas canvas
	// sweeps
	vars    []variable
	gaps    []int
	studs   []int
	wishes  [][]wish
	store   []wish
	pooling pooling
	// pins that change places
	some, want []int
	slots      []slot
	// channels
	runs  []run
	taken []uint64
	// simplex
	program        program
	own, end, stud []int
	// sheets
	points []Point
	used   int   // points of the last sheet
	index  []int // items → boxes or bars of the sheet
	jobs   []letterJob
}

// sized is s with length n, its contents zero.
func sized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/4)
	}
	s = s[:n]
	clear(s)
	return s
}
