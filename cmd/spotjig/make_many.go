package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"spotjig/cmd/spotjig/folder"
	"spotjig/cmd/spotjig/named"
	"spotjig/cmd/spotjig/terminal"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
	"spotjig/post/summary"
	"spotjig/post/work"
)

// manyMax is how many jobs one call makes: a mistaken folder is named, not worked through.
const manyMax = 1000

// named puts in the place of a folder's list of jobs those that it names, which share
// sheets as they did.
func (o *makeOptions) named(args []string) (out []string, err error) {
	for _, arg := range args {
		if filepath.Base(arg) != work.ListName {
			out = append(out, arg)
			continue
		}
		list, err := (&reading{}).file(arg)
		if err != nil {
			return nil, err
		}
		jobs, was, err := work.ListedJobs(arg, list)
		if err != nil {
			return nil, err
		}
		for _, j := range jobs {
			out = append(out, j.File)
		}
		o.share = true
		o.asMade(was)
	}
	return out, nil
}

// makeMany makes several jobs at once, each into a folder of its own.
func makeMany(ctx context.Context, o makeOptions, out, errw io.Writer) error {
	jobs, err := listJobs(o)
	if err != nil {
		return err
	}
	if _, err := os.Lstat(filepath.Join(o.out, work.SumsName)); err == nil {
		return problem.Problem{File: o.out, Code: "F014", Msg: "it is the set of one job, in which no others are made", Help: "name another folder with -o"}
	}
	fresh := os.Mkdir(o.out, 0o777) == nil
	sets := o.makeAll(ctx, jobs, terminal.Stage(errw))
	if fresh {
		_ = os.Remove(o.out) // which only does something when nothing was made
	}
	err = o.reportMany(ctx, jobs, sets, out, errw)
	for _, j := range jobs {
		if bug := (*work.Bug)(nil); errors.As(j.Err, &bug) {
			panic(fmt.Sprintf("%s: %v\n%s", j.Job, bug.Value, bug.Stack))
		}
	}
	return err
}

// listJobs are the jobs that a command line names, those of its folders in order of name.
func listJobs(o makeOptions) ([]work.Ordered, error) {
	var jobs []work.Ordered
	for _, arg := range o.jobs {
		names := []string{arg}
		if arg == standardInput {
			return nil, usageError{errors.New("several jobs are read from files, which their folders are named after; standard input has no name")}
		}
		if named.IsFolder(arg) {
			var err error
			if names, err = named.Jobs(arg); err != nil {
				return nil, err
			}
		}
		for _, name := range names {
			jobs = append(jobs, work.Ordered{Job: name, Folder: strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))})
		}
	}
	if len(jobs) > manyMax {
		return nil, usageError{fmt.Errorf("%d jobs, more than the %d that one call makes: make them in several", len(jobs), manyMax)}
	}
	first := map[string]string{} // by name, as file systems compare that do not tell capitals from small letters
	for i, j := range jobs {
		key := strings.ToLower(j.Folder)
		if was, taken := first[key]; taken {
			return nil, usageError{fmt.Errorf("%s and %s would both be made into %s: rename one", was, j.Job, filepath.Join(o.out, j.Folder))}
		}
		if o.share && strings.HasPrefix(key, sharedName) {
			return nil, usageError{fmt.Errorf("%s: folders of shared sheets have such names: rename it", j.Job)}
		}
		if key == "" || key == "." {
			return nil, usageError{fmt.Errorf("%s: a folder cannot be named after it: rename it", j.Job)}
		}
		first[key] = j.Job
		jobs[i].Folder = filepath.Join(o.out, j.Folder)
	}
	return jobs, nil
}

// makeAll makes every job, each by itself or together with those that it shares sheets with.
func (o makeOptions) makeAll(ctx context.Context, jobs []work.Ordered, stage func(string)) []work.Written {
	o.shape.Version = thisBuild().Stamp
	groups, inputs := o.groups(jobs)
	sets := make([]work.Written, len(groups))
	errs := work.Each(len(groups), func(i int) (err error) {
		if err = ctx.Err(); err == nil {
			sets[i], err = o.makeGroup(ctx, jobs, groups[i], inputs)
		}
		return err
	}, func(n int) {
		if stage != nil {
			stage(fmt.Sprintf("%d of %s", n, figure.Count(len(groups), "folder")))
		}
	})
	for i, err := range errs {
		for _, k := range groups[i].jobs {
			if jobs[k].Err == nil {
				jobs[k].Err = err
			}
		}
	}
	if stage != nil {
		stage("")
	}
	return slices.DeleteFunc(sets, func(s work.Written) bool { return s.Folder == "" })
}

