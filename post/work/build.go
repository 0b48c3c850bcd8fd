// Package work is the one way from a job to its files: design, sheets, toolpaths, then
// every output written, read back and proved, all in memory. A command or a page that wants a
// set calls Build and writes the files only when no check failed.
//
// A file comes out of a list of Outputs, each a name, a writer and a proof that reads
// back what the writer wrote; there is no Output without its proof, and a file that no
// proof has looked at fails the set.
package work

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/jig/film"
	"spotjig/cam/jig/plate"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post"
)

// Options are the choices of a run.
type Options struct {
	Version string       // the tool's stamp, for every file's head
	Paper   string       // of job sheet and proof: "a4" or "letter"
	ProofOf string       // what the paper proof shows: "template" or "marks"
	SVG     bool         // the pictures as files of their own as well
	Grid    bool         // of a laser's test piece: also the grid of powers and feeds
	Stock   job.Offcut   // of a test piece: what it is cut from; zero: the job's sheet
	Stage   func(string) // told what is being done; nil for silence

	stages *stages // tests replace some
}

// stage reports to Stage what is being done now.
func (o Options) stage(stage string) {
	if o.Stage != nil {
		o.Stage(stage)
	}
}

// Made is a finished job: the set, and every file's bytes.
type Made struct {
	Set    post.Set   // where several jobs share sheets: all that lies on them
	Jobs   []post.Set // where several jobs share sheets: one of each job
	Files  []File
	proved map[string]bool
	outs   []Output
}

// Failures returns the checks that failed. While there is one, nothing may be written.
func (m Made) Failures() []jig.Check {
	var out []jig.Check
	for i := range 1 + len(m.Jobs) {
		out = append(out, failed(m.set(i).Checks)...)
	}
	return out
}

// Sets returns one set of each job: of those that share sheets, or of the only job.
func (m Made) Sets() []post.Set {
	if len(m.Jobs) == 0 {
		return []post.Set{m.Set}
	}
	return m.Jobs
}

// failed returns the checks that failed.
func failed(checks []jig.Check) []jig.Check {
	return slices.DeleteFunc(slices.Clone(checks), func(c jig.Check) bool { return c.Verdict != jig.Fail })
}

// set is that of the i-th job on shared sheets, counted from 1; for 0 it is Set.
func (m *Made) set(i int) *post.Set {
	if i == 0 {
		return &m.Set
	}
	return &m.Jobs[i-1]
}

// stages are the steps from marks to outputs. A test plants a fault by replacing one of them.
type stages struct {
	design  func(jig.Request) (jig.Jig, error)
	lay     func(*post.Set) error
	laser   func(path.Request) (path.Toolpath, error)
	knife   func(path.KnifeRequest) (path.Toolpath, error)
	finish  func(*run, context.Context, []Output) (Made, error)
	instead func(*run, context.Context, Made, error) (Made, error)
	others  func(*Sharing, context.Context, Made, error) (Made, error)
}

func (o Options) steps() stages {
	if o.stages != nil {
		return *o.stages
	}
	return builtin()
}

func builtin() stages {
	return stages{
		design:  design,
		lay:     func(set *post.Set) error { return layOut(set, nest.Nest) },
		laser:   path.Laser,
		knife:   path.Knife,
		finish:  (*run).finish,
		instead: (*run).instead,
		others:  (*Sharing).others,
	}
}

// design designs the kind of jig that fits what cuts it.
func design(req jig.Request) (jig.Jig, error) { return jig.Search(req, kindFor(req)) }

func kindFor(req jig.Request) jig.NewKind {
	if req.Machine.Process == machine.Knife {
		return film.New
	}
	return plate.New
}

// run is the making of one set.
type run struct {
	*Order
	opt    Options
	steps  stages
	made   Made
	whole  *run             // the run of all jobs that share this one's sheets; nil if none do
	of     int              // the job's place in whole.jobs, counted from 1
	jobs   []*run           // of a run of shared sheets: those of its jobs
	piece  bool             // a test piece, no template
	trials []jig.KnifeTrial // of a blade's test piece
}

