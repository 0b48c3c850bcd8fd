package proof

import "math"

// cell is the size of the grid's squares, mm: a few edges in each.
const cell = 8.0

// cellsMax bounds the grid, whatever the sheet.
const cellsMax = 1 << 20

// Grid finds the edges near a box.
type Grid struct {
	box    Box
	size   float64
	nx, ny int
	cells  [][]int32
	boxes  []Box
	seen   []int32 // the visit that last met each edge
	visits int32
}

// NewGrid files edges by where they lie.
func NewGrid(edges []Edge) Grid {
	g := Grid{box: Nothing(), size: cell, boxes: make([]Box, len(edges)), seen: make([]int32, len(edges))}
	for i, e := range edges {
		g.boxes[i] = e.Box()
		g.box = g.box.Union(g.boxes[i])
	}
	if len(edges) == 0 {
		g.box = Box{}
	}
	for {
		g.nx = int((g.box.X1-g.box.X0)/g.size) + 1
		g.ny = int((g.box.Y1-g.box.Y0)/g.size) + 1
		if g.nx*g.ny <= cellsMax {
			break
		}
		g.size *= 2
	}
	g.cells = make([][]int32, g.nx*g.ny)
	for i, b := range g.boxes {
		g.each(b, func(k int) { g.cells[k] = append(g.cells[k], int32(i)) })
	}
	return g
}

// each calls f for every cell that b touches.
func (g *Grid) each(b Box, f func(int)) {
	clamp := func(v float64, n int) int { return int(math.Max(0, math.Min(float64(n-1), math.Floor(v)))) }
	x0, x1 := clamp((b.X0-g.box.X0)/g.size, g.nx), clamp((b.X1-g.box.X0)/g.size, g.nx)
	y0, y1 := clamp((b.Y0-g.box.Y0)/g.size, g.ny), clamp((b.Y1-g.box.Y0)/g.size, g.ny)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			f(y*g.nx + x)
		}
	}
}

// Visit calls f once for every edge whose box meets b.
func (g *Grid) Visit(b Box, f func(edge int)) {
	if !b.meets(g.box) {
		return
	}
	g.visits++
	g.each(b, func(k int) {
		for _, i := range g.cells[k] {
			if g.seen[i] != g.visits && g.boxes[i].meets(b) {
				g.seen[i] = g.visits
				f(int(i))
			}
		}
	})
}
