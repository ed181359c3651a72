package list

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"fitout/schema/boattest"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// bench is one battery, two parallel mains, a panel and a bilge pump: small
// enough to count by hand.
const bench = `
fitout: 1
defaults: {circuits: {return: BN, cable: 2 core}}
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  DP: {kind: panel, ways: {1: {title: Lights, rating: 10 A, family: blade}, 2: {title: Spare, spare: yes}}}
  BN: {kind: bus, polarity: negative}
  LT1: {kind: light, draw: 1 A, count: 3}
  TH1: {kind: through-hull, service: bilge, size: 1 in, station: 3 m}
  TH2: {kind: through-hull, service: intake, size: 3/4 in, station: 1 m, seacock: {id: SC2, type: flanged-ball, reach: 20 s}}
  P1: {kind: pump, duty: circulating, draw: 2 A}
  P9: {kind: pump, duty: bilge, draw: 2 A, prepared: yes}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 60 A}, DP.in], size: 16 mm2, lengths: [0.15 m, 2 m], terminals: [ring M8, ring M8]}
  - {id: 2, from: B1.-, to: BN, size: 16 mm2, length: 2 m, parallel: 2}
circuits:
  - {id: C1, feed: DP.1, load: LT1, size: 2.5 mm2, length: 4 m}
hoses:
  - {id: H1, from: TH2, to: P1.in, bore: 19 mm, length: 1.5 m, clamps: 2, material: rubber}
  - {id: H2, from: P1.out, to: TH1, bore: 19 mm, length: 2 m, clamps: 2, material: rubber}
`

func input(t *testing.T, text string) Input {
	t.Helper()
	s := survey.Of(boattest.Read(t, text))
	return Input{Survey: s, Result: rules.Check(s)}
}

func find(t *testing.T, tab Table, item string) []Cell {
	t.Helper()
	for _, r := range tab.Rows {
		if strings.Contains(r[0].Text, item) {
			return r
		}
	}
	t.Fatalf("no line with %q in %s", item, tab.Title)
	return nil
}

func TestOrderCountsByHand(t *testing.T) {
	tab, _ := Of("order", input(t, bench))
	for _, want := range []struct {
		item, unit string
		quantity   float64
	}{
		{"16 mm² (between 6 and 4 AWG), red", "m", 3},                            // 0.15 + 2 = 2.15, with 10 % 2.365
		{"16 mm² (between 6 and 4 AWG), black", "m", 5},                          // 2 × 2 = 4, with 10 % 4.4
		{"2 core 2.5 mm²", "m", 5},                                               // 4, with 10 % 4.4: one cable holds both conductors
		{"crimp terminal for 16 mm² (between 6 and 4 AWG): ring M8", "piece", 4}, // two stretches, two ends
		{"rubber hose, bore 19 mm", "m", 4},                                      // 3.5, with 10 % 3.85
		{"hose clamp", "piece", 8},                                               // two hoses, two ends, two each
		{"class-t fuse 60 A", "piece", 1},                                        // one spare of a large fuse
		{"blade fuse 10 A", "piece", 1},                                          // fills the way; spares are a line of their own
		{"light", "piece", 3},
	} {
		r := find(t, tab, want.item)
		if r[2].Number == nil || *r[2].Number != want.quantity || r[3].Text != want.unit {
			t.Errorf("%s: %s %s, want %g %s", want.item, r[2].Text, r[3].Text, want.quantity, want.unit)
		}
	}
	for _, r := range tab.Rows {
		if strings.Contains(r[3].Text, "P9") {
			t.Errorf("prepared part ordered: %v", texts(r))
		}
		if r[len(r)-1].Text == "" {
			t.Errorf("no reason for %s", r[0].Text)
		}
	}
}

