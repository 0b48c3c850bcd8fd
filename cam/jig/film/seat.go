package film

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
)

// seats stands a block (or box) on each leg's end and on each end of the first
// crosspiece. The front is the middle of its nose face, on the nose plane of a true
// table.
func seats(tp *jig.Template, lim jig.Limits, table layout.Table) []*jig.Fin {
	var out []*jig.Fin
	for _, side := range []float64{-1, 1} {
		v := side * tp.EndAt
		for _, p := range tp.Pieces {
			if isLegEnd(p) && p.Box.Min.Y < v && p.Box.Max.Y > v {
				out = append(out, &jig.Fin{Role: jig.EndFin, On: p, Front: geom.Point{Y: v}})
			}
		}
	}
	for _, s := range []float64{-1, 1} {
		if p := sidePiece(tp, s, table.W/2-lim.EndGap, lim); p != nil {
			out = append(out, &jig.Fin{Role: jig.SideFin, On: p, Front: geom.Point{X: jig.SideFinAt(tp, p, sideCorner, lim), Y: s * table.W / 2}})
		}
	}
	return out
}

// sideCorner is how far from the corner the middle of a side block is wanted.
const sideCorner = jig.CornerWant + blockLong/2

// sidePiece is the first piece from the end nose at a side nose, reach from the centre
// line, that keeps its block away from the corner, else the last.
func sidePiece(tp *jig.Template, s, reach float64, lim jig.Limits) *jig.Piece {
	var last *jig.Piece
	for _, p := range tp.Pieces {
		if math.Abs(math.Max(s*p.Box.Min.Y, s*p.Box.Max.Y)-reach) > 0.01 {
			continue
		}
		if last = p; jig.SideFinAt(tp, p, sideCorner, lim) >= jig.CornerLeast+blockLong/2 {
			break
		}
	}
	return last
}

// sideOf is 0 for a seat at the end, +1 and -1 for one at the left and right side.
func sideOf(s *jig.Fin) float64 {
	if s.Role == jig.EndFin {
		return 0
	}
	return math.Copysign(1, s.Front.Y)
}

// seatSpan is the stretch of its piece's datum edge that an end block takes.
func seatSpan(s *jig.Fin) jig.Span {
	b := s.On.Box
	return jig.Span{Lo: math.Max(b.Min.Y, s.Front.Y-blockLong/2-2), Hi: math.Min(b.Max.Y, s.Front.Y+blockLong/2+2)}
}

// keepSeats keeps slots and lettering off the places of blocks and scales.
func keepSeats(tp *jig.Template, lim jig.Limits, table layout.Table) {
	for _, s := range tp.Fins {
		if s.Role == jig.EndFin {
			at := seatSpan(s)
			s.On.Busy = append(s.On.Busy, geom.Box{Min: geom.Point{X: s.On.Box.Min.X, Y: at.Lo}, Max: geom.Point{X: blockDeep + 2, Y: at.Hi}})
			continue
		}
		lo, hi := scaleRange(lim, table)
		u := scaleAt(s)
		s.On.Busy = append(s.On.Busy, geom.EmptyBox().
			Include(geom.Point{X: u - 1, Y: sideOf(s) * (lo - 3)}).Include(geom.Point{X: u + 16, Y: sideOf(s) * (hi + 3)}))
	}
}

// scaleRange is what a side scale shows, mm from the centre line to the inner
// face of a block, or to the nose that a box touches.
func scaleRange(lim jig.Limits, table layout.Table) (lo, hi float64) {
	nominal, travel := table.W/2, lim.SideTravel
	return math.Ceil(nominal - blockMost - travel), math.Floor(nominal - blockDeep + travel)
}

// scaleAt is the u of a side scale: beside the line-free strip's middle.
func scaleAt(s *jig.Fin) float64 { return s.Front.X - 8 }

// scores draws the centre line, the check ticks, and where blocks and tabs go.
func scores(tp *jig.Template, lim jig.Limits, table layout.Table, font jig.Font, ls *laps, boxed bool) {
	jig.ScoreLines(tp, lim)
	for _, s := range tp.Fins {
		if s.Role == jig.EndFin {
			endSeat(s, lim, boxed)
		} else {
			blockScale(s, lim, table, font, boxed)
		}
	}
	for _, l := range ls.all {
		if l.in(tp) {
			lapLines(l, lim)
		}
	}
}

// endSeat scores where an end block's back stands and where its tape ends.
func endSeat(s *jig.Fin, lim jig.Limits, boxed bool) {
	at := seatSpan(s)
	deep := blockDeep
	text := fmt.Sprintf("BLOCK %g X %g X %g OR MORE, FACE FLUSH WITH THIS EDGE", blockDeep, blockDeep, blockLong)
	if boxed {
		deep = boxDeep
		text = "GLUE BOX HERE, FACE FLUSH WITH THIS EDGE"
	}
	jig.ScoreLine(s.On, geom.Segment{From: geom.Point{X: deep, Y: at.Lo + 6}, To: geom.Point{X: deep, Y: at.Hi - 6}}, lim)
	if !boxed {
		jig.ScoreLine(s.On, geom.Segment{From: geom.Point{X: tapeLine, Y: at.Lo + 6}, To: geom.Point{X: tapeLine, Y: at.Hi - 6}}, lim)
		s.On.Notes = append(s.On.Notes, jig.Note{Text: "TAPE TO THIS LINE", Near: geom.Point{X: tapeLine + 6, Y: s.Front.Y}, High: jig.SmallHigh})
	}
	s.On.Notes = append(s.On.Notes, jig.Note{Text: text, Near: geom.Point{X: tapeLine + 12, Y: s.Front.Y}, High: jig.SmallHigh})
}

