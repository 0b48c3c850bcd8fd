package path

import (
	"fmt"
	"math"

	"spotjig/layout/geom"
)

// guess estimates what it costs to go on with a contour: travel and, for a
// stroke, turning. It only ranks contours; the start itself is searched later.
func (b *blade) guess(c *contour) float64 {
	b.k.Offset = c.offset
	if c.layer >= Opening {
		_, d := c.shape.Nearest(b.at)
		return geom.Millionth(d)
	}
	_, cost := b.cheapestWay(c)
	return cost
}

// tooFar reports whether a contour's guess is certainly more than most: it is never less
// than the way to the box around it, of a stroke the tip's.
func (b *blade) tooFar(c *contour, most float64) bool {
	at := b.at
	if c.layer < Opening {
		at = at.Add(b.heading.Scale(-c.offset))
	}
	return !c.box.Grow(most + 1e-5).Contains(at)
}

// strokeWay is one way to go along a score or letter: from either end, or for a
// closed one from any vertex, forwards or back.
type strokeWay struct {
	at   geom.Point
	dir  geom.Vec // of the tip at the start
	seg  int      // closed: the vertex, in the direction drawn
	back bool
}

// waysOf lists the ways along a chain.
func waysOf(chain []geom.Segment, closed bool) []strokeWay {
	n := len(chain)
	if !closed {
		return []strokeWay{
			{at: chain[0].From, dir: chain[0].Tangent(0)},
			{at: chain[n-1].To, dir: chain[n-1].Tangent(1).Scale(-1), back: true},
		}
	}
	var out []strokeWay
	for i, s := range chain {
		out = append(out, strokeWay{s.From, s.Tangent(0), i, false},
			strokeWay{s.From, chain[(i+n-1)%n].Tangent(1).Scale(-1), i, true})
	}
	return out
}

// cheapestWay picks the way that costs least from where the blade is.
func (b *blade) cheapestWay(c *contour) (best strokeWay, low float64) {
	low = math.Inf(1)
	for _, w := range c.ways {
		away := b.at.Dist(w.at.Add(b.heading.Scale(b.k.Offset)))
		if away > low+1e-5 {
			continue // a turn only adds to it
		}
		turn := turnBetween(b.heading, w.dir)
		if cost := geom.Millionth(away + geom.Angle(strokeWeight*math.Abs(turn)).Degrees()); cost < low {
			best, low = w, cost
		}
	}
	return best, low
}

// strokeStart returns a score or letter's chain as travelled the cheapest way.
func (b *blade) strokeStart(c contour) []geom.Segment {
	w, _ := b.cheapestWay(&c)
	chain := c.chain
	if c.closed {
		chain = from(chain, station{seg: w.seg})
	}
	if w.back {
		return reversed(chain)
	}
	return chain
}

// strokeWeight: what a degree of turning costs between strokes, mm of travel. A
// letter's strokes lie close together and are turned to in place, so that less
// travel is worth giving up for it than between openings.
const strokeWeight = 0.05

// cut makes all passes of one contour.
func (b *blade) cut(c contour, p piece) error {
	if c.layer >= Opening {
		return b.cutClosed(c, p)
	}
	for pass := 1; pass <= c.setting.Passes; pass++ {
		way := b.strokeStart(c)
		t := b.open(c, pass, way[0].From.Add(b.heading.Scale(b.k.Offset)))
		t.enter(way[0].From, way[0].Tangent(0))
		firstMove := len(t.moves)
		for _, s := range way {
			t.follow(s)
		}
		b.close(t, c, pass, [2]int{firstMove, len(t.moves)})
	}
	return nil
}

// cutClosed cuts an opening or outline. Passes after the first go on in the
// groove where the overrun ended.
func (b *blade) cutClosed(c contour, p piece) error {
	if !b.canLift() && hasCorner(c.chain, b.k.SwivelMax) {
		return b.cutRuns(c, p)
	}
	st, ok := b.bestStart(c, p)
	if !ok {
		return fmt.Errorf("%w: %s %s %s: no place to start: no free edge, or no room in the waste for a run-in of %.2f mm on a profile without a skin depth",
			ErrKnife, c.layer, c.part, c.feature, b.runIn(0))
	}
	chain := from(c.chain, st.at)
	for pass := 1; pass <= c.setting.Passes; pass++ {
		t := b.begin(c, pass, st)
		firstMove := len(t.moves)
		for _, s := range chain {
			t.follow(s)
		}
		lastMove := len(t.moves)
		tail, again, _ := b.runOut(c, p, chain)
		for _, s := range tail {
			t.follow(s)
		}
		b.close(t, c, pass, [2]int{firstMove, lastMove})
		if again {
			chain = goOn(chain, tail)
			st = start{toward: b.heading, pivot: b.at}
		} else if pass < c.setting.Passes {
			st, _ = b.bestStart(c, p)
			chain = from(c.chain, st.at)
		}
	}
	return nil
}

// bestStart returns the cheapest start whose way in lies in waste, one past which the blade
// goes on without being raised where another would do as well.
func (b *blade) bestStart(c contour, p piece) (best start, found bool) {
	for _, st := range b.starts(c) {
		if c.barred(c.chain[st.at.seg].At(st.at.t)) {
			continue
		}
		if st.run == 0 && !b.canLift() && b.k.Offset*math.Abs(st.phi) >= swivelTol {
			continue
		}
		if found && st.tier > best.tier {
			break
		}
		if len(st.tip) > 0 && !b.fits(st, c, p) {
			continue
		}
		_, _, down := b.runOut(c, p, from(c.chain, st.at))
		if found && !down {
			continue
		}
		if best, found = st, true; down {
			break
		}
	}
	return best, found
}

