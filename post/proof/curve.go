package proof

import (
	"math"

	"spotjig/layout/geom"
)

// A proof that shared its geometry with what it judges would repeat its
// mistakes. So this package has its own lines and arcs, by centre and angles,
// and takes from layout/geom the Point and nothing that computes an offset, a
// centre, a distance or a placement.

// Curve is a line from a to b, or an arc about c. An arc may be a full circle.
type Curve struct {
	A, B  geom.Point
	Arc   bool
	C     geom.Point
	R     float64
	Start float64 // angle of a seen from c, radians
	Sweep float64 // signed, counter-clockwise positive, at most a full turn either way
}

// LineOf is the straight edge from a to b.
func LineOf(a, b geom.Point) Curve { return Curve{A: a, B: b} }

// ArcOf returns the arc about c of radius r from the angle start.
func ArcOf(c geom.Point, r, start, sweep float64) Curve {
	k := Curve{Arc: true, C: c, R: r, Start: start, Sweep: sweep}
	k.A, k.B = k.At(0), k.At(1)
	return k
}

// Bulged returns the curve between two points with the bulge tan(sweep/4): the
// centre stands on the chord's bisector, at r·cos(sweep/2) to its left.
func Bulged(a, b geom.Point, bulge float64) Curve {
	if bulge == 0 {
		return LineOf(a, b)
	}
	sweep := 4 * math.Atan(bulge)
	dx, dy := b.X-a.X, b.Y-a.Y
	chord := math.Hypot(dx, dy)
	signed := chord / 2 / math.Sin(sweep/2) // radius, with the sign of the sweep
	off := signed * math.Cos(sweep/2)
	c := geom.Point{X: (a.X+b.X)/2 - dy/chord*off, Y: (a.Y+b.Y)/2 + dx/chord*off}
	return Curve{A: a, B: b, Arc: true, C: c, R: math.Abs(signed), Start: math.Atan2(a.Y-c.Y, a.X-c.X), Sweep: sweep}
}

// Length is the length along it, mm.
func (k Curve) Length() float64 {
	if k.Arc {
		return k.R * math.Abs(k.Sweep)
	}
	return math.Hypot(k.B.X-k.A.X, k.B.Y-k.A.Y)
}

// At returns the point a fraction t of the way along.
func (k Curve) At(t float64) geom.Point {
	if k.Arc {
		s, c := math.Sincos(k.Start + k.Sweep*t)
		return geom.Point{X: k.C.X + k.R*c, Y: k.C.Y + k.R*s}
	}
	return geom.Point{X: k.A.X + t*(k.B.X-k.A.X), Y: k.A.Y + t*(k.B.Y-k.A.Y)}
}

// Right returns the unit normal to the right of travel a fraction t along.
func (k Curve) Right(t float64) (x, y float64) {
	if k.Arc {
		s, c := math.Sincos(k.Start + k.Sweep*t)
		if k.Sweep > 0 {
			return c, s
		}
		return -c, -s
	}
	l := k.Length()
	return (k.B.Y - k.A.Y) / l, -(k.B.X - k.A.X) / l
}

// turn reduces an angle to 0..2π.
func turn(a float64) float64 {
	a = math.Mod(a, 2*math.Pi)
	if a < 0 {
		a += 2 * math.Pi
	}
	return a
}

// Progress is how far along an arc, in radians, the direction angle lies; more
// than |sweep| when it lies beyond.
func (k Curve) Progress(angle float64) float64 {
	if k.Sweep > 0 {
		return turn(angle - k.Start)
	}
	return turn(k.Start - angle)
}

// spans reports whether the arc passes the direction from its centre to p.
func (k Curve) spans(p geom.Point) bool {
	return k.Progress(math.Atan2(p.Y-k.C.Y, p.X-k.C.X)) <= math.Abs(k.Sweep)
}

// Nearest returns the point of k nearest to p and its distance.
func (k Curve) Nearest(p geom.Point) (geom.Point, float64) {
	if !k.Arc {
		dx, dy := k.B.X-k.A.X, k.B.Y-k.A.Y
		t := 0.0
		if l2 := dx*dx + dy*dy; l2 > 0 {
			t = math.Max(0, math.Min(1, ((p.X-k.A.X)*dx+(p.Y-k.A.Y)*dy)/l2))
		}
		q := k.At(t)
		return q, Dist(p, q)
	}
	q, d := k.A, Dist(p, k.A)
	if e := Dist(p, k.B); e < d {
		q, d = k.B, e
	}
	if h := Dist(p, k.C); h > 0 && k.spans(p) {
		if e := math.Abs(h - k.R); e < d {
			q, d = geom.Point{X: k.C.X + (p.X-k.C.X)/h*k.R, Y: k.C.Y + (p.Y-k.C.Y)/h*k.R}, e
		}
	}
	return q, d
}

// Dist is the distance of two points, mm: a plain square root, of which no square runs over.
func Dist(p, q geom.Point) float64 {
	dx, dy := p.X-q.X, p.Y-q.Y
	return math.Sqrt(float64(dx*dx) + float64(dy*dy))
}

// Box returns the extents of k.
func (k Curve) Box() Box {
	b := Box{k.A.X, k.A.Y, k.A.X, k.A.Y}.With(k.B)
	if k.Arc {
		for q := range 4 {
			s, c := math.Sincos(float64(q) * math.Pi / 2)
			if p := (geom.Point{X: k.C.X + k.R*c, Y: k.C.Y + k.R*s}); k.spans(p) {
				b = b.With(p)
			}
		}
	}
	return b
}

