package path_test

import (
	"fmt"
	"math"
	"slices"
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

// onePart puts a part alone on a large sheet.
func onePart(p jig.Part) path.Request {
	return path.Request{
		Sheet:    nest.Sheet{N: 1, Width: 600, Height: 400, Placed: []nest.Placed{{ID: p.ID, On: geom.Placement{X: 100, Y: 100}}}},
		Parts:    []jig.Part{p},
		Material: acrylic(),
	}
}

func onSheet(r path.Request, id string) geom.Placement {
	for _, p := range r.Sheet.Placed {
		if p.ID == id {
			return p.On
		}
	}
	return geom.Placement{}
}

// A lead-in and a lead-out lie in waste; a closed cut runs 1 mm past its start
// (or a quarter of its length on a small hole) on the same path.
func TestLeadsLieInWaste(t *testing.T) {
	r := request(t, sample())
	tp, err := path.Laser(r)
	require.NoError(t, err)
	outlines := map[string]geom.Contour{}
	for _, e := range nominal(t, r) {
		outlines[e.part+" "+e.feature] = e.c
	}
	for _, op := range tp.Ops {
		if op.Layer < path.Opening {
			continue
		}
		name := op.Part + " " + op.Feature
		require.Equal(t, 1, op.First, name)
		in, out := op.Moves[0], op.Moves[len(op.Moves)-1]
		over := 0.0
		for _, m := range op.Moves[op.Last : len(op.Moves)-1] {
			over += m.Length()
		}
		whole := 0.0
		for _, m := range op.Moves[op.First:op.Last] {
			whole += m.Length()
		}
		assert.InDelta(t, math.Min(1, whole/4), over, 1e-9, name)
		for _, p := range []geom.Point{in.From, out.To} {
			if op.Layer == path.Opening {
				assert.True(t, outlines[name].Contains(p), "%s: lead inside the opening", name)
				continue
			}
			for _, pl := range r.Sheet.Placed {
				assert.False(t, outlines[pl.ID+" outline"].Contains(p), "%s: lead in %s", name, pl.ID)
			}
		}
	}
}

// On the way round a hole that the beam can get two kerfs away in, it does: it comes on where
// the far side is further off. It comes on no nearer to the edge than the hole's middle half.
func TestSmallHolesAreLeftBehind(t *testing.T) {
	for _, radius := range []float64{0.8, 1, 1.05, 1.1, 2} {
		part := arm("H1")
		part.Openings = []jig.Opening{{Kind: jig.OpenSpot, Mark: "black", Figure: geom.Dot(pt(60, 40)), Width: 2 * radius}}
		r := onePart(part)
		r.Material.Kerf = 0.42
		tp, err := path.Laser(r)
		require.NoError(t, err)
		i := slices.IndexFunc(tp.Ops, func(op path.Op) bool { return op.Feature == "black" })
		require.GreaterOrEqual(t, i, 0)
		on, far, cut := tp.Ops[i].Moves[0].From, 0.0, radius-0.21
		for _, m := range tp.Ops[i].Moves {
			for _, at := range []float64{0, 0.5, 1} {
				far = math.Max(far, m.At(at).Dist(on))
			}
		}
		assert.Greater(t, far, 2*0.42, "a hole of %g mm", radius)
		assert.LessOrEqual(t, on.Dist(pt(160, 140)), cut/2+1e-9, "a hole of %g mm", radius)
	}
}

// A circle is entered from its middle, a slot from the middle of a round end to
// the end's apex, so that the entry lies on the slot's centreline.
func TestOpeningsStartOnRoundEnds(t *testing.T) {
	r := onePart(arm("H1"))
	tp, err := path.Laser(r)
	require.NoError(t, err)
	seen := 0
	for _, op := range tp.Ops {
		if op.Layer != path.Opening {
			continue
		}
		seen++
		from, to := op.Moves[0].From, op.Moves[0].To
		at := func(x, y float64) geom.Point { return pt(x+100, y+100) }
		switch op.Feature {
		case "black":
			assert.InDelta(t, 0, from.Dist(at(60, 40)), 1e-9)
			assert.InDelta(t, 1.55-0.09, from.Dist(to), 1e-9)
		case "long-string/1":
			ends := math.Min(from.Dist(at(80, 40)), from.Dist(at(150, 40)))
			assert.InDelta(t, 0, ends, 1e-9)
			assert.InDelta(t, 140, to.Y, 1e-9)
		case "d":
			end := func(deg float64) geom.Point {
				s, c := math.Sincos(deg * math.Pi / 180)
				return at(180+20*c, 40+20*s)
			}
			assert.InDelta(t, 0, math.Min(from.Dist(end(-80)), from.Dist(end(80))), 1e-9)
		case "H1-fin":
			assert.InDelta(t, 165, to.Y, 1e-9)
		case "H1-hang":
			assert.InDelta(t, 3, from.Dist(to), 1e-9)
			assert.InDelta(t, 5-0.09-3, from.Dist(at(30, 20)), 1e-9)
		}
	}
	assert.Equal(t, 5, seen)
}

// No start, overlap or tie lies on an edge on which none may.
func TestStartsKeepOffKeptEdges(t *testing.T) {
	for _, ties := range []int{0, 3} {
		r := request(t, sample())
		r.Ties = path.Ties{Count: ties, Width: 0.4}
		tp, err := path.Laser(r)
		require.NoError(t, err)
		for _, op := range tp.Ops {
			if op.Layer != path.Outline {
				continue
			}
			var part jig.Part
			for _, p := range r.Parts {
				if p.ID == op.Part {
					part = p
				}
			}
			spots := []geom.Point{op.Moves[op.First].From, op.Moves[op.Last-1].To}
			for _, m := range op.Moves[op.Last:] {
				spots = append(spots, m.From, m.To)
			}
			for _, k := range part.NoStart {
				for _, p := range spots {
					_, d := k.Transform(onSheet(r, op.Part)).Nearest(p)
					assert.Greater(t, d, 0.5, "%s at %v", op.Part, p)
				}
			}
		}
	}
}

// With ties the outline is cut in as many runs as there are ties, and one more;
// each gap in the path is the tie and a kerf long; all else is cut.
func TestTies(t *testing.T) {
	for _, n := range []int{1, 2, 4} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			r := request(t, sample())
			r.Ties = path.Ties{Count: n, Width: 0.4}
			tp, err := path.Laser(r)
			require.NoError(t, err)
			checkCut(t, r, tp, true)
			checkOrder(t, r, tp)
			checkTotals(t, r, tp)
			runs := map[string][]path.Op{}
			for _, op := range tp.Ops {
				if op.Layer == path.Outline {
					runs[op.Part] = append(runs[op.Part], op)
					assert.False(t, op.Closed)
				}
			}
			for _, e := range nominal(t, r) {
				if e.feature != "outline" {
					continue
				}
				o, err := e.c.Offset(0.09)
				require.NoError(t, err)
				require.Len(t, runs[e.part], n+1)
				cut := 0.0
				for i, op := range runs[e.part] {
					for _, m := range op.Moves[op.First:op.Last] {
						cut += m.Length()
						_, d := o.Nearest(m.At(0.5))
						assert.InDelta(t, 0, d, 1e-9)
					}
					if i > 0 {
						prev := runs[e.part][i-1]
						gap := prev.Moves[len(prev.Moves)-1].To.Dist(op.Moves[op.First].From)
						assert.InDelta(t, 1, op.Moves[0].Length(), 1e-9, "led in through waste")
						assert.Equal(t, 1, op.First)
						assert.False(t, e.c.Contains(op.Moves[0].From))
						assert.InDelta(t, 0.58, gap, 1e-9, "straight across, on round plugs too")
					}
				}
				// On the round plugs the arc is 0.58³/24r² = 0.0002 longer than its chord.
				assert.InDelta(t, o.Length()-float64(n)*0.58, cut, float64(n)*3e-4, e.part)
			}
		})
	}
}

