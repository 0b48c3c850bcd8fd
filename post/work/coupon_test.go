package work

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"path/filepath"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/jig/testpiece"
	"spotjig/cam/machine"
)

// buildTestPiece makes a job's test piece in memory.
func buildTestPiece(t testing.TB, path string, grid bool) Made {
	t.Helper()
	l, err := loadJob(path)
	require.NoError(t, err)
	b, err := l.BuildTestPiece(context.Background(), Options{Version: "0.1.0", Grid: grid})
	require.NoError(t, err)
	return b
}

// The test piece of every job of testdata is proved like a jig: programs read back
// as planned, what they leave is the pieces (a blade's squares each for the offset
// that it reckons with), every stroke is where it belongs, and none of it fails. A
// shop's job is refused with what to do instead.
func TestEveryTestPieceIsProved(t *testing.T) {
	lasers, knives := 0, 0
	for _, file := range jobFiles(t) {
		l, err := loadJob(file)
		require.NoError(t, err)
		p, _, err := l.Sheet()
		require.NoError(t, err)
		switch {
		case p.Process == machine.Shop:
			_, err := l.BuildTestPiece(context.Background(), Options{})
			require.ErrorContains(t, err, "[J094]")
			continue
		case p.Process == machine.Knife:
			knives++
			b := buildTestPiece(t, file, false)
			seen := map[string]jig.Verdict{}
			for _, c := range b.Set.Checks {
				seen[c.ID] = c.Verdict
				assert.NotEqual(t, jig.Fail, c.Verdict, "%s: %s: %s", file, c.ID, c.Text)
			}
			for _, id := range []string{"as-read", "as-read-dryrun", "as-read-edges", "tip-path", "tip-complete", "tip-depth", "tip-overrun", "as-ordered", "dxf", "record", "dry-run:sheet-1.nc"} {
				assert.Equal(t, jig.Pass, seen[id], "%s: %s", file, id)
			}
			continue
		}
		lasers++
		b := buildTestPiece(t, file, true)
		seen := map[string]jig.Verdict{}
		for _, c := range b.Set.Checks {
			seen[c.ID] = c.Verdict
			assert.NotEqual(t, jig.Fail, c.Verdict, "%s: %s: %s", file, c.ID, c.Text)
		}
		for _, id := range []string{"as-read", "as-read-dryrun", "as-read-edges", "as-cut", "as-marked", "dxf", "record", "as-read:grid", "as-read:grid-dryrun", "as-read:grid-edges",
			"dry-run:sheet-1.nc", "dry-run:grid.nc"} {
			assert.Equal(t, jig.Pass, seen[id], "%s: %s", file, id)
		}
	}
	assert.Greater(t, lasers, 5)
	assert.Greater(t, knives, 2)
}

func TestTestPieceIsTheSameEveryTime(t *testing.T) {
	file := filepath.Join("../../testdata/jobs", "100x50-bed-300x200-both.yaml")
	a, b := buildTestPiece(t, file, true), buildTestPiece(t, file, true)
	require.Len(t, b.Files, len(a.Files))
	for i := range a.Files {
		assert.Equal(t, a.Files[i].Name, b.Files[i].Name)
		assert.True(t, bytes.Equal(a.Files[i].Data, b.Files[i].Data), a.Files[i].Name)
	}
}

