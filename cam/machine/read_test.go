package machine_test

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// readText reads a job of nothing but a machine and a material.
func readText(t *testing.T, text string) (machine.Profile, machine.Material, problem.List, error) {
	t.Helper()
	sec, err := job.Parse("shop/job.yaml", []byte(text))
	require.NoError(t, err)
	var faults problem.List
	f := job.Open(sec, &faults)
	m, s := f.Section("machine"), f.Section("material")
	f.Done()
	require.NoError(t, faults.Err())
	return machine.Read(m, s, machine.Options{Open: func(name string) ([]byte, error) {
		return os.ReadFile(filepath.Join("testdata", filepath.Base(name)))
	}})
}

func TestDemoMachineAndMaterial(t *testing.T) {
	j, _, err := job.Read("", job.Demo(), job.Options{})
	require.NoError(t, err)
	p, m, notes, err := machine.Read(j.Machine, j.Material, machine.Options{})
	require.NoError(t, err)
	assert.Empty(t, notes)

	assert.Equal(t, machine.Laser, p.Process)
	assert.Equal(t, machine.Axes{}, p.Min)
	assert.Equal(t, machine.Axes{X: 600, Y: 400}, p.Max)
	assert.False(t, p.HasZ)
	assert.Equal(t, map[int]machine.Axes{1: {}}, p.Offsets)
	assert.Equal(t, 1000.0, p.PowerScale)
	assert.Equal(t, "M4", p.BeamWord)
	assert.Equal(t, 5.0, p.MarginBed)
	assert.Equal(t, 12.0, p.SupportGrid)
	assert.Nil(t, p.PowerOn, "what the controller assumes is not declared")

	assert.Equal(t, "cast acrylic", m.Kind)
	assert.Equal(t, 5.0, m.Sold)
	assert.Equal(t, 4.85, m.Thickness)
	assert.True(t, m.Measured)
	assert.Equal(t, 0.18, m.Kerf)
	assert.InDelta(t, 70e-6, m.Expansion, 1e-12) // makers' pages, 60 to 77 µm/m K
	assert.Equal(t, 1190.0, m.Density)           // makers' pages, 1.19 g/cm³
	assert.Equal(t, []machine.Stock{{Width: 600, Height: 400}}, m.Sheets)
	assert.Equal(t, machine.Setting{Power: 800, Feed: 12, Passes: 1}, m.Cut)
	assert.Empty(t, m.Cut.Proven, "the demo's settings are proven by nobody")
}

func TestDefaults(t *testing.T) {
	p, m, notes, err := readText(t, "name: nothing given\n"[:0]+"machine:\nmaterial:\n")
	require.NoError(t, err)
	assert.Equal(t, "laser-600x400", p.Name)
	assert.Equal(t, "cast-acrylic-5", m.Name)
	assert.False(t, m.Measured)
	assert.Equal(t, []machine.Stock{{Width: 600, Height: 400}}, m.Sheets)
	require.Len(t, notes, 1)
	assert.Equal(t, "M025", notes[0].Code)

	p, m, _, err = readText(t, "machine: knife-600x300\nmaterial:\n")
	require.NoError(t, err)
	assert.Equal(t, machine.Knife, p.Process)
	assert.Equal(t, "polyester film", m.Kind)
	assert.Zero(t, m.Kerf)
	assert.InDelta(t, -0.45, m.Cut.Depth, 1e-12)
	assert.InDelta(t, -0.15, m.Score.Depth, 1e-12)

	p, m, _, err = readText(t, "machine: shop\nmaterial: polycarbonate-3\n")
	require.NoError(t, err, "a shop judges for itself")
	assert.Equal(t, machine.Shop, p.Process)
	assert.Nil(t, p.Offsets)
	assert.Equal(t, "polycarbonate", m.Kind)
}

