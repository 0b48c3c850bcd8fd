package summary_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/jig"
	"spotjig/layout/screen"
	"spotjig/post/summary"
)

// What passes is counted, three and more of a kind that warn are one line, what fails is
// told by itself with its figures; asked for all, every check has its line.
func TestChecks(t *testing.T) {
	checks := []jig.Check{
		{ID: "as-cut", Verdict: jig.Pass, Text: "as it is drawn"},
		{ID: "budget:black", Verdict: jig.Warn, Text: "far"}, {ID: "budget:pink", Verdict: jig.Warn, Text: "far"}, {ID: "budget:d", Verdict: jig.Warn, Text: "far"},
		{ID: "cover:d", Verdict: jig.Warn, Text: "half of it"},
		{ID: "serves:table 2", Verdict: jig.Warn, Text: "told elsewhere"},
		{ID: "reach", Verdict: jig.Fail, Text: "too far", Value: 3, Limit: 2, Unit: "mm"},
	}
	var b strings.Builder
	summary.Checks(summary.Reader{Writer: &b, Look: screen.Look{Columns: screen.Columns}}, checks, false)
	assert.Equal(t, strings.Join([]string{
		"  warn     budget: likely further off than the tolerance, or 1 mm where the job",
		"           states none: black, pink, d",
		"  warn     cover:d: half of it",
		"  fail     reach: too far" + checks[6].Figures(),
		"  pass     1 check (each by name with -v, and in record.json)", ""}, "\n"), b.String())

	b.Reset()
	summary.Checks(summary.Reader{Writer: &b, Look: screen.Look{Columns: screen.Columns}}, checks, true)
	assert.Equal(t, len(checks), strings.Count(b.String(), "\n"))
	for _, c := range checks {
		assert.Contains(t, b.String(), c.ID+": "+c.Text)
	}
}

// Inches come first for those who read them, before the text is broken into lines.
func TestReaderInches(t *testing.T) {
	var b strings.Builder
	summary.Reader{Writer: &b, Look: screen.Look{Columns: 40, Inches: true}}.Paragraph("  long  ", "the table is 2540.0 mm (100 in) long between its noses")
	assert.Equal(t, "  long  the table is 100 in (2540.0 mm)\n        long between its noses\n", b.String())
}
