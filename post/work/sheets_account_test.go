package work

import (
	"fmt"
	"math"
	"testing"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
	"spotjig/post"
)

// BenchmarkSheetUse lays the 196 ordinary jobs of testdata/evidence.md on sheets and
// reports, by bed, how many they take and what becomes of all sheets but the last of jobs
// on three or more, in per cent of their area. It is an account: the shares add to 100.
func BenchmarkSheetUse(b *testing.B) {
	for _, machine := range []string{"laser-600x400", "laser-1300x900", "shop", "knife-1200x600"} {
		b.Run(machine, func(b *testing.B) {
			for b.Loop() {
				var all useOfSheets
				sheets := 0
				for _, size := range [][2]float64{{1676.4, 838.2}, {1828.8, 914.4}, {1981.2, 990.6}, {2235.2, 1117.6}, {2540, 1270}, {2844.8, 1422.4}, {3568.7, 1778}} {
					for _, games := range []string{"snooker", "pool", "blackball", "pool, snooker", "billiards", "carom", "snooker, blackball"} {
						set := laidOut(b, fmt.Sprintf("name: Quarry Road\ntable: {length: %g, width: %g, measured: nose-to-nose}\ngames: [%s]\nmachine: %s\n", size[0], size[1], games, machine))
						sheets += len(set.Sheets)
						for i := 0; len(set.Sheets) >= 3 && i < len(set.Sheets)-1; i++ {
							all.add(set, i)
						}
					}
				}
				b.ReportMetric(float64(sheets), "sheets")
				b.ReportMetric(all.sheets, "counted")
				for _, m := range []struct {
					area float64
					unit string
				}{{all.pieces, "%pieces"}, {all.border, "%border"}, {all.gap, "%gap"}, {all.hollow, "%hollow"}, {all.narrow, "%narrow"}, {all.wide, "%wide"}} {
					b.ReportMetric(100*m.area/math.Max(1, all.sheets), m.unit)
				}
			}
		})
	}
}

// useOfSheets is what becomes of sheets, each area as a share of its own sheet.
type useOfSheets struct {
	sheets float64
	pieces float64 // inside the outlines
	border float64 // outside the rectangle that pieces may lie in
	gap    float64 // nearer to a piece than half the gap, which is kept around each
	hollow float64 // inside a piece's box, where the narrowest piece of the job does not fit
	narrow float64 // elsewhere, where it does not fit: strips and corners
	wide   float64 // where a square as wide as the narrowest piece fits
}

// accountCell is the side of the squares that a sheet is looked at in, mm.
const accountCell = 0.5

// add counts what becomes of the i-th sheet, square by square.
func (u *useOfSheets) add(set post.Set, i int) {
	s := set.Sheets[i]
	room := jig.RoomFor(set.Machine, set.Material)
	half := room.Gap / 2
	g := newCells(s.Width, s.Height)
	narrowest := math.Inf(1)
	for _, p := range set.Jig.Parts {
		b := p.Outline.Scaled(p.Scale).Bounds()
		narrowest = math.Min(narrowest, math.Min(b.Width(), b.Height()))
	}
	boxes := newCells(s.Width, s.Height)
	for _, on := range s.Placed {
		p, _ := set.Part(on.ID)
		c := p.Outline.Scaled(p.Scale).Transform(on.On)
		g.fill(c)
		boxes.fill(geom.Rect(c.Bounds()))
	}
	grown := g.grown(half)
	margin := set.Machine.MarginBed + room.Edge
	inner := newCells(s.Width, s.Height)
	inner.fill(geom.Rect(geom.Box{Min: geom.Point{X: margin, Y: margin}, Max: geom.Point{X: s.Width - margin, Y: s.Height - margin}}))
	// A piece's own half of the gap may lie in the border.
	free := newCells(s.Width, s.Height)
	free.fill(geom.Rect(geom.Box{Min: geom.Point{X: margin - half, Y: margin - half}, Max: geom.Point{X: s.Width - margin + half, Y: s.Height - margin + half}}))
	for k := range free.on {
		free.on[k] = free.on[k] && !grown.on[k]
	}
	fits := free.opened(narrowest + room.Gap)
	one := 1 / float64(len(g.on))
	u.sheets++
	for k := range g.on {
		switch {
		case g.on[k]:
			u.pieces += one
		case !inner.on[k]:
			u.border += one
		case grown.on[k]:
			u.gap += one
		case fits.on[k]:
			u.wide += one
		case boxes.on[k]:
			u.hollow += one
		default:
			u.narrow += one
		}
	}
}

