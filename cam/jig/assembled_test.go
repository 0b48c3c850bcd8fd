package jig_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// published is where the marks of pool and snooker belong on a table l by w with
// 2 1/4 in balls, computed here from the rules alone:
//
//   - WPA rules 8.1: head and foot string at a quarter of the length, long string
//     from foot spot to foot rail, spots on the long string;
//   - Official Rules of Snooker, section 1: baulk line 29 in in 140 1/2 in, scaled
//     by the playing surface (common practice); pink midway between blue and the
//     top cushion; yellow right and green left of the D;
//   - B&SCC rules, section 1: D a sixth of the width, black an eleventh of the length;
//   - tight triangle of fifteen: apex corner one diameter before the first ball's
//     centre, back edge 2·sqrt(3) d + d/2 behind it, side d(4+sqrt(3)) (geometry).
func published(l, w, d float64) (spots map[string]geom.Point, lines map[string][2]geom.Point, dCentre geom.Point, dRadius float64) {
	baulk, radius, black := l*29/140.5, w/6, l-l/11
	if math.Abs(l-3569) <= 13 && math.Abs(w-1778) <= 13 {
		// Inside the full-size tolerance the rule's own inches hold.
		baulk, radius, black = 29*25.4, 11.5*25.4, l-12.75*25.4
	}
	foot := 3 * l / 4
	back := foot + 2*math.Sqrt(3)*d + d/2
	side := d * (4 + math.Sqrt(3)) / 2
	spots = map[string]geom.Point{
		"head-spot": {X: l / 4}, "centre-spot": {X: l / 2}, "foot-spot": {X: foot},
		"brown": {X: baulk}, "yellow": {X: baulk, Y: -radius}, "green": {X: baulk, Y: radius}, "black": {X: black},
	}
	lines = map[string][2]geom.Point{
		"head-string": {{X: l / 4, Y: -w / 2}, {X: l / 4, Y: w / 2}},
		"baulk-line":  {{X: baulk, Y: -w / 2}, {X: baulk, Y: w / 2}},
		"long-string": {{X: foot}, {X: l}},
		"rack-apex":   {{X: foot - d, Y: -12.5}, {X: foot - d, Y: 12.5}},
		"rack-left":   {{X: back, Y: side - 25}, {X: back, Y: side}},
		"rack-right":  {{X: back, Y: -side}, {X: back, Y: -side + 25}},
	}
	return spots, lines, geom.Point{X: baulk}, radius
}

// tables and beds of the coverage promised: playing surfaces and machines.
func eachTable(t *testing.T, f func(t *testing.T, r jig.Request, j jig.Jig)) {
	for i, size := range [][2]float64{{78 * 25.4, 39 * 25.4}, {88 * 25.4, 44 * 25.4}, {92 * 25.4, 46 * 25.4}, {2540, 1270}, {3569, 1778}} {
		for k, bed := range [][2]float64{{300, 200}, {600, 400}, {900, 600}, {1300, 900}} {
			if testing.Short() && i%4 != k {
				continue // each size and each bed once
			}
			t.Run(fmt.Sprintf("%.0fx%.0f on %.0fx%.0f", size[0], size[1], bed[0], bed[1]), func(t *testing.T) {
				r := tableJob(t, size[0], size[1], bed[0], bed[1], "pool", "snooker")
				j := lookedAt(t, r)
				f(t, r, j)
			})
		}
	}
}

// assembledTol: openings lie on their marks to this, mm.
const assembledTol = 0.001

func TestAssembledOpeningsLieOnTheirMarks(t *testing.T) {
	t.Parallel()
	eachTable(t, func(t *testing.T, r jig.Request, j jig.Jig) {
		spots, lines, centre, radius := published(r.Table.L, r.Table.W, 57.15)
		seen := map[string]int{}
		for _, p := range j.Parts {
			if p.OnTable.Upright {
				continue
			}
			on := p.OnTable.Plan()
			for _, o := range p.Openings {
				if o.Mark == "" {
					continue
				}
				seen[o.Mark]++
				at := p.ID + " " + o.ID
				switch o.Kind {
				case jig.OpenSpot:
					want, ok := spots[o.Mark]
					require.True(t, ok, at)
					assert.InDelta(t, 0, on.Apply(o.A).Dist(want), assembledTol, at)
				case jig.OpenSlot:
					want, ok := lines[o.Mark]
					require.True(t, ok, at)
					// The edge towards the template's nose, or towards the right of the table,
					// is half a guide off the line.
					for _, end := range []geom.Point{o.A, o.B} {
						q := on.Apply(end)
						side := geom.Vec{X: -1}
						switch {
						case math.Abs(want[0].Y-want[1].Y) < 1:
							side = geom.Vec{Y: -1}
						case p.Template == "foot":
							side = geom.Vec{X: 1}
						}
						_, away := geom.Segment{From: want[0], To: want[1]}.Nearest(q.Add(side.Scale(o.Width/2 - r.Want.MarkerGuide/2)))
						assert.InDelta(t, 0, away, assembledTol, at)
					}
				case jig.OpenArc:
					require.Equal(t, "d", o.Mark)
					assert.InDelta(t, 0, on.Apply(o.A).Dist(centre), assembledTol, at)
					assert.InDelta(t, radius, o.Radius+o.Width/2-r.Want.MarkerGuide/2, assembledTol, at)
					from, to := (o.Start + on.Turn).Degrees(), (o.End + on.Turn).Degrees()
					assert.True(t, from >= 90-1e-9 && to <= 270+1e-9 && from < to, "%s sweeps %g to %g", at, from, to)
				}
			}
		}
		for id := range spots {
			assert.Equal(t, 1, seen[id], "holes for %s", id)
		}
		for id := range lines {
			assert.NotZero(t, seen[id], "slots for %s", id)
		}
		assert.NotZero(t, seen["d"])
	})
}

