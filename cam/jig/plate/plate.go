// Package plate is the kind of jig that is cut from sheet: it stands on fins and is
// joined by dovetails.
package plate

import (
	"fmt"
	"slices"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// kind is a template of sheet that stands on fins and is joined by dovetails.
type kind struct {
	req  jig.Request
	lim  jig.Limits
	font jig.Font
}

// finMin is the thinnest sheet that stands upright as a fin, mm: its foot, less
// what is kept free below it, is then 1.6 mm and the lip's bearing edge 1.1 mm high.
// Common practice; a fin of card tips before it finds the nose.
const finMin = 2.0

// ThinError says that a sheet is too thin to make fins of.
type ThinError struct{ Thickness float64 }

// Error names both thicknesses.
func (e *ThinError) Error() string {
	return fmt.Sprintf("a sheet of %g mm is too thin to stand upright: fins are made of %g mm and more", e.Thickness, finMin)
}

// New returns the kind, with the limits of a job. It refuses a sheet too thin for fins.
func New(req jig.Request) (jig.Kind, error) {
	if t := req.Material.Thickness; t < finMin {
		return nil, &ThinError{t}
	}
	lim := limits(req)
	if lim.Shod {
		if err := shoeable(lim); err != nil {
			return nil, err
		}
	}
	return kind{req, lim, jig.NewFont()}, nil
}

// limits are those of a job in plate, and of its joints.
func limits(req jig.Request) jig.Limits {
	lim := jig.LimitsFor(req)
	lim.Shod = jig.Shod(req.Want)
	lim.Reach = lim.Tail + (keyKinds-1)*keyLonger
	lim.EndRoom = endFinRoom
	lim.JointLeast = jig.Tail{Neck: lim.Neck, Long: lim.Reach}.Head() + 2*(lim.Web+keyStep)
	if keyable(req) {
		t := keyedTail(lim)
		lim.Smaller = jig.Joining{Reach: lim.Reach, Least: lim.JointLeast}
		lim.Reach, lim.Notch = t.Long, t.Keyed.Back
		lim.JointLeast = t.Head() + 2*keyedCheek
	}
	return lim
}

func (k kind) Limits() jig.Limits { return k.lim }

// Keyed keeps its hands off necks that would break.
func (k kind) Keyed() jig.Kind {
	req := k.req
	req.Want.Joint = job.JointKeyed
	with, err := New(req)
	if keyable(k.req) || !keyable(req) || err != nil || neckStressAt(keyThumb, keyedTail(k.lim), k.lim.Thickness) > neckStress {
		return nil
	}
	return with
}

func (k kind) Stand(tp *jig.Template) { placeFins(tp, k.lim, k.req.Table) }

func (k kind) Join(all []*jig.Template) error {
	if keyable(k.req) {
		return joinKeyed(all, k.lim)
	}
	return cutKeys(all, k.lim)
}

func (k kind) Cut(tp *jig.Template) {
	outlines(tp, k.lim)
	jig.OpenMarks(tp, k.lim, func(p *jig.Piece, q geom.Point, keep float64) bool { return p.Box.Grow(-keep).Contains(q) })
}

func (k kind) Score(tp *jig.Template) { scores(tp, k.lim, k.req.Table, k.font) }

func (k kind) Parts(tp *jig.Template) []jig.Part {
	var out []jig.Part
	for _, f := range tp.Fins {
		out = append(out, finPart(tp, f, k.lim, k.font))
	}
	out = append(out, shoeParts(tp, k.lim, k.font)...)
	if k.req.Want.SpareFins {
		out = append(out, spareFins(tp, k.lim, k.font)...)
	}
	if k.req.Want.Spots == job.SpotsSticker {
		out = append(out, plugs(tp, k.lim, k.font)...)
	}
	return append(out, keyParts(tp, k.font)...)
}

func (k kind) Checks(all []*jig.Template, of jig.Looked) []jig.Check {
	own := []jig.Check{overlapCheck(all, k.lim, k.req.Table), finCheck(all)}
	if k.req.Want.Spots == job.SpotsSticker {
		own = append(own, plugCheck(k.lim))
	}
	if keyable(k.req) {
		own = append(own, keyedStrength(all, k.lim)...)
	}
	touch := append(contacts(all, k.req.Table), tipping(all, k.lim, k.req.Material)...)
	return slices.Concat(of.Valid, own, of.Marks, touch, of.Cushions, of.Handling, of.Budget, of.Class, of.Serves)
}
