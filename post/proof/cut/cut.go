package cut

import (
	"fmt"
	"math"
	"strings"

	"spotjig/layout/figure"
	"spotjig/post"
	"spotjig/post/proof"

	"spotjig/cam/jig"
	"spotjig/cam/nest"
	"spotjig/layout/geom"
)

// AsCut judges what a laser's cutting program, as read back, makes of a sheet:
// the nominal parts, multiplied by their scale and placed, must be what is left
// (id as-cut), every stroke of lettering and score must be burnt where it
// belongs at its own power and no other (id as-marked), and all of it as often
// and in the order that it must be (id as-ordered). Parts without scores
// and lettering, as a record keeps them, take strokes false.
func AsCut(p proof.Program, parts []jig.Part, sheet nest.Sheet, how Cutting, strokes bool) []jig.Check {
	s, err := proof.OnSheet(parts, sheet)
	if err != nil {
		return []jig.Check{{ID: "as-cut", Verdict: jig.Fail, Text: err.Error()}}
	}
	through, letters, scores, errs := SortMoves(p, how)
	f, times := Swept(s, through, how)
	f.Errors = append(errs, f.Errors...)
	out := []jig.Check{cutCheck(f, sheet.N, len(s.Rings))}
	if strokes {
		out = append(out, marked(s, letters, scores, &times, sheet.N))
	} else {
		s.Letters, s.Scores = nil, nil
	}
	return append(out, times.Check(s, proof.Passes{max(1, how.Passes), max(1, how.Scores), max(1, how.Letters)}, sheet.N))
}

func cutCheck(f Finding, n, contours int) jig.Check {
	c := jig.Check{ID: "as-cut", Verdict: jig.Pass, Value: math.Max(f.Standing, f.Bite), Limit: CutTol, Unit: "mm"}
	if len(f.Errors) > 0 || c.Value > c.Limit {
		return proof.Failed(c, fmt.Sprintf("sheet %d: %s", n, strings.Join(f.Errors, "; ")))
	}
	c.Text = fmt.Sprintf("sheet %d: %s cut free, at most %.4f mm left standing and %.4f mm bitten", n, figure.Count(contours, "contour"), f.Standing, f.Bite)
	return c
}

// SortMoves parts the burning moves by what they do. What bears the name and
// the power of lettering or score is that; everything else that burns is held
// to cut through. errs names rapids with the beam on and cuts at another power than
// asked, at most ErrorsMax of them.
func SortMoves(p proof.Program, how Cutting) (through, letters, scores []*proof.Move, errs []string) {
	is := func(s, want float64) bool { return want == 0 || math.Abs(s-want) <= proof.PowerTol }
	through = make([]*proof.Move, 0, len(p.Moves))
	letters = make([]*proof.Move, 0, len(p.Moves))
	for i := range p.Moves {
		m := &p.Moves[i]
		switch {
		case !m.Beam:
		case m.Rapid:
			errs = append(errs, fmt.Sprintf("line %d: beam on in a rapid", m.Line))
			through = append(through, m)
		case m.Layer() == "LETTERING" && is(m.S, how.Letter):
			letters = append(letters, m)
		case m.Layer() == "SCORE" && is(m.S, how.Score):
			scores = append(scores, m)
		default:
			if !is(m.S, how.Power) && len(errs) < proof.ErrorsMax {
				errs = append(errs, fmt.Sprintf("line %d: %s at S%g, cuts are at S%g", m.Line, m.Label, m.S, how.Power))
			}
			through = append(through, m)
		}
	}
	return through, letters, scores, errs[:min(len(errs), proof.ErrorsMax)]
}

// strokeTol: a stroke's ends and middle come back this near: half a digit in
// each axis, and the middle of an arc from a printed centre.
const strokeTol = 0.0004