// Box is an axis-parallel rectangle.
type Box struct{ X0, Y0, X1, Y1 float64 }

// Nothing is the box of nothing: any union with it is the other.
func Nothing() Box {
	return Box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
}

// With is the box that holds p too.
func (b Box) With(p geom.Point) Box {
	return Box{math.Min(b.X0, p.X), math.Min(b.Y0, p.Y), math.Max(b.X1, p.X), math.Max(b.Y1, p.Y)}
}

// Union is the least box that holds both.
func (b Box) Union(c Box) Box {
	return Box{math.Min(b.X0, c.X0), math.Min(b.Y0, c.Y0), math.Max(b.X1, c.X1), math.Max(b.Y1, c.Y1)}
}

// Grown is the box with d added on every side, mm.
func (b Box) Grown(d float64) Box { return Box{b.X0 - d, b.Y0 - d, b.X1 + d, b.Y1 + d} }

func (b Box) meets(c Box) bool {
	return b.X0 <= c.X1 && c.X0 <= b.X1 && b.Y0 <= c.Y1 && c.Y0 <= b.Y1
}

func (b Box) contains(p geom.Point) bool {
	return p.X >= b.X0 && p.X <= b.X1 && p.Y >= b.Y0 && p.Y <= b.Y1
}

// Distance returns the least distance between two curves. It is that of an end
// of one to the other, of a foot of a centre, of points on the line of centres,
// or zero where they cross.
func Distance(k, m Curve) float64 {
	if cross(k, m) {
		return 0
	}
	_, d := k.Nearest(m.A)
	for _, e := range [3]float64{DOf(k, m.B), DOf(m, k.A), DOf(m, k.B)} {
		d = math.Min(d, e)
	}
	switch {
	case k.Arc && m.Arc:
		for _, p := range centreLine(k, m) {
			d = math.Min(d, DOf(m, p))
		}
	case k.Arc:
		foot, _ := m.Nearest(k.C)
		d = math.Min(d, DOf(k, foot))
	case m.Arc:
		foot, _ := k.Nearest(m.C)
		d = math.Min(d, DOf(m, foot))
	}
	return d
}

// DOf is the distance from an edge to a point, mm.
func DOf(k Curve, p geom.Point) float64 {
	_, d := k.Nearest(p)
	return d
}

// centreLine are the points of arc k on the line through both centres.
func centreLine(k, m Curve) []geom.Point {
	h := Dist(k.C, m.C)
	if h == 0 {
		return nil
	}
	ux, uy := (m.C.X-k.C.X)/h*k.R, (m.C.Y-k.C.Y)/h*k.R
	var out []geom.Point
	for _, p := range [2]geom.Point{{X: k.C.X + ux, Y: k.C.Y + uy}, {X: k.C.X - ux, Y: k.C.Y - uy}} {
		if k.spans(p) {
			out = append(out, p)
		}
	}
	return out
}

// cross reports whether the curves share a point.
func cross(k, m Curve) bool {
	switch {
	case !k.Arc && !m.Arc:
		return linesCross(k, m)
	case k.Arc && m.Arc:
		return arcsCross(k, m)
	case k.Arc:
		return lineCrossesArc(m, k)
	}
	return lineCrossesArc(k, m)
}

// Side is twice the area of a, b, p in mm², positive when p lies left of a to b.
func Side(a, b, p geom.Point) float64 {
	return float64((b.X-a.X)*(p.Y-a.Y)) - float64((b.Y-a.Y)*(p.X-a.X))
}

func linesCross(k, m Curve) bool {
	s1, s2 := Side(k.A, k.B, m.A), Side(k.A, k.B, m.B)
	t1, t2 := Side(m.A, m.B, k.A), Side(m.A, m.B, k.B)
	return s1*s2 < 0 && t1*t2 < 0
}

func lineCrossesArc(l, k Curve) bool {
	dx, dy := l.B.X-l.A.X, l.B.Y-l.A.Y
	fx, fy := l.A.X-k.C.X, l.A.Y-k.C.Y
	a, b, c := dx*dx+dy*dy, fx*dx+fy*dy, fx*fx+fy*fy-k.R*k.R
	disc := b*b - a*c
	if a == 0 || disc < 0 {
		return false
	}
	root := math.Sqrt(disc)
	for _, t := range [2]float64{(-b - root) / a, (-b + root) / a} {
		if t >= 0 && t <= 1 && k.spans(l.At(t)) {
			return true
		}
	}
	return false
}

func arcsCross(k, m Curve) bool {
	h := Dist(k.C, m.C)
	if h == 0 || h > k.R+m.R || h < math.Abs(k.R-m.R) {
		return false
	}
	x := (h*h + k.R*k.R - m.R*m.R) / (2 * h)
	y := math.Sqrt(math.Max(0, k.R*k.R-x*x))
	ux, uy := (m.C.X-k.C.X)/h, (m.C.Y-k.C.Y)/h
	for _, s := range [2]float64{y, -y} {
		p := geom.Point{X: k.C.X + x*ux - s*uy, Y: k.C.Y + x*uy + s*ux}
		if k.spans(p) && m.spans(p) {
			return true
		}
	}
	return false
}

// bearing is the angle of p seen from c, radians.
func bearing(c, p geom.Point) float64 { return math.Atan2(p.Y-c.Y, p.X-c.X) }
