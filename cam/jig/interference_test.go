package jig_test

import (
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// What must touch and what must not, in three dimensions, by the parts' own
// outlines. Upright, s runs from the nose into the table and z up from the cloth.

// nose is a cushion as a game has it: its ball, and the least and greatest height
// that is published for its nose, mm.
type nose struct {
	ball, low, high float64
	measured        float64 // given to the design, where nothing is published
}

// noses gives every game its cushions.
//
//   - pool: 62.5 to 64.5 % of the ball (WPA, as quoted) and 36 mm (DBU);
//   - carom and balkline: 37 +- 1 mm (UMB);
//   - snooker, billiards, six-red (52.5 mm), blackball and eight-ball (50.8 mm, 2 in),
//     Chinese eight-ball (57.15 mm) and pyramid (68 mm): nothing is published. The
//     same share of the ball stands in, common practice; and, as the design asks, a
//     measured height well away from it, with the 1 mm that a measurement is good for.
func noses(game string) []nose {
	share := func(ball float64) nose { return nose{ball, 0.625 * ball, 0.645 * ball, 0} }
	gauged := func(ball, h float64) nose { return nose{ball, h - 1, h + 1, h} }
	switch game {
	case "pool":
		return []nose{share(57.15), {57.15, 36, 36, 0}, gauged(57.15, 39)}
	case "snooker", "billiards", "six-red":
		return []nose{share(52.5), share(57.15), gauged(52.5, 30), gauged(52.5, 36)}
	case "blackball", "eight-ball":
		return []nose{share(50.8), gauged(50.8, 29), gauged(50.8, 35)}
	case "chinese-eight-ball":
		return []nose{share(57.15), gauged(57.15, 33)}
	case "pyramid":
		return []nose{share(68), gauged(68, 46)}
	}
	return []nose{{61.5, 36, 38, 0}, gauged(61.5, 40)}
}

// undercuts are how far a cushion's base lies behind its nose: nothing, as in the
// worst of worn rubber, up to the 3/4 in (19 mm) of English tables (Encyclopaedia
// Britannica, 1911, "Billiards"); a survey's own figure may be more.
var undercuts = []float64{0, 10, 19, 25}

// cushion is the rubber and the rail in section: from the nose down and back to
// the base, and up and back over the top, which stands above the nose (a rail is
// 47.6 to 50.8 mm wide by WPA; the rise is a guess on the safe side: a top that
// does not fall back at all for 5 mm).
func cushion(h, undercut float64) geom.Contour {
	return geom.MustClosed(
		geom.Vertex{At: geom.Point{X: -undercut - 0.001, Y: 0}},
		geom.Vertex{At: geom.Point{X: 0, Y: h}},
		geom.Vertex{At: geom.Point{X: 0, Y: h + 5}},
		geom.Vertex{At: geom.Point{X: -50.8, Y: h + 10}},
		geom.Vertex{At: geom.Point{X: -50.8, Y: 0}},
	)
}

// standing is a fin's outline in section: s from the nose that it touches, z up.
func standing(p jig.Part) geom.Contour {
	return p.Outline.Transform(geom.Placement{Y: p.OnTable.Z})
}

// frontAt is the least s of a fin's edge at a height.
func frontAt(c geom.Contour, z float64) float64 {
	b := c.Bounds()
	level := geom.Segment{From: geom.Point{X: b.Min.X - 1, Y: z}, To: geom.Point{X: b.Max.X + 1, Y: z}}
	best := math.Inf(1)
	for _, s := range c.Segments() {
		for _, q := range s.Crossings(level) {
			best = math.Min(best, q.X)
		}
	}
	return best
}

// walk calls f on points all along a contour.
func walk(c geom.Contour, f func(geom.Point)) {
	for _, s := range c.Segments() {
		for i := range 6 {
			f(s.At(float64(i) / 6))
		}
	}
}

// Every game on every size, and on its first table with every nose; without SPOTJIG_ALL=1 on
// its first table, with two noses.
func TestNothingTouchesWhatItMustNot(t *testing.T) {
	all := os.Getenv("SPOTJIG_ALL") != ""
	t.Parallel()
	for game, sizes := range played() {
		for i, size := range sizes {
			for k, n := range noses(game) {
				if (i > 0 || testing.Short()) && k > 0 || i > 0 && testing.Short() {
					continue // a game's other noses on its first table only
				}
				if !all && (k > 1 || i > 0) {
					continue
				}
				t.Run(fmt.Sprintf("%s%s nose %g-%g", game, sizeName(size), n.low, n.high), func(t *testing.T) {
					r := tableJob(t, size[0], size[1], usualBed[0], usualBed[1], game)
					r.BallDiameter, r.Table.NoseHeight = n.ball, n.measured
					j := lookedAt(t, r)
					fins := 0
					for _, p := range j.Parts {
						if p.OnTable.Upright {
							fins++
							finMeetsNose(t, p, n)
							finKeepsOffCloth(t, r, p)
							tabSlides(t, r, j, p)
						} else {
							plateKeepsOff(t, r, p)
						}
					}
					assert.Zero(t, fins%4)
					assert.NotZero(t, fins)
					finsKeepApart(t, r, j)
				})
			}
		}
	}
}

// The front edge is upright at the nose plane over every height of the nose, and
// 3 mm below and above it; and nothing of the fin enters the cushion, however far
// that is undercut.
func finMeetsNose(t *testing.T, p jig.Part, n nose) {
	c := standing(p)
	for z := n.low - 3; z <= n.high+3; z += 0.25 {
		assert.InDelta(t, 0, frontAt(c, z), 1e-6, "%s at z = %g", p.ID, z)
	}
	for _, h := range []float64{n.low, (n.low + n.high) / 2, n.high} {
		for _, u := range undercuts {
			rubber := cushion(h, u)
			walk(c, func(q geom.Point) {
				if rubber.Contains(q) {
					_, in := rubber.Nearest(q)
					assert.InDelta(t, 0, in, 1e-6, "%s enters the cushion at %v", p.ID, q)
				}
			})
		}
	}
}

// A fin's lowest point and its tab stop above the cloth and above the plate's
// underside, but the tab reaches well into the plate's thickness.
func finKeepsOffCloth(t *testing.T, r jig.Request, p jig.Part) {
	b := standing(p).Bounds()
	assert.GreaterOrEqual(t, b.Min.Y, 0.2, "%s nears the cloth", p.ID)
	assert.Less(t, b.Min.Y, r.Material.Thickness/2, "%s hardly reaches into the plate", p.ID)
	// Behind the tab it stands on the plate, nowhere inside it.
	from, to := tabOf(t, p)
	walk(standing(p), func(q geom.Point) {
		if q.X > to+0.01 || q.X > lipOf(r)+0.01 && q.X < from-0.01 {
			assert.GreaterOrEqual(t, q.Y, r.Material.Thickness-1e-6, "%s is in the plate at %v", p.ID, q)
		}
	})
}

// lipOf is how deep a fin's front foot is at least: max(8 mm, 1.5 t), in halves of
// a millimetre upwards.
func lipOf(r jig.Request) float64 { return math.Ceil(math.Max(8, 1.5*r.Material.Thickness)*2) / 2 }

// tabOf is a fin's tab: the run behind the lip that reaches below the plate's face.
func tabOf(t *testing.T, p jig.Part) (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	low := p.Outline.Bounds().Min.Y
	for _, s := range p.Outline.Segments() {
		for _, q := range []geom.Point{s.From, s.To} {
			if q.Y < low+1.001 && q.X > 15 { // beyond any lip
				from, to = math.Min(from, q.X), math.Max(to, q.X)
			}
		}
	}
	require.False(t, math.IsInf(from, 1), "%s has no tab", p.ID)
	return from, to
}

// travels are how far a fin is slid out of its drawn place, towards the nose first:
// an end fin is fixed, a side fin goes as far as the job says.
func travels(r jig.Request, p jig.Part) []float64 {
	if p.Role == "side fin" {
		return []float64{-r.Want.SideTravel, 0, r.Want.SideTravel}
	}
	return []float64{0}
}

// inPlan is where a fin's point s, at a distance v to the left of its mid-plane,
// stands on the table when the fin is slid by slid towards the middle.
func inPlan(p jig.Part, s, v, slid float64) geom.Point {
	return p.OnTable.Plan().Apply(geom.Point{X: s + slid, Y: v})
}

// The tab, with its sheet's thickness, lies inside its slot at both ends of its
// travel, 1 mm free at each end, and the fin's foot and its index edge stay on
// their own side of the plate's edge and on the plate.
func tabSlides(t *testing.T, r jig.Request, j jig.Jig, fin jig.Part) {
	var plate jig.Part
	var slot jig.Opening
	for _, p := range j.Parts {
		for _, o := range p.Openings {
			if o.Kind == jig.OpenFin && o.ID == fin.ID {
				plate, slot = p, o
			}
		}
	}
	require.NotEmpty(t, plate.ID, "%s has no slot", fin.ID)
	on := plate.OnTable.Plan()
	hole := slot.Contour().Transform(on)
	ends := [2]geom.Point{on.Apply(slot.A), on.Apply(slot.B)}
	from, to := tabOf(t, fin)
	half := r.Material.Thickness / 2
	for _, slid := range travels(r, fin) {
		for _, s := range []float64{from, to} {
			for _, v := range []float64{-half, half} {
				assert.True(t, hole.Contains(inPlan(fin, s, v, slid)), "%s: tab at %g out of its slot, slid by %g", fin.ID, s, slid)
			}
		}
		for i, s := range []float64{from, to} {
			free := inPlan(fin, s, 0, slid).Dist(ends[0])
			if i == 1 {
				free = inPlan(fin, s, 0, slid).Dist(ends[1])
			}
			assert.GreaterOrEqual(t, free, 1-1e-6, "%s: free at the slot's end, slid by %g", fin.ID, slid)
		}
		// The foot hangs in front of the plate: its back clears the plate's edge, or
		// bears on it; the rest stands over the plate.
		outline := plate.Outline.Transform(on)
		for _, v := range []float64{-half, half} {
			q := inPlan(fin, lipBack(fin), v, slid)
			if outline.Contains(q) {
				_, in := outline.Nearest(q)
				assert.InDelta(t, 0, in, 1e-6, "%s: the foot is in the plate, slid by %g", fin.ID, slid)
			}
			heel := inPlan(fin, fin.Outline.Bounds().Max.X, v, slid)
			assert.True(t, onSomePlate(j, fin.Template, heel), "%s: the heel hangs over nothing, slid by %g", fin.ID, slid)
		}
	}
	if fin.Role == "end fin" {
		_, gap := plate.Outline.Transform(on).Nearest(inPlan(fin, lipBack(fin), 0, 0))
		assert.InDelta(t, 0, gap, 1e-6, "%s: the lip bears on the plate's edge", fin.ID)
	}
}

// lipBack is the back of a fin's front foot.
func lipBack(p jig.Part) float64 {
	low, back := p.Outline.Bounds().Min.Y, 0.0
	for _, s := range p.Outline.Segments() {
		for _, q := range []geom.Point{s.From, s.To} {
			if q.Y < low+1.001 && q.X <= 15 {
				back = math.Max(back, q.X)
			}
		}
	}
	return back
}

func onSomePlate(j jig.Jig, template string, q geom.Point) bool {
	for _, p := range j.Parts {
		if p.Template == template && !p.OnTable.Upright && p.Outline.Transform(p.OnTable.Plan()).Contains(q) {
			return true
		}
	}
	return false
}

// No plate comes under a cushion: it ends a lip short of the end noses, and of the
// side noses of the narrowest table that the side scales serve; so that, however
// little the rubber is undercut, its lower edge is clear of the plate, and the
// plate's upper face is far below every nose anyway.
func plateKeepsOff(t *testing.T, r jig.Request, p jig.Part) {
	lip := lipOf(r)
	b := p.Outline.Transform(p.OnTable.Plan()).Bounds()
	assert.GreaterOrEqual(t, b.Min.X, lip-1e-6, "%s at the head nose", p.ID)
	assert.LessOrEqual(t, b.Max.X, r.Table.L-lip+1e-6, "%s at the foot nose", p.ID)
	narrow := r.Table.W/2 - r.Want.SideTravel
	assert.GreaterOrEqual(t, b.Min.Y, -narrow+lip-1e-6, "%s at the right nose", p.ID)
	assert.LessOrEqual(t, b.Max.Y, narrow-lip+1e-6, "%s at the left nose", p.ID)
	assert.Less(t, r.Material.Thickness, 29.0-1, "a plate is lower than any nose")
}

// Fins of one template never meet, wherever they are slid.
func finsKeepApart(t *testing.T, r jig.Request, j jig.Jig) {
	half := r.Material.Thickness / 2
	box := func(p jig.Part) geom.Box {
		b := geom.EmptyBox()
		for _, slid := range travels(r, p) {
			for _, s := range []float64{0, p.Outline.Bounds().Max.X} {
				b = b.Include(inPlan(p, s, -half, slid)).Include(inPlan(p, s, half, slid))
			}
		}
		return b
	}
	for i, p := range j.Parts {
		for _, q := range j.Parts[i+1:] {
			if p.OnTable.Upright && q.OnTable.Upright {
				assert.False(t, box(p).Grow(2).Overlaps(box(q)), "%s and %s", p.ID, q.ID)
			}
		}
	}
}

// The checks above see what they are for: a fin too short for a high nose, one that
// leans into the rubber, a tab that reaches the cloth.
func TestInterferenceIsSeen(t *testing.T) {
	r := tableJob(t, 2540, 1270, 600, 400, "pool")
	j := lookedAt(t, r)
	var fin jig.Part
	for _, p := range j.Parts {
		if p.Role == "end fin" {
			fin = p
		}
	}
	fails := func(f func(t *testing.T)) bool {
		probe := &testing.T{}
		done := make(chan bool)
		go func() { defer close(done); f(probe) }()
		<-done
		return probe.Failed()
	}
	assert.False(t, fails(func(t *testing.T) { finMeetsNose(t, fin, nose{low: 36, high: 38}) }))
	assert.True(t, fails(func(t *testing.T) { finMeetsNose(t, fin, nose{low: 55, high: 60}) }), "a nose above the fin")
	moved := fin
	moved.Outline = fin.Outline.Transform(geom.Placement{X: -0.1})
	assert.True(t, fails(func(t *testing.T) { finMeetsNose(t, moved, nose{low: 36, high: 38}) }), "a fin in the rubber")
	moved = fin
	moved.OnTable.Z = 0
	assert.True(t, fails(func(t *testing.T) { finKeepsOffCloth(t, r, moved) }), "a tab on the cloth")
	moved = fin
	moved.Outline = fin.Outline.Transform(geom.Placement{X: 1.5})
	assert.True(t, fails(func(t *testing.T) { tabSlides(t, r, j, moved) }), "a tab out of its slot")
}
