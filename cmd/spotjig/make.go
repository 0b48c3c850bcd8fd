package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"spotjig/cmd/spotjig/folder"
	"spotjig/cmd/spotjig/named"
	"spotjig/cmd/spotjig/terminal"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/post/summary"
	"spotjig/post/work"
)

// makeOptions are the flags of make.
type makeOptions struct {
	job    string   // "" for the embedded demo
	jobs   []string // several, each into a folder of its own in out; then job is ""
	out    string
	force  bool
	share  bool // pieces of several jobs lie on the same sheets
	allTxt bool // print passed checks too
	json   bool
	quiet  bool
	in     io.Reader
	shape  work.Options
	given  func(flag string) bool // on the command line; nil: none
}

func newMakeCmd(run func(context.Context, makeOptions) error) *cobra.Command {
	o := makeOptions{}
	c := &cobra.Command{
		Use:   "make [JOB]...",
		Short: "Make every file of a job, proved before they are written",
		Long: "make reads a job file, designs the template, lays it on sheets, writes drawings\n" +
			"and programs, reads them back, proves them and then replaces DIR as a whole.\n" +
			"Without JOB it makes an embedded demo job. Of several jobs, or of a folder of them,\n" +
			"each is made into DIR/NAME, named after its file; when one fails, the others are made.\n" +
			"With --share-sheets those for one machine and sheet lie on the same sheets, in\n" +
			"DIR/shared-1 and on: pieces and files begin with the letter of their job. Of such a\n" +
			"folder's jobs.yaml the jobs that it names are made so again.",
		Example: "  spotjig make\n  spotjig make club.yaml -o jig --svg\n  spotjig make one.yaml two.yaml -o jigs --share-sheets\n  spotjig make - -o jig --json < club.yaml",
		RunE: func(c *cobra.Command, args []string) error {
			o.given = c.Flags().Changed
			args, err := o.named(args)
			if err != nil {
				return err
			}
			if len(args) > 1 || len(args) == 1 && named.IsFolder(args[0]) {
				o.jobs = args
			} else if len(args) == 1 {
				o.job = args[0]
			}
			if o.share && len(o.jobs) == 0 {
				return usageError{errors.New("--share-sheets is for several jobs, or a folder of them")}
			}
			o.in = c.InOrStdin()
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVarP(&o.out, "out", "o", "spotjig-out", "folder to write")
	c.Flags().BoolVar(&o.force, "force", false, "replace files in DIR that were edited by hand")
	c.Flags().BoolVar(&o.share, "share-sheets", false, "lay the pieces of several jobs on the same sheets")
	c.Flags().BoolVarP(&o.allTxt, "verbose", "v", false, "print the checks that passed as well")
	c.Flags().StringVar(&o.shape.Paper, "paper", "a4", "paper of job sheet and proof: a4 or letter")
	c.Flags().StringVar(&o.shape.ProofOf, "proof-of", "template", "what the paper proof shows: template or marks")
	c.Flags().BoolVar(&o.shape.SVG, "svg", false, "write the table and sheet pictures as SVG files as well")
	jsonFlag(c, &o.json)
	quietFlag(c, &o.quiet)
	return c
}

// check refuses values that no output knows.
func (o makeOptions) check() error {
	if p := o.shape.Paper; p != "a4" && p != "letter" {
		return usageError{fmt.Errorf("--paper %q: it is a4 or letter", p)}
	}
	if p := o.shape.ProofOf; p != "template" && p != "marks" {
		return usageError{fmt.Errorf("--proof-of %q: it is template or marks", p)}
	}
	return folderName("-o ", o.out)
}

// runMake builds the job in memory, and writes it only if every check allows it.
func runMake(ctx context.Context, o makeOptions, out, errw io.Writer) error {
	if err := o.check(); err != nil {
		return err
	}
	if len(o.jobs) > 0 {
		return makeMany(ctx, o, out, errw)
	}
	l, err := (&reading{in: o.in}).job(o.job)
	if err != nil {
		return err
	}
	made, err := makeInto(ctx, o.out, o.force, l, func() (work.Made, error) {
		o.shape.Stage = terminal.Stage(errw)
		if o.shape.Stage != nil {
			defer o.shape.Stage("")
		}
		return o.build(ctx, l)
	})
	if err != nil {
		return err
	}
	switch {
	case o.json:
		return printMade(out, l, made, o.out)
	case !o.quiet:
		summary.Set(toldTo(out, l), made.Set, l.Notes, o.allTxt)
		fmt.Fprintf(out, "wrote %s to %s\n", figure.Count(len(made.Files), "file"), o.out)
		noJob(out, o.job)
	}
	return nil
}

// makeInto builds a job's set in memory, if the folder can be had, and writes it there.
func makeInto(ctx context.Context, dir string, force bool, l loaded, build func() (work.Made, error)) (work.Made, error) {
	into := folder.Options{Force: force, Inputs: *l.inputs}
	if err := folder.Check(dir, into); err != nil {
		return work.Made{}, err
	}
	made, err := build()
	if err != nil {
		return work.Made{}, err
	}
	return made, writeSet(ctx, made, dir, l.Name(), into)
}

// build makes a job's set in memory. A set's own job.yaml is made as it was, but for what the
// command line says otherwise.
func (o makeOptions) build(ctx context.Context, l loaded) (work.Made, error) {
	o.shape.Version = thisBuild().Stamp
	if l.Made.Version != "" {
		o.asMade(l.Made)
	}
	return l.Make(ctx, o.shape)
}

// asMade takes the choices that a set was made with, but for those on the command line.
func (o *makeOptions) asMade(was job.Made) {
	given := func(flag string) bool { return o.given != nil && o.given(flag) }
	if !given("paper") {
		o.shape.Paper = was.Paper
	}
	if !given("proof-of") {
		o.shape.ProofOf = was.ProofOf
	}
	if !given("svg") {
		o.shape.SVG = was.SVG
	}
	o.shape.Grid, o.shape.Stock = was.Grid, was.Stock
}

// writeSet writes a finished set into its folder, unless a check of it failed; name is what
// its job is called.
func writeSet(ctx context.Context, made work.Made, dir, name string, opt folder.Options) error {
	if err := work.Refused(name, dir, made.Failures()); err != nil {
		return err
	}
	return folder.Replace(ctx, dir, made.Files, opt)
}
