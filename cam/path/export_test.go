package path

import (
	"math"

	"spotjig/layout/geom"
)

// Reach is how far the middle of the cut may stray from an outline: half a kerf and the
// lead-in at 45 degrees, mm.
func (r Request) Reach() float64 { return r.Material.Kerf/2 + r.lead()*math.Sqrt2/2 }

// Reach is how far beyond an outline the pivot goes when it comes to it by a run-in at 30
// degrees with the blade already on its heading, mm.
func (r KnifeRequest) Reach() float64 {
	b := blade{req: r, k: r.Machine.Knife}
	sin, cos := (30 * geom.Degree).SinCos()
	return b.leadRadius()*(1-cos) + b.runIn(0)*sin + b.k.Offset + wasteGap
}

// Next is the place in a batch of what Knife would cut next, from a place, with the blade
// turned, after what stood at another place in the batch; plain is what a look at every
// guess comes to, one after the other.
func (r KnifeRequest) Next(batch, after int, at geom.Point, heading geom.Vec) (picked, plain int, err error) {
	pieces, err := gatherPieces(r)
	if err != nil {
		return 0, 0, err
	}
	b := blade{req: r, k: r.Machine.Knife, pieces: pieces, at: at, heading: heading}
	low := math.Inf(1)
	left := b.batches()[batch]
	for i, c := range left {
		if v := b.guess(c); !b.waits(c) && v < low {
			plain, low = i, v
		}
	}
	return b.cheapest(left, after), plain, nil
}

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
func Visit(start geom.Point, stops []Stop) [][2]int {
	return outer(visit([]geom.Point{start}, inner(stops), nil))
}

// VisitByImproving is Visit without the exact search.
func VisitByImproving(start geom.Point, stops []Stop) [][2]int {
	in := inner(stops)
	r := newRoute(start, in, nearest(start, in))
	r.improve()
	r.shake()
	return outer(r.legs)
}

// VisitStrokes is Visit of strokes, without the exact search.
func VisitStrokes(start geom.Point, stops []Stop) [][2]int {
	in := inner(stops)
	return outer(draw([]geom.Point{start}, in, nearest(start, in), nil))
}

// VisitNearest is the nearest-neighbour order alone.
func VisitNearest(start geom.Point, stops []Stop) [][2]int {
	return outer(nearest(start, inner(stops)))
}

var Spread = spread

// Batches are a sheet's stops, batch by batch, as Laser visits them.
func Batches(r Request) ([][]Stop, error) {
	pieces, err := r.pieces()
	if err != nil {
		return nil, err
	}
	for i := range pieces {
		if err := r.plan(&pieces[i], pieces); err != nil {
			return nil, err
		}
	}
	var out [][]Stop
	for _, b := range batches(pieces) {
		var stops []Stop
		for _, s := range b.stops() {
			t := Stop{After: s.after}
			for _, w := range s.ways {
				t.Ways = append(t.Ways, Hop{w.in, w.out})
			}
			stops = append(stops, t)
		}
		if len(stops) > 0 {
			out = append(out, stops)
		}
	}
	return out, nil
}
