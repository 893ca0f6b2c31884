package touchstone

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

const (
	v2head = "[Version] 2.0\n# Hz S RI\n[Number of Ports] 2\n[Two-Port Data Order] 12_21\n[Number of Frequencies] 1\n" // lines 1 to 5
	v2row  = "1 1 0 2 0 3 0 4 0\n"
)

// badInputs: name, content, place as line:column, part of what is wrong, part of what to write instead.
var badInputs = []struct{ file, text, place, what, instead string }{
	{"a.s1p", "", "1:1", "the file is empty", "option line"},
	{"a.s1p", "! nothing\n\n", "1:1", "the file is empty", "option line"},
	{"a.s1p", "! c\n# S RI R 50\n", "2:12", "ends without network data", "row of numbers"},
	{"a.s1p", "1 2 3\n", "1:1", "data before the option line", "# MHz S RI R 50"},
	{"a.s1p", "<html>\n", "1:1", `"<html>" is not a number`, "option line"},
	{"a.s2p", "# S RI\n1 1 2 3 4 5 6 7\n2 1 2 3 4 5 6 7 8\n", "2:16", "8 numbers where a row has 9", "4 pairs"},
	{"a.s2p", "# S RI\n1 1 2 3\n4 5 6 7\n2 1 2 3 4 5 6 7 8\n", "2:8", "4 numbers where a row has 9", "4 pairs"},
	{"a.s2p", "# S RI\n1 1 2 3 4\n5 6\n2 1 2 3 4 5 6 7 8\n", "3:4", "7 numbers where a row has 9", "4 pairs"},
	{"a.s2p", "# S RI\n1 1 2\n2 1 2\n3 1 2\n", "2:6", "3 numbers where a row has 9", ".s1p"},
	{"a.s2p", "# S RI\n1 1 2 3 4\n2 1 2 3 4\n", "2:10", "5 numbers where a row has 9", "noise parameters begin"},
	{"a.s1p", "# S RI\n1 1 2 3 4 5 6 7 8\n", "2:7", "9 numbers in a row of 3", ".s2p"},
	{"a.s1p", "# S RI\n1 1\n", "2:4", "2 numbers where a row has 3", "one pair"},
	{"a.s1p", "# S RI\n1\n", "2:2", "1 number where a row has 3", "one pair"},
	{"a.s1p", "# S RI\n1 1 2 3\n", "2:7", "4 numbers in a row of 3", "one pair"},
	{"a.s1p", "# S RI\n1 0.5 abc\n", "2:7", `"abc" is not a number`, "decimal number"},
	{"a.s1p", "# S RI\n1 0.5 0x1p-2\n", "2:7", `"0x1p-2" is not a number`, "decimal number"},
	{"a.s1p", "# S RI\n1 0.5 1_0\n", "2:7", `"1_0" is not a number`, "decimal number"},
	{"a.s1p", "# S RI\n1 0.5 1e\n", "2:7", `"1e" is not a number`, "decimal number"},
	{"a.s1p", "# S RI\n1 0.5 .\n", "2:7", `"." is not a number`, "decimal number"},
	{"a.s1p", "# S RI\n1 −0.5 2\n", "2:3", `"−0.5" is not a number`, "decimal number"},
	{"a.s1p", "# S RI\n1\u00a0x 2\n", "2:3", `"x" is not a number`, "decimal number"}, // the blank has two bytes
	{"a.s1p", "# S RI\n1 é 2\n", "2:3", `"é" is not a number`, "decimal number"},
	{"a.s1p", "# S RI\né 1 2\n", "2:1", `"é" is not a number`, "decimal number"},
	{"a.s1p", "# S RI\n1 2 " + strings.Repeat("x", 99) + "\n", "2:5", strings.Repeat("x", 40) + "…", "decimal number"},
	{"a.s1p", "# S RI\n1 NaN 0\n", "2:3", "not a finite number", "leave the row out"},
	{"a.s1p", "# S DB\n1 -inf 0\n", "2:3", "not a finite number", "-300"},
	{"a.s1p", "# S RI\n1 1.#INF 0\n", "2:3", "not a finite number", "leave the row out"},
	{"a.s1p", "# S RI\n1 1e999 0\n", "2:3", "too large", "1e308"},
	{"a.s1p", "# GHz S RI\n1e300 1 0\n", "2:1", "too large", "1e308"},
	{"a.s1p", "# S DB\n1 99999 0\n", "2:1", "too large to compute with", "DB"},
	{"a.s1p", "# Z RI R 1e300\n1 1e300 0\n", "2:1", "too large to compute with", ""},
	{"a.s1p", "# S RI\n1,5 0 0\n", "2:1", "decimal comma", "write 1.5"},
	{"a.s1p", "# S RI\n1 -0,25 0\n", "2:3", "decimal comma", "write -0.25"},
	{"a.s1p", "# S RI\n1,0.5,0.25\n", "2:1", "is not a number", "separate numbers with blanks"},
	{"a.s1p", "# S RI\n1, 0, 1\n", "2:1", "is not a number", "separate numbers with blanks"},
	{"a.s1p", "# S RI\n1;2;3\n", "2:1", "is not a number", "separate numbers with blanks"},
	{"a.s1p", "# MHz S RI\n1 0 0\n1 0 0\n", "3:1", "the frequency 1 MHz stands twice", "keep one row"},
	{"a.s1p", "# MHz S RI\n2 0 0\n  1.5 0 0\n", "3:3", "goes down from 2 MHz to 1.5 MHz", "sort"},
	{"a.s2p", "# S RI\n2 1 2 3 4 5 6 7 8\n1 1 2 3 4 5 6 7 8\n", "3:1", "goes down", "sort"},
	{"a.s1p", "# S RI\n-1 0 0\n", "2:1", "is negative", "from 0 up"},
	{"a.s1p", "# S RI R 0\n1 0 0\n", "1:10", "is not positive", "positive resistance"},
	{"a.s1p", "# S RI R -50\n1 0 0\n", "1:10", "is not positive", "positive resistance"},
	{"a.s1p", "# S RI R 50ohm\n1 0 0\n", "1:10", "not a number", ""},
	{"a.s1p", "# S RI R\n1 0 0\n", "1:8", "R has no resistance", "R 50"},
	{"a.s1p", "# S RI R50\n", "1:8", `"R50" is no word of an option line`, "write R 50"},
	{"a.s1p", "# S RI 50\n", "1:8", `"50" is no word`, "write R before"},
	{"a.s1p", "# THz S RI\n", "1:3", `"THz" is no word`, "kHz"},
	{"a.s1p", "# S RI MA\n", "1:8", `a second format "MA" after "RI"`, "keep one"},
	{"a.s1p", "#Hz kHz\n", "1:5", "a second frequency unit", "keep one"},
	{"a.s1p", "# H RI\n1 0 0\n", "1:1", "H-parameters are defined for two ports only", "S, Y or Z"},
	{"a.s1p", "# S R 50 75\n1 0 0\n", "1:7", "2 references for 1 port", "one for each port"},
	{"a.s2p", "# S R 50 75 25\n1 0 0\n", "1:7", "3 references for 2 port", "one for each port"},
	{"a.s1p", "# S RI\n1 0 \x000\n", "2:5", "byte 0x00 is no text", "text file"},
	{"a.s1p", "# S RI ! \x00\n", "1:10", "byte 0x00 is no text", "text file"},
	{"a.s1p", "\x89PNG\r\n\x1a\nxx\n", "1:1", "not a number", "option line"},
	{"a.s1p", "PK\x03\x04\n", "1:3", "byte 0x03 is no text", "text file"},
	{"a.s1p", "\xff\xfe#\x00 \x00", "1:1", "UTF-16", "plain text"},
	{"a.s1p", "# S RI\n1 0 " + strings.Repeat("0", 20000) + "\n", "2:1", "the line has 20004 characters", "one frequency on each line"},
	{"a.txt", "# S RI\n1 0 0\n", "2:1", "neither the name nor a keyword", ".s1p"},
	{"a.s2p", "# S MA\n" + v2row + "1 2 3 4 5\n1 2 3 4 5\n", "4:1", "noise frequency 1 GHz does not go up", "sort"},
	{"a.s2p", "# S MA\n" + v2row + "0.5 2 3 4 5\n1 2 3 4\n", "4:8", "4 numbers in a noise row of 5", "noise figure"},
	{"a.s2p", "# S MA\n" + v2row + "0.5 2 3 4 5\n1 2 3 4 5 6\n", "4:11", "6 numbers in a noise row of 5", "noise figure"},
	{"a.s2p", "# S MA\n" + v2row + "0 2 3 4 5\n", "3:1", "is not positive", "above 0"},
	{"a.s2p", "# S MA R 1e300\n" + v2row + "1 2 3 4 1e300\n", "3:9", "too large", ""},

	{"a.s2p", "[Number of Ports] 2\n", "1:1", "[Number of Ports] in a file without [Version]", "[Version] 2.0"},
	{"a.s2p", "# S\n[Version] 2.0\n", "2:1", "[Version] stands behind other lines", "put it first"},
	{"a.s2p", "[Version] 1.0\n", "1:11", `version "1.0" is not known`, "leave all keywords out"},
	{"a.s2p", "[Version]\n", "1:10", "nothing behind it", "[Version] 2.0"},
	{"a.s2p", "[Version] 2.0 final\n", "1:15", "too much", "[Version] 2.0"},
	{"a.s2p", "[Version 2.0\n", "1:1", "no closing bracket", "[Network Data]"},
	{"a.s2p", "[ ] 2.0\n", "1:1", "no keyword", "[Network Data]"},
	{"a.s2p", "[Version] 2.0\n[Ports] 2\n", "2:1", "[ports] is not known", "[Number of Ports]"},
	{"a.s2p", "[Version] 2.0\n# R 50 75\n", "2:8", "several references", "[Reference]"},
	{"a.s2p", "[Version] 2.0\n[Number of Ports] two\n", "2:19", "no whole number", "[Number of Ports] 2"},
	{"a.s2p", "[Version] 2.0\n[Number of Ports] 0\n", "2:19", "no whole number", "[Number of Ports] 2"},
	{"a.s1p", "[Version] 2.0\n[Number of Ports] 2\n", "2:19", "2 port(s) where 1 are expected", ".s2p"},
	{"a.ts", "[Version] 2.0\n[Number of Ports] 4\n", "2:19", "4 ports; only one-port and two-port", "export"},
	{"a.ts", v2head + "[Number of Ports] 2\n", "6:1", "[Number of Ports] stands twice", "keep one"},
	{"a.ts", v2head + "[Mixed-Mode Order] D1,2 C1,2\n", "6:1", "mixed-mode", "single ports"},
	{"a.ts", v2head + "[Matrix Format] Diagonal\n", "6:17", `"Diagonal" is not known`, "Full, Lower or Upper"},
	{"a.ts", "[Version] 2.0\n[Two-Port Data Order] 11_22\n", "2:23", `"11_22" is not known`, "12_21 or 21_12"},
	{"a.ts", "[Version] 2.0\n[Number of Ports] 1\n[Two-Port Data Order] 12_21\n", "3:1", "in a one-port file", "leave it out"},
	{"a.ts", "[Version] 2.0\n[Reference] 50\n", "2:1", "above [Number of Ports]", "below"},
	{"a.ts", v2head + "[Reference] 50\n[Network Data]\n", "7:1", "[Reference] has 1 of 2 values", "one for each port"},
	{"a.ts", v2head + "[Reference] 50 50 50\n", "6:19", "more than 2 value", "one for each port"},
	{"a.ts", v2head + "[Reference] 50\n0\n", "7:1", "is not positive", "positive resistance"},
	{"a.ts", v2head + v2row, "6:1", "data before [Network Data]", "[Network Data]"},
	{"a.ts", "[Version] 2.0\n[Network Data]\n", "2:1", "no option line", "# MHz S RI R 50"},
	{"a.ts", "[Version] 2.0\n#\n[Network Data]\n", "3:1", "no [Number of Ports]", "put it there"},
	{"a.ts", "[Version] 2.0\n#\n[Number of Ports] 2\n[Network Data]\n", "4:1", "no [Number of Frequencies]", "put it there"},
	{"a.ts", "[Version] 2.0\n#\n[Number of Ports] 2\n[Number of Frequencies] 1\n[Network Data]\n", "5:1", "no [Two-Port Data Order]", "put it there"},
	{"a.ts", v2head + "[Network Data] here\n", "6:16", "too much", "line of its own"},
	{"a.ts", v2head + "[Network Data]\n" + v2row + "[Matrix Format] Full\n", "8:1", "behind [Network Data]", "above"},
	{"a.ts", v2head + "[Network Data]\n" + v2row + "2 1 0 2 0 3 0 4 0\n[End]\n", "5:25", "1 frequencies are announced, 2 are there", "write 2"},
	{"a.ts", v2head + "[Network Data]\n1 1 0 2 0\n[End]\n", "7:10", "5 numbers where a row has 9", "pairs"},
	{"a.ts", v2head + "[Network Data]\n" + v2row + "[End]\n1\n", "9:1", "content after [End]", "end the file"},
	{"a.ts", v2head + "[Network Data]\n[End]\n", "7:6", "ends without network data", "row of numbers"},
	{"a.ts", v2head + "[End]\n", "6:1", "[End] stands above [Network Data]", "end of the file"},
	{"a.ts", v2head + "[Network Data]\n" + v2row + "[Noise Data]\n1 2 3 4 5\n", "8:1", "no [Number of Noise Frequencies]", "put it there"},
	{"a.ts", v2head + "[Noise Data]\n", "6:1", "[Noise Data] stands above", "below"},
	{"a.ts", v2head + "[Number of Noise Frequencies] 2\n[Network Data]\n" + v2row + "[Noise Data]\n1 2 3 4 5\n", "6:31", "2 noise frequencies are announced, 1 are there", "write 1"},
	{"a.ts", "[Version] 2.0\n#\n[Number of Ports] 1\n[Number of Frequencies] 1\n[Number of Noise Frequencies] 1\n[Network Data]\n1 0 0\n[Noise Data]\n", "8:1", "in a one-port file", "leave it out"},
	{"a.ts", v2head + "[Begin Information]\ntext\n", "6:1", "never closed", "[End Information]"},
	{"a.ts", v2head + "[Begin Information]\ntext\n[Network Data]\n", "6:1", "not closed before line 8", "[End Information]"},
	{"a.ts", v2head + "[End Information]\n", "6:1", "[end information] is not known", ""},
}

func TestBadInput(t *testing.T) {
	seen := 0
	for _, c := range badInputs {
		_, err := Read(strings.NewReader(c.text), c.file, 0)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%.60q: error %v", c.text, err)
			continue
		}
		seen++
		place := fmt.Sprintf("%d:%d", e.Line, e.Column)
		if place != c.place || !strings.Contains(e.What, c.what) || !strings.Contains(e.Instead, c.instead) {
			t.Errorf("%.60q\n got %v\nwant %s:%s: …%s…; …%s…", c.text, err, c.file, c.place, c.what, c.instead)
		}
		if text := e.Error(); text != c.file+":"+place+": "+e.What+"; "+e.Instead || strings.ContainsAny(text, "\n\r") {
			t.Errorf("message %q", text)
		}
		if len([]rune(e.SourceLine)) < e.Column-1 || strings.ContainsAny(e.SourceLine, "\x00\r\n") {
			t.Errorf("column %d of line %q", e.Column, e.SourceLine)
		}
	}
	if seen != len(badInputs) || seen < 90 {
		t.Errorf("%d of %d faults recognised", seen, len(badInputs))
	}
	t.Logf("%d faults, each with its place", seen)
}
