package path_test

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/jig"
	"spotjig/cam/jig/plate"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// How short can the travel be?
//
// Lettering and scores are strokes. Travel through them is a path, and every path is a
// tree, so none is shorter than the shortest tree; and none than the shortest tree when
// every link to an end costs as much more as we like, less twice that for the end, since a
// path passes each end by two links, one of them the stroke, which is there and costs
// nothing. The best of such costs is looked for step by step: an end with too many links is
// made dearer, one with too few cheaper (Held, Karp, The traveling-salesman problem and
// minimum spanning trees, Operations Research 18, 1970, and part II, Mathematical
// Programming 1, 1971).
//
// That leaves much out: three ends that lie together may be passed by half a link each way
// round. But every end has one link that is no stroke, so an odd number of ends is left by
// one link at least (Edmonds, Maximum matching and a polyhedron with 0,1-vertices, 1965). A
// link that leaves such a set is made cheaper, and the bound dearer by as much. The sets
// are found where the mean of the last trees leaves them too seldom.
//
// Openings and outlines have several ways each, and a tree may pass them by one in and
// another out. For them the bound is the shortest way in as many steps as there are stops,
// in which a stop may come again once the way has been at a stop that does not remember it:
// each remembers the nearest few (Baldacci, Mingozzi, Roberti, New route relaxation and
// pricing strategies for the vehicle routing problem, Operations Research 59, 2011). What is
// passed too often is made dearer, as above. A way that repeats nothing is the shortest.
//
// Each link from stage to stage is counted once, with the stage it leaves.

// stageBound is a length that no travel through the stops is shorter than, from one of
// froms (free when there are none) and on to the nearest of next; rounds are how often the
// costs are changed.
func stageBound(froms []geom.Point, stops []path.Stop, next []geom.Point, near float64, rounds int) float64 {
	if slices.ContainsFunc(stops, func(s path.Stop) bool { return !stroke(s) }) {
		return stopsBound(froms, stops, next, near, rounds/10)
	}
	return strokesBound(froms, stops, next, near, rounds)
}

// bound is a length that no travel through the stages is shorter than.
func bound(start geom.Point, stages [][]path.Stop) float64 {
	sum := 0.0
	froms := []geom.Point{start}
	for k, s := range stages {
		near := math.Inf(1)
		for _, f := range append(froms, s[0].Ways[0].In) {
			sum := 0.0
			for _, o := range path.VisitNearest(f, s) {
				h := s[o[0]].Ways[o[1]]
				sum, f = sum+f.Dist(h.In), h.Out
			}
			near = math.Min(near, sum)
		}
		sum += stageBound(froms, s, entries(stages[k+1:]), near, 200)
		froms = nil
	}
	return sum
}

// entries are the places where the first of the stages can be entered.
func entries(stages [][]path.Stop) (out []geom.Point) {
	if len(stages) > 0 {
		for _, s := range stages[0] {
			for _, h := range s.Ways {
				out = append(out, h.In)
			}
		}
	}
	return out
}

// reach is the travel between a place and the nearest of others, 0 when there are none.
func reach(p geom.Point, others []geom.Point) float64 {
	if len(others) == 0 {
		return 0
	}
	d := math.Inf(1)
	for _, o := range others {
		d = math.Min(d, p.Dist(o))
	}
	return d
}

// stroke reports whether a stop is a line that is drawn from either end.
func stroke(s path.Stop) bool {
	return len(s.Ways) == 2 && s.Ways[0].In == s.Ways[1].Out && s.Ways[0].Out == s.Ways[1].In
}

// oddSet is an odd number of ends, and what a link that leaves it is cheaper by.
type oddSet struct {
	ends       []int
	off, drift float64
	left       float64 // links of the last tree that leave it
}

