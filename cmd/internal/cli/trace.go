package cli

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/schema"
	"fitout/validate/report"
	"fitout/validate/survey"
)

func traceCommand(s Streams) *cobra.Command {
	var lost, asJSON, sweep bool
	var format string
	c := &cobra.Command{
		Use:   "trace FILE PART",
		Short: "the way from a part back to every source and hull opening that can reach it",
		Long: `Each fuse, switch and valve on the way is named with where it sits. With --lost
it is turned round: what stops working when this part opens, shuts or fails, at
once, only while something else gives, or until the charge is used up; a panel's
way is named PANEL.WAY, and a wire or hose by its id.

With --sweep every fuse, breaker, switch, valve, pump, wire, hose, bus and battery
fails in turn, one at a time, in each of its manners: what is lost, what floods,
what is left without protection, what to do; worst first.`,
		Example: "  fitout trace examples/cruiser.yaml AC1\n  fitout trace examples/cruiser.yaml --lost DP.6\n  fitout trace examples/cruiser.yaml --sweep --format json",
		Args: func(_ *cobra.Command, args []string) error {
			want := 2
			if sweep {
				want = 1
			}
			if len(args) != want {
				return fmt.Errorf("trace takes a file and a part; with --sweep a file alone")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			switch format {
			case "json":
				asJSON = true
			case "text":
			default:
				return status{Misuse, fmt.Sprintf("--format is text or json, not %q", format)}
			}
			if sweep {
				return runSweep(s, args[0], asJSON)
			}
			return runTrace(s, args[0], args[1], lost, asJSON)
		},
	}
	c.Flags().BoolVar(&lost, "lost", false, "what stops working when this part opens")
	c.Flags().BoolVar(&sweep, "sweep", false, "every single failure in turn: what is lost, floods, is left unprotected")
	c.Flags().StringVar(&format, "format", "text", "text or json")
	c.Flags().BoolVar(&asJSON, "json", false, "short for --format json")
	return c
}

func runTrace(s Streams, file, id string, lost, asJSON bool) error {
	j, err := readJob(s, file)
	if err != nil {
		return err
	}
	name, way, _ := strings.Cut(id, ".")
	p := j.Boat.Part(name)
	if p == nil {
		if l, ok := lostRun(j, id); lost && ok {
			return printLoss(s, id, l, asJSON)
		}
		var ids []string
		for _, q := range j.Boat.Parts {
			ids = append(ids, q.ID)
		}
		return status{Misuse, fmt.Sprintf("there is no part %q; the nearest is %s", name, nearest(name, ids))}
	}
	if _, ok := p.Way(way); way != "" && !ok {
		return status{Misuse, fmt.Sprintf("%s has no way %q", name, way)}
	}
	if lost {
		return printLost(s, p, way, j.Survey.Lost(p, way), asJSON)
	}
	return printWays(s, p, j.Survey.Ways(p), asJSON)
}

type jsonStep struct {
	ID    string `json:"id"`
	Kind  string `json:"kind"`
	Title string `json:"title,omitempty"`
	Space string `json:"space,omitempty"`
	Opens bool   `json:"opens"`
	Shut  bool   `json:"stands_open,omitempty"`
}

type jsonWay struct {
	From   string     `json:"from"`
	To     string     `json:"to"`
	Water  bool       `json:"water"`
	Return bool       `json:"return"`
	Steps  []jsonStep `json:"steps"`
}

func printWays(s Streams, p *schema.Part, ways []survey.Way, asJSON bool) error {
	if asJSON {
		out := struct {
			Part string    `json:"part"`
			Ways []jsonWay `json:"ways"`
		}{p.ID, []jsonWay{}}
		for _, w := range ways {
			jw := jsonWay{From: schema.End{Part: w.From, Terminal: w.Terminal}.String(), To: w.To.ID, Water: w.Water, Return: w.Return, Steps: []jsonStep{}}
			for _, st := range w.Steps {
				jw.Steps = append(jw.Steps, stepJSON(st))
			}
			out.Ways = append(out.Ways, jw)
		}
		return writeJSON(s, out)
	}
	fmt.Fprintf(s.Out, "%s\n", p.Name())
	if len(ways) == 0 {
		fmt.Fprintln(s.Out, "  nothing feeds it: no source and no hull opening can reach it")
	}
	for _, w := range ways {
		fmt.Fprintf(s.Out, "\n  %s %s\n", w.Word(), w.To.Name())
		for _, st := range w.Steps {
			fmt.Fprintf(s.Out, "    %-10s %s\n", st.ID, stepText(st))
		}
	}
	return nil
}

func stepJSON(st survey.WayStep) jsonStep {
	j := jsonStep{ID: st.ID, Opens: st.Opens, Shut: st.Shut}
	switch {
	case st.Wire != nil:
		j.Kind = "wire"
	case st.Hose != nil:
		j.Kind = "hose"
	default:
		j.Kind, j.Title = st.Part.Kind.Name, st.Part.Title()
	}
	if sp := st.Space(); sp != nil {
		j.Space = sp.Name()
	}
	return j
}

func stepText(st survey.WayStep) string {
	switch {
	case st.Wire != nil:
		return "wire " + st.Wire.Size.Text
	case st.Hose != nil:
		return "hose " + st.Hose.Bore.Text
	}
	text := st.Part.Kind.Title
	if st.Way != "" {
		if w, ok := st.Part.Way(st.Way); ok {
			text = strings.TrimSpace("way " + w.Title.V + " " + w.Rating.Text)
		}
	} else {
		if st.Part.Kind.Rating != nil {
			text += " " + st.Part.Kind.Rating(st.Part)
		}
		if t := st.Part.Title(); t != "" {
			text += ", " + t
		}
	}
	if sp := st.Space(); sp != nil {
		text += ", in " + sp.Name()
	}
	if st.Shut {
		text += " (stands open or shut at rest)"
	}
	return text
}

// lostRun is what stops when a wire breaks or a hose comes off.
func lostRun(j *job.Job, id string) (survey.Loss, bool) {
	for _, w := range j.Boat.Wires {
		if w.Ref() == id && !w.Implied && !w.Prepared {
			return j.Survey.LostRun(w, nil), true
		}
	}
	for _, h := range j.Boat.Hoses {
		if h.ID == id && !h.Implied && !h.Prepared {
			return j.Survey.LostRun(nil, h), true
		}
	}
	return survey.Loss{}, false
}

func printLost(s Streams, p *schema.Part, way string, l survey.Loss, asJSON bool) error {
	id := p.ID
	if way != "" {
		id += "." + way
	}
	return printLoss(s, id, l, asJSON)
}

func printLoss(s Streams, id string, l survey.Loss, asJSON bool) error {
	if asJSON {
		return writeJSON(s, struct {
			Part string `json:"part"`
			jsonLoss
		}{id, lossJSON(l)})
	}
	fmt.Fprintf(s.Out, "when %s opens, shuts or fails:\n", id)
	if l.Nothing() {
		fmt.Fprintln(s.Out, "  nothing stops that another way does not keep going")
	}
	hand := map[*schema.Part]string{}
	for _, h := range l.Hand {
		hand[h.Part] = "; by hand with " + h.Switch.ID
	}
	for _, q := range l.Dead {
		fmt.Fprintf(s.Out, "  %-10s dead at once   %s%s\n", q.ID, where(q), hand[q])
	}
	for _, k := range l.Only {
		fmt.Fprintf(s.Out, "  %-10s only           %s; only %s%s\n", k.Part.ID, where(k.Part), k.While(), hand[k.Part])
	}
	for _, q := range l.Dry {
		fmt.Fprintf(s.Out, "  %-10s no sea water   %s\n", q.ID, where(q))
	}
	for _, q := range l.Uncharged {
		fmt.Fprintf(s.Out, "  %-10s not charged    %s\n", q.ID, where(q))
	}
	for _, q := range l.Fading {
		fmt.Fprintf(s.Out, "  %-10s until flat     %s; dead when the charge is used up\n", q.ID, where(q))
	}
	return nil
}

func where(p *schema.Part) string {
	if p.Space == nil {
		return p.Title()
	}
	return strings.TrimPrefix(p.Title()+", "+p.Space.Name(), ", ")
}

// jsonLoss is a loss by ids.
type jsonLoss struct {
	Dead      []string   `json:"dead"`
	Only      []jsonKept `json:"only"`
	Dry       []string   `json:"dry"`
	Uncharged []string   `json:"uncharged"`
	Fading    []string   `json:"until_flat"`
	Hand      []jsonHand `json:"by_hand"`
}

type jsonKept struct {
	Part  string `json:"part"`
	While string `json:"while"`
}

type jsonHand struct {
	Part   string `json:"part"`
	Switch string `json:"switch"`
}

func lossJSON(l survey.Loss) jsonLoss {
	out := jsonLoss{Dead: ids(l.Dead), Only: []jsonKept{}, Dry: ids(l.Dry), Uncharged: ids(l.Uncharged), Fading: ids(l.Fading), Hand: []jsonHand{}}
	for _, k := range l.Only {
		out.Only = append(out.Only, jsonKept{k.Part.ID, k.While()})
	}
	for _, h := range l.Hand {
		out.Hand = append(out.Hand, jsonHand{h.Part.ID, h.Switch.ID})
	}
	return out
}

func ids(list []*schema.Part) []string {
	out := []string{}
	for _, p := range list {
		out = append(out, p.ID)
	}
	return out
}

func writeJSON(s Streams, v any) error {
	enc := json.NewEncoder(s.Out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// runSweep lets everything fail in turn and prints what one failure costs.
func runSweep(s Streams, file string, asJSON bool) error {
	j, err := readJob(s, file)
	if err != nil {
		return err
	}
	list := j.Survey.Sweep()
	if asJSON {
		return report.SweepJSON(s.Out, list)
	}
	return report.SweepText(s.Out, j.Survey, list)
}
