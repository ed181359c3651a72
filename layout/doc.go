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
// What the caller brings: the direction of every link, from the higher to the lower, and which links are bridges; sides and
// offsets of the ports; the sizes of all texts, rounded up to whole units (a line of 2.5 mm letters is one unit high); the sizes
// of the continuation marks. What the caller draws itself: the text inside a box, the stem and bar of a landing, the flag of a
// mark with the sheets and zones of its targets.
//
// The cell of a text is free of everything else, but wires may run along its edges: keep the letters inside it. A turned text
// reads upwards. A label always lies against its own wire.
//
// A link of a cycle, or one whose ports lie on the wrong sides, is drawn like a bridge. A sheet that is larger than every page,
// or a label without room, is no error; it stands in the notes.
//
// The steps are a file each: rank, order, place, channel, letter, split.
package layout
