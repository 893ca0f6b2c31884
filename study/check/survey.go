package check

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"math/cmplx"
	"strings"

	"knobwise/bench/box"
	"knobwise/bench/fault"
	"knobwise/bench/hookup"
)

// mostCombinations bounds how many combinations of switch positions are tried.
const mostCombinations = 4096

// positions tries every combination of switch positions: which short a socket, pass nothing or cannot be solved, which
// parts are never in play, which knobs never matter.
func (c *checker) positions() error {
	s := &survey{checker: c, frequencies: c.frequencies(), visits: map[*box.Position]int{}, inPlay: map[string]bool{}, matters: map[string]bool{}}
	if len(s.frequencies) == 0 {
		c.report.Notices = append(c.report.Notices, "the switch positions were not tried: the measured files have no frequency in common")
		return nil
	}
	var switches []*box.Control
	start := c.box.Start()
	for _, control := range c.box.Controls {
		if control.Knob != nil {
			s.knobs = append(s.knobs, control)
			continue
		}
		switches = append(switches, control)
		start[control.Name] = box.Reading{Word: control.Switch.Positions[0].Name}
	}
	var pairs, singles [][]*box.Control
	for i := range switches {
		singles = append(singles, switches[i:i+1])
		for j := range i {
			pairs = append(pairs, []*box.Control{switches[j], switches[i]})
		}
	}
	together := [][]*box.Control{switches}
	if combinations(together) > mostCombinations {
		differ := "one or two switches"
		if together = pairs; len(pairs) == 0 || combinations(pairs) > mostCombinations {
			together, differ = singles, "one switch"
		}
		c.report.Notices = append(c.report.Notices, fmt.Sprintf("the switches have more than %d combinations; only those that differ from the first positions by %s were tried", mostCombinations, differ))
	}
	for _, group := range together {
		if err := s.every(start, group); err != nil {
			return err
		}
	}
	s.conclude(switches)
	return nil
}

// combinations is the number of combinations of positions within each group of switches, added up, or more than
// mostCombinations.
func combinations(groups [][]*box.Control) int {
	sum := 0
	for _, group := range groups {
		product := 1
		for _, control := range group {
			product = min(product*len(control.Switch.Positions), mostCombinations+1)
		}
		sum += product
	}
	return sum
}

// survey gathers what is seen over all combinations of switch positions.
type survey struct {
	*checker
	frequencies []float64
	knobs       []*box.Control
	tried       int
	solved      int
	visits      map[*box.Position]int
	shorted     []outcome
	silent      []outcome
	unsolvable  []outcome
	inPlay      map[string]bool // parts that carried current somewhere
	matters     map[string]bool // knobs that changed the load's voltage somewhere
}

// outcome is a combination in which something happened.
type outcome struct {
	setting box.Setting
	what    string // the predicate of a sentence about the position
}

// every tries all positions of the given switches, the others as they stand.
func (s *survey) every(setting box.Setting, switches []*box.Control) error {
	if len(switches) == 0 {
		return s.look(setting)
	}
	first := switches[0]
	before := setting[first.Name]
	for _, position := range first.Switch.Positions {
		setting[first.Name] = box.Reading{Word: position.Name}
		if err := s.every(setting, switches[1:]); err != nil {
			return err
		}
	}
	setting[first.Name] = before
	return nil
}

// Where knobs stand while switches are tried, as fractions of their travel: off the middle, and moved to either end.
const offMiddle = 0.37

var ends = []float64{0, 1}

// notable is the relative change of the load's voltage above which a knob matters, and the share of the current entering
// the box above which a part is in play: far below what anyone could measure, far above rounding.
const notable = 1e-9

// nothing is the load's voltage in volt, for an emf of 1 V, below which no signal comes through.
const nothing = 1e-12

func (s *survey) look(setting box.Setting) error {
	s.tried++
	for _, control := range s.box.Controls {
		if control.Switch != nil {
			s.visits[control.Switch.Position(setting[control.Name].Word)]++
		}
	}
	for _, control := range s.knobs {
		turn(setting, control, offMiddle)
	}
	h, err := hookup.Connect(s.box, setting, s.setup)
	if err != nil {
		return err
	}
	base, err := s.responses(h, true)
	if f, ok := errors.AsType[*fault.Error](err); ok && f.Kind == fault.Unsolvable {
		s.unsolvable = append(s.unsolvable, outcome{maps.Clone(setting), "leaves the circuit without a unique solution"})
		return nil
	}
	if err != nil {
		return err
	}
	s.solved++
	loudest := 0.0
	for _, v := range base {
		loudest = max(loudest, cmplx.Abs(v))
	}
	switch {
	case h.Grounded(s.box.Antenna):
		s.shorted = append(s.shorted, outcome{maps.Clone(setting), "shorts the antenna socket to ground"})
	case h.Grounded(s.box.Receiver):
		s.shorted = append(s.shorted, outcome{maps.Clone(setting), "shorts the receiver socket to ground"})
	case loudest < nothing:
		s.silent = append(s.silent, outcome{maps.Clone(setting), "lets nothing through to the receiver"})
	}
	for _, control := range s.knobs {
		for _, x := range ends {
			if s.matters[control.Name] {
				break
			}
			turn(setting, control, x)
			h, err := hookup.Connect(s.box, setting, s.setup)
			if err != nil {
				return err
			}
			moved, err := s.responses(h, false)
			for i := range moved {
				if err == nil && cmplx.Abs(moved[i]-base[i]) > notable*cmplx.Abs(base[i]) {
					s.matters[control.Name] = true
				}
			}
		}
		turn(setting, control, offMiddle)
	}
	return nil
}

