package work

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
)

// A mark is allowed what the job states for it, by any id that it answers to, else what
// its jig's budget says, and the usual tolerance where no jig can be made.
func TestAllowed(t *testing.T) {
	long(t)
	order := func(text string) map[string]layout.Allowed {
		o, err := Read("job.yaml", []byte(text), nil)
		require.NoError(t, err)
		allowed, out := o.Allowed(), map[string]layout.Allowed{}
		for _, m := range o.Plan.Marks {
			out[m.ID] = allowed(m)
		}
		return out
	}
	got := order(sane(someTolerances))
	assert.Equal(t, layout.Within(0.3), got["brown"])
	assert.Equal(t, layout.Within(2), got["foot-spot"], "pink lies there too")
	n := 0
	for _, b := range tolerant(t).Set.Jig.Budgets {
		if b.Mark != "brown" && b.Mark != "foot-spot" {
			n++
			assert.Equal(t, layout.Allowed{Likely: b.Likely, Worst: b.Worst}, got[b.Mark], b.Mark)
			assert.Less(t, b.Likely, b.Worst)
		}
	}
	assert.Greater(t, n, 5)

	got = order(sane("games: [pool]\nmaterial: {thickness: 1.5 mm}\n"))
	assert.Equal(t, layout.Within(1), got["head-spot"], "too thin for fins: no jig")
}
