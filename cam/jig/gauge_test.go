package jig_test

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
)

// pairing is both templates of one jig on one table, with a gauge between them: laid as
// in montecarlo_test.go, a thread over both inner edges, a tape from each to the gauge.
type pairing struct {
	k     [2]*bench
	z     [2]*draws
	inner [2]int // pieces
	reach [2]float64
	own   struct{ readH, readF, thread, sight, marker float64 }
}

func newPairing(t *testing.T, r jig.Request, j jig.Jig) *pairing {
	t.Helper()
	require.NotNil(t, j.Gauge)
	p := pairing{reach: j.Gauge.Reach}
	for i, end := range []string{"head", "foot"} {
		p.k[i] = newBench(t, r, j, end)
		p.z[i] = p.k[i].none()
		p.inner[i] = -1
		for n, b := range p.k[i].pieces {
			if b.id == j.Gauge.Pieces[i] {
				p.inner[i] = n
			}
		}
		require.GreaterOrEqual(t, p.inner[i], 0)
	}
	return &p
}

// alike carries over what both templates share: one sheet, one machine, one tape, and
// the noses: what is on the one's right is on the other's left.
func (p *pairing) alike() {
	h, f := p.z[0], p.z[1]
	f.tape, f.kerf, f.warm, f.damp, f.scale, f.left, f.skew = h.tape, h.kerf, h.warm, h.damp, h.scale, h.left, h.skew
	f.bow = [4]float64{h.bow[1], h.bow[0], h.bow[3], h.bow[2]}
	if p.k[0].sides[0].s == p.k[1].sides[0].s*-1 {
		f.bow[2], f.bow[3] = h.bow[2], h.bow[3]
	}
}

// each visits every draw, those of the gauge's own last.
func (p *pairing) each(f func(*float64)) {
	for _, z := range p.z {
		z.each(f)
	}
	for _, v := range []*float64{&p.own.readH, &p.own.readF, &p.own.thread, &p.own.sight, &p.own.marker} {
		f(v)
	}
}

// off is how far the gauge's hole, and the marker in it, is from the true middle.
func (p *pairing) off(towards float64) geom.Vec {
	p.alike()
	r, b := p.k[0].r, p.k[0].b
	l := r.Table.L + p.k[0].longer(p.z[0])
	var edge [2]geom.Point
	for i, k := range p.k {
		bodies := k.assemble(p.z[i])
		on := &bodies[p.inner[i]]
		out := geom.Point{X: k.pieces[p.inner[i]].box.Max.X}
		at := k.lay(p.z[i], bodies).at(on.at(out))
		if i == 1 {
			at = geom.Point{X: l - at.X, Y: -at.Y}
		}
		edge[i] = at
	}
	along := edge[1].Sub(edge[0])
	// Both readings over the plan by the same: the middle of what is left over.
	const readPM, threadPM, sightPM = 0.5, 0.2, 0.2 // shares of the tape's reading; mm
	s := (along.Len() + p.reach[0] - p.reach[1] + (p.own.readH-p.own.readF)*readPM*b.tape) / 2
	u := along.Unit()
	at := edge[0].Add(u.Scale(s)).Add(u.Left().Scale(p.own.thread*threadPM + p.own.sight*sightPM))
	slot := 2.8 + 0.3
	play := math.Max(0, (slot-r.Want.MarkerGuide)/2-p.k[0].edge(p.z[0]))
	lean := math.Min(math.Atan2(2*play, r.Material.Thickness), b.slantDeg*math.Pi/180)
	by := p.own.marker * (play + b.nap*math.Tan(lean))
	sin, cos := math.Sincos(2 * math.Pi * towards)
	return at.Sub(geom.Point{X: l / 2}).Add(geom.Vec{X: by * cos, Y: by * sin})
}

