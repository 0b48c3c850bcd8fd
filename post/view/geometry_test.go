package view_test

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/view"
)

// same is how near a drawn shape must lie to the set's, mm.
const same = 0.05

// parsePath reads path data back: M, L, A, Z and their relative forms, arcs by
// the conversion of SVG 1.1 (second edition), appendix F.6.5.
func parsePath(t testing.TB, d string) [][]geom.Segment {
	t.Helper()
	var out [][]geom.Segment
	var cur []geom.Segment
	var at, first geom.Point
	for _, m := range regexp.MustCompile(`([MLAZmlaz])([^MLAZmlaz]*)`).FindAllStringSubmatch(d, -1) {
		var n []float64
		for _, s := range regexp.MustCompile(`-?\d*\.?\d+`).FindAllString(m[2], -1) {
			v, err := strconv.ParseFloat(s, 64)
			require.NoError(t, err)
			n = append(n, v)
		}
		to := func(x, y float64) geom.Point {
			if m[1] == strings.ToLower(m[1]) {
				return geom.Point{X: at.X + x, Y: at.Y + y}
			}
			return geom.Point{X: x, Y: y}
		}
		switch strings.ToUpper(m[1]) {
		case "M":
			require.Len(t, n, 2, d)
			if cur != nil {
				out = append(out, cur)
			}
			at = to(n[0], n[1])
			first, cur = at, []geom.Segment{}
		case "L":
			require.Len(t, n, 2, d)
			p := to(n[0], n[1])
			cur, at = append(cur, geom.Segment{From: at, To: p}), p
		case "A":
			require.Len(t, n, 7, d)
			p := to(n[5], n[6])
			cur, at = append(cur, arcOf(t, at, p, n)), p
		case "Z":
			if at.Dist(first) > 1e-6 {
				cur = append(cur, geom.Segment{From: at, To: first})
			}
			at = first
		}
	}
	return append(out, cur)
}

// arcOf is F.6.5 for a circle: half chord h, radius r, sweep 2 asin(h/r) for
// the short arc.
func arcOf(t testing.TB, from, to geom.Point, n []float64) geom.Segment {
	t.Helper()
	require.Equal(t, n[0], n[1], "a circle")
	require.Zero(t, n[3], "the short arc")
	h, r := from.Dist(to)/2, n[0]
	sweep := 2 * math.Asin(math.Min(1, h/r))
	if n[4] == 0 {
		sweep = -sweep
	}
	return geom.Segment{From: from, To: to, Bulge: math.Tan(sweep / 4)}
}

// near returns the greatest distance from a sample of a to the nearest of b.
func near(a, b []geom.Segment) float64 {
	worst := 0.0
	for _, s := range a {
		for i := 0; i <= 8; i++ {
			p, best := s.At(float64(i)/8), math.Inf(1)
			for _, o := range b {
				if _, d := o.Nearest(p); d < best {
					best = d
				}
			}
			worst = math.Max(worst, best)
		}
	}
	return worst
}

// alike asserts that each of two sets of segments lies on the other.
func alike(t testing.TB, want, got []geom.Segment, what string) {
	t.Helper()
	require.NotEmpty(t, got, what)
	assert.Less(t, near(want, got), same, what)
	assert.Less(t, near(got, want), same, what)
}

func flatten(chains [][]geom.Segment) (out []geom.Segment) {
	for _, c := range chains {
		out = append(out, c...)
	}
	return out
}

// drawn is what a test needs of an SVG file: for every element its attributes
// and those of the elements round it.
type drawn struct {
	name string
	attr map[string]string
	up   *drawn
}

func read(t testing.TB, doc []byte) []*drawn {
	t.Helper()
	var out []*drawn
	var cur *drawn
	d := xml.NewDecoder(bytes.NewReader(doc))
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		require.NoError(t, err)
		switch e := tok.(type) {
		case xml.StartElement:
			cur = &drawn{name: e.Name.Local, attr: map[string]string{}, up: cur}
			for _, a := range e.Attr {
				cur.attr[a.Name.Local] = a.Value
			}
			out = append(out, cur)
		case xml.EndElement:
			cur = cur.up
		}
	}
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// placementOf reads translate(x y) rotate(deg) back.
func placementOf(t testing.TB, s string) geom.Placement {
	t.Helper()
	m := regexp.MustCompile(`^translate\((\S+) (\S+)\)(?: rotate\((\S+)\))?$`).FindStringSubmatch(s)
	require.NotNil(t, m, s)
	p := geom.Placement{X: number(t, m[1]), Y: number(t, m[2])}
	if m[3] != "" {
		p.Turn = geom.FromDegrees(number(t, m[3]))
	}
	return p
}

