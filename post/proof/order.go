package proof

import (
	"fmt"
	"math"
	"strings"

	"spotjig/cam/jig"
)

// Passes is how often cuts, scores and letters are made, by kind.
type Passes [3]int

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

// Tally keeps, for every nominal contour and stroke, how far the tool went along
// it, and at which moves first and last.
type Tally struct {
	Over    float64 // mm that a blade runs on at the end of every pass along a contour
	rings   []ringTally
	edges   []Edge
	strokes [3][]float64 // mm, by kind and stroke
	last    [3][]int     // the last move along each
}

type ringTally struct {
	along       float64 // mm
	first, last int     // moves; first is -1 when there was none
}

// NewTally begins with nothing cut.
func NewTally(s Shapes) Tally {
	t := Tally{rings: make([]ringTally, len(s.Rings)), edges: s.Edges}
	for i := range t.rings {
		t.rings[i].first = -1
	}
	for kind, n := range [3]int{0, len(s.Scores), len(s.Letters)} {
		t.strokes[kind] = make([]float64, n)
		t.last[kind] = make([]int, n)
	}
	return t
}

// Add notes that the tool went along an edge (kind cut) or stroke for so many mm.
func (t *Tally) Add(kind, i, move int, length float64) {
	if kind != KindCut {
		if i < len(t.strokes[kind]) { // the blade is brought round as a score, along nothing
			t.strokes[kind][i] += length
			t.last[kind][i] = max(t.last[kind][i], move)
		}
		return
	}
	r := &t.rings[t.edges[i].Ring]
	if r.first < 0 {
		r.first = move
	}
	r.along += length
	r.last = max(r.last, move)
}

// Check holds a sheet's tally against what was asked (id as-ordered): every
// contour and stroke as often as asked; everything in a piece before its
// outline, because a piece that is cut free moves; and a piece that lies in
// another's opening before that opening.
func (t Tally) Check(s Shapes, asked Passes, n int) jig.Check {
	c := jig.Check{ID: "as-ordered", Verdict: jig.Pass, Limit: timesOff}
	var faults []string
	note := func(form string, a ...any) {
		if len(faults) < ErrorsMax {
			faults = append(faults, fmt.Sprintf(form, a...))
		}
	}
	times := func(along, length float64, kind int, what string) {
		off, more := along/length-float64(asked[kind]), overlapShare*float64(asked[kind]-1)
		if kind == KindCut {
			more += t.Over / length * float64(asked[kind])
		}
		if off > 0 {
			off = math.Max(0, off-more)
		} else if kind != KindCut { // a contour is never less than whole
			off = math.Min(0, off+more)
		}
		c.Value = math.Max(c.Value, math.Abs(off))
		if !(math.Abs(off) < timesOff) {
			note("%s is cut %.2f times over, %d asked", what, along/length, asked[kind])
		}
	}
	for i, r := range s.Rings {
		times(t.rings[i].along, ringLength(s, r), KindCut, s.Parts[r.Part]+" "+r.Name)
	}
	for kind, want := range [3][]Curve{nil, s.Scores, s.Letters} {
		for i, k := range want {
			if l := k.Length(); l >= strokeLeast {
				times(t.strokes[kind][i], l, kind, "the stroke at "+At(k.A))
			}
		}
	}
	t.order(s, note)
	if len(faults) > 0 {
		return Failed(c, fmt.Sprintf("sheet %d: %s", n, strings.Join(faults, "; ")))
	}
	c.Text = fmt.Sprintf("sheet %d: %d contours cut as often as asked, each piece's outline last", n, len(s.Rings))
	return c
}

func ringLength(s Shapes, r ring) float64 {
	l := 0.0
	for _, e := range r.Edges {
		l += s.Edges[e].Length()
	}
	return l
}

// order looks at what is cut before what.
func (t Tally) order(s Shapes, note func(string, ...any)) {
	outline := map[int]int{} // part to the ring of its outline
	for i, r := range s.Rings {
		if r.Outer {
			outline[r.Part] = i
		}
	}
	for i, r := range s.Rings {
		o := t.rings[outline[r.Part]]
		if !r.Outer && o.first >= 0 && t.rings[i].last > o.first {
			note("%s %s is cut after its piece is cut free", s.Parts[r.Part], r.Name)
		}
		if r.Outer {
			t.within(s, i, note)
		}
	}
	for kind, want := range [3][]Curve{nil, s.Scores, s.Letters} {
		for i, k := range want {
			p := holder(s, k)
			if p >= 0 && t.strokes[kind][i] > 0 && t.last[kind][i] > t.rings[outline[p]].first {
				note("%s has a stroke at %s after it is cut free", s.Parts[p], At(k.A))
			}
		}
	}
}

// within: the piece of outline i is cut free before an opening that it lies in.
func (t Tally) within(s Shapes, i int, note func(string, ...any)) {
	p := s.Edges[s.Rings[i].Edges[0]].A
	for j, hole := range s.Rings {
		if !hole.Outer && hole.Part != s.Rings[i].Part && hole.Inside(p) && t.rings[j].first >= 0 && t.rings[i].last > t.rings[j].first {
			note("%s, which lies in %s %s, is cut after it", s.Parts[s.Rings[i].Part], s.Parts[hole.Part], hole.Name)
		}
	}
}

// holder is the part whose outline a stroke lies in, -1 for none.
func holder(s Shapes, k Curve) int {
	p := k.At(0.5)
	for _, r := range s.Rings {
		if r.Outer && r.Inside(p) {
			return r.Part
		}
	}
	return -1
}

// Kinds of what is cut from a sheet.
const (
	KindCut = iota
	KindScore
	KindLetter
)
