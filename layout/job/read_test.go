package job_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

func read(t *testing.T, text string) (job.Job, problem.List) {
	t.Helper()
	j, notes, err := job.Read("job.yaml", []byte(text), job.Options{})
	require.NoError(t, err)
	return j, notes
}

// Every key of the job sections is read into its place.
func TestEveryKey(t *testing.T) {
	j, notes := read(t, `
name: "  Riverside 2 "
date: 2024-02-29
notes: |
  Slate cracked at the foot.
  Cloth is fast.
table:
  size: 12 ft snooker
  measured: Nose-To-Nose
  length: 11ft 8 1/2in
  width: 5' 10"
  nose_height: 34 mm
  undercut: 18
  resolution: 0.5
games: [SNOOKER, billiards]
choices: {baulk_line: fifth, d: scaled, black: scaled, break_box: norway, anchor: 9in, min_apart: 10}
balls: {diameter: 52.5, reds: 10, rack_wall: 9}
jig:
  for: this
  marker: {tip: 1, guide: 3.2}
  spots: sticker
  sticker: 25
  rack: outline
  tolerance: 1.5
  nose_contact: 0.2
  fin_seat: 0.05
  side_reading: 0.1
  sighting: 0.1
  joint_closure: 0.03
  joint_slip: 0.02
  fit: press
  joint: keyed
  fins: screwed
  ties: {count: 2, width: 0.8}
  piece_max: 550
  spare_fins: yes
  letters: short
  side_travel: 13
  shop_temperature: 24 °C
  hall_temperature: 16
  shop_humidity: 40 %
  hall_humidity: 65
  compensate_growth: true
house:
  - {id: lane, name: practice lane, kind: line, x: L/4, y: W/6 + 10 mm, x2: 3*L/4, y2: 0}
  - {id: ring, kind: arc, x: L/2, y: 0, radius: 100 mm, start_deg: -90, end_deg: 90}
machine: laser-600x400
material: {kind: cast acrylic}
`)
	assert.Equal(t, []string{"table.undercut"}, idle(t, notes))
	assert.Equal(t, "Riverside 2", j.Name)
	assert.Equal(t, "2024-02-29", j.Date)
	assert.Equal(t, "Slate cracked at the foot. Cloth is fast.", j.Notes)
	assert.Equal(t, []string{"snooker", "billiards"}, j.Games)
	assert.InDelta(t, 140.5*25.4, j.Table.L, 1e-9)
	assert.InDelta(t, 70*25.4, j.Table.W, 1e-9)
	assert.Equal(t, 34.0, j.Table.NoseHeight)
	assert.Equal(t, 18.0, j.Table.Undercut)
	assert.Equal(t, 0.5, j.Table.TapePM)
	assert.Equal(t, layout.Choices{BaulkLine: "fifth", D: "scaled", Black: "scaled", Rack: "outline", BreakBox: "norway", Anchor: "9in", MinApart: 10}, j.Choices)
	assert.Equal(t, layout.Balls{Diameter: 52.5, Reds: 10, RackWall: 9}, j.Balls)
	assert.Equal(t, job.Jig{For: "this", MarkerTip: 1, MarkerGuide: 3.2, Spots: "sticker", Sticker: 25, Tolerance: 1.5, ToleranceStated: true, TemperatureStated: true, HumidityStated: true, NosePM: 0.2, SeatPM: 0.05, SeatStated: true, ReadingPM: 0.1, SightPM: 0.1, ClosurePM: 0.03, SlipPM: 0.02, SlipStated: true,
		Fit: "press", Joint: "keyed", FinFix: "screwed", Ties: 2, TieWidth: 0.8, PieceMax: 550, SpareFins: true, Letters: "short", SideTravel: 13,
		ShopTempC: 24, HallTempC: 16, ShopRH: 40, HallRH: 65, CompensateGrowth: true}, j.Jig)
	assert.Equal(t, []layout.HouseMark{
		{ID: "lane", Name: "practice lane", Kind: "line", X: "L/4", Y: "W/6 + 10 mm", X2: "3*L/4", Y2: "0", End: 360 * geom.Degree},
		{ID: "ring", Kind: "arc", X: "L/2", Y: "0", Radius: "100 mm", Start: -90 * geom.Degree, End: 90 * geom.Degree},
	}, j.House)
	word, ok := j.Machine.Word()
	assert.True(t, ok)
	assert.Equal(t, "laser-600x400", word)
}

