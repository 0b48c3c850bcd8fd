package plate

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
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

// scaleApart is what stays between a joint and the scale of a side fin, mm: lines on the
// very edge of a socket cannot be read, nor do they lie on their piece.
const scaleApart = 0.6

// kinds returns the sizes of tail: a longer one is narrower, so that neither
// goes into the other's socket.
func kinds(lim jig.Limits) []jig.Tail {
	var out []jig.Tail
	for k := 0; k < keyKinds; k++ {
		out = append(out, jig.Tail{Neck: lim.Neck + keyNarrow*float64(keyKinds-1-k), Long: lim.Tail + keyLonger*float64(k)})
	}
	return out
}

// cutKeys gives every joint its tails: clear of marks, fins and other tails, and
// unlike every other joint in the jig, whichever way a piece is turned or flipped.
func cutKeys(all []*jig.Template, lim jig.Limits) error {
	var used []*jig.Seam
	for _, tp := range all {
		near := nearJoints(tp, lim)
		for _, j := range tp.Seams {
			if !dovetailed(tp, j, near, used, lim) {
				return noPlace(j, lim, "no place for a dovetail keeps clear of the marks; use a larger bed or a thinner sheet")
			}
			used = append(used, j)
		}
	}
	return nil
}

// dovetailed gives a seam its tails and says what they are; false when there is no place.
func dovetailed(tp *jig.Template, j *jig.Seam, near []jig.Sample, used []*jig.Seam, lim jig.Limits) bool {
	if !chooseTails(tp, j, near, used, lim) {
		return false
	}
	for _, t := range j.Tails {
		j.Owner.Stands = append(j.Owner.Stands, j.TailBox(j.Owner, t))
	}
	j.Key = fmt.Sprintf("tail %g mm long, neck %g mm, at", j.Tails[0].Long, j.Tails[0].Neck)
	for i, t := range j.Tails {
		j.Key += []string{"", ","}[min(i, 1)] + fmt.Sprintf(" %+g", t.At)
	}
	j.Key += " mm from the middle"
	return true
}

// nearJoints are points of a template's marks and fin slots, with what a joint keeps from them.
func nearJoints(tp *jig.Template, lim jig.Limits) []jig.Sample {
	near := jig.Samples(tp, lim.JointClear+lim.Hole+lim.Toe+lim.Flank, lim.Web+lim.Half())
	for _, f := range tp.Fins {
		for i := 0; i <= 20; i++ {
			q := geom.Segment{From: f.SlotFrom, To: f.SlotTo}.At(float64(i) / 20)
			near = append(near, jig.Sample{At: q, Keep: lim.Web + lim.FinSlot/2 + 2, Spot: true})
		}
	}
	return near
}

// chooseTails tries, in turn: a key of its own clear of every mark; one that a
// line must give way to; a key that another joint has too (letters only).
func chooseTails(tp *jig.Template, j *jig.Seam, near []jig.Sample, used []*jig.Seam, lim jig.Limits) bool {
	beside := besideOf(tp, j, near, lim.Reach, lim)
	for _, lines := range []bool{true, false} {
		cand := candidates(j, beside, lines, lim)
		for _, unique := range []bool{true, false} {
			if pickTails(j, cand, used, unique, lim) {
				return true
			}
		}
	}
	return false
}

// beside is what a joint which reaches so far from its seam may come near to.
type beside struct {
	marks  []jig.Sample
	tails  []geom.Box // of other seams, and their notches
	scales []geom.Box // of side fins
}

// besideOf is what stands beside a seam now.
func besideOf(tp *jig.Template, j *jig.Seam, near []jig.Sample, reach float64, lim jig.Limits) (out beside) {
	area := geom.EmptyBox().Include(j.From).Include(j.To).Grow(reach + lim.JointClear + lim.Hole + 4)
	for _, s := range near {
		if area.Contains(s.At) {
			out.marks = append(out.marks, s)
		}
	}
	for _, f := range tp.Fins {
		if f.Role == jig.SideFin && jig.BoxesNear(area, f.Scale, 0.001) {
			out.scales = append(out.scales, f.Scale)
		}
	}
	for _, o := range tp.Seams {
		if o == j {
			continue
		}
		for _, t := range o.Tails {
			out.tails = append(out.tails, o.TailBox(o.Owner, t))
			if notch := o.NotchBox(o.Owner, t); !notch.IsEmpty() {
				out.tails = append(out.tails, notch)
			}
		}
	}
	return out
}

// candidate is a tail that fits where it is.
type candidate struct {
	owner *jig.Piece
	t     jig.Tail
}

func candidates(j *jig.Seam, near beside, lines bool, lim jig.Limits) []candidate {
	var out []candidate
	owners := []*jig.Piece{j.A, j.B}
	if widened(j.A, j) && !widened(j.B, j) {
		owners[0], owners[1] = j.B, j.A
	}
	for _, kind := range kinds(lim) {
		room := j.Length()/2 - kind.Head()/2 - lim.Web
		for k := 0; keyStep*float64(k) <= room; k++ {
			for _, sign := range []float64{1, -1} {
				if k == 0 && sign < 0 {
					continue
				}
				kind.At = sign * keyStep * float64(k)
				n := len(out)
				for _, owner := range owners {
					if tailFits(j, owner, kind, near, lines, lim) {
						out = append(out, candidate{owner, kind})
					}
				}
				// Where either piece may carry it, the one whose tail clearly costs less of the lines.
				if !lines && len(out) == n+2 && 3*lost(j.TailBox(owners[1], kind), near.marks) < 2*lost(j.TailBox(owners[0], kind), near.marks) {
					out[n], out[n+1] = out[n+1], out[n]
				}
			}
		}
	}
	return out
}

