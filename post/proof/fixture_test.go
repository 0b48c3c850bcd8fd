package proof_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"spotjig/post/proof"
	"spotjig/post/proof/cut"
	"spotjig/post/proof/recorded"
	"spotjig/post/proof/table"
	"spotjig/post/proof/tip"

	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
	"spotjig/post/dxf"
	"spotjig/post/record"
	"spotjig/post/rs274/write"
)

func v(x, y float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}} }

func bulge(x, y, deg float64) geom.Vertex {
	return geom.Vertex{At: geom.Point{X: x, Y: y}, Bulge: math.Tan(deg * math.Pi / 180 / 4)}
}

// rounded is a rectangle with corners of radius r.
func rounded(w, h, r float64) geom.Contour {
	return geom.MustClosed(v(r, 0), bulge(w-r, 0, 90), v(w, r), bulge(w, h-r, 90), v(w-r, h), bulge(r, h, 90), v(0, h-r), bulge(0, r, 90))
}

// sound is a small job of our own: a plate with a spot, a line and an arc, that
// stands a quarter turned on the table; a fin; and a plug laid in no hole.
func sound() post.Set {
	plate := jig.Part{
		ID: "H1", Template: "head", Role: "pad", Scale: 1.0004, Outline: rounded(160, 90, 4),
		Openings: []jig.Opening{
			{ID: "brown", Kind: jig.OpenSpot, Mark: "brown", Figure: geom.Dot(geom.Point{X: 80, Y: 20}), Width: 2 * 1.55},
			{ID: "baulk-line-1", Kind: jig.OpenSlot, Mark: "baulk-line", Figure: geom.Line(geom.Point{X: 15, Y: 20}, geom.Point{X: 68, Y: 20}), Width: 3.1},
			{ID: "baulk-line-2", Kind: jig.OpenSlot, Mark: "baulk-line", Figure: geom.Line(geom.Point{X: 92, Y: 20}, geom.Point{X: 145, Y: 20}), Width: 3.1},
			{ID: "d-1", Kind: jig.OpenArc, Mark: "d", Figure: geom.Arc(geom.Point{X: 80, Y: 20}, 50, 40*geom.Degree, 140*geom.Degree), Width: 3.1},
			{ID: "FA", Kind: jig.OpenFin, Figure: geom.Line(geom.Point{X: 20, Y: 75}, geom.Point{X: 40, Y: 75}), Width: 4.85},
		},
		Scores: []geom.Contour{geom.MustOpen(v(80, 30), v(80, 60)), geom.MustOpen(bulge(100, 30, 60), v(110, 40)),
			geom.MustOpen(v(35, 23.5), v(47, 23.5)), geom.MustOpen(v(112, 23.5), v(124, 23.5)), geom.MustOpen(v(74, 73.5), v(86, 73.5))}, // beside true edges
		Letters: jig.Lettering("H1 Brown", geom.Point{X: 60, Y: 36}, 4),
		OnTable: jig.Pose{X: 520, Y: -80, Turn: 90 * geom.Degree},
	}
	fin := jig.Part{ID: "FA", Template: "head", Role: "end fin", Scale: 1.0004, Outline: rounded(60, 45, 3), OnTable: jig.Pose{X: 445, Y: 20, Turn: 90 * geom.Degree, Upright: true}}
	plug := jig.Part{
		ID: "P1", Template: "head", Role: "plug", Scale: 1.0004, Outline: geom.Circle(geom.Point{X: 9, Y: 9}, 9).Canonical(),
		Openings: []jig.Opening{{ID: "plug", Kind: jig.OpenSpot, Mark: "brown", Figure: geom.Dot(geom.Point{X: 9, Y: 9}), Width: 2 * 1.55}},
		OnTable:  jig.Pose{X: 491, Y: -9},
	}
	return post.Set{
		Version: "test", Job: job.Job{Name: "Test", Table: layout.Table{L: 2540, W: 1270},
			Jig: job.Jig{MarkerGuide: 3.1, CompensateGrowth: true, ShopTempC: 20, HallTempC: 16}}, // 1.0004 times with the sheet's 100 ppm
		Marks: []layout.Mark{
			{ID: "brown", Kind: layout.Spot, X: 500, Y: 0},
			{ID: "baulk-line", Kind: layout.Line, X: 500, Y: -65, X2: 500, Y2: 65},
			{ID: "d", Kind: layout.Arc, X: 500, Y: 0, Radius: 50, Start: 90 * geom.Degree, End: 270 * geom.Degree},
		},
		Machine: machine.Profile{
			Process: machine.Laser, BeamWord: "M4", PowerScale: 1000, Max: machine.Axes{X: 600, Y: 400},
			FeedMax: machine.FeedPerMinute(20000), RapidMax: machine.FeedPerMinute(20000), AccelCut: 1000, AccelRap: 1000,
		},
		Material: machine.Material{
			Kind: "cast acrylic", Thickness: 4.85, Kerf: 0.18, Expansion: 1e-4,
			Cut:    machine.Setting{Power: 900, Feed: machine.FeedPerMinute(500), Passes: 1},
			Score:  machine.Setting{Power: 150, Feed: machine.FeedPerMinute(3000), Passes: 1},
			Letter: machine.Setting{Power: 120, Feed: machine.FeedPerMinute(4000), Passes: 1},
		},
		Jig: jig.Jig{Parts: []jig.Part{plate, fin, plug}},
		Sheets: []post.Sheet{
			{Sheet: nest.Sheet{N: 1, Width: 300, Height: 200, Placed: []nest.Placed{
				{ID: "H1", On: geom.Placement{X: 110.5, Y: 12.25, Turn: 90 * geom.Degree}},
				{ID: "P1", On: geom.Placement{X: 150, Y: 20}},
			}}},
			{Sheet: nest.Sheet{N: 2, Width: 300, Height: 200, Placed: []nest.Placed{{ID: "FA", On: geom.Placement{X: 20, Y: 20}}}}},
		},
	}
}

