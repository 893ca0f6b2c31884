package box_test

// badBoxes lists them: name, text (from line 5 on; with a ! the whole file), and what is told.
var badBoxes = []bad{
	{"unknown key in the file", `extra: 5`, `
x.box.yaml:5:1: unknown key "extra" in the box; known are box, about, terminals, parts, controls, start
    extra: 5
    ^^^^^`},
	{"unknown key in a part", `  C1: {kind: capacitor, nodes: [a, ground], value: 5 pF, esrr: 2 ohm}`, `
x.box.yaml:5:58: unknown key "esrr" in part C1; did you mean "esr"?
      C1: {kind: capacitor, nodes: [a, ground], value: 5 pF, esrr: 2 ohm}
                                                             ^^^^`},
	{"key of the variable sister", `  C1: {kind: capacitor, nodes: [a, ground], range: 5 pF .. 50 pF}`, `
x.box.yaml:5:45: a capacitor has no "range"; delete it, or make the part a variable capacitor
      C1: {kind: capacitor, nodes: [a, ground], range: 5 pF .. 50 pF}
                                                ^^^^^`},
	{"no kind", `  C1: {nodes: [a, ground]}`, "x.box.yaml:5:3: part C1 has no kind; add `kind: capacitor`, or another of resistor, capacitor, variable capacitor, inductor, variable inductor, tapped coil, coupled coils, transformer, line, crystal, measured one-port, measured two-port\n      C1: {nodes: [a, ground]}\n      ^^"},
	{"kind is a list", `  C1: {kind: [capacitor], nodes: [a, ground]}`, `
x.box.yaml:5:14: a list where a kind of part belongs; known are resistor, capacitor, variable capacitor, inductor, variable inductor, tapped coil, coupled coils, transformer, line, crystal, measured one-port, measured two-port
      C1: {kind: [capacitor], nodes: [a, ground]}
                 ^`},
	{"unknown kind", `  C1: {kind: capacitr, nodes: [a, ground], value: 5 pF}`, `
x.box.yaml:5:14: unknown kind of part "capacitr"; did you mean "capacitor"?
      C1: {kind: capacitr, nodes: [a, ground], value: 5 pF}
                 ^^^^^^^^`},
	{"kind from nowhere", `  C1: {kind: valve, nodes: [a, ground], value: 5 pF}`, `
x.box.yaml:5:14: unknown kind of part "valve"; known are resistor, capacitor, variable capacitor, inductor, variable inductor, tapped coil, coupled coils, transformer, line, crystal, measured one-port, measured two-port
      C1: {kind: valve, nodes: [a, ground], value: 5 pF}
                 ^^^^^`},
	{"part is text", `  C1: 5 pF`, `
x.box.yaml:5:3: part C1 is "5 pF" where a map belongs; write {kind: …, nodes: […], …}
      C1: 5 pF
      ^^`},
	{"part is empty", `  C1:`, `
x.box.yaml:5:3: part C1 is nothing where a map belongs; write {kind: …, nodes: […], …}
      C1:
      ^^`},
	{"unknown unit", `  C1: {kind: capacitor, nodes: [a, ground], value: 5 pX}`, `
x.box.yaml:5:54: value of part C1: pX is no unit of a capacitance; write 5 pF
      C1: {kind: capacitor, nodes: [a, ground], value: 5 pX}
                                                         ^^`},
	{"wrong unit", `  C1: {kind: capacitor, nodes: [a, ground], value: 5 uH}`, `
x.box.yaml:5:54: value of part C1: henry where farad belongs; write a capacitance like 5 pF
      C1: {kind: capacitor, nodes: [a, ground], value: 5 uH}
                                                         ^^`},
	{"bare number", `  C1: {kind: capacitor, nodes: [a, ground], value: 330}`, `
x.box.yaml:5:52: value of part C1: a value needs its unit; write 330 pF
      C1: {kind: capacitor, nodes: [a, ground], value: 330}
                                                       ^^^`},
	{"millihertz", `  L1: {kind: inductor, nodes: [a, ground], value: 5 uH, Q: 180 at 3 mHz}`, `
x.box.yaml:5:67: Q of part L1: 3 mHz is millihertz; did you mean 3 MHz?
      L1: {kind: inductor, nodes: [a, ground], value: 5 uH, Q: 180 at 3 mHz}
                                                                      ^^^^^`},
	{"decimal comma", `  "C1": {kind: capacitor, nodes: [a, ground], value: "4,7 nF"}`, `
x.box.yaml:5:55: value of part C1: the decimal mark is a point, not a comma; write 4.7 nF
      "C1": {kind: capacitor, nodes: [a, ground], value: "4,7 nF"}
                                                          ^^^^^^`},
	{"zero value", `  C1: {kind: capacitor, nodes: [a, ground], value: 0 pF}`, `
x.box.yaml:5:52: value of part C1: 0 pF is zero; write a capacitance above zero, like 330 pF
      C1: {kind: capacitor, nodes: [a, ground], value: 0 pF}
                                                       ^^^^`},
	{"negative value", `  R2: {kind: resistor, nodes: [a, ground], value: -5 ohm}`, `
x.box.yaml:5:51: value of part R2: -5 ohm is negative; write a resistance above zero, like 50 ohm
      R2: {kind: resistor, nodes: [a, ground], value: -5 ohm}
                                                      ^^^^^^`},
	{"infinite value", `  R2: {kind: resistor, nodes: [a, ground], value: .inf}`, `
x.box.yaml:5:51: value of part R2: .inf is no number; write a resistance like 50 ohm
      R2: {kind: resistor, nodes: [a, ground], value: .inf}
                                                      ^^^^`},
	{"not a number", `  R2: {kind: resistor, nodes: [a, ground], value: .nan ohm}`, `
x.box.yaml:5:51: value of part R2: .nan ohm is no number; write a resistance like 50 ohm
      R2: {kind: resistor, nodes: [a, ground], value: .nan ohm}
                                                      ^^^^^^^^`},
	{"null value", `  R2: {kind: resistor, nodes: [a, ground], value: null}`, `
x.box.yaml:5:51: value of part R2: null is no number; write a resistance like 50 ohm
      R2: {kind: resistor, nodes: [a, ground], value: null}
                                                      ^^^^`},
	{"octal value", `  R2: {kind: resistor, nodes: [a, ground], value: 017}`, `
x.box.yaml:5:51: value of part R2: a value needs its unit; write 017 ohm
      R2: {kind: resistor, nodes: [a, ground], value: 017}
                                                      ^^^`},
	{"power of ten value", `  R2: {kind: resistor, nodes: [a, ground], value: 1e3}`, `
x.box.yaml:5:51: value of part R2: a value needs its unit; write 1e3 ohm
      R2: {kind: resistor, nodes: [a, ground], value: 1e3}
                                                      ^^^`},
	{"no value", `  R2: {kind: resistor, nodes: [a, ground], value: }`, `
x.box.yaml:5:44: "value" in part R2 has no value; write a value like 330 ohm, or "? 330 ohm" where it is not known, or delete the line
      R2: {kind: resistor, nodes: [a, ground], value: }
                                               ^`},
	{"missing value", `  R2: {kind: resistor, nodes: [a, ground]}`, "x.box.yaml:5:7: part R2 has no \"value\"; add `value: …`: a value like 330 ohm, or \"? 330 ohm\" where it is not known\n      R2: {kind: resistor, nodes: [a, ground]}\n          ^"},
	{"value is a list", `  R2: {kind: resistor, nodes: [a, ground], value: [5 ohm]}`, `
x.box.yaml:5:51: value of part R2: a list where a single value belongs; write a value like 330 ohm, or "? 330 ohm" where it is not known
      R2: {kind: resistor, nodes: [a, ground], value: [5 ohm]}
                                                      ^`},
	{"range for a value", `  R2: {kind: resistor, nodes: [a, ground], value: 5 ohm .. 6 ohm}`, `
x.box.yaml:5:51: value of part R2: "5 ohm .. 6 ohm" is a range where a single value belongs; write a value like 330 ohm, or "? 330 ohm" where it is not known
      R2: {kind: resistor, nodes: [a, ground], value: 5 ohm .. 6 ohm}
                                                      ^^^^^^^^^^^^^^`},
	{"value for a range", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF}`, `
x.box.yaml:5:61: range of part C1: "5 pF" is a single value where a range belongs; write a range like 14 pF .. 390 pF
      C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF}
                                                                ^^^^`},
	{"tolerance of a loss tangent", `  C1: {kind: capacitor, nodes: [a, ground], value: 5 pF, loss tangent: 0.01 ± 5 %}`, `
