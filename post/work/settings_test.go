package work

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
	"spotjig/post/dryrun"
	"spotjig/post/manual"
)

// What a user sets does something, or he is told that it does not: every key that the
// readers know, in jobs of every process, for a game of strings and a game of spots. Keys
// come from the readers' own list, so that a new one is tried without being named here; it
// needs a value below only if its example is what a job has anyway.

// setting is a key of a job file with its value.
type setting struct{ key, value string }

// written is a job file of settings, one key a line; of one key the last counts.
func written(settings ...setting) string {
	top := &keyed{}
	for _, s := range settings {
		top.at(stepsOf(s.key)).text = s.value
	}
	var b strings.Builder
	top.write(&b, "")
	return strings.TrimLeft(b.String(), "\n")
}

// keyed is a level of such a file: keys, items of a list, or a value.
type keyed struct {
	keys  []string
	below map[string]*keyed
	items []*keyed
	text  string
}

// stepsOf are the names in a key's path; "[]" is the first item of a list.
func stepsOf(key string) []string {
	var out []string
	for _, n := range strings.Split(strings.NewReplacer("59.1", "59,1", "59.2", "59,2", "59.3", "59,3").Replace(key), ".") {
		n, list := strings.CutSuffix(n, "[]")
		out = append(out, strings.ReplaceAll(n, ",", "."))
		if list {
			out = append(out, "[]")
		}
	}
	return out
}

func (k *keyed) at(steps []string) *keyed {
	if len(steps) == 0 {
		*k = keyed{}
		return k
	}
	if k.text = ""; steps[0] == "[]" {
		if len(k.items) == 0 {
			k.items = []*keyed{{}}
		}
		return k.items[0].at(steps[1:])
	}
	if k.below == nil {
		k.below = map[string]*keyed{}
	}
	if k.below[steps[0]] == nil {
		k.below[steps[0]] = &keyed{}
		k.keys = append(k.keys, steps[0])
	}
	return k.below[steps[0]].at(steps[1:])
}

func (k *keyed) write(b *strings.Builder, indent string) {
	switch {
	case k.items != nil:
		b.WriteString("\n")
		for _, it := range k.items {
			var item strings.Builder
			it.write(&item, indent+"  ")
			b.WriteString(indent + "- " + strings.TrimLeft(item.String(), "\n "))
		}
	case k.below != nil:
		b.WriteString("\n")
		for _, key := range k.keys {
			b.WriteString(indent + key + ":")
			k.below[key].write(b, indent+"  ")
		}
	default:
		b.WriteString(" " + k.text + "\n")
	}
}

// usualJobs are jobs of every process, with nothing said that need not be.
func usualJobs() map[string][]setting {
	out := map[string][]setting{}
	for _, game := range []string{"pool", "snooker"} {
		for name, cut := range map[string][]setting{
			"laser": {{"machine.like", "laser-900x600"}, {"material.kind", "cast acrylic"}, {"material.thickness", "4.9"}},
			"film":  {{"machine.like", "knife-1200x600"}, {"material.kind", "polyester film"}, {"material.thickness", "0.36"}, {"jig.letters", "none"}},
			"card":  {{"machine.like", "knife-1200x600"}, {"material.kind", "card"}, {"material.thickness", "1"}, {"jig.letters", "none"}},
			"shop":  {{"machine.process", "shop"}, {"material.kind", "cast acrylic"}, {"material.thickness", "4.9"}},
		} {
			// A size that is a name as well, so that it matters whether it was measured.
			out[name+", "+game] = append([]setting{{"name", "Quarry Road"}, {"games", "[" + game + "]"}, {"table.length", "84 in"}, {"table.width", "42 in"}}, cut...)
		}
	}
	return out
}

