package jig_test

import (
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout"
)

// played lists every game with playing surfaces for it: what its rule or trade bodies
// publish, and tables on which it is played besides (common practice): bar tables of
// 78 x 39 in, snooker on 9 ft, the 5 x 10 ft table of 18.2 balkline. A game without any
// is tried on 9 ft.
func played() map[string][][2]float64 {
	in := func(a, b float64) [2]float64 { return [2]float64{a * 25.4, b * 25.4} }
	out := map[string][][2]float64{"pool": {in(92, 46), in(78, 39)}, "snooker": {in(100, 50)},
		"blackball": {in(72, 36)}, "eight-ball": {in(72, 36)}, "balkline-18.2": {in(112, 56)}}
	for _, g := range layout.Games() {
		for _, s := range g.Surfaces {
			if !slices.Contains(out[g.ID], s) {
				out[g.ID] = append(out[g.ID], s)
			}
		}
		if len(out[g.ID]) == 0 {
			out[g.ID] = [][2]float64{in(100, 50)}
		}
	}
	return out
}

// usualBed is a bed that most shops have.
var usualBed = [2]float64{900, 600}

// TestEveryGameHasAJig designs a jig for every game on every size, with its own balls, on
// the smallest bed and a usual one. SPOTJIG_ALL=1 adds another, on which TestEveryGameIsProved
// makes every game; without it only a game's first table is tried, and on the usual bed
// only where the smallest is left out, as TestNothingTouchesWhatItMustNot looks at it there.
func TestEveryGameHasAJig(t *testing.T) {
	t.Parallel()
	dir := os.Getenv("SPOTJIG_DRAW")
	beds := [][2]float64{{300, 200}}
	switch {
	case testing.Short():
		beds = [][2]float64{usualBed}
	case os.Getenv("SPOTJIG_ALL") != "":
		beds = append(beds, usualBed, [2]float64{600, 400})
	}
	for game, sizes := range played() {
		for i, s := range sizes {
			for _, bed := range beds {
				if os.Getenv("SPOTJIG_ALL") == "" && i > 0 {
					continue
				}
				name := game + sizeName(s) + " on" + sizeName(bed)
				t.Run(name, func(t *testing.T) {
					r := tableJob(t, s[0], s[1], bed[0], bed[1], game)
					r.BallDiameter = noses(game)[0].ball
					j := lookedAt(t, r)
					for _, c := range j.Checks {
						if len(c.ID) > 7 && c.ID[:7] == "budget:" {
							continue // the tolerance is the fitter's to choose
						}
						assert.NotEqual(t, jig.Fail, c.Verdict, "%s: %g against %g: %s", c.ID, c.Value, c.Limit, c.Text)
						if c.Verdict == jig.Warn && os.Getenv("SPOTJIG_DRAW") != "" {
							t.Logf("%s: %g against %g: %s", c.ID, c.Value, c.Limit, c.Text)
						}
					}
					if dir != "" {
						require.NoError(t, os.WriteFile(dir+"/"+game+sizeName(s)+sizeName(bed)+".svg", []byte(drawing(r, j)), 0o644))
					}
				})
			}
		}
	}
}
