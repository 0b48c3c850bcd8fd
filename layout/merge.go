package layout

import (
	"math"
	"slices"
)

// markSet gathers marks, keeping one of those that coincide.
type markSet struct{ marks []Mark }

// add takes a mark in. One that coincides with an earlier mark joins it; one
// whose id is taken by a mark elsewhere gets its game's name before its id.
func (s *markSet) add(m Mark) {
	for i := range s.marks {
		if coincide(s.marks[i], m) {
			s.marks[i] = join(s.marks[i], m)
			return
		}
	}
	if s.taken(m.ID) {
		m.ID = m.Games[0] + "-" + m.ID
	}
	if m.Group != "" && s.grouped(m) {
		m.Group = m.Games[0] + "-" + m.Group
	}
	s.marks = append(s.marks, m)
}

// taken reports whether an id is some mark's own or one it answers to.
func (s *markSet) taken(id string) bool {
	for _, m := range s.marks {
		if m.ID == id || slices.Contains(m.Also, id) {
			return true
		}
	}
	return false
}

// grouped reports whether another game's marks use the mark's group.
func (s *markSet) grouped(m Mark) bool {
	for _, o := range s.marks {
		if o.Group == m.Group && o.Games[0] != m.Games[0] {
			return true
		}
	}
	return false
}

// join returns one mark for two that coincide: the first one's id, rule and
// geometry, and both owners.
func join(a, b Mark) Mark {
	if a.ID != b.ID && !slices.Contains(a.Also, b.ID) {
		a.Also = append(append([]string(nil), a.Also...), b.ID)
		a.Name += ", " + b.Name
	}
	for _, g := range b.Games {
		if !slices.Contains(a.Games, g) {
			a.Games = append(append([]string(nil), a.Games...), g)
		}
	}
	return a
}

// coincide reports whether two marks are the same stroke on the cloth. A line is
// the same from either end, an outline from any corner and either way round.
func coincide(a, b Mark) bool {
	if a.Kind != b.Kind {
		return false
	}
	switch a.Kind {
	case Spot:
		return samePlace(a.X, a.Y, b.X, b.Y)
	case Line:
		return samePlace(a.X, a.Y, b.X, b.Y) && samePlace(a.X2, a.Y2, b.X2, b.Y2) ||
			samePlace(a.X, a.Y, b.X2, b.Y2) && samePlace(a.X2, a.Y2, b.X, b.Y)
	case Arc:
		return samePlace(a.X, a.Y, b.X, b.Y) && near(a.Radius, b.Radius, mergeTol) &&
			near(a.StartDeg, b.StartDeg, mergeTol) && near(a.EndDeg, b.EndDeg, mergeTol)
	}
	return sameRing(a.Points, b.Points)
}

func samePlace(x1, y1, x2, y2 float64) bool {
	return math.Hypot(x1-x2, y1-y2) <= mergeTol
}

// sameRing reports whether two closed rings have the same corners in the same
// or the opposite order.
func sameRing(a, b [][2]float64) bool {
	n := len(a)
	if n != len(b) {
		return false
	}
	for shift := range n {
		same, mirrored := true, true
		for i := range n {
			p, q, r := a[i], b[(i+shift)%n], b[(shift-i+n)%n]
			same = same && samePlace(p[0], p[1], q[0], q[1])
			mirrored = mirrored && samePlace(p[0], p[1], r[0], r[1])
		}
		if same || mirrored {
			return true
		}
	}
	return n == 0
}
