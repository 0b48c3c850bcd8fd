package work

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"path"
	"reflect"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/nest"
	toolpath "spotjig/cam/path"
	"spotjig/post"
)

// steps are faults that a test puts behind or before the stages of a run; nil ones are
// left alone. Sheets are made side by side: one fault at a time is put in.
type steps struct {
	of       string                             // the job and what is made of it, where what has no fault may be another run's: see kept
	base     func(*jig.Jig)                     // part of the job: behind the design, with or without a fault
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
	only     func(name string) bool             // the outputs of what is cut that are made, and then none behind them; nil: all outputs
}

// stages puts the faults round the builtin stages.
func (s steps) stages() *stages {
	st := usual()
	var one sync.Mutex
	inTurn := func(f func()) {
		one.Lock()
		defer one.Unlock()
		f()
	}
	design, laser, knife := st.design, st.laser, st.knife
	st.design = func(r jig.Request) (jig.Jig, error) {
		j, err := keep(s.of, "design "+r.Letter, func() (jig.Jig, error) {
			j, err := design(r)
			if err == nil && s.base != nil {
				s.base(&j)
			}
			return j, err
		})
		if err == nil && s.of != "" {
			j = copied(j)
		}
		if err == nil && s.design != nil {
			s.design(&j)
		}
		return j, err
	}
	cut := ""
	if s.pieces == nil && s.design == nil && s.request == nil && s.knife == nil {
		cut = s.of
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
		if !s.cuts(r.Sheet.N) {
			return toolpath.Toolpath{}, nil
		}
		tp, err := keep(cut, fmt.Sprint("sheet ", r.Sheet.N), func() (toolpath.Toolpath, error) { return laser(r) })
		tp.Ops = slices.Clone(tp.Ops)
		if err == nil {
			behind(&tp)
		}
		return tp, err
	}
	st.knife = func(r toolpath.KnifeRequest) (toolpath.Toolpath, error) {
		if s.knife != nil {
			inTurn(func() { s.knife(&r) })
		}
		if !s.cuts(r.Sheet.N) {
			return toolpath.Toolpath{}, nil
		}
		tp, err := keep(cut, fmt.Sprint("sheet ", r.Sheet.N), func() (toolpath.Toolpath, error) { return knife(r) })
		tp.Ops = slices.Clone(tp.Ops)
		if err == nil {
			behind(&tp)
		}
		return tp, err
	}
	if s.pieces != nil {
		st.lay = func(set *post.Set) error {
			s.pieces(set)
			return layOut(set, nestOnce)
		}
	}
	st.finish = func(r *run, ctx context.Context, list []Output) (Made, error) {
		if s.set != nil {
			s.set(&r.made.Set)
		}
		list = slices.Clone(list)
		for i, o := range list {
			list[i] = s.changed(o)
		}
		if s.files != nil {
			s.files(list)
		}
		list = slices.DeleteFunc(list, func(o Output) bool { return s.only != nil && (o.when > stageCut || !s.makes(o.name)) })
		return r.finish(ctx, list)
	}
	return &st
}

// makes tells whether an output of what is cut is made.
func (s steps) makes(name string) bool { return s.only == nil || s.only(name) }

// cuts tells whether an output of a sheet is made: no other needs its toolpath.
func (s steps) cuts(sheet int) bool {
	for _, of := range []string{".nc", "-dryrun.nc", "-edges.nc", ".dxf", "-cut.svg"} {
		if s.makes(fmt.Sprintf("sheet-%d%s", sheet, of)) {
			return true
		}
	}
	return false
}

// remembered are the builtin stages, of which the same pieces are laid on the same stock once
// for all tests: jobs that differ in how programs are written, or in what is lettered, have
// the same sheets, and laying them is a fifth of all work.
func remembered() stages {
	st := builtin()
	st.lay = func(set *post.Set) error { return layOut(set, nestOnce) }
	return st
}

// nestOnce lays pieces, each kind of them once. Every digit of what it is given counts.
func nestOnce(items []nest.Item, opt nest.Options) ([]nest.Sheet, error) {
	sheets, err := keep("sheets", fmt.Sprintf("%x", sha256.Sum256(fmt.Appendf(nil, "%+v in %+v", items, opt))), func() ([]nest.Sheet, error) { return nest.Nest(items, opt) })
	sheets = slices.Clone(sheets)
	for i := range sheets {
		sheets[i].Placed = slices.Clone(sheets[i].Placed)
	}
	return sheets, err
}

