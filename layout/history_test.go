package layout_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
)

// Every marking that is added is read again as it was given, and those before it stay.
func TestHistoryKeepsEveryMarking(t *testing.T) {
	text := ""
	var jigs []string
	for i := range 6 {
		given := fmt.Sprintf("by: A. Fitter # who\r\ndate: 2026-0%d-01\n\nyellow: head %d mm, right 423 mm\r\n", i+1, 524+i)
		before, err := layout.ReadHistory(strings.NewReader(text), "h.txt")
		require.NoError(t, err)
		jig := fmt.Sprintf("9 FT POOL %d.0 X 1270.0 MM", 2540+i)
		entry, already := layout.Kept(before, jig, []byte(given))
		assert.False(t, already)
		text, jigs = text+entry, append(jigs, jig)
		after, err := layout.ReadHistory(strings.NewReader(text), "h.txt")
		require.NoError(t, err)
		require.Len(t, after, i+1)
		for k, m := range after {
			assert.Equal(t, jigs[k], m.Jig)
			assert.Equal(t, fmt.Sprintf("2026-0%d-01", k+1), m.Date)
			assert.Equal(t, "A. Fitter", m.By)
		}
		_, already = layout.Kept(after, jig, []byte(given))
		assert.True(t, already, "the last one is not kept twice")
	}
}

// A marking by a plan of another day: places that are gone are left out, the others moved
// as far as their readings did.
func TestHistoryOfAnotherPlan(t *testing.T) {
	r := layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"snooker", "pool"}, Choices: layout.Choices{BaulkLine: "head-string", D: "width/6"}}
	h, err := layout.ReadHistory(strings.NewReader("--- OLD\npyramid-line: head 500 mm\nfoot spot: x 1905 mm, y 0 mm, radius 3 mm, from nowhere 7 mm\n"), "h.txt")
	require.NoError(t, err)
	old := layout.CompareKept(r, plan(t, r), h[0])
	require.Len(t, old.Lines, 1)
	assert.Empty(t, old.Lines[0].Others)
	now, err := compare(t, "foot spot: x 1907.5 mm, y -1 mm\n")
	require.NoError(t, err)
	var b strings.Builder
	require.NoError(t, layout.WriteMoved(&b, old, now, screen.Look{Columns: 80}))
	assert.Contains(t, b.String(), "by 2.5 mm")
	assert.Contains(t, b.String(), "+2.5 mm  -1.0 mm")
}

func TestHistoryFaults(t *testing.T) {
	tests := []struct {
		name, text string
		line       int
		code       string
	}{
		{"readings before a marking", "# mine\n\nyellow: head 3 mm\n", 3, "S067"},
		{"a torn line", "--- A\nyellow: head 3 mm\n--- B\nyellow: head 3 mm\nbrown\n", 5, "S062"},
		{"a place twice", "--- A\nyellow: head 3 mm\nyellow: head 4 mm\n", 3, "S063"},
		{"a length that is none", "---\nyellow: head 3e99 mm\n", 2, "S024"},
		{"bytes that are no text", "--- A\nby: x\ndate: \xff\n", 3, "S060"},
		{"too many markings", strings.Repeat("---\n", 501), 501, "S060"},
		{"too large", strings.Repeat("#", 1<<20+1), 0, "S060"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := layout.ReadHistory(strings.NewReader(tt.text), "h.txt")
			require.Error(t, err)
			list := problem.From(err)
			require.NotEmpty(t, list, err.Error())
			assert.Equal(t, tt.line, list[0].Line)
			assert.Equal(t, "h.txt", list[0].File)
			assert.NotEmpty(t, list[0].Help)
			assert.Equal(t, tt.code, list[0].Code, err.Error())
		})
	}
	h, err := layout.ReadHistory(strings.NewReader(strings.Repeat("---\n", 500)), "h.txt")
	require.NoError(t, err)
	assert.Len(t, h, 500)
}

// Whatever stands in readings that were taken, it is one marking more and the others stay.
func FuzzHistory(f *testing.F) {
	for _, s := range []string{"yellow: head 3 mm\n", "--- A\nyellow: head 3 mm\n", "by: ---\r\nyellow: x 3", "# ---\n\n\nd: radius 3 mm", "\ufeffyellow: head 3 mm"} {
		f.Add(s, s)
	}
	f.Fuzz(func(t *testing.T, past, given string) {
		before, err := layout.ReadHistory(strings.NewReader(past), "h.txt")
		if err != nil {
			return
		}
		if _, err := layout.ReadReadings(strings.NewReader(given), "r.txt"); err != nil {
			return
		}
		if past != "" && !strings.HasSuffix(past, "\n") {
			past += "\n"
		}
		entry, already := layout.Kept(before, "JIG", []byte(given))
		if already {
			return
		}
		after, err := layout.ReadHistory(strings.NewReader(past+entry), "h.txt")
		if err != nil {
			t.Fatalf("%q after %q: %v", given, past, err)
		}
		if len(after) != len(before)+1 || after[len(before)].Jig != "JIG" {
			t.Fatalf("%d markings after %d", len(after), len(before))
		}
		for i := range before {
			if after[i].Jig != before[i].Jig || after[i].By != before[i].By {
				t.Fatalf("marking %d changed", i)
			}
		}
	})
}
