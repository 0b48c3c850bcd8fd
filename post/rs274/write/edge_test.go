package write_test

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	"spotjig/post/rs274/write"
)

// What changes of single signs and terms showed to be untested: the edges of every
// limit, feeds of the blade's height, inches in words, and what the header says.

// lines are the lines of a program that begin with start.
func lines(text, start string) []string {
	var out []string
	for _, l := range strings.Split(text, "\n") {
		if strings.HasPrefix(l, start) {
			out = append(out, l)
		}
	}
	return out
}

// oneMove is a toolpath of a single move.
func oneMove(s geom.Segment) path.Toolpath {
	return path.Toolpath{Sheet: 1, Process: machine.Laser, Bounds: geom.EmptyBox().Include(s.From).Include(s.To),
		Ops: []path.Op{{Layer: path.Score, Part: "P1", Feature: "tick", Power: 100, Last: 1,
			Moves: []path.Move{{Segment: s, Feed: machine.FeedPerMinute(600)}}}}}
}

// Each limit just kept and just passed.
func TestLimitsAtTheirEdges(t *testing.T) {
	line := func(x float64) geom.Segment { return geom.Segment{From: pt(0, 0), To: pt(x, 0)} }
	for _, tc := range []struct {
		name string
		tp   func() path.Toolpath
		m    func(m *machine.Profile)
		says string // "" when it must be written
	}{
		{"as far as allowed", func() path.Toolpath { return oneMove(line(100_000)) }, nil, ""},
		{"farther", func() path.Toolpath { return oneMove(line(-100_000.001)) }, nil, "move 1: coordinate -100000.001"},
		{"half a circle", func() path.Toolpath { return oneMove(geom.Segment{From: pt(0, 0), To: pt(9, 0), Bulge: -1}) }, nil, ""},
		{"more than half", func() path.Toolpath { return oneMove(geom.Segment{From: pt(0, 0), To: pt(9, 0), Bulge: 1.001}) }, nil, "move 1: an arc of more than half a circle"},
		{"slow", func() path.Toolpath { tp := oneMove(line(9)); tp.Ops[0].Moves[0].Feed = 0.2; return tp }, nil, ""},
		{"still", func() path.Toolpath { tp := oneMove(line(9)); tp.Ops[0].Moves[0].Feed = 0; return tp }, nil, "move 1: feed 0"},
		{"backwards", func() path.Toolpath { tp := oneMove(line(9)); tp.Ops[0].Moves[0].Feed = -1; return tp }, nil, "move 1: feed -1"},
		{"endless feed", func() path.Toolpath {
			tp := oneMove(line(9))
			tp.Ops[0].Moves[0].Feed = machine.Feed(math.Inf(1))
			return tp
		}, nil, "move 1: feed +Inf"},
		{"full power", func() path.Toolpath { tp := oneMove(line(9)); tp.Ops[0].Power = 1000; return tp }, nil, ""},
		{"a trace of power", func() path.Toolpath { tp := oneMove(line(9)); tp.Ops[0].Power = 0.5; return tp }, nil, ""},
		{"over full power", func() path.Toolpath { tp := oneMove(line(9)); tp.Ops[0].Power = 1000.1; return tp }, nil, "power S 1000.1"},
		{"a small scale", func() path.Toolpath { tp := oneMove(line(9)); tp.Ops[0].Power = 1.5; return tp }, func(m *machine.Profile) { m.PowerScale = 1 }, "power S 1.5"},
		{"no scale stated", func() path.Toolpath { tp := oneMove(line(9)); tp.Ops[0].Power = 5000; return tp }, func(m *machine.Profile) { m.PowerScale = 0 }, ""},
		{"a beam with a height", func() path.Toolpath { tp := oneMove(line(9)); tp.Ops[0].Moves[0].Z = 1; return tp }, nil, "move 1: a beam has no height"},
		{"no moves", func() path.Toolpath { tp := oneMove(line(9)); tp.Ops[0].Moves = nil; return tp }, nil, "no moves"},
		{"follows nearly", func() path.Toolpath { return torn(0.0000005) }, nil, ""},
		{"torn", func() path.Toolpath { return torn(0.000002) }, nil, "move 2 does not start where the one before ended"},
		{"lines of one character", func() path.Toolpath { return oneMove(line(9)) }, func(m *machine.Profile) { m.LineMax = 1 }, "lines of 1 characters"},
		{"lines just long enough", func() path.Toolpath { return oneMove(line(9)) }, func(m *machine.Profile) { m.LineMax = 60 }, ""},
		{"a far arc in short lines", func() path.Toolpath { return farArc() }, func(m *machine.Profile) { m.LineMax = 62 }, "a line of 63 characters; the limit is 62"},
		{"a far arc", func() path.Toolpath { return farArc() }, func(m *machine.Profile) { m.LineMax = 63 }, ""},
	} {
		t.Run(tc.name, func(t *testing.T) {
			m := laser()
			if tc.m != nil {
				tc.m(&m)
			}
			var b bytes.Buffer
			err := write.Write(&b, tc.tp(), write.Options{Machine: m})
			if tc.says == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorIs(t, err, write.ErrProgram)
			assert.Contains(t, err.Error(), tc.says)
		})
	}
}

