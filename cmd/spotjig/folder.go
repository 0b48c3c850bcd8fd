package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"spotjig/layout/problem"
	"spotjig/post/record"
	"spotjig/post/work"
)

// A folder of outputs is replaced as a whole. For DIR named out, all beside it:
//
//	.out.spotjig-lock   held while a run writes; the kernel lets go when it dies
//	.out.spotjig-new    the new set while it is built; after the exchange, the old set
//	.out.spotjig-old    only where two folders cannot be exchanged in one step
//
// A run killed at any moment leaves DIR as the whole old or the whole new set;
// where there is no exchange, there is one more state, DIR missing with the
// whole old set in .out.spotjig-old, which `verify` names. The next run mends
// every one of these (repair).

// folderOptions say what a folder may replace.
type folderOptions struct {
	force  bool     // replace files that were edited by hand since they were written
	inputs []string // files the run has read: the output may not be, hold or lie in one

	asideOnly bool // tests: do as where folders cannot be exchanged
}

// Limits of a folder.
const (
	filesMax  = 10_000
	recordMax = 64 << 20 // bytes of a record.json
	namesMax  = 5        // foreign or edited files named in one message
)

// target is a folder to be replaced and the places beside it.
type target struct {
	given                string // as the user wrote it
	dir, fresh, old, key string // the folder, and beside it the new set, the old set, the lock
}

// targetOf resolves everything but the last element of the path, so that the
// places beside it are beside the real folder.
func targetOf(dir string) (target, error) {
	t := target{given: dir}
	abs, err := filepath.Abs(dir)
	if err != nil {
		return t, folderProblem(dir, "F013", err.Error(), "name a folder that can be reached")
	}
	parent, err := filepath.EvalSymlinks(filepath.Dir(abs))
	if err != nil {
		return t, folderProblem(dir, "F012", "the folder it would stand in does not exist", "create "+filepath.Dir(abs)+" first")
	}
	base := filepath.Base(abs)
	t.dir = filepath.Join(parent, base)
	hidden := filepath.Join(parent, "."+base+".spotjig-")
	t.fresh, t.old, t.key = hidden+"new", hidden+"old", hidden+"lock"
	return t, nil
}

func folderProblem(dir, code, msg, help string) problem.Problem {
	return problem.Problem{File: dir, Code: code, Msg: msg, Help: help}
}

// replaceFolder makes dir hold exactly the files, or leaves it as it was and
// returns a Problem. dir must be absent, empty, or hold only what its own
// record lists, unedited unless forced.
func replaceFolder(ctx context.Context, dir string, files []work.File, opt folderOptions) error {
	t, err := targetOf(dir)
	if err != nil {
		return err
	}
	if err := t.checkPlace(opt); err != nil {
		return err
	}
	unlock, err := lockFolder(t.key)
	if errors.Is(err, errLocked) {
		return folderProblem(dir, "F016", "another run is writing this folder", "wait for it to end, or choose another folder with -o")
	}
	if err != nil {
		return t.cannotWrite(err)
	}
	defer unlock()
	if err := t.repair(); err != nil {
		return err
	}
	if err := t.checkContent(t.dir, opt.force); err != nil {
		return err
	}
	if err := t.build(ctx, files); err != nil {
		removeSet(t.fresh)
		return err
	}
	return t.swap(opt)
}

func (t target) cannotWrite(err error) problem.Problem {
	var at *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &at):
		err = at.Err
	case errors.As(err, &link):
		err = link.Err
	}
	return folderProblem(t.given, "F013", "cannot be written: "+err.Error(), "free space, change its permissions, or choose another folder with -o; nothing was changed")
}

// checkPlace refuses a folder that may not be replaced wherever its content comes from.
func (t target) checkPlace(opt folderOptions) error {
	info, err := os.Lstat(t.dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return t.cannotWrite(err)
	}
	if err == nil {
		switch {
		case info.Mode()&fs.ModeSymlink != 0:
			return folderProblem(t.given, "F010", "is a link, and a link is never replaced", "name the folder it points to")
		case !info.IsDir():
			return folderProblem(t.given, "F011", "is a file, not a folder", "choose another name with -o")
		case info.Mode().Perm()&0o222 == 0:
			return folderProblem(t.given, "F019", "is marked read-only", "make it writable, or choose another folder with -o")
		}
	}
	if here, err := os.Getwd(); err == nil && holds(t.dir, here) {
		return folderProblem(t.given, "F018", "is the folder you are in, and it would be replaced under you", "choose a folder inside it, or go somewhere else")
	}
	for _, in := range opt.inputs {
		if in != "" && (holds(t.dir, in) || holds(in, t.dir)) {
			return folderProblem(t.given, "F017", "is, holds or lies in the input "+in, "choose another folder with -o")
		}
	}
	return nil
}

// holds reports whether the file or folder outer is inner or one of the folders
// above it, however the two are spelt.
func holds(outer, inner string) bool {
	want, err := os.Stat(outer)
	if err != nil {
		return false
	}
	at, err := filepath.Abs(inner)
	if err != nil {
		return false
	}
	if real, err := filepath.EvalSymlinks(at); err == nil {
		at = real
	}
	for {
		if got, err := os.Stat(at); err == nil && os.SameFile(want, got) {
			return true
		}
		up := filepath.Dir(at)
		if up == at {
			return false
		}
		at = up
	}
}

