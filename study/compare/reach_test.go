package compare

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"knobwise/study/identify"
)

// The first is always within reach; nobody outside is as good as somebody inside; and nobody inside is too far behind.
func TestWithinReach(t *testing.T) {
	left := 0
	rapid.Check(t, func(t *rapid.T) {
		criteria := rapid.SliceOfN(rapid.Float64Range(-1e4, 1e4), 1, 30).Draw(t, "criteria")
		behind := rapid.Float64Range(0, 1e4).Draw(t, "behind")
		var order []int
		for i := range criteria {
			order = append(order, i)
		}
		slices.SortStableFunc(order, func(a, b int) int { return sign(criteria[a] - criteria[b]) })
		in := withinReach(criteria, order, behind)
		if len(in) == 0 || len(in) > polished || in[0] != order[0] {
			t.Fatal(in, order)
		}
		worst := math.Inf(-1)
		for _, i := range in {
			worst = max(worst, criteria[i])
		}
		if worst-criteria[order[0]] > behind {
			t.Fatalf("%g is %g behind", worst, worst-criteria[order[0]])
		}
		for i, c := range criteria {
			if !slices.Contains(in, i) {
				left++
				if c < worst || len(in) < polished && c-criteria[order[0]] <= behind {
					t.Fatalf("%d is left out at %g; %v", i, c, in)
				}
			}
		}
	})
	if left < 100 {
		t.Error("left out:", left)
	}
}

// A circuit with fewer values that leaves hardly more than the best is named; one that leaves more, or has about as many values, or shares
// the weight anyway, is not.
func TestSimpler(t *testing.T) {
	ranked := func(name string, rank, values int, behind, left float64) Ranked {
		return Ranked{Candidate: Candidate{Name: name}, Rank: rank, Parameters: values, Behind: behind, Result: &identify.Result{RMS: left}}
	}
	r := &Result{Candidates: []Ranked{
		ranked("best", 1, 8, 0, 1.10), ranked("shares", 2, 4, 3, 1.11), ranked("as many", 3, 7, 40, 1.11), ranked("simple", 4, 4, 60, 1.14),
		ranked("leaves more", 5, 3, 90, 1.17), ranked("plain", 6, 5, 95, 1.15),
		{Candidate: Candidate{Name: "failed"}},
	}}
	told := r.simpler()
	for name, want := range map[string]bool{"shares": false, "as many": false, "simple (number 4, 4 values, 1.14)": true, "leaves more": false, "plain (number 6, 5 values, 1.15)": true} {
		if strings.Contains(told, name) != want {
			t.Errorf("%s: %q", name, told)
		}
	}
	r.Candidates = r.Candidates[:3]
	if told := r.simpler(); told != "" {
		t.Error(told)
	}
}
