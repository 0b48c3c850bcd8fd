package tip_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/layout/geom"
	"spotjig/post/proof/tip"
)

const deg = geom.Degree

func line(x0, y0, x1, y1 float64) tip.PivotMove {
	return arc(x0, y0, x1, y1, 0)
}

func arc(x0, y0, x1, y1, bulge float64) tip.PivotMove {
	return tip.PivotMove{Segment: geom.Segment{From: geom.Point{X: x0, Y: y0}, To: geom.Point{X: x1, Y: y1}, Bulge: bulge}, ZFrom: -1, ZTo: -1}
}

// trail collects the tip's samples.
func trail(b tip.Blade, moves ...tip.PivotMove) (tip.Blade, []tip.TipSample) {
	var out []tip.TipSample
	end := b.Trail(moves, func(s tip.TipSample) { out = append(out, s) })
	return end, out
}

// The distances in offsets that bring a blade round on a straight: from
// d·(ln tan(phi0/2) - ln tan(phi1/2)), the tractrix law (any text on the
// tractrix, e.g. Lockwood, A Book of Curves, 1961, ch. 13), computed by hand
// calculator beside the code.
func TestBladeComesRoundOnStraight(t *testing.T) {
	for _, row := range []struct{ from, to, offsets float64 }{
		{90, 10, 2.4362}, {90, 5, 3.1313}, {90, 1, 4.7413}, {90, 0.1, 7.0440},
		{45, 1, 3.8600}, {170, 1, 7.1776}, {179, 1, 9.4827},
	} {
		d := 0.45
		end, _ := trail(tip.Blade{Offset: d, Heading: geom.Angle(row.from) * deg}, line(0, 0, row.offsets*d, 0))
		assert.InDelta(t, row.to, end.Heading.Degrees(), 2e-4*row.to, "%v to %v", row.from, row.to)
	}
}

// Lateral error of the tip d·sech(s/d) after s on a straight from a right
// angle: the tractrix' ordinate (same source).
func TestTipErrorAfterRightAngle(t *testing.T) {
	d := 1.0
	for s, want := range map[float64]float64{1: 0.648054, 2: 0.265802, 3: 0.099328, 4: 0.036619, 5: 0.013475, 6: 0.004957} {
		_, went := trail(tip.Blade{Offset: d, Heading: -90 * deg}, line(0, 0, s, 0))
		assert.InDelta(t, want*d, went[len(went)-1].At.Y, 1e-6, "after %v", s)
	}
}

// An uncompensated right-angled corner is missed by 0.662743 d: least distance
// from the corner to the tractrix x = -d sech u, y = d(u - tanh u), at u = 1.1997.
func TestUncompensatedCornerIsRounded(t *testing.T) {
	d := 0.5
	_, went := trail(tip.Blade{Offset: d}, line(-10, 0, 0, 0), line(0, 0, 0, 10))
	near := math.Inf(1)
	for _, s := range went {
		near = math.Min(near, s.At.Dist(geom.Point{}))
	}
	// Samples lie 0.05 mm apart on the pivot's path and less on the tip's.
	assert.InDelta(t, 0.662743*d, near, 0.0005)
}

// An uncompensated circle is cut on sqrt(R²-d²): the trailing point of a rod
// tangent to its own circle (Pythagoras).
func TestUncompensatedCircleIsSmall(t *testing.T) {
	d := 0.5
	for pivot, want := range map[float64]float64{1: 0.866025, 2: 1.936492, 5: 4.974937, 10: 9.987492, 28.575: 28.570625} {
		half := []tip.PivotMove{arc(-pivot, 0, pivot, 0, 1), arc(pivot, 0, -pivot, 0, 1)}
		var moves []tip.PivotMove
		for i := 0; i < 20; i++ {
			moves = append(moves, half...)
		}
		_, went := trail(tip.Blade{Offset: d, Heading: -90 * deg}, moves...)
		last := went[len(went)-1].At
		assert.InDelta(t, want, math.Hypot(last.X, last.Y), 1e-6, "pivot on %v", pivot)
	}
}

// A pivot that swings on the offset's radius about the tip leaves the tip where
// it is: to 1e-6 here, half turns included.
func TestSwivelLeavesTipStanding(t *testing.T) {
	d := 0.5
	for _, turn := range []float64{5, 30, 90, 120, 135, 175, 180, -5, -90, -180} {
		s, c := math.Sincos(turn * math.Pi / 180)
		_, went := trail(tip.Blade{Offset: d}, arc(d, 0, d*c, d*s, math.Tan(turn*math.Pi/180/4)))
		for _, p := range went {
			assert.InDelta(t, 0, p.At.Dist(geom.Point{}), 1e-6, "turn %v", turn)
		}
	}
}

// Line, tangent arc, line, and a corner: the pivot's path as worked out by hand
// for an offset of 0.5 mm (arc of tip radius 5 about (10,5): pivot radius
// 5.024938). The tip must follow the nominal path.
func TestTipFollowsWorkedPaths(t *testing.T) {
	quarter := math.Tan(math.Pi / 8)
	_, went := trail(tip.Blade{Offset: 0.5},
		line(0.5, 0, 10.5, 0), arc(10.5, 0, 15, 5.5, quarter), line(15, 5.5, 15, 15.5))
	nominal := geom.MustOpen(geom.Vertex{}, geom.Vertex{At: geom.Point{X: 10}, Bulge: quarter},
		geom.Vertex{At: geom.Point{X: 15, Y: 5}}, geom.Vertex{At: geom.Point{X: 15, Y: 15}})
	for _, s := range went {
		_, off := nominal.Nearest(s.At)
		assert.InDelta(t, 0, off, 1e-8)
	}
	assert.InDelta(t, 0, went[len(went)-1].At.Dist(geom.Point{X: 15, Y: 15}), 1e-8)

	_, went = trail(tip.Blade{Offset: 0.5}, line(0.5, 0, 10.5, 0), arc(10.5, 0, 10, 0.5, quarter), line(10, 0.5, 10, 10.5))
	assert.InDelta(t, 0, went[len(went)-1].At.Dist(geom.Point{X: 10, Y: 10}), 1e-6)
}

// Off the sheet the blade keeps its heading.
func TestRaisedBladeKeepsHeading(t *testing.T) {
	up := line(0, 0, 0, 10)
	up.ZFrom, up.ZTo = 2, 2
	end, went := trail(tip.Blade{Offset: 1, Heading: 0}, up)
	assert.Equal(t, geom.Angle(0), end.Heading)
	assert.Equal(t, geom.Point{X: -1, Y: 10}, went[len(went)-1].At)
}
