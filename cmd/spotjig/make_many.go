package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"spotjig/cmd/spotjig/folder"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
	"spotjig/post/work"
)

// manyMax is how many jobs one call makes: a mistaken folder is named, not worked through.
const manyMax = 1000

// oneOfMany is a job among several and what came of it.
type oneOfMany struct {
	job, folder string
	err         error
	work.Brief
}

// writtenSet is one folder that was written, and the places of its jobs.
type writtenSet struct {
	folder        string
	jobs          []int
	files, sheets int
	time          float64
}

// manyJSON is the report of several jobs.
type manyJSON struct {
	Folder   string        `json:"folder"`
	Jobs     []ofManyJSON  `json:"jobs"`
	Jigs     []coverJSON   `json:"jigs"` // the jigs that serve the tables of all jobs
	Problems []problemJSON `json:"problems"`
}

type ofManyJSON struct {
	Job    string `json:"job"`
	Folder string `json:"folder"`
	Made   bool   `json:"made"`
	work.Brief
}

type coverJSON struct {
	Job    string   `json:"job"`
	Serves []string `json:"serves"` // jobs whose tables it serves besides its own
}

func isFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
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
	sets := o.makeAll(ctx, jobs, stageLine(errw))
	if fresh {
		_ = os.Remove(o.out) // which only does something when nothing was made
	}
	err = o.reportMany(ctx, jobs, sets, out, errw)
	for _, j := range jobs {
		if bug := (*work.Bug)(nil); errors.As(j.err, &bug) {
			panic(fmt.Sprintf("%s: %v\n%s", j.job, bug.Value, bug.Stack))
		}
	}
	return err
}

// listJobs are the jobs that a command line names, those of its folders in order of name.
func listJobs(o makeOptions) ([]oneOfMany, error) {
	var jobs []oneOfMany
	for _, arg := range o.jobs {
		names := []string{arg}
		if arg == standardInput {
			return nil, usageError{errors.New("several jobs are read from files, which their folders are named after; standard input has no name")}
		}
		if isFolder(arg) {
			var err error
			if names, err = jobsIn(arg); err != nil {
				return nil, err
			}
		}
		for _, name := range names {
			jobs = append(jobs, oneOfMany{job: name, folder: strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))})
		}
	}
	if len(jobs) > manyMax {
		return nil, usageError{fmt.Errorf("%d jobs, more than the %d that one call makes: make them in several", len(jobs), manyMax)}
	}
	first := map[string]string{} // by name, as file systems compare that do not tell capitals from small letters
	for i, j := range jobs {
		key := strings.ToLower(j.folder)
		if was, taken := first[key]; taken {
			return nil, usageError{fmt.Errorf("%s and %s would both be made into %s: rename one", was, j.job, filepath.Join(o.out, j.folder))}
		}
		if o.share && strings.HasPrefix(key, sharedName) {
			return nil, usageError{fmt.Errorf("%s: folders of shared sheets have such names: rename it", j.job)}
		}
		if key == "" || key == "." {
			return nil, usageError{fmt.Errorf("%s: a folder cannot be named after it: rename it", j.job)}
		}
		first[key] = j.job
		jobs[i].folder = filepath.Join(o.out, j.folder)
	}
	return jobs, nil
}

// jobsIn are a folder's .yaml and .yml files.
func jobsIn(folder string) ([]string, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, problem.Problem{File: folder, Code: "F001", Msg: "cannot be read: " + err.Error(), Help: "check the name and the permissions"}
	}
	var names []string
	for _, e := range entries {
		if ext := strings.ToLower(filepath.Ext(e.Name())); !e.IsDir() && (ext == ".yaml" || ext == ".yml") {
			names = append(names, filepath.Join(folder, e.Name()))
		}
	}
	if len(names) == 0 {
		return nil, problem.Problem{File: folder, Code: "F001", Msg: "no job file in it, which ends in .yaml or .yml", Help: "name a job file, or a folder that holds some"}
	}
	return names, nil
}

