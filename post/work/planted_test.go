package work

import (
	"cmp"
	"context"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	jobfile "spotjig/layout/job"
	"spotjig/layout/problem"
)

// planted is a fault of our own, put in between the stages of a command, and the
// check that must refuse it; "" when the stage itself must.
type planted struct {
	what  string // the process or output that it is planted in
	name  string
	job   string // name of a job of plantedJobs
	hook  steps
	catch string
	of    string // what the paper proof shows, when not the template
}

// plantedJobs are the jobs that faults are planted in; those that end in "-test"
// are made by coupon, the others by make. The film's is a toy table, so that a
// blade has little to do.
func plantedJobs() map[string]string {
	film := `name: Toy table
date: 2026-11-20
table: {size: match carom, length: 1200, width: 600}
games: [carom]
jig: {for: this, spots: point, tolerance: 3 mm, marker: {tip: 0.7 mm, guide: 2.8 mm}}
material:
  kind: polyester film
  thickness: 0.35 mm
  sheets: [{width: 1200, height: 600}]
  score: {depth: -0.1 mm, feed: 40 mm/s}
  letter: {depth: -0.12 mm, feed: 40 mm/s}
machine: knife-1200x600
`
	card := strings.NewReplacer("polyester film", "card", "0.35 mm", "1 mm", "depth: -0.1 mm", "depth: -0.2 mm",
		"machine: knife-1200x600", "machine: {name: cutter, process: knife, travel: {x: 1200, y: 600}, offsets: {G54: {x: 0, y: 0, z: 0}}, "+
			"knife: {offset: 0.25 mm, wedge: 60 deg, sheet_max: 1 mm, floor: -1.5 mm, arc_min: 0.5 mm}}").Replace(film)
	shop := `name: Toy table
date: 2026-11-20
table: {size: match carom, length: 1200, width: 600}
games: [carom]
count: 2
jig: {for: this, tolerance: 3 mm}
material: {kind: cast acrylic, sold: 5 mm, thickness: 4.9 mm, sheets: [{width: 500, height: 400, price: 40}]}
machine: shop
`
	demo := string(jobfile.Demo())
	snooker := "name: Two gauges\ntable: {size: 7 ft pool}\ngames: [snooker]\nmachine: {process: laser, travel: {x: 900, y: 600}}\n"
	keyed := strings.Replace(demo, "\njig: {", "\njig: {joint: keyed, ", 1)
	if keyed == demo {
		keyed = strings.Replace(demo, "\njig:\n", "\njig:\n  joint: keyed\n", 1)
	}
	set := strings.Replace(demo, "\njig: {", "\njig: {settings: yes, ", 1)
	if set == demo {
		set = strings.Replace(demo, "\njig:\n", "\njig:\n  settings: yes\n", 1)
	}
	return map[string]string{"set": set, "laser": demo, "quiet": demo, "ways": strings.Replace(demo, "  power_scale: 1000\n", "  power_scale: 1000\n  program: {air: M8, pause: yes, park: yes, power: with-move}\n", 1), "taken": demo + "\ndxf: compensated\n", "laser-warm": warm(demo), "film": film, "film-warm": warm(film), "card": card, "shop": shop, "laser-test": demo, "film-test": film, "snooker": snooker, "keyed": keyed, "keyed-test": keyed, "shared": shop}
}

// warm has a job's pieces scaled for a warmer hall.
func warm(job string) string {
	at := regexp.MustCompile(`(?m)^jig:( \{|\n)`).FindString(job)
	if at == "jig: {" {
		return strings.Replace(job, at, at+"compensate_growth: yes, hall_temperature: 30, ", 1)
	}
	return strings.Replace(job, at, at+"  compensate_growth: yes\n  hall_temperature: 30\n", 1)
}

// quiet leaves the lettering of all pieces but one out, which most of a blade's
// work is.
func quiet(j *jig.Jig) {
	for i := range j.Parts[1:] {
		j.Parts[i+1].Letters = nil
	}
}

// make plants the fault and returns the checks that refused the job with what they
// say; done says that none did.
func (p planted) make(t *testing.T) (caught, says []string, done bool) {
	o, err := Read("job.yaml", []byte(plantedJobs()[p.job]), nil)
	require.NoError(t, err)
	hook := p.hook
	if strings.HasPrefix(p.job, "film") || p.job == "card" || p.job == "quiet" {
		hook.base = quiet
	}
	opt := outputOptions
	opt.ProofOf, opt.SVG = cmp.Or(p.of, opt.ProofOf), true
	hook.of, hook.only = p.job+", proof of the "+opt.ProofOf, madeBy(p.catch)
	opt.stages = hook.stages()
	build := o.Build
	switch {
	case strings.HasSuffix(p.job, "-test"):
		build = o.BuildTestPiece
	case p.job == "shared":
		build = func(ctx context.Context, opt Options) (Made, error) { return shareTwo(t, opt).Build(ctx) }
	}
	m, err := build(context.Background(), opt)
	if err != nil {
		list := problem.From(err)
		require.NotEmpty(t, list, "%v", err)
		return []string{"stage " + list[0].Code}, []string{list[0].Msg}, false
	}
	for _, c := range m.Failures() {
		kind, _, _ := strings.Cut(c.ID, ":")
		if n := len(caught); n == 0 || caught[n-1] != kind {
			caught, says = append(caught, kind), append(says, c.Text)
		}
	}
	return caught, says, len(caught) == 0
}

