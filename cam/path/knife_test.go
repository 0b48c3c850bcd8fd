package path_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout/geom"
)

var update = flag.Bool("update", false, "rewrite golden files")

// knifeSheet is polyester film of 0.35 mm on a small flatbed, parts side by side.
func knifeSheet(offset float64, parts ...jig.Part) path.KnifeRequest {
	req := path.KnifeRequest{
		Sheet: nest.Sheet{N: 1, Width: 400, Height: 200},
		Parts: parts,
		Machine: machine.Profile{Process: machine.Knife, HasZ: true, FeedMax: 200, Knife: machine.KnifeProfile{
			Offset: offset, Wedge: 45 * geom.Degree, ZUp: 2, ZSkin: -0.05, Plunge: 5, Lift: 10, Swivel: 5,
			SwivelMax: 30 * geom.Degree, ArcMin: 2 * offset, ArcTight: "refuse", Misalign: 1 * geom.Degree, SheetMax: 1, ZFloor: -1,
		}},
		Material: machine.Material{Thickness: 0.35,
			Cut:    machine.Setting{Feed: 20, Passes: 1, Depth: -0.45},
			Score:  machine.Setting{Feed: 20, Passes: 1, Depth: -0.15},
			Letter: machine.Setting{Feed: 20, Passes: 1, Depth: -0.1},
		},
	}
	x := 20.0
	for _, p := range parts {
		req.Sheet.Placed = append(req.Sheet.Placed, nest.Placed{ID: p.ID, On: geom.Placement{X: x, Y: 20}})
		x += p.Outline.Bounds().Width() + 10
	}
	return req
}

// chain reads "x,y[,bulge] x,y ..." as an open chain.
func chain(t testing.TB, text string) geom.Contour {
	t.Helper()
	c, err := geom.NewOpen(vertices(t, text)...)
	require.NoError(t, err)
	return c
}

// ring reads the same as a closed contour.
func ring(t testing.TB, text string) geom.Contour {
	t.Helper()
	c, err := geom.NewClosed(vertices(t, text)...)
	require.NoError(t, err)
	return c
}

func vertices(t testing.TB, text string) []geom.Vertex {
	t.Helper()
	var out []geom.Vertex
	for _, f := range strings.Fields(text) {
		var v geom.Vertex
		if strings.Count(f, ",") == 2 {
			_, err := fmt.Sscanf(f, "%g,%g,%g", &v.At.X, &v.At.Y, &v.Bulge)
			require.NoError(t, err)
		} else {
			_, err := fmt.Sscanf(f, "%g,%g", &v.At.X, &v.At.Y)
			require.NoError(t, err)
		}
		out = append(out, v)
	}
	return out
}

// slab is a plain 100 x 60 mm part with rounded plan corners.
func slab(t testing.TB, id string) jig.Part {
	const q = "0.41421356237309503"
	return jig.Part{ID: id, Outline: ring(t, "3,0 97,0,"+q+" 100,3 100,57,"+q+" 97,60 3,60,"+q+" 0,57 0,3,"+q)}
}

// ops returns the operations of one layer, the alignment left out.
func ops(tp path.Toolpath, l path.Layer) []path.Op {
	var out []path.Op
	for _, op := range tp.Ops {
		if op.Layer == l && op.Part != "waste" {
			out = append(out, op)
		}
	}
	return out
}

