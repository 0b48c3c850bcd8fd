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

// What changes of single signs and terms showed to be untested. Figures are
// elementary geometry.

// Every number of a setting, at what is refused and just inside.
func TestLaserRefusesSettings(t *testing.T) {
	inf := math.Inf(1)
	for _, tc := range []struct {
		name  string
		spoil func(s *machine.Setting)
		ok    bool
	}{
		{"faint", func(s *machine.Setting) { s.Power = 0.5 }, true},
		{"slow", func(s *machine.Setting) { s.Feed = 0.5 }, true},
		{"passes not stated", func(s *machine.Setting) { s.Passes = 0 }, true},
		{"negative power", func(s *machine.Setting) { s.Power = -1 }, false},
		{"endless power", func(s *machine.Setting) { s.Power = inf }, false},
		{"negative feed", func(s *machine.Setting) { s.Feed = -1 }, false},
		{"endless feed", func(s *machine.Setting) { s.Feed = machine.Feed(inf) }, false},
		{"negative passes", func(s *machine.Setting) { s.Passes = -1 }, false},
	} {
		for _, layer := range []string{"cut", "score", "letter"} {
			r := onePart(arm("H1"))
			m := &r.Material
			tc.spoil(map[string]*machine.Setting{"cut": &m.Cut, "score": &m.Score, "letter": &m.Letter}[layer])
			_, err := path.Laser(r)
			if tc.ok {
				require.NoError(t, err, "%s %s", tc.name, layer)
				continue
			}
			require.ErrorContains(t, err, layer+" setting", "%s %s", tc.name, layer)
		}
	}
}

// Edges on which nothing may start grow with the part: card that shrinks by 5 % is
// cut larger, and 5 % of 220 mm is 11 mm.
func TestStartsKeepOffKeptEdgesOfScaledParts(t *testing.T) {
	for _, ties := range []int{0, 3} {
		p := arm("H1")
		p.Scale = 1.05
		r := onePart(p)
		r.Ties = path.Ties{Count: ties, Width: 0.4}
		tp, err := path.Laser(r)
		require.NoError(t, err)
		for _, op := range tp.Ops {
			if op.Layer != path.Outline {
				continue
			}
			for _, k := range p.NoStart {
				k.From, k.To = pt(k.From.X*1.05+100, k.From.Y*1.05+100), pt(k.To.X*1.05+100, k.To.Y*1.05+100)
				for _, at := range []geom.Point{op.Moves[op.First].From, op.Moves[op.Last-1].To} {
					_, d := k.Nearest(at)
					assert.Greater(t, d, 0.5, "%v on a kept edge", at)
				}
			}
		}
	}
}

// The only edge free to start on is the right one, wherever scale puts it.
func TestStartOfAScaledPartLiesOnItsFreeEdge(t *testing.T) {
	p := fin("F1") // 0,0 70,0 55,52 15,52
	p.NoStart = nil
	for i, s := range p.Outline.Segments() {
		if i != 1 {
			p.NoStart = append(p.NoStart, s)
		}
	}
	p.Scale = 1.2
	r := onePart(p)
	tp, err := path.Laser(r)
	require.NoError(t, err)
	free := geom.Segment{From: pt(70*1.2+100, 100), To: pt(55*1.2+100, 52*1.2+100)}
	for _, op := range tp.Ops {
		_, d := free.Nearest(op.Moves[op.First].From)
		assert.InDelta(t, 0.09, d, 1e-9, "half a kerf beside the free edge")
	}

	slab := slab(t, "H1")
	for i, s := range slab.Outline.Segments() {
		if i != 5 {
			slab.NoStart = append(slab.NoStart, s)
		}
	}
	slab.Scale = 1.2
	s := slab.Outline.Segment(5)
	free = geom.Segment{From: pt(s.From.X*1.2+20, s.From.Y*1.2+20), To: pt(s.To.X*1.2+20, s.To.Y*1.2+20), Bulge: s.Bulge}
	tp, err = path.Knife(knifeSheet(0.45, slab))
	require.NoError(t, err)
	op := ops(tp, path.Outline)[0]
	m := op.Moves[op.First]
	_, d := free.Nearest(m.From.Add(unlead(m, 0.45)))
	assert.InDelta(t, 0, d, 1e-6)
}

