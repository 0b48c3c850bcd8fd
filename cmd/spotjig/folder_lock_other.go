//go:build !linux && !darwin && !freebsd && !netbsd && !openbsd && !dragonfly && !windows

package main

import (
	"errors"
	"io/fs"
	"os"
)

// lockFolder creates the lock file, or returns errLocked when it is there. A
// killed run leaves it behind, to be removed by hand.
func lockFolder(name string) (unlock func(), err error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return nil, errLocked
	}
	if err != nil {
		return nil, err
	}
	f.Close()
	return func() { os.Remove(name) }, nil
}

// syncFolder: nothing is known of folders here.
func syncFolder(string) error { return nil }
