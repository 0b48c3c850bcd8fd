package jig_test

import (
	"math"
	"math/rand"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
)

// sharesOf are by how much of a difference of length the published rules move marks from
// their own end nose: head string and foot spot with its rack stand at a quarter of the
// length (WPA rules 8.1), the black at an eleventh (B&SCC rules, section 1), the baulk line
// at 29 in 140 1/2 (Official Rules of Snooker, section 1, scaled: common practice); a line
// along the table does not care.
var sharesOf = map[string]float64{
	"head-string": 0.25, "head-spot": 0.25, "foot-spot": 0.25, "rack-apex": 0.25, "rack-left": 0.25, "rack-right": 0.25,
	"black": 1. / 11, "baulk-line": 29 / 140.5, "d": 29 / 140.5, "yellow": 29 / 140.5, "green": 29 / 140.5, "brown": 29 / 140.5,
}

func setJob(t testing.TB) jig.Request {
	r := spreadJob(t.(*testing.T), 2541, 1269.5, 600, 400, "pool", "snooker")
	span := classJob(t, 2541, 1269.5, 600, 400, layout.Choices{BaulkLine: "scaled", D: "width/6", Black: "length/11", Rack: "corners", MinApart: 8}, "pool", "snooker")
	r.Marks, r.AlikeFrom, r.AlikeTo = span.Marks, span.AlikeFrom, span.AlikeTo
	r.Want.Settings = true
	return r
}

// One class jig on tables of every length that it serves, each template set by the table of
// leaves and laid with every error inside its bounds, and with all of them to the side that
// hurts: each mark within its stated worst case, and 19 of 20 within what is likely, the
// length anywhere in the range.
func TestSettingsServeTheirRange(t *testing.T) {
	r := setJob(t)
	j, err := design(r)
	require.NoError(t, err)
	require.Greater(t, j.LengthMax-j.LengthMin, 15.0)
	require.Greater(t, len(j.Settings), 2, "L/4 and L/11 cannot share a setting")
	rnd := rand.New(rand.NewSource(20261127))
	for _, end := range []string{"head", "foot"} {
		k := newBench(t, r, j, end)
		k.share = sharesOf
		all := k.places
		for _, s := range j.Settings {
			if s.Template != end {
				continue
			}
			k.places = slices.DeleteFunc(slices.Clone(all), func(m place) bool { return !slices.Contains(s.Marks, m.mark) })
			require.NotEmpty(t, k.places)
			worst, far, within := map[string]float64{}, make([][]float64, len(k.places)), map[string]float64{}
			for i, row := range s.Rows {
				k.shift = row.Shift()
				for _, l := range []float64{row.From, row.To} {
					k.longBy = l - r.Table.L
					for _, m := range k.places {
						z := k.none()
						bodies := k.assemble(z)
						assert.LessOrEqual(t, k.off(z, bodies, k.lay(z, bodies), m).Len(), row.Left+1e-6, "%s at %.1f: what the row tells", m.mark, l)
					}
					z := k.none()
					for range 100 {
						z.towards = rnd.Float64()
						z.each(func(v *float64) { *v = math.Copysign(1, rnd.NormFloat64()) })
						k.note(worst, z)
					}
				}
				if i == 0 || i == len(s.Rows)-1 {
					k.search(worst)
				}
			}
			z := k.none()
			for range 1500 {
				at := j.LengthMin + rnd.Float64()*(j.LengthMax-j.LengthMin)
				row := s.Rows[0]
				for _, o := range s.Rows {
					if at >= o.From {
						row = o
					}
				}
				k.longBy, k.shift = at-r.Table.L, row.Shift()
				z.towards = rnd.Float64()
				z.each(func(v *float64) { *v = 2*rnd.Float64() - 1 })
				for i, v := range k.all(z) {
					far[i] = append(far[i], v.Len())
				}
			}
			for i, m := range k.places {
				within[m.mark] = math.Max(within[m.mark], shareOf(far[i], 0.95))
			}
			for id, most := range worst {
				b := budgetOf(t, j, id)
				got := within[id]
				t.Logf("%-12s worst found %.3f, stated %.3f; 19 of 20 within %.3f, stated %.3f", id, most, b.Worst, got, b.Likely)
				assert.LessOrEqual(t, most, 1.005*b.Worst+0.002, id)
				assert.LessOrEqual(t, got, 1.2*b.Likely, id)
			}
		}
	}
}