// otherValues are valid values that a job has not anyway, by patterns of keys; of a key
// that has none here, or of one of a few words, those that the readers and the manual tell.
var otherValues = map[string][]string{
	"name": {"Mill Lane"}, "games": {"[carom]"}, "table.length": {"2140"}, "table.width": {"1070"}, "table.resolution": {"2 mm"},
	"survey.length_*": {"2134.5"}, "survey.width_*": {"1067.5"}, "survey.diagonal_*_head": {"1922.5"},
	"survey.side_station": {"250"}, "survey.width_station": {"250"}, "survey.diagonal_station": {"260"}, "survey.resolution": {"2 mm"}, "survey.nose_height": {"35 mm"},
	"choices.anchor": {"7in", "9in"}, "choices.min_apart": {"100"}, "balls.diameter": {"54 mm"}, "house[].kind": {"spot", "line", "arc", "rectangle"},
	"also_tables[].name": {"table 3"}, "also_tables[].length": {"2200"}, "also_tables[].width": {"1090"}, "jig.tolerance": {"2.5 mm"}, "jig.hall_temperature": {"12"},
	"jig.marker.tip": {"1 mm"}, "jig.marker.guide": {"3.2 mm"}, "jig.sticker": {"20 mm"}, "jig.nose_contact": {"0.4 mm"}, "jig.fin_seat": {"0.2 mm"},
	"jig.side_reading": {"0.4 mm"}, "jig.sighting": {"0.3 mm"}, "jig.joint_closure": {"0.1 mm"}, "jig.ties.width": {"0.8 mm"}, "jig.side_travel": {"8 mm"}, "jig.piece_max": {"500 mm"},
	"material": {"cast-acrylic-6", "card-1"}, "material.like": {"cast-acrylic-6", "card-1"}, "material.kind": {"extruded acrylic", "vinyl"}, "material.sold": {"5.1"}, "material.thickness": {"4.8", "0.9"},
	"material.kerf": {"0.22"}, "material.expansion_ppm": {"90"}, "material.moisture_ppm": {"50"}, "material.density": {"1300"}, "material.modulus": {"0.2"}, "material.power_cap": {"60 %"},
	"material.sheets[].width": {"800"}, "material.sheets[].height": {"500"}, "material.sheets[].count": {"1"},
	"material.cut.power": {"70 %"}, "material.score.power": {"20 %"}, "material.letter.power": {"20 %"}, "material.*.feed": {"11 mm/s"}, "material.*.depth": {"-0.12"},
	"machine": {"laser-600x400", "knife-600x300"}, "machine.like": {"laser-600x400", "knife-600x300"}, "machine.controller": {"report-only", "line-streamed-dark", "full-language", "file-run"},
	"machine.travel.x": {"700"}, "machine.travel.y": {"500"}, "machine.limits.x": {"[-700, 0]"}, "machine.limits.y": {"[-500, 0]"}, "machine.limits.z": {"[-3, 2]"}, "machine.travel.z": {"3 mm"},
	"machine.power_on": {"G21 G91"}, "machine.power_scale": {"255"}, "machine.pierce_max": {"0.2 s"}, "machine.still_max": {"3 s"}, "machine.wavelength": {"9300 nm", "450 nm"},
	"machine.feed_max": {"10 mm/s"}, "machine.parameters": {"zero"}, "machine.dialect.extra_words": {"[M62]"}, "machine.dialect.home_words": {"named", "all"}, "machine.dialect.line_ends": {"any"}, "machine.rapid_max": {"100 mm/s"}, "machine.accel_*": {"500"}, "machine.junction": {"0.1"}, "machine.margin": {"20"}, "machine.support_pitch": {"20"},
	"machine.time_max": {"10 s"}, "machine.repeat_max": {"1"}, "machine.rate": {"30"}, "machine.keep_out[].name": {"vice"}, "machine.park.*": {"2 mm"},
	"machine.dialect.line_max": {"60"}, "machine.dialect.arc_tolerance": {"0.2 mm"}, "machine.dialect.decimals": {"4", "6"}, "machine.dialect.refused_words": {"[G28]"}, "machine.dialect.acts_on": {"none"},
	"machine.program.start": {"[G64]"}, "machine.program.end": {"[G64]"},
	"machine.knife.offset": {"0.5"}, "machine.knife.wedge": {"40"}, "machine.knife.up": {"4"}, "machine.knife.skin": {"-0.12"}, "machine.knife.floor": {"-1.6"}, "machine.knife.plunge": {"4 mm/s"},
	"machine.knife.lift": {"10 mm/s"}, "machine.knife.swivel": {"4 mm/s"}, "machine.knife.swivel_angle": {"15"}, "machine.knife.arc_min": {"0.5"}, "machine.knife.misalignment": {"0.2"}, "machine.knife.sheet_max": {"0.2"},
	"colours.*": {"'#ff00ff'"},
}