// bodies returns every piece's shape in the store, by its store id.
func bodies(t testing.TB, doc []*drawn) map[string][]geom.Segment {
	out := map[string][]geom.Segment{}
	for _, e := range doc {
		if e.attr["class"] == "body" && e.name == "path" {
			out[e.up.attr["id"]] = flatten(parsePath(t, e.attr["d"]))
		}
	}
	return out
}

func shapeOf(p []geom.Contour, m geom.Placement) (out []geom.Segment) {
	for _, c := range p {
		out = append(out, c.Transform(m).Segments()...)
	}
	return out
}

func moved(s []geom.Segment, m geom.Placement) []geom.Segment {
	out := make([]geom.Segment, len(s))
	for i := range s {
		out[i] = s[i].Transform(m)
	}
	return out
}

func edges(set post.Set, i int) []geom.Contour {
	p := set.Jig.Parts[i]
	out := []geom.Contour{p.Outline}
	for _, o := range p.Openings {
		out = append(out, o.Contour())
	}
	return out
}

// TestTablePictureEqualsTheSet: every mark, every flat piece where it lies and
// every upright one, read back from the picture.
func TestTablePictureEqualsTheSet(t *testing.T) {
	set := demoSet()
	doc := read(t, tableSVG(t, set))
	store := bodies(t, doc)
	pieces, spots, lines, fins := 0, 0, 0, 0
	for _, e := range doc {
		switch {
		case e.name == "use" && strings.HasPrefix(e.attr["href"], "#p") && e.up.attr["id"] == "s-jig":
			i, err := strconv.Atoi(e.attr["href"][2:])
			require.NoError(t, err)
			want := shapeOf(edges(set, i), set.Jig.Parts[i].OnTable.Plan())
			alike(t, want, moved(store[e.attr["href"][1:]], placementOf(t, e.attr["transform"])), set.Jig.Parts[i].ID)
			pieces++
		case e.attr["class"] == "spot":
			m := markOf(t, set, e.up.attr["data-mark"])
			assert.InDelta(t, m.X, number(t, e.attr["cx"]), same)
			assert.InDelta(t, m.Y, number(t, e.attr["cy"]), same)
			spots++
		case e.attr["class"] == "line":
			m := markOf(t, set, e.up.attr["data-mark"])
			alike(t, markSegments(m), flatten(parsePath(t, e.attr["d"])), m.ID)
			lines++
		case e.attr["class"] == "fin":
			p, _ := set.Part(e.attr["data-part"])
			box := geom.EmptyBox()
			for _, s := range flatten(parsePath(t, e.attr["d"])) {
				box = box.Union(s.Bounds())
			}
			assert.InDelta(t, p.OnTable.Plan().Apply(geom.Point{X: p.Outline.Bounds().Width() / 2}).X, box.Center().X, same, p.ID)
			fins++
		}
	}
	assert.Equal(t, []int{10, 7, 5, 6}, []int{pieces, spots, lines, fins}, "all of them are there")
}

func markOf(t testing.TB, set post.Set, id string) layout.Mark {
	t.Helper()
	for _, m := range set.Marks {
		if m.ID == id {
			return m
		}
	}
	require.FailNow(t, "no mark "+id)
	return layout.Mark{}
}

// markSegments draws a mark from its own numbers, arcs in steps of a degree.
func markSegments(m layout.Mark) []geom.Segment {
	switch m.Kind {
	case layout.Line:
		return []geom.Segment{{From: geom.Point{X: m.X, Y: m.Y}, To: geom.Point{X: m.X2, Y: m.Y2}}}
	case layout.Arc:
		at := func(deg float64) geom.Point {
			s, c := math.Sincos(deg * math.Pi / 180)
			return geom.Point{X: m.X + m.Radius*c, Y: m.Y + m.Radius*s}
		}
		var out []geom.Segment
		for a := m.Start.Degrees(); a < m.End.Degrees(); a++ {
			out = append(out, geom.Segment{From: at(a), To: at(a + 1), Bulge: math.Tan(math.Pi / 720)})
		}
		return out
	default:
		var out []geom.Segment
		for i, p := range m.Points {
			q := m.Points[(i+1)%len(m.Points)]
			out = append(out, geom.Segment{From: geom.Point{X: p[0], Y: p[1]}, To: geom.Point{X: q[0], Y: q[1]}})
		}
		return out
	}
}

