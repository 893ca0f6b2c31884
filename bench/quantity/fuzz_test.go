package quantity_test

import (
	"testing"

	. "knobwise/bench/quantity"
)

// seed gives the written forms and the accidents to a fuzz test, and fails it where there are none.
func seed(f *testing.F, add func(text string, unit Unit), more ...string) {
	f.Helper()
	if len(writtenForms) == 0 || len(accidents) == 0 || len(more) == 0 {
		f.Fatal("no seeds")
	}
	for _, w := range writtenForms {
		add(w.text, w.unit)
	}
	for _, a := range accidents {
		add(a.text, a.unit)
	}
	for _, text := range more {
		add(text, Volt)
	}
}

func FuzzParse(f *testing.F) {
	seed(f, func(text string, u Unit) { f.Add(text, uint8(u)) }, "14.. .5 V", "? -1 .. 1 mV", "1 V ± 1e-320 %", "5e-324 V ± 50 %", "1 V ± 1e-400 %")
	f.Fuzz(func(t *testing.T, text string, unit uint8) {
		u := Unit(unit % (uint8(Decibel) + 1))
		q, err := Parse(text, u)
		if err != nil {
			checkRemedy(t, checkError(t, text, err))
			return
		}
		again, err := Parse(q.String(), u)
		q.Text, again.Text = "", ""
		if err != nil || again != q {
			t.Fatalf("%q read as %#v, printed %q, reads %#v, %v", text, q, q.String(), again, err)
		}
		for _, s := range []Sign{Any, NonNegative, Positive} {
			if _, err := ParseWith(text, u, s); err != nil {
				checkError(t, text, err)
			}
		}
	})
}

func FuzzParseLevel(f *testing.F) {
	seed(f, func(text string, _ Unit) { f.Add(text) }, levelTexts...)
	f.Fuzz(func(t *testing.T, text string) {
		l, err := ParseLevel(text)
		if err != nil {
			checkError(t, text, err)
			return
		}
		again, err := ParseLevel(l.String())
		l.Text, again.Text = "", ""
		if err != nil || again != l || !(l.Value > 0) {
			t.Fatalf("%q read as %#v, printed %q, reads %#v, %v", text, l, l.String(), again, err)
		}
		if emf, err := emfInto(text, 50); err == nil && !(emf > 0) {
			t.Fatalf("%q: emf %g", text, emf)
		}
	})
}

func FuzzParseQuality(f *testing.F) {
	seed(f, func(text string, _ Unit) { f.Add(text) }, "180", "180 at 2 MHz", "? 60 .. 200 at 2 MHz", "180 @ 2 MHz", "at", "180 at ? 2 MHz")
	f.Fuzz(func(t *testing.T, text string) {
		q, at, err := ParseQuality(text)
		if err != nil {
			checkError(t, text, err)
			return
		}
		printed := q.String()
		if at != 0 {
			printed += " at " + FormatExact(at, Hertz)
		}
		again, at2, err := ParseQuality(printed)
		q.Text, again.Text = "", ""
		if err != nil || again != q || at2 != at || at < 0 {
			t.Fatalf("%q printed %q reads %#v at %g, %v", text, printed, again, at2, err)
		}
		if v, at, err := ParseQ(text); err == nil {
			if v2, at2, err := ParseQ(FormatQ(v, at)); err != nil || v2 != v || at2 != at || !(v > 0) {
				t.Fatalf("%q printed %q reads %g at %g, %v", text, FormatQ(v, at), v2, at2, err)
			}
		}
	})
}

func FuzzParseLoss(f *testing.F) {
	seed(f, func(text string, _ Unit) { f.Add(text) }, "4.2 dB/100m at 10 MHz", "0.1 dB/m at 10 MHz", "3 dB/km at 1 MHz", "4.2 dB/100ft at 10 MHz", "/ at 1 MHz")
	f.Fuzz(func(t *testing.T, text string) {
		loss, at, err := ParseLoss(text)
		if err != nil {
			checkError(t, text, err)
			return
		}
		loss2, at2, err := ParseLoss(FormatLoss(loss, at))
		if err != nil || loss2 != loss || at2 != at || loss < 0 || !(at > 0) {
			t.Fatalf("%q printed %q reads %g at %g, %v", text, FormatLoss(loss, at), loss2, at2, err)
		}
	})
}

func FuzzParseScale(f *testing.F) {
	seed(f, func(text string, _ Unit) { f.Add(text) }, "0 .. 10", "10 .. 0", "0 .. 100 %", "40 %", "? 5", "? 30 % .. 50 %", "4 ± 5 %")
	f.Fuzz(func(t *testing.T, text string) {
		if from, to, percent, err := ParseScale(text); err != nil {
			checkError(t, text, err)
		} else {
			printed := FormatScale(from, to, percent)
			from2, to2, percent2, err := ParseScale(printed)
			if err != nil || from2 != from || to2 != to || percent2 != percent || from == to {
				t.Fatalf("%q printed %q reads %g .. %g %t, %v", text, printed, from2, to2, percent2, err)
			}
		}
		if _, _, err := ParseReading(text); err != nil {
			checkError(t, text, err)
		}
		q, percent, err := ParseDoubtfulReading(text)
		if err != nil {
			checkError(t, text, err)
			return
		}
		again, percent2, err := ParseDoubtfulReading(q.String())
		q.Text, again.Text = "", ""
		if err != nil || again != q || percent2 != percent && q.Form != Unknown {
			t.Fatalf("%q printed %q reads %#v %t, %v", text, q.String(), again, percent2, err)
		}
	})
}
