package jig_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

func checknamed(t *testing.T, j jig.Jig, id string) jig.Check {
	t.Helper()
	for _, c := range j.Checks {
		if c.ID == id {
			return c
		}
	}
	t.Fatalf("no check %q", id)
	return jig.Check{}
}

// Finger and hang holes, walked round point by point: they keep the design's web,
// max(8 mm, 1.5 t), to the edge of their piece and to every other opening, and
// nothing is scored or lettered across them. One hang hole a template.
func TestHandlesLieWhereNothingIsCut(t *testing.T) {
	t.Parallel()
	eachTable(t, func(t *testing.T, r jig.Request, j jig.Jig) {
		web := math.Max(8, 1.5*r.Material.Thickness)
		hangs := map[string]int{}
		for _, p := range j.Parts {
			n := 0
			for i, o := range p.Openings {
				want := 0.0
				switch o.Kind {
				case jig.OpenFinger:
					want = 12
					n++
				case jig.OpenHang:
					want = 4
					hangs[p.Template]++
				default:
					continue
				}
				at := p.ID + " " + o.ID
				assert.Equal(t, want, o.Width/2, at)
				assert.Empty(t, o.Mark, at)
				holeIsClear(t, p, i, web, at)
			}
			assert.LessOrEqual(t, n, 2, p.ID)
		}
		assert.Equal(t, map[string]int{"head": 1, "foot": 1}, hangs)
	})
}

func holeIsClear(t *testing.T, p jig.Part, i int, web float64, at string) {
	o := p.Openings[i]
	for k := range 72 {
		s, c := math.Sincos(float64(k) * math.Pi / 36)
		q := geom.Point{X: o.A.X + o.Radius*c, Y: o.A.Y + o.Radius*s}
		require.True(t, p.Outline.Contains(q), at)
		_, away := p.Outline.Nearest(q)
		require.GreaterOrEqual(t, away, web-0.001, at)
		for m, other := range p.Openings {
			if m != i {
				_, away := other.Contour().Nearest(q)
				require.GreaterOrEqual(t, away, web-0.1, "%s and %s", at, other.ID)
				require.False(t, other.Contour().Contains(q), "%s and %s", at, other.ID)
			}
		}
	}
	for _, strokes := range [][]geom.Contour{p.Scores, p.Letters} {
		for _, s := range strokes {
			_, away := s.Nearest(o.A)
			require.Greater(t, away, o.Width/2, at)
		}
	}
}

// On a usual bed every piece of 250 mm and more has its finger hole, and all
// lettering its place beside it.
func TestLongPiecesHaveFingerHoles(t *testing.T) {
	r := tableJob(t, 2541, 1269.5, 600, 400, "pool", "snooker")
	j := lookedAt(t, r)
	long := 0
	for _, p := range j.Parts {
		b := p.Outline.Bounds()
		if p.OnTable.Upright || math.Max(b.Width(), b.Height()) < 275 { // 250 and a tail
			continue
		}
		long++
		n := 0
		for _, o := range p.Openings {
			if o.Kind == jig.OpenFinger {
				n++
			}
		}
		assert.NotZero(t, n, p.ID)
	}
	assert.Greater(t, long, 6)
	assert.Equal(t, jig.Pass, checknamed(t, j, "lettering").Verdict)
}

// The pieces' stack: every number once a template, the largest box at the bottom.
func TestStackOrderIsLettered(t *testing.T) {
	r := tableJob(t, 2541, 1269.5, 600, 400, "pool", "snooker")
	j := lookedAt(t, r)
	place := map[string]map[int]jig.Part{"head": {}, "foot": {}}
	n := map[string]int{}
	for _, p := range j.Parts {
		if p.OnTable.Upright || p.Role == jig.GaugePlate {
			continue
		}
		n[p.Template]++
		for _, s := range p.Text {
			var at, of int
			if _, err := fmt.Sscanf(s, "STACK %d OF %d", &at, &of); err == nil {
				place[p.Template][at] = p
			}
		}
	}
	for end, at := range place {
		require.Len(t, at, n[end], "%s: every piece has a place of its own", end)
		for i := 2; i <= n[end]; i++ {
			// Tails stand out of the box that is compared, so a tenth is allowed.
			assert.LessOrEqual(t, area(at[i]), area(at[i-1])*1.15, "%s above %s", at[i].ID, at[i-1].ID)
		}
	}
}

func area(p jig.Part) float64 {
	b := p.Outline.Bounds()
	return b.Width() * b.Height()
}

