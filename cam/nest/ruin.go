package nest

import (
	"cmp"
	"slices"
)

// How an answer is made better
//
// From two or three sheets some pieces are taken off, the rest laid again, and what is
// loose laid where there is a place for it, on the fullest sheet first ("ruin and
// recreate": G. Schrimpf and others, Record Breaking Optimization Results, 2000). An answer
// that fills its sheets a little less evenly is kept too, less and less so, for the way to
// a better one may lead over it; one with more sheets never is.

// chance is a row of numbers that look like chance and are the same on every processor
// (splitmix64: Steele, Lea, Flood, Fast Splittable Pseudorandom Number Generators, 2014).
type chance uint64

// below is the next, from 0 to n-1.
func (c *chance) below(n int) int {
	*c += 0x9E3779B97F4A7C15
	z := uint64(*c)
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	return int((z ^ z>>31) >> 33 % uint64(n))
}

// once is true one time in n.
func (c *chance) once(n int) bool { return c.below(n) == 0 }

// stirred moves one of a list elsewhere.
func (c *chance) stirred(list []int) []int {
	if len(list) < 2 {
		return list
	}
	i := c.below(len(list))
	it := list[i]
	return slices.Insert(slices.Delete(list, i, i+1), c.below(len(list)), it)
}

// rebuilt is an answer with some sheets laid anew. Stock is taken in that order.
func (s *search) rebuilt(l layout, pref []int, c *chance) layout {
	out := layout{trays: slices.Clone(l.trays)}
	loose := slices.Clone(l.off)
	for _, i := range toRuin(l.trays, c) {
		t, off := s.thinned(l.trays[i], c)
		out.trays[i], loose = t, append(loose, off...)
	}
	out.trays = slices.DeleteFunc(out.trays, func(t *tray) bool { return len(t.laid) == 0 })
	slices.SortStableFunc(out.trays, func(a, b *tray) int { return -cmp.Compare(a.full, b.full) })
	key := orders[c.below(len(orders))]
	slices.SortStableFunc(loose, func(a, b int) int {
		if d := cmp.Compare(key(s.item[a]), key(s.item[b])); d != 0 {
			return -d
		}
		return a - b
	})
	if c.once(2) {
		loose = c.stirred(loose)
	}
	used := make([]int, len(s.stock))
	for _, t := range out.trays {
		used[t.stock]++
	}
	for _, it := range loose {
		if s.onOne(out.trays, it) {
			continue
		}
		s.onNew(&out, it, pref, used, push(c.below(int(corner)+1)))
	}
	s.smaller(out.trays, used)
	out.score = s.scored(out)
	return out
}

// toRuin are the sheets to take pieces from: often the emptiest, and one or two others.
func toRuin(trays []*tray, c *chance) []int {
	n := len(trays)
	first := c.below(n)
	if c.once(2) {
		for i, t := range trays {
			if t.full < trays[first].full {
				first = i
			}
		}
	}
	out := []int{first}
	for m := 1 + c.below(2); m > 0; m-- {
		if i := c.below(n); !slices.Contains(out, i) {
			out = append(out, i)
		}
	}
	return out
}

// thinned is a tray without some of its pieces, the rest laid again, and those pieces.
func (s *search) thinned(t *tray, c *chance) (out *tray, off []int) {
	way := t.way
	if c.once(3) {
		way = push(c.below(int(corner) + 1))
	}
	var keep []int
	for n, i := 2+c.below(4), 0; i < len(t.laid); i++ {
		if it := t.laid[i].item; c.once(n) {
			off = append(off, it)
		} else {
			keep = append(keep, it)
		}
	}
	if c.once(3) {
		keep = c.stirred(keep)
	}
	out = s.empty(t.stock, way)
	for _, it := range keep {
		if next := s.with(out, it); next != nil {
			out = next
		} else {
			off = append(off, it)
		}
	}
	return out, off
}
