package jig

import (
	"math"

	"spotjig/layout/geom"
)

// blankCell is the grain on which free room for lettering is looked for, mm.
const blankCell = 2.0

// Blanks says where on a piece lettering may stand: a grid of cells, and for each
// the number of blocked cells below and left of it, so that any rectangle is
// tested with four look-ups.
type Blanks struct {
	at     geom.Point
	nx, ny int
	busy   []bool
	sum    []int32
}

// letterEdge and letterGap are kept between lettering and the piece's edge, and
// lettering and anything cut or scored, mm.
const (
	letterEdge = 3.0
	letterGap  = 2.0
)

// NewBlanks looks at what is cut, scored and kept clear on a piece.
func NewBlanks(tp *Template, p *Piece, lim Limits) *Blanks {
	b := p.Box
	r := &Blanks{at: b.Min, nx: int(b.Width() / blankCell), ny: int(b.Height() / blankCell)}
	r.busy = make([]bool, r.nx*r.ny)
	in := b.Grow(-letterEdge)
	for i := range r.busy {
		if c := r.cell(i); !in.Holds(c) {
			r.busy[i] = true
		}
	}
	for _, o := range obstacles(tp, p, letterGap+blankCell*0.71, lim) {
		r.take(o.bounds(), func(q geom.Point) bool { return o.dist(q) < o.keep })
	}
	for _, s := range p.Scores {
		box := s.Bounds().Grow(1.2)
		r.take(box, func(geom.Point) bool { return true })
	}
	for _, box := range p.Busy {
		r.take(box, func(geom.Point) bool { return true })
	}
	r.sum = make([]int32, (r.nx+1)*(r.ny+1))
	r.total(0)
	return r
}

// bounds is the box that an obstacle's keep reaches.
func (o obstacle) bounds() geom.Box {
	if o.box != nil {
		return o.box.Grow(o.keep)
	}
	return o.of.Bounds().Grow(o.keep)
}

// cell returns the box of cell i.
func (r *Blanks) cell(i int) geom.Box {
	min := geom.Point{X: r.at.X + float64(i%r.nx)*blankCell, Y: r.at.Y + float64(i/r.nx)*blankCell}
	return geom.Box{Min: min, Max: geom.Point{X: min.X + blankCell, Y: min.Y + blankCell}}
}

// take marks the cells that meet the box and whose middle hits.
func (r *Blanks) take(b geom.Box, hits func(geom.Point) bool) {
	x0, x1 := r.clamp((b.Min.X-r.at.X)/blankCell, r.nx), r.clamp((b.Max.X-r.at.X)/blankCell, r.nx)
	y0, y1 := r.clamp((b.Min.Y-r.at.Y)/blankCell, r.ny), r.clamp((b.Max.Y-r.at.Y)/blankCell, r.ny)
	for y := y0; y <= y1 && y < r.ny; y++ {
		for x := x0; x <= x1 && x < r.nx; x++ {
			i := y*r.nx + x
			if !r.busy[i] && hits(r.cell(i).Center()) {
				r.busy[i] = true
			}
		}
	}
}

func (r *Blanks) clamp(f float64, n int) int {
	return int(math.Max(0, math.Min(float64(n), math.Floor(f))))
}

// total rebuilds the running sums from a row on.
func (r *Blanks) total(from int) {
	w := r.nx + 1
	for y := from; y < r.ny; y++ {
		row := int32(0)
		for x := 0; x < r.nx; x++ {
			if r.busy[y*r.nx+x] {
				row++
			}
			r.sum[(y+1)*w+x+1] = r.sum[y*w+x+1] + row
		}
	}
}

// free reports whether the nx by ny cells from (x, y) are all free.
func (r *Blanks) free(x, y, nx, ny int) bool {
	w := r.nx + 1
	return r.sum[(y+ny)*w+x+nx]-r.sum[y*w+x+nx]-r.sum[(y+ny)*w+x]+r.sum[y*w+x] == 0
}

// Nearest finds the free w by h rectangle nearest to a point, upright or turned a
// quarter, takes it, and returns the baseline corner and the turn.
func (r *Blanks) Nearest(w, h float64, near geom.Point) (at geom.Point, turn geom.Angle, ok bool) {
	const quarter = 90 * geom.Degree
	best := math.Inf(1)
	var bx, by, bnx, bny int
	for _, t := range []geom.Angle{0, quarter} {
		bw, bh := w, h
		if t == quarter {
			bw, bh = h, w
		}
		nx, ny := int(math.Ceil(bw/blankCell))+1, int(math.Ceil(bh/blankCell))+1
		extra := 0.0
		if t == quarter {
			extra = 25 // text that reads along is easier to read
		}
		for y := 0; y+ny <= r.ny; y++ {
			up := extra + math.Abs(r.at.Y+(float64(y)+float64(ny)/2)*blankCell-near.Y)
			if up >= best-1e-9 {
				continue
			}
			for x := 0; x+nx <= r.nx; x++ {
				far := up + math.Abs(r.at.X+(float64(x)+float64(nx)/2)*blankCell-near.X)
				if far < best-1e-9 && r.free(x, y, nx, ny) {
					best, turn, ok = far, t, true
					bx, by, bnx, bny = x, y, nx, ny
				}
			}
		}
	}
	if !ok {
		return at, 0, false
	}
	for y := by; y < by+bny; y++ {
		for x := bx; x < bx+bnx; x++ {
			r.busy[y*r.nx+x] = true
		}
	}
	r.total(by)
	at = geom.Point{X: r.at.X + (float64(bx)+0.5)*blankCell, Y: r.at.Y + (float64(by)+0.5)*blankCell}
	if turn == quarter {
		at.X += h
	}
	return at, turn, true
}
