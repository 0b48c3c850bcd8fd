package work

import (
	"context"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post"
	"spotjig/post/proof"
	"spotjig/post/proof/cut"
)

// Jobs that share sheets go one way together: each is designed by itself, its pieces named
// behind its letter; all pieces are laid on sheets as those of one jig would be, and cut,
// drawn and proved as such; then each job has marks, papers, page and record of its own,
// written from a set that holds its pieces and knows the others' on its sheets.

// ListName is the file that names the jobs of a folder that share its sheets.
const ListName = "jobs.yaml"

// Sharing is a group of jobs whose pieces may lie on the same sheets.
type Sharing struct {
	Jobs []Member
	opt  Options
}

// Member is one job of a Sharing.
type Member struct {
	Index  int    // in the list that was given to Share
	Letter string // begins the names of its pieces and files
	Err    error  // why it was left out when the others were made
	run    *run
}

// Share sorts jobs by what must agree where sheets are shared: machine, material and how
// drawings and programs are written. Each job gets a letter by its place in its group. A job
// with a fault is in no group; its error stands at its place in the second result.
func Share(orders []*Order, opt Options) ([]*Sharing, []error) {
	var out []*Sharing
	errs := make([]error, len(orders))
	for i, o := range orders {
		m := Member{Index: i}
		if m.run, errs[i] = o.begin(opt); errs[i] != nil {
			continue
		}
		at := slices.IndexFunc(out, func(s *Sharing) bool { return alike(s.Jobs[0].run, m.run) })
		if at < 0 {
			at = len(out)
			out = append(out, &Sharing{opt: opt})
		}
		out[at].Jobs = append(out[at].Jobs, m)
	}
	for _, s := range out {
		for i := range s.Jobs {
			s.Jobs[i].Letter = letterOf(i)
		}
	}
	return out, errs
}

// letterOf is A to Z, AA, AB and on.
func letterOf(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return letterOf(i/26-1) + letterOf(i%26)
}

// alike reports whether the pieces of two jobs may lie on one sheet.
func alike(a, b *run) bool {
	of := func(r *run) any {
		j := r.Job
		return struct {
			Machine  machine.Profile
			Material machine.Material
			Colours  job.Colours
			DXF      string
			Units    string
			Copies   int
			Ties     int
			TieWidth float64
		}{r.made.Set.Machine, r.made.Set.Material, j.Colours, j.DXF, j.Units, j.Copies, j.Jig.Ties, j.Jig.TieWidth}
	}
	return reflect.DeepEqual(of(a), of(b))
}

// Build makes the jobs on shared sheets. A job whose design fails, or fails a check, is left
// out, and its Err says why; if only one is left, it is made as a job that shares nothing.
// Where all pieces together cannot be laid or cut, the jobs that cannot be even by themselves
// are made by another plan.
func (s *Sharing) Build(ctx context.Context) (Made, error) {
	s.opt.stage("designing the templates")
	_ = eachOf(len(s.Jobs), func(i int) error { // each error is kept with its job
		m := &s.Jobs[i]
		m.run.opt.Stage = nil // several jobs at once would report over each other
		if len(s.Jobs) > 1 {
			m.run.made.Set.Letter = m.Letter
		}
		if m.Err = m.run.design(); m.Err == nil {
			m.Err = Refused(m.run.Name(), "the shared sheets", failed(m.run.made.Set.Checks))
		}
		return nil
	})
	made, err := s.sound(ctx)
	if stands(made, err) {
		return made, err
	}
	return s.opt.steps().others(s, ctx, made, err)
}

// others makes the jobs by other plans where the usual ones together came to a fault, or to
// checks that failed.
func (s *Sharing) others(ctx context.Context, made Made, err error) (Made, error) {
	if s.replan(ctx, nil) {
		made, err = s.sound(ctx)
	}
	// The stock is enough for each job alone and not for all together. Plans for another size
	// of sheet may do, because there may be more sheets of that size.
	var short problem.Problem
	if errors.As(err, &short) && short.Code == "J091" && s.replan(ctx, short) {
		if m, err := s.sound(ctx); stands(m, err) {
			return m, nil
		}
	}
	return made, err
}

// sound makes the jobs that have no Err, each by the plan it has now.
func (s *Sharing) sound(ctx context.Context) (Made, error) {
	var jobs []*run
	for _, m := range s.Jobs {
		if m.Err == nil {
			jobs = append(jobs, m.run)
		}
	}
	switch {
	case len(jobs) == 0:
		return Made{}, ctx.Err()
	case len(jobs) == 1:
		r := jobs[0]
		r.made.Set.Letter, r.opt.Stage = "", s.opt.Stage
		r.whole, r.of = nil, 0
		return r.template(ctx)
	}
	return together(jobs, s.opt).build(ctx)
}

// stands reports whether a set was made and may be written.
func stands(made Made, err error) bool { return err == nil && len(made.Failures()) == 0 }

