package folder

import (
	"errors"

	"golang.org/x/sys/unix"
)

// exchange swaps two folders in one step (renameat2(2), RENAME_EXCHANGE). File
// systems that cannot answer EINVAL, old kernels ENOSYS.
func exchange(a, b string) error {
	err := unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, unix.RENAME_EXCHANGE)
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.EOPNOTSUPP) {
		return errNoExchange
	}
	return err
}
