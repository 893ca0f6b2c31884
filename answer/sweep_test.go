package answer

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"pgregory.net/rapid"

	"knobwise/internal/seeded"
)

// What is sent for drawing keeps seven digits, in at most that many signs and an exponent.
func TestForDrawing(t *testing.T) {
	seen := 0
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-1e9, 1e9), rapid.Float64Range(-1e-9, 1e-9), rapid.Float64()), 1, 20).Draw(t, "values")
		s := Sweep{LoadV: values, StraightV: Column{1, 2}, Frequency: Column{3}}
		s.ForDrawing([]string{"load_v", "no such column"})
		if len(s.StraightV) != 0 || len(s.Frequency) != 0 {
			t.Fatal("other columns were kept")
		}
		for i, v := range s.LoadV {
			seen++
			if !(math.Abs(v-values[i]) <= 0.51e-6*math.Abs(values[i])) {
				t.Fatalf("%v became %v", values[i], v)
			}
			if text, err := json.Marshal(Column{v}); err != nil || math.Abs(v) > 1e-280 && len(text) > len("[-1.234567e-100]") {
				t.Fatalf("%s, %v", text, err)
			}
		}
	})
	if seen == 0 {
		t.Fatal("nothing was checked")
	}
	s := Sweep{LoadPhase: Column{math.NaN(), math.Inf(-1), 0}}
	s.ForDrawing([]string{"load_phase_deg"})
	if got, _ := json.Marshal(s.LoadPhase); string(got) != "[null,null,0]" {
		t.Errorf("missing values became %s", got)
	}
}

func TestMain(m *testing.M) { os.Exit(seeded.Run(m, 1, 300)) }
