package proof_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"spotjig/post/proof"
	"spotjig/post/proof/cut"
	"spotjig/post/proof/recorded"
	"spotjig/post/record"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	"spotjig/post"
)

func recordOf(f recorded.File) record.File {
	sum := sha256.Sum256(f.Data)
	return record.File{Name: f.Name, Bytes: len(f.Data), SHA256: hex.EncodeToString(sum[:])}
}

func TestSoundSetPasses(t *testing.T) {
	checks := prove(t, plant{})
	assert.Empty(t, failures(checks))
	for _, id := range []string{"dxf", "as-read", "as-cut", "as-marked", "as-read-dryrun", "as-read-edges", "as-assembled", "as-covered", "marks-csv", "record"} {
		assert.Contains(t, checks, id)
	}
	assert.Less(t, checks["as-cut"].Value, 0.0005)
	assert.Less(t, checks["as-read"].Value, 0.0003)
}

func TestTiesAsAskedPass(t *testing.T) {
	ties := func(s *post.Set) { s.Job.Jig.Ties, s.Job.Jig.TieWidth = 3, 0.4 }
	// The plug has no straight edge for a tie to sit on.
	noPlug := func(s *post.Set) { s.Sheets[0].Placed = s.Sheets[0].Placed[:1]; ties(s) }
	assert.Empty(t, failures(prove(t, plant{set: noPlug})))
	twice := func(s *post.Set) { noPlug(s); s.Material.Cut.Passes = 2 }
	assert.Empty(t, failures(prove(t, plant{set: twice})), "two passes")
	other := func(s *post.Set) { s.Job.Jig.TieWidth = 0.5 }
	assert.Contains(t, failures(prove(t, plant{set: noPlug, after: other})), "as-cut", "ties of another width")
	none := func(s *post.Set) { s.Job.Jig.Ties = 0 }
	assert.Contains(t, failures(prove(t, plant{set: noPlug, after: none})), "as-cut", "ties nobody asked for")
	more := func(s *post.Set) { s.Job.Jig.Ties = 4 }
	assert.Contains(t, failures(prove(t, plant{set: noPlug, after: more})), "as-cut", "a tie is missing")
}

// op finds an operation of sheet 1; the plants below change it.
func op(tp *path.Toolpath, layer path.Layer, feature string) *path.Op {
	for i := range tp.Ops {
		if o := &tp.Ops[i]; tp.Sheet == 1 && o.Layer == layer && o.Feature == feature {
			return o
		}
	}
	return &path.Op{}
}

func onSheet1(f func(string) string) func(string, []byte) []byte {
	return func(name string, b []byte) []byte {
		if name == "sheet-1.nc" {
			return []byte(f(string(b)))
		}
		return b
	}
}

func swap(s, a, b string) string {
	return strings.NewReplacer(a, b, b, a).Replace(s)
}

// wrongSide puts the cut of a contour on its other side: each covering move is
// moved across by a whole kerf, arcs about their own centre.
func wrongSide(o *path.Op, kerf float64) {
	for i := range o.Moves {
		if i < o.First || i >= o.Last {
			continue
		}
		m := &o.Moves[i]
		k := proof.Bulged(m.From, m.To, m.Bulge)
		shift := func(t float64) geom.Point {
			p := k.At(t)
			x, y := k.Right(t)
			return geom.Point{X: p.X - x*kerf, Y: p.Y - y*kerf}
		}
		m.From, m.To = shift(0), shift(1)
	}
	for i := 1; i < len(o.Moves); i++ {
		o.Moves[i].From = o.Moves[i-1].To
	}
}

