package main

import (
	"bytes"
	"context"
	"io"

	"github.com/spf13/cobra"

	"spotjig/layout"
	"spotjig/layout/problem"
)

// ballsOptions are the flags of balls.
type ballsOptions struct {
	job    string // "" for the embedded demo
	format string
	in     io.Reader
}

// ballsFormats are what balls can print, the default first.
var ballsFormats = []string{"table", "json"}

func newBallsCmd(run func(context.Context, ballsOptions) error) *cobra.Command {
	var o ballsOptions
	f := formatFlags{formats: ballsFormats}
	c := &cobra.Command{
		Use:   "balls [JOB]",
		Short: "Do the balls fit between the marks, and with how many reds",
		Long: "balls racks the job's balls between its marks: 15, 10 and 6 reds, the triangle's\n" +
			"wall, and the largest ball that still fits. Without JOB it takes the embedded demo.",
		Example: "  spotjig balls club.yaml",
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

// runBalls prints the ball fit of a job. Balls that do not fit are a finding and
// no fault: the exit status stays 0.
func runBalls(_ context.Context, o ballsOptions, out io.Writer) error {
	l, err := (&reading{in: o.in}).job(o.job)
	if err != nil {
		return err
	}
	fit, err := layout.FitBalls(l.Request())
	if err != nil {
		return l.Located(err)
	}
	var b bytes.Buffer
	if o.format == "json" {
		err = layout.WriteBallsJSON(&b, fit)
	} else {
		err = layout.WriteBalls(&b, fit, look(out, l))
	}
	if err != nil {
		return err
	}
	doc := b.Bytes()
	if o.format == "json" {
		if doc, err = problem.WithTold(doc, l.Notes.ToldAsNotes()); err != nil {
			return err
		}
	}
	if _, err = out.Write(doc); err == nil && o.format == "table" {
		noJob(out, o.job)
	}
	return err
}
