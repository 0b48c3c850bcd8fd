package path

import (
	"math"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// trace writes one operation: the pivot's moves for a path of the tip.
type trace struct {
	k       machine.KnifeProfile
	feedMax machine.Feed
	feed    machine.Feed // of the tip
	depth   float64      // Z of this pass
	skin    float64      // Z of turns made lifted
	lifts   bool         // whether turns beyond SwivelMax are made lifted
	moves   []Move
	at      geom.Point // the pivot
	z       float64
	heading geom.Vec // unit, tip to pivot
	turned  float64  // sum of all swivels, radians
	lifted  int      // swivels made lifted
}

// nearSheet: how far above the sheet a descent from higher up slows to the plunge
// feed, mm; film and card may stand up from the mat by some of it.
const nearSheet = 0.5

// setZ moves the blade up or down on the spot. A descent is quick to just above
// the sheet.
func (t *trace) setZ(z float64) {
	if z == t.z {
		return
	}
	if t.z > nearSheet && z < nearSheet {
		t.moves = append(t.moves, Move{Segment: geom.Segment{From: t.at, To: t.at}, Z: nearSheet, Feed: t.k.Lift})
		t.z = nearSheet
	}
	feed := t.k.Lift
	if z < t.z {
		feed = t.k.Plunge
	}
	t.moves = append(t.moves, Move{Segment: geom.Segment{From: t.at, To: t.at}, Z: z, Feed: feed})
	t.z = z
}

// run moves the pivot without regard to the blade: a run-in.
func (t *trace) run(to geom.Point, heading geom.Vec) {
	t.moves = append(t.moves, Move{Segment: geom.Segment{From: t.at, To: to}, Z: t.z, Feed: t.feed})
	t.at, t.heading = to, heading
}

// follow leads the tip along a segment, with a swivel at its start if needed.
func (t *trace) follow(s geom.Segment) {
	t.swivel(s.From, s.Tangent(0))
	t.setZ(t.depth)
	end := s.Tangent(1)
	to := s.To.Add(end.Scale(t.k.Offset))
	feed := t.feed
	if s.IsArc() {
		q := t.k.Offset / s.Radius()
		feed = machine.Feed(float64(feed) * math.Sqrt(1+q*q))
		if t.feedMax > 0 && feed > t.feedMax {
			feed = t.feedMax
		}
	}
	t.moves = append(t.moves, Move{Segment: geom.Segment{From: t.at, To: to, Bulge: s.Bulge}, Z: t.z, Feed: feed})
	t.at, t.heading = to, end
}

// swivel turns the blade about its tip to a new heading; the pivot swings on a
// radius of d.
func (t *trace) swivel(tip geom.Point, to geom.Vec) {
	a := turnBetween(t.heading, to)
	if t.k.Offset*math.Abs(a) < swivelTol {
		t.heading = to
		return
	}
	lift := t.lifts && geom.Angle(math.Abs(a)) > t.k.SwivelMax+1e-9
	if lift {
		t.setZ(t.skin)
	}
	t.swing(tip, a, to, lift)
}

// enter plunges at the start of a cut and turns the blade there, in the skin,
// to the heading of the cut.
func (t *trace) enter(tip geom.Point, to geom.Vec) {
	a := turnBetween(t.heading, to)
	if t.k.Offset*math.Abs(a) >= swivelTol {
		t.setZ(t.skin)
		t.swing(tip, a, to, t.skin > t.depth)
	}
	t.heading = to
	t.setZ(t.depth)
}

// swing writes the pivot's swing about the tip; a is the turn from the present
// heading to the new one.
func (t *trace) swing(tip geom.Point, a float64, to geom.Vec, lift bool) {
	end := tip.Add(to.Scale(t.k.Offset))
	bulge := math.Tan(a / 4)
	if t.at.Dist(end) < arcChordMin && math.Abs(a) < 1 {
		bulge = 0
	}
	t.moves = append(t.moves, Move{Segment: geom.Segment{From: t.at, To: end, Bulge: bulge}, Z: t.z, Feed: t.k.Swivel, Lift: lift})
	t.at, t.heading = end, to
	t.turned += math.Abs(a)
	if lift {
		t.lifted++
	}
}