// replan looks for other plans. If together is nil, a job whose usual plan cannot be laid or
// cut gets another, and one that no plan makes is left out, with the reason as its Err. If
// together is the fault of all jobs on shared sheets, every job for which there is another
// plan gets it. replan reports whether what lies on the shared sheets has changed.
func (s *Sharing) replan(ctx context.Context, together error) bool {
	changed := make([]bool, len(s.Jobs))
	_ = eachOf(len(s.Jobs), func(i int) error { // each error is kept with its job
		m := &s.Jobs[i]
		if m.Err != nil {
			return nil
		}
		alone := m.run.with(m.run.request(), m.run.made.Set.Jig)
		alone.whole, alone.of = nil, 0
		var made Made
		err := together
		if err == nil {
			made, err = alone.cut(ctx)
		}
		if stands(made, err) || ctx.Err() != nil {
			return nil
		}
		best, sound, err := alone.another(ctx, &made, err)
		changed[i] = sound != nil || together == nil
		switch {
		case sound != nil:
			set := &m.run.made.Set
			set.Jig, set.Checks = best, append(m.run.layoutChecks(), best.Checks...)
		case together != nil:
		case err != nil:
			m.Err = err
		default:
			m.Err = Refused(m.run.Name(), "the shared sheets", made.Failures())
		}
		return nil
	})
	return slices.Contains(changed, true) && ctx.Err() == nil
}

// Err is the error of the first job that was left out; nil when none was.
func (s *Sharing) Err() error {
	for _, m := range s.Jobs {
		if m.Err != nil {
			return m.Err
		}
	}
	return nil
}

// Refused is the error of a job with failed checks, of which nothing is written; nil when no
// check failed.
func Refused(name, folder string, failed []jig.Check) error {
	var list problem.List
	for _, c := range failed {
		msg := c.Text
		if c.Limit != 0 || c.Value != 0 {
			msg = fmt.Sprintf("%s: %s against %s %s", c.Text, figure.Short(c.Value, 3), figure.Short(c.Limit, 3), c.Unit)
		}
		list.Add(problem.Problem{File: name, Field: "check " + c.ID, Code: "J099", Msg: strings.TrimSpace(msg),
			Help: "nothing was written to " + folder + "; change the job as the check says, or report it if the job is sound"})
	}
	return list.Err()
}

// together is one run of the pieces of several jobs.
func together(jobs []*run, opt Options) *run {
	first := jobs[0]
	var names []string
	set := post.Set{Version: opt.Version, Job: first.Job, Machine: first.made.Set.Machine, Material: first.made.Set.Material, Cautions: first.made.Set.Cautions}
	for i, r := range jobs {
		names = append(names, r.Name())
		set.Jig.Parts = append(set.Jig.Parts, r.made.Set.Jig.Parts...)
		set.Jig.Joints = append(set.Jig.Joints, r.made.Set.Jig.Joints...)
		r.of = i + 1
	}
	j := &set.Job
	j.Name = fmt.Sprintf("%d jobs on shared sheets, %s to %s", len(jobs), first.made.Set.Letter, jobs[len(jobs)-1].made.Set.Letter)
	j.File, j.Date, j.Notes, j.Survey, j.Table = strings.Join(names, ", "), "", "", nil, layout.Table{}
	all := &run{Order: &Order{Job: *j}, opt: opt, steps: opt.steps(), made: Made{proved: map[string]bool{}, Set: set}, jobs: jobs}
	for _, r := range jobs {
		r.whole = all
	}
	return all
}

// members gives every job's set the sheets that hold its pieces.
func (r *run) members() {
	for _, m := range r.jobs {
		r.made.Jobs = append(r.made.Jobs, m.made.Set)
	}
	r.made.assign()
}

// assign gives every job the sheets on which its pieces lie, as they are now, and the other
// jobs' pieces on them.
func (m *Made) assign() {
	pieces := map[string]jig.Part{}
	for _, p := range m.Set.Jig.Parts {
		pieces[p.ID] = p
	}
	for i := range m.Jobs {
		set := &m.Jobs[i]
		own := map[string]bool{}
		for _, p := range set.Jig.Parts {
			own[p.ID] = true
		}
		set.Sheets, set.Others = nil, nil
		for _, sh := range m.Set.Sheets {
			var others []jig.Part
			for _, p := range sh.Placed {
				if part, ok := pieces[p.ID]; ok && !own[p.ID] {
					others = append(others, part)
				}
			}
			if len(others) < len(sh.Placed) {
				set.Sheets, set.Others = append(set.Sheets, sh), append(set.Others, others...)
			}
		}
	}
}

// spread gives every job's set the checks of the shared sheets, and their times.
func (m *Made) spread() {
	m.assign()
	for i := range m.Jobs {
		set := &m.Jobs[i]
		set.Checks = slices.Concat(set.Checks, m.Set.Checks)
	}
}

