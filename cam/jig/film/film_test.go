package film

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// A flap of 0.35 mm polyester (4.5 GPa, a usual value for the film) 60 mm wide at
// a nose 37 mm up: the cantilever formula of any text on strength of materials,
// E·w·t³/4h³, by calculator 4500·60·0.042875/(4·50653) = 0.0571 N/mm.
func TestFlapOfFilmLocatesNothing(t *testing.T) {
	assert.InDelta(t, 0.0571, flapStiff(4.5e9, 60, 0.35, 37), 0.0001)
}

// Two gussets of 1 mm card, 45 deep, E = 2 GPa, at 36 mm: bending
// 36³/(3·2000·2·7593.75) = 0.000512 mm/N, shear 1.2·36/(769.2·90) = 0.000624 mm/N;
// by calculator 880 N/mm together.
func TestBoxStiffness(t *testing.T) {
	assert.InDelta(t, 880, boxStiff(2e9, 1, 36), 1)
}

// Bend deduction 2t - pi/2·0.4·t/2: card of 1 mm 2 - 0.31416 = 1.68584, of 1.5 mm
// 2.52876, by calculator.
func TestBendDeduction(t *testing.T) {
	for thick, want := range map[float64]float64{1: 1.68584, 1.5: 2.52876} {
		assert.InDelta(t, want, bend(jig.Limits{Thickness: thick}), 1e-5)
	}
}

// A net folded up measures on the outside what was asked: flat lengths plus half a
// bend deduction for every fold they end at.
func TestBoxFoldsToSize(t *testing.T) {
	lim := jig.Limits{Thickness: 1, InnerRadius: 2, PlanRadius: 3, FinTop: 52}
	n, bd := net(lim), bend(lim)
	assert.InDelta(t, boxWide, n.x1-n.x0+bd, 1e-9)
	assert.InDelta(t, 51, n.top-n.y0+bd/2, 1e-9)
	assert.InDelta(t, boxDeep, n.gusset+bd/2, 1e-9)
	inside := n.base + bd // the base and its folded tabs, outside
	assert.InDelta(t, boxWide-2*1-boxSlack, inside, 1e-9, "goes between the gussets")
	c := boxOutline(n, lim)
	assert.InDelta(t, n.x1+n.gusset, c.Bounds().Width(), 1e-6)
	assert.Positive(t, c.Area())
	for _, s := range c.Segments() {
		if s.Bulge < 0 {
			assert.GreaterOrEqual(t, s.Radius(), 2-1e-9, "an inside corner")
		}
	}
}

func TestStraightenedDropsPointsInLine(t *testing.T) {
	p := func(x, y float64) geom.Point { return geom.Point{X: x, Y: y} }
	got := straightened([]geom.Point{p(0, 0), p(5, 0), p(10, 0), p(10, 0), p(10, 4), p(0, 4), p(0, 2)})
	assert.Equal(t, []geom.Point{p(0, 0), p(10, 0), p(10, 4), p(0, 4)}, got)
}

// Pins go as far apart as there is room, at no distance that is taken, and not
// even about the middle.
func TestPinsAreUnlike(t *testing.T) {
	ls := &laps{}
	free := []float64{}
	for s := 10.0; s <= 86; s += 1.5 {
		free = append(free, s)
	}
	for i := 0; i < 12; i++ {
		a, b, ok := pinPair(free, 96, true, ls)
		if !assert.True(t, ok, "pair %d", i) {
			return
		}
		assert.False(t, ls.taken(b-a))
		assert.GreaterOrEqual(t, math.Abs(a+b-96), pinStep-1e-9)
		ls.all = append(ls.all, &lap{apart: b - a})
	}
}
