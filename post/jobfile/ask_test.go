package jobfile

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// written asks with answers to read, and returns what was printed and the job made of them.
func written(t *testing.T, answers string) (out, text string) {
	t.Helper()
	var b strings.Builder
	a, err := Ask(strings.NewReader(answers), &b)
	require.NoError(t, err)
	text, err = Write(a)
	require.NoError(t, err)
	return b.String(), text
}

func TestAsk(t *testing.T) {
	tests := []struct {
		name, answers string
		want          []string // lines of the file
		asked         int      // lines with a question
	}{
		{"all defaults", "\n\n\n\n\n", []string{"  size: 9 ft pool ", "  # length: 2541 mm ", "games: [pool]", "  like: laser-600x400 "}, 5},
		{"end of input", "", []string{"  size: 9 ft pool ", "games: [pool]"}, 1},
		{"answers", "8 ft pool\n88 in\n44 in\npool, snooker\nknife-1200x600\n", []string{"  size: 8 ft pool ", "  length: 88 in ", "  width: 44 in ", "games: [pool, snooker]", "  like: knife-1200x600 "}, 5},
		{"asked again", "x\n8 ft pro pool\nlong\n2337\n1168\npoool\nsnooker\nplasma\nshop\n", []string{"  size: 8 ft pro pool ", "  length: 2337 ", "games: [snooker]", "  like: shop "}, 9},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			out, text := written(t, tt.answers)
			assert.Equal(t, tt.asked, strings.Count(out, "]: "), out)
			for _, line := range tt.want {
				assert.Contains(t, text, "\n"+line)
			}
		})
	}
}

// mistake is a wrong answer to a question of new.
type mistake struct {
	name  string
	at    int      // the question
	wrong []string // in the place of or before the good answer
	said  string   // what is said of it, blanks folded
}

var updateMistakes = flag.Bool("update-mistakes", false, "write testdata/mistakes.md again")

// mistakesListed holds the table of mistakes that stands in testdata against those that are tried,
// so that what it says is said is what is said.
func mistakesListed(t *testing.T, tests []mistake) {
	t.Helper()
	const file = "../../testdata/mistakes.md"
	questions := []string{"Table as sold", "Length", "Width", "Games", "Machine"}
	var b strings.Builder
	b.WriteString("# Mistakes people make in `spotjig new`\n\nEach is said at once, under its question, which is asked again; nothing answered is lost. A test\n" +
		"gives every one of these answers and looks for these words.\n\n| mistake | question | answered | said |\n|---|---|---|---|\n")
	for _, m := range tests {
		wrong := slices.DeleteFunc(slices.Clone(m.wrong), func(s string) bool { return s == "skip" })
		fmt.Fprintf(&b, "| %s | %s | `%s` | %s |\n", m.name, questions[m.at], strings.Join(wrong, "`, `"), m.said)
	}
	if *updateMistakes {
		require.NoError(t, os.WriteFile(file, []byte(b.String()), 0o666))
	}
	have, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, b.String(), string(have), "run go test ./post/jobfile -run AskTells -update-mistakes")
	require.GreaterOrEqual(t, len(tests), 20)
}