// TestSheetPicturesEqualTheSet: every piece where the nest put it.
func TestSheetPicturesEqualTheSet(t *testing.T) {
	set := demoSet()
	for _, sh := range set.Sheets {
		var b bytes.Buffer
		require.NoError(t, view.WriteSheet(&b, set, sh.N, view.Options{}))
		doc := read(t, b.Bytes())
		store := bodies(t, doc)
		n := 0
		for _, e := range doc {
			if e.name != "use" || e.attr["data-part"] == "" {
				continue
			}
			pl := sh.Placed[n]
			require.Equal(t, pl.ID, e.attr["data-part"])
			i, err := strconv.Atoi(e.attr["href"][2:])
			require.NoError(t, err)
			alike(t, shapeOf(edges(set, i), pl.On), moved(store[e.attr["href"][1:]], placementOf(t, e.attr["transform"])), pl.ID)
			n++
		}
		assert.Len(t, sh.Placed, n)
	}
	assert.ErrorContains(t, view.WriteSheet(io.Discard, set, 99, view.Options{}), "no sheet 99")
}

// TestCutOrderEqualsTheToolpath reads the page's data back: every move of every
// operation, and the sums of length and time.
func TestCutOrderEqualsTheToolpath(t *testing.T) {
	set := demoSet()
	m := regexp.MustCompile(`(?s)<script type="application/json" id="data">(.*?)</script>`).FindSubmatch(page(t, set))
	require.NotNil(t, m)
	var data struct {
		Parts, Features, Layers []string
		Sheets                  []struct {
			N         int
			Time, Cut float64
			Ops       [][]any
		}
	}
	require.NoError(t, json.Unmarshal(m[1], &data))
	require.Len(t, data.Sheets, len(set.Sheets))
	for k, sh := range set.Sheets {
		require.Len(t, data.Sheets[k].Ops, len(sh.Path.Ops))
		time, cut := 0.0, 0.0
		for i, o := range sh.Path.Ops {
			got := data.Sheets[k].Ops[i]
			var want []geom.Segment
			for _, mv := range o.Moves {
				want = append(want, mv.Segment)
			}
			what := fmt.Sprintf("sheet %d, %s %s %s", sh.N, o.Layer, o.Part, o.Feature)
			alike(t, want, flatten(parsePath(t, got[7].(string))), what)
			assert.Equal(t, o.Layer.String(), data.Layers[int(got[0].(float64))])
			assert.Equal(t, o.Part, data.Parts[int(got[1].(float64))])
			assert.Equal(t, o.Feature, data.Features[int(got[2].(float64))])
			cut += got[4].(float64)
			time += got[5].(float64) + got[6].(float64)
		}
		assert.InDelta(t, sh.CutLen, cut, 0.1*float64(len(sh.Path.Ops))/10)
		assert.InDelta(t, sh.Time, time, 0.1)
	}
}

// TestBallsAreRackedAtTrueSize: neighbours in the rack touch, the first pool
// ball stands on the foot spot, the first red one ball behind the pink, and the
// depth is that of the published triangle, (1 + 2·√3)·d (255.1 mm at 57.15: how
// inside measures of a 15-ball triangle are commonly given).
func TestBallsAreRackedAtTrueSize(t *testing.T) {
	set := demoSet()
	d := set.Job.Balls.Diameter
	groups := map[string][]geom.Point{}
	for _, e := range read(t, tableSVG(t, set)) {
		if strings.HasPrefix(e.attr["class"], "ball") {
			assert.InDelta(t, d, 2*number(t, e.attr["r"]), 0.01)
			k := e.up.attr["id"] + " " + e.attr["class"]
			groups[k] = append(groups[k], geom.Point{X: number(t, e.attr["cx"]), Y: number(t, e.attr["cy"])})
		}
	}
	reds, pool := groups["s-snooker ball red"], groups["s-pool ball"]
	require.Len(t, reds, 15)
	require.Len(t, pool, 15)
	assert.Len(t, groups["s-snooker ball"], 6)
	assert.InDelta(t, 1905, pool[0].X, 0.01)
	assert.InDelta(t, 1905+d, reds[0].X, 0.01)
	for _, balls := range [][]geom.Point{reds, pool} {
		box, touch := geom.EmptyBox(), 0
		for i, p := range balls {
			box = box.Union(geom.Box{Min: p, Max: p}.Grow(d / 2))
			for _, q := range balls[i+1:] {
				assert.Greater(t, p.Dist(q), d-0.01)
				if p.Dist(q) < d+0.01 {
					touch++
				}
			}
		}
		assert.InDelta(t, (1+2*math.Sqrt(3))*d, box.Width(), 0.01)
		assert.InDelta(t, 5*d, box.Height(), 0.01)
		assert.Equal(t, 30, touch, "each row of n adds 3(n-1) contacts")
	}
}

