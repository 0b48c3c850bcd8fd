package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"spotjig/cam/jig"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
	"spotjig/post/work"
)

// manyMax is how many jobs one call makes: a mistaken folder is named, not worked through.
const manyMax = 1000

// oneOfMany is a job among several and what came of it. The set itself is let go as soon
// as it is written, so that a thousand jobs take no more memory than a few.
type oneOfMany struct {
	job, folder string
	name        string // the job's own
	pieces      int
	sheets      int
	time        float64  // on the machine, s; 0 for a shop
	warnings    int      // checks that warn
	serves      []string // of also_tables: yes or NO, and why
	files       int
	err         error
	bug         any // what a run of it panicked with
	stack       []byte
}

// manyJSON is the report of several jobs.
type manyJSON struct {
	Folder   string        `json:"folder"`
	Jobs     []ofManyJSON  `json:"jobs"`
	Problems []problemJSON `json:"problems"`
}

type ofManyJSON struct {
	Job      string   `json:"job"`
	Folder   string   `json:"folder"`
	Name     string   `json:"name"`
	Made     bool     `json:"made"`
	Pieces   int      `json:"pieces"`
	Sheets   int      `json:"sheets"`
	TimeS    float64  `json:"time_s"`
	Warnings int      `json:"warnings"`
	Serves   []string `json:"serves"`
}

func isFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}

// makeMany makes several jobs at once, each into a folder of its own.
func makeMany(ctx context.Context, o makeOptions, out, errw io.Writer) error {
	jobs, err := listJobs(o.jobs, o.out)
	if err != nil {
		return err
	}
	if _, err := os.Lstat(filepath.Join(o.out, work.SumsName)); err == nil {
		return folderProblem(o.out, "F014", "it is the set of one job, in which no others are made", "name another folder with -o")
	}
	fresh := os.Mkdir(o.out, 0o777) == nil
	o.makeAll(ctx, jobs, stageLine(errw))
	if fresh {
		_ = os.Remove(o.out) // which only does something when nothing was made
	}
	err = o.reportMany(ctx, jobs, out, errw)
	for _, j := range jobs {
		if j.bug != nil {
			panic(fmt.Sprintf("%s: %v\n%s", j.job, j.bug, j.stack))
		}
	}
	return err
}

// listJobs are the jobs that a command line names, those of its folders in order of name.
func listJobs(args []string, dir string) ([]oneOfMany, error) {
	var jobs []oneOfMany
	for _, arg := range args {
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
			return nil, usageError{fmt.Errorf("%s and %s would both be made into %s: rename one", was, j.job, filepath.Join(dir, j.folder))}
		}
		if key == "" || key == "." {
			return nil, usageError{fmt.Errorf("%s: a folder cannot be named after it: rename it", j.job)}
		}
		first[key] = j.job
		jobs[i].folder = filepath.Join(dir, j.folder)
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

// makeAll makes every job, as many at a time as there are processors.
func (o makeOptions) makeAll(ctx context.Context, jobs []oneOfMany, stage func(string)) {
	inputs := make([]string, len(jobs))
	for i, j := range jobs {
		inputs[i] = j.job
	}
	var next, done atomic.Int64
	var wait sync.WaitGroup
	var screen sync.Mutex
	for range min(len(jobs), runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(jobs); i = int(next.Add(1)) - 1 {
				o.makeOne(ctx, &jobs[i], inputs)
				if n := done.Add(1); stage != nil {
					screen.Lock()
					stage(fmt.Sprintf("%d of %d jobs", n, len(jobs)))
					screen.Unlock()
				}
			}
		})
	}
	wait.Wait()
	if stage != nil {
		stage("")
	}
}

// makeOne makes a job as if it were the only one. No folder may hold what any of them reads.
func (o makeOptions) makeOne(ctx context.Context, j *oneOfMany, inputs []string) {
	defer func() {
		if r := recover(); r != nil {
			j.bug, j.stack, j.err = r, debug.Stack(), errors.New("a bug of ours, told of below")
		}
	}()
	if j.err = ctx.Err(); j.err != nil {
		return
	}
	l, err := loadJob(j.job)
	if err != nil {
		j.err = err
		return
	}
	made, err := o.build(ctx, l)
	if err != nil {
		j.err = err
		return
	}
	*l.inputs = append(*l.inputs, inputs...)
	if j.err = writeSet(ctx, l, made, j.folder, o.force); j.err != nil {
		return
	}
	s := made.Set
	j.name, j.pieces, j.sheets, j.files = s.Job.Name, len(s.Jig.Parts), len(s.Sheets), len(made.Files)
	for _, sh := range s.Sheets {
		j.time += sh.Time
	}
	for _, c := range s.Checks {
		switch {
		case strings.HasPrefix(c.ID, "serves:"):
			j.serves = append(j.serves, map[bool]string{true: "yes: ", false: "NO: "}[c.Verdict == jig.Pass]+c.Text)
		case c.Verdict == jig.Warn:
			j.warnings++
		}
	}
}

// reportMany tells what was made, and last what was not and why.
func (o makeOptions) reportMany(ctx context.Context, jobs []oneOfMany, out, errw io.Writer) error {
	failed := slices.DeleteFunc(slices.Clone(jobs), func(j oneOfMany) bool { return j.err == nil })
	switch {
	case o.json:
		if err := printJSON(out, manyReport(o.out, jobs)); err != nil {
			return err
		}
	default:
		if !o.quiet {
			summariseMany(out, jobs, o.out)
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
	rep := manyJSON{Folder: dir, Jobs: []ofManyJSON{}, Problems: []problemJSON{}}
	for _, j := range jobs {
		rep.Jobs = append(rep.Jobs, ofManyJSON{j.job, j.folder, j.name, j.err == nil, j.pieces, j.sheets, j.time, j.warnings, append([]string{}, j.serves...)})
		if j.err != nil {
			for _, p := range faultsJSON(j.err) {
				p.File = cmp.Or(p.File, j.job)
				rep.Problems = append(rep.Problems, p)
			}
		}
	}
	return rep
}

// summariseMany tells of every job that was made in a line or two, and of all together.
func summariseMany(w io.Writer, jobs []oneOfMany, dir string) {
	files, sheets, time, made := 0, 0, 0.0, 0
	for _, j := range jobs {
		if j.err != nil {
			continue
		}
		text := fmt.Sprintf("%s: %s on %s", j.name, figure.Count(j.pieces, "piece"), figure.Count(j.sheets, "sheet"))
		if j.time > 0 {
			text += ", " + figure.Time(j.time)
		}
		if j.warnings > 0 {
			text += ", " + figure.Count(j.warnings, "warning")
		}
		wrap(w, j.folder+"  ", text)
		for _, s := range j.serves {
			wrap(w, "  serves   ", s)
		}
		files, sheets, time, made = files+j.files, sheets+j.sheets, time+j.time, made+1
	}
	text := fmt.Sprintf("wrote %s of %s to %s: %s", figure.Count(files, "file"), figure.Count(made, "job"), dir, figure.Count(sheets, "sheet"))
	if time > 0 {
		text += ", about " + figure.Time(time) + " (estimate, +-20 %)"
	}
	wrap(w, "", text)
	if made > 0 {
		wrap(w, "  next     ", "read each job-sheet.pdf before its sheets are cut: what waits, warnings and cautions stand there")
	}
}
