package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/geom"
	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	jobfile "spotjig/layout/job"
	"spotjig/post"
)

// jobFiles are all jobs of testdata, found by pattern.
func jobFiles(t testing.TB) []string {
	files, err := filepath.Glob("../../testdata/jobs/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return files
}

// buildJob builds a job file in memory; path "" is the demo.
func buildJob(t testing.TB, path string, hook steps) built {
	l, err := loadJob(path)
	require.NoError(t, err)
	b, err := build(context.Background(), &l, hook)
	require.NoError(t, err)
	return b
}

// TestEveryJobIsProved makes every job of testdata in memory. The proofs inside
// make must all have run, and none may fail: the cut as read back leaves the
// nominal parts within 0.002 mm, every opening lies on its mark within 0.001 mm,
// and every program is within the machine.
func TestEveryJobIsProved(t *testing.T) {
	for _, file := range jobFiles(t) {
		// The whole list takes minutes on a small machine: SPOTJIG_ALL=1 runs it.
		if os.Getenv("SPOTJIG_ALL") == "" && !quickJob(file) {
			continue
		}
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			b := buildJob(t, file, steps{})
			seen := map[string]bool{}
			for _, c := range b.set.Checks {
				kind, _, _ := strings.Cut(c.ID, ":")
				seen[kind] = true
				assert.NotEqual(t, jig.Fail, c.Verdict, "%s: %g against %g: %s", c.ID, c.Value, c.Limit, c.Text)
			}
			want := []string{"as-assembled", "as-covered", "dxf", "marks-csv", "record", "spots"}
			switch b.set.Machine.Process {
			case machine.Laser:
				want = append(want, "as-read", "as-cut", "as-marked", "dry-run", "web", "tip")
			case machine.Knife:
				want = append(want, "as-read", "tip-path", "tip-complete", "dry-run")
			}
			for _, id := range want {
				assert.True(t, seen[id], "no check %q among %v", id, seen)
			}
		})
	}
}

// quickJob picks the jobs that every test run proves: a bed of each kind, the
// survey, house marks, a shop and card.
func quickJob(file string) bool {
	for _, part := range []string{"600x400", "100x50-bed-300x200", "full-bed-900x600", "bar-survey", "house-marks", "shop", "card"} {
		if strings.Contains(file, part) {
			return true
		}
	}
	return false
}

func TestSameJobSameBytes(t *testing.T) {
	first := buildJob(t, "", steps{})
	buildJob(t, "../../testdata/jobs/78x39-bed-600x400-both.yaml", steps{})
	again := buildJob(t, "", steps{})
	require.Equal(t, len(first.files), len(again.files))
	for i, f := range first.files {
		assert.Equal(t, f.name, again.files[i].name)
		assert.True(t, bytes.Equal(f.data, again.files[i].data), "%s differs", f.name)
	}
}

// planted is a fault of our own, put in between stages, and the check that must
// catch it.
type planted struct {
	name  string
	hook  steps
	catch string
}

// replaceFirst replaces the first match of a pattern in one file.
func replaceFirst(file, pattern, with string) steps {
	re := regexp.MustCompile(pattern)
	return steps{program: func(name string, b []byte) []byte {
		if name != file {
			return b
		}
		at := re.FindSubmatchIndex(b)
		if at == nil {
			panic("nothing to plant the fault in: " + pattern)
		}
		new := re.Expand(nil, []byte(with), b, at)
		return append(append(append([]byte(nil), b[:at[0]]...), new...), b[at[1]:]...)
	}}
}

