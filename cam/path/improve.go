package path

import (
	"math"
	"slices"

	"spotjig/layout/geom"
)

// route is an order being improved.
type route struct {
	start geom.Point
	stops []stop
	legs  []leg
	// As measured last: ahead[k] is the travel up to where leg k is entered; back[k] is leg k
	// turned round, and aback[k] the travel from its end so turned back to leg 0.
	ahead, aback []int64
	back         []hop
	free         bool // no stop waits for another
}

func newRoute(start geom.Point, stops []stop, legs []leg) *route {
	r := &route{start: start, stops: stops, legs: legs, free: true}
	for _, s := range stops {
		r.free = r.free && len(s.after) == 0
	}
	return r
}

func (r *route) hop(k int) hop { return r.stops[r.legs[k].stop].ways[r.legs[k].way] }

// out is where leg k ends; before the first leg the start.
func (r *route) out(k int) geom.Point {
	if k < 0 {
		return r.start
	}
	return r.hop(k).out
}

// turned is the way of leg k with its ends exchanged, if it has one, else its way.
func (r *route) turned(k int) int {
	l := r.legs[k]
	ways := r.stops[l.stop].ways
	h := ways[l.way]
	for w, o := range ways {
		if o.in == h.out && o.out == h.in {
			return w
		}
	}
	return l.way
}

// improve shortens the travel until nothing more is found.
func (r *route) improve() {
	for i := 0; i < roundsMax; i++ {
		r.chooseWays()
		moved := r.moveStops()
		reversed := r.reverseRuns()
		if !moved && !reversed {
			return
		}
	}
}

// chooseWays finds the best way of every leg for the order as it is.
func (r *route) chooseWays() {
	n, most := len(r.legs), 0
	for _, s := range r.stops {
		most = max(most, len(s.ways))
	}
	from := make([]int, n*most) // the best way of the leg before, by leg and way
	cost, next := make([]int64, most), make([]int64, most)
	for k := range r.legs {
		for w, h := range r.stops[r.legs[k].stop].ways {
			if k == 0 {
				next[w] = dist(r.start, h.in)
				continue
			}
			next[w] = math.MaxInt64
			for v, g := range r.stops[r.legs[k-1].stop].ways {
				if d := cost[v] + dist(g.out, h.in); d < next[w] {
					next[w], from[k*most+w] = d, v
				}
			}
		}
		cost, next = next, cost
	}
	end := 0
	for w := range r.stops[r.legs[n-1].stop].ways {
		if cost[w] < cost[end] {
			end = w
		}
	}
	for k := n - 1; k >= 0; k-- {
		r.legs[k].way = end
		end = from[k*most+end]
	}
}

// moveStops takes single legs out and puts them where they cost less.
func (r *route) moveStops() bool {
	any := false
	for k := range r.legs {
		if r.moveOne(k) {
			any = true
		}
	}
	return any
}

func (r *route) moveOne(k int) bool {
	n := len(r.legs)
	h := r.hop(k)
	gain := dist(r.out(k-1), h.in)
	if k+1 < n {
		next := r.hop(k + 1).in
		gain += dist(h.out, next) - dist(r.out(k-1), next)
	}
	if gain <= 0 {
		return false // it lies on the way
	}
	lo, hi := r.between(k)
	lo, hi = max(lo, k-windowMax), min(hi, k+windowMax)
	best, bestJ, bestW := int64(0), -1, 0
	// Between legs j-1 and j, counted without leg k's own place.
	for j := lo; j <= hi+1; j++ {
		if j == k || j == k+1 {
			continue
		}
		before, next, gap := r.out(j-1), geom.Point{}, int64(0)
		if j < n {
			next = r.hop(j).in
			gap = dist(before, next)
		}
		for w, o := range r.stops[r.legs[k].stop].ways {
			d := dist(before, o.in) - gap
			if d >= gain-best {
				continue // the way on can only add
			}
			if j < n {
				d += dist(o.out, next)
			}
			if gain-d > best {
				best, bestJ, bestW = gain-d, j, w
			}
		}
	}
	if bestJ < 0 {
		return false
	}
	l := leg{r.legs[k].stop, bestW}
	if bestJ > k {
		copy(r.legs[k:], r.legs[k+1:bestJ])
		r.legs[bestJ-1] = l
	} else {
		copy(r.legs[bestJ+1:k+1], r.legs[bestJ:k])
		r.legs[bestJ] = l
	}
	return true
}