// besides are settings that a key needs beside it to mean anything, by patterns; a value of
// "-" takes a setting of the usual job away.
var besides = map[string][]setting{
	"survey.*": {{"table.length", "-"}, {"table.width", "-"}, {"table.measured", "nose-to-nose"}, {"survey.length_left", "2134"}, {"survey.length_right", "2133"}, {"survey.width_head", "1067"}, {"survey.width_middle", "1066"},
		{"survey.width_foot", "1066"}, {"survey.diagonal_left_head", "1923"}, {"survey.diagonal_right_head", "1922"}},
	"choices.min_apart":          {{"house[].id", "mine"}, {"house[].kind", "spot"}, {"house[].x", "L/2 + 40 mm"}, {"house[].y", "0"}},
	"survey.gap_*":               {{"survey.gap_head", "0.1"}, {"survey.gap_foot", "0.1"}},
	"house[].*":                  {{"house[].id", "mine"}, {"house[].kind", "line"}, {"house[].x", "L/3"}, {"house[].y", "100"}, {"house[].x2", "L/3"}, {"house[].y2", "-100"}},
	"house[].kind":               {{"house[].radius", "100"}},
	"house[].radius":             {{"house[].kind", "arc"}, {"house[].radius", "100"}},
	"house[].*_deg":              {{"house[].kind", "arc"}, {"house[].radius", "100"}},
	"also_tables[].*":            {{"also_tables[].name", "table 2"}, {"also_tables[].length", "2133"}, {"also_tables[].width", "1066"}},
	"material.sheets[].*":        {{"material.sheets[].width", "900"}, {"material.sheets[].height", "600"}},
	"material.sheets[].count":    {{"material.sheets[].width", "500"}, {"material.sheets[].height", "300"}}, // of which a jig takes more than one
	"machine.keep_out[].*":       {{"machine.keep_out[].min.x", "0"}, {"machine.keep_out[].min.y", "0"}, {"machine.keep_out[].max.x", "3"}, {"machine.keep_out[].max.y", "3"}},
	"machine.dialect.home_words": {{"machine.homes.G28.x", "10"}, {"machine.homes.G28.y", "10"}},
	"machine.knife.tight_arcs":   {{"machine.knife.arc_min", "2"}},
	"machine.repeat_max":         {{"material.cut.passes", "2"}},
}

// matching is what a table has for a key, by the longest pattern.
func matching[T any](table map[string]T, key string) (is T) {
	best := -1
	for pattern, v := range table {
		ok, err := path.Match(strings.NewReplacer(".", "/", "[]", "()").Replace(pattern), strings.NewReplacer("59.1", "59,1", "59.2", "59,2", "59.3", "59,3", ".", "/", "[]", "()").Replace(key))
		if err == nil && ok && len(pattern) > best {
			best, is = len(pattern), v
		}
	}
	return is
}

// without takes away settings at and below a key, and what others need beside them is put.
func with(job []setting, more ...setting) []setting {
	out := slices.Clone(job)
	for _, m := range more {
		out = slices.DeleteFunc(out, func(s setting) bool { return s.key == m.key })
		if m.value != "-" {
			out = append(out, m)
		}
	}
	return out
}

// settable are the keys that a person sets, with the values to try.
func settable(t *testing.T) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	for _, e := range manual.Entries() {
		key := e.Names[0]
		if e.Kind != manual.Key || e.Example == "" || strings.HasPrefix(key, "made.") || key == "assumed" {
			continue // sections, and what spotjig writes into a set's own file
		}
		values := matching(otherValues, key)
		switch {
		case len(values) > 0:
		case len(e.Values) > 0:
			values = e.Values
		case e.Form == "yes or no":
			values = []string{"yes", "no"}
		default:
			v := e.Example
			if !strings.HasPrefix(v, "[") {
				v = `"` + v + `"`
			}
			values = []string{v}
		}
		out[key] = values
	}
	require.Greater(t, len(out), 230)
	return out
}

// reading is what reading a job comes to.
type readJob struct {
	order   *Order
	refused problem.List
	told    problem.List
	settled string // every value, whoever stated it
}