func TestSurveyIsReadAsItStands(t *testing.T) {
	j, notes := read(t, `
games: [pool]
table: {size: 9 ft pool, nose_height: 36}
survey:
  length_left: 100 in
  length_right: 2541.5
  width_head: 1270
  width_middle: 1269
  width_foot: 4' 2"
  diagonal_left_head: 2291
  diagonal_right_head: 2289
  side_station: 150
  width_station: 200
  diagonal_station: 300
  nose_height: 36.5
  undercut: 15
  gap_head: -0.5
  gap_foot: 0.5
  gap_left: 1
  gap_right: -1
  resolution: 0.5
`)
	assert.Equal(t, []string{"table.nose_height", "survey.undercut"}, idle(t, notes))
	assert.Equal(t, &layout.Survey{LengthLeft: 2540, LengthRight: 2541.5, WidthHead: 1270, WidthMiddle: 1269, WidthFoot: 1270,
		DiagLeftHead: 2291, DiagRightHead: 2289, SideStation: 150, WidthStation: 200, DiagStation: 300, NoseHeight: 36.5, Undercut: 15,
		GapHead: -0.5, GapFoot: 0.5, GapLeft: 1, GapRight: -1, Strung: true, Resolution: 0.5}, j.Survey)
	assert.Zero(t, j.Table.L, "layout fits the survey")
	assert.Zero(t, j.Table.W)
	assert.Equal(t, "9 ft pool", j.Table.Name)
}

// The demo's survey keys are those that layout names in its faults.
func TestLayoutFindsFaultsInASurveyAtTheirKeys(t *testing.T) {
	text := "games: [pool]\nsurvey:\n  length_left: 2540\n  length_right: 2500\n  width_head: 1270\n  diagonal_station: 20\n"
	j, _ := read(t, text)
	_, _, err := layout.Fit(*j.Survey)
	require.Error(t, err)
	got := job.Locate("job.yaml", []byte(text), problem.From(err))
	require.NotEmpty(t, got)
	assert.Equal(t, "job.yaml", got[0].File)
	assert.Equal(t, 6, got[0].Line)
	assert.Equal(t, 21, got[0].Col)
	assert.Equal(t, "survey.diagonal_station", got[0].Field)
}

func TestLocate(t *testing.T) {
	text := "table: {length: 2541, width: 1269.5}\ngames: [pool]\nhouse:\n  - {id: a, kind: spot, x: \"L/4 + Q\", y: 0}\n"
	tests := []struct {
		name      string
		in        problem.Problem
		line, col int
		field     string
	}{
		{"key", problem.Problem{Field: "table.width"}, 1, 30, "table.width"},
		{"item", problem.Problem{Field: "games[0]"}, 2, 9, "games[0]"},
		{"column inside quotes", problem.Problem{Field: "house[0].x", Col: 7}, 4, 35, "house[0].x"},
		{"part of a path", problem.Problem{Field: "table.taper"}, 1, 8, "table.taper"},
		{"not there", problem.Problem{Field: "choices.d"}, 1, 1, "choices.d"},
		{"past the list", problem.Problem{Field: "games[7]"}, 2, 8, "games[7]"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := job.Locate("job.yaml", []byte(text), problem.List{tt.in})[0]
			assert.Equal(t, problem.Problem{File: "job.yaml", Line: tt.line, Col: tt.col, Field: tt.field}, got)
		})
	}
	placed := problem.Problem{File: "other.yaml", Line: 3, Field: "table"}
	assert.Equal(t, problem.List{placed}, job.Locate("job.yaml", []byte(text), problem.List{placed}), "what has a place keeps it")
	lost := problem.List{{Field: "table"}}
	assert.Equal(t, lost, job.Locate("job.yaml", []byte("a: ["), lost), "a file that cannot be parsed places nothing")
}

