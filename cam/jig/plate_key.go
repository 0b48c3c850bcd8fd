package jig

import (
	"fmt"
	"math"

	"spotjig/layout/geom"
)

// Keys: joints differ by the size of their tails and by how far these stand off the
// seam's middle, mm.
const (
	keyKinds   = 3   // sizes
	keyLonger  = 3.0 // each is this much longer
	keyNarrow  = 6.0 // and this much narrower than the one before
	keyStep    = 6.0 // grain of places along the seam
	tailsApart = 60.0
)

// kinds returns the sizes of tail: a longer one is narrower, so that neither
// goes into the other's socket.
func (lim limits) kinds() []tail {
	var out []tail
	for k := 0; k < keyKinds; k++ {
		out = append(out, tail{neck: lim.neck + keyNarrow*float64(keyKinds-1-k), long: lim.tail + keyLonger*float64(k)})
	}
	return out
}

// cutKeys gives every joint its tails: clear of marks, fins and other tails, and
// unlike every other joint in the jig, whichever way a piece is turned or flipped.
func cutKeys(all []*template, lim limits) error {
	var used []*joint
	for _, tp := range all {
		near := samples(tp, lim.jointClear+lim.hole+lim.toe+lim.flank, lim.web+lim.slot/2)
		for _, f := range tp.fins {
			for i := 0; i <= 20; i++ {
				q := geom.Segment{From: f.slotFrom, To: f.slotTo}.At(float64(i) / 20)
				near = append(near, sample{q, lim.web + lim.finSlot/2 + 2, true})
			}
		}
		for _, j := range tp.joints {
			if !chooseTails(tp, j, near, used, lim) {
				return &SizeError{Piece: fmt.Sprintf("the joint between %s and %s", j.a.id, j.b.id),
					NeedW: j.length(), NeedH: lim.reach, UsableW: lim.usableW, UsableH: lim.usableH,
					Reason: "no place for a dovetail keeps clear of the marks; use a larger bed or a thinner sheet"}
			}
			for _, t := range j.tails {
				j.owner.stands = append(j.owner.stands, j.box(j.owner, t))
			}
			j.key = fmt.Sprintf("tail %g long, neck %g", j.tails[0].long, j.tails[0].neck)
			for _, t := range j.tails {
				j.key += fmt.Sprintf(", %+g", t.at)
			}
			used = append(used, j)
		}
	}
	return nil
}

// chooseTails tries, in turn: a key of its own clear of every mark; one that a
// line must give way to; a key that another joint has too (letters only).
func chooseTails(tp *template, j *joint, near []sample, used []*joint, lim limits) bool {
	area := geom.EmptyBox().Include(j.from).Include(j.to).Grow(lim.reach + lim.jointClear + lim.hole + 4)
	var close []sample
	for _, s := range near {
		if area.Contains(s.at) {
			close = append(close, s)
		}
	}
	for _, lines := range []bool{true, false} {
		cand := candidates(tp, j, close, lines, lim)
		for _, unique := range []bool{true, false} {
			if pickTails(j, cand, used, unique) {
				return true
			}
		}
	}
	return false
}

// candidate is a tail that fits where it is.
type candidate struct {
	owner *piece
	t     tail
}

func candidates(tp *template, j *joint, near []sample, lines bool, lim limits) []candidate {
	var out []candidate
	for _, kind := range lim.kinds() {
		room := j.length()/2 - kind.head()/2 - lim.web
		for k := 0; keyStep*float64(k) <= room; k++ {
			for _, sign := range []float64{1, -1} {
				if k == 0 && sign < 0 {
					continue
				}
				kind.at = sign * keyStep * float64(k)
				for _, owner := range []*piece{j.a, j.b} {
					if tailFits(tp, j, owner, kind, near, lines, lim) {
						out = append(out, candidate{owner, kind})
					}
				}
			}
		}
	}
	return out
}

