package jig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/geom"
)

// Every check of a finished jig is shown a fault just past its limit and a jig just at
// it: a check that never fails would pass all whole jobs. Figures are elementary geometry.

// named picks a check.
func named(t *testing.T, cs []Check, id string) Check {
	t.Helper()
	for _, c := range cs {
		if c.ID == id {
			return c
		}
	}
	require.Fail(t, "no check "+id)
	return Check{}
}

// flat is a part of 200 x 100 with a spot hole, a slot, a score and a stroke of lettering.
func flat() Part {
	return Part{ID: "H1", Outline: geom.Rect(geom.Box{Max: geom.Point{X: 200, Y: 100}}),
		Openings: []Opening{
			{ID: "spot", Kind: OpenSpot, Figure: geom.Dot(geom.Point{X: 60, Y: 50}), Width: 2 * 1.5},
			{ID: "slot", Kind: OpenSlot, Figure: geom.Line(geom.Point{X: 100, Y: 50}, geom.Point{X: 150, Y: 50}), Width: 3},
		},
		Scores:  []geom.Contour{stroke(20, 20, 180, 20)},
		Letters: []geom.Contour{stroke(30, 80, 34, 88)},
		Seams:   []geom.Contour{stroke(200, 30, 200, 70)},
	}
}

func stroke(x0, y0, x1, y1 float64) geom.Contour {
	return geom.MustOpen(geom.Vertex{At: geom.Point{X: x0, Y: y0}}, geom.Vertex{At: geom.Point{X: x1, Y: y1}})
}

// inspected are limits and a table to hold parts against.
func inspected() (Limits, Request) {
	return Limits{Thickness: 5, Web: 8, InnerRadius: 2.5, JointClear: 20, BedW: 590, BedH: 390, Lip: 8, EndGap: 14, NoseHigh: 40},
		Request{Table: layout.Table{L: 2540, W: 1270}, Material: machine.Material{Density: 1190}}
}

func TestValidateFindsEachFault(t *testing.T) {
	lim, _ := inspected()
	hole := func(x, y float64) func(*Part) {
		return func(p *Part) { p.Openings[0].Figure = geom.Dot(geom.Point{X: x, Y: y}) }
	}
	for _, tc := range []struct {
		name  string
		spoil func(p *Part)
		check string // the one that fails; "" when none does
		value float64
	}{
		{"as it is", func(*Part) {}, "", 0},
		{"a web's width from the edge", hole(9.5, 50), "", 0},
		{"nearer to the edge", hole(9.49, 50), "web", 7.99},
		{"a web's width from the slot", hole(89, 50), "", 0},
		{"nearer to the slot", hole(89.01, 50), "web", 7.99},
		{"outside its part", hole(-30, 50), "web", 0},
		{"a notch rounded enough", func(p *Part) { p.Outline = notched(2.5) }, "", 0},
		{"a notch rounded too tightly", func(p *Part) { p.Outline = notched(2.49) }, "inside-corner", 2.49},
		{"a sharp notch", func(p *Part) { p.Outline = notched(0) }, "inside-corner", 0},
		{"a seam 20 mm from the hole", func(p *Part) { p.Seams[0] = stroke(81.5, 30, 81.5, 70) }, "", 0},
		{"a seam nearer", func(p *Part) { p.Seams[0] = stroke(81.49, 30, 81.49, 70) }, "joint-to-spot", 19.99},
		{"a seam's end nearer", func(p *Part) { p.Seams[0] = stroke(60, 71.49, 60, 90) }, "joint-to-spot", 19.99},
		{"a score to the very edge", func(p *Part) { p.Scores[0] = stroke(20, 20, 201, 20) }, "strokes", 1},
		{"a score from outside", func(p *Part) { p.Scores[0] = stroke(-1, 20, 100, 20) }, "strokes", 1},
		{"a score across the slot", func(p *Part) { p.Scores[0] = stroke(120, 30, 120, 70) }, "strokes", 1},
		{"a score beside the slot", func(p *Part) { p.Scores[0] = stroke(90, 52.01, 160, 52.01) }, "", 0},
		{"a score along the slot", func(p *Part) { p.Scores[0] = stroke(90, 51.99, 160, 51.99) }, "strokes", 1},
		{"a letter in the hole", func(p *Part) { p.Letters[0] = stroke(59.9, 50, 60.1, 50) }, "strokes", 1},
		{"two strays", func(p *Part) {
			p.Letters[0], p.Scores[0] = stroke(59.9, 50, 60.1, 50), stroke(-1, 20, 100, 20)
		}, "strokes", 2},
		{"as large as the bed", func(p *Part) { p.Outline = geom.Rect(geom.Box{Max: geom.Point{X: 590, Y: 390}}) }, "", 0},
		{"as large as the bed, turned", func(p *Part) { p.Outline = geom.Rect(geom.Box{Max: geom.Point{X: 390, Y: 590}}) }, "", 0},
		{"longer than the bed", func(p *Part) { p.Outline = geom.Rect(geom.Box{Max: geom.Point{X: 590.01, Y: 100}}) }, "fits-bed", -0.01},
		{"wider than the bed", func(p *Part) { p.Outline = geom.Rect(geom.Box{Max: geom.Point{X: 391, Y: 390.5}}) }, "fits-bed", -0.5},
	} {
		t.Run(tc.name, func(t *testing.T) {
			p := flat()
			tc.spoil(&p)
			// A sound part before and one after it must not hide what is wrong.
			cs := lim.validate([]Part{flat(), p, flat()})
			require.Len(t, cs, 5)
			for _, c := range cs {
				if c.ID != tc.check {
					assert.Equal(t, Pass, c.Verdict, "%s: %g: %s", c.ID, c.Value, c.Text)
					continue
				}
				assert.Equal(t, Fail, c.Verdict, c.ID)
				assert.InDelta(t, tc.value, c.Value, 1e-6, c.ID)
			}
		})
	}
	bare := Part{ID: "F1", Outline: geom.Rect(geom.Box{Max: geom.Point{X: 50, Y: 50}})}
	for _, c := range lim.validate([]Part{bare}) {
		assert.Equal(t, Pass, c.Verdict, c.ID)
		assert.False(t, math.IsInf(c.Value, 0), c.ID)
	}
}

