package network

import (
	"fmt"
	"testing"
)

// ladder is a chain of lossy coils with capacitors to ground: sections+1 nodes and a current per coil.
func ladder(sections int) *Insertion {
	c := &Circuit{}
	for i := range sections {
		from, to := fmt.Sprint(i), fmt.Sprint(i+1)
		c.Add(NewInductor(from, to, 5e-6, Loss{Model: ConstantQ, Q: 150}))
		c.Add(NewCapacitor(to, Ground, 200e-12, Loss{Model: ConstantQ, Q: 500}))
	}
	last := fmt.Sprint(sections)
	return Insert(c, "0", last, NewSeries("0", Ground, 270, 0, 0), NewResistor(last, Ground, 50))
}

// BenchmarkResponse is one frequency of a sweep: assembly, factors, two solves. 401 of them are one sweep.
func BenchmarkResponse(b *testing.B) {
	for _, sections := range []int{3, 5, 7, 11} {
		in := ladder(sections)
		b.Run(fmt.Sprintf("%d nodes, %d unknowns", sections+1, in.Solver().Size()), func(b *testing.B) {
			b.ReportAllocs()
			f := 1e6
			for b.Loop() {
				if _, err := in.Response(f, 1); err != nil {
					b.Fatal(err)
				}
				f += 10
			}
		})
	}
}

// BenchmarkGradient is one transposed solve with the derivatives of the load voltage by every value.
func BenchmarkGradient(b *testing.B) {
	in := ladder(7)
	if _, err := in.Response(1e6, 1); err != nil {
		b.Fatal(err)
	}
	into := make([]complex128, len(in.solver.circuit.Params()))
	for b.Loop() {
		in.solver.Gradient(in.forward, VoltageOf(in.Output), into)
	}
}