// madeBy are the outputs of what is cut whose proofs make a check; nil, which is all
// outputs, for other checks and for a stage's own refusal. A set is refused by any check
// that fails, so that where the check named must fail the other outputs need not be made.
func madeBy(check string) func(output string) bool {
	for _, by := range []struct{ checks, outputs string }{
		{`^(as-assembled|as-joined|as-gauged|as-shod|as-set|as-grown|as-covered|as-tried|marks-csv)$`, `^marks\.csv$`},
		{`^(as-cut|as-ordered|as-marked|as-read|tip-\w+)$`, `^sheet-\d+\.nc$`},
		{`^as-read-dryrun$`, `^sheet-\d+-dryrun\.nc$`},
		{`^as-read-edges$`, `^sheet-\d+-edges\.nc$`},
		{`^first-light$`, `^check\.nc$`},
		{`^dry-run$`, `\.nc$`},
		{`^dxf$`, `\.dxf$`},
		{`^svg$`, `-cut.*\.svg$`},
		{`^(as-shared|jobs)$`, `^jobs\.yaml$`},
	} {
		if regexp.MustCompile(by.checks).MatchString(check) {
			return regexp.MustCompile(by.outputs).MatchString
		}
	}
	return nil
}

// TestPlantedFaultsAreRefused plants each fault between the stages that a user's job goes
// through. The check named must refuse it: what has a failed check is never written
// (cmd/spotjig tests that). Every run plants the first fault that each check must catch, and
// a sixth of the others; SPOTJIG_ALL=1 plants all. With -v it prints the faults one by one.
func TestPlantedFaultsAreRefused(t *testing.T) {
	all := slices.Concat(laserFaults(), knifeFaults(), designFaults(), textFaults(), endFaults(), shownFaults(), sharedFaults())
	switch {
	case testing.Short():
		all = oneEach(all)
	case os.Getenv("SPOTJIG_ALL") == "":
		all = someEach(all)
	}
	type row struct {
		planted
		caught []string
		says   string
	}
	rows := make([]row, len(all))
	var one sync.Mutex
	t.Run("all", func(t *testing.T) {
		for i, p := range all {
			t.Run(p.what+": "+p.name, func(t *testing.T) {
				t.Parallel()
				caught, says, done := p.make(t)
				require.False(t, done, "nothing refused it")
				by := cmp.Or(p.catch, firstOf(caught, "stage"))
				require.Contains(t, caught, by)
				one.Lock()
				rows[i] = row{p, caught, says[slices.Index(caught, by)]}
				one.Unlock()
			})
		}
	})
	if t.Failed() {
		return
	}
	rows = slices.DeleteFunc(rows, func(r row) bool { return r.name == "" }) // not asked for with -run
	for _, r := range rows {
		t.Logf("%-10s %-55s %-14s (all: %s)\n    %.160s", r.what, r.name, cmp.Or(r.catch, "the stage"), strings.Join(r.caught, ", "), r.says)
	}
	t.Logf("%d faults, each refused by the check named", len(rows))
}

// oneEach keeps the first fault that each third check must catch.
func oneEach(all []planted) []planted {
	seen := map[string]bool{}
	return slices.DeleteFunc(all, func(p planted) bool {
		again := seen[p.catch]
		seen[p.catch] = true
		return again || len(seen)%3 != 1
	})
}

// someEach keeps the first fault that each check must catch and every sixth of the others.
func someEach(all []planted) []planted {
	seen, others := map[string]bool{}, 0
	return slices.DeleteFunc(all, func(p planted) bool {
		if !seen[p.catch] {
			seen[p.catch] = true
			return false
		}
		others++
		return others%6 != 0
	})
}

// firstOf is the first of the texts that begins so.
func firstOf(texts []string, begins string) string {
	for _, s := range texts {
		if strings.HasPrefix(s, begins) {
			return s
		}
	}
	return begins
}

// The jobs that faults are planted in are sound without one.
func TestPlantedJobsAreSound(t *testing.T) {
	for name := range plantedJobs() {
		if testing.Short() && !strings.HasSuffix(name, "-warm") {
			continue // TestEveryOutputIsProved makes their like
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			caught, _, done := planted{job: name}.make(t)
			assert.True(t, done, "%v", caught)
		})
	}
}

