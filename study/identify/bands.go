package identify

import (
	"context"
	"math"
)

// bands lays the model beside each trace, with the 95 % band of what the traces together leave open of it.
func (r *Result) bands() {
	st := r.state
	s := st.system
	left := s.residuals(st.res.Residuals)
	rough := s.roughness()
	times := r.times(-1)
	n := s.size()
	for i, m := range s.models {
		if s.ask(context.Background(), i, st.res.P, true) != nil {
			continue // it was asked there before
		}
		w := &s.scratch[i]
		gain, floor := s.level(i, st.res.P)
		f := Fit{Name: m.measured.Name, Frequency: m.f, Measured: m.data, Level: math.Exp(gain), Left: m.left}
		f.Floor, _ = r.floorOn(i)
		var scaled []float64
		worst := 0.0
		locals := m.locals()
		row := make([]float64, n)
		for k := range m.data {
			y, slope, byFloor := m.number(w.ln[k], gain, floor)
			clear(row)
			for c, column := range s.columns[i] {
				if column >= 0 {
					row[column] = slope * w.d[k*locals+c]
				}
			}
			if g := s.gainOf[i]; g >= 0 {
				row[g] = slope
			}
			if g := s.floorOf[i]; g >= 0 {
				row[g] = byFloor
			}
			half := times * math.Sqrt(st.information.seen(row)*st.scale)
			f.Model, f.Low, f.High = append(f.Model, y), append(f.Low, y-half), append(f.High, y+half)
			z := left[i][k] / rough[i][k]
			scaled = append(scaled, z)
			if math.Abs(z) > worst {
				worst, f.WorstAt = math.Abs(z), m.f[k/(len(m.data)/len(m.f))]
			}
		}
		f.RMS = spread(scaled)
		f.Noise = spread(left[i]) / highest(m.levels)
		r.Fits = append(r.Fits, f)
	}
}

// seen is the variance of Σ c_k·p_k; directions that nothing holds do not count, since the model does not see them either.
func (x *information) seen(c []float64) float64 {
	b := make([]float64, x.n)
	for j, p := range x.order {
		if x.scale[p] > 0 {
			b[j] = c[p] / x.scale[p]
		}
	}
	y, _ := x.forward(b, math.Inf(1))
	return squares(y)
}
