package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

func TestNewCmdBindsFlags(t *testing.T) {
	var got newOptions
	c := newNewCmd(func(o newOptions) error { got = o; return nil })
	c.SetIn(strings.NewReader(""))
	c.SetArgs([]string{"club.yaml", "--size", "8 ft pool", "--length", "88 in", "--width", "44 in", "--games", "pool,snooker", "--machine", "laser-900x600"})
	require.NoError(t, c.Execute())
	assert.Equal(t, newOptions{file: "club.yaml", size: "8 ft pool", length: "88 in", width: "44 in", games: "pool,snooker", machine: "laser-900x600"}, got)

	c = newNewCmd(func(newOptions) error { t.Fatal("ran without a file"); return nil })
	c.SilenceErrors, c.SilenceUsage = true, true
	c.SetArgs(nil)
	assert.Error(t, c.Execute())
}

// What new writes is a job that reads, with what was given in it.
func TestNewWritesAJobThatReads(t *testing.T) {
	tests := []struct {
		name string
		o    newOptions
		l    float64
	}{
		{"nothing given", newOptions{}, 2540},
		{"all given", newOptions{size: `Ann's "best": # 1`, length: `8' 4"`, width: "1268", games: "snooker, pool", machine: "laser-900x600"}, 2540},
		{"a knife", newOptions{size: "7 ft pool", machine: "knife-600x300"}, 1981.2},
		{"a shop", newOptions{machine: "shop"}, 2540},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.o.file = filepath.Join(t.TempDir(), "job.yaml")
			var out bytes.Buffer
			require.NoError(t, runNew(tt.o, strings.NewReader("never read"), &out))
			assert.Contains(t, out.String(), "wrote "+tt.o.file)
			data, err := os.ReadFile(tt.o.file)
			require.NoError(t, err)
			j, _, err := job.Read(tt.o.file, data, job.Options{})
			require.NoError(t, err)
			assert.InDelta(t, tt.l, j.Table.L, 1e-9)
			if tt.o.size != "" {
				assert.Equal(t, tt.o.size, j.Table.Name)
			}
			p, _, _, err := machine.Read(j.Machine, j.Material, machine.Options{})
			require.NoError(t, err)
			if tt.o.machine != "" {
				want, _ := machine.Lookup(tt.o.machine)
				assert.Equal(t, want.Process, p.Process)
				assert.Equal(t, want.Max, p.Max)
			}
		})
	}
}

func TestNewRefuses(t *testing.T) {
	dir := t.TempDir()
	there := filepath.Join(dir, "there.yaml")
	require.NoError(t, os.WriteFile(there, []byte("mine"), 0o644))
	link := filepath.Join(dir, "link.yaml")
	require.NoError(t, os.Symlink(filepath.Join(dir, "gone"), link))
	tests := []struct {
		name string
		o    newOptions
		code string
	}{
		{"a file that exists", newOptions{file: there}, "F024"},
		{"a link to nowhere", newOptions{file: link}, "F024"},
		{"a folder", newOptions{file: dir}, "F024"},
		{"no such folder", newOptions{file: filepath.Join(dir, "no", "x.yaml")}, "F025"},
		{"unknown machine", newOptions{file: filepath.Join(dir, "a"), machine: "laser-600x500"}, "M001"},
		{"unknown game", newOptions{file: filepath.Join(dir, "b"), games: "poool"}, "J012"},
		{"a slate size", newOptions{file: filepath.Join(dir, "c"), length: "108 in", width: "54 in"}, "J013"},
		{"no length", newOptions{file: filepath.Join(dir, "d"), length: "long", width: "50 in"}, "L001"},
		{"text that would be more YAML", newOptions{file: filepath.Join(dir, "e"), size: "x\ngames: [snooker]"}, "J004"},
		{"an escape", newOptions{file: filepath.Join(dir, "f"), size: "x\x1b]0;x\a"}, "J004"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := runNew(tt.o, strings.NewReader(""), &bytes.Buffer{})
			require.Error(t, err)
			require.NotEmpty(t, problem.From(err), err.Error())
			assert.Equal(t, tt.code, problem.From(err)[0].Code, err.Error())
			if tt.code != "F024" {
				assert.NoFileExists(t, tt.o.file)
			}
		})
	}
	data, err := os.ReadFile(there)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(data))
	_, err = os.Lstat(filepath.Join(dir, "gone"))
	assert.ErrorIs(t, err, os.ErrNotExist)
}

func TestNewAsksOnATerminal(t *testing.T) {
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
			file := filepath.Join(t.TempDir(), "job.yaml")
			var out bytes.Buffer
			require.NoError(t, runNew(newOptions{file: file, terminal: true}, strings.NewReader(tt.answers), &out))
			assert.Equal(t, tt.asked, strings.Count(out.String(), "]: "), out.String())
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			for _, line := range tt.want {
				assert.Contains(t, string(data), "\n"+line)
			}
		})
	}
}

