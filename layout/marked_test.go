package layout_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
)

// within is a tolerance for every mark.
func within(mm float64) func(layout.Mark) layout.Allowed {
	return func(layout.Mark) layout.Allowed { return layout.Within(mm) }
}

func compare(t *testing.T, text string) (layout.Comparison, error) {
	t.Helper()
	r := layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"snooker", "pool"}, Choices: layout.Choices{BaulkLine: "head-string", D: "width/6"}}
	read, err := layout.ReadReadings(strings.NewReader(text), "hall.txt")
	if err != nil {
		return layout.Comparison{}, err
	}
	return layout.Compare(r, plan(t, r), read, within(1))
}

// Places answer to their names as printed, with blanks, and the form on the job sheet
// asks for x and y. 100 x 50 in: the foot spot is at 1905, 0 (WPA specifications 8), the
// D's centre on the head string, 635.
func TestReadingsAsTheFormHasThem(t *testing.T) {
	c, err := compare(t, `tolerance: 1 mm
Foot spot: x 1905.3 mm, y -0.4 mm
head spot: x 634.5
baulk line, left end: x 635, y 634
D: radius 211.7 mm
black spot: from Pink spot 404.1 mm
`)
	require.NoError(t, err)
	require.Len(t, c.Lines, 5)
	assert.Equal(t, "pink", c.Lines[0].ID, "the foot spot is pink's")
	assert.InDelta(t, 0.3, c.Lines[0].Along, 1e-9)
	assert.InDelta(t, -0.4, c.Lines[0].Across, 1e-9)
	assert.InDelta(t, 0.5, c.Lines[0].Off, 1e-9)
	assert.InDelta(t, -0.5, c.Lines[1].Along, 1e-9)
	assert.False(t, c.Lines[1].HasAcross)
	assert.InDelta(t, -1, c.Lines[2].Across, 1e-9)
	assert.True(t, c.Pass)
}

// The form is typed as it was filled in by hand: names and lines as printed, a comma forgotten,
// both units copied, and inches where the job shows them.
func TestReadingsFromTheFormByHand(t *testing.T) {
	for _, text := range []string{
		"Head spot: x 635.4 y 0.3\nbaulk line right end: x 635 y -635\nD, centre: x 635, y 0\nD: radius 211.7\nBlack Spot: x 2309.1 mm, y 0.4 mm\n",
		"head spot: x 25 in (635.0), y 0 in\nbaulk line, right end: x 25\" y -25\"\nD: radius 8 11/32 in (211.9 mm)\nyellow spot: x 25 in, y -8 11/32 in\n",
	} {
		c, err := compare(t, text+"Marked by, date: A. Fitter, 2026-11-27\nHall, table, cloth: Mill Lane, 1, green\nTemperature and humidity: 20 C, 50 %\nLeft undone:\n")
		require.NoError(t, err)
		assert.Equal(t, [2]string{"A. Fitter", "2026-11-27"}, [2]string{c.By, c.Date})
		assert.Equal(t, []string{"Hall, table, cloth: Mill Lane, 1, green", "Temperature and humidity: 20 C, 50 %"}, c.Said)
		for _, d := range c.Lines {
			assert.Less(t, d.Off, 0.9, d.Name)
		}
	}
}

// A decimal comma parts no readings: it is named, with the number as it should stand.
func TestReadingsWithDecimalCommas(t *testing.T) {
	_, err := compare(t, "foot-spot: head 1905,3 mm, right 635 mm\npink: x 448,5\n")
	require.Error(t, err)
	list := problem.From(err)
	require.Len(t, list, 2)
	assert.Equal(t, "S065", list[0].Code)
	assert.Equal(t, 1, list[0].Line)
	assert.Equal(t, 17, list[0].Col)
	assert.Contains(t, list[0].Help, "1905.3 mm")
	assert.Contains(t, list[1].Help, "448.5")
	assert.NotContains(t, err.Error(), "\"3 mm")
}

