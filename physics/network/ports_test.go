package network

import (
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"
)

// What the ports of a circuit say about one more admittance across each of them is what a solve with these admittances
// says: with V = o + Z·J and J = −y·V, H = h + t·J.
func TestPortsPredictTheCircuit(t *testing.T) {
	r := counting(t)
	rapid.Check(t, func(t *rapid.T) {
		s := draw(t, false)
		tied := s.circuit.With(nil)
		tied.Add(s.source)
		tied.Add(s.load)
		ties := tied.Ties() // an admittance between two pieces would change which of them hang free
		var ids []ID
		var branches []Branch
		for id, e := range s.circuit.elements {
			b := e.Branches()[0]
			if len(e.Branches()) == 1 && len(ids) < 3 && ties.Galvanic[b.From] == ties.Galvanic[b.To] {
				ids, branches = append(ids, ID(id)), append(branches, b)
			}
		}
		if len(ids) == 0 {
			t.Skip("no element of one branch")
		}
		plain := s.circuit.With(nil)
		inserted := Insert(plain, in, out, s.source, s.load)
		var p Ports
		if err := inserted.Ports(s.frequency, ids, &p); err != nil {
			t.Skip(err)
		}
		n := len(ids)
		more := s.circuit.With(nil)
		a, b := make([]complex128, n*n), make([]complex128, n)
		y := make([]complex128, n)
		for k := range n {
			y[k] = complex(logUniform(t, 1e-4, 1e-2, "G"), rapid.SampledFrom([]float64{-1e-3, 0, 1e-4}).Draw(t, "B"))
			extra := NewAdmittance(NewContact(branches[k].From, branches[k].To, false))
			extra.Value = y[k]
			more.Add(extra)
		}
		for j := range n {
			for k := range n {
				a[j*n+k] = p.Impedance[j*n+k] * y[k]
			}
			a[j*n+j]++
			b[j] = p.Open[j]
		}
		f := newLU(n)
		copy(f.a, a)
		if !f.factor() {
			t.Skip("singular")
		}
		f.solve(b)
		want := p.Through
		scale := cmplx.Abs(want)
		for k := range n {
			want -= p.Transfer[k] * y[k] * b[k]
			scale = max(scale, cmplx.Abs(p.Transfer[k]*y[k]*b[k]))
		}
		x, err := Insert(more, in, out, s.source, s.load).Response(s.frequency, 1)
		if err != nil {
			t.Skip(err)
		}
		off := cmplx.Abs(x.Load-want) / (scale + 1e-6) // what is smaller is rounding where a contact shorts the load
		r.saw(off)
		if !(off < 1e-8) {
			t.Fatalf("load %v, from the ports %v", x.Load, want)
		}
	})
}

// A copy with other elements leaves the original alone.
func TestWithLeavesTheOriginal(t *testing.T) {
	c := &Circuit{}
	id := c.Add(NewResistor("a", Ground, 50))
	c.Join("a", "b")
	other := c.With(map[ID]Element{id: NewResistor("a", Ground, 75)})
	other.Add(NewResistor("b", Ground, 10))
	other.Join("b", "c")
	if c.Len() != 1 || other.Len() != 2 || c.Element(id).(*Resistor).Resistance != 50 || other.Element(id).(*Resistor).Resistance != 75 {
		t.Errorf("original %v, other %v", c, other)
	}
	if _, known := c.Ties().Galvanic["c"]; known {
		t.Error("a joint of the copy reached the original")
	}
}

// Coupled coils tie nothing galvanically from one winding to the other, a line ties both ends to ground, an open contact
// nothing, and only joints and closed contacts make one node.
func TestTies(t *testing.T) {
	c := &Circuit{}
	coils, err := NewCoupledCoils([]Branch{{"a", Ground}, {"p", "q"}}, []float64{1e-6, 1e-6}, []Coupling{{0, 1, 0.5}}, Loss{})
	if err != nil {
		t.Fatal(err)
	}
	c.Add(coils)
	c.Add(NewContact("q", "open", false))
	c.Add(NewContact("q", "shut", true))
	c.Join("p", "u", "v")
	ties := c.Ties()
	for _, x := range []struct {
		a, b             string
		galvanic, joined bool
	}{
		{"a", Ground, true, false},
		{"p", "q", true, false},
		{"p", "a", false, false},
		{"q", "open", false, false},
		{"q", "shut", true, true},
		{"p", "v", true, true},
		{"u", "shut", true, false},
	} {
		if got := ties.Galvanic[x.a] == ties.Galvanic[x.b]; got != x.galvanic {
			t.Errorf("%s and %s galvanic: %v", x.a, x.b, got)
		}
		if got := ties.Joined[x.a] == ties.Joined[x.b]; got != x.joined {
			t.Errorf("%s and %s joined: %v", x.a, x.b, got)
		}
	}
	if ties.Galvanic["a"] != Ground {
		t.Errorf("a's group is %q", ties.Galvanic["a"])
	}
}