// Nominal sizes: the rule is "within half an inch", so 108 x 54 in +- 12.7 mm.
func TestNominalSizes(t *testing.T) {
	tests := []struct {
		name, table, code string
	}{
		{"9 ft slate", "{length: 108 in, width: 54 in}", "J013"},
		{"8 ft slate", "{length: 96 in, width: 48 in}", "J013"},
		{"10 ft slate", "{length: 120 in, width: 60 in}", "J013"},
		{"12 ft slate", "{length: 144 in, width: 72 in}", "J013"},
		{"half an inch over", "{length: 2755.9, width: 1384.3}", "J013"},
		{"a little more than half an inch over", "{length: 2756.0, width: 1384.3}", ""},
		{"half an inch under", "{length: 2730.5, width: 1358.9}", "J013"},
		{"a little more than half an inch under", "{length: 2730.5, width: 1358.8}", ""},
		{"slate size measured", "{length: 108 in, width: 54 in, measured: nose-to-nose}", ""},
		{"7 ft slate is a surface too", "{length: 84 in, width: 42 in}", "J014"},
		{"6 ft slate is a surface too", "{length: 72 in, width: 36 in}", "J014"},
		{"7 ft measured", "{length: 84 in, width: 42 in, measured: nose-to-nose}", ""},
		{"9 ft pool", "{length: 100 in, width: 50 in}", ""},
		{"full size snooker, 140.5 to 70", "{length: 3569, width: 1778}", ""},
		{"ratio at the limit", "{length: 2160, width: 1200}", ""},
		{"ratio past the limit", "{length: 2159, width: 1200}", "J015"},
		{"ratio at the upper limit", "{length: 2200, width: 1000}", ""},
		{"ratio past the upper limit", "{length: 2201, width: 1000}", "J015"},
		{"square", "{length: 1200, width: 1200}", "J015"},
		{"published surface", "{size: 8 ft pool}", "J019"},
		{"another table's name", "{size: 8 ft pool, length: 2541, width: 1269.5}", "J017"},
		{"its own name", "{size: 9-ft Pool, length: 2541, width: 1269.5}", ""},
		{"a name of one's own", "{size: old Bess, length: 2541, width: 1269.5}", ""},
		{"shortest", "{length: 1000, width: 500}", ""},
		{"too short", "{length: 999.9, width: 500}", "L009"},
		{"longest", "{length: 4000, width: 2000}", ""},
		{"too long", "{length: 4000.1, width: 2000}", "L009"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, notes, err := job.Read("job.yaml", []byte("games: [pool]\ntable: "+tt.table), job.Options{})
			all := append(problem.From(err), notes...)
			if tt.code == "" {
				assert.Empty(t, all)
				return
			}
			require.Len(t, all, 1, all)
			assert.Equal(t, tt.code, all[0].Code)
			assert.Equal(t, 2, all[0].Line)
			if tt.code == "J013" {
				assert.Contains(t, all[0].Help, "measure between cushion noses")
			}
			warns := tt.code == "J014" || tt.code == "J017" || tt.code == "J019"
			assert.Equal(t, warns, err == nil)
		})
	}
}

// Playing surfaces as published: WPA equipment specifications section 5 (9 and 8
// ft), WPBSA Official Rules section 1, World Rules of Carom Billiard article 11.
func TestPublishedSurfaces(t *testing.T) {
	for name, want := range map[string][2]float64{
		"9 ft pool":      {2540, 1270},
		"8 ft pro pool":  {2336.8, 1168.4},
		"12 ft snooker":  {3568.7, 1778},
		"metric snooker": {3500, 1750},
		"match carom":    {2840, 1420},
	} {
		j, notes := read(t, "games: [pool]\ntable: {size: "+name+"}")
		assert.InDelta(t, want[0], j.Table.L, 1e-9, name)
		assert.InDelta(t, want[1], j.Table.W, 1e-9, name)
		assert.InDelta(t, -want[1]/2, j.Table.Corners[0][1], 1e-9, name)
		require.Len(t, notes, 1)
	}
	for _, s := range job.Sizes() {
		assert.NotEmpty(t, s.Source, s.Name)
		assert.InDelta(t, 2, s.L/s.W, 0.08, s.Name)
	}
}