// A laser, wholly written out: every key is read into its place.
func TestEveryMachineKey(t *testing.T) {
	p, _, _, err := readText(t, `
machine:
  name: the long one
  process: laser
  limits: {x: [-900, 0], y: [-600, 0], z: [-30, 0]}
  power_on: G21 G90 G17 G94 G54 G40 G49 G1
  parameters: zero
  offsets: {G54: {x: -890, y: -590, z: -10}, G59.3: {x: -1}}
  homes: {G28: {x: -5, y: -5}, G30: {x: -800, y: -5, z: -2}}
  park: {x: -5, y: -5, z: -1}
  keep_out:
    - {name: clamp, min: {x: -40, y: -30}, max: {x: 0, y: 0}}
    - {min: {x: -900, y: -600, z: -30}, max: {x: -880, y: -580, z: -20}}
  beam: M3
  power_scale: 255
  pierce_max: 0.2 s
  still_max: 0.8 s
  wavelength: 10600 nm
  spindle: no
  tool_in: 3
  floor: -12
  feed_max: 9000 mm/min
  rapid_max: 18 m/min
  accel_cut: 800 mm/s2
  accel_rapid: 1600
  junction: 0.05
  dialect: {semicolon_comments: yes, dwell_ms: yes, extra_words: [m8, M9, G64], line_max: 80, arc_centre_absolute: no,
    after_end: kept, line_ends: lf, dark_rapids: yes, power_word: M, home_words: named, acts_on: [0x21, 0x80-0xff], arc_tolerance: 0.005, decimals: 4, refused_words: [g92]}
  margin: 8
  support_pitch: 15
  time_max: 5400 s
  repeat_max: 4
  scale_ppm: {x: 120, y: -80}
  skew: 200 µm/m
material:
  kind: cast acrylic
`)
	require.NoError(t, err)
	want := machine.Profile{
		Name: "the long one", Process: machine.Laser, HasZ: true,
		Min: machine.Axes{X: -900, Y: -600, Z: -30}, Max: machine.Axes{},
		PowerOn:        []string{"G21", "G90", "G17", "G94", "G54", "G40", "G49", "G1"},
		ParametersZero: true,
		Offsets:        map[int]machine.Axes{1: {X: -890, Y: -590, Z: -10}, 9: {X: -1}},
		Home28:         &machine.Axes{X: -5, Y: -5}, Home30: &machine.Axes{X: -800, Y: -5, Z: -2},
		Park: &machine.Axes{X: -5, Y: -5, Z: -1},
		KeepOut: []machine.Zone{
			{Name: "clamp", Min: machine.Axes{X: -40, Y: -30, Z: math.Inf(-1)}, Max: machine.Axes{Z: math.Inf(1)}},
			{Name: "zone 2", Min: machine.Axes{X: -900, Y: -600, Z: -30}, Max: machine.Axes{X: -880, Y: -580, Z: -20}},
		},
		BeamWord: "M3", PowerScale: 255, PierceMax: 0.2, StillMax: 0.8, StillStated: true, Wavelength: 10600,
		FeedMax: 150, RapidMax: 300, AccelCut: 800, AccelRap: 1600, Junction: 0.05,
		SemicolonComments: true, DwellMillis: true, ExtraWords: []string{"M8", "M9", "G64"}, LineMax: 80, NoArcCenterAbs: true,
		Traits: machine.Traits{AfterEnd: "kept", LineEnds: "lf", DarkRapids: true, PowerWord: "M", HomeWords: "named", ActsOn: []string{"0x21", "0x80-0xff"},
			ArcTolerance: 0.005, Decimals: 4, Refused: []string{"G92"}},
		ToolIn: 3, Floor: -12,
		MarginBed: 8, SupportGrid: 15, TimeMax: 5400, RepeatMax: 4, ScaleX: 120, ScaleY: -80, SkewMicrons: 200,
	}
	laser, _ := machine.Lookup("laser-600x400")
	want.Writing = laser.Writing     // nothing is said of it here,
	want.Writing.Power = "with-beam" // but that S is taken with M3 and M4
	p.RapidMax = machine.Feed(math.Round(float64(p.RapidMax)*1e9) / 1e9)
	assert.Equal(t, want, p)
}