// The pivot's path worked out by hand for an offset of 0.5 mm:
//
//	line 0,0 to 10,0, tangent arc of 5 mm about 10,5, line to 15,15:
//	0.5,0 - 10.5,0 - arc about 10,5 of sqrt(25.25) to 15,5.5 - 15,15.5
//	corner 0,0 - 10,0 - 10,10:
//	0.5,0 - 10.5,0 - arc about 10,0 to 10,0.5 - 10,10.5
//
// from p = c + d·t on a contour c with unit tangent t.
func TestPivotLeadsByHandWorkedPaths(t *testing.T) {
	for _, row := range []struct {
		name, score string
		want        [][4]float64 // to x, y; centre x, y for an arc
	}{
		{"line, arc, line", "0,0 10,0,0.41421356237309503 15,5 15,15",
			[][4]float64{{10.5, 0}, {15, 5.5, 10, 5}, {15, 15.5}}},
		{"corner", "0,0 10,0 10,10", [][4]float64{{10.5, 0}, {10, 0.5, 10, 0}, {10, 10.5}}},
	} {
		t.Run(row.name, func(t *testing.T) {
			part := slab(t, "H1")
			part.Scores = []geom.Contour{chain(t, row.score).Transform(geom.Placement{X: 20, Y: 20})}
			req := knifeSheet(0.5, part)
			req.Machine.Knife.SwivelMax = 180 * geom.Degree
			tp, err := path.Knife(req)
			require.NoError(t, err)
			op := ops(tp, path.Score)[0]
			off := geom.Vec{X: 40, Y: 40} // sheet frame: placed at 20, 20
			start := op.Moves[op.First].From
			assert.InDelta(t, 0, start.Dist(geom.Point{X: 0.5}.Add(off)), 1e-9)
			for i, w := range row.want {
				m := op.Moves[op.First+i]
				assert.InDelta(t, 0, m.To.Dist(geom.Point{X: w[0], Y: w[1]}.Add(off)), 1e-9, "move %d", i)
				if w[2] != 0 {
					assert.InDelta(t, 0, m.Center().Dist(geom.Point{X: w[2], Y: w[3]}.Add(off)), 1e-9, "centre %d", i)
				}
			}
			assert.Equal(t, len(row.want), op.Last-op.First)
		})
	}
}

// Radius sqrt(r²+d²), lead angle atan(d/r), feed sqrt(1+(d/r)²) times the tip's,
// for d = 0.5: figures by calculator from those three.
func TestPivotOnArcs(t *testing.T) {
	for _, row := range []struct{ r, pivot, leadDeg float64 }{
		{5, 5.024938, 5.7106}, {1, 1.118034, 26.5651}, {0.5, 0.707107, 45}, {0.25, 0.559017, 63.4349},
	} {
		part := slab(t, "H1")
		part.Scores = []geom.Contour{chain(t, fmt.Sprintf("%v,30,1 %v,30", 50-row.r, 50+row.r))}
		req := knifeSheet(0.5, part)
		req.Machine.Knife.ArcMin = 0.1
		tp, err := path.Knife(req)
		require.NoError(t, err)
		op := ops(tp, path.Score)[0]
		m := op.Moves[op.First]
		assert.InDelta(t, row.pivot, m.Radius(), 1e-6)
		tip := geom.Point{X: 70 - row.r, Y: 50}
		if m.Bulge < 0 {
			tip.X = 70 + row.r
		}
		centre := geom.Point{X: 70, Y: 50}
		a, b := tip.Sub(centre), m.From.Sub(centre)
		assert.InDelta(t, row.leadDeg, math.Abs(math.Atan2(a.Cross(b), a.Dot(b)))*180/math.Pi, 1e-4)
		assert.InDelta(t, 20*row.pivot/row.r, float64(m.Feed), 1e-4)
	}
}

// At 20 mm/s the tip on r 0.25, d 0.5 asks 44.7 mm/s of the pivot: the machine's
// fastest cutting feed caps it.
func TestArcFeedIsCapped(t *testing.T) {
	part := slab(t, "H1")
	part.Scores = []geom.Contour{chain(t, "49.75,30,1 50.25,30")}
	req := knifeSheet(0.5, part)
	req.Machine.Knife.ArcMin, req.Machine.FeedMax = 0.1, 30
	tp, err := path.Knife(req)
	require.NoError(t, err)
	op := ops(tp, path.Score)[0]
	assert.Equal(t, machine.Feed(30), op.Moves[op.First].Feed)
}

