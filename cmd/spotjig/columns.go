package main

import (
	"io"

	"spotjig/layout/job"
	"spotjig/layout/screen"
	"spotjig/post/summary"
)

// columnsMost is the widest a table is made, columns: lines longer than that are not read
// but searched.
const columnsMost = 200

// look is how what is printed of a job is to look.
func look(w io.Writer, l loaded) screen.Look {
	return screen.Look{Columns: columns(w), Inches: l.Job.Units == job.UnitsInch}
}

// toldTo is an output for what is said of a job.
func toldTo(w io.Writer, l loaded) summary.Reader { return summary.Reader{Writer: w, Look: look(w, l)} }

// columns is how wide what is printed may be: as the terminal is, where it is wider than
// usual; else, and into files and pipes, the usual width.
func columns(w io.Writer) int {
	f, ok := terminal(w)
	if !ok {
		return screen.Columns
	}
	return min(max(screen.Columns, terminalColumns(f)), columnsMost)
}

// foldForEyes breaks the long lines of findings and faults where a person reads them, on a
// terminal. Into files and pipes each stays on its line, so that what searches by line
// finds place and code together.
func foldForEyes(w io.Writer, text string) string {
	if _, ok := terminal(w); !ok {
		return text
	}
	return screen.Fold(text, columns(w))
}