// A piece in another's opening is led in clear of that opening's edge as well: with
// 3 mm all round there is room, with 0.6 mm there is none.
func TestLeadsKeepOffTheOpeningAround(t *testing.T) {
	for _, tc := range []struct {
		r  float64
		ok bool
	}{{37, true}, {39.4, false}} {
		ring := jig.Part{ID: "A-ring", Scale: 1, Outline: poly(0, 0, 120, 0, 120, 120, 0, 120),
			Openings: []jig.Opening{{ID: "eye", Kind: jig.OpenHang, Figure: geom.Dot(pt(60, 60)), Width: 2 * 40}}}
		disc := jig.Part{ID: "Z-disc", Scale: 1, Outline: geom.Circle(pt(60, 60), tc.r)}
		r := onePart(ring)
		r.Parts = append(r.Parts, disc)
		r.Sheet.Placed = append(r.Sheet.Placed, nest.Placed{ID: "Z-disc", On: geom.Placement{X: 100, Y: 100}})
		tp, err := path.Laser(r)
		if !tc.ok {
			require.ErrorContains(t, err, "piece Z-disc, outline: no free edge")
			continue
		}
		require.NoError(t, err)
		eye := geom.Circle(pt(160, 160), 40)
		for _, op := range tp.Ops {
			if op.Part != "Z-disc" {
				continue
			}
			for _, m := range op.Moves {
				assert.True(t, eye.Holds(geom.MustOpen(geom.Vertex{At: m.From, Bulge: m.Bulge}, geom.Vertex{At: m.To}), 0.29), "%v", m)
			}
		}
	}
}

// The lead-in as long as asked while there is room for it: 45 degrees from behind,
// so that it reaches 1/sqrt(2) of its length into the waste; Reach says so.
func TestLeadReach(t *testing.T) {
	for _, lead := range []float64{0, 0.5, 3} {
		r := onePart(fin("F1"))
		r.LeadIn = lead
		tp, err := path.Laser(r)
		require.NoError(t, err)
		if lead == 0 {
			lead = 2
		}
		in := tp.Ops[0].Moves[0]
		assert.InDelta(t, lead, in.Length(), 1e-9)
		assert.InDelta(t, math.Sqrt2/2, in.Tangent(0).Dot(tp.Ops[0].Moves[1].Tangent(0)), 1e-9)
		assert.InDelta(t, 0.09+lead*math.Sqrt2/2, r.Reach(), 1e-12)
		_, d := fin("F1").Outline.Transform(geom.Placement{X: 100, Y: 100}).Nearest(in.From)
		assert.InDelta(t, r.Reach(), d, 1e-9)
	}
}

// Ties of 0.4 mm and a kerf lie on straight edges at least 0.5 mm off every corner,
// the start and the cut past it, and about evenly along the outline.
func TestTiesAreSpreadAndClear(t *testing.T) {
	const gap = 0.4 + 0.18
	rounded := "5,0 95,0,0.41421356237309503 100,5 100,55,0.41421356237309503 95,60 5,60,0.41421356237309503 0,55 0,5,0.41421356237309503"
	for name, c := range map[string]geom.Contour{
		"square": poly(0, 0, 80, 0, 80, 80, 0, 80), "rounded": ring(t, rounded), "disc": geom.Circle(pt(40, 40), 40),
	} {
		for _, n := range []int{2, 4, 7} {
			r := onePart(jig.Part{ID: "P1", Scale: 1, Outline: c})
			r.Ties = path.Ties{Count: n, Width: 0.4}
			tp, err := path.Laser(r)
			require.NoError(t, err)
			require.Len(t, tp.Ops, n+1, name)
			o, err := c.Transform(geom.Placement{X: 100, Y: 100}).Offset(0.09)
			require.NoError(t, err)
			last := tp.Ops[n]
			past := last.Moves[last.Last : len(last.Moves)-1]
			at, want := 0.0, o.Length()/float64(n)
			for i := 1; i <= n; i++ {
				before, after := tp.Ops[i-1], tp.Ops[i]
				for _, m := range before.Moves[before.First:before.Last] {
					at += m.Length()
				}
				// Evenly: within two places of 1 mm, the corners' own length and what
				// must be kept clear of the place wanted.
				assert.InDelta(t, want*(float64(i)-0.5), at+gap/2, 12, "%s, tie %d of %d", name, i, n)
				at += gap
				a, b := before.Moves[before.Last-1].To, after.Moves[after.First].From
				mid := a.Mid(b)
				if name != "disc" {
					edge := geom.Segment{}
					for _, s := range o.Segments() {
						if _, d := s.Nearest(mid); d < 1e-6 {
							edge = s
						}
					}
					assert.False(t, edge.IsArc(), "%s: a tie on a corner's round", name)
				}
				for _, v := range o.Vertices() {
					if name == "disc" {
						break // its two joints are no corners
					}
					assert.GreaterOrEqual(t, math.Min(v.At.Dist(a), v.At.Dist(b)), 0.5-1e-9, "%s: corner", name)
				}
				for _, m := range past {
					_, d := m.Nearest(mid)
					assert.GreaterOrEqual(t, d, gap/2+0.5-1e-2, "%s: the cut past the start", name)
				}
				assert.GreaterOrEqual(t, tp.Ops[0].Moves[1].From.Dist(mid), gap/2+0.5-1e-2, "%s: the start", name)
			}
		}
	}
}

