package bridge

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"spotjig/cam/machine"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/dryrun"
	"spotjig/post/trace"
)

// The machines that a program can be held against beside those that are built in.
const (
	machineNone = ""    // language and extents only
	machineJob  = "job" // the open job's, with its sheet
)

// JudgeOptions say what a program is held against.
type JudgeOptions struct {
	Name     string           `json:"name"`    // of the program
	Machine  string           `json:"machine"` // a built-in one; "job": the open job's; "": none
	Stock    string           `json:"stock"`   // the sheet as typed, WxHxT; "": the open job's if Machine is, else none
	Assume   bool             `json:"assume"`  // take what is usual where the program does not say
	Open     func() io.Reader `json:"-"`       // the program from its start; called twice
	Progress func(int64)      `json:"-"`       // told how many bytes are read; nil for silence
}

// Judged is the verdict on a program.
type Judged struct {
	Verdict  string   `json:"verdict"` // "pass", "warn" or "fail"
	Told     string   `json:"told"`    // the verdict in words
	If       string   `json:"if"`      // what the verdict assumes; "": nothing
	Else     string   `json:"else"`    // what happens if that is not so
	Against  string   `json:"against"` // what it was held against
	Lines    []string `json:"lines"`
	Findings []Found  `json:"findings"`
	Picture  string   `json:"picture"` // SVG; findings carry their number there

	way *trace.Way
}

// Found is one finding, numbered from 1.
type Found struct {
	N        int    `json:"n"`
	Where    string `json:"where"`
	Severity string `json:"severity"`
	Code     string `json:"code"`
	Text     string `json:"text"`
	Help     string `json:"help"`
	Source   string `json:"source"` // the program's line, "" of the program as a whole
}

// Machines lists what a program can be held against.
func Machines() []Option {
	out := []Option{{machineJob, "the machine and sheet of the open job"}, {machineNone, "no machine: language and extents only"}}
	for _, n := range machine.ProfileNames() {
		out = append(out, Option{n, n})
	}
	return out
}

// Judge has the dry run judge a program and draws its way. The error is the reader's, the
// context's, or a problem of what it is held against.
func Judge(ctx context.Context, text string, opt JudgeOptions) (Judged, error) {
	how := dryrun.Options{File: opt.Name, Progress: opt.Progress, Assume: opt.Assume}
	draw := trace.Options{Stock: geom.EmptyBox()}
	out := Judged{Against: "no machine: language and extents only", Findings: []Found{}}
	lay := func(size [3]float64) {
		how.Stock = dryrun.StockOf(size)
		draw.Stock = geom.Box{Max: geom.Point{X: size[0], Y: size[1]}}
		out.Against += ", sheet " + figure.Sheet(size[0], size[1])
	}
	switch opt.Machine {
	case machineNone:
	case machineJob:
		o, err := read(text)
		if err != nil {
			return out, err
		}
		p, m, err := o.Sheet()
		if err != nil {
			return out, err
		}
		how.Machine, how.Material = &p, &m
		out.Against = p.Name + ", " + m.Name
		if len(m.Sheets) == 1 && opt.Stock == "" {
			lay([3]float64{m.Sheets[0].Width, m.Sheets[0].Height, m.Thickness})
		}
	default:
		p, ok := machine.Lookup(opt.Machine)
		if !ok {
			return out, fmt.Errorf("unknown built-in machine %q; %s", opt.Machine, problem.DidYouMean(opt.Machine, machine.ProfileNames()))
		}
		how.Machine, out.Against = &p, p.Name
	}
	if opt.Stock != "" {
		size, err := job.ParseSheet(opt.Stock)
		if err != nil {
			return out, fmt.Errorf("sheet %q: %w", opt.Stock, err)
		}
		lay(size)
	}
	rep, err := dryrun.Run(ctx, opt.Open(), how)
	if err != nil {
		return out, err
	}
	out.fill(rep)
	draw.Machine = how.Machine
	var numbers []int64
	for _, p := range rep.Problems {
		draw.Findings = append(draw.Findings, trace.Finding{Line: p.Line, Error: p.Severity == dryrun.Error})
		numbers = append(numbers, p.Line)
	}
	program := newLines(opt.Open(), numbers)
	if out.way, err = trace.Read(ctx, program, draw); err != nil {
		return out, err
	}
	for i, p := range rep.Problems {
		out.Findings[i].Source = program.got[p.Line]
	}
	out.Picture, err = out.Play(trace.Whole)
	return out, err
}

// Play draws the way as far as a share of its length, 0 to 1.
func (j Judged) Play(share float64) (string, error) {
	if j.way == nil {
		return "", nil
	}
	var b bytes.Buffer
	err := j.way.Write(&b, share)
	return b.String(), err
}

// fill puts in the figures and findings of a report, in the report's order.
func (j *Judged) fill(r dryrun.Report) {
	j.Verdict = r.Verdict
	j.Told, j.If, j.Else = r.Told()
	j.Lines = []string{figure.Count(r.Lines, "line")}
	if r.Min != nil {
		j.Lines = append(j.Lines, fmt.Sprintf("x %s, y %s, z %s (machine)", figure.Between(r.Min.X, r.Max.X), figure.Between(r.Min.Y, r.Max.Y), figure.Between(r.Min.Z, r.Max.Z)),
			fmt.Sprintf("cut %s, travel %s", figure.Metres(r.FeedMM), figure.Metres(r.RapidMM)))
	}
	if r.TimeS > 0 {
		j.Lines = append(j.Lines, "about "+figure.Time(r.TimeS))
	}
	for i, p := range r.Problems {
		where := "the program as a whole"
		if p.Line > 0 {
			where = fmt.Sprintf("line %d", p.Line)
			if p.Col > 0 {
				where += fmt.Sprintf(", column %d", p.Col)
			}
		}
		f := Found{N: i + 1, Where: where, Severity: p.Severity, Code: p.Code, Text: p.Text, Help: p.Help}
		if p.Count > 1 {
			f.Text += fmt.Sprintf(" (%d times)", p.Count)
		}
		j.Findings = append(j.Findings, f)
	}
}
