//go:build !linux && !darwin && !freebsd && !netbsd && !openbsd && !dragonfly && !windows

package main

import "os"

// terminalColumns does not know how to ask here.
func terminalColumns(*os.File) int { return 0 }
