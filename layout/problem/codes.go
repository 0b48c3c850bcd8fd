package problem

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
)

//go:embed codes.txt
var codesText string

// Code is a kind of problem in a user's file or a file's place, for the manual.
type Code struct {
	ID   string
	Text string // a paragraph: what it means and what to do
}

// Codes lists every kind of problem in job, machine and material files, lengths,
// surveys, and files and folders, sorted by id.
func Codes() []Code {
	var list []Code
	for _, row := range Rows(codesText, 2) {
		list = append(list, Code{row[0], row[1]})
	}
	slices.SortFunc(list, func(a, b Code) int { return strings.Compare(a.ID, b.ID) })
	return list
}

// Rows splits a table with bars between its columns into rows. Lines that begin with # are
// about it. A row of another width is our bug.
func Rows(text string, columns int) [][]string {
	var out [][]string
	for l := range strings.Lines(text) {
		if strings.HasPrefix(l, "#") {
			continue
		}
		row := strings.SplitN(l, "|", columns)
		if len(row) != columns {
			panic(fmt.Sprintf("problem: internal error: not %d columns: %s", columns, l))
		}
		for i := range row {
			row[i] = strings.TrimSpace(row[i])
		}
		out = append(out, row)
	}
	return out
}
