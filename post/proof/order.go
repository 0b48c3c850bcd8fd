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
// contour and stroke as often as asked; all strokes before anything is cut through, and
// all openings before any outline, because a piece that is cut free may tip under the
// head; but a piece that lies in another's opening before that opening, and that before
// the outline around it.
func (t Tally) Check(s Shapes, asked Passes, n int) jig.Check {
	c := jig.Check{ID: "as-ordered", Verdict: jig.Pass, Limit: timesOff}
	var faults Faults
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
			faults.Add("%s is cut %.2f times over, %d asked", what, along/length, asked[kind])
		}
	}
	for i, r := range s.Rings {
		times(t.rings[i].along, s.Around(i), KindCut, s.Parts[r.Part]+" "+r.Name)
	}
	for kind, want := range [3][]Curve{nil, s.Scores, s.Letters} {
		for i, k := range want {
			if l := k.Length(); l >= strokeLeast {
				times(t.strokes[kind][i], l, kind, "the stroke at "+At(k.A))
			}
		}
	}
	t.order(s, &faults)
	if len(faults) > 0 {
		return Failed(c, fmt.Sprintf("sheet %d: %s", n, strings.Join(faults, "; ")))
	}
	c.Text = fmt.Sprintf("sheet %d: %d contours cut as often as asked, marks first, outlines last", n, len(s.Rings))
	return c
}

// order looks at what is cut before what.
func (t Tally) order(s Shapes, faults *Faults) {
	cut, free := math.MaxInt, math.MaxInt // when first anything is cut through, and a piece cut free
	outline := map[int]ringTally{}        // by part
	for i, r := range s.Rings {
		if got := t.rings[i]; got.first >= 0 {
			cut = min(cut, got.first)
			if r.Outer {
				free = min(free, got.first)
				outline[r.Part] = got
			}
		}
	}
	for i, r := range s.Rings {
		if r.Outer || t.rings[i].first < 0 {
			continue
		}
		inside := t.inside(s, i, faults)
		if own, ok := outline[r.Part]; ok && t.rings[i].last > own.first {
			faults.Add("%s %s is cut after its piece is cut free", s.Parts[r.Part], r.Name)
		} else if !inside && t.rings[i].last > free {
			faults.Add("%s %s is cut after a piece is cut free", s.Parts[r.Part], r.Name)
		}
	}
	for kind, want := range [3][]Curve{nil, s.Scores, s.Letters} {
		for i, k := range want {
			if t.strokes[kind][i] == 0 || t.last[kind][i] < cut {
				continue
			}
			if p := holder(s, k); p >= 0 && t.last[kind][i] > outline[p].first {
				faults.Add("%s has a stroke at %s after it is cut free", s.Parts[p], At(k.A))
			} else {
				faults.Add("the stroke at %s comes after something is cut through", At(k.A))
			}
		}
	}
}

// inside reports whether other pieces lie in opening i; they must be cut free before it.
func (t Tally) inside(s Shapes, i int, faults *Faults) bool {
	hole, any := s.Rings[i], false
	for j, r := range s.Rings {
		if r.Outer && r.Part != hole.Part && hole.Inside(s.Edges[r.Edges[0]].A) {
			any = true
			if t.rings[j].last > t.rings[i].first {
				faults.Add("%s, which lies in %s %s, is cut after it", s.Parts[r.Part], s.Parts[hole.Part], hole.Name)
			}
		}
	}
	return any
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

// Work is what a drawing asks for: lengths in mm, and how many contours are cut through.
type Work struct {
	Cut, Score, Letter float64
	Contours           int
}

// Add returns both together.
func (w Work) Add(v Work) Work {
	return Work{w.Cut + v.Cut, w.Score + v.Score, w.Letter + v.Letter, w.Contours + v.Contours}
}