// Faults planted in a program are found: a comb's line that is missing or moved, a
// tick that is not where it was meant, a stroke too many, and a beam on the way.
func TestTestPieceProofsFindFaults(t *testing.T) {
	file := filepath.Join("../../testdata/jobs", "78x39-bed-600x400-both.yaml")
	tests := []struct {
		name, file string
		plant      func(string) string
		want       string
	}{
		{"a line of the comb missing", "sheet-1.nc", func(s string) string { return dropOps(s, `OUTLINE COMB X`, 1) }, "as-cut"},
		{"a line of the comb a hundredth off", "sheet-1.nc", func(s string) string { return moveOp(s, `OUTLINE COMB Y`, 0.01) }, "as-cut"},
		{"an outline missing", "sheet-1.nc", func(s string) string { return dropOps(s, `OUTLINE SQUARE`, 1) }, "as-cut"},
		{"a tick missing", "sheet-1.nc", func(s string) string { return dropOps(s, `SCORE SQUARE`, 1) }, "as-marked"},
		{"a tick a hundredth off", "sheet-1.nc", func(s string) string { return moveOp(s, `SCORE SQUARE`, 0.01) }, "as-marked"},
		{"a letter moved", "sheet-1.nc", func(s string) string { return moveOp(s, `LETTERING X3`, 0.05) }, "as-marked"},
		{"a dry run that burns", "sheet-1-dryrun.nc", func(s string) string { return strings.Replace(s, "\nG1 ", "\nM4\nS10\nG1 ", 1) }, "as-read-dryrun"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			opt := outputOptions
			opt.stages = steps{program: func(name string, b []byte) []byte {
				if name != tt.file {
					return b
				}
				text := tt.plant(string(b))
				require.NotEqual(t, string(b), text, "nothing was planted")
				return []byte(text)
			}}.stages()
			o, err := loadJob(file)
			require.NoError(t, err)
			b, err := o.BuildTestPiece(context.Background(), opt)
			require.NoError(t, err)
			var failed []string
			for _, c := range b.Failures() {
				failed = append(failed, c.ID)
			}
			assert.Contains(t, failed, tt.want)
		})
	}
}

// dropOps leaves the first n operations of a name out.
func dropOps(text, name string, n int) string {
	for range n {
		at := strings.Index(text, "("+name)
		end := at + 1 + strings.Index(text[at+1:], "\n(") + 1
		text = text[:at] + text[end:]
	}
	return text
}

// moveOp moves the first operation of a name by d along x and y.
func moveOp(text, name string, d float64) string {
	at := strings.Index(text, "("+name)
	end := at + 1 + strings.Index(text[at+1:], "\n(") + 1
	op := regexp.MustCompile(`([XY])(-?[0-9.]+)`).ReplaceAllStringFunc(text[at:end], func(w string) string {
		v, _ := strconv.ParseFloat(w[1:], 64)
		return fmt.Sprintf("%c%.4f", w[0], v+d)
	})
	return text[:at] + op + text[end:]
}

// A made-up maker: the beam burns 0.21 mm at the exit and 0.27 where it enters,
// whatever the job says. What calipers would read is worked out from nothing but
// the text of the programs; the form is filled in with that; kerf tells 0.21 and 0.27.
func TestMakerFindsTheirKerf(t *testing.T) {
	file := filepath.Join("../../testdata/jobs", "92x46-bed-300x200-snooker.yaml")
	b := buildTestPiece(t, file, false)
	form, ok := b.file("reading.txt")
	require.True(t, ok)
	text := string(form)
	const exit, beam = 0.21, 0.27
	for _, axis := range []string{"X", "Y"} {
		at := combLines(t, b, axis)
		n := float64(len(at) - 1)
		long := at[len(at)-1] - at[0]
		w, v := long/n-exit, long/n-beam
		for key, m := range map[string]float64{"comb_" + strings.ToLower(axis): n * w, "comb_" + strings.ToLower(axis) + "_turned": (n+1)/2*w + (n-1)/2*v} {
			r := math.Round(m*100) / 100
			require.Contains(t, text, "\n"+key+": []")
			text = strings.Replace(text, "\n"+key+": []", fmt.Sprintf("\n%s: [%.2f, %.2f, %.2f]", key, r, r, r), 1)
		}
	}
	readings, err := testpiece.ReadForm("filled.txt", []byte(text))
	require.NoError(t, err)
	worked, _, err := readings.Work()
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, worked.Write(&out))
	got := regexp.MustCompile(`(?m)^  (exit|beam) face +([0-9.]+) \+- ([0-9.]+)`).FindAllStringSubmatch(out.String(), -1)
	require.Len(t, got, 2, out.String())
	for i, want := range []float64{exit, beam} {
		v, _ := strconv.ParseFloat(got[i][2], 64)
		pm, _ := strconv.ParseFloat(got[i][3], 64)
		assert.InDelta(t, want, v, pm, got[i][0])
		assert.InDelta(t, want, v, 0.003, got[i][0])
	}
	assert.Regexp(t, `(?m)^material:\n  kerf: 0\.2[01][0-9] mm$`, out.String())
}

