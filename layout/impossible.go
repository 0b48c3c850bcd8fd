package layout

import (
	"fmt"
	"math"

	"spotjig/layout/figure"
	"spotjig/layout/problem"
)

// Limits past which readings are slips and not a table. None is published: they
// lie well outside every published tolerance (+-13 mm is the widest of the rule
// bodies for a whole length) and inside what a slip of the tape makes.
const (
	stationMin    = 100   // a reading nearer a corner falls into the pocket's mouth
	bowMax        = 15    // a nose further off its string is a broken cushion or a slip
	resolutionMax = 10    // a tape read worse than this says nothing about a table
	noseLow       = 15    // nose height of the smallest balls played with, and
	noseHigh      = 60    // of the largest, with room to spare
	undercutMax   = 60    // deeper than any published cushion profile
	sidesShare    = 0.01  // of the length: how far two sides, or two ends, may differ
	leanShare     = 0.01  // of the length: how far out of square a table may be
	restMin       = 3.0   // mm: a reading this far off the outline contradicts the others
	restTimes     = 4     // or this many times the tape's resolution, if that is more
	ratioMin      = 0.40  // width to length of a playing surface: published ones lie
	ratioMax      = 0.625 // between 0.498 and 0.514
)

// check refuses readings that are no readings.
func (s Survey) check() error {
	var list problem.List
	limit := func(field string, v, lo, hi float64, help string) {
		if !(v >= lo && v <= hi) {
			list.Add(problem.Problem{Field: "survey." + field, Code: "S040",
				Msg: fmt.Sprintf("%g mm is not between %g and %g mm", v, lo, hi), Help: help})
		}
	}
	const tape = "measure again, nose to nose at nose height, and give the unit"
	for _, r := range s.readings() {
		limit(r.field, r.value, surfaceMin, surfaceMax, tape)
	}
	for _, g := range []struct {
		field string
		v     float64
	}{{"gap_head", s.GapHead}, {"gap_foot", s.GapFoot}, {"gap_left", s.GapLeft}, {"gap_right", s.GapRight}} {
		limit(g.field, g.v, -bowMax, bowMax, "measure from a tight string along the nose to the nose, + towards the bed")
	}
	limit("resolution", s.Resolution, 0, resolutionMax, "say how near the tape is read, e.g. 0.5 mm")
	if s.NoseHeight != 0 {
		limit("nose_height", s.NoseHeight, noseLow, noseHigh, "measure from the cloth up to the nose; it is about 0.635 of a ball's diameter")
	}
	limit("undercut", s.Undercut, 0, undercutMax, "measure how far the rubber falls back below the nose")
	if len(list) == 0 {
		list = append(list, s.checkStations()...)
	}
	return list.Err()
}

// checkStations refuses places that are in a pocket or past the middle.
func (s Survey) checkStations() problem.List {
	var list problem.List
	l, w := s.rough()
	if l == 0 && w == 0 {
		return nil // told as too few readings
	}
	for _, st := range []struct {
		field string
		v, of float64
	}{{"side_station", s.SideStation, w}, {"width_station", s.WidthStation, l}, {"diagonal_station", s.DiagStation, l}} {
		if st.v == 0 {
			continue
		}
		if !(st.v >= stationMin && st.v <= st.of/2) {
			list.Add(problem.Problem{Field: "survey." + st.field, Code: "S041",
				Msg:  fmt.Sprintf("%g mm is not between %d mm, clear of the pocket, and the middle of the nose, %.1f mm", st.v, stationMin, st.of/2),
				Help: "leave it out to measure at the first sight"})
		}
	}
	return list
}

// undetermined says which readings are missing.
func (s Survey) undetermined() error {
	need := "one width"
	if mean(s.LengthLeft, s.LengthRight) == 0 {
		need = "one length"
	}
	if len(s.readings()) == 0 {
		need = "one length and one width"
	}
	return problem.List{{Field: "survey", Code: "S042",
		Msg:  "the readings do not give both the length and the width of a table",
		Help: "measure at least " + need + ", nose to nose"}}.Err()
}

