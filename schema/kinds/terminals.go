package kinds

import (
	"strconv"

	"fitout/schema"
)

func need(name string, m schema.Medium, pol schema.Polarity) schema.Terminal {
	return schema.Terminal{Name: name, Medium: m, Polarity: pol, Needed: true}
}

func spare(name string, m schema.Medium, pol schema.Polarity) schema.Terminal {
	return schema.Terminal{Name: name, Medium: m, Polarity: pol}
}

// fixed makes the Terminals function of a kind whose terminals never change.
func fixed(list ...schema.Terminal) func(*schema.Part) []schema.Terminal {
	return func(*schema.Part) []schema.Terminal { return list }
}

func plus() schema.Terminal  { return need("+", schema.DC, schema.Plus) }
func minus() schema.Terminal { return need("-", schema.DC, schema.Minus) }

// caseTerminal is the earthing stud of a metal case.
func caseTerminal() schema.Terminal { return spare("case", schema.DC, schema.Ground) }

func inOut(m schema.Medium) []schema.Terminal {
	if m == schema.Water {
		return []schema.Terminal{need("in", m, schema.WaterIn), need("out", m, schema.WaterOut)}
	}
	return []schema.Terminal{need("in", m, schema.Through), need("out", m, schema.Through)}
}

// acTrio is L, N and PE with a suffix ("-in", "2", ""), where one cable lands.
func acTrio(suffix, cable string, needed bool) []schema.Terminal {
	return []schema.Terminal{
		{Name: "L" + suffix, Medium: schema.AC, Polarity: schema.Live, Needed: needed, Cable: cable},
		{Name: "N" + suffix, Medium: schema.AC, Polarity: schema.Neutral, Needed: needed, Cable: cable},
		{Name: "PE" + suffix, Medium: schema.AC, Polarity: schema.Earth, Needed: needed, Cable: cable},
	}
}

// acPair is L and N of one cable whose earth passes by a hidden joint.
func acPair(suffix, cable string) []schema.Terminal {
	trio := acTrio(suffix, cable, true)
	trio[2].Hidden, trio[2].Needed = true, false
	return trio
}

// hiddenLead is a core of a cable that passes by a part.
func hiddenLead(name, cable string, pol schema.Polarity) schema.Terminal {
	return schema.Terminal{Name: name, Medium: schema.AC, Polarity: pol, Hidden: true, Cable: cable}
}

// joint is the one terminal of a part that is all one joint.
func joint(m schema.Medium, pol schema.Polarity) []schema.Terminal {
	return []schema.Terminal{{Name: "", Medium: m, Polarity: pol}}
}

// supplied returns the power terminals by `supply`: + - or L N PE, and the case.
func supplied(p *schema.Part, needed bool) []schema.Terminal {
	var out []schema.Terminal
	if isAC(p) {
		out = acTrio("", "", needed)
	} else {
		out = []schema.Terminal{plus(), minus()}
		out[0].Needed, out[1].Needed = needed, needed
	}
	return append(out, caseTerminal())
}

func isAC(p *schema.Part) bool { return p.Word("supply").V == "ac" || p.Word("drive").V == "ac" }

func join(lists ...[]schema.Terminal) []schema.Terminal {
	var out []schema.Terminal
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}

// passes makes the Passes function of a kind with one pair in one medium.
func passes(m schema.Medium, in, out string) func(*schema.Part, schema.Medium) (string, string, bool) {
	return func(_ *schema.Part, ask schema.Medium) (string, string, bool) {
		if ask != m {
			return "", "", false
		}
		return in, out, true
	}
}

// numbered returns "+1" … "+n".
func numbered(prefix string, n int) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = prefix + strconv.Itoa(i+1)
	}
	return out
}