func TestKnifeRefuses(t *testing.T) {
	for _, row := range []struct {
		name, want string
		spoil      func(*path.KnifeRequest)
	}{
		{"no offset", "offset 0 mm", func(r *path.KnifeRequest) { r.Machine.Knife.Offset = 0 }},
		{"no Z", "no Z axis", func(r *path.KnifeRequest) { r.Machine.HasZ = false }},
		{"no wedge", "wedge angle 0 degrees", func(r *path.KnifeRequest) { r.Machine.Knife.Wedge = 0 }},
		{"raised height in the sheet", "raised height -1 mm", func(r *path.KnifeRequest) { r.Machine.Knife.ZUp = -1 }},
		{"no swivel feed", "feeds must be above zero", func(r *path.KnifeRequest) { r.Machine.Knife.Swivel = 0 }},
		{"no misalignment", "misalignment 0 degrees", func(r *path.KnifeRequest) { r.Machine.Knife.Misalign = 0 }},
		{"unknown way with tight arcs", `tight arcs "melt"`, func(r *path.KnifeRequest) { r.Machine.Knife.ArcTight = "melt" }},
		{"thick sheet", "sheet of 1.01 mm is thicker than the 1 mm", func(r *path.KnifeRequest) {
			r.Material.Thickness, r.Material.Cut.Depth, r.Machine.Knife.ZFloor = 1.01, -1.1, -1.2
		}},
		{"not through", "does not go through", func(r *path.KnifeRequest) { r.Material.Cut.Depth = -0.34 }},
		{"below the mat", "below the mat's -1 mm", func(r *path.KnifeRequest) { r.Material.Cut.Depth = -1.01 }},
		{"no feed", "OPENING feed 0 mm/s", func(r *path.KnifeRequest) { r.Material.Cut.Feed = 0 }},
		{"no depth", "LETTERING depth 0 mm", func(r *path.KnifeRequest) { r.Material.Letter.Depth = 0 }},
		{"score below the mat", "SCORE depth -2 mm is below", func(r *path.KnifeRequest) { r.Material.Score.Depth = -2 }},
		{"tight arc", "OPENING H1 black: arc of radius 1.550 mm", func(r *path.KnifeRequest) { r.Machine.Knife.ArcMin = 3.01 }},
		{"part not in the jig", `part "F9"`, func(r *path.KnifeRequest) { r.Sheet.Placed[0].ID = "F9" }},
		{"no waste", "no room in the waste of sheet 1", func(r *path.KnifeRequest) {
			r.Sheet.Width, r.Sheet.Height, r.Sheet.Placed[0].On = 100, 60, geom.Placement{}
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			req := knifeSheet(0.25, rich(t, "H1"))
			row.spoil(&req)
			_, err := path.Knife(req)
			require.ErrorIs(t, err, path.ErrKnife)
			assert.ErrorContains(t, err, row.want)
		})
	}
}

// The limits themselves pass: a sheet of just the greatest thickness, a cut just
// through it down to just the mat, an arc of just the least radius.
func TestKnifeAllowsItsLimits(t *testing.T) {
	req := knifeSheet(0.25, slab(t, "H1"))
	req.Material.Thickness, req.Material.Cut.Depth = 1, -1
	req.Machine.Knife.ArcMin = 3
	_, err := path.Knife(req)
	require.NoError(t, err)
}

// Every operation is whole: it plunges on the spot from the raised height, moves
// level, and ends raised; Z never changes in a sideways move; moves join.
func TestOperationsAreWhole(t *testing.T) {
	for _, d := range []float64{0.25, 0.45, 0.9} {
		req := knifeSheet(d, rich(t, "H1"), rich(t, "H2"))
		req.Machine.Knife.ArcTight = "corner"
		tp, err := path.Knife(req)
		require.NoError(t, err)
		for _, op := range tp.Ops {
			z, at := req.Machine.Knife.ZUp, op.Moves[0].From
			for i, m := range op.Moves {
				require.Equal(t, at, m.From, "%s %s %s move %d joins on", op.Layer, op.Part, op.Feature, i)
				if m.From != m.To {
					require.Equal(t, z, m.Z, "%s %s %s move %d is level", op.Layer, op.Part, op.Feature, i)
				}
				require.Positive(t, float64(m.Feed))
				z, at = m.Z, m.To
			}
			require.Equal(t, req.Machine.Knife.ZUp, z)
		}
	}
}

