package geom

import "math"

// Segment is one line or circular arc. Bulge is tan(sweep/4), counter-clockwise
// positive, 0 for a line. Invariant, kept by NewClosed and NewOpen: |Bulge| <= 1 (half a
// circle) and, for an arc, From != To.
type Segment struct {
	From, To Point
	Bulge    float64
}

// IsArc reports whether the segment is an arc.
func (s Segment) IsArc() bool { return s.Bulge != 0 }

// Radius returns the radius of an arc in mm; +Inf for a line.
//
// With chord c and rise h = |Bulge|·c/2, Pythagoras on the half chord gives
// r = (c²/4 + h²) / 2h.
func (s Segment) Radius() float64 {
	if s.Bulge == 0 {
		return math.Inf(1)
	}
	b := math.Abs(s.Bulge)
	return s.From.Dist(s.To) / 4 * (1/b + b)
}

// Center returns the centre of an arc; for a line the middle of its chord.
// With b the bulge and chord (dx, dy): C = mid + k(-dy, dx), k = (1-b²)/(4b).
func (s Segment) Center() Point {
	m := s.From.Mid(s.To)
	if s.Bulge == 0 {
		return m
	}
	k := (1 - s.Bulge*s.Bulge) / (4 * s.Bulge)
	d := s.To.Sub(s.From)
	return m.Add(d.Left().Scale(k))
}

// Sweep returns the signed angle an arc turns through, counter-clockwise
// positive; 0 for a line.
func (s Segment) Sweep() Angle { return Angle(4 * math.Atan(s.Bulge)) }

// Length returns the length along the segment in mm.
func (s Segment) Length() float64 {
	if s.Bulge == 0 {
		return s.From.Dist(s.To)
	}
	return s.Radius() * math.Abs(float64(s.Sweep()))
}

// At returns the point a fraction t (0..1) of the way along.
func (s Segment) At(t float64) Point {
	if t == 0 {
		return s.From
	}
	if t == 1 {
		return s.To
	}
	if s.Bulge == 0 {
		return Point{s.From.X + t*(s.To.X-s.From.X), s.From.Y + t*(s.To.Y-s.From.Y)}
	}
	c := s.Center()
	sin, cos := math.Sincos(float64(s.Sweep()) * t)
	v := s.From.Sub(c)
	return Point{c.X + float64(cos*v.X) - float64(sin*v.Y), c.Y + float64(sin*v.X) + float64(cos*v.Y)}
}

// Tangent returns the unit direction of travel a fraction t (0..1) along.
func (s Segment) Tangent(t float64) Vec {
	if s.Bulge == 0 {
		return s.To.Sub(s.From).Unit()
	}
	r := s.At(t).Sub(s.Center()).Unit().Left()
	if s.Bulge < 0 {
		return r.Scale(-1)
	}
	return r
}

// Reversed returns the segment travelled the other way.
func (s Segment) Reversed() Segment { return Segment{s.To, s.From, -s.Bulge} }

// Split returns the parts before and after the fraction t (0 < t < 1).
func (s Segment) Split(t float64) (Segment, Segment) {
	m := s.At(t)
	if s.Bulge == 0 {
		return Segment{s.From, m, 0}, Segment{m, s.To, 0}
	}
	q := float64(s.Sweep()) / 4
	return Segment{s.From, m, math.Tan(q * t)}, Segment{m, s.To, math.Tan(q * (1 - t))}
}

// Bounds returns the exact box: the ends, and the quadrant points inside the sweep.
func (s Segment) Bounds() Box {
	b := Box{s.From, s.From}.Include(s.To)
	if s.Bulge == 0 {
		return b
	}
	c, r := s.Center(), s.Radius()
	for _, d := range [4]Vec{{1, 0}, {0, 1}, {-1, 0}, {0, -1}} {
		if p := c.Add(d.Scale(r)); s.bulgesTo(p) {
			b = b.Include(p)
		}
	}
	return b
}

// bulgesTo reports whether a point of the arc's circle is one of the arc: it lies on the
// bulging side of the chord.
func (s Segment) bulgesTo(p Point) bool {
	side := s.To.Sub(s.From).Cross(p.Sub(s.From))
	if s.Bulge > 0 {
		return side < 0
	}
	return side > 0
}

// Nearest returns the point of the segment nearest to p and its distance.
func (s Segment) Nearest(p Point) (Point, float64) {
	if s.Bulge == 0 {
		d := s.To.Sub(s.From)
		l2 := d.Dot(d)
		t := 0.0
		if l2 > 0 {
			t = max(0, min(1, p.Sub(s.From).Dot(d)/l2))
		}
		q := s.At(t)
		return q, p.Dist(q)
	}
	c := s.Center()
	v := p.Sub(c)
	if v.Len() > 0 {
		if q := c.Add(v.Unit().Scale(s.Radius())); s.bulgesTo(q) {
			return q, p.Dist(q)
		}
	}
	a, b := p.Dist(s.From), p.Dist(s.To)
	if a > b {
		return s.To, b
	}
	return s.From, a
}

// beyond reports whether no point of the segment lies nearer to p than d. It does not say so
// of all that do: it looks at the chord's box, grown by the arc's rise.
func (s Segment) beyond(p Point, d float64) bool {
	d += boxTol
	if s.Bulge != 0 {
		d += math.Abs(s.Bulge) * (math.Abs(s.To.X-s.From.X) + math.Abs(s.To.Y-s.From.Y)) / 2
	}
	return min(s.From.X, s.To.X)-p.X > d || p.X-max(s.From.X, s.To.X) > d ||
		min(s.From.Y, s.To.Y)-p.Y > d || p.Y-max(s.From.Y, s.To.Y) > d
}

// Transform returns the segment moved into another frame.
func (s Segment) Transform(m Placement) Segment {
	return Segment{m.Apply(s.From), m.Apply(s.To), s.Bulge}
}
