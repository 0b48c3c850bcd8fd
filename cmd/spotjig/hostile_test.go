package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/rs274/write"
)

// everyControl is every control character of one byte, DEL and C1 included.
func everyControl() string {
	var b strings.Builder
	for r := rune(0); r <= 0x9f; r++ {
		if r < ' ' || r >= 0x7f {
			b.WriteRune('A')
			b.WriteRune(r)
		}
	}
	return b.String()
}

// hostileText are strings that try to leave their place in some format.
func hostileText() map[string]string {
	return map[string]string{
		"g-code":          ")\nM3 S1000(",
		"g-code, CR":      ")\rM3 S1000\r(",
		"g-code, words":   ") M3 S1000 G0 X9999 ; %\n%",
		"g-code, message": "MSG,stop",
		"dxf groups":      "x\n  0\nLINE\n  8\nOUTLINE\n 10\n0.0\n 20\n0.0\n 11\n9.0\n 21\n9.0",
		"dxf end":         "\n0\nENDSEC\n0\nEOF\n",
		"dxf codes":       `%%c\U+0041^J{\fArial;}`,
		"formula":         `=HYPERLINK("http://127.0.0.1/","x")`,
		"formula, plus":   "+1+cmd|' /C calc'!A0",
		"formula, at":     "@SUM(1)",
		"formula, tab":    "\t=1+1",
		"csv row":         "x\"\r\n\"y\",z,0,0",
		"script":          `</script><script>alert(1)</script>`,
		"attribute":       `" onload="alert(1)" x='`,
		"comment":         `--><!--]]>`,
		"escape":          "\x1b]0;owned\x07\x1b[2J\u009b31m",
		"path":            "../../../../tmp/owned",
		"path, windows":   `..\..\C:\owned:stream`,
		"nul":             "a\x00b",
		"bidi":            "\u202egnp.exe\u2066\u200f",
		"separators":      "a\u2028b\u2029c\u0085d",
		"surrogate":       "a\xed\xa0\x80b\xed\xbf\xbfc",
		"bad utf-8":       "\xff\xfe\xc0\xaf",
		"pdf":             ") Tj ET\nendstream\nendobj\n1 0 obj<</S/JavaScript/JS(x)>>\\",
		"json":            `","format":"x"}\u0000`,
		"controls":        everyControl(),
		"megabyte":        strings.Repeat("long ", 200_000),
		"format":          "%s%n%d%!v",
	}
}

// textsOf returns every string below v that can be set, by its path: every plain
// string, so that a new field is covered by itself.
func textsOf(v reflect.Value, path string, out map[string]*string) {
	switch v.Kind() {
	case reflect.String:
		if v.CanSet() && v.Type() == reflect.TypeFor[string]() {
			out[path] = v.Addr().Interface().(*string)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() && f.Type != reflect.TypeFor[job.Section]() {
				textsOf(v.Field(i), path+"."+f.Name, out)
			}
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			textsOf(v.Index(i), fmt.Sprintf("%s[%d]", path, i), out)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			textsOf(v.Elem(), path, out)
		}
	}
}

// outputsOf writes every file of a set that is already laid out, and what a run
// prints of it.
func outputsOf(t *testing.T, l loaded, b built) map[string][]byte {
	t.Helper()
	b.files = nil
	for _, s := range b.set.Sheets {
		for k, suffix := range []string{"", "-dryrun", "-edges"} {
			text, err := b.program(&l, s, write.Kind(k))
			require.NoError(t, err)
			b.files = append(b.files, outFile{fmt.Sprintf("sheet-%d%s.nc", s.N, suffix), text})
		}
	}
	require.NoError(t, b.drawings(steps{}))
	require.NoError(t, b.pictures(outputOptions{paper: "a4", proofOf: "marks", svg: true}, steps{}))
	require.NoError(t, b.finish(steps{}))
	out := map[string][]byte{}
	for _, f := range b.files {
		out[f.name] = f.data
	}
	var screen bytes.Buffer
	plain := &plainWriter{w: &screen}
	summarise(plain, l, b, makeOptions{out: "out", allTxt: true})
	require.NoError(t, plain.close())
	out["(terminal)"] = screen.Bytes()
	return out
}