// rich is a part with spot holes, slots, scores and letters.
func rich(t testing.TB, id string) jig.Part {
	p := slab(t, id)
	p.Openings = []jig.Opening{
		{ID: "o1", Kind: jig.OpenSpot, Mark: "black", Figure: geom.Dot(geom.Point{X: 20, Y: 20}), Width: 2 * 1.55},
		{ID: "o2", Kind: jig.OpenSpot, Mark: "pink", Figure: geom.Dot(geom.Point{X: 40, Y: 20}), Width: 2 * 10},
		{ID: "o3", Kind: jig.OpenSlot, Mark: "baulk-line", Figure: geom.Line(geom.Point{X: 10, Y: 40}, geom.Point{X: 90, Y: 40}), Width: 3.1},
		{ID: "o4", Kind: jig.OpenArc, Mark: "d", Figure: geom.Arc(geom.Point{X: 75, Y: 10}, 18, 20*geom.Degree, 140*geom.Degree), Width: 3.1},
	}
	p.Scores = []geom.Contour{chain(t, "5,50 95,50"), chain(t, "95,52 5,52")}
	p.Letters = []geom.Contour{chain(t, "10,53 11,57 12,53"), chain(t, "10.5,55 11.5,55"), chain(t, "20,53 20,57 22,57 22,55 20,55")}
	return p
}

// Swivels per contour. The least possible is worked out beside it from the
// drawing alone: a stroke needs one turn to its heading, unless the blade has it
// already, and one at each corner; a closed contour one at each corner, less the
// one it starts at where that corner points out of the material. No operation
// may need more, and the file shows them all.
func TestSwivelsPerContour(t *testing.T) {
	poly := jig.Part{ID: "P1", Outline: ring(t, "0,0 60,0 60,40 30,60 0,40")}
	notch := jig.Part{ID: "P2", Outline: ring(t, "0,0 60,0 60,40 40,40 40,20 20,20 20,40 0,40")}
	req := knifeSheet(0.45, rich(t, "H1"), poly, notch)
	tp, err := path.Knife(req)
	require.NoError(t, err)
	var b strings.Builder
	fmt.Fprintln(&b, "layer,part,feature,swivels,degrees,lifted,least")
	total, lifts := geom.Angle(0), 0
	for _, op := range tp.Ops {
		least := 0
		if op.Part != "waste" {
			least = leastSwivels(drawn(t, req, op))
			spare := 0
			if op.Layer < path.Opening {
				spare = 1
			}
			assert.LessOrEqual(t, swivels(op, req), least+spare, "%s %s %s", op.Layer, op.Part, op.Feature)
		}
		fmt.Fprintf(&b, "%s,%s,%s,%d,%.3f,%d,%d\n", op.Layer, op.Part, op.Feature, swivels(op, req), op.Turned.Degrees(), op.Lifts, least)
		total, lifts = total+op.Turned, lifts+op.Lifts
		for i := 1; i < len(op.Moves); i++ {
			assert.False(t, swings(op.Moves[i-1], req) && swings(op.Moves[i], req), "%s %s: two swivels running", op.Part, op.Feature)
		}
	}
	assert.InDelta(t, total.Degrees(), tp.Turned.Degrees(), 1e-9)
	assert.Equal(t, lifts, tp.Lifts)
	golden(t, "../../testdata/knife/swivels.csv", b.String())
}

