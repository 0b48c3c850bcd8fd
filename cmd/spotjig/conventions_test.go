package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cmd/spotjig/folder"
)

// said is what the program printed, and its exit status.
type said struct {
	out, err string
	exit     int
}

// call runs the program with a text on standard input.
func call(in string, args ...string) said {
	var out, errw bytes.Buffer
	exit := run(context.Background(), args, strings.NewReader(in), &out, &errw)
	return said{out.String(), errw.String(), exit}
}

// problemKeys are the keys of every problem that is reported as JSON.
var problemKeys = []string{"code", "col", "file", "help", "line", "severity", "text"}

// problemsIn returns the problems of a report, those of its files too, and holds each to
// the shape.
func problemsIn(t *testing.T, report string) []map[string]any {
	t.Helper()
	var top map[string]any
	d := json.NewDecoder(strings.NewReader(report))
	require.NoError(t, d.Decode(&top), report)
	_, err := d.Token()
	require.ErrorIs(t, err, io.EOF, "one object, and nothing behind it")
	lists := []any{top["problems"]}
	if files, ok := top["files"].([]any); ok {
		for _, f := range files {
			lists = append(lists, f.(map[string]any)["problems"])
		}
	}
	var out []map[string]any
	found := false
	for _, list := range lists {
		items, ok := list.([]any)
		found = found || ok
		for _, p := range items {
			p := p.(map[string]any)
			for _, key := range problemKeys {
				assert.Contains(t, p, key)
			}
			assert.Contains(t, []any{"error", "warning", "note"}, p["severity"])
			assert.NotEmpty(t, p["text"])
			out = append(out, p)
		}
	}
	require.True(t, found, "no problems[] in %s", report)
	return out
}

// conventionsJob is quickly made: of the drawings a shop is sent, on a small table.
const conventionsJob = `name: Hall
table: {size: 7 ft pool, length: 1981.2 mm, width: 990.6 mm}
games: [pool]
jig: {letters: short}
machine: shop
material: {sold: 5 mm, thickness: 4.9 mm}
`

// conventionFiles writes what the commands below read, goes there, and returns a function
// that reads a file of the folder.
func conventionFiles(t *testing.T) func(name string) string {
	t.Helper()
	form, err := os.ReadFile("../../testdata/coupons/back-room.txt")
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	for name, text := range map[string]string{
		"job.yaml":  conventionsJob,
		"own.yaml":  strings.ReplaceAll(conventionsJob, "machine: shop", "machine: laser-600x400"),
		"bad.yaml":  "games: [pool]\ntable: {length: 100 in, width: 50 inn}\n",
		"good.txt":  "by: A. Fitter\nfoot-spot: foot 495.5 mm\n",
		"read.txt":  "foot-spot: foot 494.5 mm\n",
		"wrong.txt": "no-such-spot: foot 494.5 mm\n",
		"form.txt":  string(form),
		"form2.txt": string(form),
		"empty.txt": "by: nobody\n",
		"part.nc":   "G21 G90 G17 G94 G54 G40 G49\nG0 X10 Y10\nM3 S500\nG1 X20 F600\nM5\nM2\n",
		"worse.nc":  "G21 G90\nG1 X20\n",
	} {
		require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	}
	return func(name string) string {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		return string(data)
	}
}

// jigOf writes what make makes of job.yaml to a folder, made once for all tests.
func jigOf(t *testing.T, dir string) {
	t.Helper()
	require.NoError(t, folder.Replace(context.Background(), dir, buildText(t, conventionsJob).Files, folder.Options{}))
}