// Someone who gave a flag, or no one at all, is not asked.
func TestNewDoesNotAskOtherwise(t *testing.T) {
	for name, o := range map[string]newOptions{"flag": {terminal: true, games: "pool"}, "pipe": {}} {
		o.file = filepath.Join(t.TempDir(), "job.yaml")
		var out bytes.Buffer
		require.NoError(t, runNew(o, strings.NewReader("snooker\n"), &out), name)
		assert.NotContains(t, out.String(), "]: ", name)
	}
}

// keyLine is a key that the commented job shows behind a mark.
var keyLine = regexp.MustCompile(`^( *)# ( *(?:- \{)?[a-z][a-z0-9_]*: .*| *[a-z][a-z0-9_]*:)( *#.*)?$`)

// uncommented returns the new job with every key set, but the sections named.
func uncommented(t *testing.T, text string, without ...string) string {
	t.Helper()
	var out []string
	skip := -1 // indent of the section that is left out
	for _, line := range strings.Split(text, "\n") {
		m := keyLine.FindStringSubmatch(line)
		if m == nil {
			if !strings.HasPrefix(strings.TrimSpace(line), "#") {
				out = append(out, line)
			}
			continue
		}
		line = m[1] + m[2]
		indent := len(line) - len(strings.TrimLeft(line, " "))
		if skip >= 0 && (indent > skip || strings.HasPrefix(strings.TrimSpace(line), "- ")) {
			continue
		}
		skip = -1
		for _, w := range without {
			if strings.HasPrefix(strings.TrimSpace(line), w+":") {
				skip = indent
			}
		}
		if skip < 0 {
			out = append(out, line)
		}
	}
	return strings.Join(out, "\n")
}

// The defaults that the commented job states are those of the reader: with every
// comment mark removed it is the same job, but for what it calls an example.
func TestNewStatesTrueDefaults(t *testing.T) {
	text, err := newJob(newOptions{length: "2541", width: "1269.5"})
	require.NoError(t, err)
	plain, _, err := job.Read("", []byte(text), job.Options{})
	require.NoError(t, err)
	full, _, err := job.Read("", []byte(uncommented(t, text, "survey", "knife")), job.Options{})
	require.NoError(t, err)

	assert.Len(t, full.House, 3)
	assert.Len(t, full.Also, 1)
	assert.NotEmpty(t, full.Date)
	plain.Ledger, full.Ledger = nil, nil // what was stated differs, as it should
	full.Date, full.Notes, full.House, full.Also = "", "", nil, nil
	full.Table.NoseHeight, full.Table.Undercut, full.Choices.Anchor, full.Jig.PieceMax = 0, 0, "", 0
	full.Jig.ToleranceStated, full.Jig.TemperatureStated, full.Jig.HumidityStated = false, false, false
	plainP, plainM, _, err := machine.Read(plain.Machine, plain.Material, machine.Options{})
	require.NoError(t, err)
	fullP, fullM, _, err := machine.Read(full.Machine, full.Material, machine.Options{})
	require.NoError(t, err)
	plain.Machine, plain.Material, full.Machine, full.Material = job.Section{}, job.Section{}, job.Section{}, job.Section{}
	assert.Equal(t, plain, full)

	fullP.Name, fullP.KeepOut, fullP.Park, fullP.Home28, fullP.Home30 = plainP.Name, nil, nil, nil, nil
	fullP.TimeMax, fullP.RepeatMax, fullP.Rate = 0, 0, 0
	fullP.Min, fullP.HasZ = plainP.Min, plainP.HasZ // limits are the example
	fullP.Max = plainP.Max
	fullP.ExtraWords = nil
	fullP.HomeWords, fullP.LineEnds, fullP.Refused = "", "", nil
	assert.Equal(t, plainP, fullP)

	assert.Equal(t, 4.85, fullM.Thickness)
	fullM.Name, fullM.Thickness, fullM.Measured, fullM.Colour = plainM.Name, plainM.Thickness, plainM.Measured, ""
	fullM.PowerCap, fullM.Sheets[0].Count, fullM.Sheets[0].Price, fullM.Cut.Proven = 0, 0, 0, ""
	assert.InDelta(t, plainM.Expansion, fullM.Expansion, 1e-12)
	assert.InDelta(t, plainM.Moisture, fullM.Moisture, 1e-12)
	fullM.Expansion, fullM.Moisture = plainM.Expansion, plainM.Moisture
	assert.Equal(t, plainM, fullM)
}

// The blade's defaults likewise.
func TestNewStatesTrueKnifeDefaults(t *testing.T) {
	text, err := newJob(newOptions{length: "2541", width: "1269.5", machine: "knife-600x300"})
	require.NoError(t, err)
	at := strings.Index(text, "  # knife:")
	require.Positive(t, at)
	j, _, err := job.Read("", []byte(text[:at]+uncommented(t, text[at:])), job.Options{})
	require.NoError(t, err)
	p, _, _, err := machine.Read(j.Machine, j.Material, machine.Options{})
	require.NoError(t, err)
	want, _ := machine.Lookup("knife-600x300")
	assert.Equal(t, want.Knife, p.Knife)
}

