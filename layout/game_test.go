package layout_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/problem"
)

// On a true rectangle every mark is its rule's closed formula, to 1e-9 mm.
func TestMarksOnARectangleAreTheFormulas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.Float64Range(1500, 3480).Draw(t, "L") // no published size of snooker's
		w := rapid.Float64Range(0.48, 0.52).Draw(t, "W/L") * l
		d := rapid.Float64Range(40, 70).Draw(t, "ball")
		wall := rapid.Float64Range(0, 12).Draw(t, "wall")
		p, err := layout.NewPlan(layout.Request{Table: layout.Table{L: l, W: w}, Games: []string{"pool", "snooker"},
			Choices: layout.Choices{BaulkLine: "scaled", D: "scaled", Black: "scaled", Rack: "outline"},
			Balls:   layout.Balls{Diameter: d, RackWall: wall}})
		require.NoError(t, err)
		want := map[string][2]float64{
			"head-spot": {l / 4, 0}, "centre-spot": {l / 2, 0}, "foot-spot": {3 * l / 4, 0},
			"head-string": {l / 4, -w / 2}, "long-string": {3 * l / 4, 0},
			"baulk-line": {l * 29 / 140.5, -w / 2}, "d": {l * 29 / 140.5, 0},
			"yellow": {l * 29 / 140.5, -w * 11.5 / 70}, "green": {l * 29 / 140.5, w * 11.5 / 70},
			"brown": {l * 29 / 140.5, 0}, "blue": {l / 2, 0}, "pink": {3 * l / 4, 0}, "black": {l - l*12.75/140.5, 0},
		}
		for id, xy := range want {
			m, ok := p.Mark(id)
			require.True(t, ok, id)
			assert.InDelta(t, xy[0], m.X, 1e-9, id)
			assert.InDelta(t, xy[1], m.Y, 1e-9, id)
			assert.Zero(t, m.MovedX, id)
		}
		line, _ := p.Mark("baulk-line")
		assert.InDelta(t, w/2, line.Y2, 1e-9)
		long, _ := p.Mark("long-string")
		assert.InDelta(t, l, long.X2, 1e-9)
		arc, _ := p.Mark("d")
		assert.InDelta(t, w*11.5/70, arc.Radius, 1e-9)
		assert.Equal(t, []geom.Angle{90 * geom.Degree, 270 * geom.Degree}, []geom.Angle{arc.Start, arc.End})

		// The tight triangle, from its geometry: every side is tangent, wall and
		// all, to the corner balls of a rack whose first ball is on the foot spot.
		rack, _ := p.Mark("rack")
		require.Len(t, rack.Points, 3)
		back := 3*l/4 + 4*d*math.Sqrt(3)/2
		balls := [][2]float64{{3 * l / 4, 0}, {back, -2 * d}, {back, 2 * d}}
		for i := range 3 {
			a, b := rack.Points[i], rack.Points[(i+1)%3]
			side := math.Hypot(b[0]-a[0], b[1]-a[1])
			assert.InDelta(t, d*(4+math.Sqrt(3))+2*math.Sqrt(3)*wall, side, 1e-9)
			for _, j := range []int{i, (i + 1) % 3} {
				c := balls[j]
				off := ((b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])) / side
				assert.InDelta(t, d/2+wall, off, 1e-9, "side %d to ball %d, inside on the left", i, j)
			}
		}
	})
}

// The three ticks are pieces of the outline: 25 mm of the back edge at each end,
// and 25 mm across the front corner.
func TestRackTicks(t *testing.T) {
	r := layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"pool"}, Balls: layout.Balls{Diameter: 57.15, RackWall: 8}}
	ticks := plan(t, r)
	r.Choices.Rack = "outline"
	pts := mark(t, plan(t, r), "rack").Points
	apex, right, left := pts[0], pts[1], pts[2]
	l, rt, a := mark(t, ticks, "rack-left"), mark(t, ticks, "rack-right"), mark(t, ticks, "rack-apex")
	assert.InDeltaSlice(t, []float64{left[0], left[1] - 25, left[0], left[1]}, []float64{l.X, l.Y, l.X2, l.Y2}, 1e-9)
	assert.InDeltaSlice(t, []float64{right[0], right[1], right[0], right[1] + 25}, []float64{rt.X, rt.Y, rt.X2, rt.Y2}, 1e-9)
	assert.InDeltaSlice(t, []float64{apex[0], -12.5, apex[0], 12.5}, []float64{a.X, a.Y, a.X2, a.Y2}, 1e-9)
	assert.Equal(t, "rack", a.Group)
}

