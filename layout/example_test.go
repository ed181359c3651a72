package layout_test

import (
	"fmt"

	"fitout/layout"
)

// A lamp between two bars: one straight line above it and one below.
func ExampleRun() {
	g := layout.Graph{
		Bars: []layout.Bar{{ID: "plus", Name: layout.Size{W: 8, H: 2}}, {ID: "minus", Name: layout.Size{W: 8, H: 2}}},
		Boxes: []layout.Box{{
			ID: "lamp", W: 6, H: 4,
			Ports: []layout.Port{{Name: "+", Side: layout.Top, Offset: 3}, {Name: "-", Side: layout.Bottom, Offset: 3}},
		}},
		Links: []layout.Link{
			{ID: "W1", From: layout.End{Node: "plus"}, To: layout.End{Node: "lamp", Port: "+"}},
			{ID: "W2", From: layout.End{Node: "lamp", Port: "-"}, To: layout.End{Node: "minus"}},
		},
	}
	plan, err := layout.Run(g, []layout.Page{{Name: "A3 landscape", W: 156, H: 100}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, w := range plan.Sheets[0].Wires {
		fmt.Println(w.ID, len(w.Points)-2, "bends")
	}
	fmt.Println(len(layout.Check(g, plan)), "faults")
	// Output:
	// W1 0 bends
	// W2 0 bends
	// 0 faults
}
