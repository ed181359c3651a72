// Package tables holds the cited figures that rules and solvers judge by:
// ampacity and its corrections, conductor resistance, fuses and breakers,
// distances, batteries, colours, water, losses, hoses, threads, metals. Every
// figure says where it comes from and how well that source is known.
//
// Nothing here rounds; callers compare first and round to print.
package tables

// Status says how well a figure is known.
type Status int

// The statuses, best first.
const (
	// Law was read in a public copy of the law.
	Law Status = iota
	// Standard was read in a public copy, preview or scope page of the standard.
	Standard
	// Published was read in an article, reprint or handbook.
	Published
	// Derived follows by arithmetic or physics from figures marked otherwise.
	Derived
	// Memory was not checked against the source it names.
	Memory
	// Practice is common practice without a source.
	Practice
)

// String is the remark printed behind a source; it is empty for a source read.
func (s Status) String() string {
	switch s {
	case Derived:
		return "derived"
	case Memory:
		return "from memory"
	case Practice:
		return "common practice, no source"
	default:
		return ""
	}
}

// Cite names the source of a figure.
type Cite struct {
	// Source is the law, standard or book with its clause or table.
	Source string
	Status Status
}

// String prints the source with its remark: ISO 10133 table A.1 (from memory).
func (c Cite) String() string {
	remark := c.Status.String()
	switch {
	case remark == "":
		return c.Source
	case c.Source == "":
		return remark
	}
	return c.Source + " (" + remark + ")"
}

// IsZero reports that no source is named.
func (c Cite) IsZero() bool { return c == Cite{} }

// Set is a set of rules a boat is judged by.
type Set int

// The sets; a boat under both is judged by each.
const (
	// US is 33 CFR 183 and North American small-craft practice.
	US Set = iota
	// ISO is ISO 13297, ISO 9093, ISO 15083 and their kin.
	ISO
)

// String is the set's word in the file: us, iso.
func (s Set) String() string {
	if s == ISO {
		return "iso"
	}
	return "us"
}

// parseStatus reads the last column of a data file. A word it does not know is
// the weakest claim of a source.
func parseStatus(word string) Status {
	switch word {
	case "law":
		return Law
	case "standard":
		return Standard
	case "published":
		return Published
	case "derived":
		return Derived
	case "practice":
		return Practice
	}
	return Memory
}
