package pack

import (
	"slices"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/schema"
	"fitout/schema/boattest"
)

const barBoat = `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  HP: {kind: bus, studs: 2}
  S1: {kind: switch}
  SN: {kind: switch}
  L1: {kind: light, draw: 1 A}
  L2: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 60 A}, S1, HP], size: 16 mm2}
  - {id: 2, from: HP, to: L1.+, size: 2.5 mm2}
  - {id: 3, from: HP, to: L2.+, size: 4 mm2}
  - {id: 4, from: L1.-, to: SN.in, size: 2.5 mm2}
  - {id: 5, from: SN.out, to: B1.-, size: 2.5 mm2}
  - {id: 6, from: L2.-, to: B1.-, size: 4 mm2}
`

// A bar has the studs that the file says, more lugs lie on top of others, the
// heaviest below; all of them are on the sheet once.
func TestLugsShareStuds(t *testing.T) {
	m := makerOf(t, boattest.Read(t, barBoat))
	hp := m.boat().Part("HP")
	l := landing{hp.Terminals()[0], m.wiresAt(hp, "")}
	var got []string
	for _, s := range split(hp, l) {
		var ids []string
		for _, w := range s {
			ids = append(ids, w.ID)
		}
		got = append(got, strings.Join(ids, " "))
	}
	if want := []string{"1c 2", "3"}; !slices.Equal(got, want) {
		t.Errorf("studs from below: %q; want %q", got, want)
	}
	if text := studText(hp, []landing{l}); !strings.HasPrefix(text, "3 lugs on 2 studs: some studs carry more than one.") {
		t.Errorf("%q", text)
	}
	free := m.boat().Part("HP")
	five := *free.Get("studs")
	five.Number = 5
	free.Set(five)
	if n := len(split(free, l)); n != 5 {
		t.Errorf("%d studs drawn of 5", n)
	}
}

// The studs of a device in the positive bear a plus, of one in the return a minus:
// never a plus there, whatever the colour.
func TestDeviceStudsBearASign(t *testing.T) {
	m := makerOf(t, boattest.Read(t, barBoat))
	for id, want := range map[string]string{"F1": "+", "S1": "+", "HP": "+", "SN": "−"} {
		p := m.boat().Part(id)
		e, ok := m.terminalSheet(p)
		if !ok {
			t.Fatalf("%s has no sheet", id)
		}
		for _, b := range e.blocks {
			f, ok := b.(figure)
			if !ok {
				continue
			}
			signs := 0
			for _, it := range f.items(draw.Point{}, 180) {
				draw.EachText(it, func(x draw.Text) {
					if x.S == "+" || x.S == "−" {
						signs++
						if x.S != want {
							t.Errorf("%s bears %s; want %s", id, x.S, want)
						}
					}
				})
			}
			if signs < 2 {
				t.Errorf("%s: %d signs", id, signs)
			}
		}
	}
	// on the examples: a stud that a battery's minus joins is no plus
	for _, file := range exampleNames(t) {
		m := makerOf(t, boattest.ReadFile(t, file))
		for _, p := range m.fitted() {
			if !bolted(p) {
				continue
			}
			for _, x := range p.Terminals() {
				n := m.Survey.Net.Node(p, x.Name)
				if x.Medium != schema.DC || n < 0 {
					continue
				}
				back := m.Survey.Net.Nodes[n].Grounded
				if s := m.sign(p, x, m.wiresAt(p, x.Name)); back && s == "+" {
					t.Errorf("%s: %s.%s is grounded and bears a plus", file, p.ID, x.Name)
				}
			}
		}
	}
}

// No plus post is touched while a minus of its bank still lies, and none is
// bared while a minus has come back: the loose end of a link from a battery with
// both its cables is live.
func TestBankIsPartedMinusFirst(t *testing.T) {
	for _, file := range exampleNames(t) {
		m := makerOf(t, boattest.ReadFile(t, file))
		for _, b := range m.banks() {
			e := m.safeBank(b)
			off, on := "", ""
			for _, x := range e.blocks {
				if s, ok := x.(steps); ok && off == "" {
					off = strings.Join(s, "\n")
				} else if ok {
					on = strings.Join(s, "\n")
				}
			}
			if last, first := strings.LastIndex(off, "the MINUS post"), strings.Index(off, "the PLUS post"); last < 0 || first < last {
				t.Errorf("%s, %s: to make dead:\n%s", file, b.title, off)
			}
			if last, first := strings.LastIndex(on, "the PLUS post"), strings.Index(on, "the MINUS post"); last < 0 || first < last {
				t.Errorf("%s, %s: to restore:\n%s", file, b.title, on)
			}
			for _, p := range b.batteries {
				for _, text := range []string{off, on} {
					if strings.Count(text, p.ID+" ") < 2 {
						t.Errorf("%s: %s has not both its posts:\n%s", file, p.ID, text)
					}
				}
			}
		}
	}
	// the yacht's house bank: wire 7a leads to the boat from B3, wire 5 only to B2
	m := makerOf(t, boattest.ReadFile(t, examples+"yacht.yaml"))
	posts := m.postsOff(m.banks()[0])
	if len(posts) != 4 || !strings.HasPrefix(posts[0], "B3 ") || !strings.Contains(posts[0], "wire 7a") {
		t.Errorf("%q", posts)
	}
}
