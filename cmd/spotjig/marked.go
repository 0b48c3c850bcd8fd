package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
)

// markedOptions are the arguments of marked.
type markedOptions struct {
	job, readings string
}

func newMarkedCmd(run func(context.Context, markedOptions) error) *cobra.Command {
	return &cobra.Command{
		Use:   "marked JOB READINGS",
		Short: "Compare the finished marks, as measured on the cloth, with the plan",
		Long: "marked reads what was measured, one place a line:\n\n" +
			"  by: A. Fitter\n" +
			"  tolerance: 1 mm\n" +
			"  yellow: head 524.5 mm, right 423 mm\n" +
			"  brown: left-right 0.5 mm\n" +
			"  baulk-line@left: head 524 mm\n" +
			"  d: radius 211.5 mm\n" +
			"  black: from pink 404 mm\n\n" +
			"A difference (left-right, head-foot: how much the first is more) beats two\n" +
			"absolute distances. It prints a record to sign and keep with the table, and\n" +
			"ends with status 1 when a place is outside the tolerance.",
		Example: "  spotjig marked club.yaml readings.txt",
		Args:    cobra.ExactArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			return run(c.Context(), markedOptions{job: args[0], readings: args[1]})
		},
	}
}

// errOutside is the verdict that a mark is not where it belongs.
var errOutside = errors.New("a mark is outside the tolerance")

// runMarked prints the record of a marking.
func runMarked(_ context.Context, o markedOptions, out io.Writer) error {
	l, err := loadJob(o.job)
	if err != nil {
		return err
	}
	data, err := readInput(o.readings)
	if err != nil {
		return err
	}
	read, err := layout.ReadReadings(bytes.NewReader(data), o.readings)
	if err != nil {
		return err
	}
	c, err := layout.Compare(l.Request(), l.Plan, read, l.Job.Jig.Tolerance)
	if err != nil {
		return inFile(o.readings, err)
	}
	var b bytes.Buffer
	t := l.Job.Table
	if err := layout.WriteComparison(&b, c, layout.RecordOptions{Job: l.Job.Name, Version: thisBuild().Stamp,
		Table: fmt.Sprintf("%s x %s", figure.MM(t.L), figure.MM(t.W))}); err != nil {
		return err
	}
	if _, err := out.Write(b.Bytes()); err != nil {
		return err
	}
	if !c.Pass {
		return failedError{errOutside}
	}
	return nil
}

// inFile gives problems without a file the file they are in.
func inFile(name string, err error) error {
	list := problem.From(err)
	if len(list) == 0 {
		return err
	}
	for i := range list {
		list[i].File = name
	}
	return list.Err()
}
