package work

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"spotjig/cam/nest"
	"spotjig/post"
)

// ordinaryJobs are four sizes of table with what is played on them, without a machine.
func ordinaryJobs() []string {
	var out []string
	for _, size := range [][2]float64{{1981.2, 990.6}, {2235.2, 1117.6}, {2540, 1270}, {3569, 1778}} {
		for _, games := range []string{"pool", "snooker", "pool, snooker", "carom, pyramid"} {
			out = append(out, fmt.Sprintf("name: Quarry Road\ntable: {length: %g, width: %g, measured: nose-to-nose}\ngames: [%s]\n", size[0], size[1], games))
		}
	}
	return out
}

// BenchmarkSheets lays ordinary jobs on sheets and reports how many they take, how many
// their area needs at least and at 85 % of each sheet, how many jobs take no more than that
// least, and the mean use of all sheets but the last of jobs on three or more.
func BenchmarkSheets(b *testing.B) {
	for _, machine := range []string{"small-laser-300x200", "laser-600x400", "laser-900x600", "laser-1300x900", "shop"} {
		b.Run(machine, func(b *testing.B) {
			for b.Loop() {
				sheets, least, at85, atLeast, n, used := 0, 0, 0, 0, 0, 0.0
				for _, text := range ordinaryJobs() {
					all := laidOut(b, text+"machine: "+machine+"\n").Sheets
					whole := sheetsByArea(all, 1)
					require.LessOrEqual(b, whole, len(all))
					sheets, least, at85 = sheets+len(all), least+whole, at85+sheetsByArea(all, 0.85)
					if whole == len(all) {
						atLeast++
					}
					for _, s := range all[:len(all)-1] {
						if len(all) >= 3 {
							used, n = used+s.UsedFraction, n+1
						}
					}
				}
				b.ReportMetric(float64(sheets), "sheets")
				b.ReportMetric(float64(least), "by_area")
				b.ReportMetric(float64(at85), "by_85%")
				b.ReportMetric(float64(atLeast), "jobs_at_least")
				b.ReportMetric(100*used/math.Max(1, float64(n)), "%used")
			}
		})
	}
}

// sheetsByArea is how many sheets, as large as the largest, hold what lies on all of them
// if a share of each is used.
func sheetsByArea(all []post.Sheet, share float64) int {
	area, largest := 0.0, 0.0
	for _, s := range all {
		area, largest = area+s.UsedFraction*s.Width*s.Height, math.Max(largest, s.Width*s.Height)
	}
	return int(math.Ceil(area / (largest * share)))
}

// laidOut is a job's set as far as its sheets.
func laidOut(t testing.TB, text string) post.Set {
	o, err := Read("job.yaml", []byte(text), nil)
	require.NoError(t, err)
	r, err := o.begin(outputOptions)
	require.NoError(t, err)
	r.made.Set.Marks, err = r.jigMarks()
	require.NoError(t, err)
	r.made.Set.Jig, err = design(r.request())
	require.NoError(t, err)
	require.NoError(t, layOut(&r.made.Set, nest.Nest))
	return r.made.Set
}

// The pieces of this job fill 73 % of each of two sheets: a search that gives up early
// lays a single fin on a third.
func TestTwoSheetsHoldASmallTable(t *testing.T) {
	set := laidOut(t, "name: Quarry Road\ntable: {length: 1676.4, width: 838.2, measured: nose-to-nose}\ngames: [snooker]\nmachine: laser-600x400\n")
	require.Len(t, set.Sheets, 2)
}

// The pieces of this job need a third sheet, whatever is done, and fill a quarter of it: a
// search that ends with the number of sheets fills two fifths of it.
func TestLastOfSeveralSheetsIsEmptied(t *testing.T) {
	set := laidOut(t, "name: Quarry Road\ntable: {length: 2844.8, width: 1422.4, measured: nose-to-nose}\ngames: [blackball]\nmachine: laser-600x400\n")
	require.Len(t, set.Sheets, 3)
	require.Less(t, set.Sheets[2].UsedFraction, 0.3)
}
