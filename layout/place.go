package layout

import (
	"math"
	"strconv"
	"strings"
)

// place is a point of the cloth that can be measured: a spot, a line's end, an arc's centre,
// an outline's corner.
type place struct {
	id   string // "yellow", "baulk-line@right", "rack@2"
	name string // "yellow spot", "baulk line, right end"
	mark Mark
	x, y float64
}

// placesOf lists a mark's places with their names. A line's ends are called by
// the side they lie nearer to when it runs across the table, by the end when it
// runs along; an outline's corners are numbered.
func placesOf(m Mark) []place {
	at := m.places()
	switch m.Kind {
	case Line:
		ends := [2]string{"right", "left"}
		if math.Abs(m.X2-m.X) > math.Abs(m.Y2-m.Y) {
			ends = [2]string{"head", "foot"}
			if m.X > m.X2 {
				ends = [2]string{"foot", "head"}
			}
		} else if m.Y > m.Y2 {
			ends = [2]string{"left", "right"}
		}
		return []place{
			{m.ID + "@" + ends[0], m.Name + ", " + ends[0] + " end", m, at[0][0], at[0][1]},
			{m.ID + "@" + ends[1], m.Name + ", " + ends[1] + " end", m, at[1][0], at[1][1]},
		}
	case Outline:
		var out []place
		for i, p := range at {
			n := strconv.Itoa(i + 1)
			out = append(out, place{m.ID + "@" + n, m.Name + ", corner " + n, m, p[0], p[1]})
		}
		return out
	case Arc:
		return []place{{m.ID, m.Name + ", centre", m, m.X, m.Y}}
	}
	return []place{{m.ID, m.Name, m, m.X, m.Y}}
}

// sides returns a place's distances from the four noses, square to each.
func (g ground) sides(x, y float64) (head, foot, right, left float64) {
	return x, g.fromFoot(x, y),
		(y - g.right.of(x)) / math.Hypot(1, g.right.m), (g.left.of(x) - y) / math.Hypot(1, g.left.m)
}

// Place is where a mark can be measured, table frame: the place itself, an end, a centre
// or a corner.
type Place struct {
	ID    string // as the tape card and the readings after marking name it
	Point string // which point of the mark: "right end", "centre", "corner 2"; "" for a spot
	X, Y  float64
}

// Places lists where a mark can be measured, in words that the readings after marking
// take: the mark's name, and behind a comma the point.
func (m Mark) Places() []Place {
	var out []Place
	for _, p := range placesOf(m) {
		point := strings.TrimPrefix(strings.TrimPrefix(p.name, m.Name), ", ")
		out = append(out, Place{ID: p.id, Point: point, X: p.x, Y: p.y})
	}
	return out
}
