// Package screen fits text to a terminal: tables whose cells wrap and paragraphs, in so
// many columns. What belongs together, a figure with its unit and what stands in brackets
// behind it, is not torn apart.
package screen

import (
	"strings"
	"unicode/utf8"
)

// Columns is the width that everything fits, where no wider terminal is known: the usual
// one of a terminal, and of paper in a line printer before it.
const Columns = 80

// gap is what stands between two columns of a table.
const gap = "  "

// cellLeast is the narrowest that a column is made to wrap, characters.
const cellLeast = 8

// Table lays rows out in columns, the first row as their head. A row takes as many lines
// as its longest cell needs; columns are as wide as their cells where that fits, else the
// widest give way. Rows may lack cells at the end. Lines have no blanks at their ends.
func Table(rows [][]string, width int) string {
	wide := widths(rows, width)
	var b strings.Builder
	for _, row := range rows {
		cells, high := make([][]string, len(row)), 1
		for i, c := range row {
			cells[i] = lines(c, wide[i])
			high = max(high, len(cells[i]))
		}
		for k := range high {
			var line strings.Builder
			for i := range cells {
				text := ""
				if k < len(cells[i]) {
					text = cells[i][k]
				}
				line.WriteString(text)
				line.WriteString(strings.Repeat(" ", max(0, wide[i]-count(text))) + gap)
			}
			b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
		}
	}
	return b.String()
}

// widths shares a width out: every column as its widest cell, and while that is too much
// the widest column one less, the last of several, never below its longest word.
func widths(rows [][]string, width int) []int {
	var wide, least []int
	for _, row := range rows {
		for i, c := range row {
			if i == len(wide) {
				wide, least = append(wide, 0), append(least, cellLeast)
			}
			wide[i] = max(wide[i], count(c))
			for _, w := range words(c) {
				least[i] = max(least[i], count(w))
			}
		}
	}
	total := -len(gap)
	for _, w := range wide {
		total += w + len(gap)
	}
	for ; total > width; total-- {
		best := -1
		for i, w := range wide {
			if w > least[i] && (best < 0 || w >= wide[best]) {
				best = i
			}
		}
		if best < 0 {
			break // a word is wider than the screen: it stands as it is
		}
		wide[best]--
	}
	return wide
}

// Paragraph writes text behind a lead, wrapped to a width; later lines are indented as far
// as the lead is long.
func Paragraph(lead, text string, width int) string {
	indent := strings.Repeat(" ", count(lead))
	var b strings.Builder
	for i, l := range lines(text, max(cellLeast, width-count(lead))) {
		if i > 0 {
			lead = indent
		}
		b.WriteString(strings.TrimRight(lead+l, " ") + "\n")
	}
	return b.String()
}

// Prose wraps text to a width. Lines that follow one another are one paragraph, however the
// text was broken; a line that begins with a blank stands as it is, as an example does.
func Prose(text string, width int) string {
	var b strings.Builder
	var running []string
	for _, l := range append(strings.Split(text, "\n"), "") {
		if l != "" && l[0] != ' ' {
			running = append(running, l)
			continue
		}
		if len(running) > 0 {
			b.WriteString(Paragraph("", strings.Join(running, " "), width))
			running = nil
		}
		b.WriteString(l + "\n")
	}
	return b.String()
}

// lines breaks text to a width, between words.
func lines(text string, width int) []string {
	var out []string
	line := ""
	for _, w := range words(text) {
		switch {
		case line == "":
			line = w
		case count(line)+1+count(w) <= width:
			line += " " + w
		default:
			out, line = append(out, line), w
		}
	}
	return append(out, line)
}

// bracketMost is the longest text in brackets that is kept on one line: "(100 31/32 in)".
const bracketMost = 16

// words are what a line may break between: a unit stays with its number, and a short
// bracket in one.
func words(text string) []string {
	var out []string
	fields := strings.Fields(text)
	for i := 0; i < len(fields); i++ {
		w := fields[i]
		if strings.HasPrefix(w, "(") {
			for k := i; k < len(fields); k++ {
				whole := strings.Join(fields[i:k+1], " ")
				if len(whole) > bracketMost {
					break
				}
				if strings.Contains(fields[k], ")") {
					w, i = whole, k
					break
				}
			}
		}
		if n := len(out); n > 0 && unit(w) && numeric(out[n-1]) {
			out[n-1] += " " + w
			continue
		}
		out = append(out, w)
	}
	return out
}

// unit reports whether a word is a unit, with what ends a phrase behind it.
func unit(w string) bool {
	switch strings.TrimRight(w, ",;:.)") {
	case "mm", "in", "m", "ft", "min", "h", "s", "%":
		return true
	}
	return false
}

// numeric reports whether a word ends in a figure.
func numeric(w string) bool { return w[len(w)-1] >= '0' && w[len(w)-1] <= '9' }

// count is how many columns a text takes; it holds no characters of double width.
func count(s string) int { return utf8.RuneCountInString(s) }

// Fold wraps every line of a text that is wider than a width; what is left of it goes on
// further in than the line began. Lines that fit stay as they are, tables too.
func Fold(text string, width int) string {
	var b strings.Builder
	for i, l := range strings.Split(text, "\n") {
		if i > 0 {
			b.WriteByte('\n')
		}
		if count(l) <= width {
			b.WriteString(l)
			continue
		}
		body := strings.TrimLeft(l, " ")
		indent := l[:len(l)-len(body)]
		parts := lines(body, max(cellLeast, width-len(indent)-4))
		b.WriteString(indent + strings.Join(parts, "\n"+indent+"    "))
	}
	return b.String()
}

// Look is how text for people is to look.
type Look struct {
	Columns int  // how wide it may be
	Inches  bool // inches first, millimetres behind them
}
