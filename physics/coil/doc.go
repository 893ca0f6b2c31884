// Package coil computes the inductance of single-layer coils with air cores: whole coils, the sections of a tapped
// coil and the couplings between them, from turns and dimensions.
//
// The length of a coil is turns times pitch everywhere, not the distance between the outer edges of the end turns;
// the diameter is measured from wire centre to wire centre. Lengths are in metres, inductances in henry.
//
// It does not compute loss, self-capacitance or cores, and takes the current as spread evenly: real coils with
// leads and a helical winding lie within a few per cent. The plain formulas return NaN for arguments outside their
// stated domain; Solenoid reports them as errors that name the field.
package coil
