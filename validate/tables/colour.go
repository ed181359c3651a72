package tables

import "strings"

// Role is what a conductor is, as far as its colour goes.
type Role int

// The roles.
const (
	DCPositive Role = iota
	DCNegative
	Bonding
	ACLive
	ACLive2
	ACNeutral
	ACEarth
)

// DefaultColour is the set's colour for a role, where the file gives none.
func DefaultColour(set Set, role Role) string {
	switch role {
	case DCPositive:
		return "red"
	case DCNegative:
		return "black"
	case ACLive:
		if set == ISO {
			return "brown"
		}
		return "black"
	case ACLive2:
		if set == ISO {
			return "black"
		}
		return "red"
	case ACNeutral:
		if set == ISO {
			return "light blue"
		}
		return "white"
	default: // Bonding, ACEarth
		return "green with yellow stripe"
	}
}

// ColourVerdict is how a colour suits a role.
type ColourVerdict int

// The verdicts.
const (
	// ColourListed: the set lists it for the role.
	ColourListed ColourVerdict = iota
	// ColourUnlisted: the set lists it for no role, or the word is not known.
	ColourUnlisted
	// ColourReserved: the set keeps it for another role.
	ColourReserved
)

// Colour judges a colour, by name or IEC 60757 code, for a role, and lists what
// the set has for it.
func Colour(set Set, role Role, colour string) (ColourVerdict, []string, Cite) {
	word := ColourName(colour)
	listed := listedColours(set, role)
	cite := Cite{"ISO 10133 / ISO 13297, conductor colours", Memory}
	if set == US {
		cite = Cite{"E-11, conductor colours", Memory}
	}
	if has(listed, word) || role == DCPositive && set == US && has(servicesUS(), word) {
		return ColourListed, listed, cite
	}
	for _, other := range sameSystem(role) {
		if other != role && has(listedColours(set, other), word) {
			return ColourReserved, listed, cite
		}
	}
	return ColourUnlisted, listed, cite
}

// sameSystem lists the roles whose colours must not be mixed up with a role's:
// black is a DC negative and an AC live, and each belongs to its own system.
func sameSystem(role Role) []Role {
	switch role {
	case DCPositive, DCNegative, Bonding:
		return []Role{DCPositive, DCNegative, Bonding}
	}
	return []Role{ACLive, ACLive2, ACNeutral, ACEarth}
}

func listedColours(set Set, role Role) []string {
	earth := []string{"green", "green with yellow stripe"}
	switch role {
	case DCPositive:
		return []string{"red"}
	case DCNegative:
		if set == US {
			return []string{"black", "yellow", "black with yellow stripe"}
		}
		return []string{"black", "yellow"}
	case Bonding:
		if set == US {
			return append(earth, "bare")
		}
		return earth
	case ACLive:
		if set == ISO {
			return []string{"black", "brown"}
		}
		return []string{"black"}
	case ACLive2:
		if set == ISO {
			return []string{"black", "brown"}
		}
		return []string{"red", "orange", "blue"}
	case ACNeutral:
		if set == ISO {
			return []string{"white", "light blue", "blue"}
		}
		return []string{"white"}
	}
	return earth
}

// servicesUS lists the colours E-11 gives to services fed from the positive.
func servicesUS() []string {
	return []string{"yellow with red stripe", "brown with yellow stripe", "grey", "dark grey", "brown", "orange",
		"violet", "blue", "dark blue", "light blue", "tan", "pink", "green with stripe", "blue with stripe", "red with stripe"}
}

// ColourName writes a colour in one way: the words of the trade, both spellings
// of grey, codes of IEC 60757 and North American abbreviations.
func ColourName(s string) string {
	s = strings.ToLower(strings.Join(strings.Fields(s), " "))
	if name, ok := colourCode(s); ok {
		return name
	}
	s = strings.NewReplacer("gray", "grey", "purple", "violet", "coloured", "", "colored", "").Replace(s)
	s = strings.NewReplacer(" and ", "/", "-and-", "/", "-", "/", " with ", "/", " stripe", "", " / ", "/").Replace(s)
	base, stripe, ok := strings.Cut(s, "/")
	if !ok {
		return strings.TrimSpace(s)
	}
	base, stripe = strings.TrimSpace(base), strings.TrimSpace(stripe)
	if base == "yellow" && stripe == "green" {
		base, stripe = stripe, base
	}
	if stripe == "" {
		return base + " with stripe"
	}
	return base + " with " + stripe + " stripe"
}

func colourCode(s string) (string, bool) {
	switch s {
	case "bk", "blk":
		return "black", true
	case "bn", "brn":
		return "brown", true
	case "rd":
		return "red", true
	case "og", "orn":
		return "orange", true
	case "ye", "yel":
		return "yellow", true
	case "gn", "grn":
		return "green", true
	case "bu", "blu":
		return "blue", true
	case "vt", "vio", "pur":
		return "violet", true
	case "gy", "gry":
		return "grey", true
	case "wh", "wht":
		return "white", true
	case "pk", "pnk":
		return "pink", true
	case "gnye", "grn/yel":
		return "green with yellow stripe", true
	}
	return "", false
}

func has(list []string, word string) bool {
	for _, w := range list {
		if w == word {
			return true
		}
	}
	return false
}
