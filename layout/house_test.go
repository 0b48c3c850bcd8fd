package layout_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/problem"
)

// at places one house spot on a 2000 x 1000 mm table by its x.
func at(x string) (float64, error) {
	p, err := layout.NewPlan(layout.Request{Table: layout.Table{L: 2000, W: 1000},
		House: []layout.HouseMark{{ID: "s", Kind: "spot", X: x, Y: "0"}}})
	if err != nil {
		return 0, err
	}
	return p.Marks[0].X, nil
}

func TestHouseExpressions(t *testing.T) {
	for _, c := range []struct {
		in   string
		want float64
	}{
		{"L/4", 500}, {"W/6 + 10 mm", 1000.0/6 + 10}, {"L - 3*W/4", 1250}, {"(L + W)/3", 1000},
		{"120", 120}, {"12 cm", 120}, {"0.5 m", 500}, {"10 in", 254}, {`10"`, 254}, {"2 ft", 609.6},
		{"46 1/2 in", 46.5 * 25.4}, {"1 ft + 4 in", 16 * 25.4}, {"1 ft 4 in", 16 * 25.4}, {`1' 4 1/2"`, 16.5 * 25.4},
		{"L/4 + 10", 510}, {"10 + L/4", 510}, {"L/(2*2)", 500}, {"--100", 100}, {"l/4", 500},
		{"L*29/140.5", 2000 * 29 / 140.5}, {"L*W/W", 2000}, {"100 * 2", 200},
	} {
		got, err := at(c.in)
		require.NoError(t, err, c.in)
		assert.InDelta(t, c.want, got, 1e-9, c.in)
	}
}

func TestBadExpressionsAreLocated(t *testing.T) {
	for _, c := range []struct {
		in, code string
		col      int
		msg      string
	}{
		{"", "S021", 1, "ends where a length is expected"},
		{"L/", "S021", 3, "ends where a length is expected"},
		{"L/4 + ", "S021", 7, "ends where a length is expected"},
		{"(L/4", "S021", 5, "not closed"},
		{"L/4)", "S021", 4, `")" is not expected`},
		{"L/0", "S023", 3, "division by 0"},
		{"L*W", "S022", 1, "an area, not a length"},
		{"L + L*W", "S022", 3, "a length and an area do not add"},
		{"H/4", "S024", 1, `unknown name "H"`},
		{"L/4 + 10 yd", "S024", 10, `unknown unit "yd"`},
		{"2 L", "S021", 3, "a number stands beside L"},
		{"1.2.3", "S021", 1, "not written plainly"},
		{"4 5", "S021", 4, "side by side"},
		{"4 1/0 in", "S023", 6, "above 0 under its line"},
		{"L ^ 2", "S021", 3, `"^" is not expected`},
		{strings.Repeat("(", 21) + "L", "S020", 21, "nest deeper than 20"},
		{strings.Repeat(" ", 200) + "L", "S020", 1, "at most 200"},
		{"L*10", "S029", 0, "gives 20000 mm"},
		{"L/(L-L)", "S029", 0, "gives"},
	} {
		_, err := at(c.in)
		found := problem.From(err)
		require.Len(t, found, 1, c.in)
		assert.Equal(t, c.code, found[0].Code, c.in)
		assert.Equal(t, "house[0].x", found[0].Field, c.in)
		assert.Equal(t, c.col, found[0].Col, c.in)
		assert.Contains(t, found[0].Msg, c.msg, c.in)
		assert.NotEmpty(t, found[0].Help, c.in)
	}
	_, err := at(strings.Repeat("(", 20) + "L/2" + strings.Repeat(")", 20))
	assert.Error(t, err, "the number inside is one deeper")
	_, err = at(strings.Repeat("(", 19) + "L/2" + strings.Repeat(")", 19))
	assert.NoError(t, err, "at the limit")
	_, err = at(strings.Repeat(" ", 199) + "L")
	assert.NoError(t, err, "at the limit")
}

