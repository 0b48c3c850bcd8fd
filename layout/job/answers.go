package job

import (
	"cmp"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
)

// Answers are a person's answers to questions about a table, each as typed; "" is not
// answered. The reader of job files judges them, so that what is accepted here is never
// refused there.
type Answers struct {
	Size          string // as sold; "other" when it is none that is published
	Length, Width string
	Measured      bool   // stated to be measured nose to nose
	Games         string // joined by commas
	Baulk         string // the choice of baulk line
	Machine       string // a built-in machine; handed on unread
}

// OtherSize is the answer for a table that is sold under no published name.
const OtherSize = "other"

// read reads the answers as a job file.
func (a Answers) read() (Job, problem.List, problem.List) {
	var b strings.Builder
	b.WriteString("table:\n")
	for _, kv := range [][2]string{{"size", a.Size}, {"length", a.Length}, {"width", a.Width}} {
		if kv[1] != "" && kv[1] != OtherSize {
			fmt.Fprintf(&b, "  %s: %s\n", kv[0], Quote(kv[1]))
		}
	}
	if a.Measured {
		b.WriteString("  measured: nose-to-nose\n")
	}
	fmt.Fprintf(&b, "games: [%s]\n", cmp.Or(a.Games, "pool"))
	j, notes, err := Read("", []byte(b.String()), Options{})
	return j, notes, problem.From(err)
}

// SizeAnswer takes a table's name as sold: a published one, or "other".
func SizeAnswer(text string) (string, error) {
	if strings.EqualFold(text, OtherSize) {
		return OtherSize, nil
	}
	if s, ok := sizeNamed(text); ok {
		return s.Name, nil
	}
	var names []string
	for _, s := range Sizes() {
		names = append(names, s.Name)
	}
	return "", fmt.Errorf("no table is sold as %q that we know of; %s", text, problem.DidYouMean(text, append(names, OtherSize)))
}

// SideAnswer takes a length that a side of a playing surface can have, the longer or the
// shorter: Surface tells which of the two it is once both are known.
func SideAnswer(text string) (string, error) {
	_, fault := lengthWithin(text, Range{Min: widthSurfaceMin, Max: lengthSurfaceMax})
	if fault == nil {
		return text, nil
	}
	if bare := strings.Trim(text, "0123456789."); fault.Code == "L009" && bare == "" {
		fault.Help = "a bare number is in mm; if inches were meant, write " + text + " in"
	}
	return "", *fault
}

// Surface judges length and width together. A size with a fault cannot be used. One with a
// doubt can, but the person should be asked: it is also the size of a slate, or not that of
// the table as sold. Both are nil when all is well or nothing was measured.
func (a Answers) Surface() (fault, doubt *problem.Problem) {
	if a.Length == "" && a.Width == "" && a.Size != OtherSize {
		return nil, nil
	}
	_, notes, faults := a.read()
	for _, p := range faults {
		if strings.HasPrefix(p.Field, "table") {
			return &p, nil
		}
	}
	for _, p := range notes {
		if p.Code == "J014" || p.Code == "J017" {
			return nil, &p
		}
	}
	return nil, nil
}

// Swapped tells whether length and width would be right the other way round.
func (a Answers) Swapped() bool {
	if a.Length == "" || a.Width == "" {
		return false
	}
	a.Length, a.Width = a.Width, a.Length
	fault, _ := a.Surface()
	return fault == nil || fault.Code == "J013"
}

// BaulkLine returns the recommended choice of baulk line if it differs from the default, and
// why; "" when there is nothing to ask.
func (a Answers) BaulkLine() (take, why string) {
	j, _, faults := a.read()
	if len(faults) > 0 {
		return "", ""
	}
	plan, err := layout.NewPlan(layout.Request{Table: j.Table, Games: j.Games, Choices: j.Choices, Balls: j.Balls})
	if err != nil {
		return "", ""
	}
	for _, n := range plan.Notes {
		if n.Choice == "baulk_line" && n.Recommend != "" && n.Recommend != n.Chosen {
			return n.Recommend, n.Text
		}
	}
	return "", ""
}

// BaulkAnswer takes a choice of baulk line.
func BaulkAnswer(text string) (string, error) {
	known := []string{"head-string", "scaled", "fifth", "both"}
	for _, k := range known {
		if foldName(k) == foldName(text) {
			return k, nil
		}
	}
	return "", errors.New(problem.DidYouMean(text, known))
}

// Repeated returns what was understood, for the person to see: a length in both units,
// any other answer where it was taken for another word than was typed; else "".
func Repeated(taken, typed string) string {
	if v, err := ParseLength(taken); err == nil {
		return figure.MM(v) + " = " + figure.Inches(v)
	}
	if !strings.HasPrefix(strings.ToLower(taken), strings.ToLower(typed)) {
		return taken
	}
	return ""
}

// Quote writes a text so that YAML reads it back whatever is in it.
func Quote(s string) string {
	if s != "" && !strings.EqualFold(s, "null") && strings.Trim(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 .-_/+") == "" && strings.Trim(s, " ") == s && s[0] != '-' {
		return s
	}
	if strings.ContainsFunc(s, func(r rune) bool { return !strconv.IsPrint(r) }) {
		return strconv.QuoteToASCII(s) // the reader refuses it
	}
	return "'" + strings.ReplaceAll(s, "'", "''") + "'"
}
