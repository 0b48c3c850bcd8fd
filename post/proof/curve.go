package proof

import (
	"math"

	"spotjig/layout/geom"
)

// A proof that shared its geometry with what it judges would repeat its
// mistakes. So this package has its own lines and arcs, by centre and angles,
// and takes from layout/geom the Point and nothing that computes an offset, a
// centre, a distance or a placement.

// curve is a line from a to b, or an arc about c. An arc may be a full circle.
type curve struct {
	a, b  geom.Point
	arc   bool
	c     geom.Point
	r     float64
	start float64 // angle of a seen from c, radians
	sweep float64 // signed, counter-clockwise positive, at most a full turn either way
}

func lineOf(a, b geom.Point) curve { return curve{a: a, b: b} }

// arcOf returns the arc about c of radius r from the angle start.
func arcOf(c geom.Point, r, start, sweep float64) curve {
	k := curve{arc: true, c: c, r: r, start: start, sweep: sweep}
	k.a, k.b = k.at(0), k.at(1)
	return k
}

// bulged returns the curve between two points with the bulge tan(sweep/4): the
// centre stands on the chord's bisector, at r·cos(sweep/2) to its left.
func bulged(a, b geom.Point, bulge float64) curve {
	if bulge == 0 {
		return lineOf(a, b)
	}
	sweep := 4 * math.Atan(bulge)
	dx, dy := b.X-a.X, b.Y-a.Y
	chord := math.Hypot(dx, dy)
	signed := chord / 2 / math.Sin(sweep/2) // radius, with the sign of the sweep
	off := signed * math.Cos(sweep/2)
	c := geom.Point{X: (a.X+b.X)/2 - dy/chord*off, Y: (a.Y+b.Y)/2 + dx/chord*off}
	return curve{a: a, b: b, arc: true, c: c, r: math.Abs(signed), start: math.Atan2(a.Y-c.Y, a.X-c.X), sweep: sweep}
}

func (k curve) length() float64 {
	if k.arc {
		return k.r * math.Abs(k.sweep)
	}
	return math.Hypot(k.b.X-k.a.X, k.b.Y-k.a.Y)
}

// at returns the point a fraction t of the way along.
func (k curve) at(t float64) geom.Point {
	if k.arc {
		s, c := math.Sincos(k.start + k.sweep*t)
		return geom.Point{X: k.c.X + k.r*c, Y: k.c.Y + k.r*s}
	}
	return geom.Point{X: k.a.X + t*(k.b.X-k.a.X), Y: k.a.Y + t*(k.b.Y-k.a.Y)}
}

// right returns the unit normal to the right of travel a fraction t along.
func (k curve) right(t float64) (x, y float64) {
	if k.arc {
		s, c := math.Sincos(k.start + k.sweep*t)
		if k.sweep > 0 {
			return c, s
		}
		return -c, -s
	}
	l := k.length()
	return (k.b.Y - k.a.Y) / l, -(k.b.X - k.a.X) / l
}

// turn reduces an angle to 0..2π.
func turn(a float64) float64 {
	a = math.Mod(a, 2*math.Pi)
	if a < 0 {
		a += 2 * math.Pi
	}
	return a
}

// progress is how far along an arc, in radians, the direction angle lies; more
// than |sweep| when it lies beyond.
func (k curve) progress(angle float64) float64 {
	if k.sweep > 0 {
		return turn(angle - k.start)
	}
	return turn(k.start - angle)
}

// spans reports whether the arc passes the direction from its centre to p.
func (k curve) spans(p geom.Point) bool {
	return k.progress(math.Atan2(p.Y-k.c.Y, p.X-k.c.X)) <= math.Abs(k.sweep)
}

// nearest returns the point of k nearest to p and its distance.
func (k curve) nearest(p geom.Point) (geom.Point, float64) {
	if !k.arc {
		dx, dy := k.b.X-k.a.X, k.b.Y-k.a.Y
		t := 0.0
		if l2 := dx*dx + dy*dy; l2 > 0 {
			t = math.Max(0, math.Min(1, ((p.X-k.a.X)*dx+(p.Y-k.a.Y)*dy)/l2))
		}
		q := k.at(t)
		return q, dist(p, q)
	}
	q, d := k.a, dist(p, k.a)
	if e := dist(p, k.b); e < d {
		q, d = k.b, e
	}
	if h := dist(p, k.c); h > 0 && k.spans(p) {
		if e := math.Abs(h - k.r); e < d {
			q, d = geom.Point{X: k.c.X + (p.X-k.c.X)/h*k.r, Y: k.c.Y + (p.Y-k.c.Y)/h*k.r}, e
		}
	}
	return q, d
}

func dist(p, q geom.Point) float64 { return math.Hypot(p.X-q.X, p.Y-q.Y) }

// box returns the extents of k.
func (k curve) box() box {
	b := box{k.a.X, k.a.Y, k.a.X, k.a.Y}.with(k.b)
	if k.arc {
		for q := range 4 {
			s, c := math.Sincos(float64(q) * math.Pi / 2)
			if p := (geom.Point{X: k.c.X + k.r*c, Y: k.c.Y + k.r*s}); k.spans(p) {
				b = b.with(p)
			}
		}
	}
	return b
}

