package bridge_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/job"
	"spotjig/post/web/bridge"
	"spotjig/post/work"
)

func given(t *testing.T, s bridge.State, path string) bridge.Field {
	t.Helper()
	for _, g := range s.Groups {
		for _, f := range g.Fields {
			if f.Path == path {
				return f
			}
		}
	}
	require.FailNow(t, "no field "+path)
	return bridge.Field{}
}

// A job to begin with reads, and says that nothing was measured.
func TestStart(t *testing.T) {
	s := bridge.Look(bridge.Start(), false)
	require.Empty(t, s.Faults)
	require.NotNil(t, s.Shown)
	assert.True(t, slices.ContainsFunc(s.Notes, func(f bridge.Fault) bool { return f.Code == "J019" }), "%+v", s.Notes)
	assert.Empty(t, s.Shown.Unmade)
	assert.NotEmpty(t, s.Shown.Cautions)
}

// Every field of the form is a key of the job file, by its reader's own list, and the
// first job can be filled in through it.
func TestForm(t *testing.T) {
	text := bridge.Start()
	for _, c := range [][]string{{"table.length", "8 ft 4 in"}, {"table.width", "50\""}, {"games", "pool", "snooker"}, {"choices.baulk_line", "fifth"},
		{"balls.reds", "10"}, {"survey.gap_head", "1 mm"}, {"jig.for", "this"}, {"material.kerf", "0.2 mm"}, {"machine.like", "knife-600x300"}, {"date", "2026-11-20"}} {
		s := bridge.Change(text, c[0], c[1:], false)
		f := given(t, s, c[0])
		assert.Equal(t, c[1:], f.Values, c[0])
		text = s.Text
	}
	assert.Equal(t, "2540.0 mm = 100 in", given(t, bridge.Look(text, false), "table.length").Echo)
	folded := func(text string) (out []string) {
		for _, g := range bridge.Look(text, false).Groups {
			if g.Folded {
				out = append(out, g.Title)
			}
		}
		return out
	}
	assert.Equal(t, []string{"Survey", "Template, sheet and machine"}, folded(bridge.Start()))
	assert.Equal(t, []string{"Template, sheet and machine"}, folded(text), "a survey that is there is shown")
	for _, path := range []string{"survey.gap_head", "material.kerf"} {
		text = bridge.Change(text, path, nil, false).Text
		assert.Empty(t, given(t, bridge.Look(text, false), path).Values)
	}
	known := map[string]bool{"machine.like": true}
	for _, k := range job.Keys() {
		known[k.Path] = true
	}
	for _, g := range bridge.Look(text, false).Groups {
		for _, f := range g.Fields {
			if !strings.HasPrefix(f.Path, "material.") {
				assert.True(t, known[f.Path], "%s is no key of a job file", f.Path)
			}
		}
	}
}

// A fault is told at its field and in the list; the text stays as typed.
func TestFaultAtItsField(t *testing.T) {
	s := bridge.Change(bridge.Demo(), "table.length", []string{"25.41"}, false)
	require.NotEmpty(t, s.Faults)
	assert.Nil(t, s.Shown)
	require.NotEmpty(t, given(t, s, "table.length").Faults)
	assert.Contains(t, s.Text, "25.41")
	s = bridge.Change(s.Text, "table.length", []string{"2541"}, false)
	assert.Empty(t, s.Faults)
	s = bridge.Change("machine: laser-600x400\n"+"table: {size: 9 ft pool}\ngames: [pool]\n", "machine", []string{"knife-600x300"}, false)
	assert.Contains(t, s.Text, "machine: knife-600x300")
	s = bridge.Change("name: |\n  a\n  b\ngames: [pool]\n", "name", []string{"x"}, false)
	assert.Equal(t, "F026", s.Faults[0].Code)
}