// codeOf is a program without its comments and empty lines: what a machine acts
// on. The scan is a dozen lines of its own and knows no words.
func codeOf(t *testing.T, name string, text []byte) string {
	t.Helper()
	var b strings.Builder
	for _, line := range strings.SplitAfter(string(text), "\n") {
		require.LessOrEqual(t, len(line), 71, "%s: %q", name, line)
		inside := false
		kept := ""
		for _, c := range []byte(strings.TrimSuffix(line, "\n")) {
			require.True(t, c >= ' ' && c <= '~', "%s: byte %#x in %q", name, c, line)
			switch {
			case c == '(':
				require.False(t, inside, "%s: nested comment in %q", name, line)
				inside = true
			case c == ')':
				require.True(t, inside, "%s: %q", name, line)
				inside = false
			case !inside:
				kept += string(c)
			default:
				require.NotContains(t, ";%!~?$", string(c), "%s: %q", name, line)
			}
		}
		require.False(t, inside, "%s: open comment in %q", name, line)
		require.False(t, strings.HasPrefix(strings.ToUpper(line), "(MSG,"), "%s: %q", name, line)
		if kept = strings.TrimSpace(kept); kept != "" {
			b.WriteString(kept + "\n")
		}
	}
	return b.String()
}

// entitiesOf lists a drawing's entities with their layers; the strokes of the
// notes outside the stock, which show the material's name, are left out.
func entitiesOf(t *testing.T, name string, text []byte) []string {
	t.Helper()
	lines := strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
	require.Zero(t, len(lines)%2, "%s: a group without a value", name)
	var out []string
	entity, inside := "", false
	for i := 0; i < len(lines); i += 2 {
		code, err := strconv.Atoi(strings.TrimSpace(lines[i]))
		require.NoError(t, err, "%s: line %d", name, i+1)
		value := lines[i+1]
		require.NotContains(t, value, "\r")
		switch {
		case code == 2 && value == "ENTITIES":
			inside = true
		case code == 0 && value == "ENDSEC":
			inside = false
		case code == 0:
			entity = value
			require.True(t, !inside || entity == "CIRCLE" || entity == "LWPOLYLINE", "%s: %s", name, entity)
		case code == 8 && inside && value != "NOTE":
			out = append(out, entity+" "+value)
		}
	}
	return out
}

// shapeOf is what a hostile text may not change in a file: its code, its
// entities, its rows, its elements.
func shapeOf(t *testing.T, name string, text []byte) any {
	t.Helper()
	switch filepath.Ext(name) {
	case ".nc":
		return codeOf(t, name, text)
	case ".dxf":
		return entitiesOf(t, name, text)
	case ".csv":
		rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		require.NoError(t, err)
		for _, r := range rows {
			for _, c := range r {
				requirePlain(t, name, c)
				if _, err := strconv.ParseFloat(c, 64); err != nil && c != "" {
					require.NotContains(t, "=+-@", c[:1], "%s: a formula: %q", name, c)
				}
			}
		}
		require.Equal(t, bytes.Count(text, []byte("\n")), len(rows), "%s: a row over two lines", name)
		return []int{len(rows), len(rows[0])}
	case ".html", ".svg":
		requirePlain(t, name, strings.ReplaceAll(string(text), "\n", ""))
		return elementsOf(string(text))
	case ".pdf":
		require.True(t, bytes.HasPrefix(text, []byte("%PDF-")))
		acts := map[string]int{}
		text := pdfWithoutStrings(text)
		for _, word := range []string{"/JavaScript", "/JS", "/Launch", "/URI", "/EmbeddedFile", "/AA", "/OpenAction", "/Annots"} {
			acts[word] = bytes.Count(text, []byte(word))
		}
		return acts
	case ".json":
		var all map[string]any
		require.NoError(t, json.Unmarshal(text, &all))
		require.Less(t, len(all), 40)
		return len(all)
	}
	require.Equal(t, "(terminal)", name)
	requirePlain(t, name, strings.NewReplacer("\r\n", "", "\n", "").Replace(string(text)))
	return nil
}