// Every command that reports does so as JSON: one object with problems[] of one shape on
// standard output and nothing on standard error, when it is done and when it is stopped.
func TestJSONConventions(t *testing.T) {
	conventionFiles(t)
	jigOf(t, "jig")
	require.NoError(t, os.CopyFS("edited", os.DirFS("jig")))
	require.NoError(t, os.WriteFile(filepath.Join("edited", "marks.csv"), []byte("x"), 0o600))
	tried := map[string]bool{}
	for _, row := range []struct {
		args []string
		exit int
		want string // a key of the report, or the code of its first problem
	}{
		{[]string{"marks", "job.yaml"}, 0, "marks"},
		{[]string{"marks", "bad.yaml"}, 1, "L002"},
		{[]string{"marks", "nosuch.yaml"}, 1, "F001"},
		{[]string{"balls", "job.yaml"}, 0, "ball_mm"},
		{[]string{"balls", "bad.yaml"}, 1, "L002"},
		{[]string{"make", "job.yaml", "-o", "again"}, 0, "checks"},
		{[]string{"make", "bad.yaml", "-o", "again"}, 1, "L002"},
		{[]string{"make", "job.yaml", "own.yaml", "-o", "many"}, 0, "jobs"},
		{[]string{"make", "job.yaml", "bad.yaml", "-o", "many"}, 1, "L002"},
		{[]string{"coupon", "own.yaml", "-o", "piece"}, 0, "checks"},
		{[]string{"coupon", "nosuch.yaml", "-o", "piece"}, 1, "F001"},
		{[]string{"kerf", "form.txt"}, 0, "kerf_beam_face"},
		{[]string{"kerf", "empty.txt"}, 1, "J003"},
		{[]string{"dryrun", "part.nc", "--machine", "laser-600x400"}, 1, "D"},
		{[]string{"dryrun", "nosuch.nc"}, 1, "D"},
		{[]string{"dryrun", "part.nc", "--machine", "laser-600x40"}, 1, "F001"},
		{[]string{"verify", "jig"}, 0, "folders"},
		{[]string{"verify", "jig", "edited"}, 1, "F033"},
		{[]string{"verify", "nosuch"}, 1, "F03"},
		{[]string{"marked", "job.yaml", "good.txt"}, 0, "places"},
		{[]string{"marked", "job.yaml", "wrong.txt"}, 1, "S066"},
		{[]string{"list", "games"}, 0, "sizes"},
		{[]string{"list", "machines"}, 0, "machines"},
		{[]string{"list", "materials"}, 0, "materials"},
		{[]string{"explain", "kerf"}, 0, "entries"},
		{[]string{"version"}, 0, "stamp"},
	} {
		t.Run(strings.Join(row.args, " "), func(t *testing.T) {
			got := call("", append(row.args, "--json")...)
			require.Equal(t, row.exit, got.exit, got.out+got.err)
			assert.Empty(t, got.err)
			problems := problemsIn(t, got.out)
			if row.exit == exitDone {
				assert.Contains(t, got.out, `"`+row.want+`": `)
				return
			}
			require.NotEmpty(t, problems)
			assert.Contains(t, problems[0]["code"], row.want)
			assert.Equal(t, "error", problems[0]["severity"])
			assert.NotEmpty(t, problems[0]["file"])
		})
		tried[row.args[0]] = true
	}
	// Whatever has the flag is tried above, and what lacks it reports nothing.
	for _, c := range commands(nil, io.Discard, io.Discard) {
		has := c.Flags().Lookup("json") != nil
		assert.Equal(t, has, tried[c.Name()], c.Name())
		if !has {
			assert.Contains(t, []string{"new", "page", "schema", "man", "completion"}, c.Name(), "it reports and has no --json")
		}
	}
}

// --format json is --json by another name.
func TestFormatJSONIsJSON(t *testing.T) {
	conventionFiles(t)
	for _, name := range []string{"marks", "balls"} {
		short, long := call("", name, "job.yaml", "--json"), call("", name, "job.yaml", "--format", "json")
		assert.Equal(t, long, short)
		assert.Equal(t, exitDone, short.exit)
		both := call("", name, "job.yaml", "--json", "--format", "table")
		assert.Equal(t, exitUsage, both.exit)
		assert.Contains(t, both.err, "choose one")
		assert.Equal(t, exitDone, call("", name, "job.yaml", "--json", "--format", "json").exit)
		bad := call("", name, "bad.yaml", "--format", "json")
		assert.Len(t, problemsIn(t, bad.out), 1)
	}
}

