package web

import (
	"knobwise/answer"
	"knobwise/bench/document"
	"knobwise/figure/schematic"
)

// The types below are what the page and the server say to each other. page/src/api.ts is generated from them.

// Bench is the folder: GET /api/bench.
type Bench struct {
	Folder  string `json:"folder"`
	Demo    bool   `json:"demo"`    // in memory: changes last as long as the program
	Changes int    `json:"changes"` // counts the times that anything in the folder changed
	Box     string `json:"box"`     // to open first
	Setup   string `json:"setup"`
	Boxes   []File `json:"boxes"`
	Setups  []File `json:"setups"`
}

// File is one box or setup file.
type File struct {
	File   string   `json:"file"`
	Name   string   `json:"name"`
	About  string   `json:"about"`
	Source string   `json:"source"` // of a setup, in a few words
	Load   string   `json:"load"`
	Error  *Problem `json:"error"`
}

// Problem is an error as the command would tell it.
type Problem struct {
	Message string `json:"message"` // one line: where, what, what to do instead
	Excerpt string `json:"excerpt"` // the source line with a caret, or empty
	File    string `json:"file"`
	Line    int    `json:"line"`
	Column  int    `json:"column"`
	// Inside is the range of frequencies that all measured files cover, where the question left it.
	Inside *answer.Range `json:"inside"`
}

// Box is what the page needs to know of a box: GET /api/box?file=…
type Box struct {
	File     string         `json:"file"`
	Version  string         `json:"version"`
	Name     string         `json:"name"`
	About    string         `json:"about"`
	Error    *Problem       `json:"error"` // of the file as it is now; the rest is its last good reading
	Controls []Control      `json:"controls"`
	Start    map[string]any `json:"start"` // control to reading: a number for a knob, a string for a switch
	Parts    []Part         `json:"parts"`
}

// Control is a knob or a switch.
type Control struct {
	Name      string   `json:"name"`
	Kind      string   `json:"kind"` // "knob" or "switch"
	From      float64  `json:"from"` // of a knob: what is printed at the anticlockwise stop
	To        float64  `json:"to"`
	Percent   bool     `json:"percent"`
	Parts     []string `json:"parts"`     // that a knob turns
	Positions []string `json:"positions"` // of a switch
}

// Part is one part with the values that may be changed.
type Part struct {
	Name   string  `json:"name"`
	Kind   string  `json:"kind"`
	About  string  `json:"about"`
	Fields []Field `json:"fields"`
}

// Field is one value of a part or of a setup.
type Field struct {
	Path  []string `json:"path"` // where it stands in the file
	Name  string   `json:"name"`
	Text  string   `json:"text"`  // as written; empty where it is not given
	Write string   `json:"write"` // what may be written
	About string   `json:"about"`
}

// Setup is what the page needs to know of a setup: GET /api/setup?file=…
type Setup struct {
	File    string   `json:"file"`
	Version string   `json:"version"`
	Name    string   `json:"name"`
	About   string   `json:"about"`
	Error   *Problem `json:"error"`
	Groups  []Group  `json:"groups"` // source, load, probe, sweep
	From    float64  `json:"from_hz"`
	To      float64  `json:"to_hz"`
	Points  int      `json:"points"`
	Log     bool     `json:"log"`
	Time    float64  `json:"time_s"` // of the generator's sweep; 0 where not given
}

// Group is the fields of one section of a setup.
type Group struct {
	Name   string  `json:"name"`
	Kind   string  `json:"kind"`
	About  string  `json:"about"`
	Fields []Field `json:"fields"`
}

// SweepRequest asks what a setting does: POST /api/sweep.
type SweepRequest struct {
	Box          string            `json:"box"`
	Setup        string            `json:"setup"`
	Source       string            `json:"source"`  // the setup whose source is connected instead; empty: setup's own
	Load         string            `json:"load"`    // the same for load and probe
	Setting      map[string]any    `json:"setting"` // controls left out stand where the box starts
	Span         *Span             `json:"span"`    // null: the setup's own
	Changes      []document.Change `json:"changes"` // to the box, not saved
	SetupChanges []document.Change `json:"setup_changes"`
	Cursor       *float64          `json:"cursor_hz"` // where reading and power budget are wanted; null: at the peak
	Peak         string            `json:"peak"`      // of which trace: "load_v" or "insertion_gain_db"
	Columns      []string          `json:"columns"`   // only these, with fewer digits, as a picture needs them; empty: all
	Reject       []float64         `json:"reject_hz"`
	Drawing      bool              `json:"drawing"` // send the schematic too
}

