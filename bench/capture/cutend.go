package capture

import "math"

// cutEnd looks for a last number that has lost digits. Where a file breaks off inside a number, what is left may be a number
// too, with another value: 1.25e-03 without its end is 1.25e-0. Such a number shows where all rows above write more
// digits.
type cutEnd struct {
	rows     int
	shortest int // characters of the last number of any row so far, without sign
}

// enoughRows is how many rows must have been longer.
const enoughRows = 8

// plausible takes the last number of a row, and reports whether it may be whole.
func (c *cutEnd) plausible(number []byte, terminated bool) bool {
	length := len(number)
	if length > 0 && (number[0] == '-' || number[0] == '+') {
		length--
	}
	if !terminated && c.rows >= enoughRows && length < c.shortest {
		return false
	}
	if c.rows == 0 {
		c.shortest = math.MaxInt
	}
	c.rows++
	c.shortest = min(c.shortest, length)
	return true
}
