package jig_test

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
)

// skewed is a surveyed table whose foot nose is so far out of square over the width.
func skewed(t *testing.T, out float64) jig.Request {
	r := spreadJob(t, 2540, 1270, 600, 400, "pool", "snooker")
	r.Table.Surveyed, r.Table.Squared = true, true
	l, w := r.Table.L, r.Table.W/2
	r.Table.Corners = [4][2]float64{{0, -w}, {l - out/2, -w}, {l + out/2, w}, {0, w}}
	return r
}

// A jig for a class on tables that are parallel, 2 mm and 10 mm out: no mark falls
// outside its stated worst case, and the skew is said of the mark that it moves most.
func TestSkewedTables(t *testing.T) {
	for _, out := range []float64{0, 2, 10} {
		t.Run(fmt.Sprintf("%g mm", out), func(t *testing.T) {
			r := skewed(t, out)
			j, err := design(r)
			require.NoError(t, err)
			worst := map[string]float64{}
			for _, end := range []string{"head", "foot"} {
				k := newBench(t, r, j, end)
				z := k.none()
				if end == "foot" {
					k.b.nose, z.nose = math.Atan(out/r.Table.W), 1
				}
				rnd := rand.New(rand.NewSource(20261126))
				for range 1000 {
					was := z.nose
					z.each(func(v *float64) { *v = math.Copysign(1, rnd.NormFloat64()) })
					z.nose, z.towards = was, rnd.Float64()
					k.note(worst, z)
				}
			}
			p := newPairing(t, r, j) // the centre spot, by thread and gauge
			p.k[1].b.nose = math.Atan(out / r.Table.W)
			rnd := rand.New(rand.NewSource(20261126))
			for range 1000 {
				p.each(func(v *float64) { *v = math.Copysign(1, rnd.NormFloat64()) })
				p.z[1].nose = 1
				p.point(rnd.Float64)
				for i, v := range p.off() {
					worst[p.all[i].Mark] = math.Max(worst[p.all[i].Mark], v.Len())
				}
			}
			for mark, most := range worst {
				assert.LessOrEqual(t, most, budgetOf(t, j, mark).Worst+0.002, mark)
			}
			k := newBench(t, r, j, "foot")
			for _, c := range j.Checks {
				if c.ID != "survey-skew" {
					continue
				}
				// By hand: of the foot template's marks the foot spot is furthest from the nose, a
				// quarter of the table, and so far beyond the side fins, about which the template
				// is centred.
				assert.InDelta(t, out/r.Table.W*(r.Table.L/4-k.sides[0].p.X), c.Value, 0.003)
				if out > 0 {
					assert.Equal(t, jig.Warn, c.Verdict)
					assert.Contains(t, c.Text, "foot spot")
				}
			}
		})
	}
}

// Turning a template round means something only where the survey knows the ends square,
// and never for a template of one table.
func TestReversalNeedsSquareEnds(t *testing.T) {
	has := func(j jig.Jig) bool {
		for _, b := range j.Budgets {
			if b.Method == jig.ByReversal {
				return true
			}
		}
		return false
	}
	for _, c := range []struct {
		name string
		set  func(*jig.Request)
		want bool
	}{
		{"surveyed square", func(*jig.Request) {}, true},
		{"no diagonals", func(r *jig.Request) { r.Table.Squared = false }, false},
		{"one table", func(r *jig.Request) { r.Want.For = "this" }, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := withoutRoom(skewed(t, 2))
			c.set(&r)
			j, err := design(r)
			require.NoError(t, err)
			assert.Equal(t, c.want, has(j))
		})
	}
}

// A tolerance that nobody stated refuses nothing and warns beyond a millimetre; stated,
// a mark is refused where what is likely exceeds it. What a key would bring is told.
func TestToleranceIsTheUsers(t *testing.T) {
	r := withoutRoom(spreadJob(t, 2540, 1270, 600, 400, "pool", "snooker"))
	verdicts := func() map[jig.Verdict]int {
		j, err := design(r)
		require.NoError(t, err)
		n := map[jig.Verdict]int{}
		for _, b := range j.Budgets {
			n[b.Verdict]++
			over := b.Likely > r.Want.Tolerance
			assert.Equal(t, over, b.Verdict != jig.Pass, b.Mark)
		}
		return n
	}
	r.Want.Tolerance = 1
	n := verdicts()
	assert.Zero(t, n[jig.Fail])
	assert.Positive(t, n[jig.Warn])
	r.Want.ToleranceStated = true
	n = verdicts()
	assert.Zero(t, n[jig.Warn])
	assert.Positive(t, n[jig.Fail])
	r.Want.Tolerance = 5
	assert.Zero(t, verdicts()[jig.Fail])
	r.Want.Tolerance = 1
	j, err := design(r)
	require.NoError(t, err)
	assert.Contains(t, budgetOf(t, j, "centre-spot").Improve, " mm by both lengths and both diagonals in the survey")
}