// readUsual reads a job that many keys are tried in, once for all of them.
func readUsual(t *testing.T, settings []setting) readJob {
	t.Helper()
	r, err := keep(written(settings...), "read", func() (readJob, error) { return readSettings(t, settings), nil })
	require.NoError(t, err)
	return r
}

func readSettings(t *testing.T, settings []setting) readJob {
	t.Helper()
	o, err := Read("job.yaml", []byte(written(settings...)), nil)
	if err == nil {
		_, _, err = o.Sheet()
	}
	if err != nil {
		require.NotEmpty(t, problem.From(err), "%v", err)
		return readJob{refused: problem.From(err)}
	}
	r := readJob{order: o, told: o.Notes}
	for _, l := range strings.SplitAfter(o.Job.Ledger.YAML(), "\n") {
		if !strings.HasPrefix(l, "assumed: ") && (!strings.HasPrefix(l, "  ") || strings.Contains(l, ": ")) {
			r.settled += strings.Replace(l, "  # assumed", "", 1)
		}
	}
	return r
}

// idle are the notices that a key changes nothing; others are the rest.
func (r readJob) idle() problem.List {
	return slices.DeleteFunc(slices.Clone(r.told), func(p problem.Problem) bool { return p.Code != "J096" })
}

func (r readJob) others() (out []string) {
	for _, p := range r.told {
		if p.Code != "J096" {
			out = append(out, p.Code+" "+p.Field)
		}
	}
	return out
}

// naming tells whether a problem is about a key, or about a section that it stands in.
func naming(list problem.List, key string) bool {
	key = strings.ReplaceAll(key, "[]", "[0]")
	return slices.ContainsFunc(list, func(p problem.Problem) bool {
		return p.Code != "" && p.Help != "" && p.Line > 0 && p.File != "" && (p.Field == key || strings.HasPrefix(key, p.Field+".") || strings.HasPrefix(key, p.Field+"[") || strings.HasPrefix(p.Field, key+"["))
	})
}

// What is made of a job, step by step, the cheapest first; where two jobs differ in one,
// they differ.
type made map[string]string

// shownBy are the steps.
var shownBy = []func(o *Order) made{
	// What other commands tell: marks and balls, and what a dry run finds in programs.
	func(o *Order) made {
		out := made{}
		fit, err := layout.FitBalls(o.Request())
		if err == nil {
			var b bytes.Buffer
			if err := layout.WriteBalls(&b, fit, screen.Look{}); err == nil {
				out["balls"] = b.String()
			}
		}
		out["card"] = fmt.Sprintf("%+v", layout.TapeCard(o.Request(), o.Plan))
		p, m, err := o.Sheet()
		if err != nil || p.Process == machine.Shop {
			return out
		}
		p.Name, p.Controller = "machine", "" // which a report repeats
		for i, program := range judgedPrograms {
			for _, material := range []bool{true, false} {
				opt := dryrun.Options{File: "p.nc", Machine: &p}
				if material {
					opt.Material = &m
				}
				rep, err := dryrun.Run(context.Background(), strings.NewReader(program), opt)
				if err == nil {
					var b bytes.Buffer
					if err := dryrun.WriteJSON(&b, []dryrun.Report{rep}); err == nil {
						out[fmt.Sprint("program ", i, material)] = b.String()
					}
				}
			}
		}
		return out
	},
	// Pieces on their sheets, as drawings.
	func(o *Order) made { return drawnOf(o, false) },
	// Toolpaths, page and papers.
	func(o *Order) made { return drawnOf(o, true) },
	// All, with how long it takes and what the checks say.
	func(o *Order) made {
		opt := outputOptions
		opt.SVG = true
		return filesOf(o.Build(context.Background(), opt))
	},
	// The test piece.
	func(o *Order) made { return filesOf(o.BuildTestPiece(context.Background(), outputOptions)) },
}

func filesOf(m Made, err error) made {
	if err != nil {
		return made{"refused": problem.Text(err)}
	}
	out := made{"failures": told(m.Failures())}
	for _, f := range m.Files {
		if f.Name != JobName && f.Name != RecordName && f.Name != SumsName { // which repeat what was set, and its hashes
			out[f.Name] = string(f.Data)
		}
	}
	return out
}

