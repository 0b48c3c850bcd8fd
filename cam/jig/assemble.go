package jig

import (
	"fmt"
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// flatParts turns a template's pieces into parts in their own frames.
func flatParts(tp *template) []Part {
	var out []Part
	for _, p := range tp.pieces {
		b := p.outline.Bounds()
		to := geom.Placement{X: -b.Min.X, Y: -b.Min.Y}
		part := Part{ID: p.id, Template: tp.end, Role: p.role, Outline: p.outline.Transform(to).Canonical(), Text: p.text, Scale: 1}
		for _, o := range p.openings {
			part.Openings = append(part.Openings, o.moved(to))
		}
		for _, s := range p.scores {
			part.Scores = append(part.Scores, s.Transform(to))
		}
		for _, s := range p.letters {
			part.Letters = append(part.Letters, s.Transform(to))
		}
		for _, s := range p.noStart {
			part.NoStart = append(part.NoStart, s.Transform(to))
		}
		for _, s := range p.seams {
			part.Seams = append(part.Seams, s.Transform(to))
		}
		at := tp.toTable.Apply(b.Min)
		part.OnTable = Pose{X: at.X, Y: at.Y, TurnDeg: tp.toTable.TurnDeg}
		out = append(out, part)
	}
	return out
}

// plugClear is what a plug's radius is smaller than its hole's, mm: it drops in
// and centres the marker to about that.
const plugClear = 0.05

// plugs are discs that drop into the sticker holes, with the marker's hole in the middle.
func plugs(tp *template, lim limits, font lettering) []Part {
	var out []Part
	for _, p := range tp.pieces {
		for _, o := range p.openings {
			if o.Kind != OpenSpot {
				continue
			}
			r := o.R - plugClear
			c := geom.Point{X: r, Y: r}
			at := tp.toTable.Apply(o.C.Add(geom.Vec{X: -r, Y: -r}))
			id := fmt.Sprintf("%sP%d", tp.letter, len(out)+1)
			part := Part{ID: id, Template: tp.end, Role: Plug, Scale: 1, Outline: geom.Circle(c, r).Canonical(), Text: []string{id},
				OnTable: Pose{X: at.X, Y: at.Y, TurnDeg: tp.toTable.TurnDeg}}
			part.Openings = []Opening{{ID: o.Mark + "/plug", Kind: OpenSpot, Mark: o.Mark, C: c, R: round3(lim.slot / 2)}}
			part.Letters = font.strokes(id, leastHigh, geom.Placement{X: r - font.width(id, leastHigh)/2, Y: r / 3})
			out = append(out, part)
		}
	}
	return out
}

// moved returns the opening shifted by a placement that does not turn.
func (o Opening) moved(m geom.Placement) Opening {
	o.C, o.From, o.To = m.Apply(o.C), m.Apply(o.From), m.Apply(o.To)
	o.StartDeg, o.EndDeg = o.StartDeg+m.TurnDeg, o.EndDeg+m.TurnDeg
	return o
}

// finPart letters a fin with its name and, where a hand goes, PRESS.
func finPart(tp *template, f *fin, lim limits, font lettering) Part {
	part := Part{ID: f.id, Template: tp.end, Role: f.role, Outline: f.outline, Scale: 1}
	part.OnTable = f.pose(tp, lim.finBottom)
	const high = 4.0
	y := lim.t + 8
	write := func(text string, h, x, y float64) {
		part.Letters = append(part.Letters, font.strokes(text, h, geom.Placement{X: x, Y: y})...)
		part.Text = append(part.Text, text)
	}
	write(f.id, high, 4, y)
	if f.role == SideFin {
		write("PRESS", 2.6, 2.5, lim.finTop-6)
	} else {
		write("NOSE", 2.6, 2.5, y+8)
	}
	b := f.outline.Bounds()
	// The front edge and the foot are datums: no cut starts there.
	part.NoStart = append(part.NoStart,
		geom.Segment{From: geom.Point{X: 0, Y: b.Max.Y}, To: geom.Point{X: 0, Y: 0}},
		geom.Segment{From: geom.Point{X: 0, Y: 0}, To: geom.Point{X: b.Max.X, Y: 0}},
		geom.Segment{From: geom.Point{X: lim.lip, Y: lim.t}, To: geom.Point{X: b.Max.X, Y: lim.t - lim.finBottom}},
		geom.Segment{From: geom.Point{X: b.Max.X, Y: 0}, To: geom.Point{X: b.Max.X, Y: lim.t + indexHeight}})
	return part
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
			b := e.bounds()
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