// plantedFaults are the faults that the proof inside make must refuse.
func plantedFaults() []planted {
	eachOp := func(layer path.Layer, f func(*path.Op)) steps {
		done := false
		return steps{toolpath: func(tp *path.Toolpath) {
			for i := range tp.Ops {
				if tp.Ops[i].Layer == layer && !done {
					f(&tp.Ops[i])
					done = true
				}
			}
		}}
	}
	sheets := 0
	return []planted{
		{"offset on the wrong side", steps{request: func(r *path.Request) { r.Material.Kerf = -r.Material.Kerf }}, "build"},
		{"offset on the wrong side, after the offset code", eachOp(path.Opening, func(o *path.Op) {
			// The hole's cut moved out by a kerf: as if offset to the part's side.
			box := geom.EmptyBox()
			for _, m := range o.Moves {
				box = box.Union(m.Bounds())
			}
			c, k := box.Center(), 1+0.18/box.Width()*2
			for i, m := range o.Moves {
				grow := func(p geom.Point) geom.Point { return c.Add(p.Sub(c).Scale(k)) }
				o.Moves[i].Segment = geom.Segment{From: grow(m.From), To: grow(m.To), Bulge: m.Bulge}
			}
		}), "as-cut"},
		{"G2 and G3 swapped", replaceFirst("sheet-1.nc", `(?m)^G2 `, "G3 "), "as-read"},
		{"a placement shifted by 0.1 mm", steps{request: func(r *path.Request) { r.Sheet.Placed = shifted(r.Sheet.Placed) }}, "as-cut"},
		{"a part put 0.1 mm off on the table", steps{set: func(s *post.Set) {
			for i, p := range s.Jig.Parts {
				if p.ID == "H3" { // the pad with the D
					s.Jig.Parts[i].OnTable.X += 0.1
				}
			}
		}}, "as-assembled"},
		{"a lead-in dropped", eachOp(path.Outline, func(o *path.Op) {
			o.Moves = o.Moves[o.First:]
			o.Last -= o.First
			o.First = 0
		}), "as-cut"},
		{"beam left on before a rapid", replaceFirst("sheet-1.nc", `(?m)^S0\nM5\n\(OUTLINE`, "(OUTLINE"), "dry-run"},
		{"one arc lost", replaceFirst("sheet-1.nc", `(?m)^G[23] .*\n`, ""), "as-read"},
		{"last sheet's kerf used", steps{request: func(r *path.Request) {
			if sheets++; sheets == 2 {
				r.Material.Kerf = 0.3
			}
		}}, "as-cut"},
		{"inch scaling", replaceFirst("sheet-1.nc", `G21`, "G20"), "dry-run"},
		{"drawing's layers swapped", replaceFirst("sheet-1.dxf", `(AcDbEntity\s+8\s+)OPENING`, "${1}OUTLINE"), "dxf"},
		{"a mark moved in marks.csv", replaceFirst("marks.csv", `0\.0000`, "0.5000"), "marks-csv"},
		{"beam word in the dry-run program", replaceFirst("sheet-1-dryrun.nc", `(?m)^G1 `, "M4\nS10\nG1 "), "as-read-dryrun"},
	}
}

// shifted moves the first piece of a sheet by 0.1 mm.
func shifted(in []nest.Placed) []nest.Placed {
	out := append([]nest.Placed(nil), in...)
	out[0].On.X += 0.1
	return out
}

// TestPlantedFaultsAreRefused plants each fault and names the check that caught it.
func TestPlantedFaultsAreRefused(t *testing.T) {
	for _, p := range plantedFaults() {
		t.Run(p.name, func(t *testing.T) {
			l, err := loadJob("")
			require.NoError(t, err)
			b, err := build(context.Background(), &l, p.hook)
			if p.catch == "build" {
				require.Error(t, err)
				t.Logf("%-50s refused by the stage itself: %v", p.name, err)
				return
			}
			require.NoError(t, err)
			var caught []string
			for _, c := range failures(b.set.Checks) {
				kind, _, _ := strings.Cut(c.ID, ":")
				caught = append(caught, kind)
			}
			t.Logf("%-50s caught by %s", p.name, strings.Join(caught, ", "))
			assert.Contains(t, caught, p.catch)
		})
	}
}

// TestFailedCheckWritesNothing runs the whole command over a folder that exists.
func TestFailedCheckWritesNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	var out, errw bytes.Buffer
	require.Equal(t, exitDone, run(context.Background(), []string{"make", "-o", dir}, nil, &out, &errw), errw.String())
	before, err := os.ReadFile(filepath.Join(dir, "record.json"))
	require.NoError(t, err)
	job := filepath.Join(t.TempDir(), "tight.yaml")
	text := strings.Replace(string(jobfile.Demo()), "tolerance: 1.5 mm", "tolerance: 0.2 mm", 1)
	require.NoError(t, os.WriteFile(job, []byte(text), 0o644))
	require.Equal(t, exitProblem, run(context.Background(), []string{"make", job, "-o", dir}, nil, &out, &errw))
	assert.Contains(t, errw.String(), "budget:")
	after, err := os.ReadFile(filepath.Join(dir, "record.json"))
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

// BenchmarkMake is the whole job in process, to memory.
func BenchmarkMake(b *testing.B) {
	for _, c := range []struct{ name, job string }{
		{"demo", ""},
		{"full size on 300x200", "../../testdata/jobs/full-bed-300x200-snooker.yaml"},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for range b.N {
				l, err := loadJob(c.job)
				require.NoError(b, err)
				made, err := build(context.Background(), &l, steps{})
				require.NoError(b, err)
				if len(made.files) == 0 {
					b.Fatal(fmt.Errorf("nothing made"))
				}
			}
		})
	}
}
