package view

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"

	"spotjig/post"
)

// textMax is the longest text taken over from a job, runes: a name of a
// megabyte shows its beginning.
const textMax = 400

// clean makes a job's text fit to be shown.
func clean(s string) string { return post.OneLine(s, textMax, "…") }

// esc is the one way by which a text gets into markup, between tags or inside
// a quoted attribute.
func esc(s string) string { return html.EscapeString(clean(s)) }

// num prints a number for markup: at most the given decimals, no trailing
// zeros, never an exponent, never "-0".
func num(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

// one prints a length for people, mm to a tenth.
func one(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	if s == "-0.0" {
		return "0.0"
	}
	return s
}

// span prints a time for people.
func span(s float64) string {
	t := int(math.Round(s))
	if t < 60 {
		return fmt.Sprintf("%d s", t)
	}
	if t < 3600 {
		return fmt.Sprintf("%d min %02d s", t/60, t%60)
	}
	return fmt.Sprintf("%d h %02d min", t/3600, t/60%60)
}
