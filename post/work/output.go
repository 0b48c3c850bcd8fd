package work

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"
	"sync"

	"spotjig/cam/jig"
	"spotjig/post"
	"spotjig/post/proof"
)

// File is one file of a set, in memory.
type File struct {
	Name string
	Data []byte
	of   int    // the job it is of where several share sheets, counted from 1; 0: of all
	sum  string // SHA-256, as record and sums list it
}

// stage says when an output is written: what each shows must be known by then.
type stage int

const (
	stageCut    stage = iota // what a machine or a shop works from, and the marks
	stageShown               // what people look at: page and papers show every check of what is cut
	stageListed              // the record, which lists every other file and check
	stageSummed              // the hashes of all
)

// writer writes one output of a set.
type writer func(w io.Writer, set post.Set) error

// prover reads an output back, with code that shares nothing with its writer, and holds it
// against the set. The error is ctx's.
type prover func(ctx context.Context, p proving) (found, error)

// proving is what a prover is given.
type proving struct {
	set   post.Set // the truth
	of    int      // the job that the output is of; see File
	data  []byte   // the output as written
	files []File   // this file and all of earlier stages
	names []string // of all files of this stage and earlier ones
}

// has tells whether a file is among those that are written.
func (p proving) has(name string) bool { return slices.Contains(p.names, name) }

// found is what a proof says of an output.
type found struct {
	checks []jig.Check
	judged []jig.Check // the dry run's, one for each program
	cut    *estimate   // of a cutting program
}

// estimate is what the dry run measures of one sheet's cutting program.
type estimate struct {
	sheet                           int // index
	time, beamOn, cutLen, travelLen float64
	laps                            []float64
}

// Output is one file that a job writes, how it is written, and how it is proved.
type Output struct {
	name  string
	when  stage
	write writer
	prove prover
	of    int  // the job that it is written from; see File
	long  bool // takes longer than the others of its stage: begun first
}

// newOutput returns an output. It panics without a writer or a proof: whoever adds a file has
// to say how it is read back.
func newOutput(name string, when stage, write writer, prove prover) Output {
	if name == "" || write == nil || prove == nil {
		panic(fmt.Sprintf("work: internal error: output %q has no writer or no proof", name))
	}
	return Output{name: name, when: when, write: write, prove: prove}
}

// produce writes the outputs of one stage into memory and proves each as soon as it is
// written, side by side, and adds checks, estimates and files to what is made. Outputs come in
// the order of their checks. No proof is given the bytes of another file of its stage: they
// may not be there yet.
func (m *Made) produce(ctx context.Context, outs []Output, when stage) error {
	outs = slices.DeleteFunc(slices.Clone(outs), func(o Output) bool { return o.when != when })
	names := make([]string, 0, len(m.Files)+len(outs))
	for _, f := range m.Files {
		names = append(names, f.Name)
	}
	turns := make([]int, 0, len(outs)) // in the order in which they begin
	for i, o := range outs {
		names = append(names, o.name)
		if o.long {
			turns = slices.Insert(turns, 0, i)
		} else {
			turns = append(turns, i)
		}
	}
	files, results := make([]File, len(outs)), make([]found, len(outs))
	texts := sync.Pool{New: func() any { return new(bytes.Buffer) }} // grown once, not by every file
	err := eachOf(len(outs), func(turn int) (err error) {
		i := turns[turn]
		text := texts.Get().(*bytes.Buffer)
		defer texts.Put(text)
		if files[i], err = outs[i].written(*m.set(outs[i].of), text); err != nil {
			return err
		}
		results[i], err = outs[i].prove(ctx, proving{set: *m.set(outs[i].of), of: outs[i].of, data: files[i].Data,
			files: append(slices.Clip(m.Files), files[i]), names: names})
		return err
	})
	if err != nil {
		return err
	}
	checks := make([][]jig.Check, 1+len(m.Jobs))
	for i, r := range results {
		set := m.set(outs[i].of)
		set.Checks = append(set.Checks, r.judged...)
		checks[outs[i].of] = append(checks[outs[i].of], r.checks...)
		if len(r.checks) > 0 {
			m.proved[outs[i].name] = true
		}
		if e := r.cut; e != nil {
			s := &m.Set.Sheets[e.sheet]
			s.Time, s.BeamOn, s.CutLen, s.TravelLen, s.Laps = e.time, e.beamOn, e.cutLen, e.travelLen, e.laps
		}
	}
	for i, of := range checks {
		set := m.set(i)
		set.Checks = append(set.Checks, proof.Merge(of)...)
	}
	slices.SortStableFunc(files, listOrder)
	m.Files = append(m.Files, files...)
	return nil
}

