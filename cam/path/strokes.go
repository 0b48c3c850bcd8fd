package path

import (
	"cmp"
	"math"
	"slices"

	"spotjig/layout/geom"
)

// How strokes are ordered
//
// Lettering is hundreds of strokes, each drawn from either end, none of which waits for
// another. Turning a run of them round leaves the travel inside it as long as it was, so
// two links can be exchanged for two others at the price of looking at four distances
// (Croes, 1958), and up to three strokes can be put elsewhere (Or, 1976). Only links to
// the few nearest ends are tried. When nothing shortens the way any more, two short runs
// next to each other change places somewhere, that neighbourhood is improved again, and
// what is not shorter is undone (Martin, Otto, Felten, Large-step Markov chains for the
// traveling salesman problem, 1991). The nearest ends of a word's strokes are all in that
// word; so the longest links, from word to word, are exchanged among each other as well,
// by twos and threes. Everything is made of one step, the turning round of a run, so that
// undoing is turning round in the opposite order. Where it is tried is picked by a
// sequence that is the same in every run.

const (
	endsNear  = 6  // nearest ends that are tried for a link
	orMax     = 3  // strokes that are put elsewhere together
	kicks     = 2  // changes tried, by stroke; five gain three thousandths and take half as long again
	kickRun   = 12 // longest run that changes places, strokes
	kickedMin = 75 // with fewer strokes than this as many changes are tried as with this many
	longMax   = 64 // longest links that are exchanged among each other
)

// pen is an order of strokes being improved. End 2s is where stroke s is entered in its
// way 0, end 2s+1 where it is left.
type pen struct {
	ends  []geom.Point
	away  []int64      // to each end from what comes before all strokes
	home  []int64      // from each end to what comes after all strokes, -1 where nobody has asked
	next  []geom.Point // what comes after all strokes
	near  [][]nearEnd  // the nearest other ends, by end
	at    []int32      // the end by which the stroke at each place of the order is entered
	into  []int64      // the travel into each place, and last that from the last place on
	place []int32      // of each stroke
	undo  [][2]int32   // runs turned round since the last change was tried, first and last place
	queue []int32      // strokes about which the way may have become shorter
	inQ   []bool       // which strokes are in the queue
	dice  dice
	long  long // as found last; its room is used again
}

// isPen reports whether all stops are strokes that wait for nothing.
func isPen(stops []stop) bool {
	for _, s := range stops {
		if len(s.after) > 0 || len(s.ways) != 2 || s.ways[0].in != s.ways[1].out || s.ways[0].out != s.ways[1].in {
			return false
		}
	}
	return true
}

// newPen takes an order over, as the legs have it.
func newPen(from []geom.Point, stops []stop, legs []leg, next []geom.Point) *pen {
	p := &pen{place: make([]int32, len(stops)), inQ: make([]bool, len(stops)), dice: 1, next: next}
	for _, s := range stops {
		p.ends = append(p.ends, s.ways[0].in, s.ways[0].out)
	}
	for k, l := range legs {
		p.at = append(p.at, int32(2*l.stop+l.way))
		p.place[l.stop] = int32(k)
	}
	for _, e := range p.ends {
		p.away, p.home = append(p.away, onward(e, from)), append(p.home, -1)
	}
	p.near = nearestEnds(p.ends)
	p.into = make([]int64, len(p.at)+1)
	for k := range p.into {
		p.into[k] = p.gap(p.out(k-1), p.in(k))
	}
	return p
}

// nearEnd is an end and how far off it is.
type nearEnd struct {
	d  int64
	at int32
}