func TestEveryKnifeKey(t *testing.T) {
	p, m, _, err := readText(t, `
machine:
  process: knife
  travel: {x: 600, y: 300, z: 15}
  knife: {offset: 0.9, wedge: 60, up: 4, skin: -0.05, floor: -2, plunge: 3 mm/s, lift: 12 mm/s, swivel: 2 mm/s,
          swivel_angle: 30, arc_min: 1.8, tight_arcs: corner, misalignment: 0.5, sheet_max: 1.5}
material:
  kind: card
  thickness: 1.02
  cut: {feed: 30 mm/s, depth: -1.1, passes: 2, proven: "R. Marsh, 2026-10-02"}
`)
	require.NoError(t, err)
	assert.Equal(t, machine.KnifeProfile{Offset: 0.9, Wedge: 60 * geom.Degree, ZUp: 4, ZSkin: -0.05, ZFloor: -2, Plunge: 3, Lift: 12, Swivel: 2,
		SwivelMax: 30 * geom.Degree, ArcMin: 1.8, ArcTight: "corner", Misalign: 0.5 * geom.Degree, SheetMax: 1.5}, p.Knife)
	assert.Equal(t, -2.0, p.Min.Z, "z counts from the sheet's face, the travel from the floor up")
	assert.Equal(t, 13.0, p.Max.Z)
	assert.True(t, p.HasZ)
	assert.Equal(t, machine.Setting{Feed: 30, Passes: 2, Depth: -1.1, Proven: "R. Marsh, 2026-10-02"}, m.Cut)
}

func TestEveryMaterialKey(t *testing.T) {
	_, m, _, err := readText(t, `
machine: {process: laser, travel: {x: 900, y: 600}, power_scale: 500}
material:
  name: rack 3, shelf 2
  like: cast-acrylic-6
  kind: extruded acrylic
  colour: clear
  sold: 6 mm
  thickness: 5.9
  ordered: plates
  kerf: 0.21
  kerf_pm: 0.02
  expansion_ppm: 68
  moisture_ppm: 30
  density: 1185 kg/m3
  modulus: 3.1 GPa
  power_cap: 90 %
  sheets: [{width: 600, height: 400, count: 3, price: 12.50}, {width: 300 mm, height: 12 in}]
  cut: {power: 85 %, feed: 8 mm/s, passes: 2}
  score: {power: 60, feed: 3000 mm/min}
  letter: {power: 40, feed: 100 mm/s, proven: "A. Holt, 2026-11-02"}
`)
	require.NoError(t, err)
	assert.InDelta(t, 68e-6, m.Expansion, 1e-15)
	assert.InDelta(t, 30e-6, m.Moisture, 1e-15)
	m.Expansion, m.Moisture = 0, 0
	assert.Equal(t, machine.Material{
		Name: "rack 3, shelf 2", Kind: "extruded acrylic", Colour: "clear", Sold: 6, Thickness: 5.9, Measured: true, Ordered: machine.OrderedPlates,
		Kerf: 0.21, KerfPM: 0.02, Density: 1185, Modulus: 3.1e9, PowerCap: 450,
		Sheets: []machine.Stock{{Width: 600, Height: 400, Count: 3, Price: 12.5}, {Width: 300, Height: 304.8}},
		Cut:    machine.Setting{Power: 425, Feed: 8, Passes: 2},
		Score:  machine.Setting{Power: 60, Feed: 50, Passes: 1},
		Letter: machine.Setting{Power: 40, Feed: 100, Passes: 1, Proven: "A. Holt, 2026-11-02"},
	}, m)
}

func TestSectionNamedByFile(t *testing.T) {
	var asked string
	sec, err := job.Parse("jobs/club/job.yaml", []byte("machine: ../shop-laser.yaml"))
	require.NoError(t, err)
	var faults problem.List
	f := job.Open(sec, &faults)
	p, _, _, err := machine.Read(f.Section("machine"), job.Section{}, machine.Options{Open: func(name string) ([]byte, error) {
		asked = name
		return []byte("{travel: {x: 700, y: 500}}"), nil
	}})
	require.NoError(t, err)
	assert.Equal(t, filepath.Join("jobs", "shop-laser.yaml"), asked, "names count from the job file's folder")
	assert.Equal(t, 700.0, p.Max.X)

	_, _, _, err = machine.Read(f.Section("machine"), job.Section{}, machine.Options{Open: func(string) ([]byte, error) {
		return nil, errors.New("open x: no such file")
	}})
	require.Error(t, err)
	assert.Contains(t, err.Error(), "jobs/club/job.yaml:1:10: machine: cannot read jobs/shop-laser.yaml: no such file [F023]")

	_, _, _, err = machine.Read(f.Section("machine"), job.Section{}, machine.Options{Open: func(name string) ([]byte, error) {
		return nil, problem.Problem{File: name, Code: "F001", Msg: "cannot be read: permission denied", Help: "check the name"}
	}})
	require.Error(t, err)
	assert.Contains(t, err.Error(), "machine: cannot read jobs/shop-laser.yaml: permission denied [F023]\n")

	_, _, _, err = machine.Read(f.Section("machine"), job.Section{}, machine.Options{})
	assert.ErrorContains(t, err, "[F023]")

	_, _, _, err = machine.Read(f.Section("machine"), job.Section{}, machine.Options{Open: func(string) ([]byte, error) {
		return []byte("travel: {x: 1, y: 500}"), nil
	}})
	assert.ErrorContains(t, err, "jobs/shop-laser.yaml:1:13: travel.x: 1 mm is outside 100 mm to 10000 mm [L009]")
}

