package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/cmd/spotjig/terminal"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
	"spotjig/post/summary"
	"spotjig/post/work"
)

// Reports for programs. Every one is a JSON object on standard output, with problems[]
// in one shape whatever the command: what stopped it, or what to know beside the result.

// printFaults prints what stopped a command as its report.
func printFaults(out io.Writer, err error) error {
	return printJSON(out, map[string][]problem.Told{"problems": problem.Tell(err)})
}

// jsonFlag is the flag of a command that reports for programs, too.
func jsonFlag(c *cobra.Command, json *bool) {
	c.Flags().BoolVar(json, "json", false, "report as JSON")
}

// quietFlag is the flag of a command that tells of its success.
func quietFlag(c *cobra.Command, quiet *bool) {
	c.Flags().BoolVarP(quiet, "quiet", "q", false, "print nothing but problems")
}

// formatFlags are --format and --json, which is the short way to say json.
type formatFlags struct {
	formats []string // the default first
	format  string
	json    bool
}

// bind gives a command both flags.
func (f *formatFlags) bind(c *cobra.Command) {
	c.Flags().StringVar(&f.format, "format", f.formats[0], "how to print it, `FORMAT`: "+strings.Join(f.formats, ", "))
	setFlag(c, "format", words(func() []string { return f.formats }))
	jsonFlag(c, &f.json)
}

// choose settles the format, and refuses one that the command has not.
func (f formatFlags) choose(c *cobra.Command) (string, error) {
	if f.json && c.Flags().Changed("format") && f.format != "json" {
		return "", usageError{fmt.Errorf("--json and --format %s: choose one", f.format)}
	}
	if f.json {
		return "json", nil
	}
	return f.format, oneOf("format", f.format, f.formats)
}

// reportsJSON tells whether a command was asked to report as JSON.
func reportsJSON(c *cobra.Command) bool {
	for name, on := range map[string]string{"json": "true", "format": "json"} {
		if f := c.Flags().Lookup(name); f != nil && f.Value.String() == on {
			return true
		}
	}
	return false
}

// madeJSON is the report of make and coupon.
type madeJSON struct {
	work.SetReport
	Cautions []string       `json:"cautions"`
	Problems []problem.Told `json:"problems"`
}

// printMade reports a set that was written.
func printMade(out io.Writer, l loaded, made work.Made, folder string) error {
	s, err := made.Report(folder, made.Set)
	if err != nil {
		return err
	}
	return printJSON(out, madeJSON{s, append([]string{}, made.Set.Cautions...), l.Notes.ToldAsNotes()})
}

// look is how what is printed of a job is to look.
func look(w io.Writer, l loaded) screen.Look {
	return screen.Look{Columns: terminal.Columns(w), Inches: l.Job.Units == job.UnitsInch}
}

// noJob says, after what was printed, whose job that was when none was named.
func noJob(w io.Writer, job string) {
	if job == "" {
		fmt.Fprint(w, "\nno JOB was named, so this is the demo; begin your own with: spotjig new FILE\n")
	}
}

// toldTo is an output for what is said of a job.
func toldTo(w io.Writer, l loaded) summary.Reader { return summary.Reader{Writer: w, Look: look(w, l)} }
