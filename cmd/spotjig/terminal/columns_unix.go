//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package terminal

import (
	"os"

	"golang.org/x/sys/unix"
)

// terminalColumns asks the terminal how wide it is; 0 when it does not say.
func terminalColumns(f *os.File) int {
	size, err := unix.IoctlGetWinsize(int(f.Fd()), unix.TIOCGWINSZ)
	if err != nil {
		return 0
	}
	return int(size.Col)
}
