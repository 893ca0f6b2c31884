package leastsquares

// Stop says why a fit ended.
type Stop int8

// The reasons. The first four are minima, as far as the tolerances can tell.
const (
	// GradientZero is a residual at right angles to every column of the Jacobian that may move.
	GradientZero Stop = iota + 1
	// HeldByBounds is a point at which no parameter may move: bounds hold all those that are not fixed.
	HeldByBounds
	// CostFlat is a cost that neither falls nor is predicted to, or is not predicted to by a model that held at the last step.
	CostFlat
	// StepSmall is a step below the tolerance.
	StepSmall
	// Blocked is a step that had to be shortened below the tolerance because the model cannot be evaluated ahead.
	Blocked
	// Limit is the limit of evaluations.
	Limit
	// Cancelled is a context that ended.
	Cancelled
)

// String is the reason in words.
func (s Stop) String() string {
	switch s {
	case GradientZero:
		return "gradient is zero"
	case HeldByBounds:
		return "held by bounds"
	case CostFlat:
		return "cost no longer falls"
	case StepSmall:
		return "step below tolerance"
	case Blocked:
		return "model cannot be evaluated ahead"
	case Limit:
		return "limit of evaluations"
	case Cancelled:
		return "cancelled"
	}
	return "not stopped"
}

// Converged says whether the fit ended at what looks like a minimum.
func (s Stop) Converged() bool { return s >= GradientZero && s <= StepSmall }
