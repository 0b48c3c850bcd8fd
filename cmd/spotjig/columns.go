package main

import (
	"io"

	"spotjig/layout/screen"
)

// columnsMost is the widest a table is made, columns: lines longer than that are not read
// but searched.
const columnsMost = 200

// columns is how wide what is printed may be: as the terminal is, where it is wider than
// usual; else, and into files and pipes, the usual width.
func columns(w io.Writer) int {
	f, ok := terminal(w)
	if !ok {
		return screen.Columns
	}
	return min(max(screen.Columns, terminalColumns(f)), columnsMost)
}