// A hyphen is standard input wherever a file is read, and standard output where one is
// written: what is printed is the same as with the file, but for its name.
func TestHyphenIsAStream(t *testing.T) {
	read := conventionFiles(t)
	for _, row := range []struct{ file, args string }{
		{"job.yaml", "marks -"},
		{"job.yaml", "marks - --json"},
		{"job.yaml", "balls -"},
		{"job.yaml", "make - -o OUT"},
		{"form.txt", "kerf -"},
		{"form.txt", "kerf form2.txt -"},
		{"part.nc", "dryrun -"},
		{"part.nc", "dryrun - --machine laser-600x400 --json"},
		{"good.txt", "marked job.yaml -"},
		{"job.yaml", "marked - good.txt"},
		{"bad.yaml", "marks -"},
	} {
		t.Run(row.args, func(t *testing.T) {
			split := func(name, out string) []string {
				list := strings.Fields(row.args)
				for i, a := range list {
					list[i] = map[string]string{"-": name, "OUT": out}[a]
					if list[i] == "" {
						list[i] = a
					}
				}
				return list
			}
			file, stream := call("never read", split(row.file, "out-a")...), call(read(row.file), split("-", "out-b")...)
			plain := func(s said) said {
				for _, p := range []*string{&s.out, &s.err} {
					*p = strings.NewReplacer(row.file, "NAME", "\n-:", "\nNAME:", `"-"`, `"NAME"`, "out-a", "OUT", "out-b", "OUT").Replace("\n" + *p)
				}
				return s
			}
			assert.Equal(t, plain(file), plain(stream))
			if strings.Contains(row.args, "OUT") {
				assert.Equal(t, read("out-a/SHA256SUMS"), read("out-b/SHA256SUMS"))
			}
		})
	}
	twice := call(conventionsJob, "marked", "-", "-")
	assert.Equal(t, exitUsage, twice.exit)
	assert.Contains(t, twice.err, "read once")
	profile := call("process: laser\ntravel: {x: 600, y: 400}\n", "dryrun", "part.nc", "--machine", "-")
	assert.Contains(t, profile.out, "part.nc: ")

	job := call("", "new", "-", "--size", "9 ft pool", "--length", "100 in", "--width", "50 in", "--games", "pool")
	require.Equal(t, exitDone, job.exit, job.err)
	assert.Equal(t, exitDone, call(job.out, "marks", "-").exit)
	assert.NoFileExists(t, "-")
}

// No stream holds a set: -o - is refused by name, and no folder of that name is made.
func TestHyphenIsNoFolder(t *testing.T) {
	conventionFiles(t)
	for _, args := range [][]string{{"make", "job.yaml", "-o", "-"}, {"coupon", "job.yaml", "-o", "-"}, {"verify", "-"}, {"make", "--out=-"}} {
		got := call("", args...)
		assert.Equal(t, exitUsage, got.exit, args)
		assert.Contains(t, got.err, "-: a set is a folder of files")
		assert.NoFileExists(t, "-")
	}
}

// Several files where several make sense: each is told under its name, and one that is
// wrong ends with status 1.
func TestSeveralFiles(t *testing.T) {
	conventionFiles(t)
	jigOf(t, "a")
	require.NoError(t, os.CopyFS("b", os.DirFS("a")))
	both := call("", "verify", "a", "b")
	assert.Equal(t, exitDone, both.exit, both.err)
	assert.Contains(t, both.out, "a: whole and unedited")
	assert.Contains(t, both.out, "\nb: whole and unedited")
	require.NoError(t, os.Remove(filepath.Join("b", "marks.csv")))
	one := call("", "verify", "b", "a", "c")
	assert.Equal(t, exitProblem, one.exit)
	assert.Contains(t, one.out, "a: whole and unedited")
	assert.NotContains(t, one.out, "b: whole")
	assert.Contains(t, one.err, filepath.Join("b", "marks.csv")+": is missing [F032]")
	assert.Contains(t, one.err, "\nc: ")

	forms := call("", "kerf", "form.txt", "form2.txt")
	assert.Equal(t, exitDone, forms.exit, forms.err)
	assert.True(t, strings.HasPrefix(forms.out, "form.txt:\n"), forms.out)
	assert.Contains(t, forms.out, "\n\nform2.txt:\n")
	marks := call("", "marked", "job.yaml", "good.txt", "read.txt")
	assert.Equal(t, exitDone, marks.exit, marks.err)
	assert.Contains(t, marks.out, "good.txt:\n")
	assert.Contains(t, marks.out, "\n\nread.txt:\n")
	wrong := call("", "marked", "job.yaml", "good.txt", "wrong.txt")
	assert.Equal(t, exitProblem, wrong.exit)
	assert.Empty(t, wrong.out)
	assert.Contains(t, wrong.err, "wrong.txt:1:")
	programs := call("", "dryrun", "part.nc", "worse.nc")
	assert.Contains(t, programs.out, "part.nc: pass")
	assert.Contains(t, programs.out, "worse.nc: fail")
}

