package problem_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/layout/problem"
)

func TestProblemIsPrintedAsALineToFindAndALineToMend(t *testing.T) {
	full := problem.Problem{File: "club.yaml", Line: 14, Col: 9, Field: "pen.width",
		Code: "J012", Msg: "2.4 mm pen does not fit the 2.0 mm slot", Help: "use a pen of 1.6 mm or less"}
	noCol, noLine, noFile, bare := full, full, full, full
	noCol.Col = 0
	noLine.Line = 0
	noFile.File = ""
	bare.File, bare.Field, bare.Code, bare.Line = "", "", "", 0

	tests := []struct {
		name string
		in   problem.Problem
		want string
	}{
		{"everything known", full, "club.yaml:14:9: pen.width: 2.4 mm pen does not fit the 2.0 mm slot [J012]\n    help: use a pen of 1.6 mm or less"},
		{"no column", noCol, "club.yaml:14: pen.width: 2.4 mm pen does not fit the 2.0 mm slot [J012]\n    help: use a pen of 1.6 mm or less"},
		{"no line: then no column either", noLine, "club.yaml: pen.width: 2.4 mm pen does not fit the 2.0 mm slot [J012]\n    help: use a pen of 1.6 mm or less"},
		{"no file", noFile, "14:9: pen.width: 2.4 mm pen does not fit the 2.0 mm slot [J012]\n    help: use a pen of 1.6 mm or less"},
		{"message alone", bare, "2.4 mm pen does not fit the 2.0 mm slot\n    help: use a pen of 1.6 mm or less"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, tt.in.Error()) })
	}
}

func TestListIsSortedOnceALineTwentyAtMost(t *testing.T) {
	var l problem.List
	require.NoError(t, l.Err(), "an empty list is no error")
	for line := 27; line >= 1; line-- {
		l.Add(problem.Problem{File: "a.yaml", Line: line, Col: 5, Msg: fmt.Sprintf("fault %d", line)})
		l.Add(problem.Problem{File: "a.yaml", Line: line, Col: 9, Msg: "its consequence"})
	}
	got := strings.Split(l.Err().Error(), "\n")
	require.Len(t, got, 21)
	assert.Equal(t, "a.yaml:1:5: fault 1", got[0])
	assert.Equal(t, "a.yaml:20:5: fault 20", got[19])
	assert.Equal(t, "and 7 more", got[20])
	assert.NotContains(t, l.Err().Error(), "consequence")
}

func TestExactlyTwentyAreAllShown(t *testing.T) {
	var l problem.List
	for line := 1; line <= 20; line++ {
		l.Add(problem.Problem{File: "a.yaml", Line: line, Msg: "fault"})
	}
	assert.NotContains(t, l.Error(), "more")
	l.Add(problem.Problem{File: "a.yaml", Line: 21, Msg: "fault"})
	assert.True(t, strings.HasSuffix(l.Error(), "\nand 1 more"))
}

func TestProblemsWithoutALineAreAllKept(t *testing.T) {
	l := problem.List{{File: "a", Msg: "two"}, {File: "a", Msg: "one"}, {File: "a", Msg: "one"}}
	assert.Equal(t, "a: one\na: two", l.Error())
}

func TestFromFindsWrappedProblems(t *testing.T) {
	p := problem.Problem{Msg: "x", Help: "y"}
	assert.Equal(t, problem.List{p}, problem.From(fmt.Errorf("read job: %w", p)))
	assert.Equal(t, problem.List{p, p}, problem.From(problem.List{p, p}))
	assert.Empty(t, problem.From(errors.New("disk full")))

	var l problem.List
	require.NoError(t, l.AddError(fmt.Errorf("read job: %w", p)))
	require.NoError(t, l.AddError(nil))
	assert.Len(t, l, 1)
	full := errors.New("disk full")
	assert.Equal(t, full, l.AddError(full))
	assert.Len(t, l, 1)
}

// The order in which faults are found must not show in what is printed.
func TestSortedDoesNotDependOnTheOrderOfAdding(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var l problem.List
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			l.Add(problem.Problem{
				File: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "file"),
				Line: rapid.IntRange(0, 3).Draw(t, "line"),
				Col:  rapid.IntRange(0, 3).Draw(t, "col"),
				Msg:  rapid.SampledFrom([]string{"x", "y"}).Draw(t, "msg"),
			})
		}
		want := l.Sorted()
		shuffled := problem.List(rapid.Permutation([]problem.Problem(l)).Draw(t, "shuffled"))
		assert.Equal(t, want, shuffled.Sorted())
		assert.Equal(t, want, want.Sorted(), "sorting twice changes nothing")
		seen := map[string]bool{}
		for _, p := range want {
			if p.Line > 0 {
				at := fmt.Sprintf("%s:%d", p.File, p.Line)
				assert.False(t, seen[at], "two problems on line %s", at)
				seen[at] = true
			}
		}
	})
}

func TestNearest(t *testing.T) {
	known := []string{"kerf", "thickness", "sheets", "tolerance", "tip", "park", "shop_temperature"}
	tests := []struct{ name, word, want string }{
		{"one letter too many", "kerff", "kerf"},
		{"letters exchanged", "kref", "kerf"},
		{"capitals", "Kerf", "kerf"},
		{"missing letter", "thicknes", "thickness"},
		{"hyphen for underscore", "shop-temperature", "shop_temperature"},
		{"no underscore", "shoptemperature", "shop_temperature"},
		{"too far", "wavelength", ""},
		{"short words: one edit only", "tap", "tip"},
		{"short words: two edits are another word", "tax", ""},
		{"empty", "", ""},
		{"a megabyte is not compared", strings.Repeat("kerf", 1<<18), ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, problem.Nearest(tt.word, known)) })
	}
}

// Nearest finds any known name again after one edit.
func TestNearestUndoesOneEdit(t *testing.T) {
	known := []string{"baulk_line", "break_box", "material", "machine", "tolerance", "side_travel"}
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.SampledFrom(known).Draw(t, "word")
		r := []rune(word)
		i := rapid.IntRange(0, len(r)-1).Draw(t, "i")
		var edited string
		switch rapid.IntRange(0, 2).Draw(t, "kind") {
		case 0:
			edited = string(r[:i]) + string(r[i+1:])
		case 1:
			edited = string(r[:i]) + "q" + string(r[i:])
		default:
			edited = string(r[:i]) + "q" + string(r[i+1:])
		}
		assert.Equal(t, word, problem.Nearest(edited, known))
	})
}

func TestDidYouMean(t *testing.T) {
	assert.Equal(t, `did you mean "laser"?`, problem.DidYouMean("lazer", []string{"knife", "laser"}))
	assert.Equal(t, "known: knife, laser", problem.DidYouMean("plasma", []string{"knife", "laser"}))
	assert.Empty(t, problem.DidYouMean("plasma", nil))
}
