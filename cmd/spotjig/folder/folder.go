// Package folder keeps a set of files in a folder of the disk: it replaces a folder as a
// whole, so that a run killed at any moment leaves the old set or the new one, and reads one
// back with what a run that was cut off left beside it.
package folder

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"spotjig/layout/problem"
	"spotjig/post/work"
)

// A folder is replaced as a whole. For DIR named out, all beside it:
//
//	.out.spotjig-lock   held while a run writes; the kernel lets go when it dies
//	.out.spotjig-new    the new set while it is built; after the exchange, the old set
//	.out.spotjig-old    only where two folders cannot be exchanged in one step
//
// A run killed at any moment leaves DIR as the whole old or the whole new set;
// where there is no exchange, there is one more state, DIR missing with the
// whole old set in .out.spotjig-old, which `verify` names. The next run mends
// every one of these (repair).

// Options say what a new set may replace.
type Options struct {
	Force  bool     // replace files that were edited by hand since they were written
	Inputs []string // files the run has read: the output may not be, hold or lie in one

	asideOnly bool // tests: do as where folders cannot be exchanged
}

// Limits of a folder.
const (
	sumsMax  = 1 << 20 // bytes of a list of hashes: ten thousand files
	namesMax = 5       // foreign or edited files named in one message
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
		return t, fault(dir, "F013", err.Error(), "name a folder that can be reached")
	}
	parent, err := filepath.EvalSymlinks(filepath.Dir(abs))
	if err != nil {
		return t, fault(dir, "F012", "the folder it would stand in does not exist", "create "+filepath.Dir(abs)+" first")
	}
	base := filepath.Base(abs)
	t.dir = filepath.Join(parent, base)
	hidden := filepath.Join(parent, "."+base+".spotjig-")
	t.fresh, t.old, t.key = hidden+"new", hidden+"old", hidden+"lock"
	return t, nil
}

func fault(dir, code, msg, help string) problem.Problem {
	return problem.Problem{File: dir, Code: code, Msg: msg, Help: help}
}

// Check refuses what Replace would refuse of dir as it stands, before anybody waits for a set
// that has nowhere to go. It changes nothing, and Replace looks at everything again. While
// another run writes the folder, what it holds may change at any moment, and only Replace,
// which holds the lock, looks at it.
func Check(dir string, opt Options) error {
	t, err := targetOf(dir)
	if err != nil {
		return err
	}
	if err := t.checkPlace(opt); err != nil {
		return err
	}
	err = t.checkContent(t.dir, opt.Force)
	if _, locked := os.Lstat(t.key); locked == nil {
		return nil
	}
	return err
}

// Replace makes dir hold exactly the files, or leaves it as it was and
// returns a Problem. dir must be absent, empty, or hold only what its own
// SHA256SUMS lists, unedited unless forced, under names that runs give.
func Replace(ctx context.Context, dir string, files []work.File, opt Options) error {
	t, err := targetOf(dir)
	if err != nil {
		return err
	}
	if err := t.checkPlace(opt); err != nil {
		return err
	}
	unlock, err := Lock(t.key)
	if errors.Is(err, ErrLocked) {
		return fault(dir, "F016", "another run is writing this folder", "wait for it to end, or choose another folder with -o")
	}
	if err != nil {
		return t.cannotWrite(err)
	}
	defer unlock()
	if err := t.repair(); err != nil {
		return err
	}
	if err := t.checkContent(t.dir, opt.Force); err != nil {
		return err
	}
	if err := t.build(ctx, files); err != nil {
		removeSet(t.fresh)
		return err
	}
	return t.swap(opt)
}

func (t target) cannotWrite(err error) problem.Problem {
	return fault(t.given, "F013", "cannot be written: "+Reason(err), "free space, change its permissions, or choose another folder with -o; nothing was changed")
}

// Reason is what the file system says is wrong, without the path that the error names.
func Reason(err error) string {
	var at *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &at):
		err = at.Err
	case errors.As(err, &link):
		err = link.Err
	}
	return err.Error()
}

