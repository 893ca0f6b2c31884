package multiaffine

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"

	"knobwise/physics/network"
)

// bench is an antenna coupler: a pi network with variable capacitors at both ends, a tapped coil, three switches of 3, 3
// and 4 positions that close one or two of 14 contacts, so 36 combinations; with a third knob a series capacitor.
func bench(knobs int) (Circuit, [][]bool) {
	const g = network.Ground
	q := func(q float64) network.Loss { return network.Loss{Model: network.ConstantQ, Q: q} }
	c := Circuit{Network: &network.Circuit{}, Input: "ant", Output: "rx", Source: network.NewSeries("ant", g, 20, 1e-6, 100e-12), Load: network.NewResistor("rx", g, 50)}
	c.Network.Add(network.NewTappedCoil([]string{"a", "t1", "t2", "t3"}, []float64{8, 10, 14}, []float64{1.5, 0.8, 0.5, 0.8, 2, 1.2, 0.5, 1.2, 3}, 20e-6, q(180)))
	c.Network.Add(network.NewInductor("a", "l2", 68e-6, q(60)))
	c.Network.Add(network.NewCapacitor("in", "s1", 20e-12, q(1000)))
	c.Network.Add(network.NewCapacitor("in", "s2", 100e-12, q(1000)))
	c.Network.Add(network.NewCapacitor("b", g, 8e-12, q(1000)))
	coils, err := network.NewCoupledCoils([]network.Branch{{From: "out", To: g}, {From: "w", To: "v"}}, []float64{2e-6, 10e-6}, []network.Coupling{{First: 0, Second: 1, Factor: 0.6}}, q(120))
	if err != nil {
		panic(err)
	}
	c.Network.Add(coils)
	positions := [][][]network.Branch{
		{ // output: direct, by the link, by half of it
			{{From: "b", To: "rx"}},
			{{From: "b", To: "w"}, {From: "v", To: g}, {From: "out", To: "rx"}},
			{{From: "b", To: "w"}, {From: "v", To: "l2"}, {From: "out", To: "rx"}},
		},
		{ // coupling
			{{From: "ant", To: "in"}, {From: "in", To: "a"}},
			{{From: "ant", To: "in"}, {From: "s1", To: "a"}},
			{{From: "ant", To: "in"}, {From: "s2", To: "a"}},
		},
		{ // range
			{{From: "b", To: "t1"}}, {{From: "b", To: "t2"}}, {{From: "b", To: "t3"}}, {{From: "b", To: "l2"}},
		},
	}
	index := map[network.Branch]int{}
	for _, s := range positions {
		for _, p := range s {
			for _, b := range p {
				if _, seen := index[b]; !seen {
					index[b] = len(c.Contacts)
					c.Contacts = append(c.Contacts, c.Network.Add(network.NewContact(b.From, b.To, false)))
				}
			}
		}
	}
	var combinations [][]bool
	for _, x := range positions[0] {
		for _, y := range positions[1] {
			for _, z := range positions[2] {
				closed := make([]bool, len(c.Contacts))
				for _, p := range [][]network.Branch{x, y, z} {
					for _, b := range p {
						closed[index[b]] = true
					}
				}
				combinations = append(combinations, closed)
			}
		}
	}
	for _, between := range [][2]string{{"in", g}, {"a", g}, {"b", g}}[3-knobs:] {
		of := func(x float64) network.Element {
			return network.NewCapacitor(between[0], between[1], 202e-12+188e-12*x, q(1000))
		}
		c.Axes = append(c.Axes, Axis{between[0], []Knob{{c.Network.Add(of(0)), of(-1), of(0), of(1)}}})
	}
	return c, combinations
}

// BenchmarkFullSolve is what everything here is measured against: build and LU of a dense 8×8 complex system, tuned: no
// allocation, products without the language's care for infinities, pivots by |re| + |im|.
func BenchmarkFullSolve(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	var base, a [64]complex128
	var right, x [8]complex128
	for i := range base {
		base[i] = complex(random.NormFloat64(), random.NormFloat64())
	}
	right[0] = 1
	sum := complex128(0)
	for b.Loop() {
		a, x = base, right
		a[0] += complex(real(sum)*1e-30, 0)
		a[63] += 0.1i
		solve8(&a, &x)
		sum += x[7]
	}
	if math.IsNaN(real(sum)) {
		b.Fatal("no solution")
	}
}

// solve8 solves an 8×8 system in place.
func solve8(a *[64]complex128, x *[8]complex128) {
	const n = 8
	for k := range n {
		p, best := k, 0.0
		for i := k; i < n; i++ {
			if m := math.Abs(real(a[i*n+k])) + math.Abs(imag(a[i*n+k])); m > best {
				p, best = i, m
			}
		}
		if p != k {
			for j := k; j < n; j++ {
				a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
			}
			x[k], x[p] = x[p], x[k]
		}
		inverse := reciprocal(a[k*n+k])
		top := a[k*n : k*n+n]
		for i := k + 1; i < n; i++ {
			row := a[i*n : i*n+n]
			f := row[k] * inverse
			for j := k + 1; j < n; j++ {
				row[j] -= f * top[j]
			}
			x[i] -= f * x[k]
		}
		a[k*n+k] = inverse
	}
	for i := n - 1; i >= 0; i-- {
		sum := x[i]
		for j := i + 1; j < n; j++ {
			sum -= a[i*n+j] * x[j]
		}
		x[i] = sum * a[i*n+i]
	}
}