func drawnOf(o *Order, all bool) made {
	opt := outputOptions
	opt.SVG = true
	r, err := o.begin(opt)
	if err == nil {
		err = r.design()
	}
	if err == nil && all {
		err = r.laid()
	} else if err == nil {
		err = r.steps.lay(&r.made.Set)
	}
	if err != nil {
		return made{"refused": problem.Text(err)}
	}
	out := made{"failures": told(r.made.Failures())}
	for _, f := range r.templateOutputs() {
		if f.name == JobName || f.when > stageShown || !all && path.Ext(f.name) != ".dxf" && f.name != "marks.csv" {
			continue
		}
		var b bytes.Buffer
		if err := f.write(&b, r.made.Set); err != nil {
			b.WriteString(err.Error())
		}
		out[f.name] = b.String()
	}
	return out
}

// differs is the first thing in which two are not the same; "" when they are.
func (m made) differs(n made) string {
	var names []string
	for _, of := range []made{m, n} {
		for name := range of {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	for _, name := range names {
		if a, b := m[name], n[name]; a != b {
			return name
		}
	}
	return ""
}

// judgedPrograms use what a machine's file says for the dry run of anybody's programs.
var judgedPrograms = []string{
	"G21 G90 G17 G94 G54 G40 G49\nG0 X10 Y10\nM4 S300\nG1 X30 F600\nM5 S0\nM2\n",
	"G0 X10 Y10\nG1 X30 F600\nM30\n",
	"G21 G90 G17 G94 G54 G40 G49\nM3 S1000\nG4 P0.3\nG1 X30 F600\nG0 X50\nG1 X60 S900\nG1 X60.001 F0.05\nM5\nM2\n",
	"G21 G90 G17 G94 G54 G40 G49 (hi! ~ caf\u00e9)\nM4\nS500\nG1 X20 F600\nM8\nM7\nM5 ; off\nG64\nG92 X0\nG92.1\nM2\n",
	"G21 G90 G17 G94 G54 G40 G49\nG0 Z5\nG0 X10 Y10\nG1 Z-0.3 F300\nG1 X20 F600\nG0 Z5\nG0 X30\nG1 Z-0.3 F300\nG1 X40 Y10.35 F600\nG0 Z5\nM2\n",
	"G21 G90 G17 G94 G54 G40 G49\nM62\nM2\n",
	"G21 G90 G17 G94 G54 G40 G49\rG0 X1\rM2\r",
	"G21 G90 G17 G94 G54 G40 G49\nG28 X5\nG30 X5 Y5 Z1\nG28\nM2\n",
	"G21 G90 G17 G94 G54 G40 G49\nG0 X30 Y40\nG28 X5\nG1 X20 F600\nM2\n",
	"G21 G90 G17 G94 G54 G40 G49\nG55 G0 X1 Y1 Z1\nG56 G0 X1 Y1 Z1\nG57 G0 X1 Y1 Z1\nG58 G0 X1 Y1 Z1\nG59 G0 X1 Y1 Z1\nG59.1 G0 X1 Y1 Z1\nG59.2 G0 X1 Y1 Z1\nG59.3 G0 X1 Y1 Z1\nG54 G0 X1 Y1 Z1\nM2\n",
	"G21 G90 G17 G94 G54 G40 G49\nG0 X#5221 Y#100\nG2 X10.1 Y0 I5 F600\nG90.1\nG2 X20 Y0 I15.0004 J0\nG90.1 G2 X30.12345678 Y0 I25 J0\nM2\n",
	"G21 G90 G17 G94 G54 G40 G49\nT1 M6\nM3 S1000\nG1 Z-1 F100\nG1 X20 F600\nM5\nM2\n",
	"G21 G90 G17 G94 G54 G40 G49\nG0 X1 " + "(a long remark of more than sixty characters in a line of its own here)" + "\nM2\n",
}

// settingCase is a key with a value in a job.
type settingCase struct {
	job, key, value string
	usual, set      []setting
	before, after   readJob
	told, refused   bool // told: that the key changes nothing
	answered        bool // by another notice, or by one that is gone
}

// TestEverySettingMattersOrIsTold tries every key in every job. Reading tells of most that
// change nothing; what the others change is looked for in what is made: a few of them, with
// one value of each key, in every run, more with SPOTJIG_ALL=1, with SPOTJIG_SETTINGS=all all of them, with another
// word those that hold it.
func TestEverySettingMattersOrIsTold(t *testing.T) {
	if testing.Short() {
		t.Skip("reads some 4,000 jobs")
	}
	only := os.Getenv("SPOTJIG_SETTINGS")
	keys := settable(t)
	var names []string
	for key := range keys {
		names = append(names, key)
	}
	sort.Strings(names)
	var cases []settingCase
	tried := map[string]bool{}
	for job, usual := range usualJobs() {
		for _, key := range names {
			for _, value := range keys[key] {
				if value == "line-streamed-dark" && (strings.HasPrefix(job, "film") || strings.HasPrefix(job, "card")) {
					continue // a name for what the usual one does, but for its beam
				}
				c := settingCase{job: job, key: key, value: value, usual: with(usual, matching(besides, key)...)}
				if key != "survey" && strings.HasPrefix(key, "survey.") && matching(besides, key)[0].key != "table.length" {
					c.usual = with(with(usual, besides["survey.*"]...), matching(besides, key)...)
				}
				if strings.HasPrefix(key, "house[].") {
					c.usual = with(with(usual, besides["house[].*"]...), matching(besides, key)...)
				}
				if len(readUsual(t, c.usual).refused) > 0 {
					c.usual = usual // of another process: what stands beside the key is as wrong
				}
				c.set = with(c.usual, setting{key, value})
				c.before, c.after = readUsual(t, c.usual), readSettings(t, c.set)
				require.Empty(t, c.before.refused, "%s, beside %s:\n%s", job, key, written(c.usual...))
				if c.after.settled == c.before.settled && len(c.after.refused) == 0 && naming(c.before.told, key) == naming(c.after.told, key) {
					continue // as it is anyway
				}
				tried[key] = true
				c.refused, c.told = len(c.after.refused) > 0, naming(c.after.idle(), key)
				c.answered = !c.refused && !c.told && !slices.Equal(c.before.others(), c.after.others())
				cases = append(cases, c)
				if only == "" && os.Getenv("SPOTJIG_ALL") == "" {
					break // one value of each key
				}
			}
		}
	}
	for _, key := range names {
		assert.True(t, tried[key], "%s: no value is tried that a job has not anyway: give one in otherValues", key)
	}
	var silent []settingCase
	toldOf, refusedOf := 0, 0
	for _, c := range cases {
		switch {
		case c.refused:
			refusedOf++
		case c.told:
			toldOf++
		}
		if !c.refused && !c.answered {
			silent = append(silent, c)
		}
	}
	t.Logf("%d cases: %d refused, %d told, %d to be looked for", len(cases), refusedOf, toldOf, len(silent)-toldOf)
	sort.Slice(silent, func(i, k int) bool {
		return silent[i].key+silent[i].value+silent[i].job < silent[k].key+silent[k].value+silent[k].job
	})
	if only == "" {
		every := 523
		if os.Getenv("SPOTJIG_ALL") != "" {
			every = 130
		}
		var some []settingCase
		for i, c := range silent {
			if i%every == 0 {
				some = append(some, c)
			}
		}
		silent = some
	}
	if only != "" && only != "all" {
		silent = slices.DeleteFunc(silent, func(c settingCase) bool { return !strings.Contains(c.job+" "+c.key, only) })
	}
	require.NoError(t, eachOf(len(silent), func(i int) error {
		silent[i].look(t)
		return nil
	}))
}

// look looks for what a setting changes.
func (c settingCase) look(t *testing.T) {
	usual := written(c.usual...)
	for i, step := range shownBy {
		if c.told && i == 0 {
			continue // of anybody's programs another thing may be true
		}
		before, err := keep(usual, fmt.Sprint("step ", i), func() (made, error) { return step(c.before.order), nil })
		if err != nil {
			t.Error(err)
		}
		at := before.differs(step(c.after.order))
		switch {
		case at != "" && c.told:
			t.Errorf("%s: %s: %s is said to change nothing, and changes %s", c.job, c.key, c.value, at)
			return
		case at != "":
			return
		}
	}
	if !c.told {
		t.Errorf("%s: %s: %s changes nothing, and nobody is told", c.job, c.key, c.value)
	}
}
