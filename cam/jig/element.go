package jig

import (
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// Element is what one mark asks of a template, template frame.
type Element struct {
	geom.Figure
	mark string
	from float64 // how far along its mark the element begins, mm

	grows  [2]geom.Vec // how its two ends, or a centre, move on a table a millimetre longer
	growsR float64     // and its radius
}

// elementsOf splits a mark into elements, table frame.
func elementsOf(m layout.Mark) []Element {
	var out []Element
	from := 0.0
	grows := func(i int) geom.Vec {
		if n := len(m.Grows); n > 0 {
			return geom.Vec{X: m.Grows[i%n][0], Y: m.Grows[i%n][1]}
		}
		return geom.Vec{}
	}
	for i, f := range m.Figures() {
		out = append(out, Element{Figure: f, mark: m.ID, from: from, grows: [2]geom.Vec{grows(i), grows(i + 1)}, growsR: m.GrowsR})
		from += f.Length()
	}
	return out
}

// counted is the element as counted from its own end nose: the foot nose is what goes
// further off where a table is longer.
func (e Element) counted(end string) Element {
	if end == Foot {
		for i := range e.grows {
			e.grows[i].X--
		}
	}
	return e
}

// drift is how a point of the element moves on a table a millimetre longer; along a line
// or an arc none of it counts.
func (e Element) drift(p geom.Point) geom.Vec {
	if e.IsArc() {
		return e.square(p, e.grows[0].Add(e.normal(p).Scale(e.growsR)))
	}
	share := 0.0
	if e.IsLine() {
		share = p.Dist(e.A) / e.Length()
	}
	return e.square(p, e.grows[0].Scale(1-share).Add(e.grows[1].Scale(share)))
}

// middleTol: a mark this near the middle of the table counts as on it, mm: more
// than a survey moves a spot.
const middleTol = 12.0

// clipTo returns the parts of the element that the end's template holds.
func (e Element) clipTo(end string, split float64) []Element {
	b := e.Bounds()
	head, reaches := end == Head, b.Min.X < split-middleTol && b.Max.X > split+middleTol
	switch {
	case reaches && e.lengthwise():
		at := e.onto(split)
		if (e.A.X < e.B.X) == head {
			e.B = at
		} else {
			e.from += e.A.Dist(at)
			e.A = at
		}
		return []Element{e}
	case reaches && e.IsArc():
		return e.arcsIn(func(q geom.Point) bool { return (q.X < split) == head })
	}
	x := b.Center().X
	if e.IsArc() {
		x = e.A.X
	}
	if (x < split) == head {
		return []Element{e}
	}
	return nil
}

// arcsIn returns the parts of an arc that lie where in says. One of a circle's goes on
// past the place where the circle begins.
func (e Element) arcsIn(in func(geom.Point) bool) []Element {
	runs := Runs(e.Length(), func(s float64) bool { return in(e.At(s)) })
	if n := len(runs); n > 1 && e.IsCircle() && runs[0].Lo == 0 && runs[n-1].Hi == e.Length() {
		runs[n-1].Hi += runs[0].Hi
		runs = runs[1:]
	}
	var out []Element
	for _, r := range runs {
		part := e
		part.Figure, part.from = e.Part(r.Lo, r.Hi), e.from+r.Lo
		out = append(out, part)
	}
	return out
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
	return e.IsLine() && math.Abs(e.A.Y-e.B.Y) <= slantMost*math.Abs(e.A.X-e.B.X)
}

// Transverse reports whether a straight line runs across the table.
func (e Element) Transverse() bool {
	return e.IsLine() && math.Abs(e.A.X-e.B.X) <= slantMost*math.Abs(e.A.Y-e.B.Y)
}

// moved returns the element in another frame.
func (e Element) moved(m geom.Placement) Element {
	e.Figure = e.Transform(m)
	for i, v := range e.grows {
		e.grows[i] = m.Rotate(v)
	}
	return e
}

// square keeps, of a displacement at a point, what is square to a line or an arc: along
// it neither can be wrong.
func (e Element) square(p geom.Point, v geom.Vec) geom.Vec {
	if e.IsDot() {
		return v
	}
	n := e.normal(p)
	return n.Scale(v.Dot(n))
}

// normal is the unit vector square to a line, or to an arc outwards.
func (e Element) normal(p geom.Point) geom.Vec {
	if e.IsArc() {
		return p.Sub(e.A).Unit()
	}
	return e.B.Sub(e.A).Unit().Left()
}