// group is jobs that are made together, or one by itself.
type group struct {
	jobs   []int
	share  *work.Sharing // nil for one by itself
	folder string        // of those that share sheets
}

// groups sorts the jobs by whose sheets they share, and tells which files were read.
func (o makeOptions) groups(jobs []work.Ordered) (out []group, inputs []string) {
	var at []int // of orders
	var orders []*work.Order
	for i, j := range jobs {
		inputs = append(inputs, j.Job)
		if !o.share {
			out = append(out, group{jobs: []int{i}})
			continue
		}
		l, err := loadJob(j.Job)
		inputs = append(inputs, *l.inputs...)
		if err != nil || l.Made.TestPiece() {
			out = append(out, group{jobs: []int{i}}) // which says what is wrong
			continue
		}
		at, orders = append(at, i), append(orders, l.Order)
	}
	sharing, errs := work.Share(orders, o.shape)
	for k, err := range errs {
		if err != nil {
			out = append(out, group{jobs: []int{at[k]}})
		}
	}
	n := 0
	for _, s := range sharing {
		g := group{share: s}
		for _, m := range s.Jobs {
			g.jobs = append(g.jobs, at[m.Index])
		}
		if len(g.jobs) > 1 {
			n++
			g.folder = filepath.Join(o.out, sharedName+fmt.Sprint(n))
		}
		out = append(out, g)
	}
	return out, inputs
}

// sharedName begins the names of folders of jobs that share sheets.
const sharedName = "shared-"

// makeGroup makes and writes a group. No folder may hold what any job is read from.
func (o makeOptions) makeGroup(ctx context.Context, jobs []work.Ordered, g group, inputs []string) (work.Written, error) {
	kept, dir := g.jobs, g.folder
	into := folder.Options{Force: o.force, Inputs: inputs}
	var made work.Made
	var err error
	name := ""
	if len(g.jobs) > 1 {
		if err := folder.Check(dir, into); err != nil {
			return work.Written{}, err
		}
		made, err = g.share.Build(ctx)
		kept = nil
		for i, m := range g.share.Jobs {
			if jobs[g.jobs[i]].Err = m.Err; m.Err == nil {
				kept = append(kept, g.jobs[i])
			}
		}
		name = made.Set.Job.File
	} else {
		j := jobs[g.jobs[0]]
		l, err := loadJob(j.Job)
		if err != nil {
			return work.Written{}, err
		}
		name, into.Inputs = j.Job, slices.Concat(inputs, *l.inputs)
		if err := folder.Check(j.Folder, into); err != nil {
			return work.Written{}, err
		}
		if made, err = o.build(ctx, l); err != nil {
			return work.Written{}, err
		}
	}
	if err != nil || len(kept) == 0 {
		return work.Written{}, err
	}
	if len(kept) == 1 {
		dir = jobs[kept[0]].Folder
	}
	if err := writeSet(ctx, made, dir, name, into); err != nil {
		return work.Written{}, err
	}
	for i, b := range made.Briefs() {
		jobs[kept[i]].Brief, jobs[kept[i]].Folder = b, dir
	}
	return work.Written{Folder: dir, Jobs: kept, Files: len(made.Files), Sheets: len(made.Set.Sheets), Time: made.Set.Time()}, nil
}

// reportMany tells what was made, and last what was not and why.
func (o makeOptions) reportMany(ctx context.Context, jobs []work.Ordered, sets []work.Written, out, errw io.Writer) error {
	failed := slices.DeleteFunc(slices.Clone(jobs), func(j work.Ordered) bool { return j.Err == nil })
	switch {
	case o.json:
		if err := printJSON(out, work.ManyReport(o.out, jobs)); err != nil {
			return err
		}
	default:
		if !o.quiet {
			work.SummariseMany(summary.Reader{Writer: out, Look: screen.Look{Columns: terminal.Columns(out)}}, jobs, sets, o.out)
		}
		if ctx.Err() == nil {
			fmt.Fprint(errw, terminal.Fold(errw, work.NotMade(failed)))
		}
		if len(failed) > 0 {
			fmt.Fprint(errw, terminal.Fold(errw, fmt.Sprintf("spotjig: %d of %s made, %d not\n", len(jobs)-len(failed), figure.Count(len(jobs), "job"), len(failed))))
		}
	}
	switch {
	case len(failed) == 0:
		return nil
	case ctx.Err() != nil:
		return statusError(exitInterrupted)
	}
	return statusError(exitProblem)
}
