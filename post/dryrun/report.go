package dryrun

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
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

// Lines tells the line on which each axis reached an extreme first.
type Lines struct {
	X int64 `json:"x"`
	Y int64 `json:"y"`
	Z int64 `json:"z"`
}

// Assumption is something that the program does not say and the verdict rests on.
type Assumption struct {
	Line      int64  `json:"line"` // where it was first missing; 0: the program as a whole
	Code      string `json:"code"` // of the finding it would be
	Count     int64  `json:"count"`
	Taken     string `json:"taken"`
	Otherwise string `json:"otherwise"` // what happens if it is otherwise
}

// Problem is one finding, or several of one code that differ in nothing but the place.
type Problem struct {
	File     string   `json:"file"` // the report's, where it is written
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
// A verdict of pass or warn holds only if what is Assumed is so. WorkMin and WorkMax hold the
// places where the beam is on, or a blade or a tool is in the sheet; nil if there are none.
// Min and Max hold for the block delete switch off and on; End and the lengths for
// off, when every line runs; the times are the longer of the two.
// Start, End, Min and Max are nil when the program moves nothing.
type Report struct {
	File        string       `json:"file"`
	Verdict     string       `json:"verdict"`
	Start       *XYZ         `json:"start"`
	End         *XYZ         `json:"end"`
	Min         *XYZ         `json:"min"`
	Max         *XYZ         `json:"max"`
	MinLine     *Lines       `json:"min_line"`
	MaxLine     *Lines       `json:"max_line"`
	WorkMin     *XYZ         `json:"work_min"`
	WorkMax     *XYZ         `json:"work_max"`
	WorkMinLine *Lines       `json:"work_min_line"`
	WorkMaxLine *Lines       `json:"work_max_line"`
	FeedMM      float64      `json:"feed_mm"`
	RapidMM     float64      `json:"rapid_mm"`
	TimeS       float64      `json:"time_s"`
	BeamOnS     float64      `json:"beam_on_s"`
	StepMM      float64      `json:"step_max_mm"` // the longest single move
	Lines       int64        `json:"lines"`
	Assumed     []Assumption `json:"assumed"`
	Problems    []Problem    `json:"problems"`
	Laps        []float64    `json:"-"` // s, travel and work in turn, travel first; where Options asked

	worker string // what works: beamOn and the like
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
	r := Report{File: opt.File, Lines: sum.Lines, Assumed: []Assumption{}, Problems: []Problem{}, worker: worker(opt.Machine)}
	all, work, moved := newExtent(), newExtent(), false
	for k := j; k != nil; k = k.fork {
		if c != nil {
			t := c.plan.Finish()
			if k == j {
				r.Laps = c.plan.Laps()
			}
			k.late(t.Total)
			r.TimeS, r.BeamOnS = math.Max(r.TimeS, t.Total), math.Max(r.BeamOnS, t.Beam)
			c = c.fork
		}
		moved = moved || k.moved
		all.join(k.all)
		work.join(k.work)
		r.StepMM = math.Max(r.StepMM, k.step)
		r.add(k.problems(), k != j)
	}
	r.FeedMM, r.RapidMM = geom.Millionth(j.feed), geom.Millionth(j.rapid)
	r.TimeS, r.BeamOnS, r.StepMM = geom.Millionth(r.TimeS), geom.Millionth(r.BeamOnS), geom.Millionth(r.StepMM)
	if moved {
		r.Start, r.End = xyz(read.Point{sum.Start.X, sum.Start.Y, sum.Start.Z}), xyz(j.pos)
		r.Min, r.Max, r.MinLine, r.MaxLine = xyz(all.lo), xyz(all.hi), linesOf(all.loLine), linesOf(all.hiLine)
	}
	if !work.empty() {
		r.WorkMin, r.WorkMax, r.WorkMinLine, r.WorkMaxLine = xyz(work.lo), xyz(work.hi), linesOf(work.loLine), linesOf(work.hiLine)
	}
	slices.SortStableFunc(r.Problems, compare)
	if opt.Assume {
		r.assume()
	}
	r.Verdict = Pass
	if r.Warnings() > 0 {
		r.Verdict = Warn
	}
	if r.Errors() > 0 {
		r.Verdict = Fail
	}
	return r
}

// beamOn names a beam at work.
const beamOn = "beam on"

// worker names what works the sheet.
func worker(m *machine.Profile) string {
	switch {
	case m == nil:
		return ""
	case beamMachine(m):
		return beamOn
	case m.Process == machine.Knife:
		return "blade in the sheet"
	}
	return "tool in the sheet"
}

func linesOf(v [3]int64) *Lines { return &Lines{v[0], v[1], v[2]} }

// assume turns what may be assumed into assumptions, one for each thing taken.
func (r *Report) assume() {
	kept := []Problem{}
	for _, p := range r.Problems {
		a, ok := assumable[p.Code]
		if !ok {
			kept = append(kept, p)
			continue
		}
		taken := cmp.Or(p.taken, a.taken)
		i := slices.IndexFunc(r.Assumed, func(o Assumption) bool {
			return o.Code == p.Code && (o.Taken == taken || p.taken == "" && p.Count > 1)
		})
		if i >= 0 {
			r.Assumed[i].Count += p.Count
			continue
		}
		r.Assumed = append(r.Assumed, Assumption{Line: p.Line, Code: p.Code, Count: p.Count, Taken: taken, Otherwise: a.otherwise})
	}
	r.Problems = kept
}

// Unreadable is the report on a file that could not be read, with the reason.
func Unreadable(file, why string) Report {
	return Report{File: file, Verdict: Fail, Assumed: []Assumption{}, Problems: []Problem{{Code: NoFile, Severity: severity(NoFile), Count: 1,
		Text: "cannot be read: " + why, Help: remedy(NoFile)}}}
}

// add adds problems; of the second run only those that the first does not have.
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

// compare is a full order of problems: by place, then code, then text.
func compare(a, b Problem) int {
	return cmp.Or(cmp.Compare(a.Line, b.Line), a.Col-b.Col, strings.Compare(a.Code, b.Code), strings.Compare(a.Text, b.Text))
}

func xyz(p read.Point) *XYZ {
	return &XYZ{geom.Millionth(p[0]), geom.Millionth(p[1]), geom.Millionth(p[2])}
}

func axesOf(p read.Point) machine.Axes { return machine.Axes{X: p[0], Y: p[1], Z: p[2]} }

// WriteJSON writes reports as one JSON document.
func WriteJSON(w io.Writer, reports []Report) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	out := slices.Clone(reports)
	for i, r := range out {
		out[i].Problems = slices.Clone(r.Problems)
		for k := range r.Problems {
			out[i].Problems[k].File = r.File
		}
	}
	return e.Encode(struct {
		Files []Report `json:"files"`
	}{out})
}
