package draw

import "fmt"

// Style is the meaning of a line. The table below gives it colour, width and
// dash; nothing else decides those.
type Style uint8

// Styles by meaning.
const (
	Outline         Style = iota // symbols
	OutlineDashed                // mechanical link, liquid level, screen
	OutlineChain                 // enclosure, space
	OutlineThick                 // bus bar, hull
	OutlinePrepared              // prepared for, not fitted

	Positive     // DC positive conductor
	PositiveMain // battery cable
	Negative     // DC negative return
	NegativeMain // battery cable
	Bonding      // bonding and grounding conductor
	Signal       // sense and control lead
	Live         // AC line
	Neutral      // AC neutral
	Earth        // AC protective earth
	Cable        // AC cable drawn as one line
	Exposed      // conductor ahead of its protection
	Prepared     // conductor or hose prepared for, not fitted
	FeedAC       // AC, on the overview: beside DC it must differ by more than width

	Sea       // raw water
	Discharge // raw water outward
	Drain     // condensate, deck drain
	Fresh     // cold fresh water
	Hot       // hot fresh water
	Waste     // black water
	GreyWater // grey water
	Bilge     // bilge water
	Exhaust   // wet exhaust
	Coolant   // closed engine coolant
	Vent      // vent line

	StaticWaterline
	HeeledWaterline
	Ruler
	Leader
	Rule     // lines of a table
	HeadRule // line under a table's heading
	Frame
	FrameThin
	FindingError
	FindingWarning
	FindingNote
	LegendTie // box round a legend

	Added     // in a comparison: new
	Removed   // in a comparison: gone
	Changed   // in a comparison: not as before
	Unchanged // in a comparison: as before

	GridLine    // of a chart: whole decades and numbered lines
	GridFine    // of a chart: lines between
	CurveFirst  // of a chart: first curve; the next three told apart by dash
	CurveSecond // second curve
	CurveThird  // third curve
	CurveFourth // fourth curve
	CurveDamage // of a chart: what a conductor bears
	CurveMark   // of a chart: a single current
	styleCount
)

// Styles lists every style.
func Styles() []Style {
	out := make([]Style, styleCount)
	for i := range out {
		out[i] = Style(i)
	}
	return out
}

func (s Style) String() string { return styleTable[s].name }

// Meaning is what the style stands for, in words for a key; empty for styles that
// need no explanation.
func (s Style) Meaning() string { return styleTable[s].meaning }

// Stroking is a style resolved: what a back end needs to draw it.
type Stroking struct {
	Colour string // #rrggbb
	Width  MM
	Dash   []MM // nil for a full line
}

// Theme chooses the table of colours.
type Theme uint8

// Themes.
const (
	InColour Theme = iota
	InMono         // black only: meaning by width, dash and text
)

// The colours of the sheets: black, and dark relatives of the Okabe and Ito
// palette (2002/2008), darkened until lines reach 4.5:1 on white, which they do
// not as published (drafting reference, 4.3).
const (
	black      = "#000000"
	vermillion = "#B34700"
	blue       = "#0067A3"
	green      = "#00745A"
	purple     = "#8F3F71"
	brown      = "#7A5200"
	white      = "#FFFFFF"
	grey       = "#5A5A5A"
)

// styleSpec is one row. Widths are of the ISO 128 series; dashes are in millimetres,
// kinds after ISO 128-2 (from memory), shortened so that the period stays mostly
// below 6 mm and short pieces still show it.
type styleSpec struct {
	name   string
	colour string
	width  MM
	dash   []MM
	// meaning is what a key says of it; empty where a key has no use for it
	meaning string
}

var (
	dashed     = []MM{2, 0.9}
	shortDash  = []MM{1, 0.7}
	chain      = []MM{3.2, 0.7, 0.5, 0.7}
	doubleDot  = []MM{3.2, 0.7, 0.5, 0.7, 0.5, 0.7}
	longDash   = []MM{4, 0.9}
	dotted     = []MM{0.5, 0.8}
	longChain  = []MM{6, 1, 1, 1}
	linkDashes = []MM{0.9, 0.5}
)