// notched is the plate's outline with an inside corner of radius r in its upper right.
func notched(r float64) geom.Contour {
	v := func(x, y, b float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}, Bulge: b} }
	if r == 0 {
		return geom.MustClosed(v(0, 0, 0), v(200, 0, 0), v(200, 80, 0), v(180, 80, 0), v(180, 100, 0), v(0, 100, 0))
	}
	return geom.MustClosed(v(0, 0, 0), v(200, 0, 0), v(200, 80, 0), v(180+r, 80, -(math.Sqrt2-1)), v(180, 80+r, 0), v(180, 100, 0), v(0, 100, 0))
}

func TestMissingSpotsAreFound(t *testing.T) {
	spot := Element{mark: "black", Figure: geom.Dot(geom.Point{X: 100})}
	line := Element{mark: "baulk-line", Figure: geom.Line(geom.Point{}, geom.Point{X: 100})}
	for n, want := range map[int]Verdict{0: Fail, 1: Pass, 2: Fail} {
		tp := &Template{Elements: []Element{line, spot}}
		for range n {
			tp.Covered = append(tp.Covered, cover{Of: spot})
		}
		tp.Covered = append(tp.Covered, cover{Of: line})
		cs := spotsCut([]*Template{tp})
		assert.Equal(t, want, named(t, cs, "spots").Verdict, "%d holes", n)
	}
}

// Of a length of 100, 10 to 30 and 25 to 60 and 90 to 100 are reached: 60 of 100, and
// the longest gap is 60 to 90.
func TestCoverageIsMeasured(t *testing.T) {
	share, gap := measure([]Span{{90, 100}, {10, 30}, {25, 60}}, 100)
	assert.InDelta(t, 0.6, share, 1e-12)
	assert.InDelta(t, 30, gap, 1e-12)
	share, gap = measure([]Span{{40, 60}, {45, 50}}, 100)
	assert.InDelta(t, 0.2, share, 1e-12)
	assert.InDelta(t, 40, gap, 1e-12)
	share, gap = measure([]Span{{10, 80}}, 100)
	assert.InDelta(t, 0.7, share, 1e-12)
	assert.InDelta(t, 20, gap, 1e-12)
	share, gap = measure(nil, 50)
	assert.Zero(t, share)
	assert.InDelta(t, 50, gap, 1e-12)
}

