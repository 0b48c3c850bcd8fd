package manual

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/dryrun"
)

// Every key that a reader asks for is told of, and nothing is told of that no reader
// asks for.
func TestKeysAreThoseOfTheReaders(t *testing.T) {
	table := keyRows()
	read := readKeys()
	require.Greater(t, len(read), 200)
	for _, k := range read {
		r := table.of(k.Path)
		assert.NotEmpty(t, r.text, "keys.txt has no line for %s", k.Path)
		section := k.Form == "keys" || k.Form == "list" && k.Path != "games"
		if k.Path != "material" && k.Path != "machine" {
			assert.Equal(t, section, r.example == "", "keys.txt: %s needs an example if it is no section, and none if it is", k.Path)
		}
	}
	for _, r := range table {
		for _, p := range r.patterns {
			assert.True(t, slices.ContainsFunc(read, func(k job.Key) bool { return stands(p, segments(k.Path)) }), "keys.txt: no reader asks for %s", p)
		}
	}
}

// alone writes a key with a value as a file that has nothing else in it. Faults are told
// once a line, and what a section lacks at its first: that holds a key nobody knows.
func alone(path, value string) string {
	var b strings.Builder
	names := strings.Split(strings.NewReplacer("59.1", "59,1", "59.2", "59,2", "59.3", "59,3").Replace(path), ".")
	depth := 0
	for _, n := range names[:len(names)-1] {
		n, list := strings.CutSuffix(strings.ReplaceAll(n, ",", "."), "[]")
		fmt.Fprintf(&b, "%*s%s:\n", depth, "", n)
		if depth += 2; list {
			fmt.Fprintf(&b, "%*s- filler: 0\n", depth, "")
			depth += 2
		} else {
			fmt.Fprintf(&b, "%*sfiller: 0\n", depth, "")
		}
		if strings.HasPrefix(path, "machine.knife") && depth == 2 {
			b.WriteString("  process: knife\n")
		}
	}
	fmt.Fprintf(&b, "%*s%s: %s\n", depth, "", names[len(names)-1], value)
	return b.String()
}

// faults reads a key with a value and returns the faults at that key, but that others
// are missing beside it.
func faults(t *testing.T, path, value string) []problem.Problem {
	t.Helper()
	text := alone(path, value)
	sec, err := job.Parse("", []byte(text))
	require.NoError(t, err, text)
	_, _, err = job.Read("", []byte(text), job.Options{})
	list := problem.From(err)
	top := job.Open(sec, new(problem.List))
	_, _, _, err = machine.Read(top.Section("machine"), top.Section("material"), machine.Options{})
	list = append(list, problem.From(err)...)
	field := strings.ReplaceAll(path, "[]", "[0]")
	return slices.DeleteFunc(slices.Clone(list), func(p problem.Problem) bool {
		return p.Field != field && !strings.HasPrefix(p.Field, field+"[") || strings.HasPrefix(p.Code, "J003")
	})
}

// What is shown as an example is taken as it stands, by the reader of that key.
func TestExamplesAreRead(t *testing.T) {
	n := 0
	for _, e := range keys() {
		if e.Example == "" || e.Names[0] == "assumed" { // it names other keys of its file
			continue
		}
		value := e.Example
		if !strings.HasPrefix(value, "[") {
			value = job.Quote(value)
		}
		assert.Empty(t, faults(t, e.Names[0], value), "%s: %s", e.Names[0], value)
		n++
	}
	require.Greater(t, n, 150)

	// The test can fail: no reader takes this, whatever the key but a text.
	refused := 0
	for _, e := range keys() {
		if e.Example != "" && e.Form != "text" && e.Form != "position" {
			assert.NotEmpty(t, faults(t, e.Names[0], `"no such thing"`), e.Names[0])
			refused++
		}
	}
	require.Greater(t, refused, 100)
}

// Limits are the reader's own: a value past each is refused with that very limit.
func TestLimitsAreTheReaders(t *testing.T) {
	limits := regexp.MustCompile(`^(-?[0-9.]+) ?(\S*) to (-?[0-9.]+) ?(\S*)$`)
	n := 0
	for _, e := range keys() {
		m := limits.FindStringSubmatch(e.Limits)
		if m == nil || strings.HasPrefix(e.Form, "list") || e.Form == "speed" {
			continue
		}
		got := faults(t, e.Names[0], "123456789")
		if assert.NotEmpty(t, got, e.Names[0]) && e.Names[0] != "material.thickness" && e.Names[0] != "material.sold" && e.Names[0] != "material.kerf" {
			if got[0].Code != "L008" { // longer than any length, whatever the key
				assert.Contains(t, got[0].Msg, m[3], e.Names[0])
			}
		}
		n++
	}
	require.Greater(t, n, 80)
}