// Full size inside +-13 mm and the metric table inside +-3 mm are marked with
// the rule's own figures whatever the formula chosen; one past the limit is not.
func TestRuleFiguresHoldInsideTheTolerance(t *testing.T) {
	for _, c := range []struct {
		name            string
		l, w            float64
		baulk, d, black float64
	}{
		{"full size", 3569, 1778, 736.6, 292.1, 323.85},
		{"full size in inches", 140.5 * 25.4, 70 * 25.4, 736.6, 292.1, 323.85},
		{"at the limit", 3582, 1765, 736.6, 292.1, 323.85},
		{"past the limit", 3582.01, 1765, 3582.01 / 5, 1765.0 / 6, 3582.01 / 11},
		{"metric", 3500, 1750, 700, 292, 320},
		{"metric at the limit", 3497, 1753, 700, 292, 320},
		{"metric past the limit", 3496.99, 1753, 3496.99 / 5, 1753.0 / 6, 3496.99 / 11},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := plan(t, layout.Request{Table: layout.Table{L: c.l, W: c.w}, Games: []string{"snooker"}, Choices: layout.Choices{BaulkLine: "fifth"}})
			assert.InDelta(t, c.baulk, mark(t, p, "baulk-line").X, 1e-9)
			assert.InDelta(t, c.d, mark(t, p, "d").Radius, 1e-9)
			assert.InDelta(t, c.d, mark(t, p, "green").Y, 1e-9)
			assert.InDelta(t, c.black, c.l-mark(t, p, "black").X, 1e-9)
		})
	}
}

// Every game goes on every published size of every game: marks on the table,
// ids unique, a rule and a source each.
func TestEveryGameOnEverySize(t *testing.T) {
	sizes := [][2]float64{{3569, 1778}, {3500, 1750}, {2840, 1420}, {2540, 1270}, {2336.8, 1168.4}, {2300, 1150}, {2100, 1050}, {1930.4, 965.2}, {1828.8, 914.4}}
	for _, g := range layout.Games() {
		for _, s := range sizes {
			p := plan(t, layout.Request{Table: layout.Table{L: s[0], W: s[1]}, Games: []string{g.ID}})
			require.NotEmpty(t, p.Marks, g.ID)
			seen := map[string]bool{}
			for _, m := range p.Marks {
				assert.False(t, seen[m.ID], "%s twice in %s", m.ID, g.ID)
				seen[m.ID] = true
				assert.NotEmpty(t, m.Rule, "%s of %s", m.ID, g.ID)
				assert.NotEmpty(t, m.Source, "%s of %s", m.ID, g.ID)
				if g.Grade == "U" && g.ID != "pyramid" {
					assert.True(t, strings.HasPrefix(m.Source, "from memory"), "%s of %s: %s", m.ID, g.ID, m.Source)
				}
			}
			for _, f := range p.Findings {
				assert.NotContains(t, f.Text, "beyond a cushion nose", g.ID)
			}
		}
	}
}

// All games at once: still unique ids, each mark answers to one place.
func TestAllGamesTogether(t *testing.T) {
	var all []string
	for _, g := range layout.Games() {
		all = append(all, g.ID)
	}
	p := plan(t, layout.Request{Table: layout.Table{L: 2840, W: 1420}, Games: all})
	seen := map[string]bool{}
	for _, m := range p.Marks {
		assert.False(t, seen[m.ID], m.ID)
		seen[m.ID] = true
	}
	// A quarter of 2840 is 710: the head string, 71/2's balk line and the front
	// line of the pyramid are one line there.
	assert.Equal(t, []string{"balkline-71-balk-head", "front-line"}, mark(t, p, "head-string").Also)
	assert.Contains(t, mark(t, p, "foot-spot").Also, "black-spot")
	assert.Contains(t, mark(t, p, "foot-spot").Games, "carom")
	assert.Contains(t, ids(p), "balkline-71-balk-foot", "two games' balk-foot in different places")
}

