package tip_test

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/jig/film"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post/proof"
	"spotjig/post/proof/tip"
	"spotjig/post/rs274/write"
)

// knifeJob is one of testdata's knife jobs up to its toolpaths.
type knifeJob struct {
	machine  machine.Profile
	material machine.Material
	jig      jig.Jig
	paths    []path.Toolpath
	sheets   []nest.Sheet
}

func loadKnifeJob(t testing.TB, file string) knifeJob {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	j, _, err := job.Read(filepath.Base(file), data, job.Options{})
	require.NoError(t, err)
	var k knifeJob
	k.machine, k.material, _, err = machine.Read(j.Machine, j.Material, machine.Options{})
	require.NoError(t, err)
	plan, err := layout.NewPlan(layout.Request{Table: j.Table, Games: j.Games, Choices: j.Choices, Balls: j.Balls, House: j.House})
	require.NoError(t, err)
	what := jig.Request{Name: j.Name, Date: j.Date, Version: "test", Table: j.Table, Games: j.Games, Marks: plan.Marks,
		BallDiameter: j.Balls.Diameter, Want: j.Jig, Machine: k.machine, Material: k.material}
	blade, err := film.New(what)
	require.NoError(t, err)
	k.jig, err = jig.Design(what, blade)
	require.NoError(t, err)
	req := path.KnifeRequest{Parts: k.jig.Parts, Machine: k.machine, Material: k.material}
	var items []nest.Item
	for _, p := range k.jig.Parts {
		items = append(items, nest.Item{ID: p.ID, Outline: p.Outline.Scaled(p.Scale)})
	}
	room := jig.RoomFor(k.machine, k.material)
	k.sheets, err = nest.Nest(items, nest.Options{Stock: k.material.Sheets, Gap: room.Gap, Margin: k.machine.MarginBed + room.Edge})
	require.NoError(t, err)
	for _, s := range k.sheets {
		req.Sheet = s
		tp, err := path.Knife(req)
		require.NoError(t, err)
		k.paths = append(k.paths, tp)
	}
	return k
}

// reread writes a toolpath and reads the program back.
func (k knifeJob) reread(t testing.TB, tp path.Toolpath) proof.Program {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, write.Write(&out, tp, write.Options{Machine: k.machine, Version: "test"}))
	p, err := proof.ReadProgram(context.Background(), out.Bytes(), machine.Profile{})
	require.NoError(t, err)
	return p
}

func (k knifeJob) byTip(t testing.TB, i int, tp path.Toolpath, m machine.KnifeProfile) []jig.Check {
	t.Helper()
	return tip.ByTip(k.reread(t, tp), tip.Blading{Parts: k.jig.Parts, Sheet: k.sheets[i], Knife: m, Material: k.material})
}

