package family

// core is a circuit between node a, towards the antenna, and node b, towards the receiver. One that hangs its one node
// across the line has no b: the receiver is at a.
//
// Its arms are written as "role node node", 0 for ground. Roles are one letter, with a digit where a core has two alike:
// X and Y the variable capacitors, L the main coil, M a second coil, C a fixed capacitor, A a link winding towards the
// antenna, O a link winding towards the receiver. Windings, which all have one end at ground, say which arms are coupled.
type core struct {
	name  string
	about string // what lies between a and b, in that order
	// place is where the capacitor X is, to tell the two orders of the capacitors apart; empty where there is but one.
	place string
	arms  string
	// windings are the coupled arms, one word for each coil assembly.
	windings string
	// What may stand between the socket and the core beside nothing: C a series capacitor, R a series resistor, P a
	// parallel resistor. A capacitor only where the core has a shunt arm at that end: behind a series capacitor it would
	// only shorten that, behind a series coil it would be the series capacitor of another core. What the trade hardly
	// builds is left out, so that a family stays one that can be tried in a sitting.
	antenna, receiver string
	// both also puts a capacitor at each end.
	both bool
	// stray also gives the coil a capacitance of its own. Not where a variable capacitor is across the coil, which it would
	// only enlarge.
	stray bool
	// double marks two tuned circuits, whose coils a switch selects together.
	double bool
	// small and large are fixed capacitors of a coupling: at the top of two circuits, at their foot.
	small, large bool
}

