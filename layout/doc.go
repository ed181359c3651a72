// Package layout places the parts of a ladder diagram, routes the links between them and splits the drawing into sheets.
//
// It knows boxes, ports with sides, bars, directed links and bridges, all in whole grid units; it knows nothing of boats and
// measures no text: sizes come in, places go out.
//
//	g := layout.Graph{
//		Bars: []layout.Bar{{ID: "plus", Name: layout.Size{W: 8, H: 2}}, {ID: "minus", Name: layout.Size{W: 8, H: 2}}},
//		Boxes: []layout.Box{{
//			ID: "lamp", W: 6, H: 4, Text: layout.Size{W: 10, H: 4},
//			Ports: []layout.Port{{Name: "+", Side: layout.Top, Offset: 3}, {Name: "-", Side: layout.Bottom, Offset: 3}},
//		}},
//		Links: []layout.Link{
//			{ID: "W1", From: layout.End{Node: "plus"}, To: layout.End{Node: "lamp", Port: "+"}},
//			{ID: "W2", From: layout.End{Node: "lamp", Port: "-"}, To: layout.End{Node: "minus"}},
//		},
//	}
//	plan, err := layout.Run(g, []layout.Page{{Name: "A3 landscape", W: 156, H: 100}})
//
// Each sheet of the plan then holds the boxes, bars, wires, texts and continuation marks to draw. Check tells whether a plan
// keeps what is promised of it: nothing overlaps, no wire runs through a box or on another wire, and nothing is lost.
//
// The steps are a file each: rank, order, place, channel, letter, split.
package layout
