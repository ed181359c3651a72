package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

var liveStudOpen = Rule{
	Name: "live-stud-open", Section: "DC, static",
	Asks:     "Is every stud that is live ahead of any device covered where gear is stowed?",
	Why:      "a tool or a sail bag across the stud draws the whole bank's current",
	Severity: "warning",
	Source:   "33 CFR 183.445(b): a continuously live ungrounded stud is protected or covered; a fire in a fore cabin, MAIB 2015",
	Quiet:    "not outside spaces marked `stowage`, not behind a device, not for the grounded side; battery posts are asked in the surveyor's round",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  ST1: {kind: stud, title: Live stud, space: locker}
  F1: {kind: fuse, title: Load, family: class-t, rating: 20 A, space: locker}
  M1: {kind: load, draw: 10 A}
spaces: {locker: {title: Locker, stowage: yes}}
wires:
  - {id: 1, path: [B1.+, ST1, F1, M1.+], size: 10 mm2, lengths: [0.07 m, 0.08 m, 2 m]}
  - {id: 2, from: M1.-, to: B1.-, size: 10 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  ST1: {kind: stud, title: Live stud, space: locker, covered: yes}
  F1: {kind: fuse, title: Load, family: class-t, rating: 20 A, space: locker}
  M1: {kind: load, draw: 10 A}
spaces: {locker: {title: Locker, stowage: yes}}
wires:
  - {id: 1, path: [B1.+, ST1, F1, M1.+], size: 10 mm2, lengths: [0.07 m, 0.08 m, 2 m]}
  - {id: 2, from: M1.-, to: B1.-, size: 10 mm2, length: 2 m}
`,
	Check: checkLiveStudOpen,
}

// heavyMotor is the draw from which a motor's own studs are open to the touch
// (judgement, after the thruster fire of MAIB 2015).
const heavyMotor = 50

func checkLiveStudOpen(c *Context) {
	live := c.batteryPieces()
	heavy, unknown := map[*schema.Part]bool{}, map[*schema.Part]bool{}
	c.eachEdge(trace.Load, schema.DC, func(_ int, e *trace.Edge) {
		heavy[e.Part] = heavy[e.Part] || e.Branch.Load.Motor && loadAmps(e) >= heavyMotor
		unknown[e.Part] = unknown[e.Part] || e.Branch.Load.Motor && loadAmps(e) == 0 && !e.Part.Is(schema.Mover)
	})
	for _, p := range c.Boat.Parts {
		if p.Prepared || p.Space != nil && !p.Space.Stowage.V || p.Flag("covered").V {
			continue
		}
		bare := p.Is(schema.Distribution) && !p.Is(schema.Panel) || heavy[p] || unknown[p] ||
			p.Is(schema.Storage) && p.Flag("terminals-covered").Given() && !p.Flag("terminals-covered").V
		if !bare {
			continue
		}
		c.Looked("live-stud-open")
		for _, t := range p.Terminals() {
			n := c.Net.Node(p, t.Name)
			if t.Medium != schema.DC || n < 0 || !c.Net.Nodes[n].Live() || !live[c.Net.Component(n)] {
				continue
			}
			if p.Space == nil {
				c.Missing("live-stud-open", "space of "+p.ID, p.At, p.ID)
				break
			}
			if unknown[p] && !heavy[p] {
				c.Missing("live-stud-open", "draw of "+p.ID, p.At, p.ID)
				break
			}
			c.Add(diag.Finding{Rule: "live-stud-open", Severity: diag.Warning, Span: p.At, At: c.at(p, n),
				Message: fmt.Sprintf("%s is live ahead of any device and stands open in %s, where gear is stowed", p.ID, p.Space.Name()),
				Risk:    "metal across it draws the whole bank's current",
				Do:      fmt.Sprintf("cover the studs of %s and say `covered: yes`", p.ID),
				Source:  c.LawSource("183.445(b)")})
			break
		}
	}
}

// batteryPieces marks the device-free pieces that a battery feeds.
func (c *Context) batteryPieces() map[int]bool {
	live := map[int]bool{}
	for i := range c.Net.Sources {
		s := &c.Net.Sources[i]
		if k := c.Net.Component(s.Node); s.Unlimited && s.Medium == schema.DC && k >= 0 {
			live[k] = true
		}
	}
	return live
}