// Weights: the templates add up to the whole, all of it is what the net area of
// every part weighs, and a jig of steel plate is too heavy to be handled.
func TestWeights(t *testing.T) {
	r := tableJob(t, 2541, 1269.5, 900, 600, "pool", "snooker")
	j, err := design(r)
	require.NoError(t, err)
	total := checknamed(t, j, "weight-total").Value
	assert.InDelta(t, total, checknamed(t, j, "weight:head").Value+checknamed(t, j, "weight:foot").Value, 1e-9)
	net := 0.0
	for _, p := range j.Parts {
		net += math.Abs(p.Outline.Area())
		for _, o := range p.Openings {
			net -= math.Abs(o.Contour().Area())
		}
	}
	assert.InDelta(t, net*1e-6*4.85e-3*1190, total, 1e-9)
	assert.Equal(t, jig.Pass, checknamed(t, j, "weight-piece").Verdict)
	r.Material.Density = 7850
	j, err = design(r)
	require.NoError(t, err)
	assert.Equal(t, jig.Warn, checknamed(t, j, "weight-piece").Verdict)
}

// Thin sheet on a large bed gives pieces that sag; shorter pieces do not.
func TestSagAsksForShorterPieces(t *testing.T) {
	r := tableJob(t, 3569, 1778, 1300, 900, "pool", "snooker")
	r.Material.Thickness, r.Material.Modulus = 2.9, 3.2e9
	j, err := design(r)
	require.NoError(t, err)
	c := checknamed(t, j, "sag")
	assert.Equal(t, jig.Warn, c.Verdict, c.Text)
	assert.Contains(t, c.Text, "jig.piece_max")
	r.Want.PieceMax = 500
	j, err = design(r)
	require.NoError(t, err)
	c = checknamed(t, j, "sag")
	assert.Equal(t, jig.Pass, c.Verdict, c.Text)
	for _, p := range j.Parts {
		b := p.Outline.Bounds()
		assert.LessOrEqual(t, math.Max(b.Width(), b.Height()), 500.003, p.ID)
	}
}

// Spare fins are the fins again, under names of their own, where their originals stand.
func TestSpareFins(t *testing.T) {
	r := tableJob(t, 2541, 1269.5, 600, 400, "pool", "snooker")
	plain, err := design(r)
	require.NoError(t, err)
	r.Want.SpareFins = true
	j, err := design(r)
	require.NoError(t, err)
	part := map[string]jig.Part{}
	for _, p := range j.Parts {
		require.NotContains(t, part, p.ID)
		part[p.ID] = p
	}
	require.Len(t, j.Parts, len(plain.Parts)+8)
	for _, id := range []string{"HE", "HS", "FE", "FS"} {
		for n := 1; n <= 2; n++ {
			old, spare := part[fmt.Sprintf("%s%d", id, n)], part[fmt.Sprintf("%s%d", id, n+2)]
			require.NotEmpty(t, spare.ID, "%s%d", id, n+2)
			assert.Equal(t, old.Outline, spare.Outline)
			assert.Equal(t, old.OnTable, spare.OnTable)
			assert.Equal(t, old.Role, spare.Role)
			assert.Contains(t, spare.Text, spare.ID)
			assert.Contains(t, spare.Text, "SPARE FOR "+old.ID)
		}
	}
	for _, p := range plain.Parts {
		assert.Equal(t, p, part[p.ID], "the others are as without spares")
	}
}

// Only pool (WPA: 62.5 to 64.5 % of the ball; DBU: 36 mm) and carom (UMB: 37 +- 1
// mm) publish a nose height. Everything else asks for a measurement.
func TestUnpublishedNosesAskToBeMeasured(t *testing.T) {
	for _, c := range []struct {
		game    string
		ball    float64
		nose    float64
		process machine.Process
		want    jig.Verdict
	}{
		{"pool", 57.15, 0, machine.Laser, jig.Pass},
		{"carom", 61.5, 0, machine.Laser, jig.Pass},
		{"snooker", 57.15, 0, machine.Laser, jig.Pass}, // snooker marked on a pool table
		{"snooker", 52.5, 0, machine.Laser, jig.Warn},
		{"snooker", 52.5, 0, machine.Shop, jig.Warn},
		{"snooker", 52.5, 33.5, machine.Laser, jig.Pass},
		{"billiards", 52.5, 0, machine.Laser, jig.Warn},
		{"six-red", 52.5, 0, machine.Laser, jig.Warn},
		{"blackball", 50.8, 0, machine.Laser, jig.Warn},
		{"pyramid", 68, 0, machine.Laser, jig.Warn},
		{"chinese-eight-ball", 57.15, 0, machine.Laser, jig.Warn},
	} {
		t.Run(fmt.Sprintf("%s %g %g %s", c.game, c.ball, c.nose, c.process), func(t *testing.T) {
			r := tableJob(t, played()[c.game][0][0], played()[c.game][0][1], 900, 600, c.game)
			r.BallDiameter, r.Table.NoseHeight, r.Machine.Process = c.ball, c.nose, c.process
			j, err := design(r)
			require.NoError(t, err)
			k := checknamed(t, j, "nose-height")
			assert.Equal(t, c.want, k.Verdict, k.Text)
			assert.Equal(t, c.want == jig.Warn, strings.Contains(k.Text, "measure the nose height"), k.Text)
			if c.game == "snooker" && c.want == jig.Warn {
				assert.Contains(t, k.Text, "measure the nose height (a snooker table")
			}
		})
	}
}