// written is the output as a file; text is room to write it in.
func (o Output) written(set post.Set, text *bytes.Buffer) (File, error) {
	text.Reset()
	if err := o.write(text, set); err != nil {
		return File{}, &writeError{o.name, err}
	}
	sum := sha256.Sum256(text.Bytes())
	return File{Name: o.name, Data: bytes.Clone(text.Bytes()), of: o.of, sum: hex.EncodeToString(sum[:])}, nil
}

// listOrder puts files in the order in which they are listed: programs, drawings, tables,
// papers, pages, pictures.
func listOrder(a, b File) int {
	kinds := []string{".nc", ".dxf", ".csv", ".pdf", ".html", ".svg", ".txt", ".yaml", ".json", ""}
	kind := func(f File) int { return slices.Index(kinds, path.Ext(f.Name)) }
	if by := cmp.Compare(kind(a), kind(b)); by != 0 || path.Ext(a.Name) != ".pdf" {
		return by
	}
	return cmp.Compare(a.Name, b.Name)
}

// Judgement is what the proofs say of a file that something else wrote.
type Judgement struct {
	Name   string
	Looked bool        // a proof has read it
	Failed []jig.Check // those that the file does not pass
}

// Judge holds the files of a folder, which another version or an editor may have written,
// against what this job makes: programs, drawings and marks.csv must pass the proofs that the
// job's own files pass. Files that are the same byte for byte have passed, and are left out.
// No proof reads the words that are for people, so a file may pass here with any words in it.
// The error is ctx's.
func (m Made) Judge(ctx context.Context, held map[string][]byte) ([]Judgement, error) {
	files := slices.Clone(m.Files)
	same := map[string]bool{}
	var names []string
	for i, f := range files {
		names = append(names, f.Name)
		if data, there := held[f.Name]; there {
			same[f.Name] = bytes.Equal(f.Data, data)
			files[i].Data = data
		}
	}
	var out []Judgement
	for _, o := range m.outs {
		data, there := held[o.name]
		if !there || same[o.name] {
			continue
		}
		j := Judgement{Name: o.name, Looked: o.when == stageCut && !strings.HasSuffix(o.name, ".yaml")}
		if j.Looked {
			f, err := o.prove(ctx, proving{set: *m.set(o.of), of: o.of, data: data, files: files, names: names})
			if err != nil {
				return nil, err
			}
			j.Failed = failed(slices.Concat(f.judged, f.checks))
		}
		out = append(out, j)
	}
	return out, nil
}

// unproved returns a failed check for each file that no proof has read, so that such a set is
// never written.
func (m *Made) unproved() []jig.Check {
	var out []jig.Check
	for _, f := range m.Files {
		if !m.proved[f.Name] {
			out = append(out, jig.Check{ID: "proved:" + f.Name, Verdict: jig.Fail, Text: "no proof has read " + f.Name + " back"})
		}
	}
	return out
}

// writeError is a writer's, with the name of its file.
type writeError struct {
	name string
	err  error
}

// Error names the file.
func (e *writeError) Error() string { return e.name + ": " + e.err.Error() }

// Unwrap returns the writer's error.
func (e *writeError) Unwrap() error { return e.err }

// eachOf runs f for 0 to n-1 side by side, and returns the error of the lowest number.
func eachOf(n int, f func(int) error) error {
	return first(Each(n, f, func(int) {}))
}