// Each fault is planted where it could arise, and the proof named must refuse.
// Faults in the toolpath reach both programs, so that only the proof as cut,
// which knows the parts, can see them.
func TestPlantedFaults(t *testing.T) {
	const kerf = 0.18
	for _, row := range []struct {
		name  string
		plant plant
		by    []string
	}{
		{"outline offset on the wrong side", plant{path: func(tp *path.Toolpath) { wrongSide(op(tp, path.Outline, "outline"), kerf) }}, []string{"as-cut"}},
		{"opening offset on the wrong side", plant{path: func(tp *path.Toolpath) { wrongSide(op(tp, path.Opening, "baulk-line-1"), kerf) }}, []string{"as-cut"}},
		{"hole offset on the wrong side", plant{path: func(tp *path.Toolpath) { wrongSide(op(tp, path.Opening, "brown"), kerf) }}, []string{"as-cut"}},
		{"G2 and G3 swapped in the text", plant{text: onSheet1(func(s string) string { return swap(s, "\nG2 ", "\nG3 ") })}, []string{"as-read"}},
		{"arcs bent the other way in the toolpath", plant{path: func(tp *path.Toolpath) {
			for _, o := range tp.Ops {
				for i := range o.Moves {
					o.Moves[i].Bulge = -o.Moves[i].Bulge
				}
			}
		}}, []string{"as-cut"}},
		{"placement shifted by 0.1 mm", plant{request: func(r *path.Request) {
			r.Sheet.Placed = append(r.Sheet.Placed[:0:0], r.Sheet.Placed...)
			r.Sheet.Placed[0].On.X += 0.1
		}}, []string{"as-cut", "as-marked"}},
		{"placement shifted by 0.003 mm", plant{request: func(r *path.Request) {
			r.Sheet.Placed = append(r.Sheet.Placed[:0:0], r.Sheet.Placed...)
			r.Sheet.Placed[0].On.Y += 0.003
		}}, []string{"as-cut"}},
		{"part turned half round", plant{request: func(r *path.Request) {
			r.Sheet.Placed = append(r.Sheet.Placed[:0:0], r.Sheet.Placed...)
			p := &r.Sheet.Placed[0]
			if p.ID == "FA" { // its outline does not change when turned about its middle
				return
			}
			p.On = geom.Placement{X: p.On.X - 90*1.0004, Y: p.On.Y + 160*1.0004, Turn: 270 * geom.Degree}
		}}, []string{"as-cut"}},
		{"lead-in of an outline dropped", plant{path: func(tp *path.Toolpath) { o := op(tp, path.Outline, "outline"); o.Moves = drop(o.Moves, 1) }}, []string{"as-cut"}},
		{"lead-in of a hole dropped", plant{path: func(tp *path.Toolpath) { o := op(tp, path.Opening, "brown"); o.Moves = drop(o.Moves, 1) }}, []string{"as-cut"}},
		{"lead-in from the kept side", plant{path: func(tp *path.Toolpath) {
			if o := op(tp, path.Outline, "outline"); len(o.Moves) > 0 {
				m := &o.Moves[0]
				m.From = geom.Point{X: 2*m.To.X - m.From.X, Y: 2*m.To.Y - m.From.Y}
			}
		}}, []string{"as-cut"}},
		{"lead-in dropped from the text", plant{text: onSheet1(func(s string) string { return dropLine(s, "(OUTLINE H1", "G1 ") })}, []string{"as-read"}},
		{"beam left on before a rapid", plant{text: onSheet1(func(s string) string { return strings.Replace(s, "S0\nM5\n(OPENING", "(OPENING", 1) })}, []string{"as-read", "as-cut"}},
		{"beam on at the end", plant{text: onSheet1(func(s string) string { return strings.Replace(s, "M5\nM2", "M4\nS10\nM2", 1) })}, []string{"as-read"}},
		{"one arc lost from the text", plant{text: onSheet1(func(s string) string { return dropLine(s, "(OUTLINE H1", "G3 ") })}, []string{"as-read", "as-cut"}},
		{"one arc flattened in the toolpath", plant{path: func(tp *path.Toolpath) { flatten(op(tp, path.Outline, "outline")) }}, []string{"as-cut"}},
		{"another sheet's kerf", plant{request: func(r *path.Request) { r.Material.Kerf = 0.24 }}, []string{"as-cut"}},
		{"kerf of zero", plant{request: func(r *path.Request) { r.Material.Kerf = 0 }}, []string{"as-cut"}},
		{"inches in the text", plant{text: onSheet1(func(s string) string { return strings.Replace(s, "G21", "G20", 1) })}, []string{"as-read", "as-cut"}},
		{"inches in the toolpath", plant{path: func(tp *path.Toolpath) { scale(tp, 1/25.4) }}, []string{"as-cut", "as-marked"}},
		{"growth left out", plant{request: func(r *path.Request) { rescale(r, 1) }}, []string{"as-cut"}},
		{"growth twice", plant{request: func(r *path.Request) { rescale(r, 1.0004*1.0004) }}, []string{"as-cut"}},
		{"an opening missed", plant{path: func(tp *path.Toolpath) { dropOps(tp, path.Opening, "d-1") }}, []string{"as-cut"}},
		{"an outline missed", plant{path: func(tp *path.Toolpath) { dropOps(tp, path.Outline, "outline") }}, []string{"as-cut"}},
		{"a contour not closed", plant{path: func(tp *path.Toolpath) {
			if o := op(tp, path.Opening, "FA"); len(o.Moves) > 0 {
				o.Moves = o.Moves[:o.Last-1]
			}
		}}, []string{"as-cut"}},
		{"a cut that strays across a piece", plant{path: func(tp *path.Toolpath) {
			if o := op(tp, path.Opening, "brown"); len(o.Moves) > 0 {
				m := o.Moves[len(o.Moves)-1]
				m.Segment = geom.Segment{From: m.To, To: m.To.Add(geom.Vec{X: 9})}
				o.Moves = append(o.Moves, m)
			}
		}}, []string{"as-cut"}},
		{"score at the power of a cut", plant{path: func(tp *path.Toolpath) { op(tp, path.Score, "line 1").Power = 900 }}, []string{"as-cut", "as-marked"}},
		{"cut at the power of a score", plant{path: func(tp *path.Toolpath) { op(tp, path.Opening, "FA").Power = 150 }}, []string{"as-cut"}},
		{"lettering as an opening", plant{path: func(tp *path.Toolpath) { op(tp, path.Lettering, "text").Layer = path.Opening }}, []string{"as-cut", "as-marked"}},
		{"a stroke of lettering missed", plant{path: func(tp *path.Toolpath) { dropFirst(tp, path.Lettering) }}, []string{"as-marked"}},
		{"a stroke nobody wants", plant{path: func(tp *path.Toolpath) {
			if o := op(tp, path.Lettering, "text"); len(o.Moves) > 0 {
				m := o.Moves[len(o.Moves)-1]
				m.Segment = geom.Segment{From: m.To, To: m.To.Add(geom.Vec{X: 1})}
				o.Moves = append(o.Moves, m)
			}
		}}, []string{"as-marked"}},
		{"power changed in the text", plant{text: onSheet1(func(s string) string { return strings.Replace(s, "S900", "S901", 1) })}, []string{"as-read", "as-cut"}},
		{"feed changed in the text", plant{text: onSheet1(func(s string) string { return strings.Replace(s, "F500", "F600", 1) })}, []string{"as-read"}},
		{"one coordinate off by two digits", plant{text: onSheet1(nudge)}, []string{"as-read"}},
		{"label of another piece", plant{text: onSheet1(func(s string) string { return strings.Replace(s, "(OUTLINE H1", "(OUTLINE P1", 1) })}, []string{"as-read"}},
		{"program cut off", plant{text: onSheet1(func(s string) string { return s[:len(s)/2] })}, []string{"as-read"}},
		{"beam on in the dry run", plant{text: edit("sheet-1-dryrun.nc", "(OPENING", "M4\nS1\n(OPENING")}, []string{"as-read-dryrun"}},
		{"dry run of another sheet", plant{text: edit("sheet-1-dryrun.nc", "G1 X", "G1 X1")}, []string{"as-read-dryrun"}},
		{"edges of another rectangle", plant{path: func(tp *path.Toolpath) {}, after: func(s *post.Set) { s.Sheets[0].Path.Bounds.Max.X += 0.2 }}, []string{"as-read-edges"}},
		{"beam on in the edges", plant{text: edit("sheet-2-edges.nc", "(EDGES)", "M4\nS1\n(EDGES)")}, []string{"as-read-edges"}},
		{"file missing", plant{text: func(n string, b []byte) []byte {
			if n == "sheet-2.nc" {
				return nil
			}
			return b
		}}, []string{"as-read"}},
		{"drawing: layers swapped", plant{text: edit("sheet-1.dxf", "\nOUTLINE\n100\nAcDbPolyline", "\nOPENING\n100\nAcDbPolyline")}, []string{"dxf"}},
		{"drawing: in inches", plant{text: edit("sheet-1.dxf", "$INSUNITS\n70\n4", "$INSUNITS\n70\n1")}, []string{"dxf"}},
		{"drawing: an extra entity", plant{text: edit("sheet-1.dxf", "ENTITIES\n0", "ENTITIES\n0\nLINE\n8\nOUTLINE\n0")}, []string{"dxf"}},
		{"drawing: a bulge lost", plant{text: edit("sheet-1.dxf", "\n42\n0.414213562373", "")}, []string{"dxf"}},
		{"drawing: hole off by 0.00001", plant{text: edit("sheet-1.dxf", "\n40\n1.55062", "\n40\n1.55063")}, []string{"dxf"}},
		{"drawing: scale left out", plant{after: func(s *post.Set) { s.Jig.Parts[0].Scale = 1.0005 }}, []string{"dxf", "as-cut"}},
		{"marks.csv edited", plant{text: edit("marks.csv", "500.0000", "500.1000")}, []string{"marks-csv"}},
		{"record edited: a coordinate", plant{text: edit("record.json", `"x":80,"y":20`, `"x":80.1,"y":20`)}, []string{"record"}},
		{"record edited: a pose", plant{text: edit("record.json", `"on_table":{"x":520`, `"on_table":{"x":520.1`)}, []string{"record"}},
		{"record edited: the kerf", plant{text: edit("record.json", `"kerf":0.18,"kerf_pm"`, `"kerf":0.19,"kerf_pm"`)}, []string{"record"}},
		{"record edited: a hash", plant{text: func(n string, b []byte) []byte {
			if n != "record.json" {
				return b
			}
			return regexp.MustCompile(`"sha256":"..`).ReplaceAll(b, []byte(`"sha256":"zz`))
		}}, []string{"record"}},
		{"record edited: a verdict", plant{text: edit("record.json", `"verdict":"pass"`, `"verdict":"warn"`)}, []string{"record"}},
		{"record edited: a check's figure", plant{text: edit("record.json", `"limit":0.002`, `"limit":0.2`)}, []string{"record"}},
		{"record edited: a check left out", plant{text: func(n string, b []byte) []byte {
			if n != "record.json" {
				return b
			}
			return regexp.MustCompile(`"checks": \[\n.*\n`).ReplaceAll(b, []byte(`"checks": [`+"\n"))
		}}, []string{"record"}},
		{"a piece put on the table 0.1 mm off", plant{set: func(s *post.Set) { s.Jig.Parts[0].OnTable.X += 0.1 }}, []string{"as-assembled"}},
		{"a piece turned by 0.01 degrees", plant{set: func(s *post.Set) { s.Jig.Parts[0].OnTable.Turn += 0.01 * geom.Degree }}, []string{"as-assembled"}},
		{"a hole 0.01 mm off its spot", plant{set: func(s *post.Set) {
			s.Jig.Parts[2].Openings[0].Figure = s.Jig.Parts[2].Openings[0].Transform(geom.Placement{X: 0.01})
		}}, []string{"as-assembled"}},
		{"a slot beyond its line", plant{set: func(s *post.Set) { s.Jig.Parts[0].Openings[1].A.X -= 0.01 }}, []string{"as-assembled"}},
		{"an arc slot of another radius", plant{set: func(s *post.Set) { s.Jig.Parts[0].Openings[3].Radius += 0.01 }}, []string{"as-assembled"}},
		{"an arc slot beyond its arc", plant{set: func(s *post.Set) { s.Marks[2].Start = 131 * geom.Degree }}, []string{"as-assembled"}},
		{"a mark of another name", plant{set: func(s *post.Set) { s.Jig.Parts[0].Openings[0].Mark = "green" }}, []string{"as-assembled"}},
		{"a contour cut twice", plant{path: func(tp *path.Toolpath) { twice(tp, path.Opening, "brown") }}, []string{"as-ordered"}},
		{"a stroke burnt twice", plant{path: func(tp *path.Toolpath) { twice(tp, path.Score, "line 1") }}, []string{"as-ordered"}},
		{"a hole cut after its outline", plant{path: func(tp *path.Toolpath) { toEnd(tp, path.Opening, "brown") }}, []string{"as-ordered"}},
		{"a score burnt after its outline", plant{path: func(tp *path.Toolpath) { toEnd(tp, path.Score, "line 1") }}, []string{"as-ordered"}},
		{"a fin 0.1 mm beside its slot", plant{set: func(s *post.Set) { s.Jig.Parts[1].OnTable.X += 0.1 }}, []string{"as-joined"}},
		{"a fin's lip 0.1 mm off its piece", plant{set: func(s *post.Set) { s.Jig.Parts[1].OnTable.Y += 0.1 }}, []string{"as-joined"}},
		{"a fin's slot turned", plant{set: func(s *post.Set) { s.Jig.Parts[0].Openings[4].B.Y += 0.1 }}, []string{"as-joined"}},
		{"growth the wrong way", plant{set: func(s *post.Set) { s.Jig.Parts[0].Scale = 1 / 1.0004 }}, []string{"as-grown"}},
		{"growth twice in the design", plant{set: func(s *post.Set) { s.Jig.Parts[0].Scale *= 1.0004 }}, []string{"as-grown"}},
		{"growth that nobody asked for", plant{set: func(s *post.Set) { s.Job.Jig.CompensateGrowth = false }}, []string{"as-grown"}},
		{"record edited: the sheet's thickness", plant{text: edit("record.json", `"thickness":4.85`, `"thickness":4.86`)}, []string{"record"}},
		{"record edited: a check's verdict", plant{set: func(s *post.Set) {
			s.Checks = []jig.Check{{ID: "web", Verdict: jig.Warn, Value: 7, Limit: 8, Unit: "mm"}}
		}, text: edit("record.json", `"verdict":"warn"`, `"verdict":"pass"`)}, []string{"record"}},
		{"coverage misstated", plant{set: func(s *post.Set) {
			s.Jig.Checks = []jig.Check{{ID: "cover:baulk-line", Verdict: jig.Pass, Value: 0.99}}
		}}, []string{"as-covered"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			found := failures(prove(t, row.plant))
			for _, id := range row.by {
				require.Contains(t, found, id)
				t.Logf("%s: %s", id, found[id])
			}
		})
	}
}

