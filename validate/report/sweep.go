package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// SweepRow is single failures that fail in the same manner and cost the same, in
// words.
type SweepRow struct {
	*survey.Failure               // the first of them
	IDs                           []string
	Lost, Floods, Unprotected, Do string
}

// SweepRows puts failures into words, those that read alike as one.
func SweepRows(s *survey.Survey, list []survey.Failure) []SweepRow {
	var out []SweepRow
	index := map[[6]string]int{}
	for i := range list {
		f := &list[i]
		r := SweepRow{f, []string{f.ID}, sweepLost(f), sweepFloods(f), sweepBare(f), sweepDo(s, f)}
		kind := f.What
		if f.Wire == nil {
			kind = f.ID // a part has a name and a place of its own
		}
		key := [6]string{kind, string(f.Mode), r.Lost, r.Floods, r.Unprotected, r.Do}
		if k, ok := index[key]; ok && f.Costs() {
			out[k].IDs = append(out[k].IDs, f.ID)
			continue
		}
		index[key] = len(out)
		out = append(out, r)
	}
	return out
}

// Head names the failures of a row: "6b, 6c shorted to minus".
func (r SweepRow) Head() string { return strings.Join(r.IDs, ", ") + " " + string(r.Mode) }

// Thing is what failed and where: "fuse House main, Lazarette".
func (r SweepRow) Thing() string { return failureTitle(r.Failure) }

func nameList(list []*schema.Part) string {
	const few = 4
	var out []string
	for _, p := range list {
		id := p.ID
		if len(list) <= few {
			id = strings.TrimSpace(id + " " + p.Title())
		}
		out = append(out, id)
	}
	return strings.Join(out, ", ")
}

func sweepLost(f *survey.Failure) string {
	var out []string
	if len(f.Opens) > 0 {
		out = append(out, strings.Join(f.Opens, ", ")+" open")
	}
	for _, sp := range f.Unpumped {
		out = append(out, "NO POWERED BILGE PUMP in "+sp.Name())
	}
	for _, w := range f.Unwatched {
		text := "ALARM SILENT: " + strings.TrimSpace(w.Alarm.ID+" "+w.Alarm.Title())
		if w.Senses != "" {
			text += " (" + w.Senses + ")"
		}
		out = append(out, text)
	}
	if len(f.Dead) > 0 {
		out = append(out, "dead at once: "+nameList(f.Dead))
	}
	var order []string
	only := map[string][]*schema.Part{}
	for _, k := range f.Only {
		w := k.While()
		if only[w] == nil {
			order = append(order, w)
		}
		only[w] = append(only[w], k.Part)
	}
	for _, w := range order {
		out = append(out, "only "+w+": "+nameList(only[w]))
	}
	if len(f.Dry) > 0 {
		out = append(out, "no sea water: "+nameList(f.Dry))
	}
	if len(f.Blocked) > 0 {
		out = append(out, "no way out for "+nameList(f.Blocked))
	}
	if len(f.Uncharged) > 0 {
		text := "no longer charged: " + nameList(f.Uncharged)
		if len(f.Fading) > 0 {
			text += "; when flat, dead: " + nameList(f.Fading)
		}
		out = append(out, text)
	}
	return strings.Join(out, "; ")
}

// flowText is "71 L/min (19 gpm)".
func flowText(q unit.LitrePerMin) string {
	gpm := float64(q) / 3.785411784
	if gpm >= 10 {
		return fmt.Sprintf("%.3g L/min (%.0f gpm)", float64(q), gpm)
	}
	return fmt.Sprintf("%.3g L/min (%.2g gpm)", float64(q), gpm)
}

func sweepFloods(f *survey.Failure) string {
	var out []string
	for i := range f.Floods {
		out = append(out, inrushText(&f.Floods[i]))
	}
	if len(f.Fills) > 0 {
		out = append(out, "the sea siphons from "+nameList(f.FillsBy)+" into the exhaust of "+nameList(f.Fills)+" while it stands")
	}
	if f.Unshut != nil {
		out = append(out, fmt.Sprintf("nothing yet; with the hose of %s off, %s and no valve to stop it", f.Unshut.Part.ID, flowText(f.Unshut.ShortTube)))
	}
	if f.Mode != survey.Bypassed {
		out = append(out, unchecked(f)...)
	}
	return strings.Join(out, "; ")
}

