package main

import "errors"

// errLocked: another process holds the lock.
var errLocked = errors.New("locked by another run")
