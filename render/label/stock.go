package label

import (
	"fmt"
	"strings"

	"fitout/render/draw"
)

// Form is how a stock comes.
type Form int

// The forms of stock.
const (
	// Sheet is a page of labels that are cut already.
	Sheet Form = iota
	// Page is a page of plain stickers, to be cut by hand: for strips.
	Page
	// Tape is endless, cut to the length of the text.
	Tape
	// Sleeve is shrink sleeve, pressed flat, in pieces of one length.
	Sleeve
)

// Stock is what labels are printed on: generic sizes sold under many names. The
// sizes are common practice and have no source; lay a print on plain paper
// (--outlines) over the stock before using it.
type Stock struct {
	// Name is what --stock asks for, Title the same in words.
	Name, Title string
	Form        Form
	// PaperW, PaperH is the page; of a tape or sleeve the longest strip and its
	// breadth.
	PaperW, PaperH draw.MM
	Columns, Rows  int
	// W, H is one label; W of a tape is the longest piece.
	W, H draw.MM
	// Left, Top is the corner of the first label, PitchX and PitchY the distance to
	// the next.
	Left, Top, PitchX, PitchY draw.MM
	// Bore is a sleeve's inner diameter as supplied; it shrinks to half.
	Bore draw.MM
}

const inch = draw.MM(25.4)

// longestStrip is the longest piece of tape drawn as one page: what printers of
// tape take at once (common practice, no source).
const longestStrip = draw.MM(1000)

// sleeveLength is the usual length of a cut marker sleeve, two inches.
const sleeveLength = 2 * inch

// Stocks lists what is known, sheets of the smallest labels first.
func Stocks() []Stock {
	out := []Stock{
		grid("a4-65", "A4, 65 labels of 38.1 × 21.2 mm", 210, 297, 5, 13, 38.1, 21.2, 4.75, 10.7, 40.6, 21.2),
		grid("a4-24", "A4, 24 labels of 64 × 34 mm (63.5 × 33.9)", 210, 297, 3, 8, 63.5, 33.9, 7.25, 12.9, 66, 33.9),
		grid("a4-8", "A4, 8 labels of 99.1 × 67.7 mm", 210, 297, 2, 4, 99.1, 67.7, 4.65, 13.1, 101.6, 67.7),
		grid("letter-30", "US Letter, 30 labels of 2-5/8 × 1 in (66.7 × 25.4 mm)", 8.5*inch, 11*inch, 3, 10, 2.625*inch, inch, 0.1875*inch, 0.5*inch, 2.75*inch, inch),
		grid("letter-10", "US Letter, 10 labels of 4 × 2 in (101.6 × 50.8 mm)", 8.5*inch, 11*inch, 2, 5, 4*inch, 2*inch, 0.15625*inch, 0.5*inch, 4.1875*inch, 2*inch),
		{Name: "a4", Title: "A4, a whole page to cut by hand", Form: Page, PaperW: 210, PaperH: 297},
		{Name: "letter", Title: "US Letter, a whole page to cut by hand", Form: Page, PaperW: 8.5 * inch, PaperH: 11 * inch},
	}
	for _, w := range []draw.MM{9, 12, 18, 24} {
		out = append(out, Stock{Name: fmt.Sprintf("tape-%g", float64(w)), Title: fmt.Sprintf("continuous tape, %g mm", float64(w)), Form: Tape, PaperW: longestStrip, PaperH: w, W: longestStrip, H: w})
	}
	for _, s := range []struct {
		name string
		bore draw.MM
	}{{"2.4", 3. / 32 * inch}, {"3.2", inch / 8}, {"4.8", 3. / 16 * inch}, {"6.4", inch / 4}, {"9.5", 3. / 8 * inch}, {"12.7", inch / 2}, {"19", 3. / 4 * inch}, {"25", inch}, {"38", 1.5 * inch}} {
		flat := layFlat(s.bore)
		out = append(out, Stock{Name: "sleeve-" + s.name, Title: fmt.Sprintf("shrink sleeve of %s mm bore, %.1f mm laid flat, pieces of 51 mm", s.name, float64(flat)),
			Form: Sleeve, PaperW: 20 * sleeveLength, PaperH: flat, W: sleeveLength, H: flat, Bore: s.bore})
	}
	return out
}

func grid(name, title string, pw, ph draw.MM, columns, rows int, w, h, left, top, px, py draw.MM) Stock {
	return Stock{Name: name, Title: title, Form: Sheet, PaperW: pw, PaperH: ph, Columns: columns, Rows: rows, W: w, H: h, Left: left, Top: top, PitchX: px, PitchY: py}
}

// layFlat is the breadth of a sleeve pressed flat: half its circumference.
func layFlat(bore draw.MM) draw.MM { return draw.MM(3.14159265) * bore / 2 }

// StockNamed finds a stock. "sleeve" stands for the size that each wire takes.
func StockNamed(name string) (Stock, error) {
	var names []string
	for _, s := range Stocks() {
		if strings.EqualFold(s.Name, name) {
			return s, nil
		}
		names = append(names, s.Name)
	}
	if strings.EqualFold(name, "sleeve") {
		return Stock{Name: "sleeve", Form: Sleeve}, nil
	}
	return Stock{}, fmt.Errorf("stock %q is not one of sleeve, %s", name, strings.Join(names, ", "))
}

// Cell is the place of the n-th label of a sheet, counted from 0 along the rows.
func (s Stock) Cell(n int) draw.Box {
	at := draw.Point{X: s.Left + draw.MM(n%s.Columns)*s.PitchX, Y: s.Top + draw.MM(n/s.Columns)*s.PitchY}
	return draw.Box{Min: at, Max: at.Add(s.W, s.H)}
}

// usual are the stocks that a kind of label takes where nobody asks for another,
// the first that holds the whole text.
func usual(k Kind, letter bool) []string {
	switch {
	case k == Panels && letter:
		return []string{"letter"}
	case k == Panels:
		return []string{"a4"}
	case letter && k != Valves && k != Warnings:
		return []string{"letter-30", "letter-10"}
	case letter:
		return []string{"letter-10"}
	case k == Wires || k == Devices:
		return []string{"a4-65", "a4-24", "a4-8"}
	case k == Warnings:
		return []string{"a4-24", "a4-8"}
	}
	return []string{"a4-24", "a4-8"}
}

// sleeveFor is the sleeve that goes over a wire with its terminal still off and
// holds after shrinking to half: the smallest with a tenth to spare.
func sleeveFor(outside draw.MM) (Stock, bool) {
	for _, s := range Stocks() {
		if s.Form == Sleeve && s.Bore >= 1.1*outside && s.Bore/2 <= outside {
			return s, true
		}
	}
	return Stock{}, false
}
