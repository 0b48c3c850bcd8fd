package svg

import (
	"bytes"
	"fmt"
	"image"
	_ "image/png"
	"math"
	"os/exec"
	"regexp"
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

// The proof takes a path drawn from its end, and a closed one that begins anywhere, for what
// they are; and one that begins late, ends early or goes on too far, on a line or an arc, for
// off. The ways are worked out here: a score of a line, half a circle about 60 40 of radius 20
// and a line back to where it began, and an outline whose right side is half a circle about
// 100 40 of radius 40, on a sheet 100 high.
func TestEndsReadBack(t *testing.T) {
	at := func(x, y, bulge float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}, Bulge: bulge} }
	set := sample()
	set.Jig.Parts = []jig.Part{{ID: "H1", Scale: 1, Outline: geom.MustClosed(at(0, 0, 0), at(100, 0, 1), at(100, 80, 0), at(0, 80, 0)),
		Scores: []geom.Contour{geom.MustOpen(at(40, 40, 0), at(80, 40, 1), at(40, 40, 0))}}}
	set.Sheets[0].Sheet = nest.Sheet{N: 1, Width: 200, Height: 100, Placed: []nest.Placed{{ID: "H1"}}}
	data := string(write(t, set))
	drawn := regexp.MustCompile(` d="M[^"]*"`).FindAllString(data, -1)
	require.Len(t, drawn, 2)
	// p and q are arcs to the point so far along either half circle, mm; back turns arcs.
	half := 20 * math.Pi
	p := func(s float64) string {
		return fmt.Sprintf("A20 20 0 0 0 %.6f %.6f", 60+20*math.Cos(s/20), 100-(40+20*math.Sin(s/20)))
	}
	q := func(s float64) string {
		return fmt.Sprintf("A40 40 0 0 0 %.6f %.6f", 100+40*math.Sin(s/40), 100-(40-40*math.Cos(s/40)))
	}
	back := func(d string) string { return strings.ReplaceAll(d, " 0 0 0 ", " 0 0 1 ") }
	whole, first, rest := p(half/2)+p(half), q(half/2)+q(half), q(3*half/2)+q(2*half)
	for _, k := range []struct {
		of    int
		d     string
		sound bool
		what  string
	}{
		{0, "M40 60L80 60" + whole, true, "as drawn"},
		{0, "M40 60L50 60L80 60" + p(9) + whole, true, "in more parts"},
		{0, "M40 60" + back(p(half/2)+p(0)) + "L40 60", true, "from its end"},
		{0, "M40.006 60L80 60" + whole, false, "begins late, where it ends"},
		{0, "M39.994 60L80 60" + whole, false, "begins too soon"},
		{0, "M40 60L80 60" + p(half/2) + p(half-0.006), false, "its arc ends early, where it begins"},
		{0, "M40 60L80 60" + p(half/2) + p(half+0.006), false, "its arc ends too late"},
		{0, "M40 60L80 60" + p(half/2) + p(half-0.0003), true, "within what is allowed"},
		{0, "M40 60" + back(p(half/2)+p(0.006)) + "L40 60", false, "from its end, a corner off"},
		{0, "M40 60L80.006 60L80 60" + whole, false, "goes back on itself"},
		{0, "M80 60" + whole + "L79.994 60", false, "begins at its corner and ends early"},
		{1, "M0 100L100 100" + first + rest + "L0 20Z", true, "as drawn"},
		{1, "M50 100L100 100" + first + rest + "L0 20L0 100Z", true, "begins on an edge"},
		{1, "M50.006 100L100 100" + first + rest + "L0 20L0 100L50 100Z", true, "begins late on an edge, which it is closed along"},
		{1, "M49.994 100L100 100" + first + rest + "L0 20L0 100L50 100Z", false, "begins too soon on an edge, and goes back along it"},
		{1, "M0.006 100L100 100" + first + rest + "L0 20Z", false, "begins late at a corner"},
		{1, "M-0.006 100L100 100" + first + rest + "L0 20Z", false, "begins beyond its corner"},
		{1, "M140 60" + rest + "L0 20L0 100L100 100" + first + "Z", true, "begins on its arc"},
		{1, "M140 60" + rest + "L0 20L0 100L100 100" + q(half/2) + q(half+0.006) + "Z", false, "its arc goes on past where it began"},
		{1, "M140 60" + rest + "L0 20L0 100L100 100" + q(half/2) + q(half-0.006) + "Z", true, "its arc ends early, and a line as long closes it"},
		{1, "M0 100L0 20L100 20" + back(q(3*half/2)+q(half)+q(half/2)+q(0)) + "Z", true, "the other way round"},
		{1, "M0 100L0 20.006L100 20" + back(q(3*half/2)+q(half)+q(half/2)+q(0)) + "Z", false, "the other way round, a corner off"},
		{1, "M0 100L100 100" + first + rest + "L0 20", false, "left open"},
	} {
		c := cut.SVG([]byte(strings.Replace(data, drawn[k.of], ` d="`+k.d+`"`, 1)), set, 0)
		assert.Equal(t, k.sound, c.Verdict == jig.Pass, "path %d, %s: %s\n%s\n%s", k.of, k.what, c.Text, k.d, drawn[k.of])
	}
}
