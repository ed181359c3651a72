package diag

import (
	"fmt"
	"strings"
)

// Holder says what holds a datum.
type Holder string

// The holders. A way is one of a panel; vessel and sheets are sections with keys
// of their own.
const (
	PartHolder    Holder = "part"
	WayHolder     Holder = "way"
	WireHolder    Holder = "wire"
	CircuitHolder Holder = "circuit"
	HoseHolder    Holder = "hose"
	SpaceHolder   Holder = "space"
	VesselHolder  Holder = "vessel"
	SheetsHolder  Holder = "sheets"
)

// Key names a datum of the file: an attribute of a part, a wire, a hose, a space.
// The zero Key names none.
type Key struct {
	Of Holder
	// ID is the part, the panel and its way ("DP.4"), the stretch of a wire or hose
	// where each stretch has its own value ("2a"), else the written id ("2").
	ID        string
	Attribute string
}

// Named reports whether the key names a datum.
func (k Key) Named() bool { return k.Attribute != "" }

// String writes the key as a person types it: "TH2.height", "DP.4.rating",
// "wire 2a.length", "space bilge.area", "vessel.length".
func (k Key) String() string {
	switch k.Of {
	case "":
		return ""
	case PartHolder, WayHolder:
		return k.ID + "." + k.Attribute
	case VesselHolder, SheetsHolder:
		return string(k.Of) + "." + k.Attribute
	}
	return string(k.Of) + " " + k.ID + "." + k.Attribute
}

// ParseKey reads what String writes.
func ParseKey(text string) (Key, error) {
	wrong := fmt.Errorf("%q is no key: PART.ATTRIBUTE, PANEL.WAY.ATTRIBUTE, wire ID.ATTRIBUTE, vessel.ATTRIBUTE", text)
	first, rest, spaced := strings.Cut(strings.TrimSpace(text), " ")
	if !spaced {
		rest, first = first, ""
	}
	dot := strings.LastIndex(rest, ".")
	if dot <= 0 || dot == len(rest)-1 || strings.ContainsAny(rest, " \t") {
		return Key{}, wrong
	}
	k := Key{ID: rest[:dot], Attribute: rest[dot+1:]}
	switch h := Holder(first); {
	case h == WireHolder, h == CircuitHolder, h == HoseHolder, h == SpaceHolder:
		k.Of = h
	case spaced:
		return Key{}, wrong
	case k.ID == string(VesselHolder), k.ID == string(SheetsHolder):
		k.Of, k.ID = Holder(k.ID), ""
	case strings.Contains(k.ID, "."):
		k.Of = WayHolder
	default:
		k.Of = PartHolder
	}
	return k, nil
}