func unchecked(f *survey.Failure) []string {
	var out []string
	for _, d := range f.Missing {
		out = append(out, "not checked: "+d.Missing)
	}
	return out
}

func inrushText(x *survey.Inrush) string {
	if x.Pump != nil {
		from := pumpsFrom(x)
		return fmt.Sprintf("%s pumps %s into the boat %s, while it runs", x.Pump.ID, from, flowText(x.AtRest))
	}
	text := fmt.Sprintf("%s %s %s", x.Sea.ID, flowText(x.AtRest), x.Out)
	switch {
	case x.AtRest <= 0:
		text = fmt.Sprintf("%s %s %s when %s", x.Sea.ID, flowText(x.Worst), x.Out, x.In)
	case x.Worst > x.AtRest*1.01:
		text += fmt.Sprintf(", %s when %s", flowText(x.Worst), x.In)
	}
	if x.Siphon {
		text += ", by siphon once the line is full"
	}
	if x.Pumps > 0 && x.AtRest > 0 {
		word := "less than comes in"
		if x.Pumps >= x.AtRest {
			word = "enough at rest"
		}
		text += fmt.Sprintf("; the bilge pumps move %.3g, %s", float64(x.Pumps), word)
	}
	if len(x.Valves) == 0 {
		text += "; NO VALVE on the way"
	}
	for _, r := range firstCovered(x.Covers) {
		text += "; " + r.What + " under in " + riseText(r.ShortTube.After)
	}
	for _, d := range x.NoTime {
		text += "; time not computed, needs " + d.Missing
	}
	return text
}

// WaterRow is one way for water into the boat in the columns of a table.
type WaterRow struct{ By, AtRest, Most, Pumps, Under, Do string }

// WaterRows puts the floods of a failure into columns.
func WaterRows(s *survey.Survey, f *survey.Failure) []WaterRow {
	var out []WaterRow
	for i := range f.Floods {
		x := &f.Floods[i]
		r := WaterRow{Do: floodDo(s, x)}
		if x.Pump != nil {
			r.By, r.AtRest = x.Pump.ID+" pumps "+pumpsFrom(x)+" into the boat while it runs", litres(x.AtRest)
			out = append(out, r)
			continue
		}
		r.By, r.AtRest = x.Sea.ID+" "+x.Out, litres(x.AtRest)
		if x.Siphon {
			r.By += ", by siphon once the line is full"
		}
		if x.Worst > x.AtRest*1.01 {
			r.Most = litres(x.Worst) + " " + x.In.String()
		}
		if x.Pumps > 0 {
			r.Pumps = litres(x.Pumps)
		}
		var under []string
		for _, c := range firstCovered(x.Covers) {
			under = append(under, c.What+" in "+riseText(c.ShortTube.After))
		}
		for _, d := range x.NoTime {
			under = append(under, "needs "+d.Missing)
		}
		r.Under = strings.Join(under, "; ")
		out = append(out, r)
	}
	if len(f.Fills) > 0 {
		out = append(out, WaterRow{By: nameList(f.FillsBy) + " by siphon into the exhaust of " + nameList(f.Fills) + " while it stands", Do: sweepDo(s, f)})
	}
	if f.Mode != survey.Bypassed {
		for _, text := range unchecked(f) {
			out = append(out, WaterRow{By: text})
		}
	}
	return out
}

func litres(q unit.LitrePerMin) string {
	if q <= 0 {
		return "none"
	}
	return fmt.Sprintf("%.3g", float64(q))
}

func pumpsFrom(x *survey.Inrush) string {
	if x.Sea != nil {
		return "the sea"
	}
	var tanks []string
	for _, t := range x.From {
		tanks = append(tanks, strings.TrimSpace(t.ID+" "+t.Volume("capacity").Text))
	}
	return strings.Join(tanks, " and ")
}

// firstCovered is the valve that stops it and the first other thing that goes
// under.
func firstCovered(list []survey.Reached) []survey.Reached {
	var valve, other []survey.Reached
	for _, r := range list {
		if !r.ShortTube.Reached || r.ShortTube.After <= 0 {
			continue
		}
		if strings.HasPrefix(r.What, "seacock ") {
			valve = append(valve, r)
		} else if len(other) == 0 || r.ShortTube.After < other[0].ShortTube.After {
			other = []survey.Reached{r}
		}
	}
	return append(valve, other...)
}