x.box.yaml:5:72: loss tangent of part C1: "0.01 ± 5 %" is a tolerance where a plain value belongs; write a value like 0.001
      C1: {kind: capacitor, nodes: [a, ground], value: 5 pF, loss tangent: 0.01 ± 5 %}
                                                                           ^^^^^^^^^^`},
	{"unquoted unknown", `  L1: {kind: inductor, nodes: [a, ground], value: ? 22 uH}`, "x.box.yaml:5:51: a lone `?` starts a YAML key; write an unknown value in quotes: \"? 22 uH\"\n      L1: {kind: inductor, nodes: [a, ground], value: ? 22 uH}\n                                                      ^"},
	{"one node", `  R2: {kind: resistor, nodes: [a], value: 5 ohm}`, `
x.box.yaml:5:31: nodes of part R2: 1 in the list, too few; write two nodes like [a, ground]
      R2: {kind: resistor, nodes: [a], value: 5 ohm}
                                  ^`},
	{"nodes are text", `  R2: {kind: resistor, nodes: a, value: 5 ohm}`, `
x.box.yaml:5:31: nodes of part R2: "a" where a list belongs; write two nodes like [a, ground]
      R2: {kind: resistor, nodes: a, value: 5 ohm}
                                  ^`},
	{"both ends on one node", `  R2: {kind: resistor, nodes: [b, b], value: 5 ohm}`, `
