package layout

func split(g *Graph, pages []Page) *Plan { return nil }
