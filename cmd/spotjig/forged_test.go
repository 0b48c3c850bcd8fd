package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cmd/spotjig/folder"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/work"
)

// forgery is an edit of a finished set by somebody who then computes every hash anew, as
// anybody can.
type forgery struct {
	name string
	edit func(t *testing.T, set map[string]string)
}

// in changes one file by a pattern; it must change something.
func in(file, pattern, with string) func(*testing.T, map[string]string) {
	return func(t *testing.T, set map[string]string) {
		was, ok := set[file]
		require.True(t, ok, file)
		set[file] = regexp.MustCompile(pattern).ReplaceAllString(was, with)
		require.NotEqual(t, was, set[file], "nothing was forged")
	}
}

// once changes the first match only.
func once(file, pattern, with string) func(*testing.T, map[string]string) {
	return func(t *testing.T, set map[string]string) {
		was, ok := set[file]
		require.True(t, ok, file)
		re := regexp.MustCompile(pattern)
		at := re.FindStringSubmatchIndex(was)
		require.NotNil(t, at, "nothing to forge: %s", pattern)
		set[file] = was[:at[0]] + string(re.ExpandString(nil, with, was, at)) + was[at[1]:]
	}
}

// all makes several edits one forgery.
func all(edits ...func(*testing.T, map[string]string)) func(*testing.T, map[string]string) {
	return func(t *testing.T, set map[string]string) {
		for _, e := range edits {
			e(t, set)
		}
	}
}

func add(file, text string) func(*testing.T, map[string]string) {
	return func(_ *testing.T, set map[string]string) { set[file] += text }
}

func drop(file string) func(*testing.T, map[string]string) {
	return func(t *testing.T, set map[string]string) { require.Contains(t, set, file); delete(set, file) }
}

func swap(a, b string) func(*testing.T, map[string]string) {
	return func(t *testing.T, set map[string]string) {
		require.Contains(t, set, a)
		set[a], set[b] = set[b], set[a]
		require.NotEqual(t, set[a], set[b])
	}
}

