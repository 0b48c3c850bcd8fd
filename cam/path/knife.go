package path

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/layout/geom"
)

// ErrKnife is wrapped by every refusal of Knife; the text names the part, the
// feature, the value found and the limit.
var ErrKnife = errors.New("knife")

// KnifeRequest is what Knife needs to know.
type KnifeRequest struct {
	Sheet    nest.Sheet
	Parts    []jig.Part // at least those placed on the sheet
	Machine  machine.Profile
	Material machine.Material
	Start    geom.Point // where the pivot stands before the first travel, sheet frame
	// Trials are parts of a coupon that are cut with an offset or depth of their own.
	Trials []jig.KnifeTrial
}

// trial returns how a part differs; the zero trial when it does not.
func (r KnifeRequest) trial(part string) jig.KnifeTrial {
	for _, t := range r.Trials {
		if t.Part == part {
			return t
		}
	}
	return jig.KnifeTrial{}
}

// Tolerances of the knife's toolpath, mm and radians.
const (
	// tipTol: how far the tip may be off the contour through a blade not yet
	// brought round. Less than half of the 0.01 mm that the proof allows; the
	// rest is for the four decimals of the program and for flats that stand in
	// for tight arcs.
	tipTol = 0.004
	// flatTol: how far corners that stand in for a tight arc may bulge out: with tipTol,
	// which may come on top where a cut begins, still within what the proof allows.
	flatTol = 0.0055
	// swivelTol: pivot swings shorter than this are dropped: half the last
	// digit printed (0.0001 mm).
	swivelTol = 0.00005
	// arcChordMin: a swing with a shorter chord is written as a line; its
	// rise, chord²/8d, is below swivelTol for every offset from 0.1 mm up.
	arcChordMin = 0.006
	// riseLeast: a piece of an arc is cut by itself where the pivot's way rises this far above
	// its chord: the last digit printed, five times what programs write as a line.
	riseLeast = 0.0001
	// drift: how far the blade may be knocked off its heading between two cuts
	// and still be brought round by the run-in. Our own allowance.
	drift = float64(10 * geom.Degree)
	// turnMax: the largest angle a run-in may bring round. Beyond it the blade
	// nears the unstable rest at half a turn.
	turnMax = float64(120 * geom.Degree)
)

// Knife returns the pivot's path for everything cut from one sheet with a
// trailing blade.
//
// The tip cannot slip sideways: with the pivot's direction theta and the
// blade's heading psi, dpsi/ds = sin(theta-psi)/d, d the offset (the pulled
// trailer's curve, the tractrix). So to lead the tip along c(s) with unit
// tangent t the pivot must run along c + d·t:
//
//   - a line is shifted along itself by d;
//   - an arc of radius r becomes a concentric arc of radius sqrt(r²+d²), both
//     ends turned ahead by atan(d/r), and so of the same sweep and bulge;
//   - where a line runs smoothly into an arc the pivot's path is unbroken with
//     a kink of atan(d/r);
//   - at a corner of turn a the pivot swings through a on radius d about the
//     corner, and the tip stays. Beyond SwivelMax the blade is first raised to
//     ZSkin, so that only its point is held. A profile with ZSkin >= 0 cannot
//     do that: there the cut runs on into the waste, the blade is lifted clear
//     and comes in again along the new edge.
//
// Arcs of a radius below ArcMin are refused or cut as corners, as ArcTight
// says. The first operation (LAYER score, part "waste", feature "align") brings
// the blade to a known heading in waste; from there the heading is carried from
// cut to cut. Openings and outlines are entered from waste by a straight run-in
// and a tangent arc; the run-in is long enough for the turn, for drift and for
// what is left at the contour to be below Misalign and tipTol. Where no run-in
// fits, and at the start of every score and letter (where it would mar the
// face), the blade is turned in place about its tip, in the skin. A closed cut
// overruns its start along itself by d + thickness/tan(wedge); a cut that
// starts at a sharp corner runs out into the waste instead.
//
// Every operation is whole: it begins with a plunge on the spot (From == To) from
// ZUp and ends with a lift on the spot to ZUp. No move changes Z but on the spot.
func Knife(req KnifeRequest) (Toolpath, error) {
	if err := checkKnife(req); err != nil {
		return Toolpath{}, err
	}
	pieces, err := gatherPieces(req)
	if err != nil {
		return Toolpath{}, err
	}
	b := blade{req: req, k: req.Machine.Knife, pieces: pieces, at: req.Start}
	if err := b.align(); err != nil {
		return Toolpath{}, err
	}
	for _, batch := range b.batches() {
		if err := b.cutAll(batch); err != nil {
			return Toolpath{}, err
		}
	}
	tp := Toolpath{Sheet: req.Sheet.N, Process: machine.Knife, Ops: b.ops}
	tp.total(req.Start)
	return tp, nil
}

