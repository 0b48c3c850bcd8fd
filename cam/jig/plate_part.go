package jig

import (
	"fmt"
	"strings"

	"spotjig/layout/geom"
)

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

// spareFins are copies of a template's fins under names of their own, numbered on
// from the last; each stands where its original does.
func spareFins(tp *template, lim limits, font lettering) []Part {
	of := map[Role]int{}
	for _, f := range tp.fins {
		of[f.role]++
	}
	next := map[Role]int{}
	var out []Part
	for _, f := range tp.fins {
		next[f.role]++
		spare := *f
		spare.id = fmt.Sprintf("%s%d", strings.TrimRight(f.id, "0123456789"), of[f.role]+next[f.role])
		part := finPart(tp, &spare, lim, font)
		part.Text = append(part.Text, "SPARE FOR "+f.id)
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