// nearestEnds lists for each end the nearest ends of other strokes, the nearest first.
func nearestEnds(ends []geom.Point) [][]nearEnd {
	byX := make([]int32, len(ends))
	for i := range byX {
		byX[i] = int32(i)
	}
	slices.SortFunc(byX, func(a, b int32) int {
		return cmp.Or(cmp.Compare(ends[a].X, ends[b].X), cmp.Compare(a, b))
	})
	out, all := make([][]nearEnd, len(ends)), make([]nearEnd, len(ends)*endsNear)
	for k, e := range byX {
		best := all[k*endsNear : k*endsNear : (k+1)*endsNear]
		at, within := ends[e], math.Inf(1) // as far off as the last of them, mm, or a little more
		for _, step := range [2]int{-1, 1} {
			for j := k + step; j >= 0 && j < len(byX); j += step {
				o := byX[j]
				if math.Abs(ends[o].X-at.X) > within {
					break
				}
				if math.Abs(ends[o].Y-at.Y) > within || o/2 == e/2 {
					continue // spares the root
				}
				f := nearEnd{dist(at, ends[o]), o}
				i := len(best)
				for i > 0 && (best[i-1].d > f.d || best[i-1].d == f.d && best[i-1].at > f.at) {
					i--
				}
				if i == endsNear {
					continue
				}
				best = best[:min(len(best)+1, endsNear)]
				copy(best[i+1:], best[i:])
				best[i] = f
				if len(best) == endsNear {
					within = float64(best[endsNear-1].d+1) / 1e6
				}
			}
		}
		out[e] = best
	}
	return out
}

// What stands for an end before the first stroke and after the last.
const (
	atStart int32 = -1
	nowhere int32 = -2
)

// in and out are the ends by which the stroke at a place is entered and left; out of place
// -1 is atStart, and in of the place after the last is nowhere.

func (p *pen) in(k int) int32 {
	if k >= len(p.at) {
		return nowhere
	}
	return p.at[k]
}

func (p *pen) out(k int) int32 {
	if k < 0 {
		return atStart
	}
	return p.at[k] ^ 1
}

// gap is the travel between two ends: from one that is left, or atStart, to one that is
// entered, or nowhere.
func (p *pen) gap(a, b int32) int64 {
	switch {
	case a >= 0 && b >= 0:
		return dist(p.ends[a], p.ends[b])
	case a >= 0:
		if p.home[a] < 0 {
			p.home[a] = onward(p.ends[a], p.next)
		}
		return p.home[a]
	case b >= 0:
		return p.away[b]
	}
	return 0
}

// turn turns the run from place i to j round.
func (p *pen) turn(i, j int) {
	p.undo = append(p.undo, [2]int32{int32(i), int32(j)})
	p.turnRound(i, j)
}

func (p *pen) turnRound(i, j int) {
	slices.Reverse(p.into[i+1 : j+1])
	for i, j := i, j; i <= j; i, j = i+1, j-1 {
		a, b := p.at[i]^1, p.at[j]^1
		p.at[i], p.at[j] = b, a
		p.place[b/2], p.place[a/2] = int32(i), int32(j)
	}
	p.into[i] = p.gap(p.out(i-1), p.in(i))
	p.into[j+1] = p.gap(p.out(j), p.in(j+1))
}

// look puts the strokes at places into the queue.
func (p *pen) look(places ...int) {
	for _, k := range places {
		if k < 0 || k >= len(p.at) {
			continue
		}
		if s := p.at[k] / 2; !p.inQ[s] {
			p.inQ[s] = true
			p.queue = append(p.queue, s)
		}
	}
}

// improve shortens the way about the strokes in the queue until nothing more is found,
// and returns by how much.
func (p *pen) improve() (gain int64) {
	for k := 0; k < len(p.queue); k++ {
		s := p.queue[k]
		p.inQ[s] = false
		for {
			g := p.exchange(int(p.place[s]))
			if g == 0 {
				g = p.putElsewhere(int(p.place[s]))
			}
			if g == 0 {
				break
			}
			gain += g
		}
	}
	p.queue = p.queue[:0]
	return gain
}

// exchange tries to exchange one of the links of the stroke at place k, and the link at
// another place, for two others: it turns what is between them round.
func (p *pen) exchange(k int) int64 {
	for _, i := range [2]int{k, k + 1} { // the link into place i
		x, y := p.out(i-1), p.in(i)
		d := p.into[i]
		for _, from := range [2]int32{x, y} {
			if from < 0 {
				continue
			}
			for _, near := range p.near[from] {
				c := near.at
				if y != nowhere && near.d >= d {
					break
				}
				j := int(p.place[c/2])
				if p.at[j] != c { // its stroke is left by it
					j++
				}
				// x goes with an end that is left, y with one that is entered.
				if left := p.out(j-1) == c; left != (from == x) || j == i {
					continue
				}
				gain := d + p.into[j] - near.d
				if gain <= 0 {
					continue
				}
				if from == x {
					gain -= p.link(y, p.in(j))
				} else {
					gain -= p.link(x, p.out(j-1))
				}
				if gain > 0 {
					lo, hi := min(i, j), max(i, j)-1
					p.turn(lo, hi)
					p.look(lo-1, lo, hi, hi+1)
					return gain
				}
			}
		}
	}
	return 0
}

