package line

import (
	"math"
	"math/cmplx"

	"knobwise/physics/constant"
)

// A Slope is the derivative of the two functions of HalfSinhCosh, s and c, with respect to one parameter, in the
// reciprocal of that parameter's unit.
type Slope struct{ S, C complex128 }

// Derivatives are the derivatives of s and c, scaled as HalfSinhCosh scales them, with respect to each parameter
// they depend on. They do not depend on the impedance.
type Derivatives struct {
	Length         Slope // per metre
	Velocity       Slope // per unit of the velocity factor
	LossDBPerMetre Slope // per dB/m at LossAtHz; zero where LossAtHz is not positive, so that no loss is defined
}

// Derivatives returns the derivatives at frequency f in Hz. With z = γl/2, a = Re z, s = exp(-a) sinh z and
// c = exp(-a) cosh z, a parameter that moves z by z' gives s' = c z' - s a' and c' = s z' - c a'. The term in a' comes
// from the common scale; it multiplies an equation that holds, so it drops out of the solution of a network.
func (l Line) Derivatives(f float64) Derivatives {
	s, c := l.HalfSinhCosh(f)
	slope := func(dz complex128) Slope {
		da := complex(real(dz), 0)
		return Slope{S: c*dz - s*da, C: s*dz - c*da}
	}
	gamma := l.Gamma(f)
	d := Derivatives{
		Length:   slope(gamma / 2),
		Velocity: slope(complex(0, -imag(gamma)*l.Length/(2*l.Velocity))),
	}
	if l.LossAtHz > 0 {
		// Here z' = a' is real, and s' = (c-s) a' = -c' with c - s = exp(-2a) exp(-jb) free of cancellation.
		da := math.Sqrt(f/l.LossAtHz) / constant.DecibelsPerNeper * l.Length / 2
		through := cmplx.Exp(complex(-real(gamma)*l.Length, -imag(gamma)*l.Length/2))
		d.LossDBPerMetre = Slope{S: through * complex(da, 0), C: -through * complex(da, 0)}
	}
	return d
}