func TestNoCheckFailsOnAnyTableAndBed(t *testing.T) {
	t.Parallel()
	eachTable(t, func(t *testing.T, r jig.Request, j jig.Jig) {
		for _, c := range j.Checks {
			if c.ID == "budget:foot-spot" || c.ID == "budget:centre-spot" || c.ID == "budget:head-spot" ||
				len(c.ID) > 7 && c.ID[:7] == "budget:" && r.Table.L > 2600 {
				continue // the tolerance is the fitter's to choose: budgets have their own tests
			}
			assert.NotEqual(t, jig.Fail, c.Verdict, "%s: %g against %g: %s", c.ID, c.Value, c.Limit, c.Text)
		}
	})
}

func TestDesignIsTheSameEveryTime(t *testing.T) {
	r := tableJob(t, 2541, 1269.5, 600, 400, "pool", "snooker")
	first, err := design(r)
	require.NoError(t, err)
	other, err := design(tableJob(t, 3569, 1778, 300, 200, "pool", "snooker"))
	require.NoError(t, err)
	require.NotEmpty(t, other.Parts)
	again, err := design(r)
	require.NoError(t, err)
	assert.Equal(t, first, again)
}

// TestOnlyTheRightDovetailsGoTogether lays every piece's edge with tails against
// every piece's edge with sockets, seam middles together, as it is, turned end
// for end, and flipped over, using the cut outlines alone: the tails must lie
// outside the other piece's material for the right pair and for no other.
// Joints that the design itself says only their lettering tells apart are left out.
func TestOnlyTheRightDovetailsGoTogether(t *testing.T) {
	for _, bed := range [][2]float64{{600, 400}, {900, 600}} {
		r := tableJob(t, 2541, 1269.5, bed[0], bed[1], "pool", "snooker")
		j := lookedAt(t, r)
		part := map[string]jig.Part{}
		for _, p := range j.Parts {
			part[p.ID] = p
		}
		for _, c := range j.Checks {
			if c.ID == "keys" {
				require.Equal(t, jig.Pass, c.Verdict, c.Text)
			}
		}
		for _, a := range j.Joints {
			for _, b := range j.Joints {
				for _, flip := range []bool{false, true} {
					fits := tailFitsSocket(part[a.Tail], part[b.Socket], a, b, flip)
					assert.Equal(t, a == b && !flip, fits, "tails of %s-%s in sockets of %s-%s, flipped %v", a.Tail, a.Socket, b.Tail, b.Socket, flip)
				}
			}
		}
	}
}

// tailFitsSocket reports whether the tails of joint a, brought to joint b's seam,
// stay out of the material of b's socket piece. In the seam's own frame x runs
// along the seam from its middle and y from the tail's piece into the other's;
// a piece that is flipped over, or turned about, shows its tails mirrored in x.
func tailFitsSocket(tail, socket jig.Part, a, b jig.Joint, flip bool) bool {
	seamA := frameOf(a, tail)
	seamB := frameOf(b, socket)
	onA, onB := tail.OnTable.Plan(), socket.OnTable.Plan()
	outline := socket.Outline.Transform(onB)
	for _, s := range tail.Outline.Transform(onA).Segments() {
		for i := range 21 {
			q := seamA.local(s.At(float64(i) / 20))
			if q.Y < 0.5 || math.Abs(q.X) > a.From.Dist(a.To)/2 {
				continue // not a tail
			}
			if flip {
				q.X = -q.X
			}
			q.Y = -q.Y // the socket piece lies the other way
			if outline.Contains(seamB.global(q)) {
				return false
			}
		}
	}
	return true
}

// seamFrame is a seam's middle, its direction and the direction away from a piece.
type seamFrame struct {
	o    geom.Point
	x, y geom.Vec
}

// frameOf returns the frame of a joint as seen from one of its pieces: x along the
// seam from left to right for someone on the tail's piece looking across, y away
// from that piece.
func frameOf(j jig.Joint, p jig.Part) seamFrame {
	o := j.From.Mid(j.To)
	x := j.To.Sub(j.From).Unit()
	y := x.Left()
	mid := p.OnTable.Plan().Apply(p.Outline.Bounds().Center())
	if mid.Sub(o).Dot(y) > 0 {
		y = y.Scale(-1)
	}
	if p.ID == j.Tail {
		return seamFrame{o, y.Left().Scale(-1), y}
	}
	return seamFrame{o, y.Left(), y}
}

func (f seamFrame) local(p geom.Point) geom.Point {
	v := p.Sub(f.o)
	return geom.Point{X: v.Dot(f.x), Y: v.Dot(f.y)}
}

func (f seamFrame) global(p geom.Point) geom.Point {
	return f.o.Add(f.x.Scale(p.X)).Add(f.y.Scale(p.Y))
}
