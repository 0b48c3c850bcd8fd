package paper

import (
	"math"

	"spotjig/layout/geom"
)

// Where the lattice of a proof lies is free: it is tried at latticeTries places
// each way, and the one with the fewest pages is taken. A small shape (a hole)
// that a page's edge would cut counts cutPenalty pages: a hole in one piece is
// what a proof is measured by.
const (
	latticeTries = 6
	cutPenalty   = 0.5
	smallShape   = 45.0 // mm: a hole for a spot, a sticker or a finger is below it
)

// dots are places along everything a group draws, at most 3 mm apart: what
// decides which pages there are.
func (g group) dots() []geom.Point {
	const apart = 3.0
	var out []geom.Point
	for _, s := range g.shapes {
		for _, cs := range [2][]geom.Contour{s.edges, s.fine} {
			for _, c := range cs {
				for k := range c.Len() {
					seg := c.Segment(k)
					n := 1 + int(seg.Length()/apart)
					for i := 0; i <= n; i++ {
						out = append(out, seg.At(float64(i)/float64(n)))
					}
				}
			}
		}
	}
	return out
}

// small returns the boxes of the small closed shapes of a group.
func (g group) small() []geom.Box {
	var out []geom.Box
	for _, s := range g.shapes {
		for i, c := range s.edges {
			if b := s.boxes[i]; c.Closed() && b.Width() < smallShape && b.Height() < smallShape {
				out = append(out, b.Grow(crossArm+1))
			}
		}
	}
	return out
}

// laid returns the group with its lattice placed and its pages found.
func (g group) laid(size paperSize) group {
	dots := g.dots()
	if len(dots) == 0 {
		return g
	}
	w, h := size.leaf()
	box := geom.EmptyBox()
	for _, p := range dots {
		box = box.Include(p)
	}
	holes := g.small()
	best := math.Inf(1)
	try := func(o geom.Point) {
		l := lattice{origin: o, w: w, h: h, box: box}
		cells := l.occupied(dots)
		cost := float64(len(cells))
		for _, b := range holes {
			if l.cuts(b) {
				cost += cutPenalty
			}
		}
		if cost < best-1e-9 {
			best, g.origin, g.cells = cost, o, cells
		}
	}
	if !g.table {
		try(geom.Point{}) // laid out in rows to fit this lattice already
		return g
	}
	for i := range latticeTries {
		for j := range latticeTries {
			try(geom.Point{X: box.Min.X - w*float64(i)/latticeTries - 1, Y: box.Min.Y - h*float64(j)/latticeTries - 1})
		}
	}
	return g
}

// lattice is one placing of the pages over a box.
type lattice struct {
	origin geom.Point
	w, h   float64
	box    geom.Box
}

func (l lattice) cell(p geom.Point) cell {
	return cell{int(math.Floor((p.X - l.origin.X) / l.w)), int(math.Floor((p.Y - l.origin.Y) / l.h))}
}

// occupied returns the cells with a dot in them, by row from the top, then by column.
func (l lattice) occupied(dots []geom.Point) []cell {
	lo, hi := l.cell(l.box.Min), l.cell(l.box.Max)
	cols := hi.col - lo.col + 1
	has := make([]bool, cols*(hi.row-lo.row+1))
	for _, p := range dots {
		c := l.cell(p)
		has[(c.row-lo.row)*cols+c.col-lo.col] = true
	}
	var out []cell
	for row := hi.row; row >= lo.row; row-- {
		for col := lo.col; col <= hi.col; col++ {
			if has[(row-lo.row)*cols+col-lo.col] {
				out = append(out, cell{col, row})
			}
		}
	}
	return out
}

// cuts reports whether a page's edge runs through the box.
func (l lattice) cuts(b geom.Box) bool { return l.cell(b.Min) != l.cell(b.Max) }