func TestHouseKinds(t *testing.T) {
	p := plan(t, layout.Request{Table: layout.Table{L: 2000, W: 1000}, House: []layout.HouseMark{
		{ID: "serve", Name: "serving line", Kind: "line", X: "L/3", Y: "-W/2", X2: "L/3", Y2: "W/2"},
		{ID: "half", Kind: "arc", X: "L/2", Y: "0", Radius: "W/8", Start: -90 * geom.Degree, End: 90 * geom.Degree},
		{ID: "box", Kind: "rectangle", X: "L - 100", Y: "50", X2: "L - 300", Y2: "-50"},
	}})
	assert.Equal(t, []string{"serve", "half", "box"}, ids(p))
	assert.Equal(t, "x = L/3, y = -W/2 to x = L/3, y = W/2", p.Marks[0].Rule)
	assert.Equal(t, "house mark", p.Marks[0].Source)
	assert.InDelta(t, 125, p.Marks[1].Radius, 1e-9)
	// Counter-clockwise from the lower left, whichever corners were given.
	assert.Equal(t, [][2]float64{{1700, -50}, {1900, -50}, {1900, 50}, {1700, 50}}, p.Marks[2].Points)
	assert.Equal(t, layout.Outline, p.Marks[2].Kind)
}

func TestBadHouseMarks(t *testing.T) {
	spot := layout.HouseMark{ID: "a", Kind: "spot", X: "L/2", Y: "0"}
	for _, c := range []struct {
		name        string
		marks       []layout.HouseMark
		code, field string
	}{
		{"no id", []layout.HouseMark{{Kind: "spot", X: "1", Y: "0"}}, "S026", "house[0].id"},
		{"bad id", []layout.HouseMark{{ID: "a b", Kind: "spot", X: "1", Y: "0"}}, "S026", "house[0].id"},
		{"long id", []layout.HouseMark{{ID: strings.Repeat("a", 32), Kind: "spot", X: "1", Y: "0"}}, "S026", "house[0].id"},
		{"twice", []layout.HouseMark{spot, spot}, "S026", "house[1].id"},
		{"kind", []layout.HouseMark{{ID: "a", Kind: "circle", X: "1", Y: "0"}}, "S027", "house[0].kind"},
		{"sweep", []layout.HouseMark{{ID: "a", Kind: "arc", X: "1", Y: "0", Radius: "10", Start: 90 * geom.Degree, End: 90 * geom.Degree}}, "S028", "house[0].end_deg"},
		{"radius", []layout.HouseMark{{ID: "a", Kind: "arc", X: "1", Y: "0", Radius: "1.9", End: 90 * geom.Degree}}, "S029", "house[0]"},
		{"no line", []layout.HouseMark{{ID: "a", Kind: "line", X: "1", Y: "0", X2: "1", Y2: "1.9"}}, "S029", "house[0]"},
		{"too many", make([]layout.HouseMark, 201), "S025", "house"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := layout.NewPlan(layout.Request{Table: layout.Table{L: 2000, W: 1000}, House: c.marks})
			found := problem.From(err)
			require.NotEmpty(t, found)
			assert.Equal(t, c.code, found[0].Code)
			assert.Equal(t, c.field, found[0].Field)
		})
	}
}

// Any text at all: a position or located faults, never a panic.
func FuzzExpression(f *testing.F) {
	for _, s := range []string{"L/4", "W/6 + 10 mm", "((L))", "46 1/2 in", `8' 4"`, "-", "1/0", "L/(L-L)", "é", "\x00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		_, err := at(s)
		if err == nil {
			return
		}
		found := problem.From(err)
		if len(found) == 0 {
			t.Fatalf("not a problem: %v", err)
		}
		for _, p := range found {
			if p.Help == "" || p.Col < 0 || p.Col > len([]rune(s))+1 {
				t.Fatalf("%+v", p)
			}
		}
	})
}