// link is gap with its ends in either order.
func (p *pen) link(a, b int32) int64 {
	if a|b >= 0 {
		return dist(p.ends[a], p.ends[b])
	}
	return p.linkOut(a, b)
}

// linkOut is link where one of the ends is what comes before all strokes or after.
func (p *pen) linkOut(a, b int32) int64 {
	if a < b {
		a, b = b, a
	}
	if b == atStart {
		a, b = b, a
	}
	return p.gap(a, b)
}

// putElsewhere tries to put up to orMax strokes, the first or last of which is that at place k,
// between two others, either way round.
func (p *pen) putElsewhere(k int) int64 {
	for n := 1; n <= orMax; n++ {
		for _, s := range [2]int{k, k - n + 1} {
			e := s + n - 1
			if s < 0 || e >= len(p.at) || n == 1 && s != k {
				continue
			}
			if g := p.putRun(s, e); g > 0 {
				return g
			}
		}
	}
	return 0
}

func (p *pen) putRun(s, e int) int64 {
	a, b := p.in(s), p.out(e)
	x, y := p.out(s-1), p.in(e+1)
	free := p.into[s] + p.into[e+1] - p.link(x, y)
	if free <= 0 {
		return 0
	}
	for _, from := range [2]int32{a, b} {
		other := a + b - from
		for _, near := range p.near[from] {
			c, d := near.at, near.d
			if d >= free {
				break
			}
			k := int(p.place[c/2])
			if k >= s && k <= e {
				continue
			}
			// Between places j-1 and j, next to c.
			j, far := k, p.out(k-1)
			if p.at[k] != c {
				j, far = k+1, p.in(k+1)
			}
			if j == s || j == e+1 {
				continue
			}
			gain := free + p.into[j] - d
			if gain <= 0 {
				continue
			}
			if gain -= p.link(far, other); gain <= 0 {
				continue
			}
			p.move(s, e, j, (from == a) != (p.at[k] != c))
			return gain
		}
	}
	return 0
}

// move puts the run from s to e between places j-1 and j, turned round if asked.
func (p *pen) move(s, e, j int, turned bool) {
	n := e - s + 1
	if j > e {
		p.swap(s, e, j-1)
		s, e = j-n, j-1
		p.look(s-n, s-1)
	} else {
		p.swap(j, s-1, e)
		p.look(e, e+1)
		s, e = j, j+n-1
	}
	if turned {
		p.turn(s, e)
	}
	p.look(s-1, s, e, e+1)
}

// swap lets the runs i to m and m+1 to j change places.
func (p *pen) swap(i, m, j int) {
	p.turn(i, m)
	p.turn(m+1, j)
	p.turn(i, j)
}

// dice is a sequence of numbers that is the same in every run (Knuth's linear
// congruence, The Art of Computer Programming 2, section 3.3.4, line 26).
type dice uint64

// next is a number from 0 to n-1.
func (d *dice) next(n int) int {
	*d = *d*6364136223846793005 + 1442695040888963407
	return int(*d >> 33 % dice(n))
}

// kick lets two short runs change places, improves what is about them, and takes it back
// when that is no gain.
func (p *pen) kick() {
	n := len(p.at)
	i := p.dice.next(n - 2)
	m := min(i+p.dice.next(kickRun), n-2)
	j := min(m+1+p.dice.next(kickRun), n-1)
	p.undo = p.undo[:0]
	loss := -p.into[i] - p.into[m+1] - p.into[j+1]
	loss += p.gap(p.out(i-1), p.in(m+1)) + p.gap(p.out(j), p.in(i)) + p.gap(p.out(m), p.in(j+1))
	p.swap(i, m, j)
	b := i + j - m
	p.look(i-1, i, b-1, b, j, j+1)
	if p.improve() >= loss {
		return
	}
	for k := len(p.undo) - 1; k >= 0; k-- {
		p.turnRound(int(p.undo[k][0]), int(p.undo[k][1]))
	}
}

