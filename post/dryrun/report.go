package dryrun

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"sort"

	"spotjig/cam/machine"
	"spotjig/post/rs274/read"
)

// The verdicts.
const (
	Pass = "pass" // nothing found
	Warn = "warn" // warnings only
	Fail = "fail" // at least one error
)

// Severities.
const (
	Error   = "error"
	Warning = "warning"
)

// XYZ is a place in machine coordinates, mm.
type XYZ struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
	Z float64 `json:"z"`
}

// Problem is one finding, or several of one code that differ in nothing but the place.
type Problem struct {
	Line     int64    `json:"line"` // 0: the program as a whole
	Col      int      `json:"col"`  // in characters, from 1; 0: the line as a whole
	Code     string   `json:"code"`
	Severity string   `json:"severity"`
	Value    *float64 `json:"value"` // what was found, in Unit; nil where no number tells it
	Limit    *float64 `json:"limit"`
	Unit     string   `json:"unit"`
	Count    int64    `json:"count"` // how many findings this one stands for
	Text     string   `json:"text"`
	Help     string   `json:"help"`

	taken string // what stands in for what the program does not say
}

// Report is the verdict on one program. Lengths are in mm, machine coordinates.
// Min and Max hold for the block delete switch off and on; End and the lengths for
// off, when every line runs; the times are the longer of the two.
// Start, End, Min and Max are nil when the program moves nothing.
type Report struct {
	File     string    `json:"file"`
	Verdict  string    `json:"verdict"`
	Start    *XYZ      `json:"start"`
	End      *XYZ      `json:"end"`
	Min      *XYZ      `json:"min"`
	Max      *XYZ      `json:"max"`
	FeedMM   float64   `json:"feed_mm"`
	RapidMM  float64   `json:"rapid_mm"`
	TimeS    float64   `json:"time_s"`
	BeamOnS  float64   `json:"beam_on_s"`
	StepMM   float64   `json:"step_max_mm"` // the longest single move
	Lines    int64     `json:"lines"`
	Problems []Problem `json:"problems"`
}

// Errors returns how many errors were found.
func (r Report) Errors() int64 { return r.count(Error) }

// Warnings returns how many warnings were found.
func (r Report) Warnings() int64 { return r.count(Warning) }

func (r Report) count(severity string) (n int64) {
	for _, p := range r.Problems {
		if p.Severity == severity {
			n += p.Count
		}
	}
	return n
}

// report puts together what was found in the run, and in its fork if there was one.
func report(opt Options, sum read.Summary, j *judge, c *timer) Report {
	r := Report{File: opt.File, Lines: sum.Lines, Problems: []Problem{}}
	lo, hi, moved := j.lo, j.hi, false
	for k := j; k != nil; k = k.fork {
		if c != nil {
			t := c.plan.Finish()
			k.late(t.Total)
			r.TimeS, r.BeamOnS = math.Max(r.TimeS, t.Total), math.Max(r.BeamOnS, t.Beam)
			c = c.fork
		}
		moved = moved || k.moved
		for i := range lo {
			lo[i], hi[i] = math.Min(lo[i], k.lo[i]), math.Max(hi[i], k.hi[i])
		}
		r.StepMM = math.Max(r.StepMM, k.step)
		r.add(k.problems(), k != j)
	}
	r.FeedMM, r.RapidMM = round6(j.feed), round6(j.rapid)
	r.TimeS, r.BeamOnS, r.StepMM = round6(r.TimeS), round6(r.BeamOnS), round6(r.StepMM)
	if moved {
		r.Start, r.End = place(read.Point{sum.Start.X, sum.Start.Y, sum.Start.Z}), place(j.pos)
		r.Min, r.Max = place(lo), place(hi)
	}
	sort.SliceStable(r.Problems, func(a, b int) bool { return before(r.Problems[a], r.Problems[b]) })
	r.Verdict = Pass
	if r.Warnings() > 0 {
		r.Verdict = Warn
	}
	if r.Errors() > 0 {
		r.Verdict = Fail
	}
	return r
}

// Unreadable is the report on a file that could not be read, with the reason.
func Unreadable(file, why string) Report {
	return Report{File: file, Verdict: Fail, Problems: []Problem{{Code: NoFile, Severity: severity(NoFile), Count: 1,
		Text: "cannot be read: " + why, Help: remedy(NoFile)}}}
}

// add takes problems in; those of the second run only where the first has not the same.
func (r *Report) add(list []Problem, second bool) {
	seen := map[string]bool{}
	key := func(p Problem) string { return fmt.Sprint(p.Code, p.Line, p.Col, p.Text) }
	for _, p := range r.Problems {
		seen[key(p)] = true
	}
	for _, p := range list {
		if second && seen[key(p)] {
			continue
		}
		if second {
			p.Text += " (with the block delete switch on)"
		}
		r.Problems = append(r.Problems, p)
	}
}

// before is a full order of problems: by place, then code, then text.
func before(a, b Problem) bool {
	switch {
	case a.Line != b.Line:
		return a.Line < b.Line
	case a.Col != b.Col:
		return a.Col < b.Col
	case a.Code != b.Code:
		return a.Code < b.Code
	}
	return a.Text < b.Text
}

func place(p read.Point) *XYZ { return &XYZ{round6(p[0]), round6(p[1]), round6(p[2])} }

// round6 rounds to a millionth, without negative zero.
func round6(v float64) float64 {
	v = math.Round(v*1e6) / 1e6
	if v == 0 {
		return 0
	}
	return v
}

func axesOf(p read.Point) machine.Axes { return machine.Axes{X: p[0], Y: p[1], Z: p[2]} }

// WriteJSON writes reports as one JSON document.
func WriteJSON(w io.Writer, reports []Report) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(struct {
		Files []Report `json:"files"`
	}{reports})
}
