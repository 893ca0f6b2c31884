package web

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"knobwise/bench/demo"
	"knobwise/bench/document"
)

// moleHead is a box of the demonstration bench of which nine values are not known.
const moleHead = "mole-head.box.yaml"

func change(text string, path ...string) document.Change {
	return document.Change{Path: path, Text: text}
}

// What the file marks as unknown stays asked for where a change gives it a number; every other change counts.
func TestAskedAsFiled(t *testing.T) {
	s, _ := onDisk(t)
	unknown := func(changes ...document.Change) []string {
		t.Helper()
		b, err := s.asked(moleHead, changes)
		if err != nil {
			t.Fatal(err)
		}
		var all []string
		for _, u := range b.Unknowns() {
			all = append(all, strings.Join(u.Node.Path(), " ")+": "+u.Node.Text)
		}
		return all
	}
	filed := unknown()
	if len(filed) != 9 {
		t.Fatalf("as filed %d values are unknown, want 9", len(filed))
	}
	c3, q1 := []string{"parts", "C3", "value"}, []string{"parts", "L1", "Q"}
	short := []string{"controls", "Range", "switch", "short", "values", "L1"}
	if got := unknown(change("56 pF", c3...), change("174", q1...), change("12.4 uH", short...)); !slices.Equal(got, filed) {
		t.Errorf("with numbers put in: %q, want %q", got, filed)
	}
	if got := unknown(change("? 60 pF", c3...)); len(got) != 9 || !slices.Contains(got, "parts C3 value: ? 60 pF") {
		t.Errorf("with another guess: %q", got)
	}
	if got := unknown(change("? 300", "parts", "C1", "Q")); len(got) != 10 {
		t.Errorf("with one more marked: %q", got)
	}
	if got := unknown(document.Change{Path: q1, Remove: true}); len(got) != 8 {
		t.Errorf("with one taken out of the circuit: %q", got)
	}
	b, err := s.asked(moleHead, []document.Change{change("56 pF", c3...), change("222", "parts", "C1", "Q")})
	if err != nil || !strings.Contains(string(b.Document.Source), "Q: 222") || strings.Contains(string(b.Document.Source), "56 pF") {
		t.Errorf("a change of what is known: %v\n%s", err, b.Document.Source)
	}
	if _, err := s.asked(moleHead, []document.Change{change("-4 apples", c3...)}); err == nil {
		t.Error("a change that cannot be is no error")
	}
	if _, err := s.asked("no.box.yaml", nil); err == nil {
		t.Error("a box that is not there is no error")
	}
}

// A box without unknown values is no error: the answer says what to do.
func TestNothingToFind(t *testing.T) {
	s, _ := onDisk(t)
	for _, what := range []string{"values", "next"} {
		w := do(s, "POST", "/api/inside", InsideRequest{File: demo.DefaultMeasurements, What: what})
		if last := got[map[string]any](t, w, http.StatusOK); last["nothing"] != nothingToFind || last["error"] != nil || last["identified"] != nil {
			t.Errorf("%s: %v", what, last)
		}
	}
}

// A value that was found is kept with a comment behind it, and no other byte changes.
func TestSaveRemarks(t *testing.T) {
	s, dir := onDisk(t)
	before := readOf(t, dir, moleHead)
	b := got[Box](t, do(s, "GET", "/api/box?file="+moleHead, nil), http.StatusOK)
	c3, short := []string{"parts", "C3", "value"}, []string{"controls", "Range", "switch", "short", "values", "L1"}
	q := SaveRequest{
		File: moleHead, Version: b.Version,
		Changes: []document.Change{change("56.37 pF", c3...), change("12.36 uH", short...)},
		Remarks: []document.Remark{{Path: c3, Text: "C3 found"}, {Path: short, Text: "L1 found"}},
	}
	got[SaveReply](t, do(s, "PUT", "/api/file", q), http.StatusOK)
	want := strings.Replace(before, `value: "? 10 pF .. 300 pF", Q: 600}`, `value: "56.37 pF", Q: 600}  # C3 found`, 1)
	want = strings.Replace(want, `{L1: "? 5 uH .. 40 uH", L2: "? 5 uH .. 40 uH"}}`, `{L1: "12.36 uH", L2: "? 5 uH .. 40 uH"}}  # L1 found`, 1)
	now := readOf(t, dir, moleHead)
	if now != want {
		t.Errorf("the file is now\n%s", now)
	}
	version := got[Box](t, do(s, "GET", "/api/box?file="+moleHead, nil), http.StatusOK).Version
	for name, r := range map[string]document.Remark{"two lines": {Path: c3, Text: "a\nparts: {}"}, "nowhere": {Path: []string{"parts", "C9", "value"}, Text: "x"}, "no item": {Path: []string{"parts", "C3", "nodes", "7"}, Text: "x"}} {
		q := SaveRequest{File: moleHead, Version: version, Remarks: []document.Remark{r}}
		if w := do(s, "PUT", "/api/file", q); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d: %s", name, w.Code, w.Body)
		}
	}
	if readOf(t, dir, moleHead) != now {
		t.Error("a refused remark changed the file")
	}
}
