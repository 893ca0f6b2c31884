package schematic

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// pen is path data before it is text: one command per step, its points in order (M and L one, C three, Z none).
type pen struct {
	steps  []byte
	points []Point
}

func (p *pen) move(x, y float64) *pen { return p.step('M', Point{x, y}) }
func (p *pen) line(x, y float64) *pen { return p.step('L', Point{x, y}) }
func (p *pen) close() *pen            { return p.step('Z') }

func (p *pen) step(c byte, points ...Point) *pen {
	p.steps = append(p.steps, c)
	p.points = append(p.points, points...)
	return p
}

// kappa makes a quarter circle of a cubic (error below 0.03 % of the radius).
const kappa = 0.5522847498

// hump is a half circle from the current point (x, y) to (x+2r, y), on the upper side.
func (p *pen) hump(x, y, r float64) *pen {
	k := kappa * r
	p.step('C', Point{x, y - k}, Point{x + r - k, y - r}, Point{x + r, y - r})
	return p.step('C', Point{x + r + k, y - r}, Point{x + 2*r, y - k}, Point{x + 2*r, y})
}

func (p *pen) oval(x, y, rx, ry float64) *pen {
	kx, ky := kappa*rx, kappa*ry
	p.move(x-rx, y)
	p.step('C', Point{x - rx, y - ky}, Point{x - kx, y - ry}, Point{x, y - ry})
	p.step('C', Point{x + kx, y - ry}, Point{x + rx, y - ky}, Point{x + rx, y})
	p.step('C', Point{x + rx, y + ky}, Point{x + kx, y + ry}, Point{x, y + ry})
	p.step('C', Point{x - kx, y + ry}, Point{x - rx, y + ky}, Point{x - rx, y})
	return p.close()
}

func (p *pen) rect(x, y, w, h float64) *pen {
	return p.move(x, y).line(x+w, y).line(x+w, y+h).line(x, y+h).close()
}

// data writes the path with at most two decimals.
func (p *pen) data() string {
	var b strings.Builder
	next := 0
	for _, c := range p.steps {
		b.WriteByte(c)
		n := map[byte]int{'M': 1, 'L': 1, 'C': 3}[c]
		for i, q := range p.points[next : next+n] {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(number(q.X) + "," + number(q.Y))
		}
		next += n
	}
	return b.String()
}

