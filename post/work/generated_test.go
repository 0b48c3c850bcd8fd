package work

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/job"
)

// generator draws jobs, uniformly over what a job may say and nothing else: sizes as
// published and odd ones, every game and pair, beds, sheets of every kind as measured,
// kerfs, choices, surveys, house marks, ties, growth, markers. Its draws depend on the
// seed alone.
type generator struct {
	*rand.Rand
	b strings.Builder
}

// generatedJob is the job of a seed.
func generatedJob(seed uint64) string {
	g := &generator{Rand: rand.New(rand.NewPCG(seed, 2))}
	g.line("name: generated %d", seed)
	games := g.games()
	g.line("games: [%s]", strings.Join(games, ", "))
	g.surface()
	g.read()
	g.choices(games)
	g.balls()
	g.house()
	g.cut(g.jig(games))
	return g.b.String()
}

func (g *generator) line(format string, args ...any) { fmt.Fprintf(&g.b, format+"\n", args...) }

// between draws evenly from lo to hi, in steps.
func (g *generator) between(lo, hi, step float64) float64 {
	n := int((hi-lo)/step + 0.5)
	v, _ := strconv.ParseFloat(strconv.FormatFloat(lo+step*float64(g.IntN(n+1)), 'f', 4, 64), 64)
	return v
}

// one draws one of several.
func one[T any](g *generator, of ...T) T { return of[g.IntN(len(of))] }

// in tells whether a draw of one in n comes up.
func (g *generator) in(n int) bool { return g.IntN(n) == 0 }

func (g *generator) games() []string {
	all := layout.Games()
	a, b := g.IntN(len(all)), g.IntN(len(all))
	if a == b {
		return []string{all[a].ID}
	}
	return []string{all[a].ID, all[b].ID}
}

func (g *generator) surface() {
	s := one(g, job.Sizes()...)
	l, w := s.L, s.W
	if g.in(2) {
		l = g.between(1800, 3570, 1)
		w = float64(int(l / g.between(1.95, 2.05, 0.001)))
	}
	if !g.in(4) {
		g.line("table: {length: %g, width: %g, measured: nose-to-nose}", l, w)
		return
	}
	g.line("table: {measured: nose-to-nose}")
	off := func() float64 { return g.between(-3, 3, 0.5) }
	head, foot := w+off(), w+off()
	more := ""
	if g.in(2) {
		across := math.Hypot(l-w/2, w)
		more += fmt.Sprintf(", diagonal_left_head: %.1f, diagonal_right_head: %.1f", across+off()/2, across+off()/2)
	}
	if g.in(2) {
		more += fmt.Sprintf(", gap_head: %g, gap_left: %g", g.between(-1, 1, 0.1), g.between(-1, 1, 0.1))
	}
	g.line("survey: {length_left: %g, length_right: %g, width_head: %g, width_middle: %g, width_foot: %g%s}",
		l+off(), l+off(), head, (head+foot)/2, foot, more)
}

// read draws how people read lengths, and how many jigs there are.
func (g *generator) read() {
	g.line("units: %s", one(g, "mm", "in"))
	g.line("count: %d", 1+g.IntN(3))
}

func (g *generator) balls() {
	if g.in(2) {
		g.line("balls: {rack_wall: %g}", g.between(0, 15, 0.5))
	}
}

// choices draws those that some game asks for: another is a problem of its own.
func (g *generator) choices(games []string) {
	has := func(names ...string) bool {
		return slices.ContainsFunc(games, func(s string) bool { return slices.Contains(names, s) })
	}
	var c []string
	switch {
	case has("snooker", "six-red"):
		c = append(c, "baulk_line: "+one(g, "head-string", "scaled", "fifth", "both"))
	case has("billiards"):
		c = append(c, "baulk_line: "+one(g, "head-string", "scaled", "fifth"))
	}
	if has("snooker", "six-red", "billiards") {
		c = append(c, "d: "+one(g, "width/6", "scaled"), "black: "+one(g, "length/11", "scaled"))
	}
	if has("pool") {
		c = append(c, "break_box: "+one(g, "none", "epbf", "norway"))
	}
	if has("balkline-47", "balkline-71") {
		c = append(c, "anchor: "+one(g, "none", "7in", "9in"))
	}
	g.line("choices: {%s}", strings.Join(c, ", "))
}