// drawn finds the contour that an operation cuts: the one of its layer, in the
// sheet frame, that the first covering move's tip begins on and its last ends on.
func drawn(t *testing.T, req path.KnifeRequest, op path.Op) geom.Contour {
	t.Helper()
	d := req.Machine.Knife.Offset
	m := op.Moves[op.First]
	mid := m.From.Add(unlead(m, d))
	for i, p := range req.Parts {
		if p.ID != op.Part {
			continue
		}
		all := map[path.Layer][]geom.Contour{path.Lettering: p.Letters, path.Score: p.Scores, path.Outline: {p.Outline}}
		for _, o := range p.Openings {
			all[path.Opening] = append(all[path.Opening], o.Contour())
		}
		for _, c := range all[op.Layer] {
			c = c.Transform(req.Sheet.Placed[i].On)
			if _, off := c.Nearest(mid); off < 1e-6 {
				return c
			}
		}
	}
	t.Fatalf("%s %s %s follows nothing drawn", op.Layer, op.Part, op.Feature)
	return geom.Contour{}
}

// leastSwivels counts a contour's corners; a closed one with a corner to the
// left, away from the material on its left, is begun there.
func leastSwivels(c geom.Contour) int {
	s := c.Segments()
	n, open := 0, false
	for i := range s {
		if i == 0 && !c.Closed() {
			continue
		}
		u, v := s[(i+len(s)-1)%len(s)].Tangent(1), s[i].Tangent(0)
		turn := math.Atan2(u.Cross(v), u.Dot(v))
		if math.Abs(turn) > 0.001 {
			n++
		}
		open = open || turn > 0.4
	}
	if c.Closed() && open {
		n--
	}
	return n
}

func swings(m path.Move, req path.KnifeRequest) bool {
	return m.IsArc() && math.Abs(m.Radius()-req.Machine.Knife.Offset) < 1e-9 && m.Feed == req.Machine.Knife.Swivel
}

