package jig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/layout/geom"
)

// A plain strip of acrylic, 600 x 96 x 4.85 mm, 1190 kg/m³, 3.2 GPa, on two supports.
// With w = rho·g·b·t and I = b·t³/12 the width cancels: 5·rho·g·L⁴/(32·E·t²), by
// calculator 7564.7 / 2.40870e6 = 3.1406 mm.
func TestSagOfAStrip(t *testing.T) {
	for _, wide := range []float64{40, 96, 300} {
		mass := 0.6 * wide / 1000 * 0.00485 * 1190
		got := sag(beam{long: 600, wide: wide, thick: 4.85, mass: mass, modulus: 3.2e9})
		assert.InDelta(t, 3.1406, got, 5e-4)
	}
	// The same by adding up the moments: the deflection in the middle is the
	// integral of M(x)·m(x)/EI with m(x) = x/2 up to the middle (unit load method).
	const n, long, wide, thick, e = 20000, 600.0, 96.0, 4.85, 3200.0 // N, mm
	w := 0.6 * 0.096 * 0.00485 * 1190 * 9.81 / long
	sum := 0.0
	for i := range n {
		x := (float64(i) + 0.5) / n * long / 2
		sum += 2 * (w / 2 * (long*x - x*x)) * (x / 2) * (long / 2 / n)
	}
	assert.InDelta(t, sum/(e*wide*thick*thick*thick/12), sag(beam{long: long, wide: wide, thick: thick, mass: w * long / 9.81, modulus: 3.2e9}), 1e-5)
}

// A strip cut to half its width along its middle half: the share of the sag that
// comes from there is, with (x - x²)x integrated, 0.8375; it doubles, so the strip
// counts as 100/1.8375 = 54.42 wide. Cut from 0.2 to 0.8 of its length the share is
// 0.91296 and the strip 52.27 wide. A slot with round ends lies between. (Unit load
// method, by calculator.)
func TestNetWidth(t *testing.T) {
	slot := func(x0, x1, y float64) Opening {
		return Opening{Kind: OpenSlot, Figure: geom.Line(geom.Point{X: x0, Y: y}, geom.Point{X: x1, Y: y}), Width: 4}
	}
	p := Part{Outline: geom.Rect(geom.Box{Max: geom.Point{X: 500, Y: 100}})}
	assert.InDelta(t, 100, netWidth(p), 1e-9)
	// From end to end: one slot, then another beside it.
	p.Openings = []Opening{slot(0, 500, 30)}
	assert.InDelta(t, 96, netWidth(p), 1e-9)
	p.Openings = append(p.Openings, slot(0, 500, 70))
	assert.InDelta(t, 92, netWidth(p), 1e-9)
	// The middle half alone.
	wide := slot(125, 375, 50)
	wide.Width = 50
	wide.Kind = OpenFin
	p.Openings = []Opening{wide}
	got := netWidth(p)
	assert.Less(t, got, 54.42)
	assert.Greater(t, got, 52.27)
	// A hole near the end hardly counts, the same in the middle does.
	hole := func(x float64) float64 {
		p.Openings = []Opening{{Kind: OpenFinger, Figure: geom.Dot(geom.Point{X: x, Y: 50}), Width: 2 * 12}}
		return netWidth(p)
	}
	assert.Greater(t, hole(20), 99.9)
	assert.Less(t, hole(250), 98.5)
}

// 600 x 400 x 3 mm at 1190 kg/m³ is 0.857 kg, 1220 x 2440 x 3 is 10.627 kg (by
// calculator).
func TestWeightOfASheet(t *testing.T) {
	sheet := sheet{thick: 3, density: 1190}
	of := func(x, y float64) float64 {
		return sheet.weight(Part{Outline: geom.Rect(geom.Box{Max: geom.Point{X: x, Y: y}})})
	}
	assert.InDelta(t, 0.857, of(600, 400), 5e-4)
	assert.InDelta(t, 10.627, of(1220, 2440), 5e-4)
	// A hole of 12 mm takes 1.615 g.
	p := Part{Outline: geom.Rect(geom.Box{Max: geom.Point{X: 600, Y: 400}}), Openings: []Opening{{Kind: OpenFinger, Figure: geom.Dot(geom.Point{X: 300, Y: 200}), Width: 2 * 12}}}
	assert.InDelta(t, math.Pi*144*3*1190e-9, of(600, 400)-sheet.weight(p), 1e-9)
}
