package work

import (
	"bytes"
	"context"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	jobfile "spotjig/layout/job"
	"spotjig/layout/problem"
)

// writtenFor is the demo job for a machine that wants its programs otherwise.
func writtenFor(t *testing.T, section string) string {
	t.Helper()
	demo := string(jobfile.Demo())
	at := regexp.MustCompile(`(?m)^machine:.*\n(?:[ #].*\n)*`).FindString(demo)
	require.NotEmpty(t, at)
	return strings.Replace(demo, at, "machine: {like: laser-600x400, "+section+"}\n", 1)
}

// The demo written in whole sets of ways, each with the words that must and must not be
// in it; read back as the controller reads it, the dry run clean, every proof clean.
func TestEveryWayOfWritingIsProved(t *testing.T) {
	for _, tc := range []struct {
		name, section   string
		has, hasNot     []string // patterns of lines of the cutting program
		dryHas, dryLack []string
	}{
		{"as ever", "program: {}", []string{`^M4$`, `^S800$`, `^\(OUTLINE `, `^M2$`, `^G17 G21 G40 G49$`}, []string{`^M[789]`, `^M0`, `\r`}, nil, nil},
		{"power with the move, semicolons", "dialect: {semicolon_comments: yes}, program: {power: with-move, comments: semicolons, one_code: yes, numbers: short}",
			[]string{`^; OUTLINE `, `^M4$`, `^G1 .* S800$`, `^G0 .* S0$`, `^G17$`, `^G21$`}, []string{`^S`, `\(`, `^G17 `, `^G.*\.[0-9]*0( |$)`}, nil, []string{`^M[345]$.*S[1-9]`}},
		{"power with the beam word, no comments", "beam: M3, dialect: {power_word: M}, program: {comments: none, line_end: crlf, last: M30}",
			[]string{`^M3 S800\r$`, `^M5 S0\r$`, `^M30\r$`}, []string{`\(`, `;`, `^S`, `[^\r]$`}, nil, []string{`^M3 `}},
		{"air and stops", "dialect: {extra_words: [M8]}, program: {air: M8, air_for: [cut, score], pause: yes, park: yes, start: [G64], end: [M9]}, park: {x: 5, y: 7}",
			[]string{`^M8$`, `^M9$`, `^M0$`, `^G64$`, `^G0 X5.0000 Y7.0000$`}, []string{`^M7`}, []string{`^G0 X5.0000 Y7.0000$`}, []string{`^M8`, `^M0`}},
		{"inches", "program: {unit: in, power: with-beam}", []string{`^G17 G20 G40 G49$`, `^G1 X[0-9]+\.[0-9]{5} `}, []string{`G21`}, nil, nil},
		{"everything at once", "beam: M3, power_scale: 255, dialect: {semicolon_comments: yes}, program: {power: with-move, one_code: yes, comments: semicolons, numbers: short, line_end: crlf, unit: in, air: M7, air_for: [cut, score, letter], pause: yes, park: yes, last: M30}",
			[]string{`^M3\r$`, `^M7\r$`, `^M0\r$`, `^G1 .* S204\r$`}, []string{`\(`, `^M8`}, nil, nil},
	} {
		if testing.Short() && tc.name != "everything at once" {
			continue
		}
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			text := writtenFor(t, tc.section)
			if strings.Contains(tc.section, "power_scale: 255") {
				text = strings.NewReplacer("power: 800", "power: 80 %", "power: 150", "power: 15 %", "power: 100", "power: 10 %").Replace(text)
			}
			o, err := Read("job.yaml", []byte(text), nil)
			require.NoError(t, err)
			m, err := o.Build(context.Background(), outputOptions)
			require.NoError(t, err)
			for _, c := range m.Failures() {
				t.Errorf("%s: %s", c.ID, c.Text)
			}
			for _, c := range m.Set.Checks {
				if stops := regexp.MustCompile(`; line \d+: the program stops here and goes on moving on line \d+ \[D608\]`); strings.HasPrefix(c.ID, "dry-run:") {
					if strings.Contains(tc.section, "pause") { // which is said, and nothing else
						assert.NotContains(t, stops.ReplaceAllString(c.Text, ""), "[D")
						continue
					}
					assert.Equal(t, jig.Pass, c.Verdict, "%s: %s", c.ID, c.Text)
				}
			}
			for name, want := range map[string][2][]string{"sheet-1.nc": {tc.has, tc.hasNot}, "sheet-1-dryrun.nc": {tc.dryHas, tc.dryLack}} {
				data, ok := m.file(name)
				require.True(t, ok)
				lines := bytes.Split(bytes.TrimSuffix(data, []byte("\n")), []byte("\n"))
				for k, patterns := range want {
					for _, p := range patterns {
						re, found := regexp.MustCompile(p), ""
						for _, l := range lines {
							if re.Match(l) {
								found = string(l)
								break
							}
						}
						assert.Equal(t, k == 0, found != "", "%s: %s: %q", name, p, found)
					}
				}
			}
		})
	}
}

