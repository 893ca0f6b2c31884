// Package identify finds the values inside a box from measured traces: every value that the box file or a setup marks as
// unknown, every dial reading, and the level of a trace that has no reference, all at once, with what the traces can tell of
// each and what they cannot.
//
// The fit is least squares in the logarithms of the values (package leastsquares), with derivatives by the adjoint method,
// residuals in units of each trace's noise, and Huber's loss against single bad points. It begins from many starts: with
// traces as logarithms, where far-off values still feel the pull of a peak, then the best with the residuals as they are.
// Dials are never read exactly: each reading may move, held by a spring of the reading's own uncertainty, so that a misread
// dial does not turn into a wrong coil with a narrow interval.
//
// It names an interval only as far as the traces carry it: a value is determined when its 95 % interval is closed and
// narrow, and never where the circuit does not explain the traces. Directions in which values can move together without
// showing are told as the combination that is determined.
//
// Results are plain data; a number that does not exist is NaN.
package identify
