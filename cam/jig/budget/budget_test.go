package budget_test

import (
	"math"
	"math/rand"
	"reflect"
	"sort"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/jig/budget"
	"spotjig/layout/geom"
)

func along(x, y float64) budget.Effect {
	return budget.Effect{Term: "a", By: geom.Vec{X: x, Y: y}}
}

// What comes out by hand: contributors of 0.10, 0.10, 0.20 and 0.05 along one line add
// up to 0.45 at worst, and as squares to 0.25; 1.960/sqrt(3) of that is what 19 of 20
// stay within. (Arithmetic; 1.960 is the two-sided 95 % point of the normal
// distribution, 2.4477 that of the plane one: Abramowitz and Stegun, tables 26.1, 26.3.)
func TestByHand(t *testing.T) {
	t.Run("one line", func(t *testing.T) {
		got := budget.Add([]budget.Effect{along(0, 0.10), along(0, 0.10), along(0, 0.20), along(0, 0.05)})
		assert.InDelta(t, 0.45, got.Worst, 1e-9)
		assert.InDelta(t, 0.25*1.95996/math.Sqrt(3), got.Likely, 2e-4)
	})
	t.Run("alike all round", func(t *testing.T) {
		var es []budget.Effect
		for range 8 {
			es = append(es, along(0.1, 0), along(0, 0.1))
		}
		assert.InDelta(t, 2.44775*math.Sqrt(8*0.01/3), budget.Add(es).Likely, 1e-4)
	})
	t.Run("3 and 4 make 5", func(t *testing.T) {
		got := budget.Add([]budget.Effect{along(0.3, 0), along(0, 0.4)})
		assert.InDelta(t, 0.5, got.Worst, 5e-5)
		assert.Equal(t, got.Worst, got.Likely, "never above the worst case")
	})
	t.Run("one cause adds with its signs", func(t *testing.T) {
		assert.InDelta(t, 0.1, budget.Add([]budget.Effect{along(0.3-0.2, 0)}).Worst, 1e-9)
	})
	t.Run("any way", func(t *testing.T) {
		got := budget.Add([]budget.Effect{along(0.3, 0.4), {Term: "marker", Any: 0.2}})
		assert.InDelta(t, 0.7, got.Worst, 5e-5)
	})
	t.Run("one bound shared", func(t *testing.T) {
		got := budget.Add([]budget.Effect{{Term: "scale", By: geom.Vec{X: 0.3}, Pieces: []geom.Vec{{X: 0.1}, {X: -0.1}}}})
		assert.InDelta(t, 0.3, got.Worst, 1e-9)
	})
	t.Run("a gap opens one way", func(t *testing.T) {
		// Two ends of a seam, either of which turns a piece the other way: both open
		// move it 0.1 along x, one open 0.05 and 0.3 across.
		one, two := along(0.05, 0.3), along(0.05, -0.3)
		one.Gap, two.Gap = true, true
		assert.InDelta(t, math.Hypot(0.05, 0.3), budget.Add([]budget.Effect{one, two}).Worst, 2e-5)
	})
	t.Run("nothing", func(t *testing.T) {
		assert.Equal(t, budget.Total{}, budget.Add(nil))
	})
}

// mixed is one mark's effects as they come: long and short, some along one line, two
// that stand for several.
func mixed(rnd *rand.Rand, n int) []budget.Effect {
	var out []budget.Effect
	flat := rnd.Float64()
	for i := range n {
		e := along(rnd.NormFloat64(), flat*rnd.NormFloat64())
		e.Gap = i%4 == 3
		e.Term = string(rune('a' + i%4))
		out = append(out, e)
	}
	return append(out, budget.Effect{Term: "marker", Any: rnd.Float64()},
		budget.Effect{Term: "scale", By: geom.Vec{X: rnd.Float64()}, Pieces: []geom.Vec{{Y: rnd.Float64()}, {X: rnd.Float64()}}})
}

// drawn moves a mark once: sizes uniform over their bounds, or all at an end of them.
func drawn(rnd *rand.Rand, es []budget.Effect, corner bool) geom.Vec {
	size := func() float64 {
		u := 2*rnd.Float64() - 1
		if corner {
			return math.Copysign(1, u)
		}
		return u
	}
	var v geom.Vec
	for _, e := range es {
		whole, apart := size(), size()
		if len(e.Pieces) > 0 { // mean and half difference of two
			whole, apart = (whole+apart)/2, (whole-apart)/2
		}
		if e.Gap {
			whole = (1 + whole) / 2
		}
		v = v.Add(e.By.Scale(whole))
		for _, p := range e.Pieces {
			v = v.Add(p.Scale(math.Copysign(apart, rnd.Float64()-0.5)))
		}
		s, c := math.Sincos(2 * math.Pi * rnd.Float64())
		v = v.Add(geom.Vec{X: c, Y: s}.Scale(e.Any * size()))
	}
	return v
}

// The stated figures against thousands of draws: 19 of 20 stay within what is likely, to
// a tenth, and none passes the worst case, of which the worst corner comes near. The
// terms add up to the whole, as sum and as root of squares.
func TestAgainstDraws(t *testing.T) {
	rnd := rand.New(rand.NewSource(20261126))
	for range 30 {
		es := mixed(rnd, 3+rnd.Intn(20))
		got := budget.Add(es)
		worst, squares := 0.0, 0.0
		for _, term := range got.Terms {
			worst, squares = worst+term.Worst, squares+term.Likely*term.Likely
		}
		assert.InDelta(t, got.Worst, worst, 1e-9)
		assert.InDelta(t, got.Likely, math.Sqrt(squares), 1e-9)
		var far []float64
		for range 4000 {
			far = append(far, drawn(rnd, es, false).Len())
			assert.LessOrEqual(t, drawn(rnd, es, true).Len(), got.Worst*1.0001)
		}
		sort.Float64s(far)
		assert.InEpsilon(t, far[len(far)*95/100], got.Likely, 0.1)
	}
}

func BenchmarkAdd(b *testing.B) {
	es := mixed(rand.New(rand.NewSource(1)), 60)
	for b.Loop() {
		budget.Add(es)
	}
}

// Effects that differ in any one thing are not the same.
func TestEffectsAreEqual(t *testing.T) {
	one := func() budget.Effect {
		return budget.Effect{Term: "tape", By: geom.Vec{X: 1}, Gap: true, Any: 2, Pieces: []geom.Vec{{X: 3}}, Common: true}
	}
	assert.True(t, one().Equal(one()))
	fields := reflect.TypeFor[budget.Effect]()
	for i := range fields.NumField() {
		other := one()
		reflect.ValueOf(&other).Elem().Field(i).SetZero()
		assert.False(t, one().Equal(other), fields.Field(i).Name)
	}
}
