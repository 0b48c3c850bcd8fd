package nest

import (
	"slices"

	"spotjig/layout/geom"
)

// exactTol: places are whole multiples of 1e-6 mm, so two of them may bring pieces
// nearer by as much each.
const exactTol = 2e-6

// sound reports whether an answer lays every piece once, inside its sheet and nowhere
// nearer to another than the gap, by exact distances between the outlines and openings
// themselves. It knows nothing of how the answer was found.
func sound(items []Item, opt Options, sheets []Sheet) bool {
	byID := map[string]Item{}
	for _, it := range items {
		byID[it.ID] = it
	}
	left := slices.Clone(opt.Stock)
	for _, s := range sheets {
		k := slices.IndexFunc(left, s.isOf)
		if k < 0 {
			return false
		}
		if left[k].Count--; left[k].Count == 0 {
			left = slices.Delete(left, k, k+1)
		}
		w, h := opt.usable(s.Width, s.Height)
		room := geom.Box{Max: geom.Point{X: w, Y: h}}.Grow(exactTol - opt.Margin)
		var on []onSheet
		for _, p := range s.Placed {
			it, ok := byID[p.ID]
			if !ok {
				return false
			}
			delete(byID, p.ID)
			a := lie(it, p.On)
			if !room.Holds(a.box) {
				return false
			}
			for _, b := range on {
				if !a.clearOf(b, opt.Gap-exactTol) {
					return false
				}
			}
			on = append(on, a)
		}
	}
	return len(byID) == 0
}

// onSheet is a piece as it lies, sheet frame.
type onSheet struct {
	outline  geom.Contour
	openings []geom.Contour
	box      geom.Box
}

func lie(it Item, m geom.Placement) onSheet {
	a := onSheet{outline: it.Outline.Transform(m)}
	a.box = a.outline.Bounds()
	for _, o := range it.Openings {
		a.openings = append(a.openings, o.Transform(m))
	}
	return a
}

// clearOf reports whether two pieces are a gap apart: outside each other, or one in
// an opening of the other.
func (a onSheet) clearOf(b onSheet, gap float64) bool {
	if !a.box.Grow(gap).Overlaps(b.box) {
		return true
	}
	if a.outline.Distance(b.outline) < gap {
		return false
	}
	return a.beside(b, gap) && b.beside(a, gap)
}

// beside reports whether a, which does not cross b's outline, lies outside it or, clear
// by gap, in one of its openings.
func (a onSheet) beside(b onSheet, gap float64) bool {
	if !b.outline.Contains(a.outline.Start()) {
		return true
	}
	return slices.ContainsFunc(b.openings, func(o geom.Contour) bool { return o.Holds(a.outline, gap) })
}