// laserForgeries, and those of blades, shops and test pieces, are what could hurt a person,
// a sheet or a cloth, or mislead who reads the folder.
func laserForgeries() []forgery {
	const nc, dxf = "sheet-1.nc", "sheet-1.dxf"
	return []forgery{
		{"feeds a hundredth: fire", in(nc, `F(\d+)\d\d\b`, "F$1")},
		{"one feed changed", once(nc, `F720`, "F72")},
		{"all cautions gone from the program", in(nc, `(?m)^\([^()]*(?i:laser|fire|fumes|never|dry run)[^()]*\)\n`, "")},
		{"a beam across all pieces, called lettering", once(nc, `(?m)^M5\n`, "(LETTERING H1 text)\nG0 X10 Y10\nM4\nS120\nG1 X500 Y300\nM5\n$0")},
		{"full power for the lettering", in(nc, `S120`, "S1000")},
		{"M3 for M4", in(nc, `M4`, "M3")},
		{"a beam in the dry run", once("sheet-1-dryrun.nc", `(?m)^G1 `, "M4\nS1000\nG1 ")},
		{"the edges program cut larger", once("sheet-1-edges.nc", `(?m)^(G1 X)(\d)`, "${1}1$2")},
		{"cut and dry run exchanged", swap(nc, "sheet-1-dryrun.nc")},
		{"two sheets exchanged", all(swap(nc, "sheet-2.nc"), swap(dxf, "sheet-2.dxf"))},
		{"a cut left out", once(nc, `(?s)\(OPENING .*?\(`, "(")},
		{"a move left out", once(nc, `(?m)^G1 X.*\n`, "")},
		{"a digit of a coordinate", once(nc, `X(\d+)\.(\d)`, "X$1.9")},
		{"an arc the other way", once(nc, `(?m)^G2 `, "G3 ")},
		{"inches", once(nc, `G21`, "G20")},
		{"another work zero", once(nc, `G54`, "G55")},
		{"a home in the middle", once(nc, `(?m)^M5\n`, "M5\nG28 X0\n")},
		{"a dwell with the beam on", once(nc, `(?m)^G1 `, "G4 P60\nG1 ")},
		{"the end left out", in(nc, `(?m)^M2\n?`, "")},
		{"another sheet's number in the head", once(nc, `Sheet 1 of`, "Sheet 2 of")},
		{"a comment more", add(nc, "(harmless)\n")},
		{"an empty line more", add(nc, "\n")},
		{"line ends for another system", in(nc, `\n`, "\r\n")},
		{"a spot 5 mm off everywhere", all(once("record.json", `"x":524\.`, `"x":529.`), once("marks.csv", `524\.`, "529."), once(dxf, `(?m)^10\n(\d)`, "10\n9$1"))},
		{"a mark 5 mm off in the table", once("marks.csv", `,524\.(\d)`, ",529.$1")},
		{"a mark left out of the table", once("marks.csv", `(?m)^yellow.*\n`, "")},
		{"two marks exchanged", in("marks.csv", `yellow`, "green")},
		{"a budget's verdict turned", once("record.json", `("id":"budget:foot-spot","verdict":)"pass"`, `${1}"warn"`)},
		{"a check left out", once("record.json", `(?m)^ *\{"id":"dry-run.*\n`, "")},
		{"the kerf in the record", once("record.json", `"kerf":0\.\d+`, `"kerf":0.5`)},
		{"the machine in the record", once("record.json", `"max":\{"x":600`, `"max":{"x":900`)},
		{"the job's name in the record", once("record.json", `"name":"`, `"name":"x`)},
		{"a blank in the record", once("record.json", `:`, `: `)},
		{"a drawing in inches", once(dxf, `INSUNITS\n70\n4`, "INSUNITS\n70\n1")},
		{"a layer frozen", once(dxf, `(AcDbLayerTableRecord\n2\n[A-Z]+\n70\n)0`, "${1}1")},
		{"a second entities section", once(dxf, `0\nEOF`, "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\nOUTLINE\n10\n0.0\n20\n0.0\n11\n99.0\n21\n99.0\n0\nENDSEC\n0\nEOF")},
		{"a circle larger", once(dxf, `(CIRCLE(?s:.*?)\n40\n)(\d)`, "${1}9$2")},
		{"layers exchanged", in(dxf, `OPENING`, "SCORE")},
		{"a drawing left out", drop(dxf)},
		{"a foreign script in the page", once("view.html", `</body>`, `<script src="https://127.0.0.1/x.js"></script></body>`)},
		{"the page's policy opened", once("view.html", `default-src 'none'`, `default-src *`)},
		{"a caution left out of the page", once("view.html", `(?s)<ol class="cautions"><li>.*?</li>`, `<ol class="cautions">`)},
		{"a verdict of the page turned", once("view.html", `verdict pass`, `verdict fail`)},
		{"the page replaced", func(_ *testing.T, set map[string]string) { set["view.html"] = "<!doctype html><title>fine</title>" }},
		{"the job sheet replaced by nonsense", func(_ *testing.T, set map[string]string) { set["job-sheet.pdf"] = "%PDF-1.3\nnonsense\n%%EOF\n" }},
		{"the job sheet cut short", func(_ *testing.T, set map[string]string) {
			set["job-sheet.pdf"] = set["job-sheet.pdf"][:len(set["job-sheet.pdf"])/2]
		}},
		{"the paper proof another sheet's", swap("proof.pdf", "job-sheet.pdf")},
		{"a stranger's program more", add("sheet-9.nc", "G21 G90\nM3 S1000\nG1 X500 F100\nM2\n")},
		{"a stranger's text more", add("notes.txt", "cut at full power")},
		{"a file of the set left out", drop("marks.csv")},
		{"the record left out", drop(work.RecordName)},
		{"the hashes left out", drop(work.SumsName)},
		{"the job left out", drop(work.JobName)},
		{"the job's kerf changed", once(work.JobName, `(?m)kerf: 0\.\d+`, "kerf: 0.25")},
		{"the job's power changed", once(work.JobName, `power: (\d+)`, "power: 9$1")},
		{"the job's marker changed", once(work.JobName, `guide: [\d.]+`, "guide: 3.1")},
		{"another paper in the job", once(work.JobName, `paper: a4`, "paper: letter")},
		{"made with another version", once(work.JobName, `version: [\w.+-]+`, "version: 9.9.9")},
		{"another version, and a feed", all(once(work.JobName, `version: [\w.+-]+`, "version: 9.9.9"), once(nc, `F720`, "F72"))},
		{"no version", once(work.JobName, `(?m)^made: .*\n`, "")},
		{"made as a test piece", once(work.JobName, `what: template`, "what: test piece")},
	}
}

