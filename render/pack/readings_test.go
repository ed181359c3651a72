package pack

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/schema/diag"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// cabin is a heater behind a fuse, a bus and a breaker, and a lamp on the bus.
// joint is written into one stretch: copper of the stretch and 0.02 Ω more.
func cabin(stretch string, extra float64) string {
	ohms := map[string]float64{"1a": 0.0002, "1b": 0.002, "2a": 0.0004, "2b": 0.003}
	ohms[stretch] += extra
	return fmt.Sprintf(`fitout: 1
parts:
  B1: {kind: battery, emf: 12.8 V, resistance: 5 mohm, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  HP: {kind: bus, polarity: positive}
  HT1: {kind: heater, draw: 20 A, model: current}
  LT1: {kind: light, draw: 2 A, model: current}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 60 A}, HP], size: 16 mm2, lengths: [0.1 m, 1 m], resistances: [%g ohm, %g ohm]}
  - {id: 2, path: [HP, {F2: class-t 30 A}, HT1.+], size: 10 mm2, lengths: [0.2 m, 2 m], resistances: [%g ohm, %g ohm]}
  - {id: 3, from: HT1.-, to: B1.-, size: 10 mm2, length: 2 m, resistance: 0.003 ohm}
  - {id: 4, path: [HP, {F3: class-t 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.2 m, 2 m]}
  - {id: 5, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
conditions:
  warm: {title: Heater and lamp, running: [HT1, LT1]}
`, ohms["1a"], ohms["1b"], ohms["2a"], ohms["2b"])
}

// The sheet goes out, is filled with what a meter would show in a boat whose one
// joint has 0.02 Ω more, comes back as readings, and the finding names the
// stretch with that joint. By Ohm's law the joint loses 0.02 Ω × 22 A = 0.44 V
// in the feed and 0.02 Ω × 20 A = 0.40 V behind the bus.
func TestCommissioningRoundTrip(t *testing.T) {
	for _, c := range []struct {
		stretch, from, to string
		lost              float64
	}{
		{"1b", "F1", "HP", 0.44},
		{"2b", "F2", "HT1", 0.40},
	} {
		t.Run(c.stretch, func(t *testing.T) {
			sound := boattest.Read(t, cabin("", 0))
			p, err := Make(inputOf(sound), Options{})
			if err != nil {
				t.Fatal(err)
			}
			var out bytes.Buffer
			if err := WriteCSV(&out, p.Commissioning, false); err != nil {
				t.Fatal(err)
			}
			worn := survey.Of(boattest.Read(t, cabin(c.stretch, 0.02)))
			sheet := fill(t, out.String(), worn)
			filled, err := Readings(strings.NewReader(sheet), sound)
			if err != nil {
				t.Fatal(err)
			}
			if len(filled.Lines)+len(filled.Notes) != len(p.Commissioning) {
				t.Fatalf("%d readings came back of %d measurements", len(filled.Lines), len(p.Commissioning))
			}
			read := boattest.Read(t, cabin("", 0)+"readings:\n"+strings.Join(filled.Lines, "\n")+"\n")
			found := off(rules.Check(survey.Of(read)))
			if len(found) == 0 {
				t.Fatal("no finding")
			}
			if f := found[0]; !strings.Contains(f.Do, "between "+c.from+" and ") || !strings.Contains(f.Do, "wire "+c.stretch) || !strings.Contains(f.Do, fmt.Sprintf("%.2f V too much between %s and ", c.lost, c.from)) {
				t.Errorf("the first finding does not name %s: %s | %s", c.stretch, f.Message, f.Do)
			}
			for _, f := range found {
				if f.Unit != "V" {
					t.Errorf("a reading that is right was found: %s", f.Message)
				}
				if d := *f.Limit - *f.Value; d < c.lost-0.03 || d > c.lost+0.03 {
					t.Errorf("%s: %.3f V too little; Ohm's law gives %.2f V", f.Message, d, c.lost)
				}
			}
			reached := false
			for _, f := range found {
				reached = reached || f.At[0] == c.to
			}
			if !reached {
				t.Errorf("nothing is found at %s", c.to)
			}
		})
	}
	t.Run("as computed", func(t *testing.T) {
		boat := boattest.Read(t, cabin("", 0))
		p, err := Make(inputOf(boat), Options{})
		if err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		if err := WriteCSV(&out, p.Commissioning, false); err != nil {
			t.Fatal(err)
		}
		filled, err := Readings(strings.NewReader(fill(t, out.String(), survey.Of(boat))), boat)
		if err != nil {
			t.Fatal(err)
		}
		read := boattest.Read(t, cabin("", 0)+"readings:\n"+strings.Join(filled.Lines, "\n")+"\n")
		if found := off(rules.Check(survey.Of(read))); len(found) > 0 {
			t.Errorf("a boat as computed: %s", found[0].Message)
		}
	})
}

