package capture

import (
	"strconv"
	"strings"
	"unicode"
)

// nearby is how many lines above the numbers the heads of the columns are looked for in.
const nearby = 4

// heads finds the names and units of the columns above the numbers: one line of names (which may hold the units), or
// one of names and one of units in either order. units is nil where there is no such line.
func heads(header []headLine, d *dialect) (names, units []string) {
	row := func(i int) []string {
		if i < 0 || i < len(header)-nearby {
			return nil
		}
		return headCells(header[i].text, d)
	}
	for i := len(header) - 1; i >= 0 && i >= len(header)-nearby; i-- {
		cells, above := row(i), row(i-1)
		switch {
		case cells == nil:
		case hasNumbers(cells, d):
			if above != nil && !hasNumbers(above, d) && numbersUnderKeys(cells, above, d) {
				return above, onlyUnits(cells, d)
			}
		case isUnitRow(cells):
			if above == nil || isKeyRow(above) || hasNumbers(above, d) && !numbered(above, d) {
				return cells, cells
			}
			return above, cells
		case above != nil && unitsUnderNames(cells, above, d):
			return namesAbove(cells, above), onlyUnits(cells, d)
		case isKeyRow(cells):
		case above != nil && isUnitRow(above):
			return cells, above
		default:
			return cells, nil
		}
	}
	return nil, nil
}

// headCells cuts a line of the header into at least as many cells as the table has columns (empty ones at the end left out),
// or gives nil. The line may have another delimiter than the numbers.
func headCells(line []byte, d *dialect) []string {
	if d.delimiter != blanks && d.delimiter != none {
		if cells, all := headSplit(line, d.delimiter); all >= d.width && len(cells) > 0 && len(cells) <= maxColumns {
			return cells
		}
	}
	if d.width == 1 {
		cell := strings.TrimSpace(unquoted(line))
		if strings.ContainsAny(cell, ":=") || cell == "" {
			return nil
		}
		return []string{strings.Trim(cell, `"`)}
	}
	for _, other := range delimiters {
		if other.char == none || other.char == blanks {
			continue
		}
		if cells, _ := headSplit(line, other.char); len(cells) == d.width {
			return cells
		}
	}
	words, _ := headSplit(line, blanks)
	for _, words := range [][]string{bracketed(words), strings.Split(wideGaps(text(line)), "\t")} {
		if len(words) == d.width {
			return words
		}
	}
	return nil
}

func headSplit(line []byte, delimiter byte) (cells []string, all int) {
	raw, all := split(line, delimiter)
	cells = make([]string, len(raw))
	for i, c := range raw {
		cells[i] = unquoted(c)
	}
	return cells, all
}

// bracketed joins a unit in brackets to the word before it.
func bracketed(words []string) []string {
	var joined []string
	for _, w := range words {
		opens := w != "" && strings.ContainsAny(w[:1], "([{")
		if last := len(joined) - 1; opens && last >= 0 && !strings.ContainsAny(joined[last], ")]}") {
			joined[len(joined)-1] += " " + w
			continue
		}
		joined = append(joined, w)
	}
	return joined
}

// wideGaps puts a tab for each gap of two blanks or more.
func wideGaps(s string) string {
	var b strings.Builder
	for i, part := range strings.Split(strings.TrimSpace(s), "  ") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		if i > 0 {
			b.WriteByte('\t')
		}
		b.WriteString(part)
	}
	return b.String()
}

// unitsUnderNames tells a line of units whose first cell names the axis, below one that names the channels alone:
// ",CH1,CH2" over "TIME,V,V".
func unitsUnderNames(cells, above []string, d *dialect) bool {
	if len(cells) < 2 || above[0] != "" || hasNumbers(above, d) || !hasLetter(cells[0]) {
		return false
	}
	return isUnitRow(cells[1:])
}

// namesAbove are the names of the line above, and where it has none those of the line itself.
func namesAbove(cells, above []string) []string {
	names := append([]string(nil), cells...)
	for i, name := range above {
		if i < len(names) && name != "" {
			names[i] = name
		} else if i >= len(names) {
			names = append(names, name)
		}
	}
	return names
}

func hasNumbers(cells []string, d *dialect) bool {
	for _, c := range cells {
		if k := classify([]byte(c), d.decimal); k == isNumber || k == isBad && !hasLetter(c) {
			return true
		}
	}
	return false
}

// numbered tells a line of names in which channels have numbers: "x-axis, 1, 2".
func numbered(cells []string, d *dialect) bool {
	if len(cells) != d.width || !hasLetter(cells[0]) {
		return false
	}
	for _, c := range cells[1:] {
		if n, err := strconv.Atoi(c); !hasLetter(c) && (err != nil || n < 0 || n > 99) {
			return false
		}
	}
	return true
}

func hasLetter(s string) bool { return strings.ContainsFunc(s, unicode.IsLetter) }

// isUnitRow tells a line that has nothing but units.
func isUnitRow(cells []string) bool {
	some := false
	for _, c := range cells {
		if c == "" {
			continue
		}
		if _, ok := parseUnit(c); !ok {
			return false
		}
		some = true
	}
	return some
}

// isKeyRow tells a line of the preamble from one of names.
func isKeyRow(cells []string) bool {
	m, _, _ := keyOf(cells[0])
	return m != nothing
}

// numbersUnderKeys tells a line with units, and numbers only where the line above has a key of the preamble.
func numbersUnderKeys(cells, above []string, d *dialect) bool {
	for i, c := range cells {
		if classify([]byte(c), d.decimal) == isNumber {
			if i >= len(above) {
				return false
			}
			if m, _, _ := keyOf(above[i]); m == nothing {
				return false
			}
		}
	}
	return true
}

// onlyUnits keeps what is a unit, or nil where nothing is.
func onlyUnits(cells []string, d *dialect) []string {
	units := make([]string, len(cells))
	some := false
	for i, c := range cells {
		if _, ok := parseUnit(c); ok {
			units[i] = c
			some = true
		}
	}
	if !some {
		return nil
	}
	return units
}
