package geom

import (
	"fmt"
	"math"
)

// How an offset is made
//
// Every segment moves sideways by d: a line shifts along its right normal, an
// arc keeps its centre and its sweep and changes its radius. What then happens
// at a vertex depends on which way the contour turns there:
//
//	turns left  (the right side is the outside)  the gap is closed by an arc of
//	            radius d about the vertex: a beam led round a sharp corner
//	turns right (the right side is the inside)   the two moved segments overlap
//	            and are cut back to the point where they cross
//	goes on     they still meet
//
// Example: the square 0,0 10,0 10,10 0,10 (counter-clockwise), d = 1. All four
// corners turn left, so the result has four lines of 10 mm, one mm outside, and
// four quarter circles of radius 1 about the corners.
//
// What breaks it is an offset larger than the shape has room for: an arc that
// bends towards the offset side with a radius below d, a segment shorter than
// what its two corners cut off, two far parts of the contour nearer than 2d. The
// offsets made here are a fraction of a millimetre on shapes of many, so such a
// case is a fault in the shape. It is refused with its place; nothing is repaired.
//
// The last check is the definition itself: no point of the result lies nearer
// than d to the contour. A result that crossed itself would break it, because
// past the crossing one branch is nearer to the other branch's source.

// radiusMin: an arc whose radius an offset would bring below this is swallowed.
// A tenth of the last printed digit, like joinTol.
const radiusMin = 0.00001

// fault is what an offset cannot do, and at which segment or vertex.
type fault struct {
	atSegment bool
	i         int
	why       string
}

// Offset returns the closed contour moved sideways by d mm: to the right of
// travel for d > 0, to the left for d < 0. Outlines run counter-clockwise and
// openings clockwise, so that the kept material is on the left of both and one
// sign serves both: Offset(kerf/2) is the middle of a cut that leaves the nominal
// edge, larger than an outline and smaller than an opening.
//
// Lines and arcs stay lines and arcs and the result is exact to rounding; every
// point of it lies d from the contour. The start corresponds to the contour's start.
// An open contour, and an offset that would swallow a segment or run into another
// part of the contour, is refused with an error that wraps ErrShape and names the
// vertex.
func (c Contour) Offset(d float64) (Contour, error) {
	switch {
	case bad(d):
		return Contour{}, fmt.Errorf("%w: offset distance is not finite", ErrShape)
	case !c.closed:
		return Contour{}, fmt.Errorf("%w: an open or empty contour has no offset", ErrShape)
	case d == 0:
		return c, nil
	}
	src := c
	if d < 0 {
		src = c.Reversed()
	}
	out, f := src.offsetRight(math.Abs(d))
	if f != nil {
		i, n := f.i, len(c.v)
		if d < 0 && f.atSegment {
			i = n - 1 - i
		} else if d < 0 {
			i = (n - i) % n
		}
		at := c.v[i].At
		return Contour{}, fmt.Errorf("%w: offset by %.4f mm at vertex %d (%.4f, %.4f): %s", ErrShape, d, i, at.X, at.Y, f.why)
	}
	if d < 0 {
		out = out.Reversed()
	}
	return out, nil
}

// cutBack is a moved segment and the part of it that its corners leave.
type cutBack struct {
	Segment
	from, to   Point
	tFrom, tTo float64 // fractions along Segment
}

// offsetRight is Offset for d > 0.
func (c Contour) offsetRight(d float64) (Contour, *fault) {
	n := c.Len()
	moved := make([]cutBack, n)
	for i := range moved {
		s := c.Segment(i)
		m, ok := s.moveRight(d)
		if !ok {
			why := fmt.Sprintf("the arc that starts here has a radius of only %.4f mm", s.Radius())
			return Contour{}, &fault{true, i, why}
		}
		moved[i] = cutBack{m, m.From, m.To, 0, 1}
	}
	corner := make([]float64, n) // bulge of the arc about vertex i, 0 for none
	for i := range moved {
		prev := &moved[(i+n-1)%n]
		b, ok := joinAt(c.v[i].At, prev, &moved[i])
		if !ok {
			return Contour{}, &fault{false, i, "the segments on either side no longer meet"}
		}
		corner[i] = b
	}
	var v []Vertex
	for i, m := range moved {
		if m.tTo <= m.tFrom {
			return Contour{}, &fault{true, i, "the segment that starts here is swallowed"}
		}
		v = append(v, Vertex{m.from, m.bulgeLeft()})
		if b := corner[(i+1)%n]; b != 0 {
			v = append(v, Vertex{m.to, b})
		}
	}
	out, err := NewClosed(v...)
	if err != nil {
		return Contour{}, &fault{false, 0, "nothing is left"}
	}
	return out, c.checkClear(out, d)
}

// moveRight returns the segment moved by d to its right; ok is false when that
// would turn an arc inside out.
func (s Segment) moveRight(d float64) (Segment, bool) {
	if !s.IsArc() {
		n := s.Tangent(0).Left().Scale(-d)
		return Segment{s.From.Add(n), s.To.Add(n), 0}, true
	}
	r := s.Radius() + math.Copysign(d, s.Bulge)
	if r < radiusMin {
		return Segment{}, false
	}
	c := s.Center()
	from := c.Add(s.From.Sub(c).Unit().Scale(r))
	to := c.Add(s.To.Sub(c).Unit().Scale(r))
	return Segment{from, to, s.Bulge}, true
}

// joinAt makes the moved segments before and after vertex v meet: it cuts both
// back, or returns the bulge of the arc about v that goes between them. ok is
// false when they should be cut back but do not cross.
func joinAt(v Point, prev, next *cutBack) (bulge float64, ok bool) {
	if prev.To.Dist(next.From) < joinTol {
		m := prev.To.Mid(next.From)
		prev.to, next.from = m, m
		return 0, true
	}
	a, b := prev.Tangent(1), next.Tangent(0)
	turn := math.Atan2(a.Cross(b), a.Dot(b))
	if turn > 0 {
		return math.Tan(turn / 4), true
	}
	best := math.Inf(1)
	for _, p := range prev.Segment.Crossings(next.Segment) {
		if q := p.Dist(v); q < best {
			best = q
			prev.to, prev.tTo = p, prev.fraction(p)
			next.from, next.tFrom = p, next.fraction(p)
		}
	}
	return 0, !math.IsInf(best, 1)
}

// bulgeLeft is the bulge of what is left of a moved segment.
func (m cutBack) bulgeLeft() float64 {
	if m.tFrom == 0 && m.tTo == 1 {
		return m.Bulge
	}
	return math.Tan(float64(m.Sweep()) / 4 * (m.tTo - m.tFrom))
}

// checkClear finds a place where out comes nearer than d to c.
func (c Contour) checkClear(out Contour, d float64) *fault {
	box := make([]Box, c.Len())
	for i := range box {
		box[i] = c.Segment(i).Bounds().Grow(d)
	}
	for k := 0; k < out.Len(); k++ {
		s := out.Segment(k)
		b := s.Bounds()
		for i := range box {
			if !b.Overlaps(box[i]) {
				continue
			}
			if q := s.Distance(c.Segment(i)); q < d-joinTol {
				return &fault{true, i, fmt.Sprintf("another part of it comes within %.4f mm of the segment that starts here", q)}
			}
		}
	}
	return nil
}
