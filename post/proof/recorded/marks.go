// Package recorded proves record.json and marks.csv, read back against the set.
package recorded

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
	"spotjig/post/proof"
)

// csvTol is how far a number of marks.csv may be off: half the last of four decimals.
const csvTol = 0.00005 + proof.Slack

// Marks reads marks.csv back (id marks-csv): every mark's numbers, an outline a
// row a side.
func Marks(data []byte, marks []layout.Mark) jig.Check {
	c := jig.Check{ID: "marks-csv", Verdict: jig.Pass, Limit: csvTol, Unit: "mm"}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil || len(rows) == 0 {
		return proof.Failed(c, fmt.Sprintf("marks.csv cannot be read back: %v", err))
	}
	if got := strings.Join(rows[0], ","); got != marksHead {
		return proof.Failed(c, fmt.Sprintf("marks.csv begins with the columns %.200q", got))
	}
	want := wantedRows(marks)
	if len(rows)-1 != len(want) {
		return proof.Failed(c, fmt.Sprintf("marks.csv has %d rows, wanted %d", len(rows)-1, len(want)))
	}
	names := wantedNames(marks)
	for i, row := range rows[1:] {
		for k, cell := range append(row[:3:3], row[4]) {
			if strings.TrimPrefix(cell, "'") != names[i][k] { // the apostrophe keeps a spreadsheet from reckoning
				return proof.Failed(c, fmt.Sprintf("marks.csv row %d: %.40q, wanted %.40q", i+2, cell, names[i][k]))
			}
		}
		var got []float64
		for _, cell := range row[6:13] {
			if cell == "" {
				continue
			}
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				return proof.Failed(c, fmt.Sprintf("marks.csv row %d: %.20q is no number", i+2, cell))
			}
			got = append(got, v)
		}
		if len(got) != len(want[i]) {
			return proof.Failed(c, fmt.Sprintf("marks.csv row %d has %d numbers, wanted %d", i+2, len(got), len(want[i])))
		}
		for k := range got {
			c.Value = math.Max(c.Value, math.Abs(got[k]-want[i][k]))
		}
		if !(c.Value <= c.Limit) {
			return proof.Failed(c, fmt.Sprintf("marks.csv row %d is off by %.4f", i+2, c.Value))
		}
	}
	c.Text = fmt.Sprintf("marks.csv read back: %s", figure.Count(len(want), "row"))
	return c
}

// marksHead are the columns that other people's scripts rely on.
const marksHead = "id,also,name,games,kind,group,x_mm,y_mm,x2_mm,y2_mm,radius_mm,start_deg,end_deg,from_head,from_foot,across,rule,source"

// wantedNames are id, other ids, name and kind of every row.
func wantedNames(marks []layout.Mark) [][4]string {
	shown := func(s string) string {
		return strings.TrimPrefix(strings.Map(func(r rune) rune {
			if strconv.IsPrint(r) && !problem.Unseen(r) {
				return r
			}
			return -1
		}, strings.ToValidUTF8(s, "?")), "'")
	}
	var out [][4]string
	for _, m := range marks {
		row := [4]string{shown(m.ID), shown(strings.Join(m.Also, ";")), shown(m.Name), string(m.Kind)}
		if m.Kind != layout.Outline {
			out = append(out, row)
			continue
		}
		for i := range m.Points {
			side := row
			side[0], side[3] = shown(fmt.Sprintf("%s-%d", m.ID, i+1)), string(layout.Line)
			out = append(out, side)
		}
	}
	return out
}

func wantedRows(marks []layout.Mark) [][]float64 {
	var out [][]float64
	for _, m := range marks {
		n := markNumbers(m)
		if m.Kind != layout.Outline {
			out = append(out, n)
			continue
		}
		for i := 0; i < len(n); i += 2 {
			k := (i + 2) % len(n)
			out = append(out, []float64{n[i], n[i+1], n[k], n[k+1]})
		}
	}
	return out
}

// markNumbers are the numbers that apply to the mark's kind.
func markNumbers(m layout.Mark) []float64 {
	switch m.Kind {
	case layout.Spot:
		return []float64{m.X, m.Y}
	case layout.Line:
		return []float64{m.X, m.Y, m.X2, m.Y2}
	case layout.Arc:
		return []float64{m.X, m.Y, m.Radius, m.Start.Degrees(), m.End.Degrees()}
	}
	var out []float64
	for _, p := range m.Points {
		out = append(out, p[0], p[1])
	}
	return out
}
