package folder

import "errors"

// ErrLocked: another process holds the lock.
var ErrLocked = errors.New("locked by another run")
