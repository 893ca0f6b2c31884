package band

import (
	"math"
	"testing"
)

// A band's name is its wavelength: c/f in metres lies near it. (Common practice of the trade, no source.)
func TestNamesAreWavelengths(t *testing.T) {
	checked := 0
	for _, b := range Bands {
		if !(b.From > 0 && b.To > b.From) {
			t.Errorf("%s: %g to %g", b.Name, b.From, b.To)
		}
		var metres float64
		for _, r := range b.Name {
			if r < '0' || r > '9' {
				break
			}
			metres = 10*metres + float64(r-'0')
		}
		if metres == 0 {
			continue
		}
		checked++
		if middle := 299792458 / math.Sqrt(b.From*b.To); metres/middle > 1.12 || metres/middle < 0.88 {
			t.Errorf("%s: its middle has %.1f m", b.Name, middle)
		}
	}
	if checked < 30 {
		t.Errorf("only %d bands were checked", checked)
	}
}

// In no region does a name stand twice, and amateur and broadcast bands do not overlap there.
func TestRegions(t *testing.T) {
	for region := 1; region <= 3; region++ {
		seen := map[string]bool{}
		last := Band{}
		for _, b := range Bands {
			got, err := Named(b.Name, region)
			if err != nil {
				continue
			}
			if got != b || seen[b.Name] {
				continue
			}
			seen[b.Name] = true
			if b.From < last.To {
				t.Errorf("region %d: %s begins inside %s", region, b.Name, last.Name)
			}
			last = b
		}
		if len(seen) < 25 {
			t.Errorf("region %d has %d bands", region, len(seen))
		}
	}
	for _, wrong := range []string{"", "40", "forty metres"} {
		if _, err := Named(wrong, 1); err == nil {
			t.Errorf("%q is a band", wrong)
		}
	}
	if _, err := Named("long wave broadcast", 2); err == nil {
		t.Error("region 2 has no long wave broadcasting")
	}
	if b, err := Named(" 40 m  Amateur ", 2); err != nil || b.To != 7.3e6 {
		t.Error(b, err)
	}
	if _, err := Named("40 m amateur", 4); err == nil {
		t.Error("there are three regions")
	}
}
