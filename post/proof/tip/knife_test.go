package tip_test

import (
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	"spotjig/post/proof/tip"
)

// tipLimit: how far the tip may stray from a nominal edge, mm.
const tipLimit = 0.01

// knifeRequest is a sheet of 300 x 200 mm polyester film, one part at 20, 20.
func knifeRequest(offset float64, parts ...jig.Part) path.KnifeRequest {
	req := path.KnifeRequest{
		Sheet: nest.Sheet{N: 1, Width: 300, Height: 200},
		Parts: parts,
		Machine: machine.Profile{Process: machine.Knife, HasZ: true, FeedMax: 200, Knife: machine.KnifeProfile{
			Offset: offset, Wedge: 45 * geom.Degree, ZUp: 2, ZSkin: -0.05, Plunge: 5, Lift: 10, Swivel: 5,
			SwivelMax: 30 * geom.Degree, ArcMin: 2 * offset, ArcTight: "corner", Misalign: 1 * geom.Degree, SheetMax: 1, ZFloor: -1,
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

// polygon returns a closed contour of straight edges, from the corners given as x, y.
func polygon(xy ...float64) geom.Contour {
	var v []geom.Vertex
	for i := 0; i < len(xy); i += 2 {
		v = append(v, geom.Vertex{At: geom.Point{X: xy[i], Y: xy[i+1]}})
	}
	return geom.MustClosed(v...)
}

// roundRect is a rectangle from the origin with corners of radius r.
func roundRect(w, h, r float64) geom.Contour {
	q := math.Tan(math.Pi / 8)
	at := func(x, y, b float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}, Bulge: b} }
	return geom.MustClosed(at(r, 0, 0), at(w-r, 0, q), at(w, r, 0), at(w, h-r, q),
		at(w-r, h, 0), at(r, h, q), at(0, h-r, 0), at(0, r, q))
}

// samplePart has one of everything: spot holes, a slot, an arc slot, scores, letters.
func samplePart(id string) jig.Part {
	stroke := func(xy ...float64) geom.Contour {
		var v []geom.Vertex
		for i := 0; i < len(xy); i += 2 {
			v = append(v, geom.Vertex{At: geom.Point{X: xy[i], Y: xy[i+1]}})
		}
		return geom.MustOpen(v...)
	}
	return jig.Part{ID: id, Outline: roundRect(120, 80, 3), Openings: []jig.Opening{
		{ID: "o1", Kind: jig.OpenSpot, Mark: "black", Figure: geom.Dot(geom.Point{X: 20, Y: 20}), Width: 2 * 1.55},
		{ID: "o2", Kind: jig.OpenSpot, Mark: "pink", Figure: geom.Dot(geom.Point{X: 40, Y: 20}), Width: 2 * 10},
		{ID: "o3", Kind: jig.OpenSlot, Mark: "baulk-line", Figure: geom.Line(geom.Point{X: 20, Y: 40}, geom.Point{X: 90, Y: 40}), Width: 3.1},
		{ID: "o4", Kind: jig.OpenArc, Mark: "d", Figure: geom.Arc(geom.Point{X: 70, Y: 10}, 20, 20*geom.Degree, 140*geom.Degree), Width: 3.1},
	}, Scores: []geom.Contour{stroke(5, 60, 115, 60), stroke(60, 52, 60, 75)},
		Letters: []geom.Contour{stroke(10, 65, 12, 72, 14, 65), stroke(11, 68, 13, 68),
			stroke(20, 65, 20, 72, 23, 72, 24, 71, 24, 69.5, 23, 68.5, 20, 68.5), stroke(30, 65, 30, 72), stroke(34, 65, 30, 69)}}
}

// pivotMoves lists a toolpath's motion with the travel between its operations.
// owner gives the operation of each move, -1 for travel.
func pivotMoves(t path.Toolpath, start geom.Point, zUp float64) (moves []tip.PivotMove, owner [][2]int) {
	at, z := start, zUp
	for i, op := range t.Ops {
		moves = append(moves, tip.PivotMove{Segment: geom.Segment{From: at, To: op.Moves[0].From}, ZFrom: z, ZTo: z})
		owner = append(owner, [2]int{-1, 0})
		for k, m := range op.Moves {
			moves = append(moves, tip.PivotMove{Segment: m.Segment, ZFrom: z, ZTo: m.Z})
			owner = append(owner, [2]int{i, k})
			at, z = m.To, m.Z
		}
	}
	return moves, owner
}

// nominalOf returns the contours an operation may follow, sheet frame.
func nominalOf(req path.KnifeRequest, op path.Op) []geom.Contour {
	var out []geom.Contour
	for _, on := range req.Sheet.Placed {
		for _, p := range req.Parts {
			if p.ID != op.Part || on.ID != p.ID {
				continue
			}
			var own []geom.Contour
			switch op.Layer {
			case path.Lettering:
				own = p.Letters
			case path.Score:
				own = p.Scores
			case path.Outline:
				own = []geom.Contour{p.Outline}
			default:
				for _, o := range p.Openings {
					if o.Mark == op.Feature || o.ID == op.Feature {
						own = append(own, o.Contour())
					}
				}
			}
			for _, c := range own {
				out = append(out, c.Transform(on.On))
			}
		}
	}
	return out
}

// kept returns every part as outline and holes, sheet frame.
type keptPart struct {
	outline geom.Contour
	holes   []geom.Contour
}

func keptParts(req path.KnifeRequest) []keptPart {
	var out []keptPart
	for _, on := range req.Sheet.Placed {
		for _, p := range req.Parts {
			if p.ID != on.ID {
				continue
			}
			k := keptPart{outline: p.Outline.Transform(on.On)}
			for _, o := range p.Openings {
				k.holes = append(k.holes, o.Contour().Transform(on.On))
			}
			out = append(out, k)
		}
	}
	return out
}

// depthInto returns how far p lies inside kept material, 0 if it does not.
func (k keptPart) depthInto(p geom.Point) float64 {
	if !k.outline.Bounds().Contains(p) || !k.outline.Contains(p) {
		return 0
	}
	_, in := k.outline.Nearest(p)
	for _, h := range k.holes {
		if h.Contains(p) {
			return 0
		}
		_, d := h.Nearest(p)
		in = math.Min(in, d)
	}
	return in
}

func nearestOf(cs []geom.Contour, p geom.Point) float64 {
	best := math.Inf(1)
	for _, c := range cs {
		_, d := c.Nearest(p)
		best = math.Min(best, d)
	}
	return best
}

// stray drives the blade along the toolpath from a heading and returns the
// greatest distance of the tip from the nominal contour where it covers it, and
// the greatest depth of a cut into kept material otherwise. knock is added to
// the heading at every travel: a blade knocked in the air.
func stray(req path.KnifeRequest, tp path.Toolpath, heading geom.Angle) (onEdge, intoKept float64, where string) {
	moves, owner := pivotMoves(tp, req.Start, req.Machine.Knife.ZUp)
	kept := keptParts(req)
	nominal := make([][]geom.Contour, len(tp.Ops))
	for i, op := range tp.Ops {
		nominal[i] = nominalOf(req, op)
	}
	b := tip.Blade{Offset: req.Machine.Knife.Offset, Heading: heading}
	b.Trail(moves, func(s tip.TipSample) {
		i, k := owner[s.Move][0], owner[s.Move][1]
		if i < 0 || s.Z >= 0 {
			return
		}
		op := tp.Ops[i]
		if k >= op.First && k < op.Last || op.Layer < path.Opening && op.Part != "waste" {
			if d := nearestOf(nominal[i], s.At); d > onEdge {
				onEdge, where = d, fmt.Sprintf("%s %s %s move %d at %v", op.Layer, op.Part, op.Feature, k, s.At)
			}
			return
		}
		for _, kp := range kept {
			if d := kp.depthInto(s.At); d > intoKept {
				intoKept, where = d, fmt.Sprintf("%s %s %s move %d at %v", op.Layer, op.Part, op.Feature, k, s.At)
			}
		}
	})
	return onEdge, intoKept, where
}

// gaps returns the greatest distance from a nominal contour to the nearest
// place where the tip went at the depth of the last pass.
func gaps(t *testing.T, req path.KnifeRequest, tp path.Toolpath) float64 {
	t.Helper()
	moves, owner := pivotMoves(tp, req.Start, req.Machine.Knife.ZUp)
	cut := map[string][]geom.Segment{}
	var last tip.TipSample
	b := tip.Blade{Offset: req.Machine.Knife.Offset}
	b.Trail(moves, func(s tip.TipSample) {
		if i := owner[s.Move][0]; i >= 0 && last.Move == s.Move && s.Z < 0 {
			op := tp.Ops[i]
			deep := map[path.Layer]float64{path.Lettering: req.Material.Letter.Depth, path.Score: req.Material.Score.Depth,
				path.Opening: req.Material.Cut.Depth, path.Outline: req.Material.Cut.Depth}[op.Layer]
			if math.Abs(s.Z-deep) < 1e-9 {
				key := op.Layer.String() + op.Part
				cut[key] = append(cut[key], geom.Segment{From: last.At, To: s.At})
			}
		}
		last = s
	})
	worst := 0.0
	for _, on := range req.Sheet.Placed {
		for _, p := range req.Parts {
			if p.ID != on.ID {
				continue
			}
			all := map[path.Layer][]geom.Contour{path.Lettering: p.Letters, path.Score: p.Scores, path.Outline: {p.Outline}}
			for _, o := range p.Openings {
				all[path.Opening] = append(all[path.Opening], o.Contour())
			}
			for layer, cs := range all {
				for _, c := range cs {
					worst = math.Max(worst, gapTo(c.Transform(on.On), cut[layer.String()+p.ID]))
				}
			}
		}
	}
	return worst
}

// gapTo samples a contour every millimetre.
func gapTo(c geom.Contour, cut []geom.Segment) float64 {
	worst := 0.0
	for _, s := range c.Segments() {
		n := int(s.Length()) + 2
		for i := 0; i <= n; i++ {
			p := s.At(float64(i) / float64(n))
			best := math.Inf(1)
			for _, q := range cut {
				if math.Abs(q.From.X-p.X) < 1 && math.Abs(q.From.Y-p.Y) < 1 {
					_, d := q.Nearest(p)
					best = math.Min(best, d)
				}
			}
			worst = math.Max(worst, best)
		}
	}
	return worst
}

func requireTrue(t *testing.T, req path.KnifeRequest) path.Toolpath {
	t.Helper()
	tp, err := path.Knife(req)
	require.NoError(t, err)
	for h := 0; h < 8; h++ {
		edge, kept, where := stray(req, tp, geom.Angle(h)*45*deg)
		require.LessOrEqual(t, edge, tipLimit, "heading %d: %s", h*45, where)
		require.LessOrEqual(t, kept, tipLimit, "heading %d: %s", h*45, where)
	}
	require.LessOrEqual(t, gaps(t, req, tp), tipLimit)
	return tp
}

func TestTipKeepsToEveryEdge(t *testing.T) {
	for _, d := range []float64{0.25, 0.45, 0.9} {
		t.Run(fmt.Sprint(d), func(t *testing.T) {
			requireTrue(t, knifeRequest(d, samplePart("H1"), samplePart("H2")))
		})
	}
}

// Corners of every turn, on outlines (to the left and to the right) and in openings: by ten
// degrees with SPOTJIG_ALL=1, else by forty, with another first turn for each blade.
func TestTipKeepsToCorners(t *testing.T) {
	for i, d := range []float64{0.25, 0.45, 0.9} {
		first, step := 5.0, 10.0
		if os.Getenv("SPOTJIG_ALL") == "" {
			first, step = 5+10*float64(i), 40
		}
		for turn := first; turn <= 175; turn += step {
			s, c := math.Sincos(turn * math.Pi / 180)
			// A path that comes along +x to (60,40) and turns left by turn.
			x, y := 60+30*c, 40+30*s
			left := polygon(0, 0, 120, 0, 120, 100, x, 100, x, y, 60, 40, 0, 40)
			t.Run(fmt.Sprintf("%v/%v", d, turn), func(t *testing.T) {
				if turn > 90 {
					left = polygon(0, 0, 60, 0, 60, 40, x, y, x-40, y, x-40, 0)
				}
				left = settle(left)
				part := jig.Part{ID: "H1", Outline: left}
				requireTrue(t, knifeRequest(d, part))
			})
		}
	}
}

// settle moves a contour's box to the origin and runs it counter-clockwise.
func settle(c geom.Contour) geom.Contour {
	b := c.Bounds()
	c = c.Transform(geom.Placement{X: -b.Min.X, Y: -b.Min.Y})
	if c.Area() < 0 {
		c = c.Reversed()
	}
	return c
}

// Arcs down to the limit on both sides of the material, and tighter ones as corners.
func TestTipKeepsToTightArcs(t *testing.T) {
	for _, d := range []float64{0.25, 0.45, 0.9} {
		for _, r := range []float64{2 * d, 3 * d, 1.5 * d, 0.5 * d} {
			t.Run(fmt.Sprintf("%v/%v", d, r), func(t *testing.T) {
				part := jig.Part{ID: "H1", Outline: roundRect(60, 40, r), Openings: []jig.Opening{
					{ID: "o1", Kind: jig.OpenSpot, Figure: geom.Dot(geom.Point{X: 15, Y: 15}), Width: 2 * r},
					{ID: "o2", Kind: jig.OpenSlot, Figure: geom.Line(geom.Point{X: 30, Y: 15}, geom.Point{X: 40, Y: 25}), Width: 2 * r},
				}}
				requireTrue(t, knifeRequest(d, part))
			})
		}
	}
}

// A blade knocked by up to ten degrees between cuts still comes to every opening
// and outline within the limit: that is what the run-in is for.
func TestRunInMendsAKnock(t *testing.T) {
	req := knifeRequest(0.45, samplePart("H1"))
	for i := range req.Parts {
		req.Parts[i].Letters, req.Parts[i].Scores = nil, nil
	}
	tp, err := path.Knife(req)
	require.NoError(t, err)
	for _, op := range tp.Ops {
		if op.Part == "waste" {
			continue
		}
		assert.Zero(t, op.Turned, "%s is turned in place", op.Feature)
		first := 0
		for op.Moves[first].From == op.Moves[first].To {
			first++ // down on the spot
		}
		want := op.Moves[first].Tangent(1)
		for _, knock := range []float64{-10, 10} {
			one := tp
			one.Ops = []path.Op{op}
			h := geom.Angle(math.Atan2(want.Y, want.X)) + geom.Angle(knock)*deg
			edge, kept, where := stray(req, one, h)
			assert.LessOrEqual(t, edge, tipLimit, where)
			assert.LessOrEqual(t, kept, tipLimit, where)
		}
	}
}

// A machine that cannot turn in the skin lifts clear at sharp corners and comes in
// again from the waste: the tip keeps to the edges all the same.
func TestTipKeepsToCornersLiftedClear(t *testing.T) {
	for _, d := range []float64{0.25, 0.45, 0.9} {
		for _, outline := range []geom.Contour{
			polygon(0, 0, 60, 0, 60, 40, 30, 60, 0, 40), polygon(0, 0, 80, 0, 0, 37.3), polygon(0, 0, 80, 0, 80, 40, 0, 20),
		} {
			req := knifeRequest(d, jig.Part{ID: "P1", Outline: outline})
			req.Machine.Knife.ZSkin = 0
			tp := requireTrue(t, req)
			require.Zero(t, tp.Lifts)
		}
	}
}
