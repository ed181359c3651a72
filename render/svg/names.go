package svg

import "encoding/binary"

// names cuts a name table down to copyright, family, style, id, full name and
// version, in the Windows coding: the long licence text would be half of an
// embedded face. The licence stands with the program.
func names(data []byte) []byte {
	const lastID, windows, recordSize = 5, 3, 12
	u16 := func(o int) int { return int(binary.BigEndian.Uint16(data[o:])) }
	var records, text []byte
	n := 0
	for i := range u16(2) {
		o := 6 + recordSize*i
		if o+recordSize > len(data) {
			break
		}
		start, size := u16(4)+u16(o+10), u16(o+8)
		if u16(o) != windows || u16(o+6) > lastID || start+size > len(data) {
			continue
		}
		records = append(records, data[o:o+8]...)
		records = binary.BigEndian.AppendUint16(records, uint16(size))
		records = binary.BigEndian.AppendUint16(records, uint16(len(text)))
		text = append(text, data[start:start+size]...)
		n++
	}
	out := binary.BigEndian.AppendUint16(nil, 0)
	out = binary.BigEndian.AppendUint16(out, uint16(n))
	out = binary.BigEndian.AppendUint16(out, uint16(6+recordSize*n))
	return append(append(out, records...), text...)
}