// What is shown is what the packages below say.
func TestLook(t *testing.T) {
	s := bridge.Look(bridge.Demo(), false)
	o, err := work.Read("", nil, nil)
	require.NoError(t, err)
	require.Len(t, s.Shown.Marks, len(o.Plan.Marks))
	for i, m := range o.Plan.Marks {
		assert.Equal(t, m.ID, s.Shown.Marks[i].ID)
		assert.Contains(t, m.FromHead, s.Shown.Marks[i].FromHead)
	}
	require.Len(t, s.Shown.Steps, len(layout.TapeCard(o.Request(), o.Plan)))
	for i, st := range s.Shown.Steps {
		_, by, _ := strings.Cut(st.Check, " from ")
		assert.True(t, strings.HasSuffix(by, " nose") || slices.ContainsFunc(s.Shown.Steps[:i], func(b bridge.Step) bool { return strings.HasPrefix(b.Name, by) }),
			"%s is checked by a name that no step before it has: %s", st.Name, st.Check)
	}
	var want, got bytes.Buffer
	require.NoError(t, layout.WriteMarksJSON(&want, o.Plan, layout.TapeCard(o.Request(), o.Plan)))
	text, err := bridge.MarksJSON(bridge.Demo())
	require.NoError(t, err)
	got.WriteString(text)
	assert.Equal(t, want.String(), got.String())
	assert.NotEmpty(t, s.Shown.Balls.Racks)
}

// Who measures in inches reads them first, as from the commands.
func TestInchesFirst(t *testing.T) {
	s := bridge.Look("units: in\n"+bridge.Demo(), false)
	require.Empty(t, s.Faults)
	assert.True(t, strings.HasPrefix(s.Shown.Steps[0].End, "20 21/32 in (524.5 mm) from the head nose"), s.Shown.Steps[0].End)
	assert.Contains(t, s.Shown.Facts[0], "100 1/32 in (2541.0 mm)")
	assert.Contains(t, s.Shown.Picture, ">100 1/32</text>", "on its dimensions too")
	assert.Contains(t, s.Shown.Picture, "playing surface 100 1/32 x 49 31/32 in (2541.0 x 1269.5 mm)")
	assert.NotContains(t, s.Shown.Picture, ">2541.0</text>")
}

