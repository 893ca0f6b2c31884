// Package schematic lays out the circuit of a box at one setting as a textbook would draw it, and draws it: from the
// antenna to the receiver as one signal line above a ground rail.
//
// Layout gives plain data (shapes, wires, room for dials and switches, texts), of which SVG is one rendering and the live
// page another. Lengths are CSS pixels, x to the right, y downwards.
//
// How a circuit is read: series and parallel parts are merged until a few nodes remain; the nodes between antenna and
// receiver make the line; what goes from a node of the line to ground hangs below it; what bridges two of its nodes arcs
// above it. Whatever fits none of this stands below the rail with the names of its nodes, which then also stand at the
// line: equal names are one node. Parts that no current can pass at this setting stand there too, pale.
//
// Nothing overlaps and no two nodes cross, by construction: every pattern is a block that knows its bounds, and blocks
// are only placed beside or above one another. The package will not move anything by hand, compute anything about the
// circuit but the values shown, or leave a part out.
//
// A closed contact is drawn between the nodes that it joins, so the wires of one node and those of the node joined to it
// are told apart. Equal boxes at equal settings give equal drawings.
package schematic
