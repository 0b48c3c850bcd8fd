package jig_test

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// keyedJoint is a joint's three parts on the table, and the way its key is pushed home:
// along the longer of its straight sides, towards its narrower end.
type keyedJoint struct {
	name              string
	tail, socket, key geom.Contour
	way               geom.Vec
	flank             geom.Segment // of the key, on the tail
}

func keyedJoints(t *testing.T, j jig.Jig) []keyedJoint {
	var out []keyedJoint
	for _, s := range j.Joints {
		k := keyedJoint{name: s.Tail + "-" + s.Socket}
		at := func(id string) geom.Contour {
			p := part(t, j, id)
			return p.Outline.Transform(p.OnTable.Plan())
		}
		k.tail, k.socket, k.key = at(s.Tail), at(s.Socket), at(s.Part)
		var sides []geom.Segment
		for _, e := range k.key.Segments() {
			if e.Bulge == 0 && e.Length() > 20 {
				sides = append(sides, e)
			}
		}
		require.Len(t, sides, 2, k.name)
		if off(k.tail, sides[0].At(0.5)) > 1e-3 {
			sides[0], sides[1] = sides[1], sides[0]
		}
		k.flank, k.way = sides[0], sides[0].To.Sub(sides[0].From).Unit()
		if off(geom.MustOpen(geom.Vertex{At: sides[1].From}, geom.Vertex{At: sides[1].To}), sides[0].From) <
			off(geom.MustOpen(geom.Vertex{At: sides[1].From}, geom.Vertex{At: sides[1].To}), sides[0].To) {
			k.way = k.way.Scale(-1)
		}
		out = append(out, k)
	}
	return out
}

// What keyed joints are said to bring is what they bring, mark by mark, and they are not
// offered where a job has them.
func TestKeyedJointsBringWhatIsSaid(t *testing.T) {
	said := regexp.MustCompile(`([0-9.]+) mm by keyed joints \(jig\.joint: keyed\)`)
	r := tableJob(t, 3569, 1778, 300, 200, "pool")
	r.Material.KerfPM, r.Table.Squared, r.Table.TapePM, r.Want.NosePM = 0.02, true, 0.25, 0.1 // joints are then much of it
	plain, err := design(r)
	require.NoError(t, err)
	with, err := design(keyedJob(r))
	require.NoError(t, err)
	n := 0
	for _, b := range plain.Budgets {
		if m := said.FindStringSubmatch(b.Improve); m != nil {
			n++
			by, err := strconv.ParseFloat(m[1], 64)
			require.NoError(t, err)
			assert.InDelta(t, b.Likely-budgetOf(t, with, b.Mark).Likely, by, 0.051, b.Mark)
		}
	}
	assert.Positive(t, n, "nothing offers them")
	for _, b := range with.Budgets {
		assert.NotRegexp(t, said, b.Improve)
	}
}

func off(c geom.Contour, p geom.Point) float64 { _, d := c.Nearest(p); return d }

// deepest is how far the key, pushed by so much beyond home, lies in either piece.
func (k keyedJoint) deepest(by float64) (in float64) {
	for _, s := range k.key.Segments() {
		for i := range 32 {
			p := s.At(float64(i) / 32).Add(k.way.Scale(by))
			for _, c := range []geom.Contour{k.tail, k.socket} {
				if c.Contains(p) {
					in = math.Max(in, off(c, p))
				}
			}
		}
	}
	return in
}

// TestKeysShutTheirJoints moves every key of several jigs by itself, on the outlines as
// they lie on the table.
func TestKeysShutTheirJoints(t *testing.T) {
	for i, size := range [][2]float64{{2336.8, 1168.4}, {2540, 1270}, {3569, 1778}} {
		for k, thick := range []float64{2.9, 4.85, 8} {
			if testing.Short() && i != k {
				continue // each size and each sheet once
			}
			r := tableJob(t, size[0], size[1], 600, 400, "pool", "snooker")
			r.Want.Joint, r.Material.Thickness = "keyed", thick
			name := fmt.Sprintf("%.0f mm, %g mm sheet", size[0], thick)
			j, err := design(r)
			require.NoError(t, err, name)
			all := keyedJoints(t, j)
			require.NotEmpty(t, all)
			for _, k := range all {
				what := name + " " + k.name
				home := k.deepest(0)
				assert.LessOrEqual(t, home, 1e-3, "%s: at home in nobody's material", what)
				dropped := k.deepest(-8)
				assert.LessOrEqual(t, dropped, 1e-3, "%s: drops in 8 mm back", what)
				// 1:15 over 8 mm leaves 0.53 mm beside it: two cut edges on either side,
				// each off by a tenth, still let it in, and it still goes home.
				assert.InDelta(t, 8.0/15, gapBeside(k, -8), 0.01, "%s: play where it is dropped in", what)
				further := k.deepest(1)
				assert.InDelta(t, 1.0/15, further, 0.01, "%s: wedged when pushed on", what)
				// Square to the flank the key pushes into the socket and onto the locating
				// flank by 45 degrees, whatever stands where.
				pull := pullOf(k)
				assert.InDelta(t, 1/math.Sqrt2, pull, 1e-6, "%s: share of the drive that shuts", what)
			}
			// The two forces that answer the drive D with friction mu at both faces: shoulders
			// N = D/sqrt2 - mu F, flank F = D/sqrt2 - mu N, so that both are D/sqrt2/(1 + mu):
			// never nothing, whatever acrylic rubs at. 15 N of thumb drive
			// 15/(tan rho + tan(rho + 3.8 degrees)), about 22 N at mu 0.3 (a wedge, elementary statics).
			rho := math.Atan(0.3)
			assert.InDelta(t, 22, 15/(math.Tan(rho)+math.Tan(rho+math.Atan(1.0/15))), 0.5)
		}
	}
}

