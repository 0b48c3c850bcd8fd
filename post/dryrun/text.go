package dryrun

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/screen"
)

// WriteText writes reports for people: the verdict and what it rests on, what was found,
// each with the place to find it by and a line to mend it by, then the figures. Findings stay
// on a line each, however long; the rest fits so many columns.
func WriteText(w io.Writer, reports []Report, columns int) error {
	b := bufio.NewWriter(w)
	for i, r := range reports {
		if i > 0 {
			fmt.Fprintln(b)
		}
		r.text(b, columns)
	}
	return b.Flush()
}

func (r Report) text(w io.Writer, columns int) {
	say := func(what, text string) { fmt.Fprint(w, screen.Paragraph(fmt.Sprintf("  %-7s  ", what), text, columns)) }
	verdict, taken, otherwise := r.Told()
	fmt.Fprintf(w, "%s: %s\n", r.File, verdict)
	if taken != "" {
		say("if", taken)
		say("else", otherwise)
	}
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
	if r.Start == nil {
		say("moves", "nothing, "+figure.Count(r.Lines, "line"))
	} else {
		r.extents(say)
		say("starts", fmt.Sprintf("at X%.3f Y%.3f Z%.3f, ends at X%.3f Y%.3f Z%.3f, machine coordinates",
			r.Start.X, r.Start.Y, r.Start.Z, r.End.X, r.End.Y, r.End.Z))
		say("moves", figure.MM(r.FeedMM)+" at feed, "+figure.MM(r.RapidMM)+" rapid, longest move "+figure.MM(r.StepMM)+", "+figure.Count(r.Lines, "line"))
		if r.TimeS > 0 {
			on := ""
			if r.worker == beamOn {
				on = ", beam on for " + figure.Time(r.BeamOnS)
			}
			say("time", "about "+figure.Time(r.TimeS)+on+"; the estimate is good to a fifth")
		}
	}
	if list := r.byCode(); list != "" {
		say("codes", list)
	}
}

// Told is the verdict in words, what it assumes, and what happens if that is not so; the last
// two are "" when nothing is assumed.
func (r Report) Told() (verdict, taken, otherwise string) {
	count := figure.Count(r.Errors(), "error") + ", " + figure.Count(r.Warnings(), "warning")
	if len(r.Assumed) == 0 {
		return r.Verdict + ": " + count, "", ""
	}
	var all, others []string
	for _, a := range r.Assumed {
		all = append(all, a.Taken)
		at := a.Code
		if a.Line > 0 {
			at = fmt.Sprintf("line %d, %s", a.Line, a.Code)
		}
		others = append(others, a.Otherwise+" ("+at+")")
	}
	verdict = r.Verdict + " if what follows is so"
	if r.Verdict != Pass {
		verdict = r.Verdict + ": " + count + ", even if what follows is so"
	}
	return verdict, strings.Join(all, "; "), strings.Join(others, "; ")
}

// extents tells how far the program goes on each axis, and how far it works, with the lines
// that go there first.
func (r Report) extents(say func(what, text string)) {
	for _, a := range [3]struct {
		name   string
		of     func(*XYZ) float64
		lineOf func(*Lines) int64
	}{
		{"X", func(p *XYZ) float64 { return p.X }, func(l *Lines) int64 { return l.X }},
		{"Y", func(p *XYZ) float64 { return p.Y }, func(l *Lines) int64 { return l.Y }},
		{"Z", func(p *XYZ) float64 { return p.Z }, func(l *Lines) int64 { return l.Z }},
	} {
		text := fmt.Sprintf("%.3f to %.3f mm (lines %d, %d)", a.of(r.Min), a.of(r.Max), a.lineOf(r.MinLine), a.lineOf(r.MaxLine))
		if r.WorkMin != nil {
			text += fmt.Sprintf("; %s %.3f to %.3f mm (lines %d, %d)", r.worker, a.of(r.WorkMin), a.of(r.WorkMax), a.lineOf(r.WorkMinLine), a.lineOf(r.WorkMaxLine))
		}
		say(a.name, text)
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