// checkContent refuses to replace anything that a run did not write itself.
func (t target) checkContent(dir string, force bool) error {
	state, err := examine(dir)
	if err != nil {
		return t.cannotWrite(err)
	}
	switch {
	case state.absent || state.empty():
		return nil
	case state.recordErr != nil:
		return folderProblem(t.given, "F014", "holds files, but no record.json that can be read and lists them: "+names(state.foreign), "choose an empty or new folder with -o")
	case len(state.foreign) > 0:
		why := ""
		if slices.Contains(state.edited, work.RecordName) {
			why = "; but " + work.RecordName + " was edited and may once have listed it"
		}
		return folderProblem(t.given, "F014", "holds what no run wrote: "+names(state.foreign)+why, "move it elsewhere, or choose another folder with -o")
	case len(state.edited) > 0 && !force:
		return folderProblem(t.given, "F015", "edited since it was written: "+names(state.edited), "keep a copy and use --force to replace it, or choose another folder with -o")
	}
	return nil
}

func names(list []string) string {
	shown := list[:min(len(list), namesMax)]
	quoted := make([]string, len(shown))
	for i, n := range shown {
		quoted[i] = printable(n)
	}
	out := strings.Join(quoted, ", ")
	if more := len(list) - len(shown); more > 0 {
		out += fmt.Sprintf(" and %d more", more)
	}
	return out
}

// printable quotes a file name that would do something to a terminal.
func printable(name string) string {
	q := fmt.Sprintf("%+q", name)
	if q == `"`+name+`"` {
		return name
	}
	return q
}

// folderState is what a folder holds against its own record. Lists are sorted.
type folderState struct {
	absent    bool
	rec       record.Record
	recordErr error    // why there is no record; nil when it was read
	listed    []string // files the record lists
	missing   []string // listed, not there
	edited    []string // listed, but with other content; the record, if not as its own hash says
	foreign   []string // there, not listed, or no plain file
}

func (s folderState) empty() bool {
	return s.recordErr != nil && len(s.foreign) == 0
}

// whole reports whether the folder holds exactly what its record lists.
func (s folderState) whole() bool {
	return !s.absent && s.recordErr == nil && len(s.missing)+len(s.edited)+len(s.foreign) == 0
}

// examine compares a folder with the record in it. Links are not followed.
func examine(dir string) (folderState, error) {
	var s folderState
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		s.absent = true
		return s, nil
	}
	if err != nil {
		return s, err
	}
	plain := map[string]bool{}
	for _, e := range entries {
		plain[e.Name()] = e.Type().IsRegular()
	}
	unedited := false
	s.rec, unedited, s.recordErr = readRecord(filepath.Join(dir, work.RecordName), plain[work.RecordName])
	if s.recordErr == nil && !unedited {
		s.edited = append(s.edited, work.RecordName)
	}
	known := map[string]bool{work.RecordName: s.recordErr == nil}
	for _, f := range s.rec.Files {
		if known[f.Name] || f.Name == work.RecordName || f.Name != filepath.Base(f.Name) {
			s.recordErr = fmt.Errorf("record.json lists %s twice or outside the folder", printable(f.Name))
			break
		}
		known[f.Name] = true
		s.listed = append(s.listed, f.Name)
		if !plain[f.Name] {
			if _, there := plain[f.Name]; there {
				s.foreign = append(s.foreign, f.Name)
			} else {
				s.missing = append(s.missing, f.Name)
			}
			continue
		}
		same, err := sameFile(filepath.Join(dir, f.Name), f)
		if err != nil {
			return s, err
		}
		if !same {
			s.edited = append(s.edited, f.Name)
		}
	}
	for name := range plain {
		if !known[name] {
			s.foreign = append(s.foreign, name)
		}
	}
	slices.Sort(s.missing)
	slices.Sort(s.edited)
	slices.Sort(s.foreign)
	return s, nil
}

// readRecord reads a record and tells by its own hash whether it was edited.
func readRecord(name string, plain bool) (r record.Record, unedited bool, err error) {
	if !plain {
		return r, false, errors.New("there is no record.json")
	}
	f, err := os.Open(name)
	if err != nil {
		return r, false, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, recordMax+1))
	if err != nil {
		return r, false, err
	}
	r, err = record.Read(bytes.NewReader(data))
	if err == nil && len(r.Files) > filesMax {
		err = fmt.Errorf("record.json lists more than %d files", filesMax)
	}
	return r, record.Unedited(data), err
}

// sameFile reports whether the file has the length and hash the record states.
func sameFile(name string, want record.File) (bool, error) {
	f, err := os.Open(name)
	if err != nil {
		return false, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return false, err
	}
	if info.Size() != int64(want.Bytes) {
		return false, nil
	}
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return false, err
	}
	return hex.EncodeToString(h.Sum(nil)) == want.SHA256, nil
}