// pdfWithoutStrings takes the string literals out of a PDF file: parentheses
// balance in them, and a backslash takes the next character's meaning away (ISO
// 32000-1 section 7.3.4.2). What is left could act.
func pdfWithoutStrings(text []byte) []byte {
	var out []byte
	depth := 0
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case depth > 0 && c == '\\':
			i++
		case c == '(':
			depth++
		case c == ')' && depth > 0:
			depth--
		case depth == 0:
			out = append(out, c)
		}
	}
	return out
}

// requirePlain asserts that a text has nothing in it that does something
// instead of being seen, a tab between cells apart.
func requirePlain(t *testing.T, name, s string) {
	t.Helper()
	require.True(t, utf8.ValidString(s), name)
	for _, r := range s {
		require.False(t, hidden(r) && r != '\t', "%s: %U", name, r)
	}
}

// elementsOf counts what could act in a page: elements by name, event handlers,
// links. Labels that find no room are left out by the page, so texts are not counted.
func elementsOf(page string) map[string]int {
	out := map[string]int{}
	for _, m := range regexp.MustCompile(`<(/?[A-Za-z!?][^\s>]*)[^>]*>`).FindAllStringSubmatch(page, -1) {
		name := strings.ToLower(m[1])
		if name == "text" || name == "/text" || strings.Contains(m[0], `class="leader"`) {
			continue
		}
		out[name]++
		for _, a := range regexp.MustCompile(`\s(on[a-z]+|href|src|action|style)\s*=`).FindAllStringSubmatch(regexp.MustCompile(`"[^"]*"`).ReplaceAllString(m[0], `""`), -1) {
			out[name+" "+strings.ToLower(a[1])]++
		}
	}
	return out
}

// hostileBase is a job with marks of its own, so that every kind of text is in it,
// built once.
func hostileBase(t *testing.T) (loaded, func() built) {
	l, err := loadJob("../../testdata/jobs/house-marks.yaml")
	require.NoError(t, err)
	b, err := build(context.Background(), &l, steps{})
	require.NoError(t, err)
	return l, func() built {
		c := b
		c.set.Marks = append([]layout.Mark(nil), b.set.Marks...)
		for i, m := range c.set.Marks {
			c.set.Marks[i].Also = append([]string(nil), m.Also...)
			c.set.Marks[i].Games = append([]string(nil), m.Games...)
		}
		c.set.Checks = append(c.set.Checks[:0:0], b.set.Checks...)
		c.set.Cautions = append([]string(nil), b.set.Cautions...)
		c.set.Job.Games = append([]string(nil), b.set.Job.Games...)
		c.set.Job.House = append([]layout.HouseMark(nil), b.set.Job.House...)
		c.set.Machine.PowerOn = append([]string(nil), b.set.Machine.PowerOn...)
		c.set.Machine.ExtraWords = append([]string(nil), b.set.Machine.ExtraWords...)
		return c
	}
}

// hostileFields are the texts of a set that come from a job or quote it: the job
// itself, the table, the marks, the profile, the material, checks and cautions.
func hostileFields(b *built) map[string]*string {
	out := map[string]*string{}
	for name, v := range map[string]any{"job": &b.set.Job, "table": &b.set.Table, "marks": &b.set.Marks, "machine": &b.set.Machine,
		"material": &b.set.Material, "checks": &b.set.Checks, "cautions": &b.set.Cautions} {
		textsOf(reflect.ValueOf(v).Elem(), name, out)
	}
	// The beam word is one of two that the reader lets through; the writer refuses any other.
	delete(out, "machine.BeamWord")
	return out
}

// TestHostileTextStaysText puts each hostile text into every text of a job at
// once, past the reader that would refuse most of them, and then one text that
// has them all into each field by itself. Programs must hold the same code, drawings
// the same entities, tables the same rows, pages the same elements, and the
// terminal nothing but letters.
// everyRun are the texts that every test run puts everywhere, one for each kind of
// file; SPOTJIG_ALL=1 tries them all.
func everyRun(name string) bool {
	return slices.Contains([]string{"g-code", "dxf groups", "formula", "script"}, name)
}

