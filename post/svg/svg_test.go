package svg

import (
	"bytes"
	"image"
	_ "image/png"
	"math"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
	"spotjig/post/proof/cut"
)

// sample is one sheet: a plate with a hole, a slot and an arc slot, turned and scaled, a
// score and a letter; a ring with a plug in its opening.
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
	ring := jig.Part{ID: "R1", Scale: 1, Outline: geom.Circle(geom.Point{X: 40, Y: 40}, 40).Canonical(),
		Openings: []jig.Opening{{ID: "eye", Kind: jig.OpenHang, Figure: geom.Dot(geom.Point{X: 40, Y: 40}), Width: 2 * 25}}}
	plug := jig.Part{ID: "P1", Scale: 1, Outline: geom.Circle(geom.Point{X: 10, Y: 10}, 10).Canonical()}
	return post.Set{
		Job:      job.Job{DXF: "nominal", Colours: job.Colours{Lettering: "#000000", Score: "#008000", Opening: "#0000ff", Outline: "#ff0000"}},
		Material: machine.Material{Kind: "cast acrylic", Thickness: 4.85, Kerf: 0.18},
		Jig:      jig.Jig{Parts: []jig.Part{plate, ring, plug}},
		Sheets: []post.Sheet{{Sheet: nest.Sheet{N: 1, Width: 250, Height: 150, Placed: []nest.Placed{
			{ID: "H1", On: geom.Placement{X: 80, Y: 10, Turn: 90 * geom.Degree}},
			{ID: "R1", On: geom.Placement{X: 110, Y: 30}},
			{ID: "P1", On: geom.Placement{X: 140, Y: 60}},
		}}}},
	}
}

func write(t *testing.T, set post.Set) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, set, 0, Options{Version: "test"}))
	return b.Bytes()
}

// The proof, which reads it with code of its own, finds the parts in it.
func TestReadsBack(t *testing.T) {
	for _, dxf := range []string{"nominal", "compensated"} {
		set := sample()
		set.Job.DXF = dxf
		data := write(t, set)
		c := cut.SVG(data, set, 0)
		assert.Equal(t, jig.Pass, c.Verdict, "%s: %s\n%s", dxf, c.Text, data)
		assert.Equal(t, dxf == "compensated", strings.Contains(string(data), "kerf taken"))
		other := set
		other.Job.DXF = map[string]string{"nominal": "compensated", "compensated": "nominal"}[dxf]
		assert.Equal(t, jig.Fail, cut.SVG(data, other, 0).Verdict)
	}
}

// Groups come in cutting order, the plug's before the opening that it lies in.
func TestGroups(t *testing.T) {
	var ids []string
	for _, l := range strings.Split(string(write(t, sample())), "\n") {
		if _, id, ok := strings.Cut(l, `<g id="`); ok {
			ids = append(ids, id[:strings.IndexByte(id, '"')])
		}
	}
	assert.Equal(t, []string{"LETTERING", "SCORE", "OPENING", "OUTLINE-INSIDE", "OPENING-AROUND", "OUTLINE"}, ids)
}

// Numbers, and text in the comment that would end it.
func TestText(t *testing.T) {
	assert.Equal(t, "0", number(-0.0000004))
	assert.Equal(t, "12.5", number(12.5))
	assert.Equal(t, "100", number(100))
	assert.Equal(t, "1__>_x", commented("1--><x"))
}

// An independent reader draws it at ten dots a millimetre (librsvg's rsvg-convert): the
// picture is as large as the sheet, every contour lies where the parts are, and nothing
// is drawn elsewhere.
func TestDrawnByAnotherReader(t *testing.T) {
	tool, err := exec.LookPath("rsvg-convert")
	if err != nil {
		t.Skipf("no rsvg-convert: %v (Debian: librsvg2-bin)", err)
	}
	const dots = 10.0 // a millimetre
	set := sample()
	cmd := exec.Command(tool, "-d", strconv.FormatFloat(dots*25.4, 'f', -1, 64), "-p", strconv.FormatFloat(dots*25.4, 'f', -1, 64), "-b", "white")
	cmd.Stdin = bytes.NewReader(write(t, set))
	png, err := cmd.Output()
	require.NoError(t, err)
	picture, _, err := image.Decode(bytes.NewReader(png))
	require.NoError(t, err)
	size := picture.Bounds()
	assert.Equal(t, image.Pt(2500, 1500), size.Size())
	drawn, err := set.Drawing(0)
	require.NoError(t, err)
	near := map[image.Point]bool{}
	missed, looked := 0, 0
	for _, d := range drawn {
		for _, s := range d.Segments() {
			n := int(math.Ceil(s.Length() * dots))
			for k := range n + 1 {
				p := s.At(float64(k) / float64(n))
				at := image.Pt(int(math.Floor(p.X*dots)), int(math.Floor((set.Sheets[0].Height-p.Y)*dots)))
				dark := false
				for dx := -1; dx <= 1; dx++ {
					for dy := -1; dy <= 1; dy++ {
						q := at.Add(image.Pt(dx, dy))
						near[q] = true
						dark = dark || inked(picture, q)
					}
				}
				looked++
				if !dark {
					missed++
				}
			}
		}
	}
	assert.Greater(t, looked, 5000)
	assert.Zero(t, missed, "of %d places on contours", looked)
	stray := 0
	for y := size.Min.Y; y < size.Max.Y; y++ {
		for x := size.Min.X; x < size.Max.X; x++ {
			if inked(picture, image.Pt(x, y)) && !near[image.Pt(x, y)] {
				stray++
			}
		}
	}
	assert.Zero(t, stray, "dots off every contour")
}

// inked reports whether a dot is not white.
func inked(p image.Image, at image.Point) bool {
	r, g, b, _ := p.At(at.X, at.Y).RGBA()
	return min(r, g, b) < 0xf000
}

// A colour that is none never gets into a file: job files state it, and their reader lets
// no other through.
func TestColourIsOne(t *testing.T) {
	for _, c := range []string{"", "red", "#ff00", "#FF0000", `#ff0000" onload="x`, "#ff000\n"} {
		set := sample()
		set.Job.Colours.Score = c
		var b bytes.Buffer
		assert.ErrorIs(t, Write(&b, set, 0, Options{}), ErrColour, "%q", c)
		assert.Empty(t, b.String())
	}
}
