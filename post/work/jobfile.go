package work

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"strconv"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout/job"
	"spotjig/post"
)

// JobName is the file that makes its very folder again.
const JobName = "job.yaml"

// The job in a set: what was chosen beside the job file, the files that it named, and the
// job as it was given, in one file that reads as a job. It holds everything that the bytes
// of the set come from, so that whoever has it can make the set again, and see that it is
// the same.
const (
	jobHead = "# The job that this folder was made from. \"spotjig verify\" makes the folder again\n" +
		"# from this file and compares every byte; \"spotjig make job.yaml\" makes it elsewhere.\n"
	jobTail = "# ---------------------------------------------------------------- the job as it was given\n"
)

// Choices are what beside the job itself a set was made with.
type Choices struct {
	Version   string
	TestPiece bool
	Grid      bool
	Paper     string
	ProofOf   string
	SVG       bool
}

// givenSource is a job file without the head that a set's job.yaml has.
func givenSource(source []byte) []byte {
	if !bytes.HasPrefix(source, []byte(jobHead)) {
		return source
	}
	if _, rest, ok := bytes.Cut(source, []byte("\n"+jobTail)); ok {
		return rest
	}
	return source
}

// openedFile is a file that a job names.
type openedFile struct {
	name string
	data []byte
}

// writeJob writes job.yaml.
func (r *run) writeJob(w io.Writer, _ post.Set) error {
	var b bytes.Buffer
	b.WriteString(jobHead)
	yes := func(v bool) string {
		if v {
			return "yes"
		}
		return "no"
	}
	c := r.chosen()
	what := "template"
	if c.TestPiece {
		what = "test piece"
	}
	fmt.Fprintf(&b, "made: {version: %s, what: %s, grid: %s, paper: %s, proof_of: %s, svg: %s}\n",
		job.Quote(c.Version), what, yes(c.Grid), c.Paper, c.ProofOf, yes(c.SVG))
	if len(r.opened) > 0 {
		b.WriteString("files:\n")
	}
	for _, f := range r.opened {
		fmt.Fprintf(&b, "  %s: %s\n", strconv.Quote(f.name), block(f.data))
	}
	b.WriteString(jobTail)
	b.Write(r.source)
	_, err := w.Write(b.Bytes())
	return err
}

// block is a file's text as a YAML value: lines set in where that keeps every byte, else
// one quoted text.
func block(data []byte) string {
	text := string(data)
	plain := strings.HasSuffix(text, "\n") && !strings.HasSuffix(text, "\n\n") && !strings.HasPrefix(text, "\n") && !strings.HasPrefix(text, " ")
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		plain = plain && strings.TrimRight(line, " \t\r") == line && !strings.ContainsFunc(line, func(c rune) bool { return c < ' ' || !strconv.IsPrint(c) })
	}
	if !plain {
		return strconv.QuoteToASCII(text)
	}
	return "|\n    " + strings.TrimSuffix(strings.ReplaceAll(text, "\n", "\n    "), "\n    ")
}

// chosen is what the run was made with.
func (r *run) chosen() Choices {
	o := r.opt
	o.Paper, o.ProofOf = cmp.Or(o.Paper, "a4"), cmp.Or(o.ProofOf, "template")
	return Choices{Version: o.Version, TestPiece: r.piece, Grid: o.Grid, Paper: o.Paper, ProofOf: o.ProofOf, SVG: o.SVG}
}

// proveJob reads job.yaml as a job: it must hold what this set was made from, by itself,
// with no file beside it.
func (r *run) proveJob(p proving) jig.Check {
	c := jig.Check{ID: "job", Verdict: jig.Pass, Text: "job.yaml, read by itself, is the job of this set"}
	fail := func(text string) jig.Check {
		c.Verdict, c.Text = jig.Fail, "job.yaml: "+text
		return c
	}
	back, err := Read(JobName, p.data, nil)
	if err != nil {
		return fail(err.Error())
	}
	if _, _, err := back.Sheet(); err != nil {
		return fail(err.Error())
	}
	switch {
	case back.Made != r.chosen():
		return fail(fmt.Sprintf("made with %+v, not %+v", back.Made, r.chosen()))
	case !bytes.Equal(back.source, r.source):
		return fail("the job differs from what was given")
	case len(back.opened) != len(r.opened):
		return fail(fmt.Sprintf("%d files, not %d", len(back.opened), len(r.opened)))
	}
	for i, f := range back.opened {
		if f.name != r.opened[i].name || !bytes.Equal(f.data, r.opened[i].data) {
			return fail("the file " + r.opened[i].name + " differs from what was read")
		}
	}
	return c
}

func (r *run) jobOutput() Output {
	return newOutput(JobName, stageCut, r.writeJob, oneCheck(r.proveJob))
}
