package main

import (
	"bytes"
	"compress/zlib"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// hostileNumbers are numbers that no table, sheet or machine has, in the spellings of
// YAML 1.2 (section 10.3.2), IEEE 754's extremes, and lengths that are no length.
func hostileNumbers() []string {
	return []string{
		".nan", ".inf", "-.inf", "NaN", "Infinity", "1e308", "-1e308", "5e-324", "-5e-324", "1e400", "-1e400", "0", "-0", "-1", "1e9", "-1e9", "1e-9", "1e-300",
		strings.Repeat("9", 400), "0." + strings.Repeat("0", 400) + "1", "9007199254740993", "0x7fffffff", "1e308 mm", "-0 mm", "1/0 in", "0/0 in", "1e400 mm/s", ".inf mm",
		"4294967296", "-2147483649", "1000000", "1_000", "1,5", "١",
	}
}

// numberLine is a key with a number behind it.
var numberLine = regexp.MustCompile(`^(\s*(?:- )?([A-Za-z0-9_]+): )(-?\.?[0-9][^,]*|\[.*[0-9].*\])$`)

// numberFiles are job files that have every key with a number, one a line.
func numberFiles(t testing.TB) map[string][]string {
	out := map[string][]string{}
	for _, name := range []string{"full.yaml", "full-knife.yaml"} {
		text, err := os.ReadFile("../../testdata/" + name)
		require.NoError(t, err)
		require.NoError(t, readAll(t, string(text)), name)
		out[name] = strings.Split(string(text), "\n")
	}
	return out
}

// TestHostileNumberFilesAreWhole: every key that the template of a job file shows is in
// one of the files, so that a new one is tried by itself.
func TestHostileNumberFilesAreWhole(t *testing.T) {
	template, err := os.ReadFile("../../post/jobfile/new.yaml")
	require.NoError(t, err)
	have := map[string]bool{}
	key := regexp.MustCompile(`(?m)(?:^|[{,\s])#?\s*(?:- )?\{?([A-Za-z][A-Za-z0-9_]*):(?:\s|$)`)
	for _, lines := range numberFiles(t) {
		for _, m := range key.FindAllStringSubmatch(strings.Join(lines, "\n"), -1) {
			have[m[1]] = true
		}
	}
	n := 0
	for _, line := range strings.Split(string(template), "\n") {
		line, _, _ = strings.Cut(strings.TrimLeft(line, "# "), " #")
		for _, m := range key.FindAllStringSubmatch(line, -1) {
			if m[1] == "job" { // the word, in a comment
				continue
			}
			n++
			assert.True(t, have[m[1]], "%s: no number is tried in it: add it to testdata/full.yaml", m[1])
		}
	}
	assert.Greater(t, n, 100)
}

// TestHostileNumbersInAFile puts each number in the place of each number of a job file,
// and in the place of each of a list. It is refused with file, line, field and remedy,
// or the reader takes it; what it takes is built to the end, or refused then, and no file
// has anything in it that is no number.
func TestHostileNumbersInAFile(t *testing.T) {
	all := os.Getenv("SPOTJIG_ALL") != ""
	cases, refused, built, same := 0, 0, 0, 0
	as := map[string]bool{}
	var late atomic.Int32
	turn, whole, every := 0, 50, 10
	if testing.Short() {
		whole, every = 120, 20
	}
	for name, lines := range numberFiles(t) {
		text := strings.Join(lines, "\n")
		require.Equal(t, cameTo(t, text), cameTo(t, text), "the same text comes to the same")
		keys := 0
		for i, line := range lines {
			at := numberLine.FindStringSubmatch(line)
			if at == nil || at[2] == "size" { // the table's name, which may begin with a number
				continue
			}
			keys++
			taken := 0
			for k, number := range hostileNumbers() {
				if !all && (k+i)%every != 0 {
					continue // every tenth, another one for each key
				}
				value := number
				if strings.HasPrefix(at[3], "[") {
					value = "[" + number + ", " + number + "]"
				}
				changed := append([]string(nil), lines...)
				changed[i] = at[1] + value
				text := strings.Join(changed, "\n")
				cases++
				if err := readAll(t, text); err != nil {
					refused++
					requireLocated(t, err, name, line, number)
					continue
				}
				// A jig with all its letters takes twice as long: that is for the first number which
				// the reader takes in the key, with every fourth.
				if taken++; taken%4 == 1 {
					text = strings.Replace(text, "\n  letters: short\n", "\n", 1)
				} else {
					text = strings.Replace(text, "\n  letters: full\n", "\n  letters: short\n", 1)
				}
				if turn++; !all && turn%whole != 0 {
					continue // a whole run each: some in every test run, all with SPOTJIG_ALL=1
				}
				key := cameTo(t, text)
				if as[key] {
					same++
					continue
				}
				as[key] = true
				built++
				t.Run(fmt.Sprintf("%s/%s/%.20s", name, at[2], number), func(t *testing.T) {
					t.Parallel()
					if !buildsOrRefuses(t, text) {
						late.Add(1)
					}
				})
			}
		}
		assert.Greater(t, keys, 40, name)
	}
	t.Cleanup(func() {
		t.Logf("%d cases: %d refused by the readers, %d read; of those %d run to the end, %d of them refused later, and %d came to the job of one that was", cases, refused, cases-refused, built, late.Load(), same)
	})
}

// cameTo is all that a job's text comes to: the job, its machine and its material, value by
// value and zero by its sign, what was stated, and the notes. Nothing else of the text gets
// to the designs and writers, so that texts which come to the same are one job spelled in
// several ways ("0" and "-1e-9" of a length, "1e9" of a count), and are made once.
func cameTo(t *testing.T, text string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "job.yaml")
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	l, err := loadJob(name)
	require.NoError(t, err)
	profile, sheet, err := l.Sheet()
	require.NoError(t, err)
	j := l.Job
	stated := j.Ledger.YAML()
	j.File, j.Ledger, j.Machine, j.Material = "", nil, job.Section{}, job.Section{}
	var key strings.Builder
	key.WriteString(stated)
	for _, v := range []any{j, profile, sheet} {
		spell(&key, reflect.ValueOf(v))
	}
	return key.String()
}

