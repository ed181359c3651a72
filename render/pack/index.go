package pack

import (
	"slices"
	"strconv"

	"fitout/render/sheet"
)

// index leads from every id to the pages it stands on.
func (m *maker) index() []section {
	s := section{id: "index", title: "Index of every id", document: "Index"}
	var lines [][]string
	for _, p := range m.boat().Parts {
		what := titleOf(p)
		if p.Prepared {
			what += " (prepared for, not fitted)"
		}
		sheetPage := ""
		if n, ok := m.at[spaceID(p.Space)]; ok && !p.Prepared {
			sheetPage = strconv.Itoa(n)
		}
		lines = append(lines, []string{p.ID, what, place(p), sheetPage, m.indexPages(p.ID)})
	}
	slices.SortStableFunc(lines, func(a, b []string) int { return natural(a[0], b[0]) })
	s.blocks = append(s.blocks, heading("Parts"), table([]sheet.Column{col("Id"), wide("It is"), col("Where"), num("Space sheet"), {Head: "All pages", Grow: 1}}, lines))
	var runs [][]string
	seen := map[string]bool{}
	for _, w := range m.cables() {
		if !seen[w.Ref()] {
			seen[w.Ref()] = true
			runs = append(runs, []string{w.Ref(), "wire", m.wireEnd(w, w.From) + " → " + m.wireEnd(w, w.To), m.indexPages(w.Ref(), w.ID)})
		}
	}
	for _, h := range m.hoses() {
		runs = append(runs, []string{h.ID, "hose", endText(h.From) + " → " + endText(h.To), m.indexPages(h.ID)})
	}
	slices.SortStableFunc(runs, func(a, b []string) int { return natural(a[0], b[0]) })
	if len(runs) > 0 {
		s.blocks = append(s.blocks, heading("Wires and hoses"), table([]sheet.Column{col("Id"), col("It is"), wide("From, to"), {Head: "Pages", Grow: 1}}, runs))
	}
	return []section{s}
}

// indexPages are the pages of an id under any of its names, those of the index
// itself left out.
func (m *maker) indexPages(ids ...string) string {
	var all []int
	own, has := m.at["index"]
	for _, id := range ids {
		for _, n := range m.used[id] {
			if !has || n < own {
				all = append(all, n)
			}
		}
	}
	return pagesOf(all)
}
