// Package answer writes the results of studies in the forms that a script or the page may rely on: JSON, CSV,
// Touchstone and pictures. Command and server share it, so that both give the same.
package answer

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
)

// Number is a value in JSON: null where it does not exist.
type Number float64

// MarshalJSON writes the shortest digits that read back exactly, or null.
func (n Number) MarshalJSON() ([]byte, error) {
	v := float64(n)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, v, 'g', -1, 64), nil
}

// Column is many values in JSON.
type Column []float64

// MarshalJSON writes an array with null where a value does not exist.
func (c Column) MarshalJSON() ([]byte, error) {
	out := make([]byte, 0, 20*len(c)+2)
	out = append(out, '[')
	for i, v := range c {
		if i > 0 {
			out = append(out, ',')
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			out = append(out, "null"...)
		} else {
			out = strconv.AppendFloat(out, v, 'g', -1, 64)
		}
	}
	return append(out, ']'), nil
}

// JSON renders a result in one line, with a line end.
func JSON(v any) ([]byte, error) { return IndentedJSON(v, "") }

// IndentedJSON renders a result for people to read.
func IndentedJSON(v any, indent string) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", indent)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// OrEmpty makes an absent list an empty array instead of null.
func OrEmpty(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}