func riseText(h unit.Hour) string {
	switch m := float64(h) * 60; {
	case m < 1.5:
		return fmt.Sprintf("%.0f s", 60*m)
	case m < 90:
		return fmt.Sprintf("%.0f min", m)
	default:
		return fmt.Sprintf("%.1f h", m/60)
	}
}

func sweepBare(f *survey.Failure) string {
	var out []string
	var open, over []string
	for _, b := range f.Bare {
		if b.Unlimited {
			open = append(open, fmt.Sprintf("%s (%.0f A)", b.Wire.Ref(), float64(b.Ampacity)))
		} else {
			over = append(over, fmt.Sprintf("%s up to %.0f A where it carries %.0f A", b.Wire.Ref(), float64(b.After), float64(b.Ampacity)))
		}
	}
	if len(open) > 0 {
		out = append(out, "no device left before "+manyWires(open))
	}
	if len(over) > 0 {
		out = append(out, manyWires(over))
	}
	if len(f.NoDevice) > 0 {
		out = append(out, "no device opens: "+nameList(f.NoDevice)+" feeds the short until something burns through")
	}
	if len(f.Untripped) > 0 {
		out = append(out, "no residual-current device before "+nameList(f.Untripped))
	}
	if f.Mode == survey.Bypassed {
		out = append(out, unchecked(f)...)
	}
	if len(f.Stays) > 0 {
		word := "cannot be switched off: "
		if f.Mode == survey.StuckOn {
			word = "runs on until the battery is flat: "
		}
		out = append(out, word+nameList(f.Stays))
	}
	return strings.Join(out, "; ")
}

// manyWires lists the first of many.
func manyWires(list []string) string {
	const most = 6
	if len(list) <= most {
		return "wire " + strings.Join(list, ", ")
	}
	return fmt.Sprintf("wire %s and %d more", strings.Join(list[:most], ", "), len(list)-most)
}

// sweepDo is what a person does about it.
func sweepDo(s *survey.Survey, f *survey.Failure) string {
	var out []string
	for i := range f.Floods {
		out = append(out, floodDo(s, &f.Floods[i]))
	}
	switch f.Mode {
	case survey.Opens:
		if len(f.Dead)+len(f.Only)+len(f.Uncharged) > 0 {
			out = append(out, "find the short before a new one goes in; never larger")
		}
	case survey.Bypassed:
		if len(f.Bare)+len(f.Untripped) > 0 {
			out = append(out, "never a link or a larger one: carry spares of this rating")
		}
	case survey.StuckOff, survey.StuckOn:
	case survey.Welded:
		if len(f.Stays) > 0 {
			out = append(out, "pull the fuse nearest the battery instead")
		}
	case survey.Shut:
		if len(f.Dry)+len(f.Blocked) > 0 {
			out = append(out, "stop what needs it before it overheats")
		}
	case survey.Unshut:
		if f.Unshut != nil {
			out = append(out, fmt.Sprintf("work it monthly; keep a %.0f mm plug by it", float64(f.Unshut.Bore)*1000))
		}
	case survey.Clogged:
		for _, p := range f.FillsBy {
			if p.Cock != nil {
				out = append(out, "shut "+p.Cock.ID+" whenever the engine stands")
			}
		}
		if len(f.Floods)+len(f.Fills) > 0 {
			out = append(out, "clean the vent yearly")
		}
	case survey.Breaks:
		if len(f.Dead)+len(f.Only) > 0 {
			out = append(out, "measure along it from the fed end")
		}
	case survey.Shorts:
		if len(f.NoDevice) > 0 {
			out = append(out, "battery switch off, cable off the post; guard it against chafe")
		}
	}
	for _, h := range f.Hand {
		out = append(out, h.Part.ID+" by hand with "+h.Switch.ID)
	}
	if len(f.Unpumped) > 0 && len(f.Hand) == 0 {
		if p := handPump(s); p != nil {
			out = append(out, "pump by hand with "+strings.TrimSpace(p.ID+" "+p.Title()))
		}
	}
	return strings.Join(slices.Compact(out), "; ")
}

func handPump(s *survey.Survey) *schema.Part {
	for _, p := range s.Boat.Parts {
		if !p.Prepared && p.Is(schema.Bilge) && p.Word("drive").V == "hand" {
			return p
		}
	}
	return nil
}

