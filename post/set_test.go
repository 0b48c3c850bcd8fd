package post_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/post"
)

// A spot that is set by thread and gauge is no template's, whichever the gauge goes with.
func TestServedLeavesTheGaugeOut(t *testing.T) {
	open := func(marks ...string) (out []jig.Opening) {
		for _, m := range marks {
			out = append(out, jig.Opening{Mark: m})
		}
		return out
	}
	set := post.Set{
		Marks: []layout.Mark{{ID: "yellow"}, {ID: "centre-spot"}, {ID: "black"}, {ID: "pink"}},
		Jig: jig.Jig{Parts: []jig.Part{
			{ID: "H1", Template: "head", Openings: open("yellow")},
			{ID: "F1", Template: "foot", Openings: []jig.Opening{{Mark: "black", Far: "pink"}}},
			{ID: "FG1", Template: "foot", Role: jig.GaugePlate, Openings: open("centre-spot")},
		}},
	}
	ids := func(templates ...string) (out []string) {
		for _, m := range set.Served(templates...) {
			out = append(out, m.ID)
		}
		return out
	}
	assert.Equal(t, []string{"head", "foot"}, set.Templates())
	assert.Equal(t, []string{"yellow"}, ids("head"))
	assert.Equal(t, []string{"black", "pink"}, ids("foot"))
	assert.Equal(t, []string{"yellow", "black", "pink"}, ids("head", "foot"))
}
