package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/tables"
)

// threadMismatch compares the threads of parts screwed together.
var threadMismatch = Rule{
	Name: "thread-mismatch", Section: waterStatic,
	Asks:     "Have parts that are screwed together the same form of thread?",
	Why:      "unlike forms start to turn and hold by two or three threads; the joint breaks under a knock",
	Severity: "warning",
	Source:   "ASME B1.20.1, ISO 228-1, ISO 7-1 (published articles)",
	Quiet:    "not between parts joined by hose",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, material: bronze, thread: nps, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: inline-ball, thread: npt}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, material: bronze, thread: nps, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball, thread: nps}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2}
`,
	Check: checkThreads,
}

func checkThreads(c *Context) {
	for _, j := range c.screwedJoints() {
		a, b := j.a.Word("thread"), j.b.Word("thread")
		if !a.Given() && !b.Given() && !j.a.Is(schema.SeaOpening) {
			continue
		}
		c.Looked("thread-mismatch")
		if !a.Given() {
			c.Missing("thread-mismatch", "thread of "+j.a.ID, j.a.At, j.a.ID, j.b.ID)
		}
		if !b.Given() {
			c.Missing("thread-mismatch", "thread of "+j.b.ID, j.b.At, j.b.ID, j.a.ID)
		}
		if !a.Given() || !b.Given() {
			continue
		}
		ok, reason, cite := tables.ThreadsMate(a.V, b.V)
		if ok {
			continue
		}
		if j.unsure {
			c.Missing("thread-mismatch", "length of "+j.way.Hose.ID, j.way.Hose.At, j.way.Hose.ID, j.b.ID, j.a.ID)
			continue
		}
		c.Add(diag.Finding{
			Rule: "thread-mismatch", Severity: diag.Warning, Span: j.b.At, At: []string{j.b.ID, j.a.ID},
			Message: fmt.Sprintf("%s (%s) is screwed to %s (%s): %s", j.b.ID, b.V, j.a.ID, a.V, reason),
			Risk:    "the joint holds by a few threads, and leaks or breaks off when the valve is leaned on",
			Do:      "use parts of one thread form, or a flanged seacock made for a parallel thread",
			Source:  cite.String(),
		})
	}
}