// twoCapacitors are the circuits with two variable capacitors.
var twoCapacitors = []core{
	{
		name: "pi, low-pass", about: "a shunt capacitor, a series coil, a shunt capacitor", place: "at the antenna",
		arms: "X a 0, L a b, Y b 0", antenna: "CRP", receiver: "CR", both: true, stray: true,
	},
	{
		name: "T, high-pass", about: "a series capacitor, a coil to ground, a series capacitor", place: "at the antenna",
		arms: "X a m, L m 0, Y m b", antenna: "RP", receiver: "R", stray: true,
	},
	{
		name: "shunt tuned, receiver at the capacitive tap", about: "a coil to ground across two capacitors in series, the receiver between them", place: "above the tap",
		arms: "L a 0, X a b, Y b 0", antenna: "C", stray: true,
	},
	{
		name: "shunt tuned, antenna at the capacitive tap", about: "the point between two capacitors in series across a coil to ground, the receiver at the top of the coil", place: "above the tap",
		arms: "Y a 0, X a b, L b 0", receiver: "C", stray: true,
	},
	{
		name: "L, high-pass, coil towards the antenna, tuned", about: "a coil to ground with a capacitor across it, a series capacitor", place: "across the coil",
		arms: "L a 0, X a 0, Y a b", antenna: "C",
	},
	{
		name: "L, high-pass, coil towards the receiver, tuned", about: "a series capacitor, a coil to ground with a capacitor across it", place: "across the coil",
		arms: "Y a b, L b 0, X b 0", receiver: "C",
	},
	{
		name: "L, low-pass, coil towards the antenna, series capacitor behind it", about: "a series coil, a shunt capacitor, a series capacitor", place: "to ground",
		arms: "L a m, X m 0, Y m b", stray: true,
	},
	{
		name: "L, low-pass, coil towards the receiver, series capacitor before it", about: "a series capacitor, a shunt capacitor, a series coil", place: "to ground",
		arms: "Y a m, X m 0, L m b", stray: true,
	},
	{
		name: "series tuned, shunt capacitor at the antenna", about: "a shunt capacitor, a coil and a capacitor in series", place: "to ground",
		arms: "X a 0, L a m, Y m b", antenna: "C", stray: true,
	},
	{
		name: "series tuned, shunt capacitor at the receiver", about: "a coil and a capacitor in series, a shunt capacitor", place: "to ground",
		arms: "Y a m, L m b, X b 0", receiver: "CR", stray: true,
	},
	{
		name: "series tuned by both capacitors", about: "a capacitor, a coil and a capacitor in series",
		arms: "X a m, L m n, Y n b", stray: true,
	},
	{
		name: "shunt tuned by both capacitors", about: "a coil to ground with two capacitors across it",
		arms: "L a 0, X a 0, Y a 0", antenna: "CR", receiver: "C", both: true,
	},
	{
		name: "T, low-pass", about: "a series coil, two capacitors to ground, a series coil",
		arms: "L a m, X m 0, Y m 0, M m b",
	},
	{
		name: "pi-L, L towards the receiver", about: "a shunt capacitor, a series coil, a shunt capacitor, a series coil", place: "at the antenna",
		arms: "X a 0, L a m, Y m 0, M m b",
	},
	{
		name: "pi-L, L towards the antenna", about: "a series coil, a shunt capacitor, a series coil, a shunt capacitor", place: "in the middle",
		arms: "M a m, X m 0, L m b, Y b 0",
	},
	{
		name: "double tuned, coupled at the top", about: "a tuned circuit to ground, a coupling capacitor, a tuned circuit to ground", place: "at the antenna",
		arms: "L a 0, X a 0, C a b, M b 0, Y b 0", double: true, small: true, antenna: "C", receiver: "C", both: true,
	},
	{
		name: "double tuned, coupled at the foot by a capacitor", about: "two tuned circuits whose coils go to ground through one capacitor", place: "at the antenna",
		arms: "X a 0, L a f, C f 0, M b f, Y b 0", double: true, large: true, antenna: "C", receiver: "C", both: true,
	},
	{
		name: "double tuned, coupled by mutual or common inductance", about: "two tuned circuits to ground with mutual inductance (a coil common to both acts alike)", place: "at the antenna",
		arms: "L a 0, X a 0, M b 0, Y b 0", windings: "LM", double: true, antenna: "C", receiver: "C", both: true,
	},
	{
		name: "link to a tuned circuit, series capacitor", about: "a link on (or a tap of) a coil to ground with a capacitor across it, a series capacitor", place: "across the coil",
		arms: "A a 0, L t 0, X t 0, Y t b", windings: "LA",
	},
	{
		name: "link to a tuned circuit, receiver at the capacitive tap", about: "a link on a coil to ground across two capacitors in series, the receiver between them", place: "above the tap",
		arms: "A a 0, L t 0, X t b, Y b 0", windings: "LA",
	},
	{
		name: "link to a circuit tuned by both capacitors", about: "a link on (or a tap of) a coil to ground with two capacitors across it",
		arms: "A a 0, L b 0, X b 0, Y b 0", windings: "LA", receiver: "C",
	},
	{
		name: "series tuned link to a tuned circuit", about: "a capacitor in series with a link on a coil to ground with a capacitor across it", place: "across the coil",
		arms: "Y a l, A l 0, L b 0, X b 0", windings: "LA",
	},
	{
		name: "tuned circuit behind a series capacitor, link to the receiver", about: "a series capacitor, a coil to ground with a capacitor across it, a link on (or a tap of) the coil", place: "across the coil",
		arms: "Y a t, L t 0, X t 0, O b 0", windings: "LO",
	},
	{
		name: "tuned circuit with the antenna at the capacitive tap, link to the receiver", about: "the point between two capacitors in series across a coil to ground, a link on the coil", place: "above the tap",
		arms: "X t a, Y a 0, L t 0, O b 0", windings: "LO",
	},
	{
		name: "circuit tuned by both capacitors, link to the receiver", about: "a coil to ground with two capacitors across it, a link on (or a tap of) the coil",
		arms: "L a 0, X a 0, Y a 0, O b 0", windings: "LO", antenna: "C",
	},
	{
		name: "tuned circuit, series tuned link to the receiver", about: "a coil to ground with a capacitor across it, a link on the coil and a capacitor in series", place: "across the coil",
		arms: "L a 0, X a 0, O l 0, Y l b", windings: "LO",
	},
	{
		name: "circuit tuned by both capacitors, link at both ends", about: "a link on a coil with two capacitors across it, another link on the coil",
		arms: "A a 0, L t 0, X t 0, Y t 0, O b 0", windings: "LAO",
	},
	{
		name: "tuned circuit, link at both ends, series tuned at the antenna", about: "a capacitor in series with a link on a coil with a capacitor across it, another link on the coil", place: "across the coil",
		arms: "Y a l, A l 0, L t 0, X t 0, O b 0", windings: "LAO",
	},
	{
		name: "tuned circuit, link at both ends, series tuned at the receiver", about: "a link on a coil with a capacitor across it, another link on the coil and a capacitor in series", place: "across the coil",
		arms: "A a 0, L t 0, X t 0, O l 0, Y l b", windings: "LAO",
	},
	{
		name: "link to a double tuned circuit, coupled at the top", about: "a link on the first of two tuned circuits to ground, a coupling capacitor, the second circuit", place: "at the antenna",
		arms: "A a 0, L t 0, X t 0, C t b, M b 0, Y b 0", windings: "LA", double: true, small: true,
	},
	{
		name: "double tuned, coupled at the top, link to the receiver", about: "the first of two tuned circuits to ground, a coupling capacitor, a link on the second circuit", place: "at the antenna",
		arms: "M a 0, X a 0, C a t, L t 0, Y t 0, O b 0", windings: "LO", double: true, small: true,
	},
}

