package layout_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
)

// ids lists the ids of a plan's marks in order.
func ids(p layout.Plan) []string {
	var out []string
	for _, m := range p.Marks {
		out = append(out, m.ID)
	}
	return out
}

// mark returns the mark that answers to an id.
func mark(t *testing.T, p layout.Plan, id string) layout.Mark {
	t.Helper()
	for _, m := range p.Marks {
		if m.ID == id {
			return m
		}
		for _, a := range m.Also {
			if a == id {
				return m
			}
		}
	}
	require.Failf(t, "no such mark", "%s in %v", id, ids(p))
	return layout.Mark{}
}

func plan(t *testing.T, r layout.Request) layout.Plan {
	t.Helper()
	p, err := layout.NewPlan(r)
	require.NoError(t, err)
	return p
}

func TestSharedMarksAreOne(t *testing.T) {
	table := layout.Table{L: 2540, W: 1270}
	p := plan(t, layout.Request{Table: table, Games: []string{"pool", "snooker"},
		Choices: layout.Choices{BaulkLine: "head-string"}})
	assert.Equal(t, []string{"head-spot", "centre-spot", "foot-spot", "head-string", "long-string",
		"rack-apex", "rack-left", "rack-right", "d", "yellow", "green", "black"}, ids(p))
	assert.Equal(t, []string{"brown"}, mark(t, p, "head-spot").Also)
	assert.Equal(t, []string{"blue"}, mark(t, p, "centre-spot").Also)
	assert.Equal(t, []string{"pink"}, mark(t, p, "foot-spot").Also)
	assert.Equal(t, []string{"baulk-line"}, mark(t, p, "head-string").Also)
	assert.Equal(t, []string{"pool", "snooker"}, mark(t, p, "head-string").Games)
	assert.Equal(t, "head spot, brown spot", mark(t, p, "head-spot").Name)
}

func TestBothBaulkLines(t *testing.T) {
	p := plan(t, layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"snooker"},
		Choices: layout.Choices{BaulkLine: "both"}})
	assert.Equal(t, []string{"baulk-line", "d", "yellow", "green", "brown", "blue", "pink", "black",
		"baulk-line-2", "d-2", "yellow-2", "green-2", "brown-2"}, ids(p))
	assert.InDelta(t, 2540*29/140.5, mark(t, p, "baulk-line").X, 1e-9)
	assert.InDelta(t, 635, mark(t, p, "baulk-line-2").X, 1e-9)
}
