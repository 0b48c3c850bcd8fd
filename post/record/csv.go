package record

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"spotjig/layout"
	"spotjig/layout/problem"
)

// columns is the head of marks.csv.
const columns = "id,also,name,games,kind,group,x_mm,y_mm,x2_mm,y2_mm,radius_mm,start_deg,end_deg,from_head,from_foot,across,rule,source"

// WriteMarks writes marks.csv: one row a mark, but an outline as one line row a
// side, all with the outline's id as their common group. Lengths and angles
// have four decimals; what does not apply is empty. Rows end in CR LF (RFC 4180).
func WriteMarks(w io.Writer, marks []layout.Mark) error {
	b := bufio.NewWriter(w)
	b.WriteString(columns + "\r\n")
	for _, m := range marks {
		for _, row := range rows(m) {
			b.WriteString(strings.Join(row, ",") + "\r\n")
		}
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("write marks: %w", err)
	}
	return nil
}

func rows(m layout.Mark) [][]string {
	row := func(id, kind, group string, numbers ...string) []string {
		out := []string{cell(id), cell(strings.Join(m.Also, ";")), cell(m.Name), cell(strings.Join(m.Games, ";")), cell(kind), cell(group)}
		out = append(append(out, numbers...), make([]string, 7-len(numbers))...)
		return append(out, cell(m.FromHead), cell(m.FromFoot), cell(m.Across), cell(m.Rule), cell(m.Source))
	}
	switch m.Kind {
	case layout.Spot:
		return [][]string{row(m.ID, string(m.Kind), m.Group, fixed(m.X), fixed(m.Y))}
	case layout.Line:
		return [][]string{row(m.ID, string(m.Kind), m.Group, fixed(m.X), fixed(m.Y), fixed(m.X2), fixed(m.Y2))}
	case layout.Arc:
		return [][]string{row(m.ID, string(m.Kind), m.Group, fixed(m.X), fixed(m.Y), "", "", fixed(m.Radius), fixed(m.Start.Degrees()), fixed(m.End.Degrees()))}
	}
	var out [][]string
	for i, p := range m.Points {
		q := m.Points[(i+1)%len(m.Points)]
		out = append(out, row(fmt.Sprintf("%s-%d", m.ID, i+1), string(layout.Line), m.ID, fixed(p[0]), fixed(p[1]), fixed(q[0]), fixed(q[1])))
	}
	return out
}

// fixed prints four decimals without -0.0000.
func fixed(v float64) string {
	s := strconv.FormatFloat(v, 'f', 4, 64)
	if s == "-0.0000" {
		return "0.0000"
	}
	return s
}

// cell makes a text cell safe: control and format characters go, a leading
// character that a spreadsheet takes for a formula gets an apostrophe before
// it, and quotes are doubled where quoting is needed (RFC 4180 section 2).
func cell(s string) string {
	s = strings.Map(func(r rune) rune {
		if !strconv.IsPrint(r) || problem.Unseen(r) {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
	if first, _ := utf8.DecodeRuneInString(s); s != "" && strings.ContainsRune("=+-@＝＋－＠", first) { // full width too
		s = "'" + s
	}
	if strings.ContainsAny(s, `",`) {
		s = `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
	}
	return s
}
