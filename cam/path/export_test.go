package path

import "spotjig/layout/geom"

// Stop and Hop open the ordering routine to the tests.
type (
	Stop struct {
		Ways  []Hop
		After []int
	}
	Hop struct{ In, Out geom.Point }
)

func inner(stops []Stop) []stop {
	out := make([]stop, len(stops))
	for i, s := range stops {
		for _, h := range s.Ways {
			out[i].ways = append(out[i].ways, hop{h.In, h.Out})
		}
		out[i].after = s.After
	}
	return out
}

func outer(legs []leg) [][2]int {
	out := make([][2]int, len(legs))
	for i, l := range legs {
		out[i] = [2]int{l.stop, l.way}
	}
	return out
}

// Visit orders stops; each answer is a stop and its way.
func Visit(start geom.Point, stops []Stop) [][2]int { return outer(visit(start, inner(stops))) }

// VisitByImproving is Visit without the exact search.
func VisitByImproving(start geom.Point, stops []Stop) [][2]int {
	in := inner(stops)
	r := newRoute(start, in, nearest(start, in))
	r.improve()
	return outer(r.legs)
}

// VisitNearest is the nearest-neighbour order alone.
func VisitNearest(start geom.Point, stops []Stop) [][2]int {
	return outer(nearest(start, inner(stops)))
}

var Spread = spread
