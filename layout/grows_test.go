package layout

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// How marks follow the length, by the published rules: a quarter and three quarters of it
// (WPA rules 8.1), the middle, an eleventh from the foot nose (B&SCC rules, section 1), and
// figures that stand (Official Rules of Snooker, section 1).
func TestMarksFollowTheLength(t *testing.T) {
	grows := func(l, w float64, id string) float64 {
		p, err := NewPlan(Request{Table: Table{L: l, W: w}, Games: []string{"pool", "snooker"}, Choices: Choices{BaulkLine: "scaled", Black: "length/11"}})
		require.NoError(t, err)
		for _, m := range p.Marks {
			if m.ID == id {
				require.Len(t, m.Grows, len(m.places()))
				assert.InDelta(t, 0, m.GrowsR, 1e-9)
				return m.Grows[0][0]
			}
		}
		t.Fatalf("no mark %s", id)
		return 0
	}
	for _, c := range []struct {
		l, w float64
		id   string
		want float64
	}{
		{2540, 1270, "head-string", 0.25},
		{2540, 1270, "foot-spot", 0.75},
		{2540, 1270, "centre-spot", 0.5},
		{2540, 1270, "baulk-line", 29 / 140.5},
		{2540, 1270, "black", 10. / 11},
		{3569, 1778, "baulk-line", 0},
		{3569, 1778, "yellow", 0},
		{3569, 1778, "black", 1},
	} {
		assert.InDelta(t, c.want, grows(c.l, c.w, c.id), 1e-9, "%s on %g", c.id, c.l)
	}
}

// A stated figure ends with the size that it is stated for: full size is 3569 +-13 mm, the
// metric table 3500 +-3 mm (the same rules). Where none stands ends a tenth of a millimetre
// short of where one does.
func TestRulesHoldOverARange(t *testing.T) {
	for _, c := range []struct{ l, w, lo, hi float64 }{
		{3569, 1778, 3556, 3582},
		{3500, 1750, 3497, 3503},
		{3530, 1778, surfaceMin, 3555.9}, // too wide for the metric table's figures
		{3600, 1778, 3582.1, surfaceMax},
		{3555.95, 1778, surfaceMin, 3555.95},
		{2540, 1270, surfaceMin, surfaceMax},
	} {
		p, err := NewPlan(Request{Table: Table{L: c.l, W: c.w}, Games: []string{"snooker"}})
		require.NoError(t, err)
		assert.InDelta(t, c.lo, p.AlikeFrom, 1e-6, c.l)
		assert.InDelta(t, c.hi, p.AlikeTo, 1e-6, c.l)
	}
}

// A line that two rules make one on this table is two on another. Eight-ball's baulk line at a
// fifth of the length and six-red's at 700 mm of the metric table are one at 3500 mm, and
// apart by 0.2 mm for each mm that another is longer. Marks of one rule stay one.
func TestOneMarkOfTwoRulesPartsOnAnotherTable(t *testing.T) {
	at := func(l float64) Plan {
		p, err := NewPlan(Request{Table: Table{L: l, W: 1750}, Games: []string{"eight-ball", "six-red"}, Choices: Choices{BaulkLine: "fifth", D: "width/6"}})
		require.NoError(t, err)
		return p
	}
	baulkLines := func(p Plan) (n int) {
		for _, m := range p.Marks {
			if strings.HasSuffix(m.ID, "baulk-line") {
				n++
			}
		}
		return n
	}
	p := at(3500)
	assert.InDelta(t, 3499.8, p.AlikeFrom, 1e-6)
	assert.InDelta(t, 3500.2, p.AlikeTo, 1e-6)
	assert.Equal(t, 1, baulkLines(p))
	assert.Equal(t, 1, baulkLines(at(p.AlikeFrom)))
	assert.Equal(t, 1, baulkLines(at(p.AlikeTo)))
	assert.Equal(t, 2, baulkLines(at(3497)))
	same, err := NewPlan(Request{Table: Table{L: 3500, W: 1750}, Games: []string{"snooker", "six-red"}})
	require.NoError(t, err)
	assert.InDelta(t, 3497, same.AlikeFrom, 1e-6)
	assert.InDelta(t, 3503, same.AlikeTo, 1e-6)
}