func TestUsualBalls(t *testing.T) {
	for games, want := range map[string]float64{
		"pool": 57.15, "snooker, pool": 57.15, "snooker": 52.5, "billiards": 52.5, "blackball": 50.8,
		"carom": 61.5, "balkline-47": 61.5, "pyramid": 68, "chinese-eight-ball": 57.15,
	} {
		j, _ := read(t, "table: {length: 2541, width: 1269.5}\ngames: ["+games+"]")
		assert.Equal(t, want, j.Balls.Diameter, games)
	}
}

// The caller may know other games than layout does.
func TestGamesFromOptions(t *testing.T) {
	text := []byte("table: {length: 2541, width: 1269.5}\ngames: skittles")
	_, _, err := job.Read("x", text, job.Options{})
	assert.ErrorContains(t, err, "[J012]")
	j, _, err := job.Read("x", text, job.Options{Games: []string{"skittles"}})
	require.NoError(t, err)
	assert.Equal(t, []string{"skittles"}, j.Games)
}

func TestEmptySectionsAreDefaults(t *testing.T) {
	j, _ := read(t, "table: {length: 2541, width: 1269.5}\ngames: [pool]\njig:\nchoices: ~\nballs:\nhouse:\nname:\nmachine:\n")
	assert.Equal(t, "class", j.Jig.For)
	assert.False(t, j.Machine.Given())
	assert.Empty(t, j.House)
}

// A warning that cannot be read past: at most twenty faults are shown.
func TestManyFaults(t *testing.T) {
	var b strings.Builder
	b.WriteString("table: {length: 2541, width: 1269.5}\ngames: [pool]\n")
	for range 30 {
		b.WriteString("x" + strings.Repeat("y", b.Len()%50) + strings.Repeat("z", b.Len()%7) + "q: 1\n")
	}
	_, _, err := job.Read("x", []byte(b.String()), job.Options{})
	require.Error(t, err)
	assert.Contains(t, err.Error(), " more")
}

func FuzzRead(f *testing.F) {
	f.Add(string(job.Demo()))
	for _, s := range []string{"", "a", "a: 1", "games: [pool]\ntable: {length: 100\", width: 4' 2\"}", "house: [{id: a}]",
		"notes: |\n  x\n  y", "a: &a *a", "? a\n: b", "games: [pool]\ntable: {size: 9 ft pool}\nsurvey: {length_left: 1}", "{:}", "- - -", "a: 'b", "\ufeff%YAML 1.2\n---\na: !x b"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		j, notes, err := job.Read("x.yaml", []byte(text), job.Options{})
		if err != nil {
			list := problem.From(err)
			require.NotEmpty(t, list, "an error that is no problem: %v", err)
			for _, p := range list {
				assert.Regexp(t, `^[FJL]\d{3}$`, p.Code)
				assert.NotEmpty(t, p.Help)
				assert.NotContains(t, p.Msg, "\n")
			}
			return
		}
		for _, n := range notes {
			assert.NotEmpty(t, n.Help)
		}
		assert.NotEmpty(t, j.Games)
		for _, s := range []string{j.Name, j.Date, j.Notes, j.Table.Name} {
			assert.NotContains(t, s, "\n")
			assert.NotContains(t, s, "\x1b")
		}
		if j.Survey == nil {
			assert.GreaterOrEqual(t, j.Table.L, 1000.0)
			assert.LessOrEqual(t, j.Table.L, 4000.0)
		}
	})
}

// A tolerance is one length, or a length for each of some marks.
func TestToleranceIsALengthOrMany(t *testing.T) {
	head := "table: {length: 2540, width: 1270}\ngames: [pool]\nmachine: laser-600x400\nmaterial: {kind: cast acrylic}\n"
	j, _ := read(t, head+"jig: {tolerance: {head-spot: 0.5, a.b: 0.02 in}}\n")
	assert.Equal(t, []job.NamedLength{{Name: "head-spot", MM: 0.5}, {Name: "a.b", MM: 0.508}}, j.Jig.Tolerances)
	mm, stated := j.Jig.ToleranceOf("other", "a.b")
	assert.InDelta(t, 0.508, mm, 1e-9)
	assert.True(t, stated)
	mm, stated = j.Jig.ToleranceOf("foot-spot")
	assert.InDelta(t, 1, mm, 1e-9)
	assert.False(t, stated)
	j, _ = read(t, head+"jig: {tolerance: 0.7}\n")
	mm, stated = j.Jig.ToleranceOf("foot-spot")
	assert.InDelta(t, 0.7, mm, 1e-9)
	assert.True(t, stated)
	for text, code := range map[string]string{"{}": "J003", "{head-spot: 12}": "L009", "{head-spot: [1]}": "J002", "{head-spot: 1, head-spot: 2}": "F009", "[1, 2]": "J002"} {
		_, _, err := job.Read("t.yaml", []byte(head+"jig: {tolerance: "+text+"}\n"), job.Options{})
		list := problem.From(err)
		require.NotEmpty(t, list, text)
		assert.Equal(t, code, list[0].Code, text)
	}
}

