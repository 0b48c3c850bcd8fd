package view

import (
	"math"
	"strings"

	"spotjig/layout/geom"
)

// Decimals of a coordinate in markup: thousandths where the proof compares shapes,
// hundredths in the animation, which only shows them.
const (
	fine   = 3
	coarse = 2
)

// quarter is the bulge of a quarter circle. Longer arcs are written as two,
// because the centre that a renderer works out from rounded ends and a rounded
// radius runs away as an arc nears half a circle.
var quarter = math.Tan(math.Pi / 8)

// pen writes path data; each coordinate is rounded once, and relative steps are
// taken between rounded places, so that errors do not add up.
type pen struct {
	b        strings.Builder
	decimals int
	relative bool
	at       geom.Point // rounded
}

func (p *pen) round(q geom.Point) geom.Point {
	k := 100.0
	if p.decimals == fine {
		k = 1000
	}
	return geom.Point{X: math.Round(q.X*k) / k, Y: math.Round(q.Y*k) / k}
}

// pair writes the place q, after a command letter.
func (p *pen) pair(q geom.Point) {
	r := p.round(q)
	x, y := r.X, r.Y
	if p.relative {
		x, y = x-p.at.X, y-p.at.Y
	}
	p.b.WriteString(num(x, p.decimals))
	ys := num(y, p.decimals)
	if ys[0] != '-' {
		p.b.WriteByte(' ')
	}
	p.b.WriteString(ys)
	p.at = r
}

func (p *pen) letter(abs string) {
	if p.relative {
		abs = strings.ToLower(abs)
	}
	p.b.WriteString(abs)
}

// move starts a chain at q; it is always absolute.
func (p *pen) move(q geom.Point) {
	was := p.relative
	p.relative = false
	p.b.WriteByte('M')
	p.pair(q)
	p.relative = was
}

// segment draws s from where the pen stands.
func (p *pen) segment(s geom.Segment) {
	if !s.IsArc() {
		p.letter("L")
		p.pair(s.To)
		return
	}
	if math.Abs(s.Bulge) > quarter*1.000001 {
		a, b := s.Split(0.5)
		p.segment(a)
		p.segment(b)
		return
	}
	r := num(s.Radius(), p.decimals+1)
	p.letter("A")
	p.b.WriteString(r + " " + r + " 0 0 ")
	if s.Bulge > 0 {
		p.b.WriteString("1 ")
	} else {
		p.b.WriteString("0 ")
	}
	p.pair(s.To)
}

func (p *pen) contour(c geom.Contour) {
	if c.IsEmpty() {
		return
	}
	p.move(c.Start())
	for i := range c.Len() {
		p.segment(c.Segment(i))
	}
	if c.Closed() {
		p.b.WriteByte('Z')
	}
}

// pathData writes the contours as one path, in their own frame: counter-
// clockwise arcs carry sweep flag 1 because the pictures flip y as a whole.
func pathData(cs ...geom.Contour) string {
	p := pen{decimals: fine}
	for _, c := range cs {
		p.contour(c)
	}
	return p.b.String()
}
