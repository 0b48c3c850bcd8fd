package screen_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"spotjig/layout/screen"
)

func TestTable(t *testing.T) {
	rows := [][]string{{"mark", "from the head nose", "across"}, {"yellow", "524.5 mm (20 21/32 in)", "211.6 mm (8 11/32 in) right of the centre line"}, {"brown", "524.5 mm (20 21/32 in)"}}
	assert.Equal(t, ""+
		"mark    from the head nose      across\n"+
		"yellow  524.5 mm (20 21/32 in)  211.6 mm (8 11/32 in) right of the centre line\n"+
		"brown   524.5 mm (20 21/32 in)\n", screen.Table(rows, 80))
	assert.Equal(t, ""+
		"mark    from the head  across\n"+
		"        nose\n"+
		"yellow  524.5 mm       211.6 mm\n"+
		"        (20 21/32 in)  (8 11/32 in)\n"+
		"                       right of the\n"+
		"                       centre line\n", screen.Table(rows[:2], 36))
}

func TestParagraph(t *testing.T) {
	assert.Equal(t, "  warn  the head spot is\n        524.5 mm away\n", screen.Paragraph("  warn  ", "the head spot is 524.5 mm away", 27))
	assert.Equal(t, "  warn\n", screen.Paragraph("  warn  ", "", 27))
}

func TestProse(t *testing.T) {
	assert.Equal(t, "one two three\nfour\n\n  an example that is long\nfive\n\n", screen.Prose("one two\nthree four\n\n  an example that is long\nfive", 14))
}

// Whatever stands in a table, no line is wider than asked but for a word that is, no word
// is lost, and none changes its column's order.
func TestTableLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[a-z0-9(),]{1,9}`)
		cell := rapid.Custom(func(t *rapid.T) string { return strings.Join(rapid.SliceOfN(word, 0, 12).Draw(t, "words"), " ") })
		cols := rapid.IntRange(1, 5).Draw(t, "columns")
		rows := rapid.SliceOfN(rapid.SliceOfN(cell, cols, cols), 1, 6).Draw(t, "rows")
		text := screen.Table(rows, 120)
		for _, l := range strings.Split(text, "\n") {
			assert.LessOrEqual(t, utf8.RuneCountInString(l), 120, l)
			assert.Equal(t, strings.TrimRight(l, " "), l)
		}
		want, got := map[string]int{}, map[string]int{}
		for _, row := range rows {
			for _, w := range strings.Fields(strings.Join(row, " ")) {
				want[w]++
			}
		}
		for _, w := range strings.Fields(text) {
			got[w]++
		}
		assert.Equal(t, want, got)
	})
}

func TestFold(t *testing.T) {
	assert.Equal(t, "short\n  a line that\n      is too wide\n      for it\n\n", screen.Fold("short\n  a line that is too wide for it\n\n", 18))
}