// One name is one mark: whichever two games share a table, no id and no name that a person
// reads belongs to two places, and each finds its mark again.
func TestOneNameIsOneMark(t *testing.T) {
	games := layout.Games()
	for _, size := range [][2]float64{{1930, 965}, {2540, 1270}, {3568.7, 1778}} {
		for i, a := range games {
			for _, b := range games[i+1:] {
				for _, baulk := range []string{"scaled", "both"} {
					p := plan(t, layout.Request{Table: layout.Table{L: size[0], W: size[1]}, Games: []string{a.ID, b.ID}, Choices: layout.Choices{BaulkLine: baulk}})
					whose := map[string]string{}
					for _, m := range p.Marks {
						for _, word := range slices.Concat([]string{m.ID}, m.Also, strings.Split(m.Name, ", ")) {
							if other, taken := whose[word]; taken && other != m.ID {
								t.Errorf("%s with %s: %q is both %s and %s", a.ID, b.ID, word, other, m.ID)
							}
							whose[word] = m.ID
						}
					}
				}
			}
		}
	}
}

// Two games' baulk lines are told apart by game, in their ids and in their names.
func TestTwinBaulkLines(t *testing.T) {
	p := plan(t, layout.Request{Table: layout.Table{L: 1930, W: 965}, Games: []string{"snooker", "billiards", "blackball"}})
	assert.Equal(t, "snooker baulk line", mark(t, p, "snooker-baulk-line").Name)
	assert.Equal(t, []string{"snooker", "billiards"}, mark(t, p, "snooker-baulk-line").Games)
	assert.Equal(t, "blackball baulk line", mark(t, p, "blackball-baulk-line").Name)
	assert.NotContains(t, ids(p), "baulk-line")
	alone := plan(t, layout.Request{Table: layout.Table{L: 1930, W: 965}, Games: []string{"snooker", "billiards"}})
	assert.Equal(t, "baulk line", mark(t, alone, "baulk-line").Name)
}

func TestFromMemoryIsSaid(t *testing.T) {
	table := layout.Table{L: 3550, W: 1775}
	p := plan(t, layout.Request{Table: table, Games: []string{"pyramid"}})
	assert.Equal(t, "from memory", mark(t, p, "rear-mark").Source)
	assert.NotContains(t, mark(t, p, "front-mark").Source, "memory")
	p = plan(t, layout.Request{Table: table, Games: []string{"six-red"}})
	assert.True(t, strings.HasPrefix(mark(t, p, "black").Source, "from memory"))
}

// Balkline 47 on the match table (DBU balkline rules: four lines 47 cm from the
// cushions, six squares and three rectangles; anchors of 7 in astride each line
// end, one side on the cushion).
func TestBalklineAnchors(t *testing.T) {
	r := layout.Request{Table: layout.Table{L: 2840, W: 1420}, Games: []string{"balkline-47"}}
	p := plan(t, r)
	assert.Len(t, p.Marks, 4+8*3)
	a, b, c := mark(t, p, "anchor-head-left-a"), mark(t, p, "anchor-head-left-b"), mark(t, p, "anchor-head-left-c")
	y := 710.0 - 470
	got := []float64{a.X, a.Y, a.X2, a.Y2, b.X2, b.Y2, c.X2, c.Y2}
	assert.InDeltaSlice(t, []float64{0, y + 88.9, 177.8, y + 88.9, 177.8, y - 88.9, 0, y - 88.9}, got, 1e-9)
	m := mark(t, p, "anchor-right-foot-b")
	assert.InDeltaSlice(t, []float64{2370 + 88.9, -710 + 177.8, 2370 - 88.9, -710 + 177.8}, []float64{m.X, m.Y, m.X2, m.Y2}, 1e-9)

	r.Choices.Anchor = "none"
	assert.Len(t, plan(t, r).Marks, 4)
	r.Games = []string{"balkline-71"}
	p = plan(t, r)
	assert.Equal(t, []string{"balk-head", "balk-foot", "balk-centre"}, ids(p))
	assert.InDelta(t, 2840, mark(t, p, "balk-centre").X2, 1e-9)
	r.Choices.Anchor = "9in"
	assert.Len(t, plan(t, r).Marks, 3+6*3)
}

