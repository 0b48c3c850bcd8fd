package jig_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout"
)

// classJob is tableJob with the span of its rules and the published sizes.
func classJob(t testing.TB, l, w, bedW, bedH float64, choices layout.Choices, games ...string) jig.Request {
	r := tableJob(t, l, w, bedW, bedH, games...)
	plan, err := layout.NewPlan(layout.Request{Table: r.Table, Games: games, Choices: choices, Balls: layout.Balls{Diameter: 57.15, Reds: 15}})
	require.NoError(t, err)
	r.Marks, r.AlikeFrom, r.AlikeTo = plan.Marks, plan.AlikeFrom, plan.AlikeTo
	for _, c := range layout.CheckSizes(r.Table, games) {
		r.Sizes = append(r.Sizes, jig.Size{Name: c.Size, L: c.L, Tol: c.TolL})
	}
	return r
}

func checkOf(t testing.TB, j jig.Jig, id string) jig.Check {
	for _, c := range j.Checks {
		if c.ID == id {
			return c
		}
	}
	t.Fatalf("no check %s", id)
	return jig.Check{}
}

// TestRangeOfLengthFollowsTheRules: on a full-size table baulk line, D and black stand at
// figures, so that a jig that sets blue and pink by thread and gauge serves all of it:
// 3569 +-13 mm (Official Rules of Snooker, section 1: 11 ft 8 1/2 in x 5 ft 10 in, +-1/2 in;
// baulk line 29 in, D 11 1/2 in, black 12 3/4 in). Elsewhere the foot spot moves by a
// quarter of the difference (WPA rules 8.1), the head string alike.
func TestRangeOfLengthFollowsTheRules(t *testing.T) {
	for _, c := range []struct {
		name   string
		l, w   float64
		choice layout.Choices
		games  []string
		lo, hi float64
		says   string
	}{
		{"full size", 3569, 1778, layout.Choices{}, []string{"snooker"}, 3556, 3582, "every mark stays at its rule"},
		{"full size, a long one", 3577, 1778, layout.Choices{}, []string{"snooker"}, 3564, 3582, "every mark stays at its rule"},
		{"full size, not as published", 3569, 1778, layout.Choices{BaulkLine: "head-string"}, []string{"snooker"}, 3567, 3571, "0.5 mm from its rule"},
		{"9 ft pool", 2540, 1270, layout.Choices{}, []string{"pool"}, 2538, 2542, "0.5 mm from its rule"},
		{"just beyond full size", 3583, 1778, layout.Choices{}, []string{"snooker"}, 3582.1, 3585.4, "0.5 mm from its rule"},
	} {
		t.Run(c.name, func(t *testing.T) {
			j, err := design(classJob(t, c.l, c.w, 1300, 900, c.choice, c.games...))
			require.NoError(t, err)
			assert.InDelta(t, c.lo, j.LengthMin, 1e-6)
			assert.InDelta(t, c.hi, j.LengthMax, 1e-6)
			assert.Contains(t, checkOf(t, j, "length-class").Text, c.says)
		})
	}
}

// The trade of tolerance against range, before anything is cut: at a quarter of the
// difference 1 mm serves 4 mm either way, and WPA's 3.2 mm (1/8 in) take 0.8 mm.
func TestTradeOfToleranceAgainstRange(t *testing.T) {
	j, err := design(classJob(t, 2540, 1270, 1300, 900, layout.Choices{}, "pool"))
	require.NoError(t, err)
	says := checkOf(t, j, "length-trade").Text
	assert.Contains(t, says, "within 1.0 mm 2536.0 to 2544.0 mm")
	assert.Contains(t, says, "any table of WPA 9 ft (2536.8 to 2543.2 mm) within 0.8 mm")
	whole, err := design(classJob(t, 3569, 1778, 1300, 900, layout.Choices{}, "snooker"))
	require.NoError(t, err)
	for _, c := range whole.Checks {
		assert.False(t, strings.HasPrefix(c.ID, "length-trade"), "nothing to trade where no mark moves")
	}
}