// Where every rule is a figure there is one setting, and three leaves for every length:
// 3569 +-13 mm (Official Rules of Snooker, section 1).
func TestFiguresNeedNoOtherSetting(t *testing.T) {
	r := classJob(t, 3569, 1778, 1300, 900, layout.Choices{}, "snooker")
	r.Want.Settings = true
	j, err := design(r)
	require.NoError(t, err)
	assert.InDelta(t, 3556, j.LengthMin, 1e-6)
	assert.InDelta(t, 3582, j.LengthMax, 1e-6)
	for _, s := range j.Settings {
		require.Len(t, s.Rows, 1)
		assert.Equal(t, jig.LeavesEach, s.Rows[0].Leaves)
		assert.InDelta(t, 0, s.Rows[0].Left, 1e-9)
	}
}

// WPA's whole tolerance, 2540 +-3.2 mm (WPA equipment specifications, 1/8 in), is inside the
// range with no mark further from its rule than the settings' step allows.
func TestSettingsServeAPublishedTolerance(t *testing.T) {
	r := classJob(t, 2540, 1270, 600, 400, layout.Choices{}, "pool")
	r.Want.Settings = true
	j, err := design(r)
	require.NoError(t, err)
	assert.LessOrEqual(t, j.LengthMin, 2536.8)
	assert.GreaterOrEqual(t, j.LengthMax, 2543.2)
	for _, s := range j.Settings {
		for _, row := range s.Rows {
			if row.From >= 2536.8 && row.To <= 2543.2 {
				assert.LessOrEqual(t, row.Left, jig.LeafThick/2+1e-6)
			}
		}
	}
}

// A jig for one table, and one that asks for no settings, has no shoes; thin sheet is refused.
func TestShoesWhereTheyAreAskedFor(t *testing.T) {
	shoes := func(r jig.Request) int {
		j, err := design(r)
		require.NoError(t, err)
		n := 0
		for _, p := range j.Parts {
			if p.Role == jig.NoseShoe {
				n++
			}
		}
		return n
	}
	r := classJob(t, 2540, 1270, 600, 400, layout.Choices{}, "pool")
	assert.Zero(t, shoes(r))
	r.Want.Settings = true
	assert.Equal(t, 4, shoes(r))
	r.Want.For = "this"
	assert.Zero(t, shoes(r))
	r.Want.For, r.Material.Thickness = "class", 3
	_, err := design(r)
	assert.ErrorContains(t, err, "too thin")
	r.Material.Thickness, r.Table.NoseHeight = 8, 20
	_, err = design(r)
	assert.ErrorContains(t, err, "too low")
}

// A shoe is a plate 15 to 20 mm wide that stands from below to above every nose, and the
// nose pushes it home: seen from its fin its front lies foremost.
func TestShoeStandsBeforeItsFin(t *testing.T) {
	for _, c := range [][2]float64{{3.95, 0}, {4.85, 0}, {5.9, 0}, {7.8, 0}, {4.85, 28}, {4.85, 33}, {5.9, 45}} {
		thick := c[0]
		r := classJob(t, 2540, 1270, 900, 600, layout.Choices{}, "pool")
		r.Want.Settings, r.Material.Thickness, r.Table.NoseHeight = true, thick, c[1]
		j, err := design(r)
		require.NoError(t, err)
		assert.Equal(t, jig.Pass, checkOf(t, j, "strokes").Verdict, c)
		assert.Equal(t, jig.Pass, checkOf(t, j, "inside-corner").Verdict, c)
		for _, p := range j.Parts {
			if p.Role != jig.NoseShoe {
				continue
			}
			b := p.Outline.Bounds()
			assert.GreaterOrEqual(t, b.Width(), 15.0)
			assert.LessOrEqual(t, b.Width(), 20.0)
			assert.Less(t, p.OnTable.Z, 10.0)
			assert.Greater(t, p.OnTable.Z+b.Height(), math.Max(c[1], 28)+10)
			middle := p.OnTable.Plan().Apply(geom.Point{X: b.Width() / 2})
			nose := thick / 2
			if p.Template == "foot" {
				nose = r.Table.L - thick/2
			}
			assert.InDelta(t, nose, middle.X, 1e-9, p.ID)
		}
	}
}
