package table

import (
	"math"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
	"spotjig/post/proof"
)

// touch is where the tail's piece meets what holds it, and the unit normal into that piece.
type touch struct {
	at   geom.Point
	into geom.Vec
}

// bearsLeast is how far apart the two ends of a contact are, at least, mm: shoulders,
// locating flank, and both sides of the key.
const bearsLeast = 8.0

// keyed looks at a joint that a sliding key shuts, with all three parts where they go:
// none lies in the material of another; shoulders, the locating flank and both sides of
// the key touch; and no small movement of the tail's piece keeps clear of all that it
// touches, the key staying where it was pushed.
func (j *joints) keyed(s jig.Joint, tail []proof.Curve) {
	key, ok := j.byID[s.Part]
	if !ok || key.OnTable.Upright {
		j.faults.Add("the joint of %s and %s has no key %q", s.Tail, s.Socket, s.Part)
		return
	}
	for _, p := range [2][2]string{{s.Tail, s.Socket}, {s.Part, s.Tail}} {
		j.apart(p[0], p[1])
	}
	j.apart(s.Part, s.Socket)
	var all []touch
	shoulders, flank := 0, 0
	for i, k := range tail {
		on := j.touches(k, s.Socket)
		switch {
		case len(on) == 0:
		case i == 0 || i == len(tail)-1:
			shoulders++
		default:
			flank++
		}
		all = append(append(all, on...), j.touches(k, s.Part)...)
	}
	held := 0
	for _, k := range proof.ChainOf(key.Outline) {
		if len(j.touches(proof.OnTable(key).Curve(k), s.Socket)) > 0 {
			held++
		}
	}
	driven := len(all) - 2*(shoulders+flank)
	if shoulders != 2 || flank == 0 || driven == 0 || held == 0 {
		j.faults.Add("%s shuts %s and %s by %d of 2 shoulders, %d flank, %d of 2 places on the tail and %d wall", s.Part, s.Tail, s.Socket, shoulders, flank, driven, held)
		return
	}
	if free(all) {
		j.faults.Add("%s does not hold %s in %s", s.Part, s.Tail, s.Socket)
	}
}

// apart faults an edge of one part that lies in the material of the other.
func (j *joints) apart(id, other string) {
	p := j.byID[id]
	to := proof.OnTable(p)
	for _, k := range proof.ChainOf(p.Outline) {
		k = to.Curve(k)
		for i := range 9 {
			q := k.At(float64(i) / 8)
			if d := outlineOff(j.on[other], q); d > markTol && j.on[other].Kept(q) >= 0 {
				j.faults.Add("%s lies %.3f mm in the material of %s at %s", id, d, other, proof.At(q))
				return
			}
		}
	}
}

// touches are the first and the last place at which a straight edge of the tail's piece
// lies on the outline of another part; none where it does not, or hardly.
func (j *joints) touches(k proof.Curve, other string) []touch {
	if k.Arc || k.Length() < bearsLeast {
		return nil
	}
	const steps = 64
	var on []geom.Point
	for i := 1; i < steps; i++ {
		if p := k.At(float64(i) / steps); outlineOff(j.on[other], p) <= markTol {
			on = append(on, p)
		}
	}
	if len(on) < 2 || proof.Dist(on[0], on[len(on)-1]) < bearsLeast {
		return nil
	}
	n := k.B.Sub(k.A).Unit().Left()
	mid := on[len(on)/2]
	if j.on[other].Kept(mid.Add(n.Scale(10*markTol))) >= 0 {
		n = n.Scale(-1)
	}
	return []touch{{on[0], n}, {on[len(on)-1], n}}
}

// free reports whether a body that is touched so can still move: whether some small
// shift and turn d has a·d >= 0 at every touch, a the wrench of its normal. Such
// movements are a cone; unless it is nothing but zero, one of its edges lies along the
// crossing of two touches' planes, so that those are all that need be tried.
func free(all []touch) bool {
	const arm = 20.0 // mm that a turn is counted at
	var rows [][3]float64
	o := all[0].at
	for _, t := range all {
		r := t.at.Sub(o)
		rows = append(rows, [3]float64{t.into.X, t.into.Y, r.Cross(t.into) / arm})
	}
	dot := func(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
	spans := false
	for i, a := range rows {
		for _, b := range rows[i+1:] {
			c := [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
			size := math.Sqrt(dot(c, c))
			if size < 1e-3 {
				continue
			}
			least, most := math.Inf(1), math.Inf(-1)
			for _, r := range rows {
				least, most = math.Min(least, dot(r, c)/size), math.Max(most, dot(r, c)/size)
			}
			if least > -1e-3 || most < 1e-3 {
				return true
			}
			spans = true
		}
	}
	return !spans
}
