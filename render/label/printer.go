package label

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
)

// WriteCSV writes a row a label for the program of a label printer: kind, id, the
// end or way, the space, the lines of text, the stock, how many to print and the
// text of the code. A panel's ways have a row each.
func WriteCSV(w io.Writer, s *Set) error {
	rows := s.Rows()
	most := 0
	for _, l := range rows {
		most = max(most, len(l.Lines))
	}
	head := []string{"kind", "id", "at", "space"}
	for i := range most {
		head = append(head, fmt.Sprintf("line%d", i+1))
	}
	c := csv.NewWriter(w)
	if err := c.Write(append(head, "stock", "copies", "qr")); err != nil {
		return err
	}
	for _, l := range rows {
		row := []string{string(l.Kind), l.ID, l.At, l.Space.Name()}
		for i := range most {
			text := ""
			if i < len(l.Lines) {
				text = l.Lines[i].Text
			}
			row = append(row, text)
		}
		if err := c.Write(append(row, l.Stock, strconv.Itoa(l.Copies), l.Code)); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// Rows are the labels with the ways of panels in their place.
func (s *Set) Rows() []*Label {
	var out []*Label
	for _, l := range s.Labels {
		out = append(out, l)
		out = append(out, l.cells...)
	}
	return out
}