// On 100 x 50 in blue is 1270 from both ends and 635 from both sides, the baulk
// line (here the head string) 635 from the head, the D's radius 211.6667, and
// pink and black are 635 - 230.9091 = 404.0909 apart.
func TestDeviations(t *testing.T) {
	c, err := compare(t, `# hall
by: A. Fitter
date: 2026-11-20
tolerance: 1 mm
blue: head 1270.4 mm, right 635.3 mm      # along +0.4, across +0.3: 0.5 off
pink: foot 635.6 mm, left 635.8 mm        # along -0.6, across -0.8: 1.0 off, at the limit
black: from pink 405.2 mm                 # 1.11 too far
brown: left-right 0.5 mm                  # a quarter to the right
head-spot-no: head 1
`)
	require.Error(t, err)
	assert.Equal(t, "S066", problem.From(err)[0].Code)
	assert.Equal(t, 9, problem.From(err)[0].Line)

	c, err = compare(t, `by: A. Fitter
tolerance: 1 mm
blue: head 1270.4 mm, right 635.3 mm
pink: foot 635.6 mm, left 635.8 mm
black: from pink 405.2 mm
brown: left-right 0.5 mm
d: radius 211.7 mm
baulk-line@left: head 25 in
green: head 634.9 mm, foot 1904.3 mm
centre-spot: head-foot -0.8 mm
`)
	require.NoError(t, err)
	line := map[string]layout.Deviation{}
	for _, d := range c.Lines {
		line[d.ID] = d
	}
	blue := c.Lines[0]
	assert.InDelta(t, 0.4, blue.Along, 1e-9)
	assert.InDelta(t, 0.3, blue.Across, 1e-9)
	assert.InDelta(t, 0.5, blue.Off, 1e-9)
	assert.True(t, blue.Inside)
	pink := line["pink"]
	assert.InDelta(t, -0.6, pink.Along, 1e-9)
	assert.InDelta(t, -0.8, pink.Across, 1e-9)
	assert.True(t, pink.Inside, "exactly 1 mm off")
	black := line["black"]
	assert.False(t, black.HasAlong)
	assert.False(t, black.Inside, "the distance to pink is 1.1 mm out")
	brown := line["brown"]
	assert.InDelta(t, -0.25, brown.Across, 1e-9, "left longer than right by 0.5: a quarter to the right")
	assert.True(t, line["baulk-line@left"].Inside, "25 in is 635 mm")
	// Both ends read with a tape that is 0.8 short over the length: the difference
	// -1269.4 against -1270 leaves 0.3, whatever the tape.
	assert.InDelta(t, 0.3, line["green"].Along, 1e-9)
	assert.InDelta(t, -0.4, c.Lines[7].Along, 1e-9)
	assert.False(t, c.Pass)
	assert.Contains(t, c.Unread, "yellow spot")
	assert.NotContains(t, c.Unread, "centre spot, blue spot")

	var b bytes.Buffer
	require.NoError(t, layout.WriteComparison(&b, c, layout.RecordOptions{Job: "Hall", Table: "9 ft", Version: "0"}))
	assert.Contains(t, b.String(), "OUTSIDE")
	assert.Contains(t, b.String(), "measured by: A. Fitter")
	assert.Contains(t, b.String(), "date:        ______")
	assert.Contains(t, b.String(), "verdict: not every place is inside its tolerance")
}

func TestBadReadings(t *testing.T) {
	for _, c := range []struct {
		text, code string
		line, col  int
		msg        string
	}{
		{"", "S061", 0, 0, "no readings"},
		{"# nothing\n", "S061", 0, 0, "no readings"},
		{"\nyellow head 5", "S062", 2, 1, "no colon"},
		{"yellow: head 5\n yellow: foot 5", "S063", 2, 2, "given again, after line 1"},
		{"name: Hall\ntable: {size: 9 ft pool}\ngames: [pool]\njig: {}\n", "S061", 2, 1, "no readings but a job file, with table: here and games: on line 3"},
		{"table: 5 mm\nyellow: head 5 mm", "S064", 1, 8, `unknown reading "5"`},
		{"yellow: haed 5 mm", "S064", 1, 9, `unknown reading "haed"`},
		{"yellow: head 5 mm, right 4 yd", "S024", 1, 28, `unknown unit "yd"`},
		{"yellow: head L/4", "S065", 1, 14, "not a length that can be measured"},
		{"yellow: head -5 mm", "S065", 1, 14, "-5 mm is below 0"},
		{"yellow: head 6001 mm", "S065", 1, 14, "not a length that can be measured"},
		{"tolerance: 0 mm", "S065", 1, 11, "0 mm is not above 0"},
		{"yellow: head", "S021", 1, 14, "ends where a length is expected"},
		{"yelow: head 5 mm", "S066", 1, 1, "no such place"},
		{"black: from pnik 5 mm", "S066", 1, 8, `"pnik"`},
		{"black: radius 5 mm", "S066", 1, 8, "no arc"},
		{"black: x 90.9, y 0", "S065", 1, 8, "x 90.9 is 90.9 mm, where 2309.1 mm belongs"},
		{"a: \xff", "S060", 0, 0, "UTF-8"},
		{strings.Repeat("#\n", 1001), "S060", 1001, 0, "more than 1000 lines"},
		{strings.Repeat("#", 64<<10+1), "S060", 0, 0, "more than 65536 bytes"},
	} {
		_, err := compare(t, c.text)
		found := problem.From(err)
		require.NotEmpty(t, found, c.text)
		assert.Equal(t, c.code, found[0].Code, c.text)
		assert.Equal(t, c.line, found[0].Line, c.text)
		assert.Equal(t, c.col, found[0].Col, c.text)
		assert.Contains(t, found[0].Msg, c.msg, c.text)
		assert.NotEmpty(t, found[0].Help, c.text)
	}
	_, err := compare(t, strings.Repeat("#\n", 999)+"blue: head 1270")
	assert.NoError(t, err, "1000 lines are read")
}

