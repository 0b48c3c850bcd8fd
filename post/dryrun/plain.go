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
	lo, hi := axesOf(j.lo), axesOf(j.hi)
	feed, rapid, step, fmax, smax := j.feed, j.rapid, j.step, j.fmax, math.Min(j.smax, j.scap)
	laser, safe := j.laser, j.safe
	known := common(safe, Box3{lo, hi}) // inside it nothing is passed and no extent grows
	n := 0
	for ; n < len(events); n++ {
		e := &events[n]
		if e.Kind > read.Line {
			break
		}
		tx, ty, tz := e.To[0], e.To[1], e.To[2]
		inside := within(&known, tx, ty, tz)
		if !inside && !within(&safe, tx, ty, tz) {
			break
		}
		dx, dy, dz := tx-px, ty-py, tz-pz
		d := math.Abs(dx)
		if dy != 0 || dz != 0 {
			d = math.Sqrt(dx*dx + dy*dy + dz*dz)
		}
		on := laser && e.Turn != read.Off && e.S > 0
		if e.Kind == read.Rapid {
			if on {
				break
			}
			rapid += d
		} else {
			if e.Feed > fmax || on && (e.S > smax || d == 0) {
				break
			}
			feed += d
			if on {
				j.fired = false
			}
		}
		if on && j.burnt != nil && e.Kind == read.Line {
			from := read.Point{px, py, pz}
			if j.burnt.see(&from, &e.To, 0) > j.burnt.max {
				j.often(e, j.burnt.max+1)
			}
		}
		px, py, pz = tx, ty, tz
		if d > step {
			step = d
		}
		if !inside {
			lo = machine.Axes{X: math.Min(lo.X, tx), Y: math.Min(lo.Y, ty), Z: math.Min(lo.Z, tz)}
			hi = machine.Axes{X: math.Max(hi.X, tx), Y: math.Max(hi.Y, ty), Z: math.Max(hi.Z, tz)}
			known = common(safe, Box3{lo, hi})
		}
	}
	j.pos = read.Point{px, py, pz}
	j.lo, j.hi = read.Point{lo.X, lo.Y, lo.Z}, read.Point{hi.X, hi.Y, hi.Z}
	j.feed, j.rapid, j.step = feed, rapid, step
	return n
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