// marked compares the strokes burnt with the strokes wanted.
func marked(s proof.Shapes, letters, scores []*proof.Move, times *proof.Tally, n int) jig.Check {
	c := jig.Check{ID: "as-marked", Verdict: jig.Pass, Limit: strokeTol, Unit: "mm"}
	for _, w := range []struct {
		name   string
		kind   int
		want   []proof.Curve
		got    []*proof.Move
		inside bool // of material, not only of the outline
	}{{"lettering", proof.KindLetter, s.Letters, letters, true}, {"score", proof.KindScore, s.Scores, scores, false}} {
		worst, err := match(w.want, w.got, func(i int, m *proof.Move) { times.Add(w.kind, i, m.Index, m.Length()) })
		c.Value = math.Max(c.Value, worst)
		if err != nil {
			return proof.Failed(c, fmt.Sprintf("sheet %d: %s: %v", n, w.name, err))
		}
		for _, k := range w.want {
			if p := k.At(0.5); s.Kept(p) < 0 && (w.inside || !within(s, p)) {
				return proof.Failed(c, fmt.Sprintf("sheet %d: %s outside its piece at %s", n, w.name, proof.At(p)))
			}
		}
	}
	c.Text = fmt.Sprintf("sheet %d: %d strokes of lettering and %d of score where they belong", n, len(s.Letters), len(s.Scores))
	return c
}

// within reports whether p lies in any outline.
func within(s proof.Shapes, p geom.Point) bool {
	for _, r := range s.Rings {
		if r.Outer && r.Inside(p) {
			return true
		}
	}
	return false
}

// strokeIndex finds strokes by their middles.
type strokeIndex map[[2]int32][]int

// strokeCell is the side of an index's cells, mm: so much more than strokeTol that a middle
// and its fellow lie in the same cell or in neighbours.
const strokeCell = 0.05

func strokeKey(x, y float64) [2]int32 {
	return [2]int32{int32(math.Floor(x / strokeCell)), int32(math.Floor(y / strokeCell))}
}

// near calls f for every stroke whose middle may lie near p, and reports
// whether f took any.
func (x strokeIndex) near(p geom.Point, f func(int) bool) bool {
	took := false
	var done [4][2]int32
	for i, d := range [4][2]float64{{-1, -1}, {1, -1}, {-1, 1}, {1, 1}} {
		k := strokeKey(p.X+d[0]*strokeTol, p.Y+d[1]*strokeTol)
		done[i] = k
		if i > 0 && (k == done[0] || i > 1 && k == done[1] || i > 2 && k == done[2]) {
			continue
		}
		for _, j := range x[k] {
			took = f(j) || took
		}
	}
	return took
}

// match pairs strokes wanted with moves made, either way round, and calls pair
// for each pair. Every stroke must be made and every move be of a stroke; of one that is
// gone over in several passes there are as many moves.
func match(want []proof.Curve, got []*proof.Move, pair func(int, *proof.Move)) (worst float64, err error) {
	index := make(strokeIndex, len(want))
	for i, k := range want {
		m := k.At(0.5)
		index[strokeKey(m.X, m.Y)] = append(index[strokeKey(m.X, m.Y)], i)
	}
	made := make([]bool, len(want))
	for _, m := range got {
		mid := m.At(0.5)
		ok := index.near(mid, func(i int) bool {
			k := want[i]
			ends := math.Min(math.Max(proof.Dist(k.A, m.A), proof.Dist(k.B, m.B)), math.Max(proof.Dist(k.A, m.B), proof.Dist(k.B, m.A)))
			d := math.Max(ends, proof.Dist(k.At(0.5), mid))
			if d > strokeTol {
				return false
			}
			made[i] = true
			pair(i, m)
			worst = math.Max(worst, d)
			return true
		})
		if !ok {
			return worst, fmt.Errorf("line %d burns what no piece wants", m.Line)
		}
	}
	for i, k := range want {
		if !made[i] && k.Length() > 2*proof.Digit {
			return worst, fmt.Errorf("the stroke at %s is missing", proof.At(k.A))
		}
	}
	return worst, nil
}

// CuttingOf returns how the set's sheets are cut.
func CuttingOf(set post.Set) Cutting {
	m := set.Material
	return Cutting{
		Kerf: m.Kerf, Passes: m.Cut.Passes, Scores: m.Score.Passes, Letters: m.Letter.Passes, Ties: set.Job.Jig.Ties, TieWidth: set.Job.Jig.TieWidth,
		Power: m.Cut.Power, Score: m.Score.Power, Letter: m.Letter.Power,
	}
}
