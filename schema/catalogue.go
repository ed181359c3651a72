package schema

import "sort"

// Catalogue is the set of kinds a boat is read with.
type Catalogue struct {
	kinds  []*Kind
	byName map[string]*Kind
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