x.box.yaml:5:35: two ends of R2 are at node "b"; give each end its own node, or leave the part out
      R2: {kind: resistor, nodes: [b, b], value: 5 ohm}
                                      ^`},
	{"node without a name", `  R2: {kind: resistor, nodes: [b, ""], value: 5 ohm}`, "x.box.yaml:5:35: nodes of part R2: \"\" cannot be a name; use up to 60 printable signs, without `=`\n      R2: {kind: resistor, nodes: [b, \"\"], value: 5 ohm}\n                                      ^^"},
	{"node with an equals sign", `  R2: {kind: resistor, nodes: [b, x=y], value: 5 ohm}`, "x.box.yaml:5:35: nodes of part R2: \"x=y\" cannot be a name; use up to 60 printable signs, without `=`\n      R2: {kind: resistor, nodes: [b, x=y], value: 5 ohm}\n                                      ^^^"},
	{"duplicate part", `  R1: {kind: resistor, nodes: [a, ground], value: 5 ohm}`, `
x.box.yaml:5:3: "R1" stands here a second time; it is already in line 4; delete one of the two, or give it another name
      R1: {kind: resistor, nodes: [a, ground], value: 5 ohm}
      ^^`},
	{"duplicate key", `  R2: {kind: resistor, nodes: [a, ground], value: 5 ohm, value: 6 ohm}`, `
x.box.yaml:5:58: "value" stands here a second time; it is already in line 5; delete one of the two, or give it another name
      R2: {kind: resistor, nodes: [a, ground], value: 5 ohm, value: 6 ohm}
                                                             ^^^^^`},
	{"part name with an equals sign", `  R=2: {kind: resistor, nodes: [a, ground], value: 5 ohm}`, "x.box.yaml:5:3: parts of the box: \"R=2\" cannot be a name; use up to 60 printable signs, without `=`\n      R=2: {kind: resistor, nodes: [a, ground], value: 5 ohm}\n      ^^^"},
	{"Q and resistance", `  L1: {kind: inductor, nodes: [a, ground], value: 5 uH, resistance: 2 ohm, Q: 100}`, `
x.box.yaml:5:69: L1 has both "Q" and "resistance"; give one of them
      L1: {kind: inductor, nodes: [a, ground], value: 5 uH, resistance: 2 ohm, Q: 100}
                                                                        ^^^^^`},
	{"Q and esr", `  C1: {kind: capacitor, nodes: [a, ground], value: 5 pF, Q: 100, esr: 2 ohm}`, `
x.box.yaml:5:71: C1 has both "Q" and "esr"; give one of them
      C1: {kind: capacitor, nodes: [a, ground], value: 5 pF, Q: 100, esr: 2 ohm}
                                                                          ^^^^^`},
	{"Q is a range", `  L1: {kind: inductor, nodes: [a, ground], value: 5 uH, Q: 100 .. 200}`, `
x.box.yaml:5:60: Q of part L1: "100 .. 200" is a range where one Q belongs; write 180, or "? 100 .. 300" if it is not known
      L1: {kind: inductor, nodes: [a, ground], value: 5 uH, Q: 100 .. 200}
                                                               ^^^^^^^^^^`},
	{"min without max", `  C1: {kind: variable capacitor, nodes: [a, ground], min: 5 pF}`, `
x.box.yaml:5:3: C1 has only one of "min" and "max"; give both; one that is not known as "? 5 pF .. 30 pF"
      C1: {kind: variable capacitor, nodes: [a, ground], min: 5 pF}
      ^^`},
	{"min above max", `  C1: {kind: variable capacitor, nodes: [a, ground], min: 50 pF, max: 5 pF}`, `
