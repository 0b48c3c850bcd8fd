package post

import (
	"math"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// UprightPlan is an upright piece seen from above, part frame: its reach along its
// own x by the sheet's thickness.
func (s Set) UprightPlan(p jig.Part) geom.Contour {
	t := s.Material.Thickness
	lo, hi := UprightSpan(p)
	return geom.Rect(geom.Box{Min: geom.Point{X: lo, Y: -t / 2}, Max: geom.Point{X: hi, Y: t / 2}})
}

// UprightSpan is how far an upright piece reaches along its own x: a fin over its
// outline, a folded box over its front, which lies between the two folds that
// rise highest.
func UprightSpan(p jig.Part) (lo, hi float64) {
	b := p.Outline.Bounds()
	lo, hi = b.Min.X, b.Max.X
	if !p.Role.Box() {
		return lo, hi
	}
	top := math.Inf(-1)
	for _, c := range p.Scores {
		if s := c.Bounds(); s.Width() < foldStraight && s.Max.Y > top+foldStraight {
			top, lo, hi = s.Max.Y, s.Min.X, s.Min.X
		} else if s.Width() < foldStraight && s.Max.Y > top-foldStraight {
			lo, hi = math.Min(lo, s.Min.X), math.Max(hi, s.Max.X)
		}
	}
	return lo, hi
}

// foldStraight: a fold that leaves the upright by less than this is upright, mm;
// far below the shortest fold there is.
const foldStraight = 0.01