// oneCapacitor are the circuits with one variable capacitor.
var oneCapacitor = []core{
	{
		name: "L, low-pass, coil towards the antenna", about: "a series coil, a shunt capacitor",
		arms: "L a b, X b 0", antenna: "RP", receiver: "CR", stray: true,
	},
	{
		name: "L, low-pass, coil towards the receiver", about: "a shunt capacitor, a series coil",
		arms: "X a 0, L a b", antenna: "CR", receiver: "RP", stray: true,
	},
	{
		name: "L, high-pass, coil towards the antenna", about: "a coil to ground, a series capacitor",
		arms: "L a 0, X a b", antenna: "CR", receiver: "RP", stray: true,
	},
	{
		name: "L, high-pass, coil towards the receiver", about: "a series capacitor, a coil to ground",
		arms: "X a b, L b 0", antenna: "RP", receiver: "CR", stray: true,
	},
	{
		name: "series tuned", about: "a capacitor and a coil in series",
		arms: "X a m, L m b", antenna: "RP", receiver: "RP", stray: true,
	},
	{
		name: "shunt tuned", about: "a coil to ground with a capacitor across it",
		arms: "L a 0, X a 0", antenna: "CRP", receiver: "CRP", both: true,
	},
	{
		name: "pi, low-pass, fixed capacitor at the receiver", about: "a shunt capacitor, a series coil, a fixed shunt capacitor",
		arms: "X a 0, L a b, C b 0", antenna: "CR", receiver: "CR", both: true, stray: true,
	},
	{
		name: "pi, low-pass, fixed capacitor at the antenna", about: "a fixed shunt capacitor, a series coil, a shunt capacitor",
		arms: "C a 0, L a b, X b 0", antenna: "CR", receiver: "CR", both: true, stray: true,
	},
	{
		name: "series tuned, fixed shunt capacitor at the antenna", about: "a fixed shunt capacitor, a coil and a capacitor in series",
		arms: "C a 0, L a m, X m b", antenna: "C", receiver: "R", stray: true,
	},
	{
		name: "series tuned, fixed shunt capacitor at the receiver", about: "a coil and a capacitor in series, a fixed shunt capacitor",
		arms: "X a m, L m b, C b 0", antenna: "R", receiver: "C", stray: true,
	},
	{
		name: "shunt tuned, receiver at a fixed capacitive tap", about: "a coil to ground with a capacitor and two fixed capacitors in series across it, the receiver between these",
		arms: "L a 0, X a 0, C a b, C2 b 0", antenna: "C",
	},
	{
		name: "shunt tuned, antenna at a fixed capacitive tap", about: "the point between two fixed capacitors in series across a coil to ground with a capacitor across it, the receiver at the top",
		arms: "C2 a 0, C a b, L b 0, X b 0", receiver: "C",
	},
	{
		name: "shunt tuned, receiver at the capacitive tap, fixed capacitor below", about: "a coil to ground across a capacitor and a fixed capacitor in series, the receiver between them",
		arms: "L a 0, X a b, C b 0", antenna: "C", stray: true,
	},
	{
		name: "shunt tuned, receiver at the capacitive tap, fixed capacitor above", about: "a coil to ground across a fixed capacitor and a capacitor in series, the receiver between them",
		arms: "L a 0, C a b, X b 0", antenna: "C", stray: true,
	},
	{
		name: "shunt tuned, antenna at the capacitive tap, fixed capacitor below", about: "the point between a capacitor and a fixed capacitor in series across a coil to ground, the receiver at the top",
		arms: "C a 0, X a b, L b 0", receiver: "C", stray: true,
	},
	{
		name: "shunt tuned, antenna at the capacitive tap, fixed capacitor above", about: "the point between a fixed capacitor and a capacitor in series across a coil to ground, the receiver at the top",
		arms: "X a 0, C a b, L b 0", receiver: "C", stray: true,
	},
	{
		name: "T, low-pass", about: "a series coil, a capacitor to ground, a series coil",
		arms: "L a m, X m 0, M m b",
	},
	{
		name: "pi, high-pass", about: "a coil to ground, a series capacitor, a coil to ground",
		arms: "L a 0, X a b, M b 0",
	},
	{
		name: "double tuned, coupled at the top, fixed capacitor at the receiver", about: "a tuned circuit to ground, a coupling capacitor, a circuit of fixed tuning",
		arms: "L a 0, X a 0, C a b, M b 0, C2 b 0", double: true, small: true,
	},
	{
		name: "double tuned, coupled at the top, fixed capacitor at the antenna", about: "a circuit of fixed tuning, a coupling capacitor, a tuned circuit to ground",
		arms: "M a 0, C2 a 0, C a b, L b 0, X b 0", double: true, small: true,
	},
	{
		name: "double tuned, coupled by mutual or common inductance, fixed capacitor at the receiver", about: "a tuned circuit and one of fixed tuning with mutual inductance (a coil common to both acts alike)",
		arms: "L a 0, X a 0, M b 0, C b 0", windings: "LM", double: true,
	},
	{
		name: "double tuned, coupled by mutual or common inductance, fixed capacitor at the antenna", about: "a circuit of fixed tuning and a tuned one with mutual inductance (a coil common to both acts alike)",
		arms: "M a 0, C a 0, L b 0, X b 0", windings: "LM", double: true,
	},
	{
		name: "link to a tuned circuit", about: "a link on (or a tap of) a coil to ground with a capacitor across it",
		arms: "A a 0, L b 0, X b 0", windings: "LA", antenna: "CR", receiver: "CR",
	},
	{
		name: "link to a tuned circuit, receiver at a fixed capacitive tap", about: "a link on a coil to ground with a capacitor and two fixed capacitors in series across it, the receiver between these",
		arms: "A a 0, L t 0, X t 0, C t b, C2 b 0", windings: "LA",
	},
	{
		name: "series tuned link to a coil", about: "a capacitor in series with a link on a coil to ground",
		arms: "X a l, A l 0, L b 0", windings: "LA",
	},
	{
		name: "tuned circuit, link to the receiver", about: "a coil to ground with a capacitor across it, a link on (or a tap of) the coil",
		arms: "L a 0, X a 0, O b 0", windings: "LO", antenna: "CR", receiver: "CR",
	},
	{
		name: "tuned circuit with the antenna at a fixed capacitive tap, link to the receiver", about: "the point between two fixed capacitors in series across a coil to ground with a capacitor across it, a link on the coil",
		arms: "C2 a 0, C a t, L t 0, X t 0, O b 0", windings: "LO",
	},
	{
		name: "coil, series tuned link to the receiver", about: "a coil to ground, a link on the coil and a capacitor in series",
		arms: "L a 0, O l 0, X l b", windings: "LO",
	},
	{
		name: "tuned circuit, link at both ends", about: "a link on a coil with a capacitor across it, another link on the coil",
		arms: "A a 0, L t 0, X t 0, O b 0", windings: "LAO", antenna: "C", receiver: "C",
	},
}