// TestAskTellsAtOnce gives each question a wrong answer of a kind that people give,
// then a right one: what is wrong is said at that moment, the same question comes
// again, and nothing that was answered is lost.
func TestAskTellsAtOnce(t *testing.T) {
	good := []string{"9 ft pool", "100 in", "50 in", "pool", "laser-600x400"}
	const size, length, width, games, mach = 0, 1, 2, 3, 4
	tests := []mistake{
		{"a word that is no table", size, []string{"banana"}, `no table is sold as "banana" that we know of; known: 12 ft snooker`},
		{"a table's name with a slip", size, []string{"9 ft pol"}, `did you mean "9 ft pool"?`},
		{"a size in another order", size, []string{"pool 9ft"}, `no table is sold as "pool 9ft"`},
		{"a decimal comma", length, []string{"254,0 cm"}, "write a decimal point, and no thousands separator: 254.0 cm"},
		{"a decimal comma in inches", width, []string{"49,98 in"}, "49.98 in"},
		{"a thousands comma", length, []string{"2,540"}, "a comma inside a number"},
		{"a point and a comma", length, []string{"2.540,5"}, "2540.5"},
		{"inches without the unit", length, []string{"100"}, "a bare number is in mm; if inches were meant, write 100 in"},
		{"a number below any table", width, []string{"38"}, "38 mm is outside 450 mm to 4000 mm"},
		{"metres without the unit", length, []string{"2.54"}, "2.54 mm is outside"},
		{"a word for a length", length, []string{"long"}, "not a length"},
		{"a unit nobody knows", length, []string{"2540 nm"}, `unknown unit "nm"`},
		{"two numbers", length, []string{"2540 1270"}, "two numbers without a unit"},
		{"a fraction of a mm", width, []string{"1269 1/2 mm"}, "a fraction of a metric unit"},
		{"an exponent", length, []string{"2.54e3"}, "numbers with an exponent are not read"},
		{"a negative length", length, []string{"-2540"}, "-2540 mm is outside"},
		{"length and width the wrong way round", length, []string{"50 in", "100 in", "yes", "skip"}, "Exchange the two?"},
		{"the slate's size", length, []string{"108 in", "54 in", "no"}, "is the nominal or slate size 108 x 54 in"},
		{"measured to the rail", length, []string{"2617 mm", "1347 mm", "no"}, "both are over by about 77.0 mm, as if measured to the rail or the slate"},
		{"another table's size", length, []string{"88 in", "44 in", "no"}, "9 ft pool is published as 2540.0 mm x 1270.0 mm, this one measures 2235.2 mm x 1117.6 mm"},
		{"no yes or no", length, []string{"88 in", "44 in", "perhaps", "no"}, "answer yes or no"},
		{"not twice as long as wide", width, []string{"40 in", "100 in"}, "the length is 2.50 times the width"},
		{"both sides in one answer", length, []string{"100 x 50 in"}, `unknown unit "x" one length goes here`},
		{"a range", length, []string{"100 to 101 in"}, `unknown unit "to" one length`},
		{"a tolerance behind it", length, []string{"100 +- 1 in"}, `unknown unit "+" one length`},
		{"about so much", length, []string{"~100 in"}, "not a length"},
		{"feet and a bare number", length, []string{"8 ft 4"}, "only inches may follow feet write 8 ft 4 in"},
		{"cm without the unit", width, []string{"127"}, "127 mm is outside 450 mm to 4000 mm"},
		{"a width wider than any table's", width, []string{"100 in"}, "100 in (2540 mm) is outside 450 mm to 2200 mm"},
		{"one side left out", width, []string{""}, "both sides are needed, or neither"},
		{"a question back", size, []string{"?"}, `no table is sold as "?" that we know of; known: 12 ft snooker`},
		{"a wish to leave", length, []string{"quit"}, "not a length"},
		{"a game in digits", games, []string{"8-ball"}, `unknown game "8-ball"; did you mean "eight-ball"?`},
		{"a game with a slip", games, []string{"pool, snoker"}, `did you mean "snooker"?`},
		{"a game nobody knows", games, []string{"chess"}, `unknown game "chess"; known: pool, snooker`},
		{"a kind instead of a machine", mach, []string{"laser"}, "unknown built-in machine; known: "},
		{"a machine with a slip", mach, []string{"laser-600x300"}, `did you mean "laser-600x400"?`},
	}
	mistakesListed(t, tests)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			rest := good[tt.at:]
			if n := len(tt.wrong); tt.wrong[n-1] == "skip" {
				tt.wrong, rest = tt.wrong[:n-1], good[games:]
			}
			answers := append(append(append([]string(nil), good[:tt.at]...), tt.wrong...), rest...)
			out, text := written(t, strings.Join(answers, "\n")+"\n")
			assert.Contains(t, strings.Join(strings.Fields(out), " "), tt.said)
			for _, line := range []string{"  size: 9 ft pool ", "  length: 100 in ", "  width: 50 in ", "games: [pool]", "  like: laser-600x400 "} {
				assert.Contains(t, text, "\n"+line, out)
			}
			// The answers are not echoed here: what is printed behind a prompt is a line.
			for _, line := range strings.Split(strings.ReplaceAll(out, "]: ", "]:\n"), "\n") {
				assert.LessOrEqual(t, len(line), 80, line)
			}
		})
	}
}

// What marks recommends is asked for where it is not what is taken unasked: one baulk
// line serves snooker and blackball.
func TestAskForTheBaulkLine(t *testing.T) {
	for answer, want := range map[string]string{"": "fifth", "scaled": "scaled", "hed-string\nhead-string": "head-string"} {
		answers := "7 ft pool\n78 in\n39 in\nsnooker, blackball\n" + answer + "\nlaser-600x400\n"
		out, text := written(t, answers)
		assert.Contains(t, strings.Join(strings.Fields(out), " "), "one line serves both games")
		assert.Contains(t, text, "\n  baulk_line: "+want+" ")
	}
}

// A size that is also a slate's, stated to be measured nose to nose, is written with
// that statement, so that the job reads; a table sold under no published name needs
// its readings.
func TestAskKeepsWhatIsStated(t *testing.T) {
	for _, tt := range []struct{ name, answers, want string }{
		{"stated", "other\n108 in\n54 in\nyes\npool\nshop\n", "\n  measured: nose-to-nose "},
		{"no name", "other\n\n\n2540\n1270\npool\nshop\n", "\n  # size: 9 ft pool "},
	} {
		_, text := written(t, tt.answers)
		assert.Contains(t, text, tt.want, tt.name)
	}
}
