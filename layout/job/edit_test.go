package job_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// A value is changed where it stands, and every comment stays.
func TestSetText(t *testing.T) {
	for _, tt := range []struct{ name, file, path, text, want string }{
		{"replaced", "table:\n  length: 2541  # nose to nose\n", "table.length", "2540", "table:\n  length: 2540  # nose to nose\n"},
		{"longer", "table:\n  length: 1 # a\n", "table.length", "8 ft 4 in", "table:\n  length: 8 ft 4 in # a\n"},
		{"its comment's column", "table:\n  length: 2541 mm   # a\n", "table.length", "100 in", "table:\n  length: 100 in    # a\n"},
		{"quoted", "name: 'it''s' # a\n", "name", `say "no"`, "name: 'say \"no\"' # a\n"},
		{"double quoted", `name: "a \" b" # c` + "\n", "name", "d", "name: d        # c\n"},
		{"top", "games: [pool]\n", "name", "Hall", "games: [pool]\nname: Hall\n"},
		{"flow", "table: {size: 9 ft pool, length: 2541}\n", "table.length", "2540", "table: {size: 9 ft pool, length: 2540}\n"},
		{"new in flow", "table: {size: 9 ft pool}\n", "table.length", "2540", "table: {length: 2540, size: 9 ft pool}\n"},
		{"new in empty flow", "balls: {}\n", "balls.reds", "15", "balls: {reds: 15}\n"},
		{"new in a section", "table:\n  size: 9 ft pool\ngames: [pool]\n", "table.length", "2540", "table:\n  size: 9 ft pool\n  length: 2540\ngames: [pool]\n"},
		{"example", "table:\n  size: 9 ft pool\n  # length: 2541 mm  # measure\n  # width: 2\ngames: [pool]\n", "table.length", "2540",
			"table:\n  size: 9 ft pool\n  length: 2540\n  # width: 2\ngames: [pool]\n"},
		{"a section of comments", "balls:\n  # reds: 15\ngames: [pool]\n", "balls.reds", "6", "balls:\n  reds: 6\ngames: [pool]\n"},
		{"a section that is not there", "games: [pool]\n", "survey.width_head", "1270", "games: [pool]\n\nsurvey:\n  width_head: 1270\n"},
		{"a key without a value", "table:\n  length:\n", "table.length", "2540", "table:\n  length: 2540\n"},
		{"taken", "table:\n  size: 9 ft pool # a\n  length: 1\n", "table.size", "", "table:\n  length: 1\n"},
		{"taken from flow", "table: {size: a, length: 1}\n", "table.length", "", "table: {size: a}\n"},
		{"first taken from flow", "table: {size: a, length: 1}\n", "table.size", "", "table: {length: 1}\n"},
		{"nothing to take", "games: [pool]\n", "table.size", "", "games: [pool]\n"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := job.SetText([]byte(tt.file), tt.path, tt.text)
			require.NoError(t, err)
			assert.Equal(t, tt.want, string(got))
		})
	}
}

// What a form cannot change is refused, and nothing else is touched.
func TestSetTextRefuses(t *testing.T) {
	for _, tt := range []struct{ name, file, path string }{
		{"a word for a section", "machine: laser-600x400\n", "machine.like"},
		{"lines of text", "notes: |\n  a\n  b\n", "notes"},
		{"a map", "table:\n  size: {a: 1}\n", "table.size"},
		{"two lines", "name: a\n  b\n", "name"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := job.SetText([]byte(tt.file), tt.path, "x")
			require.Len(t, problem.From(err), 1)
			assert.Equal(t, "F026", problem.From(err)[0].Code)
		})
	}
}

func TestSetList(t *testing.T) {
	got, err := job.SetList([]byte("games: [pool, 'snooker'] # both\n"), "games", []string{"six-red"})
	require.NoError(t, err)
	assert.Equal(t, []string{"six-red"}, job.Given(got).At("games"))
	assert.Contains(t, string(got), "# both")
	_, err = job.SetList([]byte("games:\n  - pool\n"), "games", []string{"snooker"})
	assert.Error(t, err, "a list of lines is the person's to change")
}

// Whatever is typed, what is read back is what was typed, and the rest is as it was.
func TestSetTextLaw(t *testing.T) {
	demo := job.Demo()
	paths := []string{"name", "table.length", "table.size", "choices.d", "balls.rack_wall", "survey.gap_left", "jig.for", "material.thickness"}
	rapid.Check(t, func(t *rapid.T) {
		path := rapid.SampledFrom(paths).Draw(t, "path")
		text := rapid.StringOf(rapid.RuneFrom([]rune("ab 1#:{}[],'\"\\-|>&*!%@`~?é"))).Draw(t, "text")
		got, err := job.SetText(demo, path, text)
		if err != nil {
			return // refused: nothing is changed
		}
		if text == "" {
			assert.Nil(t, job.Given(got).At(path))
		} else {
			assert.Equal(t, []string{text}, job.Given(got).At(path))
		}
		for _, other := range paths {
			if other != path {
				assert.Equal(t, job.Given(demo).At(other), job.Given(got).At(other), other)
			}
		}
	})
}
