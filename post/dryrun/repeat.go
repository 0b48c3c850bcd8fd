package dryrun

import (
	"fmt"

	"spotjig/post/rs274/read"
)

// How repeats are found
//
// The last window cutting moves are kept in a ring, each linked to the next older one
// of its hash bucket. A new move walks its bucket from the newest on, stops at the
// first that has fallen out of the window, and counts those with its own key. Nothing
// is ever taken out, and a program without repeats walks half a link a move. A move's
// key is the sum of its ends' hashes, so that both directions have the same, and for
// an arc of its middle's.

const (
	// window is how many cutting moves back a repeat is looked for.
	window  = 1 << 16
	buckets = 1 << 17
	// grid: ends closer than this, mm, are one place. The last digit of three-decimal programs.
	grid = 0.001
)

type burnt struct {
	max   int
	count uint32 // moves seen; a node's number is its count
	heads [buckets]uint32
	nodes [window]node
	last  read.Point // hash of this is in lastHash
	hash  uint64
}

type node struct {
	key  uint32
	next uint32
}

func newBurnt(max int) *burnt {
	b := &burnt{max: max}
	b.hash = hashOf(b.last)
	return b
}

func (b *burnt) clone() *burnt { c := *b; return &c }

// hashOf mixes a place, rounded to the grid.
func hashOf(p read.Point) uint64 {
	h := uint64(cell(p[0]))*0x9E3779B97F4A7C15 ^ uint64(cell(p[1]))*0xC2B2AE3D27D4EB4F
	if p[2] != 0 {
		h ^= uint64(cell(p[2])) * 0x165667B19E3779F9
	}
	h ^= h >> 29
	return h * 0xBF58476D1CE4E5B9
}

func cell(v float64) int64 {
	if v < 0 {
		return int64(v/grid - 0.5)
	}
	return int64(v/grid + 0.5)
}

// see takes a move in and returns how often it was made within the window, itself
// included, but no more than max+1.
func (b *burnt) see(from, to read.Point, extra uint64) int {
	if from != b.last {
		b.hash = hashOf(from)
	}
	h := hashOf(to)
	key := b.hash + h + extra
	b.last, b.hash = to, h
	key ^= key >> 32
	if b.count++; b.count == 0 { // four thousand million moves: begin anew
		b.heads, b.count = [buckets]uint32{}, 1
	}
	head := &b.heads[key%buckets]
	me := &b.nodes[b.count%window]
	n := 1
	fp := uint32(key >> 17)
	for i := *head; i != 0 && b.count-i < window && n <= b.max; {
		o := &b.nodes[i%window]
		if o.key == fp {
			n++
		}
		if o.next >= i {
			break
		}
		i = o.next
	}
	*me = node{fp, *head}
	*head = b.count
	return n
}

// repeat judges a cutting move with the beam on.
func (j *judge) repeat(e *read.Event, from, to read.Point, extra uint64) {
	n := j.burnt.see(from, to, extra)
	if n <= j.burnt.max {
		return
	}
	j.find(BurntOften, e.Line, int(e.Col), func(p *Problem) {
		p.number(float64(n), float64(j.burnt.max), "times")
		p.Text = fmt.Sprintf("this path is burnt for the %s time; the profile allows %d", ordinal(n), j.burnt.max)
	})
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
