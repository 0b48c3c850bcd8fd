package dryrun

import (
	"math"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// The short cut for plain moves: straight, from a place inside a box where nothing can
// be hit to another, the beam off in a rapid, power and feed within their limits.
// Nothing is to be found there; only the sums go on. Any other move is left to the
// full judge, which would come to the same sums.

// safeBox is where a straight move between two places breaks no limit of place.
func (j *judge) safeBox() Box3 {
	b := Box3{axesOf(j.min), axesOf(j.max)}
	if s := j.stock; s != nil {
		b.Min.X, b.Max.X = math.Max(b.Min.X, s.Min.X), math.Min(b.Max.X, s.Max.X)
		b.Min.Y, b.Max.Y = math.Max(b.Min.Y, s.Min.Y), math.Min(b.Max.Y, s.Max.Y)
		b.Min.Z = math.Max(b.Min.Z, s.Min.Z)
	}
	if j.hasFloor {
		b.Min.Z = math.Max(b.Min.Z, j.floor)
	}
	return b
}

// plain takes events from the front as long as they are plain and returns how many.
func (j *judge) plain(events []read.Event) int {
	if j.watch || !within(&j.safe, j.pos[0], j.pos[1], j.pos[2]) {
		return 0
	}
	px, py, pz := j.pos[0], j.pos[1], j.pos[2]
	feed, rapid, step, fmax, smax := j.feed, j.rapid, j.step, j.fmax, math.Min(j.smax, j.scap)
	laser, safe := j.laser, j.safe
	known := common(safe, j.all.box())  // inside it nothing is passed and no extent grows
	works := common(safe, j.work.box()) // inside it nothing is passed and what is worked does not grow
	dark, wasOn := j.dark, false        // the last move came here with the beam on
	sp, reach2 := j.spot, j.spot.reach*j.spot.reach
	fed, rate := 0.0, 0.0 // a feed and one over it
	n := 0
	for ; n < len(events); n++ {
		e := &events[n]
		if e.Kind > read.Line {
			break
		}
		tx, ty, tz := e.To[0], e.To[1], e.To[2]
		on := laser && e.Turn != read.Off && e.S > 0
		worked := on && within(&works, tx, ty, tz)
		inside := worked || within(&known, tx, ty, tz)
		if !inside && !within(&safe, tx, ty, tz) {
			break
		}
		dx, dy, dz := tx-px, ty-py, tz-pz
		d := math.Abs(dx)
		if dy != 0 || dz != 0 {
			d = math.Sqrt(dx*dx + dy*dy + dz*dz)
		}
		if e.Kind == read.Rapid {
			if on = on && !dark; on {
				break
			}
			rapid += d
		} else {
			if e.Feed > fmax || on && (e.S > smax || d == 0 || e.Feed <= 0) {
				break
			}
			if on {
				if !sp.on {
					sp.begin(read.Point{px, py, pz}, e.Line)
				}
				ux, uy, uz := tx-sp.at[0], ty-sp.at[1], tz-sp.at[2]
				far := ux*ux+uy*uy+uz*uz > reach2
				if e.Feed != fed {
					fed, rate = e.Feed, 1/e.Feed
				}
				in := d
				if far && in > sp.reach {
					in = sp.reach
				}
				if sp.time+lineTime*float64(e.Line-sp.line)+in*rate > sp.most {
					break
				}
				if far {
					sp.at, sp.time, sp.dwell, sp.line, sp.reported = e.To, 0, 0, e.Line, false
				} else {
					sp.time += d * rate
				}
				j.fired = false
				if !worked || !wasOn && !within(&works, px, py, pz) {
					j.work.include(read.Point{px, py, pz}, e.Line)
					j.work.include(e.To, e.Line)
					works = common(safe, j.work.box())
				}
			}
			feed += d
		}
		if wasOn = on; !on && sp.on && sp.leaves(e.To) {
			sp.on = false
		}
		px, py, pz = tx, ty, tz
		if d > step {
			step = d
		}
		if !inside {
			j.all.include(e.To, e.Line)
			known = common(safe, j.all.box())
		}
		if on && worked && e.Kind == read.Line {
			r := row{x: px, feed: feed, step: step, lo: works.Min.X, hi: works.Max.X, smax: smax}
			n += r.take(events[n:], &sp, rate)
			px, feed, step = r.x, r.feed, r.step
		}
	}
	if j.burnt != nil && laser {
		j.repeats(events[:n])
	}
	j.pos = read.Point{px, py, pz}
	j.spot = sp
	j.feed, j.rapid, j.step = feed, rapid, step
	return n
}

// row is a run of plain moves along X with the beam on, at one feed, where work was done before.
type row struct{ x, feed, step, lo, hi, smax float64 }

// take goes through the events after the first, which began the row, and returns how many
// belong to it. What it keeps stays in registers.
func (r *row) take(events []read.Event, s *spot, rate float64) int {
	first := &events[0]
	px, at, time, since := r.x, s.at[0], s.time, s.line
	uy, uz := first.To[1]-s.at[1], first.To[2]-s.at[2]
	off, reach2, fresh := uy*uy+uz*uz, s.reach*s.reach, false
	n := 1
	for ; n < len(events); n++ {
		e := &events[n]
		x := e.To[0]
		d := math.Abs(x - px)
		if e.Kind != read.Line || e.To[1] != first.To[1] || e.To[2] != first.To[2] || e.Feed != first.Feed || e.Turn == read.Off ||
			!(e.S > 0 && e.S <= r.smax && x >= r.lo && x <= r.hi && d > 0) {
			break
		}
		far, in := (x-at)*(x-at)+off > reach2, d
		if far && in > s.reach {
			in = s.reach
		}
		if time+lineTime*float64(e.Line-since)+in*rate > s.most {
			break
		}
		if time += d * rate; far {
			at, off, time, since, fresh = x, 0, 0, e.Line, true
		}
		if d > r.step {
			r.step = d
		}
		r.feed += d
		px = x
	}
	if fresh {
		s.at, s.dwell, s.reported = read.Point{at, first.To[1], first.To[2]}, 0, false
	}
	s.time, s.line, r.x = time, since, px
	return n - 1
}

func within(b *Box3, x, y, z float64) bool {
	return x >= b.Min.X && x <= b.Max.X && y >= b.Min.Y && y <= b.Max.Y && z >= b.Min.Z && z <= b.Max.Z
}

// common is what two boxes share.
func common(a, b Box3) Box3 {
	return Box3{
		Min: machine.Axes{X: math.Max(a.Min.X, b.Min.X), Y: math.Max(a.Min.Y, b.Min.Y), Z: math.Max(a.Min.Z, b.Min.Z)},
		Max: machine.Axes{X: math.Min(a.Max.X, b.Max.X), Y: math.Min(a.Max.Y, b.Max.Y), Z: math.Min(a.Max.Z, b.Max.Z)},
	}
}
