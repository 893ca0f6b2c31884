package schematic

// Point is a place.
type Point struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// Ground is the upper end of a ground sign, 18 pixels high and 16 wide; it is the node `ground`.
type Ground struct {
	Point
	Pale bool `json:"pale,omitempty"`
}

// Rect is an upright rectangle; X and Y are its upper left corner.
type Rect struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
	W float64 `json:"w"`
	H float64 `json:"h"`
}

// Labels name what the box is connected to.
type Labels struct{ Source, Load string }

// Drawing is a laid-out circuit.
type Drawing struct {
	Title     string       `json:"title"`
	About     string       `json:"about"` // for those who cannot see it
	Width     float64      `json:"width"`
	Height    float64      `json:"height"`
	Shapes    []Shape      `json:"shapes"`
	Wires     []Wire       `json:"wires"`
	Joints    []Point      `json:"joints"` // dots where three or more wires meet
	Grounds   []Ground     `json:"grounds"`
	Texts     []Text       `json:"texts"`
	Switches  []SwitchMark `json:"switches"`
	Dials     []DialMark   `json:"dials"`
	Gangs     []GangMark   `json:"gangs"`
	Couplings []Coupling   `json:"couplings"`
	Nodes     []NodeLabel  `json:"nodes"`
}

// Shape is the symbol of one part, of one winding of a part, of one contact, or of what is connected to the box.
type Shape struct {
	Part    string `json:"part,omitempty"`
	Winding int    `json:"winding,omitempty"` // from 1; 0 for a part drawn as one symbol
	Control string `json:"control,omitempty"` // of a contact: the switch that makes it
	// Kind is a kind of part as in box files, or "contact", "open contact", "open end", "antenna", "receiver".
	Kind      string     `json:"kind"`
	Paths     []Path     `json:"paths"`
	Label     Text       `json:"label"`           // the name and, in the second line, the value
	Value     string     `json:"value,omitempty"` // at this setting, such as "178.0 pF"
	Box       Rect       `json:"box"`             // bounds of the symbol
	Terminals []Terminal `json:"terminals"`
	Pale      bool       `json:"pale,omitempty"` // no current can pass at this setting
}

// Terminal is an end of a shape.
type Terminal struct {
	Node string `json:"node"`
	At   Point  `json:"at"`
	Free bool   `json:"free,omitempty"` // nothing is connected here
}

// Path is SVG path data with how it is drawn.
type Path struct {
	D      string  `json:"d"`
	Stroke float64 `json:"stroke,omitempty"` // width; 0 for none
	Fill   bool    `json:"fill,omitempty"`   // with the colour of the lines; else not filled
	Pale   bool    `json:"pale,omitempty"`   // the part of a coil that is not in use

	pen pen
}

// Wire is a line through points, all of one node.
type Wire struct {
	Node   string  `json:"node"`
	Points []Point `json:"points"`
	Pale   bool    `json:"pale,omitempty"`
}

// Text is one or two lines; At is the anchor on the base line of the first.
type Text struct {
	At     Point    `json:"at"`
	Lines  []string `json:"lines"`
	Anchor string   `json:"anchor"` // start, middle or end
	Size   float64  `json:"size"`
	Bold   bool     `json:"bold,omitempty"`
	Muted  bool     `json:"muted,omitempty"`
	Box    Rect     `json:"box"` // room kept for it
}

// NodeLabel names a node at a point of one of its wires or at a terminal. Equal names are one node.
type NodeLabel struct {
	Node string `json:"node"`
	At   Point  `json:"at"`
	Text Text   `json:"text"`
	Pale bool   `json:"pale,omitempty"`
}

// DialMark is the room for a knob's dial beside the part that it turns.
type DialMark struct {
	Control string  `json:"control"`
	Part    string  `json:"part"`
	Center  Point   `json:"center"`
	Radius  float64 `json:"radius"`
	Turn    float64 `json:"turn"`    // 0 at the anticlockwise stop, 1 at the clockwise
	Reading string  `json:"reading"` // as on the scale
	Title   Text    `json:"title"`
	Room    Rect    `json:"room"` // with the name above and the reading beside the dial
	Pale    bool    `json:"pale,omitempty"`
}

// GangMark is a further part of a gang, whose dial stands elsewhere.
type GangMark struct {
	Control string `json:"control"`
	Part    string `json:"part"`
	Center  Point  `json:"center"`
	Room    Rect   `json:"room"`
	Text    Text   `json:"text"`
}

// SwitchMark is the room for a switch: its name, and below it one pill per position in a column or, where there are many,
// in several.
type SwitchMark struct {
	Control  string `json:"control"`
	Position string `json:"position"` // the current one
	Room     Rect   `json:"room"`
	Title    Text   `json:"title"`
	Pills    []Pill `json:"pills"`
}

// Pill is the room for one position.
type Pill struct {
	Position string `json:"position"`
	Text     string `json:"text"` // the name, cut where it is very long
	Room     Rect   `json:"room"`
}

// Coupling marks two coupled windings: two lines between neighbours, else a bracket below the rail.
type Coupling struct {
	Part   string `json:"part"`
	First  int    `json:"first"`
	Second int    `json:"second"`
	Paths  []Path `json:"paths"`
	Text   Text   `json:"text"`
	Box    Rect   `json:"box"`
}