// swivels counts an operation's turns about the tip.
func swivels(op path.Op, req path.KnifeRequest) (n int) {
	for _, m := range op.Moves {
		if swings(m, req) {
			n++
		}
	}
	return n
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	if *update {
		require.NoError(t, os.MkdirAll("../../testdata/knife", 0o755))
		require.NoError(t, os.WriteFile(name, []byte(got), 0o644))
	}
	want, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

// A convex polygon starts and ends at a corner that it leaves in the waste: one
// swivel fewer than it has corners. All turn the same way round.
func TestPolygonTurnsOnceLessThanItsCorners(t *testing.T) {
	req := knifeSheet(0.45, jig.Part{ID: "P1", Outline: ring(t, "0,0 60,0 60,40 30,60 0,40")})
	tp, err := path.Knife(req)
	require.NoError(t, err)
	op := ops(tp, path.Outline)[0]
	assert.Equal(t, 4, swivels(op, req))
}

// An outline with rounded corners, its openings too, needs no swivel at all.
func TestSmoothContoursNeedNoSwivel(t *testing.T) {
	part := rich(t, "H1")
	part.Scores, part.Letters = nil, nil
	tp, err := path.Knife(knifeSheet(0.45, part))
	require.NoError(t, err)
	assert.Zero(t, tp.Turned)
	assert.Zero(t, tp.Lifts)
}

// Corners up to SwivelMax are turned at full depth, sharper ones lifted.
func TestSharpCornersAreLifted(t *testing.T) {
	for _, row := range []struct {
		deg   float64
		lifts int
	}{{29.9, 0}, {30, 0}, {30.1, 1}, {175, 1}} {
		s, c := math.Sincos(row.deg * math.Pi / 180)
		part := slab(t, "H1")
		part.Scores = []geom.Contour{chain(t, fmt.Sprintf("20,30 50,30 %v,%v", 50+20*c, 30+20*s))}
		req := knifeSheet(0.25, part)
		tp, err := path.Knife(req)
		require.NoError(t, err)
		op := ops(tp, path.Score)[0]
		got := 0
		for _, m := range op.Moves[op.First:op.Last] {
			if m.Lift {
				got++
				assert.InDelta(t, -0.05, m.Z, 1e-12)
			}
		}
		assert.Equal(t, row.lifts, got, "%v degrees", row.deg)
	}
}

// The last pass reaches the depth set, the others go there in even steps; a
// closed cut goes on where its overrun ended, without travel.
func TestPassesGoDownInSteps(t *testing.T) {
	part := rich(t, "H1")
	req := knifeSheet(0.45, part)
	req.Material.Cut.Passes, req.Material.Cut.Depth = 3, -0.45
	tp, err := path.Knife(req)
	require.NoError(t, err)
	outline := ops(tp, path.Outline)
	require.Len(t, outline, 3)
	for i, op := range outline {
		assert.Equal(t, i+1, op.Pass)
		assert.InDelta(t, -0.15*float64(i+1), op.Moves[op.First].Z, 1e-12)
		if i > 0 {
			before := outline[i-1].Moves
			assert.Equal(t, before[len(before)-1].To, op.Moves[0].From)
			assert.Zero(t, swivels(op, req))
		}
	}
}

// A closed cut overruns its start by the offset and the wedge's length, thickness
// over tan(wedge), 0.45 + 0.35 for a wedge of 45 degrees, and no further: on arcs by two of
// the shortest pieces that print as arcs, of length r·sqrt(8·0.0001/R) (the
// pivot's way of length l rises l²/8R above its chord; the tip goes r/R as far).
func TestOverrunIsOffsetAndWedge(t *testing.T) {
	tp, err := path.Knife(knifeSheet(0.45, rich(t, "H1")))
	require.NoError(t, err)
	for _, op := range append(ops(tp, path.Opening), ops(tp, path.Outline)...) {
		over, least := 0.0, 0.0
		for _, m := range op.Moves[op.Last : len(op.Moves)-1] {
			l := m.Length()
			least = 0
			if m.IsArc() { // back from the pivot's radius to the tip's
				r := math.Sqrt(m.Radius()*m.Radius() - 0.45*0.45)
				l *= r / m.Radius()
				least = r * math.Sqrt(8*0.0001/m.Radius())
			}
			over += l
		}
		assert.GreaterOrEqual(t, over, 0.8-1e-9, op.Feature)
		assert.LessOrEqual(t, over, 0.8+2*least+1e-9, op.Feature)
	}
}

// No cut starts on an edge that the part names.
func TestStartsKeepOffNamedEdges(t *testing.T) {
	part := slab(t, "H1")
	for i, s := range part.Outline.Segments() {
		if i != 5 {
			part.NoStart = append(part.NoStart, s)
		}
	}
	free := part.Outline.Segment(5).Transform(geom.Placement{X: 20, Y: 20})
	req := knifeSheet(0.45, part)
	tp, err := path.Knife(req)
	require.NoError(t, err)
	op := ops(tp, path.Outline)[0]
	m := op.Moves[op.First]
	tip := m.From.Add(unlead(m, 0.45))
	_, d := free.Nearest(tip)
	assert.InDelta(t, 0, d, 1e-6)

	req.Parts[0].NoStart = part.Outline.Segments()
	_, err = path.Knife(req)
	assert.ErrorContains(t, err, "no free edge")
}

// unlead returns the way from the pivot at a move's start back to the tip.
func unlead(m path.Move, d float64) geom.Vec {
	if !m.IsArc() {
		return m.Tangent(0).Scale(-d)
	}
	// The tangent to the tip's circle stands ahead of the pivot's by atan(d/r).
	a := math.Copysign(math.Asin(d/m.Radius()), m.Bulge)
	s, c := math.Sincos(-a)
	v := m.Tangent(0)
	return geom.Vec{X: c*v.X - s*v.Y, Y: s*v.X + c*v.Y}.Scale(-d)
}

// Letters, scores, openings, outline; but a plug inside an opening before that
// opening, which would let it go.
func TestKnifeOrder(t *testing.T) {
	plug := jig.Part{ID: "Z1", Outline: geom.Circle(geom.Point{X: 8, Y: 8}, 8)}
	host := rich(t, "H1")
	req := knifeSheet(0.45, host, plug)
	req.Sheet.Placed[1].On = geom.Placement{X: 20 + 40 - 8, Y: 20 + 20 - 8}
	tp, err := path.Knife(req)
	require.NoError(t, err)
	var order []string
	for _, op := range tp.Ops {
		name := op.Part + " " + op.Layer.String()
		if n := len(order); n == 0 || order[n-1] != name {
			order = append(order, name)
		}
	}
	assert.Equal(t, []string{"waste SCORE", "H1 LETTERING", "H1 SCORE", "H1 OPENING", "Z1 OUTLINE", "H1 OPENING", "H1 OUTLINE"}, order)
}

// What is too far off to be cheapest is passed over: no other stroke, opening or outline
// comes next for it, wherever the blade stands and points, and of two that cost the same the
// first does.
func TestNextIsTheCheapestOfAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := func(name string) geom.Point { // on a grid: many cost the same
			return geom.Point{X: float64(rapid.IntRange(0, 20).Draw(t, name+" x")), Y: float64(rapid.IntRange(0, 20).Draw(t, name+" y"))}
		}
		part := jig.Part{ID: "H1", Outline: geom.Rect(geom.Box{Max: geom.Point{X: 60, Y: 60}})}
		for range rapid.IntRange(1, 40).Draw(t, "strokes") {
			p := at("stroke")
			far := geom.Vec{X: float64(rapid.IntRange(1, 3).Draw(t, "along")), Y: float64(rapid.IntRange(-2, 2).Draw(t, "across"))}
			c, err := geom.NewOpen(geom.Vertex{At: p}, geom.Vertex{At: p.Add(far)})
			if rapid.Bool().Draw(t, "closed") {
				c, err = geom.Rect(geom.Box{Min: p, Max: p.Add(geom.Vec{X: 2, Y: 1})}), nil
			}
			require.NoError(t, err)
			part.Letters = append(part.Letters, c)
		}
		for i := range rapid.IntRange(0, 6).Draw(t, "openings") {
			part.Openings = append(part.Openings, jig.Round(fmt.Sprint(i), jig.OpenSpot, geom.Point{X: 40, Y: 8*float64(i) + 6}, 3))
		}
		other := part
		other.ID = "H2"
		req := knifeSheet(0.5, part, other)
		req.Trials = []jig.KnifeTrial{{Part: "H2", Offset: 0.8}}
		heading := geom.Angle(rapid.IntRange(0, 15).Draw(t, "heading")) * 22.5 * geom.Degree
		sin, cos := heading.SinCos()
		batch := rapid.SampledFrom([]int{int(path.Lettering), int(path.Opening), int(path.Outline)}).Draw(t, "batch")
		if batch == int(path.Opening) && len(part.Openings) == 0 {
			return
		}
		if batch == int(path.Outline) && len(part.Openings) > 0 {
			return // it waits for them
		}
		picked, plain, err := req.Next(batch, rapid.IntRange(0, 100).Draw(t, "after"), at("blade").Add(geom.Vec{X: 25, Y: 20}), geom.Vec{X: cos, Y: sin})
		require.NoError(t, err)
		assert.Equal(t, plain, picked)
	})
}

