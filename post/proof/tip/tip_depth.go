package tip

import (
	"fmt"
	"strings"

	"spotjig/post/proof"

	"spotjig/cam/jig"
)

// want is what an operation may do, by its label.
type want struct {
	depth  float64 // Z of its last pass
	offset float64 // of the blade that it reckons with
}

// want returns what the operation of a label may do. Lettering and scores go to their own
// depth, folds to their piece's, and cuts through the sheet; squares of a test piece are cut
// to the depth, or for the offset, that is tried on them.
func (t *tipJudge) want(label string) want {
	w, ok := t.wants[label]
	if !ok {
		w = t.workOut(label)
		t.wants[label] = w
	}
	return w
}

func (t *tipJudge) workOut(label string) want {
	m := t.how.Material
	w := want{m.Cut.Depth, t.how.Knife.Offset}
	layer, rest, _ := strings.Cut(label, " ")
	id, _, _ := strings.Cut(rest, " ")
	switch {
	case layer == "LETTERING":
		w.depth = m.Letter.Depth
	case layer == "SCORE" && m.Score.Depth < 0:
		w.depth = m.Score.Depth
	}
	for _, p := range t.how.Parts {
		if p.ID == id && layer == "SCORE" && p.ScoreDepth < 0 {
			w.depth = p.ScoreDepth
		}
	}
	for _, r := range t.how.Trials {
		if r.Part != id {
			continue
		}
		if r.Offset > 0 {
			w.offset = r.Offset
		}
		if r.Depth < 0 && (layer == "OPENING" || layer == "OUTLINE") {
			w.depth = r.Depth
		}
	}
	return w
}

// deep notes how far below what its operation may cut the tip is.
func (t *tipJudge) deep(m *proof.Move, is moving, s TipSample) {
	if d := is.depth - s.Z; d > t.deepest {
		t.deepest = d
		t.deepAt = fmt.Sprintf("line %d, %s, goes %.4f mm deeper than it may", m.Line, m.Label, d)
	}
}

// depth is the check that no stroke or cut is deeper than set.
func (t *tipJudge) depth() jig.Check {
	c := jig.Check{ID: "tip-depth", Verdict: jig.Pass, Value: t.deepest, Limit: proof.Digit, Unit: "mm"}
	c.Text = fmt.Sprintf("sheet %d: no stroke, fold or cut is deeper than set", t.how.Sheet.N)
	if !(t.deepest <= proof.Digit) {
		return proof.Failed(c, fmt.Sprintf("sheet %d: %s", t.how.Sheet.N, t.deepAt))
	}
	return c
}

// slant knows which ends of cuts are not cut through. A blade's edge slants through the
// sheet behind its tip and spans thickness over tan(wedge) along the cut, so that only what
// the tip has gone past by that length is cut through when the blade is lifted.
type slant struct {
	length float64 // that the edge spans, mm
	from   int     // where in the trail the present cut begins
	ends   []short // one for each cut that has ended
}

// short is the end of one cut: the trail's lines [from, to) are not cut through, but for
// begun, the beginning of the first of them.
type short struct {
	from, to int
	begun    bit
}

// lift ends a cut.
func (s *slant) lift(trail []bit) {
	if len(trail) == s.from {
		return
	}
	e := short{from: len(trail), to: len(trail)}
	left := s.length
	for e.from > s.from && left > 0 {
		e.from--
		left -= trail[e.from].Length()
	}
	if k := trail[e.from]; left < 0 {
		e.begun = bit{k.a, k.At(-left / k.Length())}
	} else {
		e.begun = bit{k.a, k.a}
	}
	s.ends, s.from = append(s.ends, e), len(trail)
}

// through is the trail without the ends of its cuts.
func (s *slant) through(trail []bit) []bit {
	out := make([]bit, 0, len(trail))
	at := 0
	for _, e := range s.ends {
		out = append(append(out, trail[at:e.from]...), e.begun)
		at = e.to
	}
	return append(out, trail[at:]...)
}

// overrun is the check that every edge is cut by a blade that went on past it.
// through is what is not cut through, whole the check that all is cut at all.
func (t *tipJudge) overrun(through gap, whole jig.Check) jig.Check {
	c := jig.Check{ID: "tip-overrun", Verdict: jig.Pass, Limit: tipMax, Unit: "mm"}
	c.Value = through.wide
	c.Text = fmt.Sprintf("sheet %d: every cut goes on for the %.2f mm that the blade's edge slants", t.how.Sheet.N, t.slant.length)
	if through.wide > tipMax && whole.Verdict == jig.Pass {
		return proof.Failed(c, fmt.Sprintf("sheet %d: the blade does not run on by %.2f mm past its end and leaves %s", t.how.Sheet.N, t.slant.length, through.where))
	}
	return c
}
