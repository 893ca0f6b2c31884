// Package capture reads tables of numbers as instruments write them: the CSV exports of oscilloscopes and tables over
// frequency. It knows the table alone, nothing of boxes, setups or sweeps.
//
// There is no agreed form for such files. What a file leaves open is guessed from its first 256 KiB, and the guess is
// part of the result: Table.Guess says in which delimiter, decimal sign, header, columns, units and roles the numbers
// were read, Guess.String prints it in one line, and every item of it can be settled by Options instead.
//
// What a caller may rely on:
//   - Values are finite and in SI base units (second, hertz, volt, ampere, watt, ohm) where the unit is known; the unit as
//     written stays in Column.Unit. Decibels, degrees, percent and units that are not known are left as they stand.
//     A prefix shifts the decimal point of the text, so 75.05 MHz is 75050000 Hz exactly.
//     Volts stay what they are called, rms, peak or peak to peak: Channel.Form says which.
//   - Numbers that instruments write for no value, 9.9e37 and the like, are refused as NaN is.
//   - What the table leaves open of its abscissa is settled by Options.Expected where that fits, and told.
//   - X ascends: a time axis never runs backwards, a frequency axis that falls is turned round (with a warning). Equal
//     neighbours may stand in it (with a warning).
//   - Reading is a stream with bounded memory: one buffer, and 8 bytes for each value kept (twice that for a moment at
//     the end). At most 60 million values are kept, of 256 columns, from lines of 64 KiB.
//   - Every mistake in the file or in Options is a *fault.Error. Nothing else is returned, and no input makes a panic.
//   - What is doubtful but readable is told in Table.Warnings.
//
// Files are UTF-8 with or without a byte order mark, UTF-16 with one, or any encoding that has ASCII in it. LF, CR LF and
// a lone CR end a line. Cells may be quoted as RFC 4180 says, apart from line ends inside the quotes. Lines that begin
// with #, !, % or // are comments.
//
// What it will not do: dates and clock times as an abscissa, digits in groups (1,000.5), complex values, several tables
// in one file, the layout of one particular instrument. Touchstone files have their own package.
package capture
