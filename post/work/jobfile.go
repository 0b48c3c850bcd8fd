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

// jobHead begins job.yaml. What follows is what was chosen beside the job and the job as
// resolved: every value that it was made with, the machine's and the material's too, and
// which of them nobody stated. The bytes of the set come from it and from nothing else, so
// that whoever has it can make the set again, and see that it is the same.
const jobHead = "# The job that this folder was made from, every value written out. \"spotjig verify\"\n" +
	"# makes the folder again from this file and compares every byte; \"spotjig make job.yaml\"\n" +
	"# makes it elsewhere. What is marked as assumed was not stated by anybody.\n"

// sharedHead begins the job of one of several that share sheets.
const sharedHead = "# One of the jobs that share the sheets of this folder, every value written out.\n" +
	"# \"spotjig verify\" makes the folder again from jobs.yaml, which names them all;\n" +
	"# \"spotjig make\" of this file makes this job by itself. What is marked as assumed was\n" +
	"# not stated by anybody.\n"

// Choices are what beside the job itself a set was made with.
type Choices struct {
	Version   string
	TestPiece bool
	Grid      bool
	Paper     string
	ProofOf   string
	SVG       bool
	Stock     job.Offcut
}

// writeJob writes job.yaml.
func (r *run) writeJob(w io.Writer, _ post.Set) error {
	c := r.chosen()
	what := "template"
	if c.TestPiece {
		what = "test piece"
	}
	stock := ""
	if c.Stock != (job.Offcut{}) {
		stock = fmt.Sprintf(", stock: %gx%g", c.Stock.Width, c.Stock.Height)
	}
	head := jobHead
	if r.whole != nil {
		head = sharedHead
	}
	_, err := fmt.Fprintf(w, "%smade: {version: %s, what: %s, grid: %s, paper: %s, proof_of: %s, svg: %s%s}\n%s", head,
		job.Quote(c.Version), what, figure.YesNo(c.Grid), c.Paper, c.ProofOf, figure.YesNo(c.SVG), stock, r.Job.Ledger.YAML())
	return err
}

// choicesOf are those that a set's own file states.
func choicesOf(m job.Made) Choices {
	return Choices{Version: m.Version, TestPiece: m.What == "test piece", Grid: m.Grid, Paper: m.Paper, ProofOf: m.ProofOf, SVG: m.SVG, Stock: m.Stock}
}

// Options are those that make the set again.
func (c Choices) Options() Options {
	return Options{Version: c.Version, Paper: c.Paper, ProofOf: c.ProofOf, SVG: c.SVG, Grid: c.Grid, Stock: c.Stock}
}

// chosen is what the run was made with.
func (r *run) chosen() Choices {
	o := r.opt
	o.Paper, o.ProofOf = cmp.Or(o.Paper, "a4"), cmp.Or(o.ProofOf, "template")
	return Choices{Version: o.Version, TestPiece: r.piece, Grid: o.Grid, Paper: o.Paper, ProofOf: o.ProofOf, SVG: o.SVG, Stock: o.Stock}
}

// proveJob reads job.yaml as a job: it must hold what this set was made from, by itself,
// with no file beside it.
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

// plain is a job without where it was read from.
func plain(j job.Job) job.Job {
	j.File, j.Ledger, j.Machine, j.Material = "", nil, job.Section{}, job.Section{}
	return j
}

func (r *run) jobOutput() Output {
	return newOutput(JobName, stageCut, r.writeJob, oneCheck(r.proveJob))
}
