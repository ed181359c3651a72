package schema

import "fitout/schema/unit"

// Common are the attributes open to every kind.
var Common = []Attr{
	{Name: "title", Type: Text, Help: "what it is, as the owner would say it"},
	{Name: "space", Type: Text, Help: "the space it stands in"},
	{Name: "note", Type: Text, Help: "free words, printed on the register"},
	{Name: "make", Type: Text, Help: "maker"},
	{Name: "model", Type: Text, Help: "maker's model; a load's electrical model is a word of its own there"},
	{Name: "serial", Type: Text, Help: "serial number"},
	{Name: "price", Type: Text, Help: "price each, as written on the order"},
	{Name: "supplier", Type: Text, Help: "who sells it"},
	{Name: "label", Type: Text, Help: "text of its label where it differs from the title"},
	{Name: "fitted", Type: Date, Help: "date fitted"},
	{Name: "spares", Type: Count, Help: "how many spares to order"},
	{Name: "essential", Type: Flag, Help: "its loss must not be shared with another essential thing"},
	{Name: "ignition-protected", Type: Flag, Help: "marked as safe in a petrol space"},
	{Name: "covered", Type: Flag, Help: "live studs under a cover"},
	{Name: "torque", Type: Quantity, Dims: []unit.Dimension{unit.Torque}, Help: "tightening torque of its terminals", Example: "12 N·m"},
	{Name: "prepared", Type: Flag, Help: "prepared for, not fitted: drawn dashed, not checked, not ordered"},
	{Name: "station", Type: Quantity, Dims: []unit.Dimension{unit.Length}, Signed: true, Help: "distance from the stem, aft positive", Example: "8.6 m"},
	{Name: "offset", Type: Quantity, Dims: []unit.Dimension{unit.Length}, Signed: true, Help: "distance from the centreline, starboard positive", Example: "-0.7 m"},
	{Name: "height", Type: Quantity, Dims: []unit.Dimension{unit.Length}, Signed: true, Help: "height above the static waterline, up positive", Example: "0.1 m"},
	{Name: "chafe-guard", Type: Flag, Help: "runs at it are guarded against chafe"},
	{Name: "isolated", Type: Flag, Help: "isolated: from petrol vapour by a bulkhead, or, for converters, input from output"},
}
