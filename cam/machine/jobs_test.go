package machine_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout"
)

// Every job in testdata reads without a fault, and with its survey fitted gives marks.
func TestGoodJobs(t *testing.T) {
	paths, err := filepath.Glob("../../testdata/jobs/*.yaml")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(paths), 15)
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			j, p, m, _, err := readWhole(path, data)
			require.NoError(t, err)
			if j.Survey != nil {
				j.Table, _, err = layout.Fit(*j.Survey)
				require.NoError(t, err)
			}
			_, err = layout.NewPlan(layout.Request{Table: j.Table, Games: j.Games, Choices: j.Choices, Balls: j.Balls, House: j.House})
			require.NoError(t, err)
			assert.NoError(t, machine.CheckMaterial(p, m))
			assert.NotEmpty(t, m.Sheets)
			if p.Process != machine.Shop {
				assert.Positive(t, p.Max.X-p.Min.X)
				assert.Contains(t, p.Offsets, 1)
				assert.Positive(t, float64(m.Cut.Feed))
			}
			if p.Process == machine.Laser {
				assert.Positive(t, m.Kerf)
				assert.Positive(t, m.Cut.Power)
			}
		})
	}
}

// Between them the laser jobs pair every surface with every bed or nearly so, and
// use every sheet, the whole range of kerf and every choice.
func TestGoodJobsCoverThePairs(t *testing.T) {
	paths, err := filepath.Glob("../../testdata/jobs/*-bed-*.yaml")
	require.NoError(t, err)
	pairs, seen := map[string]bool{}, map[string]bool{}
	lo, hi := 1.0, 0.0
	for _, path := range paths {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		j, p, m, _, err := readWhole(path, data)
		require.NoError(t, err)
		table, bed := fmt.Sprintf("%.0f", j.Table.L), fmt.Sprintf("%g x %g", p.Max.X, p.Max.Y)
		sheet := fmt.Sprintf("%g mm", m.Sold)
		games := fmt.Sprint(j.Games)
		for _, pair := range [][2]string{{table, bed}, {table, sheet}, {table, games}, {bed, sheet}, {bed, games}, {sheet, games}} {
			pairs[pair[0]+" / "+pair[1]] = true
		}
		for _, v := range []string{table, bed, sheet, games, j.Choices.BaulkLine, j.Choices.D, j.Choices.Black, j.Choices.Rack, j.Jig.Spots, j.Jig.Fit} {
			seen[v] = true
		}
		lo, hi = min(lo, m.Kerf), max(hi, m.Kerf)
	}
	for _, v := range []string{"1981", "2235", "2337", "2540", "3569", "300 x 200", "600 x 400", "900 x 600", "1300 x 900", "3 mm", "5 mm", "6 mm",
		"[pool]", "[snooker]", "[pool snooker]", "head-string", "scaled", "fifth", "both", "width/6", "length/11", "corners", "outline", "point", "sticker", "press", "slide", "loose"} {
		assert.True(t, seen[v], "no job with %s", v)
	}
	assert.Equal(t, 0.08, lo)
	assert.Equal(t, 0.35, hi)
	// 5 tables x 4 beds, 5 x 3 sheets, 5 x 3 games, 4 x 3, 4 x 3, 3 x 3
	const all = 20 + 15 + 15 + 12 + 12 + 9
	assert.GreaterOrEqual(t, len(pairs), all*9/10, "of %d pairs", all)
	t.Logf("%d jobs hold %d of %d pairs", len(paths), len(pairs), all)
}

// Every machine and material file in testdata reads.
func TestMachineFiles(t *testing.T) {
	paths, err := filepath.Glob("../../testdata/machines/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			laser, _ := machine.Lookup("laser-600x400")
			if filepath.Base(path) == "acrylic-rack-2.yaml" {
				m, err := machine.ParseMaterial(path, data, laser)
				require.NoError(t, err)
				assert.Equal(t, "R. Marsh, 2026-10-02", m.Cut.Proven)
				assert.Equal(t, 820.0, m.Cut.Power)
				return
			}
			p, err := machine.ParseProfile(path, data)
			require.NoError(t, err)
			assert.NotEmpty(t, p.Name)
			assert.Contains(t, p.Offsets, 1)
		})
	}
}

func FuzzParseProfile(f *testing.F) {
	paths, _ := filepath.Glob("../../testdata/machines/*.yaml")
	for _, path := range paths {
		data, err := os.ReadFile(path)
		require.NoError(f, err)
		f.Add(string(data))
	}
	laser, _ := machine.Lookup("laser-600x400")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := machine.ParseProfile("x.yaml", []byte(text))
		if err == nil && p.Process != machine.Shop {
			assert.GreaterOrEqual(t, p.Max.X-p.Min.X, 100.0)
			assert.LessOrEqual(t, p.Max.X-p.Min.X, 40_000.0)
			assert.Positive(t, p.LineMax)
			assert.Positive(t, float64(p.FeedMax))
		}
		m, err := machine.ParseMaterial("x.yaml", []byte(text), laser)
		if err == nil {
			assert.Positive(t, m.Kerf)
			assert.LessOrEqual(t, m.Kerf, 1.0)
			assert.GreaterOrEqual(t, m.Thickness, 0.05)
			assert.LessOrEqual(t, m.Cut.Power, laser.PowerScale)
		}
	})
}
