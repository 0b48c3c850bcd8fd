package geom

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// joinTol: ends closer than this are one vertex. A tenth of the last printed digit
// (0.0001 mm), and far above rounding error on a 3.6 m table (about 1e-12 mm).
const joinTol = 0.00001

// boxTol: what is further off than something by less than this is looked at exactly, mm. It
// is far above rounding on a 3.6 m table, so that a look at boxes first changes no answer.
const boxTol = 1e-9

// Vertex is the start of one segment of a contour: a place, and the bulge of
// the segment that begins there.
type Vertex struct {
	At    Point
	Bulge float64
}

// Contour is an open or closed chain of lines and arcs. The zero value is the
// empty contour. A Contour never changes after it is made. Outer boundaries run
// counter-clockwise, openings clockwise.
type Contour struct {
	closed bool
	v      []Vertex
}

// ErrShape is wrapped by every error of NewClosed, NewOpen and Offset.
var ErrShape = errors.New("shape")

// NewClosed returns the closed contour through the vertices, in order; the
// last segment runs back to the first vertex. Vertices nearer than joinTol to
// the one before (on a line) are dropped. It refuses fewer than two vertices,
// numbers that are not finite and a bulge beyond half a circle.
func NewClosed(v ...Vertex) (Contour, error) { return newContour(true, v) }

// NewOpen returns the open chain through the vertices; the last bulge is ignored.
func NewOpen(v ...Vertex) (Contour, error) { return newContour(false, v) }

// MustClosed is NewClosed for shapes whose vertices the program itself computed;
// it panics on what NewClosed refuses, because that is a bug.
func MustClosed(v ...Vertex) Contour {
	c, err := NewClosed(v...)
	if err != nil {
		panic("geom: internal error: " + err.Error())
	}
	return c
}

// MustOpen is NewOpen with the panic of MustClosed.
func MustOpen(v ...Vertex) Contour {
	c, err := NewOpen(v...)
	if err != nil {
		panic("geom: internal error: " + err.Error())
	}
	return c
}

func newContour(closed bool, in []Vertex) (Contour, error) {
	out := make([]Vertex, 0, len(in))
	for i, v := range in {
		if bad(v.At.X) || bad(v.At.Y) || bad(v.Bulge) {
			return Contour{}, fmt.Errorf("%w: vertex %d is not finite", ErrShape, i)
		}
		if math.Abs(v.Bulge) > 1+1e-12 {
			return Contour{}, fmt.Errorf("%w: vertex %d starts an arc of more than half a circle", ErrShape, i)
		}
		if n := len(out); n > 0 && out[n-1].At.Dist(v.At) < joinTol {
			out[n-1].Bulge = v.Bulge
			continue
		}
		out = append(out, v)
	}
	if n := len(out); closed && n > 1 && out[n-1].At.Dist(out[0].At) < joinTol {
		out = out[:n-1]
	}
	if len(out) < 2 {
		return Contour{}, fmt.Errorf("%w: fewer than two distinct vertices", ErrShape)
	}
	if !closed {
		out[len(out)-1].Bulge = 0
	}
	return Contour{closed, out}, nil
}

func bad(f float64) bool { return math.IsNaN(f) || math.IsInf(f, 0) }

// Rect returns the closed counter-clockwise rectangle of the box.
func Rect(b Box) Contour {
	return MustClosed(Vertex{b.Min, 0}, Vertex{Point{b.Max.X, b.Min.Y}, 0}, Vertex{b.Max, 0}, Vertex{Point{b.Min.X, b.Max.Y}, 0})
}

// Circle returns a full circle as two counter-clockwise half circles that
// start at its leftmost point.
func Circle(c Point, r float64) Contour {
	return MustClosed(Vertex{Point{c.X - r, c.Y}, 1}, Vertex{Point{c.X + r, c.Y}, 1})
}

// IsEmpty reports whether the contour has no segment.
func (c Contour) IsEmpty() bool { return len(c.v) == 0 }

// Closed reports whether the chain returns to its start.
func (c Contour) Closed() bool { return c.closed }

// Len returns the number of segments.
func (c Contour) Len() int {
	if c.closed || len(c.v) == 0 {
		return len(c.v)
	}
	return len(c.v) - 1
}

// Vertices returns a copy of the vertices.
func (c Contour) Vertices() []Vertex { return append([]Vertex(nil), c.v...) }

// Segment returns segment i, 0 <= i < Len().
func (c Contour) Segment(i int) Segment {
	return Segment{c.v[i].At, c.v[(i+1)%len(c.v)].At, c.v[i].Bulge}
}

// Segments returns all segments in order.
func (c Contour) Segments() []Segment {
	out := make([]Segment, c.Len())
	for i := range out {
		out[i] = c.Segment(i)
	}
	return out
}

// Start returns the first vertex's place; the zero Point for an empty contour.
func (c Contour) Start() Point {
	if len(c.v) == 0 {
		return Point{}
	}
	return c.v[0].At
}

// End returns where the chain ends: its start if closed.
func (c Contour) End() Point {
	if c.closed || len(c.v) == 0 {
		return c.Start()
	}
	return c.v[len(c.v)-1].At
}

// Length returns the length along the contour in mm.
func (c Contour) Length() float64 {
	l := 0.0
	for i := 0; i < c.Len(); i++ {
		l += c.Segment(i).Length()
	}
	return l
}

// Area returns the signed area in mm², positive counter-clockwise; 0 for an
// open chain. The shoelace sum of the chords plus each arc's circular segment,
// r²(sweep - sin sweep)/2.
func (c Contour) Area() float64 {
	if !c.closed {
		return 0
	}
	a := 0.0
	o := c.Start()
	for i := 0; i < c.Len(); i++ {
		s := c.Segment(i)
		a += s.From.Sub(o).Cross(s.To.Sub(o)) / 2
		if s.IsArc() {
			r, w := s.Radius(), float64(s.Sweep())
			a += r * r * (w - math.Sin(w)) / 2
		}
	}
	return a
}

