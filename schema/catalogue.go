package schema

import "sort"

// Catalogue is the set of kinds a boat is read with.
type Catalogue struct {
	kinds  []*Kind
	byName map[string]*Kind
	meant  map[string][]string
}

// NewCatalogue makes a catalogue; kinds keep their order. A name or alias met
// twice is a mistake of ours and panics.
func NewCatalogue(kinds ...*Kind) *Catalogue {
	c := &Catalogue{kinds: kinds, byName: map[string]*Kind{}}
	for _, k := range kinds {
		for _, n := range append([]string{k.Name}, k.Aliases...) {
			if c.byName[n] != nil {
				panic("schema: two kinds named " + n)
			}
			c.byName[n] = k
		}
	}
	return c
}

// Kind returns the kind with the name or alias, or nil.
func (c *Catalogue) Kind(name string) *Kind { return c.byName[name] }

// Mean tells the catalogue which kinds a word of the trade may mean that names
// none. Such a word is not read, since it may mean several; Meant names them to
// the person who wrote it. A word that is a name, or a kind that is not there, is
// a mistake of ours and panics.
func (c *Catalogue) Mean(words map[string][]string) *Catalogue {
	for word, names := range words {
		if c.byName[word] != nil {
			panic("schema: " + word + " names a kind")
		}
		for _, n := range names {
			if k := c.byName[n]; k == nil || k.Name != n {
				panic("schema: no kind named " + n)
			}
		}
	}
	c.meant = words
	return c
}

// Meant returns the kinds that the word may mean, likeliest first.
func (c *Catalogue) Meant(word string) []string { return c.meant[word] }

// All returns the kinds in order.
func (c *Catalogue) All() []*Kind { return c.kinds }

// Names returns the names and aliases, sorted.
func (c *Catalogue) Names() []string {
	names := make([]string, 0, len(c.byName))
	for n := range c.byName {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}

// Attr returns the kind's attribute with the name or alias, the common ones
// included, or nil.
func (k *Kind) Attr(name string) *Attr {
	for _, list := range [][]Attr{k.Attrs, Common} {
		for i := range list {
			if list[i].Name == name {
				return &list[i]
			}
			for _, a := range list[i].Aliases {
				if a == name {
					return &list[i]
				}
			}
		}
	}
	return nil
}