// A machine that cannot turn in the skin lifts clear at sharp corners and comes
// in again from the waste; where there is none it says so.
func TestLiftsClearWithoutSkin(t *testing.T) {
	req := knifeSheet(0.45, jig.Part{ID: "P1", Outline: ring(t, "0,0 60,0 60,40 30,60 0,40")})
	req.Machine.Knife.ZSkin = 0
	tp, err := path.Knife(req)
	require.NoError(t, err)
	assert.Len(t, ops(tp, path.Outline), 5)
	assert.Zero(t, tp.Lifts)

	// A point of 25 degrees turns the cut by 155: the blade is brought round by a
	// leg square to the run-in, never by aiming half a turn at it.
	req = knifeSheet(0.45, jig.Part{ID: "P3", Outline: ring(t, "0,0 80,0 0,37.3")})
	req.Machine.Knife.ZSkin = 0
	tp, err = path.Knife(req)
	require.NoError(t, err)
	assert.Len(t, ops(tp, path.Outline), 3)

	req = knifeSheet(0.45, jig.Part{ID: "P2", Outline: ring(t, "0,0 60,0 60,40 40,40 40,20 20,20 20,40 0,40")})
	req.Machine.Knife.ZSkin = 0
	_, err = path.Knife(req)
	assert.ErrorContains(t, err, "no waste to lift clear")
}

