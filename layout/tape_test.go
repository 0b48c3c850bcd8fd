package layout_test

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/screen"
)

func TestLengthsForPeople(t *testing.T) {
	for _, c := range []struct {
		mm   float64
		want string
	}{
		{0, "0.0 mm (0 in)"}, {-0.0004, "0.0 mm (0 in)"}, {-0.05, "-0.1 mm (0 in)"}, {736.6, "736.6 mm (29 in)"}, {57.15, "57.2 mm (2 1/4 in)"},
		{12.7, "12.7 mm (1/2 in)"}, {323.85, "323.9 mm (12 3/4 in)"}, {-25.4, "-25.4 mm (-1 in)"},
		{524.2705, "524.3 mm (20 5/8 in)"}, // 20.64057 in is 660.498 32nds
	} {
		assert.Equal(t, c.want, figure.Length(c.mm))
	}
}

func card(t *testing.T, r layout.Request) []layout.TapePlace {
	t.Helper()
	return layout.TapeCard(r, plan(t, r))
}

// Yellow on 100 x 50 in, baulk scaled, D a sixth of the width: 524.2705 from the
// head nose, 635 - 211.6667 = 423.3333 from the right nose. To 1/32 in these are
// 20 5/8 (523.875, 0.3955 less) and 16 21/32 (423.0688, 0.2645 less), which
// move it by 0.4758. The right end of the baulk line was marked before it, and
// lies as far from it as the side nose does.
func TestTapeCard(t *testing.T) {
	c := card(t, layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"snooker"}})
	byID := map[string]layout.TapePlace{}
	for _, p := range c {
		byID[p.ID] = p
	}
	y := byID["yellow"]
	assert.Equal(t, "head nose", y.End)
	assert.InDelta(t, 524.2705, y.EndDist, 1e-4)
	assert.Equal(t, "right nose", y.Side)
	assert.InDelta(t, 423.3333, y.SideDist, 1e-4)
	assert.InDelta(t, 0.4758, y.RoundError, 1e-4)
	assert.Equal(t, "baulk-line@right", y.Check)
	assert.InDelta(t, 423.3333, y.CheckBy, 1e-4)
	assert.Equal(t, "foot nose", byID["black"].End)
	assert.InDelta(t, 2540.0/11, byID["black"].EndDist, 1e-9)
	assert.InDelta(t, 1270.0/6, byID["d"].Radius, 1e-9)
	var order []string
	for _, p := range c {
		order = append(order, p.ID)
	}
	assert.Equal(t, []string{"baulk-line@right", "baulk-line@left", "yellow", "brown", "green", "blue", "pink", "black", "d"}, order)
	assert.Equal(t, "left nose", c[0].Check, "nothing is marked before the first")

	var b bytes.Buffer
	require.NoError(t, layout.WriteTapeCard(&b, c, screen.Look{Columns: 400}))
	assert.Contains(t, b.String(), "524.3 mm (20 5/8 in) head nose")
	assert.Contains(t, b.String(), "at the right nose")
	assert.NotContains(t, b.String(), " \n")
}

// Every check names a place already on the cloth or a nose, is far enough away,
// and is what the two places' own distances make it.
func TestTapeCardChecksAreSound(t *testing.T) {
	for _, g := range layout.Games() {
		r := layout.Request{Table: layout.Table{L: 2840, W: 1420}, Games: []string{g.ID}, Choices: layout.Choices{Rack: "outline"}}
		at := func(p layout.TapePlace) (x, y float64) {
			x, y = p.EndDist, p.SideDist-710
			if p.End == "foot nose" {
				x = 2840 - x
			}
			if p.Side == "left nose" {
				y = -y
			}
			return x, y
		}
		seen := map[string]layout.TapePlace{}
		for i, p := range card(t, r) {
			if q, ok := seen[p.Check]; ok {
				x1, y1 := at(p)
				x2, y2 := at(q)
				assert.InDelta(t, math.Hypot(x1-x2, y1-y2), p.CheckBy, 1e-6, p.ID)
				assert.GreaterOrEqual(t, p.CheckBy, 150.0, p.ID)
			} else {
				assert.True(t, strings.HasSuffix(p.Check, " nose"), "%s checked by %s", p.ID, p.Check)
				assert.Zero(t, i, "only the first has nothing before it: %s of %s", p.ID, g.ID)
			}
			// Half of 1/32 in is 0.397 mm; two of them at right angles 0.5613.
			assert.LessOrEqual(t, p.RoundError, 0.5613)
			seen[p.ID] = p
		}
	}
}

func TestMarksForPeopleAndPrograms(t *testing.T) {
	r := layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"pool", "snooker", "six-red"},
		Choices: layout.Choices{Rack: "outline", BaulkLine: "head-string"}}
	p := plan(t, r)
	var text, doc bytes.Buffer
	require.NoError(t, layout.WriteMarks(&text, p, screen.Look{Columns: 400}))
	assert.Contains(t, text.String(), "head string, baulk line, pool and snooker and six-red: a quarter")
	assert.Contains(t, text.String(), "choice baulk_line: head-string")
	assert.Contains(t, text.String(), "recommended is scaled")
	require.NoError(t, layout.WriteMarksJSON(&doc, p, layout.TapeCard(r, p)))
	var got struct {
		Marks []struct {
			ID     string
			Also   []string
			X, X2  *float64
			Radius *float64
			Points [][2]float64
		}
		TapeCard []struct {
			ID  string
			End float64 `json:"end_mm"`
		} `json:"tape_card"`
		Notes []struct{ Choice, Recommend string }
	}
	require.NoError(t, json.Unmarshal(doc.Bytes(), &got))
	require.Equal(t, "head-spot", got.Marks[0].ID)
	assert.Equal(t, []string{"brown"}, got.Marks[0].Also)
	assert.InDelta(t, 635, *got.Marks[0].X, 1e-9)
	assert.Nil(t, got.Marks[0].X2)
	assert.Len(t, got.Marks[5].Points, 3)
	assert.NotEmpty(t, got.TapeCard)
	assert.Equal(t, "baulk_line", got.Notes[0].Choice)

	// The same plan is the same bytes.
	var again bytes.Buffer
	require.NoError(t, layout.WriteMarksJSON(&again, plan(t, r), layout.TapeCard(r, plan(t, r))))
	assert.Equal(t, doc.String(), again.String())
}