// begin reads machine and material and starts a set.
func (o *Order) begin(opt Options) (*run, error) {
	p, m, err := o.Sheet()
	if err != nil {
		return nil, err
	}
	set := post.Set{Version: opt.Version, Job: o.Job, Table: o.Job.Table, Machine: p, Material: m}
	set.Cautions = post.Cautions(p, m, set.Compensated())
	return &run{Order: o, opt: opt, steps: opt.steps(), made: Made{proved: map[string]bool{}, Set: set}}, nil
}

// request is what the jig is designed from.
func (r *run) request() jig.Request {
	s, j := r.made.Set, r.Job
	// Without the commit, so that two builds letter the same on the pieces of a job.
	number, _, _ := strings.Cut(r.opt.Version, "+")
	return jig.Request{Name: j.Name, Date: j.Date, Version: number, Table: j.Table, Games: j.Games,
		Marks: s.Marks, Also: j.Also, AlikeFrom: r.Plan.AlikeFrom, AlikeTo: r.Plan.AlikeTo, Sizes: r.sizes(), BallDiameter: j.Balls.Diameter, Want: s.Job.Jig, Machine: s.Machine, Material: s.Material, Copies: j.Copies,
		Inches: j.Units == job.UnitsInch, Letter: s.Letter}
}

// Build makes a job's template and every file of it, in memory. Checks that fail are in
// the set; the files are then not complete. The error is a problem of the job's, or ctx's.
func (o *Order) Build(ctx context.Context, opt Options) (Made, error) {
	r, err := o.begin(opt)
	if err != nil {
		return Made{}, err
	}
	return r.template(ctx)
}

// template designs the template and makes its files. Where the pieces of the usual plan cannot
// be laid on the sheets there are, or cannot be cut, it looks for another plan.
func (r *run) template(ctx context.Context) (Made, error) {
	if err := r.design(); err != nil {
		return Made{}, err
	}
	sound := len(failed(r.made.Set.Checks)) == 0
	made, err := r.build(ctx)
	if sound {
		return r.steps.instead(r, ctx, made, err)
	}
	return made, err
}

// insteadMost is how many plans of each kind, and changes of the job, are laid and cut
// where the usual plan cannot be: each takes as long as a job.
const insteadMost = 4

// instead makes the set by another plan where the usual one came to a fault of the job, or
// to checks that failed. Where no plan will do, it returns that fault or those checks, with
// the change of the job that would help, if there is one.
func (r *run) instead(ctx context.Context, made Made, err error) (Made, error) {
	if stands(made, err) {
		return made, nil
	}
	best, sound, err := r.another(ctx, &made, err)
	if sound != nil {
		return sound.rest(ctx, best)
	}
	return made, err
}

// another looks for another plan than the usual one, which came to a fault or to checks that
// failed: sound is its run with the outputs that are cut, and best its design. Where there is
// none, sound is nil, and the fault or the check says which change of the job would help.
func (r *run) another(ctx context.Context, made *Made, err error) (best jig.Jig, sound *run, _ error) {
	var fault problem.Problem
	const settings = "J093" // of the machine are at fault: no plan changes them
	if err != nil && (!errors.As(err, &fault) || fault.Code == settings) {
		return best, nil, err
	}
	why := fault.Msg
	var c *jig.Check
	if err == nil {
		c = &made.Set.Checks[slices.IndexFunc(made.Set.Checks, func(c jig.Check) bool { return c.Verdict == jig.Fail })]
		why = c.ID + ": " + c.Text
	}
	req := r.request()
	best, refused := jig.Instead(req, kindFor(req), why, insteadMost, func(req jig.Request, j jig.Jig) bool {
		sound = r.with(req, j)
		m, err := sound.cut(ctx)
		return stands(m, err)
	})
	switch {
	case ctx.Err() != nil:
		*made = Made{}
		return best, nil, ctx.Err()
	case refused == nil:
		return best, sound, nil
	case c == nil:
		if refused.Free != "" {
			refused.Free = r.enough(ctx, sound, refused.Free)
			fault.Help = refused.Help()
		}
		return best, nil, fault
	case refused.Free != "":
		c.Text += "; " + refused.Help()
	}
	return best, nil, nil
}