// Where there is not room for all ties there are as many as fit; a piece that
// none can hold is refused.
func TestTiesNeedRoom(t *testing.T) {
	p := fin("F1")
	p.Outline = poly(0, 0, 8, 0, 8, 8, 0, 8)
	p.NoStart = nil
	r := onePart(p)
	r.Ties = path.Ties{Count: 40, Width: 1}
	tp, err := path.Laser(r)
	require.NoError(t, err)
	assert.Greater(t, len(tp.Ops), 4)
	assert.Less(t, len(tp.Ops), 20)
	r.Ties.Width = 7
	_, err = path.Laser(r)
	require.Error(t, err)
	assert.Contains(t, err.Error(), "piece F1, outline: no place for a tie of 7.00 mm")
}

// A wide tie on a small round piece is as wide as asked, straight across, between the
// round ends of the cuts: along the arc it would come out 0.03 mm too narrow.
func TestTiesOnRoundPieces(t *testing.T) {
	p := fin("P1")
	p.Outline, p.NoStart = geom.Circle(geom.Point{X: 10, Y: 10}, 10), nil
	r := onePart(p)
	r.Ties = path.Ties{Count: 2, Width: 5}
	tp, err := path.Laser(r)
	require.NoError(t, err)
	var runs []path.Op
	for _, op := range tp.Ops {
		if op.Layer == path.Outline {
			runs = append(runs, op)
		}
	}
	require.Len(t, runs, 3)
	for i, op := range runs[1:] {
		prev := runs[i]
		gap := prev.Moves[len(prev.Moves)-1].To.Dist(op.Moves[op.First].From)
		assert.InDelta(t, 5+r.Material.Kerf, gap, 1e-9)
	}
}

