package jig

import (
	"math"

	"spotjig/cam/jig/budget"
	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// A machine that cuts sx too long in x, sy in y, and out of square by g turns a
// drawn displacement (x, y) into (x + sx·x + g·y, y + sy·y). A piece that lies
// turned a quarter on its sheet gets sx and sy exchanged and the sign of g, and
// nobody knows yet which way a piece will lie. So the mean of sx and sy stretches
// the whole template evenly, while half their difference and the skew strain each
// piece one way or the other.

// sways are what a strain of one size does in each piece by itself.
func (s *laying) sways(el Element, on *Piece, p geom.Point, by strain) []geom.Vec {
	var out []geom.Vec
	for _, q := range s.tp.Pieces {
		if v := el.square(p, s.of(source{bent: q, strain: by}, on, p)); v != (geom.Vec{}) {
			out = append(out, v)
		}
	}
	return out
}

func scaled(all []geom.Vec, by float64) []geom.Vec {
	var out []geom.Vec
	for _, v := range all {
		out = append(out, v.Scale(by))
	}
	return out
}

// ScaleAllowed is how far a length on a piece may be off by the machine's scale before
// the budget no longer holds, as a fraction: what was measured, and what is not known.
func ScaleAllowed(mach machine.Profile) float64 {
	return math.Max(math.Abs(mach.ScaleX), math.Abs(mach.ScaleY))*1e-6 + scaleUnknown(mach)
}

// scaleUnknown is what is not known of the machine's scale, as a fraction.
func scaleUnknown(mach machine.Profile) float64 {
	if mach.ScaleX != 0 || mach.ScaleY != 0 {
		return measuredPPM * 1e-6
	}
	return scalePPM * 1e-6
}

// machineEffects are the machine's scale and squareness at a point of a mark: as
// measured, either sign, and what is not known beyond that.
func machineEffects(s *laying, el Element, on *Piece, p geom.Point, acc accuracy) []budget.Effect {
	const ppm = 1e-6
	mach := acc.machine
	whole := el.square(p, geom.Vec(p))
	uneven := s.sways(el, on, p, strain{xx: 1, yy: -1})
	skew := math.Abs(mach.SkewMicrons) * ppm // µm a metre
	if skew == 0 {
		skew = machineSkew * ppm
	}
	// sx and sy each within the bound: mean and half difference share it.
	out := []budget.Effect{{Term: "machine scale", By: whole.Scale(acc.scale), Pieces: scaled(uneven, acc.scale), Common: true}}
	if mach.ScaleX != 0 || mach.ScaleY != 0 {
		mean, half := (mach.ScaleX+mach.ScaleY)/2*ppm, (mach.ScaleX-mach.ScaleY)/2*ppm
		out = append(out, budget.Effect{Term: "machine scale", By: whole.Scale(mean), Common: true},
			budget.Effect{Term: "machine scale", Pieces: scaled(uneven, half), Common: true})
	}
	return append(out, budget.Effect{Term: "machine squareness", Pieces: scaled(s.sways(el, on, p, strain{xy: 0.5}), skew), Common: true})
}
