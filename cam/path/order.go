package path

import (
	"cmp"
	"math"
	"slices"

	"spotjig/layout/geom"
)

// How the order is found
//
// A stop is something to cut. It can be entered in several ways: a stroke from
// either end, a hole at one of several points of its edge. The order of the stops
// and the way of each shall make the beam-off travel short; some stops must come
// after others. (The generalised travelling salesman problem with precedence,
// open ended.)
//
//	few stops    dynamic programming over all subsets: the optimum
//	more         nearest neighbour first; then single stops are moved and runs
//	             of stops reversed as long as that shortens the way; between the
//	             rounds the best ways for the order are found exactly (a
//	             shortest path through layers, one layer a stop); then two short
//	             runs change places somewhere, that is improved again, and what is
//	             not shorter is undone
//	strokes      as in strokes.go
//
// Example: two strokes, 0,0 to 10,0 and 0,1 to 10,1, from 0,0. Drawn as given the
// travel is 10.05; with the second drawn the other way it is 1.
//
// Distances are whole numbers of 1e-6 mm, so that no comparison hangs on a
// rounding error, and the first found wins a tie.

// stateMax bounds the exact search: subsets x ways x ways. Eight stops of four
// ways need 262,144, about a millisecond.
const stateMax = 300_000

// windowMax: stops further apart in the order than this are not tried against
// each other, which keeps hundreds of lettering strokes quick.
const windowMax = 20

// roundsMax bounds the improvement; it has always ended well before.
const roundsMax = 50

// hop is one way to make a stop: where the beam is switched on and off.
type hop struct{ in, out geom.Point }

// stop is one thing to visit.
type stop struct {
	ways  []hop
	after []int // stops that come before this one
}

// leg is a stop visited in one of its ways.
type leg struct{ stop, way int }

// dist is the travel between two points in units of 1e-6 mm. It is called
// millions of times: a plain square root serves, sheets are no larger than metres.
func dist(a, b geom.Point) int64 {
	dx, dy := a.X-b.X, a.Y-b.Y
	return int64(math.Sqrt(float64(dx*dx)+float64(dy*dy))*1e6 + 0.5) // float64(...) forbids fusing
}

// visit returns an order of all stops, and the way of each, with short travel
// from the nearest of from, if there is any, and on to the nearest of next. Every stop
// comes after those its after names; a circle among them is a bug and panics.
func visit(from []geom.Point, stops []stop, next []geom.Point) []leg {
	if len(stops) == 0 {
		return nil
	}
	ways := 0
	for _, s := range stops {
		ways += len(s.ways)
	}
	if n := len(stops); n < 20 && (1<<n)*ways*ways <= stateMax {
		return visitExact(from, stops, ways, next)
	}
	start := stops[0].ways[0].in
	if len(from) > 0 {
		start = from[0]
	}
	if isPen(stops) {
		return draw(from, stops, nearest(start, stops), next)
	}
	r := newRoute(start, stops, nearest(start, stops))
	r.improve()
	r.shake()
	return r.legs
}

// exact is the table of visitExact: a node is a stop in one of its ways.
type exact struct {
	nodes   []leg
	hops    []hop
	between [][]int64 // from the out of one node to the in of another
	need    []int     // stops that must be done before, as bits, by stop
}

func newExact(stops []stop, ways int) *exact {
	e := &exact{nodes: make([]leg, 0, ways), need: make([]int, len(stops))}
	for i, s := range stops {
		for _, a := range s.after {
			e.need[i] |= 1 << a
		}
		for w, h := range s.ways {
			e.nodes = append(e.nodes, leg{i, w})
			e.hops = append(e.hops, h)
		}
	}
	e.between = make([][]int64, ways)
	for i := range e.between {
		e.between[i] = make([]int64, ways)
		for j := range e.between[i] {
			e.between[i][j] = dist(e.hops[i].out, e.hops[j].in)
		}
	}
	return e
}

// visitExact is dynamic programming over subsets (Held and Karp, 1962): the
// shortest way that has done exactly the stops of a set and ended at a node.
func visitExact(from []geom.Point, stops []stop, ways int, next []geom.Point) []leg {
	e := newExact(stops, ways)
	sets := 1 << len(stops)
	cost := make([]int64, sets*ways)
	prev := make([]int32, sets*ways)
	for i := range cost {
		cost[i] = math.MaxInt64
	}
	for i, n := range e.nodes {
		if e.need[n.stop] == 0 {
			cost[(1<<n.stop)*ways+i] = onward(e.hops[i].in, from)
		}
	}
	for set := 1; set < sets; set++ {
		for i := range e.nodes {
			c := cost[set*ways+i]
			if c == math.MaxInt64 {
				continue
			}
			for j, n := range e.nodes {
				bit := 1 << n.stop
				if set&bit != 0 || e.need[n.stop]&^set != 0 {
					continue
				}
				k := (set|bit)*ways + j
				if d := c + e.between[i][j]; d < cost[k] {
					cost[k], prev[k] = d, int32(i)
				}
			}
		}
	}
	for i, h := range e.hops {
		if k := (sets-1)*ways + i; cost[k] != math.MaxInt64 {
			cost[k] += onward(h.out, next)
		}
	}
	return e.back(cost, prev, ways, len(stops))
}