func drop(m []path.Move, n int) []path.Move { return m[min(n, len(m)):] }

// dropLine removes the first line that begins so after the one that holds after.
func dropLine(s, after, begins string) string {
	i := strings.Index(s, after)
	k := i + strings.Index(s[i:], "\n"+begins) + 1
	return s[:k] + s[k+strings.Index(s[k:], "\n")+1:]
}

func flatten(o *path.Op) {
	for i := o.First; i < o.Last; i++ {
		if m := &o.Moves[i]; m.Bulge != 0 {
			m.Bulge = 0
			return
		}
	}
}

func scale(tp *path.Toolpath, k float64) {
	for _, o := range tp.Ops {
		for i := range o.Moves {
			m := &o.Moves[i]
			m.From, m.To = geom.Point{X: m.From.X * k, Y: m.From.Y * k}, geom.Point{X: m.To.X * k, Y: m.To.Y * k}
		}
	}
	tp.Bounds = geom.Box{Min: geom.Point{X: tp.Bounds.Min.X * k, Y: tp.Bounds.Min.Y * k}, Max: geom.Point{X: tp.Bounds.Max.X * k, Y: tp.Bounds.Max.Y * k}}
}

func rescale(r *path.Request, k float64) {
	r.Parts = append(r.Parts[:0:0], r.Parts...)
	r.Parts[0].Scale = k
}

