package tables

import "fitout/schema/unit"

// The two classes of voltage drop, out and back, on nominal voltage.
const (
	// DropMustWork is for what must work: feeders, navigation lights, electronics,
	// bilge pumps and blowers, alarms.
	DropMustWork unit.Ratio = 0.03
	// DropComfort is for the rest.
	DropComfort unit.Ratio = 0.10
)

// DropLimit returns the class a kind of load belongs to where the file does not
// say: kind is its word, duty a pump's duty, navigation set for a light that is a
// navigation light.
func DropLimit(set Set, kind, duty string, navigation bool) (unit.Ratio, Cite) {
	published := func(clause string) Cite {
		if set == ISO {
			return Cite{"ISO 10133, voltage drop", Standard}
		}
		return Cite{"E-11, " + clause, Published}
	}
	switch {
	case kind == "panel", kind == "fuse-block", kind == "ac-panel":
		return DropMustWork, published("panel and switchboard feeders")
	case kind == "electronics", kind == "monitor":
		return DropMustWork, published("electronic equipment")
	case kind == "alarm":
		return DropMustWork, published("where drop must be kept to a minimum")
	case kind == "fan":
		return DropMustWork, published("bilge blowers")
	case kind == "pump" && (duty == "bilge"):
		return DropMustWork, published("critical circuits")
	case kind == "light" && navigation:
		return DropMustWork, published("navigation lights")
	}
	if set == ISO {
		return DropComfort, Cite{"ISO 10133, voltage drop", Memory}
	}
	return DropComfort, Cite{"E-11, non-critical circuits", Published}
}