// back reads the best order out of the table.
func (e *exact) back(cost []int64, from []int32, ways, n int) []leg {
	set := 1<<n - 1
	end := 0
	for i := range e.nodes {
		if cost[set*ways+i] < cost[set*ways+end] {
			end = i
		}
	}
	if cost[set*ways+end] == math.MaxInt64 {
		panic("path: internal error: cuts wait for each other in a circle")
	}
	legs := make([]leg, n)
	for k := n - 1; k >= 0; k-- {
		legs[k] = e.nodes[end]
		prev := int(from[set*ways+end])
		set &^= 1 << e.nodes[end].stop
		end = prev
	}
	return legs
}

// onward is the travel from a place to the nearest of others.
func onward(from geom.Point, next []geom.Point) int64 {
	if len(next) == 0 {
		return 0
	}
	best, within := int64(math.MaxInt64), math.Inf(1)
	for _, p := range next {
		if math.Abs(p.X-from.X) > within || math.Abs(p.Y-from.Y) > within {
			continue // no nearer than what is found: spares the root
		}
		if d := dist(from, p); d < best {
			best, within = d, float64(d+1)/1e6
		}
	}
	return best
}

// nearest takes whatever free stop can be entered nearest by; of two as near the first, by
// its first way.
func nearest(start geom.Point, stops []stop) []leg {
	e := newEntrances(stops)
	done := make([]bool, len(stops))
	legs := make([]leg, 0, len(stops))
	at := start
	for len(legs) < len(stops) {
		found := e.nearest(at, stops, done)
		if found.stop < 0 {
			panic("path: internal error: cuts wait for each other in a circle")
		}
		done[found.stop] = true
		legs = append(legs, found)
		at = stops[found.stop].ways[found.way].out
	}
	return legs
}

// entrances are where stops can be entered, in order of x.
type entrances struct {
	all        []entrance
	above, low []int32 // from a place, the next or the last one of a stop that is not done, or beyond
}

type entrance struct {
	at geom.Point
	leg
}

func newEntrances(stops []stop) *entrances {
	e := &entrances{}
	for i, s := range stops {
		for w, h := range s.ways {
			e.all = append(e.all, entrance{h.in, leg{i, w}})
		}
	}
	slices.SortStableFunc(e.all, func(a, b entrance) int { return cmp.Compare(a.at.X, b.at.X) })
	// Place 0 is before them all, so that there is a last one always.
	e.above, e.low = make([]int32, len(e.all)+2), make([]int32, len(e.all)+2)
	for k := range e.above {
		e.above[k], e.low[k] = int32(k), int32(k)
	}
	return e
}

// left follows the links from a place to an entrance of a stop that is not done, or beyond
// all, and shortens them on its way: step is 1 upwards and -1 downwards.
func (e *entrances) left(links []int32, k, step int32, done []bool) int32 {
	to := k
	for {
		for links[to] != to {
			to = links[to]
		}
		if to == 0 || int(to) > len(e.all) || !done[e.all[to-1].stop] {
			break
		}
		links[to] = to + step
	}
	for links[k] != to {
		k, links[k] = links[k], to
	}
	return to
}

// nearest is the free stop that is entered nearest to a place, and the way; stop -1 if none is.
func (e *entrances) nearest(at geom.Point, stops []stop, done []bool) leg {
	best, within, found := int64(math.MaxInt64), math.Inf(1), leg{-1, 0}
	look := func(n *entrance) {
		if math.Abs(n.at.Y-at.Y) > within {
			return // no nearer than what is found: spares the root
		}
		d := dist(at, n.at)
		if d > best || d == best && (n.stop > found.stop || n.stop == found.stop && n.way > found.way) {
			return
		}
		if s := &stops[n.stop]; len(s.after) == 0 || ready(*s, done) {
			best, found = d, n.leg
			within = float64(d+1) / 1e6
		}
	}
	from, _ := slices.BinarySearchFunc(e.all, at.X, func(n entrance, x float64) int { return cmp.Compare(n.at.X, x) })
	for k := e.left(e.above, int32(from)+1, 1, done); int(k) <= len(e.all) && e.all[k-1].at.X-at.X <= within; k = e.left(e.above, k+1, 1, done) {
		look(&e.all[k-1])
	}
	for k := e.left(e.low, int32(from), -1, done); k > 0 && at.X-e.all[k-1].at.X <= within; k = e.left(e.low, k-1, -1, done) {
		look(&e.all[k-1])
	}
	return found
}

func ready(s stop, done []bool) bool {
	for _, a := range s.after {
		if !done[a] {
			return false
		}
	}
	return true
}
