// Package trace draws a program, whoever wrote it: the way of the head over the bed and
// the sheet as post/rs274/read reads it, with a mark at every place that a dry run found
// fault with. It judges nothing, and takes no text of the program into the picture.
package trace

import (
	"context"
	"io"
	"math"
	"sort"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
	"spotjig/post/rs274/read"
)

// A program may have a hundred million moves and a screen has a thousand points across.
// Points are kept until there are pointsMax of them; then a step is set (the way's extent
// over steps, doubled each time), whatever lies nearer than that to the point before goes,
// and strokes as short as that go whole. What is left bounds memory and picture alike.
const (
	pointsMax = 60_000
	steps     = 4000
	// chordMax is the longest turn that one chord of an arc stands for, radians: five
	// degrees, which leaves a thousandth of the radius.
	chordMax = float64(5 * geom.Degree)
)

// Finding is a line of the program that something was found at.
type Finding struct {
	Line  int64
	Error bool // else a warning
}

// Options say what the program is drawn on.
type Options struct {
	Machine  *machine.Profile // nil: the way alone
	Stock    geom.Box         // the sheet, work coordinates; empty when unknown
	Findings []Finding
}

// Way is a program's way as it is drawn, machine mm.
type Way struct {
	opt     Options
	strokes []stroke
	points  int
	step    float64 // mm; 0 while every point is kept
	box     geom.Box
	at      geom.Point
	placed  []place // in the order of the findings
	order   []int   // of the findings by line, those still to come
	total   float64 // mm
}

// stroke is what is drawn in one go: with the tool or without it.
type stroke struct {
	tool bool
	pts  []geom.Point
}

// place is where a finding is; known is false for what has none.
type place struct {
	at    geom.Point
	known bool
}

// Read reads a program to its end. The error is r's or ctx's.
func Read(ctx context.Context, r io.Reader, opt Options) (*Way, error) {
	w := &Way{opt: opt, box: geom.EmptyBox(), placed: make([]place, len(opt.Findings))}
	for i, f := range opt.Findings {
		if f.Line > 0 {
			w.order = append(w.order, i)
		}
	}
	sort.SliceStable(w.order, func(a, b int) bool { return opt.Findings[w.order[a]].Line < opt.Findings[w.order[b]].Line })
	start := startOf(opt.Machine)
	w.at = geom.Point{X: start.X, Y: start.Y}
	if _, err := read.Run(ctx, r, read.Options{Machine: opt.Machine, Start: &start}, &taker{w: w}); err != nil {
		return nil, err
	}
	w.passed(math.MaxInt64)
	for _, s := range w.strokes {
		w.total += s.length()
	}
	return w, nil
}

// startOf is where the head stands before a program, machine mm: where the profile parks
// it, else at work zero.
func startOf(m *machine.Profile) machine.Axes {
	switch {
	case m == nil:
		return machine.Axes{}
	case m.Park != nil:
		return *m.Park
	}
	return m.Offsets[1]
}

// taker takes what the reader finds. What runs with the block delete switch on is not
// drawn: every line runs with it off.
type taker struct {
	w    *Way
	mute bool
}

// Fork implements read.Sink.
func (t *taker) Fork() (read.Sink, error) { return &taker{w: t.w, mute: true}, nil }

// Take implements read.Sink.
func (t *taker) Take(b *read.Batch) error {
	if t.mute {
		return nil
	}
	for i := range b.Events {
		e := &b.Events[i]
		t.w.passed(e.Line)
		switch e.Kind {
		case read.Rapid, read.Line:
			t.w.move(toolOn(t.w.opt.Machine, e), point(e.To))
		case read.Arc:
			t.w.arc(toolOn(t.w.opt.Machine, e), &b.Arcs[e.Extra])
			t.w.move(toolOn(t.w.opt.Machine, e), point(e.To))
		}
		t.w.here(e.Line)
	}
	return nil
}

func point(p read.Point) geom.Point { return geom.Point{X: p[0], Y: p[1]} }

