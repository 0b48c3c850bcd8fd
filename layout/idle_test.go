package layout_test

import (
	"bytes"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/screen"
)

// What is said of the balls is told to change nothing exactly where it does: where neither a
// mark nor what is reckoned of the balls is another, game by game.
func TestIdleBallsChangeNothing(t *testing.T) {
	shown := func(r layout.Request) string {
		p, err := layout.NewPlan(r)
		require.NoError(t, err)
		f, err := layout.FitBalls(r)
		require.NoError(t, err)
		f.Wall = 0 // which the report repeats
		var b bytes.Buffer
		require.NoError(t, layout.WriteBalls(&b, f, screen.Look{}))
		return fmt.Sprintf("%+v\n%s", p.Marks, b.String())
	}
	matters := map[string]bool{}
	for _, g := range layout.Games() {
		r := layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{g.ID}, Choices: layout.Choices{Rack: "corners"},
			Balls: layout.Balls{Diameter: 57.15, Reds: 15}}
		walled, fewer := r, r
		walled.Balls.RackWall, fewer.Balls.Reds = 12, 10
		for key, other := range map[string]layout.Request{"balls.rack_wall": walled, "balls.reds": fewer} {
			differs := shown(r) != shown(other)
			idle := other.Idle(func(k string) bool { return k == key })
			assert.Equal(t, differs, len(idle) == 0, "%s of %s: %v", key, g.ID, idle)
			matters[key] = matters[key] || differs
		}
	}
	assert.Equal(t, map[string]bool{"balls.rack_wall": true, "balls.reds": true}, matters)
}