// files are the files that this job's record lists: those of all jobs and its own.
func (r *run) files() []File {
	if r.whole == nil {
		return r.made.Files
	}
	return slices.DeleteFunc(slices.Clone(r.whole.made.Files), func(f File) bool { return f.of != 0 && f.of != r.of })
}

// sharedOutputs are the files of several jobs on the same sheets.
func (r *run) sharedOutputs() []Output {
	r.members()
	out := append(r.sheetOutputs(), newOutput(ListName, stageCut, r.writeList, checkedBy(r.proveList, r.proveShared)))
	if r.made.Set.Machine.Process == machine.Shop {
		out = append(out, r.order(r.printing()))
	}
	for _, m := range r.jobs {
		m.made.Set.Sheets = r.made.Jobs[m.of-1].Sheets
		for _, o := range m.jobOutputs() {
			o.name, o.of = m.made.Set.FileName(o.name), m.of
			out = append(out, o)
		}
	}
	return append(out, r.sums())
}

// proveShared holds the shared sheets against the jobs' own sets.
func (r *run) proveShared(proving) jig.Check { return cut.AsShared(r.made.Set, r.made.Jobs) }

// listHead begins jobs.yaml.
const listHead = "# The jobs of which the pieces lie on the sheets of this folder: cut every sheet once.\n" +
	"# What belongs to one job begins with its letter, pieces and files alike. \"spotjig\n" +
	"# verify\" makes the folder again from this file and those that it names.\n"

// writeList writes jobs.yaml.
func (r *run) writeList(w io.Writer, _ post.Set) error {
	c := r.chosen()
	if _, err := fmt.Fprintf(w, "%smade: {version: %s, paper: %s, proof_of: %s, svg: %s}\njobs:\n", listHead, job.Quote(c.Version), c.Paper, c.ProofOf, figure.YesNo(c.SVG)); err != nil {
		return err
	}
	for _, m := range r.jobs {
		if _, err := fmt.Fprintf(w, "  - {letter: %s, file: %s, name: %s}\n", job.Quote(m.made.Set.Letter), m.made.Set.FileName(JobName), job.Quote(m.Job.Name)); err != nil {
			return err
		}
	}
	return nil
}

// proveList reads jobs.yaml back: it must name the jobs of this set, and their files must be
// written.
func (r *run) proveList(p proving) jig.Check {
	c := jig.Check{ID: "jobs", Verdict: jig.Pass, Text: fmt.Sprintf("%s names the jobs, %d", ListName, len(r.jobs))}
	fail := func(text string) jig.Check { return proof.Failed(c, ListName+": "+text) }
	back, err := job.ReadList(ListName, p.data)
	if err != nil {
		return fail(err.Error())
	}
	if back.Made != r.chosen() {
		return fail(fmt.Sprintf("made with %+v, not %+v", back.Made, r.chosen()))
	}
	if len(back.Jobs) != len(r.jobs) {
		return fail(fmt.Sprintf("%s are named, %d are made", figure.Count(len(back.Jobs), "job"), len(r.jobs)))
	}
	for i, m := range r.jobs {
		got, want := back.Jobs[i], job.Listed{Letter: m.made.Set.Letter, File: strings.ToLower(m.made.Set.Letter) + "-" + JobName, Name: m.Job.Name}
		if got != want {
			return fail(fmt.Sprintf("job %d is %+v, not %+v", i+1, got, want))
		}
		if !p.has(want.File) {
			return fail(want.File + " is not written")
		}
	}
	return c
}

// ListedJobs reads a folder's jobs.yaml: the jobs that it names, their files with the folder's
// name before them, and what they were made with. The error is a problem.List.
func ListedJobs(name string, list []byte) ([]job.Listed, job.Made, error) {
	l, err := job.ReadList(name, list)
	for i := range l.Jobs {
		l.Jobs[i].File = strings.TrimSuffix(name, ListName) + l.Jobs[i].File
	}
	return l.Jobs, l.Made, err
}

// ReadSharing reads a folder's jobs.yaml and the jobs that it names, to be made again as the
// folder was.
func ReadSharing(name string, list []byte, open Open) (*Sharing, job.Made, error) {
	jobs, c, err := ListedJobs(name, list)
	if err != nil {
		return nil, c, err
	}
	s := &Sharing{opt: optionsOf(c)}
	for i, listed := range jobs {
		text, err := open(listed.File)
		if err != nil {
			return nil, c, err
		}
		o, err := Read(listed.File, text, nil)
		if err != nil {
			return nil, c, err
		}
		r, err := o.begin(s.opt)
		if err != nil {
			return nil, c, err
		}
		if i > 0 && !alike(s.Jobs[0].run, r) {
			return nil, c, problem.Problem{File: name, Field: fmt.Sprintf("jobs[%d]", i), Code: "F031", Msg: listed.File + " is for another machine or material than the first, and shares no sheet with it",
				Help: "make the folder again"}
		}
		s.Jobs = append(s.Jobs, Member{Index: i, Letter: listed.Letter, run: r})
	}
	return s, c, nil
}
