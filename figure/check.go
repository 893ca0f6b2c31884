package figure

import (
	"fmt"
	"math"
)

const (
	minWidth, minHeight = 240, 200
	maxSide             = 4000 // a PNG of this size still fits into 256 MiB

	// largest keeps differences and squares of axis values finite.
	largest = 1e100
	// tiniest is the least value on a logarithmic axis; a linear axis takes less for zero when it chooses its range.
	tiniest = 1e-100
)

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// naming says which series an error is about, quoting at most a short name.
func (s Series) naming(i int) string {
	if s.Name == "" {
		return fmt.Sprintf("series %d", i+1)
	}
	return fmt.Sprintf("series %d (%.60q)", i+1, s.Name)
}

// check returns the chart with its defaults filled in, or what is wrong with it.
func (c Chart) check() (Chart, error) {
	if c.Width == 0 {
		c.Width = 960
	}
	if c.Height == 0 {
		c.Height = 540
	}
	if !(c.Width >= minWidth && c.Width <= maxSide && c.Height >= minHeight && c.Height <= maxSide) {
		return c, fail(ErrSize, "figure of %g by %g pixels: give a width of %d to %d and a height of %d to %d, or 0 for the default",
			c.Width, c.Height, minWidth, maxSide, minHeight, maxSide)
	}
	if c.Theme != Light && c.Theme != Dark {
		return c, fail(ErrStyle, "theme %d: use Light or Dark", int(c.Theme))
	}
	if err := c.X.check("X"); err != nil {
		return c, err
	}
	if err := c.Y.check("Y"); err != nil {
		return c, err
	}
	if len(c.Series) == 0 {
		return c, fail(ErrNoSeries, "chart without series: give at least one")
	}
	drawable := false
	for i, s := range c.Series {
		some, err := s.check(i, c.X.Log, c.Y.Log)
		if err != nil {
			return c, err
		}
		drawable = drawable || some
	}
	if !drawable {
		return c, fail(ErrAllGaps, "every Y value is NaN or infinite: give at least one finite value")
	}
	for i, m := range c.Marks {
		if !finite(m.X) || math.Abs(m.X) > largest {
			return c, fail(ErrMark, "mark %d (%.60q) stands at %g: give a finite X, or leave the mark out", i+1, m.Label, m.X)
		}
	}
	return c, nil
}

func (a Axis) check(name string) error {
	if !finite(a.Min) || !finite(a.Max) || math.Abs(a.Min) > largest || math.Abs(a.Max) > largest {
		return fail(ErrAxis, "%s axis from %g to %g: give finite limits, or equal ones for an automatic axis", name, a.Min, a.Max)
	}
	if a.Min > a.Max {
		return fail(ErrAxis, "%s axis runs backwards from %g to %g: exchange Min and Max", name, a.Min, a.Max)
	}
	if a.Log && a.Min < a.Max && a.Min <= 0 {
		return fail(ErrLog, "logarithmic %s axis from %g: start it above zero", name, a.Min)
	}
	if a.Log && a.Min < a.Max && a.Min < tiniest {
		return fail(ErrAxis, "logarithmic %s axis from %g: start it at %g or above", name, a.Min, float64(tiniest))
	}
	return nil
}

// check reports whether the series has a finite value.
func (s Series) check(i int, logX, logY bool) (bool, error) {
	if s.Style < Plain || s.Style > Measured {
		return false, fail(ErrStyle, "%s has style %d: use Plain, Now, Straight, Pinned or Measured", s.naming(i), int(s.Style))
	}
	if len(s.X) != len(s.Y) {
		return false, fail(ErrLengths, "%s has %d X values and %d Y values: give one Y for each X", s.naming(i), len(s.X), len(s.Y))
	}
	if len(s.X) == 0 {
		return false, fail(ErrEmpty, "%s has no points: leave it out or give some", s.naming(i))
	}
	some := false
	for k, x := range s.X {
		y := s.Y[k]
		switch {
		case !finite(x):
			return false, fail(ErrX, "%s, point %d: X is %g; X must be finite", s.naming(i), k+1, x)
		case math.Abs(x) > largest:
			return false, fail(ErrRange, "%s, point %d: X is %g; the largest that can be drawn is %g", s.naming(i), k+1, x, float64(largest))
		case logX && x <= 0:
			return false, fail(ErrLog, "%s, point %d: X is %g on a logarithmic axis; use values above zero or a linear axis", s.naming(i), k+1, x)
		case logX && x < tiniest:
			return false, fail(ErrRange, "%s, point %d: X is %g; the least on a logarithmic axis is %g", s.naming(i), k+1, x, float64(tiniest))
		case k > 0 && s.Style != Measured && x <= s.X[k-1]:
			return false, fail(ErrOrder, "%s, point %d: X is %g after %g; sort the points by X and keep one for each X", s.naming(i), k+1, x, s.X[k-1])
		}
		if !finite(y) {
			continue
		}
		switch {
		case math.Abs(y) > largest:
			return false, fail(ErrRange, "%s, point %d: Y is %g; the largest that can be drawn is %g", s.naming(i), k+1, y, float64(largest))
		case logY && y <= 0:
			return false, fail(ErrLog, "%s, point %d: Y is %g on a logarithmic axis; use values above zero, NaN for a gap, or a linear axis", s.naming(i), k+1, y)
		case logY && y < tiniest:
			return false, fail(ErrRange, "%s, point %d: Y is %g; the least on a logarithmic axis is %g", s.naming(i), k+1, y, float64(tiniest))
		}
		some = true
	}
	return some, nil
}