// torn is two moves with a gap between them.
func torn(gap float64) path.Toolpath {
	tp := oneMove(geom.Segment{From: pt(0, 0), To: pt(9, 0)})
	tp.Ops[0].Moves = append(tp.Ops[0].Moves, path.Move{Segment: geom.Segment{From: pt(9, gap), To: pt(9, 9)}, Feed: 10})
	return tp
}

// farArc needs all the digits there are, on a line of 63 characters:
// G3 X-85000.0000 Y-90000.0000 I-81027.7778 J-94500.0000 F1234.56
func farArc() path.Toolpath {
	tp := oneMove(geom.Segment{From: pt(95_000, 80_000), To: pt(-85_000, -90_000), Bulge: 0.9})
	tp.Ops[0].Moves[0].Feed = machine.FeedPerMinute(1234.56)
	return tp
}

// Two million moves are written, one more is not. The edges program has the same
// limit and few lines.
func TestMovesAreLimited(t *testing.T) {
	op := opOf(geom.Circle(pt(50, 40), 10))
	for len(op.Moves) < 2000 {
		op.Moves = append(op.Moves, op.Moves[:2]...)
	}
	tp := path.Toolpath{Sheet: 1, Process: machine.Laser, Bounds: geom.Box{Max: pt(90, 90)}}
	for range 1000 {
		tp.Ops = append(tp.Ops, op)
	}
	opt := write.Options{Machine: laser(), Kind: write.Edges}
	require.NoError(t, write.Write(&bytes.Buffer{}, tp, opt))
	tp.Ops = append(tp.Ops, oneMove(geom.Segment{From: pt(0, 0), To: pt(9, 0)}).Ops...)
	err := write.Write(&bytes.Buffer{}, tp, opt)
	require.ErrorIs(t, err, write.ErrProgram)
	assert.Contains(t, err.Error(), "2000001 moves, the limit is 2000000")
}

// An arc that rises less than a fifth of the last digit above its chord, 0.00002 mm
// and in inches 0.00005 mm, is a line; with a chord of 2 mm the rise is the bulge.
func TestFlatArcsAreLines(t *testing.T) {
	for _, tc := range []struct {
		bulge float64
		inch  bool
		word  string
	}{
		{0.000019, false, "G1"}, {-0.000019, false, "G1"}, {0.000021, false, "G3"}, {-0.000021, false, "G2"},
		{0.00005, true, "G1"}, {0.000052, true, "G3"}, {-0.000052, true, "G2"},
	} {
		got := program(t, oneMove(geom.Segment{From: pt(0, 0), To: pt(2, 0), Bulge: tc.bulge}), write.Options{Machine: inches(laser(), tc.inch)})
		assert.Len(t, lines(got, tc.word+" X"), 1, "%+v", tc)
	}
}

