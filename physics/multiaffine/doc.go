// Package multiaffine evaluates a circuit at very many settings of its knobs and contacts at the cost of few solves.
//
// The voltage across the load per volt of emf is H = N/D, and both N and D are affine in the value of each element of one
// branch while the others stay: such an element enters the circuit's matrix with rank one. (This is the bilinear theorem
// of network functions; H. W. Bode, Network Analysis and Feedback Amplifier Design, 1945, and K. Geher, Theory of Network
// Tolerances, 1971; both from memory.) So per frequency a small matrix, as the knobs and contacts see the circuit, replaces
// the circuit.
//
// The way from a circuit to its answers:
//
//	Circuit ──► Model         which elements are knobs (on axes x in [-1, 1]) and contacts; checked once
//	Model.View ──► View       one frequency: one factorisation, then the circuit as its knobs and contacts see it
//	Plan, Walk ──► Function   one combination of closed contacts: H in the axes
//	Function.Fix, Row         axes fixed one after another; a Row has the last one left
//	Function.Sheet            the last two axes, prepared for many rows
//	Row, Rotated              many x at four multiply-adds and a division each; best x and "at least T" in closed form
//	Searcher                  the maximum over all axes with a proven bound, and the best separated local maxima
//
// An axis may drive several elements (a gang of g elements): N and D then have degree g in it. An element qualifies if
// its equation β·v = α·i is affine in x; a Model refuses others by name (NotAffineError), and the caller keeps such a
// control on an outer loop.
//
// Axes are fixed by elimination, not by evaluating coefficients of N and D. That costs about as much, and keeps the digits
// where several circuits of high Q resonate at once: with three of Q = 1000, D is 1e-9 of its largest coefficient. For
// objectives that need polynomials, Function.Bernstein gives the coefficients over any box of the axes.
//
// Accuracy against the full solve of package network, which stays the referee in the tests: 1e-10 of H for Q up to 1000
// and above -120 dB, 1e-6 beside zeros to -190 dB. What sets it is the ratio of the impedances between which the contacts
// switch: about 1e-16 of that ratio is lost, so a contact that takes a node from 1 Mohm to 0.1 ohm may exceed it.
//
// Rules that a caller must keep. A Model, a Walker and a Searcher serve one goroutine at a time; a View, a Plan and a
// Function may be read by many at once. Models made alike give the same bits, whichever frequencies they are asked for
// before, so frequencies may be dealt out to threads at will, a Model for each (their elements must not be shared where
// they are measured ones). Rotated.Powers gives the same bits on every platform; what leads to it (complex arithmetic) may
// be fused by a compiler for another processor and then differ in the last digit.
//
// Powers are |H|², plain ratios. Units are SI base units. A setting at which D vanishes to the last digit (a lossless
// resonance) may give infinity or NaN; functions that can return them say so.
//
// What it will not do: know boxes, dials, decibels or aims.
package multiaffine