x.box.yaml:5:59: the smallest value of C1 is not below its largest; exchange min and max
      C1: {kind: variable capacitor, nodes: [a, ground], min: 50 pF, max: 5 pF}
                                                              ^^^^^`},
	{"range falls", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 50 pF .. 5 pF}`, `
x.box.yaml:5:61: range of part C1: the range falls from 50 pF to 5 pF; write the lower end first: 5 pF .. 50 pF
      C1: {kind: variable capacitor, nodes: [a, ground], range: 50 pF .. 5 pF}
                                                                ^^^^^^^^^^^^^`},
	{"range and min", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF, max: 60 pF}`, "x.box.yaml:5:81: C1 has both \"range\" and \"max\"; give `range`, or `min` and `max`\n      C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF, max: 60 pF}\n                                                                                    ^^^^^"},
	{"no range", `  C1: {kind: variable capacitor, nodes: [a, ground]}`, "x.box.yaml:5:3: C1 has no range; add `range: 14 pF .. 390 pF`, or a table as its law\n      C1: {kind: variable capacitor, nodes: [a, ground]}\n      ^^"},
	{"unknown law", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF, law: logarithmic}`, `
x.box.yaml:5:81: law of part C1: unknown word "logarithmic"; known are linear, straight-line frequency, straight-line wavelength, log
      C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF, law: logarithmic}
                                                                                    ^^^^^^^^^^^`},
	{"table does not rise", `  C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF], [5, 20 pF], [5, 50 pF]]}}`, `
x.box.yaml:5:91: law of part C1: the readings of the table do not rise here; sort the rows by reading, each reading once
      C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF], [5, 20 pF], [5, 50 pF]]}}
                                                                                              ^`},
	{"table turns back", `  C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF], [5, 50 pF], [7, 50 pF], [10, 20 pF]]}}`, `
x.box.yaml:5:103: law of part C1: the values of the table turn back here; a dial's value only rises or only falls; correct the row
      C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF], [5, 50 pF], [7, 50 pF], [10, 20 pF]]}}
                                                                                                          ^`},
	{"table stands still", `  C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF], [10, 5 pF]]}}`, `
x.box.yaml:5:67: law of part C1: every row of the table has the same value; give the smallest and the largest value
      C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF], [10, 5 pF]]}}
                                                                      ^`},
	{"table with one row", `  C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF]]}}`, `
x.box.yaml:5:67: law of part C1: table of the law: 1 in the list, too few; write a list like [[0, 330 pF], [10, …]]
      C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF]]}}
                                                                      ^`},
	{"table of triples", `  C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF, 1], [1, 6 pF]]}}`, `
x.box.yaml:5:68: law of part C1: table of the law: a list where a pair belongs; write [a number from -1000000 to 1000000, like 5, a value like 330 pF]
      C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF, 1], [1, 6 pF]]}}
                                                                       ^`},
	{"table and range", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 6 pF, law: {table: [[0, 5 pF], [1, 6 pF]]}}`, `
x.box.yaml:5:80: C1 has a range and a table of values; delete the range: the table already has the end values
      C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 6 pF, law: {table: [[0, 5 pF], [1, 6 pF]]}}
                                                                                   ^`},
	{"table short of the scale", `  C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF], [9, 60 pF]]}}
controls: {K: {knob: C1, scale: 0 .. 10}}`, `
x.box.yaml:5:59: the table runs from 0 to 9, the knob's scale from 0 to 10; add rows for the ends of the scale
      C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF], [9, 60 pF]]}}
                                                              ^`},
	{"table with reverse", `  C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF], [10, 60 pF]]}}
controls: {K: {knob: C1, scale: 0 .. 10, reverse: true}}`, "x.box.yaml:5:59: a table and `reverse` contradict each other; delete `reverse`: the table already says which way the value goes\n      C1: {kind: variable capacitor, nodes: [a, ground], law: {table: [[0, 5 pF], [10, 60 pF]]}}\n                                                              ^"},
	{"turns do not fit the nodes", `  L1:
    kind: tapped coil
    nodes: [a, t, b]
    turns: [5]
    form: {diameter: 30 mm, length: 40 mm, wire: 0.5 mm}`, `
x.box.yaml:8:12: part L1: the numbers of turns do not fit the nodes; give 2, one for each section between two nodes
        turns: [5]
               ^`},
	{"turns do not fit the form", `  L1:
    kind: tapped coil
    nodes: [a, t, b]
    turns: [50, 60]
    form: {diameter: 30 mm, length: 40 mm, wire: 0.5 mm}`, `