func TestNotesSayWhatEachChoiceMoves(t *testing.T) {
	p := plan(t, layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"snooker"}, Choices: layout.Choices{BaulkLine: "fifth"}})
	require.Equal(t, "baulk_line", p.Notes[0].Choice)
	assert.Equal(t, "scaled", p.Notes[0].Recommend)
	// 2540·29/140.5 - 508 = 16.27; the head string is 635 - 508 = 127 further.
	moves := map[string]float64{}
	for _, o := range p.Notes[0].Options {
		moves[o.Value] = o.Moves
	}
	assert.InDelta(t, 16.2705, moves["scaled"], 1e-4)
	assert.InDelta(t, 127, moves["head-string"], 1e-9)
	assert.InDelta(t, 0, moves["fifth"], 1e-9)

	p = plan(t, layout.Request{Table: layout.Table{L: 2000, W: 1000}, Games: []string{"snooker", "blackball"}})
	assert.Equal(t, "fifth", p.Notes[0].Recommend, "one line serves both games")
}

func TestMarksTooNear(t *testing.T) {
	house := func(x string) []layout.HouseMark {
		return []layout.HouseMark{{ID: "tick", Kind: "spot", X: x, Y: "0"}}
	}
	near := func(x string) []layout.Finding {
		return plan(t, layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"snooker"}, House: house(x)}).Findings
	}
	got := near("L/2 + 7.9")
	require.Len(t, got, 1)
	assert.Equal(t, []string{"blue", "tick"}, got[0].Marks)
	assert.InDelta(t, 7.9, got[0].Distance, 1e-9)
	assert.Empty(t, near("L/2 + 8"), "8 mm can be kept apart")
	assert.Empty(t, near("L/2"), "one mark, not two")

	// Parallel lines: blackball's fifth and a house line 5 mm on.
	got = plan(t, layout.Request{Table: layout.Table{L: 2000, W: 1000}, Games: []string{"blackball"},
		House: []layout.HouseMark{{ID: "old-line", Kind: "line", X: "405", Y: "-W/2", X2: "405", Y2: "W/2"}}}).Findings
	require.Len(t, got, 1)
	assert.InDelta(t, 5, got[0].Distance, 1e-9)

	// A line over a part of another is told.
	got = plan(t, layout.Request{Table: layout.Table{L: 2840, W: 1420}, Games: []string{"pool", "balkline-71"}, Choices: layout.Choices{Anchor: "none"}}).Findings
	require.NotEmpty(t, got)
	assert.Equal(t, []string{"long-string", "balk-centre"}, got[0].Marks)
	assert.Contains(t, got[0].Text, "lie on one another")

	got = near("L + 1")
	require.Len(t, got, 1)
	assert.Contains(t, got[0].Text, "tick lies 1.0 mm beyond a cushion nose")
}

func TestBadRequests(t *testing.T) {
	good := layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"pool"}}
	for _, c := range []struct {
		name              string
		with              func(r *layout.Request)
		code, field, help string
	}{
		{"game", func(r *layout.Request) { r.Games = []string{"pool", "snoker"} }, "S002", "games[1]", `did you mean "snooker"?`},
		{"choice", func(r *layout.Request) { r.Choices.D = "w/6" }, "S003", "choices.d", "width/6, scaled"},
		{"length", func(r *layout.Request) { r.Table.L = 299 }, "S001", "table.length", "playing surface"},
		{"width", func(r *layout.Request) { r.Table.W = math.NaN() }, "S001", "table.width", "playing surface"},
		{"ball", func(r *layout.Request) { r.Balls.Diameter = 100.5 }, "S004", "balls.diameter", "68 mm"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := good
			c.with(&r)
			_, err := layout.NewPlan(r)
			found := problem.From(err)
			require.Len(t, found, 1)
			assert.Equal(t, c.code, found[0].Code)
			assert.Equal(t, c.field, found[0].Field)
			assert.Contains(t, found[0].Help, c.help)
		})
	}
}
