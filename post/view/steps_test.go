package view_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// A spot that is set by thread and gauge has a step of its own, before the templates are
// taken up, and is named by no template's.
func TestGaugeHasItsStep(t *testing.T) {
	set := demoSet()
	spot := set.Marks[0]
	for i, p := range set.Jig.Parts {
		for k, o := range p.Openings {
			if o.Mark == spot.ID {
				set.Jig.Parts[i].Openings[k].Mark = ""
			}
		}
	}
	gauge := jig.Part{ID: "FG1", Template: "foot", Role: jig.GaugePlate, Scale: 1, Outline: plate(60, 40, false),
		Openings: []jig.Opening{{Mark: spot.ID, Kind: jig.OpenSpot, Figure: geom.Dot(geom.Point{X: 30, Y: 20}), Width: 3}}}
	set.Jig.Parts = append(set.Jig.Parts, gauge)
	set.Jig.Gauges = []jig.Gauge{{Part: gauge.ID, Mark: spot.ID}}
	got := string(page(t, set))
	step := strings.Index(got, "<h3>Mark the "+spot.Name+" by thread and gauge</h3>")
	assert.Greater(t, step, 0)
	assert.Greater(t, strings.Index(got, "<h3>Take it up</h3>"), step)
	for _, text := range strings.Split(got, "with the dash: ")[1:] {
		served, _, _ := strings.Cut(text, ".</p>")
		assert.NotContains(t, strings.Split(served, "; "), spot.Name)
	}
}
