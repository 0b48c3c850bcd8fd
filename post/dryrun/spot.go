package dryrun

import (
	"math"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// How long the beam stays in one place
//
// What sets a sheet on fire is time with the beam on while the path gets nowhere: one
// long dwell, many short ones, a crawl, steps of a last digit, circles smaller than the
// kerf, power written again and again. One clock tells them all. A stay begins where the beam
// comes on; it lasts until the path is further from there than two kerfs, and then the
// next begins. Moves count with their length over their feed, dwells as stated, and every
// line with the millisecond it takes to be sent and read.

// lineTime is what a line takes, s: ten characters of ten bits at 115,200 baud are 0.87 ms
// (common practice).
const lineTime = 0.001

// usualReach is two kerfs where no material tells its own, mm (workshop figure).
const usualReach = 0.4

// stillUsual is the longest stay, s, where the profile limits neither stays nor dwells.
const stillUsual = 1

// spot is a stay of the beam.
type spot struct {
	reach, most float64 // mm, s
	on          bool    // a stay has begun
	at          read.Point
	time        float64 // s, of moves and dwells
	dwell       float64 // s, of dwells alone
	line        int64   // the line it began on
	reported    bool
}

func newSpot(m *machine.Profile, mat *machine.Material) spot {
	s := spot{reach: usualReach, most: m.StillMax}
	if mat != nil && mat.Kerf > 0 {
		s.reach, s.most = 2*mat.Kerf, m.StillFor(*mat)
	}
	if s.most == 0 {
		s.most = 2 * m.PierceMax
	}
	if s.most == 0 {
		s.most = stillUsual
	}
	return s
}

// begin begins a stay at p, if none is under way.
func (s *spot) begin(p read.Point, line int64) {
	if !s.on {
		s.on, s.at, s.time, s.dwell, s.line, s.reported = true, p, 0, 0, line, false
	}
}

// spent is how long the stay has lasted by line, s.
func (s *spot) spent(line int64) float64 { return s.time + lineTime*float64(line-s.line) }

// leaves reports whether p is out of reach.
func (s *spot) leaves(p read.Point) bool { return length(s.at, p) > s.reach }

// burns judges a cutting move of length d with the beam on, from one place to another; far
// tells whether it leaves.
func (j *judge) burns(e *read.Event, from read.Point, d float64, far bool) {
	s := &j.spot
	s.begin(from, e.Line)
	if e.Feed <= 0 { // reported where it was read
		return
	}
	in := d
	if far {
		in = math.Min(d, s.reach)
	}
	rate := 1 / e.Feed
	if t := s.spent(e.Line) + in*rate; t > s.most && !s.reported {
		j.still(e, t)
	}
	if far {
		s.on = false
		s.begin(e.To, e.Line)
		return
	}
	s.time += d * rate
}

// still reports a stay that is too long.
func (j *judge) still(e *read.Event, t float64) {
	s := &j.spot
	s.reported = true
	j.report(StillLong, firstWord(e).of(t, s.most, "s"), "beam on for %.3g s within %.2f mm of X%.3f Y%.3f, since line %d; %.3g s is allowed", t, s.reach, s.at[0], s.at[1], s.line, s.most)
}

// arcLeaves reports whether an arc gets out of reach anywhere.
func (s *spot) arcLeaves(from read.Point, c *read.Curve) bool {
	at := s.at
	if !s.on {
		at = from
	}
	const parts = 8 // a whole turn's quarters and the places between
	for i := 1; i <= parts; i++ {
		if length(at, c.At(float64(i)/parts)) > s.reach {
			return true
		}
	}
	return false
}