// Whatever a job says, what is shown turns into JSON and the pictures are well formed and
// hold no element that acts.
func TestHostileJob(t *testing.T) {
	for _, name := range []string{`</script><script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `]]></style><svg onload=alert(1)>`} {
		s := bridge.Change(bridge.Demo(), "name", []string{name}, false)
		require.NotNil(t, s.Shown, "%+v", s.Faults)
		_, err := json.Marshal(s)
		require.NoError(t, err)
		for _, svg := range []string{s.Shown.Picture, bridge.Look(s.Text, true).Shown.Picture} {
			d := xml.NewDecoder(strings.NewReader(svg))
			for {
				tok, err := d.Token()
				if errors.Is(err, io.EOF) {
					break
				}
				require.NoError(t, err)
				if e, ok := tok.(xml.StartElement); ok {
					assert.NotContains(t, []string{"script", "img", "foreignObject", "a"}, e.Name.Local)
					for _, a := range e.Attr {
						assert.False(t, strings.HasPrefix(a.Name.Local, "on"), a.Name.Local)
					}
				}
			}
		}
	}
}

// A set is what the pipeline makes, and packing it twice gives the same bytes: with
// SPOTJIG_ALL=1 the demo's, else a smaller one's.
func TestMake(t *testing.T) {
	ctx, text := context.Background(), "table: {length: 2541, width: 1269.5}\ngames: [pool]\nmachine: {like: laser-1300x900}\nmaterial: {kind: cast acrylic, sold: 5 mm}\n"
	if os.Getenv("SPOTJIG_ALL") != "" {
		text = bridge.Demo()
	}
	var stages []string
	opt := bridge.Options{Version: "1.2.3", Paper: "a4", Stage: func(s string) { stages = append(stages, s) }}
	m, data, err := bridge.Make(ctx, text, opt)
	require.NoError(t, err)
	require.Empty(t, m.Faults)
	assert.NotEmpty(t, stages)
	assert.Nil(t, m.Of("nosuch"))
	assert.NotEmpty(t, m.Cautions)
	_, again, err := bridge.Make(ctx, text, opt)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(data, again))
	o, err := work.Read(bridge.JobName, []byte(text), nil)
	require.NoError(t, err)
	want, err := o.Build(ctx, work.Options{Version: "1.2.3", Paper: "a4"})
	require.NoError(t, err)
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	require.Len(t, z.File, len(want.Files))
	for i, f := range z.File {
		assert.Equal(t, want.Files[i].Name, f.Name)
		r, err := f.Open()
		require.NoError(t, err)
		got, err := io.ReadAll(r)
		require.NoError(t, err)
		assert.True(t, bytes.Equal(want.Files[i].Data, got), f.Name)
		assert.True(t, bytes.Equal(got, m.Of(f.Name)), f.Name)
	}
}

// The page made a test piece's own job without the offcut that it was cut from.
func TestMakeOfAnOffcut(t *testing.T) {
	ctx := context.Background()
	o, err := work.Read(bridge.JobName, job.Demo(), nil)
	require.NoError(t, err)
	want, err := o.BuildTestPiece(ctx, work.Options{Version: "1.2.3", Stock: job.Offcut{Width: 400, Height: 300}})
	require.NoError(t, err)
	i := slices.IndexFunc(want.Files, func(f work.File) bool { return f.Name == work.JobName })
	m, _, err := bridge.Make(ctx, string(want.Files[i].Data), bridge.Options{Version: "1.2.3"})
	require.NoError(t, err)
	require.Empty(t, m.Faults)
	for _, f := range want.Files {
		assert.True(t, bytes.Equal(f.Data, m.Of(f.Name)), f.Name)
	}
}

func TestMakeRefuses(t *testing.T) {
	m, data, err := bridge.Make(context.Background(), "machine: shop.yaml\n"+"table: {length: 2541, width: 1269.5}\ngames: [pool]\n", bridge.Options{})
	require.NoError(t, err)
	assert.Nil(t, data)
	require.Len(t, m.Faults, 1)
	assert.Equal(t, "F023", m.Faults[0].Code, "a page has no files beside the job")
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, data, err = bridge.Make(ctx, bridge.Demo(), bridge.Options{})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Nil(t, data)
}

// What was read at the steps is a readings file, and a place that was moved is found.
func TestCompare(t *testing.T) {
	s := bridge.Look(bridge.Demo(), false)
	var taken []bridge.Taken
	for _, st := range s.Shown.Steps {
		if st.ID == "yellow" {
			end, _, _ := strings.Cut(st.End, " (")
			side, _, _ := strings.Cut(st.Side, " (")
			taken = append(taken, bridge.Taken{ID: st.ID, End: end, Side: side + "\nblack: head 1"})
		}
	}
	require.Len(t, taken, 1)
	text, err := bridge.Readings(bridge.Demo(), taken)
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(text, "\n"), "a reading is one line's: %q", text)
	taken[0].Side, _, _ = strings.Cut(taken[0].Side, "\n")
	text, err = bridge.Readings(bridge.Demo(), taken)
	require.NoError(t, err)
	c := new(bridge.Comparer).Compare(bridge.Demo(), text, "1.2.3")
	require.Empty(t, c.Faults)
	assert.True(t, c.Pass)
	assert.NotEmpty(t, c.Unread)
	c = new(bridge.Comparer).Compare(bridge.Demo(), "yellow: head 530 mm\n", "1.2.3")
	require.Len(t, c.Places, 1)
	assert.False(t, c.Pass)
	assert.False(t, c.Places[0].Inside)
	assert.NotEmpty(t, c.Record)
	c = new(bridge.Comparer).Compare(bridge.Demo(), "yelow: head 530 mm\n", "1.2.3")
	assert.NotEmpty(t, c.Faults)
}

// A program with a planted fault is found wrong at its line, and its picture marks it.
func TestJudge(t *testing.T) {
	program := "G21 G90 G17 G94 G54 G40 G49\nM4 S0\nG1 X50 F600 S500\nG1 X900\nM5\nM2\n"
	var told int64
	opt := bridge.JudgeOptions{Name: "a.nc", Machine: "job", Open: func() io.Reader { return strings.NewReader(program) }, Progress: func(n int64) { told = n }}
	j, err := bridge.Judge(context.Background(), bridge.Demo(), opt)
	require.NoError(t, err)
	assert.Equal(t, "fail", j.Verdict)
	require.NotEmpty(t, j.Findings)
	assert.Contains(t, j.Findings[0].Where, "line 4")
	assert.Equal(t, "G1 X900", j.Findings[0].Source)
	assert.Equal(t, int64(len(program)), told)
	assert.Contains(t, j.Picture, `class="found error"`)
	half, err := j.Play(0.5)
	require.NoError(t, err)
	assert.Contains(t, half, `class="head"`)
	assert.Empty(t, j.If)
	program = "G0 X10 Y10\nM4 S0\nG1 X50 F600 S500\nM5\nM2\n"
	opt.Stock, opt.Assume = "1000 mm x 40 in", true
	j, err = bridge.Judge(context.Background(), bridge.Demo(), opt)
	require.NoError(t, err)
	assert.Contains(t, j.Against, "sheet 1000 x 1016 mm")
	assert.Contains(t, j.Told, "if what follows is so")
	assert.NotEmpty(t, j.If)
	assert.NotEmpty(t, j.Else)
	opt.Stock = "1000"
	_, err = bridge.Judge(context.Background(), bridge.Demo(), opt)
	assert.ErrorContains(t, err, "WxHxT")
	program = "G21 G90 G17 G94 G54 G40 G49\nM4 S0\nG1 X50 F600 S500\nG1 X900\nM5\nM2\n"
	opt.Machine, opt.Stock, opt.Assume = "", "", false
	j, err = bridge.Judge(context.Background(), "", opt)
	require.NoError(t, err)
	assert.NotEqual(t, "fail", j.Verdict, "no machine, no travel to leave: %+v", j.Findings)
	opt.Machine = "laser-600"
	_, err = bridge.Judge(context.Background(), "", opt)
	assert.ErrorContains(t, err, "laser-600x400")
	for _, m := range bridge.Machines() {
		opt.Machine = m.Value
		_, err = bridge.Judge(context.Background(), bridge.Demo(), opt)
		assert.NoError(t, err, m.Value)
	}
}

// Lines are counted as the interpreter counts them, whatever ends them.
func TestLinesOfAProgram(t *testing.T) {
	for _, end := range []string{"\n", "\r\n", "\r"} {
		program := strings.Join([]string{"G21 G90 G17 G94 G54 G40 G49", "", "(a)", "G1 X900 F600 \u202ex" + strings.Repeat("y", 300), "M2"}, end)
		j, err := bridge.Judge(context.Background(), bridge.Demo(), bridge.JudgeOptions{Machine: "laser-600x400", Open: func() io.Reader { return iotest.OneByteReader(strings.NewReader(program)) }})
		require.NoError(t, err)
		n := 0
		for _, f := range j.Findings {
			if strings.HasPrefix(f.Where, "line 4") {
				n++
				assert.True(t, strings.HasPrefix(f.Source, "G1 X900 F600 xyy"), "%q", f.Source)
				assert.Less(t, len(f.Source), 130)
			}
		}
		assert.Positive(t, n, "%q: %+v", end, j.Findings)
	}
}

func BenchmarkChange(b *testing.B) {
	text := bridge.Demo()
	for b.Loop() {
		text = bridge.Change(text, "table.length", []string{"2541"}, false).Text
	}
}