// impossible refuses readings that cannot belong to one table, and says which to
// take again.
func (s Survey) impossible(f fit) error {
	sh := f.shape
	refuse := func(field, msg, help string) error {
		if field != "" {
			field = "survey." + field
		} else {
			field = "survey"
		}
		return problem.List{{Field: field, Code: "S043", Msg: msg, Help: help}}.Err()
	}
	l, w := sh[shapeL], sh[shapeW]
	if k := w / l; !(k >= ratioMin && k <= ratioMax) {
		return refuse("", fmt.Sprintf("%s long and %s wide: a playing surface is about twice as long as wide", figure.MM(l), figure.MM(w)),
			"check that both are nose to nose and in the same unit")
	}
	if d := s.LengthLeft - s.LengthRight; s.LengthLeft*s.LengthRight != 0 && math.Abs(d) > sidesShare*l {
		return refuse("length_left", fmt.Sprintf("the left and right lengths differ by %s", figure.MM(math.Abs(d))), "measure both lengths again")
	}
	if d := s.WidthHead - s.WidthFoot; s.WidthHead*s.WidthFoot != 0 && math.Abs(d) > sidesShare*l {
		return refuse("width_head", fmt.Sprintf("the head and foot widths differ by %s", figure.MM(math.Abs(d))), "measure both widths again")
	}
	if err := s.diagonalFault(f, refuse); err != nil {
		return err
	}
	limit := math.Max(restMin, restTimes*s.Resolution)
	if i := f.culprit(limit); i >= 0 {
		r := f.readings[i]
		rest := f.residuals()[i]
		return refuse(r.field, fmt.Sprintf("the %s of %s does not go with the others, which leave it %s off", r.name, figure.MM(r.value), figure.Signed(rest)),
			"measure the "+r.name+" again, and the noses' straightness by a string")
	}
	return nil
}

// diagonalFault tells diagonals that contradict the sides.
func (s Survey) diagonalFault(f fit, refuse func(field, msg, help string) error) error {
	both := s.DiagLeftHead != 0 && s.DiagRightHead != 0
	if !both {
		if math.Abs(f.shape[shapeLean]) > leanShare*f.shape[shapeL] {
			field, name := "diagonal_left_head", "the diagonal from the left head"
			if s.DiagRightHead != 0 {
				field, name = "diagonal_right_head", "the diagonal from the right head"
			}
			return refuse(field, fmt.Sprintf("%s puts the table %s", name, f.lean()), s.squareHelp("measure it again, and the other diagonal too"))
		}
		return nil
	}
	d := s.DiagLeftHead - s.DiagRightHead
	if math.Abs(f.shape[shapeLean]) > leanShare*f.shape[shapeL] {
		return refuse("diagonal_left_head", fmt.Sprintf("the diagonals differ by %s, which puts the table %s", figure.MM(math.Abs(d)), f.lean()),
			s.squareHelp("measure both again"))
	}
	square := f
	square.readings = nil
	for _, r := range f.readings {
		if r.field != "diagonal_left_head" && r.field != "diagonal_right_head" {
			square.readings = append(square.readings, r)
		}
	}
	if square.run(s.rough()) != nil {
		return nil // the diagonals are needed to know the table at all
	}
	left, right := s.diagonals()
	off := mean(s.DiagLeftHead, s.DiagRightHead) - mean(left.model(square.shape, f.bow), right.model(square.shape, f.bow))
	if limit := math.Max(restMin, restTimes*s.Resolution); math.Abs(off) > limit {
		return refuse("diagonal_left_head", fmt.Sprintf("both diagonals together are %s against what the lengths and widths make them", figure.Signed(off)),
			fmt.Sprintf("measure both diagonals again, between points %s from the end noses", figure.MM(s.stations().diag)))
	}
	return nil
}

// lean says how far out of square the readings make the table, and how far one may be.
func (f fit) lean() string {
	return fmt.Sprintf("%s out of square over its length, where at most %s can be marked",
		figure.MM(math.Abs(f.shape[shapeLean])), figure.MM(leanShare*f.shape[shapeL]))
}

// squareHelp is what to do about a table out of square: a tape held at another place than
// its sight makes one, and so do rails that were not set square, which no marks mend.
func (s Survey) squareHelp(again string) string {
	return fmt.Sprintf("%s, nose to nose, between points %s from the end noses; if it stays so, have the rails set square before the table is marked",
		again, figure.MM(s.stations().diag))
}

// culprit returns the reading whose leaving out lets the others agree best, when
// some reading is more than limit off the outline; -1 when none is.
func (f fit) culprit(limit float64) int {
	bad := false
	for _, r := range f.residuals() {
		bad = bad || math.Abs(r) > limit
	}
	if !bad {
		return -1
	}
	best, least := 0, math.Inf(1)
	for i := range f.readings {
		rest := fit{bow: f.bow}
		for j, r := range f.readings {
			if j != i {
				rest.readings = append(rest.readings, r)
			}
		}
		if rest.run(f.shape[shapeL], f.shape[shapeW]) != nil {
			continue
		}
		res := rest.residuals()
		if sum := dot(res, res); sum < least-mergeTol {
			best, least = i, sum
		}
	}
	return best
}
