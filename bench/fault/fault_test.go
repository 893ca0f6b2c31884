package fault

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestAnswers(t *testing.T) {
	for kind, want := range map[Kind][2]int{
		File: {1, http.StatusUnprocessableEntity}, Missing: {1, http.StatusNotFound}, Setting: {1, http.StatusUnprocessableEntity},
		Request: {1, http.StatusUnprocessableEntity}, Unsolvable: {1, http.StatusUnprocessableEntity},
		Usage: {2, http.StatusBadRequest}, Output: {1, http.StatusInternalServerError},
	} {
		err := fmt.Errorf("wrapped: %w", New(kind, "x", ""))
		if ExitCode(err) != want[0] || Status(err) != want[1] {
			t.Errorf("kind %d: %d, %d", kind, ExitCode(err), Status(err))
		}
	}
	for kind := File; kind <= Output; kind++ {
		if _, ok := answers[kind]; !ok {
			t.Errorf("kind %d has no answer", kind)
		}
	}
	if ExitCode(nil) != 0 || ExitCode(errors.New("x")) != 1 || Status(errors.New("x")) != 500 || ExitCode(&Error{}) != 1 || Status(&Error{}) != 500 {
		t.Error("errors of no kind")
	}
}

func TestText(t *testing.T) {
	cause := errors.New("cause")
	e := At(Place{File: "x.yaml", Line: 3, Column: 5, Length: 2, Source: "\ta: \x1bzz"}, "a\nb\u009b\u202e", "c\td")
	e.Cause = cause
	if got := e.Error(); got != "x.yaml:3:5: a b\ufffd\ufffd; c d" {
		t.Errorf("%q", got)
	}
	if got := e.Excerpt(); got != "    \ta: \ufffdzz\n    \t   ^^" {
		t.Errorf("%q", got)
	}
	if !errors.Is(e, cause) {
		t.Error("the cause is lost")
	}
	if got := At(Place{File: "x.yaml"}, "a", "").Error(); got != "x.yaml: a" {
		t.Error(got)
	}
	if got := New(Usage, "a", "b"); got.Error() != "a; b" || got.Excerpt() != "" {
		t.Error(got)
	}
}

// TestExcerpt: whatever the place, an excerpt is two short lines with at least one caret, under the character at fault.
func TestExcerpt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		source := rapid.StringOfN(rapid.RuneFrom([]rune("ab\té{ \x00")), 1, 400, -1).Draw(t, "line")
		column, length := rapid.IntRange(-2, 500).Draw(t, "column"), rapid.IntRange(-2, 500).Draw(t, "length")
		e := At(Place{File: "x", Line: 1, Column: column, Length: length, Source: source}, "w", "")
		top, bottom, found := strings.Cut(e.Excerpt(), "\n")
		if !found || strings.Contains(bottom, "\n") || !strings.Contains(bottom, "^") {
			t.Fatalf("%q", e.Excerpt())
		}
		if utf8.RuneCountInString(top) > widest+4 || utf8.RuneCountInString(bottom) > widest+5 {
			t.Fatalf("too wide: %q", e.Excerpt())
		}
		if shown := utf8.RuneCountInString(top) - 4; shown != min(widest, utf8.RuneCountInString(source)) {
			t.Fatalf("%d characters shown of %q", shown, source)
		}
		if n := utf8.RuneCountInString(source); column >= 1 && column <= n {
			under := []rune(top)[strings.Index(bottom, "^")]
			if want := []rune(printable(source))[column-1]; under != want {
				t.Fatalf("%q under the caret, want %q\n%s", under, want, e.Excerpt())
			}
		}
	})
}

// TestExcerptOfALongLine shows a full window at either end.
func TestExcerptOfALongLine(t *testing.T) {
	line := strings.Repeat("a", 299) + "b"
	for column, caret := range map[int]int{1: 0, 50: 49, 150: 60, 300: 119} {
		top, bottom, _ := strings.Cut(At(Place{File: "x", Line: 1, Column: column, Source: line}, "w", "").Excerpt(), "\n")
		if len(top) != 4+widest || strings.Index(bottom, "^") != 4+caret {
			t.Errorf("column %d:\n%s\n%s", column, top, bottom)
		}
	}
}

func TestNearest(t *testing.T) {
	known := []string{"capacitor", "variable capacitor", "inductor", "line", "t1", "t2", "ground"}
	for name, want := range map[string]string{
		"capacitr": "capacitor", "Capacitor": "capacitor", "inductro": "inductor", "lien": "line", "valve": "", "t": "t1", "t3": "t1",
		"grond": "ground", "": "", "variable capactior": "variable capacitor", "zz": "",
	} {
		if got := Nearest(name, known); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
	if got := DidYouMean("valve", known); got != "known are capacitor, variable capacitor, inductor, line, t1, t2, ground" {
		t.Error(got)
	}
	if got := DidYouMean("valve", make([]string, 20)); !strings.HasSuffix(got, " and 4 more") {
		t.Error(got)
	}
	if got := DidYouMean("valve", nil); got != "" {
		t.Error(got)
	}
}

// TestDistance: the distance is a metric as far as typing slips go: zero only for equal words, symmetric, and one for one
// slip.
func TestDistance(t *testing.T) {
	word := rapid.StringMatching(`[abc]{0,8}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		d := distance(a, b)
		if d != distance(b, a) || (d == 0) != (a == b) || d > max(len(a), len(b)) || d < max(len(a)-len(b), len(b)-len(a)) {
			t.Fatalf("%q %q: %d", a, b, d)
		}
		if len(a) >= 2 && a[0] != a[1] {
			if swapped := string([]byte{a[1], a[0]}) + a[2:]; distance(a, swapped) != 1 || distance(a, a[1:]) != 1 || distance(a, "x"+a) != 1 || distance(a, "x"+a[1:]) != 1 {
				t.Fatalf("%q: a single slip is not 1", a)
			}
		}
	})
}
