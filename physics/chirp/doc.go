// Package chirp holds the laws of a swept generator, of a linear network behind it, and of an oscilloscope that looks
// at it: the sweep itself (Law, Drive), what the network really makes of it (Respond), what the samples of an
// oscilloscope give back (ReadBack, FalseGaps), and how slow a sweep must be (Passage, ShortestSweep).
//
// Respond is the response in time, not the curve |H(f)| drawn over time: a sweep that is too fast for a resonance shows
// its lag, loss, ringing and skew. It takes the network as linear, unchanging and causal, and the generator as an ideal
// source of constant amplitude; noise, quantisation and the oscilloscope's own filter are left to the caller.
//
// Every quantity is a plain float64 in SI base units: hertz, seconds, hertz per second, volts. A caller passes finite
// numbers; what cannot be computed comes back as an error that names the field. No function changes a slice it is
// given, and none is safe for use of one network function from several goroutines at once unless that function is.
package chirp