// Same request, same path.
func TestKnifeIsRepeatable(t *testing.T) {
	a, err := path.Knife(knifeSheet(0.45, rich(t, "H1"), rich(t, "H2")))
	require.NoError(t, err)
	b, err := path.Knife(knifeSheet(0.45, rich(t, "H1"), rich(t, "H2")))
	require.NoError(t, err)
	assert.Equal(t, a, b)
}

// The box holds the pivot's path, which stands out beyond the parts by up to the offset.
func TestKnifeBoundsArePivots(t *testing.T) {
	req := knifeSheet(0.9, jig.Part{ID: "P1", Outline: ring(t, "0,0 60,0 60,40 0,40")})
	tp, err := path.Knife(req)
	require.NoError(t, err)
	assert.GreaterOrEqual(t, tp.Bounds.Max.X, 80.9-1e-9)
	box := geom.EmptyBox()
	for _, op := range tp.Ops {
		for _, m := range op.Moves {
			box = box.Union(m.Bounds())
		}
	}
	assert.Equal(t, box, tp.Bounds)
}

// No setting is asked for a layer that is not on the sheet.
func TestUnusedLayersNeedNoSetting(t *testing.T) {
	req := knifeSheet(0.45, slab(t, "H1"))
	req.Material.Score, req.Material.Letter = machine.Setting{}, machine.Setting{}
	_, err := path.Knife(req)
	require.NoError(t, err)
}

// The same two parts, by blade and by beam.
func BenchmarkKnife(b *testing.B) {
	req := knifeSheet(0.45, rich(b, "H1"), rich(b, "H2"), rich(b, "H3"))
	for b.Loop() {
		_, err := path.Knife(req)
		require.NoError(b, err)
	}
}

func BenchmarkLaserSameParts(b *testing.B) {
	k := knifeSheet(0.45, rich(b, "H1"), rich(b, "H2"), rich(b, "H3"))
	s := machine.Setting{Power: 300, Feed: 20, Passes: 1}
	req := path.Request{Sheet: k.Sheet, Parts: k.Parts, Material: machine.Material{Kerf: 0.18, Cut: s, Score: s, Letter: s}}
	for b.Loop() {
		_, err := path.Laser(req)
		require.NoError(b, err)
	}
}

// Folds are scored at their own depth, other lines at the material's.
func TestFoldsHaveTheirOwnDepth(t *testing.T) {
	plain, folded := rich(t, "H1"), rich(t, "E1")
	folded.ScoreDepth = -0.2
	tp, err := path.Knife(knifeSheet(0.45, plain, folded))
	require.NoError(t, err)
	for _, op := range ops(tp, path.Score) {
		want := map[string]float64{"H1": -0.15, "E1": -0.2}[op.Part]
		assert.InDelta(t, want, op.Moves[op.First].Z, 1e-12, op.Part)
	}
	folded.ScoreDepth = -1.5
	_, err = path.Knife(knifeSheet(0.45, folded))
	assert.ErrorContains(t, err, "below the mat")
}
