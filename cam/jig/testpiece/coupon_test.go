package testpiece_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/jig/testpiece"
	"spotjig/cam/machine"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// couponRequest is a laser of the given travel with sheets of the same size.
func couponRequest(x, y, thick float64) jig.Request {
	p, _ := machine.Lookup("laser-600x400")
	p.Min, p.Max = machine.Axes{}, machine.Axes{X: x, Y: y}
	p.Offsets = map[int]machine.Axes{1: {}}
	return jig.Request{Name: "Hall", Date: "2026-11-20", Version: "0", Machine: p, Want: job.Jig{MarkerTip: 0.7, MarkerGuide: 2.8},
		Material: machine.Material{Kind: "cast acrylic", Thickness: thick, Measured: true, Kerf: 0.18, Sheets: []machine.Stock{{Width: x, Height: y}},
			Cut: machine.Setting{Power: 800, Feed: 10, Passes: 1}, Score: machine.Setting{Power: 150, Feed: 60, Passes: 1}, Letter: machine.Setting{Power: 120, Feed: 80, Passes: 1}}}
}

// couponCases are beds and sheets a test piece is made for.
func couponCases(t *testing.T, f func(t *testing.T, req jig.Request, c testpiece.Coupon)) {
	for _, bed := range [][2]float64{{110, 110}, {200, 300}, {300, 200}, {600, 400}, {1300, 900}} {
		for _, thick := range []float64{2.7, 3.05, 4.85, 7.9} {
			t.Run(fmt.Sprintf("%gx%g sheet %g", bed[0], bed[1], thick), func(t *testing.T) {
				req := couponRequest(bed[0], bed[1], thick)
				c, err := testpiece.NewCoupon(req)
				require.NoError(t, err)
				f(t, req, c)
			})
		}
	}
}

// partAt is a part as it lies on its sheet.
type partAt struct {
	jig.Part
	sheet   int
	outline geom.Contour
	on      geom.Placement
}

func laidParts(t *testing.T, c testpiece.Coupon) []partAt {
	t.Helper()
	byID := map[string]jig.Part{}
	for _, p := range c.Parts {
		require.NotContains(t, byID, p.ID)
		byID[p.ID] = p
	}
	var out []partAt
	for i, s := range c.Sheets {
		for _, l := range s.Laid {
			p, ok := byID[l.ID]
			require.True(t, ok, l.ID)
			delete(byID, l.ID)
			on := geom.Placement{X: l.At.X, Y: l.At.Y}
			out = append(out, partAt{p, i, p.Outline.Transform(on), on})
		}
	}
	require.Empty(t, byID, "parts on no sheet")
	return out
}

// Every piece lies inside stock and travel with margin, and clear of every other
// but its neighbours in a comb, from which one kerf parts it.
func TestCouponPiecesHaveRoom(t *testing.T) {
	couponCases(t, func(t *testing.T, req jig.Request, c testpiece.Coupon) {
		all := laidParts(t, c)
		m := req.Machine.MarginBed + req.Material.Kerf/2
		for i, a := range all {
			s := c.Sheets[a.sheet]
			inside := geom.Box{Min: geom.Point{X: m, Y: m}, Max: geom.Point{X: s.Width - m, Y: s.Height - m}}
			assert.True(t, inside.Holds(a.outline.Bounds()), "%s: %v", a.ID, a.outline.Bounds())
			assert.Positive(t, a.Outline.Area(), "%s runs counter-clockwise", a.ID)
			for _, b := range all[i+1:] {
				if a.sheet != b.sheet || !a.outline.Bounds().Grow(7).Overlaps(b.outline.Bounds()) {
					continue
				}
				least := 2 * (math.Sqrt2 + req.Material.Kerf) // two cuts, with lead-ins of 2 mm at 45 degrees
				if a.Role == testpiece.CombPiece && b.Role == testpiece.CombPiece && a.ID[0] == b.ID[0] {
					least = req.Material.Kerf
				}
				assert.GreaterOrEqual(t, a.outline.Distance(b.outline), least-1e-6, "%s and %s", a.ID, b.ID)
			}
		}
	})
}