var styleTable = [styleCount]styleSpec{
	Outline:         {"outline", black, 0.35, nil, ""},
	OutlineDashed:   {"outline-dashed", black, 0.25, linkDashes, "mechanical link, level"},
	OutlineChain:    {"outline-chain", black, 0.25, chain, "enclosure, space"},
	OutlineThick:    {"outline-thick", black, 1.0, nil, ""},
	OutlinePrepared: {"outline-prepared", black, 0.35, shortDash, ""},

	Positive:     {"positive", vermillion, 0.5, nil, "DC positive"},
	PositiveMain: {"positive-main", vermillion, 1.0, nil, "DC positive, battery cable"},
	Negative:     {"negative", black, 0.35, nil, "DC negative"},
	NegativeMain: {"negative-main", black, 0.7, nil, "DC negative, battery cable"},
	Bonding:      {"bonding", green, 0.5, chain, "bonding, grounding"},
	Signal:       {"signal", blue, 0.35, shortDash, "sense or control lead"},
	Live:         {"live", brown, 0.5, nil, "AC line"},
	Neutral:      {"neutral", blue, 0.35, longDash, "AC neutral"},
	Earth:        {"earth", green, 0.35, chain, "AC protective earth"},
	Cable:        {"cable", black, 0.7, nil, "AC cable, all cores"},
	Exposed:      {"exposed", vermillion, 1.4, nil, "ahead of its protection"},
	Prepared:     {"prepared", black, 0.25, shortDash, "prepared for, not fitted"},
	FeedAC:       {"feed-ac", black, 0.5, longDash, "AC"},

	Sea:       {"sea", green, 0.7, nil, "raw water in (RW)"},
	Discharge: {"discharge", green, 0.7, longDash, "raw water out (RW)"},
	Drain:     {"drain", black, 0.35, shortDash, "drain (DR)"},
	Fresh:     {"fresh", blue, 0.5, nil, "cold fresh water (CW)"},
	Hot:       {"hot", vermillion, 0.5, longDash, "hot fresh water (HW)"},
	Waste:     {"waste", black, 0.5, doubleDot, "black water (BW)"},
	GreyWater: {"grey-water", black, 0.5, chain, "grey water (GW)"},
	Bilge:     {"bilge", black, 0.5, shortDash, "bilge (BG)"},
	Exhaust:   {"exhaust", black, 1.0, nil, "wet exhaust (EX)"},
	Coolant:   {"coolant", purple, 0.35, nil, "engine coolant (EC)"},
	Vent:      {"vent", black, 0.35, dotted, "vent (VT)"},

	StaticWaterline: {"waterline-static", blue, 0.35, longChain, "waterline at rest"},
	HeeledWaterline: {"waterline-heeled", blue, 0.25, dashed, "waterline heeled"},
	Ruler:           {"ruler", black, 0.25, nil, ""},
	Leader:          {"leader", black, 0.25, nil, ""},
	Rule:            {"rule", black, 0.25, nil, ""},
	HeadRule:        {"head-rule", black, 0.5, nil, ""},
	Frame:           {"frame", black, 0.7, nil, ""},
	FrameThin:       {"frame-thin", black, 0.35, nil, ""},
	FindingError:    {"finding-error", vermillion, 0.7, nil, ""},
	FindingWarning:  {"finding-warning", blue, 0.5, nil, ""},
	FindingNote:     {"finding-note", black, 0.35, nil, ""},
	LegendTie:       {"legend", black, 0.25, nil, ""},

	Added:     {"added", green, 0.7, nil, "added"},
	Removed:   {"removed", vermillion, 0.7, dashed, "removed"},
	Changed:   {"changed", purple, 0.7, chain, "changed"},
	Unchanged: {"unchanged", grey, 0.25, nil, "as before"},

	GridLine:    {"grid-line", grey, 0.25, nil, ""},
	GridFine:    {"grid-fine", grey, 0.18, dotted, ""},
	CurveFirst:  {"curve-first", blue, 0.7, nil, ""},
	CurveSecond: {"curve-second", green, 0.7, longDash, ""},
	CurveThird:  {"curve-third", purple, 0.7, chain, ""},
	CurveFourth: {"curve-fourth", brown, 0.7, doubleDot, ""},
	CurveDamage: {"curve-damage", vermillion, 1.0, dashed, ""},
	CurveMark:   {"curve-mark", black, 0.5, shortDash, ""},
}

