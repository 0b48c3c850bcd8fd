package geom

import (
	"math"
	"sort"
)

// meetTol: a point this far past the end of a segment still counts as on it.
// It protects corners that meet at an end exactly; well below joinTol and well
// above rounding on a 3.6 m table (about 1e-12 mm).
const meetTol = 1e-9

// Crossings returns the points, none to two, that lie on both segments, in order
// along s. Segments that overlap along a stretch (in line, or on one circle)
// give none for that stretch: Distance is what sees it.
func (s Segment) Crossings(o Segment) []Point {
	var all []Point
	switch {
	case !s.IsArc() && !o.IsArc():
		all = lineLine(s, o)
	case !s.IsArc():
		all = lineCircle(s, o)
	case !o.IsArc():
		all = lineCircle(o, s)
	default:
		all = circleCircle(s, o)
	}
	out := all[:0]
	for _, p := range all {
		if s.touches(p) && o.touches(p) {
			out = append(out, p)
		}
	}
	if len(out) == 2 {
		sort.Slice(out, func(i, j int) bool { return s.fraction(out[i]) < s.fraction(out[j]) })
	}
	return out
}

// lineLine returns where the whole lines cross; none when parallel.
func lineLine(s, o Segment) []Point {
	d, e := s.To.Sub(s.From), o.To.Sub(o.From)
	k := d.Cross(e)
	if math.Abs(k) <= 1e-14*d.Len()*e.Len() {
		return nil
	}
	t := o.From.Sub(s.From).Cross(e) / k
	return []Point{s.From.Add(d.Scale(t))}
}

// lineCircle returns where the whole line crosses the whole circle of the arc.
func lineCircle(line, arc Segment) []Point {
	u := line.To.Sub(line.From).Unit()
	c, r := arc.Center(), arc.Radius()
	foot := line.From.Add(u.Scale(c.Sub(line.From).Dot(u)))
	return sideways(foot, u, r, foot.Dist(c))
}

// circleCircle returns where the whole circles of two arcs cross. On the line
// of centres, d apart, the crossings stand at a = (r² - q² + d²)/2d from the first.
func circleCircle(s, o Segment) []Point {
	c, r, q := s.Center(), s.Radius(), o.Radius()
	v := o.Center().Sub(c)
	d := v.Len()
	if d == 0 {
		return nil
	}
	a := (d*d + (r-q)*(r+q)) / (2 * d)
	u := v.Unit()
	return sideways(c.Add(u.Scale(a)), u.Left(), r, math.Abs(a))
}

// sideways returns the points at p ± sqrt(r² - a²) along u; none when a exceeds
// r by more than meetTol (no contact), one at contact.
func sideways(p Point, u Vec, r, a float64) []Point {
	if a > r+meetTol {
		return nil
	}
	h := math.Sqrt(math.Max(0, (r-a)*(r+a)))
	if h == 0 {
		return []Point{p}
	}
	return []Point{p.Add(u.Scale(-h)), p.Add(u.Scale(h))}
}

// touches reports whether p, known to lie on the whole line or circle of s,
// lies on s itself.
func (s Segment) touches(p Point) bool {
	_, d := s.Nearest(p)
	return d <= meetTol*10
}

// fraction returns how far along s the point p of s lies, 0 to 1; for points a
// little before or past the ends a little less than 0 or more than 1.
func (s Segment) fraction(p Point) float64 {
	if !s.IsArc() {
		d := s.To.Sub(s.From)
		return p.Sub(s.From).Dot(d) / d.Dot(d)
	}
	c := s.Center()
	a, b := s.From.Sub(c), p.Sub(c)
	w := float64(s.Sweep())
	ang := math.Atan2(a.Cross(b), a.Dot(b)) * math.Copysign(1, w)
	if ang < -math.Pi/2 { // past half a circle by a rounding error
		ang += 2 * math.Pi
	}
	return ang / math.Abs(w)
}

// Distance returns the least distance between the points of two segments, exact
// to rounding; 0 where they cross or touch. Law: s.Distance(o) equals
// o.Distance(s) to rounding.
//
// Where they do not cross, the least distance is reached at an end of one of
// them, or at a pair of inner points whose connecting line is square to both: for
// an arc that line runs through its centre, so it is the perpendicular from
// the centre to the line, or the line through both centres. All such points are tried.
func (s Segment) Distance(o Segment) float64 {
	if len(s.Crossings(o)) > 0 {
		return 0
	}
	best := math.Inf(1)
	try := func(p Point, on Segment) {
		if _, d := on.Nearest(p); d < best {
			best = d
		}
	}
	try(s.From, o)
	try(s.To, o)
	try(o.From, s)
	try(o.To, s)
	switch {
	case s.IsArc() && o.IsArc():
		u := o.Center().Sub(s.Center()).Unit()
		for _, d := range [2]Vec{u, u.Scale(-1)} {
			if p := s.Center().Add(d.Scale(s.Radius())); s.bulgesTo(p) {
				try(p, o)
			}
		}
	case s.IsArc():
		p, _ := o.Nearest(s.Center())
		try(p, s)
	case o.IsArc():
		p, _ := s.Nearest(o.Center())
		try(p, o)
	}
	return best
}

// apart reports whether nothing in b is nearer to anything in c than d.
func (b Box) apart(c Box, d float64) bool {
	dx := max(0, b.Min.X-c.Max.X, c.Min.X-b.Max.X)
	dy := max(0, b.Min.Y-c.Max.Y, c.Min.Y-b.Max.Y)
	return dx >= d || dy >= d || math.Hypot(dx, dy) >= d
}

// Distance returns the least distance between the edges of two contours, 0 where
// they cross or touch and +Inf when one is empty. A contour that lies inside a
// closed one has a distance above 0: Holds tells inside from outside.
func (c Contour) Distance(o Contour) float64 {
	best := math.Inf(1)
	segs := o.Segments()
	boxes := make([]Box, len(segs))
	for i, s := range segs {
		boxes[i] = s.Bounds()
	}
	for i := 0; i < c.Len(); i++ {
		s := c.Segment(i)
		b := s.Bounds()
		for k, t := range segs {
			if b.apart(boxes[k], best) {
				continue
			}
			best = math.Min(best, s.Distance(t))
		}
	}
	return best
}

// Holds reports whether o lies wholly inside the closed contour c, no nearer to
// its edge than clear mm (clear >= 0; an o that touches the edge is not held).
func (c Contour) Holds(o Contour, clear float64) bool {
	if !c.closed || o.IsEmpty() || !c.Contains(o.Start()) {
		return false
	}
	d := c.Distance(o)
	return d > 0 && d >= clear
}