// A comb is n pieces between n+1 lines L/n apart, and its pieces are what those
// lines leave with the kerf allowed for.
func TestCouponCombs(t *testing.T) {
	couponCases(t, func(t *testing.T, req jig.Request, c testpiece.Coupon) {
		n, k := c.Cut.Pieces, req.Material.Kerf
		pitch := c.Cut.Comb / float64(n)
		assert.GreaterOrEqual(t, n, 4)
		assert.LessOrEqual(t, c.Cut.Comb, 150.0, "the usual caliper opens so far")
		assert.GreaterOrEqual(t, pitch-k, 1.4*req.Material.Thickness)
		for _, axis := range []string{"X", "Y"} {
			var across []float64
			for _, s := range c.Sheets {
				for _, l := range s.Lines {
					if v := l.To.Sub(l.From); l.Comb == axis && math.Abs(along(axis, geom.Point(v))) < 1e-9 {
						across = append(across, along(axis, l.From))
						assert.Greater(t, v.Len(), 30.0+2*2)
					}
				}
			}
			require.Len(t, across, n+1, axis)
			for i := 1; i <= n; i++ {
				assert.InDelta(t, pitch, across[i]-across[i-1], 2e-6)
			}
			pieces := 0
			for _, p := range laidParts(t, c) {
				if p.Role != testpiece.CombPiece || p.ID[:1] != axis {
					continue
				}
				b := p.outline.Bounds()
				assert.InDelta(t, across[pieces]+k/2, along(axis, b.Min), 2e-6, p.ID)
				pieces++
				assert.Equal(t, fmt.Sprintf("%s%d", axis, pieces), p.ID, "numbered in order")
				assert.InDelta(t, across[pieces]-k/2, along(axis, b.Max), 2e-6, p.ID)
			}
			assert.Equal(t, n, pieces)
		}
	})
}

func along(axis string, p geom.Point) float64 {
	if axis == "Y" {
		return p.Y
	}
	return p.X
}

// Openings keep a web from the edge and from each other, and every stroke lies in
// its piece and on material; the ticks and what is lettered beside them lie on the
// sheet, clear of every piece.
func TestCouponOpeningsAndStrokes(t *testing.T) {
	couponCases(t, func(t *testing.T, req jig.Request, c testpiece.Coupon) {
		web := math.Max(8, 1.5*req.Material.Thickness)
		all := laidParts(t, c)
		for _, p := range all {
			for i, o := range p.Openings {
				assert.True(t, p.Outline.Contains(o.Contour().Start()))
				assert.GreaterOrEqual(t, p.Outline.Distance(o.Contour()), math.Min(web, 6), "%s %s to the edge", p.ID, o.ID)
				for _, q := range p.Openings[i+1:] {
					assert.GreaterOrEqual(t, o.Contour().Distance(q.Contour()), web-1e-6, "%s: %s and %s", p.ID, o.ID, q.ID)
				}
			}
			for _, k := range append(append([]geom.Contour{}, p.Letters...), p.Scores...) {
				on := k.Transform(p.on)
				if p.outline.Contains(on.Start()) {
					assert.Greater(t, p.outline.Distance(on), 0.5, "%s letters at its edge", p.ID)
					for _, o := range p.Openings {
						assert.Greater(t, o.Contour().Distance(k), 0.5, "%s letters at %s", p.ID, o.ID)
						assert.False(t, o.Contour().Contains(k.Start()), "%s letters in %s", p.ID, o.ID)
					}
					continue
				}
				require.Equal(t, "SQUARE", p.ID)
				require.Zero(t, p.sheet)
				for _, q := range all {
					if q.sheet == 0 {
						assert.Greater(t, q.outline.Distance(on), 2.0, "a tick or its letter at %s", q.ID)
						assert.False(t, q.outline.Contains(on.Start()))
					}
				}
			}
		}
	})
}

// Four crosses, as far apart as the form says, near the corners of what can be
// reached.
func TestCouponTicks(t *testing.T) {
	couponCases(t, func(t *testing.T, req jig.Request, c testpiece.Coupon) {
		sq := laidParts(t, c)[0]
		require.Equal(t, "SQUARE", sq.ID)
		require.Len(t, sq.Scores, 8, "two strokes a cross")
		var at []geom.Point
		for i := 0; i < 8; i += 2 {
			h, v := sq.Scores[i].Transform(sq.on), sq.Scores[i+1].Transform(sq.on)
			assert.InDelta(t, 0, h.Start().Mid(h.End()).Dist(v.Start().Mid(v.End())), 1e-9)
			at = append(at, h.Start().Mid(h.End()))
		}
		assert.InDelta(t, c.Cut.ScaleX, at[0].Dist(at[1]), 1e-9)
		assert.InDelta(t, c.Cut.ScaleX, at[3].Dist(at[2]), 1e-9)
		assert.InDelta(t, c.Cut.ScaleY, at[0].Dist(at[3]), 1e-9)
		assert.InDelta(t, c.Cut.ScaleY, at[1].Dist(at[2]), 1e-9)
		assert.InDelta(t, math.Hypot(c.Cut.ScaleX, c.Cut.ScaleY), at[0].Dist(at[2]), 1e-9)
		assert.Greater(t, c.Cut.ScaleX, c.Sheets[0].Width-30)
		assert.Greater(t, c.Cut.ScaleY, c.Sheets[0].Height-30)
	})
}

