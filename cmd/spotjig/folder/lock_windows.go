package folder

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// Lock takes the lock file, or returns ErrLocked at once. The system
// drops the lock with the process, however it ends.
func Lock(name string) (unlock func(), err error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, err
	}
	const now = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	err = windows.LockFileEx(windows.Handle(f.Fd()), now, 0, 1, 0, new(windows.Overlapped))
	if err != nil {
		f.Close()
		if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
			return nil, ErrLocked
		}
		return nil, err
	}
	// An open file cannot be removed here; whoever opens it in between keeps it.
	return func() { f.Close(); os.Remove(name) }, nil
}

// syncEntries: folders cannot be synced here; renames are journalled.
func syncEntries(string) error { return nil }
