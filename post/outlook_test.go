package post_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/layout/job"
	"spotjig/post"
)

func TestOutlook(t *testing.T) {
	proven := machine.Setting{Proven: "M. Weaver, 2026-11-18"}
	ready := machine.Material{Measured: true, Cut: proven, Score: proven, Letter: proven}
	unproven := ready
	unproven.Cut = machine.Setting{}
	fin := post.Sheet{Sheet: nest.Sheet{N: 2, Placed: []nest.Placed{{ID: "HE1"}}}}
	plate := post.Sheet{Sheet: nest.Sheet{N: 1, Placed: []nest.Placed{{ID: "H1"}}}}
	second := machine.Material{Measured: true, Ordered: machine.OrderedPlates}
	parts := jig.Jig{Parts: []jig.Part{{ID: "H1"}, {ID: "HE1", Role: jig.EndFin, OnTable: jig.Pose{Upright: true}}}}
	for _, c := range []struct {
		name    string
		set     post.Set
		verdict string
		holds   int
	}{
		{"all proven", post.Set{Material: ready}, "Ready to cut", 0},
		{"a warning holds nothing", post.Set{Material: ready, Checks: []jig.Check{{Verdict: jig.Warn}}}, "Ready to cut, with 1 warning", 0},
		{"a failed check", post.Set{Material: ready, Checks: []jig.Check{{Verdict: jig.Fail}}}, "Not ready to cut", 1},
		{"settings", post.Set{Material: unproven}, "Not ready to cut", 1},
		{"nothing known", post.Set{}, "Not ready to cut", 2},
		{"shop, measured", post.Set{Machine: machine.Profile{Process: machine.Shop}, Material: ready}, "Ready to order", 0},
		{"shop, two steps", post.Set{Machine: machine.Profile{Process: machine.Shop}, Jig: parts, Sheets: []post.Sheet{plate, fin}}, "Ready to order the first step, 1 sheet of 2", 1},
		{"shop, second step", post.Set{Machine: machine.Profile{Process: machine.Shop}, Material: second, Jig: parts, Sheets: []post.Sheet{plate, fin}}, "Ready to order the second step, 1 sheet of 2", 0},
		{"shop, all held", post.Set{Machine: machine.Profile{Process: machine.Shop}, Jig: parts, Sheets: []post.Sheet{fin}}, "Not ready to order", 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := c.set.Outlook()
			assert.Equal(t, c.verdict, o.Verdict)
			assert.Len(t, o.Holds, c.holds)
			assert.NotEmpty(t, o.Next)
		})
	}
}

// A cut so slow that the beam is seconds in one place is said where fire is; no other.
func TestSlowCutsAreCautioned(t *testing.T) {
	laser, slow := machine.Profile{Process: machine.Laser, StillMax: 1}, machine.Material{Kerf: 0.42, Cut: machine.Setting{Feed: 1}}
	words := func(m machine.Material) string { return strings.Join(post.Cautions(laser, m, false), "\n") }
	assert.Contains(t, words(slow), "the beam stays up to 5.9 s in one place")
	slow.Cut.Feed = 12
	assert.NotContains(t, words(slow), "the beam stays")
}

// Whoever cuts takes the kerf from drawings that carry none, and from no others: what is
// said of them must be true of them.
func TestWordsOfDrawingsWithTheKerfTaken(t *testing.T) {
	shop, sheet := machine.Profile{Process: machine.Shop}, machine.Material{Measured: true, Kerf: 0.18}
	nominal := post.Cautions(shop, sheet, false)
	assert.Contains(t, nominal[0], "carry no kerf")
	taken := post.Cautions(shop, sheet, true)
	assert.Equal(t, "These drawings have a kerf of 0.18 mm taken already: the shop cuts on the line, and says so before it cuts with another.", taken[0])
	assert.Equal(t, nominal[1:], taken[1:])
	set := post.Set{Machine: shop, Material: sheet, Job: job.Job{DXF: "compensated"}}
	assert.Equal(t, []string{"send the shop order.pdf and the drawings, sheet-N-compensated.dxf, to be cut on the line"}, set.Outlook().Next)
	set.Job.DXF = "nominal"
	assert.Equal(t, []string{"send the shop order.pdf and the drawings, sheet-N.dxf, at nominal size"}, set.Outlook().Next)
}