x.box.yaml:9:11: part L1: coil length is 40 mm, but 110 turns of 0.5 mm need 55 mm: write a longer length, a thinner wire or fewer turns
        form: {diameter: 30 mm, length: 40 mm, wire: 0.5 mm}
              ^`},
	{"wire thicker than the coil", `  L1:
    kind: tapped coil
    nodes: [a, t, b]
    turns: [1, 1]
    form: {diameter: 3 mm, length: 40 mm, wire: 5 mm}`, `
x.box.yaml:9:49: part L1: coil wire is 0.005 m: write a wire thinner than the coil's diameter of 3 mm
        form: {diameter: 3 mm, length: 40 mm, wire: 5 mm}
                                                    ^^^^`},
	{"form without wire", `  L1:
    kind: tapped coil
    nodes: [a, t, b]
    turns: [5, 6]
    form: {diameter: 30 mm, length: 40 mm}`, "x.box.yaml:9:11: part L1: the form has no \"wire\"; add `wire: …`: a value like 0.5 mm\n        form: {diameter: 30 mm, length: 40 mm}\n              ^"},
	{"no turns", `  L1:
    kind: tapped coil
    nodes: [a, t]
    turns: [0]
    form: {diameter: 30 mm, length: 40 mm, wire: 0.5 mm}`, `
x.box.yaml:8:13: turns of part L1: 0 is out of range; write a number from 0.01 to 100000, like 14
        turns: [0]
                ^`},
	{"impossible couplings", `  T1:
    kind: coupled coils
    windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}, {nodes: [c, z], value: 1 uH}]
    couplings: [[1, 2, 0.9], [2, 3, 0.9], [1, 3, -0.9]]`, `
x.box.yaml:8:16: part T1: no coils can have these coupling factors together (their matrix has the negative eigenvalue -0.8); lower them
        couplings: [[1, 2, 0.9], [2, 3, 0.9], [1, 3, -0.9]]
                   ^`},
	{"coupling above one", `  T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], coupling: 1.2}`, `
x.box.yaml:5:111: coupling of part T1: 1.2 is out of range; write a number from -1 to 1, like 0.35, or "? 0.35" where it is not known
      T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], coupling: 1.2}
                                                                                                                  ^^^`},
	{"coupling and couplings", `  T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], coupling: 0.2, couplings: [[1, 2, 0.3]]}`, `
x.box.yaml:5:127: T1 has both "coupling" and "couplings"; give one of them
     coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], coupling: 0.2, couplings: [[1, 2, 0.3]]}
                                                                                                              ^`},
	{"no coupling", `  T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}]}`, `
x.box.yaml:5:3: T1 has none of coupling, couplings; give one of them
      T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}]}
      ^^`},
	{"winding that is not there", `  T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], couplings: [[1, 3, 0.2]]}`, `
x.box.yaml:5:113: T1 has only 2 windings; number them from 1 in the order of the file
     {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], couplings: [[1, 3, 0.2]]}
                                                                                                               ^`},
	{"pair coupled twice", `  T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], couplings: [[1, 2, 0.2], [2, 1, 0.3]]}`, `
x.box.yaml:5:126: part T1: this pair of windings stands here twice, or is one winding with itself; give each pair of different windings once
    ed coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], couplings: [[1, 2, 0.2], [2, 1, 0.3]]}
                                                                                                               ^`},
	{"coupling of two numbers", `  T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], couplings: [[1, 2]]}`, `
x.box.yaml:5:113: couplings of part T1: a list where a coupling belongs; write [winding, winding, factor] like [1, 2, 0.35]
      T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], couplings: [[1, 2]]}
                                                                                                                    ^`},
	{"half a winding", `  T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], couplings: [[1, 1.5, 0.2]]}`, `
x.box.yaml:5:117: couplings of part T1: 1.5 is not a whole number; write a whole number from 1 to 99, like 1
    kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}, {nodes: [b, y], value: 1 uH}], couplings: [[1, 1.5, 0.2]]}
                                                                                                                 ^^^`},
	{"one winding", `  T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}], coupling: 0.5}`, `
x.box.yaml:5:39: windings of part T1: 1 in the list, too few; write a list of {nodes: [p, q], value: 105 uH}
      T1: {kind: coupled coils, windings: [{nodes: [a, x], value: 1 uH}], coupling: 0.5}
                                          ^`},
	{"turns of a transformer", `  T1: {kind: transformer, nodes: [[a, x], [b, y]], turns: [9], value: 5 uH}`, `
x.box.yaml:5:59: part T1: the numbers of turns do not fit the windings; give 2, one for each winding
      T1: {kind: transformer, nodes: [[a, x], [b, y]], turns: [9], value: 5 uH}
                                                              ^`},
	{"winding on one node", `  T1: {kind: transformer, nodes: [[a, x], [b, b]], turns: [9, 3], value: 5 uH}`, `
