package proof

import (
	"fmt"
	"math"
	"strings"

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
func AsCut(p Program, parts []jig.Part, sheet nest.Sheet, how Cutting, strokes bool) []jig.Check {
	s, err := onSheet(parts, sheet)
	if err != nil {
		return []jig.Check{{ID: "as-cut", Verdict: jig.Fail, Text: err.Error()}}
	}
	through, letters, scores, errs := sortMoves(p, how)
	f, times := asCut(s, through, how)
	f.Errors = append(errs, f.Errors...)
	out := []jig.Check{cutCheck(f, sheet.N, len(s.rings))}
	if strokes {
		out = append(out, s.marked(letters, scores, &times, sheet.N))
	} else {
		s.letters, s.scores = nil, nil
	}
	return append(out, times.check(s, passes{max(1, how.Passes), max(1, how.Scores), max(1, how.Letters)}, sheet.N))
}

func cutCheck(f Finding, n, contours int) jig.Check {
	c := jig.Check{ID: "as-cut", Verdict: jig.Pass, Value: math.Max(f.Standing, f.Bite), Limit: cutTol, Unit: "mm"}
	if len(f.Errors) > 0 || c.Value > c.Limit {
		return failed(c, fmt.Sprintf("sheet %d: %s", n, strings.Join(f.Errors, "; ")))
	}
	c.Text = fmt.Sprintf("sheet %d: %d contours cut free, at most %.4f mm left standing and %.4f mm bitten", n, contours, f.Standing, f.Bite)
	return c
}

// sortMoves parts the burning moves by what they do. What bears the name and
// the power of lettering or score is that; everything else that burns is held
// to cut through.
func sortMoves(p Program, how Cutting) (through, letters, scores []*Move, errs []string) {
	is := func(s, want float64) bool { return want == 0 || math.Abs(s-want) <= powerTol }
	through = make([]*Move, 0, len(p.Moves))
	letters = make([]*Move, 0, len(p.Moves))
	for i := range p.Moves {
		m := &p.Moves[i]
		switch {
		case !m.Beam:
		case m.Rapid:
			errs = append(errs, fmt.Sprintf("line %d: beam on in a rapid", m.Line))
			through = append(through, m)
		case m.layer() == "LETTERING" && is(m.S, how.Letter):
			letters = append(letters, m)
		case m.layer() == "SCORE" && is(m.S, how.Score):
			scores = append(scores, m)
		default:
			if !is(m.S, how.Power) && len(errs) < errorsMax {
				errs = append(errs, fmt.Sprintf("line %d: %s at S%g, cuts are at S%g", m.Line, m.Label, m.S, how.Power))
			}
			through = append(through, m)
		}
	}
	return through, letters, scores, errs[:min(len(errs), errorsMax)]
}

// strokeTol: a stroke's ends and middle come back this near: half a digit in
// each axis, and the middle of an arc from a printed centre.
const strokeTol = 0.0004

// marked compares the strokes burnt with the strokes wanted.
func (s shapes) marked(letters, scores []*Move, times *tally, n int) jig.Check {
	c := jig.Check{ID: "as-marked", Verdict: jig.Pass, Limit: strokeTol, Unit: "mm"}
	for _, w := range []struct {
		name   string
		kind   int
		want   []curve
		got    []*Move
		inside bool // of material, not only of the outline
	}{{"lettering", kindLetter, s.letters, letters, true}, {"score", kindScore, s.scores, scores, false}} {
		worst, err := match(w.want, w.got, func(i int, m *Move) { times.add(w.kind, i, m.index, m.length()) })
		c.Value = math.Max(c.Value, worst)
		if err != nil {
			return failed(c, fmt.Sprintf("sheet %d: %s: %v", n, w.name, err))
		}
		for _, k := range w.want {
			if p := k.at(0.5); s.kept(p) < 0 && (w.inside || !s.within(p)) {
				return failed(c, fmt.Sprintf("sheet %d: %s outside its piece at %s", n, w.name, at(p)))
			}
		}
	}
	c.Text = fmt.Sprintf("sheet %d: %d strokes of lettering and %d of score where they belong", n, len(s.letters), len(s.scores))
	return c
}

// within reports whether p lies in any outline.
func (s shapes) within(p geom.Point) bool {
	for _, r := range s.rings {
		if r.outer && r.inside(p) {
			return true
		}
	}
	return false
}

// strokeIndex finds strokes by their middles.
type strokeIndex map[[2]int32][]int

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
// for each pair. Every wanted one must be made, every move must be wanted; passes repeat.
func match(want []curve, got []*Move, pair func(int, *Move)) (worst float64, err error) {
	index := make(strokeIndex, len(want))
	for i, k := range want {
		m := k.at(0.5)
		index[strokeKey(m.X, m.Y)] = append(index[strokeKey(m.X, m.Y)], i)
	}
	made := make([]bool, len(want))
	for _, m := range got {
		mid := m.at(0.5)
		ok := index.near(mid, func(i int) bool {
			k := want[i]
			ends := math.Min(math.Max(dist(k.a, m.a), dist(k.b, m.b)), math.Max(dist(k.a, m.b), dist(k.b, m.a)))
			d := math.Max(ends, dist(k.at(0.5), mid))
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
		if !made[i] && k.length() > 2*digit {
			return worst, fmt.Errorf("the stroke at %s is missing", at(k.a))
		}
	}
	return worst, nil
}
