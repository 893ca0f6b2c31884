package fault

import (
	"fmt"
	"strings"
)

// DidYouMean suggests the nearest of the known names for one that is not known, or lists them where none is near.
func DidYouMean(name string, known []string) string {
	if near := Nearest(name, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	if len(known) == 0 {
		return ""
	}
	const most = 16
	if len(known) > most {
		return fmt.Sprintf("known are %s and %d more", strings.Join(known[:most], ", "), len(known)-most)
	}
	return "known are " + strings.Join(known, ", ")
}

// Nearest returns the known name that is a typing slip away from name, or the empty string: at most a third of its
// letters may differ (one for short names); case counts little.
func Nearest(name string, known []string) string {
	best, bestDistance := "", max(1, len([]rune(name))/3)+1
	for _, k := range known {
		d := distance(strings.ToLower(name), strings.ToLower(k))
		if d < bestDistance && d < len([]rune(k)) {
			best, bestDistance = k, d
		}
	}
	return best
}

// distance is the number of insertions, deletions, substitutions and swaps of neighbours between two words
// (optimal string alignment, after F. J. Damerau, Commun. ACM 7 (1964) 171-176, from memory).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	before, last, now := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		now[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			now[j] = min(last[j]+1, now[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				now[j] = min(now[j], before[j-2]+1)
			}
		}
		before, last, now = last, now, before
	}
	return last[len(y)]
}
