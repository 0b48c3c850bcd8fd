package jig

import (
	"math"
	"slices"
	"sort"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// settleMost bounds how often bands are moved and merged.
const settleMost = 40

// settle moves the edges of bands, where seams will lie, away from spots, and merges bands
// that then want the same place. Bands only ever grow, so it comes to an end: at worst
// one pad covers the template.
func (lim Limits) settle(tp *Template, bands []band, table layout.Table) []band {
	for range settleMost {
		moved := false
		for i := range bands {
			b := keepIn(tp, lim.clearOfSpots(tp, bands[i]), lim, table)
			moved = moved || b != bands[i].box
			bands[i].box = b
		}
		var merged bool
		if bands, merged = mergeOne(bands); !merged && !moved && !closeGaps(bands) {
			break
		}
	}
	return bands
}

// closeGaps moves a band's near edge to the band before it where no piece has room between
// them, and reports whether there were any: spots beside the wider of the two may lie near
// that edge. It sorts the bands from the nose inwards.
func closeGaps(bands []band) (closed bool) {
	sort.SliceStable(bands, func(i, j int) bool { return bands[i].box.Min.X < bands[j].box.Min.X })
	for i := 1; i < len(bands); i++ {
		last := math.Inf(-1)
		for _, b := range bands[:i] {
			last = math.Max(last, b.box.Max.X)
		}
		if from := bands[i].box.Min.X; from > last && from-last <= spineLeast {
			for k := range bands { // a pad goes with its crosspiece
				if bands[k].box.Min.X == from {
					bands[k].box.Min.X = last
				}
			}
			closed = true
		}
	}
	return closed
}

// clearOfSpots widens a band until no edge of it that may become a seam lies near a spot.
func (lim Limits) clearOfSpots(tp *Template, b band) geom.Box {
	var along, across []float64
	box, near := b.box, lim.JointClear+lim.Notch+lim.Hole
	for _, e := range tp.Elements {
		if !e.IsDot() {
			continue
		}
		if e.A.Y > box.Min.Y-near && e.A.Y < box.Max.Y+near {
			along = append(along, e.A.X)
		}
		if b.role == Pad && e.A.X > box.Min.X-near && e.A.X < box.Max.X+near {
			across = append(across, math.Abs(e.A.Y))
		}
	}
	box.Min.X, box.Max.X = lim.clearEdge(box.Min.X, -cutStep, along), lim.clearEdge(box.Max.X, cutStep, along)
	box.Max.Y = lim.clearEdge(box.Max.Y, cutStep, across)
	box.Min.Y = -box.Max.Y
	return box
}

// clearEdge moves an edge step by step until a seam there keeps clear of every spot, and a
// tail or a tab has room on one side of it at least.
func (lim Limits) clearEdge(q, step float64, spots []float64) float64 {
	near := lim.JointClear + lim.Notch + lim.Hole + 0.5
	far := near + lim.Reach + lim.Toe
	for {
		low, high := false, false
		for _, s := range spots {
			low = low || s < q+near && s > q-far
			high = high || s > q-near && s < q+far
		}
		if !low || !high {
			return q
		}
		q += step
	}
}

// mergeOne merges the first two bands that cannot stand beside each other, or makes a pad
// of a wing on a crosspiece, and reports whether there were any.
func mergeOne(bands []band) ([]band, bool) {
	for i := range bands {
		for j := range bands {
			if m, ok := mergedBands(bands, i, j); ok {
				return m, true
			}
		}
	}
	return bands, false
}

// mergedBands handles one pair. Crosspieces nearer than a leg is long are one, and so are
// those under one pad; wings and pads that overlap are one; a wing that overlaps a
// crosspiece is a pad; a pad covers its crosspiece's whole width.
func mergedBands(bands []band, i, j int) ([]band, bool) {
	a, b := &bands[i], &bands[j]
	over := a.box.Min.X < b.box.Max.X && b.box.Min.X < a.box.Max.X
	switch {
	case i == j:
		return bands, false
	case a.full && b.full:
		if math.Max(b.box.Min.X-a.box.Max.X, a.box.Min.X-b.box.Max.X) > spineLeast && !underOnePad(bands, a.box, b.box) {
			return bands, false
		}
	case a.full || !over:
		return bands, false
	case b.full:
		u := a.box
		u.Min.X, u.Max.X = math.Min(u.Min.X, b.box.Min.X), math.Max(u.Max.X, b.box.Max.X)
		if a.role == Pad && a.box == u {
			return bands, false
		}
		a.role, a.box = Pad, u
		return bands, true
	case a.role == Wing && b.role == Pad:
		a.role = Pad
	}
	a.box = a.box.Union(b.box)
	return append(bands[:j:j], bands[j+1:]...), true
}

// underOnePad reports whether one pad overlaps both crosspieces.
func underOnePad(bands []band, a, b geom.Box) bool {
	return slices.ContainsFunc(bands, func(p band) bool {
		return p.role == Pad && p.box.Min.X < math.Min(a.Max.X, b.Max.X) && p.box.Max.X > math.Max(a.Min.X, b.Min.X)
	})
}
