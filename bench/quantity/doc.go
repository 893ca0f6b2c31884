// Package quantity reads and prints physical values as a person writes them: "330 pF", "4k7", "14 pF .. 390 pF",
// "330 pF ± 5 %", "? 10 uH .. 40 uH", "-73 dBm". Inside the project a value is a plain float64 in SI base units;
// prefixes and unit symbols exist only at this edge.
//
// A single value is one of
//
//   - a decimal number, a space or none, an SI prefix (f p n u µ m c k M G) and the unit. Case matters. Either code point
//     of µ and of Ω will do. The unit may be dropped where a prefix is given: "330p" is 330 pF in a farad field. In a
//     metre field "14 m" is 14 metres. Mega and giga are taken for ohm and hertz only, and hertz takes no small prefix:
//     "MH" and "mHz" are slips of the shift key, never meant. Centi is taken for metres only.
//   - a letter code of IEC 60062 for ohm, farad and henry: "4R7", "4K7J", "p47". See lettercode.go for the rules.
//
// Round it come the forms: a tolerance ("± 5 %", "+- 5 %", or in the unit itself, "± 0.25 pF"), a range ("14 pF .. 390 pF";
// "14 .. 390 pF" gives both ends the unit of the last), and a leading "?" for what is not known: alone, before a guess,
// or before bounds. A guess with a tolerance ("? 22 uH ± 20 %") is a pair of bounds that keeps the guess in Value.
//
// What the package will not do: guess a missing unit, fold the case of a prefix, or judge a sign without being asked.
// Parse takes zero and negative values, because some fields want them; a caller whose physics needs a positive value asks
// for it with ParseWith or Quantity.Require.
//
// Every error is an *Error: one line that says what is wrong and what to write instead, with the place in the text.
// No function panics on any text. No accepted value is NaN or infinite. Texts above MaxLength bytes are refused.
//
// Printing with FormatExact or String and reading back gives the identical float64: prefixes shift the decimal point of the
// text and never multiply. Printed text is ASCII ("uH", "ohm") except for "±" and "∞".
package quantity
