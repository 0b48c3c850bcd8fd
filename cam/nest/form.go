package nest

import (
	"cmp"
	"slices"
)

// form is a piece as it lies at one turn: the rectangles that cover it, one gap added to
// each on the right and above, relative to the lower left of its box.
type form struct {
	number int // among all forms of a search
	deg    int
	w, h   int64 // of the box, gap included
	boxes  []rect
}

// forms are the turns of a cover that differ, w and h its box without the gap.
func forms(boxes []rect, w, h, gap int64) []form {
	var out []form
	for deg := 0; deg < 360; deg += 90 {
		f := form{deg: deg, w: w + gap, h: h + gap}
		if deg%180 != 0 {
			f.w, f.h = f.h, f.w
		}
		for _, b := range boxes {
			r := turned(b, deg, w, h)
			f.boxes = append(f.boxes, rect{r.x, r.y, r.w + gap, r.h + gap})
		}
		slices.SortFunc(f.boxes, func(a, b rect) int {
			for _, d := range [...]int{cmp.Compare(a.x, b.x), cmp.Compare(a.y, b.y), cmp.Compare(a.w, b.w), cmp.Compare(a.h, b.h)} {
				if d != 0 {
					return d
				}
			}
			return 0
		})
		same := func(o form) bool { return o.w == f.w && o.h == f.h && slices.Equal(o.boxes, f.boxes) }
		if !slices.ContainsFunc(out, same) {
			out = append(out, f)
		}
	}
	return out
}

// turned is a rectangle of a box w by h turned with it counter-clockwise.
func turned(r rect, deg int, w, h int64) rect {
	switch deg {
	case 90: // (x, y) -> (-y, x)
		return rect{h - r.y - r.h, r.x, r.h, r.w}
	case 180:
		return rect{w - r.x - r.w, h - r.y - r.h, r.w, r.h}
	case 270:
		return rect{r.y, w - r.x - r.w, r.h, r.w}
	}
	return r
}

// alike reports whether two pieces lie alike: the same turns, covered the same.
func alike(a, b []form) bool {
	return slices.EqualFunc(a, b, func(f, g form) bool {
		return f.deg == g.deg && f.w == g.w && f.h == g.h && slices.Equal(f.boxes, g.boxes)
	})
}
