package work

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"spotjig/cam/jig"
	"spotjig/cam/jig/budget"
	"spotjig/cam/nest"
	"spotjig/post"
)

// aims are what a jig shall hold on a table known to be square, mm: its worst mark likely,
// and at worst.
type aims struct {
	name          string
	likely, worst float64
	keys          func(l, w float64) string // of the job, besides size, games and machine
}

// Of a job as it comes nothing is stated but size, games and machine; with care all is
// measured that a job can state.
var accuracyAims = []aims{
	{"as-it-comes", 0.8, 2.0, func(l, w float64) string {
		return fmt.Sprintf("table: {length: %g, width: %g, measured: nose-to-nose}\n", l, w)
	}},
	{"with-care", 0.35, 1.0, func(l, w float64) string {
		diagonal := math.Hypot(l-w/2, w) // diagonals start a quarter of the width from the end noses
		return fmt.Sprintf(`survey: {length_left: %[1]g, length_right: %[1]g, width_head: %[2]g, width_middle: %[2]g, width_foot: %[2]g,
  diagonal_left_head: %.2[3]f, diagonal_right_head: %.2[3]f, gap_head: 0, gap_foot: 0, gap_left: 0, gap_right: 0, resolution: 0.25}
jig: {nose_contact: 0.1, fin_seat: 0.05, side_reading: 0.1, sighting: 0.1, joint_closure: 0.03, shop_temperature: 20, hall_temperature: 20, shop_humidity: 50, hall_humidity: 50}
`, l, w, diagonal)
	}},
}

// accuracyJob is a job of that kind; what care measures of sheet and machine is with them.
func accuracyJob(a aims, l, w float64, games, machine string) string {
	more, like := "", "cast-acrylic-5"
	if strings.HasPrefix(machine, "knife") {
		like = "polyester-film-0.35"
	}
	if a.name == "with-care" {
		more = "material: {like: " + like + ", kerf_pm: 0.02}\n"
		machine = "{like: " + machine + ", scale_ppm: {x: 1, y: 1}, skew: 50}"
	}
	return "name: Quarry Road\n" + a.keys(l, w) + "games: [" + games + "]\n" + more + "machine: " + machine + "\n"
}

// accuracyJobs are the 196 ordinary jobs: seven tables from 6 to 12 ft, what is played on
// them, and machines.
func accuracyJobs(each func(name string, l, w float64, games, machine string)) {
	for _, size := range [][2]float64{{1676.4, 838.2}, {1828.8, 914.4}, {1981.2, 990.6}, {2235.2, 1117.6}, {2540, 1270}, {2844.8, 1422.4}, {3568.7, 1778}} {
		for _, games := range []string{"snooker", "pool", "blackball", "pool, snooker", "billiards", "carom", "snooker, blackball"} {
			for _, machine := range []string{"laser-600x400", "laser-1300x900", "shop", "knife-1200x600"} {
				each(fmt.Sprintf("%.0f %s %s", size[0], games, machine), size[0], size[1], games, machine)
			}
		}
	}
}

// tableShape names the term that stands beside the aims.
const tableShape = "table's shape"

// held is a budget without the table's shape.
func held(b jig.Budget) (likely, worst float64) {
	likely, worst = b.Likely*b.Likely, b.Worst
	for _, t := range b.Terms {
		if t.Name == tableShape {
			likely, worst = likely-float64(t.Likely*t.Likely), worst-t.Worst
		}
	}
	return math.Sqrt(math.Max(0, likely)), worst
}

// BenchmarkAccuracy designs the ordinary jobs and reports how many are made, on how many
// pieces and sheets, and how many of them hold the aims with every mark. With
// SPOTJIG_ACCURACY=FILE every job is a line of that file, with the terms of its worst mark.
func BenchmarkAccuracy(b *testing.B) {
	for _, a := range accuracyAims {
		b.Run(a.name, func(b *testing.B) {
			for b.Loop() {
				var made, likely, worst, pieces, sheets int
				var mean [2]float64
				accuracyJobs(func(name string, l, w float64, games, machine string) {
					set, refused := designed(b, accuracyJob(a, l, w, games, machine))
					if refused != "" {
						said(b, "%s %-45s refused: %s", a.name, name, refused)
						return
					}
					made++
					pieces, sheets = pieces+len(set.Jig.Parts), sheets+len(set.Sheets)
					var top [2]float64
					var mark jig.Budget
					for _, x := range set.Jig.Budgets {
						if x.Method == jig.ByReversal {
							continue
						}
						l, w := held(x)
						if top[0] = math.Max(top[0], l); w > top[1] {
							top[1], mark = w, x
						}
					}
					if top[0] <= a.likely {
						likely++
					}
					if top[1] <= a.worst {
						worst++
					}
					mean[0], mean[1] = mean[0]+top[0], mean[1]+top[1]
					said(b, "%s %-45s likely %.2f worst %.2f pieces %2d sheets %d  %s by %s: %s", a.name, name, top[0], top[1], len(set.Jig.Parts), len(set.Sheets), mark.Mark, mark.Method, termsOf(mark))
				})
				b.ReportMetric(float64(made), "made")
				b.ReportMetric(float64(likely), "likely")
				b.ReportMetric(float64(worst), "worst")
				b.ReportMetric(mean[0]/float64(made), "mm_likely")
				b.ReportMetric(mean[1]/float64(made), "mm_worst")
				b.ReportMetric(float64(pieces), "pieces")
				b.ReportMetric(float64(sheets), "sheets")
			}
		})
	}
}

// said adds a line to the file that SPOTJIG_ACCURACY names: a benchmark's log is cut short.
func said(b *testing.B, format string, args ...any) {
	name := os.Getenv("SPOTJIG_ACCURACY")
	if name == "" {
		return
	}
	f, err := os.OpenFile(name, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err == nil {
		_, err = fmt.Fprintf(f, format+"\n", args...)
	}
	if err != nil {
		b.Fatal(err)
	}
	f.Close()
}

// termsOf are a budget's terms at worst, largest first.
func termsOf(x jig.Budget) string {
	terms := slices.Clone(x.Terms)
	slices.SortStableFunc(terms, func(p, q budget.Term) int { return int(math.Copysign(1, q.Worst-p.Worst)) })
	var out []string
	for _, t := range terms {
		out = append(out, fmt.Sprintf("%s %.2f", t.Name, t.Worst))
	}
	return strings.Join(out, ", ")
}

// designed is a job's set as far as its sheets, or why it is refused.
func designed(t testing.TB, text string) (set post.Set, refused string) {
	o, err := Read("job.yaml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	r, err := o.begin(outputOptions)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.design(); err != nil {
		return post.Set{}, err.Error()
	}
	if bad := failed(r.made.Set.Checks); len(bad) > 0 {
		return post.Set{}, bad[0].ID + ": " + bad[0].Text
	}
	if err := layOut(&r.made.Set, nest.Nest); err != nil {
		return post.Set{}, err.Error()
	}
	return r.made.Set, ""
}