x.box.yaml:5:47: two ends of winding 2 of T1 are at node "b"; give each end its own node, or leave the part out
      T1: {kind: transformer, nodes: [[a, x], [b, b]], turns: [9, 3], value: 5 uH}
                                                  ^`},
	{"three transformers in one", `  T1: {kind: transformer, nodes: [[a, x], [b, y], [c, z]], turns: [9, 3, 3], value: 5 uH, coupling: -0.9}`, `
x.box.yaml:5:101: part T1: no coils can have these coupling factors together (their matrix has the negative eigenvalue -0.8); lower them
      T1: {kind: transformer, nodes: [[a, x], [b, y], [c, z]], turns: [9, 3, 3], value: 5 uH, coupling: -0.9}
                                                                                                        ^^^^`},
	{"line faster than light", `  W1: {kind: line, nodes: [a, b], impedance: 50 ohm, velocity: 66, length: 3 m}`, `
x.box.yaml:5:64: velocity of part W1: 66 is out of range; write a number from 0.01 to 1, like 0.66
      W1: {kind: line, nodes: [a, b], impedance: 50 ohm, velocity: 66, length: 3 m}
                                                                   ^^`},
	{"loss without frequency", `  W1: {kind: line, nodes: [a, b], impedance: 50 ohm, velocity: 0.66, length: 3 m, loss: 4.2 dB/100m}`, `
x.box.yaml:5:89: loss of part W1: a line loss holds at one frequency; write 4.2 dB/100m at 10 MHz
      W1: {kind: line, nodes: [a, b], impedance: 50 ohm, velocity: 0.66, length: 3 m, loss: 4.2 dB/100m}
                                                                                            ^^^^^^^^^^^`},
	{"two-port for one-port", `  Z1: {kind: measured one-port, nodes: [a, b], file: two.s2p}`, `
x.box.yaml:5:54: part Z1: "two.s2p" is a 2-port file by its name; name a file ending in .s1p
      Z1: {kind: measured one-port, nodes: [a, b], file: two.s2p}
                                                         ^^^^^^^`},
	{"one-port for two-port", `  Z1: {kind: measured two-port, nodes: [a, b], file: one.s1p}`, `
x.box.yaml:5:54: part Z1: "one.s1p" is a 1-port file by its name; name a file ending in .s2p
      Z1: {kind: measured two-port, nodes: [a, b], file: one.s1p}
                                                         ^^^^^^^`},
	{"missing file", `  Z1: {kind: measured two-port, nodes: [a, b], file: gone.s2p}`, `
x.box.yaml:5:54: part Z1: gone.s2p: no such file; check the name and the folder
      Z1: {kind: measured two-port, nodes: [a, b], file: gone.s2p}
                                                         ^^^^^^^^`},
	{"file outside the folder", `  Z1: {kind: measured two-port, nodes: [a, b], file: ../two.s2p}`, `
x.box.yaml:5:54: part Z1: ../two.s2p: no such file; check the name and the folder
      Z1: {kind: measured two-port, nodes: [a, b], file: ../two.s2p}
                                                         ^^^^^^^^^^`},
	{"file is a folder", `  Z1: {kind: measured one-port, nodes: [a, b], file: folder.s1p}`, `
x.box.yaml:5:54: part Z1: folder.s1p: is a folder where a file belongs; name a file in it
      Z1: {kind: measured one-port, nodes: [a, b], file: folder.s1p}
                                                         ^^^^^^^^^^`},
	{"too few columns", `  Z1: {kind: measured two-port, nodes: [a, b], file: short.s2p}`, `
short.s2p:3:24: 8 numbers where a row has 9; write the frequency and 4 pairs of numbers
    1 0.1 0 0.9 0 0.9 0 0.1
                           ^`},
	{"terminal typo", `!box: B
terminals: {antenna: ant, receiver: b}
parts:
  R1: {kind: resistor, nodes: [amt, b], value: 50 ohm}`, `
x.box.yaml:2:22: no part and no contact is at node "ant"; did you mean "amt"?
    terminals: {antenna: ant, receiver: b}
                         ^^^`},
	{"terminal at ground", `!box: B
terminals: {antenna: a, receiver: ground}
parts:
  R1: {kind: resistor, nodes: [a, b], value: 50 ohm}`, `
x.box.yaml:2:35: the receiver socket is at ground; name the node of its inner contact
    terminals: {antenna: a, receiver: ground}
                                      ^^^^^^`},
	{"terminal missing", `!box: B