// What would not be understood, or would change what a program relies on, is refused by name.
func TestWaysThatCannotBeWritten(t *testing.T) {
	for section, says := range map[string]string{
		"dialect: {power_word: M}, program: {power: own-line}":               "on a line of its own",
		"dialect: {power_word: M}, program: {power: with-move}":              "with the move",
		"dialect: {semicolon_comments: no}, program: {comments: semicolons}": "not said to read them",
		"dialect: {decimals: 3}":                                             "4 digits after the point",
		"dialect: {decimals: 4}, program: {unit: in}":                        "5 digits after the point",
		"dialect: {refused_words: [M30]}, program: {last: M30}":              "M30 would be written",
		"dialect: {refused_words: [M0]}, program: {pause: yes}":              "M0 would be written",
		"dialect: {refused_words: [M9]}, program: {air: M7}":                 "M9 would be written",
		"dialect: {refused_words: [G20]}, program: {unit: in}":               "G20 would be written",
		"program: {start: [M3]}":                                             "M3 may move, burn",
		"program: {end: [G28]}":                                              "G28 may move, burn",
		"program: {air: M8, air_for: [engrave]}":                             "no operation",
	} {
		o, err := Read("job.yaml", []byte(writtenFor(t, section)), nil)
		require.NoError(t, err, section)
		_, err = o.Build(context.Background(), outputOptions)
		list := problem.From(err)
		require.NotEmpty(t, list, section)
		assert.Equal(t, "M019", list[0].Code, section)
		assert.Contains(t, list[0].Msg, says, section)
		assert.NotEmpty(t, list[0].Help)
	}
}

// The demo for each built-in controller, and a small job with each trait that a controller
// may have, on and off: written, read back as that controller reads, the dry run and every
// proof clean, without a word that was only assumed. Every run takes a third of them;
// SPOTJIG_ALL=1 takes all, and makes pages and papers of the small job as well.
func TestEveryTraitOfAControllerIsProved(t *testing.T) {
	type row struct{ name, text string }
	var rows []row
	for _, name := range machine.ControllerNames() {
		rows = append(rows, row{name, writtenFor(t, "controller: "+name)})
	}
	const small = "name: Toy table\ntable: {size: match carom, length: 1200, width: 600}\ngames: [carom]\njig: {for: this, letters: short, tolerance: 3 mm}\nmaterial: {thickness: 4.9 mm}\n"
	for _, section := range []string{
		"dialect: {after_end: restored}", "dialect: {after_end: kept}", "dialect: {line_ends: any}, program: {line_end: crlf}", "dialect: {line_ends: lf}", "dialect: {line_ends: lf}, program: {line_end: crlf}",
		"dialect: {dark_rapids: yes}", "dialect: {dark_rapids: no}", "dialect: {power_word: S}", "dialect: {power_word: M}, program: {power: with-beam}",
		"dialect: {home_words: all}", "dialect: {home_words: named}", "dialect: {acts_on: none}", "dialect: {acts_on: [0x21, 0x3F, 0x7E, 0x80-0xFF]}",
		"dialect: {arc_tolerance: 0.002 mm}", "dialect: {arc_tolerance: 0.05 mm}", "dialect: {decimals: 4}", "dialect: {decimals: 10}", "dialect: {refused_words: [G92, M7, G28]}", "dialect: {refused_words: []}",
		"dialect: {semicolon_comments: yes}, program: {comments: semicolons}", "dialect: {semicolon_comments: no}", "dialect: {dwell_ms: yes}", "dialect: {dwell_ms: no}", "dialect: {line_max: 70}", "dialect: {line_max: 256}",
		"power_on: G21 G90 G17 G94 G54 G40 G49 G98", "beam: M3", "beam: M4", "power_scale: 255", "power_scale: 1",
	} {
		rows = append(rows, row{section, small + "machine: {like: laser-600x400, " + section + "}\n"})
	}
	for i, r := range rows {
		if os.Getenv("SPOTJIG_ALL") == "" && i%3 != 0 || testing.Short() && i%9 != 0 {
			continue
		}
		t.Run(r.name, func(t *testing.T) {
			t.Parallel()
			o, err := Read("job.yaml", []byte(r.text), nil)
			require.NoError(t, err)
			opt := outputOptions
			if strings.HasPrefix(r.text, small) && os.Getenv("SPOTJIG_ALL") == "" {
				opt = ofTheCut(opt)
			}
			m, err := o.Build(context.Background(), opt)
			require.NoError(t, err)
			dry := 0
			for _, c := range slices.Concat(m.Failures(), m.Set.Checks) {
				if strings.HasPrefix(c.ID, "dry-run:") {
					dry++
				} else if c.Verdict != jig.Fail {
					continue
				}
				assert.Equal(t, jig.Pass, c.Verdict, "%s: %s", c.ID, c.Text)
				assert.NotContains(t, c.Text, "[D")
			}
			assert.Equal(t, 3*len(m.Set.Sheets)+1, dry)
		})
	}
}