// Span is a range of frequencies to look at.
type Span struct {
	From   float64 `json:"from_hz"`
	To     float64 `json:"to_hz"`
	Points int     `json:"points"`
	Log    bool    `json:"log"`
}

// SweepReply is the answer: the same as the command's JSON, with the schematic.
type SweepReply struct {
	Sweep   answer.Sweep       `json:"sweep"`
	Span    Span               `json:"span"` // as it was run
	Drawing *schematic.Drawing `json:"drawing"`
}

// Step is one line of an answer that comes in pieces: to POST /api/lanes, whose question is a SweepRequest, and to POST
// /api/chart. The last line has what was asked for, or the error.
type Step struct {
	Done  answer.Number       `json:"done"` // the part of the work that is done
	Lanes *Lanes              `json:"lanes"`
	Chart *answer.TuningChart `json:"chart"`
	// Of POST /api/inside: the best values or the best circuit so far, and what was found.
	Values     []answer.FoundValue `json:"values"`
	Best       string              `json:"best"`
	Identified *answer.Identified  `json:"identified"`
	Compared   *answer.Compared    `json:"compared"`
	Proposed   *answer.Proposed    `json:"proposed"`
	Nothing    string              `json:"nothing"` // why there is nothing to find, and what to do; that is no error
	Error      *Problem            `json:"error"`
}

// Lanes is what every position of the switches can do.
type Lanes struct {
	Frequency answer.Column  `json:"frequency_hz"`
	Log       bool           `json:"log"`
	Lanes     []Lane         `json:"lanes"`
	Use       []answer.Use   `json:"use"`
	Gaps      []answer.Range `json:"gaps"`
	Silent    int            `json:"silent"` // combinations that let nothing through
}

// Lane is one combination of the switches that matter.
type Lane struct {
	Name     string          `json:"name"`
	Switches []Position      `json:"switches"` // those that matter, in panel order
	Peak     answer.Column   `json:"peak_db"`  // insertion gain of the strongest peak at each frequency; null where none can be placed
	Ranges   []answer.Range  `json:"ranges"`
	Knobs    []answer.Effect `json:"knobs"`
}

// Position is where a switch stands.
type Position struct {
	Control string `json:"control"`
	At      string `json:"at"`
}

// PlaceRequest asks where the knobs go for a peak at a frequency, with the switches of the setting: POST /api/place.
type PlaceRequest struct {
	SweepRequest
	Frequency float64 `json:"frequency_hz"`
}

// PlaceReply is the setting.
type PlaceReply struct {
	Setting   map[string]any `json:"setting"`
	Insertion answer.Number  `json:"insertion_gain_db"`
}

// ChartRequest asks for a tuning chart: POST /api/chart. The answer is an answer.TuningChart, or a file of it.
type ChartRequest struct {
	SweepRequest
	Frequencies []float64 `json:"frequencies_hz"`
	Format      string    `json:"format"` // "html" or "csv" for a file; empty: the chart itself
}

// ExportRequest asks for a file: POST /api/export.
type ExportRequest struct {
	SweepRequest
	Format    string  `json:"format"`        // "csv", "json", "svg", "png", "pdf", "s2p"; "circuit" is the drawing as SVG
	Dark      bool    `json:"dark"`          // pictures on a dark ground
	Reference float64 `json:"reference_ohm"` // of an s2p file; 0: 50 ohm
}

// SaveRequest keeps changes: PUT /api/file.
type SaveRequest struct {
	File    string            `json:"file"`
	Version string            `json:"version"` // that the page last saw
	Changes []document.Change `json:"changes"`
	Remarks []document.Remark `json:"remarks"`
}

// SaveReply is the version that was written.
type SaveReply struct {
	Version string `json:"version"`
}

// Conflict is the answer (status 409) to a save of a file that has changed since the page read it. Nothing was written;
// saving again with the new version writes the page's changes into the file as it is now.
type Conflict struct {
	Version string `json:"version"`
	Theirs  string `json:"theirs"` // the file as it is now
	Mine    string `json:"mine"`   // the same with the page's changes
}

