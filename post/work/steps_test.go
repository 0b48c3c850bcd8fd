package work

import (
	"bytes"
	"context"
	"io"
	"os"
	"path"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	toolpath "spotjig/cam/path"
	"spotjig/post"
)

// steps are faults that a test puts behind or before the stages of a run; nil ones are
// left alone. Sheets are made side by side: one fault at a time is put in.
type steps struct {
	design   func(*jig.Jig)                     // behind the design, before the sheets
	pieces   func(*post.Set)                    // all pieces of jobs that share sheets, before those
	request  func(*toolpath.Request)            // before a laser's toolpath
	knife    func(*toolpath.KnifeRequest)       // before a knife's
	toolpath func(*toolpath.Toolpath)           // behind it
	set      func(*post.Set)                    // behind all toolpaths
	program  func(name string, b []byte) []byte // a file's bytes, between writing and proof
	files    func([]Output)                     // all outputs, before they are written
	drawn    func(*post.Set)                    // what drawings and marks.csv are written from
	shown    func(*post.Set)                    // what page and papers are drawn from
	recorded func(*post.Set)                    // what the record is written from
}

// stages puts the faults round the builtin stages.
func (s steps) stages() *stages {
	st := builtin()
	var one sync.Mutex
	inTurn := func(f func()) {
		one.Lock()
		defer one.Unlock()
		f()
	}
	design, laser, knife := st.design, st.laser, st.knife
	st.design = func(r jig.Request) (jig.Jig, error) {
		j, err := design(r)
		if err == nil && s.design != nil {
			s.design(&j)
		}
		return j, err
	}
	behind := func(tp *toolpath.Toolpath) {
		if s.toolpath != nil {
			inTurn(func() { s.toolpath(tp) })
		}
	}
	st.laser = func(r toolpath.Request) (toolpath.Toolpath, error) {
		if s.request != nil {
			inTurn(func() { s.request(&r) })
		}
		tp, err := laser(r)
		if err == nil {
			behind(&tp)
		}
		return tp, err
	}
	st.knife = func(r toolpath.KnifeRequest) (toolpath.Toolpath, error) {
		if s.knife != nil {
			inTurn(func() { s.knife(&r) })
		}
		tp, err := knife(r)
		if err == nil {
			behind(&tp)
		}
		return tp, err
	}
	if s.set != nil {
		st.drawn = s.set
	}
	if s.pieces != nil {
		st.pieces = s.pieces
	}
	st.outputs = func(list []Output) []Output {
		list = slices.Clone(list)
		for i, o := range list {
			list[i] = s.changed(o)
		}
		if s.files != nil {
			s.files(list)
		}
		return list
	}
	return &st
}

// changed is an output written from another set, or whose bytes are changed.
func (s steps) changed(o Output) Output {
	from := s.shown
	switch ext := path.Ext(o.name); {
	case ext == ".dxf" || ext == ".csv":
		from = s.drawn
	case o.when == stageListed:
		from = s.recorded
	case o.when != stageShown:
		from = nil
	}
	write := o.write
	o.write = func(w io.Writer, set post.Set) error {
		if from != nil {
			set.Checks = slices.Clone(set.Checks)
			from(&set)
		}
		if s.program == nil {
			return write(w, set)
		}
		var b bytes.Buffer
		if err := write(&b, set); err != nil {
			return err
		}
		_, err := w.Write(s.program(o.name, b.Bytes()))
		return err
	}
	return o
}

// outputOptions are what a test makes unless it says otherwise.
var outputOptions = Options{Version: "0.1.0", Paper: "a4", ProofOf: "template"}

// loadJob reads a job file; path "" is the demo.
func loadJob(path string) (*Order, error) {
	open := func(name string) ([]byte, error) { return os.ReadFile(name) }
	if path == "" {
		return Read("", nil, open)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return Read(path, data, open)
}

// build makes a job in memory, with faults.
func build(ctx context.Context, o *Order, hook steps) (Made, error) {
	opt := outputOptions
	opt.stages = hook.stages()
	return o.Build(ctx, opt)
}

// buildJob builds a job file in memory, without a fault; path "" is the demo.
func buildJob(t testing.TB, path string) Made {
	t.Helper()
	o, err := loadJob(path)
	require.NoError(t, err)
	m, err := build(context.Background(), o, steps{})
	require.NoError(t, err)
	return m
}

// file returns a file's bytes.
func (m Made) file(name string) ([]byte, bool) {
	i := slices.IndexFunc(m.Files, func(f File) bool { return f.Name == name })
	if i < 0 {
		return nil, false
	}
	return m.Files[i].Data, true
}