// box is an axis-parallel rectangle.
type box struct{ x0, y0, x1, y1 float64 }

func nothing() box {
	return box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
}

func (b box) with(p geom.Point) box {
	return box{math.Min(b.x0, p.X), math.Min(b.y0, p.Y), math.Max(b.x1, p.X), math.Max(b.y1, p.Y)}
}

func (b box) union(c box) box {
	return box{math.Min(b.x0, c.x0), math.Min(b.y0, c.y0), math.Max(b.x1, c.x1), math.Max(b.y1, c.y1)}
}

func (b box) grown(d float64) box { return box{b.x0 - d, b.y0 - d, b.x1 + d, b.y1 + d} }

func (b box) meets(c box) bool {
	return b.x0 <= c.x1 && c.x0 <= b.x1 && b.y0 <= c.y1 && c.y0 <= b.y1
}

func (b box) contains(p geom.Point) bool {
	return p.X >= b.x0 && p.X <= b.x1 && p.Y >= b.y0 && p.Y <= b.y1
}

// distance returns the least distance between two curves. It is that of an end
// of one to the other, of a foot of a centre, of points on the line of centres,
// or zero where they cross.
func distance(k, m curve) float64 {
	if cross(k, m) {
		return 0
	}
	_, d := k.nearest(m.a)
	for _, e := range [3]float64{dOf(k, m.b), dOf(m, k.a), dOf(m, k.b)} {
		d = math.Min(d, e)
	}
	switch {
	case k.arc && m.arc:
		for _, p := range centreLine(k, m) {
			d = math.Min(d, dOf(m, p))
		}
	case k.arc:
		foot, _ := m.nearest(k.c)
		d = math.Min(d, dOf(k, foot))
	case m.arc:
		foot, _ := k.nearest(m.c)
		d = math.Min(d, dOf(m, foot))
	}
	return d
}

func dOf(k curve, p geom.Point) float64 {
	_, d := k.nearest(p)
	return d
}

// centreLine are the points of arc k on the line through both centres.
func centreLine(k, m curve) []geom.Point {
	h := dist(k.c, m.c)
	if h == 0 {
		return nil
	}
	ux, uy := (m.c.X-k.c.X)/h*k.r, (m.c.Y-k.c.Y)/h*k.r
	var out []geom.Point
	for _, p := range [2]geom.Point{{X: k.c.X + ux, Y: k.c.Y + uy}, {X: k.c.X - ux, Y: k.c.Y - uy}} {
		if k.spans(p) {
			out = append(out, p)
		}
	}
	return out
}

// cross reports whether the curves share a point.
func cross(k, m curve) bool {
	switch {
	case !k.arc && !m.arc:
		return linesCross(k, m)
	case k.arc && m.arc:
		return arcsCross(k, m)
	case k.arc:
		return lineCrossesArc(m, k)
	}
	return lineCrossesArc(k, m)
}

func side(a, b, p geom.Point) float64 {
	return float64((b.X-a.X)*(p.Y-a.Y)) - float64((b.Y-a.Y)*(p.X-a.X))
}

func linesCross(k, m curve) bool {
	s1, s2 := side(k.a, k.b, m.a), side(k.a, k.b, m.b)
	t1, t2 := side(m.a, m.b, k.a), side(m.a, m.b, k.b)
	return s1*s2 < 0 && t1*t2 < 0
}

func lineCrossesArc(l, k curve) bool {
	dx, dy := l.b.X-l.a.X, l.b.Y-l.a.Y
	fx, fy := l.a.X-k.c.X, l.a.Y-k.c.Y
	a, b, c := dx*dx+dy*dy, fx*dx+fy*dy, fx*fx+fy*fy-k.r*k.r
	disc := b*b - a*c
	if a == 0 || disc < 0 {
		return false
	}
	root := math.Sqrt(disc)
	for _, t := range [2]float64{(-b - root) / a, (-b + root) / a} {
		if t >= 0 && t <= 1 && k.spans(l.at(t)) {
			return true
		}
	}
	return false
}

func arcsCross(k, m curve) bool {
	h := dist(k.c, m.c)
	if h == 0 || h > k.r+m.r || h < math.Abs(k.r-m.r) {
		return false
	}
	x := (h*h + k.r*k.r - m.r*m.r) / (2 * h)
	y := math.Sqrt(math.Max(0, k.r*k.r-x*x))
	ux, uy := (m.c.X-k.c.X)/h, (m.c.Y-k.c.Y)/h
	for _, s := range [2]float64{y, -y} {
		p := geom.Point{X: k.c.X + x*ux - s*uy, Y: k.c.Y + x*uy + s*ux}
		if k.spans(p) && m.spans(p) {
			return true
		}
	}
	return false
}

// bearing is the angle of p seen from c, radians.
func bearing(c, p geom.Point) float64 { return math.Atan2(p.Y-c.Y, p.X-c.X) }
