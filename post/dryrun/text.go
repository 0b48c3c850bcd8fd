package dryrun

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"spotjig/layout/figure"
)

// WriteText writes reports for people: what was found, each with the place to find it
// by and a line to mend it by, then the figures, then the verdict.
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
		fmt.Fprintf(w, "%s: X %.3f to %.3f, Y %.3f to %.3f, Z %.3f to %.3f mm, machine coordinates\n", r.File,
			r.Min.X, r.Max.X, r.Min.Y, r.Max.Y, r.Min.Z, r.Max.Z)
		fmt.Fprintf(w, "%s: starts at X%.3f Y%.3f Z%.3f, ends at X%.3f Y%.3f Z%.3f\n", r.File,
			r.Start.X, r.Start.Y, r.Start.Z, r.End.X, r.End.Y, r.End.Z)
		fmt.Fprintf(w, "%s: %s at feed, %s rapid, longest move %s, %s\n", r.File, figure.MM(r.FeedMM), figure.MM(r.RapidMM), figure.MM(r.StepMM), figure.Count(r.Lines, "line"))
		if r.TimeS > 0 {
			fmt.Fprintf(w, "%s: about %s, beam on for %s; the estimate is good to a fifth\n", r.File, figure.Time(r.TimeS), figure.Time(r.BeamOnS))
		}
	} else {
		fmt.Fprintf(w, "%s: nothing moves, %s\n", r.File, figure.Count(r.Lines, "line"))
	}
	if list := r.byCode(); list != "" {
		fmt.Fprintf(w, "%s: by code: %s\n", r.File, list)
	}
	fmt.Fprintf(w, "%s: %s: %s, %s\n", r.File, r.Verdict, figure.Count(r.Errors(), "error"), figure.Count(r.Warnings(), "warning"))
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
