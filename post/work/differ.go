package work

import (
	"bytes"
	"maps"
	"slices"
	"strconv"

	"spotjig/layout/problem"
)

// Differences lists how a folder differs from what its job makes. held is the folder's files
// by name, nil for what is no plain file. The File of a problem is the name in the folder.
func (m Made) Differences(held map[string][]byte) problem.List {
	var list problem.List
	add := func(name, code, msg, help string, line int) {
		list = append(list, problem.Problem{File: name, Line: line, Code: code, Msg: msg, Help: help})
	}
	known := map[string]bool{}
	for _, f := range m.Files {
		known[f.Name] = true
		got, there := held[f.Name]
		switch {
		case !there:
			add(f.Name, "F032", "is missing", "make the folder again", 0)
		case got == nil && len(f.Data) > 0:
			add(f.Name, "F034", "is no plain file", "make the folder again", 0)
		case !bytes.Equal(got, f.Data):
			line, msg := firstDifference(got, f.Data)
			add(f.Name, "F033", msg, "make the folder again; do not run a program that was edited", line)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(held)) {
		if !known[name] {
			add(name, "F034", "is none of the files that this job makes", "move it elsewhere; no run of spotjig wrote it", 0)
		}
	}
	return list
}

// firstDifference is the first line in which two files differ, and what each says there.
func firstDifference(got, want []byte) (line int, msg string) {
	line = 1
	for {
		a, restA, moreA := bytes.Cut(got, []byte("\n"))
		b, restB, moreB := bytes.Cut(want, []byte("\n"))
		if !bytes.Equal(a, b) || moreA != moreB {
			return line, "is not as its job makes it: it says " + quotedStart(a, b) + ", it should say " + quotedStart(b, a)
		}
		got, want = restA, restB
		line++
	}
}

// quotedStart quotes a line about the first byte that differs from the other line.
func quotedStart(a, other []byte) string {
	const before, most = 12, 48
	at := 0
	for at < len(a) && at < len(other) && a[at] == other[at] {
		at++
	}
	from := max(0, at-before)
	if len(a) <= most {
		from = 0
	}
	s := strconv.QuoteToASCII(string(a[from:min(len(a), from+most)]))
	switch {
	case len(a) == 0:
		return "nothing"
	case from > 0:
		s = "..." + s
	}
	return s
}
