package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/layout"
	"spotjig/layout/problem"
	"spotjig/post/record"
)

// marksOptions are the flags of marks.
type marksOptions struct {
	job    string // "" for the embedded demo
	format string
}

// marksFormats are what marks can print, the default first.
var marksFormats = []string{"table", "csv", "json", "card"}

func newMarksCmd(run func(context.Context, marksOptions) error) *cobra.Command {
	var o marksOptions
	c := &cobra.Command{
		Use:   "marks [JOB]",
		Short: "Where every mark goes, by which rule, and what each choice moves",
		Long: "marks works out every spot, line and arc of the job's games on its table.\n" +
			"--format card is the tape card: what a fitter without a template needs, in\n" +
			"marking-out order. Without JOB it takes the embedded demo.",
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 1 {
				o.job = args[0]
			}
			if err := oneOf("format", o.format, marksFormats); err != nil {
				return err
			}
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.format, "format", marksFormats[0], "`"+strings.Join(marksFormats, "|")+"`")
	return c
}

// oneOf refuses a flag's value that is not in the list.
func oneOf(flag, value string, list []string) error {
	if slices.Contains(list, value) {
		return nil
	}
	return usageError{fmt.Errorf("--%s is %q: %s", flag, value, problem.DidYouMean(value, list))}
}

// request is what the job's marks were worked out from.
func (l loaded) request() layout.Request {
	return layout.Request{Table: l.job.Table, Games: l.job.Games, Choices: l.job.Choices, Balls: l.job.Balls, House: l.job.House}
}

// runMarks prints the marks of a job.
func runMarks(_ context.Context, o marksOptions, out io.Writer) error {
	l, err := loadJob(o.job)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := writeMarks(&b, l, o.format); err != nil {
		return err
	}
	_, err = out.Write(b.Bytes())
	return err
}

// writeMarks prints a loaded job's marks in one of the formats.
func writeMarks(w io.Writer, l loaded, format string) error {
	card := layout.TapeCard(l.request(), l.plan)
	switch format {
	case "csv":
		return record.WriteMarks(w, l.plan.Marks)
	case "json":
		return layout.WriteMarksJSON(w, l.plan, card)
	case "card":
		return layout.WriteTapeCard(w, card)
	}
	if err := writeTable(w, l); err != nil {
		return err
	}
	if err := layout.WriteMarks(w, l.plan); err != nil {
		return err
	}
	for _, n := range l.notes {
		if _, err := fmt.Fprintf(w, "\nnote: %s\n", n.Error()); err != nil {
			return err
		}
	}
	return nil
}

// writeTable says what is known about the table.
func writeTable(w io.Writer, l loaded) error {
	var lines []string
	if l.job.Name != "" {
		lines = append(lines, l.job.Name)
	}
	if l.survey != nil {
		lines = append(lines, l.survey.Text()...)
	} else {
		t := l.job.Table
		lines = append(lines, fmt.Sprintf("playing surface: %s long, %s wide, taken as true", layout.Length(t.L), layout.Length(t.W)))
	}
	for _, k := range layout.CheckSizes(l.job.Table, l.job.Games) {
		lines = append(lines, k.Text())
	}
	_, err := fmt.Fprintf(w, "%s\n\n", strings.Join(lines, "\n"))
	return err
}
