package path_test

import (
	"math"
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
// Travel through a batch of stops is a path. Every path is a tree, so none is shorter
// than the shortest tree; and none than the shortest tree when every way to a node costs
// as much more as we like, less twice that for the node, since a path passes each node by
// two of its links (its ends by one; a node that is nowhere, with links of no length,
// joins them). The best of such costs is looked for step by step: a node with too many
// links is made dearer, one with too few cheaper (Held, Karp, The traveling-salesman
// problem and minimum spanning trees, Operations Research 18, 1970, and part II,
// Mathematical Programming 1, 1971). A stroke is two nodes with a link that must be there
// and costs nothing. A stop of any other kind is one node, as near to another as the
// nearest of their ways: a slot that is begun at either end is passed for nothing then, so
// that among slots the bound lies far below what can be had. Precedence within a batch is left out: that only lowers it.

// bound is a length that no travel through the batches is shorter than.
func bound(start geom.Point, batches [][]path.Stop) float64 {
	sum := 0.0
	from := []path.Stop{{Ways: []path.Hop{{In: start, Out: start}}}}
	for _, b := range batches {
		link := math.Inf(1)
		for _, s := range from {
			for _, t := range b {
				link = math.Min(link, between(s, t))
			}
		}
		sum += link + pathBound(b)
		from = b
	}
	return sum
}

// between is the shortest travel from one stop to another.
func between(s, t path.Stop) float64 {
	d := math.Inf(1)
	for _, a := range s.Ways {
		for _, b := range t.Ways {
			d = math.Min(d, a.Out.Dist(b.In))
		}
	}
	return d
}

// stroke reports whether a stop is a line that is drawn from either end.
func stroke(s path.Stop) bool {
	return len(s.Ways) == 2 && s.Ways[0].In == s.Ways[1].Out && s.Ways[0].Out == s.Ways[1].In
}

// pathBound is a length that no path through all stops is shorter than.
func pathBound(stops []path.Stop) float64 {
	type node struct {
		stop path.Stop
		mate int // the stroke's other end; -1 for none
	}
	var nodes []node
	for _, s := range stops {
		if !stroke(s) {
			nodes = append(nodes, node{s, -1})
			continue
		}
		n := len(nodes)
		for i, p := range []geom.Point{s.Ways[0].In, s.Ways[0].Out} {
			nodes = append(nodes, node{path.Stop{Ways: []path.Hop{{In: p, Out: p}}}, n + 1 - i})
		}
	}
	n := len(nodes)
	if n < 2 {
		return 0
	}
	d := make([][]float64, n)
	for i := range d {
		d[i] = make([]float64, n)
		for k := range d[i] {
			d[i][k] = math.Min(between(nodes[i].stop, nodes[k].stop), between(nodes[k].stop, nodes[i].stop))
		}
	}
	cost, links := make([]float64, n), make([]int, n)
	best, step, before := 0.0, 0.0, make([]float64, n)
	for round := range 300 {
		// The tree (Prim); a stroke's own link comes before any other.
		low, by, in := make([]float64, n), make([]int, n), make([]bool, n)
		for i := range low {
			low[i], by[i] = math.Inf(1), -1
			links[i] = 0
		}
		low[0] = 0
		length := 0.0
		for range n {
			at := -1
			for i := range low {
				if !in[i] && (at < 0 || low[i] < low[at]) {
					at = i
				}
			}
			in[at] = true
			if k := by[at]; k >= 0 {
				links[k]++
				links[at]++
				if nodes[at].mate == k {
					length += cost[at] + cost[k]
				} else {
					length += low[at]
				}
			}
			for i := range low {
				c := d[at][i] + cost[at] + cost[i]
				if nodes[at].mate == i {
					c = math.Inf(-1)
				}
				if !in[i] && c < low[i] {
					low[i], by[i] = c, at
				}
			}
		}
		// The node that is nowhere joins the two cheapest.
		a, b := -1, -1
		for i, c := range cost {
			switch {
			case a < 0 || c < cost[a]:
				a, b = i, a
			case b < 0 || c < cost[b]:
				b = i
			}
		}
		length += cost[a] + cost[b]
		links[a]++
		links[b]++
		off := 0.0
		for i, c := range cost {
			length -= 2 * c
			off += float64((links[i] - 2) * (links[i] - 2))
		}
		best = math.Max(best, length)
		if off == 0 {
			break
		}
		if round == 0 {
			step = math.Abs(length) / float64(n)
		}
		for i := range cost {
			turn := 0.6*float64(links[i]-2) + 0.4*before[i]
			before[i] = float64(links[i] - 2)
			cost[i] += step * turn
		}
		step *= 0.97
	}
	return best
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
	room := jig.EdgeRoom(mat.Kerf)
	sheets, err := nest.Nest(items(made.Parts), nest.Options{Stock: mat.Sheets, Margin: m.MarginBed + room, Gap: 2 * room})
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
	least, strokes, leastStrokes := 0.0, 0.0, 0.0
	for _, r := range sheets {
		batches, err := path.Batches(r)
		require.NoError(b, err)
		least += bound(r.Start, batches)
		leastStrokes += pathBound(batches[0])
		order := path.Visit(r.Start, batches[0])
		at := batches[0][order[0][0]].Ways[order[0][1]].In
		strokes += length(b, at, batches[0], order)
	}
	b.ReportMetric(travel, "mm")
	b.ReportMetric(least, "mm-bound")
	b.ReportMetric(strokes, "mm-letters")
	b.ReportMetric(leastStrokes, "mm-letters-bound")
}