// What a machine file does not declare stays unknown to a dry run.
func TestParseProfileFillsInNoOffsets(t *testing.T) {
	p, err := machine.ParseProfile("machines/back-room.yaml", []byte("travel: {x: 600, y: 400}"))
	require.NoError(t, err)
	assert.Equal(t, "back-room", p.Name)
	assert.Nil(t, p.Offsets)
	assert.Nil(t, p.PowerOn)
	assert.False(t, p.ParametersZero)

	_, err = machine.ParseProfile("x.yaml", nil)
	assert.ErrorContains(t, err, "[F007]")
}

func TestCatalogue(t *testing.T) {
	for _, p := range machine.Profiles() {
		got, ok := machine.Lookup(p.Name)
		require.True(t, ok, p.Name)
		assert.Equal(t, p, got)
		if p.Process != machine.Shop {
			assert.Contains(t, p.Offsets, 1, p.Name)
		}
	}
	for _, m := range machine.Materials() {
		got, ok := machine.LookupMaterial(m.Name)
		require.True(t, ok, m.Name)
		assert.Equal(t, m, got)
		assert.Positive(t, m.Density, m.Name)
		assert.Positive(t, m.Modulus, m.Name)
		assert.Positive(t, m.Expansion, m.Name)
	}
	_, ok := machine.Lookup("plasma")
	assert.False(t, ok)
	a := machine.Profiles()
	a[0].Offsets[1] = machine.Axes{X: 9}
	assert.Equal(t, machine.Axes{}, machine.Profiles()[0].Offsets[1], "the catalogue is a copy each time")
}

// A built-in sheet beside kind and thickness is told to change nothing if and only if
// leaving it out reads the same sheet.
func TestLikeBesideKindAndThickness(t *testing.T) {
	told := map[bool]int{}
	for _, on := range []string{"laser-900x600", "knife-1200x600"} {
		for _, like := range machine.MaterialNames() {
			for _, kind := range []string{"cast acrylic", "extruded acrylic", "card", "polyester film"} {
				for _, thick := range []string{"thickness: 0.36", "thickness: 0.9", "thickness: 1", "thickness: 2.9", "thickness: 4.6", "thickness: 5.2", "thickness: 6", "sold: 3", "sold: 1, thickness: 0.9"} {
					rest := "kind: " + kind + ", " + thick + "}\n"
					job := "games: [pool]\ntable: {length: 2541, width: 1269.5}\nmachine: " + on + "\nmaterial: {"
					j, _, m, _, err := readWhole("job.yaml", []byte(job+"like: "+like+", "+rest))
					_, _, without, _, other := readWhole("job.yaml", []byte(job+rest))
					require.Equal(t, err == nil, other == nil, "%s: %s, %s", on, like, rest)
					if err != nil {
						continue // a sheet that this process does not cut
					}
					idle := slices.ContainsFunc(j.Ledger.Idle(), func(p problem.Problem) bool { return p.Code == "J096" && p.Field == "material.like" })
					require.Equal(t, reflect.DeepEqual(m, without), idle, "%s: %s, %s", on, like, rest)
					told[idle]++
				}
			}
		}
	}
	assert.Greater(t, told[true], 50)
	assert.Greater(t, told[false], 50)
}
