package dryrun

import (
	"fmt"
	"math"

	"spotjig/post/rs274/read"
)

// How repeats are found
//
// The last window cutting moves are kept in a ring, each linked to the next older one
// of its bucket. A new move walks its bucket from the newest on, stops at the first
// that has fallen out of the window, and counts those with its own key. Nothing is ever
// taken out, and a program without repeats walks less than one link a move. A move's key
// is the sum of its ends' hashes, so that both directions have the same, and for an arc
// of its middle's. Its bucket follows from where it lies, so that moves along a row,
// which come one after the other, have their buckets side by side in memory; spread at
// random, each would wait for memory.

const (
	// window is how many cutting moves back a repeat is looked for.
	window  = 1 << 16
	buckets = 1 << 18
	// bucketCells is how far along X, in cells of both ends' sum, one bucket reaches, as a power of two.
	bucketCells = 8
	// rowBuckets sets rows apart by as many buckets; odd, and far from any simple share of buckets.
	rowBuckets = 40503
	// snap added to a length leaves the length in cells of 1/1024 mm in the low bits of
	// the sum: ends in one cell are one place.
	snap = 3 << 41
	// nudge keeps the borders of cells off every number of up to five decimals.
	nudge = 1.5e-7
)

type burnt struct {
	max   int
	count uint32 // moves seen; a node's number is its count
	x, y  int64  // cells of the last end
	hash  uint64 // of the last end
	last  read.Point
	heads [buckets]uint32
	nodes [window]node
}

type node struct {
	key  uint32
	next uint32
}

func newBurnt(max int) *burnt {
	b := &burnt{max: max}
	b.x, b.y = cell(0), cell(0)
	b.hash = hashCells(b.x, b.y, 0)
	return b
}

// bucket is where a move lies, by the sums of its ends' cells.
func bucket(x, y int64) uint64 { return uint64(x>>bucketCells+y>>bucketCells*rowBuckets) % buckets }

func (b *burnt) clone() *burnt { c := *b; return &c }

func cell(v float64) int64 { return int64(math.Float64bits(v + nudge + snap)) }

// hashCells mixes a place with odd constants that have no pattern.
func hashCells(x, y int64, z float64) uint64 {
	h := uint64(x)*0x9E3779B97F4A7C15 ^ uint64(y)*0xC2B2AE3D27D4EB4F
	if z != 0 {
		h ^= uint64(cell(z)) * 0x165667B19E3779F9
	}
	return (h ^ h>>29) * 0xBF58476D1CE4E5B9
}

// enter takes a move in by its bucket and key and returns how often it was made within the
// window, itself included, but no more than max+1.
func (b *burnt) enter(at uint64, key uint32) int {
	if b.count++; b.count == 0 { // four thousand million moves: begin anew
		b.heads, b.count = [buckets]uint32{}, 1
	}
	head, n := b.heads[at], 1
	for i := head; i != 0 && b.count-i < window && n <= b.max; {
		o := &b.nodes[i%window]
		if o.key == key {
			n++
		}
		i = o.next
	}
	b.nodes[b.count%window] = node{key, head}
	b.heads[at] = b.count
	return n
}

// see takes in a move whose key has extra in it beside its ends, and returns what enter does.
func (b *burnt) see(from, to *read.Point, extra uint64) int {
	if *from != b.last {
		b.x, b.y = cell(from[0]), cell(from[1])
		b.hash = hashCells(b.x, b.y, from[2])
	}
	x, y := cell(to[0]), cell(to[1])
	h := hashCells(x, y, to[2])
	at, key := bucket(b.x+x, b.y+y), b.hash+h+extra
	b.last, b.x, b.y, b.hash = *to, x, y, h
	return b.enter(at, uint32(key>>32))
}

// repeats judges plain moves from the judge's place on, in a pass of its own: what it keeps
// stays in registers.
func (j *judge) repeats(events []read.Event) {
	b := j.burnt
	x, y := cell(j.pos[0]), cell(j.pos[1])
	h := hashCells(x, y, j.pos[2])
	for i := range events {
		e := &events[i]
		x2, y2 := cell(e.To[0]), cell(e.To[1])
		h2 := hashCells(x2, y2, e.To[2])
		if e.Kind == read.Line && e.Turn != read.Off && e.S > 0 {
			if n := b.enter(bucket(x+x2, y+y2), uint32((h+h2)>>32)); n > b.max {
				j.often(e, n)
			}
		}
		x, y, h = x2, y2, h2
	}
}

// repeat judges a cutting move with the beam on.
func (j *judge) repeat(e *read.Event, from *read.Point, extra uint64) {
	if n := j.burnt.see(from, &e.To, extra); n > j.burnt.max {
		j.often(e, n)
	}
}

// often reports a path burnt for the nth time.
func (j *judge) often(e *read.Event, n int) {
	j.report(BurntOften, firstWord(e).of(float64(n), float64(j.burnt.max), "times"), "this path is burnt for the %s time; the profile allows %d", ordinal(n), j.burnt.max)
}

func ordinal(n int) string {
	s := "th"
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			s = "st"
		case 2:
			s = "nd"
		case 3:
			s = "rd"
		}
	}
	return fmt.Sprint(n) + s
}
