// Package tip proves what a blade does: where its trailing tip goes, as worked out from the
// program as re-read, against the nominal parts, its depth and its overrun.
package tip

import (
	"math"

	"spotjig/post/proof"

	"spotjig/layout/geom"
)

// Steps of the blade's simulation.
const (
	// tipStep is how far the pivot goes between two samples of the tip at most, mm, where
	// Blade.Step does not say otherwise.
	tipStep = 0.05
	// tipTurn is how far it turns between two samples at most along an arc, radians.
	tipTurn = 0.05
	// tipFine is how long a step of integration along an arc is at most, as a share of the
	// offset; a fourth-order step is then good to 0.05⁵/120, 3e-9 radians.
	tipFine = 0.05
)

// PivotMove is one straight or circular move of a knife's pivot as a program
// states it, with the height of the tip at its two ends: zero on the sheet's
// upper face, up positive.
type PivotMove struct {
	geom.Segment
	ZFrom, ZTo float64
}

// TipSample is where the blade's tip is.
type TipSample struct {
	At      geom.Point
	Z       float64
	Heading geom.Angle // from tip to pivot, counter-clockwise from +x
	Move    int        // index of the move
}

// Blade is a castor: its tip trails the pivot by Offset and, while in the
// sheet, cannot slip sideways. Off the sheet it keeps its heading.
type Blade struct {
	Offset  float64
	Heading geom.Angle
	Step    float64 // mm between samples; 0: 0.05
}

func (b Blade) step() float64 {
	if b.Step > 0 {
		return b.Step
	}
	return tipStep
}

// Trail moves the blade's pivot along the moves, calls visit for samples of the
// tip's place in order, at least every Step of pivot path with both ends of every
// move, and returns the blade as it ends.
//
// The law is that of a wheel on a trailing arm: with theta the pivot's
// direction and psi the heading, dpsi/ds = sin(theta-psi)/d. On a line it has
// the solution tan(phi/2) = tan(phi0/2) exp(-s/d), phi = psi-theta, which is
// used as it stands; on an arc theta turns evenly and the law is integrated by
// the classical fourth-order Runge-Kutta rule. Nothing is known here of how a
// path was compensated.
func (b Blade) Trail(moves []PivotMove, visit func(TipSample)) Blade {
	for i, m := range moves {
		down := math.Min(m.ZFrom, m.ZTo) < 0
		switch {
		case !down || m.From == m.To:
			b.carry(i, m, visit)
		case m.Bulge != 0:
			b = b.dragArc(i, m, visit)
		default:
			b = b.dragLine(i, m, visit)
		}
	}
	return b
}

// tip returns the sample for the pivot at p.
func (b Blade) tip(p geom.Point, z float64, move int) TipSample {
	s, c := math.Sincos(float64(b.Heading))
	at := geom.Point{X: p.X - b.Offset*c, Y: p.Y - b.Offset*s}
	return TipSample{At: at, Z: z, Heading: b.Heading, Move: move}
}

// carry is a move off the sheet, or up and down on the spot.
func (b Blade) carry(i int, m PivotMove, visit func(TipSample)) {
	visit(b.tip(m.From, m.ZFrom, i))
	visit(b.tip(m.To, m.ZTo, i))
}

// dragLine is a straight move in the sheet.
func (b Blade) dragLine(i int, m PivotMove, visit func(TipSample)) Blade {
	path := proof.LineOf(m.From, m.To)
	theta := math.Atan2(m.To.Y-m.From.Y, m.To.X-m.From.X)
	phi := math.Remainder(float64(b.Heading)-theta, 2*math.Pi)
	l := path.Length()
	n := int(math.Ceil(l/b.step())) + 1
	for k := 0; k <= n; k++ {
		f := float64(k) / float64(n)
		b.Heading = geom.Angle(theta + 2*math.Atan(math.Tan(phi/2)*math.Exp(-f*l/b.Offset)))
		visit(b.tip(path.At(f), m.ZFrom+f*(m.ZTo-m.ZFrom), i))
	}
	return b
}

// dragArc is an arc in the sheet.
func (b Blade) dragArc(i int, m PivotMove, visit func(TipSample)) Blade {
	path := proof.Bulged(m.From, m.To, m.Bulge)
	r, sweep, l := path.R, path.Sweep, path.Length()
	theta := path.Start + math.Copysign(math.Pi/2, sweep)
	n := int(math.Ceil(math.Max(l/b.step(), math.Abs(sweep)/tipTurn))) + 1
	fine := int(math.Ceil(l/float64(n)/(tipFine*b.Offset))) + 1 // steps of integration a sample
	h := l / float64(n*fine)
	turn := math.Copysign(1/r, sweep) // of theta, per mm
	slope := func(s, psi float64) float64 { return math.Sin(theta+turn*s-psi) / b.Offset }
	psi := float64(b.Heading)
	visit(b.tip(m.From, m.ZFrom, i))
	for k := 0; k < n*fine; k++ {
		s := h * float64(k)
		k1 := slope(s, psi)
		k2 := slope(s+h/2, psi+h/2*k1)
		k3 := slope(s+h/2, psi+h/2*k2)
		k4 := slope(s+h, psi+h*k3)
		psi += h / 6 * (k1 + 2*k2 + 2*k3 + k4)
		if (k+1)%fine == 0 {
			f := float64(k+1) / float64(n*fine)
			b.Heading = geom.Angle(psi)
			visit(b.tip(path.At(f), m.ZFrom+f*(m.ZTo-m.ZFrom), i))
		}
	}
	return b
}