// gaugeJobs are the jobs of the spread whose middle spot is set by gauge.
func gaugeJobs(t *testing.T) map[string]jig.Request {
	return map[string]jig.Request{
		"9 ft pool and snooker, 600 x 400": spreadJob(t, 2541, 1269.5, 600, 400, "pool", "snooker"),
		"full-size snooker, 900 x 600":     spreadJob(t, 3569, 1778, 900, 600, "snooker"),
		"6 ft blackball, 600 x 400":        spreadJob(t, 1828.8, 914.4, 600, 400, "snooker", "blackball"),
	}
}

// Thread and gauge against imperfect jigs and tables: 19 of 20 within what is stated as
// likely, to a fifth; the worst never past what is stated, and not far below it.
func TestGaugeMatchesTheSpread(t *testing.T) {
	for name, r := range gaugeJobs(t) {
		t.Run(name, func(t *testing.T) {
			j, err := design(r)
			require.NoError(t, err)
			b := budgetOf(t, j, j.Gauge.Mark)
			assert.Equal(t, jig.ByGauge, b.Method)
			p := newPairing(t, r, j)
			assert.InDelta(t, 0, p.off(0).Len(), 1e-9, "without any error it is true")

			rnd := rand.New(rand.NewSource(20261126))
			var far []float64
			most := 0.0
			for n := range 3000 {
				p.each(func(v *float64) { *v = 2*rnd.Float64() - 1 })
				far = append(far, p.off(rnd.Float64()).Len())
				if n%3 == 0 {
					p.each(func(v *float64) { *v = math.Copysign(1, rnd.NormFloat64()) })
					most = math.Max(most, p.off(rnd.Float64()).Len())
				}
			}
			got := shareOf(far, 0.95)
			most = math.Max(most, p.worst())
			t.Logf("19 of 20 within %.3f, stated %.3f; worst found %.3f, stated %.3f", got, b.RSS, most, b.Worst)
			assert.InEpsilon(t, got, b.RSS, 0.2)
			assert.LessOrEqual(t, most, b.Worst+0.002)
			assert.Greater(t, most, 0.75*b.Worst)
		})
	}
}

// worst searches the corners of all spreads: in sixteen directions, each error to the
// side that hurts.
func (p *pairing) worst() float64 {
	var all []*float64
	p.each(func(v *float64) { all = append(all, v) })
	for i := range p.z {
		*p.z[i] = *p.k[i].none()
	}
	most := 0.0
	all = nil
	p.each(func(v *float64) { all = append(all, v) })
	for d := range 16 {
		towards := float64(d) / 16
		sin, cos := math.Sincos(2 * math.Pi * towards)
		dir := geom.Vec{X: cos, Y: sin}
		sign := make([]float64, len(all))
		for i, v := range all {
			was := *v
			*v = 1
			plus := p.off(towards)
			*v = -1
			minus := p.off(towards)
			*v = was
			sign[i] = math.Copysign(1, plus.Add(minus.Scale(-1)).Dot(dir))
		}
		for i, v := range all {
			*v = sign[i]
		}
		most = math.Max(most, p.off(towards).Len())
	}
	return most
}

// A spot that leaves no room for the gauge, and a blade's thin sheet, keep the middle on
// a template.
func TestGaugeNeedsRoom(t *testing.T) {
	r := spreadJob(t, 2541, 1269.5, 600, 400, "pool", "snooker")
	j, err := design(r)
	require.NoError(t, err)
	require.NotNil(t, j.Gauge)
	assert.GreaterOrEqual(t, math.Min(j.Gauge.Reach[0], j.Gauge.Reach[1]), 60.0)
	for _, b := range j.Budgets {
		assert.NotContains(t, b.Mark, "reversal")
	}

	r = withoutRoom(r)
	j, err = design(r)
	require.NoError(t, err)
	assert.Nil(t, j.Gauge)
	assert.Equal(t, jig.ByTemplate, budgetOf(t, j, "centre-spot").Method)
}

// withoutRoom puts a spot of the house where a gauge would lie.
func withoutRoom(r jig.Request) jig.Request {
	r.Marks = append(r.Marks, layout.Mark{ID: "near", Name: "near", Kind: layout.Spot, X: r.Table.L/2 - 120})
	return r
}
