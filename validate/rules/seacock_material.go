package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/tables"
)

// seacockMaterial judges what holds the sea out at the hull.
var seacockMaterial = Rule{
	Name: "seacock-material", Section: waterStatic,
	Asks:     "Are through-hulls, seacocks and what is screwed to them of a material and form that hold in sea water?",
	Why:      "brass loses its zinc and crumbles, household plastic breaks, a gate valve hides whether it is shut",
	Severity: "warning",
	Source:   "H-27, 27.4.4 (as quoted); UL 1121; ISO 9093:2020, 4.1 (summary)",
	Quiet:    "not for a fitting that stays above the sea in every attitude",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, material: bronze, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: gate}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, material: bronze, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2}
`,
	Check: checkSeacockMaterial,
}

func checkSeacockMaterial(c *Context) {
	hosted := map[string]bool{}
	for _, f := range c.hullSide() {
		c.Looked("seacock-material")
		why, source := c.unsound(f.part)
		if why == "" {
			c.seacockUnstated(f, hosted)
			continue
		}
		under, known, missing := c.low(f)
		if !under && known {
			continue
		}
		if !under {
			c.lacks("seacock-material", missing, f.part.ID)
			continue
		}
		ids := []string{f.part.ID}
		if f.mouth != nil && f.mouth.Part != f.part {
			ids = append(ids, f.mouth.ID())
		}
		c.Add(diag.Finding{
			Rule: "seacock-material", Severity: diag.Warning, Span: f.part.At, At: ids,
			Message: fmt.Sprintf("%s %s under the heeled waterline: %s", f.part.Kind.Title, f.part.ID, why),
			Risk:    "it fails without warning, and with it what keeps the sea out",
			Do:      "replace it: a flanged ball or cone valve of bronze, dezincification-resistant brass or reinforced composite",
			Source:  source,
		})
	}
}

// unsound says why a fitting should not hold the sea out; "" where nothing is
// known against it. A seacock's material from its through-hull is told there.
func (c *Context) unsound(p *schema.Part) (why, source string) {
	if p.Is(schema.Shutoff) && p.Word("type").Given() {
		if ok, reason, cite := tables.SeacockType(p.Word("type").V); !ok {
			return reason, cite.String()
		}
	}
	if m, ok := tables.MaterialOf(p.Word("material").V); ok && !m.SeaValve {
		return m.Reason, m.Cite.String()
	}
	return "", ""
}

// seacockUnstated names what is not given of a through-hull or its valve that
// lies, or may lie, low.
func (c *Context) seacockUnstated(f hullFitted, told map[string]bool) {
	if !f.part.Is(schema.SeaOpening) && !f.part.Is(schema.Seacock) {
		return
	}
	under, known, missing := c.low(f)
	if !under && known {
		return
	}
	want := []string{"material"}
	if f.part.Is(schema.Seacock) {
		want = append(want, "type")
	}
	for _, name := range want {
		of := f.part
		if name == "material" && of.Host != nil {
			of = of.Host
		}
		if wordOf(f.part, name).Given() || told[of.ID+name] {
			continue
		}
		told[of.ID+name] = true
		c.Missing("seacock-material", name+" of "+of.ID, of.At, of.ID)
		if !under {
			c.lacks("seacock-material", missing, of.ID)
		}
	}
}