// Stroking resolves a style.
func (t Theme) Stroking(s Style) Stroking {
	spec := styleTable[s]
	if t == InMono {
		spec.colour = black
	}
	return Stroking{spec.colour, spec.width, spec.dash}
}

// PaperColour is the colour of the sheet.
func (t Theme) PaperColour() string { return white }

// Letters is the meaning of a text; the table gives height, weight and colour.
type Letters uint8

// Letters by meaning.
const (
	Designation  Letters = iota // F1
	Rating                      // 225 A
	PartTitle                   // House battery 1
	RunLabel                    // 12a 2.5 mm² RD
	TerminalName                // in+
	SymbolSmall                 // letters within symbols
	SymbolLetter
	SymbolLarge
	BarName // name of a bus above its end
	Note    // notes on the sheet
	Small   // least letters
	Caution
	FieldName  // title block
	FieldValue // title block
	SheetTitle
	ZoneMark
	TableHead
	TableText
	MarkNumber // number of a finding
	HeightText // heights beside parts, ruler figures
	Heading    // headings within a sheet

	// Letters of stickers and tags, named by ten times the height of ISO 3098:
	// bold for what is read first, plain for the rest. TagLetters lists them.
	Tag18
	Tag25
	Tag35
	Tag50
	Tag70
	Tag100
	Tag140
	TagPlain18
	TagPlain25
	TagPlain35
	TagPlain50
	letterCount
)

type letterSpec struct {
	name   string
	cap    MM // height of the capitals on paper
	weight Weight
	colour string
}

// size is the letter size that gives the capitals their height.
func (s letterSpec) size() MM { return MM(float64(s.cap) / capRatio) }

// Heights of ISO 3098; layout.md: designations, ratings and titles at least
// 2.5 mm, run labels and terminal names at least 1.8 mm. The least is set a
// little above 1.8, so that rounding in a file cannot bring it below.
const least = 1.85

var letterTable = [letterCount]letterSpec{
	Designation:  {"designation", 2.5, Bold, black},
	Rating:       {"rating", 2.5, Regular, black},
	PartTitle:    {"part-title", 2.5, Regular, black},
	RunLabel:     {"run-label", least, Regular, black},
	TerminalName: {"terminal-name", least, Regular, black},
	SymbolSmall:  {"symbol-small", least, Regular, black},
	SymbolLetter: {"symbol-letter", 2.5, Regular, black},
	SymbolLarge:  {"symbol-large", 3.25, Regular, black},
	BarName:      {"bar-name", 2.5, Bold, black},
	Note:         {"note", 2.5, Regular, black},
	Small:        {"small", least, Regular, black},
	Caution:      {"caution", least, Bold, black},
	FieldName:    {"field-name", least, Regular, black},
	FieldValue:   {"field-value", 2.5, Regular, black},
	SheetTitle:   {"sheet-title", 3.5, Bold, black},
	ZoneMark:     {"zone", 2.5, Regular, black},
	TableHead:    {"table-head", 2.5, Bold, black},
	TableText:    {"table-text", 2.5, Regular, black},
	MarkNumber:   {"mark-number", 2.5, Bold, black},
	HeightText:   {"height", least, Regular, black},
	Heading:      {"heading", 3.5, Bold, black},

	Tag18:      {"tag-18", least, Bold, black},
	Tag25:      {"tag-25", 2.5, Bold, black},
	Tag35:      {"tag-35", 3.5, Bold, black},
	Tag50:      {"tag-50", 5, Bold, black},
	Tag70:      {"tag-70", 7, Bold, black},
	Tag100:     {"tag-100", 10, Bold, black},
	Tag140:     {"tag-140", 14, Bold, black},
	TagPlain18: {"tag-plain-18", least, Regular, black},
	TagPlain25: {"tag-plain-25", 2.5, Regular, black},
	TagPlain35: {"tag-plain-35", 3.5, Regular, black},
	TagPlain50: {"tag-plain-50", 5, Regular, black},
}

