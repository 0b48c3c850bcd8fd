package dxf

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/layout/geom"
	"spotjig/post"
)

// sample is one sheet with two parts: a plate with a spot hole, a slot, an arc
// slot, a score and a letter, turned a quarter and scaled; and a round plug.
func sample() post.Set {
	at := func(x, y float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}} }
	plate := jig.Part{
		ID: "H1", Scale: 1.0005,
		Outline: geom.MustClosed(at(0, 0), at(100, 0), geom.Vertex{At: geom.Point{X: 100, Y: 50}, Bulge: math.Tan(math.Pi / 8)}, at(90, 60), at(0, 60)),
		Openings: []jig.Opening{
			{ID: "a", Kind: jig.OpenSpot, Figure: geom.Dot(geom.Point{X: 20, Y: 20}), Width: 2 * 1.55},
			{ID: "b", Kind: jig.OpenSlot, Figure: geom.Line(geom.Point{X: 40, Y: 20}, geom.Point{X: 70, Y: 20}), Width: 3.1},
			{ID: "c", Kind: jig.OpenArc, Figure: geom.Arc(geom.Point{X: 50, Y: 20}, 25, 40*geom.Degree, 140*geom.Degree), Width: 3.1},
		},
		Scores:  []geom.Contour{geom.MustOpen(at(10, 5), at(90, 5))},
		Letters: jig.Lettering("H1", geom.Point{X: 5, Y: 40}, 5),
	}
	plug := jig.Part{ID: "P1", Scale: 1, Outline: geom.Circle(geom.Point{X: 10, Y: 10}, 10).Canonical()}
	return post.Set{
		Version:  "test",
		Material: machine.Material{Kind: "cast acrylic", Thickness: 4.85},
		Jig:      jig.Jig{Parts: []jig.Part{plate, plug}},
		Sheets: []post.Sheet{{Sheet: nest.Sheet{N: 1, Width: 300, Height: 200, Placed: []nest.Placed{
			{ID: "H1", On: geom.Placement{X: 80, Y: 10, Turn: 90 * geom.Degree}},
			{ID: "P1", On: geom.Placement{X: 120, Y: 20}},
		}}}},
	}
}

// fromSet is FromSet of a set that can be drawn.
func fromSet(t testing.TB, set post.Set, i int) Drawing {
	t.Helper()
	d, err := FromSet(set, i)
	require.NoError(t, err)
	return d
}

func write(t testing.TB, d Drawing) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, d, Options{Version: "test"}))
	return b.Bytes()
}

type audited struct {
	Version        string
	Units, Metric  int
	ExtMin, ExtMax [3]float64
	Errors, Fixes  []string
	Layers, Plot   []string // all, and those that are plotted
	Paper          int
	Entities       []struct {
		Type, Layer string
		Closed      bool
		Points      [][3]float64
	}
}

// audit reads the drawing with ezdxf's strict reader (https://ezdxf.readthedocs.io,
// readfile and Drawing.audit), which shares nothing with the library that wrote it.
func audit(t *testing.T, data []byte) audited {
	t.Helper()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import ezdxf").Run(); err != nil {
		t.Skipf("no strict DXF reader: %s -c 'import ezdxf': %v (Debian: python3-ezdxf)", python, err)
	}
	name := filepath.Join(t.TempDir(), "x.dxf")
	require.NoError(t, os.WriteFile(name, data, 0o600))
	cmd := exec.Command(python, filepath.Join("..", "..", "testdata", "readers", "dxfaudit.py"), name)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	require.NoError(t, err, complaint.String())
	var a audited
	require.NoError(t, json.Unmarshal(out, &a))
	return a
}

func TestStrictReaderAuditsClean(t *testing.T) {
	d := fromSet(t, sample(), 0)
	a := audit(t, write(t, d))
	assert.Empty(t, a.Errors)
	assert.Empty(t, a.Fixes)
	assert.Equal(t, "AC1015", a.Version)
	assert.Equal(t, []string{"0", "OUTLINE", "OPENING", "SCORE", "LETTERING"}, a.Plot, "what is never cut is not plotted")
	assert.Equal(t, 4, a.Units, "$INSUNITS 4 is millimetres (DXF reference, HEADER group codes)")
	assert.Equal(t, 1, a.Metric)
	assert.Zero(t, a.Paper, "nothing in paper space")
	assert.Subset(t, a.Layers, []string{"SHEET", "OUTLINE", "OPENING", "SCORE", "LETTERING", "NOTE"})
	for _, e := range a.Entities {
		assert.Contains(t, []string{"CIRCLE", "LWPOLYLINE"}, e.Type)
	}
}

