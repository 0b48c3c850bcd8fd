package jobfile

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

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
func TestWriteStatesTrueDefaults(t *testing.T) {
	text, err := Write(job.Answers{Length: "2541", Width: "1269.5"})
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
	full.Jig.ToleranceStated, full.Jig.TemperatureStated, full.Jig.HumidityStated, full.Jig.SlipStated = false, false, false, false
	full.Jig.SeatStated = false
	plainP, plainM, _, err := machine.Read(plain.Machine, plain.Material, machine.Options{})
	require.NoError(t, err)
	fullP, fullM, _, err := machine.Read(full.Machine, full.Material, machine.Options{})
	require.NoError(t, err)
	plain.Machine, plain.Material, full.Machine, full.Material = job.Section{}, job.Section{}, job.Section{}, job.Section{}
	assert.Equal(t, plain, full)

	fullP.Name, fullP.KeepOut, fullP.Park, fullP.Home28, fullP.Home30 = plainP.Name, nil, nil, nil, nil
	fullP.TimeMax, fullP.RepeatMax, fullP.Rate = 0, 0, 0
	fullP.StillStated = false
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
func TestWriteStatesTrueKnifeDefaults(t *testing.T) {
	text, err := Write(job.Answers{Length: "2541", Width: "1269.5", Machine: "knife-600x300"})
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
func TestWriteShowsEveryKey(t *testing.T) {
	text, err := Write(job.Answers{})
	require.NoError(t, err)
	for key := range knownKeys(t) {
		if key == "made" || key == "assumed" {
			continue
		}
		shown := regexp.MustCompile(`(?m)(^|[ {,])` + regexp.QuoteMeta(key) + `:`)
		assert.True(t, shown.MatchString(text), "new.yaml does not show %q", key)
	}
}
