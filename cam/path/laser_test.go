package path_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout/geom"
)

func poly(p ...float64) geom.Contour {
	var v []geom.Vertex
	for i := 0; i < len(p); i += 2 {
		v = append(v, geom.Vertex{At: pt(p[i], p[i+1])})
	}
	return geom.MustClosed(v...)
}

// arm is a plate with a tail on its right, a socket on its left, a spot hole, a
// slot and an arc slot, a score, lettering, and its lower edge as reference.
func arm(id string) jig.Part {
	return jig.Part{
		ID: id, Scale: 1,
		Outline: poly(0, 0, 220, 0, 220, 30, 235, 25, 235, 55, 220, 50, 220, 80, 0, 80, 0, 50.05, 14.9, 55.05, 14.9, 24.95, 0, 29.95),
		Openings: []jig.Opening{
			{ID: "black", Mark: "black", Kind: jig.OpenSpot, Figure: geom.Dot(pt(60, 40)), Width: 2 * 1.55},
			{ID: "long-string/1", Mark: "long-string", Kind: jig.OpenSlot, Figure: geom.Line(pt(80, 40), pt(150, 40)), Width: 3.1},
			{ID: "far end", Mark: "d", Kind: jig.OpenArc, Figure: geom.Arc(pt(180, 40), 20, -80*geom.Degree, 80*geom.Degree), Width: 3.1},
			{ID: id + "-fin", Kind: jig.OpenFin, Figure: geom.Line(pt(30, 65), pt(60, 65)), Width: 4.95},
			{ID: id + "-hang", Kind: jig.OpenHang, Figure: geom.Dot(pt(30, 20)), Width: 2 * 5},
		},
		Scores:  []geom.Contour{geom.MustOpen(geom.Vertex{At: pt(10, 10)}, geom.Vertex{At: pt(100, 10)})},
		Letters: []geom.Contour{geom.MustOpen(geom.Vertex{At: pt(100, 60)}, geom.Vertex{At: pt(104, 66)}, geom.Vertex{At: pt(108, 60)}), geom.MustOpen(geom.Vertex{At: pt(102, 63)}, geom.Vertex{At: pt(106, 63)})},
		NoStart: []geom.Segment{{From: pt(0, 0), To: pt(220, 0)}, {From: pt(235, 25), To: pt(235, 55)}},
	}
}

func fin(id string) jig.Part {
	return jig.Part{ID: id, Scale: 1, Outline: poly(0, 0, 70, 0, 55, 52, 15, 52),
		NoStart: []geom.Segment{{From: pt(70, 0), To: pt(55, 52)}}}
}

func plug(id string) jig.Part {
	return jig.Part{ID: id, Scale: 1, Outline: geom.Circle(pt(6, 6), 6),
		Openings: []jig.Opening{{ID: id + "-hole", Kind: jig.OpenSpot, Figure: geom.Dot(pt(6, 6)), Width: 2 * 1.55}}}
}

func acrylic() machine.Material {
	return machine.Material{
		Kerf:   0.18,
		Cut:    machine.Setting{Power: 800, Feed: machine.FeedPerMinute(600), Passes: 1},
		Score:  machine.Setting{Power: 150, Feed: machine.FeedPerMinute(1800), Passes: 1},
		Letter: machine.Setting{Power: 100, Feed: machine.FeedPerMinute(3000), Passes: 1},
	}
}

func items(parts []jig.Part) []nest.Item {
	var out []nest.Item
	for _, p := range parts {
		out = append(out, nest.Item{ID: p.ID, Outline: p.Outline.Scaled(p.Scale)})
	}
	return out
}

// laid nests the parts on one sheet of 600 x 400.
func laid(t testing.TB, parts []jig.Part) nest.Sheet {
	sheets, err := nest.Nest(items(parts), nest.Options{Stock: []machine.Stock{{Width: 600, Height: 400}}, Gap: 4, Margin: 6.6})
	require.NoError(t, err)
	require.Len(t, sheets, 1)
	return sheets[0]
}

func sample() []jig.Part {
	return []jig.Part{arm("H1"), arm("H2"), fin("H-fin-left"), fin("H-fin-right"), plug("H-plug-1"), plug("H-plug-2")}
}

func request(t testing.TB, parts []jig.Part) path.Request {
	return path.Request{Sheet: laid(t, parts), Parts: parts, Material: acrylic()}
}

// nominal is every cut edge of the sheet at nominal size, sheet frame.
type edge struct {
	part, feature string
	c             geom.Contour
}

func nominal(t testing.TB, r path.Request) []edge {
	byID := map[string]jig.Part{}
	for _, p := range r.Parts {
		byID[p.ID] = p
	}
	var out []edge
	for _, pl := range r.Sheet.Placed {
		p, ok := byID[pl.ID]
		require.True(t, ok)
		out = append(out, edge{p.ID, "outline", p.Outline.Scaled(p.Scale).Transform(pl.On)})
		for _, o := range p.Openings {
			name := o.ID
			if o.ID == "far end" {
				name = o.Mark
			}
			out = append(out, edge{p.ID, name, o.Contour().Scaled(p.Scale).Transform(pl.On)})
		}
	}
	return out
}

// stations walks a contour in steps, by the contour's own parametrisation.
func stations(c geom.Contour, step float64) []geom.Point {
	var out []geom.Point
	for _, s := range c.Segments() {
		n := int(s.Length()/step) + 2
		for i := 0; i <= n; i++ {
			out = append(out, s.At(float64(i)/float64(n)))
		}
	}
	return out
}