func TestGeometryComesBack(t *testing.T) {
	d := fromSet(t, sample(), 0)
	a := audit(t, write(t, d))
	shapes := append(append([]Shape(nil), d.Shapes...), noteShapes(d)...)
	require.Len(t, a.Entities, len(shapes))
	box := geom.EmptyBox()
	for i, s := range shapes {
		e := a.Entities[i]
		assert.Equal(t, string(s.Layer), e.Layer)
		box = box.Union(s.Bounds())
		if c, r, ok := circle(s.Contour); ok {
			assert.Equal(t, "CIRCLE", e.Type)
			assert.InDelta(t, c.X, e.Points[0][0], 1e-6)
			assert.InDelta(t, c.Y, e.Points[0][1], 1e-6)
			assert.InDelta(t, r, e.Points[0][2], 1e-6)
			continue
		}
		assert.Equal(t, "LWPOLYLINE", e.Type)
		assert.Equal(t, s.Closed(), e.Closed)
		v := s.Vertices()
		require.Len(t, e.Points, len(v))
		for k, p := range v {
			assert.InDelta(t, p.At.X, e.Points[k][0], 1e-6)
			assert.InDelta(t, p.At.Y, e.Points[k][1], 1e-6)
			assert.InDelta(t, p.Bulge, e.Points[k][2], 1e-11)
		}
	}
	assert.InDelta(t, box.Min.X, a.ExtMin[0], 1e-6)
	assert.InDelta(t, box.Min.Y, a.ExtMin[1], 1e-6)
	assert.InDelta(t, box.Max.X, a.ExtMax[0], 1e-6)
	assert.InDelta(t, box.Max.Y, a.ExtMax[1], 1e-6)
}

// The numbers a reader must find, worked by hand from the sample: the hole at
// (20, 20) times 1.0005, turned a quarter about the origin, moved by (80, 10).
func TestHoleWhereItBelongs(t *testing.T) {
	d := fromSet(t, sample(), 0)
	circles := 0
	for _, s := range d.Shapes {
		c, r, ok := circle(s.Contour)
		if !ok {
			continue
		}
		circles++
		if s.Layer == Opening {
			assert.InDelta(t, 80-20.01, c.X, 1e-9)
			assert.InDelta(t, 10+20.01, c.Y, 1e-9)
			assert.InDelta(t, 1.55*1.0005, r, 1e-9)
		}
	}
	assert.Equal(t, 2, circles, "the spot hole and the plug's outline")
}

func TestNotesStayOutsideTheStock(t *testing.T) {
	d := fromSet(t, sample(), 0)
	notes := noteShapes(d)
	require.NotEmpty(t, notes)
	for _, s := range notes {
		assert.Less(t, s.Bounds().Max.Y, 0.0)
	}
	for _, s := range notes {
		assert.LessOrEqual(t, s.Bounds().Max.X, 300.0)
	}
	narrow := d
	narrow.Width = 120
	for _, s := range noteShapes(narrow) {
		assert.LessOrEqual(t, s.Bounds().Max.X, 120.0)
	}
	bar := notes[len(notes)-1].Bounds()
	assert.InDelta(t, 100, bar.Width(), 1e-9)
	all := strings.Join(d.Notes, "\n")
	for _, want := range []string{"cast acrylic", "4.85 mm", "apply your kerf", "do not mirror", "2 parts", "100 mm"} {
		assert.Contains(t, all, want)
	}
}

func TestCircleOnlyWhenFull(t *testing.T) {
	v := func(x, y, b float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}, Bulge: b} }
	quarter := math.Tan(math.Pi / 8)
	for _, row := range []struct {
		name string
		c    geom.Contour
		want bool
	}{
		{"two halves", geom.Circle(geom.Point{X: 3, Y: 4}, 5), true},
		{"clockwise", geom.Circle(geom.Point{X: 3, Y: 4}, 5).Reversed(), true},
		{"four quarters", geom.MustClosed(v(1, 0, quarter), v(0, 1, quarter), v(-1, 0, quarter), v(0, -1, quarter)), true},
		{"slot", jig.Opening{Kind: jig.OpenSlot, Figure: geom.Line(geom.Point{}, geom.Point{X: 10}), Width: 3}.Contour(), false},
		{"lens", geom.MustClosed(v(0, 0, quarter), v(10, 0, quarter)), false},
		{"quarter replaced by its chord", geom.MustClosed(v(1, 0, quarter), v(0, 1, quarter), v(-1, 0, quarter), v(0, -1, 0)), false},
		{"open arc", geom.MustOpen(v(0, 0, 1), v(10, 0, 0)), false},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, _, ok := circle(row.c)
			assert.Equal(t, row.want, ok)
		})
	}
}

func TestRefusesWhatMayNotStandInAFile(t *testing.T) {
	c := geom.Rect(geom.Box{Max: geom.Point{X: 1e7, Y: 1}})
	err := Write(&bytes.Buffer{}, Drawing{Shapes: []Shape{{Stock, c}}}, Options{})
	assert.ErrorIs(t, err, ErrValue)
	err = Write(&bytes.Buffer{}, Drawing{}, Options{Version: "1\n0\nLINE"})
	assert.ErrorIs(t, err, ErrValue)
	f := &formatter{}
	f.WriteFloat(10, math.NaN())
	assert.ErrorIs(t, f.err, ErrValue)
}

