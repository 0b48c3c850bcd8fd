package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/cmd/spotjig/folder"
	"spotjig/cmd/spotjig/terminal"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
	"spotjig/post/summary"
	"spotjig/post/work"
)

// verifyOptions are the arguments of verify.
type verifyOptions struct {
	dirs   []string
	allTxt bool // print passed checks too
	json   bool
	quiet  bool
	again  func(*work.Order, context.Context) (work.Made, error) // tests make each set once
}

func newVerifyCmd(run func(context.Context, verifyOptions) error) *cobra.Command {
	o := verifyOptions{again: (*work.Order).Again}
	c := &cobra.Command{
		Use:   "verify DIR...",
		Short: "Check that a folder made earlier is whole, unedited, still passes",
		Long: "verify makes the set again in memory from DIR/job.yaml (of jobs that share sheets,\n" +
			"from those that DIR/jobs.yaml names) and compares every byte of every file; what\n" +
			"differs is named with its first place. It names a run that was cut off, too. A folder\n" +
			"of another version is never called whole. Of several folders each\n" +
			"is told; the exit status is 0 when all are whole.",
		Example: "  spotjig verify jig\n  spotjig verify jig test-piece --json",
		Args:    takes(1, anyNumber),
		RunE: func(c *cobra.Command, args []string) error {
			o.dirs = args
			return run(c.Context(), o)
		},
	}
	jsonFlag(c, &o.json)
	quietFlag(c, &o.quiet)
	c.Flags().BoolVarP(&o.allTxt, "verbose", "v", false, "print the checks that passed as well")
	return c
}

// verifyJSON is the report of verify.
type verifyJSON struct {
	Folders  []verifiedJSON `json:"folders"`
	Problems []problem.Told `json:"problems"`
}

// verifiedJSON is one folder; of one that is not whole there is no more to tell.
type verifiedJSON struct {
	Whole bool `json:"whole"`
	work.SetReport
}

// runVerify looks at every folder, and tells of all before it ends. The error is a
// problem.List of everything that differs.
func runVerify(ctx context.Context, o verifyOptions, out io.Writer) error {
	var faults problem.List
	report := verifyJSON{Folders: []verifiedJSON{}, Problems: []problem.Told{}}
	for i, dir := range o.dirs {
		if err := folderName("", dir); err != nil {
			return err
		}
		made, note, err := verified(ctx, dir, o.again)
		if err != nil {
			if err := faults.AddError(err); err != nil {
				return err // interrupted, or no fault of a file
			}
			report.Folders = append(report.Folders, verifiedJSON{false, work.SetReport{Folder: dir}})
			continue
		}
		for _, set := range made.Sets() {
			s, err := made.Report(dir, set)
			if err != nil {
				return err
			}
			report.Folders = append(report.Folders, verifiedJSON{true, s})
		}
		if o.json || o.quiet {
			continue
		}
		if i > 0 {
			fmt.Fprintln(out)
		}
		out := summary.Reader{Writer: out, Look: screen.Look{Columns: terminal.Columns(out), Inches: made.Set.Job.Units == job.UnitsInch}}
		fmt.Fprintf(out, "%s: whole and unedited: %s, byte for byte what its job makes\n", dir, figure.Count(len(made.Files), "file"))
		for _, set := range made.Sets() {
			summary.Headline(out, set)
			fmt.Fprintf(out, "  games    %s\n", strings.Join(set.Job.Games, ", "))
			summary.Checks(out, set.Checks, o.allTxt)
		}
		if note != "" {
			out.Paragraph("  note     ", note)
		}
	}
	if !o.json {
		return faults.Err()
	}
	report.Problems = faults.Told()
	if err := printJSON(out, report); err != nil {
		return err
	}
	if len(faults) > 0 {
		return failedError{errDiffers}
	}
	return nil
}

// errDiffers is the verdict that a folder is not whole.
var errDiffers = errors.New("a folder is not what its job makes")

// verified makes a folder's set again and compares it. The note is of a run that was cut off
// beside it.
func verified(ctx context.Context, dir string, again func(*work.Order, context.Context) (work.Made, error)) (made work.Made, note string, err error) {
	held, note, err := folder.Read(dir)
	if err != nil {
		return made, "", err
	}
	made, err = work.Verify(ctx, dir, held, thisBuild().Stamp, again)
	return made, note, err
}
