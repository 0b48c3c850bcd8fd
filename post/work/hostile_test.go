package work

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
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/job"
	"spotjig/layout/problem"
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

// hostileText are strings that try to leave their place in some format, by name.
func hostileText(t testing.TB) map[string]string {
	t.Helper()
	data, err := os.ReadFile("../../testdata/hostile.txt")
	require.NoError(t, err)
	out := map[string]string{}
	for line := range strings.Lines(string(data)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		text, err := strconv.Unquote(f[len(f)-1])
		require.NoError(t, err, line)
		if len(f) == 3 {
			n, err := strconv.Atoi(f[1])
			require.NoError(t, err, line)
			text = strings.Repeat(text, n)
		}
		out[f[0]] = text
	}
	require.Greater(t, len(out), 25)
	return out
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
			if f := v.Type().Field(i); f.IsExported() && f.Type != reflect.TypeFor[job.Section]() && f.Type != reflect.TypeFor[job.Made]() { // neither is kept in a job that was read
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

// outputsOf writes every file of a set that is already laid out, without its proof.
func outputsOf(t *testing.T, l *Order, b Made) map[string][]byte {
	t.Helper()
	opt := outputOptions
	opt.ProofOf, opt.SVG = "marks", true
	r := &run{Order: l, opt: opt, steps: builtin(), made: b}
	r.made.Files = nil
	out := map[string][]byte{}
	for _, o := range r.templateOutputs() {
		f, err := o.written(b.Set, new(bytes.Buffer))
		require.NoError(t, err, o.name)
		out[o.name] = f.Data
		r.made.Files = append(r.made.Files, f)
	}
	return out
}

// codeOf is a program without its comments and empty lines: what a machine acts
// on. The scan is a dozen lines of its own and knows no words.
func codeOf(t *testing.T, name string, text []byte) string {
	t.Helper()
	// Hundreds of thousands of characters: an assertion is made of those that are wrong alone.
	var b strings.Builder
	for _, line := range strings.SplitAfter(string(text), "\n") {
		require.LessOrEqual(t, len(line), 71, "%s: %q", name, line)
		inside := false
		kept := ""
		for _, c := range []byte(strings.TrimSuffix(line, "\n")) {
			if c < ' ' || c > '~' {
				require.Fail(t, "not printable", "%s: byte %#x in %q", name, c, line)
			}
			switch {
			case c == '(' && inside, c == ')' && !inside:
				require.Fail(t, "nested or closed too often", "%s: %q", name, line)
			case c == '(':
				inside = true
			case c == ')':
				inside = false
			case !inside:
				kept += string(c)
			case strings.IndexByte(";%!~?$", c) >= 0:
				require.Fail(t, "acts in a comment", "%s: %q in %q", name, c, line)
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
		if err != nil {
			require.NoError(t, err, "%s: line %d", name, i+1)
		}
		value := lines[i+1]
		if strings.Contains(value, "\r") {
			require.Fail(t, "a carriage return", "%s: line %d", name, i+2)
		}
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
	require.Contains(t, []string{JobName, SumsName}, name)
	requirePlain(t, name, strings.ReplaceAll(string(text), "\n", ""))
	return bytes.Count(text, []byte("\n"))
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
		acts := unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp, unicode.Other_Default_Ignorable_Code_Point, unicode.Variation_Selector)
		if acts && r != '\t' {
			require.Fail(t, "acts", "%s: %U", name, r)
		}
	}
}

// elementsOf counts what could act in a page: elements by name, event handlers,
// links. Labels that find no room are left out by the page, so texts are not counted.
func elementsOf(page string) map[string]int {
	out := map[string]int{}
	element := regexp.MustCompile(`<(/?[A-Za-z!?][^\s>]*)[^>]*>`)
	acting, quoted := regexp.MustCompile(`\s(on[a-z]+|href|src|action|style)\s*=`), regexp.MustCompile(`"[^"]*"`)
	for _, m := range element.FindAllStringSubmatch(page, -1) {
		name := strings.ToLower(m[1])
		if name == "text" || name == "/text" || strings.Contains(m[0], `class="leader"`) {
			continue
		}
		out[name]++
		for _, a := range acting.FindAllStringSubmatch(quoted.ReplaceAllString(m[0], `""`), -1) {
			out[name+" "+strings.ToLower(a[1])]++
		}
	}
	return out
}

// hostileBase is a job with marks of its own, so that every kind of text is in it,
// Made once.
func hostileBase(t *testing.T) (*Order, func() Made) {
	const file = "../../testdata/jobs/house-marks.yaml"
	l, err := loadJob(file)
	require.NoError(t, err)
	b := buildJob(t, file)
	return l, func() Made {
		c := b
		c.Set.Marks = append([]layout.Mark(nil), b.Set.Marks...)
		for i, m := range c.Set.Marks {
			c.Set.Marks[i].Also = append([]string(nil), m.Also...)
			c.Set.Marks[i].Games = append([]string(nil), m.Games...)
		}
		c.Set.Checks = append(c.Set.Checks[:0:0], b.Set.Checks...)
		c.Set.Cautions = append([]string(nil), b.Set.Cautions...)
		c.Set.Job.Games = append([]string(nil), b.Set.Job.Games...)
		c.Set.Job.House = append([]layout.HouseMark(nil), b.Set.Job.House...)
		c.Set.Machine.PowerOn = append([]string(nil), b.Set.Machine.PowerOn...)
		c.Set.Machine.ExtraWords = append([]string(nil), b.Set.Machine.ExtraWords...)
		return c
	}
}

// hostileFields are the texts of a set that come from a job or quote it: the job
// itself, the table, the marks, the profile, the material, checks and cautions.
func hostileFields(b *Made) map[string]*string {
	out := map[string]*string{}
	for name, v := range map[string]any{"job": &b.Set.Job, "table": &b.Set.Table, "marks": &b.Set.Marks, "machine": &b.Set.Machine,
		"material": &b.Set.Material, "checks": &b.Set.Checks, "cautions": &b.Set.Cautions} {
		textsOf(reflect.ValueOf(v).Elem(), name, out)
	}
	// Words of code and colours are those that the reader lets through; the writers refuse
	// any other.
	delete(out, "machine.BeamWord")
	for name := range out {
		if strings.HasPrefix(name, "machine.Writing") || strings.HasPrefix(name, "machine.Traits") || strings.HasPrefix(name, "job.Colours") {
			delete(out, name)
		}
	}
	return out
}

// TestHostileTextStaysText puts each hostile text into every text of a job at
// once, past the reader that would refuse most of them, and then one text that
// has them all into each field by itself. Programs must hold the same code, drawings
// the same entities, tables the same rows, pages the same elements, and the
// terminal nothing but letters.
// everyRun are the texts that every test run puts everywhere, one that hurts a machine and
// one that hurts a page; SPOTJIG_ALL=1 tries them all.
func everyRun(name string) bool {
	return slices.Contains([]string{"g-code", "script"}, name)
}

func TestHostileTextStaysText(t *testing.T) {
	long(t)
	t.Parallel()
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
	l.Job = blank.Set.Job
	for name, text := range outputsOf(t, l, blank) {
		want[name] = shapeOf(t, name, text)
	}
	compare := func(t *testing.T, b Made) {
		from := *l
		from.Job = b.Set.Job
		got := outputsOf(t, &from, b)
		assert.Len(t, got, len(want))
		for name, text := range got {
			require.Contains(t, want, name, "a file by another name")
			assert.Equal(t, want[name], shapeOf(t, name, text), name)
			assert.Less(t, len(text), 40<<20, name)
		}
	}
	for name, text := range hostileText(t) {
		t.Run("everywhere/"+name, func(t *testing.T) {
			if os.Getenv("SPOTJIG_ALL") == "" && !everyRun(name) {
				t.Skip("takes long: SPOTJIG_ALL=1 runs it")
			}
			t.Parallel()
			b := fresh()
			for _, f := range hostileFields(&b) {
				*f = text
			}
			if name == "megabyte" { // in a few places: a set of a thousand megabytes proves no more
				b = fresh()
				for _, f := range hostileFields(&b) {
					*f = "x"
				}
				for _, f := range []*string{&b.Set.Job.Name, &b.Set.Job.Notes, &b.Set.Table.Name, &b.Set.Machine.Name, &b.Set.Marks[0].Name} {
					*f = text
				}
			}
			compare(t, b)
		})
	}
}

// TestHostileTextInOneField does the same through every stage, one field of the
// job at a time: it is refused as a problem of the job, or Made with every proof
// passed.
func TestHostileTextInOneField(t *testing.T) {
	all := ")\nM3 S1000(\n0\nLINE\n=1\t</script><script>\"'\x1b]0;x\a../\x00\u202e\xed\xa0\x80" + everyControl()
	names := map[string]*string{}
	l, err := loadJob("../../testdata/jobs/house-marks.yaml")
	require.NoError(t, err)
	textsOf(reflect.ValueOf(&l.Job).Elem(), "job", names)
	maps.DeleteFunc(names, func(name string, _ *string) bool { return strings.HasPrefix(name, "job.Colours") })
	var builtOnes, refused atomic.Int32
	for name := range names {
		// A build each: the texts that people write stand for all, unless SPOTJIG_ALL=1.
		if os.Getenv("SPOTJIG_ALL") == "" && !slices.Contains([]string{"job.Name", "job.House[0].Name", "job.Choices.D"}, name) || testing.Short() && name != "job.Name" {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			l, err := loadJob("../../testdata/jobs/house-marks.yaml")
			require.NoError(t, err)
			fields := map[string]*string{}
			textsOf(reflect.ValueOf(&l.Job).Elem(), "job", fields)
			*fields[name] = "=" + all
			if l.Plan, err = layout.NewPlan(l.Request()); err == nil {
				b, berr := build(context.Background(), l, steps{})
				if err = berr; err == nil {
					builtOnes.Add(1)
					assert.Empty(t, slices.DeleteFunc(b.Failures(), func(c jig.Check) bool { return c.ID == "job" }), // the reader never saw the text
						"all proofs but that of job.yaml")
					for _, f := range b.Files {
						shapeOf(t, f.Name, f.Data)
						assert.Regexp(t, `^([a-z0-9.-]+|SHA256SUMS)$`, f.Name)
					}
					return
				}
			}
			refused.Add(1)
			assert.NotEmpty(t, problem.From(err), "%v", err)
		})
	}
	t.Cleanup(func() { t.Logf("%d fields Made, %d refused", builtOnes.Load(), refused.Load()) })
}
