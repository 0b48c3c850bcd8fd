package record

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
)

// sample is a set of every kind of mark, opening and pose.
func sample() post.Set {
	at := func(x, y float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}} }
	plate := jig.Part{
		ID: "H1", Template: "head", Role: "pad", Scale: 1.000434,
		Outline: geom.MustClosed(at(0, 0), at(300, 0), geom.Vertex{At: geom.Point{X: 300, Y: 50}, Bulge: math.Tan(math.Pi / 8)}, at(290, 60), at(0, 60)),
		Openings: []jig.Opening{
			{ID: "yellow", Kind: jig.OpenSpot, Mark: "yellow", Figure: geom.Dot(geom.Point{X: 20, Y: 20}), Width: 2 * 1.55},
			{ID: "fin", Kind: jig.OpenFin, Figure: geom.Line(geom.Point{X: 40, Y: 20}, geom.Point{X: 70, Y: 20}), Width: 4.85},
			{ID: "d-1", Kind: jig.OpenArc, Mark: "d", Figure: geom.Arc(geom.Point{X: 50, Y: 20}, 25, 40*geom.Degree, 140*geom.Degree), Width: 3.1},
		},
		OnTable: jig.Pose{X: 500, Y: -30, Turn: 90 * geom.Degree},
	}
	fin := jig.Part{
		ID: "F1", Template: "head", Role: "end fin", Scale: 1,
		Outline: geom.MustClosed(at(0, 0), at(40, 0), at(40, 50), at(0, 50)),
		OnTable: jig.Pose{X: 0, Y: 200, Z: 0, Turn: 180 * geom.Degree, Upright: true},
	}
	return post.Set{
		Version: "test",
		Job:     job.Job{File: "/home/someone/club.yaml", Name: "Club", Date: "2026-11-20", Table: layout.Table{L: 2541, W: 1269.5}, Games: []string{"pool", "snooker"}},
		Marks: []layout.Mark{
			{ID: "yellow", Also: []string{"x"}, Name: "yellow", Games: []string{"snooker"}, Kind: layout.Spot, X: 480, Y: -10.00000049, Rule: `29 in in 140 1/2 in, "scaled"`, Source: "rules"},
			{ID: "baulk-line", Kind: layout.Line, X: 500, Y: -600, X2: 500, Y2: 600, FromHead: "500 mm"},
			{ID: "d", Kind: layout.Arc, X: 480, Y: 20, Radius: 25, Start: 90 * geom.Degree, End: 270 * geom.Degree},
			{ID: "rack", Kind: layout.Outline, Points: [][2]float64{{1900, 0}, {2100, -120}, {2100, 120}}},
		},
		Machine: machine.Profile{
			Name: "shop laser", Process: machine.Laser, Max: machine.Axes{X: 600, Y: 400},
			FeedMax: machine.FeedPerMinute(1000), Park: &machine.Axes{X: 1},
			Offsets: map[int]machine.Axes{2: {X: 5}, 1: {}},
			KeepOut: []machine.Zone{{Name: "clamp", Max: machine.Axes{X: 10, Y: 10, Z: machine.Unbounded()}}},
		},
		Material: machine.Material{Kind: "cast acrylic", Thickness: 4.85, Kerf: 0.18, Expansion: 7e-5, Moisture: 3.3e-7},
		Jig:      jig.Jig{Parts: []jig.Part{plate, fin}},
		Sheets: []post.Sheet{{
			Sheet:  nest.Sheet{N: 1, Width: 600, Height: 400, UsedFraction: 0.25, Placed: []nest.Placed{{ID: "H1", On: geom.Placement{X: 80, Y: 10, Turn: 90 * geom.Degree}}}},
			Bounds: geom.Box{Min: geom.Point{X: 5, Y: 5}, Max: geom.Point{X: 500, Y: 300}}, CutLen: 1234.5678912, Time: 61,
		}},
		Checks: []jig.Check{{ID: "as-cut", Verdict: jig.Pass, Value: 0.0001, Limit: 0.002, Unit: "mm", Text: "edges <left>"}},
	}
}

func text(t testing.TB, set post.Set) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, set, Options{Files: []File{{"marks.csv", 12, strings.Repeat("ab", 32)}}}))
	return b.String()
}

