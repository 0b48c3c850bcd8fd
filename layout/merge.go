package layout

import (
	"math"
	"slices"
	"strings"
)

// markSet gathers marks, keeping one of those that coincide.
type markSet struct {
	marks []markOwned
	parts float64 // how much longer or shorter a table may be before one mark would be two, mm
}

// markOwned is a mark with what each of its owners calls it.
type markOwned struct {
	Mark
	owners []owner
}

// owner is one game's claim to a mark: what that game calls it.
type owner struct{ game, id, name string }

// add takes a mark in. One that coincides with an earlier mark joins it, and leaves it
// its rule and geometry.
func (s *markSet) add(m Mark) {
	own := owner{m.Games[0], m.ID, m.Name}
	for i := range s.marks {
		have := &s.marks[i]
		if !coincide(have.Mark, m) {
			continue
		}
		have.owners = append(have.owners, own)
		s.parts = math.Min(s.parts, partsAfter(have.Mark, m))
		if !slices.Contains(have.Games, own.game) {
			have.Games = append(slices.Clone(have.Games), own.game)
		}
		return
	}
	s.marks = append(s.marks, markOwned{m, []owner{own}})
}

// partsAfter is how much longer or shorter a table may be before two marks that coincide on
// this one do not, mm: each goes by its own rule.
func partsAfter(a, b Mark) float64 {
	most := math.Inf(1)
	apart := func(now, by float64) {
		if by > partsLeast {
			most = math.Min(most, math.Max(0, oneMark-now)/by)
		}
	}
	from := a.places()
	for k, at := range b.places() {
		i := 0
		for j, p := range from {
			if math.Hypot(p[0]-at[0], p[1]-at[1]) < math.Hypot(from[i][0]-at[0], from[i][1]-at[1]) {
				i = j
			}
		}
		apart(math.Hypot(from[i][0]-at[0], from[i][1]-at[1]), math.Hypot(a.Grows[i][0]-b.Grows[k][0], a.Grows[i][1]-b.Grows[k][1]))
	}
	apart(math.Abs(a.Radius-b.Radius), math.Abs(a.GrowsR-b.GrowsR))
	return most
}

// partsLeast: marks that part by less of a difference of length than this go by one rule.
const partsLeast = 1e-9

// named returns the marks with ids, names and groups that mean one mark each: where two
// games call different places alike (both have a baulk line), each is called by its game
// too: "snooker-baulk-line", "snooker baulk line".
func (s *markSet) named() []Mark {
	ids, names, groups := claims{}, claims{}, claims{}
	for i, m := range s.marks {
		for _, o := range m.owners {
			ids.add(o.id, i)
			names.add(o.name, i)
		}
		if m.Group != "" {
			groups.add(m.Group, slices.Index(s.games(), m.Games[0]))
		}
	}
	var out []Mark
	for _, m := range s.marks {
		var asID, asName, also, called []string
		for _, o := range m.owners {
			if !slices.Contains(asID, o.id) {
				asID, also = append(asID, o.id), append(also, ids.apart(o.id, o.game+"-"))
			}
			if !slices.Contains(asName, o.name) {
				asName, called = append(asName, o.name), append(called, names.apart(o.name, o.game+" "))
			}
		}
		m.ID, m.Also, m.Name = also[0], also[1:], strings.Join(called, ", ")
		m.Group = groups.apart(m.Group, m.Games[0]+"-")
		out = append(out, m.Mark)
	}
	return out
}

// games lists the first owners' games, each once.
func (s *markSet) games() []string {
	var out []string
	for _, m := range s.marks {
		if !slices.Contains(out, m.Games[0]) {
			out = append(out, m.Games[0])
		}
	}
	return out
}

// apart returns a word as it is where one goes by it, else with what tells them apart
// before it.
func (c claims) apart(word, before string) string {
	out := word
	for len(c[out]) > 1 || out != word && len(c[out]) > 0 {
		out = before + out
	}
	return out
}

// claims counts who goes by a word, each claimant once.
type claims map[string][]int

func (c claims) add(word string, by int) {
	if !slices.Contains(c[word], by) {
		c[word] = append(c[word], by)
	}
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
		return samePlace(a.X, a.Y, b.X, b.Y) && near(a.Radius, b.Radius, oneMark) &&
			near(float64(a.Start), float64(b.Start), mergeTol) && near(float64(a.End), float64(b.End), mergeTol)
	}
	return sameRing(a.Points, b.Points)
}

func samePlace(x1, y1, x2, y2 float64) bool {
	return math.Hypot(x1-x2, y1-y2) <= oneMark
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