// spell writes a value out, what a pointer points to in its place.
func spell(b *strings.Builder, v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			spell(b, v.Elem())
			return
		}
		b.WriteString("nothing\n")
	case reflect.Struct:
		for i := range v.NumField() {
			b.WriteString(v.Type().Field(i).Name + ": ")
			spell(b, v.Field(i))
		}
	case reflect.Slice, reflect.Array:
		fmt.Fprintf(b, "%d of\n", v.Len())
		for i := range v.Len() {
			spell(b, v.Index(i))
		}
	default: // maps by their sorted keys
		fmt.Fprintf(b, "%#v\n", v)
	}
}

// requireLocated asserts that an error names line, field and remedy of a job file.
func requireLocated(t *testing.T, err error, file, line, number string) {
	t.Helper()
	list := problem.From(err)
	require.NotEmpty(t, list, "%s: %q with %.20s: %v", file, line, number, err)
	p := list[0]
	assert.NotEmpty(t, p.File)
	assert.Positive(t, p.Line, "%q with %.20s: %v", line, number, p)
	assert.NotEmpty(t, p.Help, "%q with %.20s: %v", line, number, p)
	assert.NotEmpty(t, p.Msg)
	assert.Less(t, len(list.Error()), 20_000)
}

// hangGuard ends a run that would never end; no run is measured by it.
const hangGuard = 5 * time.Minute

// buildsOrRefuses makes a job from its text, in memory, and reports whether it was made.
func buildsOrRefuses(t *testing.T, text string) bool {
	t.Helper()
	name := filepath.Join(t.TempDir(), "job.yaml")
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	l, err := loadJob(name)
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(context.Background(), hangGuard)
	defer cancel()
	b, err := l.Build(ctx, makeDefaults)
	require.NoError(t, ctx.Err(), "it does not end")
	if err != nil {
		list := problem.From(err)
		require.NotEmpty(t, list, "%v", err)
		assert.NotEmpty(t, list[0].Help)
		requireNumbers(t, "(message)", []byte(list.Error()))
		return false
	}
	for _, f := range b.Files {
		assert.Less(t, len(f.Data), 40<<20, f.Name)
		requireNumbers(t, f.Name, f.Data)
	}
	for _, c := range b.Set.Checks {
		requireNumbers(t, "(check)", []byte(fmt.Sprint(c)))
	}
	return len(b.Failures()) == 0
}