// blockScale draws the ruler a side block is read at: a tick each mm, longer at
// every fifth, numbered at every tenth.
func blockScale(s *jig.Fin, lim jig.Limits, table layout.Table, font jig.Font, boxed bool) {
	lo, hi := scaleRange(lim, table)
	u := scaleAt(s)
	for read := lo; read <= hi; read++ {
		long := 3.0
		if math.Mod(read, 5) == 0 {
			long = 5
		}
		v := sideOf(s) * read
		s.On.Scores = append(s.On.Scores, jig.Stroke(geom.Point{X: u, Y: v}, geom.Point{X: u + long, Y: v}))
		if math.Mod(read, 10) == 0 {
			jig.Number(s.On, fmt.Sprintf("%g", read), geom.Point{X: u + 6.2, Y: v}, 1, font)
		}
	}
	text := "SIDE BLOCK: PUSH TO NOSE, READ INNER FACE, EQUAL BOTH SIDES"
	if boxed {
		text = "SIDE BOX: PUSH TO NOSE, READ INNER EDGE, EQUAL BOTH SIDES"
	}
	s.On.Notes = append(s.On.Notes, jig.Note{Text: text, Near: geom.Point{X: u + 10, Y: sideOf(s) * (lo - 12)}, High: jig.SmallHigh})
}

// lapLines scores where a tab's edge lies on the other piece, and where the tape
// over it ends, and keeps lettering out from under the tab.
func lapLines(l *lap, lim jig.Limits) {
	const tape = 15.0 // half a roll's width
	for _, deep := range []float64{lapDeep, lapDeep + tape} {
		move := l.j.Out(l.owner).Scale(deep)
		ends := geom.Segment{From: l.foot[0].Add(move), To: l.foot[1].Add(move)}
		inset := l.j.Along().Scale(4)
		ends.From, ends.To = ends.From.Add(inset), ends.To.Add(inset.Scale(-1))
		if l.j.Other.Box.Grow(-3).Contains(ends.From) && l.j.Other.Box.Grow(-3).Contains(ends.To) {
			jig.ScoreLine(l.j.Other, ends, lim)
		}
	}
	l.j.Other.Busy = append(l.j.Other.Busy, l.tab)
}

// markBallast marks places for weights, one a piece, and a second where the template
// has too few, and returns their number.
func markBallast(tp *jig.Template, lim jig.Limits, font jig.Font) int {
	n := 0
	for round := 0; round < 2; round++ {
		for _, p := range tp.Pieces {
			if p.Role == jig.Leg || round > 0 && n >= ballastMin {
				continue
			}
			if at, _, ok := jig.NewBlanks(tp, p, lim).Nearest(ballastBox, ballastBox, p.Box.Center()); ok {
				markWeight(p, geom.Box{Min: at, Max: at.Add(geom.Vec{X: ballastBox, Y: ballastBox})}, font)
				n++
			}
		}
	}
	return n
}

// markWeight draws one place: corner ticks and the words.
func markWeight(p *jig.Piece, b geom.Box, font jig.Font) {
	const tick, high = 6.0, 6.0
	for _, c := range []geom.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}} {
		x, y := math.Copysign(tick, b.Center().X-c.X), math.Copysign(tick, b.Center().Y-c.Y)
		p.Scores = append(p.Scores, geom.MustOpen(geom.Vertex{At: c.Add(geom.Vec{X: x})}, geom.Vertex{At: c}, geom.Vertex{At: c.Add(geom.Vec{Y: y})}))
	}
	w := font.Width("1 KG", high)
	p.Letters = append(p.Letters, font.Strokes("1 KG", high, geom.Placement{X: b.Center().X - w/2, Y: b.Center().Y - high/2})...)
	p.Text = append(p.Text, "1 KG")
	p.Busy = append(p.Busy, b)
}

// ballastCheck warns of a template with fewer weights than hold it.
func ballastCheck(all []*jig.Template, places map[string]int) jig.Check {
	least := math.Inf(1)
	for _, tp := range all {
		least = math.Min(least, float64(places[tp.End]))
	}
	return jig.Check{ID: "ballast", Verdict: jig.WarnUnless(least >= ballastMin), Value: least, Limit: ballastMin,
		Text: "fewest places for a weight of 1 kg on a template, besides the blocks"}
}

// seatChecks looks at how far each block's middle stands from a corner and from
// the centre pocket, and that each template has all four.
func seatChecks(all []*jig.Template, table layout.Table) []jig.Check {
	corner, middle, seats := math.Inf(1), math.Inf(1), math.Inf(1)
	for _, tp := range all {
		n := 0.0
		for _, s := range tp.Fins {
			n++
			if s.Role == jig.EndFin {
				corner = math.Min(corner, table.W/2-math.Abs(s.Front.Y)-blockLong/2)
				continue
			}
			corner = math.Min(corner, s.Front.X-blockLong/2)
			middle = math.Min(middle, table.L/2-s.Front.X-blockLong/2)
		}
		seats = math.Min(seats, n)
	}
	judge := func(v, least float64) jig.Verdict { return jig.FailUnless(v >= least-1e-6) }
	return []jig.Check{
		{ID: "seats", Verdict: jig.FailUnless(seats == 4), Value: seats, Limit: 4, Text: "places to stand a block on a template: two at the end, one each side"},
		{ID: "contact-corner", Verdict: judge(corner, jig.CornerLeast), Value: jig.Round3(corner), Limit: jig.CornerLeast, Unit: "mm", Text: "nearest end of a block to a corner"},
		{ID: "contact-middle", Verdict: judge(middle, jig.MiddleLeast), Value: jig.Round3(middle), Limit: jig.MiddleLeast, Unit: "mm", Text: "nearest end of a block to the centre string"},
	}
}
