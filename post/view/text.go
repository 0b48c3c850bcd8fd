package view

import (
	"html"

	"spotjig/layout/figure"
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

// num prints a number for markup: at most the given decimals, no trailing zeros,
// never an exponent, never "-0".
func num(v float64, decimals int) string { return figure.Short(v, decimals) }