// The tail in a socket, shoulders closed: flanks are the socket's clearance apart,
// nothing overlaps, and it can be told apart from the next socket.
func TestCouponTailInSockets(t *testing.T) {
	couponCases(t, func(t *testing.T, req jig.Request, c testpiece.Coupon) {
		var tail jig.Part
		var bars []jig.Part
		for _, p := range c.Parts {
			switch p.Role {
			case "tail":
				tail = p
			case "sockets":
				bars = append(bars, p)
			}
		}
		n := 0
		for _, bar := range bars {
			top := bar.Outline.Bounds().Max.Y
			for _, mid := range socketMiddles(bar) {
				b := tail.Outline.Bounds()
				shoulder := 28.0 // the tail's body is 28 mm high
				// Upside down the tail's body lies above the bar, its tail in the socket.
				on := geom.Placement{X: mid + b.Max.X/2, Y: top + shoulder, Turn: 180 * geom.Degree}
				in := tail.Outline.Transform(on)
				least := math.Inf(1)
				for i := 0; i < in.Len(); i++ {
					s := in.Segment(i)
					flank := !s.IsArc() && math.Abs(s.From.X-s.To.X) > 1 && math.Abs(s.From.Y-s.To.Y) > 3
					for f := 0.0; f <= 1; f += 0.02 {
						p := s.At(f)
						_, d := bar.Outline.Nearest(p)
						assert.False(t, bar.Outline.Contains(p) && d > 1e-6, "socket %d: the tail bites at %v", n+1, p)
						if flank {
							least = math.Min(least, d)
						}
					}
				}
				assert.InDelta(t, c.Cut.Flanks[n], least, 1e-6, "socket %d", n+1)
				n++
			}
		}
		assert.Len(t, c.Cut.Flanks, n)
		assert.Equal(t, []float64{0, 0.05, 0.1, 0.15}, c.Cut.Flanks)
	})
}

// socketMiddles finds the middles of a bar's sockets by their floors: the straight
// edges that run leftwards below its top.
func socketMiddles(bar jig.Part) []float64 {
	var out []float64
	top := bar.Outline.Bounds().Max.Y
	for i := 0; i < bar.Outline.Len(); i++ {
		s := bar.Outline.Segment(i)
		if !s.IsArc() && s.To.X < s.From.X-5 && math.Abs(s.From.Y-s.To.Y) < 1e-9 && s.From.Y < top-5 {
			out = append([]float64{(s.From.X + s.To.X) / 2}, out...)
		}
	}
	return out
}

// Slots run from 0.1 below the sheet to 0.3 above, 0.05 apart, long enough for the
// tongue with a millimetre free at either end.
func TestCouponSlots(t *testing.T) {
	couponCases(t, func(t *testing.T, req jig.Request, c testpiece.Coupon) {
		var got []float64
		var tab float64
		for _, p := range c.Parts {
			if p.Role == "tongue" {
				tab = tabWidth(p)
			}
		}
		for _, p := range c.Parts {
			if p.Role != "slot ladder" {
				continue
			}
			for _, o := range p.Openings {
				assert.Equal(t, testpiece.SlotLetter(len(got)), o.ID)
				got = append(got, o.Width)
				assert.InDelta(t, tab+2, o.A.Dist(o.B), 1e-9)
			}
		}
		require.Len(t, got, 9)
		assert.Equal(t, c.Cut.Slots, got)
		for i, w := range got {
			assert.InDelta(t, req.Material.Thickness-0.10+0.05*float64(i), w, 1e-9)
		}
	})
}

// tabWidth is the width of the tongue's upper edge with its corners.
func tabWidth(p jig.Part) float64 {
	top := p.Outline.Bounds().Max.Y
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range p.Outline.Vertices() {
		if v.At.Y > top-1.5 {
			lo, hi = math.Min(lo, v.At.X), math.Max(hi, v.At.X)
		}
	}
	return hi - lo
}

// A sheet too thin, a bed too small and stock too little are told, not cut.
func TestCouponRefusals(t *testing.T) {
	_, err := testpiece.NewCoupon(couponRequest(600, 400, 0.55))
	assert.ErrorContains(t, err, "too thin")
	c, err := testpiece.NewCoupon(couponRequest(600, 400, 0.6))
	require.NoError(t, err, "at the limit: 0.5 of slot, 0.18 of kerf, 0.32 of slug")
	assert.NotEmpty(t, c.Parts)

	var size *jig.SizeError
	_, err = testpiece.NewCoupon(couponRequest(110, 110, 15))
	require.True(t, errors.As(err, &size), "%v", err)
	assert.Greater(t, math.Max(size.NeedW, size.NeedH), math.Min(size.UsableW, size.UsableH))

	req := couponRequest(300, 200, 5)
	req.Material.Sheets[0].Count = 2
	_, err = testpiece.NewCoupon(req)
	require.NoError(t, err)
	req.Material.Sheets[0].Count = 1
	_, err = testpiece.NewCoupon(req)
	assert.ErrorContains(t, err, "needs 2 sheets")
}

