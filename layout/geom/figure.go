package geom

import "math"

// Figure is a point, a straight line or an arc: what a mark is on the cloth, and what an
// opening that serves it runs along. An arc has a Radius, a line two ends that differ.
type Figure struct {
	A          Point   // the point; a line's start; an arc's centre
	B          Point   // a line's end
	Radius     float64 // of an arc, mm; 0 for others
	Start, End Angle   // an arc runs counter-clockwise from Start to End, End > Start
}

// Dot is a point as a figure.
func Dot(p Point) Figure { return Figure{A: p, B: p} }

// Line is a straight line as a figure.
func Line(from, to Point) Figure { return Figure{A: from, B: to} }

// Arc is an arc as a figure, counter-clockwise from start to end.
func Arc(centre Point, radius float64, start, end Angle) Figure {
	return Figure{A: centre, B: centre, Radius: radius, Start: start, End: end}
}

// IsArc reports whether the figure is an arc.
func (f Figure) IsArc() bool { return f.Radius > 0 }

// IsLine reports whether the figure is a straight line.
func (f Figure) IsLine() bool { return f.Radius == 0 && f.A != f.B }

// IsDot reports whether the figure is a point.
func (f Figure) IsDot() bool { return f.Radius == 0 && f.A == f.B }

// IsCircle reports whether the figure is a whole circle.
func (f Figure) IsCircle() bool { return f.IsArc() && f.End-f.Start >= (360-1e-9)*Degree }

// Length returns the figure's length, mm; 0 for a point.
func (f Figure) Length() float64 {
	if f.IsArc() {
		return f.Radius * float64(f.End-f.Start)
	}
	return f.A.Dist(f.B)
}

// At returns the point at distance s along the figure, mm.
func (f Figure) At(s float64) Point {
	if f.IsArc() {
		return f.On(f.Start + Angle(s/f.Radius))
	}
	return f.A.Add(f.B.Sub(f.A).Unit().Scale(s))
}

// On returns the point of an arc's circle that lies in a direction from its centre.
func (f Figure) On(a Angle) Point { return f.A.Add(a.Unit().Scale(f.Radius)) }

// Middle returns the figure's middle.
func (f Figure) Middle() Point {
	if f.IsArc() {
		return f.On((f.Start + f.End) / 2)
	}
	return f.A.Mid(f.B)
}

// Part returns the stretch from lo to hi along the figure, mm.
func (f Figure) Part(lo, hi float64) Figure {
	if f.IsArc() {
		return Arc(f.A, f.Radius, f.Start+Angle(lo/f.Radius), f.Start+Angle(hi/f.Radius))
	}
	return Line(f.At(lo), f.At(hi))
}

// Transform returns the figure in another frame.
func (f Figure) Transform(m Placement) Figure {
	f.A, f.B = m.Apply(f.A), m.Apply(f.B)
	if f.IsArc() {
		f.Start, f.End = f.Start+m.Turn, f.End+m.Turn
	}
	return f
}

// Chain returns a line or an arc as an open contour, in steps of a quarter circle at most.
func (f Figure) Chain() Contour {
	if !f.IsArc() {
		return MustOpen(Vertex{At: f.A}, Vertex{At: f.B})
	}
	n, step := f.steps(90 * Degree)
	var v []Vertex
	for i := 0; i <= n; i++ {
		v = append(v, Vertex{At: f.On(f.Start + step*Angle(i)), Bulge: step.Bulge()})
	}
	return MustOpen(v...)
}

// steps divides an arc into equal steps of most or less.
func (f Figure) steps(most Angle) (n int, step Angle) {
	n = max(1, int(math.Ceil(float64((f.End-f.Start)/most)-1e-9)))
	return n, (f.End - f.Start) / Angle(n)
}

// Bounds returns the figure's exact box.
func (f Figure) Bounds() Box {
	if f.IsArc() {
		return f.Chain().Bounds()
	}
	return EmptyBox().Include(f.A).Include(f.B)
}

// Dist returns the distance from p to the figure, mm.
func (f Figure) Dist(p Point) float64 {
	if !f.IsArc() {
		_, d := Segment{From: f.A, To: f.B}.Nearest(p)
		return d
	}
	v := p.Sub(f.A)
	a := math.Mod(float64(v.Angle()-f.Start), 2*math.Pi)
	if a < 0 {
		a += 2 * math.Pi
	}
	if a <= float64(f.End-f.Start) {
		return math.Abs(v.Len() - f.Radius)
	}
	return math.Min(p.Dist(f.On(f.Start)), p.Dist(f.On(f.End)))
}

// Grown returns the edge of all that lies within h of the figure, closed and
// counter-clockwise: a circle, or a slot with half-circle ends. An arc is open and its
// radius more than h.
func (f Figure) Grown(h float64) Contour {
	switch {
	case f.IsDot():
		return Circle(f.A, h)
	case f.IsLine():
		d := f.B.Sub(f.A).Unit().Left().Scale(h)
		return MustClosed(
			Vertex{At: f.A.Add(d.Scale(-1))}, Vertex{At: f.B.Add(d.Scale(-1)), Bulge: 1},
			Vertex{At: f.B.Add(d)}, Vertex{At: f.A.Add(d), Bulge: 1},
		).Canonical()
	}
	outer, inner := f, f
	outer.Radius, inner.Radius = f.Radius+h, f.Radius-h
	n, step := f.steps(170 * Degree)
	var v []Vertex
	for i := range n {
		v = append(v, Vertex{At: outer.On(f.Start + step*Angle(i)), Bulge: step.Bulge()})
	}
	v = append(v, Vertex{At: outer.On(f.End), Bulge: 1})
	for i := range n {
		v = append(v, Vertex{At: inner.On(f.End - step*Angle(i)), Bulge: -step.Bulge()})
	}
	v = append(v, Vertex{At: inner.On(f.Start), Bulge: 1})
	return MustClosed(v...).Canonical()
}