// remarksOnly are the forgeries that change no cut: no proof but that of the bytes sees
// them.
func remarksOnly() []string {
	return []string{
		"all cautions gone from the program", "a comment more", "an empty line more", "line ends for another system",
		"another sheet's number in the head",
	}
}

// forged writes the set with every hash computed anew.
func forged(t *testing.T, dir string, set map[string]string) {
	t.Helper()
	hash := func(name string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(set[name]))) }
	if rec, ok := set[work.RecordName]; ok {
		set[work.RecordName] = regexp.MustCompile(`\{"name":"([^"]+)","bytes":\d+,"sha256":"[0-9a-f]+"\}`).ReplaceAllStringFunc(rec, func(s string) string {
			name := regexp.MustCompile(`"name":"([^"]+)"`).FindStringSubmatch(s)[1]
			return fmt.Sprintf(`{"name":"%s","bytes":%d,"sha256":"%s"}`, name, len(set[name]), hash(name))
		})
	}
	if _, ok := set[work.SumsName]; ok {
		var files []work.File
		for _, line := range strings.Split(strings.TrimSpace(set[work.SumsName]), "\n") {
			_, name, _ := strings.Cut(line, "  ")
			if text, there := set[name]; there {
				files = append(files, work.File{Name: name, Data: []byte(text)})
			}
		}
		for name, text := range set {
			if !strings.Contains(set[work.SumsName], "  "+name+"\n") && name != work.SumsName {
				files = append(files, work.File{Name: name, Data: []byte(text)})
			}
		}
		sums := ""
		for _, f := range files {
			sums += fmt.Sprintf("%x  %s\n", sha256.Sum256(f.Data), f.Name)
		}
		set[work.SumsName] = sums
	}
	require.NoError(t, os.MkdirAll(dir, 0o777))
	for name, text := range set {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
}

// madeOnce makes again what a folder's job says, for all folders with the same job once.
// What a job makes is its text's alone: nothing else of a folder is read for it.
func madeOnce() func(*work.Order, context.Context) (work.Made, error) {
	var sets sync.Map
	return func(o *work.Order, ctx context.Context) (work.Made, error) {
		text, err := os.ReadFile(o.Name())
		if err != nil {
			return work.Made{}, err
		}
		once, _ := sets.LoadOrStore(string(text), sync.OnceValues(func() (work.Made, error) { return o.Again(ctx) }))
		return once.(func() (work.Made, error))()
	}
}

// verifying runs the real command with another way to make a set again.
func verifying(dir string, again func(*work.Order, context.Context) (work.Made, error)) said {
	var out, errw bytes.Buffer
	ctx := context.Background()
	root := newRootCmd(ctx, nil, &out, &errw)
	for _, c := range root.Commands() {
		if c.Name() == "verify" {
			root.RemoveCommand(c)
		}
	}
	root.AddCommand(newVerifyCmd(func(ctx context.Context, o verifyOptions) error {
		o.again = again
		return runVerify(ctx, o, &out)
	}))
	exit := execute(ctx, root, []string{"verify", dir}, &out, &errw)
	return said{out.String(), errw.String(), exit}
}