// tailFits checks one tail against marks, fins, the other piece's depth and
// the tails that are already there.
func tailFits(tp *template, j *joint, owner *piece, t tail, near []sample, lines bool, lim limits) bool {
	b := j.box(owner, t)
	if !lim.fitsBed(owner.reach().Union(b)) {
		return false
	}
	for _, s := range near {
		if (lines || s.spot) && boxDist(b, s.at) < s.keep {
			return false
		}
	}
	other := j.b
	if owner == j.b {
		other = j.a
	}
	if !other.box.Grow(-lim.web + 1e-9).Holds(shrinkSeam(b, other.box, lim)) {
		return false
	}
	for _, o := range tp.joints {
		for _, u := range o.tails {
			if o != j && boxGap(b, o.box(o.owner, u)) < lim.web+lim.toe {
				return false
			}
		}
	}
	return true
}

// shrinkSeam pulls the tail's seam side in by a web, so that the box can be
// compared with the piece shrunk by a web all round.
func shrinkSeam(b, piece geom.Box, r limits) geom.Box {
	in := piece.Grow(-r.web)
	clip := func(lo, hi, plo, phi, ilo, ihi float64) (float64, float64) {
		if math.Abs(lo-plo) < seamTol {
			lo = ilo
		}
		if math.Abs(hi-phi) < seamTol {
			hi = ihi
		}
		return lo, hi
	}
	b.Min.X, b.Max.X = clip(b.Min.X, b.Max.X, piece.Min.X, piece.Max.X, in.Min.X, in.Max.X)
	b.Min.Y, b.Max.Y = clip(b.Min.Y, b.Max.Y, piece.Min.Y, piece.Max.Y, in.Min.Y, in.Max.Y)
	return b
}

// pickTails chooses two tails where the seam is 100 mm or longer and there is room
// for them 60 mm apart, else one.
func pickTails(j *joint, cand []candidate, used []*joint, unique bool) bool {
	try := func(tails ...candidate) bool {
		j.owner, j.tails = tails[0].owner, nil
		for _, c := range tails {
			j.tails = append(j.tails, c.t)
		}
		j.other = j.b
		if j.owner == j.b {
			j.other = j.a
		}
		if !unique {
			j.lettersOnly = true
			return true
		}
		if j.fits(j, true) {
			return false
		}
		for _, u := range used {
			if j.fits(u, false) || j.fits(u, true) || u.fits(j, false) || u.fits(j, true) {
				return false
			}
		}
		return true
	}
	if j.length() >= 100 {
		if pickTwo(j, cand, try) {
			return true
		}
	}
	for _, c := range cand {
		if (c.t.at != 0 || !unique) && try(c) {
			return true
		}
	}
	j.tails = nil
	return false
}

// pickTwo tries pairs, those nearest to the quarter points first.
func pickTwo(j *joint, cand []candidate, try func(...candidate) bool) bool {
	want := math.Max(tailsApart/2, j.length()/4)
	for miss := 0.0; miss <= j.length()/2; miss += 2 * keyStep {
		for _, a := range cand {
			if a.t.at > 0 || math.Abs(math.Abs(a.t.at)-want) > miss {
				continue
			}
			for _, b := range cand {
				if b.owner != a.owner || b.t.neck != a.t.neck || b.t.at-a.t.at < tailsApart || math.Abs(b.t.at-want) > miss {
					continue
				}
				if try(a, b) {
					return true
				}
			}
		}
	}
	return false
}

// fits reports whether j's tails go into u's sockets with the seams' middles
// together, straight on or with j's piece flipped over (mirrored along the seam).
func (j *joint) fits(u *joint, flipped bool) bool {
	for _, t := range j.tails {
		ok := false
		for _, s := range u.tails {
			at := t.at
			if flipped {
				at = -at
			}
			// A narrower tail has this much play in a wider socket.
			play := (s.neck-t.neck)/2 + 0.5
			if math.Abs(at-s.at) < math.Max(play, 0.5) && t.long <= s.long+0.5 && t.neck <= s.neck+0.2 {
				ok = true
			}
		}
		if !ok {
			return false
		}
	}
	return true
}
