package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spotjig/cmd/spotjig/folder"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
	"spotjig/post"
	"spotjig/post/work"
)

// verifyOptions are the arguments of verify.
type verifyOptions struct {
	dirs   []string
	allTxt bool // print passed checks too
	json   bool
	quiet  bool
}

func newVerifyCmd(run func(context.Context, verifyOptions) error) *cobra.Command {
	o := verifyOptions{}
	c := &cobra.Command{
		Use:   "verify DIR...",
		Short: "Check that a folder made earlier is whole, unedited, still passes",
		Long: "verify makes the set again in memory from DIR/job.yaml (of jobs that share sheets,\n" +
			"from those that DIR/jobs.yaml names) and compares every byte of every file; what\n" +
			"differs is named with its first place. It names a run that was cut off, too. A folder\n" +
			"of another version is never called whole. Of several folders each\n" +
			"is told; the exit status is 0 when all are whole.",
		Example: "  spotjig verify jig\n  spotjig verify jig test-piece --json",
		Args:    cobra.MinimumNArgs(1),
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
	Problems []problemJSON  `json:"problems"`
}

// verifiedJSON is one folder; of one that is not whole there is no more to tell.
type verifiedJSON struct {
	Whole bool `json:"whole"`
	setJSON
}

// runVerify looks at every folder, and tells of all before it ends. The error is a
// problem.List of everything that differs.
func runVerify(ctx context.Context, o verifyOptions, out io.Writer) error {
	var faults problem.List
	report := verifyJSON{Folders: []verifiedJSON{}, Problems: []problemJSON{}}
	for i, dir := range o.dirs {
		if err := folderName("", dir); err != nil {
			return err
		}
		made, note, err := verified(ctx, dir)
		if err != nil {
			if err := faults.AddError(err); err != nil {
				return err // interrupted, or no fault of a file
			}
			report.Folders = append(report.Folders, verifiedJSON{false, setJSON{Folder: dir}})
			continue
		}
		for _, set := range made.Sets() {
			s, err := reportOf(dir, made, set)
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
		out := told{out, screen.Look{Columns: columns(out), Inches: made.Set.Job.Units == job.UnitsInch}}
		fmt.Fprintf(out, "%s: whole and unedited: %s, byte for byte what its job makes\n", dir, figure.Count(len(made.Files), "file"))
		for _, set := range made.Sets() {
			headline(out, set)
			fmt.Fprintf(out, "  games    %s\n", strings.Join(set.Job.Games, ", "))
			printChecks(out, set.Checks, o.allTxt)
		}
		if note != "" {
			wrap(out, "  note     ", note)
		}
	}
	if !o.json {
		return faults.Err()
	}
	report.Problems = problemsJSON(faults, severityError)
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

// verified makes a folder's set again from its own job, in memory, and compares every
// byte. Nothing is changed. The note is of a run that was cut off beside it. The error is
// a problem.List of everything that differs.
func verified(ctx context.Context, dir string) (made work.Made, note string, err error) {
	held, note, err := folder.Read(dir)
	if err != nil {
		return made, "", err
	}
	missing := func(name string) error {
		return problem.Problem{File: filepath.Join(dir, name), Code: "F031", Msg: "is missing, and nothing can be checked without it", Help: "make the folder again"}
	}
	var was string
	if list, shared := held[work.ListName]; shared {
		made, was, err = sharedAgain(ctx, dir, list, func(name string) ([]byte, error) {
			if text, ok := held[filepath.Base(name)]; ok {
				return text, nil
			}
			return nil, missing(filepath.Base(name))
		})
	} else if text, ok := held[work.JobName]; ok {
		made, was, err = madeAgain(ctx, dir, text)
	} else {
		err = missing(work.JobName)
	}
	if err != nil {
		return made, "", err
	}
	return made, note, differences(ctx, dir, held, stamps{folder: was, program: thisBuild().Stamp}, made)
}

// madeAgain makes a set from its own job, under the stamp that it was made with, so that
// what differs is not the stamp in every head.
func madeAgain(ctx context.Context, dir string, text []byte) (made work.Made, stamp string, err error) {
	name := filepath.Join(dir, work.JobName)
	order, err := work.Read(name, text, nil)
	if err != nil {
		return made, "", err
	}
	was := order.Made
	if was.Version == "" {
		return made, "", problem.Problem{File: name, Field: "made", Code: "F031", Msg: "does not say what the folder was made with",
			Help: "make the folder again"}
	}
	build := order.Build
	if was.TestPiece {
		build = order.BuildTestPiece
	}
	if made, err = build(ctx, was.Options()); err == nil {
		err = work.Refused(order.Name(), dir, made.Failures())
	}
	return made, was.Version, err
}

// sharedAgain makes the jobs of a folder again that share its sheets.
func sharedAgain(ctx context.Context, dir string, list []byte, open work.Open) (made work.Made, stamp string, err error) {
	s, was, err := work.ReadSharing(filepath.Join(dir, work.ListName), list, open)
	if err != nil {
		return made, "", err
	}
	if made, err = s.Build(ctx); err == nil {
		err = cmp.Or(s.Err(), work.Refused(filepath.Join(dir, work.ListName), dir, made.Failures()))
	}
	return made, was.Version, err
}

// stamps are those of the build that made a folder and of this one.
type stamps struct{ folder, program string }

// differences is the error of a folder that is not, byte for byte, what its job makes
// under the folder's own stamp.
func differences(ctx context.Context, dir string, held map[string][]byte, by stamps, made work.Made) error {
	list := made.Differences(held)
	for i := range list {
		list[i].File = filepath.Join(dir, problem.Printable(list[i].File))
	}
	if by.folder != by.program {
		judged, err := made.Judge(ctx, held)
		if err != nil {
			return err
		}
		return otherVersion(dir, by, list, judged)
	}
	if len(list) > 0 && vague(by.program) {
		list[0].Help += "; or the folder is of another build: the stamp " + by.program + " is that of every build without a commit of its own"
	}
	return list.Err()
}

// otherVersion tells of a folder that another version made. It is never called whole:
// whoever edits a folder may write any version into it. What differs is told file by
// file: by the proofs, where they look at it.
func otherVersion(dir string, by stamps, differ problem.List, judged []work.Judgement) error {
	msg := fmt.Sprintf("was made by spotjig %s, and this is %s: ", problem.Printable(by.folder), by.program)
	help := "check it with that version, or make it again: spotjig make " + filepath.Join(dir, work.JobName) + " -o DIR"
	if len(differ) == 0 {
		return problem.Problem{File: dir, Code: "F035", Msg: msg + "every byte but that stamp is what this version makes all the same", Help: help}
	}
	list := problem.List{problem.Problem{File: dir, Code: "F035", Msg: msg + "what differs may be the other version's or an edit's", Help: help}}
	for _, p := range differ {
		i := slices.IndexFunc(judged, func(j work.Judgement) bool { return filepath.Join(dir, j.Name) == p.File })
		if p.Code != "F033" || i < 0 {
			list = append(list, p)
			continue
		}
		p.Code, p.Help = "F035", "look at it before you use it"
		switch j := judged[i]; {
		case !j.Looked:
			p.Msg += "; no proof looks at the words of this file"
		case len(j.Failed) > 0:
			p.Code, p.Msg, p.Help = "F033", "does not cut or show what its job says: check "+j.Failed[0].ID+": "+j.Failed[0].Text, "do not run it; make the folder again"
		default:
			p.Msg += "; what it cuts or shows passes every proof, and no proof looks at its remarks"
		}
		list = append(list, p)
	}
	return list
}

// headline says which job it is.
func headline(w io.Writer, s post.Set) {
	fmt.Fprintf(w, "%s\n%s\n", s.Title(), post.Parts(", ", s.Table.Name, "playing surface "+figure.By(s.Table.L, s.Table.W)))
}
