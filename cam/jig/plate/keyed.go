package plate

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// A keyed joint shuts itself. Seen with the seam along s and the tail reaching into the
// other piece along d, s and d in mm from where the locating flank leaves the seam:
//
//	d ^   ______________  _
//	  |  |             | | |   left: the locating flank, along the pull, no clearance
//	  |  |   tail     /| | |   right: undercut by 45 degrees; in the way beside it slides
//	  |  |           /k/ /     the key k, its other side 1:15 along the socket's wall
//	  +--+          /k/ /----> s
//	     |          / /   shoulder
//	      piece of / /    the way goes on as a notch in the tail's own piece: there the
//	      the tail/_/     key is dropped in, and pushed home towards the far end
//
// Pushed home the key drives the tail square to the undercut: half of that goes along d
// and shuts both shoulders, half along s and takes up the slip against the locating
// flank. At 45 degrees the push along s stays larger than what friction of acrylic on
// acrylic (0.3 to 0.5, common practice) holds at the shoulders; 1:15 is 3.8 degrees, less
// than the angle of that friction, so that the key stays where it was pushed and comes
// out by pushing its small end through the gap beside the tail's head.
const (
	keyedNeck   = 31.0 // along the seam, or more in thin sheet
	neckMost    = 45.0
	keyedRise   = 18.0 // the undercut's depth
	keyedHead   = 5.0  // the tail goes on square by this, or more in thick sheet
	keyedCheek  = 16.0 // least material beside the socket, and shoulder beside it
	keyedStep   = 3.0  // grain of places along the seam
	keyFrom     = -4.0 // the key at home, along the undercut from the seam
	keyTo       = 26.0
	keyWide     = 10.0 // at its wide end
	keyTaper    = 1.0 / 15
	keyDrop     = 8.0 // it is dropped in so far back from home
	keyPush     = 10.0
	keyPast     = 3.0  // the way goes on beyond its small end
	notchWide   = 14.0 // of the way where the key is dropped in
	wedgeCut    = 4.0  // the socket's sharp corner at the seam is cut off by this
	keyCorner   = 2.0  // radius
	keyFriction = 0.3
	keyThumb    = 60.0 // N, a hard push
	neckStress  = 10.0 // N/mm2, design limit for cast acrylic (common practice: a sixth of its strength)
)

// keyedTail is the one size there is in a sheet: its neck bears a push on the key.
func keyedTail(lim jig.Limits) jig.Tail {
	back := (keyDrop-keyFrom+keyPush)/math.Sqrt2 + notchWide/math.Sqrt2
	t := jig.Tail{Neck: keyedNeck, Long: keyedRise + math.Max(keyedHead, lim.InnerRadius+3)}
	for neckStressAt(keyThumb, t, lim.Thinnest) > neckStress && t.Neck < neckMost {
		t.Neck++
	}
	t.Keyed = &jig.Keyed{Wide: wallAt(t, keyTo+keyPast).s, Back: back}
	return t
}

// sd is a point of the joint's own frame.
type sd struct{ s, d float64 }

// keyWidth is the key's width at home, at so far along the undercut from the seam.
func keyWidth(x float64) float64 { return keyWide - (x-keyFrom)*keyTaper }

// besideUndercut is the point x along a tail's undercut from the seam and w square from it.
func besideUndercut(t jig.Tail, x, w float64) sd {
	return sd{t.Neck + (x+w)/math.Sqrt2, (x - w) / math.Sqrt2}
}

// wallAt is the point of the socket's wall beside x.
func wallAt(t jig.Tail, x float64) sd { return besideUndercut(t, x, keyWidth(x)) }

// keyedFrame places the joint's own frame in the template's.
func keyedFrame(j *jig.Seam, t jig.Tail) func(sd) geom.Point {
	along := j.Along().Scale(t.Keyed.Hand)
	from := j.From.Mid(j.To).Add(j.Along().Scale(t.At)).Add(along.Scale(-t.Keyed.Wide / 2))
	out := j.Out(j.Owner)
	return func(p sd) geom.Point { return from.Add(along.Scale(p.s)).Add(out.Scale(p.d)) }
}

