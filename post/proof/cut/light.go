package cut

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/geom"
	"spotjig/post/proof"
	"spotjig/post/rs274/read"
)

// lightMost is the most power that the first-light test may burn with, of full power.
const lightMost = 0.02

// Light checks the program that is run first on a machine, as read back (id first-light): a
// square of 40 mm with the beam off, one tick of 10 mm at no more than a fiftieth of full
// power, and back to the work zero with the beam off. Nothing else.
func Light(p proof.Program, m machine.Profile) jig.Check {
	c := jig.Check{ID: "first-light", Verdict: jig.Pass, Limit: m.Writing.Digit(), Unit: "mm"}
	want := []struct {
		to    geom.Point
		rapid bool
		beam  bool
	}{
		{to: geom.Point{X: 10, Y: 10}, rapid: true},
		{to: geom.Point{X: 50, Y: 10}}, {to: geom.Point{X: 50, Y: 50}}, {to: geom.Point{X: 10, Y: 50}}, {to: geom.Point{X: 10, Y: 10}},
		{to: geom.Point{X: 20, Y: 20}, rapid: true},
		{to: geom.Point{X: 30, Y: 20}, beam: true},
		{rapid: true},
	}
	if len(p.Moves) != len(want) {
		return proof.Failed(c, fmt.Sprintf("check.nc makes %d moves, not %d", len(p.Moves), len(want)))
	}
	for i, w := range want {
		got := p.Moves[i]
		c.Value = math.Max(c.Value, proof.Dist(got.B, w.to))
		switch {
		case !(proof.Dist(got.B, w.to) <= c.Limit) || got.Rapid != w.rapid || got.Arc:
			return proof.Failed(c, fmt.Sprintf("check.nc, line %d: another move than planned", got.Line))
		case !w.beam && (got.Beam || got.Turn != read.Off):
			return proof.Failed(c, fmt.Sprintf("check.nc, line %d: the beam is on", got.Line))
		case w.beam && (!got.Beam || !(got.S <= lightMost*m.PowerScale)):
			return proof.Failed(c, fmt.Sprintf("check.nc, line %d: the tick is burnt at S%g", got.Line, got.S))
		}
	}
	if !p.Dark {
		return proof.Failed(c, "check.nc: the beam is on at the end")
	}
	c.Text = "check.nc: dark but for one tick at the lowest power"
	return c
}
