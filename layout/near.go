package layout

import (
	"fmt"
	"math"

	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// apartDefault is how close two marks may be before a fitter can no longer keep
// them apart, mm: two pencil lines and the spots' width between. Common practice.
const apartDefault = 8

// minApart returns the distance below which marks are reported.
func (c Choices) minApart() float64 {
	if c.MinApart > 0 {
		return c.MinApart
	}
	return apartDefault
}

// tooNear reports pairs of marks that are closer than a fitter can keep apart.
// Marks that touch or cross are meant to (a spot on its line, the D's ends on
// the baulk line) and are not reported; two lines along one another that overlap
// are.
func tooNear(marks []Mark, limit float64) []Finding {
	var out []Finding
	for i := range marks {
		for _, b := range marks[i+1:] {
			a := marks[i]
			if a.Group != "" && a.Group == b.Group {
				continue
			}
			d, overlap := apart(a, b)
			ids := []string{a.ID, b.ID}
			switch {
			case overlap:
				out = append(out, Finding{Marks: ids,
					Text: fmt.Sprintf("%s and %s lie on one another over a part of their length", a.ID, b.ID),
					Help: "draw the longer one once"})
			case d > mergeTol && d < limit:
				out = append(out, Finding{Marks: ids, Distance: geom.Millionth(d),
					Text: fmt.Sprintf("%s and %s are %s apart, less than %s", a.ID, b.ID, figure.MM(d), figure.MM(limit)),
					Help: "take another choice that brings them together or further apart, or leave one out"})
			}
		}
	}
	return out
}

// stroke is a straight piece of a mark; a spot is one of no length.
type stroke struct{ a, b [2]float64 }

// strokes returns the straight pieces of a mark that is not an arc.
func (m Mark) strokes() []stroke {
	p := m.places()
	if len(p) == 1 {
		return []stroke{{p[0], p[0]}}
	}
	if m.Kind == Line {
		return []stroke{{p[0], p[1]}}
	}
	var out []stroke
	for i := range p {
		out = append(out, stroke{p[i], p[(i+1)%len(p)]})
	}
	return out
}

// apart returns the least distance between two marks that do not touch, 0 for
// two that do, and whether straight pieces lie on one another. A straight piece
// is weighed against another only when they run the same way: two that cross or
// meet at an angle are told apart by eye.
func apart(a, b Mark) (d float64, overlap bool) {
	if a.Kind == Arc || b.Kind == Arc {
		return arcApart(a, b), false
	}
	d = math.Inf(1)
	for _, s := range a.strokes() {
		for _, t := range b.strokes() {
			if !alike(s, t) {
				if crossing(s, t) {
					return 0, false
				}
				continue
			}
			e := strokeApart(s, t)
			d = math.Min(d, e)
			overlap = overlap || e <= mergeTol && shared(s, t) > mergeTol
		}
	}
	return d, overlap
}

func (s stroke) vec() (x, y float64) { return s.b[0] - s.a[0], s.b[1] - s.a[1] }
func (s stroke) length() float64 {
	x, y := s.vec()
	return math.Hypot(x, y)
}

// alikeTol is the sine of the angle below which two lines run the same way: a
// hand's breadth in the length of a table, about 2 degrees.
const alikeTol = 0.035

// alike reports whether two pieces run the same way; a point runs every way.
func alike(s, t stroke) bool {
	n, m := s.length(), t.length()
	if n == 0 || m == 0 {
		return true
	}
	sx, sy := s.vec()
	tx, ty := t.vec()
	return math.Abs(float64(sx*ty)-float64(sy*tx)) <= alikeTol*n*m
}

// crossing reports whether two pieces touch or cross.
func crossing(s, t stroke) bool { return strokeApart(s, t) <= mergeTol }

// strokeApart is the least distance between two straight pieces.
func strokeApart(s, t stroke) float64 {
	if proper(s, t) {
		return 0
	}
	return min(pointApart(s.a, t), pointApart(s.b, t), pointApart(t.a, s), pointApart(t.b, s))
}

// proper reports whether the inner parts of two pieces cross.
func proper(s, t stroke) bool {
	turn := func(a, b, c [2]float64) float64 {
		return float64((b[0]-a[0])*(c[1]-a[1])) - float64((b[1]-a[1])*(c[0]-a[0]))
	}
	return turn(s.a, s.b, t.a)*turn(s.a, s.b, t.b) < 0 && turn(t.a, t.b, s.a)*turn(t.a, t.b, s.b) < 0
}

// along returns where the foot of the perpendicular from p lies on t, 0 at its
// start and 1 at its end, and 0 for a point.
func (s stroke) along(p [2]float64) float64 {
	x, y := s.vec()
	n := float64(x*x) + float64(y*y)
	if n == 0 {
		return 0
	}
	return (float64((p[0]-s.a[0])*x) + float64((p[1]-s.a[1])*y)) / n
}

// pointApart is the distance from a point to a straight piece.
func pointApart(p [2]float64, s stroke) float64 {
	k := math.Max(0, math.Min(1, s.along(p)))
	x, y := s.vec()
	return math.Hypot(s.a[0]+k*x-p[0], s.a[1]+k*y-p[1])
}

// shared is how much of s lies beside t, mm.
func shared(s, t stroke) float64 {
	lo, hi := s.along(t.a), s.along(t.b)
	if lo > hi {
		lo, hi = hi, lo
	}
	return (math.Min(1, hi) - math.Max(0, lo)) * s.length()
}

// arcApart is the distance between an arc and another mark, of which one is an
// arc. Two arcs are near when they are nearly one (same centre and radius, to
// within the sum of both differences); a spot or the ends of a line by their
// distance from the arc. A line that passes through is not weighed.
func arcApart(a, b Mark) float64 {
	if a.Kind == Arc && b.Kind == Arc {
		return math.Hypot(a.X-b.X, a.Y-b.Y) + math.Abs(a.Radius-b.Radius)
	}
	if b.Kind == Arc {
		a, b = b, a
	}
	d := math.Inf(1)
	for _, p := range b.places() {
		d = math.Min(d, a.distanceTo(p))
	}
	return d
}

// distanceTo is the distance from a point to an arc.
func (m Mark) distanceTo(p [2]float64) float64 {
	x, y := p[0]-m.X, p[1]-m.Y
	const turn = 360 * geom.Degree
	past := math.Mod(float64(geom.Vec{X: x, Y: y}.Angle()-m.Start+2*turn), float64(turn))
	if past <= float64(m.End-m.Start) {
		return math.Abs(math.Hypot(x, y) - m.Radius)
	}
	d := math.Inf(1)
	for _, e := range []geom.Angle{m.Start, m.End} {
		sin, cos := e.SinCos()
		d = math.Min(d, math.Hypot(x-m.Radius*cos, y-m.Radius*sin))
	}
	return d
}

// outside reports marks that do not lie on the playing surface.
func (r Request) outside(marks []Mark) []Finding {
	g := groundOf(r.Table, r.Balls)
	var out []Finding
	for _, m := range marks {
		worst := 0.0
		for _, p := range m.places() {
			x, y := p[0], p[1]
			worst = math.Max(worst, max(-x, -g.fromFoot(x, y), y-g.left.of(x), g.right.of(x)-y))
		}
		if worst > mergeTol {
			out = append(out, Finding{Marks: []string{m.ID}, Distance: geom.Millionth(worst),
				Text: fmt.Sprintf("%s lies %s beyond a cushion nose", m.ID, figure.MM(worst)),
				Help: "check the mark's position against the table's length and width"})
		}
	}
	return out
}
