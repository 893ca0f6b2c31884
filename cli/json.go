package cli

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
)

// number is a value in JSON: null where it does not exist.
type number float64

// MarshalJSON writes the shortest digits that read back exactly, or null.
func (n number) MarshalJSON() ([]byte, error) {
	v := float64(n)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, v, 'g', -1, 64), nil
}

// column is many values in JSON.
type column []float64

// MarshalJSON writes an array with null where a value does not exist.
func (c column) MarshalJSON() ([]byte, error) {
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

// toJSON renders a result in one line, with a line end.
func toJSON(v any) ([]byte, error) { return encode(v, "") }

// encode renders JSON, indented where indent is not empty.
func encode(v any, indent string) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", indent)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// orEmpty makes an absent list an empty array instead of null.
func orEmpty(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}
