package network

import (
	"testing"
)

// tenCircuit is a box of two coupled tanks with two variable capacitors and ten values to identify: eight nodes between a
// generator of 270 ohm and a load of 50 ohm.
func tenCircuit() (inserted *Insertion, c *Circuit, front, rear *Capacitor, turned, elements []ID, numbers []int) {
	c = &Circuit{}
	q := func(q float64) Loss { return Loss{Model: ConstantQ, Q: q} }
	unknown := func(e Element, parameters ...int) {
		id := c.Add(e)
		for _, k := range parameters {
			elements, numbers = append(elements, id), append(numbers, k)
		}
	}
	front, rear = NewCapacitor("a", Ground, 180e-12, q(1000)), NewCapacitor("b", Ground, 180e-12, q(1000))
	turned = []ID{c.Add(front), c.Add(rear)}
	unknown(NewCapacitor("ant", "a", 56e-12, Loss{}), 0)
	unknown(NewCapacitor("a", "b", 9e-12, Loss{}), 0)
	unknown(NewCapacitor("b", "c", 120e-12, Loss{}), 0)
	unknown(NewCapacitor("d", Ground, 68e-12, Loss{}), 0)
	unknown(NewInductor("a", Ground, 47e-6, q(150)), 0, 2)
	unknown(NewInductor("b", Ground, 45e-6, q(130)), 0, 2)
	unknown(NewInductor("c", "d", 5e-6, q(100)), 0)
	unknown(NewResistor("c", Ground, 2e3), 0)
	c.Add(NewInductor("d", "rx", 2e-6, q(100)))
	c.Add(NewCapacitor("e", "rx", 47e-12, Loss{}))
	c.Add(NewResistor("e", Ground, 1e3))
	c.Add(NewResistor("e", "f", 1e3))
	c.Add(NewCapacitor("f", Ground, 100e-12, Loss{}))
	inserted = Insert(c, "ant", "rx", NewResistor("ant", Ground, 270), NewResistor("rx", Ground, 50))
	return inserted, c, front, rear, turned, elements, numbers
}

const benchSettings, benchPoints = 40, 101

func benchFrequency(i int) float64 { return 0.8e6 + 3.2e6*float64(i)/(benchPoints-1) }

// setTen turns the two capacitors to setting i of 40.
func setTen(front, rear *Capacitor, i int) {
	front.Capacitance, rear.Capacitance = 12e-12+353e-12*float64(i%8)/7, 12e-12+353e-12*float64(i/8)/4
}

// BenchmarkTurned is 40 settings of two capacitors at 101 frequencies with derivatives by ten values and without, and what
// the same takes with a factorisation for each of these points.
func BenchmarkTurned(b *testing.B) {
	const points = benchSettings * benchPoints
	perPoint := func(b *testing.B) {
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/points, "ns/point")
	}
	for _, derivatives := range []bool{true, false} {
		name := map[bool]string{true: "derivatives", false: "values"}[derivatives]
		b.Run("turned/"+name, func(b *testing.B) {
			inserted, c, front, rear, ids, elements, numbers := tenCircuit()
			turned, err := NewTurned(c, inserted.Source, "rx", ids, elements, numbers)
			if err != nil {
				b.Fatal(err)
			}
			var grad, g []complex128
			if derivatives {
				grad, g = make([]complex128, len(elements)), make([]complex128, len(ids))
			}
			var be, ae [2]complex128
			b.ReportAllocs()
			for b.Loop() {
				for i := range benchPoints {
					f := benchFrequency(i)
					front.Capacitance, rear.Capacitance = 180e-12, 180e-12
					if err := turned.At(f, nil, nil, derivatives); err != nil {
						b.Fatal(err)
					}
					for k := range benchSettings {
						setTen(front, rear, k)
						clear(be[:])
						clear(ae[:])
						_ = front.Equations(AtHertz(f), be[:1], ae[:1])
						_ = rear.Equations(AtHertz(f), be[1:], ae[1:])
						turned.Setting(be[:], ae[:], grad, g)
					}
				}
			}
			perPoint(b)
		})
		b.Run("each/"+name, func(b *testing.B) {
			inserted, _, front, rear, _, elements, numbers := tenCircuit()
			adjoint := inserted.Solver().Sensitivity(VoltageOf("rx"), elements, numbers)
			grad := make([]complex128, len(elements))
			b.ReportAllocs()
			for b.Loop() {
				for k := range benchSettings {
					setTen(front, rear, k)
					for i := range benchPoints {
						if _, err := inserted.Transfer(benchFrequency(i)); err != nil {
							b.Fatal(err)
						}
						if derivatives {
							adjoint.Solve()
							adjoint.Of(inserted.Forward(), grad)
						}
					}
				}
			}
			perPoint(b)
		})
	}
}