// A blade goes down to half a millimetre above the sheet and up at the lift feed, on
// down at the plunge feed; whatever is cut is cut at its layer's depth, also after a
// corner where the blade was lifted.
func TestBladeHeights(t *testing.T) {
	req := knifeSheet(0.45, rich(t, "H1"), rich(t, "H2"))
	k := req.Machine.Knife
	tp, err := path.Knife(req)
	require.NoError(t, err)
	depth := map[path.Layer]float64{path.Lettering: -0.1, path.Score: -0.15, path.Opening: -0.45, path.Outline: -0.45}
	lifted, cut := 0, 0.0
	for _, op := range tp.Ops {
		z := k.ZUp
		for i, m := range op.Moves {
			if m.From == m.To {
				want := k.Lift
				if m.Z < z && m.Z != 0.5 {
					want = k.Plunge
				}
				require.Equal(t, want, m.Feed, "%s %s move %d from %g to %g", op.Part, op.Feature, i, z, m.Z)
				require.False(t, z > 0.5 && m.Z < 0.5, "%s %s move %d goes down at once", op.Part, op.Feature, i)
			}
			z = m.Z
			if m.Z < 0 {
				cut += m.Length()
			}
			if m.Lift {
				lifted++
			} else if i >= op.First && i < op.Last && m.From != m.To && op.Part != "waste" {
				require.Equal(t, depth[op.Layer], m.Z, "%s %s move %d", op.Part, op.Feature, i)
			}
		}
	}
	require.Positive(t, lifted)
	assert.InDelta(t, cut, tp.Cut, 1e-6)
}

func TestKnifeRefusesEachFeedAndHeight(t *testing.T) {
	for _, tc := range []struct {
		want  string
		spoil func(*path.KnifeRequest)
	}{
		{"feeds must be above zero", func(r *path.KnifeRequest) { r.Machine.Knife.Plunge = 0 }},
		{"feeds must be above zero", func(r *path.KnifeRequest) { r.Machine.Knife.Lift = 0 }},
		{"raised height 0 mm", func(r *path.KnifeRequest) { r.Machine.Knife.ZUp = 0 }},
		{"wedge angle 90.1 degrees", func(r *path.KnifeRequest) { r.Machine.Knife.Wedge = 90.1 * geom.Degree }},
		{"SCORE depth 0.3 mm is not below", func(r *path.KnifeRequest) { r.Material.Score.Depth = 0.3 }},
		{"SCORE depth 0 mm is not below", func(r *path.KnifeRequest) { r.Material.Score.Depth = 0 }},
	} {
		req := knifeSheet(0.25, rich(t, "H1"))
		tc.spoil(&req)
		_, err := path.Knife(req)
		require.ErrorIs(t, err, path.ErrKnife, tc.want)
		assert.ErrorContains(t, err, tc.want)
	}
	req := knifeSheet(0.25, rich(t, "H1"))
	req.Machine.Knife.SheetMax = 0 // not stated
	req.Machine.Knife.ZUp, req.Machine.Knife.Plunge, req.Machine.Knife.Lift = 0.6, 0.5, 0.5
	_, err := path.Knife(req)
	require.NoError(t, err)
}

