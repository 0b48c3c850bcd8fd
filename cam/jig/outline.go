package jig

import (
	"math"

	"spotjig/layout/geom"
)

// Corner is a polygon vertex with the radius it is rounded by.
type Corner struct {
	At geom.Point
	R  float64
}

// Rounded returns the closed contour through the corners, each replaced by an
// arc tangent to its two sides: tangent length r·tan(turn/2), bulge tan(turn/4).
// A radius that does not fit its sides is a bug of the caller's.
func Rounded(cs []Corner) geom.Contour {
	n := len(cs)
	var v []geom.Vertex
	for i, c := range cs {
		in := c.At.Sub(cs[(i+n-1)%n].At)
		out := cs[(i+1)%n].At.Sub(c.At)
		turn := math.Atan2(in.Cross(out), in.Dot(out))
		if c.R == 0 || math.Abs(turn) < 1e-9 {
			v = append(v, geom.Vertex{At: c.At})
			continue
		}
		l := c.R * math.Tan(math.Abs(turn)/2)
		v = append(v,
			geom.Vertex{At: c.At.Add(in.Unit().Scale(-l)), Bulge: math.Tan(turn / 4)},
			geom.Vertex{At: c.At.Add(out.Unit().Scale(l))})
	}
	return geom.MustClosed(v...).Canonical()
}

// ReferenceEdge is the piece's share of its member's straight edge, the one a
// straightedge is laid on when the jig is put together: a crosspiece's and a
// pad's inner edge, the outer edge of everything that runs lengthwise.
func ReferenceEdge(p *Piece) geom.Segment {
	b := p.Box
	switch p.Role {
	case Leg, Rail:
		if b.Center().Y < 0 {
			return geom.Segment{From: b.Min, To: geom.Point{X: b.Max.X, Y: b.Min.Y}}
		}
		return geom.Segment{From: b.Max, To: geom.Point{X: b.Min.X, Y: b.Max.Y}}
	case Spine:
		return geom.Segment{From: b.Min, To: geom.Point{X: b.Max.X, Y: b.Min.Y}}
	}
	return geom.Segment{From: geom.Point{X: b.Max.X, Y: b.Min.Y}, To: b.Max}
}
