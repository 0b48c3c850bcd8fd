package work

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout"
)

// gameSurfaces gives each game a surface it is played on, as its rule body or
// trade body publishes it: WPA 9 ft, full-size snooker (WPBSA section 1), WEPF
// largest and smallest, UMB match, DBU half-match and small carom tables, 5 x 10 ft,
// pyramid 12 ft.
func gameSurfaces() map[string][]string {
	return map[string][]string{
		"pool":               {"length: 100 in, width: 50 in, measured: nose-to-nose", "length: 78 in, width: 39 in"},
		"snooker":            {"length: 3569 mm, width: 1778 mm", "length: 3500 mm, width: 1750 mm"},
		"billiards":          {"length: 3569 mm, width: 1778 mm"},
		"six-red":            {"length: 3569 mm, width: 1778 mm"},
		"blackball":          {"length: 84 in, width: 42 in, measured: nose-to-nose", "length: 72 in, width: 36 in, measured: nose-to-nose"},
		"eight-ball":         {"length: 84 in, width: 42 in, measured: nose-to-nose"},
		"carom":              {"length: 2840 mm, width: 1420 mm", "length: 2100 mm, width: 1050 mm"},
		"balkline-47":        {"length: 2840 mm, width: 1420 mm"},
		"balkline-71":        {"length: 2840 mm, width: 1420 mm"},
		"balkline-38":        {"length: 2300 mm, width: 1150 mm"},
		"balkline-57":        {"length: 2300 mm, width: 1150 mm"},
		"balkline-35":        {"length: 2100 mm, width: 1050 mm"},
		"balkline-52":        {"length: 2100 mm, width: 1050 mm"},
		"balkline-18.2":      {"length: 112 in, width: 56 in"},
		"pyramid":            {"length: 3550 mm, width: 1775 mm"},
		"chinese-eight-ball": {"length: 2540 mm, width: 1270 mm, measured: nose-to-nose"},
	}
}

// TestEveryGameIsProved makes every game of the catalogue on the surfaces it is
// played on, as-cut and as-assembled proofs included. SPOTJIG_ALL=1 adds the
// smallest bed, thick sheet and the other choices of racks and boxes.
func TestEveryGameIsProved(t *testing.T) {
	beds := []string{"600 400 4.85"}
	if os.Getenv("SPOTJIG_ALL") != "" {
		beds = append(beds, "300 200 2.9", "900 600 7.8")
	}
	surfaces := gameSurfaces()
	for k, g := range layout.Games() {
		require.NotEmpty(t, surfaces[g.ID], "no surface for %s", g.ID)
		for i, s := range surfaces[g.ID] {
			if i > 0 && os.Getenv("SPOTJIG_ALL") == "" || testing.Short() && k%4 != 0 {
				continue
			}
			for _, bed := range beds {
				var x, y, sheet float64
				_, err := fmt.Sscan(bed, &x, &y, &sheet)
				require.NoError(t, err)
				t.Run(g.ID+" "+s+" on "+bed, func(t *testing.T) {
					t.Parallel()
					choices := "choices: {break_box: epbf}\n"
					if strings.HasPrefix(g.ID, "balkline") || sheet < 4 {
						choices = ""
					}
					text := fmt.Sprintf("name: every game\ntable: {%s}\ngames: [%s]\n%sjig: {tolerance: 3 mm}\n"+
						"material: {kind: cast acrylic, sold: %.0f mm, thickness: %g mm, kerf: 0.15 mm, sheets: [{width: %g, height: %g}]}\n"+
						"machine: {process: laser, travel: {x: %g, y: %g}}\n", s, g.ID, choices, sheet+0.15, sheet, x, y, x, y)
					file := filepath.Join(t.TempDir(), "job.yaml")
					require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
					l, err := loadJob(file)
					require.NoError(t, err)
					b, err := build(context.Background(), l, steps{})
					require.NoError(t, err)
					for _, c := range b.Set.Checks {
						assert.NotEqual(t, jig.Fail, c.Verdict, "%s: %g against %g: %s", c.ID, c.Value, c.Limit, c.Text)
					}
				})
			}
		}
	}
}