func number(v float64) string {
	v = math.Round(v*100) / 100
	if v == 0 {
		v = 0 // no negative zero
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// Line widths in pixels.
const (
	thin   = 1.2
	normal = 1.6
	plate  = 2.4
)

// symbol is a part's sign drawn from (0, 0) to (length, 0).
type symbol struct {
	length   float64
	up, down float64 // reach above and below the line
	paths    []Path
	ground   *Point // where a two-port is grounded
	free     []Terminal
	inside   string // text in the middle
}

func (s *symbol) draw(width float64, p *pen) { s.paths = append(s.paths, Path{Stroke: width, pen: *p}) }

func (s *symbol) fill(p *pen) { s.paths = append(s.paths, Path{Fill: true, pen: *p}) }

// mapped moves every point of the symbol.
func (s *symbol) mapped(f func(Point) Point) {
	for i := range s.paths {
		points := slices.Clone(s.paths[i].pen.points)
		for j := range points {
			points[j] = f(points[j])
		}
		s.paths[i].pen.points = points
	}
	if s.ground != nil {
		g := f(*s.ground)
		s.ground = &g
	}
	for i := range s.free {
		s.free[i].At = f(s.free[i].At)
	}
}

// vary adds the arrow of what can be varied, across the middle; it shall point up and to the right where the symbol
// stands upright, too.
func (s *symbol) vary(kind string, upright bool) {
	reachX, reachY := 17.0, 17.0
	if kind == "variable inductor" {
		reachX = 24
	}
	x := s.length / 2
	if upright {
		reachX = -reachX
	}
	s.draw(thin, new(pen).move(x-reachX, reachY).line(x+reachX, -reachY))
	// The head: its axis is the arrow's direction.
	l := math.Hypot(reachX, reachY)
	ux, uy := reachX/l, -reachY/l
	tipX, tipY := x+reachX+ux*2, -reachY+uy*2
	baseX, baseY := tipX-9*ux, tipY-9*uy
	s.fill(new(pen).move(tipX, tipY).line(baseX-3*uy, baseY+3*ux).line(baseX+3*uy, baseY-3*ux).close())
	s.up, s.down = max(s.up, reachY+4), max(s.down, reachY+2)
}

const humpRadius = 7.0

// humps draws n humps from x on and returns where they end.
func humps(x float64, n int) (*pen, float64) {
	p := new(pen).move(x, 0)
	for range n {
		p.hump(x, 0, humpRadius)
		x += 2 * humpRadius
	}
	return p, x
}

// symbolOf draws the sign of a part with two ends.
func symbolOf(kind string) symbol {
	var s symbol
	switch kind {
	case "resistor":
		s = symbol{length: 56, up: 8, down: 8}
		s.draw(normal, new(pen).move(0, 0).line(10, 0).move(46, 0).line(56, 0))
		s.draw(normal, new(pen).rect(10, -7, 36, 14))
	case "capacitor", "variable capacitor":
		s = symbol{length: 44, up: 16, down: 16}
		s.draw(normal, new(pen).move(0, 0).line(18.5, 0).move(25.5, 0).line(44, 0))
		s.draw(plate, new(pen).move(18.5, -15).line(18.5, 15).move(25.5, -15).line(25.5, 15))
	case "inductor", "variable inductor", "winding":
		n := 5
		s = symbol{up: humpRadius + 1, down: 2}
		p, end := humps(6, n)
		s.length = end + 6
		s.draw(normal, new(pen).move(0, 0).line(6, 0).move(end, 0).line(s.length, 0))
		s.draw(normal, p)
	case "crystal":
		s = symbol{length: 52, up: 17, down: 17}
		s.draw(normal, new(pen).move(0, 0).line(15, 0).move(37, 0).line(52, 0))
		s.draw(plate, new(pen).move(15, -11).line(15, 11).move(37, -11).line(37, 11))
		s.draw(normal, new(pen).rect(20, -16, 12, 32))
	case "line":
		// A coaxial cable: the inner conductor passes, the sheath is at ground.
		s = symbol{length: 96, up: 11, down: 11, ground: &Point{48, 10}}
		s.draw(normal, new(pen).move(0, 0).line(18, 0).move(82, 0).line(96, 0))
		k := kappa
		body := new(pen).move(18, -10).line(76, -10)
		body.step('C', Point{76 + 6*k, -10}, Point{82, -10 * k}, Point{82, 0})
		body.step('C', Point{82, 10 * k}, Point{76 + 6*k, 10}, Point{76, 10}).line(18, 10)
		s.draw(normal, body)
		s.draw(normal, new(pen).oval(18, 0, 6, 10))
		s.fill(new(pen).oval(18, 0, 1.6, 1.6))
	case "measured one-port":
		s = symbol{length: 72, up: 15, down: 15, inside: "Z"}
		s.draw(normal, new(pen).move(0, 0).line(12, 0).move(60, 0).line(72, 0))
		s.draw(normal, new(pen).rect(12, -14, 48, 28))
	case "measured two-port":
		s = symbol{length: 92, up: 21, down: 21, ground: &Point{46, 20}, inside: "S"}
		s.draw(normal, new(pen).move(0, 0).line(14, 0).move(78, 0).line(92, 0))
		s.draw(normal, new(pen).rect(14, -20, 64, 40))
	case "contact":
		s = symbol{length: 40, up: 7, down: 5}
		s.draw(normal, new(pen).move(0, 0).line(7, 0).move(33, 0).line(40, 0))
		s.draw(normal, new(pen).oval(10, 0, 3, 3))
		s.draw(normal, new(pen).oval(30, 0, 3, 3))
		s.draw(plate, new(pen).move(9, -5).line(31, -5))
	case "open end":
		s = symbol{length: 14, up: 4, down: 4}
		s.draw(normal, new(pen).move(0, 0).line(8, 0))
		s.draw(normal, new(pen).oval(11, 0, 3, 3))
	default:
		// A kind that is new to this package is a box with its name beside it.
		s = symbol{length: 72, up: 15, down: 15}
		s.draw(normal, new(pen).move(0, 0).line(12, 0).move(60, 0).line(72, 0))
		s.draw(normal, new(pen).rect(12, -14, 48, 28))
	}
	return s
}

// dot marks the dotted end of a winding, beside its first lead.
func (s *symbol) dot(atEnd bool) {
	x := 3.0
	if atEnd {
		x = s.length - 3
	}
	s.fill(new(pen).oval(x, -8, 2.2, 2.2))
	s.up = max(s.up, 11)
}