func dropOps(tp *path.Toolpath, layer path.Layer, feature string) {
	if tp.Sheet != 1 {
		return
	}
	var keep []path.Op
	for _, o := range tp.Ops {
		if o.Layer != layer || o.Feature != feature {
			keep = append(keep, o)
		}
	}
	tp.Ops = keep
}

// twice makes an operation twice.
func twice(tp *path.Toolpath, layer path.Layer, feature string) {
	for i, o := range tp.Ops {
		if o.Layer == layer && o.Feature == feature {
			tp.Ops = slices.Insert(tp.Ops, i, o)
			return
		}
	}
}

// toEnd makes an operation the last.
func toEnd(tp *path.Toolpath, layer path.Layer, feature string) {
	for i, o := range tp.Ops {
		if o.Layer == layer && o.Feature == feature {
			tp.Ops = append(slices.Delete(tp.Ops, i, i+1), o)
			return
		}
	}
}

func dropFirst(tp *path.Toolpath, layer path.Layer) {
	for i, o := range tp.Ops {
		if o.Layer == layer {
			tp.Ops = append(tp.Ops[:i:i], tp.Ops[i+1:]...)
			return
		}
	}
}

func edit(name, old, put string) func(string, []byte) []byte {
	return func(n string, b []byte) []byte {
		if n != name {
			return b
		}
		out := bytes.Replace(b, []byte(old), []byte(put), 1)
		if bytes.Equal(out, b) {
			panic("nothing to edit in " + name + ": " + old)
		}
		return out
	}
}

