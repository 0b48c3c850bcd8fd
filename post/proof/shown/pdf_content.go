package shown

import (
	"fmt"
	"math"

	"spotjig/post/proof"

	"spotjig/layout/geom"
)

// lexer splits a content stream into tokens: numbers, names, operators, and
// strings with their opening parenthesis.
type lexer struct {
	data []byte
	at   int
}

func isSpace(c byte) bool { return c == ' ' || c == '\n' || c == '\r' || c == '\t' }

func (l *lexer) next() (token []byte, ok bool) {
	for l.at < len(l.data) && isSpace(l.data[l.at]) {
		l.at++
	}
	if l.at >= len(l.data) {
		return nil, false
	}
	from := l.at
	switch l.data[from] {
	case '(':
		return l.text(), true
	case '[', ']':
		l.at++
		return l.data[from:l.at], true
	}
	for l.at < len(l.data) && !isSpace(l.data[l.at]) && l.data[l.at] != '(' && l.data[l.at] != ']' {
		l.at++
	}
	return l.data[from:l.at], true
}

// text reads a string to its closing parenthesis, escapes resolved (7.3.4.2).
func (l *lexer) text() []byte {
	out := []byte{'('}
	depth := 0
	for ; l.at < len(l.data); l.at++ {
		switch c := l.data[l.at]; {
		case c == '\\' && l.at+1 < len(l.data):
			l.at++
			e := l.data[l.at]
			if e == 'r' {
				e = '\r'
			}
			out = append(out, e)
			continue
		case c == '(':
			if depth++; depth == 1 {
				continue
			}
		case c == ')':
			if depth--; depth == 0 {
				l.at++
				return out
			}
		}
		out = append(out, l.data[l.at])
	}
	return out
}

// plainNumber reads a number as papers print it: sign, digits, point, digits.
func plainNumber(b []byte) (v float64, ok bool) {
	i, sign := 0, 1.0
	if len(b) > 0 && b[0] == '-' {
		i, sign = 1, -1
	}
	n, scale, digits := 0.0, 1.0, 0
	point := false
	for ; i < len(b); i++ {
		switch c := b[i]; {
		case c >= '0' && c <= '9':
			n = n*10 + float64(c-'0')
			digits++
			if point {
				scale *= 10
			}
		case c == '.' && !point:
			point = true
		default:
			return 0, false
		}
	}
	return sign * n / scale, digits > 0 && digits <= 15
}

// state is what q keeps and Q brings back.
type state struct {
	m       [6]float64
	line    float64
	clipped bool
}

// content runs a page's operators.
type content struct {
	lexer
	page  paperPage
	state state
	stack []state
	args  []float64
	str   []byte
	name  []byte
	font  string
	size  float64
	paths []stroke // the path being made
	open  stroke
	arena []proof.Curve // chains are cut from it
	from  int           // where the open chain begins in it
	at    geom.Point    // page frame
	begin geom.Point
	rect  proof.Box
	clip  bool // W was met
}

func (c *content) run() error {
	for {
		tok, ok := c.next()
		if !ok {
			break
		}
		if v, ok := plainNumber(tok); ok {
			c.args = append(c.args, v)
			continue
		}
		switch tok[0] {
		case '(':
			c.str = tok[1:]
			continue
		case '/':
			c.name = tok
			continue
		case '[', ']':
			continue
		}
		if err := c.operator(string(tok)); err != nil {
			return err
		}
		c.args = c.args[:0]
	}
	if len(c.stack) != 0 {
		return fmt.Errorf("%w: q without Q", errPDF)
	}
	return nil
}

// operands lists how many numbers each operator takes; -1 is any number.
func operands(op string) (n int, known bool) {
	switch op {
	case "q", "Q", "BT", "ET", "h", "S", "s", "f", "f*", "B", "B*", "b", "b*", "n", "W", "gs", "Tj":
		return 0, true
	case "J", "j", "w", "G", "g", "Tf":
		return 1, true
	case "Td", "m", "l":
		return 2, true
	case "RG", "rg":
		return 3, true
	case "re":
		return 4, true
	case "cm", "c":
		return 6, true
	case "d":
		return -1, true
	}
	return 0, false
}

func (c *content) operator(op string) error {
	n, known := operands(op)
	if !known || n >= 0 && len(c.args) != n {
		return fmt.Errorf("%w: operator %.20q with %d numbers", errPDF, op, len(c.args))
	}
	switch op {
	case "q":
		c.stack = append(c.stack, c.state)
	case "Q":
		if len(c.stack) == 0 {
			return fmt.Errorf("%w: Q without q", errPDF)
		}
		c.state, c.stack = c.stack[len(c.stack)-1], c.stack[:len(c.stack)-1]
	case "cm":
		c.state.m = times(c.args, c.state.m)
	case "w":
		c.state.line = c.args[0]
	case "Tf":
		c.size = c.args[0]
		if c.font != string(c.name) {
			c.font = string(c.name)
		}
	case "Td": // where a text stands is not looked at
	case "Tj":
		c.page.texts = append(c.page.texts, paperText{c.size, c.font, string(c.str), c.state.clipped})
	default:
		c.path(op)
	}
	return nil
}