func TestHostileTextStaysText(t *testing.T) {
	l, fresh := hostileBase(t)
	blank := fresh()
	fields := hostileFields(&blank)
	require.Greater(t, len(fields), 60)
	for _, f := range []string{"job.Name", "job.Date", "job.Notes", "job.House[0].Name", "machine.Name", "material.Colour", "material.Cut.Proven"} {
		require.Contains(t, fields, f)
	}
	for _, f := range fields {
		*f = "x"
	}
	want := map[string]any{}
	l.job = blank.set.Job
	for name, text := range outputsOf(t, l, blank) {
		want[name] = shapeOf(t, name, text)
	}
	compare := func(t *testing.T, b built) {
		from := l
		from.job = b.set.Job
		got := outputsOf(t, from, b)
		assert.Len(t, got, len(want))
		for name, text := range got {
			require.Contains(t, want, name, "a file by another name")
			assert.Equal(t, want[name], shapeOf(t, name, text), name)
			assert.Less(t, len(text), 40<<20, name)
		}
	}
	for name, text := range hostileText() {
		t.Run("everywhere/"+name, func(t *testing.T) {
			if os.Getenv("SPOTJIG_ALL") == "" && !everyRun(name) {
				t.Skip("takes long: SPOTJIG_ALL=1 runs it")
			}
			b := fresh()
			for _, f := range hostileFields(&b) {
				*f = text
			}
			if name == "megabyte" { // in a few places: a set of a thousand megabytes proves no more
				b = fresh()
				for _, f := range hostileFields(&b) {
					*f = "x"
				}
				for _, f := range []*string{&b.set.Job.Name, &b.set.Job.Notes, &b.set.Table.Name, &b.set.Machine.Name, &b.set.Marks[0].Name} {
					*f = text
				}
			}
			compare(t, b)
		})
	}
}

// TestHostileTextInOneField does the same through every stage, one field of the
// job at a time: it is refused as a problem of the job, or built with every proof
// passed.
func TestHostileTextInOneField(t *testing.T) {
	all := ")\nM3 S1000(\n0\nLINE\n=1\t</script><script>\"'\x1b]0;x\a../\x00\u202e\xed\xa0\x80" + everyControl()
	names := map[string]*string{}
	l, err := loadJob("../../testdata/jobs/house-marks.yaml")
	require.NoError(t, err)
	textsOf(reflect.ValueOf(&l.job).Elem(), "job", names)
	var built, refused atomic.Int32
	for name := range names {
		// A build each: the texts that people write stand for all, unless SPOTJIG_ALL=1.
		if os.Getenv("SPOTJIG_ALL") == "" && !slices.Contains([]string{"job.Name", "job.Notes", "job.House[0].Name", "job.Choices.D"}, name) {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			l, err := loadJob("../../testdata/jobs/house-marks.yaml")
			require.NoError(t, err)
			fields := map[string]*string{}
			textsOf(reflect.ValueOf(&l.job).Elem(), "job", fields)
			*fields[name] = "=" + all
			if l.plan, err = layout.NewPlan(l.request()); err == nil {
				b, berr := build(context.Background(), &l, steps{})
				if err = berr; err == nil {
					built.Add(1)
					assert.Empty(t, failures(b.set.Checks))
					for _, f := range b.files {
						shapeOf(t, f.name, f.data)
						assert.Regexp(t, `^[a-z0-9.-]+$`, f.name)
					}
					return
				}
			}
			refused.Add(1)
			assert.NotEmpty(t, problem.From(err), "%v", err)
		})
	}
	t.Cleanup(func() { t.Logf("%d fields built, %d refused", built.Load(), refused.Load()) })
}

// printableHostile are the hostile texts that are one printable line, which a
// file may well hold: they are letters like any other.
func printableHostile(s string) bool {
	for _, r := range s {
		if hidden(r) || r == utf8.RuneError {
			return false
		}
	}
	return len(s) < 200
}