// Failure is the body of every other answer that is not 200.
type Failure struct {
	Error Problem `json:"error"`
}

// Measurements is what was measured at a box: GET /api/measurements?box=…
type Measurements struct {
	List   []Measurement `json:"list"`
	Files  []string      `json:"files"`  // traces that they name, to choose a reference from
	Errors []Problem     `json:"errors"` // of files of measurements that cannot be read
}

// Measurement is one measured trace, not yet read.
type Measurement struct {
	File     string         `json:"file"`  // of measurements
	Index    int            `json:"index"` // in it, from 0
	Name     string         `json:"name"`
	Setup    string         `json:"setup"`
	Setting  map[string]any `json:"setting"`
	Doubtful []string       `json:"doubtful"` // controls whose reading is not certain
	Quantity string         `json:"quantity"`
}

// MeasuredRequest asks for a measured trace beside the model with changes that are not saved: POST /api/measured.
type MeasuredRequest struct {
	File    string            `json:"file"`
	Index   int               `json:"index"`
	Changes []document.Change `json:"changes"` // of the box
}

// Dropped is a trace that was dropped on the page, held in memory: the answer to POST /api/dropped?name=…, whose body is
// the file.
type Dropped struct {
	ID       string   `json:"id"`
	Name     string   `json:"name"`
	Quantity string   `json:"quantity"` // what it seems to hold
	Columns  []string `json:"columns"`  // of values
	OverTime bool     `json:"over_time"`
	Read     string   `json:"read"`  // how the table was read
	Error    *Problem `json:"error"` // why it cannot be read as it is; what was said of it may mend that
}

// NewMeasurement is a dropped trace with how it was taken, in the words of a file of measurements: POST /api/trial looks at
// it, POST /api/measurements keeps it in the folder.
type NewMeasurement struct {
	ID         string            `json:"id"`
	Box        string            `json:"box"`
	Changes    []document.Change `json:"changes"` // of the box, for the model beside it
	Name       string            `json:"name"`
	Setup      string            `json:"setup"`
	Setting    map[string]any    `json:"setting"`
	Doubtful   []string          `json:"doubtful"` // knobs whose reading is not certain
	Quantity   string            `json:"quantity"`
	Channel    string            `json:"channel"`
	Reference  string            `json:"reference"`
	Noise      string            `json:"noise"`
	LagOf      string            `json:"lag_of"`
	Deconvolve bool              `json:"deconvolve"`
	From       string            `json:"from"`
	To         string            `json:"to"`
	Time       string            `json:"time"`
	Spacing    string            `json:"spacing"`
	Start      string            `json:"start"` // of the sweep on the trace's clock
	Delimiter  string            `json:"delimiter"`
	Decimal    string            `json:"decimal"`
	Header     string            `json:"header"`
	Abscissa   string            `json:"abscissa"`
	Axis       string            `json:"axis"` // what that column is
	Unit       string            `json:"unit"` // of that column
	Interval   string            `json:"interval"`
}

// Trial is a dropped trace beside the model, and where it would be kept.
type Trial struct {
	Trace    string          `json:"trace"`
	File     string          `json:"file"`
	Measured answer.Measured `json:"measured"`
}

// Kept says where a trace was kept.
type Kept struct {
	Trace string `json:"trace"`
	File  string `json:"file"`
	Index int    `json:"index"` // among the measurements of the file, from 0
}

// InsideRequest asks what measured traces tell of the inside of a box: POST /api/inside. The answer comes in pieces.
type InsideRequest struct {
	File    string            `json:"file"`    // of measurements
	Changes []document.Change `json:"changes"` // of the box, not saved
	What    string            `json:"what"`    // "values", "circuits" (built-in ones compared) or "next" (what to measure)
}

// ScreenRequest asks for what an oscilloscope shows while the generator runs over the range in a time: POST /api/screen.
type ScreenRequest struct {
	SweepRequest
	Time float64 `json:"time_s"`
}

// Screen is the answer: the curve that the peaks of the carrier touch, V, and what it would be after an endless sweep.
type Screen struct {
	Time     answer.Column `json:"time_s"`
	Envelope answer.Column `json:"envelope_v"`
	Steady   answer.Column `json:"steady_v"`
}
