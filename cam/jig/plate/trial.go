package plate

import (
	"math"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// Trial is one joint by itself, as the job's plates have it: the parts that go together,
// and where on the table they do, so that they are proved like a template's.
type Trial struct {
	Parts  []jig.Part // J1 and J2; JK1, the key that shuts them
	Joint  jig.Joint
	Checks []jig.Check // of a keyed one: that its neck bears
}

// Measures of a trial's pieces, mm. They stand off the frame's origin, where a template
// has its nose.
const (
	trialBand = 15.0 // of material for letters, and to hold it by
	trialOff  = 100.0
)

// NewTrial draws a joint between two pieces just long enough for it. A bed too small
// for it is a *jig.SizeError.
func NewTrial(req jig.Request) (Trial, error) {
	k := kind{req, limits(req), jig.NewFont()}
	lim := k.lim
	band := math.Ceil(math.Max(trialBand, lim.Web))
	if keyable(req) {
		band = math.Ceil(math.Max(band, keyedCheek))
	}
	low := geom.Box{Min: geom.Point{X: trialOff, Y: trialOff}, Max: geom.Point{X: trialOff + trialLong(lim, keyable(req)), Y: trialOff + math.Ceil(lim.Notch) + band}}
	high := geom.Box{Min: geom.Point{X: low.Min.X, Y: low.Max.Y}, Max: geom.Point{X: low.Max.X, Y: low.Max.Y + math.Ceil(lim.Reach) + band}}
	a, b := &jig.Piece{ID: "J1", Role: TrialPiece, Box: low}, &jig.Piece{ID: "J2", Role: TrialPiece, Box: high}
	tp := &jig.Template{End: "coupon", Letter: "J", Pieces: []*jig.Piece{a, b},
		Seams: []*jig.Seam{{A: a, B: b, From: geom.Point{X: low.Min.X, Y: low.Max.Y}, To: low.Max}}}
	all := []*jig.Template{tp}
	if err := k.Join(all); err != nil {
		return Trial{}, err
	}
	outlines(tp, lim)
	for _, p := range tp.Pieces {
		y := p.Box.Min.Y
		if p == b {
			y = p.Box.Max.Y - band
		}
		text := p.ID + "  LETTERS UP"
		at := geom.Placement{X: p.Box.Center().X - k.font.Width(text, jig.BodyHigh)/2, Y: y + (band-jig.BodyHigh)/2}
		p.Letters, p.Text = k.font.Strokes(text, jig.BodyHigh, at), []string{text}
	}
	out := Trial{Parts: append(jig.FlatParts(tp), keyParts(tp, k.font)...), Joint: jig.JointsOf(tp)[0]}
	if keyable(req) {
		out.Checks = keyedStrength(all, lim)
	}
	return out, nil
}

// trialLong is the length of a trial's seam: room for the tail that most joints have, or
// for the first of the others that the bed has room for.
func trialLong(lim jig.Limits, keyed bool) float64 {
	for _, t := range kinds(lim) {
		if long := math.Ceil(t.Head() + 2*(lim.Web+keyStep)); !keyed && lim.FitsBed(geom.Box{Max: geom.Point{X: long}}) {
			return long
		}
	}
	return math.Ceil(lim.JointLeast)
}

// TrialPiece is the role of a trial's two pieces.
const TrialPiece jig.Role = "joint"