// noNumber is how Go, C and JavaScript print what is no number, and negative zero.
var noNumber = regexp.MustCompile(`(?:^|[^A-Za-z])(?:NaN|nan|[+-]?Inf|[+-]?inf|Infinity)(?:$|[^A-Za-z])|(?:[,\[:XYZIJSF]|\n *)-0(?:\.0*)?(?:$|[ ,\]\r\n])`)

// findNoNumber is where noNumber first matches some word of a text, as the pattern finds it in
// the whole of it. It asks the pattern about those places alone where a match can be: over
// megabytes of coordinates it takes as long as making them.
func findNoNumber(text []byte) []int {
	for _, word := range []string{"NaN", "nan", "Inf", "inf", "-0"} {
		for from := 0; ; {
			i := bytes.Index(text[from:], []byte(word))
			if i < 0 {
				break
			}
			i += from
			from = i + 1
			// What stands before and behind the word is looked at with it: blanks up to a line's
			// beginning, the rest of "Infinity", a zero's further zeros.
			begin, end := max(0, i-1), i+len(word)
			if bytes.HasPrefix(text[end:], []byte("inity")) {
				end += len("inity")
			}
			if word == "-0" {
				for begin > 0 && text[begin] == ' ' {
					begin--
				}
				for end < len(text) && (text[end] == '.' || text[end] == '0') {
					end++
				}
			}
			end = min(len(text), end+1)
			if at := noNumber.FindIndex(text[begin:end]); at != nil {
				return []int{begin + at[0], begin + at[1]}
			}
		}
	}
	return nil
}

// TestNoNumberIsFound holds the quick search against the pattern itself, on texts drawn from a
// seed. A library that draws would be set up by every program that the scripts start.
func TestNoNumberIsFound(t *testing.T) {
	found := 0
	words := []string{"NaN", "nan", "Inf", "inf", "inity", "Infinity", "-0", "-0.0", "0", ".", "5", "-", "+", " ", "\n", ",", "[", "]", ":", "X", "S", "a", "\r"}
	draw := rand.New(rand.NewPCG(20261120, 0))
	for range 1000 {
		var text []byte
		for range draw.IntN(13) {
			text = append(text, words[draw.IntN(len(words))]...)
		}
		want, got := noNumber.FindIndex(text), findNoNumber(text)
		assert.Equal(t, want != nil, got != nil, "%q", text)
		if got != nil {
			found++
			assert.True(t, noNumber.Match(text[got[0]:]), "%q", text)
		}
	}
	assert.Positive(t, found)
	for _, text := range []string{"X-0 Y5", "a:-0.000,", "\n   -0\n", "[-0]", "x NaN", "(+Inf)", "\"z\":Infinity", "-inf"} {
		assert.NotNil(t, findNoNumber([]byte("G1 X1\n"+text)), text)
	}
	for _, text := range []string{"X-0.5", "X-05", "information", "nanometre", "x -0", "banana"} {
		assert.Nil(t, findNoNumber([]byte("G1 X1\n"+text+" ")), text)
	}
}

// requireNumbers asserts that a file holds numbers only, PDF streams included.
func requireNumbers(t *testing.T, name string, data []byte) {
	t.Helper()
	texts := [][]byte{data}
	if filepath.Ext(name) == ".pdf" {
		texts = streamsOf(t, data)
		require.NotEmpty(t, texts, name)
	}
	if filepath.Ext(name) == ".html" { // the script is ours and the same for every job
		texts[0], _, _ = bytes.Cut(data, []byte("<script>"))
	}
	for _, text := range texts {
		if at := findNoNumber(text); at != nil {
			require.Fail(t, "no number", "%s: %q", name, text[max(0, at[0]-60):min(len(text), at[1]+60)])
		}
	}
}