// long are the longest links: the places into which they lead, in order, and at the end the
// place after the last stroke. The tables hold the travel between the strokes beside any two
// of them, by their numbers in that order: from the stroke before link a to the stroke after
// link b (fore), from that before a to that before b (back), from that after a to that
// after b (rev).
type long struct {
	at              []int
	fore, back, rev [longMax + 1][longMax + 1]int64
}

// longest finds them; of two as long the first.
func (p *pen) longest() *long {
	var best [longMax]int // the longest so far, in order
	n := 0
	for k, d := range p.into[:len(p.at)] {
		i := n
		if n == longMax {
			i--
			if d <= p.into[best[i]] {
				continue
			}
		} else {
			n++
		}
		for ; i > 0 && p.into[best[i-1]] < d; i-- {
			best[i] = best[i-1]
		}
		best[i] = k
	}
	l := &p.long
	l.at = append(append(l.at[:0], best[:n]...), len(p.at))
	slices.Sort(l.at)
	for a, i := range l.at {
		for b, j := range l.at {
			l.fore[a][b] = p.link(p.out(i-1), p.in(j))
			if b < a {
				l.back[a][b], l.rev[a][b] = p.link(p.out(i-1), p.out(j-1)), p.link(p.in(i), p.in(j))
				l.back[b][a], l.rev[b][a] = l.back[a][b], l.rev[a][b]
			}
		}
	}
	return l
}

// exchangeLong exchanges two or three of the longest links where that is shorter, until
// nothing more is found.
func (p *pen) exchangeLong() {
	for l := p.longest(); p.exchangeTwo(l) || p.exchangeThree(l); l = p.longest() {
		p.improve()
	}
}

func (p *pen) exchangeTwo(l *long) bool {
	for a, i := range l.at {
		for b := a + 1; b < len(l.at); b++ {
			if l.back[a][b]+l.rev[a][b] < l.fore[a][a]+l.fore[b][b] {
				j := l.at[b]
				p.turn(i, j-1)
				p.look(i-1, i, j-1, j)
				return true
			}
		}
	}
	return false
}

// exchangeThree lets two runs between long links change places, either turned round or not.
func (p *pen) exchangeThree(l *long) bool {
	for a, i := range l.at {
		for b := a + 1; b < len(l.at); b++ {
			for c := b + 1; c < len(l.at); c++ {
				was := l.fore[a][a] + l.fore[b][b] + l.fore[c][c]
				for v, is := range [4]int64{ // bit 0: the first run turned, bit 1: the second
					l.fore[a][b] + l.fore[c][a] + l.fore[b][c],
					l.fore[a][b] + l.back[c][b] + l.rev[a][c],
					l.back[a][c] + l.rev[b][a] + l.fore[b][c],
					l.back[a][c] + l.fore[b][b] + l.rev[a][c],
				} {
					if is >= was {
						continue
					}
					j, k := l.at[b], l.at[c]
					if v&1 == 0 {
						p.turn(i, j-1)
					}
					if v>>1 == 0 {
						p.turn(j, k-1)
					}
					p.turn(i, k-1)
					m := i + k - j
					p.look(i-1, i, m-1, m, k-1, k)
					return true
				}
			}
		}
	}
	return false
}

// draw improves an order of strokes.
func draw(from []geom.Point, stops []stop, legs []leg, next []geom.Point) []leg {
	p := newPen(from, stops, legs, next)
	for k := range p.at {
		p.look(k)
	}
	p.improve()
	p.exchangeLong()
	if n := len(p.at); n > 3 {
		for range kicks * max(n, kickedMin) {
			p.kick()
		}
		p.exchangeLong()
	}
	for k, e := range p.at {
		legs[k] = leg{int(e / 2), int(e & 1)}
	}
	return legs
}
