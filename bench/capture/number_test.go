package capture

import (
	"math"
	"math/big"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// nearest is the float64 nearest to a decimal text times ten to a power, by exact rational arithmetic (math/big).
func nearest(t rapid.TB, text string, shift int) float64 {
	r, ok := new(big.Rat).SetString(text)
	if !ok {
		t.Fatalf("%q", text)
	}
	ten := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(shift, -shift))), nil))
	if shift < 0 {
		ten.Inv(ten)
	}
	v, _ := r.Mul(r, ten).Float64()
	if v == 0 && strings.HasPrefix(text, "-") {
		v = math.Copysign(0, -1)
	}
	return v
}

// TestNumber: whatever the digits, the result is the nearest float64.
func TestNumber(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		written := rapid.StringMatching(`[-+]?(0{0,3}[0-9]{1,25}\.?[0-9]{0,25}|\.[0-9]{1,30})([eE][-+]?[0-9]{1,2})?`).Draw(r, "number")
		shift := rapid.IntRange(-15, 9).Draw(r, "shift")
		want := nearest(r, written, shift)
		got, sign, ok := parse([]byte(written), '.', shift)
		if !ok || math.Float64bits(got) != math.Float64bits(want) || (sign == '.') != strings.Contains(written, ".") {
			r.Fatalf("%q times 10^%d: %v %v, want %v", written, shift, got, ok, want)
		}
		comma := strings.Replace(written, ".", ",", 1)
		if got, _, ok := parse([]byte(comma), ',', shift); ok && math.Float64bits(got) != math.Float64bits(want) {
			r.Fatalf("%q: %v, want %v", comma, got, want)
		} else if !ok && !strings.Contains(comma+"e", ",e") && !strings.Contains(comma, ",E") {
			r.Fatalf("%q is refused", comma)
		}
	})
}

// TestNumberAgainstStrconv: what is taken is what strconv takes too, as far as decimal numbers go.
func TestNumberAgainstStrconv(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		written := rapid.StringOfN(rapid.RuneFrom([]rune("0123456789+-.eE,x_ n")), 0, 8, -1).Draw(r, "text")
		got, _, ok := parse([]byte(written), '.', 0)
		want, err := strconv.ParseFloat(written, 64)
		decimal := err == nil && !strings.ContainsAny(written, "xX_nN")
		if ok != decimal || ok && got != want {
			r.Fatalf("%q: %v %v, want %v %v", written, got, ok, want, err)
		}
	})
}

func TestIncomplete(t *testing.T) {
	for cell, want := range map[string]bool{"": true, "-": true, "1.": true, "1.5e": true, "1.5e-": true, "abc": false, "1.5x": false, "nan": false, "1,": false} {
		if incomplete([]byte(cell), '.') != want {
			t.Errorf("%q", cell)
		}
	}
}

// TestOddNumbers: 2^64 + 1 would be 1 in a uint64; a comma behind a number is no decimal sign.
func TestOddNumbers(t *testing.T) {
	if v, _, ok := parse([]byte("18446744073709551617"), '.', 0); !ok || v != 0x1p64 {
		t.Error(v, ok)
	}
	if v, _, ok := parse([]byte("1."), '.', 0); !ok || v != 1 {
		t.Error(v, ok)
	}
	for _, cell := range []string{"1,", "1,e5", ",", "-,"} {
		if v, _, ok := parse([]byte(cell), ',', 0); ok {
			t.Errorf("%q is taken as %g", cell, v)
		}
	}
}
