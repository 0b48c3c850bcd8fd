package jig

import (
	"fmt"
	"math"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// lap is one joint of a film jig, template frame: a tab of the joint's owner lies
// over the other piece.
type lap struct {
	j    *joint
	foot [2]geom.Point // the tab's ends on the seam
	tab  geom.Box      // what it covers of the other piece
	pins [2]geom.Point
}

// laps are those chosen so far, of both templates.
type laps struct{ all []*lap }

// in reports whether the lap belongs to a template.
func (l *lap) in(tp *template) bool {
	for _, j := range tp.joints {
		if j == l.j {
			return true
		}
	}
	return false
}

// lapTries bounds the search for which side of each joint has the tab.
const lapTries = 20000

// layLaps chooses, for every joint, which piece has the tab and where the pins
// go. Tabs keep clear of spots, of each other, and fit the bed with their piece;
// the owner that disturbs fewer lines is tried first. Choices are taken back
// where they leave no way on.
func layLaps(tp *template, lim limits, ls *laps) error {
	near := samples(tp, lim.jointClear+lim.hole, lim.web+lim.slot/2+pinHole/2)
	tries := 0
	var stuck *joint
	var lay func(i int) bool
	lay = func(i int) bool {
		if i == len(tp.joints) {
			return true
		}
		j := tp.joints[i]
		for _, l := range lapChoices(j, near) {
			if tries++; tries > lapTries {
				return false
			}
			if !lapFits(tp, l, lim, ls) || !choosePins(l, near, lim, ls) {
				continue
			}
			takeLap(l, ls)
			if lay(i + 1) {
				return true
			}
			giveBackLap(l, ls)
		}
		stuck = j
		return false
	}
	if lay(0) {
		return nil
	}
	return &SizeError{Piece: fmt.Sprintf("the lap between %s and %s", stuck.a.id, stuck.b.id),
		NeedW: stuck.length(), NeedH: lapDeep, UsableW: lim.usableW, UsableH: lim.usableH,
		Reason: "no lap with two pins keeps clear of the marks; use a larger bed"}
}

func takeLap(l *lap, ls *laps) {
	l.j.owner, l.j.other = l.j.a, l.j.b
	if l.owner() == l.j.b {
		l.j.owner, l.j.other = l.j.b, l.j.a
	}
	l.j.owner.stands = append(l.j.owner.stands, l.tab)
	l.j.key = fmt.Sprintf("lap %g, pins %.3f apart", lapDeep, l.pins[0].Dist(l.pins[1]))
	ls.all = append(ls.all, l)
}

func giveBackLap(l *lap, ls *laps) {
	s := l.j.owner.stands
	l.j.owner.stands = s[:len(s)-1]
	ls.all = ls.all[:len(ls.all)-1]
}

// owner is the piece whose box does not hold the tab.
func (l *lap) owner() *piece {
	if l.j.a.box.Grow(seamTol).Holds(l.tab) {
		return l.j.b
	}
	return l.j.a
}

// lapChoices returns the two ways to lap a joint, the one with fewer line
// samples under its tab first.
func lapChoices(j *joint, near []sample) []*lap {
	a, b := newLap(j, j.a), newLap(j, j.b)
	count := func(l *lap) int {
		n := 0
		for _, s := range near {
			if l.tab.Contains(s.at) {
				n++
			}
		}
		return n
	}
	if count(b) < count(a) {
		return []*lap{b, a}
	}
	return []*lap{a, b}
}

// newLap draws the tab that owner has on the seam: the seam's full length, but
// never a step of less than tabStep from the owner's corner.
func newLap(j *joint, owner *piece) *lap {
	n := j.into()
	if owner == j.b {
		n = n.Scale(-1)
	}
	k := 1 // the axis along the seam
	if math.Abs(j.along().X) > 0.5 {
		k = 0
	}
	from, to := j.from, j.to
	if gap := axis(from, k) - axis(owner.box.Min, k); gap > seamTol && gap < tabStep {
		from = from.Add(j.along().Scale(tabStep - gap))
	}
	if gap := axis(owner.box.Max, k) - axis(to, k); gap > seamTol && gap < tabStep {
		to = to.Add(j.along().Scale(gap - tabStep))
	}
	deep := n.Scale(lapDeep)
	tab := geom.EmptyBox().Include(from).Include(to).Include(from.Add(deep)).Include(to.Add(deep))
	return &lap{j: j, foot: [2]geom.Point{from, to}, tab: tab}
}

// lapFits checks a tab against the bed, the spots, the other piece and the laps
// that are already there.
func lapFits(tp *template, l *lap, lim limits, ls *laps) bool {
	owner := l.owner()
	other := l.j.a
	if owner == other {
		other = l.j.b
	}
	if !lim.fitsBed(owner.reach().Union(l.tab)) || !other.box.Grow(seamTol).Holds(l.tab) {
		return false
	}
	for _, e := range tp.elements {
		if e.kind == layout.Spot && boxDist(l.tab, e.a) < lim.jointClear+lim.hole {
			return false
		}
	}
	for _, o := range ls.all {
		if o.in(tp) && boxGap(l.tab, o.tab) < 1 {
			return false
		}
	}
	return true
}

// choosePins puts two pins in the middle of the tab's depth, as far apart as
// they go, at a distance that no other joint has, and off the middle, so that a
// wrong or turned piece does not go on. Where no distance is left, the lettering
// alone tells the joints apart.
func choosePins(l *lap, near []sample, lim limits, ls *laps) bool {
	mid := l.tab.Center()
	dir := l.j.along()
	from := mid.Add(dir.Scale(l.foot[0].Sub(mid).Dot(dir)))
	long := l.foot[0].Dist(l.foot[1])
	edge := lim.web + pinHole/2
	var free []float64
	for s := edge; s <= long-edge+1e-9; s += pinStep / 2 {
		if pinFree(from.Add(dir.Scale(s)), near) {
			free = append(free, s)
		}
	}
	for _, unique := range []bool{true, false} {
		if a, b, ok := pinPair(free, long, unique, ls); ok {
			l.pins = [2]geom.Point{from.Add(dir.Scale(a)), from.Add(dir.Scale(b))}
			l.j.lettersOnly = !unique
			return true
		}
	}
	return false
}

func pinFree(q geom.Point, near []sample) bool {
	for _, s := range near {
		if q.Dist(s.at) < s.keep {
			return false
		}
	}
	return true
}

// pinPair picks the widest pair of places that is unlike every pair taken.
func pinPair(free []float64, long float64, unique bool, ls *laps) (a, b float64, ok bool) {
	best := 0.0
	for i, s := range free {
		for _, t := range free[i+1:] {
			gap := t - s
			if gap < pinLeast || gap < best+1e-9 {
				continue
			}
			if unique && (math.Abs(s+t-long) < pinStep-1e-9 || pinsTaken(gap, ls)) {
				continue
			}
			a, b, best, ok = s, t, gap, true
		}
	}
	return a, b, ok
}

// pinsTaken reports whether pins nearly this far apart are already in use.
func pinsTaken(gap float64, ls *laps) bool {
	for _, o := range ls.all {
		if math.Abs(o.pins[0].Dist(o.pins[1])-gap) < pinStep-1e-9 {
			return true
		}
	}
	return false
}
