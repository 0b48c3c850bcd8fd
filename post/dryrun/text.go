package dryrun

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"spotjig/layout/figure"
)

// WriteText writes reports for people: the verdict and what it rests on, what was found,
// each with the place to find it by and a line to mend it by, then the figures.
func WriteText(w io.Writer, reports []Report) error {
	b := bufio.NewWriter(w)
	for i, r := range reports {
		if i > 0 {
			fmt.Fprintln(b)
		}
		r.text(b)
	}
	return b.Flush()
}

func (r Report) text(w io.Writer) {
	r.verdict(w)
	for _, p := range r.Problems {
		at := r.File
		if p.Line > 0 {
			at += fmt.Sprintf(":%d", p.Line)
			if p.Col > 0 {
				at += fmt.Sprintf(":%d", p.Col)
			}
		}
		fmt.Fprintf(w, "%s: %s: %s [%s]\n    help: %s\n", at, p.Severity, p.Text, p.Code, p.Help)
	}
	if r.Start != nil {
		r.extents(w)
		fmt.Fprintf(w, "%s: starts at X%.3f Y%.3f Z%.3f, ends at X%.3f Y%.3f Z%.3f, machine coordinates\n", r.File,
			r.Start.X, r.Start.Y, r.Start.Z, r.End.X, r.End.Y, r.End.Z)
		fmt.Fprintf(w, "%s: %s at feed, %s rapid, longest move %s, %s\n", r.File, figure.MM(r.FeedMM), figure.MM(r.RapidMM), figure.MM(r.StepMM), figure.Count(r.Lines, "line"))
		if r.TimeS > 0 {
			on := ""
			if r.worker == beamOn {
				on = ", beam on for " + figure.Time(r.BeamOnS)
			}
			fmt.Fprintf(w, "%s: about %s%s; the estimate is good to a fifth\n", r.File, figure.Time(r.TimeS), on)
		}
	} else {
		fmt.Fprintf(w, "%s: nothing moves, %s\n", r.File, figure.Count(r.Lines, "line"))
	}
	if list := r.byCode(); list != "" {
		fmt.Fprintf(w, "%s: by code: %s\n", r.File, list)
	}
}

// verdict tells the verdict and, where it rests on something, on what, and what happens if
// that is otherwise.
func (r Report) verdict(w io.Writer) {
	count := figure.Count(r.Errors(), "error") + ", " + figure.Count(r.Warnings(), "warning")
	if len(r.Assumed) == 0 {
		fmt.Fprintf(w, "%s: %s: %s\n", r.File, r.Verdict, count)
		return
	}
	var taken, otherwise []string
	for _, a := range r.Assumed {
		taken = append(taken, a.Taken)
		at := a.Code
		if a.Line > 0 {
			at = fmt.Sprintf("line %d, %s", a.Line, a.Code)
		}
		otherwise = append(otherwise, a.Otherwise+" ("+at+")")
	}
	head := r.Verdict + " if "
	if r.Verdict != Pass {
		head = r.Verdict + ": " + count + ", also if "
	}
	fmt.Fprintf(w, "%s: %s%s\n", r.File, head, strings.Join(taken, "; "))
	fmt.Fprintf(w, "%s: otherwise %s\n", r.File, strings.Join(otherwise, "; "))
}

// extents tells how far the program goes on each axis, and how far it works, with the lines
// that go there first.
func (r Report) extents(w io.Writer) {
	for _, a := range [3]struct {
		name   string
		of     func(*XYZ) float64
		lineOf func(*Lines) int64
	}{
		{"X", func(p *XYZ) float64 { return p.X }, func(l *Lines) int64 { return l.X }},
		{"Y", func(p *XYZ) float64 { return p.Y }, func(l *Lines) int64 { return l.Y }},
		{"Z", func(p *XYZ) float64 { return p.Z }, func(l *Lines) int64 { return l.Z }},
	} {
		fmt.Fprintf(w, "%s: %s %.3f to %.3f mm (lines %d, %d)", r.File, a.name, a.of(r.Min), a.of(r.Max), a.lineOf(r.MinLine), a.lineOf(r.MaxLine))
		if r.WorkMin != nil {
			fmt.Fprintf(w, "; %s %.3f to %.3f mm (lines %d, %d)", r.worker, a.of(r.WorkMin), a.of(r.WorkMax), a.lineOf(r.WorkMinLine), a.lineOf(r.WorkMaxLine))
		}
		fmt.Fprintln(w)
	}
}

// byCode counts the findings by code, in order.
func (r Report) byCode() string {
	n := map[string]int64{}
	for _, p := range r.Problems {
		n[p.Code] += p.Count
	}
	var out []string
	for _, c := range Codes() {
		if n[c] > 0 {
			out = append(out, fmt.Sprintf("%s %d", c, n[c]))
		}
	}
	return strings.Join(out, ", ")
}
