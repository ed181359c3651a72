package list

import (
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// WriteWorkbook writes lists, and those that belong beside them, as the sheets of
// one workbook. Cells with a formula hold it and its value.
func WriteWorkbook(w io.Writer, lists []Table) error {
	f := excelize.NewFile()
	defer f.Close()
	b := book{File: f}
	if err := b.styles(); err != nil {
		return err
	}
	all := sheets(lists)
	for i, t := range all {
		if i == 0 {
			if err := f.SetSheetName("Sheet1", t.Name); err != nil {
				return err
			}
		} else if _, err := f.NewSheet(t.Name); err != nil {
			return err
		}
	}
	for _, t := range all {
		if err := b.fill(t); err != nil {
			return err
		}
	}
	// A program that opens the book computes it again.
	again := true
	if err := f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &again}); err != nil {
		return err
	}
	return f.Write(w)
}

// sheets are the lists with those beside them, each once.
func sheets(lists []Table) []Table {
	out := slices.Clone(lists)
	for _, t := range lists {
		for _, x := range t.Beside {
			if !slices.ContainsFunc(out, func(o Table) bool { return o.Name == x.Name }) {
				out = append(out, x)
			}
		}
	}
	return out
}

type book struct {
	*excelize.File
	head, wrap, whole, cents, free int
}

func (b *book) styles() error {
	cents := "#,##0.00"
	top := &excelize.Alignment{Vertical: "top", WrapText: true}
	for _, s := range []struct {
		id    *int
		style excelize.Style
	}{
		{&b.head, excelize.Style{Font: &excelize.Font{Bold: true}, Alignment: top, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"E6E6E6"}}, Border: []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}}}},
		{&b.wrap, excelize.Style{Alignment: top}},
		{&b.whole, excelize.Style{NumFmt: 1, Alignment: &excelize.Alignment{Vertical: "top"}}},
		{&b.cents, excelize.Style{CustomNumFmt: &cents, Alignment: &excelize.Alignment{Vertical: "top"}}},
		{&b.free, excelize.Style{Alignment: &excelize.Alignment{Vertical: "top"}}},
	} {
		id, err := b.NewStyle(&s.style)
		if err != nil {
			return err
		}
		*s.id = id
	}
	return nil
}

func (b *book) fill(t Table) error {
	for i, c := range t.Columns {
		if err := b.column(t, i, c); err != nil {
			return err
		}
	}
	for y, r := range t.Rows {
		for x, c := range r {
			if err := b.cell(t, x, y+2, c); err != nil {
				return err
			}
		}
	}
	for i, n := range t.Notes {
		if err := b.SetCellStr(t.Name, "A"+strconv.Itoa(len(t.Rows)+3+i), n); err != nil {
			return err
		}
	}
	return b.page(t)
}

func (b *book) column(t Table, i int, c Column) error {
	col, err := excelize.ColumnNumberToName(i + 1)
	if err != nil {
		return err
	}
	if err := b.SetCellStr(t.Name, col+"1", c.Title); err != nil {
		return err
	}
	if err := b.SetCellStyle(t.Name, col+"1", col+"1", b.head); err != nil {
		return err
	}
	width := utf8.RuneCountInString(c.Title)
	for _, r := range t.Rows {
		width = max(width, utf8.RuneCountInString(r[i].Text))
	}
	return b.SetColWidth(t.Name, col, col, float64(min(max(width+2, 6), 48)))
}

// cell writes the value and then the formula over it: the value stays as the one
// shown until the book is computed.
func (b *book) cell(t Table, x, row int, c Cell) error {
	at, err := excelize.CoordinatesToCellName(x+1, row)
	if err != nil {
		return err
	}
	style := b.wrap
	if c.Number != nil {
		err = b.SetCellFloat(t.Name, at, *c.Number, -1, 64)
		style = b.format(t.Columns[x].Key, c)
	} else {
		err = b.SetCellStr(t.Name, at, c.Text)
	}
	if err != nil {
		return err
	}
	if c.Formula != "" {
		if c.Number == nil {
			style = b.cents
			// A shared string's number is no value of a formula.
			if err := b.SetCellValue(t.Name, at, nil); err != nil {
				return err
			}
		}
		if err := b.SetCellFormula(t.Name, at, strings.ReplaceAll(c.Formula, "{row}", strconv.Itoa(row))); err != nil {
			return err
		}
	}
	return b.SetCellStyle(t.Name, at, at, style)
}

// format is the number format of a cell: money by its column, else whole or with
// the places its text has.
func (b *book) format(key string, c Cell) int {
	switch {
	case key == "price" || key == "total" || strings.HasSuffix(key, "_m"):
		return b.cents
	case !strings.Contains(c.Text, "."):
		return b.whole
	}
	return b.free
}

// page sets the sheet up for print: landscape, one page wide, the head on each.
func (b *book) page(t Table) error {
	paper, wide, fit := 9, 1, true // A4
	if strings.EqualFold(t.Paper, "letter") {
		paper = 1
	}
	high, turn := 0, "landscape"
	if err := b.SetPageLayout(t.Name, &excelize.PageLayoutOptions{Size: &paper, Orientation: &turn, FitToWidth: &wide, FitToHeight: &high}); err != nil {
		return err
	}
	if err := b.SetSheetProps(t.Name, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	if err := b.SetHeaderFooter(t.Name, &excelize.HeaderFooterOptions{OddFooter: "&L&A&RPage &P of &N"}); err != nil {
		return err
	}
	if err := b.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: "'" + t.Name + "'!$1:$1", Scope: t.Name}); err != nil {
		return err
	}
	return b.SetPanes(t.Name, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
}
