package work

import (
	"cmp"
	"fmt"
	"io"
	"reflect"

	"spotjig/cam/jig"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/post"
	"spotjig/post/proof"
)

// JobName is the file that makes its very folder again.
const JobName = "job.yaml"

// jobHead begins job.yaml. Behind it stand the choices of the run and the job as resolved:
// every value that the set was made with, those of machine and material too, and which of
// them nobody stated. The set's bytes follow from this file alone, so that whoever has it can
// make the set again and see that it is the same.
const jobHead = "# The job that this folder was made from, every value written out. \"spotjig verify\"\n" +
	"# makes the folder again from this file and compares every byte; \"spotjig make job.yaml\"\n" +
	"# makes it elsewhere. What is marked as assumed was not stated by anybody.\n"

// sharedHead begins the job.yaml of a job that shares its sheets with others.
const sharedHead = "# One of the jobs that share the sheets of this folder, every value written out.\n" +
	"# \"spotjig verify\" makes the folder again from jobs.yaml, which names them all;\n" +
	"# \"spotjig make\" of this file makes this job by itself. What is marked as assumed was\n" +
	"# not stated by anybody.\n"

// writeJob writes job.yaml.
func (r *run) writeJob(w io.Writer, _ post.Set) error {
	c := r.chosen()
	stock := ""
	if c.Stock != (job.Offcut{}) {
		stock = fmt.Sprintf(", stock: %gx%g", c.Stock.Width, c.Stock.Height)
	}
	head := jobHead
	if r.whole != nil {
		head = sharedHead
	}
	_, err := fmt.Fprintf(w, "%smade: {version: %s, what: %s, grid: %s, paper: %s, proof_of: %s, svg: %s%s}\n%s", head,
		job.Quote(c.Version), c.What, figure.YesNo(c.Grid), c.Paper, c.ProofOf, figure.YesNo(c.SVG), stock, r.Job.Ledger.YAML())
	return err
}

// optionsOf are the options that make a set again as m says it was made.
func optionsOf(m job.Made) Options {
	return Options{Version: m.Version, Paper: m.Paper, ProofOf: m.ProofOf, SVG: m.SVG, Grid: m.Grid, Stock: m.Stock}
}

// chosen are the choices of this run, as job.yaml states them.
func (r *run) chosen() job.Made {
	what, o := "template", r.opt
	if r.piece {
		what = "test piece"
	}
	return job.Made{Version: o.Version, What: what, Grid: o.Grid, Paper: cmp.Or(o.Paper, "a4"), ProofOf: cmp.Or(o.ProofOf, "template"), SVG: o.SVG, Stock: o.Stock}
}

// proveJob reads job.yaml as a job: with no other file beside it, it must say all that this
// set was made from.
func (r *run) proveJob(p proving) jig.Check {
	c := jig.Check{ID: "job", Verdict: jig.Pass, Text: "job.yaml, read by itself, is the job of this set"}
	fail := func(text string) jig.Check {
		return proof.Failed(c, "job.yaml: "+text)
	}
	back, err := Read(JobName, p.data, nil)
	if err != nil {
		return fail(err.Error())
	}
	machine, sheet, err := back.Sheet()
	if err != nil {
		return fail(err.Error())
	}
	r.fromOffcut(&sheet)
	switch {
	case back.Made != r.chosen():
		return fail(fmt.Sprintf("made with %+v, not %+v", back.Made, r.chosen()))
	case !reflect.DeepEqual(plain(back.Job), plain(r.Job)):
		return fail("the job differs from what was given")
	case !reflect.DeepEqual(machine, r.made.Set.Machine):
		return fail("the machine differs from what was given")
	case !reflect.DeepEqual(sheet, r.made.Set.Material):
		return fail("the material differs from what was given")
	case back.Job.Ledger.YAML() != r.Job.Ledger.YAML():
		return fail("what was stated differs from what was given")
	}
	return c
}

// plain is a job without what says where it was read from.
func plain(j job.Job) job.Job {
	j.File, j.Ledger, j.Machine, j.Material = "", nil, job.Section{}, job.Section{}
	return j
}

func (r *run) jobOutput() Output {
	return newOutput(JobName, stageCut, r.writeJob, checkedBy(r.proveJob))
}
