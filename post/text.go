package post

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"spotjig/layout/problem"
)

// OneLine makes a job's text fit to be shown to people: one line, control
// characters become spaces, characters that turn the reading direction go, broken
// UTF-8 shows as the replacement character, and what is longer than max
// characters is cut and ends in more.
func OneLine(s string, max int, more string) string {
	var b strings.Builder
	n := 0
	for _, r := range s {
		if n == max {
			b.WriteString(more)
			break
		}
		switch {
		case unicode.IsControl(r) || r == '\u2028' || r == '\u2029':
			b.WriteByte(' ')
		case problem.Unseen(r):
			continue
		default:
			b.WriteRune(r)
		}
		n++
	}
	return strings.TrimSpace(b.String())
}

// Parts joins what there is of some parts of a line: a job without a date or a table
// without a name leaves no comma behind.
func Parts(sep string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool { return p == "" }), sep)
}

// Title is what a job is called; one without a name goes by what it is.
func (s Set) Title() string { return cmp.Or(s.Job.Name, "Spotting jig") }