// streamsOf returns what is drawn in a PDF file: its streams, inflated where they are
// deflated (ISO 32000-1 section 7.3.8), fonts and tables left out.
func streamsOf(t *testing.T, data []byte) [][]byte {
	var out [][]byte
	for {
		_, rest, found := bytes.Cut(data, []byte("stream\n"))
		if !found {
			return out
		}
		text, after, found := bytes.Cut(rest, []byte("\nendstream"))
		require.True(t, found)
		if r, err := zlib.NewReader(bytes.NewReader(rest)); err == nil {
			text, err = io.ReadAll(r)
			require.NoError(t, err)
		}
		if bytes.Contains(text, []byte(" Tj")) || bytes.Contains(text, []byte(" l\n")) || bytes.Contains(text, []byte(" l ")) {
			out = append(out, text)
		}
		data = after
	}
}

// TestHostileNumberCases are the extremes of a job that has nothing else wrong: each is
// refused by its code at the field it stands in, or runs within the limits of every stage.
func TestHostileNumberCases(t *testing.T) {
	t.Parallel()
	manyMarks := func(n int) string {
		var b strings.Builder
		b.WriteString("house:\n")
		for i := range n {
			fmt.Fprintf(&b, "  - {id: m%d, kind: spot, x: %d mm, y: %d mm}\n", i, 100+i%20*100, i/20*30-300)
		}
		return b.String()
	}
	const table, games = "table: {size: 9 ft pool, length: 2541, width: 1269.5}\n", "games: [pool]\n"
	const laser, sheet = "machine: laser-600x400\n", "material: {kind: cast acrylic, thickness: 4.85}\n"
	for _, c := range []struct{ name, text, code, field string }{
		{"a thousand million marks", table + games + laser + sheet + "house:\n" + strings.Repeat("  - {id: a, kind: spot, x: 1, y: 1}\n", 40_000), "F002", ""},
		{"marks, one past the limit", table + games + laser + sheet + manyMarks(201), "J011", "house"},
		{"table of no size", "table: {size: 9 ft pool, length: 0, width: 0}\n" + games + laser + sheet, "L009", "table.length"},
		{"table of negative size", "table: {size: 9 ft pool, length: -2541, width: -1269.5}\n" + games + laser + sheet, "L009", "table.length"},
		{"table as wide as long", "table: {size: 9 ft pool, length: 2000, width: 2000}\n" + games + laser + sheet, "J015", "table.length"},
		{"bed of 1 mm", table + games + sheet + "machine: {like: laser-600x400, travel: {x: 1 mm, y: 1 mm}}\n", "L009", "machine.travel.x"},
		{"bed of 0", table + games + sheet + "machine: {like: laser-600x400, travel: {x: 0, y: 0}}\n", "L009", "machine.travel.x"},
		{"the smallest bed", table + games + sheet + "machine: {like: laser-600x400, travel: {x: 100 mm, y: 100 mm}}\n", "J090", "machine"},
		{"stock of 1 mm", table + games + laser + "material: {kind: cast acrylic, thickness: 4.85, sheets: [{width: 1, height: 1}]}\n", "L009", "material.sheets[0].width"},
		{"a thousand million sheets", table + games + laser + "material: {kind: cast acrylic, thickness: 4.85, sheets: [{width: 600, height: 400, count: 1000000000}]}\n", "J006", "material.sheets[0].count"},
		{"kerf 0", table + games + laser + "material: {kind: cast acrylic, thickness: 4.85, kerf: 0}\n", "M010", "material.kerf"},
		{"kerf wider than the stock", table + games + laser + "material: {kind: cast acrylic, thickness: 4.85, kerf: 700}\n", "M010", "material.kerf"},
		{"thickness 0", table + games + laser + "material: {kind: cast acrylic, thickness: 0}\n", "M011", "material.thickness"},
		{"thickness 1e308", table + games + laser + "material: {kind: cast acrylic, thickness: 1e308}\n", "", "material.thickness"},
		{"a million ties", table + games + laser + sheet + "jig: {ties: {count: 1000000, width: 0.5}}\n", "J006", "jig.ties.count"},
		{"a million bridges: a mark of no end", table + games + laser + sheet + "house: [{id: a, kind: line, x: -1e9, y: 0, x2: 1e9, y2: 0}]\n", "", "house[0].x"},
		{"a million bridges: an arc of many turns", table + games + laser + sheet + "house: [{id: a, kind: arc, x: 500, y: 0, radius: 200, start_deg: 0, end_deg: 1e9}]\n", "", "house[0].end_deg"},
		{"an arc of no radius", table + games + laser + sheet + "house: [{id: a, kind: arc, x: 500, y: 0, radius: 0, start_deg: 0, end_deg: 90}]\n", "S029", "house[0]"},
		{"tolerance 0", table + games + laser + sheet + "jig: {tolerance: 0}\n", "L009", "jig.tolerance"},
		{"a denormal tolerance", table + games + laser + sheet + "jig: {tolerance: 5e-324}\n", "", "jig.tolerance"},
		{"pieces of 0.001 mm", table + games + laser + sheet + "jig: {piece_max: 0.001}\n", "L009", "jig.piece_max"},
		{"ball of no size", table + games + laser + sheet + "balls: {diameter: 0}\n", "L009", "balls.diameter"},
		{"a thousand million reds", table + games + laser + sheet + "balls: {reds: 1000000000}\n", "J006", "balls.reds"},
		{"feed 0", table + games + laser + "material: {kind: cast acrylic, thickness: 4.85, cut: {feed: 0 mm/s}}\n", "M003", "material.cut.feed"},
		{"a denormal feed", table + games + laser + "material: {kind: cast acrylic, thickness: 4.85, cut: {feed: 5e-324 mm/s}}\n", "", "material.cut.feed"},
		{"a million passes", table + games + laser + "material: {kind: cast acrylic, thickness: 4.85, cut: {passes: 1000000}}\n", "J006", "material.cut.passes"},
		{"no marker", table + games + laser + sheet + "jig: {marker: {tip: 0, guide: 0}}\n", "L009", "jig.marker.tip"},
		{"knife without an offset", table + games + "machine: {like: knife-1200x600, knife: {offset: 0}}\nmaterial: {kind: polyester film, thickness: 0.35}\n", "L009", "machine.knife.offset"},
		{"knife of 1e308", table + games + "machine: {like: knife-1200x600, knife: {offset: 1e308}}\nmaterial: {kind: polyester film, thickness: 0.35}\n", "", "machine.knife.offset"},
		{"no acceleration", table + games + sheet + "machine: {like: laser-600x400, accel_cut: 0}\n", "J006", "machine.accel_cut"},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := readAll(t, c.text)
			if err == nil {
				name := filepath.Join(t.TempDir(), "job.yaml")
				require.NoError(t, os.WriteFile(name, []byte(c.text), 0o600))
				l, lerr := loadJob(name)
				require.NoError(t, lerr)
				_, err = l.Build(context.Background(), makeDefaults)
			}
			list := problem.From(err)
			require.NotEmpty(t, list, "taken")
			if c.code != "" {
				assert.Equal(t, c.code, list[0].Code, "%v", list[0])
			}
			assert.Equal(t, c.field, list[0].Field, "%v", list[0])
			assert.NotEmpty(t, list[0].Help)
		})
	}
	t.Run("marks, at the limit", func(t *testing.T) {
		require.NoError(t, readAll(t, table+games+laser+sheet+manyMarks(200)))
	})
}

