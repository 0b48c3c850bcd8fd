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

// surfacesOf are playing surfaces for a game: what its rule or trade bodies publish, and
// for one without any 9 ft, WPA, or what it is said to be played on.
func surfacesOf(g layout.GameInfo) [][2]float64 {
	others := map[string][][2]float64{
		"pool":          {{1981.2, 990.6}},  // 78 x 39 in, a bar table
		"blackball":     {{1828.8, 914.4}},  // 72 x 36 in, WEPF's smallest
		"balkline-18.2": {{2844.8, 1422.4}}, // 112 x 56 in, a 5 x 10 ft table
	}
	out := append(append([][2]float64(nil), g.Surfaces...), others[g.ID]...)
	if len(out) == 0 {
		return [][2]float64{{2540, 1270}}
	}
	return out
}

// TestEveryGameIsProved makes games of the catalogue, as-cut and as-assembled proofs
// included: every fifth by itself, as all are among the generated jobs. SPOTJIG_ALL=1
// makes every game on all surfaces it is played on, also on the smallest bed and of thick
// sheet.
func TestEveryGameIsProved(t *testing.T) {
	beds := []string{"600 400 4.85"}
	if os.Getenv("SPOTJIG_ALL") != "" {
		beds = append(beds, "300 200 2.9", "900 600 7.8")
	}
	for k, g := range layout.Games() {
		for i, s := range surfacesOf(g) {
			if os.Getenv("SPOTJIG_ALL") == "" && (i > 0 || k%5 != 0) || testing.Short() && k%10 != 0 {
				continue
			}
			for _, bed := range beds {
				var x, y, sheet float64
				_, err := fmt.Sscan(bed, &x, &y, &sheet)
				require.NoError(t, err)
				t.Run(fmt.Sprintf("%s %g x %g on %s", g.ID, s[0], s[1], bed), func(t *testing.T) {
					t.Parallel()
					choices := "choices: {break_box: epbf}\n"
					if strings.HasPrefix(g.ID, "balkline") || sheet < 4 {
						choices = ""
					}
					text := fmt.Sprintf("name: every game\ntable: {length: %g, width: %g, measured: nose-to-nose}\ngames: [%s]\n%sjig: {tolerance: 3 mm}\n"+
						"material: {kind: cast acrylic, sold: %.0f mm, thickness: %g mm, kerf: 0.15 mm, sheets: [{width: %g, height: %g}]}\n"+
						"machine: {process: laser, travel: {x: %g, y: %g}}\n", s[0], s[1], g.ID, choices, sheet+0.15, sheet, x, y, x, y)
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
