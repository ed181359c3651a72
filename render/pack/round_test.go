package pack

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/schema/diag"
	"fitout/schema/edit"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/schema/source"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// datum is a value in the text of a file: its own place, and that of its key.
type datum struct {
	id, attr string
	keys     map[string]string // what a round may call it, with what it says
	pair     source.Span       // from the key's first byte to the value's last
	flow     bool
	first    bool
}

var plural = map[string]string{"sizes": "size", "lengths": "length", "resistances": "resistance", "peaks": "peak", "dips": "dip"}

// dataOf lists the data of a file: of its parts, their ways, its wires, circuits,
// hoses, spaces, and the vessel. It knows only the shape of the file.
func dataOf(t *testing.T, text string) []datum {
	t.Helper()
	root, problems := read.Tree(source.New("boat.yaml", text))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	var out []datum
	var collect func(holder, id string, m *read.Node)
	parts := func(n *read.Node) {
		for i := 0; i+1 < len(n.Entries); i += 2 {
			collect("", n.Entries[i].Text, n.Entries[i+1])
		}
	}
	collect = func(holder, id string, m *read.Node) {
		for i := 0; m.Kind == read.Map && i+1 < len(m.Entries); i += 2 {
			k, v := m.Entries[i], m.Entries[i+1]
			switch {
			case k.Text == "ways" && v.Kind == read.Map:
				for j := 0; j+1 < len(v.Entries); j += 2 {
					collect("", id+"."+v.Entries[j].Text, v.Entries[j+1])
				}
				continue
			case k.Text == "seacock" && v.Kind == read.Map:
				for j := 0; j+1 < len(v.Entries); j += 2 {
					if v.Entries[j].Text == "id" {
						collect("", v.Entries[j+1].Text, v)
					}
				}
				continue
			case k.Text == "path", k.Text == "via", k.Text == "load":
				for _, e := range v.Entries {
					if e.Kind == read.Map {
						parts(e)
					}
				}
				continue
			}
			d := datum{id: id, attr: k.Text, keys: map[string]string{}, flow: m.Style == read.Flow, first: i == 0,
				pair: source.Span{File: v.File, Start: k.Start, End: v.End}}
			if one := plural[k.Text]; one != "" && v.Kind == read.List {
				if len(v.Entries) == 1 {
					d.keys[holder+id+"."+one] = v.Entries[0].Text
				}
				for j, e := range v.Entries {
					if !e.Null {
						d.keys[fmt.Sprintf("%s%s%c.%s", holder, id, 'a'+j, one)] = e.Text
						d.keys[fmt.Sprintf("%s%s+%c.%s", holder, id, 'a'+j, one)] = e.Text
					}
				}
			} else {
				d.keys[holder+id+"."+k.Text] = v.Span().Text()
				for _, c := range "abcdefgh" { // one value for all stretches
					d.keys[fmt.Sprintf("%s%s%c.%s", holder, id, c, k.Text)] = v.Span().Text()
					d.keys[fmt.Sprintf("%s%s+%c.%s", holder, id, c, k.Text)] = v.Span().Text()
				}
			}
			out = append(out, d)
		}
	}
	for i := 0; i+1 < len(root.Entries); i += 2 {
		v := root.Entries[i+1]
		switch name := root.Entries[i].Text; name {
		case "parts":
			parts(v)
		case "spaces":
			for j := 0; j+1 < len(v.Entries); j += 2 {
				collect("space ", v.Entries[j].Text, v.Entries[j+1])
			}
		case "vessel", "sheets":
			collect("", name, v)
		case "wires", "circuits", "hoses":
			for _, item := range v.Entries {
				for j := 0; j+1 < len(item.Entries); j += 2 {
					if item.Entries[j].Text == "id" {
						collect(strings.TrimSuffix(name, "s")+" ", item.Entries[j+1].Text, item)
					}
				}
			}
		}
	}
	return slices.DeleteFunc(out, func(d datum) bool { return slices.Contains([]string{"id", "kind", "title", "note"}, d.attr) })
}