// TestHostileNumberArguments tries the numbers on the command line: wrong usage or a
// located problem, never a bug of ours, and nothing written.
func TestHostileNumberArguments(t *testing.T) {
	t.Parallel()
	program := filepath.Join(t.TempDir(), "p.nc")
	require.NoError(t, os.WriteFile(program, []byte("G21 G90 G17 G94 G54 G40 G49\nF100\nG0 X1 Y1\nM2\n"), 0o600))
	tries := 0
	for _, n := range hostileNumbers() {
		for _, args := range [][]string{
			{"dryrun", "--machine", "laser-600x400", "--start", n + ",0,0", program},
			{"dryrun", "--machine", "laser-600x400", "--start=" + n, program},
			{"dryrun", "--machine", "laser-600x400", "--stock", n + "x400x5", program},
			{"dryrun", "--machine", "laser-600x400", "--stock", "600x400x" + n, program},
			{"new", filepath.Join(t.TempDir(), "j.yaml"), "--size", "9 ft pool", "--length=" + n, "--width=" + n},
		} {
			tries++
			var out, errw bytes.Buffer
			code := run(context.Background(), args, strings.NewReader(""), &out, &errw)
			require.NotEqual(t, exitBug, code, "%v: %s", args, errw.String())
			if code != exitDone {
				assert.NotEmpty(t, out.String()+errw.String(), "%v", args)
			}
			requireNumbers(t, "(terminal)", []byte(regexp.MustCompile(`"[^"]*"`).ReplaceAllString(out.String(), `""`)))
		}
	}
	t.Logf("%d calls", tries)
}