func TestOpeningsRunBowToStern(t *testing.T) {
	tab, _ := Of("openings", input(t, bench))
	if got := tab.Rows[0][1].Text + " " + tab.Rows[1][1].Text; got != "TH2 TH1" {
		t.Errorf("order %s, want TH2 TH1", got)
	}
	if got := tab.Rows[0][10].Text; got != "SC2" {
		t.Errorf("valve of TH2: %q", got)
	}
	if r := tab.Rows[0][13]; r.Number == nil || *r.Number != 20 {
		t.Errorf("reach of SC2: %v, want 20 s", r.Text)
	}
}

func TestEveryListInEveryFormHoldsTheSameCells(t *testing.T) {
	in := input(t, bench)
	for _, name := range Names() {
		tab, ok := Of(name, in)
		if !ok {
			t.Fatal(name)
		}
		for _, r := range tab.Rows {
			if len(r) != len(tab.Columns) {
				t.Fatalf("%s: a row of %d cells under %d columns", name, len(r), len(tab.Columns))
			}
		}
		checkCSV(t, tab)
		checkJSON(t, tab)
		checkXLSX(t, tab)
		for _, f := range []string{"text", "markdown"} {
			var b bytes.Buffer
			if err := Write(&b, tab, f); err != nil {
				t.Fatal(err)
			}
			for _, r := range tab.Rows {
				for _, c := range r {
					if !strings.Contains(b.String(), c.Text) {
						t.Errorf("%s as %s lacks %q", name, f, c.Text)
					}
				}
			}
		}
	}
}

func checkCSV(t *testing.T, tab Table) {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, tab, "csv"); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != len(tab.Rows)+1 {
		t.Fatalf("%s: %d CSV lines for %d rows", tab.Name, len(rows), len(tab.Rows))
	}
	for i, r := range tab.Rows {
		for k, c := range r {
			if c.Number == nil {
				continue
			}
			if f, err := strconv.ParseFloat(rows[i+1][k], 64); err != nil || f-*c.Number > 1e-6 || *c.Number-f > 1e-6 {
				t.Errorf("%s row %d: CSV %q for %g", tab.Name, i, rows[i+1][k], *c.Number)
			}
		}
	}
}

func checkJSON(t *testing.T, tab Table) {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, tab, "json"); err != nil {
		t.Fatal(err)
	}
	var out struct {
		List string
		Rows []map[string]any
	}
	if err := json.Unmarshal(b.Bytes(), &out); err != nil {
		t.Fatal(err)
	}
	if out.List != tab.Name || len(out.Rows) != len(tab.Rows) {
		t.Errorf("%s: JSON holds %d rows of %d", tab.Name, len(out.Rows), len(tab.Rows))
	}
}

func checkXLSX(t *testing.T, tab Table) {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, tab, "xlsx"); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows(tab.Name)
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < len(tab.Rows)+1 {
		t.Errorf("%s: workbook has %d rows for %d", tab.Name, len(rows), len(tab.Rows))
	}
}

func TestASpreadsheetReadsNoFormulaOutOfATitle(t *testing.T) {
	tab := Table{Name: "x", Columns: []Column{{Key: "a"}}, Rows: [][]Cell{{text("=1+1")}}}
	var b bytes.Buffer
	if err := Write(&b, tab, "csv"); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "\n=") {
		t.Errorf("a formula goes out: %q", b.String())
	}
}

// By hand: the light takes 3 × 1 A; at a demand of 50 % over 4 h that is 6 Ah.
func TestLoadsByHand(t *testing.T) {
	text := bench + "conditions:\n  night: {hours: 4 h, running: [LT1 50 %], bank: B1}\n"
	tab, _ := Of("loads", input(t, text))
	row := find(t, tab, "LT1")
	at := map[string]Cell{}
	for i, c := range tab.Columns {
		at[c.Key] = row[i]
	}
	for key, want := range map[string]float64{"amps": 3, "night_demand_percent": 50, "night_a": 1.5, "night_ah": 6} {
		if n := at[key].Number; n == nil || *n < want-1e-9 || *n > want+1e-9 {
			t.Errorf("%s: %s, want %g", key, at[key].Text, want)
		}
	}
}
