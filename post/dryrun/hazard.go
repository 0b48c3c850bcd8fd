package dryrun

import (
	"fmt"
	"math"
	"sort"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// excess is how often and how far one limit of travel is passed.
type excess struct {
	count     int64
	line      int64 // the first
	col       int
	worstLine int64
	worst     float64
}

// outside reports whether p lies past the travel.
func (j *judge) outside(p read.Point) bool {
	return p[0] < j.min[0] || p[0] > j.max[0] || p[1] < j.min[1] || p[1] > j.max[1] || p[2] < j.min[2] || p[2] > j.max[2]
}

// travel notes a move whose box reaches past the travel.
func (j *judge) travel(e *read.Event, a, b read.Point) {
	for i := range a {
		j.over[i][0].note(e, i, math.Min(a[i], b[i]), j.min[i], -1)
		j.over[i][1].note(e, i, math.Max(a[i], b[i]), j.max[i], 1)
	}
}

func (x *excess) note(e *read.Event, axis int, v, limit, sign float64) {
	if sign*(v-limit) <= 0 {
		return
	}
	if x.count++; x.count == 1 {
		x.line, x.col, x.worstLine, x.worst = e.Line, columnOf(e, axis), e.Line, v
	} else if sign*(v-x.worst) > 0 {
		x.worstLine, x.worst = e.Line, v
	}
}

// columnOf is the column of the axis word, or of the line's first word.
func columnOf(e *read.Event, axis int) int {
	if c := e.Cols[axis]; c > 0 {
		return int(c)
	}
	return int(e.Col)
}

// travelProblems returns one problem for each limit of travel that was passed.
func (j *judge) travelProblems() []Problem {
	var out []Problem
	for i := range j.over {
		for side, x := range j.over[i] {
			if x.count == 0 {
				continue
			}
			limit, word := j.min[i]+tinyOver, "below the lower"
			if side == 1 {
				limit, word = j.max[i]-tinyOver, "past the upper"
			}
			p := Problem{Line: x.line, Col: x.col, Code: Travel, Severity: severity(Travel), Count: x.count, Help: remedy(Travel)}
			p.number(x.worst, limit, "mm")
			p.Text = fmt.Sprintf("%c reaches %.3f mm, %.3f mm %s limit of %.3f mm; first on line %d, worst on line %d",
				'X'+i, x.worst, math.Abs(x.worst-limit), word, limit, x.line, x.worstLine)
			out = append(out, p)
		}
	}
	return out
}

func boxOf(a, b read.Point) [2]read.Point {
	for i := range a {
		a[i], b[i] = math.Min(a[i], b[i]), math.Max(a[i], b[i])
	}
	return [2]read.Point{a, b}
}

// keepOut judges a straight move against the zones.
func (j *judge) keepOut(e *read.Event, from read.Point) {
	box := boxOf(from, e.To)
	for _, z := range j.zones {
		lo, hi := corners(z)
		if !overlap(box, lo, hi) || e.Kind == read.Line && !crosses(from, e.To, lo, hi) {
			continue
		}
		j.inZone(e, z)
	}
}

func (j *judge) inZone(e *read.Event, z machine.Zone) {
	what := "the cut"
	if e.Kind == read.Rapid {
		what = "the rapid, whose axes need not move together,"
	}
	j.report(KeepOut, firstWord(e), "%s may pass through the keep-out zone %q", what, z.Name)
}

// corners returns a zone's corners. A zone given in plan only, with no extent in Z, reaches from floor to roof.
func corners(z machine.Zone) (lo, hi read.Point) {
	lo, hi = read.Point{z.Min.X, z.Min.Y, z.Min.Z}, read.Point{z.Max.X, z.Max.Y, z.Max.Z}
	if lo[2] >= hi[2] {
		lo[2], hi[2] = math.Inf(-1), math.Inf(1)
	}
	return lo, hi
}

// overlap reports whether the insides of a box, grown to have one, and a zone meet.
func overlap(box [2]read.Point, lo, hi read.Point) bool {
	for i := range lo {
		if box[0][i] >= hi[i]-tinyOver || box[1][i] <= lo[i]+tinyOver {
			return false
		}
	}
	return true
}

// crosses reports whether the line from a to b passes through the inside of the zone:
// the part of it inside each pair of faces in turn is cut off until none is left.
func crosses(a, b, lo, hi read.Point) bool {
	from, to := 0.0, 1.0
	for i := range a {
		d := b[i] - a[i]
		l, h := lo[i]+tinyOver, hi[i]-tinyOver
		if d == 0 {
			if a[i] <= l || a[i] >= h {
				return false
			}
			continue
		}
		s, t := (l-a[i])/d, (h-a[i])/d
		from, to = math.Max(from, math.Min(s, t)), math.Min(to, math.Max(s, t))
	}
	return from < to
}

// keepOutArc judges an arc against the zones.
func (j *judge) keepOutArc(e *read.Event, c *read.Curve) {
	box := c.Box()
	for _, z := range j.zones {
		lo, hi := corners(z)
		if overlap(box, lo, hi) && arcCrosses(c, lo, hi) {
			j.inZone(e, z)
		}
	}
}

// arcCrosses reports whether an arc or helix passes through the inside of a zone. Each of
// the zone's faces cuts the arc in two places at most; between two neighbours of all those
// places the arc is inside or outside as a whole, as its middle tells. Where the radii of
// the ends differ the zone is grown by the difference, as the arc's box is.
func arcCrosses(c *read.Curve, lo, hi read.Point) bool {
	u, v, n := c.Plane.Axes()
	grow := math.Abs(c.Radius - c.RadiusTo)
	for _, i := range [2]int{u, v} {
		lo[i], hi[i] = lo[i]-grow, hi[i]+grow
	}
	from := math.Atan2(c.From[v]-c.Center[v], c.From[u]-c.Center[u])
	var cuts [14]float64
	cuts[1] = 1
	count := 2
	add := func(t float64) {
		if t > 0 && t < 1 {
			cuts[count] = t
			count++
		}
	}
	atAngle := func(a float64) {
		t := math.Mod((a-from)/c.Sweep, math.Abs(2*math.Pi/c.Sweep))
		if t < 0 {
			t += math.Abs(2 * math.Pi / c.Sweep)
		}
		add(t)
	}
	for _, faces := range [2]read.Point{lo, hi} {
		if q := (faces[u] - c.Center[u]) / c.Radius; math.Abs(q) <= 1 {
			atAngle(math.Acos(q))
			atAngle(-math.Acos(q))
		}
		if q := (faces[v] - c.Center[v]) / c.Radius; math.Abs(q) <= 1 {
			atAngle(math.Asin(q))
			atAngle(math.Pi - math.Asin(q))
		}
		if rise := c.To[n] - c.From[n]; rise != 0 {
			add((faces[n] - c.From[n]) / rise)
		}
	}
	sort.Float64s(cuts[:count])
	for i := 1; i < count; i++ {
		m := c.At((cuts[i-1] + cuts[i]) / 2)
		if overlap([2]read.Point{m, m}, lo, hi) {
			return true
		}
	}
	return false
}

// sheet judges a move's box against the sheet and the mat.
func (j *judge) sheet(e *read.Event, box [2]read.Point, on bool) {
	low, end := box[0][2], box[0][2]
	if e.Kind != read.Arc {
		end = e.To[2] // where it came from was judged before
	}
	if j.hasFloor && end < j.floor-tinyOver {
		j.report(BelowFloor, axisWord(e, 2).of(end, j.floor, "mm"), "Z reaches %.3f mm, %.3f mm below the floor of %.3f mm", end, j.floor-end, j.floor)
	}
	s := j.stock
	if s == nil {
		return
	}
	if !j.hasFloor && s.Min.Z < s.Max.Z && end < s.Min.Z-tinyOver {
		j.report(ThroughSheet, axisWord(e, 2).of(end, s.Min.Z, "mm"), "Z reaches %.3f mm, %.3f mm below the underside of the sheet", end, s.Min.Z-end)
	}
	works := on || !j.laser && e.Kind != read.Rapid && low < s.Max.Z-tinyOver || j.m == nil && e.Kind != read.Rapid
	if !works {
		return
	}
	lo, hi := [2]float64{s.Min.X, s.Min.Y}, [2]float64{s.Max.X, s.Max.Y}
	for i := range lo {
		v, limit := box[0][i], lo[i]
		if hi[i] < box[1][i]-tinyOver {
			v, limit = box[1][i], hi[i]
		} else if v >= limit-tinyOver {
			continue
		}
		j.report(OffStock, axisWord(e, i).of(v, limit, "mm"), "%c reaches %.3f mm while cutting, %.3f mm off the sheet, which ends at %.3f mm", 'X'+i, v, math.Abs(v-limit), limit)
		return
	}
}

// tooFast reports a feed over the machine's.
func (j *judge) tooFast(e *read.Event) {
	limit := j.m.FeedMax.PerMinute()
	j.report(FeedOver, firstWord(e).of(e.Feed*60, limit, "mm/min"), "feed %.0f mm/min is over the machine's %.0f mm/min", e.Feed*60, limit)
}