// tryForgeries makes each forgery of a sound set and has the real command look: it must
// name what is wrong, end with status 1 and say nothing good; with a false version in the
// job, too, for which every proof judges the folder. That the command is asked for each
// sixth, and the comparison alone for as many others; of those that change the job, which
// has to be made anew, each third is tried (SPOTJIG_ALL=1: all of all). The
// first forgery of a long list is made again as the command does; the others share what their
// jobs make.
func tryForgeries(t *testing.T, sound work.Made, forgeries []forgery) {
	t.Helper()
	require.Empty(t, sound.Failures())
	copied := func() map[string]string {
		set := map[string]string{}
		for _, f := range sound.Files {
			set[f.Name] = string(f.Data)
		}
		return set
	}
	dir := filepath.Join(t.TempDir(), "sound")
	forged(t, dir, copied())
	again := madeOnce()
	got := verifying(dir, again)
	require.Equal(t, exitDone, got.exit, got.err)
	require.Contains(t, got.out, "whole and unedited")
	for i, f := range forgeries {
		if testing.Short() && i%5 != 0 {
			continue
		}
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			dir := filepath.Join(t.TempDir(), "out")
			set := copied()
			job := set[work.JobName]
			f.edit(t, set)
			every := os.Getenv("SPOTJIG_ALL") != ""
			if text, there := set[work.JobName]; there && text != job && !every && i%3 != 0 {
				t.Skip("a set of its own: SPOTJIG_ALL=1 runs it")
			}
			forged(t, dir, set)
			got := verifying(dir, again)
			if i == 0 && (every || len(forgeries) > 9) {
				assert.Equal(t, call("", "verify", dir), got)
			}
			assert.Equal(t, exitProblem, got.exit, got.out)
			assert.Empty(t, got.out, "nothing good is said of a forged folder")
			assert.Contains(t, got.err, "help: ")
			assert.Regexp(t, `\[(F03[0-6]|[JLMS]0\d\d)\]`, got.err)
			if set[work.JobName] != job {
				return
			}
			assert.Regexp(t, `\[F03[234]\]`, got.err)
			if every || i%6 == 3 {
				namedWithFalseVersion(t, sound, dir, f.name)
			}
			if every || i%6 == 0 {
				set[work.JobName] = madeWith.ReplaceAllString(job, "version: 9.9.9")
				forged(t, dir, set)
				got = verifying(dir, again)
				assert.Equal(t, exitProblem, got.exit, got.out)
				assert.Empty(t, got.out)
				assert.Contains(t, got.err, "[F035]")
			}
		})
	}
}

// namedWithFalseVersion asserts that all that differs is named where the folder seems to be
// another version's, and that it is called sound only if no cut has changed.
func namedWithFalseVersion(t *testing.T, sound work.Made, dir, name string) {
	t.Helper()
	held, _, err := folder.Read(dir)
	require.NoError(t, err)
	err = sound.Compare(context.Background(), dir, held, work.Stamps{Folder: "9.9.9", Program: thisBuild().Stamp})
	require.ErrorContains(t, err, "[F035]")
	list := problem.From(err)
	for _, p := range sound.Differences(held) {
		assert.True(t, slices.ContainsFunc(list, func(q problem.Problem) bool { return q.File == filepath.Join(dir, p.File) }), p.File)
	}
	if strings.Contains(err.Error(), "passes every proof") && !strings.Contains(err.Error(), "[F033]") {
		assert.Contains(t, remarksOnly(), name)
	}
}

// madeWith is what a job says of the build that made it.
var madeWith = regexp.MustCompile(`version: [\w.+-]+`)

// TestForgeriesAreNamed edits a finished folder in sixty ways and computes all hashes anew.
// What differs from what its own job makes is named, whoever computed which hash.
func TestForgeriesAreNamed(t *testing.T) { tryForgeries(t, buildJob(t, ""), laserForgeries()) }

// A job that is edited and made by its rules is another job, and verify says which it is:
// that is no forgery.
func TestAnotherJobIsAnotherJob(t *testing.T) {
	if testing.Short() {
		t.Skip("two sets: left out with -short")
	}
	o, err := work.Read("job.yaml", bytes.Replace(job.Demo(), []byte("name: "), []byte("name: Other hall, once "), 1), nil)
	require.NoError(t, err)
	made, err := o.Build(context.Background(), makeDefaults)
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "out")
	require.NoError(t, folder.Replace(context.Background(), dir, made.Files, folder.Options{}))
	out, err := verify(dir)
	require.NoError(t, err)
	assert.Contains(t, out, "Other hall, once ")
}

// shortFilm is a film's job that is quickly made.
const shortFilm = `table: {size: 7 ft pool, length: 1981.2 mm, width: 990.6 mm}
games: [carom]
machine: knife-1200x600
material: {kind: polyester film, thickness: 0.35 mm}
jig: {letters: short}
`