// between returns the first and the last place that leg k may take.
func (r *route) between(k int) (lo, hi int) {
	lo, hi = 0, len(r.legs)-1
	if r.free {
		return lo, hi
	}
	me := r.legs[k].stop
	for j := k - 1; j >= 0; j-- {
		if waitsFor(r.stops[me], r.legs[j].stop) {
			lo = j + 1
			break
		}
	}
	for j := k + 1; j < len(r.legs); j++ {
		if waitsFor(r.stops[r.legs[j].stop], me) {
			hi = j - 1
			break
		}
	}
	return lo, hi
}

func waitsFor(s stop, i int) bool {
	return slices.Contains(s.after, i)
}

// reverseRuns turns runs of legs round where that is shorter.
func (r *route) reverseRuns() bool {
	any := false
	r.measure()
	for i := 0; i < len(r.legs); i++ {
		for j := i; j < len(r.legs) && j <= i+windowMax; j++ {
			if j > i && r.waitsInside(i, j) {
				break
			}
			if r.reversalGain(i, j) > 0 {
				r.reverse(i, j)
				r.measure()
				any = true
			}
		}
	}
	return any
}

// waitsInside reports whether leg j waits for one of legs i..j-1; a longer run
// from i then holds the same pair.
func (r *route) waitsInside(i, j int) bool {
	s := r.stops[r.legs[j].stop]
	if len(s.after) == 0 {
		return false
	}
	for k := i; k < j; k++ {
		if waitsFor(s, r.legs[k].stop) {
			return true
		}
	}
	return false
}

// measure fills the running sums that make a reversal's gain cheap.
func (r *route) measure() {
	n := len(r.legs)
	if len(r.ahead) != n {
		r.ahead, r.aback, r.back = make([]int64, n), make([]int64, n), make([]hop, n)
	}
	at := r.start
	sum := int64(0)
	for k := range r.legs {
		h := r.hop(k)
		sum += dist(at, h.in)
		r.ahead[k] = sum
		at = h.out
		r.back[k] = r.stops[r.legs[k].stop].ways[r.turned(k)]
		if k > 0 {
			r.aback[k] = r.aback[k-1] + dist(r.back[k].out, r.back[k-1].in)
		}
	}
}

func (r *route) reversalGain(i, j int) int64 {
	gain := r.link(i) - dist(r.out(i-1), r.back[j].in)
	gain += r.ahead[j] - r.ahead[i] - (r.aback[j] - r.aback[i])
	if j+1 < len(r.legs) {
		if gain += r.link(j + 1); gain > 0 {
			gain -= dist(r.back[i].out, r.hop(j+1).in)
		}
	}
	return gain
}

// link is the travel into leg k, as measured.
func (r *route) link(k int) int64 {
	if k == 0 {
		return r.ahead[0]
	}
	return r.ahead[k] - r.ahead[k-1]
}

func (r *route) reverse(i, j int) {
	for k := i; k <= j; k++ {
		r.legs[k].way = r.turned(k)
	}
	for ; i < j; i, j = i+1, j-1 {
		r.legs[i], r.legs[j] = r.legs[j], r.legs[i]
	}
}

// shakes is how many changes are tried, legs times changes: the fewer stops, the more each
// is worth. On the demo's sheets four times as many gain nothing.
const shakes, shakesLeast = 960, 16

// shake lets two short runs next to each other change places, shortens the way from
// there, and keeps what is shorter.
func (r *route) shake() {
	n := len(r.legs)
	if n < 3 {
		return
	}
	dice, best := dice(1), r.length()
	kept := slices.Clone(r.legs)
	for range max(shakesLeast, shakes/n) {
		i := dice.next(n - 1)
		m := min(i+dice.next(kickRun), n-2)
		j := min(m+1+dice.next(kickRun), n-1)
		if !r.mayPass(i, m, j) {
			continue
		}
		copy(r.legs[i:], kept[m+1:j+1])
		copy(r.legs[i+j-m:], kept[i:m+1])
		r.improve()
		if l := r.length(); l < best {
			best = l
			copy(kept, r.legs)
		} else {
			copy(r.legs, kept)
		}
	}
}

// mayPass reports whether none of legs m+1..j waits for one of i..m.
func (r *route) mayPass(i, m, j int) bool {
	for k := m + 1; k <= j; k++ {
		for l := i; l <= m; l++ {
			if waitsFor(r.stops[r.legs[k].stop], r.legs[l].stop) {
				return false
			}
		}
	}
	return true
}

// length is the travel to all legs.
func (r *route) length() (sum int64) {
	at := r.start
	for k := range r.legs {
		h := r.hop(k)
		sum += dist(at, h.in)
		at = h.out
	}
	return sum
}