// Bounds returns the exact box.
func (c Contour) Bounds() Box {
	b := EmptyBox()
	for i := range c.Len() {
		if c.v[i].Bulge == 0 { // its far end begins the next, or ends the chain
			b = b.Include(c.v[i].At)
			continue
		}
		b = b.Union(c.Segment(i).Bounds())
	}
	if !c.closed && len(c.v) > 0 {
		b = b.Include(c.End())
	}
	return b
}

// Reversed returns the contour travelled the other way, from the same start if closed.
func (c Contour) Reversed() Contour {
	n := len(c.v)
	out := make([]Vertex, n)
	for i := range out {
		if c.closed {
			out[i] = Vertex{c.v[(n-i)%n].At, -c.v[(n-1-i)%n].Bulge}
		} else {
			out[i] = Vertex{c.v[n-1-i].At, 0}
			if i < n-1 {
				out[i].Bulge = -c.v[n-2-i].Bulge
			}
		}
	}
	return Contour{c.closed, out}
}

// Transform returns the contour moved into another frame.
func (c Contour) Transform(m Placement) Contour {
	out := make([]Vertex, len(c.v))
	for i, v := range c.v {
		out[i] = Vertex{m.Apply(v.At), v.Bulge}
	}
	return Contour{c.closed, out}
}

// Scaled returns the contour multiplied by k about the origin, k > 0.
func (c Contour) Scaled(k float64) Contour {
	out := make([]Vertex, len(c.v))
	for i, v := range c.v {
		out[i] = Vertex{Point{v.At.X * k, v.At.Y * k}, v.Bulge}
	}
	return Contour{c.closed, out}
}

// StartAt returns a closed contour that starts at vertex i.
func (c Contour) StartAt(i int) Contour {
	n := len(c.v)
	out := make([]Vertex, 0, n)
	for k := range c.v {
		out = append(out, c.v[(i+k)%n])
	}
	return Contour{c.closed, out}
}

// Canonical returns a closed contour that starts at its lowest, then leftmost,
// vertex, compared at 1e-6 mm.
func (c Contour) Canonical() Contour {
	best := 0
	for i, v := range c.v {
		w := c.v[best].At
		if y, by := Millionth(v.At.Y), Millionth(w.Y); y < by || y == by && Millionth(v.At.X) < Millionth(w.X) {
			best = i
		}
	}
	return c.StartAt(best)
}

// Nearest returns the point of the contour nearest to p and its distance.
func (c Contour) Nearest(p Point) (Point, float64) {
	var q Point
	best := math.Inf(1)
	for i := 0; i < c.Len(); i++ {
		s := c.Segment(i)
		if s.beyond(p, best) {
			continue
		}
		if r, d := s.Nearest(p); d < best {
			q, best = r, d
		}
	}
	return q, best
}

// Inner lists points of a grid inside a closed contour, those nearest to the middle of its box
// first, ties from below and from the left: where a name may stand on it.
func (c Contour) Inner(step float64) []Point {
	b := c.Bounds()
	var out []Point
	for y := b.Min.Y + step; y < b.Max.Y; y += step {
		for x := b.Min.X + step; x < b.Max.X; x += step {
			if p := (Point{x, y}); c.Contains(p) {
				out = append(out, p)
			}
		}
	}
	away := func(p Point) float64 { return Millionth(p.Dist(b.Center())) }
	slices.SortStableFunc(out, func(p, q Point) int { return cmp.Compare(away(p), away(q)) })
	return out
}

// Contains reports whether p lies inside a closed contour (even-odd); for
// points nearer than about 1e-9 mm to the edge either answer may come.
//
// A ray from p towards +x counts the chords it crosses; each arc whose cap, the
// piece between arc and chord, holds p turns the answer over once more.
func (c Contour) Contains(p Point) bool {
	if !c.closed {
		return false
	}
	in := false
	for i := range c.v {
		s := c.Segment(i)
		if (s.From.Y > p.Y) != (s.To.Y > p.Y) && s.leftOf(p) == (s.To.Y > s.From.Y) {
			in = !in
		}
		if s.Bulge != 0 && s.inCap(p) {
			in = !in
		}
	}
	return in
}

// leftOf reports whether p lies to the left of the segment's chord. A point on
// the chord counts as moved up by next to nothing, or if that leaves it on the
// chord, to the right; so every point is on one side, and the same chord drawn the
// other way always gives the opposite answer. (The middle of a circle drawn as two
// halves lies on both chords.)
func (s Segment) leftOf(p Point) bool {
	a, b := s.From, s.To
	turned := b.X < a.X || b.X == a.X && b.Y < a.Y
	if turned {
		a, b = b, a
	}
	side := b.Sub(a).Cross(p.Sub(a))
	left := side > 0
	if side == 0 {
		left = b.X > a.X // then up is left; else the chord runs up and right is right
	}
	return left != turned
}

// inCap reports whether p lies between the arc and its chord.
func (s Segment) inCap(p Point) bool {
	return s.leftOf(p) == (s.Bulge < 0) && p.Dist(s.Center()) < s.Radius()
}

// Millionth rounds to 1e-6, never to -0: what decides an order, a place or a topology is
// compared at that grain, so that every processor decides alike.
func Millionth(f float64) float64 { return math.Round(f*1e6)/1e6 + 0 }

// Moved carries contours or segments into another frame; nil for none.
func Moved[T interface{ Transform(Placement) T }](list []T, to Placement) []T {
	var out []T
	for _, one := range list {
		out = append(out, one.Transform(to))
	}
	return out
}
