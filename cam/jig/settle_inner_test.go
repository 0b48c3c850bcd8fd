package jig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// Whatever spots and bands there are, bands that are settled stand apart or are one: two
// crosspieces leave room for a leg, wings and pads do not overlap, a pad covers its
// crosspiece; and no edge inside the template lies where a seam would come near a spot.
func TestBandsSettle(t *testing.T) {
	lim := Limits{Web: 8, Slot: 3, Hole: 1.5, JointClear: 20, Reach: 21, Toe: 0.3, Lip: 8, EndGap: 13.5}
	table := layout.Table{L: 2540, W: 1270}
	half := table.W/2 - lim.EndGap
	rapid.Check(t, func(t *rapid.T) {
		tp := &Template{split: table.L / 2}
		for range rapid.IntRange(0, 6).Draw(t, "spots") {
			tp.Elements = append(tp.Elements, Element{Figure: geom.Dot(geom.Point{X: rapid.Float64Range(60, 1200).Draw(t, "u"), Y: rapid.Float64Range(-500, 500).Draw(t, "v")})})
		}
		bands := []band{{Crosspiece, box(200, -half, 296, half), true}}
		for range rapid.IntRange(0, 4).Draw(t, "more") {
			u := rapid.Float64Range(20, 1100).Draw(t, "at")
			if rapid.Bool().Draw(t, "across") {
				bands = append(bands, band{Crosspiece, box(u, -half, u+MemberWide, half), true})
				continue
			}
			v := rapid.Float64Range(60, 500).Draw(t, "half")
			bands = append(bands, band{Wing, box(u, -v, u+MemberWide, v), false})
		}
		got := lim.settle(tp, bands, table)
		near := lim.JointClear + lim.Hole
		for i, a := range got {
			for _, s := range tp.Elements {
				if s.A.Y < a.box.Min.Y || s.A.Y > a.box.Max.Y {
					continue
				}
				for _, q := range []float64{a.box.Min.X, a.box.Max.X} {
					if q > lim.Lip+1e-6 && q < reachMax(tp)-1e-6 {
						assert.Greater(t, math.Abs(s.A.X-q), near, "%v beside %v", s.A, a.box)
					}
				}
			}
			for k, b := range got {
				over := a.box.Min.X < b.box.Max.X-1e-9 && b.box.Min.X < a.box.Max.X-1e-9
				switch {
				case i == k:
				case a.full == b.full:
					assert.False(t, over, "%v and %v overlap", a, b)
				case over && b.full:
					assert.Equal(t, Pad, a.role)
					assert.LessOrEqual(t, a.box.Min.X, b.box.Min.X)
					assert.GreaterOrEqual(t, a.box.Max.X, b.box.Max.X)
				}
			}
		}
	})
}

func box(x0, y0, x1, y1 float64) geom.Box {
	return geom.Box{Min: geom.Point{X: x0, Y: y0}, Max: geom.Point{X: x1, Y: y1}}
}

// Runs that something short parts leave a bridge between them; before, two slots ended
// within 1.5 mm of each other. A circle has one where it begins, an arc of nearly one too.
func TestRunsLeaveBridges(t *testing.T) {
	lim := Limits{Web: 8, Slot: 3.8, slotMax: 110}
	line := Element{Figure: geom.Line(geom.Point{}, geom.Point{X: 200})}
	got := lim.opened([]Span{{0, 90}, {95, 200}}, line)
	assert.InDelta(t, lim.Web+lim.Slot, got[1].Lo-got[0].Hi, 1e-9)
	assert.Equal(t, []Span{{0, 80}, {95, 200}}, lim.opened([]Span{{0, 80}, {95, 200}}, line), "far enough apart")

	for _, sweep := range []geom.Angle{360, 358, 354} {
		ring := Element{Figure: geom.Arc(geom.Point{}, 100, 0, sweep*geom.Degree)}
		slots := lim.opened([]Span{{0, ring.Length()}}, ring)
		a, b := ring.At(slots[0].Lo), ring.At(slots[0].Hi)
		assert.InDelta(t, lim.Web+lim.Slot, a.Dist(b), 1e-9, "straight across, of an arc of %g degrees", float64(sweep))
	}
	bow := Element{Figure: geom.Arc(geom.Point{}, 100, 0, 352*geom.Degree)}
	assert.Equal(t, []Span{{0, bow.Length()}}, lim.opened([]Span{{0, bow.Length()}}, bow), "ends far enough apart")
}