// BenchmarkView is the work once per frequency: a factorisation and a solve per port.
func BenchmarkView(b *testing.B) {
	c, _ := bench(2)
	m, err := NewModel(c, 3e6)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	var v View
	f := 3e6
	for b.Loop() {
		if err := m.View(f, &v); err != nil {
			b.Fatal(err)
		}
		f += 10
	}
}

// BenchmarkCombination is the work per combination of contacts: 36 of three switches, and all of 12 contacts.
func BenchmarkCombination(b *testing.B) {
	c, combinations := bench(2)
	all := make([][]bool, 1<<12)
	for i := range all {
		all[i] = make([]bool, len(c.Contacts))
		for k := range 12 {
			all[i][len(c.Contacts)-1-k] = i>>k&1 == 1
		}
	}
	for name, list := range map[string][][]bool{"36 of switches": combinations, "4096 of contacts": all} {
		b.Run(name, func(b *testing.B) {
			m, err := NewModel(c, 3e6)
			if err != nil {
				b.Fatal(err)
			}
			p, err := m.Plan(list)
			if err != nil {
				b.Fatal(err)
			}
			var v View
			if err := m.View(3e6, &v); err != nil {
				b.Fatal(err)
			}
			var w Walker
			visited := 0
			for b.Loop() {
				w.Walk(&v, p, func(int, *Function) bool { visited++; return true })
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(visited), "ns/combination")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// tuned is a function of the bench near resonance.
func tuned(b *testing.B, knobs int) *Function {
	c, combinations := bench(knobs)
	return only(b, c, 2.5e6, combinations[13])
}

// BenchmarkRow is the kernel per value.
func BenchmarkRow(b *testing.B) {
	var g Function
	tuned(b, 2).Fix(0, 0.1, &g)
	row, _ := g.Row()
	for _, size := range []int{64, 256} {
		x, into := make([]float64, size), make([]float64, size)
		for i := range x {
			x[i] = gridAt(i, size)
		}
		b.Run(fmt.Sprint(size, " values"), func(b *testing.B) {
			rotated := row.Rotate()
			for b.Loop() {
				rotated.Powers(x, into)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(size), "ns/value")
		})
	}
	b.Run("made", func(b *testing.B) {
		sheet, _ := tuned(b, 2).Sheet()
		sum := 0.0
		for b.Loop() {
			row := sheet.Row(0.1)
			rotated := row.Rotate()
			sum += rotated.DQ
		}
	})
	b.Run("best", func(b *testing.B) {
		sum := 0.0
		for b.Loop() {
			_, power := row.Best()
			sum += power
		}
	})
}

// BenchmarkSearch is a search of 256 × 256 positions at one frequency, the last knob in closed form.
func BenchmarkSearch(b *testing.B) {
	f := tuned(b, 2)
	var s Searcher
	b.ReportAllocs()
	for b.Loop() {
		s.Coarse(f, 256)
	}
}

// BenchmarkMaximum is the global maximum with its proof.
func BenchmarkMaximum(b *testing.B) {
	for _, knobs := range []int{2, 3} {
		f := tuned(b, knobs)
		b.Run(fmt.Sprint(knobs, " knobs"), func(b *testing.B) {
			var s Searcher
			var m Maximum
			for b.Loop() {
				m = s.Maximum(f, Effort{})
			}
			if !m.Proven {
				b.Fatalf("%+v", m)
			}
			b.ReportMetric(float64(m.Boxes), "boxes")
		})
	}
}

// BenchmarkMap is all values of 36 combinations × 64 × 64 positions × 401 frequencies, on one thread and on two.
func BenchmarkMap(b *testing.B) {
	for threads, name := range map[int64]string{1: "one thread", 2: "two threads"} {
		b.Run(name, func(b *testing.B) { benchmarkMap(b, threads) })
	}
}

func benchmarkMap(b *testing.B, threads int64) {
	const n, frequencies = 64, 401
	x := make([]float64, n)
	for i := range x {
		x[i] = gridAt(i, n)
	}
	type worker struct {
		m *Model
		p *Plan
		v View
		w Walker
	}
	all := make([]*worker, threads) // each in memory of its own
	for i := range all {
		all[i] = new(worker)
		c, combinations := bench(2)
		var err error
		if all[i].m, err = NewModel(c, 1e6); err != nil {
			b.Fatal(err)
		}
		if all[i].p, err = all[i].m.Plan(combinations); err != nil {
			b.Fatal(err)
		}
	}
	var values atomic.Int64
	for b.Loop() {
		var next atomic.Int64
		var group sync.WaitGroup
		for i := range all {
			group.Go(func() {
				k, mine, sum, into := all[i], 0, 0.0, make([]float64, n)
				for at := next.Add(1) - 1; at < frequencies; at = next.Add(1) - 1 {
					if err := k.m.View(1e6*math.Pow(8, float64(at)/400), &k.v); err != nil {
						b.Error(err)
						return
					}
					k.w.Walk(&k.v, k.p, func(_ int, f *Function) bool {
						sheet, _ := f.Sheet()
						for _, y := range x {
							row := sheet.Row(y)
							rotated := row.Rotate()
							rotated.Powers(x, into)
							sum += into[0]
						}
						mine += n * n
						return true
					})
				}
				if !math.IsNaN(sum) {
					values.Add(int64(mine))
				}
			})
		}
		group.Wait()
	}
	const whole = 36 * n * n * frequencies
	if values.Load() != int64(b.N)*whole {
		b.Fatalf("%d values in %d maps", values.Load(), b.N)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/whole, "ns/value")
}