// times is the matrix a followed by b (8.3.4).
func times(a []float64, b [6]float64) [6]float64 {
	return [6]float64{
		a[0]*b[0] + a[1]*b[2], a[0]*b[1] + a[1]*b[3],
		a[2]*b[0] + a[3]*b[2], a[2]*b[1] + a[3]*b[3],
		a[4]*b[0] + a[5]*b[2] + b[4], a[4]*b[1] + a[5]*b[3] + b[5],
	}
}

// to carries a pair of operands to the page, mm.
func (c *content) to(v []float64) geom.Point {
	m := c.state.m
	return geom.Point{X: (m[0]*v[0] + m[2]*v[1] + m[4]) * mmPerUnit, Y: (m[1]*v[0] + m[3]*v[1] + m[5]) * mmPerUnit}
}

// path runs the operators that make and paint paths.
func (c *content) path(op string) {
	switch op {
	case "m":
		c.endSubpath()
		c.at = c.to(c.args)
		c.begin = c.at
	case "l":
		c.line(c.to(c.args))
	case "c":
		c.cubic(c.to(c.args[:2]), c.to(c.args[2:4]), c.to(c.args[4:]))
	case "h":
		c.line(c.begin)
		c.endSubpath()
	case "re":
		c.endSubpath()
		a := c.to(c.args[:2])
		b := c.to([]float64{c.args[0] + c.args[2], c.args[1] + c.args[3]})
		c.rect = proof.Nothing().With(a).With(b)
		p := [4]geom.Point{a, {X: b.X, Y: a.Y}, b, {X: a.X, Y: b.Y}}
		for i := range p {
			c.put(proof.LineOf(p[i], p[(i+1)%4]))
		}
		c.endSubpath()
	case "W":
		c.clip = true
	case "n", "f", "f*":
		c.finish(false)
	case "S", "s", "B", "B*", "b", "b*":
		c.finish(true)
	}
}

// dot is how long a line must be to be looked at, mm; a shorter one goes from a point to itself.
const dot = 1e-9

func (c *content) line(to geom.Point) {
	if proof.Dist(c.at, to) > dot {
		c.put(proof.LineOf(c.at, to))
	}
	c.at = to
}

// cubic takes a Bézier curve for the arc through its ends and its middle.
func (c *content) cubic(p, q, to geom.Point) {
	a := c.at
	mid := geom.Point{X: (a.X + 3*p.X + 3*q.X + to.X) / 8, Y: (a.Y + 3*p.Y + 3*q.Y + to.Y) / 8}
	c.at = to
	chord := proof.Dist(a, to)
	if chord < dot {
		return
	}
	// The middle stands the rise off the chord; bulge is twice rise over chord.
	rise := ((mid.X-a.X)*(to.Y-a.Y) - (mid.Y-a.Y)*(to.X-a.X)) / chord
	k := proof.Bulged(a, to, 2*rise/chord)
	if math.Abs(rise) < dot {
		k = proof.LineOf(a, to)
	}
	c.put(k)
}

// arenaSize is how many curves room is made for at a time.
const arenaSize = 512

// put adds a curve to the open chain, which stays in one piece.
func (c *content) put(k proof.Curve) {
	if len(c.arena) == cap(c.arena) {
		open := c.arena[c.from:]
		c.arena = append(make([]proof.Curve, 0, arenaSize+2*len(open)), open...)
		c.from = 0
	}
	c.arena = append(c.arena, k)
}

func (c *content) endSubpath() {
	if n := len(c.arena); n > c.from {
		c.open.chain = c.arena[c.from:n:n]
		c.from = n
		c.paths = append(c.paths, c.open)
	}
	c.open = stroke{}
}

// finish paints the path, or makes it the clip.
func (c *content) finish(stroked bool) {
	c.endSubpath()
	if c.clip {
		if c.page.clip == proof.Nothing() {
			c.page.clip = c.rect
		}
		c.clip, c.state.clipped = false, true
	}
	if stroked {
		scale := math.Hypot(c.state.m[0], c.state.m[1])
		for _, p := range c.paths {
			p.width, p.clipped = c.state.line*scale*mmPerUnit, c.state.clipped
			c.page.strokes = append(c.page.strokes, p)
		}
	}
	c.paths = c.paths[:0]
}