// replaceFirst replaces the first match of a pattern in one file.
func replaceFirst(file, pattern, with string) steps {
	re := regexp.MustCompile(pattern)
	return changeFirst(file, re, func(b []byte, at []int) (put []byte, from, to int) {
		return re.Expand(nil, []byte(with), b, at), at[0], at[1]
	})
}

// addFirst adds to the number that the pattern's first group finds first in a file.
func addFirst(file, pattern string, more float64) steps {
	return changeFirst(file, regexp.MustCompile(pattern), func(b []byte, at []int) (put []byte, from, to int) {
		n, err := strconv.ParseFloat(string(b[at[2]:at[3]]), 64)
		if err != nil {
			panic(err)
		}
		return strconv.AppendFloat(nil, n+more, 'f', 6, 64), at[2], at[3]
	})
}

// changeFirst puts something in the place of what a pattern finds first in a file.
func changeFirst(file string, re *regexp.Regexp, change func(b []byte, at []int) (put []byte, from, to int)) steps {
	return steps{program: func(name string, b []byte) []byte {
		if name != file {
			return b
		}
		at := re.FindSubmatchIndex(b)
		if at == nil {
			panic("nothing to plant the fault in: " + re.String())
		}
		put, from, to := change(b, at)
		return slices.Concat(b[:from], put, b[to:])
	}}
}

// eachOp changes the first operation of a layer that f says it has changed.
func eachOp(layer path.Layer, f func(*path.Op) bool) steps {
	done := false
	return steps{toolpath: func(tp *path.Toolpath) {
		for i := range tp.Ops {
			if o := &tp.Ops[i]; !done && o.Layer == layer && o.Part != "waste" {
				o.Moves = slices.Clone(o.Moves)
				done = f(o)
			}
		}
	}}
}

// ordered changes the order of a sheet's operations.
func ordered(f func(ops []path.Op) []path.Op) steps {
	return steps{toolpath: func(tp *path.Toolpath) { tp.Ops = f(slices.Clone(tp.Ops)) }}
}

// lost, twice and last change the first operation of a layer.
func lost(layer path.Layer) func([]path.Op) []path.Op {
	return func(ops []path.Op) []path.Op { i := firstOp(ops, layer); return slices.Delete(ops, i, i+1) }
}

func twice(layer path.Layer) func([]path.Op) []path.Op {
	return func(ops []path.Op) []path.Op { i := firstOp(ops, layer); return slices.Insert(ops, i, ops[i]) }
}

func last(layer path.Layer) func([]path.Op) []path.Op {
	return func(ops []path.Op) []path.Op {
		i := firstOp(ops, layer)
		o := ops[i]
		return append(slices.Delete(ops, i, i+1), o)
	}
}

// behind puts the first operation of a layer behind the first of another layer in another
// piece.
func behind(layer, other path.Layer) func([]path.Op) []path.Op {
	return func(ops []path.Op) []path.Op {
		i := firstOp(ops, layer)
		o := ops[i]
		k := slices.IndexFunc(ops, func(q path.Op) bool { return q.Layer == other && q.Part != o.Part })
		return slices.Delete(slices.Insert(ops, k+1, o), i, i+1)
	}
}

// firstOp is the first operation of a layer in a piece that has openings.
func firstOp(ops []path.Op, layer path.Layer) int {
	for i, o := range ops {
		holed := slices.ContainsFunc(ops, func(q path.Op) bool { return q.Part == o.Part && q.Layer == path.Opening })
		if o.Layer == layer && o.Part != "waste" && (holed || layer == path.Outline) {
			return i
		}
	}
	panic("no operation to plant a fault in: " + layer.String())
}

// swapFiles exchanges what two files hold.
func swapFiles(a, b string) steps {
	return steps{files: func(outs []Output) {
		at := func(name string) int {
			return slices.IndexFunc(outs, func(o Output) bool { return o.name == name })
		}
		i, j := at(a), at(b)
		outs[i].write, outs[j].write = outs[j].write, outs[i].write
	}}
}

// moved moves a point of every move about another one: through it when k is -1.
func moved(about geom.Point, k float64, moves []path.Move) {
	to := func(p geom.Point) geom.Point { return about.Add(p.Sub(about).Scale(k)) }
	for i, m := range moves {
		moves[i].Segment = geom.Segment{From: to(m.From), To: to(m.To), Bulge: m.Bulge}
	}
}

// mirrored moves the moves to the other side of the line along which another begins.
func mirrored(m path.Move, moves []path.Move) {
	u := m.Tangent(0)
	to := func(p geom.Point) geom.Point {
		d := p.Sub(m.From)
		return m.From.Add(u.Scale(2 * d.Dot(u))).Add(d.Scale(-1))
	}
	for i, m := range moves {
		moves[i].Segment = geom.Segment{From: to(m.From), To: to(m.To), Bulge: -m.Bulge}
	}
}