// everySection has a key nobody knows in every section there is; what is said of it
// lists the keys that are known there.
const everySection = `
zzz: 1
table: {length: 2541, width: 1269.5,
  zzz: 1}
games: [pool]
choices: {
  zzz: 1}
balls: {
  zzz: 1}
jig:
  zzz: 1
  marker: {
    zzz: 1}
  ties: {
    zzz: 1}
house:
  - zzz: 1
    id: a
    kind: spot
    x: 0
    y: 0
`

const everyMachineSection = `
games: [pool]
table: {length: 2541, width: 1269.5}
machine:
  zzz: 1
  process: knife
  travel: {x: 600, y: 400,
    zzz: 1}
  limits: {
    zzz: 1}
  park: {
    zzz: 1}
  keep_out:
    - zzz: 1
      min: {x: 0, y: 0}
      max: {x: 10, y: 10}
  homes: {
    zzz: 1}
  dialect: {
    zzz: 1}
  knife: {
    zzz: 1}
  scale_ppm: {
    zzz: 1}
material:
  zzz: 1
  kind: card
  thickness: 1
  sheets:
    - zzz: 1
      width: 600
      height: 400
  cut: {
    zzz: 1}
`

// knownKeys asks the readers for every key of job, machine and material files.
func knownKeys(t *testing.T) map[string]bool {
	t.Helper()
	var all problem.List
	for _, text := range []string{everySection, everyMachineSection, "games: [pool]\nsurvey: {zzz: 1}"} {
		j, _, err := job.Read("", []byte(text), job.Options{})
		if err == nil {
			_, _, _, err = machine.Read(j.Machine, j.Material, machine.Options{})
		}
		all = append(all, problem.From(err)...)
	}
	keys := map[string]bool{}
	for _, p := range all {
		require.Equal(t, "J001", p.Code, p.Error())
		list, ok := strings.CutPrefix(p.Help, "known keys here: ")
		require.True(t, ok)
		for _, k := range strings.Split(list, ", ") {
			keys[k] = true
		}
	}
	require.Greater(t, len(keys), 120)
	return keys
}

// No key may be read that the commented job does not show, but those that the program
// itself writes into a set's job.yaml.
func TestNewShowsEveryKey(t *testing.T) {
	text, err := newJob(newOptions{})
	require.NoError(t, err)
	for key := range knownKeys(t) {
		if key == "made" || key == "assumed" {
			continue
		}
		shown := regexp.MustCompile(`(?m)(^|[ {,])` + regexp.QuoteMeta(key) + `:`)
		assert.True(t, shown.MatchString(text), "new.yaml does not show %q", key)
	}
}

func TestQuoteYAML(t *testing.T) {
	for _, s := range []string{"9 ft pool", "", "a: b", "a #b", `8' 4"`, "-x", "~", "yes", "it's", "[x]", "&a", "*a", "!t", "%", "@", "`", "{}", "\u00bd"} {
		text := "games: [pool]\ntable: {length: 2541, width: 1269.5, size: " + job.Quote(s) + "}"
		j, _, err := job.Read("", []byte(text), job.Options{})
		require.NoError(t, err, text)
		assert.Equal(t, s, j.Table.Name)
	}
}

func TestListShowsEveryCatalogue(t *testing.T) {
	for what, says := range map[string][]string{
		"games":     {"snooker ", "American pool", "from memory", "9 ft pool", "2540.0 mm x 1270.0 mm"},
		"machines":  {"small-laser-300x200", "knife-1200x600", "1200 x 600 mm", "drawings only"},
		"materials": {"cast-acrylic-5", "polyester-film-0.35", "0.35 mm"},
	} {
		var out bytes.Buffer
		require.NoError(t, runList(listOptions{what: what}, &out))
		for _, s := range says {
			assert.Contains(t, out.String(), s, what)
		}
		for _, line := range strings.Split(out.String(), "\n") {
			assert.LessOrEqual(t, len(line), 120, line)
			assert.Equal(t, strings.TrimRight(line, " "), line)
		}
	}
	var out bytes.Buffer
	require.NoError(t, runList(listOptions{what: "materials"}, &out))
	assert.Regexp(t, `(?m)^vinyl-0\.3 .* no +yes$`, out.String())
	assert.Regexp(t, `(?m)^cast-acrylic-5 .* yes +no$`, out.String())

	c := newListCmd(func(listOptions) error { return nil })
	c.SilenceErrors, c.SilenceUsage = true, true
	c.SetArgs([]string{"plans"})
	assert.Error(t, c.Execute())
}
