package folder

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"spotjig/layout/problem"
	"spotjig/post/work"
)

// errNoExchange: this system or file system cannot exchange two folders.
var errNoExchange = errors.New("folders cannot be exchanged here")

// repair undoes or completes what a killed run left beside the folder. The lock is held.
func (t target) repair() error {
	_, err := os.Lstat(t.dir)
	missing := errors.Is(err, fs.ErrNotExist)
	if info, err := os.Lstat(t.old); err == nil && missing && info.IsDir() {
		if err := os.Rename(t.old, t.dir); err != nil {
			return t.cannotWrite(err)
		}
	}
	for _, left := range []string{t.fresh, t.old} {
		if err := removeSet(left); err != nil {
			return fault(t.given, "F020", "what a run that was cut off left beside it cannot be removed: "+err.Error(), "remove "+left+" by hand")
		}
	}
	return nil
}

// removeSet removes a folder of plain files under names that runs give; it stops at
// anything else, before it removes a thing. An absent folder is no error.
func removeSet(dir string) error {
	info, err := os.Lstat(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is not a folder", dir)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if !e.Type().IsRegular() {
			return fmt.Errorf("%s is not a plain file", filepath.Join(dir, problem.Printable(e.Name())))
		}
		if !ours.MatchString(e.Name()) {
			return fmt.Errorf("no run of spotjig wrote %s", filepath.Join(dir, problem.Printable(e.Name())))
		}
	}
	for _, e := range entries {
		if err := os.Remove(filepath.Join(dir, e.Name())); err != nil {
			return err
		}
	}
	return os.Remove(dir)
}

// filesAtOnce is how many files are written at a time: most of it is waiting until a disk has
// them, which confirms several together as soon as one.
const filesAtOnce = 8

// build writes the new set beside the folder and waits until it is on the disk.
func (t target) build(ctx context.Context, files []work.File) error {
	if err := os.Mkdir(t.fresh, 0o777); err != nil {
		return t.cannotWrite(err)
	}
	for _, f := range files {
		if !ours.MatchString(f.Name) { // or the next run would not take it for its own
			panic("spotjig: internal error: no name that runs give: " + f.Name)
		}
	}
	if err := work.EachWaiting(len(files), filesAtOnce, func(i int) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := writeDurably(filepath.Join(t.fresh, files[i].Name), files[i].Data); err != nil {
			return t.cannotWrite(err)
		}
		return nil
	}); err != nil {
		return err
	}
	if err := syncEntries(t.fresh); err != nil {
		return t.cannotWrite(err)
	}
	return ctx.Err()
}

func writeDurably(name string, data []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Sync(), f.Close())
}

// swap puts the new set in the folder's place and removes the old one. Between
// the look at the old set and the exchange someone may have put a file there,
// so it is looked at once more afterwards, and the exchange undone.
func (t target) swap(opt Options) error {
	_, err := os.Lstat(t.dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		err = os.Rename(t.fresh, t.dir)
	case opt.asideOnly:
		return t.swapAside(opt)
	case err == nil:
		if err = exchange(t.fresh, t.dir); errors.Is(err, errNoExchange) {
			return t.swapAside(opt)
		}
	}
	if err != nil {
		removeSet(t.fresh)
		return t.cannotWrite(err)
	}
	if found := t.checkContent(t.fresh, opt.Force); found != nil {
		if err := exchange(t.fresh, t.dir); err != nil {
			return fault(t.given, "F020", "changed while it was replaced; what it held is in "+t.fresh, "move that elsewhere, then run again")
		}
		removeSet(t.fresh)
		return found
	}
	return t.finish(t.fresh)
}

// swapAside does in two steps what exchange does in one.
func (t target) swapAside(opt Options) error {
	if err := os.Rename(t.dir, t.old); err != nil {
		removeSet(t.fresh)
		return t.cannotWrite(err)
	}
	found := t.checkContent(t.old, opt.Force)
	if found == nil {
		if err := os.Rename(t.fresh, t.dir); err != nil {
			found = t.cannotWrite(err)
		}
	}
	if found != nil {
		if err := os.Rename(t.old, t.dir); err != nil {
			return fault(t.given, "F020", "could not be put back: "+err.Error(), "it is whole in "+t.old+"; rename it by hand or run again")
		}
		removeSet(t.fresh)
		return found
	}
	return t.finish(t.old)
}

// finish makes the exchange durable and removes the old set, in that order.
func (t target) finish(old string) error {
	if err := syncEntries(filepath.Dir(t.dir)); err != nil {
		return fault(t.given, "F013", "was replaced, but the disk did not confirm it: "+err.Error(), "run spotjig verify")
	}
	if err := removeSet(old); err != nil {
		return fault(t.given, "F020", "was replaced, but the old set cannot be removed: "+err.Error(), "remove "+old+" by hand")
	}
	return nil
}
