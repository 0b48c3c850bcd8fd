package folder

import (
	"io"
	"os"
	"path/filepath"
)

// Read reads every file of a folder, by name; what is no plain file is there without text.
// The note is of a run that was cut off beside it, "" when there was none. Nothing is
// changed. The error is a Problem.
func Read(dir string) (held map[string][]byte, note string, err error) {
	t, err := targetOf(dir)
	if err != nil {
		return nil, "", err
	}
	if note, err = t.leftover(); err != nil {
		return nil, "", err
	}
	if held, err = readFiles(t.dir); err != nil {
		return nil, "", fault(dir, "F030", "cannot be read: "+Reason(err), "name a folder that spotjig made, and that you may read")
	}
	return held, note, nil
}

func readFiles(dir string) (map[string][]byte, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	held := map[string][]byte{}
	for _, e := range entries {
		held[e.Name()] = nil
		if !e.Type().IsRegular() {
			continue
		}
		if held[e.Name()], err = readFile(filepath.Join(dir, e.Name())); err != nil {
			return nil, err
		}
	}
	return held, nil
}

// fileMax bounds what is read of one file: ten times the largest that a set has.
const fileMax = 256 << 20

// readFile reads a file up to the limit.
func readFile(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, fileMax))
}

// leftover tells what a run that was cut off left beside the folder. It is an
// error when the folder itself is missing because of it.
func (t target) leftover() (note string, err error) {
	there := func(name string) bool { _, err := os.Lstat(name); return err == nil }
	switch fresh, old := there(t.fresh), there(t.old); {
	case !there(t.dir) && old:
		return "", fault(t.given, "F036", "is missing: a run was cut off between its two steps; the whole old set is in "+filepath.Base(t.old),
			"run make again, which mends this, or rename that folder by hand")
	case !there(t.dir) && fresh:
		return "", fault(t.given, "F036", "was never written: a run was cut off; what it had begun is in "+filepath.Base(t.fresh),
			"run make again, which clears it away")
	case fresh || old:
		return "a run was cut off; this folder is whole all the same, and the next run clears away what was left beside it", nil
	}
	return "", nil
}