// The contract's keys, in its order, as a JSON reader of the standard library sees them.
func TestKeysAndOrder(t *testing.T) {
	got := text(t, sample())
	for _, want := range []string{
		`"format": "spotjig-record/4"`,
		`{"id":"yellow","also":["x"],"name":"yellow","games":["snooker"],"kind":"spot","x":480,"y":-10,"x2":null,"y2":null,"radius":null,"start_deg":null,"end_deg":null,"points":[],"rule":"29 in in 140 1/2 in, \"scaled\"","source":"rules"}`,
		`{"id":"H1","template":"head","role":"pad","sheet":1,"scale":1.000434,"outline":[[0,0,0],[300,0,0],[300,50,0.414213562373],[290,60,0],[0,60,0]]`,
		`{"id":"yellow","kind":"spot","mark":"yellow","x":20,"y":20,"r":1.55}`,
		`{"id":"fin","kind":"fin","mark":null,"x1":40,"y1":20,"x2":70,"y2":20,"width":4.85}`,
		`{"id":"d-1","kind":"arcslot","mark":"d","cx":50,"cy":20,"r":25,"start_deg":40,"end_deg":140,"width":3.1}`,
		`"on_sheet":{"x":80,"y":10,"turn_deg":90},"on_table":{"x":500,"y":-30,"z":0,"turn_deg":90,"upright":false}}`,
		`"on_sheet":null,"on_table":{"x":0,"y":200,"z":0,"turn_deg":180,"upright":true}}`,
		`{"n":1,"width":600,"height":400,"thickness":4.85,"kerf":0.18,"files":{"dxf":"sheet-1.dxf","nc":"sheet-1.nc","dryrun":"sheet-1-dryrun.nc","edges":"sheet-1-edges.nc"},"bounds":{"xmin":5,"ymin":5,"xmax":500,"ymax":300},"cut_mm":1234.567891,"travel_mm":0,"time_s":61,"used_fraction":0.25}`,
		`{"id":"as-cut","verdict":"pass","value":0.0001,"limit":0.002,"unit":"mm","text":"edges \u003cleft\u003e"}`,
		`{"name":"marks.csv","bytes":12,"sha256":"` + strings.Repeat("ab", 32) + `"}`,
		`"feed_max_mm_min":1000,`,
		`"offsets":{"1":{"x":0,"y":0,"z":0},"2":{"x":5,"y":0,"z":0}}`,
		`"max":{"x":10,"y":10,"z":"unbounded"}`,
		`"moisture":0.00000033,`,
	} {
		assert.Contains(t, got, want)
	}
	assert.NotContains(t, got, "someone", "no path of the user's")
	var keys map[string]json.RawMessage
	require.NoError(t, json.Unmarshal([]byte(got), &keys))
	last := -1
	for _, k := range []string{"format", "version", "job", "machine", "material", "marks", "parts", "sheets", "checks", "budgets", "serves", "files"} {
		require.Contains(t, keys, k)
		i := strings.Index(got, "\n\""+k+"\": ")
		if k == "format" {
			i = strings.Index(got, `"format"`)
		}
		assert.Greater(t, i, last, k)
		last = i
	}
	assert.Len(t, keys, 12)
}

func TestShopHasNoPrograms(t *testing.T) {
	set := sample()
	set.Machine.Process = machine.Shop
	set.Sheets[0].Bounds = geom.Box{}
	assert.Contains(t, text(t, set), `"files":{"dxf":null,"nc":null,"dryrun":null,"edges":null},"bounds":null,`, "held back: a fin slot, and no measured thickness")
	set.Material.Measured = true
	assert.Contains(t, text(t, set), `"files":{"dxf":"sheet-1.dxf","nc":null,"dryrun":null,"edges":null},"bounds":null,`)
}

func TestNotFiniteIsRefused(t *testing.T) {
	set := sample()
	set.Checks[0].Value = math.NaN()
	assert.ErrorIs(t, Write(io.Discard, set, Options{}), ErrNumber)
}

func TestNumber(t *testing.T) {
	for _, row := range []struct {
		v    float64
		g    grain
		want string
	}{
		{0, coarse, "0"}, {-0.0004, coarse, "-0.0004"}, {-0.0000004, coarse, "0"}, {1.0000005, coarse, "1.000001"},
		{2540, coarse, "2540"}, {math.Copysign(0, -1), fine, "0"}, {7e-5, fine, "0.00007"}, {1e21, fine, "1000000000000000000000"},
		{1000.0 / 60 * 60, fine, "1000"}, {0.1 + 0.2, fine, "0.3"},
	} {
		assert.Equal(t, row.want, number(row.v, row.g))
	}
}

