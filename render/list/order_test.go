package list

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// Written prices against what they say, by eye; a figure that can be read two
// ways is none.
func TestPrices(t *testing.T) {
	for _, c := range []struct {
		text     string
		amount   float64
		currency string
		ok       bool
	}{
		{"EUR 12.50", 12.5, "EUR", true},
		{"12,50 €", 12.5, "€", true},
		{"$1,234.50", 1234.5, "$", true},
		{"1.234,50 EUR", 1234.5, "EUR", true},
		{"CHF 1'250.00", 1250, "CHF", true},
		{"1 250 kr", 1250, "kr", true},
		{"40", 40, "not stated", true},
		{"$1,250", 0, "", false},
		{"1.250 EUR", 0, "", false},
		{"1,234,567 USD", 1234567, "USD", true},
		{"about 30 EUR", 0, "", false},
		{"EUR 12 USD", 0, "", false},
		{"on request", 0, "", false},
		{"", 0, "", false},
	} {
		m, ok := priceOf(c.text)
		if ok != c.ok || math.Abs(m.amount-c.amount) > 1e-9 || m.currency != c.currency {
			t.Errorf("%q: %v %q %v, want %v %q %v", c.text, m.amount, m.currency, ok, c.amount, c.currency, c.ok)
		}
	}
}

func priced() string {
	s := strings.Replace(bench, "draw: 1 A, count: 3", "draw: 1 A, count: 3, price: 12.50 EUR", 1)
	s = strings.Replace(s, "capacity: 100 Ah", "capacity: 100 Ah, price: 199 EUR", 1)
	return strings.Replace(s, "duty: circulating, draw: 2 A", "duty: circulating, draw: 2 A, price: $84.20", 1)
}

// By hand: 3 lamps at 12.50 and a battery at 199 are 236.50 EUR; one pump is
// 84.20 $; the two are not added.
func TestTotalsByHand(t *testing.T) {
	tab, _ := Of("totals", input(t, priced()))
	want := [][3]string{{"parts", "EUR", "236.50"}, {"all", "EUR", "236.50"}, {"parts", "$", "84.20"}, {"all", "$", "84.20"}}
	if len(tab.Rows) != len(want) {
		t.Fatalf("%d totals, want %d", len(tab.Rows), len(want))
	}
	for i, r := range tab.Rows {
		if got := [3]string{r[0].Text, r[1].Text, r[2].Text}; got != want[i] {
			t.Errorf("total %d: %v, want %v", i, got, want[i])
		}
	}
}

