package jig

import (
	"fmt"
	"math"

	"spotjig/cam/machine"
	"spotjig/layout"
)

// overlapCheck fails when two pieces want the same place on the table, or a piece
// reaches a nose or the other template's half.
func overlapCheck(all []*template, lim limits, table layout.Table) Check {
	most, at := 0.0, ""
	note := func(by float64, what string) {
		if by > most {
			most, at = by, ": "+what
		}
	}
	for _, tp := range all {
		for i, p := range tp.pieces {
			note(lim.lip-0.01-p.box.Min.X, p.id+" at the end nose")
			note(math.Max(p.box.Max.Y, -p.box.Min.Y)-(table.W/2-lim.endGap)-0.01, p.id+" at a side nose")
			for _, q := range tp.pieces[i+1:] {
				if in := p.box.Grow(-0.01); in.Overlaps(q.box) {
					note(math.Min(seamLength(p.box, q.box, 0), seamLength(p.box, q.box, 1)), p.id+" and "+q.id)
				}
			}
		}
	}
	return Check{ID: "overlap", Verdict: failUnless(most <= 0), Value: most, Unit: "mm", Text: "pieces that want the same place" + at}
}

// finCheck fails unless every template has two end fins and two side fins.
func finCheck(all []*template) Check {
	short := 0
	for _, tp := range all {
		ends := 0
		for _, f := range tp.fins {
			if f.role == EndFin {
				ends++
			}
		}
		if ends != 2 || len(tp.fins) != 4 {
			short++
		}
	}
	return Check{ID: "fins", Verdict: failUnless(short == 0), Value: float64(short), Text: "templates without two end fins and two side fins"}
}

// contacts looks at how far each fin stands from corner and centre pocket.
func contacts(all []*template, table layout.Table) []Check {
	corner, middle := math.Inf(1), math.Inf(1)
	for _, tp := range all {
		for _, f := range tp.fins {
			if f.role == EndFin {
				corner = math.Min(corner, table.W/2-math.Abs(f.front.Y))
				continue
			}
			corner = math.Min(corner, f.front.X)
			middle = math.Min(middle, table.L/2-f.front.X)
		}
	}
	judge := func(v, want, least float64) Verdict {
		switch {
		case v < least-1e-6:
			return Fail
		case v < want-1e-6:
			return Warn
		}
		return Pass
	}
	return []Check{
		{ID: "contact-corner", Verdict: judge(corner, cornerWant, cornerLeast), Value: round3(corner), Limit: cornerWant, Unit: "mm", Text: "nearest fin to a corner"},
		{ID: "contact-middle", Verdict: judge(middle, middleWant, middleLeast), Value: round3(middle), Limit: middleWant, Unit: "mm", Text: "nearest fin to the centre string"},
	}
}

// What the tipping figures assume: a hand's press on a side fin, and friction
// of acrylic on cloth (common practice, not published).
const (
	pressForce = 5.0 // N
	friction   = 0.4
)

// tipping compares, for every fin, the push at nose height that would tip it
// with the push that slides the template. An end fin is fixed to its leg, so
// the whole template would have to lift about the leg's inner end; a side fin
// is held by its heel and the hand that presses on its flat.
func tipping(all []*template, lim limits, material machine.Material) []Check {
	var cs []Check
	for _, tp := range all {
		mass, moment := massOf(tp, lim, material)
		slide := friction * mass * gravity
		h := lim.noseHigh
		reach := 0.0
		for _, p := range tp.pieces {
			reach = math.Max(reach, p.box.Max.X)
		}
		if mass == 0 {
			continue
		}
		endTip := mass * gravity * (reach - moment/mass) / h
		sideTip := pressForce * (lim.sideHeel() - finTopFlat/2) / h
		for _, f := range tp.fins {
			tip, what := endTip, fmt.Sprintf("%.1f N tips the template over its end fin %s, %.1f N slides it", endTip, f.id, slide)
			limit := slide
			if f.role == SideFin {
				tip, limit = sideTip, 1.0
				what = fmt.Sprintf("%.1f N at the nose tips side fin %s while a finger presses with %.0f N on its flat; touching takes under 1 N", sideTip, f.id, pressForce)
			}
			cs = append(cs, Check{ID: "tip:" + f.id, Verdict: failUnless(tip > limit), Value: tip, Limit: limit, Unit: "N", Text: what})
		}
	}
	return cs
}

// massOf returns a template's mass, kg, and its moment about the nose, kg·mm.
func massOf(tp *template, lim limits, material machine.Material) (mass, moment float64) {
	for _, p := range tp.pieces {
		a := p.outline.Area()
		for _, o := range p.openings {
			a += o.Contour().Area() // clockwise, so negative
		}
		m := a * lim.t * 1e-9 * material.Density
		mass += m
		moment += m * p.box.Center().X
	}
	return mass, moment
}