// without takes data out of a text with their keys, the last first.
func without(text string, list ...datum) string {
	list = slices.Clone(list)
	slices.SortFunc(list, func(a, b datum) int { return b.pair.Start - a.pair.Start })
	for _, d := range list {
		start, end := d.pair.Start, d.pair.End
		switch {
		case !d.flow:
			start = strings.LastIndex(text[:start], "\n")
			end += strings.IndexByte(text[end:], '\n')
		case d.first:
			if after := strings.TrimLeft(text[end:], " "); strings.HasPrefix(after, ",") {
				end = len(text) - len(after) + 1
			}
		default:
			start = strings.LastIndex(text[:start], ",")
		}
		text = text[:start] + text[end:]
	}
	return text
}

func tryRead(text string) *schema.Boat {
	open := func(string) ([]byte, error) { return []byte(text), nil }
	b, problems := read.Boat(open, "boat.yaml", kinds.All())
	if len(problems) > 0 {
		return nil
	}
	return b
}

// sayings are what a result says, without places in the file.
func sayings(r rules.Result) []string {
	var out []string
	for _, f := range append(slices.Clone(r.Findings), r.Deviations...) {
		out = append(out, fmt.Sprint(f.Rule, f.At, f.Severity, f.Condition, f.Message))
	}
	for _, u := range r.Unchecked {
		out = append(out, fmt.Sprint("not checked: ", u.Rule, u.At, u.Missing))
	}
	slices.Sort(out)
	return out
}