// cells are the squares of a sheet, row by row.
type cells struct {
	across, up int
	on         []bool
}

func newCells(w, h float64) cells {
	c := cells{across: int(math.Round(w / accountCell)), up: int(math.Round(h / accountCell))}
	c.on = make([]bool, c.across*c.up)
	return c
}

// fill sets the squares whose middles lie in a contour.
func (c cells) fill(outline geom.Contour) {
	b := outline.Bounds()
	var pts []geom.Point
	for _, s := range outline.Segments() {
		n := 1
		if s.IsArc() {
			n = 24
		}
		for i := range n {
			pts = append(pts, s.At(float64(i)/float64(n)))
		}
	}
	for row := max(0, int(b.Min.Y/accountCell)); row < c.up && float64(row)*accountCell < b.Max.Y; row++ {
		y := (float64(row) + 0.5) * accountCell
		for i, from := range pts {
			to := pts[(i+1)%len(pts)]
			if (from.Y > y) == (to.Y > y) {
				continue
			}
			x := from.X + (y-from.Y)*(to.X-from.X)/(to.Y-from.Y)
			for k := max(0, int(math.Ceil(x/accountCell-0.5))); k < c.across; k++ { // what is right of an even number of edges ends as it was
				c.on[row*c.across+k] = !c.on[row*c.across+k]
			}
		}
	}
}

// grown are the squares no further from those set than by.
func (c cells) grown(by float64) cells {
	out := cells{c.across, c.up, append([]bool(nil), c.on...)}
	reach := int(by / accountCell)
	for y := range c.up {
		for x := range c.across {
			if !c.on[y*c.across+x] || c.at(x-1, y) && c.at(x+1, y) && c.at(x, y-1) && c.at(x, y+1) {
				continue
			}
			for dy := -reach; dy <= reach; dy++ {
				for dx := -reach; dx <= reach; dx++ {
					if math.Hypot(float64(dx), float64(dy))*accountCell <= by && x+dx >= 0 && x+dx < c.across && y+dy >= 0 && y+dy < c.up {
						out.on[(y+dy)*c.across+x+dx] = true
					}
				}
			}
		}
	}
	return out
}

func (c cells) at(x, y int) bool {
	return x >= 0 && y >= 0 && x < c.across && y < c.up && c.on[y*c.across+x]
}

// opened are the squares set that a larger square of that side, all of it set, covers.
func (c cells) opened(side float64) cells {
	n := int(side / accountCell)
	out := newCells(float64(c.across)*accountCell, float64(c.up)*accountCell)
	// largest[k] is the side of the largest square set whose upper right is k.
	largest := make([]int, len(c.on))
	for y := range c.up {
		for x := range c.across {
			if k := y*c.across + x; c.on[k] {
				largest[k] = 1
				if x > 0 && y > 0 {
					largest[k] += min(largest[k-1], largest[k-c.across], largest[k-c.across-1])
				}
				out.on[k] = largest[k] >= n
			}
		}
	}
	// What such a corner covers lies left of it and below.
	spread := func(lines, long, line, along int) {
		for i := range lines {
			left := 0
			for k := long - 1; k >= 0; k-- {
				at := i*line + k*along
				if out.on[at] {
					left = n
				}
				out.on[at] = left > 0
				left--
			}
		}
	}
	spread(c.up, c.across, c.across, 1)
	spread(c.across, c.up, 1, c.across)
	return out
}
