package jig

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// A range of lengths, by leaves behind shoes.
//
// On a table longer by d a mark's rule moves it by a share of d against its own end nose:
// by nothing where the rule is a figure, by a quarter at L/4, by an eleventh at L/11. A
// template is moved as a whole, by the leaves between its end fins and the shoes that touch
// the nose, both alike: LeavesEach where the table is as long as the jig was made for, one
// more for each LeafThick that the template is to stand further off. So a setting fits marks
// whose shares are near each other, and those of one template that would disagree by more
// than settingApart at an end of the range have a setting each: they are marked one after
// the other, the leaves changed in between. What a setting leaves is in every mark's budget.
//
// Worked example: head string at L/4, table 5 mm longer. The line belongs 1.25 mm further
// from the nose; five leaves instead of three move it by 1.0, and 0.25 mm are left.
const (
	LeafThick    = 0.5          // mm of a leaf: sheet that shops for models and tools sell
	LeavesEach   = 3            // leaves of a setting, either way
	LeafSize     = "18 x 20 mm" // as wide as a shoe
	settingApart = 0.25         // mm
	leavesPM     = 0.1          // mm a shoe stands off where its leaves should have it: a stack by caliper, and a shoe that rocks (common practice)
	rangeStep    = 0.1          // mm; lengths are told in tenths
)

// Shod reports whether end fins stand on shoes: one template for one table needs none.
func Shod(want job.Jig) bool { return want.Settings && want.For != job.ForThis }

// Setting says how many leaves stand behind the shoes of a template while some of its
// marks are marked.
type Setting struct {
	Template string
	Marks    []string
	Rows     []SettingRow
}

// SettingRow is a stretch of measured length, both ends inside it, mm.
type SettingRow struct {
	Leaves   int     // behind each shoe of the template
	From, To float64 //
	Left     float64 // how far it leaves any of the marks from its rule, at most
}

// Shift is how much further from the nose the leaves have a template stand, mm.
func (r SettingRow) Shift() float64 { return LeafThick * float64(r.Leaves-LeavesEach) }

// settings are those of a whole jig, and the lengths that they serve.
type settings struct {
	list   []Setting
	serves [2]float64
}

// follower is a mark of one template: what moves it, and the shares of a difference of
// length by which the template would have to follow.
type follower struct {
	end, mark string
	places    []place
	lo, hi    float64
	any       bool // moving the template along the table does nothing to it
}

// place is a point of an element, and how that drifts there.
type place struct {
	e     *Element
	p     geom.Point
	drift geom.Vec
}

// followers lists the marks of all templates.
func followers(all []*Template, req Request) []*follower {
	var out []*follower
	for _, tp := range all {
		at := map[string]*follower{}
		for i := range tp.Elements {
			e := &tp.Elements[i]
			if e.mark == reversedSpot(req) {
				continue // by reversal its setting does nothing: it is the same from both ends
			}
			f := at[e.mark]
			if f == nil {
				f = &follower{end: tp.End, mark: e.mark, lo: math.Inf(1), hi: math.Inf(-1)}
				at[e.mark] = f
				out = append(out, f)
			}
			for _, p := range append(e.probes(), e.farAlong()...) {
				at := place{e, p, e.drift(p)}
				f.places = append(f.places, at)
				if by := e.square(p, geom.Vec{X: 1}); by.Len() > leastMoved {
					share := at.drift.Dot(by) / by.Dot(by)
					f.lo, f.hi = math.Min(f.lo, share), math.Max(f.hi, share)
				}
			}
		}
	}
	for _, f := range out {
		f.any = f.lo > f.hi
	}
	return out
}

// farAlong are the points of an arc at which moving it along the table moves its line most:
// between two probes it may be a few thousandths more than at either.
func (e Element) farAlong() (out []geom.Point) {
	const half = 180 * geom.Degree
	for k := math.Ceil(float64(e.Start / half)); e.IsArc() && geom.Angle(k)*half <= e.End; k++ {
		out = append(out, e.On(geom.Angle(k)*half))
	}
	return out
}

