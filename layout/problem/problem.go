// Package problem is how a fault in a user's file is told: where it is, what is
// wrong, and what to do next. It is a leaf: it imports nothing of ours.
package problem

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Problem is one fault in a user's file, printed as a line to find it by and a
// line to mend it by:
//
//	club.yaml:14:9: material.kerf: 2.4 mm is wider than 1 mm [M010]
//	    help: measure the kerf at the exit face; acrylic is 0.1 to 0.3 mm
type Problem struct {
	File      string // as the user named it; "" when there is none, and then not printed
	Line, Col int    // 1-based, Col in runes; 0 when unknown, and then not printed
	Field     string // as the user spelt it, e.g. "material.kerf"; "" when none, and then not printed
	Code      string // stable and searchable, e.g. "J012"
	Msg       string // the value found and the limit it breaks
	Help      string // what to do next; never empty
}

// Idle is the notice that what a field states changes nothing, with why and what to do.
func Idle(field, why, help string) Problem {
	return Problem{Field: field, Code: "J096", Msg: "changes nothing: " + why, Help: help}
}

// Error prints the problem on two lines, the second indented, without a final newline.
func (p Problem) Error() string { return p.text("\n    help: ") }

// OneLine is all of it on one line, for those who fold lines themselves.
func (p Problem) OneLine() string { return p.text("; ") }

func (p Problem) text(beforeHelp string) string {
	var b strings.Builder
	if at := p.at(); at != "" {
		b.WriteString(at + ": ")
	}
	if p.Field != "" {
		b.WriteString(p.Field + ": ")
	}
	b.WriteString(p.Msg)
	if p.Code != "" {
		b.WriteString(" [" + p.Code + "]")
	}
	if p.Help != "" {
		b.WriteString(beforeHelp + p.Help)
	}
	return b.String()
}

// at is "file:line:col" with what is unknown left out.
func (p Problem) at() string {
	at := p.File
	for _, n := range []int{p.Line, p.Col} {
		if n <= 0 {
			break
		}
		if at != "" {
			at += ":"
		}
		at += fmt.Sprint(n)
	}
	return at
}

// shownMax is how many problems are printed before "and N more": a screenful,
// two lines each (rule of the house).
const shownMax = 20

// List is the faults of one run. The zero value is empty and ready to use.
type List []Problem

// Add appends a problem.
func (l *List) Add(p Problem) { *l = append(*l, p) }

// AddError appends the problems inside err: a Problem or a List, wrapped or
// not. Any other error is returned, nil otherwise.
func (l *List) AddError(err error) error {
	if err == nil {
		return nil
	}
	found := From(err)
	if len(found) == 0 {
		return err
	}
	*l = append(*l, found...)
	return nil
}

// From returns the problems inside err, nil when there are none.
func From(err error) List {
	for err != nil {
		switch e := err.(type) {
		case Problem:
			return List{e}
		case List:
			return e
		}
		u, ok := err.(interface{ Unwrap() error })
		if !ok {
			return nil
		}
		err = u.Unwrap()
	}
	return nil
}

// Sorted returns the problems in file order (file, line, column, field, code,
// message), one a line: of several on one line of a file only the first is
// kept, since the others are often its consequences. Problems without a line
// number are all kept, each once.
func (l List) Sorted() List {
	s := l.Each()
	return slices.CompactFunc(s, func(p, q Problem) bool { return q.Line > 0 && q.File == p.File && q.Line == p.Line })
}

// Each returns the problems in file order, each once. Notes are told so: what is worth
// knowing of one key is no consequence of what is worth knowing of another on its line.
func (l List) Each() List {
	s := append(List(nil), l...)
	slices.SortStableFunc(s, Problem.compare)
	return slices.Compact(s)
}

// compare orders by every field, so that no two different problems tie.
func (p Problem) compare(q Problem) int {
	return cmp.Or(strings.Compare(p.File, q.File), p.Line-q.Line, p.Col-q.Col, strings.Compare(p.Field, q.Field),
		strings.Compare(p.Code, q.Code), strings.Compare(p.Msg, q.Msg), strings.Compare(p.Help, q.Help))
}

// Error prints the problems sorted, one a line of the file, twenty at most,
// then how many more there are.
func (l List) Error() string {
	s := l.Sorted()
	if len(s) == 0 {
		return "no problems"
	}
	var lines []string
	for i, p := range s {
		if i == shownMax {
			lines = append(lines, fmt.Sprintf("and %d more", len(s)-shownMax))
			break
		}
		lines = append(lines, p.Error())
	}
	return strings.Join(lines, "\n")
}

// Err returns the sorted list as an error, nil when it is empty.
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l.Sorted()
}