// Checks warn of what a maker must know: pieces that fall through, a sheet much
// smaller than the travel, a thickness that nobody measured.
func TestCouponChecks(t *testing.T) {
	verdicts := func(change func(*jig.Request)) map[string]jig.Verdict {
		req := couponRequest(600, 400, 5)
		change(&req)
		c, err := testpiece.NewCoupon(req)
		require.NoError(t, err)
		out := map[string]jig.Verdict{}
		for _, k := range c.Checks {
			out[k.ID] = k.Verdict
		}
		return out
	}
	assert.Equal(t, map[string]jig.Verdict{"comb-support": jig.Pass, "ticks-x": jig.Pass, "ticks-y": jig.Pass}, verdicts(func(*jig.Request) {}))
	assert.Equal(t, jig.Warn, verdicts(func(r *jig.Request) { r.Machine.SupportGrid = 30 })["comb-support"])
	assert.Equal(t, jig.Warn, verdicts(func(r *jig.Request) { r.Machine.Max.X = 1000 })["ticks-x"])
	assert.Equal(t, jig.Warn, verdicts(func(r *jig.Request) { r.Material.Measured = false })["thickness"])
}

// The grid keeps to cap and top speed, goes from mild to strong, letters every
// power and feed it uses, and its squares lie apart on the offcut.
func TestGrid(t *testing.T) {
	req := couponRequest(600, 400, 4.85)
	req.Material.PowerCap = 700
	req.Machine.FeedMax = 10
	g, err := testpiece.NewGrid(req)
	require.NoError(t, err)
	through, scores := 0, 0
	for i, q := range g.Squares {
		assert.LessOrEqual(t, q.Setting.Power, 700.0)
		assert.LessOrEqual(t, float64(q.Setting.Feed), 10.0+1e-9)
		assert.Positive(t, q.Setting.Power)
		assert.Equal(t, fmt.Sprintf("S%.4g F%.0f", q.Setting.Power, q.Setting.Feed.PerMinute()), q.Name)
		b := q.Outline.Bounds()
		assert.True(t, geom.Box{Min: geom.Point{X: 5, Y: 5}, Max: geom.Point{X: g.Width - 5, Y: g.Height - 5}}.Holds(b), q.Name)
		for _, o := range g.Squares[i+1:] {
			assert.GreaterOrEqual(t, q.Outline.Distance(o.Outline), 5.0)
		}
		for _, l := range g.Letters {
			assert.Greater(t, q.Outline.Distance(l), 0.5)
		}
		if i > 0 && g.Squares[i-1].Through == q.Through {
			assert.GreaterOrEqual(t, q.Setting.Power, g.Squares[i-1].Setting.Power)
		}
		if q.Through {
			through++
		} else {
			scores++
			assert.Zero(t, through, "scores come first")
		}
	}
	assert.Equal(t, 5*3, through, "of 1200, 840, 600, 420 and 300 mm/min the first two come down to 600")
	assert.Equal(t, 5, scores, "60 mm/s and all its steps come down to 10")

	var size *jig.SizeError
	_, err = testpiece.NewGrid(couponRequest(110, 110, 4.85))
	assert.True(t, errors.As(err, &size))
}

// Letters say what is measured: names of slots, sockets, pieces, axes.
func TestCouponIsLettered(t *testing.T) {
	c, err := testpiece.NewCoupon(couponRequest(600, 400, 4.85))
	require.NoError(t, err)
	var all []string
	for _, p := range c.Parts {
		assert.NotEmpty(t, p.Letters, p.ID)
		all = append(all, p.Text...)
	}
	text := strings.Join(all, "|")
	for _, want := range []string{"SQUARE 100 X 100", "SPOT", "PEN", "A", "I", "4.75", "5.15", "1: 0.00", "4: 0.15", "TAIL", "TONGUE", "X1", "Y10", ">X", "^Y", "DIAGONALS", "4.85 MM"} {
		assert.Contains(t, text, want)
	}
}

func BenchmarkNewCoupon(b *testing.B) {
	req := couponRequest(300, 200, 7.9)
	for b.Loop() {
		if _, err := testpiece.NewCoupon(req); err != nil {
			b.Fatal(err)
		}
	}
}