terminals: {antenna: a}
parts:
  R1: {kind: resistor, nodes: [a, b], value: 50 ohm}`, "x.box.yaml:2:12: the map of terminals has no \"receiver\"; add `receiver: …`: the name of a node\n    terminals: {antenna: a}\n               ^"},
	{"no parts", `!box: B
terminals: {antenna: a, receiver: b}`, "x.box.yaml:1:1: the box has no \"parts\"; add `parts: …`: a map of parts\n    box: B\n    ^"},
	{"parts are a list", `!box: B
terminals: {antenna: a, receiver: b}
parts: [R1]`, `
x.box.yaml:3:8: parts of the box: a list where parts belong; write a map from name to description, or {}
    parts: [R1]
           ^`},
	{"box is a list", `!- box: B`, "x.box.yaml:1:1: the box is a list where a map belongs; write `box: …` and what else it needs\n    - box: B\n    ^"},
	{"box is text", `!hello`, "x.box.yaml:1:1: the box is \"hello\" where a map belongs; write `box: …` and what else it needs\n    hello\n    ^^^^^"},
	{"too many parts", manyParts(), `
x.box.yaml:4:3: the box has 201 parts; keep it to 200; is this one box?
      R1: {kind: resistor, nodes: [a, b], value: 50 ohm}
      ^`},
	{"knob of an unknown part", `controls: {K: {knob: R2}}`, `
x.box.yaml:5:22: unknown part "R2"; did you mean "R1"?
    controls: {K: {knob: R2}}
                         ^^`},
	{"knob of a fixed part", `controls: {K: {knob: R1}}`, `
x.box.yaml:5:22: R1 is a resistor, which no knob can turn; make it a variable capacitor or variable inductor with a range
    controls: {K: {knob: R1}}
                         ^^`},
	{"one part on two knobs", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF}
controls:
  K: {knob: C1}
  J: {knob: [C1]}`, `
x.box.yaml:8:14: C1 is already turned by K; let one knob turn it
      J: {knob: [C1]}
                 ^^`},
	{"one part twice in a gang", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF}
controls:
  K: {knob: [C1, C1]}`, `
x.box.yaml:7:18: C1 stands twice in the gang; name it once
      K: {knob: [C1, C1]}
                     ^^`},
	{"neither knob nor switch", `controls: {K: {scale: 0 .. 10}}`, `
x.box.yaml:5:12: control K is neither a knob nor a switch; write {knob: C1} or {switch: {…}}
    controls: {K: {scale: 0 .. 10}}
               ^`},
	{"both knob and switch", `controls: {K: {knob: R1, switch: {a: {}}}}`, `
x.box.yaml:5:12: control K is both a knob and a switch; make two controls of it
    controls: {K: {knob: R1, switch: {a: {}}}}
               ^`},
	{"control is text", `controls: {K: R1}`, `
x.box.yaml:5:12: control K is neither a knob nor a switch; write {knob: C1} or {switch: {…}}
    controls: {K: R1}
               ^`},
	{"unknown key of a knob", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF}
controls: {K: {knob: C1, revers: true}}`, `
x.box.yaml:6:26: unknown key "revers" in control K; did you mean "reverse"?
    controls: {K: {knob: C1, revers: true}}
                             ^^^^^^`},
	{"reverse is no truth", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF}
controls: {K: {knob: C1, reverse: 1}}`, `
x.box.yaml:6:35: reverse of control K: "1" where true or false belongs; write true or false
    controls: {K: {knob: C1, reverse: 1}}
                                      ^`},
	{"scale of one number", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF}
controls: {K: {knob: C1, scale: 10}}`, `
x.box.yaml:6:33: scale of control K: 10 is no scale; write both ends with two dots between, like 0 .. 10 or 0 .. 100 %
    controls: {K: {knob: C1, scale: 10}}
                                    ^^`},
	{"scale without travel", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF}
controls: {K: {knob: C1, scale: 5 .. 5}}`, `
x.box.yaml:6:33: scale of control K: the ends of the scale do not differ by a usable step; write it like 0 .. 10 or 0 .. 100 %
    controls: {K: {knob: C1, scale: 5 .. 5}}
                                    ^^^^^^`},
	{"switch without positions", `controls: {S: {switch: {}}}`, `
x.box.yaml:5:24: control S has no position; write {in: {joins: [[a, b]]}, out: {}}
    controls: {S: {switch: {}}}
                           ^`},
	{"joins of one node", `controls: {S: {switch: {in: {joins: [[a]]}}}}`, `
