package work

import (
	"fmt"
	"slices"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// demoName is what the embedded job is called in messages.
const demoName = "demo job"

// Open reads a file that a job names: its machine or its material.
type Open func(name string) ([]byte, error)

// Order is a job read and worked out as far as the marks.
type Order struct {
	Job    job.Job
	Survey *layout.Report // nil without a survey
	Plan   layout.Plan
	Notes  problem.List // things to know that do not stop the job
	Made   job.Made     // how a set was made, if the job is that set's job.yaml; else zero
	source []byte       // the job as it was given
	open   Open
}

// Read reads a job file, fits its survey and works out its marks. name is what
// messages call the file; the embedded demo is read when it is "". A set's job.yaml
// brings the files that it names with it. Faults are problems with file, line and column.
func Read(name string, source []byte, open Open) (*Order, error) {
	if name == "" {
		name, source = demoName, job.Demo()
	}
	j, notes, err := job.Read(name, source, job.Options{})
	if err != nil {
		return nil, err
	}
	o := &Order{Job: j, Notes: notes, source: source, open: open}
	if j.Made.Version != "" {
		o.Made = j.Made
	}
	o.Job.Made = job.Made{} // it belongs to the file, not to the job
	if j.Survey != nil {
		table, report, err := layout.Fit(*j.Survey)
		if err != nil {
			return nil, o.Located(err)
		}
		table.Name = j.Table.Name
		o.Job.Table, o.Survey = table, &report
	}
	o.Plan, err = layout.NewPlan(o.Request())
	if err != nil {
		return nil, o.Located(err)
	}
	if err := o.tolerances(); err != nil {
		return nil, err
	}
	o.Notes = append(o.Notes, job.Locate(o.Name(), o.source, o.Request().Idle(j.Ledger.Stated))...)
	return o, nil
}

// tolerances refuses a tolerance for a mark that this job does not have.
func (o *Order) tolerances() error {
	var ids []string
	for _, m := range o.Plan.Marks {
		ids = append(append(ids, m.ID), m.Also...)
	}
	var list problem.List
	for _, t := range o.Job.Jig.Tolerances {
		if !slices.Contains(ids, t.Name) {
			list.Add(problem.Problem{Field: "jig.tolerance." + t.Name, Code: "J001",
				Msg: fmt.Sprintf("no mark of this job is called %q", t.Name), Help: strings.TrimPrefix(problem.DidYouMean(t.Name, ids)+"; marks here: ", "; ") + strings.Join(ids, ", ")})
		}
	}
	if len(list) == 0 {
		return nil
	}
	return o.Located(list)
}

// Request is what the plan of the marks is made from.
func (o *Order) Request() layout.Request {
	j := o.Job
	return layout.Request{Table: j.Table, Games: j.Games, Choices: j.Choices, Balls: j.Balls, House: j.House}
}

// Facts say what is known of the table, a line each.
func (o *Order) Facts() []string {
	t := o.Job.Table
	out := []string{fmt.Sprintf("playing surface: %s long, %s wide, taken as true", figure.Length(t.L), figure.Length(t.W))}
	if o.Survey != nil {
		out = o.Survey.Text()
	}
	for _, k := range layout.CheckSizes(t, o.Job.Games) {
		out = append(out, k.Text())
	}
	return out
}

// Located adds to each fault its place in the job file.
func (o *Order) Located(err error) error {
	return job.Locate(o.Name(), o.source, problem.From(err)).Err()
}

// Sheet reads the job's machine and material, which may be files it names.
func (o *Order) Sheet() (machine.Profile, machine.Material, error) {
	known := len(o.Job.Ledger.Idle())
	p, m, notes, err := machine.Read(o.Job.Machine, o.Job.Material, machine.Options{Open: o.open})
	if err != nil {
		return p, m, err
	}
	if err := o.unmade(p); err != nil {
		return p, m, err
	}
	if o.Job.DXF == "compensated" && (p.Process == machine.Knife || !(m.Kerf > 0)) {
		why := "a blade has no kerf"
		if p.Process != machine.Knife {
			why = "no kerf is known"
		}
		return p, m, o.Located(problem.Problem{Field: "dxf", Code: "J098", Msg: "drawings with the kerf taken are asked for, and " + why,
			Help: "write dxf: nominal, or ask whoever cuts for the kerf in this very sheet and give it as material.kerf"})
	}
	o.Notes = slices.Concat(o.Notes, notes, o.Job.Ledger.Idle()[known:], o.idleOn(p))
	return p, m, nil
}

// Name is what messages call the job's file.
func (o *Order) Name() string {
	if o.Job.File == "" {
		return demoName
	}
	return o.Job.File
}

// fault turns an error of a later stage into a problem of the job.
func (o *Order) fault(code, field, help string, err error) error {
	return problem.Problem{File: o.Name(), Field: field, Code: code, Msg: fmt.Sprint(err), Help: help}
}
