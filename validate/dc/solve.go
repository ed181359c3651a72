package dc

// Solve finds the steady state of a network. The error, if any, is a *Failure.
func Solve(n *Network) (*Solution, error) {
	return nil, &Failure{Cause: NoConvergence, Node: None, Element: None}
}