// keyedCorners are the corners of a keyed tail, or of its socket, in the order in which
// the seam is walked along dir.
func keyedCorners(j *jig.Seam, t jig.Tail, socket bool, dir geom.Vec, lim jig.Limits) []jig.Corner {
	at, inner := keyedFrame(j, t), lim.InnerRadius
	outer := inner + 0.18
	corner := func(p sd, r float64) jig.Corner { return jig.Corner{At: at(p), R: r} }
	var out []jig.Corner
	if socket {
		deep := t.Long + lim.Toe
		end := wallAt(t, keyTo+keyPast)
		// Where the wall is wedgeCut deep: d of wallAt is linear in x.
		k := (wallAt(t, 1).d - wallAt(t, 0).d)
		cut := wallAt(t, (wedgeCut-wallAt(t, 0).d)/k)
		out = []jig.Corner{corner(sd{0, 0}, outer), corner(sd{0, deep}, inner), corner(sd{t.Keyed.Wide, deep}, inner),
			corner(end, inner), corner(cut, keyCorner), corner(sd{cut.s, 0}, keyCorner)}
	} else {
		far := keyFrom - keyDrop - keyPush
		head := sd{t.Neck + keyedRise, t.Long}
		out = []jig.Corner{corner(sd{0, 0}, inner), corner(sd{0, t.Long}, outer), corner(head, outer),
			corner(besideUndercut(t, keyedRise*math.Sqrt2, 0), keyCorner),
			corner(besideUndercut(t, far, 0), inner), corner(besideUndercut(t, far, notchWide), inner),
			corner(sd{t.Neck + notchWide*math.Sqrt2, 0}, outer)}
	}
	if j.Along().Scale(t.Keyed.Hand).Dot(dir) < 0 {
		slices.Reverse(out)
	}
	return out
}

// keyOutline is the key at home, template frame.
func keyOutline(j *jig.Seam) geom.Contour {
	t := j.Tails[0]
	at := keyedFrame(j, t)
	var cs []jig.Corner
	for _, p := range []sd{besideUndercut(t, keyFrom, 0), besideUndercut(t, keyTo, 0), wallAt(t, keyTo), wallAt(t, keyFrom)} {
		cs = append(cs, jig.Corner{At: at(p), R: keyCorner})
	}
	if cs[1].At.Sub(cs[0].At).Cross(cs[2].At.Sub(cs[1].At)) < 0 {
		cs[1], cs[3] = cs[3], cs[1]
	}
	return jig.Rounded(cs)
}

// joinKeyed gives every seam its tail, and the key its name. A seam that has no room for a
// key has a dovetail.
func joinKeyed(all []*jig.Template, lim jig.Limits) error {
	var used []*jig.Seam
	for _, tp := range all {
		near := nearJoints(tp, lim)
		for i, j := range tp.Seams {
			if !chooseKeyed(tp, j, near, used, lim) {
				if !dovetailed(tp, j, near, used, lim) {
					return noPlace(j, lim, "no place for a joint keeps clear of the marks; use a larger bed or a thinner sheet")
				}
				used = append(used, j)
				continue
			}
			t := j.Tails[0]
			j.Owner.Stands = append(j.Owner.Stands, j.TailBox(j.Owner, t))
			j.Part = fmt.Sprintf("%sK%d", tp.Letter, i+1)
			side := "left"
			if j.Along().Scale(t.Keyed.Hand).Cross(j.Out(j.Owner)) > 0 {
				side = "right"
			}
			j.Key = fmt.Sprintf("key %s on the tail's %s, at %+g mm from the middle", j.Part, side, t.At)
			used = append(used, j)
		}
	}
	return nil
}

// chooseKeyed tries, in turn: a place unlike every other joint's, clear of every mark;
// one that a line must give way to; one that another joint has too (letters only).
func chooseKeyed(tp *jig.Template, j *jig.Seam, near []jig.Sample, used []*jig.Seam, lim jig.Limits) bool {
	beside := besideOf(tp, j, near, keyedTail(lim).Keyed.Back, lim)
	for _, lines := range []bool{true, false} {
		for _, unique := range []bool{true, false} {
			if placeKeyed(j, keyedPlaces(j, lim), func(owner *jig.Piece, t jig.Tail) bool {
				return tailFits(j, owner, t, beside, lines, lim) && !(unique && like(t, used))
			}) {
				j.LettersOnly = !unique
				return true
			}
		}
	}
	return false
}

// placeKeyed takes the first place that will do.
func placeKeyed(j *jig.Seam, places []jig.Tail, fits func(*jig.Piece, jig.Tail) bool) bool {
	for _, t := range places {
		for _, owner := range []*jig.Piece{j.A, j.B} {
			if fits(owner, t) {
				j.Owner, j.Other, j.Tails = owner, j.Neighbour(owner), []jig.Tail{t}
				return true
			}
		}
	}
	return false
}

// keyedPlaces are the places along a seam, those nearest to its middle first.
func keyedPlaces(j *jig.Seam, lim jig.Limits) []jig.Tail {
	var out []jig.Tail
	t := keyedTail(lim)
	room := j.Length()/2 - t.Keyed.Wide/2 - keyedCheek
	for k := 0; keyedStep*float64(k) <= room; k++ {
		for _, sign := range []float64{1, -1} {
			for _, hand := range []float64{1, -1} {
				if k == 0 && sign < 0 {
					continue
				}
				p := t
				keyed := *t.Keyed
				keyed.Hand = hand
				p.At, p.Keyed = sign*keyedStep*float64(k), &keyed
				out = append(out, p)
			}
		}
	}
	return out
}