// nudge moves the end of one line of lettering by 0.0002 mm.
func nudge(s string) string {
	i := strings.Index(s, "\nG1 X")
	k := i + strings.Index(s[i:], ".") + 4
	d := s[k]
	if d >= '8' {
		d -= 2
	} else {
		d += 2
	}
	return s[:k] + string(d) + s[k+1:]
}

// What is left standing or bitten when the kerf is wrong is half the difference.
func TestFindingsAreMeasured(t *testing.T) {
	for _, row := range []struct{ used, want float64 }{{0.20, 0.01}, {0.16, 0.01}, {0.183, 0.0015}} {
		c := prove(t, plant{request: func(r *path.Request) { r.Material.Kerf = row.used }})["as-cut"]
		assert.InDelta(t, row.want, c.Value, 0.0003, "kerf %v: %s", row.used, c.Text)
		assert.Equal(t, row.want > cut.CutTol, c.Verdict == jig.Fail)
	}
}

// The proof as cut against a slow and obvious one: sample every nominal edge
// densely, and find the nearest of densely sampled cuts.
func TestAsCutAgreesWithSampling(t *testing.T) {
	for _, used := range []float64{0.18, 0.19, 0.17} {
		set := sound()
		all := files(t, &set, plant{request: func(r *path.Request) { r.Material.Kerf = used }})
		p, err := proof.ReadProgram(context.Background(), all[0].Data, machine.Profile{})
		require.NoError(t, err)
		s, err := proof.OnSheet(set.Jig.Parts, set.Sheets[0].Sheet)
		require.NoError(t, err)
		through, _, _, _ := cut.SortMoves(p, cut.CuttingOf(set))
		f, _ := cut.Swept(s, through, cut.CuttingOf(set))
		standing, bite := sampled(s, through, set.Material.Kerf/2)
		assert.InDelta(t, standing, f.Standing, 0.0005, "kerf %v", used)
		assert.InDelta(t, bite, f.Bite, 0.0005, "kerf %v", used)
	}
}