// toolOn reports whether a move works: with a beam when it is on, with anything else when
// it is made at feed.
func toolOn(m *machine.Profile, e *read.Event) bool {
	if e.Kind == read.Rapid {
		return false
	}
	return m == nil || m.Process != machine.Laser || e.Turn != read.Off && e.S > 0
}

// passed places the findings of lines before this one that nothing happened at: where the
// head stands.
func (w *Way) passed(line int64) {
	for len(w.order) > 0 && w.opt.Findings[w.order[0]].Line < line {
		w.placed[w.order[0]] = place{w.at, true}
		w.order = w.order[1:]
	}
}

// here places the findings of this line where its first move ends.
func (w *Way) here(line int64) {
	for len(w.order) > 0 && w.opt.Findings[w.order[0]].Line == line {
		w.placed[w.order[0]] = place{w.at, true}
		w.order = w.order[1:]
	}
}

// move draws a straight move.
func (w *Way) move(tool bool, to geom.Point) {
	if !finite(to) {
		return
	}
	n := len(w.strokes)
	if n == 0 || w.strokes[n-1].tool != tool {
		w.strokes = append(w.strokes, stroke{tool: tool, pts: []geom.Point{w.at}})
		w.box = w.box.Include(w.at)
		w.points++
		n++
	}
	s := &w.strokes[n-1]
	w.at, w.box = to, w.box.Include(to)
	if last := len(s.pts) - 1; w.step > 0 && last > 0 && s.pts[last-1].Dist(to) < w.step {
		s.pts[last] = to // the end of a stroke is always where it ends
		return
	}
	s.pts = append(s.pts, to)
	if w.points++; w.points > pointsMax {
		w.thin()
	}
}

// arc draws what lies between an arc's ends, in the plane seen from above.
func (w *Way) arc(tool bool, c *read.Curve) {
	n := min(int(math.Abs(c.Sweep)/chordMax), int(2*math.Pi/chordMax))
	if c.Plane != read.XY {
		return // seen from above it is straight
	}
	start := math.Atan2(c.From[1]-c.Center[1], c.From[0]-c.Center[0])
	for i := 1; i < n; i++ {
		share := float64(i) / float64(n)
		r := c.Radius + (c.RadiusTo-c.Radius)*share
		sin, cos := math.Sincos(start + c.Sweep*share)
		w.move(tool, geom.Point{X: c.Center[0] + r*cos, Y: c.Center[1] + r*sin})
	}
}

// thin keeps fewer points.
func (w *Way) thin() {
	for w.points > pointsMax/2 {
		w.step = max(w.step*2, math.Max(w.box.Width(), w.box.Height())/steps, 1e-6)
		var kept []stroke
		w.points = 0
		for i, s := range w.strokes {
			s.pts = thinned(s.pts, w.step)
			if i < len(w.strokes)-1 && s.length() < w.step {
				continue
			}
			if n := len(kept); n > 0 && kept[n-1].tool == s.tool && kept[n-1].pts[len(kept[n-1].pts)-1].Dist(s.pts[0]) < w.step {
				kept[n-1].pts = append(kept[n-1].pts, s.pts[1:]...)
				w.points += len(s.pts) - 1
				continue
			}
			kept = append(kept, s)
			w.points += len(s.pts)
		}
		w.strokes = kept
	}
}

// thinned drops points nearer than step to the one kept before; both ends stay.
func thinned(pts []geom.Point, step float64) []geom.Point {
	out := pts[:1:1]
	for i, p := range pts[1:] {
		if i == len(pts)-2 || out[len(out)-1].Dist(p) >= step {
			out = append(out, p)
		}
	}
	return out
}

// length is a stroke's, mm.
func (s stroke) length() float64 {
	l := 0.0
	for i := 1; i < len(s.pts); i++ {
		l += s.pts[i-1].Dist(s.pts[i])
	}
	return l
}

func finite(p geom.Point) bool {
	return !math.IsNaN(p.X) && !math.IsNaN(p.Y) && !math.IsInf(p.X, 0) && !math.IsInf(p.Y, 0)
}