// 600 mm/min are 23.622 in/min (25.4 mm an inch, exactly); two decimals in mm and
// three in inches; power has three.
func TestFeedAndPowerWords(t *testing.T) {
	tp := oneMove(geom.Segment{From: pt(0, 0), To: pt(25.4, 0)})
	tp.Ops[0].Power = 123.4567
	for _, tc := range []struct {
		perMinute float64
		inch      bool
		want      string
	}{
		{600, false, "G1 X25.4000 Y0.0000 F600"}, {1234.5678, false, "G1 X25.4000 Y0.0000 F1234.57"},
		{600, true, "G1 X1.00000 Y0.00000 F23.622"}, {1234.5678, true, "G1 X1.00000 Y0.00000 F48.605"},
	} {
		tp.Ops[0].Moves[0].Feed = machine.FeedPerMinute(tc.perMinute)
		got := program(t, tp, write.Options{Machine: inches(laser(), tc.inch)})
		assert.Equal(t, []string{tc.want}, lines(got, "G1 "))
		assert.Equal(t, []string{"S0", "S123.457", "S0"}, lines(got, "S"))
	}
}

// The edges are followed at 50 mm/s or as fast as the machine goes.
func TestEdgesFeed(t *testing.T) {
	for _, tc := range []struct {
		max  machine.Feed
		want string
	}{{0, "F3000"}, {0.5, "F30"}, {20, "F1200"}, {50, "F3000"}, {200, "F3000"}} {
		m := laser()
		m.FeedMax = tc.max
		got := lines(program(t, toolpath(geom.Circle(pt(50, 40), 5)), write.Options{Machine: m, Kind: write.Edges}), "G1 ")
		require.Len(t, got, 4)
		assert.True(t, strings.HasSuffix(got[0], " "+tc.want), got[0])
	}
}

// A blade is taken to each height on the spot, down at the plunge feed and up at the
// lift feed, before it moves; and up again at the end of what it cut, whatever the
// operation ended with.
func TestBladeChangesHeightOnTheSpot(t *testing.T) {
	const down, skin = -0.6, -0.2
	a, b, c, d := pt(10, 10), pt(40, 10), pt(40, 40), pt(10, 40)
	seg := func(p, q geom.Point) geom.Segment { return geom.Segment{From: p, To: q} }
	op := path.Op{Layer: path.Outline, Part: "F1", Feature: "outline", Pass: 1, Last: 3, Moves: []path.Move{
		{Segment: seg(a, b), Z: down, Feed: 20}, {Segment: seg(b, c), Z: skin, Feed: 20}, {Segment: seg(c, d), Z: down, Feed: 20},
	}}
	again := op
	again.Moves = slices.Clone(op.Moves)
	tp := path.Toolpath{Sheet: 1, Process: machine.Knife, Ops: []path.Op{op, again}, Bounds: geom.Box{Min: a, Max: c}}
	once := `G0 X10.0000 Y10.0000
G1 Z-0.6000 F300
G1 X40.0000 Y10.0000 F1200
G1 Z-0.2000 F600
G1 X40.0000 Y40.0000 F1200
G1 Z-0.6000 F300
G1 X10.0000 Y40.0000 F1200
G0 Z5.0000
`
	got := program(t, tp, write.Options{Machine: knife()})
	assert.Equal(t, 2, strings.Count(got, once), got)
	// Without feeds of its own for heights, the move's feed serves.
	m := knife()
	m.Knife.Plunge, m.Knife.Lift = 0, 0
	got = program(t, tp, write.Options{Machine: m})
	assert.Contains(t, got, "G1 Z-0.6000 F1200\nG1 X40.0000 Y10.0000\nG1 Z-0.2000\nG1 X40.0000 Y40.0000\n")
	// A turn on the spot, whose ends are one place, keeps its own.
	op.Moves = []path.Move{{Segment: seg(a, a), Z: down, Feed: 7}, {Segment: seg(a, b), Z: down, Feed: 20}}
	tp.Ops = []path.Op{op}
	got = program(t, tp, write.Options{Machine: knife()})
	assert.Contains(t, got, "G1 Z-0.6000 F420\nG1 X40.0000 Y10.0000 F1200\n")
	// Any height above 0 will do for travel.
	m = knife()
	m.Knife.ZUp = 0.5
	assert.Contains(t, program(t, tp, write.Options{Machine: m}), "G0 Z0.5000\n")
}