// forest is the search for the dearest tree. Ends 2s and 2s+1 are a stroke's.
type forest struct {
	ends       []geom.Point
	from, home []float64 // travel to an end before all, and from it after all
	cost, w    []float64 // of a link at an end; w with the sets
	links      []float64 // of the last tree, less two
	drift      []float64
	sets       []*oddSet
	of         [][]int            // the sets an end is in
	seen       map[string]bool    // sets that there are
	mean       map[[2]int]float64 // how often a link was in the last trees
	tree       [][2]int
}

// oddMost is how many ends an odd set may have.
const oddMost = 41

// strokesBound is a length that no path through all strokes is shorter than; near is some
// path's, which only sets the steps.
func strokesBound(froms []geom.Point, stops []path.Stop, next []geom.Point, near float64, rounds int) float64 {
	f := &forest{seen: map[string]bool{}, mean: map[[2]int]float64{}}
	for _, s := range stops {
		for _, p := range []geom.Point{s.Ways[0].In, s.Ways[0].Out} {
			f.ends = append(f.ends, p)
			f.from, f.home = append(f.from, reach(p, froms)), append(f.home, reach(p, next))
		}
	}
	n := len(f.ends)
	f.cost, f.w, f.links, f.drift = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	f.of = make([][]int, n)
	best, step, poor := math.Inf(-1), 1.0, 0
	for round := range rounds {
		length := f.shortest()
		if poor++; length > best+1e-3 {
			best, poor = length, 0
		}
		if poor >= 15 {
			step, poor = step*0.75, 0
		}
		if !f.turn(step * (math.Max(near-length, 0.001*near))) {
			break
		}
		if round >= 150 && round%50 == 0 && round < rounds*3/4 && f.findOdd() {
			step = math.Max(step, 0.1)
		}
	}
	return best
}

// shortest finds the shortest tree (Prim), strokes before all, and returns the bound it is.
func (f *forest) shortest() float64 {
	n, length := len(f.ends), 0.0
	low, by, in, inside := make([]float64, n), make([]int, n), make([]bool, n), make([]float64, n)
	for i, c := range f.cost {
		f.w[i], f.links[i] = c, -2
		for _, s := range f.of[i] {
			f.w[i] -= f.sets[s].off
		}
		length -= 2 * c
		low[i], by[i] = math.Inf(1), -1
	}
	for _, s := range f.sets {
		length += s.off
		s.left = 0
	}
	f.tree = f.tree[:0]
	for at := 0; at >= 0; {
		in[at] = true
		if b := by[at]; b >= 0 {
			f.links[at]++
			f.links[b]++
			if b^1 == at {
				length += f.cost[at] + f.cost[b]
			} else {
				length += low[at]
				f.tree = append(f.tree, [2]int{min(at, b), max(at, b)})
			}
		}
		for _, s := range f.of[at] {
			for _, j := range f.sets[s].ends {
				inside[j] += 2 * f.sets[s].off
			}
		}
		p, w, next := f.ends[at], f.w[at], -1
		for i := range low {
			if in[i] {
				continue
			}
			d := f.ends[i].Sub(p)
			if c := math.Sqrt(d.X*d.X+d.Y*d.Y) + w + f.w[i] + inside[i]; i == at^1 {
				low[i], by[i] = math.Inf(-1), at
			} else if c < low[i] {
				low[i], by[i] = c, at
			}
			if next < 0 || low[i] < low[next] {
				next = i
			}
		}
		for _, s := range f.of[at] {
			for _, j := range f.sets[s].ends {
				inside[j] = 0
			}
		}
		at = next
	}
	// The first link and the last.
	for _, outer := range [][]float64{f.from, f.home} {
		k := 0
		for i := range outer {
			if outer[i]+f.w[i] < outer[k]+f.w[k] {
				k = i
			}
		}
		length += outer[k] + f.w[k]
		f.links[k]++
		for _, s := range f.of[k] {
			f.sets[s].left++
		}
	}
	for k := range f.mean {
		if f.mean[k] *= 0.97; f.mean[k] < 0.005 {
			delete(f.mean, k)
		}
	}
	for _, e := range f.tree {
		f.mean[e] += 0.03
		for side := range e {
			for _, s := range f.of[e[side]] {
				if !slices.Contains(f.of[e[1-side]], s) {
					f.sets[s].left++
				}
			}
		}
	}
	return length
}

