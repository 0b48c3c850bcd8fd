package plate

import (
	"fmt"
	"math"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
)

// scores draws the centre line, the check ticks and the side fins' scales.
func scores(tp *jig.Template, lim jig.Limits, table layout.Table, font jig.Font) {
	for _, f := range tp.Fins {
		if f.Role == jig.SideFin {
			finScale(tp, f, lim, table, font)
		}
		f.On.Busy = append(f.On.Busy, footprint(f, lim))
	}
	jig.ScoreLines(tp, lim)
}

// footprint is where a fin stands on its piece, wherever it slides.
func footprint(f *jig.Fin, lim jig.Limits) geom.Box {
	m := geom.Placement{X: f.Front.X, Y: f.Front.Y, Turn: f.Run}
	long := f.Outline.Bounds().Max.X
	if f.Role == jig.SideFin {
		long += lim.SideTravel
	}
	return geom.EmptyBox().Include(m.Apply(geom.Point{X: 0, Y: -lim.Thickness / 2})).Include(m.Apply(geom.Point{X: long, Y: lim.Thickness / 2})).Grow(1)
}

// finScale draws the ruler beside a side fin's slot: a tick each half millimetre,
// longer at whole and at every fifth, numbered with the distance from the jig's
// centre line to the nose that the fin then touches.
func finScale(tp *jig.Template, f *jig.Fin, lim jig.Limits, table layout.Table, font jig.Font) {
	p := f.On
	s := 1.0
	if f.Front.Y < 0 {
		s = -1
	}
	nominal := table.W / 2
	side, room := scaleSide(tp, f, lim)
	edge := f.Front.X + side*(lim.FinSlot/2+1.2)
	lo, hi := math.Ceil((nominal-lim.SideTravel)*2), math.Floor((nominal+lim.SideTravel)*2)
	for k := lo; k <= hi; k++ {
		read := k / 2
		v := s * (read - f.Index)
		long := 2.0
		switch {
		case math.Mod(k, 10) == 0:
			long = 5
			// In little room the figure begins nearer, and its tick ends before it.
			text := fmt.Sprintf("%g", read)
			at := numberAt(room-lim.FinSlot/2-1.2, text, font)
			long = math.Min(long, at-tickApart)
			jig.Number(p, text, geom.Point{X: edge + side*at, Y: v}, side, font)
		case math.Mod(k, 2) == 0:
			long = 3
		}
		p.Scores = append(p.Scores, jig.Stroke(geom.Point{X: edge, Y: v}, geom.Point{X: edge + side*long, Y: v}))
	}
	box := geom.EmptyBox().Include(geom.Point{X: edge - side, Y: s * (nominal - lim.SideTravel - f.Index - 3)}).
		Include(geom.Point{X: edge + side*16, Y: s * (nominal + lim.SideTravel - f.Index + 3)})
	p.Busy = append(p.Busy, box)
}

// scaleBox is what a side fin's scale covers, figures included: joints keep clear of it.
func scaleBox(tp *jig.Template, f *jig.Fin, lim jig.Limits) geom.Box {
	side, room := scaleSide(tp, f, lim)
	edge := f.Front.X + side*(lim.FinSlot/2+1.2)
	font, widest := jig.NewFont(), strings.Repeat("0", len(fmt.Sprintf("%.0f", math.Abs(f.Front.Y)+lim.SideTravel)))
	far := edge + side*(numberAt(room-lim.FinSlot/2-1.2, widest, font)+font.Width(widest, jig.NumberHigh))
	mid := math.Copysign(math.Abs(f.Front.Y)-f.Index, f.Front.Y)
	half := lim.SideTravel + jig.NumberHigh/2
	return geom.EmptyBox().Include(geom.Point{X: edge, Y: mid - half}).Include(geom.Point{X: far, Y: mid + half})
}

// tickApart is what is free between the longest tick and its figure, mm.
const tickApart = 0.4

// numberAt is how far from a scale's edge a figure begins, in so much room: nearer where it
// would run into what lies beyond, but clear of the ticks of whole millimetres beside it.
func numberAt(room float64, text string, font jig.Font) float64 {
	const usual, nearest, free = 6.2, 3.6, 0.6
	return math.Max(nearest, math.Min(usual, room-font.Width(text, jig.NumberHigh)-free))
}

// scaleSide is +1 or -1 along u: the side of the slot with more room, a line's own slot
// taken off; and that room from the slot's middle, mm.
func scaleSide(tp *jig.Template, f *jig.Fin, lim jig.Limits) (side, room float64) {
	lo, hi := f.On.Box.Min.X, f.On.Box.Max.X
	for _, e := range tp.Elements {
		if e.Transverse() && e.Bounds().Overlaps(f.On.Box) {
			if e.A.X < f.Front.X {
				lo = math.Max(lo, e.A.X+lim.Slot/2)
			} else {
				hi = math.Min(hi, e.A.X-lim.Slot/2)
			}
		}
	}
	if f.Front.X-lo > hi-f.Front.X+1e-6 {
		return -1, f.Front.X - lo
	}
	return 1, hi - f.Front.X
}