func TestSameBytes(t *testing.T) {
	want := page(t, demoSet())
	for range 5 {
		assert.True(t, bytes.Equal(want, page(t, demoSet())))
	}
}

// TestPageStandsAlone: nothing in it names another file or address, and each
// piece is drawn once.
func TestPageStandsAlone(t *testing.T) {
	pg := string(page(t, demoSet()))
	assert.NotRegexp(t, `(?i)(src|href)="[^#]`, pg)
	assert.NotContains(t, pg, "@import")
	assert.NotContains(t, pg, "url(")
	assert.NotContains(t, pg, "innerHTML")
	assert.Equal(t, len(demoSet().Jig.Parts), strings.Count(pg, `class="body" fill-rule`))
}

// TestPicturesNeedNoVariables: CSS custom properties are younger than SVG 1.1 (W3C, 2011),
// and what uses one is drawn black by many programs that convert pictures.
func TestPicturesNeedNoVariables(t *testing.T) {
	svg := string(tableSVG(t, demoSet()))
	assert.NotContains(t, svg, "var(")
	assert.NotContains(t, svg, "{--")
	assert.Contains(t, svg, ".cloth{fill:#e6eeea}")
}

// TestLimit: a page over its limit leaves the lettering out of the cut order
// but keeps the time; one that is still too large is refused.
func TestLimit(t *testing.T) {
	set := demoSet()
	whole := page(t, set)
	var small bytes.Buffer
	require.NoError(t, view.Write(&small, set, view.Options{Limit: len(whole) - 1}))
	assert.Less(t, small.Len(), len(whole))
	assert.Contains(t, small.String(), "Lettering is left out")
	assert.ErrorContains(t, view.Write(io.Discard, set, view.Options{Limit: 1000}), "the limit is 1000")
	var whole2 bytes.Buffer
	require.NoError(t, view.Write(&whole2, set, view.Options{Limit: len(whole)}))
	assert.Len(t, whole2.Bytes(), len(whole))
}

// TestShopHasNoPlayer: without a machine of one's own there is no cut order.
func TestShopHasNoPlayer(t *testing.T) {
	set := demoSet()
	set.Machine.Process = "shop"
	pg := string(page(t, set))
	assert.NotContains(t, pg, `id="player"`)
	assert.NotContains(t, pg, `id="data"`)
}

// TestEmptySet: a set with nothing in it still makes a page.
func TestEmptySet(t *testing.T) {
	set := demoSet()
	set.Marks, set.Sheets, set.Checks, set.Cautions = nil, nil, nil, nil
	set.Jig.Parts, set.Jig.Budgets = nil, nil
	assert.NotEmpty(t, page(t, set))
}

func BenchmarkWrite(b *testing.B) {
	set := demoSet()
	for b.Loop() {
		if err := view.Write(io.Discard, set, view.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// TestFoldedBoxShowsItsFront: a box of card lies flat 146 mm wide on its sheet
// but stands with its front alone, 44 to 102, along the nose; it touches in the
// middle of that front.
func TestFoldedBoxShowsItsFront(t *testing.T) {
	set := demoSet()
	fold := func(x, y0, y1 float64) geom.Contour {
		return geom.MustOpen(geom.Vertex{At: geom.Point{X: x, Y: y0}}, geom.Vertex{At: geom.Point{X: x, Y: y1}})
	}
	for i, p := range set.Jig.Parts {
		if p.ID == "HE1" {
			p.Role, p.Outline = "end box", geom.Rect(geom.Box{Max: geom.Point{X: 146, Y: 94}})
			p.Scores = []geom.Contour{fold(60, 1, 38), fold(44, 46, 93), fold(102, 46, 93), fold(86, 1, 38)}
			p.OnTable = jig.Pose{X: 0, Y: 400, Turn: 270 * geom.Degree, Upright: true}
			set.Jig.Parts[i] = p
		}
	}
	span, touch := geom.EmptyBox(), geom.EmptyBox()
	for _, e := range read(t, tableSVG(t, set)) {
		if e.attr["class"] == "fin" && e.attr["data-part"] == "HE1" {
			for _, s := range flatten(parsePath(t, e.attr["d"])) {
				span = span.Union(s.Bounds())
			}
		}
		if e.attr["class"] == "touch" && touch.IsEmpty() {
			touch = touch.Include(flatten(parsePath(t, e.attr["d"]))[0].From)
		}
	}
	assert.InDelta(t, 400-102, span.Min.Y, same)
	assert.InDelta(t, 400-44, span.Max.Y, same)
	assert.InDelta(t, 0, touch.Min.X, same)
	assert.InDelta(t, 400-73, touch.Min.Y, same)
}
