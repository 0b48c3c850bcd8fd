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
	"spotjig/layout/figure"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
	"spotjig/post/record"
)

// marksOptions are the flags of marks.
type marksOptions struct {
	job    string // "" for the embedded demo
	format string
	in     io.Reader
}

// marksFormats are what marks can print, the default first.
var marksFormats = []string{"table", "csv", "json", "card"}

func newMarksCmd(run func(context.Context, marksOptions) error) *cobra.Command {
	var o marksOptions
	f := formatFlags{formats: marksFormats}
	c := &cobra.Command{
		Use:   "marks [JOB]",
		Short: "Where every mark goes, by which rule, and what each choice moves",
		Long: "marks works out every spot, line and arc of the job's games on its table.\n" +
			"--format card is the tape card: what a fitter without a template needs, in\n" +
			"marking-out order. Without JOB it takes the embedded demo.",
		Example: "  spotjig marks club.yaml\n  spotjig marks - --json < club.yaml\n  spotjig marks club.yaml --format card",
		Args:    takes(0, 1),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 1 {
				o.job = args[0]
			}
			var err error
			if o.format, err = f.choose(c); err != nil {
				return err
			}
			o.in = c.InOrStdin()
			return run(c.Context(), o)
		},
	}
	f.bind(c)
	return c
}

// oneOf refuses a flag's value that is not in the list.
func oneOf(flag, value string, list []string) error {
	if slices.Contains(list, value) {
		return nil
	}
	return usageError{fmt.Errorf("--%s is %q: %s", flag, value, problem.DidYouMean(value, list))}
}

// runMarks prints the marks of a job.
func runMarks(_ context.Context, o marksOptions, out io.Writer) error {
	l, err := (&reading{in: o.in}).job(o.job)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := writeMarks(&b, l, o.format, look(out, l)); err != nil {
		return err
	}
	if _, err = out.Write(b.Bytes()); err == nil && (o.format == "table" || o.format == "card") {
		noJob(out, o.job)
	}
	return err
}

// writeMarks prints a loaded job's marks in one of the formats.
func writeMarks(w io.Writer, l loaded, format string, look screen.Look) error {
	card := layout.TapeCard(l.Request(), l.Plan)
	switch format {
	case "csv":
		return record.WriteMarks(w, l.Plan.Marks)
	case "json":
		var b bytes.Buffer
		if err := layout.WriteMarksJSON(&b, l.Plan, card); err != nil {
			return err
		}
		doc, err := problem.WithTold(b.Bytes(), l.Notes.ToldAsNotes())
		if err != nil {
			return err
		}
		_, err = w.Write(doc)
		return err
	case "card":
		return layout.WriteTapeCard(w, card, look)
	}
	if err := writeTable(w, l, look); err != nil {
		return err
	}
	if err := layout.WriteMarks(w, l.Plan, look); err != nil {
		return err
	}
	for _, n := range l.Notes {
		if _, err := fmt.Fprint(w, screen.Fold(fmt.Sprintf("\nnote: %s\n", n.Error()), look.Columns)); err != nil {
			return err
		}
	}
	return nil
}

// writeTable says what is known about the table.
func writeTable(w io.Writer, l loaded, look screen.Look) error {
	lines := l.Facts()
	if l.Job.Name != "" {
		lines = append([]string{l.Job.Name}, lines...)
	}
	text := strings.Join(lines, "\n")
	if look.Inches {
		text = figure.InchesFirst(text)
	}
	_, err := fmt.Fprintf(w, "%s\n\n", screen.Fold(text, look.Columns))
	return err
}