func workbook(t *testing.T, tab Table) *excelize.File {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, tab, "xlsx"); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// Every formula of the workbook, computed by excelize's own engine, gives the
// value that this package computed and wrote as the shown one; and a longer wire
// or another price changes what depends on it.
func TestWorkbookFormulas(t *testing.T) {
	tab, _ := Of("order", input(t, priced()))
	f := workbook(t, tab)
	formulas := 0
	for _, x := range sheets([]Table{tab}) {
		for y, r := range x.Rows {
			for k, c := range r {
				at, _ := excelize.CoordinatesToCellName(k+1, y+2)
				formula, err := f.GetCellFormula(x.Name, at)
				if err != nil || (formula != "") != (c.Formula != "") {
					t.Fatalf("%s!%s: formula %q, %v; want %q", x.Name, at, formula, err, c.Formula)
				}
				if c.Formula == "" {
					continue
				}
				formulas++
				got, err := f.CalcCellValue(x.Name, at, excelize.Options{RawCellValue: true})
				if err != nil {
					t.Fatalf("%s!%s = %s: %v", x.Name, at, formula, err)
				}
				shown, _ := f.GetCellValue(x.Name, at, excelize.Options{RawCellValue: true})
				if c.Number == nil {
					if got != "" || shown != "" {
						t.Errorf("%s!%s: %q computed, %q shown, want nothing", x.Name, at, got, shown)
					}
					continue
				}
				for _, v := range []string{got, shown} {
					if n, err := strconv.ParseFloat(v, 64); err != nil || math.Abs(n-*c.Number) > 1e-6 {
						t.Errorf("%s!%s = %s: %q, want %g", x.Name, at, formula, v, *c.Number)
					}
				}
			}
		}
	}
	if formulas < 20 {
		t.Errorf("only %d formulas", formulas)
	}
	t.Run("a longer wire", func(t *testing.T) {
		row, cutRow := 0, 0
		for i, r := range tab.Rows {
			if strings.Contains(r[0].Text, "AWG), red") && r[1].Text == "cable" {
				row = i + 2
			}
		}
		for i, r := range tab.Beside[0].Rows {
			if r[2].Text == "1b" {
				cutRow = i + 2
			}
		}
		if err := f.SetCellFloat("cuts", "F"+strconv.Itoa(cutRow), 12, -1, 64); err != nil {
			t.Fatal(err)
		}
		// 0.15 + 0.10 and 12 × 1.1: 13.45, ordered as 14 m.
		if got, err := f.CalcCellValue("order", "C"+strconv.Itoa(row), excelize.Options{RawCellValue: true}); err != nil || got != "14" {
			t.Errorf("order C%d: %q, %v; want 14", row, got, err)
		}
	})
	t.Run("another price", func(t *testing.T) {
		for i, r := range tab.Rows {
			if strings.Contains(r[0].Text, "pump") {
				if err := f.SetCellFloat("order", "H"+strconv.Itoa(i+2), 100, -1, 64); err != nil {
					t.Fatal(err)
				}
			}
		}
		if got, err := f.CalcCellValue("totals", "C5", excelize.Options{RawCellValue: true}); err != nil || got != "100" {
			t.Errorf("total in $: %q, %v; want 100", got, err)
		}
	})
}

// Each sheet prints landscape, one page wide, its head on every page, and stands
// still under the head on the screen.
func TestWorkbookPages(t *testing.T) {
	in := input(t, strings.Replace(bench, "fitout: 1\n", "fitout: 1\nsheets: {paper: Letter}\n", 1))
	tab, _ := Of("order", in)
	f := workbook(t, tab)
	titles := map[string]bool{}
	for _, n := range f.GetDefinedName() {
		titles[n.Scope] = n.Name == "_xlnm.Print_Titles"
	}
	for _, name := range f.GetSheetList() {
		l, err := f.GetPageLayout(name)
		if err != nil {
			t.Fatal(err)
		}
		p, err := f.GetPanes(name)
		if err != nil {
			t.Fatal(err)
		}
		if *l.Size != 1 || *l.Orientation != "landscape" || *l.FitToWidth != 1 || !p.Freeze || p.YSplit != 1 || !titles[name] {
			t.Errorf("%s: paper %d %s, frozen %v, head repeated %v", name, *l.Size, *l.Orientation, p.Freeze, titles[name])
		}
	}
}

// First fit, longest first, by hand on reels of 5 and 10: 7, 6, 4, 3, 2 go as
// 7+3, 6+4, 2, and the last reel need only be one of 5.
func TestCutsOnReels(t *testing.T) {
	p := plan{stock: []*stock{{code: "W1"}}}
	for _, each := range []float64{2, 3, 4, 6, 7} {
		p.rows = append(p.rows, cut{code: "W1", length: each / 1.1, pieces: 1})
	}
	p.pack(p.stock[0], []float64{5, 10})
	want := []int{3, 1, 2, 2, 1}
	for i, c := range p.rows {
		if len(c.reels) != 1 || c.reels[0] != want[i] {
			t.Errorf("piece of %.0f m from %v, want reel %d", c.each(), c.reels, want[i])
		}
	}
	left := []reel{{10, 0}, {10, 0}, {5, 3}}
	for i, r := range p.stock[0].reels {
		if r.length != left[i].length || math.Abs(r.left-left[i].left) > 1e-6 {
			t.Errorf("reel %d: %+v, want %+v", i+1, r, left[i])
		}
	}
}
