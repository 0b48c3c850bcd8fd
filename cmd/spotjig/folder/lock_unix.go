//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package folder

import (
	"errors"
	"os"
	"syscall"
)

// Lock takes the lock file, or returns ErrLocked at once. The kernel
// drops the lock with the process, however it ends, so a lock file left behind
// locks nobody out.
func Lock(name string) (unlock func(), err error) {
	for {
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|syscall.O_NOFOLLOW, 0o666)
		if err != nil {
			return nil, err
		}
		if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
			f.Close()
			if errors.Is(err, syscall.EWOULDBLOCK) {
				return nil, ErrLocked
			}
			return nil, err
		}
		// Whoever held it before may have removed the file between our open and
		// our lock: then we hold the lock of no name, and try again.
		held, err1 := f.Stat()
		named, err2 := os.Lstat(name)
		if err1 == nil && err2 == nil && os.SameFile(held, named) {
			return func() { os.Remove(name); f.Close() }, nil
		}
		f.Close()
	}
}

// syncEntries waits until the folder's entries are on the disk.
func syncEntries(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(ignoreUnsupported(f.Sync()), f.Close())
}

// ignoreUnsupported: some file systems cannot sync a folder, and need not.
func ignoreUnsupported(err error) error {
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, syscall.ENOTSUP) {
		return nil
	}
	return err
}
