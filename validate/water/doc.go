// Package water computes flows and heads in a boat's hoses, what floods in
// through an open hole, and the heat that flowing water carries away.
//
// It knows numbers only: numbered nodes with heights, numbered edges between
// them. Whoever builds the network from a boat keeps the names. Nothing here
// reads or writes a file, and nothing here judges: Solve either returns a
// solution with its worst residuals or a *Failure that names the node or edge.
//
// Heads are total heads in metres of the liquid above the datum of the node
// heights (in a boat: the waterline). Pressure at a point, also in metres of
// the liquid, is head − height − v²/2g, 0 at atmospheric pressure.
//
// Use:
//
//	var n water.Network
//	sea := n.Reservoir(0, -0.4)                   // level, height of the hole
//	in := n.Junction(-0.1)
//	out := n.Junction(-0.1)
//	over := n.Opening(water.Opening{Height: 0.35, Level: 0, Bore: 0.019})
//	n.Pipe(sea, in, water.Pipe{Length: 1.2, Bore: 0.0254, Roughness: 0.0015e-3})
//	p := n.Pump(in, out, water.Pump{Curve: curve, Speed: 1})
//	n.Pipe(out, over, water.Pipe{Length: 3, Bore: 0.019, Roughness: 0.0015e-3})
//	s, err := water.Solve(&n, water.Model{Fluid: fluid})
//	flow := s.Edges[p].Flow
package water
