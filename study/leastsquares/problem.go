package leastsquares

import (
	"context"
	"fmt"
	"math"
)

// Problem is a set of residuals over parameters in a box.
type Problem struct {
	// Lower and Upper are the ends of the box, one entry per parameter: -Inf and +Inf where there is none. A parameter whose
	// ends are equal is fixed.
	Lower, Upper []float64
	// Residuals is the number of rows.
	Residuals int
	// Evaluate writes the residuals at p into r (length Residuals) and, where jac is not nil, their derivatives, row by row:
	// jac[i*len(p)+k] is dr[i]/dp[k]. Columns of fixed parameters are not read. An error, or a number that is not finite, says
	// that the model cannot be evaluated at p: the step is then shortened.
	Evaluate func(ctx context.Context, p, r, jac []float64) error
}

// Error is what keeps a fit from starting: a problem that is not well formed, or a model that cannot be evaluated at the
// start.
type Error struct {
	Row       int // of the residual at fault, from 0; -1 where there is none
	Parameter int // at fault, from 0; -1 where there is none
	What      string
	Cause     error // what Evaluate said; may be nil
}

// Error is the mistake in one line.
func (e *Error) Error() string {
	s := "least squares: " + e.What
	if e.Cause != nil {
		s += ": " + e.Cause.Error()
	}
	return s
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Cause }

// wrong is an error of the problem as a whole.
func wrong(format string, a ...any) *Error {
	return &Error{Row: -1, Parameter: -1, What: fmt.Sprintf(format, a...)}
}

// wrongParameter is an error of one parameter.
func wrongParameter(k int, format string, a ...any) *Error {
	return &Error{Row: -1, Parameter: k, What: fmt.Sprintf("parameter %d ", k) + fmt.Sprintf(format, a...)}
}

// check says whether the problem and a start are well formed.
func (p *Problem) check(start []float64) error {
	switch n := len(p.Lower); {
	case n == 0:
		return wrong("there is no parameter; give Lower and Upper one entry each")
	case len(p.Upper) != n:
		return wrong("%d lower bounds and %d upper ones; give one of each per parameter", n, len(p.Upper))
	case len(start) != n:
		return wrong("%d parameters and a start of %d; give one value per parameter", n, len(start))
	case p.Residuals < 1:
		return wrong("there is no residual; give one row or more")
	case p.Evaluate == nil:
		return wrong("the problem has no Evaluate; give it one")
	}
	for k, lower := range p.Lower {
		upper := p.Upper[k]
		switch {
		case math.IsNaN(lower) || math.IsNaN(upper) || lower > upper || math.IsInf(lower, 1) || math.IsInf(upper, -1):
			return wrongParameter(k, "has the bounds %g and %g; give a lower one that is not above the upper one", lower, upper)
		case math.IsNaN(start[k]) || math.IsInf(start[k], 0):
			return wrongParameter(k, "starts at %g; give a finite number", start[k])
		}
	}
	return nil
}

// notFinite is the index of the first number that is not finite, or -1.
func notFinite(v []float64) int {
	for i, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return i
		}
	}
	return -1
}