func TestPassesRepeatACut(t *testing.T) {
	r := request(t, sample())
	once, err := path.Laser(r)
	require.NoError(t, err)
	r.Material.Cut.Passes = 2
	twice, err := path.Laser(r)
	require.NoError(t, err)
	cuts := 0
	for _, op := range once.Ops {
		if op.Layer >= path.Opening {
			cuts++
		}
	}
	require.Len(t, twice.Ops, len(once.Ops)+cuts)
	for i, op := range twice.Ops {
		if op.Pass == 2 {
			prev := twice.Ops[i-1]
			assert.Equal(t, 1, prev.Pass)
			assert.Equal(t, prev.Moves, op.Moves)
		}
	}
}

// Settings reach the moves: each layer its own power and feed.
func TestSettingsByLayer(t *testing.T) {
	r := request(t, sample())
	tp, err := path.Laser(r)
	require.NoError(t, err)
	want := map[path.Layer]machine.Setting{path.Lettering: r.Material.Letter, path.Score: r.Material.Score, path.Opening: r.Material.Cut, path.Outline: r.Material.Cut}
	seen := map[path.Layer]bool{}
	for _, op := range tp.Ops {
		seen[op.Layer] = true
		assert.Equal(t, want[op.Layer].Power, op.Power)
		assert.Zero(t, op.Moves[0].Z)
		for _, m := range op.Moves {
			assert.Equal(t, want[op.Layer].Feed, m.Feed)
		}
	}
	assert.Len(t, seen, 4)
}

// A part is scaled about its origin, the kerf is not.
func TestScaledPartsKeepTheKerf(t *testing.T) {
	parts := sample()
	for i := range parts {
		parts[i].Scale = 1.003
	}
	r := request(t, parts)
	tp, err := path.Laser(r)
	require.NoError(t, err)
	checkCut(t, r, tp, false)
	checkClosed(t, r, tp)
}

func TestOrderOfPartsDoesNotMatter(t *testing.T) {
	r := request(t, sample())
	a, err := path.Laser(r)
	require.NoError(t, err)
	back := append([]jig.Part(nil), r.Parts...)
	for i, j := 0, len(back)-1; i < j; i, j = i+1, j-1 {
		back[i], back[j] = back[j], back[i]
	}
	r.Parts = back
	b, err := path.Laser(r)
	require.NoError(t, err)
	assert.Equal(t, a, b)
}

// A piece that lies in another piece's opening is done before that opening's
// piece, because the slug it lies in falls.
func TestPieceInAnOpeningComesFirst(t *testing.T) {
	ring := jig.Part{ID: "A-ring", Scale: 1, Outline: poly(0, 0, 120, 0, 120, 120, 0, 120),
		Openings: []jig.Opening{{ID: "eye", Kind: jig.OpenHang, Figure: geom.Dot(pt(60, 60)), Width: 2 * 40}}}
	disc := plug("Z-disc")
	r := onePart(ring)
	r.Parts = append(r.Parts, disc)
	r.Sheet.Placed = append(r.Sheet.Placed, nest.Placed{ID: "Z-disc", On: geom.Placement{X: 150, Y: 150}})
	tp, err := path.Laser(r)
	require.NoError(t, err)
	var order []string
	for _, op := range tp.Ops {
		order = append(order, op.Part+" "+op.Feature)
	}
	assert.Equal(t, []string{"Z-disc Z-disc-hole", "Z-disc outline", "A-ring eye", "A-ring outline"}, order)
	checkCut(t, r, tp, false)
}

