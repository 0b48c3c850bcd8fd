package main

import (
	"bytes"
	"context"
	"errors"
	"io"

	"github.com/spf13/cobra"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
	"spotjig/post"
	"spotjig/post/summary"
)

// markedOptions are the arguments of marked.
type markedOptions struct {
	job      string
	readings []string
	keep     bool
	json     bool
	in       io.Reader
}

func newMarkedCmd(run func(context.Context, markedOptions) error) *cobra.Command {
	var o markedOptions
	c := &cobra.Command{
		Use:   "marked JOB READINGS...",
		Short: "Compare the finished marks, as measured on the cloth, with a plan",
		Long: "marked reads what was measured, one place a line:\n\n" +
			"  by: A. Fitter\n" +
			"  tolerance: 1 mm\n" +
			"  yellow: head 524.5 mm, right 423 mm\n" +
			"  brown: left-right 0.5 mm\n" +
			"  baulk-line@left: head 524 mm\n" +
			"  d: radius 211.5 mm\n" +
			"  black: from pink 404 mm\n" +
			"  foot spot: x 1905.2 mm, y -0.5 mm\n\n" +
			"x and y, and places by the names printed there, are those of the job sheet's form.\n" +
			"A difference (left-right, head-foot: how much the first is more) beats two\n" +
			"absolute distances. A tolerance is the readings' own, else what the job states for\n" +
			"the mark, else what its jig holds at worst. It prints a record to sign and keep\n" +
			"with the table, and ends with status 1 when a place is outside. Several files of readings,\n" +
			"the oldest first, make several records, and each says what moved since the one\n" +
			"before. With --keep they are added to the history beside the job, a text file of\n" +
			"yours (of club.yaml it is club.marked.txt); what is in it stays as it is. Where\n" +
			"there is one, the first record says what moved since its last marking, and which\n" +
			"jig to take from the shelf.",
		Example: "  spotjig marked club.yaml readings.txt\n  spotjig marked club.yaml readings.txt --keep\n  spotjig marked club.yaml - --json < readings.txt",
		Args:    takes(2, anyNumber),
		RunE: func(c *cobra.Command, args []string) error {
			o.job, o.readings, o.in = args[0], args[1:], c.InOrStdin()
			return run(c.Context(), o)
		},
	}
	c.Flags().BoolVar(&o.keep, "keep", false, "add the readings to the history beside the job")
	jsonFlag(c, &o.json)
	return c
}

// errOutside is the verdict that a mark is not where it belongs.
var errOutside = errors.New("a mark is outside the tolerance")

// markedJSON is the report of marked: what each file of readings tells.
type markedJSON struct {
	Files    []fileMarks    `json:"files"`
	History  historyJSON    `json:"history"`
	Problems []problem.Told `json:"problems"`
}

// fileMarks are the marks of one file.
type fileMarks struct {
	File string `json:"file"`
	layout.ToldComparison
}

// runMarked prints the record of each marking, and nothing when a file is at fault. What
// is kept is kept before anything is printed.
func runMarked(ctx context.Context, o markedOptions, out io.Writer) error {
	h, err := openHistory(o.job, o.keep)
	if err != nil {
		return err
	}
	read := &reading{in: o.in}
	l, err := read.job(o.job)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	report := markedJSON{Files: []fileMarks{}, Problems: l.Notes.ToldAsNotes()}
	pass, t, allowed := true, l.Job.Table, l.Allowed()
	jigNow := post.Parts(", ", jig.TableLetters(t, l.Job.Units == job.UnitsInch), l.Job.Date)
	before, jigBefore := h.last(l)
	for i, name := range o.readings {
		data, c, err := compared(read, l, allowed, name)
		if err != nil {
			return err
		}
		pass = pass && c.Pass
		report.Files = append(report.Files, fileMarks{name, c.Told()})
		summary.Heading(&b, i, len(o.readings), name)
		if err := layout.WriteComparison(&b, c, layout.RecordOptions{Job: l.Job.Name, Version: thisBuild().Stamp,
			Table: figure.By(t.L, t.W), Jig: jigNow, Look: look(out, l)}); err != nil {
			return err
		}
		if before != nil {
			if err := layout.WriteMoved(&b, *before, c, look(out, l)); err != nil {
				return err
			}
		}
		if advice := layout.JigAdvice(jigBefore, jigNow); advice != "" {
			b.WriteString(screen.Paragraph("jig: ", advice, screen.Columns))
		}
		before, jigBefore = &c, "" // of the files given the jig is the job's
		if err := h.add(jigNow, name, data); err != nil {
			return err
		}
	}
	if o.keep {
		if err := h.write(ctx); err != nil {
			return err
		}
	}
	report.History = h.report(o.keep)
	text := b.String() + h.text(o.keep)
	if o.json {
		b.Reset()
		if err := printJSON(&b, report); err != nil {
			return err
		}
		text = b.String()
	}
	if _, err := io.WriteString(out, text); err != nil {
		return err
	}
	if !pass {
		return failedError{errOutside}
	}
	return nil
}

// compared holds a file of readings against the plan; the file's bytes come back, too.
func compared(read *reading, l loaded, allowed func(layout.Mark) layout.Allowed, name string) ([]byte, layout.Comparison, error) {
	data, err := read.file(name)
	if err != nil {
		return nil, layout.Comparison{}, err
	}
	readings, err := layout.ReadReadings(bytes.NewReader(data), name)
	if err != nil {
		return nil, layout.Comparison{}, err
	}
	c, err := layout.Compare(l.Request(), l.Plan, readings, allowed)
	if err != nil {
		return nil, c, problem.InFile(name, err)
	}
	return data, c, nil
}