// makeAll makes every job, each by itself or together with those that it shares sheets with.
func (o makeOptions) makeAll(ctx context.Context, jobs []oneOfMany, stage func(string)) []writtenSet {
	o.shape.Version = thisBuild().Stamp
	groups, inputs := o.groups(jobs)
	sets := make([]writtenSet, len(groups))
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
			if jobs[k].err == nil {
				jobs[k].err = err
			}
		}
	}
	if stage != nil {
		stage("")
	}
	return slices.DeleteFunc(sets, func(s writtenSet) bool { return s.folder == "" })
}

// group is jobs that are made together, or one by itself.
type group struct {
	jobs   []int
	share  *work.Sharing // nil for one by itself
	folder string        // of those that share sheets
}

// groups sorts the jobs by whose sheets they share, and tells which files were read.
func (o makeOptions) groups(jobs []oneOfMany) (out []group, inputs []string) {
	var at []int // of orders
	var orders []*work.Order
	for i, j := range jobs {
		inputs = append(inputs, j.job)
		if !o.share {
			out = append(out, group{jobs: []int{i}})
			continue
		}
		l, err := loadJob(j.job)
		inputs = append(inputs, *l.inputs...)
		if err != nil || l.Made.TestPiece {
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
func (o makeOptions) makeGroup(ctx context.Context, jobs []oneOfMany, g group, inputs []string) (writtenSet, error) {
	kept, dir := g.jobs, g.folder
	var made work.Made
	var err error
	name := ""
	if len(g.jobs) > 1 {
		made, err = g.share.Build(ctx)
		kept = nil
		for i, m := range g.share.Jobs {
			if jobs[g.jobs[i]].err = m.Err; m.Err == nil {
				kept = append(kept, g.jobs[i])
			}
		}
		name = made.Set.Job.File
	} else {
		var l loaded
		if l, err = loadJob(jobs[g.jobs[0]].job); err == nil {
			made, err = o.build(ctx, l)
		}
		inputs, name = slices.Concat(inputs, *l.inputs), jobs[g.jobs[0]].job
	}
	if err != nil || len(kept) == 0 {
		return writtenSet{}, err
	}
	if len(kept) == 1 {
		dir = jobs[kept[0]].folder
	}
	if err := writeSet(ctx, made, dir, name, folder.Options{Force: o.force, Inputs: inputs}); err != nil {
		return writtenSet{}, err
	}
	for i, b := range made.Briefs() {
		jobs[kept[i]].Brief, jobs[kept[i]].folder = b, dir
	}
	return writtenSet{folder: dir, jobs: kept, files: len(made.Files), sheets: len(made.Set.Sheets), time: made.Set.Time()}, nil
}

// reportMany tells what was made, and last what was not and why.
func (o makeOptions) reportMany(ctx context.Context, jobs []oneOfMany, sets []writtenSet, out, errw io.Writer) error {
	failed := slices.DeleteFunc(slices.Clone(jobs), func(j oneOfMany) bool { return j.err == nil })
	switch {
	case o.json:
		if err := printJSON(out, manyReport(o.out, jobs)); err != nil {
			return err
		}
	default:
		if !o.quiet {
			summariseMany(out, jobs, sets, o.out)
		}
		for _, j := range failed {
			if ctx.Err() == nil {
				fmt.Fprint(errw, foldForEyes(errw, fmt.Sprintf("spotjig: %s was not made:\n%v\n", j.job, faultText(j.err))))
			}
		}
		if len(failed) > 0 {
			fmt.Fprint(errw, foldForEyes(errw, fmt.Sprintf("spotjig: %d of %s made, %d not\n", len(jobs)-len(failed), figure.Count(len(jobs), "job"), len(failed))))
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

// faultText is what stopped a job.
func faultText(err error) string {
	if list := problem.From(err); len(list) > 0 {
		return list.Error()
	}
	return err.Error()
}

func manyReport(dir string, jobs []oneOfMany) manyJSON {
	rep := manyJSON{Folder: dir, Jobs: []ofManyJSON{}, Jigs: []coverJSON{}, Problems: []problemJSON{}}
	for _, j := range jobs {
		j.Serves = append([]string{}, j.Serves...)
		rep.Jobs = append(rep.Jobs, ofManyJSON{j.job, j.folder, j.err == nil, j.Brief})
		if j.err != nil {
			for _, p := range faultsJSON(j.err) {
				p.File = cmp.Or(p.File, j.job)
				rep.Problems = append(rep.Problems, p)
			}
		}
	}
	jigs, made := fewest(jobs)
	for _, c := range jigs {
		rep.Jigs = append(rep.Jigs, coverJSON{made[c.Jig].job, servedBy(c, made)})
	}
	return rep
}

// servedBy names the jobs whose tables a jig serves besides its own.
func servedBy(c work.Cover, made []oneOfMany) []string {
	names := make([]string, len(c.Tables))
	for i, k := range c.Tables {
		names[i] = made[k].job
	}
	return names
}

// fewest are the jigs that serve the tables of all jobs that were made, by their places
// among those.
func fewest(jobs []oneOfMany) ([]work.Cover, []oneOfMany) {
	made := slices.DeleteFunc(slices.Clone(jobs), func(j oneOfMany) bool { return j.err != nil })
	briefs := make([]work.Brief, len(made))
	for i, j := range made {
		briefs[i] = j.Brief
	}
	return work.FewestJigs(briefs), made
}

// summariseMany tells of every job that was made in a line or two, and of all together.
func summariseMany(w io.Writer, jobs []oneOfMany, sets []writtenSet, dir string) {
	files, sheets, time, made := 0, 0, 0.0, 0
	for _, s := range sets {
		if len(s.jobs) > 1 {
			text := fmt.Sprintf("%s on %s", figure.Count(len(s.jobs), "job"), figure.Count(s.sheets, "shared sheet"))
			if s.time > 0 {
				text += ", " + figure.Time(s.time)
			}
			wrap(w, s.folder+"  ", text)
		}
		for _, k := range s.jobs {
			summariseOne(w, jobs[k])
		}
		files, sheets, time, made = files+s.files, sheets+s.sheets, time+s.time, made+len(s.jobs)
	}
	text := fmt.Sprintf("wrote %s of %s to %s: %s", figure.Count(files, "file"), figure.Count(made, "job"), dir, figure.Count(sheets, "sheet"))
	if time > 0 {
		text += ", about " + figure.Time(time) + " (estimate, +-20 %)"
	}
	wrap(w, "", text)
	if jigs, all := fewest(jobs); len(jigs) < len(all) {
		wrap(w, "  jigs     ", fmt.Sprintf("%s the tables of all %d jobs:", map[bool]string{true: "one jig serves", false: fmt.Sprint(len(jigs)) + " jigs serve"}[len(jigs) == 1], len(all)))
		for _, c := range jigs {
			text := "that of " + all[c.Jig].job
			if also := servedBy(c, all); len(also) > 0 {
				text += ", and serves " + strings.Join(also, ", ")
			}
			wrap(w, "           ", text)
		}
		wrap(w, "           ", "make those alone, and no other need be cut")
	}
	if made > 0 {
		wrap(w, "  next     ", "read each job-sheet.pdf before its sheets are cut: what waits, warnings and cautions stand there")
	}
}

func summariseOne(w io.Writer, j oneOfMany) {
	lead := j.folder + "  "
	text := fmt.Sprintf("%s: %s on %s", j.Name, figure.Count(j.Pieces, "piece"), figure.Count(j.Sheets, "sheet"))
	if j.Letter != "" {
		lead, text = fmt.Sprintf("  %-8s ", j.Letter), j.job+", "+text
	} else if j.Time > 0 {
		text += ", " + figure.Time(j.Time)
	}
	if j.Warnings > 0 {
		text += ", " + figure.Count(j.Warnings, "warning")
	}
	wrap(w, lead, text)
	for _, s := range j.Serves {
		wrap(w, "  serves   ", s)
	}
}
