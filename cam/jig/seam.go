package jig

import (
	"math"

	"spotjig/layout/geom"
)

// Seam is the edge that two pieces share, template frame, and how they are joined there.
// Tails, or a lap's tab, stand on Owner and reach into Other.
type Seam struct {
	A, B         *Piece
	From, To     geom.Point // the seam's ends, from the lower or left one
	Owner, Other *Piece
	Tails        []Tail
	Key          string        // what makes it unlike the others, for people
	Part         string        // the sliding key that shuts it; "" for none
	LettersOnly  bool          // no key of its own was left
	Pins         [2]geom.Point // of a lap: they set its pieces; the same twice for other joints
}

// Tail is one tail: its middle's distance from the seam's middle, along the seam,
// and its size. A dovetail is symmetrical; a keyed tail has a wall and a key on one side.
type Tail struct {
	At, Neck, Long float64
	Keyed          *Keyed // nil for a dovetail
}

// Keyed is what a keyed tail has beside its neck.
type Keyed struct {
	Wide float64 // room along the seam, from the locating flank to the far end of the key's way
	Back float64 // how far the key's notch goes into the piece that has the tail
	Hand float64 // +1: the key lies towards the seam's end, -1: towards its start
}

// TailSlope: a tail's flanks open 1:3.
const TailSlope = 3.0

// Head is the tail's width at its end.
func (t Tail) Head() float64 {
	if t.Keyed != nil {
		return t.Keyed.Wide
	}
	return t.Neck + 2*t.Long/TailSlope
}

// findJoints makes a seam of every edge that two pieces share.
func findJoints(tp *Template) {
	for i, a := range tp.Pieces {
		for _, b := range tp.Pieces[i+1:] {
			for k := 0; k < 2; k++ {
				if j := seam(a, b, k); j != nil {
					tp.Seams = append(tp.Seams, j)
				}
			}
		}
	}
}

// seam returns the one across axis k between two pieces, or nil.
func seam(a, b *Piece, k int) *Seam {
	if Axis(a.Box.Min, k) > Axis(b.Box.Min, k) {
		a, b = b, a
	}
	if math.Abs(Axis(a.Box.Max, k)-Axis(b.Box.Min, k)) > SeamTol || SeamLength(a.Box, b.Box, k) < seamLeast {
		return nil
	}
	o := 1 - k
	lo := math.Max(Axis(a.Box.Min, o), Axis(b.Box.Min, o))
	hi := math.Min(Axis(a.Box.Max, o), Axis(b.Box.Max, o))
	q := Axis(a.Box.Max, k)
	if k == 0 {
		return &Seam{A: a, B: b, From: geom.Point{X: q, Y: lo}, To: geom.Point{X: q, Y: hi}}
	}
	return &Seam{A: a, B: b, From: geom.Point{X: lo, Y: q}, To: geom.Point{X: hi, Y: q}}
}

// Along is the unit vector along the seam.
func (j *Seam) Along() geom.Vec { return j.To.Sub(j.From).Unit() }

// into is the unit normal from piece A to B.
func (j *Seam) into() geom.Vec {
	v := j.Along().Left()
	if j.B.Box.Center().Sub(j.From).Dot(v) < 0 {
		return v.Scale(-1)
	}
	return v
}

// Out is the unit normal out of one of the two pieces.
func (j *Seam) Out(p *Piece) geom.Vec {
	if p == j.B {
		return j.into().Scale(-1)
	}
	return j.into()
}

// Neighbour returns the piece on the other side of the seam, nil if p has no part in it.
func (j *Seam) Neighbour(p *Piece) *Piece {
	switch p {
	case j.A:
		return j.B
	case j.B:
		return j.A
	}
	return nil
}

// Length is the seam's, mm.
func (j *Seam) Length() float64 { return j.From.Dist(j.To) }

// Reach is the piece's box with the tails it has so far.
func (p *Piece) Reach() geom.Box {
	b := p.Box
	for _, t := range p.Stands {
		b = b.Union(t)
	}
	return b
}

// TailBox returns the room a tail takes in the other piece.
func (j *Seam) TailBox(owner *Piece, t Tail) geom.Box {
	m := j.From.Mid(j.To).Add(j.Along().Scale(t.At))
	half := j.Along().Scale(t.Head() / 2)
	deep := j.Out(owner).Scale(t.Long)
	return geom.EmptyBox().Include(m.Add(half)).Include(m.Add(half.Scale(-1))).Include(m.Add(half).Add(deep)).Include(m.Add(half.Scale(-1)).Add(deep))
}

// NotchBox returns the room that a keyed tail's notch takes in the tail's own piece,
// empty for a dovetail.
func (j *Seam) NotchBox(owner *Piece, t Tail) geom.Box {
	if t.Keyed == nil {
		return geom.EmptyBox()
	}
	t.Long = -t.Keyed.Back
	return j.TailBox(owner, t)
}

// Sample is a point of a mark with the distance a joint must keep from it.
type Sample struct {
	At   geom.Point
	Keep float64
	Spot bool
}

// sampleStep is how finely lines and arcs are sampled for joints, mm; half of it
// is added to the distance kept.
const sampleStep = 2.0

// Samples are points of a template's marks with the distance that a joint keeps from
// them, given for spots and for lines.
func Samples(tp *Template, spot, line float64) []Sample {
	var out []Sample
	for _, e := range tp.Elements {
		if e.IsDot() {
			out = append(out, Sample{e.A, spot, true})
			continue
		}
		n := int(e.Length()/sampleStep) + 1
		for i := 0; i <= n; i++ {
			out = append(out, Sample{e.At(e.Length() * float64(i) / float64(n)), line + sampleStep/2, false})
		}
	}
	return out
}

// BoxDist is the distance from a point to a box, 0 inside.
func BoxDist(b geom.Box, p geom.Point) float64 {
	dx := math.Max(0, math.Max(b.Min.X-p.X, p.X-b.Max.X))
	dy := math.Max(0, math.Max(b.Min.Y-p.Y, p.Y-b.Max.Y))
	return math.Hypot(dx, dy)
}

// BoxGap is the distance between two boxes, 0 when they meet.
func BoxGap(a, b geom.Box) float64 {
	dx := math.Max(0, math.Max(a.Min.X-b.Max.X, b.Min.X-a.Max.X))
	dy := math.Max(0, math.Max(a.Min.Y-b.Max.Y, b.Min.Y-a.Max.Y))
	return math.Hypot(dx, dy)
}

// BoxNear reports whether a point is nearer to a box than d.
func BoxNear(b geom.Box, p geom.Point, d float64) bool {
	if b.Min.X-p.X >= d || p.X-b.Max.X >= d || b.Min.Y-p.Y >= d || p.Y-b.Max.Y >= d {
		return false
	}
	return BoxDist(b, p) < d
}

// BoxesNear reports whether two boxes are nearer to each other than d.
func BoxesNear(a, b geom.Box, d float64) bool {
	if a.Min.X-b.Max.X >= d || b.Min.X-a.Max.X >= d || a.Min.Y-b.Max.Y >= d || b.Min.Y-a.Max.Y >= d {
		return false
	}
	return BoxGap(a, b) < d
}

// JointsOf returns the template's joints, table frame.
func JointsOf(tp *Template) []Joint {
	var out []Joint
	for _, j := range tp.Seams {
		out = append(out, Joint{Tail: j.Owner.ID, Socket: j.Other.ID, From: tp.ToTable.Apply(j.From), To: tp.ToTable.Apply(j.To), Key: j.Key, Part: j.Part})
	}
	return out
}
