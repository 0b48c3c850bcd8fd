package plate

import (
	"fmt"
	"math"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// finPart letters a fin with its name and, where a hand goes, PRESS.
func finPart(tp *jig.Template, f *jig.Fin, lim jig.Limits, font jig.Font) jig.Part {
	part := jig.Part{ID: f.ID, Template: tp.End, Role: f.Role, Outline: f.Outline, Scale: 1, Shoe: f.Shoe}
	part.OnTable = pose(f, tp, lim.FinBottom)
	const high = 4.0
	y := lim.Thickness + 8
	write := func(text string, h, x, y float64) {
		part.Letters = append(part.Letters, font.Strokes(text, h, geom.Placement{X: x, Y: y})...)
		part.Text = append(part.Text, text)
	}
	left := 4.0
	if f.Shoe != "" {
		left = seat(lim) + lim.InnerRadius + 3 // behind seat and pocket, however low the tongue
	}
	write(f.ID, high, left, y)
	switch {
	case f.Role == jig.SideFin:
		write("PRESS", 2.6, 2.5, lim.FinTop-6)
	case f.Shoe != "":
		write("SHOE", 2.6, left, y+8)
	default:
		write("NOSE", 2.6, 2.5, y+8)
	}
	b := f.Outline.Bounds()
	// The front edge and the foot are datums: no cut starts there.
	part.NoStart = append(part.NoStart,
		geom.Segment{From: geom.Point{X: 0, Y: b.Max.Y}, To: geom.Point{X: 0, Y: 0}},
		geom.Segment{From: geom.Point{X: 0, Y: 0}, To: geom.Point{X: b.Max.X, Y: 0}},
		geom.Segment{From: geom.Point{X: lim.Lip, Y: lim.Thickness}, To: geom.Point{X: b.Max.X, Y: lim.Thickness - lim.FinBottom}},
		geom.Segment{From: geom.Point{X: b.Max.X, Y: 0}, To: geom.Point{X: b.Max.X, Y: lim.Thickness + indexHeight}})
	if f.Shoe != "" {
		return fromTongue(part, lim)
	}
	return part
}

// spareFins are copies of a template's fins under names of their own, numbered on
// from the last; each stands where its original does.
func spareFins(tp *jig.Template, lim jig.Limits, font jig.Font) []jig.Part {
	of := map[jig.Role]int{}
	for _, f := range tp.Fins {
		of[f.Role]++
	}
	next := map[jig.Role]int{}
	var out []jig.Part
	for _, f := range tp.Fins {
		next[f.Role]++
		spare := *f
		spare.ID = fmt.Sprintf("%s%d", strings.TrimRight(f.ID, "0123456789"), of[f.Role]+next[f.Role])
		part := finPart(tp, &spare, lim, font)
		part.Text = append(part.Text, "SPARE FOR "+f.ID)
		out = append(out, part)
	}
	return out
}

// Measures of plugs, mm. plugClear is what a plug's radius is smaller than its hole's: it
// drops in and centres the marker to about that. A plug is held by nothing and bears
// nothing, so that jig.PlugWall of material round the marker's hole does.
const (
	plugClear = 0.05
	plugEdge  = 0.6 // kept between a plug's letters and what is cut
)

// pluggable reports whether a sticker's hole is large enough for a plug.
func pluggable(lim jig.Limits) bool {
	return lim.Hole-plugClear-lim.Bore >= jig.PlugWall
}

// plugs are discs that drop into the sticker holes, with the marker's hole in the middle.
func plugs(tp *jig.Template, lim jig.Limits, font jig.Font) []jig.Part {
	if !pluggable(lim) {
		return nil
	}
	var out []jig.Part
	for _, p := range tp.Pieces {
		for _, o := range p.Openings {
			if o.Kind != jig.OpenSpot {
				continue
			}
			r := o.Width/2 - plugClear
			c := geom.Point{X: r, Y: r}
			at := tp.ToTable.Apply(o.A.Add(geom.Vec{X: -r, Y: -r}))
			id := fmt.Sprintf("%sP%d", tp.Letter, len(out)+1)
			part := jig.Part{ID: id, Template: tp.End, Role: jig.Plug, Scale: 1, Outline: geom.Circle(c, r).Canonical(), Text: []string{id},
				OnTable: jig.Pose{X: at.X, Y: at.Y, Turn: tp.ToTable.Turn}}
			hole := jig.Round(o.Mark+"/plug", jig.OpenSpot, c, lim.Bore)
			hole.Mark = o.Mark
			part.Openings = []jig.Opening{hole}
			if low, ok := plugLetters(r, lim.Bore, font.Width(id, jig.LeastHigh)); ok {
				part.Letters = font.Strokes(id, jig.LeastHigh, geom.Placement{X: r - font.Width(id, jig.LeastHigh)/2, Y: low})
			} else {
				part.Text = nil
			}
			out = append(out, part)
		}
	}
	return out
}

// plugLetters is how far above a plug's foot its letters stand: a third of its radius, or
// where there is less room midway between edge and hole. A plug too small for letters goes
// without: all are alike.
func plugLetters(r, hole, wide float64) (low float64, ok bool) {
	low = r / 3
	if top := r - hole - plugEdge - jig.LeastHigh; low > top {
		low = top
	}
	return low, math.Hypot(wide/2, r-low) <= r-plugEdge
}

// plugCheck warns where stickers are too small for plugs.
func plugCheck(lim jig.Limits) jig.Check {
	wall := lim.Hole - plugClear - lim.Bore
	c := jig.Check{ID: "plugs", Verdict: jig.WarnUnless(pluggable(lim)), Value: wall, Limit: jig.PlugWall, Unit: "mm",
		Text: "material round the marker's hole of a plug"}
	if c.Verdict == jig.Warn {
		c.Text += ": too little, so none is made; a plain point is set by eye in the middle of the sticker's hole"
	}
	return c
}