// enough says how many sheets of which size would do, where free, which is the job with the
// change that words tell, is made because it may take as many as it needs. So many are tried
// like any change; where they will not do, or are not what was short, words stand.
func (r *run) enough(ctx context.Context, free *run, words string) string {
	counted := func(s machine.Stock) bool { return s.Count > 0 }
	req := r.request()
	if !slices.ContainsFunc(req.Material.Sheets, counted) || slices.ContainsFunc(free.made.Set.Material.Sheets, counted) {
		return words
	}
	req.Material.Sheets = slices.Clone(req.Material.Sheets)
	var more []string
	for i := range req.Material.Sheets {
		s := &req.Material.Sheets[i]
		need := 0
		for _, u := range free.made.Set.Sheets {
			if s.Is(u.Width, u.Height) {
				need += max(1, r.Job.Copies)
			}
		}
		if counted(*s) && need > s.Count {
			s.Count = need
			more = append(more, fmt.Sprintf("%s of %s", figure.Count(need, "sheet"), figure.Sheet(s.Width, s.Height)))
		}
	}
	if len(more) == 0 {
		return words
	}
	j, err := r.steps.design(req)
	if err != nil {
		return words
	}
	tried := r.with(req, j)
	if m, err := tried.cut(ctx); !stands(m, err) {
		return words
	}
	return "with " + strings.Join(more, " and ") + " (count in material.sheets)"
}

// with is the run as it stands after its design, with plan j for the job that req asks for.
func (r *run) with(req jig.Request, j jig.Jig) *run {
	t, order := *r, *r.Order
	order.Job.Jig, order.Job.Games = req.Want, req.Games
	t.Order, t.made = &order, Made{proved: map[string]bool{}, Set: r.made.Set}
	set := &t.made.Set
	set.Sheets, set.Job, set.Machine, set.Material, set.Marks, set.Jig = nil, order.Job, req.Machine, req.Material, req.Marks, j
	set.Checks = append(t.layoutChecks(), j.Checks...)
	return &t
}

// cut makes the outputs that are cut from, and the marks that they are held against.
func (r *run) cut(ctx context.Context) (Made, error) {
	if err := r.laid(); err != nil {
		return Made{}, err
	}
	return r.steps.finish(r, ctx, append(r.sheetOutputs(), marksOutput()))
}

// rest makes the outputs that cut left out. j is the same plan with the checks that say which
// plan it is; they join the others only now.
func (r *run) rest(ctx context.Context, j jig.Jig) (Made, error) {
	set := &r.made.Set
	n := len(set.Jig.Checks)
	set.Checks = slices.Insert(set.Checks, len(r.layoutChecks())+n, j.Checks[n:]...)
	set.Jig = j
	done := r.made.outs
	r.made.outs = r.templateOutputs()
	return r.produced(ctx, slices.DeleteFunc(slices.Clone(r.made.outs), func(o Output) bool {
		return slices.ContainsFunc(done, func(d Output) bool { return d.name == o.name })
	}))
}

// design makes the template's parts.
func (r *run) design() error {
	set := &r.made.Set
	marks, err := r.jigMarks()
	if err != nil {
		return err
	}
	set.Tape, set.Marks = layout.TapeCard(r.Request(), r.Plan), marks
	r.opt.stage("designing the template")
	set.Jig, err = r.steps.design(r.request())
	var thin *plate.ThinError
	if errors.As(err, &thin) {
		return r.Located(problem.Problem{Field: "material.thickness", Code: "J097", Msg: thin.Error(),
			Help: "use thicker sheet; film and card go on a knife"})
	}
	var shoe *plate.ShoeError
	if errors.As(err, &shoe) {
		return r.Located(problem.Problem{Field: "jig.settings", Code: "J097", Msg: shoe.Error(),
			Help: "use another sheet, of 4 to 6 mm, or leave jig.settings out"})
	}
	var refused *jig.RefusedError
	if errors.As(err, &refused) {
		return r.fault("J090", "machine", refused.Help(), err)
	}
	if err != nil {
		return r.fault("J090", "machine", "use a larger bed, a thinner sheet or fewer marks", err)
	}
	set.Checks = append(r.layoutChecks(), set.Jig.Checks...)
	first := func(p jig.Part) bool { return !p.FitsThickness() }
	if m := set.Material; set.Machine.Process == machine.Shop && m.Measured && m.InSteps() && !slices.ContainsFunc(set.Jig.Parts, first) {
		return r.Located(problem.Problem{Field: "material.ordered", Code: "J095", Msg: "every piece of this jig has slots for fins, or is one: no plates were ordered first",
			Help: "remove ordered: all is ordered at once"})
	}
	return nil
}

