package budget

import (
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/layout/geom"
)

// What is looked in is enough: the direction found is the first of all of which none reaches
// further, few effects or many, long shapes or round ones.
func TestWorstDirectionIsThatOfAll(t *testing.T) {
	rnd := rand.New(rand.NewSource(7))
	vec := func(long float64) geom.Vec { return geom.Vec{X: rnd.NormFloat64() * long, Y: rnd.NormFloat64()} }
	looked := 0
	for n := range 400 {
		long := []float64{1, 1, 3, 100}[n%4]
		var es []Effect
		for range 1 + n%37 {
			e := Effect{By: vec(long), Gap: rnd.Intn(3) == 0, Any: float64(rnd.Intn(2)) * rnd.Float64()}
			for range rnd.Intn(4) {
				e.Pieces = append(e.Pieces, vec(long))
			}
			es = append(es, e)
		}
		all := reach{effects: es, towards: compass()}
		best := 0
		for i := range directions / 2 {
			all.look(i)
		}
		for i, sum := range all.sums {
			if sum > all.sums[best]+lookTol {
				best = i
			}
		}
		assert.Equal(t, all.towards[best], worstDirection(es))
		some := reach{effects: es, towards: compass()}
		some.between(0, directions/2)
		for _, l := range some.looked {
			if l {
				looked++
			}
		}
	}
	assert.Less(t, looked, 400*directions/2/3, "most directions are not looked in")
}