x.box.yaml:5:38: joins of position in of control S: 1 in the list, too few; write a group of nodes like [b, t3]
    controls: {S: {switch: {in: {joins: [[a]]}}}}
                                         ^`},
	{"joins without inner brackets", `controls: {S: {switch: {in: {joins: [a, b]}}}}`, `
x.box.yaml:5:38: joins of position in of control S: "a" where a list belongs; write a group of nodes like [b, t3]
    controls: {S: {switch: {in: {joins: [a, b]}}}}
                                         ^`},
	{"unknown key of a position", `controls: {S: {switch: {in: {join: [[a, b]]}}}}`, `
x.box.yaml:5:30: unknown key "join" in position in of control S; did you mean "joins"?
    controls: {S: {switch: {in: {join: [[a, b]]}}}}
                                 ^^^^`},
	{"value of an unknown part", `controls: {S: {switch: {in: {values: {R2: 5 ohm}}}}}`, `
x.box.yaml:5:39: unknown part "R2"; did you mean "R1"?
    controls: {S: {switch: {in: {values: {R2: 5 ohm}}}}}
                                          ^^`},
	{"value of a part without one", `  Z1: {kind: measured one-port, nodes: [a, b], file: one.s1p}
controls: {S: {switch: {in: {values: {Z1: 5 ohm}}}}}`, `
x.box.yaml:6:39: Z1 is a measured one-port: a switch position cannot set its value; give the value to a resistor, capacitor, inductor, tapped coil or transformer
    controls: {S: {switch: {in: {values: {Z1: 5 ohm}}}}}
                                          ^^`},
	{"value in the wrong unit", `controls: {S: {switch: {in: {values: {R1: 5 pF}}}}}`, `
x.box.yaml:5:45: value of part R1: farad where ohm belongs; write a resistance like 5 ohm
    controls: {S: {switch: {in: {values: {R1: 5 pF}}}}}
                                                ^^`},
	{"start of a control that does not exist", `controls: {Path: {switch: {in: {}, out: {}}}}
start: {Paht: in}`, `
x.box.yaml:6:9: B has no control "Paht"; did you mean "Path"?
    start: {Paht: in}
            ^^^^`},
	{"start position that does not exist", `controls: {Path: {switch: {tuned: {}, out: {}}}}
start: {Path: tuend}`, `
x.box.yaml:6:15: Path has no position "tuend"; did you mean "tuned"?
    start: {Path: tuend}
                  ^^^^^`},
	{"start out of scale", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF}
controls: {K: {knob: C1, scale: 0 .. 10}}
start: {K: 11}`, `
x.box.yaml:7:12: K cannot stand at 11; its scale is 0 .. 10
    start: {K: 11}
               ^^`},
	{"start in percent", `  C1: {kind: variable capacitor, nodes: [a, ground], range: 5 pF .. 50 pF}
controls: {K: {knob: C1, scale: 0 .. 10}}
start: {K: 11 %}`, `
x.box.yaml:7:12: K is not marked in percent; give a reading on its scale, 0 .. 10
    start: {K: 11 %}
               ^^^^`},
	{"start is a list", `controls: {Path: {switch: {in: {}, out: {}}}}
start: {Path: [in]}`, "x.box.yaml:6:15: a list where a position belongs; write `Path: ` and a reading or the name of a position\n    start: {Path: [in]}\n                  ^"},
	{"start without controls", `start: {K: 11}`, `
x.box.yaml:5:9: B has no control "K"; this box has no controls
    start: {K: 11}
            ^`},
	{"anchor", `  C1: &c {kind: capacitor, nodes: [a, ground], value: 5 pF}`, `
x.box.yaml:5:7: YAML anchors and aliases (&) are not read; write the value out, or quote the text
      C1: &c {kind: capacitor, nodes: [a, ground], value: 5 pF}
          ^`},
	{"merge key", `  C1: {<<: {kind: capacitor}, nodes: [a, ground], value: 5 pF}`, `
x.box.yaml:5:8: YAML anchors and aliases (<<) are not read; write the value out, or quote the text
      C1: {<<: {kind: capacitor}, nodes: [a, ground], value: 5 pF}
           ^`},
	{"tab", "\tC1: {kind: capacitor, nodes: [a, ground], value: 5 pF}", `
x.box.yaml:5:1: a tab where YAML wants spaces; indent with spaces
    	C1: {kind: capacitor, nodes: [a, ground], value: 5 pF}
    ^`},
	{"too many nodes", "controls: {S: {switch: {on: {joins: [[a" + manyNodes() + "]]}}}}", `
x.box.yaml:4:3: parts and contacts are at 1003 nodes; keep it to 1000; is this one box?
      R1: {kind: resistor, nodes: [a, b], value: 50 ohm}
      ^`},
}
