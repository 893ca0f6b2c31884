package compare

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
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