// shortCard is a folded card's job that is quickly made.
const shortCard = `table: {size: 7 ft pool, length: 1981.2 mm, width: 990.6 mm}
games: [carom]
jig: {for: this, letters: short}
material:
  kind: card
  thickness: 1 mm
  sheets: [{width: 1000, height: 600}]
  score: {depth: -0.2 mm, feed: 40 mm/s}
  letter: {depth: -0.1 mm, feed: 40 mm/s}
machine:
  process: knife
  travel: {x: 1000, y: 600}
  offsets: {G54: {x: 0, y: 0, z: 0}}
  knife: {offset: 0.25 mm, wedge: 60 deg, sheet_max: 1 mm, floor: -1.5 mm, arc_min: 0.5 mm}
`

// The same for film, card, a shop's order and test pieces.
func TestOtherForgeriesAreNamed(t *testing.T) {
	if testing.Short() {
		t.Skip("a set each: TestForgeriesAreNamed has the demo's")
	}
	blade := []forgery{
		{"a cut deeper", in("sheet-1.nc", `Z-0\.`, "Z-1.")},
		{"openings 5 mm off", in("sheet-1.nc", `Y(\d)(\d)\.`, "Y${1}9.")},
		{"an opening left out", once("sheet-1.nc", `(?s)\(OPENING .*?\(`, "(")},
		{"a fold cut through", once("sheet-1.nc", `(?s)\(SCORE (.*?)Z-0\.1`, "(SCORE ${1}Z-0.6")},
		{"blade down in a travel", once("sheet-1.nc", `(?m)^G0 Z.*\n`, "")},
		{"the blade's offset in the record", once("record.json", `"offset":0\.\d+`, `"offset":0.9`)},
		{"a hole larger in the drawing", once("sheet-1.dxf", `(CIRCLE(?s:.*?)\n40\n)(\d)`, "${1}9$2")},
		{"another version", once(work.JobName, `version: [\w.+-]+`, "version: 9.9.9")},
	}
	t.Run("knife-film", func(t *testing.T) {
		if os.Getenv("SPOTJIG_ALL") == "" {
			t.Skip("a blade cuts card too: SPOTJIG_ALL=1 runs it")
		}
		tryForgeries(t, buildText(t, shortFilm), slices.Concat(blade[:3], blade[4:])) // film has no fold
	})
	t.Run("knife-card", func(t *testing.T) {
		if os.Getenv("SPOTJIG_ALL") == "" { // few marks and few letters, as quickly made as film
			tryForgeries(t, buildText(t, shortCard), slices.Concat(blade[:1], blade[2:6]))
			return
		}
		tryForgeries(t, buildJob(t, "../../testdata/jobs/knife-card.yaml"), blade)
	})
	t.Run("shop", func(t *testing.T) {
		tryForgeries(t, buildJob(t, smallJob), []forgery{
			{"an outline 5 mm longer", once("sheet-1.dxf", `(?s)(LWPOLYLINE.*?\n10\n)(\d)`, "${1}9$2")},
			{"a drawing that waits for a thickness", func(_ *testing.T, set map[string]string) { set["sheet-2.dxf"] = set["sheet-1.dxf"] }},
			{"the order's paper replaced", func(_ *testing.T, set map[string]string) { set["job-sheet.pdf"] = set["proof.pdf"] }},
			{"the thickness stated as measured", once(work.JobName, `material\.thickness,`, "")},
		})
	})
	t.Run("test piece", func(t *testing.T) {
		o, err := loadJob("")
		require.NoError(t, err)
		piece, err := o.BuildTestPiece(context.Background(), work.Options{Version: thisBuild().Stamp, Grid: true})
		require.NoError(t, err)
		tryForgeries(t, piece, []forgery{
			{"a comb's line moved", once("sheet-1.nc", `(?s)(\(OUTLINE COMB.*?X\d+)\.(\d)`, "$1.9")},
			{"the form's nominal size", once("reading.txt", `comb: [\d.]+`, "comb: 99.5")},
			{"the grid at full power", in("grid.nc", `S\d+`, "S1000")},
			{"made as a template", once(work.JobName, `what: test piece`, "what: template")},
			{"without its grid", once(work.JobName, `grid: yes`, "grid: no")},
		})
	})
}