// TestHostileTextInAFile writes each hostile text, quoted, in the place of every
// value of a job file with every kind of key. What cannot be printed is refused
// with its place, and the message is plain.
func TestHostileTextInAFile(t *testing.T) {
	base := fullJob(t)
	lines := strings.Split(base, "\n")
	value := regexp.MustCompile(`^(\s*(?:- )?[a-z_]+: )(\S.*)$`)
	keys, cases := 0, 0
	for i, line := range lines {
		at := value.FindStringSubmatch(line)
		if at == nil {
			continue
		}
		keys++
		for k, name := range slices.Sorted(maps.Keys(hostileText())) {
			if (k+i)%9 != 0 && os.Getenv("SPOTJIG_ALL") == "" {
				continue // every ninth, another one for each key
			}
			text := hostileText()[name]
			quoted, err := json.Marshal(text)
			require.NoError(t, err)
			if !utf8.ValidString(text) {
				quoted = []byte(`"` + text + `"`)
			}
			changed := append([]string(nil), lines...)
			changed[i] = at[1] + string(quoted)
			err = readAll(t, strings.Join(changed, "\n"))
			cases++
			if err == nil {
				if strings.HasPrefix(line, "notes:") { // its line ends become blanks
					text = strings.NewReplacer("\n", " ", "\r", " ", "\t", " ").Replace(text)
				}
				assert.True(t, printableHostile(text), "%s taken in %q", name, line)
				continue
			}
			list := problem.From(err)
			require.NotEmpty(t, list, "%v", err)
			assert.Positive(t, list[0].Line, "%s in %q: %v", name, line, list[0])
			var screen bytes.Buffer
			w := &plainWriter{w: &screen}
			fmt.Fprintln(w, list.Error())
			require.NoError(t, w.close())
			assert.Less(t, screen.Len(), 20_000, "%s in %q", name, line)
			requirePlain(t, name, strings.ReplaceAll(screen.String(), "\n", ""))
		}
	}
	assert.Greater(t, keys, 60)
	t.Logf("%d keys, %d cases", keys, cases)
}

// fullJob is a job file with a key of every kind, one a line.
func fullJob(t testing.TB) string {
	text, err := os.ReadFile("testdata/full.yaml")
	require.NoError(t, err)
	require.NoError(t, readAll(t, string(text)))
	return string(text)
}

// readAll reads a job file's text and all its sections, without designing a jig.
func readAll(t testing.TB, text string) error {
	t.Helper()
	name := filepath.Join(t.TempDir(), "job.yaml")
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	l, err := loadJob(name)
	if err != nil {
		return err
	}
	_, _, err = l.loadMachine()
	return err
}

// The writer to the terminal passes letters and line ends, and nothing that acts.
func TestPlainWriter(t *testing.T) {
	for _, row := range [][2]string{
		{"½ × 46\" — ok\n", "½ × 46\" — ok\n"},
		{"a,b\r\nc\td\n", "a,b\r\nc\td\n"},
		{"\rx", `\u000dx`},
		{"\x1b[2J", `\u001b[2J`},
		{"\u009b\x00\x7f", `\u009b\u0000\u007f`},
		{"\u202e\u2028\ufeff", `\u202e\u2028\ufeff`},
		{"\U000e0041", `\udb40\udc41`},
		{"\xed\xa0\x80\xff", `\xed\xa0\x80\xff`},
		{"end\r", `end\u000d`},
		{"cut \xe2\x80", `cut \xe2\x80`},
	} {
		for _, step := range []int{1, 2, 3, 1000} { // however it is written
			var b bytes.Buffer
			w := &plainWriter{w: &b}
			for s := row[0]; s != ""; {
				n := min(step, len(s))
				got, err := w.Write([]byte(s[:n]))
				require.NoError(t, err)
				require.Equal(t, n, got)
				s = s[n:]
			}
			require.NoError(t, w.close())
			assert.Equal(t, row[1], b.String(), "%q by %d", row[0], step)
		}
	}
}
