package jig

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/geom"
)

// A short stroke beside a slot would be taken for the dash that tells the slot's true edge:
// two of a line's stretches and a tick were, and the jobs refused.
func TestNoStrokePassesForADash(t *testing.T) {
	slot := Opening{ID: "line/1", Kind: OpenSlot, Figure: geom.Line(geom.Point{X: 50, Y: 50}, geom.Point{X: 150, Y: 50}), Width: 4}
	hole := Opening{ID: "spot", Kind: OpenSpot, Figure: geom.Dot(geom.Point{X: 75, Y: 54}), Width: 3}
	line := func(y float64) geom.Segment {
		return geom.Segment{From: geom.Point{X: 60, Y: y}, To: geom.Point{X: 120, Y: y}}
	}

	p := &Piece{Openings: []Opening{slot, hole}}
	ScoreLine(p, line(54), Limits{})
	require.Len(t, p.Scores, 1, "the stretch of 12 mm before the hole is left out")
	assert.InDelta(t, 42, p.Scores[0].Length(), 0.01, "the long one stays")

	p = &Piece{Openings: []Opening{slot, {ID: "spot", Kind: OpenSpot, Figure: geom.Dot(geom.Point{X: 75, Y: 56}), Width: 3}}}
	ScoreLine(p, line(56), Limits{})
	assert.Len(t, p.Scores, 2, "4 mm off the slot's edge both stay")

	assert.True(t, p.asDash(geom.Point{X: 95, Y: 53}, geom.Point{X: 95, Y: 57}), "square to the slot too")
	assert.False(t, p.asDash(geom.Point{X: 152, Y: 53}, geom.Point{X: 156, Y: 53}), "beyond the slot's end")
}

// A check tick moves on from a slot that it would lie beside, and what is lettered is how far
// apart the ticks are then.
func TestTicksKeepOffSlots(t *testing.T) {
	b := box(0, 0, 100, 400)
	e := ReferenceEdge(&Piece{Role: Crosspiece, Box: b})
	dir := e.To.Sub(e.From).Unit()
	at := e.From.Add(dir.Scale(tickInset + 3.9))
	ticksOf := func(of ...Opening) *Piece {
		p := &Piece{Role: Crosspiece, Box: b, Openings: of}
		checkTicks(&Template{members: []member{{Crosspiece, b}}, Pieces: []*Piece{p}}, 0, false)
		require.Len(t, p.Scores, 2)
		return p
	}
	free := ticksOf()
	moved := ticksOf(Opening{ID: "line/1", Kind: OpenSlot, Figure: geom.Line(at, at.Add(dir.Left().Scale(30))), Width: 4})
	assert.Equal(t, free.Scores[1], moved.Scores[1], "the other stays")
	assert.InDelta(t, 9, free.Scores[0].Vertices()[0].At.Dist(moved.Scores[0].Vertices()[0].At), 1e-9)
	assert.InDelta(t, 9, TicksApart(free.Text[0])-TicksApart(moved.Text[0]), 1e-9)
}

// Where two pieces overlap a third at a common line, that line is scored once. It was once
// for each, the one 22 mm longer, and the job was refused: a stroke cut 1.86 times over.
func TestNoLineIsScoredTwice(t *testing.T) {
	at := func(x, y float64) geom.Point { return geom.Point{X: x, Y: y} }
	p := &Piece{}
	for _, s := range []geom.Segment{{From: at(4, 45), To: at(92, 45)}, {From: at(4, 45), To: at(114, 45)}, {From: at(20, 45), To: at(60, 45)}, {From: at(50, 10), To: at(50, 80)}, {From: at(4, 46), To: at(92, 46)}} {
		ScoreLine(p, s, Limits{})
	}
	var got []float64
	for _, c := range p.Scores {
		got = append(got, c.Length())
	}
	assert.InDeltaSlice(t, []float64{88, 21.5, 70, 88}, got, 0.01, "the second goes on where the first ends, the third is all there, one across and one beside are whole")
}