func (g *generator) house() {
	if g.in(2) {
		return
	}
	g.line("house:")
	at := func() string { return one(g, "L/4", "L/2", "L/3", "L*3/4", fmt.Sprintf("%g", g.between(300, 1500, 1))) }
	off := func() string { return one(g, "0", "W/4", "W/6 + 10 mm", fmt.Sprintf("%g", g.between(-400, 400, 1))) }
	for i := range 1 + g.IntN(3) {
		switch one(g, "spot", "line", "arc", "rectangle") {
		case "spot":
			g.line("  - {id: house-%d, kind: spot, x: %s, y: %s}", i, at(), off())
		case "line":
			if g.in(2) {
				x := at()
				g.line("  - {id: house-%d, kind: line, x: %s, y: -W/2, x2: %s, y2: W/2}", i, x, x)
				continue
			}
			y := off()
			g.line("  - {id: house-%d, kind: line, x: 0, y: %s, x2: %s, y2: %s}", i, y, at(), y)
		case "arc":
			r := g.between(60, 250, 1)
			from := g.between(0, 270, 90)
			g.line("  - {id: house-%d, kind: arc, x: %s, y: %s, radius: %g, start_deg: %g, end_deg: %g}", i, at(), one(g, "0", "W/6"), r, from, from+one(g, 90.0, 180, 360))
		case "rectangle":
			x, y := g.between(300, 1500, 1), g.between(-300, 100, 1)
			g.line("  - {id: house-%d, kind: rectangle, x: %g, y: %g, x2: %g, y2: %g}", i, x, y, x+g.between(100, 300, 1), y+g.between(100, 300, 1))
		}
	}
}

// jig draws what is asked of the template, and what cuts it, on which some of that
// depends.
func (g *generator) jig(games []string) string {
	process := one(g, "laser", "knife", "shop")
	g.line("jig:")
	g.line("  for: %s", one(g, "class", "this"))
	guide := g.between(0.7, 6, 0.1)
	g.line("  marker: {tip: 0.7, guide: %g}", guide)
	if g.in(3) {
		g.line("  spots: sticker")
		g.line("  sticker: %g", g.between(6, 32, 0.5))
	}
	if slices.Contains(games, "pool") {
		g.line("  rack: %s", one(g, "corners", "outline"))
	}
	g.line("  fit: %s", one(g, "press", "slide", "loose"))
	g.line("  letters: %s", one(g, "full", "short", "none"))
	if process != "knife" {
		g.line("  joint: %s", one(g, "dovetail", "keyed"))
		g.line("  fins: %s", one(g, "bonded", "screwed"))
		g.line("  spare_fins: %s", one(g, "no", "yes"))
		g.line("  side_travel: %g", g.between(1, 12, 0.5))
	}
	if g.in(4) {
		g.line("  tolerance: %g", g.between(5, 10, 0.5))
	}
	if g.in(4) {
		g.line("  piece_max: %g", g.between(300, 1300, 10))
	}
	if process == "laser" && g.in(2) {
		g.line("  ties: {count: %d, width: %g}", 1+g.IntN(4), g.between(0.3, 1, 0.1))
	}
	if g.in(2) {
		g.line("  shop_temperature: %g", g.between(10, 30, 1))
		g.line("  hall_temperature: %g", g.between(10, 30, 1))
		g.line("  shop_humidity: %g", g.between(30, 70, 1))
		g.line("  hall_humidity: %g", g.between(30, 70, 1))
		g.line("  compensate_growth: %s", one(g, "no", "yes"))
	}
	return process
}