func off(r rules.Result) []diag.Finding {
	var out []diag.Finding
	for _, f := range r.Findings {
		if f.Rule == "reading-off" {
			out = append(out, f)
		}
	}
	return out
}

// fill writes into the column `measured` what a meter of three digits behind the
// point shows aboard.
func fill(t *testing.T, text string, s *survey.Survey) string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	fillRows(t, rows, s)
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func fillRows(t *testing.T, rows [][]string, s *survey.Survey) {
	t.Helper()
	for i, r := range rows {
		if i == 0 {
			continue
		}
		r[9], r[10] = "1", "2026-05-02"
		if r[5] == noteQuantity {
			continue
		}
		var c *schema.Condition
		for _, x := range s.Conditions() {
			if x.ID == r[1] {
				c = x
			}
		}
		id, terminal, _ := strings.Cut(r[2], ".")
		at := schema.End{Part: s.Boat.Part(id), Terminal: terminal}
		if c == nil || at.Part == nil {
			t.Fatalf("row %d names %s at %s", i, r[1], r[2])
		}
		d, w := s.DC(c), s.Water(c)
		var e survey.Expected
		ok := false
		switch r[5] {
		case "volts":
			e, ok = d.ExpectedVolts(at)
		case "current":
			e, ok = d.ExpectedAmps(at)
		case "flow":
			e, _, ok = w.ExpectedFlow(at)
		case "rise":
			e, ok = w.ExpectedRise(at)
		}
		if !ok {
			t.Fatalf("%s at %s in %s has no solution", r[5], r[2], r[1])
		}
		if r[6] == "mV" {
			e.Predicted *= 1000
		}
		r[9] = fmt.Sprintf("%.3f", e.Predicted)
	}
}

