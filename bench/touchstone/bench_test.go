package touchstone

import (
	"bytes"
	"testing"
)

func BenchmarkRead(b *testing.B) {
	text := []byte(written(b, sampled(resonators[3], 100), WriteOptions{}))
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(bytes.NewReader(text), "a.s2p", 2); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEval(b *testing.B) {
	d := sampled(resonators[3], 100)
	ip, err := NewInterpolator(d)
	if err != nil {
		b.Fatal(err)
	}
	out := make([]complex128, 4)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if err := ip.Eval(0.85+0.29*float64(i%1000)/1000, out); err != nil {
			b.Fatal(err)
		}
	}
}
