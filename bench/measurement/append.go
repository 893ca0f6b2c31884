package measurement

import (
	"knobwise/bench/document"
	"knobwise/bench/fault"
)

// Append returns the bytes of a file of measurements with an entry more at its end, every other byte as it was. What the
// entry means is not judged: Parse does. Errors are *fault.Error.
func Append(d *document.Document, entry []document.Field) ([]byte, error) {
	list := d.Root.Get("measurements")
	if list == nil {
		return nil, fault.At(fault.Place{File: d.Name}, "no list of measurements", "write `measurements:` and one entry for each trace")
	}
	e := d.Edit()
	e.Append(list, entry)
	return e.Apply()
}

// Fresh returns the bytes of a new file of measurements with one entry; box is relative to it.
func Fresh(box string, entry []document.Field) []byte {
	top := document.Field{Key: "box", Text: box}
	return []byte(document.Line(top) + "\nmeasurements:\n" + document.Lines(entry))
}