// lost counts the points of marks that a tail comes too near to.
func lost(tail geom.Box, near []jig.Sample) int {
	n := 0
	for _, s := range near {
		if jig.BoxNear(tail, s.At, s.Keep-1e-6) {
			n++
		}
	}
	return n
}

// widened reports whether a tail at a seam makes a piece wider, not longer: wider, fewer
// of its like lie side by side on a sheet.
func widened(p *jig.Piece, j *jig.Seam) bool {
	across := math.Abs(j.Out(p).X) > 0.5
	return across == (p.Box.Width() < p.Box.Height())
}

// tailFits checks one tail, its socket and its notch, if it has one, against marks, fins,
// both pieces and the tails that are already there.
func tailFits(j *jig.Seam, owner *jig.Piece, t jig.Tail, near beside, lines bool, lim jig.Limits) bool {
	b, notch, cheek := j.TailBox(owner, t), j.NotchBox(owner, t), lim.Web
	if t.Keyed != nil {
		cheek = math.Max(cheek, keyedCheek)
	}
	if !lim.FitsBed(owner.Reach().Union(b)) || !inPiece(b, j.Neighbour(owner).Box, cheek) || t.Keyed != nil && !inPiece(notch, owner.Box, cheek) {
		return false
	}
	for _, s := range near.marks {
		if (lines || s.Spot) && (jig.BoxNear(b, s.At, s.Keep) || jig.BoxNear(notch, s.At, s.Keep)) {
			return false
		}
	}
	for _, s := range near.scales {
		if jig.BoxesNear(b, s, scaleApart) || jig.BoxesNear(notch, s, scaleApart) {
			return false
		}
	}
	apart := lim.Web + lim.Toe
	for _, taken := range near.tails {
		if jig.BoxesNear(b, taken, apart) || jig.BoxesNear(notch, taken, apart) {
			return false
		}
	}
	return true
}

// inPiece reports whether a tail's room keeps a cheek to all edges of a piece but the seam's.
func inPiece(b, piece geom.Box, cheek float64) bool {
	return piece.Grow(-cheek + 1e-9).Holds(shrinkSeam(b, piece, cheek))
}

// shrinkSeam pulls the tail's seam side in by a cheek, so that the box can be
// compared with the piece shrunk by a cheek all round.
func shrinkSeam(b, piece geom.Box, cheek float64) geom.Box {
	in := piece.Grow(-cheek)
	clip := func(lo, hi, plo, phi, ilo, ihi float64) (float64, float64) {
		if math.Abs(lo-plo) < jig.SeamTol {
			lo = ilo
		}
		if math.Abs(hi-phi) < jig.SeamTol {
			hi = ihi
		}
		return lo, hi
	}
	b.Min.X, b.Max.X = clip(b.Min.X, b.Max.X, piece.Min.X, piece.Max.X, in.Min.X, in.Max.X)
	b.Min.Y, b.Max.Y = clip(b.Min.Y, b.Max.Y, piece.Min.Y, piece.Max.Y, in.Min.Y, in.Max.Y)
	return b
}

// pickTails chooses two tails where the seam is 100 mm or longer and there is room
// for them 60 mm apart, with a web between their sockets, else one.
func pickTails(j *jig.Seam, cand []candidate, used []*jig.Seam, unique bool, lim jig.Limits) bool {
	try := func(tails ...candidate) bool {
		j.Owner, j.Tails = tails[0].owner, nil
		for _, c := range tails {
			j.Tails = append(j.Tails, c.t)
		}
		j.Other = j.Neighbour(j.Owner)
		if !unique {
			j.LettersOnly = true
			return true
		}
		if fits(j, j, true) {
			return false
		}
		for _, u := range used {
			if fits(j, u, false) || fits(j, u, true) || fits(u, j, false) || fits(u, j, true) {
				return false
			}
		}
		return true
	}
	if j.Length() >= 100 {
		if pickTwo(j, cand, lim, try) {
			return true
		}
	}
	for _, c := range cand {
		if (c.t.At != 0 || !unique) && try(c) {
			return true
		}
	}
	j.Tails = nil
	return false
}

// pickTwo tries pairs, those nearest to the quarter points first.
func pickTwo(j *jig.Seam, cand []candidate, lim jig.Limits, try func(...candidate) bool) bool {
	want := math.Max(tailsApart/2, j.Length()/4)
	for miss := 0.0; miss <= j.Length()/2; miss += 2 * keyStep {
		for _, a := range cand {
			if a.t.At > 0 || math.Abs(math.Abs(a.t.At)-want) > miss {
				continue
			}
			for _, b := range cand {
				if b.owner != a.owner || b.t.Neck != a.t.Neck || b.t.At-a.t.At < math.Max(tailsApart, a.t.Head()+lim.Web) || math.Abs(b.t.At-want) > miss {
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
func fits(j *jig.Seam, u *jig.Seam, flipped bool) bool {
	for _, t := range j.Tails {
		ok := false
		for _, s := range u.Tails {
			at := t.At
			if flipped {
				at = -at
			}
			// A narrower tail has this much play in a wider socket.
			play := (s.Neck-t.Neck)/2 + 0.5
			if math.Abs(at-s.At) < math.Max(play, 0.5) && t.Long <= s.Long+0.5 && t.Neck <= s.Neck+0.2 {
				ok = true
			}
		}
		if !ok {
			return false
		}
	}
	return true
}

// noPlace is the fault of a joint that nothing can be put in.
func noPlace(j *jig.Seam, lim jig.Limits, reason string) error {
	return &jig.SizeError{Piece: fmt.Sprintf("the joint between %s and %s", j.A.ID, j.B.ID),
		NeedW: j.Length(), NeedH: lim.Reach, UsableW: lim.BedW, UsableH: lim.BedH, Reason: reason}
}