// turn changes the costs by so much in all, and returns false when there is nothing to change.
func (f *forest) turn(by float64) bool {
	sum := 0.0
	for _, l := range f.links {
		sum += l * l
	}
	lack := func(s *oddSet) float64 {
		if s.off == 0 {
			return math.Max(0, 1-s.left)
		}
		return 1 - s.left
	}
	for _, s := range f.sets {
		sum += lack(s) * lack(s)
	}
	if sum == 0 {
		return false
	}
	for i, l := range f.links {
		f.drift[i] = 0.7*l + 0.3*f.drift[i]
		f.cost[i] += by / sum * f.drift[i]
	}
	for _, s := range f.sets {
		s.drift = 0.7*lack(s) + 0.3*s.drift
		s.off = math.Max(0, s.off+by/sum*s.drift)
	}
	return true
}

// findOdd looks for odd sets that the last trees leave by less than one link in the mean.
func (f *forest) findOdd() (found bool) {
	type link struct {
		e [2]int
		m float64
	}
	var links []link
	for e, m := range f.mean {
		links = append(links, link{e, m})
	}
	slices.SortFunc(links, func(a, b link) int {
		return cmp.Or(cmp.Compare(b.m, a.m), cmp.Compare(a.e[0], b.e[0]), cmp.Compare(a.e[1], b.e[1]))
	})
	beside := make([]map[int]float64, len(f.ends))
	for i := range beside {
		beside[i] = map[int]float64{}
	}
	group, members := make([]int, len(f.ends)), make([][]int, len(f.ends))
	for i := range group {
		group[i], members[i] = i, []int{i}
	}
	for _, l := range links {
		beside[l.e[0]][l.e[1]], beside[l.e[1]][l.e[0]] = l.m, l.m
	}
	try := func(set []int) {
		key := fmt.Sprint(set)
		if len(set) < 3 || len(set)%2 == 0 || len(set) > oddMost || f.seen[key] {
			return
		}
		left := 0.0
		for _, i := range set {
			for j, m := range beside[i] {
				if !slices.Contains(set, j) {
					left += m
				}
			}
		}
		if left > 0.9 {
			return
		}
		f.seen[key] = true
		for _, i := range set {
			f.of[i] = append(f.of[i], len(f.sets))
		}
		f.sets = append(f.sets, &oddSet{ends: set})
		found = true
	}
	// Groups grow by the links that were there most often.
	for _, l := range links {
		a, b := group[l.e[0]], group[l.e[1]]
		if a == b {
			continue
		}
		for _, i := range members[b] {
			group[i] = a
		}
		members[a] = slices.Sorted(slices.Values(slices.Concat(members[a], members[b])))
		members[b] = nil
		set := slices.Clone(members[a])
		try(set)
		if len(set)%2 == 0 && len(set) <= 16 {
			for k := range set {
				try(slices.Delete(slices.Clone(set), k, k+1))
			}
		}
	}
	return found
}

// remembered is how many stops a stop remembers, itself among them.
const remembered = 8