// like reports whether a tail would go into the socket of another joint with the seams'
// middles together.
func like(t jig.Tail, used []*jig.Seam) bool {
	return slices.ContainsFunc(used, func(u *jig.Seam) bool {
		return math.Abs(math.Abs(u.Tails[0].At)-math.Abs(t.At)) < keyedStep/2
	})
}

// keyParts are the keys of a template, where they lie at home.
func keyParts(tp *jig.Template, font jig.Font) []jig.Part {
	var out []jig.Part
	for _, j := range tp.Seams {
		if j.Part == "" {
			continue
		}
		t := j.Tails[0]
		at := keyedFrame(j, t)
		way := at(besideUndercut(t, 1, 0)).Sub(at(besideUndercut(t, 0, 0)))
		turn := geom.FromDegrees(math.Round(way.Angle().Degrees()/45) * 45)
		lying := keyOutline(j).Transform(geom.Placement{Turn: -turn})
		b := lying.Bounds()
		part := jig.Part{ID: j.Part, Template: tp.End, Role: jig.SlidingKey, Scale: 1,
			Outline: lying.Transform(geom.Placement{X: -b.Min.X, Y: -b.Min.Y}).Canonical()}
		o := tp.ToTable.Apply(geom.Placement{Turn: turn}.Apply(b.Min))
		part.OnTable = jig.Pose{X: o.X, Y: o.Y, Turn: (turn + tp.ToTable.Turn + 360*geom.Degree).Rest()}
		for i := range part.Outline.Len() {
			if s := part.Outline.Segment(i); s.Bulge == 0 && s.Length() > keyWide {
				part.NoStart = append(part.NoStart, s)
			}
		}
		wide := font.Width(j.Part, keyLetters)
		part.Letters = font.Strokes(j.Part, keyLetters, geom.Placement{X: (b.Width() - wide) / 2, Y: (b.Height() - keyLetters) / 2})
		part.Text = []string{j.Part}
		out = append(out, part)
	}
	return out
}

// keyLetters is the height of a key's letters, mm: 2 mm and more stay to its edges.
const keyLetters = 3.0

// keyedStrength is what a hard push on the key does to the tail where it is weakest:
// between the root of the locating flank and the end of the undercut's way, a section
// square to it. The key drives with what friction leaves of the thumb; the locating flank
// answers half of it midway up, which relieves the section; the shoulders' answer is left
// out. Bending of a beam, stress M/W + N/A, elementary strength of materials.
//
// Where seams have no room for a key, a check names them.
func keyedStrength(all []*jig.Template, lim jig.Limits) (out []jig.Check) {
	var without []string
	keys := 0
	for _, tp := range all {
		for _, j := range tp.Seams {
			if j.Part != "" {
				keys++
				continue
			}
			without = append(without, j.Owner.ID+" and "+j.Other.ID)
		}
	}
	if len(without) > 0 {
		out = append(out, jig.Check{ID: "unkeyed", Verdict: jig.Warn, Value: float64(len(without)),
			Text: "no room for a key beside the marks between " + strings.Join(without, ", ") + ": a dovetail there, to be taped shut"})
	}
	if keys == 0 {
		return out
	}
	stress := neckStressAt(keyThumb, keyedTail(lim), lim.Thickness)
	return append(out, jig.Check{ID: "key-neck", Verdict: jig.FailUnless(stress <= neckStress), Value: stress, Limit: neckStress, Unit: "N/mm2",
		Text: fmt.Sprintf("a tail's neck while its key is pushed home with %.0f N", keyThumb)})
}

func neckStressAt(thumb float64, t jig.Tail, thick float64) float64 {
	rub := math.Atan(keyFriction)
	drive := thumb / (keyFriction + math.Tan(rub+math.Atan(keyTaper)))
	side := drive / math.Sqrt2
	high := t.Neck / math.Sqrt2 // of the section
	mid := sd{t.Neck / 4, -t.Neck / 4}
	push := besideUndercut(t, (wedgeCut*math.Sqrt2+keyedRise*math.Sqrt2)/2, 0)
	moment := (push.s-mid.s)*side + (push.d-mid.d)*side - (t.Long/2-mid.d)*side
	return math.Abs(moment)/(thick*high*high/6) + side/math.Sqrt2/(thick*high)
}

// keyable reports whether a job asks for keyed joints, and its kind has them.
func keyable(req jig.Request) bool {
	return req.Want.Joint == job.JointKeyed && req.Machine.Process != machine.Knife
}