// checkKnife refuses a profile, setting or sheet that the blade cannot work with.
func checkKnife(req KnifeRequest) error {
	k, m := req.Machine.Knife, req.Material
	switch {
	case !(k.Offset > 0):
		return fmt.Errorf("%w: offset %g mm is not above zero", ErrKnife, k.Offset)
	case !req.Machine.HasZ:
		return fmt.Errorf("%w: the machine has no Z axis to lift the blade with", ErrKnife)
	case !(k.Wedge > 0 && k.Wedge <= 90*geom.Degree):
		return fmt.Errorf("%w: wedge angle %.4g degrees is not above 0 and up to 90", ErrKnife, k.Wedge.Degrees())
	case !(k.ZUp > 0):
		return fmt.Errorf("%w: raised height %g mm is not above the sheet", ErrKnife, k.ZUp)
	case !(k.Plunge > 0 && k.Lift > 0 && k.Swivel > 0):
		return fmt.Errorf("%w: plunge, lift and swivel feeds must be above zero", ErrKnife)
	case !(k.Misalign > 0):
		return fmt.Errorf("%w: misalignment %.4g degrees is not above zero", ErrKnife, k.Misalign.Degrees())
	case k.ArcTight != machine.ArcsRefuse && k.ArcTight != machine.ArcsCorner:
		return fmt.Errorf("%w: tight arcs %q: want \"refuse\" or \"corner\"", ErrKnife, k.ArcTight)
	case k.SheetMax > 0 && m.Thickness > k.SheetMax:
		return fmt.Errorf("%w: sheet of %g mm is thicker than the %g mm the blade cuts", ErrKnife, m.Thickness, k.SheetMax)
	case m.Cut.Depth > -m.Thickness:
		return fmt.Errorf("%w: cut depth %g mm does not go through the sheet of %g mm", ErrKnife, m.Cut.Depth, m.Thickness)
	}
	return nil
}

// knifeSetting returns how a layer is cut, checked. Passes 0 count as 1.
func knifeSetting(req KnifeRequest, part jig.Part, l Layer) (machine.Setting, error) {
	s := [4]machine.Setting{req.Material.Letter, req.Material.Score, req.Material.Cut, req.Material.Cut}[l]
	if z := req.trial(part.ID).Depth; z < 0 && l >= Opening {
		s.Depth = z
	}
	if part.ScoreDepth < 0 && l == Score {
		s.Depth = part.ScoreDepth
	}
	s.Passes = max(1, s.Passes)
	switch floor := req.Machine.Knife.ZFloor; {
	case !(s.Depth < 0):
		return s, fmt.Errorf("%w: %s depth %g mm is not below the sheet's face", ErrKnife, l, s.Depth)
	case !(s.Feed > 0):
		return s, fmt.Errorf("%w: %s feed %g mm/s is not above zero", ErrKnife, l, float64(s.Feed))
	case s.Depth < floor:
		return s, fmt.Errorf("%w: %s depth %g mm is below the mat's %g mm", ErrKnife, l, s.Depth, floor)
	}
	return s, nil
}

// blade is the state carried along: what has been written, where the pivot
// stands and which way the blade points.
type blade struct {
	req     KnifeRequest
	k       machine.KnifeProfile
	pieces  []piece
	at      geom.Point
	heading geom.Vec // unit, from tip to pivot
	ops     []Op
}

// skin returns the depth for a turn made lifted: ZSkin, but never deeper than the cut itself.
func (b *blade) skin(depth float64) float64 { return math.Max(b.k.ZSkin, depth) }

// canLift reports whether the blade can be raised to turn with its point still held.
func (b *blade) canLift() bool { return b.k.ZSkin < 0 }

// overrun returns how far a closed cut runs past its start, mm of tip path.
func (b *blade) overrun() float64 {
	return b.k.Offset + b.req.Material.Thickness/b.k.Wedge.Tan()
}

// batches parts what is cut from the sheet into what is done one after the other, as
// Laser does: lettering, scores, openings, and last the outlines with the openings that
// hold other pieces.
func (b *blade) batches() [4][]*contour {
	var out [4][]*contour
	for i := range b.pieces {
		for k := range b.pieces[i].cuts {
			c := &b.pieces[i].cuts[k]
			c.piece = i
			l := c.layer
			if len(c.held) > 0 {
				l = Outline
			}
			out[l] = append(out[l], c)
		}
	}
	return out
}

// cutAll cuts a batch, always the contour whose start is cheapest to reach from where
// the blade is, of those that wait for none.
func (b *blade) cutAll(left []*contour) error {
	n := 0
	for len(left) > 0 {
		n = b.cheapest(left, n)
		if err := b.cut(*left[n], b.pieces[left[n].piece]); err != nil {
			return err
		}
		left[n].done = true
		left = slices.Delete(left, n, n+1)
	}
	return nil
}

// waits reports whether a contour must not be cut yet: an opening with a piece in it
// that is not cut free, and the outline around such an opening.
func (b *blade) waits(c *contour) bool {
	for _, i := range c.held {
		if o := b.pieces[i].cuts; !o[len(o)-1].done {
			return true
		}
	}
	return c.layer == Outline && slices.ContainsFunc(b.pieces[c.piece].cuts, func(o contour) bool { return o.layer == Opening && !o.done })
}

// offsetOf is the blade's offset that a piece is cut for.
func (r KnifeRequest) offsetOf(part string) float64 {
	if d := r.trial(part).Offset; d > 0 {
		return d
	}
	return r.Machine.Knife.Offset
}

// cheapest returns the index of the contour to cut next, and takes its offset. What has been
// cut last stood at index last: what stands there now is mostly near, and all that is
// further off than that costs need not be looked at.
func (b *blade) cheapest(cuts []*contour, last int) int {
	best, low, most := -1, math.Inf(1), math.Inf(1)
	if last < len(cuts) && !b.waits(cuts[last]) {
		most = b.guess(cuts[last])
	}
	for i, c := range cuts {
		if b.tooFar(c, min(low, most)) || b.waits(c) {
			continue
		}
		if v := b.guess(c); v < low {
			best, low = i, v
		}
	}
	if best < 0 {
		panic("path: internal error: pieces inside each other in a ring")
	}
	b.k.Offset = cuts[best].offset
	return best
}
