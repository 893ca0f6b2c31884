package capture

// comma settles what a comma means where it could be delimiter and decimal sign: all cells between commas are whole
// numbers. "0,05" is then two columns or one. Two things speak for a decimal sign: digits that begin with 0 behind the
// comma, and a 0 with a sign before it; a third, where there are more columns, is half as many heads as columns.
func (p *plan) comma(name string, all []headLine, names int, o *Options) error {
	d := &p.dialect
	if d.delimiter != ',' || d.width%2 != 0 || o.Delimiter != "" || o.Decimal != "" {
		return nil
	}
	evidence := false
	for _, line := range all[d.start:] {
		if line.comment {
			continue
		}
		cells, _ := split(line.text, ',')
		for i, cell := range cells {
			digits := cell
			if len(digits) > 0 && (digits[0] == '-' || digits[0] == '+') && i%2 == 0 {
				digits = digits[1:]
				evidence = evidence || len(digits) == 1 && digits[0] == '0'
			}
			if !onlyDigits(digits, i%2 == 1) {
				return nil
			}
			evidence = evidence || i%2 == 1 && len(digits) > 1 && digits[0] == '0'
		}
	}
	line := all[d.start]
	if d.start > 0 {
		if heads, _ := split(all[d.start-1].text, ','); len(heads) == d.width/2 && onlyWords(classes(all[d.start-1].text, ',', '.')) {
			names = len(heads)
		}
	}
	switch {
	case d.width > 2 && (evidence || names == d.width/2):
		return at(name, line.number, line.text, 0, 0, "the comma looks like delimiter and decimal sign at once",
			"export with semicolons or tabs between the columns, or with a decimal point; or name the delimiter if it is the comma")
	case d.width > 2 || names >= 2:
	case evidence:
		if one := try(all, none, ',', o.HeaderLines); one.score > 0 {
			p.dialect = one
			p.notices = append(p.notices, commaIsDecimal)
		}
	default:
		p.notices = append(p.notices, "the comma is taken as delimiter of two columns of whole numbers; if it is a decimal sign, say so")
	}
	return nil
}

const commaIsDecimal = "the comma is taken as decimal sign of a single column"

// onlyDigits tells a whole number without sign, with an exponent behind it if that is allowed.
func onlyDigits(cell []byte, exponent bool) bool {
	for i, c := range cell {
		if (c == 'e' || c == 'E') && exponent && i > 0 {
			_, ok := scanExponent(cell[i+1:])
			return ok
		}
		if c < '0' || c > '9' {
			return false
		}
	}
	return len(cell) > 0
}
