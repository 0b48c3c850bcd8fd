package terminal

import (
	"os"

	"golang.org/x/sys/windows"
)

// terminalColumns asks the console how wide its window is; 0 when it does not say.
func terminalColumns(f *os.File) int {
	var info windows.ConsoleScreenBufferInfo
	if err := windows.GetConsoleScreenBufferInfo(windows.Handle(f.Fd()), &info); err != nil {
		return 0
	}
	return int(info.Window.Right-info.Window.Left) + 1
}
