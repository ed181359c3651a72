package survey

import (
	"fitout/schema"
	"fitout/schema/unit"
)

// voltsAt is the voltage between the terminals of a DC part in a condition,
// where the solution of the electrics knows it.
func (s *Survey) voltsAt(c *schema.Condition, p *schema.Part) (unit.Volt, bool) {
	return 0, false
}
