package job_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// Each limit of a file at the limit and one past it.
func TestFileLimits(t *testing.T) {
	pad := func(n int) string { return strings.Repeat("# comment\n", n) }
	bytes := func(n int) string { // a file of exactly n bytes
		line := strings.Repeat("#", 999) + "\n"
		body := strings.Repeat(line, n/1000-1) + strings.Repeat("#", 500) + "\n"
		return body + strings.Repeat("#", n-len(body)-5) + "\na: b"
	}
	tests := []struct {
		name, at, past, code string
	}{
		{"bytes", bytes(job.FileMax), bytes(job.FileMax + 1), "F002"},
		{"lines", pad(4999) + "a: b", pad(5000) + "a: b", "F005"},
		{"characters of a line", "a: " + strings.Repeat("é", 997), "a: " + strings.Repeat("é", 998), "F005"},
		{"brackets", "a: " + strings.Repeat("[", 32) + strings.Repeat("]", 32), "a: " + strings.Repeat("[", 33) + strings.Repeat("]", 33), "F005"},
		{"dashes", strings.Repeat("- ", 32) + "a", strings.Repeat("- ", 33) + "a", "F005"},
		{"blanks before a line", "a:\n" + strings.Repeat(" ", 200) + "b: c", "a:\n" + strings.Repeat(" ", 201) + "b: c", "F005"},
		{"values", "a: [" + strings.Repeat("\n1,1,1,1,1", 19_999/4) + ",1,1,1]", "a: [" + strings.Repeat("\n1,1,1,1,1", 19_999/4) + ",1,1,1,1]", "F005"},
	}
	require.Len(t, bytes(job.FileMax), job.FileMax)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := job.Parse("x.yaml", []byte(tt.at))
			for _, p := range problem.From(err) {
				assert.NotEqual(t, tt.code, p.Code, p.Error())
			}
			_, err = job.Parse("x.yaml", []byte(tt.past))
			require.Error(t, err)
			assert.Equal(t, tt.code, problem.From(err)[0].Code, err.Error())
		})
	}
}

// Text that has brought YAML readers down elsewhere: each is refused, fast and
// without much memory.
func TestHostileFiles(t *testing.T) {
	big := 1 << 20
	for name, text := range map[string]string{
		"open brackets":  strings.Repeat("[", big),
		"open braces":    strings.Repeat("{a: ", big/4),
		"dashes":         strings.Repeat("- ", big/2),
		"question marks": strings.Repeat("? ", big/2),
		"bangs":          strings.Repeat("!", big),
		"blanks":         strings.Repeat(" ", big),
		"many keys": func() string {
			var b strings.Builder
			for i := 0; b.Len() < big-20; i++ {
				fmt.Fprintf(&b, "k%d: v\n", i)
			}
			return b.String()
		}(),
		"stairs": func() string {
			var b strings.Builder
			for i := 0; b.Len() < big-2000; i++ {
				b.WriteString(strings.Repeat(" ", i) + "a:\n")
			}
			return b.String()
		}(),
		"laughs":       "a: &a [x]\nb: &b [*a, *a]\nc: [*b, *b]\n",
		"merge":        "a: {x: 1}\nb: {<<: *a}\n",
		"null bytes":   "a: \x00\n",
		"half a pair":  "a: \xed\xa0\x80\n",
		"documents":    strings.Repeat("---\n", 4000),
		"no key":       ": b\n",
		"complex key":  "? [a, b]\n: c\n",
		"empty braces": "{}",
		"colon braces": "{:}",
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := job.Read("x.yaml", []byte(text), job.Options{})
			require.Error(t, err)
			for _, p := range problem.From(err) {
				assert.NotEmpty(t, p.Code)
			}
		})
	}
}

func TestByteOrderMarkAndLineEnds(t *testing.T) {
	want, _, err := job.Read("", job.Demo(), job.Options{})
	require.NoError(t, err)
	text := string(job.Demo())
	for name, other := range map[string]string{
		"mark":  "\ufeff" + text,
		"CR LF": strings.ReplaceAll(text, "\n", "\r\n"),
		"CR":    strings.ReplaceAll(text, "\n", "\r"),
		"both":  "\ufeff" + strings.ReplaceAll(text, "\n", "\r\n"),
	} {
		t.Run(name, func(t *testing.T) {
			got, _, err := job.Read("", []byte(other), job.Options{})
			require.NoError(t, err)
			want.Machine, want.Material, got.Machine, got.Material = job.Section{}, job.Section{}, job.Section{}, job.Section{}
			assert.Equal(t, want, got)
		})
	}
	_, err = job.Parse("x.yaml", []byte("\ufeffa: 1\r\nb: [\r\n"))
	require.Error(t, err)
	assert.Equal(t, 2, problem.From(err)[0].Line)
}
