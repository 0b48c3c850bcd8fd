package testpiece_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig/testpiece"
	"spotjig/layout/problem"
)

// worked reads a form and works it out.
func worked(t *testing.T, fill map[string]string) (testpiece.Findings, problem.List, string) {
	t.Helper()
	r, err := testpiece.ReadForm("r.txt", []byte(form(t, fill)))
	require.NoError(t, err)
	c, notes, err := r.Work()
	require.NoError(t, err)
	var out strings.Builder
	require.NoError(t, c.Write(&out))
	return c, notes, out.String()
}

// A square that nobody measured is no square that came out wrong, and is not told of.
func TestSquareLeftUnread(t *testing.T) {
	fill := full(t)
	fill["square_x"], fill["square_y"] = "[]", "[]"
	_, notes, out := worked(t, fill)
	assert.Empty(t, notes)
	assert.NotContains(t, out, "square")
	_, _, out = worked(t, full(t))
	assert.Contains(t, out, "square x     100.07 +- ", "100 mm on a machine 1000 ppm large, less 0.03 of kerf")
	assert.Contains(t, out, "by the kerf found 100.07")
	assert.Contains(t, out, "square y     99.97 +- ")
}

// The flanks that went together came out at what they were drawn with and the kerf
// gained, here 0.03; the jig's have 0.08. More than 0.02 below what fitted is tight,
// more than 0.05 above it slack.
func TestFlanksAreJudged(t *testing.T) {
	for socket, want := range map[string]string{
		"2": "drawn 0.05, came out 0.08 mm a flank; the jig has 0.08: the jig's joints go together",
		"3": "drawn 0.10, came out 0.13 mm a flank; the jig has 0.08: the jig's joints will be tight",
		"4": "drawn 0.15, came out 0.18 mm a flank; the jig has 0.08: the jig's joints will be tight",
	} {
		fill := full(t)
		fill["socket"] = socket
		_, _, out := worked(t, fill)
		assert.Contains(t, out, want)
	}
	// A kerf narrower by 0.03 than allowed for takes as much away.
	fill := full(t)
	fill["socket"] = "1"
	for _, key := range []string{"comb_x", "comb_y"} {
		fill[key] = "[128.50, 128.50, 128.50]"
	}
	for _, key := range []string{"comb_x_turned", "comb_y_turned", "square_x", "square_y", "a_b", "d_c", "a_d", "b_c", "a_c", "b_d"} {
		fill[key] = "[]"
	}
	_, _, out := worked(t, fill)
	assert.Contains(t, out, "drawn 0.00, came out -0.03 mm a flank; the jig has 0.08: the jig's joints will be slack")
	// Nothing of fits is told where none was tried.
	for _, key := range []string{"socket", "slot_press", "slot_slide", "slot_loose"} {
		fill[key] = ""
	}
	_, _, out = worked(t, fill)
	assert.NotContains(t, out, "Fits")
}

// Repeats of one size must agree within 0.15 mm or they are not of one size.
func TestScatterOfRepeats(t *testing.T) {
	for v, ok := range map[string]bool{"[100.00, 100.14]": true, "[99.99, 100.15]": false} {
		fill := full(t)
		fill["square_x"] = v
		r, err := testpiece.ReadForm("r.txt", []byte(form(t, fill)))
		if err == nil {
			_, _, err = r.Work()
		}
		if ok {
			assert.NoError(t, err, v)
			continue
		}
		require.NotEmpty(t, problem.From(err), v)
		assert.Equal(t, "M031", problem.From(err)[0].Code)
	}
}