// leastMoved: a line that moves square to itself by less than this share of what its
// template is moved does not care.
const leastMoved = 0.2

// left is how far off a mark is on a table longer by so much, its template moved by a shift:
// the largest over its points, each square to its line.
func (f *follower) left(longer, shift float64) float64 {
	most := 0.0
	for _, at := range f.places {
		most = math.Max(most, at.left(longer, shift).Len())
	}
	return most
}

// left is the same of one point.
func (at place) left(longer, shift float64) geom.Vec {
	return at.drift.Scale(longer).Add(at.e.square(at.p, geom.Vec{X: -shift}))
}

// alike gathers the marks of each template whose shares lie so near each other that one
// setting does for all of them as far as a range reaches.
func alike(all []*follower, reach float64) [][]*follower {
	var out [][]*follower
	for _, end := range []string{Head, Foot} {
		var own, free []*follower
		for _, f := range all {
			switch {
			case f.end != end:
			case f.any:
				free = append(free, f)
			default:
				own = append(own, f)
			}
		}
		sort.SliceStable(own, func(i, k int) bool { return own[i].lo < own[k].lo-leastShare })
		from := len(out)
		for _, f := range own {
			if n := len(out); n > from && (f.hi-out[n-1][0].lo)*reach <= settingApart+leastShare {
				out[n-1] = append(out[n-1], f)
				continue
			}
			out = append(out, []*follower{f})
		}
		switch {
		case len(free) == 0:
		case len(out) > from:
			out[from] = append(out[from], free...)
		default:
			out = append(out, free)
		}
	}
	return out
}

// share is what marks of one setting follow together.
func share(of []*follower) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, f := range of {
		if !f.any {
			lo, hi = math.Min(lo, f.lo), math.Max(hi, f.hi)
		}
	}
	if lo > hi {
		return 0
	}
	return (lo + hi) / 2
}

// leavesFor is the setting for a share of a difference of length.
func leavesFor(share, longer float64) int {
	steps := math.Round(math.Round(share*longer/LeafThick*1e6) / 1e6) // a tie is one on every processor
	return LeavesEach + int(math.Max(-LeavesEach, math.Min(LeavesEach, steps)))
}

// planSettings plans the settings of a jig: how far they reach while no mark is further
// from its rule than it may, and the table of them.
func planSettings(all []*Template, req Request, may func(id string) float64) *settings {
	marks := followers(all, req)
	reach := classMost
	for _, f := range marks {
		if s := math.Max(math.Abs(f.lo), math.Abs(f.hi)); !f.any && s > leastShare {
			reach = math.Min(reach, (LeavesEach*LeafThick+may(f.mark))/s)
		}
	}
	groups := alike(marks, reach)
	give := 0.0
	for steps := 1; float64(steps)*rangeStep <= reach+leastShare; steps++ {
		longer := float64(steps) * rangeStep
		if !follow(groups, longer, may) || !follow(groups, -longer, may) {
			break
		}
		give = longer
	}
	out := &settings{serves: req.about(give)}
	for _, g := range groups {
		out.list = append(out.list, tabled(g, out.serves, req.Table.L))
	}
	return out
}

// settingsWithin are the settings that leave every mark within the tolerance stated for it.
// What its likely error leaves of that is more than they may leave: what they leave adds to
// what shoes and leaves do to the mark, one cause of error, before causes combine.
func settingsWithin(all []*Template, lim Limits, req Request) *settings {
	may := mayMove(all, lim, req)
	req.settings = planSettings(all, req, may)
	if !req.Want.ToleranceStated && req.Want.Tolerances == nil {
		return req.settings
	}
	req.bare = true
	over := map[string]float64{}
	for range overMost {
		within := true
		for _, b := range budgets(all, lim, req, nil) {
			// In hundredths, so that every processor takes off alike.
			if off := b.Likely - b.Tolerance; b.stated && off > -1e-6 && may(b.Mark) > over[b.Mark] {
				over[b.Mark] += math.Max(1, math.Ceil(off*100-1e-4)) / 100
				within = false
			}
		}
		if within {
			break
		}
		req.settings = planSettings(all, req, func(id string) float64 { return math.Max(0, may(id)-over[id]) })
	}
	return req.settings
}

