package draw

import "math"

// linear undoes the sRGB curve of one component (WCAG 2 definition).
func linear(c uint8) float64 {
	v := float64(c) / 255
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}