// What is mistyped is named with the nearest there is, on one line.
func TestMistypedIsSuggested(t *testing.T) {
	conventionFiles(t)
	for _, row := range []struct {
		args string
		exit int
		want string
	}{
		{"mak job.yaml", 2, `unknown command "mak"; did you mean "make"?`},
		{"verfy jig", 2, `unknown command "verfy"; did you mean "verify"?`},
		{"xylophone", 2, `unknown command "xylophone"` + "\n"},
		{"make --forse", 2, `unknown flag --forse; did you mean --force?`},
		{"marks --fromat csv", 2, `unknown flag --fromat; did you mean --format?`},
		{"marks --xylophone", 2, "unknown flag --xylophone\n"},
		{"marks --format jsn", 2, `did you mean "json"?`},
		{"list machnes", 2, `"machnes": did you mean "machines"?`},
		{"schema jb", 2, `did you mean "job"?`},
		{"man comands", 2, `did you mean "commands"?`},
		{"completion bsh", 2, `did you mean "bash"?`},
		{"explain kerff", 2, `did you mean kerf?`},
		{"dryrun part.nc --machine laser-600x40", 1, `did you mean "laser-600x400"?`},
		{"dryrun part.nc --material cast-acrilic-5", 1, `did you mean "cast-acrylic-5"?`},
		{"new x.yaml --size --machine laser-600x40 --games pool", 2, ""},
		{"new x.yaml --size 9-ft-pool --machine laser-600x40 --games pool", 1, `did you mean "laser-600x400"?`},
		{"new x.yaml --games snoker", 1, `did you mean "snooker"?`},
	} {
		t.Run(row.args, func(t *testing.T) {
			got := call("", strings.Fields(row.args)...)
			assert.Equal(t, row.exit, got.exit, got.err)
			assert.Contains(t, got.err, row.want)
			assert.Empty(t, got.out)
		})
	}
}

// --quiet prints nothing but problems: nothing at all when there is none.
func TestQuiet(t *testing.T) {
	conventionFiles(t)
	tried := map[string]bool{}
	for _, args := range []string{"new q.yaml --size 9-ft-pool --games pool", "make job.yaml -o jig", "verify jig", "coupon ../none.yaml", "dryrun part.nc"} {
		got := call("", append(strings.Fields(args), "--quiet")...)
		assert.Empty(t, got.out, args)
		if strings.Contains(args, "none") {
			assert.Equal(t, exitProblem, got.exit)
			assert.Contains(t, got.err, "[F001]")
		} else {
			assert.Equal(t, exitDone, got.exit, args+got.err)
			assert.Empty(t, got.err, args)
		}
		tried[strings.Fields(args)[0]] = true
	}
	fails := call("", "dryrun", "-q", "part.nc", "worse.nc")
	assert.Equal(t, exitProblem, fails.exit)
	assert.NotContains(t, fails.out, "part.nc")
	assert.Contains(t, fails.out, "worse.nc: fail")
	for _, c := range commands(nil, io.Discard, io.Discard) {
		assert.Equal(t, c.Flags().Lookup("quiet") != nil, tried[c.Name()], c.Name())
	}
}

// Nothing is coloured, whatever the terminal or its owner says: NO_COLOR (no-color.org)
// is kept by having no colour.
func TestNoColour(t *testing.T) {
	conventionFiles(t)
	for _, env := range []string{"NO_COLOR", "CLICOLOR_FORCE", "FORCE_COLOR"} {
		t.Setenv(env, "1")
		for _, args := range []string{"marks job.yaml", "make job.yaml -o jig", "marks bad.yaml", "dryrun part.nc", "--help", "make --help", "list games", "fly"} {
			got := call("", strings.Fields(args)...)
			assert.NotContains(t, got.out+got.err, "\x1b", args)
		}
	}
}

// Every command shows its use, is known to the manual page, and takes --help.
func TestEveryCommandHelps(t *testing.T) {
	man := call("", "man", "commands").out
	for _, c := range commands(nil, io.Discard, io.Discard) {
		got := call("", c.Name(), "--help")
		assert.Equal(t, exitDone, got.exit, c.Name())
		assert.Contains(t, got.out, "Usage:\n  spotjig "+c.Name(), c.Name())
		assert.Contains(t, got.out, "Examples:\n", c.Name())
		assert.Contains(t, man, "spotjig "+c.Name())
	}
}