func sampled(s proof.Shapes, cuts []*proof.Move, half float64) (standing, bite float64) {
	dots := map[[2]int][]geom.Point{} // by square of 1 mm
	at := func(p geom.Point) [2]int { return [2]int{int(math.Floor(p.X)), int(math.Floor(p.Y))} }
	for _, m := range cuts {
		n := int(m.Length()/0.01) + 1
		for i := 0; i <= n; i++ {
			p := m.At(float64(i) / float64(n))
			dots[at(p)] = append(dots[at(p)], p)
		}
	}
	for _, e := range s.Edges {
		n := int(e.Length()/3.1) + 2
		for i := 0; i <= n; i++ {
			p := e.At(float64(i) / float64(n))
			best := math.Inf(1)
			c := at(p)
			for k := range 9 {
				for _, d := range dots[[2]int{c[0] + k%3 - 1, c[1] + k/3 - 1}] {
					best = math.Min(best, math.Hypot(d.X-p.X, d.Y-p.Y))
				}
			}
			standing = math.Max(standing, best-half)
			bite = math.Max(bite, half-best)
		}
	}
	return standing, bite
}

func BenchmarkAsCut(b *testing.B) {
	set := sound()
	all := files(b, &set, plant{})
	p, err := proof.ReadProgram(context.Background(), all[0].Data, machine.Profile{})
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		cut.AsCut(p, set.Jig.Parts, set.Sheets[0].Sheet, cut.CuttingOf(set), true)
	}
}