// build makes the files of what is designed.
func (r *run) build(ctx context.Context) (Made, error) {
	if err := r.laid(); err != nil {
		return Made{}, err
	}
	return r.steps.finish(r, ctx, r.templateOutputs())
}

// laid lays the parts on sheets, and the toolpaths.
func (r *run) laid() error {
	r.opt.stage("laying the pieces on sheets")
	if err := r.steps.lay(&r.made.Set); err != nil {
		return r.fault("J091", "material.sheets", "use larger sheets, more of them, or a larger bed", err)
	}
	r.opt.stage("laying the toolpaths")
	return r.paths()
}

// paths makes every sheet's toolpath, side by side: none depends on another.
func (r *run) paths() error {
	set := &r.made.Set
	if set.Machine.Process == machine.Shop {
		return nil
	}
	return eachOf(len(set.Sheets), func(i int) error {
		s := &set.Sheets[i]
		tp, err := r.toolpath(s.Sheet)
		if err != nil {
			return r.fault("J092", "material", "change kerf, marker or sheet so that every cut has room", err)
		}
		s.Path, s.Bounds = tp, tp.Bounds
		return nil
	})
}

// toolpath orders one sheet for the machine's process.
func (r *run) toolpath(s nest.Sheet) (path.Toolpath, error) {
	set := &r.made.Set
	if set.Machine.Process == machine.Knife {
		return r.steps.knife(path.KnifeRequest{Sheet: s, Parts: set.Jig.Parts, Machine: set.Machine, Material: set.Material, Start: set.Machine.StandsAt(), Trials: r.trials})
	}
	return r.steps.laser(path.Request{Sheet: s, Parts: set.Jig.Parts, Material: set.Material, Start: set.Machine.StandsAt(),
		Ties: path.Ties{Count: set.Job.Jig.Ties, Width: set.Job.Jig.TieWidth}})
}

// finish writes and proves all outputs.
func (r *run) finish(ctx context.Context, outs []Output) (Made, error) {
	r.made.outs = outs
	return r.produced(ctx, outs)
}

// produced writes and proves outputs, stage by stage. It ends with the stage in which a check
// fails: the set is refused then, and nobody sees its page or papers.
func (r *run) produced(ctx context.Context, outs []Output) (Made, error) {
	for _, s := range []struct {
		stage
		says string
	}{{stageCut, "writing programs and drawings, reading them back"}, {stageShown, "drawing page and papers"}, {stageListed, "writing the record"}, {stageSummed, "summing up"}} {
		r.opt.stage(s.says)
		if err := r.made.produce(ctx, outs, s.stage); err != nil {
			return Made{}, r.stopped(err)
		}
		if len(r.made.Failures()) > 0 {
			return r.made, nil
		}
		if s.stage == stageCut {
			r.made.spread()
		}
	}
	r.made.Set.Checks = append(r.made.Set.Checks, r.made.unproved()...)
	return r.made, nil
}

// stopped words what ended the writing of outputs.
func (r *run) stopped(err error) error {
	var p *programError
	if errors.As(err, &p) {
		return r.fault("J093", "machine", "change the machine's settings as the message says", p.err)
	}
	var d *drawingError
	if errors.As(err, &d) {
		return r.fault("J092", "dxf", "write dxf: nominal and let the shop take its kerf, or change kerf or marker so that every cut has room", d.err)
	}
	return err
}

// drawingError is a drawing that has no room for the kerf.
type drawingError struct{ err error }

// Error is the contour's.
func (e *drawingError) Error() string { return e.err.Error() }

// programError is a program that the writer refuses.
type programError struct{ err error }

// Error is the writer's.
func (e *programError) Error() string { return e.err.Error() }