// plant changes what one stage hands to the next; nil changes nothing.
type plant struct {
	set     func(*post.Set)             // before anything
	request func(*path.Request)         // before the toolpath of each sheet
	path    func(*path.Toolpath)        // before the programs are written
	text    func(string, []byte) []byte // every file's bytes before the proof
	after   func(*post.Set)             // the set as proved, after the files were written
}

// files makes all files of a set, faults planted on the way.
func files(t testing.TB, set *post.Set, p plant) []recorded.File {
	t.Helper()
	var out []recorded.File
	add := func(name string, f func(w *bytes.Buffer) error) {
		var b bytes.Buffer
		require.NoError(t, f(&b), name)
		data := b.Bytes()
		if p.text != nil {
			data = p.text(name, data)
		}
		out = append(out, recorded.File{Name: name, Data: data})
	}
	if p.set != nil {
		p.set(set)
	}
	for i := range set.Sheets {
		s := &set.Sheets[i]
		req := path.Request{Sheet: s.Sheet, Parts: set.Jig.Parts, Material: set.Material, Ties: path.Ties{Count: set.Job.Jig.Ties, Width: set.Job.Jig.TieWidth}}
		if p.request != nil {
			p.request(&req)
		}
		tp, err := path.Laser(req)
		require.NoError(t, err)
		if p.path != nil {
			p.path(&tp)
		}
		s.Path, s.Bounds = tp, tp.Bounds
		for kind, tail := range []string{"", "-dryrun", "-edges"} {
			add(fmt.Sprintf("sheet-%d%s.nc", s.N, tail), func(w *bytes.Buffer) error {
				return write.Write(w, tp, write.Options{Kind: write.Kind(kind), Machine: set.Machine, Version: "test", Sheets: len(set.Sheets)})
			})
		}
		add(fmt.Sprintf("sheet-%d.dxf", s.N), func(w *bytes.Buffer) error {
			d, err := dxf.FromSet(*set, i)
			require.NoError(t, err)
			return dxf.Write(w, d, dxf.Options{Version: "test"})
		})
	}
	add("marks.csv", func(w *bytes.Buffer) error { return record.WriteMarks(w, set.Marks) })
	return out
}

