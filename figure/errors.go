package figure

import (
	"errors"
	"fmt"
)

// Kinds of Error, for errors.Is.
var (
	ErrNoSeries = errors.New("no series")
	ErrEmpty    = errors.New("series without points")
	ErrLengths  = errors.New("X and Y differ in length")
	ErrAllGaps  = errors.New("no finite value")
	ErrX        = errors.New("X not finite")
	ErrOrder    = errors.New("X not ascending")
	ErrRange    = errors.New("value too large or too small to draw")
	ErrAxis     = errors.New("axis limits")
	ErrLog      = errors.New("logarithmic axis over a value that is not positive")
	ErrMark     = errors.New("mark not finite")
	ErrSize     = errors.New("figure size")
	ErrStyle    = errors.New("unknown style or theme")
)

// Error says why a chart cannot be drawn and what to give instead. Kind is one of the Err values above.
type Error struct {
	Kind error
	Text string
}

func (e *Error) Error() string { return e.Text }

// Unwrap returns the kind.
func (e *Error) Unwrap() error { return e.Kind }

func fail(kind error, format string, args ...any) error {
	return &Error{Kind: kind, Text: fmt.Sprintf(format, args...)}
}