func TestSnake(t *testing.T) {
	for in, want := range map[string]string{"ID": "id", "NosePM": "nose_pm", "ZUp": "z_up", "HasZ": "has_z", "Home28": "home28", "ShopTempC": "shop_temp_c", "TurnDeg": "turn_deg", "X2": "x2", "L": "l"} {
		assert.Equal(t, want, snake(in))
	}
}

// Text from a job stays ASCII in the file and comes back as it was.
func TestHostileText(t *testing.T) {
	set := sample()
	name := "a\"\\\n\x00\x1b]0;x\a</script>\u202e\U0001F3B1é"
	set.Marks[0].Name = name
	got := text(t, set)
	for _, b := range []byte(got) {
		require.True(t, b == '\n' || b >= ' ' && b <= '~', "byte %q", b)
	}
	assert.NotContains(t, got, "</script>")
	var std struct{ Marks []struct{ Name string } }
	require.NoError(t, json.Unmarshal([]byte(got), &std))
	assert.Equal(t, name, std.Marks[0].Name, "as the standard library reads it")
}

func TestMarksCSV(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteMarks(&b, sample().Marks))
	assert.True(t, strings.HasPrefix(b.String(), columns+"\r\n"))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 1+3+3)
	col := map[string]int{}
	for i, name := range rows[0] {
		col[name] = i
	}
	for i, want := range []map[string]string{
		{"id": "yellow", "kind": "spot", "x_mm": "480.0000", "y_mm": "-10.0000", "x2_mm": "", "rule": `29 in in 140 1/2 in, "scaled"`},
		{"id": "baulk-line", "kind": "line", "x2_mm": "500.0000", "y2_mm": "600.0000", "radius_mm": "", "from_head": "500 mm"},
		{"id": "d", "kind": "arc", "radius_mm": "25.0000", "start_deg": "90.0000", "end_deg": "270.0000", "x2_mm": ""},
		{"id": "rack-1", "kind": "line", "group": "rack", "x_mm": "1900.0000", "x2_mm": "2100.0000", "y2_mm": "-120.0000"},
		{"id": "rack-2", "group": "rack"},
		{"id": "rack-3", "group": "rack", "x2_mm": "1900.0000"},
	} {
		for name, v := range want {
			assert.Equal(t, v, rows[i+1][col[name]], "row %d %s", i, name)
		}
	}
}

func TestCSVCellIsNoFormula(t *testing.T) {
	for in, want := range map[string]string{
		"=HYPERLINK(1)": "'=HYPERLINK(1)", "+1": "'+1", "-1": "'-1", "@x": "'@x", "\t=1": "'=1",
		"a,b": `"a,b"`, `say "x"`: `"say ""x"""`, "two\r\nlines": "twolines", "\u202ex": "x", "plain": "plain", "": "", "\xff": "?",
	} {
		assert.Equal(t, want, cell(in))
	}
	assert.Equal(t, "0.0000", fixed(-0.00004))
}

func TestWriterErrorIsReported(t *testing.T) {
	full := errors.New("disk full")
	assert.ErrorIs(t, Write(failing{full}, sample(), Options{}), full)
	assert.ErrorIs(t, WriteMarks(failing{full}, sample().Marks), full)
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

// A script of a page, which knows the contract and nothing of this package,
// draws the jig where it belongs: yellow's hole at R(90°)(20, 20) + (500, -30).
func TestRedrawFromTheRecordAlone(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("no python3 to run testdata/readers/redraw.py with")
	}
	name := filepath.Join(t.TempDir(), "record.json")
	require.NoError(t, os.WriteFile(name, []byte(text(t, sample())), 0o600))
	out, err := exec.Command(python, filepath.Join("..", "..", "testdata", "readers", "redraw.py"), name).Output()
	require.NoError(t, err)
	count := map[string]int{}
	dec := xml.NewDecoder(bytes.NewReader(out))
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		el, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		a := map[string]string{}
		for _, x := range el.Attr {
			a[x.Name.Local] = x.Value
		}
		count[el.Name.Local+" "+a["class"]]++
		if el.Name.Local == "circle" && a["class"] == "opening" {
			x, _ := strconv.ParseFloat(a["cx"], 64)
			y, _ := strconv.ParseFloat(a["cy"], 64)
			assert.InDelta(t, 480, x, 1e-6)
			assert.InDelta(t, -10, y, 1e-6)
		}
	}
	assert.Equal(t, map[string]int{
		"svg ": 1, "g ": 1, "rect ": 1, "path part": 2, "circle opening": 1, "path opening": 2, "circle mark": 1, "path mark": 3,
	}, count)
}
