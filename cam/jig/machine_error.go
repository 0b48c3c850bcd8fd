package jig

import (
	"math"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// A machine that cuts sx too long in x, sy in y, and out of square by g turns a
// drawn displacement (x, y) into (x + sx·x + g·y, y + sy·y). A piece that lies
// turned a quarter on its sheet gets sx and sy exchanged and the sign of g, and
// nobody knows yet which way a piece will lie. So the mean of sx and sy stretches
// the whole template evenly, while half their difference and the skew strain each
// piece one way or the other.

// sway adds up what a strain of one size and either sign does in each piece.
type sway struct {
	worst geom.Vec // every piece the worst way
	even  geom.Vec // all pieces alike
	sq    float64
}

// likely is the larger of what comes of all pieces lying alike and of each lying
// as it happens, as squares.
func (w sway) likely() float64 { return math.Max(w.even.Len(), math.Sqrt(w.sq)) }

func (s *laying) sway(el Element, on *Piece, p geom.Point, by strain) sway {
	var w sway
	for _, q := range s.tp.Pieces {
		v := el.square(s.of(source{bent: q, strain: by}, on, p))
		w.worst = w.worst.Add(geom.Vec{X: math.Abs(v.X), Y: math.Abs(v.Y)})
		w.even = w.even.Add(v)
		w.sq += v.Dot(v)
	}
	return w
}

// machineTerms are the machine's scale and squareness at a point of a mark: as
// measured, else as assumed, either sign.
func machineTerms(s *laying, el Element, on *Piece, p geom.Point, mach machine.Profile) []Term {
	const ppm = 1e-6
	whole := el.square(geom.Vec(p)).Len()
	uneven := s.sway(el, on, p, strain{xx: 1, yy: -1})
	skewed := s.sway(el, on, p, strain{xy: 0.5})
	scale := Term{Name: "machine scale", Common: true}
	if mach.ScaleX == 0 && mach.ScaleY == 0 {
		// sx and sy each within the assumption: mean and half difference share it.
		scale.Value = machinePPM * ppm * math.Max(whole, uneven.worst.Len())
		scale.RSS = machinePPM * ppm * math.Max(whole, uneven.likely())
	} else {
		mean, half := math.Abs(mach.ScaleX+mach.ScaleY)/2*ppm, math.Abs(mach.ScaleX-mach.ScaleY)/2*ppm
		scale.Value = mean*whole + half*uneven.worst.Len()
		scale.RSS = mean*whole + half*uneven.likely()
	}
	g := math.Abs(mach.SkewMicrons) * ppm // µm a metre
	if g == 0 {
		g = machineSkew * ppm
	}
	return []Term{scale, {Name: "machine squareness", Value: g * skewed.worst.Len(), RSS: g * skewed.likely(), Common: true}}
}
