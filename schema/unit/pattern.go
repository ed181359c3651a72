package unit

import "strings"

// Pattern is a regular expression (the subset common to ECMA 262 and RE2) that
// matches the usual spellings of a quantity, for the JSON Schema of the file.
// It lets through everything Parse reads but for look-alike characters and
// bracketed second systems, and some texts Parse then refuses with a reason.
func (d Dimension) Pattern() string {
	const decimal = `[0-9]*\.?[0-9]+([eE][-+]?[0-9]+)?|[0-9]+\.`
	const fraction = `([0-9]+[- ])?[0-9]+/[0-9]+`
	number := `[-+−]?(` + fraction + `|` + decimal + `)`
	units := d.unitPattern()
	body := number + ` *(` + units + `)`
	if d.compounds() {
		body += `( *(` + number + `) *(` + units + `))*`
	}
	switch {
	case d.BareZero():
		body = `(` + body + `|[-+]?0+(\.0*)?)`
	case d.Bare():
		body = `(` + body + `|` + number + `( *: *(` + number + `))?)`
	case d == CrossSection:
		gauge := `(0+|[1-4]/0|[0-9]+)`
		names := `(` + foldPattern("AWG", false) + `|` + foldPattern("SAE", false) + `)`
		body = `(` + body + `|` + gauge + ` *` + names + `|` + names + ` *` + gauge + `)`
	}
	return `^ *` + body + ` *$`
}

func (d Dimension) compounds() bool {
	for _, u := range d.spec().units {
		if u.minor != "" {
			return true
		}
	}
	return false
}

// unitPattern is the choice of all spellings, longer ones first where one is
// the front of another; the anchors make order harmless.
func (d Dimension) unitPattern() string {
	var words []string
	for _, u := range d.spec().units {
		if u.Factor == 0 {
			continue
		}
		for _, s := range append([]string{u.Symbol}, u.Spellings...) {
			words = append(words, foldPattern(s, u.CaseCounts))
		}
	}
	return strings.Join(words, "|")
}

// foldPattern matches a spelling in either case, save the first letter where it
// counts.
func foldPattern(s string, firstCounts bool) string {
	var b strings.Builder
	for i, r := range s {
		lower, upper := strings.ToLower(string(r)), strings.ToUpper(string(r))
		switch {
		case r == '2' && i > 0:
			b.WriteString("[2²]")
		case r == '3' && i > 0:
			b.WriteString("[3³]")
		case r == 'Ω':
			b.WriteString("Ω")
		case r == ' ':
			b.WriteString(" +")
		case r == '/' || r == '·':
			b.WriteString(" *" + string(r) + " *")
		case lower != upper && r < 128 && (i > 0 || !firstCounts):
			b.WriteString("[" + lower + upper + "]")
		case strings.ContainsRune(`.+*?()[]{}|^$\`, r):
			b.WriteString(`\` + string(r))
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