// TagLetters are the letters of stickers and tags of a weight, the smallest
// first, each a step of ISO 3098 above the one before.
func TagLetters(w Weight) []Letters {
	if w == Bold {
		return []Letters{Tag18, Tag25, Tag35, Tag50, Tag70, Tag100, Tag140}
	}
	return []Letters{TagPlain18, TagPlain25, TagPlain35, TagPlain50}
}

// AllLetters lists every kind of letters.
func AllLetters() []Letters {
	out := make([]Letters, letterCount)
	for i := range out {
		out[i] = Letters(i)
	}
	return out
}

func (l Letters) String() string { return letterTable[l].name }

// Cap is the height of the capitals.
func (l Letters) Cap() MM { return letterTable[l].cap }

// Size is the letter size (em).
func (l Letters) Size() MM { return letterTable[l].size() }

// Weight of the letters.
func (l Letters) Weight() Weight { return letterTable[l].weight }

// Colour of the letters.
func (l Letters) Colour() string { return letterTable[l].colour }

// LinePitch is the distance from baseline to baseline (ISO 3098 type B without
// accents: 1.4 to 1.9 of the height; seen in the drafting reference).
func (l Letters) LinePitch() MM { return MM(float64(l.Cap()) * 1.7) }

// CoreColour is the colour in which the core of a cased line is drawn for an
// insulation colour code of IEC 60757 (base colour first), as an RGB value; ok
// is false for a code that is not known. The casing is black, so the core need
// not reach any contrast (drafting reference, 3.5).
func CoreColour(code string) (rgb string, ok bool) {
	if len(code) < 2 {
		return "", false
	}
	for _, c := range coreColours {
		if c.code == code || len(code) > len(c.code) && code[:len(c.code)] == c.code {
			return c.rgb, true
		}
	}
	return "", false
}

var coreColours = []struct{ code, rgb string }{
	{"TAN", "#D2B48C"}, {"LBU", "#8CC7E8"}, {"GNYE", "#7DBE3C"},
	{"BK", "#000000"}, {"BN", "#8B5A2B"}, {"RD", "#E03020"}, {"OG", "#F08A1C"}, {"YE", "#F5E13C"},
	{"GN", "#1E9E4A"}, {"BU", "#2F6FD0"}, {"VT", "#8A4FBF"}, {"GY", "#A8A8A8"}, {"WH", "#FFFFFF"},
	{"PK", "#F4A6B8"}, {"GD", "#D4AF37"}, {"TQ", "#30B8B0"}, {"SR", "#C8C8D0"},
}

// Contrast is the WCAG 2 contrast ratio of two #rrggbb colours.
func Contrast(a, b string) (float64, error) {
	la, err := luminance(a)
	if err != nil {
		return 0, err
	}
	lb, err := luminance(b)
	if err != nil {
		return 0, err
	}
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05), nil
}

func luminance(hex string) (float64, error) {
	var r, g, b uint8
	if n, err := fmt.Sscanf(hex, "#%02x%02x%02x", &r, &g, &b); n != 3 || err != nil || len(hex) != 7 {
		return 0, fmt.Errorf("%q is not a colour #rrggbb", hex)
	}
	return 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b), nil
}
