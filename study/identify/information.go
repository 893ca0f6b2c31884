package identify

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"knobwise/study/leastsquares"
)

// information is what the rows tell of the parameters at a minimum: the triangle R of the weighted Jacobian, scaled to columns
// of length one, with the parameters in an order that puts the values last, so that the lower right corner is what is known
// of them when dials and levels may be anything.
type information struct {
	n, values int
	order     []int // of the columns in R
	place     []int // where each parameter stands in R
	scale     []float64
	r         *mat.TriDense
}

// information at the point of a fit: with everything free, and with the dials held where they came out.
func (s *system) information(res leastsquares.Result) (free, held *information, err error) {
	n, rows := s.size(), s.total+s.priors()
	jac := make([]float64, rows*n)
	r := make([]float64, rows)
	if err := s.evaluate(context.Background(), res.P, r, jac); err != nil {
		return nil, nil, err
	}
	for i := range rows {
		w := math.Sqrt(res.Weights[i])
		for k := range n {
			jac[i*n+k] *= w
		}
	}
	if free, err = newInformation(jac, rows, n, len(s.vars)); err != nil {
		return nil, nil, err
	}
	for i := range rows {
		clear(jac[i*n+len(s.vars) : i*n+len(s.vars)+len(s.dials)])
	}
	held, err = newInformation(jac, rows, n, len(s.vars))
	return free, held, err
}

func newInformation(jac []float64, rows, n, values int) (*information, error) {
	x := &information{n: n, values: values, place: make([]int, n), scale: make([]float64, n)}
	for k := values; k < n; k++ {
		x.order = append(x.order, k)
	}
	for k := range values {
		x.order = append(x.order, k)
	}
	all := max(rows, n)
	a := mat.NewDense(all, n, nil)
	for j, k := range x.order {
		x.place[k] = j
		sum := 0.0
		for i := range rows {
			sum = math.Hypot(sum, jac[i*n+k])
		}
		x.scale[k] = sum
		if sum == 0 {
			continue
		}
		for i := range rows {
			a.Set(i, j, jac[i*n+k]/sum)
		}
	}
	var qr mat.QR
	qr.Factorize(a)
	var full mat.Dense
	qr.RTo(&full)
	x.r = mat.NewTriDense(n, mat.Upper, nil)
	for i := range n {
		for j := i; j < n; j++ {
			v := full.At(i, j)
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("identify: the derivatives are no numbers")
			}
			x.r.SetTri(i, j, v)
		}
	}
	return x, nil
}

// smallest is the singular value below which a direction counts as one that the rows do not see: rounding of the derivatives.
const smallest = 1e-9

// variance of parameter k for residuals of variance one; infinite where the rows do not see it.
func (x *information) variance(k int) float64 {
	if x.scale[k] == 0 {
		return math.Inf(1)
	}
	return x.combination(map[int]float64{k: 1})
}

// combination is the variance of Σ c_k·p_k.
func (x *information) combination(c map[int]float64) float64 {
	b := make([]float64, x.n)
	size := 0.0
	for k, w := range c {
		if w == 0 {
			continue
		}
		if x.scale[k] == 0 {
			return math.Inf(1)
		}
		b[x.place[k]] = w / x.scale[k]
		size = math.Hypot(size, w/x.scale[k])
	}
	y, held := x.forward(b, 1e-7*size)
	if !held {
		return math.Inf(1)
	}
	return squares(y)
}

// forward solves Rᵀ·y = b, b in the order of R. A pivot of nearly zero is a direction that nothing holds: it is left out, and held says
// whether no more than slack of b asks for it.
func (x *information) forward(b []float64, slack float64) (y []float64, held bool) {
	y, held = make([]float64, x.n), true
	for j, v := range b {
		for i := range j {
			v -= x.r.At(i, j) * y[i]
		}
		switch d := x.r.At(j, j); {
		case math.Abs(d) >= smallest:
			y[j] = v / d
		case math.Abs(v) > slack:
			held = false
		}
	}
	return y, held
}

func squares(y []float64) float64 {
	sum := 0.0
	for _, v := range y {
		sum += v * v
	}
	return sum
}

// direction is one in which the values can move, with the standard deviation of the move, in coordinates.
type direction struct {
	sd float64 // infinite where nothing holds it
	v  []float64
}

// directions are the axes of what is known of the values, the least known first.
func (x *information) directions() []direction {
	m := x.values
	if m == 0 {
		return nil
	}
	corner := mat.NewDense(m, m, nil)
	for i := range m {
		for j := i; j < m; j++ {
			// Back to coordinates: the scaled columns are their own lengths long.
			corner.Set(i, j, x.r.At(x.n-m+i, x.n-m+j)*x.scale[x.order[x.n-m+j]])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(corner, mat.SVDThin) {
		return nil
	}
	values := svd.Values(nil)
	var v mat.Dense
	svd.VTo(&v)
	var all []direction
	for j := m - 1; j >= 0; j-- {
		d := direction{sd: math.Inf(1), v: make([]float64, m)}
		if values[j] > smallest*values[0] && values[j] > 1e-6 {
			d.sd = 1 / values[j]
		}
		for i := range m {
			d.v[i] = v.At(i, j)
		}
		all = append(all, d)
	}
	return all
}
