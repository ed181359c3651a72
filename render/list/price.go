package list

import (
	"regexp"
	"strconv"
	"strings"
)

// money is a price as it was written: a figure and its currency, never converted.
type money struct {
	amount   float64
	currency string
}

// A price is one figure with a currency before or behind it.
var priceForm = regexp.MustCompile(`^([\p{L}\p{Sc}]{0,4})\s*(\d[\d.,' \x{00a0}]*?)\s*([\p{L}\p{Sc}]{0,4})$`)

// priceOf reads a price; ok is false for what is not one figure and at most one
// currency, and for a figure that can be read two ways: 1,250 is a thousand to
// some and one and a quarter to others.
func priceOf(s string) (m money, ok bool) {
	f := priceForm.FindStringSubmatch(strings.TrimSpace(s))
	if f == nil || f[1] != "" && f[3] != "" {
		return money{}, false
	}
	digits := strings.NewReplacer("'", "", " ", "", "\u00a0", "").Replace(f[2])
	comma, point := strings.Count(digits, ","), strings.Count(digits, ".")
	last := strings.LastIndexAny(digits, ".,")
	switch {
	case comma+point == 0:
	case comma > 0 && point > 0:
		// The mark that comes last is the decimal one.
		whole := strings.NewReplacer(",", "", ".", "").Replace(digits[:last])
		if strings.Count(digits, digits[last:last+1]) > 1 {
			return money{}, false
		}
		digits = whole + "." + digits[last+1:]
	case comma+point > 1:
		digits = strings.NewReplacer(",", "", ".", "").Replace(digits)
	case len(digits)-last-1 == 3:
		return money{}, false
	default:
		digits = strings.Replace(digits, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(digits, 64)
	currency := f[1] + f[3]
	if currency == "" {
		currency = "not stated"
	}
	return money{v, currency}, err == nil
}

// totals is what the order costs as far as prices are given.
func totals(in Input) Table { return totalTable(orderOf(in, cutPlan(in))) }

// totalTable sums the lines by group and currency; currencies are never added
// to one another.
func totalTable(o *orderBook) Table {
	t := Table{Title: "Totals of the order", Columns: []Column{{Key: "group", Title: "Group"}, {Key: "currency", Title: "Currency"}, {Key: "total", Title: "Total", Right: true}}}
	var currencies []string
	priced := 0
	for _, l := range o.lines {
		if m, ok := priceOf(l.price); ok {
			currencies = appendNew(currencies, m.currency)
			priced++
		}
	}
	last := len(o.lines) + 1
	for _, c := range currencies {
		first, all := len(t.Rows)+2, 0.0
		for g, name := range groups() {
			sum, any := 0.0, false
			for _, l := range o.lines {
				if m, ok := priceOf(l.price); ok && l.group == g && m.currency == c {
					sum, any = sum+round2(l.quantity*m.amount), true
				}
			}
			if !any {
				continue
			}
			cell := number(sum, 2)
			cell.Formula = sumFormula(last)
			t.Rows = append(t.Rows, []Cell{text(name), text(c), cell})
			all += sum
		}
		cell := number(all, 2)
		cell.Formula = sumRange(first, len(t.Rows)+1)
		t.Rows = append(t.Rows, []Cell{text("all"), text(c), cell})
	}
	t.Notes = []string{totalNote(priced, len(o.lines)), "Currencies are kept as written and not converted."}
	return t
}

func totalNote(priced, lines int) string {
	if priced == 0 {
		return "No line of the order has a price in the file: there is nothing to add up."
	}
	return strconv.Itoa(priced) + " of " + strconv.Itoa(lines) + " lines have a price; the totals are of these alone."
}

func round2(x float64) float64 {
	v, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'f', 2, 64), 64)
	return v
}

// sumFormula adds the line totals of the row's group and currency.
func sumFormula(last int) string {
	n := strconv.Itoa(last)
	column := func(c string) string { return "order!$" + c + "$2:$" + c + "$" + n }
	return "SUMIFS(" + column(orderTotal) + "," + column(orderGroup) + ",A{row}," + column(orderCurrency) + ",B{row})"
}

func sumRange(first, last int) string {
	return "SUM(C" + strconv.Itoa(first) + ":C" + strconv.Itoa(last) + ")"
}