func TestEveryCodeIsExplained(t *testing.T) {
	ids := dryrun.Codes()
	for _, c := range problem.Codes() {
		ids = append(ids, c.ID)
	}
	told := codes()
	require.Len(t, told, len(ids))
	for _, id := range ids {
		i := slices.IndexFunc(told, func(e Entry) bool { return e.Names[0] == id })
		require.GreaterOrEqual(t, i, 0, id)
		assert.Greater(t, len(told[i].Text), 20, id)
	}
}

// checkID is a check as the code makes one.
var checkID = regexp.MustCompile(`\{ID: "([a-z][a-z-]*):?"(?: ?\+ ?[A-Za-z.\[\]]+)?, (?:Verdict|Limit)`)

// Every check that the code makes is told of, and every check told of is in the code.
func TestChecksAreThoseOfTheCode(t *testing.T) {
	var source strings.Builder
	made := map[string]string{}
	for _, top := range []string{"../../cam", "../../post", "../../cmd"} {
		require.NoError(t, filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") || strings.Contains(path, "manual") {
				return err
			}
			data, err := os.ReadFile(path)
			source.Write(data)
			for _, m := range checkID.FindAllStringSubmatch(string(data), -1) {
				made[strings.TrimSuffix(m[1], "-")] = path
			}
			return err
		}))
	}
	require.Greater(t, len(made), 40)
	told := Names(Check)
	for id, path := range made {
		if id == "ticks" { // of an axis
			continue
		}
		assert.Contains(t, told, id, "made in %s; add it to checks.txt", path)
	}
	for _, id := range told {
		base := strings.NewReplacer("as-read-dryrun", "as-read", "as-read-edges", "as-read", "ticks-x", "ticks-", "ticks-y", "ticks-").Replace(id)
		assert.Regexp(t, `"`+base+`:?"`, source.String(), "checks.txt: no code makes %s", id)
	}
	assert.True(t, slices.IsSorted(told), "checks.txt is in the order of names")
}

func TestFind(t *testing.T) {
	for _, tt := range []struct {
		word string
		want []string // kind and first name of each entry
	}{
		{"J013", []string{"code J013"}},
		{"d701", []string{"code D701"}},
		{"jig.tolerance", []string{"key jig.tolerance"}},
		{"jig.tolerance:", []string{"key jig.tolerance"}},
		{"marker.tip", []string{"key jig.marker.tip"}},
		{"kerf", []string{"key material.kerf", "word kerf"}},
		{"house.x2", []string{"key house[].x2"}},
		{"as-cut:sheet-1", []string{"check as-cut"}},
		{"As-Cut", []string{"check as-cut"}},
		{"budget", []string{"check budget"}},
		{"head-string", []string{"word head string"}},
		{"piece", []string{"word part"}},
		{"", nil},
		{"erance", nil},
		{"tolerence", nil},
	} {
		var got []string
		for _, e := range Find(tt.word) {
			got = append(got, string(e.Kind)+" "+e.Names[0])
		}
		assert.Equal(t, tt.want, got, tt.word)
	}
}

func TestNear(t *testing.T) {
	assert.Equal(t, []string{"tolerance"}, Near("tolerence"))
	assert.Equal(t, []string{"as-cut"}, Near("ascutt"))
	assert.Equal(t, []string{"J013"}, Near("J0133"))
	assert.Empty(t, Near("xylophone"))
	assert.Empty(t, Near(""))
}

// The reference has every name, in lines that a terminal holds.
func TestWriteAll(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, WriteAll(&out, Options{}))
	for _, e := range Entries() {
		assert.Contains(t, out.String(), "\n"+strings.Join(e.Names, ", "))
		assert.Regexp(t, `[.a-z0-9)]$`, e.Text)
	}
	for _, l := range strings.Split(out.String(), "\n") {
		assert.LessOrEqual(t, len([]rune(l)), 100, l)
		assert.Equal(t, strings.TrimRight(l, " "), l)
	}
	var again bytes.Buffer
	require.NoError(t, WriteAll(&again, Options{}))
	assert.Equal(t, out.String(), again.String())
}

func TestWriteShowsAKeyWhole(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, Write(&out, Find("jig.marker.tip"), Options{Width: 40}))
	assert.Equal(t, `jig.marker.tip (key of a job)
    Width of the line the tool draws.
    length: 0.1 mm to 5 mm
    default: 0.7 mm
    example: tip: 0.7 mm
`, out.String())
}
