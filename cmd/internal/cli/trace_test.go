package cli

import (
	"encoding/json"
	"strings"
	"testing"
)

// What a lost part says: at once, only while something gives, until flat; and no
// more than the boat has.
func TestTraceLost(t *testing.T) {
	for _, c := range []struct {
		part string
		want []string
		not  []string
	}{
		{"F1", []string{"only while the engine runs or on shore power", "B2         not charged", "P3         until flat"}, []string{"nothing stops", "sun"}},
		{"ALT1", []string{"B1         not charged", "ST1        until flat"}, []string{"dead at once"}},
		{"DP.6", []string{"FR1        dead at once"}, []string{"only"}},
		{"15a", []string{"P3         dead at once"}, nil},
		{"H5a", []string{"EN1        no sea water"}, nil},
		{"SC4", []string{"EN1        no sea water"}, []string{"dead at once"}},
	} {
		code, out, errs := fitout(t, "", "trace", "../../../examples/cruiser.yaml", "--lost", c.part)
		if code != Clean {
			t.Fatalf("%s: status %d: %s", c.part, code, errs)
		}
		for _, w := range c.want {
			if !strings.Contains(out, w) {
				t.Errorf("%s: %q is not said:\n%s", c.part, w, out)
			}
		}
		for _, w := range c.not {
			if strings.Contains(out, w) {
				t.Errorf("%s: %q is said:\n%s", c.part, w, out)
			}
		}
	}
}

// The sweep as text and as JSON tells the same failures, worst first.
func TestTraceSweep(t *testing.T) {
	const file = "../../../examples/cruiser.yaml"
	_, text, _ := fitout(t, "", "trace", file, "--sweep")
	code, out, errs := fitout(t, "", "trace", file, "--sweep", "--format", "json")
	if code != Clean {
		t.Fatalf("status %d: %s", code, errs)
	}
	var got struct {
		Failures []struct {
			ID, Fails string
			Lost      struct {
				Dead   []string
				Silent []string `json:"alarms_silent"`
			}
			Floods []struct {
				Opening *string
				Pump    *string
				Siphon  bool
				LMin    float64 `json:"l_min"`
				Valves  []string
			}
			Unprotected struct {
				Wires []struct {
					Wire string
					Amps *float64
				}
			}
		}
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, f := range got.Failures {
		key := f.ID + " " + f.Fails
		if _, twice := at[key]; twice {
			t.Errorf("%s twice", key)
		}
		at[key] = i
		if !strings.Contains(text, f.ID) {
			t.Errorf("%s is not in the text", key)
		}
	}
	order := []string{"HF1 lets go", "TH4 lets go", "F14 opens", "DP.6 opens", "SC1 stuck open", "P5 stops"}
	for k := 1; k < len(order); k++ {
		a, ok := at[order[k-1]]
		b, ok2 := at[order[k]]
		if !ok || !ok2 || a >= b {
			t.Errorf("%q stands at %d, %q at %d", order[k-1], a, order[k], b)
		}
	}
	f := got.Failures[at["H5a off its fitting or burst"]]
	if len(f.Floods) != 1 || *f.Floods[0].Opening != "TH4" || strings.Join(f.Floods[0].Valves, " ") != "SC4" || f.Floods[0].LMin < 100 || f.Floods[0].LMin > 130 {
		t.Errorf("H5a: %+v", f.Floods)
	}
	if f := got.Failures[at["F1 replaced by a link"]]; len(f.Unprotected.Wires) == 0 || f.Unprotected.Wires[0].Amps != nil {
		t.Errorf("F1 bypassed: %+v", f.Unprotected)
	}
	if f := got.Failures[at["UB.2 opens"]]; strings.Join(f.Lost.Silent, " ") != "HW1" {
		t.Errorf("UB.2: %+v", f.Lost)
	}
	if code, _, _ := fitout(t, "", "trace", file, "--sweep", "--format", "xml"); code != Misuse {
		t.Error("--format xml is taken")
	}
}
