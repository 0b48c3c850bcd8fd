package bridge

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"

	"spotjig/cam/jig"
	"spotjig/layout/figure"
	"spotjig/post/work"
)

// Options are the choices of a set.
type Options struct {
	Version string       `json:"version"` // of the tool
	Paper   string       `json:"paper"`   // "a4" or "letter"
	SVG     bool         `json:"svg"`
	Stage   func(string) `json:"-"` // told what is being done; nil for silence
}

// Made is what the page shows of a finished set.
type Made struct {
	Faults   []Fault  `json:"faults"` // why the set is refused; there are no files then
	Lines    []string `json:"lines"`  // marks, pieces, sheets and time
	Checks   []Check  `json:"checks"` // those that did not pass
	Passed   string   `json:"passed"` // how many passed: "41 checks"
	Notes    []Fault  `json:"notes"`
	Cautions []string `json:"cautions"`
	Files    []File   `json:"files"`

	data []work.File
}

// Of returns one file of the set by its name; nil when it has none.
func (m Made) Of(name string) []byte {
	for _, f := range m.data {
		if f.Name == name {
			return f.Data
		}
	}
	return nil
}

// Check is a check that did not pass.
type Check struct {
	Verdict string `json:"verdict"`
	Text    string `json:"text"`
}

// File is one file of a set.
type File struct {
	Name string `json:"name"`
	Size string `json:"size"`
}

// Make makes a job's whole set, every file with the bytes that the command make writes, and
// packs the files. A set's own job.yaml is made as it was. The error is ctx's.
func Make(ctx context.Context, text string, opt Options) (Made, []byte, error) {
	out := Made{Faults: []Fault{}, Lines: []string{}, Checks: []Check{}, Notes: []Fault{}, Cautions: []string{}, Files: []File{}}
	refuse := func(err error) (Made, []byte, error) {
		out.Faults = faultsOf(err)
		return out, nil, ctx.Err()
	}
	o, err := read(text)
	if err != nil {
		return refuse(err)
	}
	how := work.Options{Version: opt.Version, Paper: opt.Paper, SVG: opt.SVG, Stage: opt.Stage}
	if was := o.Made; was.Version != "" {
		how.Paper, how.ProofOf, how.SVG, how.Grid, how.Stock = was.Paper, was.ProofOf, was.SVG, was.Grid, was.Stock
	}
	made, err := o.Make(ctx, how)
	if err != nil {
		return refuse(err)
	}
	if failed := made.Failures(); len(failed) > 0 {
		for _, c := range failed {
			out.Faults = append(out.Faults, Fault{Field: "check " + c.ID, Code: "J099", Text: c.Text,
				Help: "nothing is saved; change the job as the check says"})
		}
		return out, nil, nil
	}
	data, err := pack(made.Files)
	if err != nil {
		return refuse(err)
	}
	out.fill(o, made)
	return out, data, nil
}

// fill puts in what the page shows of a set.
func (m *Made) fill(o *work.Order, made work.Made) {
	s := made.Set
	m.Lines = append(m.Lines, fmt.Sprintf("%s, %s on %s", figure.Count(len(s.Marks), "mark"), figure.Count(len(s.Jig.Parts), "piece"), figure.Count(len(s.Sheets), "sheet")))
	for _, sh := range s.Sheets {
		line := fmt.Sprintf("sheet %d: %s, %s, %s used", sh.N, figure.Sheet(sh.Width, sh.Height), figure.Count(len(sh.Placed), "piece"), figure.Share(sh.UsedFraction))
		if len(sh.Path.Ops) > 0 {
			line += ", about " + figure.Time(sh.Time)
		}
		m.Lines = append(m.Lines, line)
	}
	passed := 0
	for _, c := range s.Checks {
		if c.Verdict == jig.Pass {
			passed++
			continue
		}
		m.Checks = append(m.Checks, Check{string(c.Verdict), c.Text})
	}
	m.Passed = figure.Count(passed, "check")
	m.Notes = faults(o.Notes.Each())
	m.Cautions, m.data = append(m.Cautions, s.Cautions...), made.Files
	for _, f := range made.Files {
		m.Files = append(m.Files, File{f.Name, figure.Count(len(f.Data), "byte")})
	}
}

// pack puts files into an archive, without times, so that same files make same bytes.
func pack(files []work.File) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range files {
		w, err := z.CreateHeader(&zip.FileHeader{Name: f.Name, Method: zip.Deflate})
		if err == nil {
			_, err = w.Write(f.Data)
		}
		if err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return b.Bytes(), err
}
