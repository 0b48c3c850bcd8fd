package jig_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
)

// played lists every game with a playing surface that its rules or trade bodies
// give for it: WPA 9 ft and 8 ft, full-size and metric snooker, WEPF 84 x 42 and
// 72 x 36 in, UMB match and DBU half-match and small carom tables, 5 x 10 ft for
// 18.2 balkline, Russian pyramid 12 ft, and 78 x 39 in for a bar table.
func played() map[string][][2]float64 {
	in := func(a, b float64) [2]float64 { return [2]float64{a * 25.4, b * 25.4} }
	match, half, small := [2]float64{2840, 1420}, [2]float64{2300, 1150}, [2]float64{2100, 1050}
	return map[string][][2]float64{
		"pool":               {in(100, 50), in(92, 46), in(78, 39)},
		"snooker":            {{3569, 1778}, {3500, 1750}, in(100, 50)},
		"billiards":          {{3569, 1778}},
		"six-red":            {{3569, 1778}},
		"blackball":          {in(84, 42), in(72, 36)},
		"eight-ball":         {in(84, 42), in(72, 36)},
		"carom":              {match, half, small},
		"balkline-47":        {match},
		"balkline-71":        {match},
		"balkline-38":        {half},
		"balkline-57":        {half},
		"balkline-35":        {small},
		"balkline-52":        {small},
		"balkline-18.2":      {in(112, 56)},
		"pyramid":            {{3550, 1775}},
		"chinese-eight-ball": {{2540, 1270}},
	}
}

// TestEveryGameHasAJig designs a jig for every game on every size, on the
// smallest bed and a usual one.
func TestEveryGameHasAJig(t *testing.T) {
	dir := os.Getenv("SPOTJIG_DRAW")
	for game, sizes := range played() {
		for i, s := range sizes {
			for _, bed := range [][2]float64{{300, 200}, {600, 400}} {
				if testing.Short() && i > 0 && bed[0] < 600 {
					continue // the smallest bed for a game's first table only
				}
				name := game + sizeName(s) + " on" + sizeName(bed)
				t.Run(name, func(t *testing.T) {
					r := tableJob(t, s[0], s[1], bed[0], bed[1], game)
					j, err := design(r)
					require.NoError(t, err)
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
