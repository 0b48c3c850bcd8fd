package jig

import (
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// joint is one seam, template frame. Tails stand on owner and reach into other.
type joint struct {
	a, b         *piece
	from, to     geom.Point // the seam's ends, from the lower or left one
	owner, other *piece
	tails        []tail
	key          string // what makes it unlike the others, for people
	lettersOnly  bool   // no key of its own was left
}

// tail is one dovetail: its middle's distance from the seam's middle, along the
// seam, and its size.
type tail struct {
	at, neck, long float64
}

// tailSlope: a tail's flanks open 1:3.
const tailSlope = 3.0

// head is the tail's width at its end.
func (t tail) head() float64 { return t.neck + 2*t.long/tailSlope }

// findJoints makes a joint of every edge that two pieces share.
func findJoints(tp *template) {
	for i, a := range tp.pieces {
		for _, b := range tp.pieces[i+1:] {
			for k := 0; k < 2; k++ {
				if j := seam(a, b, k); j != nil {
					tp.joints = append(tp.joints, j)
				}
			}
		}
	}
}

// seam returns the joint across axis k between two pieces, or nil.
func seam(a, b *piece, k int) *joint {
	if axis(a.box.Min, k) > axis(b.box.Min, k) {
		a, b = b, a
	}
	if math.Abs(axis(a.box.Max, k)-axis(b.box.Min, k)) > seamTol || seamLength(a.box, b.box, k) < seamLeast {
		return nil
	}
	o := 1 - k
	lo := math.Max(axis(a.box.Min, o), axis(b.box.Min, o))
	hi := math.Min(axis(a.box.Max, o), axis(b.box.Max, o))
	q := axis(a.box.Max, k)
	if k == 0 {
		return &joint{a: a, b: b, from: geom.Point{X: q, Y: lo}, to: geom.Point{X: q, Y: hi}}
	}
	return &joint{a: a, b: b, from: geom.Point{X: lo, Y: q}, to: geom.Point{X: hi, Y: q}}
}

// along is the unit vector along the seam; into the unit normal from piece a to b.
func (j *joint) along() geom.Vec { return j.to.Sub(j.from).Unit() }
func (j *joint) into() geom.Vec {
	v := j.along().Left()
	if j.b.box.Center().Sub(j.from).Dot(v) < 0 {
		return v.Scale(-1)
	}
	return v
}
func (j *joint) length() float64 { return j.from.Dist(j.to) }

// reach is the piece's box with the tails it has so far.
func (p *piece) reach() geom.Box {
	b := p.box
	for _, t := range p.stands {
		b = b.Union(t)
	}
	return b
}

// box returns the room a tail takes in the other piece.
func (j *joint) box(owner *piece, t tail) geom.Box {
	n := j.into()
	if owner == j.b {
		n = n.Scale(-1)
	}
	m := j.from.Mid(j.to).Add(j.along().Scale(t.at))
	half := j.along().Scale(t.head() / 2)
	deep := n.Scale(t.long)
	return geom.EmptyBox().Include(m.Add(half)).Include(m.Add(half.Scale(-1))).Include(m.Add(half).Add(deep)).Include(m.Add(half.Scale(-1)).Add(deep))
}

// sample is a point of a mark with the distance a joint must keep from it.
type sample struct {
	at   geom.Point
	keep float64
	spot bool
}

// sampleStep is how finely lines and arcs are sampled for joints, mm; half of it
// is added to the distance kept.
const sampleStep = 2.0

// samples are points of a template's marks with the distance that a joint keeps from
// them, given for spots and for lines.
func samples(tp *template, spot, line float64) []sample {
	var out []sample
	for _, e := range tp.elements {
		if e.kind == layout.Spot {
			out = append(out, sample{e.a, spot, true})
			continue
		}
		n := int(e.length()/sampleStep) + 1
		for i := 0; i <= n; i++ {
			out = append(out, sample{e.point(e.length() * float64(i) / float64(n)), line + sampleStep/2, false})
		}
	}
	return out
}

// boxDist is the distance from a point to a box, 0 inside.
func boxDist(b geom.Box, p geom.Point) float64 {
	dx := math.Max(0, math.Max(b.Min.X-p.X, p.X-b.Max.X))
	dy := math.Max(0, math.Max(b.Min.Y-p.Y, p.Y-b.Max.Y))
	return math.Hypot(dx, dy)
}

// boxGap is the distance between two boxes, 0 when they meet.
func boxGap(a, b geom.Box) float64 {
	dx := math.Max(0, math.Max(a.Min.X-b.Max.X, b.Min.X-a.Max.X))
	dy := math.Max(0, math.Max(a.Min.Y-b.Max.Y, b.Min.Y-a.Max.Y))
	return math.Hypot(dx, dy)
}

// jointsOf returns the template's joints, table frame.
func jointsOf(tp *template) []Joint {
	var out []Joint
	for _, j := range tp.joints {
		out = append(out, Joint{Tail: j.owner.id, Socket: j.other.id, From: tp.toTable.Apply(j.from), To: tp.toTable.Apply(j.to), Key: j.key})
	}
	return out
}
