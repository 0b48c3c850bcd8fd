package jig

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig/budget"
	"spotjig/layout/geom"
)

// A plan's price in its order: sound, then the worst mark, sheets, pieces, cuts; each
// outweighs all after it.
func TestPlansArePricedInOrder(t *testing.T) {
	rising := []price{{0, 9, 9, 9, 8}, {0, 9, 9, 9, 9}, {0, 9, 9, 10, 0}, {0, 9, 10, 0, 0}, {0, 10, 0, 0, 0}, {1, 0, 0, 0, 0}}
	for i := range rising {
		for k := range rising {
			assert.Equal(t, i < k, rising[i].compare(rising[k]) < 0, "%d, %d", i, k)
		}
	}
}

// Two squares of 94 mm with 3 mm around them fill a bed of 200 x 100 mm, and one more
// needs another; marks count to 0.1 mm.
func TestPlansArePricedByWhatTheyAre(t *testing.T) {
	lim := Limits{BedW: 200, BedH: 100}
	square := Part{Outline: geom.Rect(geom.Box{Max: geom.Point{X: 94, Y: 94}})}
	j := Jig{Parts: []Part{square, square}, Budgets: []Budget{{Total: budget.Total{Likely: 0.84}}, {Total: budget.Total{Likely: 0.449}}}}
	assert.Equal(t, price{0, 8, 1, 2, 752}, priced(j, nil, lim))
	j.Parts = append(j.Parts, square)
	assert.Equal(t, price{0, 8, 2, 3, 1128}, priced(j, nil, lim))
	j.Checks = []Check{{ID: "web", Verdict: Warn}}
	assert.Equal(t, 0, priced(j, nil, lim).unsound)
	j.Checks = append(j.Checks, Check{ID: "web", Verdict: Fail})
	assert.Equal(t, price{unsound: 1}, priced(j, nil, lim))
	assert.Equal(t, price{unsound: 1}, priced(Jig{}, errors.New("no seams"), lim))
}

// Every plan is unlike the usual one and every other, and says in what.
func TestPlansDiffer(t *testing.T) {
	one, two := variants()
	require.Len(t, two, pairsMost)
	seen := map[drawn]string{{}: "the usual one"}
	for _, v := range append(one, two...) {
		assert.Empty(t, seen[v.how], v.words)
		assert.NotEmpty(t, v.words)
		seen[v.how] = v.words
	}
}