func (g *generator) cut(process string) {
	m := one(g, machine.Materials()...)
	g.line("material:")
	g.line("  like: %s", m.Name)
	g.line("  sold: %g", m.Sold)
	g.line("  thickness: %g", g.between(0.8*m.Sold, 1.15*m.Sold, 0.01))
	if process != "knife" { // a blade has none
		g.line("  kerf: %g", g.between(0.05, 0.45, 0.01))
		defer g.line("dxf: %s", one(g, "nominal", "compensated"))
	}
	x, y := g.between(300, 1300, 10), g.between(200, 900, 10)
	switch process {
	case "laser":
		g.line("machine: {process: laser, travel: {x: %g, y: %g}}", x, y)
	case "knife":
		// A blade that follows no small arc cuts them as corners, or the job asks to be refused.
		arc := one(g, "arc_min: 0.9, tight_arcs: refuse", fmt.Sprintf("arc_min: %g, tight_arcs: corner", g.between(0.5, 3, 0.1)))
		g.line("machine: {process: knife, travel: {x: %g, y: %g, z: 20}, offsets: {G54: {x: 0, y: 0, z: 1.2}}, knife: {offset: %g, %s}}",
			x, y, g.between(0.2, 0.9, 0.05), arc)
	case "shop":
		g.line("  sheets: [{width: %g, height: %g}]", x, y)
		g.line("machine: shop")
	}
}

// mayRefuse are the reasons for which a job may be refused: a material that the process
// must not or cannot cut, a sheet thicker than the blade goes through or too thin for fins.
var mayRefuse = []string{"M020", "M022", "M023", "J097"}

// kindOfCause is the code or the check of a cause's first line, and of J090 the reason.
func kindOfCause(cause string) string {
	first, _, _ := strings.Cut(cause, "\n")
	code, msg, _ := strings.Cut(first, ": ")
	if _, reason, ok := strings.Cut(msg, ": "); ok && code == "J090" {
		return code + " " + reason
	}
	return code
}

// TestGeneratedJobsAreMade makes jobs drawn over everything that a job may say. None may
// be refused but for the reasons listed. SPOTJIG_ALL=1 makes 200 of them; SPOTJIG_JOBS=N
// makes that many, SPOTJIG_SEED=S from that one on.
func TestGeneratedJobsAreMade(t *testing.T) {
	n, from := 40, uint64(1)
	if os.Getenv("SPOTJIG_ALL") != "" {
		n = 200
	}
	if v, err := strconv.Atoi(os.Getenv("SPOTJIG_JOBS")); err == nil {
		n = v
	}
	if v, err := strconv.ParseUint(os.Getenv("SPOTJIG_SEED"), 10, 64); err == nil {
		from = v
	}
	if testing.Short() {
		n = 2
	}
	became := make([]string, n)
	const together = 8
	for at := 0; at < n; at += together {
		require.NoError(t, eachOf(min(together, n-at), func(i int) error {
			became[at+i] = becameOf(generatedJob(from + uint64(at+i)))
			return nil
		}))
	}
	count := map[string]int{}
	for i, b := range became {
		kind := kindOfCause(b)
		if count[kind]++; b == "made" {
			continue
		}
		if code, _, _ := strings.Cut(b, ":"); !slices.Contains(mayRefuse, code) {
			assert.Fail(t, fmt.Sprintf("job %d is refused: %s", from+uint64(i), b))
		}
	}
	var kinds []string
	for k := range count {
		kinds = append(kinds, k)
	}
	sort.Slice(kinds, func(i, k int) bool {
		return count[kinds[i]] > count[kinds[k]] || count[kinds[i]] == count[kinds[k]] && kinds[i] < kinds[k]
	})
	for _, k := range kinds {
		t.Logf("%4d of %d: %s", count[k], n, k)
	}
}