func FuzzReadings(f *testing.F) {
	for _, s := range []string{"yellow: head 5 mm, right 423 mm", "by: x\n", "tolerance: 1 mm", "d: radius 5", "black: from pink 404 mm", "brown: left-right -0.5", ":", "a:,,", "\xff"} {
		f.Add(s)
	}
	r := layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"snooker"}}
	p, err := layout.NewPlan(r)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, s string) {
		read, err := layout.ReadReadings(strings.NewReader(s), "f")
		if err == nil {
			_, err = layout.Compare(r, p, read, within(1))
		}
		if err != nil && len(problem.From(err)) == 0 {
			t.Fatalf("not a problem: %v", err)
		}
	})
}

// What the form of the job sheet prints, a mark's name and behind a comma the point, is
// what the readings take, for every place of every game.
func TestReadingsTakeEveryPlaceAsPrinted(t *testing.T) {
	for _, g := range layout.Games() {
		r := layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{g.ID, "snooker"}}
		p, err := layout.NewPlan(r)
		require.NoError(t, err)
		var typed strings.Builder
		n := 0
		for _, m := range p.Marks {
			for _, at := range m.Places() {
				name := m.Name
				if at.Point != "" {
					name += ", " + at.Point
				}
				fmt.Fprintf(&typed, "%s: x %.3f mm, y %.3f mm\n", name, at.X+0.5, at.Y-0.25)
				n++
			}
		}
		read, err := layout.ReadReadings(strings.NewReader(typed.String()), "form.txt")
		require.NoError(t, err, g.ID)
		c, err := layout.Compare(r, p, read, within(1))
		require.NoError(t, err, g.ID)
		assert.Len(t, c.Lines, n, g.ID)
		assert.Empty(t, c.Unread, g.ID)
		for _, d := range c.Lines {
			assert.InDelta(t, 0.5, d.Along, 0.002, "%s of %s", d.ID, g.ID)
			assert.InDelta(t, -0.25, d.Across, 0.002, "%s of %s", d.ID, g.ID)
		}
	}
}

// What moved between two markings is told place by place: the later less the earlier, of
// those that both tell of.
func TestMovedBetweenMarkings(t *testing.T) {
	r := layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"snooker"}}
	p, err := layout.NewPlan(r)
	require.NoError(t, err)
	mark := func(text string) layout.Comparison {
		read, err := layout.ReadReadings(strings.NewReader(text), "readings.txt")
		require.NoError(t, err)
		c, err := layout.Compare(r, p, read, within(5))
		require.NoError(t, err)
		return c
	}
	before := mark("date: 2024-09-01\nyellow: head 524 mm, right 423 mm\nblue: head 1270 mm\npink: head 1905 mm")
	after := mark("date: 2026-09-01\nyellow: head 525.5 mm, right 422.6 mm\nblue: head 1270 mm\nblack: head 2309 mm")
	var b bytes.Buffer
	require.NoError(t, layout.WriteMoved(&b, before, after, screen.Look{Columns: 80}))
	assert.Equal(t, "\nMoved since 2024-09-01: most the yellow spot, by 1.5 mm\n\n"+
		"place        along    across\n"+
		"yellow spot  +1.5 mm  -0.4 mm\n"+
		"blue spot    0.0 mm   not read\n"+
		"\nalong: + towards the foot nose; across: + to the left\n", b.String())
	b.Reset()
	require.NoError(t, layout.WriteMoved(&b, mark("pink: head 1905 mm"), mark("blue: head 1270 mm"), screen.Look{Columns: 80}))
	assert.Equal(t, "\nMoved since the marking before: no place is told of by both\n", b.String())
}

// A place is held to its own mark's tolerance, stated or what a jig holds; the readings'
// own goes before all.
func TestEachMarkHasItsOwnTolerance(t *testing.T) {
	r := layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"snooker"}}
	allowed := func(m layout.Mark) layout.Allowed {
		if m.ID == "yellow" {
			return layout.Within(0.2)
		}
		return layout.Allowed{Likely: 0.5, Worst: 2}
	}
	judged := func(text string) layout.Comparison {
		read, err := layout.ReadReadings(strings.NewReader(text), "readings.txt")
		require.NoError(t, err)
		c, err := layout.Compare(r, plan(t, r), read, allowed)
		require.NoError(t, err)
		return c
	}
	// On 100 in the baulk line, 2540 x 29/140.5, is 524.270 from the head nose.
	for _, c := range []struct {
		text           string
		inside, likely bool
	}{
		{"yellow: head 524.47 mm", true, true}, {"yellow: head 524.48 mm", false, false},
		{"green: head 524.77 mm", true, true}, {"green: head 524.78 mm", true, false}, {"green: head 526.26 mm", true, false}, {"green: head 526.28 mm", false, false},
		{"baulk-line@left: head 526.2 mm", true, false},
	} {
		d := judged(c.text).Lines[0]
		assert.Equal(t, [2]bool{c.inside, c.likely}, [2]bool{d.Inside, d.Likely}, c.text)
	}
	_, alike := judged("yellow: head 524.3 mm\ngreen: head 524.3 mm").Alike()
	assert.False(t, alike)
	c := judged("tolerance: 3 mm\nyellow: head 526.3 mm\ngreen: head 526.3 mm")
	mm, alike := c.Alike()
	assert.True(t, alike)
	assert.Equal(t, 3.0, mm)
	assert.True(t, c.Pass)
}
