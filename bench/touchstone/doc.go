// Package touchstone reads and writes one-port and two-port network data in the Touchstone format, and gives the
// scattering parameters at any frequency inside a file's range.
//
// The format is an open specification of the IBIS Open Forum: version 1 (Rev. 1.1, 2002; files without keywords),
// version 2.0 (2009) and its revision 2.1 (2024), which adds one reference per port on the option line of a file
// without keywords. Facts of the format here are from memory of those documents unless a test names what was read.
//
// What a caller may rely on:
//   - Frequencies are in hertz and ascend; values are finite, row-major in normal order (11, 12, 21, 22) and in absolute
//     units (S without unit; Z in ohm, Y in siemens; H and G mixed) whatever order and normalisation the file uses.
//   - Bad input gives an *Error with file, line and column. A file over 64 MiB, or a line over 16 KiB, is refused.
//   - What Write writes, Read reads back with the same bits.
//   - An Interpolator may be used by several goroutines at once.
//
// What it will not do: three and more ports, mixed-mode data, complex reference impedances, extrapolation.
// Data under [Begin Information] is skipped.
package touchstone