// stopsBound is a length that no travel through stops of any ways is shorter than.
func stopsBound(froms []geom.Point, stops []path.Stop, next []geom.Point, near float64, rounds int) float64 {
	type node struct {
		stop int
		h    path.Hop
	}
	n := len(stops)
	var nodes []node
	for i, s := range stops {
		for _, h := range s.Ways {
			nodes = append(nodes, node{i, h})
		}
	}
	// The steps at which a stop may come: after all that it waits for, and before all
	// that wait for it.
	before := make([]map[int]bool, n)
	var gather func(i int) map[int]bool
	gather = func(i int) map[int]bool {
		if before[i] == nil {
			before[i] = map[int]bool{}
			for _, a := range stops[i].After {
				before[i][a] = true
				for b := range gather(a) {
					before[i][b] = true
				}
			}
		}
		return before[i]
	}
	first, last := make([]int, n), make([]int, n)
	for i := range stops {
		last[i] = n - 1
	}
	for i := range stops {
		first[i] = len(gather(i))
		for b := range before[i] {
			last[b]--
		}
	}
	// What each stop remembers, and what becomes of a memory on the way to another: the
	// stop's own place in its memory is the first, and left out of the bits.
	near2 := func(i, j int) float64 {
		d := math.Inf(1)
		for _, a := range stops[i].Ways {
			for _, b := range stops[j].Ways {
				d = math.Min(d, math.Min(a.Out.Dist(b.In), b.Out.Dist(a.In)))
			}
		}
		return d
	}
	keeps := make([][]int, n)
	for i := range stops {
		all := make([]int, n)
		for j := range all {
			all[j] = j
		}
		slices.SortStableFunc(all, func(a, b int) int {
			if a == i || b == i {
				return cmp.Compare(b2i(a != i), b2i(b != i))
			}
			return cmp.Compare(near2(i, a), near2(i, b))
		})
		keeps[i] = all[:min(n, remembered)]
	}
	bits := 1 << (min(n, remembered) - 1)
	becomes := make([][]int, n*n) // -1: not allowed
	for i := range stops {
		for j := range stops {
			to := make([]int, bits)
			for m := range to {
				to[m] = 0
				for k, s := range keeps[i] {
					if k > 0 && m>>(k-1)&1 == 0 {
						continue
					}
					switch at := slices.Index(keeps[j], s); {
					case at == 0:
						to[m] = -1
					case at > 0 && to[m] >= 0:
						to[m] |= 1 << (at - 1)
					}
				}
			}
			becomes[i*n+j] = to
		}
	}
	travel := make([]float64, len(nodes)*len(nodes))
	for i, a := range nodes {
		for j, b := range nodes {
			travel[i*len(nodes)+j] = a.h.Out.Dist(b.h.In)
		}
	}
	states := len(nodes) * bits
	low, from := make([][]float64, n), make([][]int32, n)
	for k := range low {
		low[k], from[k] = make([]float64, states), make([]int32, states)
	}
	cost, drift, best, step, poor := make([]float64, n), make([]float64, n), math.Inf(-1), 1.0, 0
	for range rounds {
		for k := range low {
			for i := range low[k] {
				low[k][i] = math.Inf(1)
			}
		}
		for i, a := range nodes {
			if first[a.stop] == 0 {
				low[0][i*bits] = reach(a.h.In, froms) + cost[a.stop]
			}
		}
		for k := 0; k+1 < n; k++ {
			for i, a := range nodes {
				for m := range bits {
					c := low[k][i*bits+m]
					if math.IsInf(c, 1) {
						continue
					}
					for j, b := range nodes {
						if k+1 < first[b.stop] || k+1 > last[b.stop] {
							continue
						}
						to := becomes[a.stop*n+b.stop][m]
						if to < 0 {
							continue
						}
						if d := c + travel[i*len(nodes)+j] + cost[b.stop]; d < low[k+1][j*bits+to] {
							low[k+1][j*bits+to], from[k+1][j*bits+to] = d, int32(i*bits+m)
						}
					}
				}
			}
		}
		end := 0
		for i := range low[n-1] {
			low[n-1][i] += reach(nodes[i/bits].h.Out, next)
		}
		for i, c := range low[n-1] {
			if c < low[n-1][end] {
				end = i
			}
		}
		length := low[n-1][end]
		times, sum := make([]float64, n), 0.0
		for k := n - 1; k >= 0; k-- {
			times[nodes[end/bits].stop]++
			end = int(from[k][end])
		}
		for i, c := range cost {
			length -= c
			times[i]--
			sum += times[i] * times[i]
		}
		if poor++; length > best+1e-3 {
			best, poor = length, 0
		}
		if poor >= 5 {
			step, poor = step*0.7, 0
		}
		if sum == 0 {
			break
		}
		for i, t := range times {
			drift[i] = 0.7*t + 0.3*drift[i]
			cost[i] += step * math.Max(near-length, 0.01*near) / sum * drift[i]
		}
	}
	return best
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// The bound is never above the shortest travel, as trying everything finds it.
func TestBoundHolds(t *testing.T) {
	worst := 1.0
	rapid.Check(t, func(t *rapid.T) {
		stops := drawStops(t, rapid.IntRange(1, 6).Draw(t, "n"))
		if rapid.Bool().Draw(t, "round") {
			stops[0] = circleStop(50, 60, 20, stops[0].After...)
		}
		want, got := bruteForce(t, pt(0, 0), stops), bound(pt(0, 0), [][]path.Stop{stops})
		require.LessOrEqual(t, got, want+1e-6)
		worst = math.Min(worst, got/want)
	})
	assert.Less(t, worst, 1.0)
}

// demoSheets are the demo's sheets as they are cut.
func demoSheets(t testing.TB) []path.Request {
	j, _, err := job.Read("demo", job.Demo(), job.Options{})
	require.NoError(t, err)
	plan, err := layout.NewPlan(layout.Request{Table: j.Table, Games: j.Games, Choices: j.Choices, Balls: j.Balls, House: j.House})
	require.NoError(t, err)
	m, mat, _, err := machine.Read(j.Machine, j.Material, machine.Options{})
	require.NoError(t, err)
	req := jig.Request{Name: j.Name, Table: j.Table, Games: j.Games, Marks: plan.Marks, Also: j.Also, BallDiameter: j.Balls.Diameter, Want: j.Jig, Machine: m, Material: mat}
	kind, err := plate.New(req)
	require.NoError(t, err)
	made, err := jig.Design(req, kind)
	require.NoError(t, err)
	room := jig.RoomFor(m, mat)
	sheets, err := nest.Nest(items(made.Parts), nest.Options{Stock: mat.Sheets, Margin: m.MarginBed + room.Edge, Gap: room.Gap})
	require.NoError(t, err)
	var out []path.Request
	for _, s := range sheets {
		out = append(out, path.Request{Sheet: s, Parts: made.Parts, Material: mat})
	}
	return out
}

// BenchmarkTravel orders the demo's sheets, and gives the travel beside a length that no
// travel is shorter than, of all and of the lettering alone.
func BenchmarkTravel(b *testing.B) {
	sheets := demoSheets(b)
	travel := 0.0
	b.ReportAllocs()
	for b.Loop() {
		travel = 0
		for _, r := range sheets {
			tp, err := path.Laser(r)
			if err != nil {
				b.Fatal(err)
			}
			travel += tp.Travel
		}
	}
	names := []string{"letters", "scores", "cuts"}
	made, least := map[string]float64{}, map[string]float64{}
	for _, r := range sheets {
		tp, err := path.Laser(r)
		require.NoError(b, err)
		stages, err := path.Batches(r)
		require.NoError(b, err)
		stage := func(i int) string { return names[min(int(tp.Ops[i].Layer), 2)] }
		own, at := map[string]float64{}, r.Start
		for i, o := range tp.Ops {
			own[stage(max(0, i-1))] += at.Dist(o.Moves[0].From) // with the stage it leaves
			at = o.Moves[len(o.Moves)-1].To
		}
		froms := []geom.Point{r.Start}
		for k, s := range stages {
			name := names[k]
			least[name] += stageBound(froms, s, entries(stages[k+1:]), own[name], 2000)
			made[name] += own[name]
			froms = nil
		}
	}
	b.ReportMetric(travel, "mm")
	sum := 0.0
	for _, n := range names {
		b.ReportMetric(made[n], "mm-"+n)
		b.ReportMetric(least[n], "mm-"+n+"-bound")
		sum += least[n]
	}
	b.ReportMetric(sum, "mm-bound")
}