// runOut returns the overrun after a closed cut: on along the cut's own
// beginning, round corners that the blade turns at while it is down (a tight arc cut as
// corners has one every few tenths of a millimetre), and whether it ended there; at a
// sharp corner straight on into the waste, where there is room. Where corners at which the
// blade is raised leave no room, it goes on round those too, and is not down all the way.
func (b *blade) runOut(c contour, p piece, chain []geom.Segment) (tail []geom.Segment, along, down bool) {
	if a := turnInto(chain, 0); a > smoothTol && a < math.Pi-smoothTol {
		u := chain[len(chain)-1].Tangent(1)
		s := geom.Segment{From: chain[0].From, To: chain[0].From.Add(u.Scale(b.overrun()))}
		if b.runsOut(s, c, p) {
			return []geom.Segment{s}, false, true
		}
	}
	tail = b.first(chain, b.overrun(), math.Max(smoothTol, float64(b.k.SwivelMax)))
	if lengthOf(tail) < b.overrun()-joinSlack {
		return b.first(chain, b.overrun(), math.Pi), true, false
	}
	return tail, true, true
}

// runsOut reports whether a straight way out of a cut lies in waste, and the pivot stays on
// the sheet.
func (b *blade) runsOut(s geom.Segment, c contour, p piece) bool {
	return b.inWaste(s.At(0.5), c, p, 0) && b.inWaste(s.To, c, p, 0) && b.onSheet(s.To.Add(s.Tangent(1).Scale(b.k.Offset)))
}

// goOn returns a closed chain as travelled from the end of its overrun.
func goOn(chain, tail []geom.Segment) []geom.Segment {
	n := len(tail)
	head := append([]geom.Segment(nil), tail...)
	rest := append([]geom.Segment(nil), chain[n:]...)
	if full := chain[n-1]; tail[n-1].Length() < full.Length()-joinSlack {
		_, after := full.Split(tail[n-1].Length() / full.Length())
		rest = append([]geom.Segment{after}, rest...)
	}
	return append(rest, head...)
}

// hasCorner reports whether a closed chain turns by more than that anywhere.
func hasCorner(chain []geom.Segment, most geom.Angle) bool {
	for i := range chain {
		if geom.Angle(math.Abs(turnInto(chain, i))) > most+1e-9 {
			return true
		}
	}
	return false
}

// cutRuns cuts a closed contour for a machine that cannot turn in the skin: the
// contour is broken at its sharp corners; each run comes in from the waste and
// runs out into it.
func (b *blade) cutRuns(c contour, p piece) error {
	n := len(c.chain)
	sharp := func(i int) bool {
		return geom.Angle(math.Abs(turnInto(c.chain, i%n))) > b.k.SwivelMax+1e-9
	}
	at := 0
	for !sharp(at) {
		at++
	}
	for pass := 1; pass <= c.setting.Passes; pass++ {
		for i := at; i < at+n; {
			st := b.cornerStarts(c, i%n)[0]
			run := []geom.Segment{c.chain[i%n]}
			for i++; !sharp(i); i++ {
				run = append(run, c.chain[i%n])
			}
			end := run[len(run)-1]
			out := geom.Segment{From: end.To, To: end.To.Add(end.Tangent(1).Scale(b.overrun()))}
			if st.run == 0 || !b.fits(st, c, p) || !b.runsOut(out, c, p) {
				return fmt.Errorf("%w: %s %s %s: no waste to lift clear and come in again at the corner %.2f, %.2f; give the profile a skin depth",
					ErrKnife, c.layer, c.part, c.feature, run[0].From.X, run[0].From.Y)
			}
			t := b.begin(c, pass, st)
			firstMove := len(t.moves)
			for _, s := range run {
				t.follow(s)
			}
			lastMove := len(t.moves)
			t.follow(out)
			b.close(t, c, pass, [2]int{firstMove, lastMove})
		}
	}
	return nil
}

// open starts an operation with the pivot at a place, the blade up.
func (b *blade) open(c contour, pass int, pivot geom.Point) *trace {
	depth := c.setting.Depth * float64(pass) / float64(c.setting.Passes)
	t := &trace{
		k: b.k, feedMax: b.req.Machine.FeedMax, feed: c.setting.Feed,
		depth: depth, skin: depth, at: pivot, z: b.k.ZUp, heading: b.heading,
	}
	if b.canLift() {
		t.lifts, t.skin = true, b.skin(depth)
	}
	return t
}

// begin goes in at a start and comes to the contour.
func (b *blade) begin(c contour, pass int, st start) *trace {
	t := b.open(c, pass, st.pivot)
	tip := st.tip
	if st.run > 0 {
		t.setZ(t.depth)
		if st.side != (geom.Vec{}) {
			t.run(st.pivot.Add(st.side.Scale(sideLeg*b.k.Offset)), st.side)
		}
		t.run(tip[0].To.Add(st.toward.Scale(b.k.Offset)), st.toward)
		tip = tip[1:]
	} else {
		t.enter(st.pivot.Add(b.heading.Scale(-b.k.Offset)), st.toward)
	}
	for _, s := range tip {
		t.follow(s)
	}
	return t
}

// close lifts the blade and files the operation; covers are the first and last
// move of the nominal contour.
func (b *blade) close(t *trace, c contour, pass int, covers [2]int) {
	t.setZ(b.k.ZUp)
	b.ops = append(b.ops, Op{
		Layer: c.layer, Part: c.part, Feature: c.feature, Closed: c.closed, Moves: t.moves, Pass: pass,
		First: covers[0], Last: covers[1],
		Turned: geom.Angle(t.turned), Lifts: t.lifted,
	})
	b.at, b.heading = t.at, t.heading
}