// lacked are the keys, or words, of what checks lacked.
func lacked(r rules.Result) []string {
	var out []string
	for _, u := range r.Unchecked {
		if survey.Consequence(u.Missing) {
			continue
		}
		if u.Key.Named() {
			out = append(out, u.Key.String())
		} else {
			out = append(out, "by hand: "+u.Missing)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func asks(rows []RoundRow) []string {
	var out []string
	for _, r := range rows {
		switch {
		case len(r.Rules) == 0:
		case r.Key.Named():
			out = append(out, r.Key.String())
		default:
			out = append(out, "by hand: "+r.What)
		}
	}
	slices.Sort(out)
	return out
}

// answer fills the round with what a person reads aboard, as CSV and back, and
// puts it into the text. It returns how many rows it filled.
func answer(t *testing.T, text string, rows []RoundRow, known map[string]string) (string, int) {
	t.Helper()
	var b bytes.Buffer
	if err := WriteRound(&b, rows); err != nil {
		t.Fatal(err)
	}
	table, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(table) != len(rows)+1 {
		t.Fatalf("%d lines for %d rows: %v", len(table), len(rows), err)
	}
	var filled bytes.Buffer
	w := csv.NewWriter(&filled)
	n := 0
	for _, line := range table {
		if v, ok := known[strings.TrimPrefix(line[4], "'")]; ok {
			line[8] = v
			n++
		}
		w.Write(line)
	}
	w.Flush()
	if n == 0 {
		return text, 0
	}
	got, err := ReadRound(&filled)
	if err != nil || len(got.Data) != n {
		t.Fatalf("%d of %d came back: %v", len(got.Data), n, err)
	}
	for _, a := range got.Data {
		boat := tryRead(text)
		if boat == nil {
			t.Fatalf("unreadable before %s", a.Key)
		}
		edits, err := edit.On(boat).Datum(a.Key, a.Value)
		if err != nil {
			t.Fatalf("%s: %s: %v", a.Key, a.Value, err)
		}
		if text, err = edit.Apply(boat.Files[0], edits); err != nil {
			t.Fatal(err)
		}
		if tryRead(text) == nil {
			t.Fatalf("%s: %s makes the file unreadable: %s", a.Key, a.Value, boattest.Problems(boattest.Mistakes(t, text)))
		}
	}
	return text, n
}

// Taken out of a file, a datum that a check lacks stands in the round, with
// nothing else but what checks lack; the round, filled with what the whole file
// says and read back, gives the whole file's result again.
func TestRoundAsksAndAnswers(t *testing.T) {
	for _, file := range exampleNames(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			raw, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			text := string(raw)
			whole := inputOf(tryRead(text))
			want, had := sayings(whole.Result), asks(RoundOf(whole))
			if !slices.Equal(had, lacked(whole.Result)) {
				t.Errorf("the round asks for %q; checks lacked %q", had, lacked(whole.Result))
			}
			var gone []datum
			known := map[string]string{}
			other := 0
			data := dataOf(t, text)
			for i, d := range data {
				if i%max(3, len(data)/30) != 0 {
					continue
				}
				short := without(text, d)
				boat := tryRead(short)
				if boat == nil {
					continue
				}
				in := inputOf(boat)
				rows := RoundOf(in)
				if got := asks(rows); !slices.Equal(got, lacked(in.Result)) {
					t.Errorf("without %s of %s the round asks for %q; checks lacked %q", d.attr, d.id, got, lacked(in.Result))
				}
				asked := slices.ContainsFunc(rows, func(r RoundRow) bool { _, ok := d.keys[r.Key.String()]; return ok })
				if !asked {
					for _, k := range asks(rows) {
						if !slices.Contains(had, k) {
							other++
							t.Logf("without %s of %s the round asks for %s", d.attr, d.id, k)
						}
					}
					continue
				}
				full, n := answer(t, short, rows, d.keys)
				for n > 0 { // a stretch may be asked for when its neighbour is known
					full, n = answer(t, full, RoundOf(inputOf(tryRead(full))), d.keys)
				}
				if got := sayings(inputOf(tryRead(full)).Result); !slices.Equal(got, want) {
					t.Errorf("%s of %s, out and in again: %s", d.attr, d.id, firstDifference(got, want))
				}
				gone = append(gone, d)
				for k, v := range d.keys {
					known[k] = v
				}
			}
			if len(gone) < 5 {
				t.Fatalf("%d data only were asked for", len(gone))
			}
			t.Logf("%d data asked for by key, %d by another name", len(gone), other)
			// all of them at once; some are asked for only when others are known
			short := without(text, gone...)
			for round := 1; ; round++ {
				boat := tryRead(short)
				if boat == nil {
					t.Fatal("the file without them cannot be read: ", boattest.Problems(boattest.Mistakes(t, short)))
				}
				in := inputOf(boat)
				if got := sayings(in.Result); slices.Equal(got, want) {
					t.Logf("%d rounds", round-1)
					break
				} else if round > 6 {
					t.Fatalf("after %d rounds: %s", round-1, firstDifference(got, want))
				}
				var n int
				if short, n = answer(t, short, RoundOf(in), known); n == 0 {
					t.Fatalf("round %d asks for nothing that was taken: %s", round, firstDifference(sayings(in.Result), want))
				}
			}
		})
	}
}

func firstDifference(got, want []string) string {
	for _, g := range got {
		if !slices.Contains(want, g) {
			return "too much: " + g
		}
	}
	for _, w := range want {
		if !slices.Contains(got, w) {
			return "lacks: " + w
		}
	}
	return "the same"
}

// The rows stand as a person walks: the whole boat, then the spaces from the stem
// aft, each once.
func TestRoundIsWalked(t *testing.T) {
	for _, file := range exampleNames(t) {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		text := string(raw)
		var gone []datum
		for i, d := range dataOf(t, text) {
			if i%5 == 0 && tryRead(without(text, d)) != nil {
				gone = append(gone, d)
			}
		}
		boat := tryRead(without(text, gone...))
		if boat == nil {
			t.Logf("%s cannot be read without every fifth datum: %s", file, boattest.Problems(boattest.Mistakes(t, without(text, gone...))))
			continue
		}
		rows := RoundOf(inputOf(boat))
		var spaces []string
		for i, r := range rows {
			if r.No != i+1 {
				t.Errorf("%s: row %d is numbered %d", file, i+1, r.No)
			}
			if len(spaces) == 0 || spaces[len(spaces)-1] != r.Space {
				if slices.Contains(spaces, r.Space) {
					t.Errorf("%s: a person comes twice to %s", file, r.Space)
				}
				spaces = append(spaces, r.Space)
			}
		}
		last := -1.0
		for _, name := range spaces {
			for _, sp := range boat.Spaces {
				if a, b := sp.Station[0], sp.Station[1]; sp.Name() == name && a.Given() && b.Given() {
					if mid := (float64(a.V) + float64(b.V)) / 2; mid < last {
						t.Errorf("%s: %s lies forward of the space before it", file, name)
					} else {
						last = mid
					}
				}
			}
		}
	}
}

// What cannot be placed or read is refused with its line; a thing that is not one
// value comes back as a note; a bare figure gets the row's unit.
func TestReadRound(t *testing.T) {
	const head = "no,space,at,is,key,what,unit,rules,value\n"
	for name, c := range map[string]struct{ rows, want, wrong string }{
		"unit":      {"1,,TH2,,TH2.height,,m,floods,-0.6\n", "TH2.height=-0.6 m", ""},
		"comma":     {"1;;TH2;;TH2.height;;m;floods;-0,6\n", "TH2.height=-0.6 m", ""},
		"spelled":   {"1,,2,,wire 2.length,,m,,14 ft\n", "wire 2.length=14 ft", ""},
		"word":      {"1,,B1,,B1.chemistry,,,,agm\n", "B1.chemistry=agm", ""},
		"note":      {"1,,P1,,,hoses at P1,,x,one to TH3\n", "note P1: hoses at P1: one to TH3", ""},
		"thousands": {"1,,B1,,B1.max-discharge,,A,,\"1,200\"\n", "", `line 2: B1.max-discharge: "1,200" may be 1200 or 1.200`},
		"no key":    {"1,,B1,,restrained,,,,yes\n", "", `line 2: "restrained" is no key`},
		"twice":     {"1,,B1,,B1.volts,,V,,12\n2,,B1,,B1.volts,,V,,24\n", "", "line 3: B1.volts is 24 V here and 12 V on line 2"},
		"empty":     {"1,,B1,,B1.volts,,V,,\n", "", "the column `value` is empty"},
	} {
		text := head + c.rows
		if strings.Contains(c.rows, ";") {
			text = strings.ReplaceAll(head, ",", ";") + c.rows
		}
		got, err := ReadRound(strings.NewReader(text))
		if c.wrong != "" {
			if err == nil || !strings.Contains(err.Error(), c.wrong) {
				t.Errorf("%s: %v; want %s", name, err, c.wrong)
			}
			continue
		}
		var said []string
		for _, a := range got.Data {
			said = append(said, a.Key.String()+"="+a.Value)
		}
		for _, n := range got.Notes {
			said = append(said, "note "+n)
		}
		if err != nil || strings.Join(said, "; ") != c.want {
			t.Errorf("%s: %q %v; want %s", name, said, err, c.want)
		}
	}
	for _, k := range []diag.Key{
		{Of: diag.PartHolder, ID: "TH2", Attribute: "height"}, {Of: diag.WayHolder, ID: "DP.4", Attribute: "rating"},
		{Of: diag.WireHolder, ID: "2a", Attribute: "length"}, {Of: diag.CircuitHolder, ID: "C3+a", Attribute: "size"},
		{Of: diag.HoseHolder, ID: "H1", Attribute: "bore"}, {Of: diag.SpaceHolder, ID: "bilge", Attribute: "area"},
		{Of: diag.VesselHolder, Attribute: "length"}, {Of: diag.SheetsHolder, Attribute: "date"},
	} {
		if got, err := diag.ParseKey(k.String()); err != nil || got != k {
			t.Errorf("%s reads back as %+v: %v", k, got, err)
		}
	}
}