func floodDo(s *survey.Survey, x *survey.Inrush) string {
	if x.Pump != nil {
		return "stop " + x.Pump.ID
	}
	var out []string
	for i, v := range x.Valves {
		if i == 0 {
			text := "shut " + v.ID
			if v.Space != nil {
				text += " (" + v.Space.Name()
				if r := v.Hours("reach"); r.Given() {
					text += fmt.Sprintf(", %.0f s to reach", float64(r.V)*3600)
				}
				text += ")"
			}
			out = append(out, text)
		}
	}
	if len(out) == 0 {
		out = append(out, fmt.Sprintf("plug of %.0f mm into %s, pumps on, call for help", math.Round(float64(x.Bore)*1000), x.Sea.ID))
	}
	return strings.Join(out, ", ")
}

// SweepText writes failures as text, worst first, one block each; those that cost
// nothing are counted and named at the end.
func SweepText(w io.Writer, s *survey.Survey, list []survey.Failure) error {
	var b strings.Builder
	var idle []string
	for _, r := range SweepRows(s, list) {
		if !r.Costs() {
			idle = append(idle, r.String())
			continue
		}
		head := r.Head()
		if t := r.Thing(); t != "" {
			head += "  (" + t + ")"
		}
		fmt.Fprintln(&b, head)
		for _, line := range [][2]string{{"lost", r.Lost}, {"floods", r.Floods}, {"unprotected", r.Unprotected}, {"do", r.Do}} {
			if line[1] != "" {
				fmt.Fprintf(&b, "  %-12s %s\n", line[0], line[1])
			}
		}
	}
	if len(idle) > 0 {
		fmt.Fprintf(&b, "nothing lost when %s\n", strings.Join(idle, ", "))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// failureTitle is what failed and where: "fuse House main, Lazarette".
func failureTitle(f *survey.Failure) string {
	out := f.What
	if f.Part != nil {
		if w, ok := f.Part.Way(f.Way); ok && f.Way != "" {
			out += " " + w.Title.V
		} else if t := f.Part.Title(); t != "" {
			out += " " + t
		}
	}
	if f.Space != nil {
		out += ", " + f.Space.Name()
	}
	return strings.TrimSpace(out)
}

type jsonInrush struct {
	From       *string    `json:"opening"`
	Pump       *string    `json:"pump"`
	Tanks      []string   `json:"tanks"`
	Out        string     `json:"comes_out"`
	Space      *string    `json:"space"`
	Siphon     bool       `json:"siphon"`
	Valves     []string   `json:"valves"`
	BoreMM     float64    `json:"bore_mm"`
	AtRest     float64    `json:"l_min"`
	Worst      float64    `json:"worst_l_min"`
	Attitude   string     `json:"worst_attitude"`
	PumpsL     float64    `json:"bilge_pumps_l_min"`
	Covers     []jsonRise `json:"covers"`
	NotChecked []string   `json:"not_checked"`
}

type jsonRise struct {
	What    string   `json:"what"`
	Seconds *float64 `json:"seconds"`
	Pumped  *float64 `json:"seconds_with_pumps"`
}

type jsonBare struct {
	Wire     string   `json:"wire"`
	Ampacity float64  `json:"ampacity"`
	Amps     *float64 `json:"amps"` // null: no limit
}

type jsonFailure struct {
	ID    string  `json:"id"`
	Kind  string  `json:"kind"`
	Fails string  `json:"fails"`
	Space *string `json:"space"`
	Lost  struct {
		Dead      []string            `json:"dead"`
		Only      []map[string]string `json:"only"`
		Dry       []string            `json:"dry"`
		Blocked   []string            `json:"no_way_out"`
		Uncharged []string            `json:"uncharged"`
		Fading    []string            `json:"until_flat"`
		Hand      []map[string]string `json:"by_hand"`
		Opens     []string            `json:"devices_open"`
		Unpumped  []string            `json:"spaces_without_pump"`
		Silent    []string            `json:"alarms_silent"`
	} `json:"lost"`
	Floods      []jsonInrush `json:"floods"`
	Unprotected struct {
		Wires     []jsonBare `json:"wires"`
		NoDevice  []string   `json:"fed_without_device"`
		Untripped []string   `json:"no_residual_device"`
		Stays     []string   `json:"cannot_be_switched_off"`
		Unshut    *string    `json:"no_valve_for"`
		UnshutL   *float64   `json:"no_valve_for_l_min"`
	} `json:"unprotected"`
	Fills      []string `json:"engines_filled"`
	NotChecked []string `json:"not_checked"`
}

// SweepJSON writes failures as one JSON object, worst first.
func SweepJSON(w io.Writer, list []survey.Failure) error {
	out := struct {
		Failures []jsonFailure `json:"failures"`
	}{[]jsonFailure{}}
	for i := range list {
		out.Failures = append(out.Failures, failureJSON(&list[i]))
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(out)
}

func failureJSON(f *survey.Failure) jsonFailure {
	j := jsonFailure{ID: f.ID, Kind: f.What, Fails: string(f.Mode), Space: spaceID(f.Space), Floods: []jsonInrush{}, Fills: idsOf(f.Fills), NotChecked: missingOf(f.Missing)}
	l := &j.Lost
	l.Dead, l.Dry, l.Blocked, l.Uncharged, l.Fading = idsOf(f.Dead), idsOf(f.Dry), idsOf(f.Blocked), idsOf(f.Uncharged), idsOf(f.Fading)
	l.Only, l.Hand, l.Opens, l.Unpumped, l.Silent = []map[string]string{}, []map[string]string{}, append([]string{}, f.Opens...), []string{}, []string{}
	for _, k := range f.Only {
		l.Only = append(l.Only, map[string]string{"part": k.Part.ID, "while": k.While()})
	}
	for _, h := range f.Hand {
		l.Hand = append(l.Hand, map[string]string{"part": h.Part.ID, "switch": h.Switch.ID})
	}
	for _, sp := range f.Unpumped {
		l.Unpumped = append(l.Unpumped, sp.ID)
	}
	for _, w := range f.Unwatched {
		l.Silent = append(l.Silent, w.Alarm.ID)
	}
	for i := range f.Floods {
		j.Floods = append(j.Floods, inrushJSON(&f.Floods[i]))
	}
	u := &j.Unprotected
	u.Wires, u.NoDevice, u.Untripped, u.Stays = []jsonBare{}, idsOf(f.NoDevice), idsOf(f.Untripped), idsOf(f.Stays)
	for _, b := range f.Bare {
		x := jsonBare{Wire: b.Wire.Ref(), Ampacity: float64(b.Ampacity)}
		if !b.Unlimited {
			a := float64(b.After)
			x.Amps = &a
		}
		u.Wires = append(u.Wires, x)
	}
	if f.Unshut != nil {
		q := float64(f.Unshut.ShortTube)
		u.Unshut, u.UnshutL = &f.Unshut.Part.ID, &q
	}
	return j
}

func inrushJSON(x *survey.Inrush) jsonInrush {
	j := jsonInrush{Tanks: idsOf(x.From), Out: x.Out, Space: spaceID(x.Space), Siphon: x.Siphon, Valves: idsOf(x.Valves), BoreMM: 1000 * float64(x.Bore),
		AtRest: float64(x.AtRest), Worst: float64(x.Worst), Attitude: x.In.String(), PumpsL: float64(x.Pumps), Covers: []jsonRise{}, NotChecked: missingOf(x.NoTime)}
	if x.Sea != nil {
		j.From = &x.Sea.ID
	}
	if x.Pump != nil {
		j.Pump = &x.Pump.ID
	}
	for _, r := range x.Covers {
		c := jsonRise{What: r.What}
		if r.ShortTube.Reached {
			s := float64(r.ShortTube.After) * 3600
			c.Seconds = &s
		}
		if r.Pumped.Reached {
			s := float64(r.Pumped.After) * 3600
			c.Pumped = &s
		}
		j.Covers = append(j.Covers, c)
	}
	return j
}

func spaceID(sp *schema.Space) *string {
	if sp == nil {
		return nil
	}
	return &sp.ID
}

func missingOf(list []survey.Datum) []string {
	out := []string{}
	for _, d := range list {
		out = append(out, d.Missing)
	}
	return out
}

func idsOf(list []*schema.Part) []string {
	out := []string{}
	for _, p := range list {
		out = append(out, p.ID)
	}
	return out
}