// What people write into a cell: a unit, a comma, another order of columns;
// and what is refused, with its line.
func TestReadingsReadBack(t *testing.T) {
	head := "no,condition,at,measure,where,quantity,unit,predicted,within_percent,measured,date,note\n"
	boat := boattest.Read(t, strings.Replace(cabin("", 0), "  LT1:", "  TH2: {kind: through-hull, service: discharge, size: 3/4 in}\n  LT1:", 1)+"  run: {running: [LT1]}\n")
	semicolons := strings.ReplaceAll(head, ",", ";")
	for _, c := range []struct{ name, text, want, fault string }{
		{"semicolons, mark and comma", "\ufeff" + semicolons + "1;warm;HT1;x;y;current;A;20;10;19,5;;\n", "  - {condition: warm, at: HT1, current: 19.5 A, within: 10 %}", ""},
		{"mark before a quote", "\ufeff" + strings.Replace(head, "no,", `"no",`, 1) + "1,warm,HT1,x,y,current,A,20,10,19.5,,\n", "  - {condition: warm, at: HT1, current: 19.5 A, within: 10 %}", ""},
		{"tabs", strings.ReplaceAll(head+"1,warm,HT1,x,y,current,A,20,10,19.5,,\n", ",", "\t"), "  - {condition: warm, at: HT1, current: 19.5 A, within: 10 %}", ""},
		{"unknown part", head + "1,warm,HT9,x,y,current,A,20,10,19,,\n", "", `line 2: the boat has no part "HT9"`},
		{"unknown terminal", head + "1,warm,HT1.x,x,y,volts,V,20,10,19,,\n", "", `line 2: HT1 has no terminal "x"`},
		{"unknown condition", head + "1,cold,HT1,x,y,current,A,20,10,19,,\n", "", `line 2: the boat has no condition "cold"`},
		{"missing column", strings.Replace(head, ",measured", "", 1), "", `there is no column "measured"`},
		{"twice", head + "1,warm,HT1,x,y,current,A,20,10,19,,\n\n2,warm,HT1,x,y,current,A,20,10,18,,\n", "", "line 4: current at HT1 in warm stands on line 2 already"},
		{"plain", head + "1,warm,HT1.+,x,y,volts,V,12.4,2,12.1,2026-05-02,\n", "  - {date: 2026-05-02, condition: warm, at: HT1.+, volts: 12.1 V, within: 2 %}", ""},
		{"unit and comma", head + `1,warm,HT1,x,y,current,A,20,10,"19,5 A",,` + "\n", "  - {condition: warm, at: HT1, current: 19.5 A, within: 10 %}", ""},
		{"millivolts", head + "1,warm,F1,x,y,volts,mV,20,100,\"30,5\",,\n", "  - {condition: warm, at: F1, volts: 30.5 mV, within: 100 %}", ""},
		{"gallons", head + "1,warm,TH2,x,y,flow,L/min,9,15,2.5 gpm,,\n", "  - {condition: warm, at: TH2, flow: 2.5 gpm, within: 15 %}", ""},
		{"fahrenheit", head + "1,warm,HT1,x,y,rise,K,5,20,9 °F,,\n", "  - {condition: warm, at: HT1, rise: 9 °F, within: 20 %}", ""},
		// 10 L in 40 s are 15 L/min
		{"seconds", strings.Replace(head, "\n", ",bucket_l\n", 1) + "1,warm,TH2,x,y,flow,L/min,9,15,40 s,,,10\n", "  - {condition: warm, at: TH2, flow: 15 L/min, within: 15 %}", ""},
		{"seconds without a bucket", head + "1,warm,TH2,x,y,flow,L/min,9,15,40 s,,\n", "", `line 2: measured "40 s" is not a figure`},
		{"note only", head + "1,,RC1,trip time,y,note,,,,24 ms,,\n", "", ""},
		{"note", head + "1,warm,TH2,x,y,flow,L/min,9,15,8,,strainer \"dirty\"\n", "", "parse error"},
		{"order of columns", "measured,at,condition,quantity,no,measure,where,unit,predicted,within_percent,date,note\n8.5,TH2,run,flow,1,,,L/min,9,15,,slow\n", `  - {condition: run, at: TH2, flow: 8.5 L/min, within: 15 %, note: "slow"}`, ""},
		{"left empty", head + "1,warm,HT1,x,y,current,A,20,10,,,\n", "", ""},
		{"no figure", head + "1,warm,HT1,x,y,current,A,20,10,about 19,,\n", "", `line 2: measured "about 19" is not a figure`},
		{"not a number", head + "1,warm,HT1,x,y,current,A,20,10,NaN,,\n", "", "line 2"},
		{"a hostile id", head + "1,\"warm}, evil: {\",HT1,x,y,current,A,20,10,19,,\n", "", "line 2: condition"},
		{"another file", "a,b\n1,2\n", "", `there is no column "no"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			filled, err := Readings(strings.NewReader(c.text), boat)
			switch {
			case c.fault != "" && (err == nil || !strings.Contains(err.Error(), c.fault)):
				t.Errorf("error %v; wanted %q", err, c.fault)
			case c.fault == "" && err != nil:
				t.Error(err)
			case c.fault == "" && strings.Join(filled.Lines, "\n") != c.want:
				t.Errorf("got  %q\nwant %q", strings.Join(filled.Lines, "\n"), c.want)
			}
		})
	}
}

// What was measured stands beside what is predicted, and is called off exactly
// where the check finds it so.
func TestMeasuredBesidePredicted(t *testing.T) {
	for volts, want := range map[string]string{"12.2 V": "12.20 V (2026-05-02)", "11.2 V": "11.20 V, off (2026-05-02)"} {
		boat := boattest.Read(t, cabin("", 0)+"readings:\n  - {date: 2026-05-02, condition: warm, at: HT1.+, volts: "+volts+", within: 4 %}\n")
		in := inputOf(boat)
		m := maker{Input: in}
		if n := len(off(in.Result)); (n > 0) != strings.Contains(want, "off") {
			t.Fatalf("%s: %d findings", volts, n)
		}
		if got := m.measured(Measurement{Condition: "warm", At: "HT1.+", Quantity: "volts", Unit: "V"}); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