func TestMissingLettersAndKeysAreTold(t *testing.T) {
	tp := func(texts ...string) *Template {
		return &Template{Pieces: []*Piece{{ID: "H1", unlettered: texts}, {ID: "H2"}}}
	}
	assert.Equal(t, Pass, letterCheck([]*Template{tp()}).Verdict)
	assert.Equal(t, Warn, letterCheck([]*Template{tp("HEAD\nmore")}).Verdict)
	for _, texts := range [][]string{{"H1"}, {"HEAD", "H1"}, {"H1", "HEAD"}} {
		assert.Equal(t, Fail, letterCheck([]*Template{tp(texts...)}).Verdict, "a piece without its name")
	}
	a, b := &Piece{ID: "H1"}, &Piece{ID: "H2"}
	assert.Equal(t, Pass, keyCheck([]*Template{{Seams: []*Seam{{A: a, B: b}}}}).Verdict)
	assert.Equal(t, Warn, keyCheck([]*Template{{Seams: []*Seam{{A: a, B: b}, {A: b, B: a, LettersOnly: true}}}}).Verdict)
}

// The frame of each template on a table that is no rectangle: its y axis runs along the
// end's nose, its x axis square to that and inwards, and the place at the station lies on
// the middle line, from the middle of one end to the middle of the other.
func TestFramesFollowTheTable(t *testing.T) {
	for _, corners := range [][4][2]float64{
		{{0, -635}, {2540, -635}, {2540, 635}, {0, 635}},
		{{3, -636}, {2538, -633}, {2545, 640}, {-4, 631}},
		{{-6, -630}, {2540, -640}, {2530, 636}, {9, 634}},
	} {
		_, req := inspected()
		req.Table.Corners, req.Want.For = corners, "this"
		req.Table.Surveyed = true
		require.True(t, follows(req.Table, req.Want))
		at := func(i int) geom.Point { return geom.Point{X: corners[i][0], Y: corners[i][1]} }
		head, foot := at(0).Mid(at(3)), at(1).Mid(at(2))
		for end, nose := range map[string]geom.Vec{"head": at(3).Sub(at(0)).Unit(), "foot": at(1).Sub(at(2)).Unit()} {
			for _, station := range []float64{100, 700} {
				m := frameAt(end, station, req.Table, req.Want)
				y, x := m.Rotate(geom.Vec{Y: 1}), m.Rotate(geom.Vec{X: 1})
				assert.InDelta(t, 1, y.Dot(nose), 1e-12, "%s %v", end, corners)
				inwards := foot.Sub(head).Unit()
				if end == "foot" {
					inwards = inwards.Scale(-1)
				}
				assert.Greater(t, x.Dot(inwards), 0.99, "%s %v", end, corners)
				mid := geom.Segment{From: head, To: foot}
				p := m.Apply(geom.Point{X: station})
				_, off := mid.Nearest(p)
				assert.InDelta(t, 0, off, 1e-9, "%s %v", end, corners)
				// The template begins on the nose.
				from := geom.Segment{From: at(0), To: at(3)}
				if end == "foot" {
					from = geom.Segment{From: at(2), To: at(1)}
				}
				origin := m.Apply(geom.Point{})
				assert.InDelta(t, 0, math.Abs(from.To.Sub(from.From).Unit().Cross(origin.Sub(from.From))), 1e-9, "%s %v", end, corners)
			}
		}
	}
}

// A long string from the foot spot to the foot nose lies on a balkline's centre line: what
// is cut for one serves the other where both run, and nothing that only crosses, ends
// before, or runs beside it does. An outline is reached by the side that lies there.
func TestLinesOnOneAnotherShareTheirSlots(t *testing.T) {
	line := func(id string, x, y, x2, y2 float64) layout.Mark {
		return layout.Mark{ID: id, Kind: layout.Line, X: x, Y: y, X2: x2, Y2: y2}
	}
	slot := geom.Line(geom.Point{X: 1905}, geom.Point{X: 2400})
	for _, tc := range []struct {
		name string
		of   layout.Mark
		want []Span
	}{
		{"the longer line", line("centre", 710, 0, 1990, 0), []Span{{1195, 1280}}},
		{"the other way round", line("centre", 2000, 0, 700, 0), []Span{{0, 95}}},
		{"all of it", line("long", 1800, 0, 2540, 0), []Span{{105, 600}}},
		{"ends before", line("head", 0, 0, 1905, 0), nil},
		{"crosses", line("foot", 2000, -300, 2000, 300), nil},
		{"beside it", line("other", 0, 0.01, 2540, 0.01), nil},
		{"a side of an outline", layout.Mark{ID: "box", Kind: layout.Outline, Points: [][2]float64{{1900, 0}, {2000, 0}, {2000, 100}}}, []Span{{5, 100}}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			assert.Equal(t, tc.want, alsoReached(elementsOf(tc.of), slot))
		})
	}
}
