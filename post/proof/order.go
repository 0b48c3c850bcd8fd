package proof

import (
	"fmt"
	"math"
	"strings"

	"spotjig/cam/jig"
)

// passes is how often cuts, scores and letters are made, by kind.
type passes [3]int

// Limits of the proof of order.
const (
	// timesOff: a contour's length that the tool went along, over its own length, is
	// the number of passes, more by what the passes overlap. Half a contour more
	// or less is a pass.
	timesOff = 0.5
	// overlapShare is what each further pass may add to that, as a share of a pass: its
	// overlap again, and what of a blade's way along one stroke is taken for the next.
	// With three passes and more, one too many may go unseen.
	overlapShare = 0.3
	// strokeLeast: strokes shorter than this are not counted, mm: where strokes meet,
	// what a blade does along one is taken for the other.
	strokeLeast = 1.5
)

// tally keeps, for every nominal contour and stroke, how far the tool went along
// it, and at which moves first and last.
type tally struct {
	over    float64 // mm that a blade runs on at the end of every pass along a contour
	rings   []ringTally
	edges   []edge
	strokes [3][]float64 // mm, by kind and stroke
	last    [3][]int     // the last move along each
}

type ringTally struct {
	along       float64 // mm
	first, last int     // moves; first is -1 when there was none
}

func newTally(s shapes) tally {
	t := tally{rings: make([]ringTally, len(s.rings)), edges: s.edges}
	for i := range t.rings {
		t.rings[i].first = -1
	}
	for kind, n := range [3]int{0, len(s.scores), len(s.letters)} {
		t.strokes[kind] = make([]float64, n)
		t.last[kind] = make([]int, n)
	}
	return t
}

// add notes that the tool went along an edge (kind cut) or stroke for so many mm.
func (t *tally) add(kind, i, move int, length float64) {
	if kind != kindCut {
		if i < len(t.strokes[kind]) { // the blade is brought round as a score, along nothing
			t.strokes[kind][i] += length
			t.last[kind][i] = max(t.last[kind][i], move)
		}
		return
	}
	r := &t.rings[t.edges[i].ring]
	if r.first < 0 {
		r.first = move
	}
	r.along += length
	r.last = max(r.last, move)
}

// check holds a sheet's tally against what was asked (id as-ordered): every
// contour and stroke as often as asked; everything in a piece before its
// outline, because a piece that is cut free moves; and a piece that lies in
// another's opening before that opening.
func (t tally) check(s shapes, asked passes, n int) jig.Check {
	c := jig.Check{ID: "as-ordered", Verdict: jig.Pass, Limit: timesOff}
	var faults []string
	note := func(form string, a ...any) {
		if len(faults) < errorsMax {
			faults = append(faults, fmt.Sprintf(form, a...))
		}
	}
	times := func(along, length float64, kind int, what string) {
		off, more := along/length-float64(asked[kind]), overlapShare*float64(asked[kind]-1)
		if kind == kindCut {
			more += t.over / length * float64(asked[kind])
		}
		if off > 0 {
			off = math.Max(0, off-more)
		} else if kind != kindCut { // a contour is never less than whole
			off = math.Min(0, off+more)
		}
		c.Value = math.Max(c.Value, math.Abs(off))
		if !(math.Abs(off) < timesOff) {
			note("%s is cut %.2f times over, %d asked", what, along/length, asked[kind])
		}
	}
	for i, r := range s.rings {
		times(t.rings[i].along, s.ringLength(r), kindCut, s.parts[r.part]+" "+r.name)
	}
	for kind, want := range [3][]curve{nil, s.scores, s.letters} {
		for i, k := range want {
			if l := k.length(); l >= strokeLeast {
				times(t.strokes[kind][i], l, kind, "the stroke at "+at(k.a))
			}
		}
	}
	t.order(s, note)
	if len(faults) > 0 {
		return failed(c, fmt.Sprintf("sheet %d: %s", n, strings.Join(faults, "; ")))
	}
	c.Text = fmt.Sprintf("sheet %d: %d contours cut as often as asked, each piece's outline last", n, len(s.rings))
	return c
}

func (s shapes) ringLength(r ring) float64 {
	l := 0.0
	for _, e := range r.edges {
		l += s.edges[e].length()
	}
	return l
}

// order looks at what is cut before what.
func (t tally) order(s shapes, note func(string, ...any)) {
	outline := map[int]int{} // part to the ring of its outline
	for i, r := range s.rings {
		if r.outer {
			outline[r.part] = i
		}
	}
	for i, r := range s.rings {
		o := t.rings[outline[r.part]]
		if !r.outer && o.first >= 0 && t.rings[i].last > o.first {
			note("%s %s is cut after its piece is cut free", s.parts[r.part], r.name)
		}
		if r.outer {
			t.within(s, i, note)
		}
	}
	for kind, want := range [3][]curve{nil, s.scores, s.letters} {
		for i, k := range want {
			p := s.holder(k)
			if p >= 0 && t.strokes[kind][i] > 0 && t.last[kind][i] > t.rings[outline[p]].first {
				note("%s has a stroke at %s after it is cut free", s.parts[p], at(k.a))
			}
		}
	}
}

// within: the piece of outline i is cut free before an opening that it lies in.
func (t tally) within(s shapes, i int, note func(string, ...any)) {
	p := s.edges[s.rings[i].edges[0]].a
	for j, hole := range s.rings {
		if !hole.outer && hole.part != s.rings[i].part && hole.inside(p) && t.rings[j].first >= 0 && t.rings[i].last > t.rings[j].first {
			note("%s, which lies in %s %s, is cut after it", s.parts[s.rings[i].part], s.parts[hole.part], hole.name)
		}
	}
}

// holder is the part whose outline a stroke lies in, -1 for none.
func (s shapes) holder(k curve) int {
	p := k.at(0.5)
	for _, r := range s.rings {
		if r.outer && r.inside(p) {
			return r.part
		}
	}
	return -1
}