func knifeJobFiles(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob("../../../testdata/jobs/knife-*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return files
}

// The programs of every knife job in testdata, as read back: the tip keeps within
// 0.01 mm of every edge from eight headings, and every edge is cut through. Without
// SPOTJIG_ALL=1 it reads the card's; TestByTipFails has film's.
func TestKnifeJobsByTheTip(t *testing.T) {
	for i, file := range knifeJobFiles(t) {
		if i > 0 && os.Getenv("SPOTJIG_ALL") == "" {
			continue
		}
		t.Run(filepath.Base(file), func(t *testing.T) {
			k := loadKnifeJob(t, file)
			for i, tp := range k.paths {
				checks := k.byTip(t, i, tp, k.machine.Knife)
				require.Len(t, checks, 5)
				for _, c := range checks {
					assert.Equal(t, jig.Pass, c.Verdict, "%s: %s", c.ID, c.Text)
					t.Logf("%s %.5f %s", c.ID, c.Value, c.Text)
				}
				t.Logf("sheet %d: %d operations, %.0f degrees of swivel, %d lifts", tp.Sheet, len(tp.Ops), tp.Turned.Degrees(), tp.Lifts)
			}
		})
	}
}

// The proof fails when it should: on a blade of another offset, on a missing
// cut, on a cut through the material, and on a blade nobody has brought round.
func TestByTipFails(t *testing.T) {
	k := loadKnifeJob(t, "../../../testdata/jobs/knife-film-600x300.yaml")
	const sheet = 1 // one piece with everything on it
	tp := k.paths[sheet]
	find := func(cs []jig.Check, id string) jig.Check {
		for _, c := range cs {
			if c.ID == id {
				return c
			}
		}
		t.Fatalf("no check %s", id)
		return jig.Check{}
	}

	other := k.machine.Knife
	other.Offset += 0.03
	c := find(k.byTip(t, sheet, tp, other), "tip-path")
	assert.Equal(t, jig.Fail, c.Verdict)
	assert.Contains(t, c.Text, "strays")

	without := func(drop func(path.Op) bool) path.Toolpath {
		out := tp
		out.Ops = nil
		for _, op := range tp.Ops {
			if !drop(op) {
				out.Ops = append(out.Ops, op)
			}
		}
		return out
	}
	for layer, want := range map[path.Layer]string{path.Outline: "an edge", path.Opening: "an edge", path.Score: "a score", path.Lettering: "a stroke of lettering"} {
		dropped := false
		c = find(k.byTip(t, sheet, without(func(op path.Op) bool {
			if dropped || op.Layer != layer || op.Part == "waste" {
				return false
			}
			dropped = true
			return true
		}), k.machine.Knife), "tip-complete")
		assert.Equal(t, jig.Fail, c.Verdict, layer.String())
		assert.Contains(t, c.Text, want)
	}

	c = find(k.byTip(t, sheet, without(func(op path.Op) bool { return op.Part == "waste" }), k.machine.Knife), "tip-path")
	assert.Equal(t, jig.Fail, c.Verdict)
	assert.NotEmpty(t, c.Text)

	shallow := tp
	shallow.Ops = append([]path.Op(nil), tp.Ops...)
	for i, op := range shallow.Ops {
		if op.Layer == path.Outline {
			op.Moves = append([]path.Move(nil), op.Moves...)
			for m := range op.Moves {
				op.Moves[m].Z = max(op.Moves[m].Z, -0.3)
			}
			shallow.Ops[i] = op
		}
	}
	c = find(k.byTip(t, sheet, shallow, k.machine.Knife), "tip-complete")
	assert.Equal(t, jig.Fail, c.Verdict, "a film of 0.35 mm cut 0.3 mm deep")
}

// The two examples worked by hand, as G-code for the pivot: the same numbers, as
// the program prints them.
func TestWorkedExamplesAsPrograms(t *testing.T) {
	for _, row := range []struct {
		name string
		xy   []float64
		arc  int // which vertex starts the quarter arc; -1 none
		want string
	}{
		{"line, arc, line", []float64{0, 0, 10, 0, 15, 5, 15, 15}, 1,
			"G1 X10.5000 Y0.0000 F600\nG3 X15.0000 Y5.5000 I-0.5000 J5.0000\nG1 X15.0000 Y15.5000\n"},
		{"corner", []float64{0, 0, 10, 0, 10, 10}, -1,
			"G1 X10.5000 Y0.0000 F600\nG3 X10.0000 Y0.5000 I-0.5000 J0.0000 F300\nG1 X10.0000 Y10.5000 F600\n"},
	} {
		t.Run(row.name, func(t *testing.T) {
			req := knifeRequest(0.5, samplePart("H1"))
			p := &req.Parts[0]
			p.Openings, p.Letters = nil, nil
			p.Scores = []geom.Contour{openChain(row.xy, row.arc).Transform(placed(20, 20))}
			req.Material.Score.Feed, req.Machine.FeedMax, req.Machine.Knife.SwivelMax = 10, 10, 180*geom.Degree
			tp, err := path.Knife(req)
			require.NoError(t, err)
			for _, op := range tp.Ops { // back from the sheet, where the part lies at 20, 20
				for i, m := range op.Moves {
					op.Moves[i].Segment = m.Transform(placed(-40, -40))
				}
			}
			var out bytes.Buffer
			require.NoError(t, write.Write(&out, tp, write.Options{Machine: req.Machine, Version: "test"}))
			_, after, ok := strings.Cut(out.String(), "(SCORE H1 line 1)\n")
			require.True(t, ok)
			block, _, _ := strings.Cut(after, "(")
			assert.Contains(t, block, "G0 X0.5000 Y0.0000\n")
			assert.Contains(t, block, row.want)
		})
	}
}

// openChain is an open chain through the points; the quarter arc to the left
// starts at vertex arc.
func openChain(xy []float64, arc int) geom.Contour {
	var v []geom.Vertex
	for i := 0; i < len(xy); i += 2 {
		w := geom.Vertex{At: geom.Point{X: xy[i], Y: xy[i+1]}}
		if i/2 == arc {
			w.Bulge = math.Tan(math.Pi / 8)
		}
		v = append(v, w)
	}
	return geom.MustOpen(v...)
}

func placed(x, y float64) geom.Placement { return geom.Placement{X: x, Y: y} }

func BenchmarkByTip(b *testing.B) {
	k := loadKnifeJob(b, "../../../testdata/jobs/knife-film-1200x600.yaml")
	p := k.reread(b, k.paths[0])
	for b.Loop() {
		tip.ByTip(p, tip.Blading{Parts: k.jig.Parts, Sheet: k.sheets[0], Knife: k.machine.Knife, Material: k.material})
	}
}

// BenchmarkKnifeSheet and BenchmarkLaserSheet make the toolpath of the same eight
// pieces, by blade and by beam.
func BenchmarkKnifeSheet(b *testing.B) {
	k := loadKnifeJob(b, "../../../testdata/jobs/knife-film-1200x600.yaml")
	req := path.KnifeRequest{Sheet: k.sheets[0], Parts: k.jig.Parts, Machine: k.machine, Material: k.material}
	for b.Loop() {
		_, err := path.Knife(req)
		require.NoError(b, err)
	}
}

func BenchmarkLaserSheet(b *testing.B) {
	k := loadKnifeJob(b, "../../../testdata/jobs/knife-film-1200x600.yaml")
	s := machine.Setting{Power: 300, Feed: 20, Passes: 1}
	req := path.Request{Sheet: k.sheets[0], Parts: k.jig.Parts, Material: machine.Material{Kerf: 0.18, Cut: s, Score: s, Letter: s}}
	for b.Loop() {
		_, err := path.Laser(req)
		require.NoError(b, err)
	}
}
