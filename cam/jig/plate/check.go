package plate

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout"
)

// overlapCheck fails when two pieces want the same place on the table, or a piece
// reaches a nose or the other template's half.
func overlapCheck(all []*jig.Template, lim jig.Limits, table layout.Table) jig.Check {
	most, at := 0.0, ""
	note := func(by float64, what string) {
		if by > most {
			most, at = by, ": "+what
		}
	}
	for _, tp := range all {
		for i, p := range tp.Pieces {
			note(lim.Lip-0.01-p.Box.Min.X, p.ID+" at the end nose")
			note(math.Max(p.Box.Max.Y, -p.Box.Min.Y)-(table.W/2-lim.EndGap)-0.01, p.ID+" at a side nose")
			for _, q := range tp.Pieces[i+1:] {
				if in := p.Box.Grow(-0.01); in.Overlaps(q.Box) {
					note(math.Min(jig.SeamLength(p.Box, q.Box, 0), jig.SeamLength(p.Box, q.Box, 1)), p.ID+" and "+q.ID)
				}
			}
		}
	}
	return jig.Check{ID: "overlap", Verdict: jig.FailUnless(most <= 0), Value: most, Unit: "mm", Text: "pieces that want the same place" + at}
}

// finCheck fails unless every template has two end fins and two side fins.
func finCheck(all []*jig.Template) jig.Check {
	short := 0
	for _, tp := range all {
		ends := 0
		for _, f := range tp.Fins {
			if f.Role == jig.EndFin {
				ends++
			}
		}
		if ends != 2 || len(tp.Fins) != 4 {
			short++
		}
	}
	return jig.Check{ID: "fins", Verdict: jig.FailUnless(short == 0), Value: float64(short), Text: "templates without two end fins and two side fins"}
}

// contacts looks at how far each fin stands from corner and centre pocket.
func contacts(all []*jig.Template, table layout.Table) []jig.Check {
	corner, middle := math.Inf(1), math.Inf(1)
	for _, tp := range all {
		for _, f := range tp.Fins {
			if f.Role == jig.EndFin {
				corner = math.Min(corner, table.W/2-math.Abs(f.Front.Y))
				continue
			}
			corner = math.Min(corner, f.Front.X)
			middle = math.Min(middle, table.L/2-f.Front.X)
		}
	}
	judge := func(v, want, least float64) jig.Verdict {
		switch {
		case v < least-1e-6:
			return jig.Fail
		case v < want-1e-6:
			return jig.Warn
		}
		return jig.Pass
	}
	return []jig.Check{
		{ID: "contact-corner", Verdict: judge(corner, jig.CornerWant, jig.CornerLeast), Value: jig.Round3(corner), Limit: jig.CornerWant, Unit: "mm", Text: "nearest fin to a corner"},
		{ID: "contact-middle", Verdict: judge(middle, jig.MiddleWant, jig.MiddleLeast), Value: jig.Round3(middle), Limit: jig.MiddleWant, Unit: "mm", Text: "nearest fin to the centre string"},
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
func tipping(all []*jig.Template, lim jig.Limits, material machine.Material) []jig.Check {
	var cs []jig.Check
	for _, tp := range all {
		mass, moment := massOf(tp, lim, material)
		slide := friction * mass * jig.Gravity
		h := lim.NoseHigh
		reach := 0.0
		for _, p := range tp.Pieces {
			reach = math.Max(reach, p.Box.Max.X)
		}
		if mass == 0 {
			continue
		}
		endTip := mass * jig.Gravity * (reach - moment/mass) / h
		sideTip := pressForce * (lim.SideHeel() - finTopFlat/2) / h
		for _, f := range tp.Fins {
			tip, what := endTip, fmt.Sprintf("%.1f N tips the template over its end fin %s, %.1f N slides it", endTip, f.ID, slide)
			limit := slide
			if f.Role == jig.SideFin {
				tip, limit = sideTip, 1.0
				what = fmt.Sprintf("%.1f N at the nose tips side fin %s while a finger presses with %.0f N on its flat; touching takes under 1 N", sideTip, f.ID, pressForce)
			}
			cs = append(cs, jig.Check{ID: "tip:" + f.ID, Verdict: jig.FailUnless(tip > limit), Value: tip, Limit: limit, Unit: "N", Text: what})
		}
	}
	return cs
}

// massOf returns a template's mass, kg, and its moment about the nose, kg·mm.
func massOf(tp *jig.Template, lim jig.Limits, material machine.Material) (mass, moment float64) {
	for _, p := range tp.Pieces {
		a := p.Outline.Area()
		for _, o := range p.Openings {
			a += o.Contour().Area() // clockwise, so negative
		}
		m := a * lim.Thickness * 1e-9 * material.Density
		mass += m
		moment += m * p.Box.Center().X
	}
	return mass, moment
}
