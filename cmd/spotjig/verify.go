package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
	"spotjig/post"
	"spotjig/post/dryrun"
	"spotjig/post/proof/recorded"
	"spotjig/post/work"
)

// verifyOptions are the arguments of verify.
type verifyOptions struct {
	dir    string
	allTxt bool // print passed checks too
}

func newVerifyCmd(run func(context.Context, verifyOptions) error) *cobra.Command {
	o := verifyOptions{}
	c := &cobra.Command{
		Use:   "verify DIR",
		Short: "Check that a folder made earlier is whole, unedited and still passes",
		Long: "verify compares every file of DIR with the hash in its record, names a run that\n" +
			"was cut off, and proves the files again from the record: drawings and programs\n" +
			"against the parts, parts against the marks, programs against the machine.",
		Example: "  spotjig verify jig",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o.dir = args[0]
			return run(c.Context(), o)
		},
	}
	c.Flags().BoolVarP(&o.allTxt, "verbose", "v", false, "print the checks that passed as well")
	return c
}

// runVerify looks at a folder and prints what it found. Nothing is changed. The
// error is a problem.List of everything that is wrong.
func runVerify(ctx context.Context, o verifyOptions, out io.Writer) error {
	t, err := targetOf(o.dir)
	if err != nil {
		return err
	}
	note, err := t.leftover()
	if err != nil {
		return err
	}
	state, err := examine(t.dir)
	if err != nil {
		return folderProblem(o.dir, "F030", "cannot be read: "+plain(err).Error(), "name a folder that spotjig made, and that you may read")
	}
	if list := state.problems(o.dir); len(list) > 0 {
		return list.Err()
	}
	set, err := state.rec.Set()
	if err != nil {
		return folderProblem(o.dir, "F031", work.RecordName+": "+err.Error(), "the record was edited; make the folder again")
	}
	checks, err := reprove(ctx, t.dir, set)
	if err != nil {
		return err
	}
	if failed := (work.Made{Set: post.Set{Checks: checks}}).Failures(); len(failed) > 0 {
		return staleness(o.dir, failed).Err()
	}
	fmt.Fprintf(out, "%s: whole and unedited: %s as the record lists them\n", o.dir, figure.Count(len(state.listed), "file"))
	printChecks(out, checks, o.allTxt)
	if note != "" {
		wrap(out, "  note     ", note)
	}
	return nil
}

// plain strips the path off an error of the file system.
func plain(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err
	}
	return err
}

// leftover tells what a run that was cut off left beside the folder. It is an
// error when the folder itself is missing because of it.
func (t target) leftover() (note string, err error) {
	there := func(name string) bool { _, err := os.Lstat(name); return err == nil }
	switch fresh, old := there(t.fresh), there(t.old); {
	case !there(t.dir) && old:
		return "", folderProblem(t.given, "F036", "is missing: a run was cut off between its two steps; the whole old set is in "+filepath.Base(t.old),
			"run make again, which mends this, or rename that folder by hand")
	case !there(t.dir) && fresh:
		return "", folderProblem(t.given, "F036", "was never written: a run was cut off; what it had begun is in "+filepath.Base(t.fresh),
			"run make again, which clears it away")
	case fresh || old:
		return "a run was cut off; this folder is whole all the same, and the next run clears away what was left beside it", nil
	}
	return "", nil
}

// problems names everything by which the folder is not what its record lists.
func (s folderState) problems(dir string) problem.List {
	var list problem.List
	add := func(name, code, msg, help string) {
		list.Add(problem.Problem{File: filepath.Join(dir, name), Code: code, Msg: msg, Help: help})
	}
	switch {
	case s.absent:
		list.Add(folderProblem(dir, "F030", "there is no such folder", "name a folder that spotjig made"))
		return list
	case s.recordErr != nil:
		add(work.RecordName, "F031", s.recordErr.Error(), "make the folder again: without its record nothing in it can be checked")
		return list
	}
	for _, n := range s.missing {
		add(printable(n), "F032", "is missing", "make the folder again")
	}
	for _, n := range s.edited {
		add(printable(n), "F033", "is not as it was written", "make the folder again; do not run a program that was edited")
	}
	for _, n := range s.foreign {
		add(printable(n), "F034", "is not in the record", "move it elsewhere; no run of spotjig wrote it")
	}
	return list
}

// staleness reports proofs and dry runs that fail now.
func staleness(dir string, failed []jig.Check) problem.List {
	var list problem.List
	for _, c := range failed {
		list.Add(problem.Problem{File: dir, Field: "check " + c.ID, Code: "F035", Msg: strings.TrimSpace(c.Text),
			Help: "do not run its programs; make the folder again"})
	}
	return list
}

// reprove proves the files once more from the record, and has the dry run judge
// the programs against the machine in it.
func reprove(ctx context.Context, dir string, set post.Set) ([]jig.Check, error) {
	texts := map[string][]byte{}
	file := func(name string) ([]byte, bool) {
		if _, ok := texts[name]; !ok {
			data, err := os.ReadFile(filepath.Join(dir, name))
			if err != nil {
				return nil, false
			}
			texts[name] = data
		}
		return texts[name], true
	}
	checks, err := recorded.Again(ctx, set, file)
	if err != nil || set.Machine.Process == machine.Shop {
		return checks, err
	}
	for _, s := range set.Sheets {
		for _, suffix := range []string{"", "-dryrun", "-edges"} {
			name := fmt.Sprintf("sheet-%d%s.nc", s.N, suffix)
			text, _ := file(name)
			c, err := dryAgain(ctx, set, s, work.File{Name: name, Data: text})
			if err != nil {
				return nil, err
			}
			checks = append(checks, c)
		}
	}
	return checks, nil
}

func dryAgain(ctx context.Context, set post.Set, s post.Sheet, f work.File) (jig.Check, error) {
	t, p := set.Material.Thickness, work.JudgedOn(set)
	rep, err := dryrun.Run(ctx, bytes.NewReader(f.Data), dryrun.Options{
		File: f.Name, Machine: &p, Material: &set.Material,
		Stock: &dryrun.Box3{Min: machine.Axes{Z: -t}, Max: machine.Axes{X: s.Width, Y: s.Height}},
	})
	if err != nil {
		return jig.Check{}, err
	}
	c := jig.Check{ID: "dry-run:" + f.Name, Verdict: jig.Verdict(rep.Verdict), Value: float64(rep.Errors()), Text: "bounds and hazards, " + f.Name}
	for _, p := range rep.Problems {
		c.Text += fmt.Sprintf("; line %d: %s [%s]", p.Line, p.Text, p.Code)
	}
	return c, nil
}