// checkCut holds what every laser toolpath must do: moves that follow each
// other, no cut nearer than half a kerf to any kept edge, every nominal edge with
// a cut half a kerf away except where ties are asked for.
func checkCut(t *testing.T, r path.Request, tp path.Toolpath, tied bool) {
	t.Helper()
	k := r.Material.Kerf
	edges := nominal(t, r)
	var cuts []path.Move
	for _, op := range tp.Ops {
		require.NotEmpty(t, op.Moves)
		require.True(t, 0 <= op.First && op.First < op.Last && op.Last <= len(op.Moves), "%+v", op)
		for i, m := range op.Moves {
			require.Greater(t, m.Length(), 1e-6, "%s %s move %d", op.Part, op.Feature, i)
			if i > 0 {
				require.Less(t, m.From.Dist(op.Moves[i-1].To), 1e-9)
			}
			if op.Layer >= path.Opening {
				cuts = append(cuts, m)
			}
		}
	}
	for _, e := range edges {
		for _, m := range cuts {
			if !m.Bounds().Grow(1).Overlaps(e.c.Bounds()) {
				continue
			}
			one := geom.MustOpen(geom.Vertex{At: m.From, Bulge: m.Bulge}, geom.Vertex{At: m.To})
			require.GreaterOrEqual(t, e.c.Distance(one), k/2-2e-6, "%s %s", e.part, e.feature)
		}
		if tied {
			continue
		}
		for _, p := range stations(e.c, 3) {
			best := math.Inf(1)
			for _, m := range cuts {
				if _, d := m.Nearest(p); d < best {
					best = d
				}
			}
			// A round cut cannot reach into a sharp inside corner that turns by a:
			// it stays (k/2)/cos(a/2) away. The socket here turns by 108.6 degrees.
			require.LessOrEqual(t, best, k/2*1.713, "%s %s at %v", e.part, e.feature, p)
		}
	}
}

func TestLaserCutsEveryEdgeOnItsWasteSide(t *testing.T) {
	for _, kerf := range []float64{0.08, 0.18, 0.35} {
		t.Run(fmt.Sprint(kerf), func(t *testing.T) {
			r := request(t, sample())
			r.Material.Kerf = kerf
			tp, err := path.Laser(r)
			require.NoError(t, err)
			checkCut(t, r, tp, false)
			checkOrder(t, r, tp)
			checkTotals(t, r, tp)
			checkClosed(t, r, tp)
		})
	}
}

// checkClosed compares the nominal part of every closed cut with the exact offset.
func checkClosed(t *testing.T, r path.Request, tp path.Toolpath) {
	want := map[string]float64{}
	for _, e := range nominal(t, r) {
		o, err := e.c.Offset(r.Material.Kerf / 2)
		require.NoError(t, err)
		want[e.part+" "+e.feature] = o.Length()
	}
	for _, op := range tp.Ops {
		if op.Layer < path.Opening {
			continue
		}
		sum := 0.0
		for _, m := range op.Moves[op.First:op.Last] {
			sum += m.Length()
		}
		require.InDelta(t, want[op.Part+" "+op.Feature], sum, 1e-6, "%s %s", op.Part, op.Feature)
		require.True(t, op.Closed)
		require.Less(t, op.Moves[op.First].From.Dist(op.Moves[op.Last-1].To), 1e-9)
		delete(want, op.Part+" "+op.Feature)
	}
	assert.Empty(t, want)
}

// checkOrder: over the whole sheet lettering, scores, openings, outlines.
func checkOrder(t *testing.T, r path.Request, tp path.Toolpath) {
	free := map[string]bool{}
	last := path.Lettering
	for _, op := range tp.Ops {
		require.GreaterOrEqual(t, op.Layer, last, "%s %s", op.Part, op.Feature)
		last = op.Layer
		if op.Layer == path.Outline {
			free[op.Part] = true
		}
	}
	assert.Len(t, free, len(r.Sheet.Placed))
}

func checkTotals(t *testing.T, r path.Request, tp path.Toolpath) {
	at, cut, travel := r.Start, 0.0, 0.0
	b := geom.EmptyBox()
	for _, op := range tp.Ops {
		travel += math.Hypot(op.Moves[0].From.X-at.X, op.Moves[0].From.Y-at.Y)
		for _, m := range op.Moves {
			cut += m.Length()
			for i := 0; i <= 64; i++ {
				b = b.Include(m.At(float64(i) / 64))
			}
		}
		at = op.Moves[len(op.Moves)-1].To
	}
	assert.InDelta(t, cut, tp.Cut, 1e-6)
	assert.InDelta(t, travel, tp.Travel, 1e-6)
	assertBox(t, b, tp.Bounds, 1e-2)
	assert.True(t, b.Min.X > 0 && b.Min.Y > 0 && b.Max.X < r.Sheet.Width && b.Max.Y < r.Sheet.Height)
}

func assertBox(t assert.TestingT, want, got geom.Box, tol float64) {
	assert.InDelta(t, want.Min.X, got.Min.X, tol, "min x")
	assert.InDelta(t, want.Min.Y, got.Min.Y, tol, "min y")
	assert.InDelta(t, want.Max.X, got.Max.X, tol, "max x")
	assert.InDelta(t, want.Max.Y, got.Max.Y, tol, "max y")
}
