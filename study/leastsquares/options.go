package leastsquares

import "math"

// Options steer a fit. The zero value is a fit of plain squares with the defaults.
type Options struct {
	Loss Loss
	// MaxEvaluations is the limit of calls of Evaluate, which may be passed by one; 0 stands for 100 per parameter and 100
	// more.
	MaxEvaluations int
	// Gradient ends the fit where the cosine of the angle between the residuals and every column of the Jacobian that may
	// move is no larger; 0 stands for 1e-10.
	Gradient float64
	// Step ends the fit where the scaled step is no longer than this part of the scaled parameters; 0 stands for 1e-10.
	Step float64
	// Reduction ends the fit where the fall in cost, and the one predicted, are no larger than this part of the cost, or where
	// the last step went as predicted and the model without damping predicts no more than a thousandth of that; 0 stands for
	// 1e-13, and less than 1e-15 for 1e-15.
	Reduction float64
	// RankTolerance is the singular value of the scaled Jacobian, as part of the largest, below which a direction counts as
	// not seen by the rows and is not moved in; 0 stands for 1e-10. Raise it where the Jacobian is not good to that.
	RankTolerance float64
	// Progress is called after the start and after every step taken; may be nil. P is lent for the time of the call.
	Progress func(Progress)
}

// Progress is how far a fit has come.
type Progress struct {
	P           []float64
	Cost        float64
	Evaluations int
}

// Defaults of Options.
const (
	defaultGradient  = 1e-10
	defaultStep      = 1e-10
	defaultReduction = 1e-13
	defaultRank      = 1e-10
)

// filled gives the options with the defaults in, for n parameters.
func (o Options) filled(n int) (Options, error) {
	if !o.Loss.valid() {
		return o, wrong("the loss is %v; give its constant a positive number", o.Loss)
	}
	if o.MaxEvaluations < 0 {
		return o, wrong("the limit of evaluations is %d; give a positive number, or 0 for the default", o.MaxEvaluations)
	}
	if o.MaxEvaluations == 0 {
		o.MaxEvaluations = 100 * (n + 1)
	}
	for _, t := range []struct {
		name     string
		value    *float64
		standard float64
	}{
		{"Gradient", &o.Gradient, defaultGradient},
		{"Step", &o.Step, defaultStep},
		{"Reduction", &o.Reduction, defaultReduction},
		{"RankTolerance", &o.RankTolerance, defaultRank},
	} {
		if *t.value < 0 || *t.value >= 1 || math.IsNaN(*t.value) {
			return o, wrong("the tolerance %s is %g; give a number from 0 to below 1", t.name, *t.value)
		}
		if *t.value == 0 {
			*t.value = t.standard
		}
	}
	return o, nil
}
