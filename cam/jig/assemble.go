package jig

import (
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// flatParts turns a template's pieces into parts in their own frames.
func flatParts(tp *Template) []Part {
	var out []Part
	for _, p := range tp.Pieces {
		b := p.Outline.Bounds()
		to := geom.Placement{X: -b.Min.X, Y: -b.Min.Y}
		part := Part{ID: p.ID, Template: tp.End, Role: p.Role, Outline: p.Outline.Transform(to).Canonical(), Text: p.Text, Scale: 1}
		for _, o := range p.Openings {
			part.Openings = append(part.Openings, o.moved(to))
		}
		for _, s := range p.Scores {
			part.Scores = append(part.Scores, s.Transform(to))
		}
		for _, s := range p.Letters {
			part.Letters = append(part.Letters, s.Transform(to))
		}
		for _, s := range p.NoStart {
			part.NoStart = append(part.NoStart, s.Transform(to))
		}
		for _, s := range p.Jointed {
			part.Seams = append(part.Seams, s.Transform(to))
		}
		at := tp.ToTable.Apply(b.Min)
		part.OnTable = Pose{X: at.X, Y: at.Y, TurnDeg: tp.ToTable.TurnDeg}
		out = append(out, part)
	}
	return out
}

// moved returns the opening shifted by a placement that does not turn.
func (o Opening) moved(m geom.Placement) Opening {
	o.C, o.From, o.To = m.Apply(o.C), m.Apply(o.From), m.Apply(o.To)
	o.StartDeg, o.EndDeg = o.StartDeg+m.TurnDeg, o.EndDeg+m.TurnDeg
	return o
}

// lengthClass is the range of playing-surface length one jig serves. Every mark
// is indexed from its own end nose and stands at a fixed share of the length, so
// a table dL longer moves the mark by that share of dL. What its budget leaves of
// the tolerance (likely error, common terms added) may be spent on that. A
// middle spot marked by reversal does not care how long the table is.
func lengthClass(budgets []Budget, req Request) [2]float64 {
	l := req.Table.L
	if req.Want.For == "this" {
		return [2]float64{l, l}
	}
	give := math.Inf(1)
	for _, b := range budgets {
		share := lengthShare(b.Mark, req.Table, req.Marks)
		if share == 0 || b.Mark == middleSpot(req.Table, req.Marks) {
			continue
		}
		give = math.Min(give, math.Max(0, b.Tolerance-b.RSS)/share)
	}
	if math.IsInf(give, 1) {
		give = req.Want.Tolerance / 2
	}
	give = math.Floor(math.Min(give, classMost)*10) / 10
	return [2]float64{l - give, l + give}
}

// classMost: beyond this the scaled marks of two tables are visibly not the
// same, whatever the budget says, mm.
const classMost = 13.0

// lengthShare is how much of a change of length moves the mark, as a fraction.
func lengthShare(id string, table layout.Table, marks []layout.Mark) float64 {
	share, l := 0.0, table.L
	for _, m := range marks {
		if m.ID != id {
			continue
		}
		for _, e := range elementsOf(m) {
			if e.lengthwise() {
				continue
			}
			b := e.Bounds()
			for _, x := range []float64{b.Min.X, b.Max.X} {
				if x > l/2+middleTol {
					x = l - x
				}
				share = math.Max(share, x/l)
			}
		}
	}
	return share
}