// prove runs every proof on the planted set and returns the checks by id.
func prove(t testing.TB, p plant) map[string]jig.Check {
	t.Helper()
	set := sound()
	all := files(t, &set, p)
	if p.after != nil {
		p.after(&set)
	}
	checks := runAll(t, set, func(name string) ([]byte, bool) {
		for _, f := range all {
			if f.Name == name {
				return f.Data, true
			}
		}
		return nil, false
	})
	listed := []record.File{}
	for _, f := range all {
		listed = append(listed, recordOf(f))
	}
	var b bytes.Buffer
	set.Checks = append(slices.Clip(set.Checks), checks...)
	require.NoError(t, record.Write(&b, set, record.Options{Files: listed}))
	data := b.Bytes()
	if p.text != nil {
		data = p.text("record.json", data)
	}
	out := map[string]jig.Check{}
	for _, c := range append(checks, recorded.Record(data, set, all)) {
		out[c.ID] = c
	}
	return out
}

func failures(checks map[string]jig.Check) map[string]string {
	out := map[string]string{}
	for id, c := range checks {
		if c.Verdict != jig.Pass {
			out[id] = c.Text
		}
	}
	return out
}

// runAll runs the proofs of drawings, programs and marks, as post/work does.
func runAll(t testing.TB, set post.Set, file func(string) ([]byte, bool)) []jig.Check {
	t.Helper()
	ctx := context.Background()
	var out []jig.Check
	for i, s := range set.Sheets {
		name := fmt.Sprintf("sheet-%d", s.N)
		data, ok := file(name + ".dxf")
		if !ok {
			out = append(out, missing("dxf", name+".dxf"))
		} else {
			out = append(out, cut.Drawing(data, set, i))
		}
		for _, suffix := range []string{"", "-dryrun", "-edges"} {
			text, ok := file(name + suffix + ".nc")
			if !ok {
				out = append(out, missing("as-read"+suffix, name))
				continue
			}
			p, err := proof.ReadProgram(ctx, text, machine.Profile{})
			if err != nil {
				out = append(out, jig.Check{ID: "as-read" + suffix, Verdict: jig.Fail, Text: err.Error()})
				continue
			}
			switch {
			case suffix == "-edges":
				out = append(out, cut.Edges(p, s.Path, set.Machine))
			case suffix == "-dryrun":
				out = append(out, cut.AsRead(p, s.Path, set.Machine, false))
			case set.Machine.Process == machine.Knife:
				out = append(append(out, cut.AsRead(p, s.Path, set.Machine, true)), tip.ByTip(p, tip.Blading{Parts: set.Jig.Parts, Sheet: s.Sheet, Knife: set.Machine.Knife, Material: set.Material})...)
			default:
				out = append(append(out, cut.AsRead(p, s.Path, set.Machine, true)), cut.AsCut(p, set.Jig.Parts, s.Sheet, cut.CuttingOf(set), true)...)
			}
		}
	}
	out = append(out, table.AsAssembled(set)...)
	out = append(out, table.AsJoined(set), table.AsGrown(set))
	if data, ok := file("marks.csv"); ok {
		return proof.Merge(append(out, recorded.Marks(data, set.Marks)))
	}
	return proof.Merge(append(out, missing("marks-csv", "marks.csv")))
}

// missing is the failed check of a file that is not there.
func missing(id, name string) jig.Check {
	return jig.Check{ID: id, Verdict: jig.Fail, Text: "there is no " + name}
}
