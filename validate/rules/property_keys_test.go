package rules_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/read"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// noValue are what rules lack and no one value of the file can give: something is
// not drawn, or no maker publishes it.
var noValue = []string{
	"hoses at ", "drain of ", "a high-water alarm that watches ", "a running pump at ", "a current that the file gives a place at ",
	"time-current curve of ", "internal resistance of the batteries at ", "a way over DC wires ", "ampacity of ",
	"bore of the last hose at ", "the size of ",
}

// TestEachLackHasAKey asks of all that the cases leave not checked that it is
// named by a key which the format knows: an attribute of that part, a key of that
// section, in which the file has no value. What has no key is of a known kind.
func TestEachLackHasAKey(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("../../testdata/cases/*/*.yaml")
	if err != nil || len(files) < 100 {
		t.Fatalf("%d cases: %v", len(files), err)
	}
	keyed := map[string]int{}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		s, _ := readBoat(string(text), nil)
		if s == nil {
			continue
		}
		for _, u := range rules.Check(s).Unchecked {
			switch {
			case survey.Consequence(u.Missing):
				if u.Key.Named() {
					t.Errorf("%s: %s is no datum and has the key %s", file, u.Missing, u.Key)
				}
			case !u.Key.Named():
				if !slices.ContainsFunc(noValue, func(p string) bool { return strings.HasPrefix(u.Missing, p) }) {
					t.Errorf("%s: %s: %q has no key", file, u.Rule, u.Missing)
				}
			default:
				keyed[u.Rule]++
				if why := unknownKey(s.Boat, u.Key); why != "" {
					t.Errorf("%s: %s: %q has the key %s: %s", file, u.Rule, u.Missing, u.Key, why)
				}
			}
		}
	}
	if len(keyed) < 40 {
		t.Errorf("%d rules named a datum by key", len(keyed))
	}
}

// unknownKey says why a key names nothing that the format knows.
func unknownKey(b *schema.Boat, k diag.Key) string {
	section := map[diag.Holder]string{diag.WayHolder: "ways", diag.WireHolder: "wires", diag.CircuitHolder: "circuits",
		diag.HoseHolder: "hoses", diag.SpaceHolder: "spaces", diag.VesselHolder: "vessel", diag.SheetsHolder: "sheets"}[k.Of]
	if k.Of == diag.PartHolder {
		p := b.Part(k.ID)
		switch {
		case p == nil:
			return "no such part"
		case p.Kind.Attr(k.Attribute) == nil:
			return "a " + p.Kind.Name + " has no such attribute"
		}
		return ""
	}
	for _, s := range read.Sections() {
		if s.Name == section && s.Field(k.Attribute) != nil {
			return ""
		}
	}
	return "the section " + section + " has no such key"
}