// checkPlace refuses a folder that may not be replaced wherever its content comes from.
func (t target) checkPlace(opt Options) error {
	info, err := os.Lstat(t.dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return t.cannotWrite(err)
	}
	if err == nil {
		switch {
		case info.Mode()&fs.ModeSymlink != 0:
			return fault(t.given, "F010", "is a link, and a link is never replaced", "name the folder it points to")
		case !info.IsDir():
			return fault(t.given, "F011", "is a file, not a folder", "choose another name with -o")
		case info.Mode().Perm()&0o222 == 0:
			return fault(t.given, "F019", "is marked read-only", "make it writable, or choose another folder with -o")
		}
	}
	if here, err := os.Getwd(); err == nil && holds(t.dir, here) {
		return fault(t.given, "F018", "is the folder you are in, and it would be replaced under you", "choose a folder inside it, or go somewhere else")
	}
	for _, in := range opt.Inputs {
		if in != "" && (holds(t.dir, in) || holds(in, t.dir)) {
			return fault(t.given, "F017", "is, holds or lies in the input "+in, "choose another folder with -o")
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
	s, err := examine(dir)
	if err != nil {
		return t.cannotWrite(err)
	}
	switch {
	case s.absent || s.empty():
		return nil
	case s.listErr != nil:
		return fault(t.given, "F014", "holds files, and "+s.listErr.Error()+": "+names(s.foreign), "choose an empty or new folder with -o")
	case len(s.foreign) > 0:
		return fault(t.given, "F014", "holds what no run wrote: "+names(s.foreign), "move it elsewhere, or choose another folder with -o")
	case len(s.edited) > 0 && !force:
		return fault(t.given, "F015", "edited since it was written: "+names(s.edited), "keep a copy and use --force to replace it, or choose another folder with -o")
	}
	return nil
}

func names(list []string) string {
	shown := list[:min(len(list), namesMax)]
	quoted := make([]string, len(shown))
	for i, n := range shown {
		quoted[i] = problem.Printable(n)
	}
	out := strings.Join(quoted, ", ")
	if more := len(list) - len(shown); more > 0 {
		out += fmt.Sprintf(" and %d more", more)
	}
	return out
}

// state is what a folder holds against its own list of hashes. Lists are sorted.
type state struct {
	absent  bool
	listErr error    // why there is no list; nil when it was read
	missing []string // listed, not there
	edited  []string // listed, but with other content
	foreign []string // there, not listed, no plain file, or under a name that no run gives
}

func (s state) empty() bool {
	return s.listErr != nil && len(s.foreign) == 0
}

// ours are the names that runs give to files: whatever a list says, nothing else is ever
// removed.
var ours = regexp.MustCompile(`^(?:(?:[a-z]{1,3}-)?(?:(?:sheet-[0-9]+|grid|check)(?:-[a-z]+)*\.(?:nc|dxf|svg)|table\.svg|marks\.csv|(?:job-sheet|proof|order)\.pdf|view\.html|reading\.txt|job\.yaml|record\.json)|jobs\.yaml|SHA256SUMS)$`)

// examine compares a folder with the list of hashes in it. Links are not followed.
func examine(dir string) (state, error) {
	var s state
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
	var sums []sum
	sums, s.listErr = readSums(filepath.Join(dir, work.SumsName), plain[work.SumsName])
	known := map[string]bool{work.SumsName: s.listErr == nil}
	for _, f := range sums {
		if known[f.name] || !ours.MatchString(f.name) {
			s.listErr = fmt.Errorf("%s lists %s, which no run writes, or twice", work.SumsName, problem.Printable(f.name))
			break
		}
		switch isPlain, there := plain[f.name]; {
		case !there:
			s.missing = append(s.missing, f.name)
		case isPlain:
			known[f.name] = true
			same, err := f.is(filepath.Join(dir, f.name))
			if err != nil {
				return s, err
			}
			if !same {
				s.edited = append(s.edited, f.name)
			}
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

// sum is one line of SHA256SUMS.
type sum struct{ hash, name string }

// readSums reads a list of hashes.
func readSums(name string, plain bool) ([]sum, error) {
	if !plain {
		return nil, errors.New("there is no " + work.SumsName + " that lists them")
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, sumsMax+1))
	if err != nil {
		return nil, err
	}
	if len(data) > sumsMax {
		return nil, fmt.Errorf("%s is longer than %d bytes", work.SumsName, sumsMax)
	}
	var out []sum
	for line := range strings.Lines(string(data)) {
		hash, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		if !ok {
			return nil, fmt.Errorf("%s cannot be read in line %d", work.SumsName, len(out)+1)
		}
		out = append(out, sum{hash, name})
	}
	return out, nil
}

// is reports whether the file has the hash.
func (s sum) is(name string) (bool, error) {
	f, err := os.Open(name)
	if err != nil {
		return false, err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return false, err
	}
	return hex.EncodeToString(h.Sum(nil)) == s.hash, nil
}