func TestLaserRefuses(t *testing.T) {
	for _, tc := range []struct {
		name  string
		spoil func(r *path.Request)
		says  string
	}{
		{"unknown piece", func(r *path.Request) { r.Sheet.Placed[0].ID = "H9" }, `piece "H9"`},
		{"kerf wider than a hole", func(r *path.Request) { r.Material.Kerf = 3.1 }, "piece H1, opening black: shape: offset"},
		{"kerf not a number", func(r *path.Request) { r.Material.Kerf = math.NaN() }, "kerf of NaN mm"},
		{"kerf negative", func(r *path.Request) { r.Material.Kerf = -0.1 }, "kerf of -0.1 mm"},
		{"no power", func(r *path.Request) { r.Material.Cut.Power = 0 }, "cut setting: power 0"},
		{"no feed for scores", func(r *path.Request) { r.Material.Score.Feed = 0 }, "score setting"},
		{"lead-in too short", func(r *path.Request) { r.LeadIn = 0.49 }, "lead-in of 0.49 mm"},
		{"ties of no width", func(r *path.Request) { r.Ties.Count = 2 }, "2 ties of 0 mm"},
		{"no free edge", func(r *path.Request) { r.Parts[0].NoStart = r.Parts[0].Outline.Segments() }, "piece H1, outline: no free edge"},
		{"no room between pieces", func(r *path.Request) { *r = walledIn() }, "piece B, outline: no free edge"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r := onePart(arm("H1"))
			tc.spoil(&r)
			_, err := path.Laser(r)
			require.Error(t, err)
			assert.Contains(t, err.Error(), tc.says)
		})
	}
	r := onePart(arm("H1"))
	r.LeadIn = 0.5
	_, err := path.Laser(r)
	require.NoError(t, err)
}

// walledIn is a square hard up against pieces on all four sides.
func walledIn() path.Request {
	square := func(id string) jig.Part {
		return jig.Part{ID: id, Scale: 1, Outline: poly(0, 0, 40, 0, 40, 40, 0, 40)}
	}
	r := path.Request{Sheet: nest.Sheet{N: 1, Width: 600, Height: 400}, Material: acrylic()}
	for id, at := range map[string]geom.Placement{"B": {X: 100, Y: 100}, "C": {X: 140.5, Y: 100}, "D": {X: 59.5, Y: 100}, "E": {X: 100, Y: 140.5}, "F": {X: 100, Y: 59.5}} {
		r.Parts = append(r.Parts, square(id))
		r.Sheet.Placed = append(r.Sheet.Placed, nest.Placed{ID: id, On: at})
	}
	return r
}

func TestEmptySheet(t *testing.T) {
	tp, err := path.Laser(path.Request{Sheet: nest.Sheet{N: 1, Width: 600, Height: 400}, Material: acrylic()})
	require.NoError(t, err)
	assert.Empty(t, tp.Ops)
	assert.True(t, tp.Bounds.IsEmpty())
	assert.Zero(t, tp.Travel)
}

// BenchmarkLaser orders thirty pieces over their sheets.
func BenchmarkLaser(b *testing.B) {
	var parts []jig.Part
	for i := 0; i < 15; i++ {
		parts = append(parts, arm(fmt.Sprintf("H%d", i+1)))
	}
	for i := 0; i < 9; i++ {
		parts = append(parts, fin(fmt.Sprintf("F%d", i+1)))
	}
	for i := 0; i < 6; i++ {
		parts = append(parts, plug(fmt.Sprintf("P%d", i+1)))
	}
	sheets, err := nest.Nest(items(parts), nest.Options{Stock: []machine.Stock{{Width: 600, Height: 400}}, Gap: 4, Margin: 6.6})
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		for _, s := range sheets {
			if _, err := path.Laser(path.Request{Sheet: s, Parts: parts, Material: acrylic()}); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// Places at 0, 1, 2, ... 20 and four ties five apart or more over 20: nearest to even
// (2.5, 7.5, 12.5, 17.5) by trying every choice.
func TestTiesAreSpreadBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var places []float64
		for i := range 16 {
			if rapid.Bool().Draw(t, "free") {
				places = append(places, float64(i)+rapid.SampledFrom([]float64{0, 0.25, 0.5}).Draw(t, "at"))
			}
		}
		n, apart := rapid.IntRange(1, 4).Draw(t, "n"), rapid.Float64Range(1, 6).Draw(t, "apart")
		sum := func(at []float64) float64 {
			s := 0.0
			for k, f := range at {
				s += math.Abs(f - 16*(float64(k)+0.5)/float64(n))
			}
			return s
		}
		best := math.Inf(1)
		var try func(from int, at []float64)
		try = func(from int, at []float64) {
			if len(at) == n {
				best = math.Min(best, sum(at))
				return
			}
			for i := from; i < len(places); i++ {
				if len(at) == 0 || places[i]-at[len(at)-1] >= apart {
					try(i+1, append(at[:len(at):len(at)], places[i]))
				}
			}
		}
		try(0, nil)
		got := path.Spread(places, n, 16, apart)
		if math.IsInf(best, 1) {
			assert.Empty(t, got)
			return
		}
		require.Len(t, got, n)
		assert.InDelta(t, best, sum(got), 1e-5)
		for i := 1; i < n; i++ {
			assert.GreaterOrEqual(t, got[i]-got[i-1], apart-1e-6)
		}
	})
}