// gapBeside is the play square to the flank between the key, moved along its way, and
// the socket's wall.
func gapBeside(k keyedJoint, by float64) float64 {
	least := math.Inf(1)
	for _, s := range k.key.Segments() {
		if s.Bulge != 0 || s.Length() < 20 || s == k.flank {
			continue
		}
		for i := range 64 {
			least = math.Min(least, off(k.socket, s.At(float64(i)/64).Add(k.way.Scale(by))))
		}
	}
	return least
}

// pullOf is the share of the key's push on the tail that goes square to the seam, into
// the socket: the key's side stands 45 degrees to the seam, which runs along or across.
func pullOf(k keyedJoint) float64 {
	v := k.flank.To.Sub(k.flank.From).Unit().Left()
	return math.Min(math.Abs(v.X), math.Abs(v.Y))
}

// TestKeyedJointsTakeNoMoreThanDovetails compares the budgets.
func TestKeyedJointsTakeNoMoreThanDovetails(t *testing.T) {
	r := spreadJob(t, 2541, 1269.5, 600, 400, "pool", "snooker")
	plain, err := design(r)
	require.NoError(t, err)
	r.Want.Joint = "keyed"
	keyed, err := design(r)
	require.NoError(t, err)
	joints := func(j jig.Jig, mark string) float64 {
		for _, x := range budgetOf(t, j, mark).Terms {
			if x.Name == "joints" {
				return x.Worst
			}
		}
		return 0
	}
	for _, mark := range []string{"yellow", "green", "black"} {
		assert.Less(t, joints(keyed, mark), joints(plain, mark), mark)
		assert.Positive(t, joints(keyed, mark), mark)
	}
}

// TestKeyedNeckBears: at a hard 60 N the neck bears less than 10 N/mm2: 31 mm of it do in
// 3 mm sheet and more, thinner sheet has a wider one, drawn for a shop's as thin as it may
// arrive.
func TestKeyedNeckBears(t *testing.T) {
	for _, tc := range []struct{ thick, sold, neck float64 }{{2.2, 0, 39}, {3, 0, 31}, {4.85, 0, 31}, {3, 3, 36}, {2.4, 3, 36}} {
		r := tableJob(t, 2540, 1270, 600, 400, "pool")
		r.Want.Joint, r.Material.Thickness = "keyed", tc.thick
		if tc.sold > 0 {
			r.Machine.Process, r.Material.Sold = machine.Shop, tc.sold
		}
		j, err := design(r)
		require.NoError(t, err)
		found := false
		for _, c := range j.Checks {
			if c.ID != "key-neck" {
				continue
			}
			found = true
			assert.Equal(t, jig.Pass, c.Verdict, "%g mm: %.2f", tc.thick, c.Value)
			// By hand: drive 60/(0.3 + tan 20.5) = 89.0 N, half of it each way 62.9 N; with a
			// neck of n the section is n/sqrt 2 high about (n/4, -n/4): 62.9 (n + 22) from the
			// key's middle at (n + 11, 11), less 62.9 (11.5 + n/4) from the locating flank; for
			// 31 mm 2.12 N m over 21.9 mm.
			n, high := tc.neck, tc.neck/math.Sqrt2
			m := 62.9*(n+22) - 62.9*(11.5+n/4)
			assert.InDelta(t, m/(tc.thick*high*high/6)+44.5/(tc.thick*high), c.Value, 0.1, "%g mm", tc.thick)
		}
		assert.True(t, found)
	}
}