// overMost is how often settings are planned anew, each time for a shorter range of lengths.
const overMost = 8

// follow reports whether every mark, each group by its setting, is as near its rule as it may
// be on a table longer by so much.
func follow(groups [][]*follower, longer float64, may func(id string) float64) bool {
	for _, g := range groups {
		shift := SettingRow{Leaves: leavesFor(share(g), longer)}.Shift()
		for _, f := range g {
			if f.left(longer, shift) > may(f.mark)+leastShare {
				return false
			}
		}
	}
	return true
}

// tabled is the table of one setting over a range of lengths.
func tabled(g []*follower, serves [2]float64, l float64) Setting {
	s := Setting{Template: g[0].end}
	for _, f := range g {
		s.Marks = append(s.Marks, f.mark)
	}
	for i := 0; ; i++ {
		at := math.Min(serves[0]+float64(i)*rangeStep, serves[1])
		if n := leavesFor(share(g), at-l); len(s.Rows) == 0 || s.Rows[len(s.Rows)-1].Leaves != n {
			s.Rows = append(s.Rows, SettingRow{Leaves: n, From: at})
		}
		row := &s.Rows[len(s.Rows)-1]
		row.To = at
		for _, f := range g {
			row.Left = math.Max(row.Left, f.left(at-l, row.Shift()))
		}
		if at >= serves[1]-leastShare {
			return s
		}
	}
}

// left is the most that the settings leave of a point of a template's element.
func (s *settings) left(end string, e Element, p geom.Point, l float64) geom.Vec {
	var most geom.Vec
	if s == nil {
		return most
	}
	at := place{&e, p, e.drift(p)}
	for _, set := range s.list {
		if set.Template != end || !slices.Contains(set.Marks, e.mark) {
			continue
		}
		for _, row := range set.Rows {
			for _, to := range []float64{row.From, row.To} {
				if by := at.left(to-l, row.Shift()); by.Len() > most.Len()+leastShare {
					most = by
				}
			}
		}
	}
	return most
}

// leaves is the most that any setting leaves of any mark.
func (s *settings) leaves() float64 {
	most := 0.0
	for _, set := range s.list {
		for _, row := range set.Rows {
			most = math.Max(most, row.Left)
		}
	}
	return most
}

// settingTerm names what shoes and leaves do to a mark, and what a setting leaves of it.
const settingTerm = "setting"

// letters are the settings of a template as they are lettered on its legs.
func (s *settings) letters(end string, name func(id string) string) []string {
	if s == nil {
		return nil
	}
	var out []string
	for _, set := range s.list {
		if set.Template != end {
			continue
		}
		var names []string
		for _, id := range set.Marks {
			names = append(names, name(id))
		}
		lines := []string{fmt.Sprintf("%g MM LEAVES BEHIND EACH SHOE FOR", LeafThick)}
		for _, n := range names {
			if last := len(lines) - 1; last > 0 && len(lines[last])+len(n) < lettersWide {
				lines[last] += " / " + n
			} else {
				lines = append(lines, n)
			}
		}
		for i, row := range set.Rows {
			text := fmt.Sprintf("%d TO %s", row.Leaves, figure.Fixed(row.To, 1))
			if last := len(lines) - 1; i%lettersRow != 0 {
				lines[last] += "  " + text
			} else {
				lines = append(lines, text)
			}
		}
		out = append(out, strings.Join(lines, "\n"))
	}
	return out
}

// lettersWide and lettersRow are how many characters, and how many rows of the table, stand
// in a line.
const (
	lettersWide = 34
	lettersRow  = 3
)