// TestHostileNumbersInReadings tries the numbers in the two forms that a fitter fills in.
func TestHostileNumbersInReadings(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	marks := "by: A. Fitter\ntolerance: 1 mm\nblue: head 1270.4 mm, right 635.3 mm\nbrown: left-right 0.5 mm\nd: radius 211.7 mm\n"
	text, err := os.ReadFile("../../testdata/jobs/shop-9ft.yaml")
	require.NoError(t, err)
	jobFile := filepath.Join(dir, "job.yaml")
	require.NoError(t, os.WriteFile(jobFile, text, 0o600))
	var out, errw bytes.Buffer
	require.Equal(t, exitDone, run(context.Background(), []string{"coupon", "../../testdata/jobs/house-marks.yaml", "-o", filepath.Join(dir, "coupon")}, strings.NewReader(""), &out, &errw), errw.String())
	form, err := os.ReadFile(filepath.Join(dir, "coupon", "reading.txt"))
	require.NoError(t, err)
	number := regexp.MustCompile(`-?\d+\.?\d*`)
	tries := 0
	try := func(command, text string, args ...string) {
		name := filepath.Join(dir, "readings.txt")
		require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
		var out, errw bytes.Buffer
		tries++
		code := run(context.Background(), append([]string{command}, append(args, name)...), strings.NewReader(""), &out, &errw)
		require.NotEqual(t, exitBug, code, "%s\n%s", text, errw.String())
		requireNumbers(t, command, out.Bytes())
		if code != exitDone {
			assert.NotEmpty(t, errw.String()+out.String())
		}
	}
	for _, c := range []struct {
		command, form string
		args          []string
	}{{"marked", marks, []string{jobFile}}, {"kerf", string(form), nil}} {
		at := number.FindAllStringIndex(c.form, -1)
		require.NotEmpty(t, at, c.command)
		for k, span := range at {
			for i, n := range hostileNumbers() {
				if os.Getenv("SPOTJIG_ALL") == "" && (i+k)%23 != 0 {
					continue
				}
				try(c.command, c.form[:span[0]]+n+c.form[span[1]:], c.args...)
			}
		}
	}
	t.Logf("%d readings", tries)
}

// BenchmarkHostileNumbers shows what the longest way to a refusal costs: the smallest bed
// for the largest table, and as many marks as there may be.
func BenchmarkHostileNumbers(b *testing.B) {
	var marks strings.Builder
	for i := range 200 {
		fmt.Fprintf(&marks, "  - {id: m%d, kind: spot, x: %d mm, y: %d mm}\n", i, 100+i%20*100, i/20*60-300)
	}
	for _, c := range []struct{ name, text string }{
		{"smallest bed", "table: {size: 12 ft snooker, length: 3569, width: 1778, nose_height: 36 mm, measured: nose-to-nose}\ngames: [snooker]\nmachine: {like: laser-600x400, travel: {x: 100 mm, y: 100 mm}}\nmaterial: {kind: cast acrylic, thickness: 4.85}\n"},
		{"200 marks", "table: {size: 9 ft pool, length: 2541, width: 1269.5}\ngames: [pool]\nmachine: laser-600x400\nmaterial: {kind: cast acrylic, thickness: 4.85}\njig: {tolerance: 5 mm}\nhouse:\n" + marks.String()},
	} {
		b.Run(c.name, func(b *testing.B) {
			name := filepath.Join(b.TempDir(), "job.yaml")
			require.NoError(b, os.WriteFile(name, []byte(c.text), 0o600))
			b.ReportAllocs()
			for b.Loop() {
				l, err := loadJob(name)
				require.NoError(b, err)
				_, err = l.Build(context.Background(), makeDefaults)
				runtime.KeepAlive(err)
			}
		})
	}
}