// A trial's offset and depth are its part's alone, whichever part is cut first: round a
// corner of radius 3 the pivot goes on sqrt(9 + d²) with the offset d.
func TestTrialsAreOfOnePart(t *testing.T) {
	for _, tried := range []string{"H1", "H2"} {
		req := knifeSheet(0.45, slab(t, "H1"), slab(t, "H2"))
		req.Trials = []jig.KnifeTrial{{Part: tried, Offset: 0.9, Depth: -0.5}}
		tp, err := path.Knife(req)
		require.NoError(t, err)
		outlines := ops(tp, path.Outline)
		require.Len(t, outlines, 2)
		for _, op := range outlines {
			d, z := 0.45, -0.45
			if op.Part == tried {
				d, z = 0.9, -0.5
			}
			corners := 0
			for _, m := range op.Moves[op.First:op.Last] {
				if !m.IsArc() || m.Radius() < 2 {
					continue
				}
				corners++
				assert.InDelta(t, math.Sqrt(9+d*d), m.Radius(), 1e-9, "%s with %s tried", op.Part, tried)
				assert.Equal(t, z, m.Z, "%s with %s tried", op.Part, tried)
			}
			require.GreaterOrEqual(t, corners, 4)
		}
	}
}

// The room that a sheet keeps round an outline holds the lead-in that is cut unless
// another is asked for, whatever the kerf and the sheet: a longer lead, or less room, is found
// here. Four pieces with no more room than that, to each other and to the edges, are all cut
// with the whole lead-in; the walls between them are half as thick as the sheet.
func TestLeadInsFitTheRoomKept(t *testing.T) {
	for _, kerf := range []float64{0, 0.1, 0.18, 0.5} {
		for _, sold := range []float64{0.5, 3, 8} {
			m := machine.Material{Kerf: kerf, Sold: sold, Cut: machine.Setting{Power: 60, Feed: 10, Passes: 1}}
			room := jig.RoomFor(machine.Profile{Process: machine.Laser}, m)
			r := path.Request{Material: m}
			assert.InDelta(t, r.Reach()+kerf/2, room.Edge, 1e-9, "kerf %g: no less than the cut, and no more", kerf)
			assert.GreaterOrEqual(t, room.Gap-kerf+1e-9, sold/2, "kerf %g", kerf)
			assert.GreaterOrEqual(t, room.Gap+1e-9, 2*room.Edge, "kerf %g: no lead meets another", kerf)

			w, h := 100.0, 60.0
			r.Sheet = nest.Sheet{N: 1, Width: 2*room.Edge + 2*w + room.Gap, Height: 2*room.Edge + 2*h + room.Gap}
			for i := range 4 {
				id := fmt.Sprintf("H%d", i+1)
				r.Parts = append(r.Parts, jig.Part{ID: id, Scale: 1, Outline: geom.Rect(geom.Box{Max: geom.Point{X: w, Y: h}})})
				r.Sheet.Placed = append(r.Sheet.Placed, nest.Placed{ID: id, On: geom.Placement{
					X: room.Edge + float64(i%2)*(w+room.Gap), Y: room.Edge + float64(i/2)*(h+room.Gap)}})
			}
			tp, err := path.Laser(r)
			require.NoError(t, err)
			outlines := ops(tp, path.Outline)
			require.Len(t, outlines, 4)
			for _, op := range outlines {
				assert.InDelta(t, jig.LeadIn, op.Moves[0].Length(), 1e-9, "kerf %g, sheet %g", kerf, sold)
			}
			sheet := geom.Box{Max: geom.Point{X: r.Sheet.Width, Y: r.Sheet.Height}}
			assert.True(t, sheet.Holds(tp.Bounds.Grow(kerf/2-1e-9)), "kerf %g, sheet %g", kerf, sold)
		}
	}
}

// Reach is how far the pivot strays from an outline that it enters at 30 degrees with
// the blade on its heading, as here: no move of the cut lies further out, and some come
// more than half as far.
func TestKnifeReach(t *testing.T) {
	for _, d := range []float64{0.25, 0.45} {
		req := knifeSheet(d, slab(t, "H1"))
		tp, err := path.Knife(req)
		require.NoError(t, err)
		c := req.Parts[0].Outline.Transform(req.Sheet.Placed[0].On)
		far := 0.0
		op := ops(tp, path.Outline)[0]
		for _, m := range op.Moves {
			for f := 0.0; f <= 1; f += 0.25 {
				if _, away := c.Nearest(m.At(f)); !c.Contains(m.At(f)) {
					far = math.Max(far, away)
				}
			}
		}
		assert.LessOrEqual(t, far, req.Reach(), "offset %g", d)
		assert.Greater(t, far, req.Reach()/2, "offset %g", d)
	}
}
