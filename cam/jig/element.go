package jig

import (
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// Element is what one mark asks of a template, template frame: a point, a
// straight line or an arc (counter-clockwise from start to end, degrees).
type Element struct {
	mark       string
	Kind       layout.Kind
	A, B       geom.Point
	r          float64
	start, end float64
	from       float64 // how far along its mark the element begins, mm
}

// Bounds returns the element's exact box.
func (e Element) Bounds() geom.Box {
	switch e.Kind {
	case layout.Arc:
		return e.chain().Bounds()
	case layout.Line:
		return geom.EmptyBox().Include(e.A).Include(e.B)
	}
	return geom.EmptyBox().Include(e.A)
}

// chain returns a line's or an arc's path as an open contour.
func (e Element) chain() geom.Contour {
	if e.Kind == layout.Line {
		return geom.MustOpen(geom.Vertex{At: e.A}, geom.Vertex{At: e.B})
	}
	n := int(math.Ceil((e.end - e.start) / 90))
	step := (e.end - e.start) / float64(n)
	var v []geom.Vertex
	for i := 0; i <= n; i++ {
		v = append(v, geom.Vertex{At: e.arcPoint(e.start + step*float64(i)), Bulge: math.Tan(step * math.Pi / 720)})
	}
	return geom.MustOpen(v...)
}

func (e Element) arcPoint(deg float64) geom.Point {
	s, c := math.Sincos(deg * math.Pi / 180)
	return geom.Point{X: e.A.X + e.r*c, Y: e.A.Y + e.r*s}
}

// closed reports whether the element is a full circle.
func (e Element) closed() bool { return e.Kind == layout.Arc && e.end-e.start >= 360-1e-9 }

// Length is the element's length, mm; 0 for a spot.
func (e Element) Length() float64 {
	switch e.Kind {
	case layout.Line:
		return e.A.Dist(e.B)
	case layout.Arc:
		return e.r * (e.end - e.start) * math.Pi / 180
	}
	return 0
}

// Point returns the point at distance s along a line or an arc.
func (e Element) Point(s float64) geom.Point {
	if e.Kind == layout.Line {
		return e.A.Add(e.B.Sub(e.A).Unit().Scale(s))
	}
	return e.arcPoint(e.start + s/e.r*180/math.Pi)
}

// elementsOf splits a mark into elements, table frame.
func elementsOf(m layout.Mark) []Element {
	p := geom.Point{X: m.X, Y: m.Y}
	switch m.Kind {
	case layout.Line:
		return []Element{{mark: m.ID, Kind: layout.Line, A: p, B: geom.Point{X: m.X2, Y: m.Y2}}}
	case layout.Arc:
		return []Element{{mark: m.ID, Kind: layout.Arc, A: p, r: m.Radius, start: m.StartDeg, end: m.EndDeg}}
	case layout.Outline:
		var out []Element
		from := 0.0
		for i, q := range m.Points {
			r := m.Points[(i+1)%len(m.Points)]
			e := Element{mark: m.ID, Kind: layout.Line, from: from,
				A: geom.Point{X: q[0], Y: q[1]}, B: geom.Point{X: r[0], Y: r[1]}}
			from += e.Length()
			out = append(out, e)
		}
		return out
	}
	return []Element{{mark: m.ID, Kind: layout.Spot, A: p}}
}

// middleTol: a mark this near the middle of the table counts as on it, mm: more
// than a survey moves a spot.
const middleTol = 12.0

// clipTo returns the part of the element that the end's template holds.
func (e Element) clipTo(end string, split float64) (Element, bool) {
	if e.lengthwise() && math.Min(e.A.X, e.B.X) < split-middleTol && math.Max(e.A.X, e.B.X) > split+middleTol {
		at := e.onto(split)
		if (e.A.X < e.B.X) == (end == "head") {
			e.B = at
		} else {
			e.from += e.A.Dist(at)
			e.A = at
		}
		return e, true
	}
	x := e.Bounds().Center().X
	if e.Kind == layout.Arc {
		x = e.A.X
	}
	return e, (x < split) == (end == "head")
}

// onto is the point of a lengthwise line at x.
func (e Element) onto(x float64) geom.Point {
	return geom.Point{X: x, Y: e.A.Y + (e.B.Y-e.A.Y)*(x-e.A.X)/(e.B.X-e.A.X)}
}

// slantMost: a line within this of square counts as lengthwise or transverse, as
// a slope. A table out of square by more is refused by the survey.
const slantMost = 0.02

// lengthwise reports whether a straight line runs along the table.
func (e Element) lengthwise() bool {
	return e.Kind == layout.Line && math.Abs(e.A.Y-e.B.Y) <= slantMost*math.Abs(e.A.X-e.B.X)
}

// Transverse reports whether a straight line runs across the table.
func (e Element) Transverse() bool {
	return e.Kind == layout.Line && math.Abs(e.A.X-e.B.X) <= slantMost*math.Abs(e.A.Y-e.B.Y)
}

// moved returns the element in another frame.
func (e Element) moved(m geom.Placement) Element {
	e.A, e.B = m.Apply(e.A), m.Apply(e.B)
	e.start, e.end = e.start+m.TurnDeg, e.end+m.TurnDeg
	return e
}

// square keeps, of a displacement, what is square to a line: along it a line
// cannot be wrong.
func (e Element) square(v geom.Vec) geom.Vec {
	if e.Kind != layout.Line {
		return v
	}
	n := e.B.Sub(e.A).Unit().Left()
	return n.Scale(v.Dot(n))
}