// The header says what is about to happen, and in which unit.
func TestHeaderSaysWhatTheProgramDoes(t *testing.T) {
	hole := toolpath(geom.Circle(pt(50.8, 25.4), 12.7))
	for _, tc := range []struct {
		tp   path.Toolpath
		opt  write.Options
		want []string
	}{
		{hole, write.Options{Machine: inches(laser(), true)}, []string{"(CUTTING PROGRAM: beam active)", "(Extents X 1.50000 to 2.50000, Y 0.50000 to 1.50000 in)", "G17 G20 G40 G49"}},
		{hole, write.Options{Machine: laser(), Kind: write.DryRun}, []string{"(DRY RUN: the motion of the cut with the beam off throughout)", "(Extents X 38.1000 to 63.5000, Y 12.7000 to 38.1000 mm)", "G17 G21 G40 G49"}},
		{hole, write.Options{Machine: laser(), Kind: write.Edges}, []string{"(EDGES: traces the rectangle the job needs, nothing is cut)", "(EDGES)"}},
		{hole, write.Options{Machine: laser(), Notes: []string{"first note", "second note"}}, []string{"(first note)", "(second note)"}},
		{knifePath(), write.Options{Machine: knife()}, []string{"(CUTTING PROGRAM: blade active)"}},
		{knifePath(), write.Options{Machine: knife(), Kind: write.DryRun}, []string{"(DRY RUN: the motion of the cut with the blade up throughout)"}},
	} {
		got := strings.Split(program(t, tc.tp, tc.opt), "\n")
		for _, w := range tc.want {
			assert.Contains(t, got, w)
		}
		// What was not given leaves no line.
		assert.NotContains(t, got, "(Job:)")
		assert.NotContains(t, got, "(Table:)")
	}
}

// Words longer than a line are broken, words that just fit are not, and comments on
// operations are cut off; nothing of a word is lost in the header.
func TestLongWords(t *testing.T) {
	header := func(note string) []string {
		text := program(t, toolpath(geom.Circle(pt(50, 40), 5)), write.Options{Machine: laser(), Notes: []string{note}})
		all := lines(text, "(")
		return all[5 : len(all)-1] // behind version, title, traits (two), sheet and extents, before the operation
	}
	word := strings.Repeat("abcdefghij", 20)
	got := header("before " + word + " after")[1:]
	assert.Equal(t, []string{"(before)", "(" + word[:68] + ")", "(" + word[68:136] + ")", "(" + word[136:] + ")", "(after)"}, got)
	// 68 characters fit into a line of 70 with its brackets, 69 do not.
	a, b := strings.Repeat("a", 33), strings.Repeat("b", 34)
	assert.Equal(t, []string{"(" + a + " " + b + ")"}, header(a + " " + b)[1:])
	assert.Equal(t, []string{"(" + a + "x)", "(" + b + ")"}, header(a + "x " + b)[1:])
	assert.Equal(t, "("+strings.Repeat("a", 68)+")", write.Comment(strings.Repeat("a", 68), 70))
	assert.Equal(t, "("+strings.Repeat("a", 68)+")", write.Comment(strings.Repeat("a", 69), 70))
	assert.Equal(t, "(note: MSG,)", write.Comment("MSG,", 70))
	assert.Equal(t, "(MSG)", write.Comment("MSG", 70))
}

// Every sign that has a plain way of being written.
func TestCleanSigns(t *testing.T) {
	for in, want := range map[string]string{
		"¼": " 1/4", "½": " 1/2", "¾": " 3/4", "×": "x", "°": " deg", "±": "+-", "µ": "u", "μ": "u",
		"–": "-", "—": "-", "−": "-", "’": "'", "‘": "'", "′": "'", "“": "\"", "”": "\"", "″": "\"",
		"\u00a0": " ", "\x7f": " ", "\x1f": " ", "\x00": " ", " ": " ", "~": "", "}": "}", "\u00a1": "_", "\u0080": "_", "é": "_",
	} {
		assert.Equal(t, want, write.Clean(in), "%q", in)
	}
}