// What a joint leaves beside its tail hangs on its form, unless the job states it.
func TestSlipHangsOnTheJoint(t *testing.T) {
	for text, want := range map[string]float64{"": 0.08, "jig: {joint: keyed}": 0.03, "jig: {joint: keyed, joint_slip: 0.02 mm}": 0.02, "jig: {joint_slip: 0.1}": 0.1} {
		j, _, err := job.Read("job.yaml", []byte("table: {length: 2540, width: 1270}\ngames: [pool]\n"+text+"\n"), job.Options{})
		require.NoError(t, err, text)
		assert.Equal(t, want, j.Jig.SlipPM, text)
		assert.Equal(t, strings.Contains(text, "joint_slip"), j.Jig.SlipStated, text)
	}
}

// idle are the keys that are told to change nothing, each with its place and a remedy, when
// nothing else is told.
func idle(t *testing.T, notes problem.List) (fields []string) {
	t.Helper()
	for _, n := range notes {
		assert.Equal(t, "J096", n.Code)
		assert.NotZero(t, n.Line)
		assert.NotEmpty(t, n.Help)
		fields = append(fields, n.Field)
	}
	return fields
}

// What is stated and means nothing is told; what nobody stated is not, nor what asks for
// nothing beside what there is.
func TestKeysThatChangeNothing(t *testing.T) {
	const rest = "table: {length: 2540, width: 1270, measured: nose-to-nose}\ngames: [pool]\n"
	for text, want := range map[string][]string{
		rest + "jig: {sticker: 20 mm}":                                                        {"jig.sticker"},
		rest + "jig: {sticker: 20 mm, spots: sticker}":                                        nil,
		rest + "jig: {ties: {count: 0, width: 1 mm}}":                                         {"jig.ties.width"},
		rest + "jig: {ties: {count: 1, width: 1 mm}}":                                         nil,
		rest + "jig: {settings: yes, for: this}":                                              {"jig.settings"},
		rest + "jig: {settings: no, for: this}":                                               nil,
		rest + "house: [{id: a, kind: spot, x: 1, y: 1, radius: 2, x2: 3}]":                   {"house[0].radius", "house[0].x2"},
		rest + "house: [{id: a, kind: line, x: 1, y: 1, x2: 2, y2: 2, start_deg: 3}]":         {"house[0].start_deg"},
		rest + "house: [{id: a, kind: arc, x: 1, y: 1, radius: 2, start_deg: 3}]":             nil,
		rest + "made: {paper: letter}":                                                        {"made.paper"},
		rest + "made: {paper: letter, version: 0.1.0}":                                        nil,
		rest + "assumed: [jig.sticker]\njig: {sticker: 20 mm}":                                nil,
		"table: {size: 9 ft pool, measured: nose-to-nose}\ngames: [pool]\n":                   {"table.measured"},
		"survey: {length_left: 2540, width_head: 1270, diagonal_station: 300}\ngames: [pool]": {"survey.diagonal_station"},
		"table: {resolution: 2}\nsurvey: {length_left: 2540, width_head: 1270, resolution: 1, side_station: 300, width_station: 300}\ngames: [pool]": {"table.resolution"},
	} {
		_, notes, err := job.Read("job.yaml", []byte(text), job.Options{})
		require.NoError(t, err, text)
		var told problem.List
		for _, n := range notes {
			if n.Code == "J096" {
				told.Add(n)
			}
		}
		assert.Equal(t, want, idle(t, told), text)
	}
}
