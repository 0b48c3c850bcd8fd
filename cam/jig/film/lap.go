package film

import (
	"fmt"
	"math"
	"slices"

	"spotjig/cam/jig"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// lap is one joint of a film jig, template frame: a tab of the joint's owner lies
// over the other piece.
type lap struct {
	j     *jig.Seam
	owner *jig.Piece    // of the tab
	foot  [2]geom.Point // the tab's ends on the seam
	tab   geom.Box      // what it covers of the other piece
	pins  [2]geom.Point
	apart float64       // the pins, once the lap is taken
	whole [2]geom.Point // the seam's ends as the pieces meet
	free  [2][]float64  // places for pins along the tab: clear of all marks, clear of spots
	near  []jig.Sample  // from which these are found when first asked for
}

// laps are those chosen so far, of both templates or of several plans.
type laps struct{ all []*lap }

// in reports whether the lap belongs to a template.
func (l *lap) in(tp *jig.Template) bool {
	for _, j := range tp.Seams {
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
// where they leave no way on. Where pins clear of every line leave none at all, lines give
// way to pins: their slots end short of them.
func layLaps(tp *jig.Template, lim jig.Limits, ls *laps) error {
	near := jig.Samples(tp, lim.JointClear+lim.Hole, lim.Web+lim.Half()+pinHole/2)
	var choices [][]*lap
	for _, j := range tp.Seams {
		choices = append(choices, lapChoices(tp, j, near, lim))
	}
	deepest := 0 // the seam that the search came no further than
	for _, clear := range []int{1, 2} {
		tries := 0
		var lay func(i int) bool
		lay = func(i int) bool {
			if i == len(tp.Seams) {
				return true
			}
			for _, l := range choices[i] {
				if tries++; tries > lapTries {
					return false
				}
				if !lapFits(tp, l, lim, ls) || !choosePins(l, l.pinPlaces(lim)[:clear], ls) {
					continue
				}
				takeLap(l, ls)
				if lay(i + 1) {
					return true
				}
				giveBackLap(l, ls)
			}
			deepest = max(deepest, i)
			return false
		}
		if lay(0) {
			return nil
		}
	}
	stuck := tp.Seams[deepest]
	return &jig.SizeError{Piece: fmt.Sprintf("the lap between %s and %s", stuck.A.ID, stuck.B.ID),
		NeedW: stuck.Length(), NeedH: lapDeep, UsableW: lim.BedW, UsableH: lim.BedH,
		Reason: "no lap with two pins keeps clear of the marks; use a larger bed"}
}

// takeLap makes a lap the seam's joint: from then on the seam is where the tab stands.
func takeLap(l *lap, ls *laps) {
	l.whole = [2]geom.Point{l.j.From, l.j.To}
	l.j.From, l.j.To, l.j.Pins = l.foot[0], l.foot[1], l.pins
	l.j.Owner, l.j.Other = l.owner, l.j.Neighbour(l.owner)
	l.j.Owner.Stands = append(l.j.Owner.Stands, l.tab)
	l.apart = l.pins[0].Dist(l.pins[1])
	l.j.Key = fmt.Sprintf("lap %g mm, pins %s mm apart", lapDeep, figure.Fixed(l.apart, 2))
	ls.all = append(ls.all, l)
}

func giveBackLap(l *lap, ls *laps) {
	l.j.From, l.j.To, l.j.Pins = l.whole[0], l.whole[1], [2]geom.Point{}
	s := l.j.Owner.Stands
	l.j.Owner.Stands = s[:len(s)-1]
	ls.all = ls.all[:len(ls.all)-1]
}

// insets are what a tab may stop short of its seam's two ends by, mm, in the order tried:
// nothing; a step, where two tabs would touch at a corner; the depth of another tab.
var insets = [][2]float64{{}, {tabStep, 0}, {0, tabStep}, {tabStep, tabStep},
	{lapDeep + tabStep, 0}, {0, lapDeep + tabStep}, {lapDeep + tabStep, lapDeep + tabStep}}

// lapChoices returns the ways to lap a joint clear of spots: with the tab on either piece,
// the one with fewer line samples under its tab first, over the whole seam or short of its
// ends.
func lapChoices(tp *jig.Template, j *jig.Seam, near []jig.Sample, lim jig.Limits) []*lap {
	area := geom.EmptyBox().Include(j.From).Include(j.To).Grow(lapDeep + lim.JointClear + lim.Hole + lim.Web + lim.Slot + pinHole)
	near = slices.DeleteFunc(append([]jig.Sample{}, near...), func(s jig.Sample) bool { return !area.Contains(s.At) })
	count := func(l *lap) int {
		n := 0
		for _, s := range near {
			if l.tab.Contains(s.At) {
				n++
			}
		}
		return n
	}
	var out []*lap
	for _, in := range insets {
		if in != [2]float64{} && j.Length()-in[0]-in[1] < pinLeast+2*(lim.Web+pinHole/2) {
			continue
		}
		a, b := newLap(j, j.A, in), newLap(j, j.B, in)
		if count(b) < count(a) {
			a, b = b, a
		}
		for _, l := range []*lap{a, b} {
			if l.clear(tp, lim) {
				l.near = near
				out = append(out, l)
			}
		}
	}
	return out
}

// clear reports whether a tab keeps clear of the spots and lies on the other piece.
func (l *lap) clear(tp *jig.Template, lim jig.Limits) bool {
	for _, e := range tp.Elements {
		if e.IsDot() && jig.BoxDist(l.tab, e.A) < lim.JointClear+lim.Hole {
			return false
		}
	}
	return l.j.Neighbour(l.owner).Box.Grow(jig.SeamTol).Holds(l.tab)
}

// newLap draws the tab that owner has on the seam: the seam's length less what it stops
// short by, but never a step of less than tabStep from the owner's corner.
func newLap(j *jig.Seam, owner *jig.Piece, inset [2]float64) *lap {
	k := 1 // the axis along the seam
	if math.Abs(j.Along().X) > 0.5 {
		k = 0
	}
	from, to := j.From.Add(j.Along().Scale(inset[0])), j.To.Add(j.Along().Scale(-inset[1]))
	if gap := jig.Axis(from, k) - jig.Axis(owner.Box.Min, k); gap > jig.SeamTol && gap < tabStep {
		from = from.Add(j.Along().Scale(tabStep - gap))
	}
	if gap := jig.Axis(owner.Box.Max, k) - jig.Axis(to, k); gap > jig.SeamTol && gap < tabStep {
		to = to.Add(j.Along().Scale(gap - tabStep))
	}
	deep := j.Out(owner).Scale(lapDeep)
	tab := geom.EmptyBox().Include(from).Include(to).Include(from.Add(deep)).Include(to.Add(deep))
	return &lap{j: j, owner: owner, foot: [2]geom.Point{from, to}, tab: tab}
}

// lapFits checks a tab against the bed and the laps that are already there.
func lapFits(tp *jig.Template, l *lap, lim jig.Limits, ls *laps) bool {
	if !lim.FitsBed(l.owner.Reach().Union(l.tab)) {
		return false
	}
	for _, o := range ls.all {
		if o.in(tp) && jig.BoxGap(l.tab, o.tab) < 1 {
			return false
		}
	}
	return true
}

// start is where the tab's middle line begins; places of pins count from there.
func (l *lap) start() geom.Point {
	mid := l.tab.Center()
	dir := l.j.Along()
	return mid.Add(dir.Scale(l.foot[0].Sub(mid).Dot(dir)))
}

// pinPlaces are the places along the tab where a pin keeps clear of all marks, and those
// where it keeps clear of spots.
func (l *lap) pinPlaces(lim jig.Limits) [][]float64 {
	if l.near == nil {
		return l.free[:]
	}
	from, dir := l.start(), l.j.Along()
	long, edge := l.foot[0].Dist(l.foot[1]), lim.Web+pinHole/2
	spots := slices.DeleteFunc(slices.Clone(l.near), func(s jig.Sample) bool { return !s.Spot })
	for s := edge; s <= long-edge+1e-9; s += pinStep / 2 {
		for k, keep := range [][]jig.Sample{l.near, spots} {
			if pinFree(from.Add(dir.Scale(s)), keep) {
				l.free[k] = append(l.free[k], s)
			}
		}
	}
	l.near = nil
	return l.free[:]
}

// choosePins puts two pins in the middle of the tab's depth, as far apart as
// they go, at a distance that no other joint has, and off the middle, so that a
// wrong or turned piece does not go on. Where no distance is left, the lettering
// alone tells the joints apart. Places are tried in turn.
func choosePins(l *lap, places [][]float64, ls *laps) bool {
	from, dir, long := l.start(), l.j.Along(), l.foot[0].Dist(l.foot[1])
	for _, free := range places {
		for _, unique := range []bool{true, false} {
			if a, b, ok := pinPair(free, long, unique, ls); ok {
				l.pins = [2]geom.Point{from.Add(dir.Scale(a)), from.Add(dir.Scale(b))}
				l.j.LettersOnly = !unique
				return true
			}
		}
	}
	return false
}

func pinFree(q geom.Point, near []jig.Sample) bool {
	for _, s := range near {
		if q.Dist(s.At) < s.Keep {
			return false
		}
	}
	return true
}

// pinPair picks the widest pair of places, which are in order, that is unlike every pair
// taken; of two as wide the first. From each place it looks back from the furthest, and no
// further than what it has.
func pinPair(free []float64, long float64, unique bool, ls *laps) (a, b float64, ok bool) {
	best := 0.0
	for i, s := range free {
		for k := len(free) - 1; k > i; k-- {
			t := free[k]
			gap := t - s
			if gap < pinLeast || gap < best+1e-9 {
				break
			}
			if unique && (math.Abs(s+t-long) < pinStep-1e-9 || ls.taken(gap)) {
				continue
			}
			a, b, best, ok = s, t, gap, true
			break
		}
	}
	return a, b, ok
}

// taken reports whether pins nearly this far apart are already in use.
func (ls *laps) taken(gap float64) bool {
	for _, o := range ls.all {
		if math.Abs(o.apart-gap) < pinStep-1e-9 {
			return true
		}
	}
	return false
}