// combLines are where a comb's lines run, by the text of the programs.
func combLines(t *testing.T, b Made, axis string) []float64 {
	t.Helper()
	word := regexp.MustCompile(`([XY])(-?[0-9.]+)`)
	var out []float64
	for _, f := range b.Files {
		if !regexp.MustCompile(`^sheet-[0-9]+\.nc$`).MatchString(f.Name) {
			continue
		}
		for _, op := range strings.Split(string(f.Data), "\n(")[1:] {
			if !strings.HasPrefix(op, "OUTLINE COMB "+axis+")") {
				continue
			}
			seen := map[string][]float64{}
			for _, m := range word.FindAllStringSubmatch(op, -1) {
				v, err := strconv.ParseFloat(m[2], 64)
				require.NoError(t, err)
				seen[m[1]] = append(seen[m[1]], v)
			}
			v := seen[axis]
			if len(v) == 1 || v[0] == v[len(v)-1] { // it runs across the axis
				out = append(out, v[0])
			}
		}
	}
	sort.Float64s(out)
	require.Greater(t, len(out), 4)
	return out
}

func BenchmarkCoupon(b *testing.B) {
	for b.Loop() {
		buildTestPiece(b, "../../testdata/jobs/92x46-bed-300x200-snooker.yaml", true)
	}
}

// What is tried is what is cut: the joint of a job's test piece goes together by the same
// proof as its jig's, a keyed one's key is the very key of every joint of the jig, and
// a dovetail is one of the jig's sizes. On every built-in laser it passes the dry run.
func TestTestPieceTriesTheJobsJoint(t *testing.T) {
	long(t)
	size := regexp.MustCompile(`^tail [0-9.]+ mm long, neck [0-9.]+ mm`)
	lasers := 0
	for _, profile := range machine.Profiles() {
		if profile.Process != machine.Laser {
			continue
		}
		lasers++
		for _, form := range []string{"dovetail", "keyed"} {
			name := profile.Name + ", " + form
			o, err := Read("job.yaml", []byte(fmt.Sprintf("table: {length: 100 in, width: 50 in}\ngames: [pool]\njig: {joint: %s}\nmachine: %s\n", form, profile.Name)), nil)
			require.NoError(t, err)
			piece, err := o.BuildTestPiece(context.Background(), Options{Version: "0.1.0"})
			require.NoError(t, err)
			require.Empty(t, piece.Failures(), name)
			passed := map[string]bool{}
			for _, c := range piece.Set.Checks {
				passed[c.ID] = c.Verdict == jig.Pass
			}
			assert.True(t, passed["as-tried"] && passed["dry-run:sheet-1.nc"] && passed["dry-run:sheet-1-dryrun.nc"], name)
			r, err := o.begin(Options{})
			require.NoError(t, err)
			require.NoError(t, r.design(), name)
			tried := piece.Set.Jig.Joints[0]
			key, keyed := piece.Set.Part(tried.Part)
			assert.Equal(t, form == "keyed", keyed, name)
			var like []string
			for _, j := range r.made.Set.Jig.Joints {
				like = append(like, size.FindString(j.Key))
				if of, ok := r.made.Set.Part(j.Part); ok { // a seam without room for a key has none
					assert.InDelta(t, key.Outline.Area(), of.Outline.Area(), 1e-6, name)
					assert.InDelta(t, key.Outline.Length(), of.Outline.Length(), 1e-6, name)
				}
			}
			assert.Contains(t, like, size.FindString(tried.Key), name)
		}
	}
	assert.GreaterOrEqual(t, lasers, 4)
}