func TestHostileMaterialAddsNoEntity(t *testing.T) {
	set := sample()
	plain := bytes.Count(write(t, fromSet(t, set, 0)), []byte("\nLWPOLYLINE\n"))
	set.Material.Kind = "\n0\nLINE\n8\nOUTLINE\x00\u202e" + strings.Repeat("x", 1<<20)
	data := write(t, fromSet(t, set, 0))
	assert.NotContains(t, string(data), "\nLINE\n")
	assert.Less(t, len(data), 4*len(write(t, fromSet(t, sample(), 0)))+100_000)
	assert.Positive(t, plain)
	for _, b := range data {
		require.True(t, b == '\n' || b >= ' ' && b <= '~', "byte %q", b)
	}
}

func TestWriterErrorIsReported(t *testing.T) {
	full := errors.New("disk full")
	err := Write(failing{full}, fromSet(t, sample(), 0), Options{})
	assert.ErrorIs(t, err, full)
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

func TestNumber(t *testing.T) {
	for in, want := range map[float64]string{
		0: "0.0", -0.0000004: "0.0", 1: "1.0", -12.5: "-12.5", 1.0000005: "1.000001", 100: "100.0", math.Copysign(0, -1): "0.0",
	} {
		assert.Equal(t, want, number(in, 6), fmt.Sprint(in))
	}
}

// Drawings written at the same time are the same as written alone.
func TestParallelDrawingsAreIdentical(t *testing.T) {
	want := write(t, fromSet(t, sample(), 0))
	got := make([][]byte, 16)
	var wg sync.WaitGroup
	for i := range got {
		wg.Add(1)
		go func() {
			defer wg.Done()
			var b bytes.Buffer
			if err := Write(&b, fromSet(t, sample(), 0), Options{Version: "test"}); err != nil {
				return
			}
			got[i] = b.Bytes()
		}()
	}
	wg.Wait()
	for i := range got {
		assert.True(t, bytes.Equal(want, got[i]), "drawing %d differs", i)
	}
}

// An empty drawing is still a valid file.
func TestEmptyDrawing(t *testing.T) {
	a := audit(t, write(t, Drawing{}))
	assert.Empty(t, a.Errors)
	assert.Empty(t, a.Fixes)
	assert.Empty(t, a.Entities)
}

func BenchmarkWrite(b *testing.B) {
	d := fromSet(b, sample(), 0)
	b.ReportAllocs()
	for b.Loop() {
		if err := Write(&bytes.Buffer{}, d, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// A piece in another's opening is drawn before that opening, and that before the outline
// around it; all other openings come first.
func TestPieceInAnOpeningIsDrawnFirst(t *testing.T) {
	set := sample()
	ring := &set.Jig.Parts[0]
	ring.Scale, ring.Openings[0] = 1, jig.Opening{ID: "a", Kind: jig.OpenHang, Figure: geom.Dot(geom.Point{X: 30, Y: 30}), Width: 2 * 15}
	set.Sheets[0].Placed[1].On = geom.Placement{X: 80 - 30 - 10, Y: 10 + 30 - 10}
	var got []string
	for _, s := range fromSet(t, set, 0).Shapes[1:] {
		if s.Layer == Opening || s.Layer == Outline {
			got = append(got, fmt.Sprintf("%s %.0f", s.Layer, s.Bounds().Width()))
		}
	}
	assert.Equal(t, []string{"OPENING 3", "OPENING 12", "OUTLINE 20", "OPENING 30", "OUTLINE 60"}, got)
}

// A drawing with the kerf taken is larger by half a kerf at its outlines, smaller in its
// openings, and says so; one without room for the kerf is refused.
func TestCompensated(t *testing.T) {
	set := sample()
	set.Material.Kerf, set.Job.DXF = 0.2, "compensated"
	plain := sample()
	a, b := fromSet(t, plain, 0), fromSet(t, set, 0)
	require.Len(t, b.Shapes, len(a.Shapes))
	for i, s := range a.Shapes {
		more := map[Layer]float64{Outline: 0.2, Opening: -0.2}[s.Layer]
		assert.InDelta(t, s.Bounds().Width()+more, b.Shapes[i].Bounds().Width(), 1e-9, "%s %d", s.Layer, i)
	}
	assert.Contains(t, strings.Join(b.Notes, "\n"), "a kerf of 0.2 mm is taken already")
	assert.Contains(t, string(write(t, b)), "kerf taken")
	set.Material.Kerf = 3.2
	_, err := FromSet(set, 0)
	assert.ErrorIs(t, err, geom.ErrShape)
}