// turn puts a knob at a fraction of its travel.
func turn(setting box.Setting, control *box.Control, x float64) {
	k := control.Knob
	setting[control.Name] = box.Reading{Number: k.From + (k.To-k.From)*x}
}

// responses is the load's voltage at each frequency; with parts it also notes which parts carry current. A part behind an
// open input counts where a current from the receiver socket reaches it.
func (s *survey) responses(h *hookup.Hookup, parts bool) ([]complex128, error) {
	var load []complex128
	for _, f := range s.frequencies {
		r, err := h.Response(f)
		if err != nil {
			return nil, err
		}
		load = append(load, r.Load)
		for _, p := range h.Placed {
			if parts && h.Activity(p) > notable {
				s.inPlay[p.Part.Name] = true
			}
		}
	}
	return load, nil
}

// frequencies are those of the generic setup that every measured part of the box covers, or those that the measured parts
// have in common where that leaves none.
func (c *checker) frequencies() []float64 {
	low, high := 0.0, math.Inf(1)
	for _, p := range c.box.Parts {
		if m := p.Measured(); m != nil {
			first, last := m.Range()
			low, high = max(low, first), min(high, last)
		}
	}
	s := c.setup.Sweep
	if low > s.To || high < s.From {
		s.From, s.To = low, high
	} else {
		s.From, s.To = max(low, s.From), min(high, s.To)
	}
	if s.From > s.To || s.To <= 0 {
		return nil
	}
	s.Log = s.From > 0
	return s.Frequencies()
}

func (s *survey) conclude(switches []*box.Control) {
	s.blame(switches, s.shorted, "check its joins; a switch that grounds an antenna on purpose is right")
	s.blame(switches, s.silent, "check its joins, or leave it if the position is meant to be off")
	s.blame(switches, s.unsolvable, "give the lossless coils in it a Q, or a coupling below 1")
	if s.solved == 0 {
		return
	}
	for _, p := range s.box.Parts {
		if !s.inPlay[p.Name] {
			s.found(p.Node().Place(), fmt.Sprintf("%s carries no current in any switch position", p.Name), "check its nodes and the switch contacts")
		}
	}
	for _, control := range s.knobs {
		if !s.matters[control.Name] {
			s.found(control.Node().Place(), fmt.Sprintf("%s changes nothing in any switch position", control.Name), "check the nodes of "+partNames(control.Knob))
		}
	}
}

func partNames(k *box.Knob) string {
	var names []string
	for _, p := range k.Parts {
		names = append(names, p.Name)
	}
	return strings.Join(names, ", ")
}

// blame names the switch positions that always have the outcome whatever the other switches do; what happens only in
// combinations is told as a number of combinations with the first of them.
func (s *survey) blame(switches []*box.Control, outcomes []outcome, instead string) {
	if len(outcomes) == 0 {
		return
	}
	if len(outcomes) == s.tried {
		s.found(s.box.Document.Root.Get("terminals").Place(), "every setting "+outcomes[0].what, instead)
		return
	}
	rest := outcomes
	for _, control := range switches {
		for _, position := range control.Switch.Positions {
			var here, elsewhere []outcome
			for _, o := range outcomes {
				if o.setting[control.Name].Word == position.Name {
					here = append(here, o)
				}
			}
			if len(here) == 0 || len(here) != s.visits[position] {
				continue
			}
			for _, o := range rest {
				if o.setting[control.Name].Word != position.Name {
					elsewhere = append(elsewhere, o)
				}
			}
			rest = elsewhere
			s.found(position.Node().Place(), fmt.Sprintf("position %s of %s %s", position.Name, control.Name, here[0].what), instead)
		}
	}
	if len(rest) == 0 {
		return
	}
	var where []string
	for _, control := range switches {
		where = append(where, control.Name+" "+rest[0].setting[control.Name].Word)
	}
	many := ""
	if len(rest) > 1 {
		many = fmt.Sprintf(" (one of %d combinations that do)", len(rest))
	}
	s.found(s.box.Document.Root.Get("controls").Place(), fmt.Sprintf("the combination %s %s%s", strings.Join(where, ", "), rest[0].what, many), instead)
}
