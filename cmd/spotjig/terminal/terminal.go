// Package terminal is where a person sits: what may be printed there, how wide it is, what is
// drawn while something takes long.
package terminal

import (
	"io"
	"io/fs"
	"os"

	"spotjig/layout/screen"
)

// columnsMost is the widest a table is made, columns: lines longer than that are not read
// but searched.
const columnsMost = 200

// Columns is how wide what is printed may be: as the terminal is, where it is wider than
// usual; else, and into files and pipes, the usual width.
func Columns(w io.Writer) int {
	f, ok := device(w)
	if !ok {
		return screen.Columns
	}
	return min(max(screen.Columns, terminalColumns(f)), columnsMost)
}

// Fold breaks the long lines of findings and faults where a person reads them, on a
// terminal. Into files and pipes each stays on its line, so that what searches by line
// finds place and code together.
func Fold(w io.Writer, text string) string {
	if _, ok := device(w); !ok {
		return text
	}
	return screen.Fold(text, Columns(w))
}

// device returns the character device that w writes to, if it does: what is
// drawn there goes back over itself and is not made plain.
func device(w io.Writer) (*os.File, bool) {
	if p, ok := w.(*Plain); ok {
		w = p.W
	}
	f, ok := w.(*os.File)
	if !ok {
		return nil, false
	}
	info, err := f.Stat()
	return f, err == nil && info.Mode()&fs.ModeCharDevice != 0
}

// Asks tells whether a person may sit at the input.
func Asks(in io.Reader) bool {
	f, ok := in.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	// The null device is a character device too, and nobody sits at it.
	null, err := os.Stat(os.DevNull)
	return err != nil || !os.SameFile(info, null)
}