// usual are the builtin stages without other plans where the usual ones fail: what a fault
// brings about is what is looked at.
func usual() stages {
	st := remembered()
	st.instead = func(_ *run, _ context.Context, made Made, err error) (Made, error) { return made, err }
	st.others = func(_ *Sharing, _ context.Context, made Made, err error) (Made, error) { return made, err }
	return st
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
	write, prove, sound := o.write, o.prove, s.of
	if s.pieces != nil || s.design != nil || s.request != nil || s.knife != nil || s.toolpath != nil || s.set != nil || o.when > stageShown {
		sound = ""
	}
	if sound != "" && from == nil && s.files == nil {
		plain := write
		write = func(w io.Writer, set post.Set) error {
			text, err := keep(sound, "text of "+o.name, func() ([]byte, error) {
				var b bytes.Buffer
				err := plain(&b, set)
				return b.Bytes(), err
			})
			if err == nil {
				_, err = w.Write(text)
			}
			return err
		}
	}
	o.prove = func(ctx context.Context, p proving) (found, error) {
		names := ""
		for _, f := range p.files {
			names += f.Name + " "
		}
		return keep(sound, fmt.Sprintf("proof of %s %x among %s", o.name, sha256.Sum256(p.data), names), func() (found, error) { return prove(ctx, p) })
	}
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

// What is made of a job without a fault is the same each time, so that it is worked out
// once and kept: the designs and each sheet's toolpath, of which a fault is given a copy;
// the text of an output, unless what it is written from has the fault; and what its proof
// says of that text. Only stages before a fault are taken from here, and proofs of
// outputs that it leaves alone: whoever must see it looks at it each time.

// kept are results by job and by what they are of; whoever comes second waits for the first.
var kept sync.Map

// result is what a stage came to.
type result[T any] struct {
	is  T
	err error
}

// keep returns what is kept, or makes it; where no job is named, it makes it each time.
func keep[T any](of, what string, make func() (T, error)) (T, error) {
	if of == "" {
		return make()
	}
	once, _ := kept.LoadOrStore(of+": "+what, sync.OnceValue(func() result[T] {
		is, err := make()
		return result[T]{is, err}
	}))
	r := once.(func() result[T])()
	return r.is, r.err
}

// copied is a jig that may be changed without changing the other. Contours never change.
func copied(j jig.Jig) jig.Jig {
	unshare(reflect.ValueOf(&j).Elem())
	return j
}

// unshare gives a value lists of its own, at any depth.
func unshare(v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Field(i); f.CanSet() {
				unshare(f)
			}
		}
	case reflect.Slice:
		if v.IsNil() {
			return
		}
		list := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		reflect.Copy(list, v)
		v.Set(list)
		for i := range list.Len() {
			unshare(list.Index(i))
		}
	}
}

// outputOptions are what a test makes unless it says otherwise.
var outputOptions = func() Options {
	st := remembered()
	return Options{Version: "0.1.0", Paper: "a4", ProofOf: "template", stages: &st}
}()

// anew are the same for what is to be made without anything of an earlier run.
func anew() Options {
	opt := outputOptions
	opt.stages = nil
	return opt
}

// long leaves a test out of -short, which is for between two edits.
func long(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("many jobs, or a job drawn many times: left out with -short")
	}
}

// drawnUp is a job's template with the checks of its design, and no files.
func drawnUp(t *testing.T, o *Order) Made {
	t.Helper()
	r, err := o.begin(outputOptions)
	require.NoError(t, err)
	require.NoError(t, r.design())
	return r.made
}

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

// buildJob is a job file built in memory, without a fault, once for all tests: none may
// change what is made; path "" is the demo.
func buildJob(t testing.TB, path string) Made {
	t.Helper()
	m, err := keep(cmp.Or(path, "demo"), "made", func() (Made, error) { return buildAnew(path) })
	require.NoError(t, err)
	return m
}

// buildAnew builds a job file in memory.
func buildAnew(path string) (Made, error) {
	o, err := loadJob(path)
	if err != nil {
		return Made{}, err
	}
	return build(context.Background(), o, steps{})
}

// file returns a file's bytes.
func (m Made) file(name string) ([]byte, bool) {
	i := slices.IndexFunc(m.Files, func(f File) bool { return f.Name == name })
	if i < 0 {
		return nil, false
	}
	return m.Files[i].Data, true
}
