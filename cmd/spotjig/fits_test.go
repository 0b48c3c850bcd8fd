package main

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/screen"
)

// What people read fits 80 columns: marks, card, fit of the balls, lists, help, the manual
// and what make says. Programs have csv and json.
func TestEightyColumns(t *testing.T) {
	dir := t.TempDir()
	calls := [][]string{{"marks"}, {"marks", "--format", "card"}, {"balls"}, {"list", "games"}, {"list", "machines"}, {"list", "materials"},
		{"explain", "--all"}, {"make", "-o", dir + "/set", "-v"}, {"--help"}, {"version"}}
	for _, c := range newRootCmd(context.Background(), strings.NewReader(""), &bytes.Buffer{}, &bytes.Buffer{}).Commands() {
		calls = append(calls, []string{c.Name(), "--help"})
	}
	for _, call := range calls {
		t.Run(strings.Join(call[:min(2, len(call))], " "), func(t *testing.T) {
			var out, errw bytes.Buffer
			code := run(context.Background(), call, strings.NewReader(""), &out, &errw)
			require.Zero(t, code, errw.String())
			require.NotEmpty(t, out.String())
			for _, l := range strings.Split(strings.ReplaceAll(out.String(), dir, "DIR"), "\n") {
				assert.LessOrEqual(t, utf8.RuneCountInString(l), screen.Columns, l)
			}
		})
	}
}
