package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/dryrun"
)

const cleanProgram = "G21 G90 G17 G94 G40 G49 G54\nM5\nS0\nG0 X10 Y10\nM4\nS300\nG1 X50 F1200\nG2 X60 Y20 I0 J10\nS0\nM5\nM2\n"

// putFiles writes files into a new folder and returns it.
func putFiles(t *testing.T, files map[string]string) string {
	dir := t.TempDir()
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	return dir
}

func dryrunJSON(t *testing.T, opt dryrunOptions) (exit int, reports []dryrun.Report, stderr string) {
	opt.JSON = true
	var out, errw bytes.Buffer
	exit = runDryrun(context.Background(), opt, &out, &errw)
	var doc struct{ Files []dryrun.Report }
	require.NoError(t, json.Unmarshal(out.Bytes(), &doc), out.String())
	return exit, doc.Files, errw.String()
}

func TestDryrunFlags(t *testing.T) {
	var got dryrunOptions
	cmd := newDryrunCmd(func(_ context.Context, o dryrunOptions) error { got = o; return nil })
	cmd.SetArgs([]string{"a.nc", "--machine", "laser-600x400", "--material", "m", "--stock", "600x400x5", "--start", "1,2,3", "--json", "b.nc"})
	require.NoError(t, cmd.Execute())
	got.In = nil
	assert.Equal(t, dryrunOptions{Files: []string{"a.nc", "b.nc"}, Machine: "laser-600x400", Material: "m", Stock: "600x400x5", Start: "1,2,3", JSON: true}, got)
}

func TestDryrunExitStatus(t *testing.T) {
	dir := putFiles(t, map[string]string{
		"good.nc": cleanProgram,
		"warn.nc": "G21 G90 G17 G94 G40 G49 G54\nM5 S0\nG0 X10 Y10\nG92 X0\nM2\n",
		"bad.nc":  "G21 G90 G17 G94 G40 G49 G54\nG0 X9999\nM2\n",
	})
	at := func(names ...string) (out []string) {
		for _, n := range names {
			out = append(out, filepath.Join(dir, n))
		}
		return out
	}
	for _, c := range []struct {
		name     string
		files    []string
		exit     int
		verdicts []string
	}{
		{"one that passes", at("good.nc"), 0, []string{"pass"}},
		{"a warning passes", at("warn.nc"), 0, []string{"warn"}},
		{"one that fails", at("bad.nc"), 1, []string{"fail"}},
		{"one of two fails", at("bad.nc", "good.nc"), 1, []string{"fail", "pass"}},
		{"a missing file does not hide the others", at("nosuch.nc", "good.nc", "bad.nc"), 1, []string{"fail", "pass", "fail"}},
		{"a folder", at(""), 1, []string{"fail", "pass", "warn"}},
		{"a pattern", at("[gw]*.nc"), 0, []string{"pass", "warn"}},
		{"a pattern of nothing", at("*.zzz"), 1, []string{"fail"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			exit, reports, _ := dryrunJSON(t, dryrunOptions{Files: c.files, Machine: "laser-600x400"})
			assert.Equal(t, c.exit, exit)
			var got []string
			for _, r := range reports {
				got = append(got, r.Verdict)
			}
			assert.Equal(t, c.verdicts, got)
		})
	}
}

func TestDryrunMissingFileIsNamed(t *testing.T) {
	dir := putFiles(t, map[string]string{"good.nc": cleanProgram})
	missing := filepath.Join(dir, "nosuch.nc")
	_, reports, stderr := dryrunJSON(t, dryrunOptions{Files: []string{missing, filepath.Join(dir, "good.nc")}, Machine: "laser-600x400"})
	assert.Empty(t, stderr, "what is wrong stands in the report")
	assert.Equal(t, missing, reports[0].File)
	require.Len(t, reports, 2)
	require.Len(t, reports[0].Problems, 1)
	assert.Equal(t, "D001", reports[0].Problems[0].Code)
	assert.Nil(t, reports[0].End)
}

func TestDryrunUsage(t *testing.T) {
	dir := putFiles(t, map[string]string{"good.nc": cleanProgram})
	good := []string{filepath.Join(dir, "good.nc")}
	for _, c := range []struct {
		name string
		opt  dryrunOptions
		exit int
		says string
	}{
		{"no file", dryrunOptions{}, 2, "no program named"},
		{"start of one number", dryrunOptions{Files: good, Start: "5"}, 2, "want x,y,z"},
		{"start that is no length", dryrunOptions{Files: good, Start: "5,a"}, 2, "--start"},
		{"stock of one number", dryrunOptions{Files: good, Stock: "5"}, 2, "want WxHxT"},
		{"stock of no width", dryrunOptions{Files: good, Stock: "0x5x1"}, 2, "above zero"},
		{"no such machine", dryrunOptions{Files: good, Machine: "nosuch"}, 1, "built in are"},
		{"no such material", dryrunOptions{Files: good, Material: "nosuch"}, 1, "built in are"},
		{"no such code", dryrunOptions{Explain: "D999"}, 2, "nothing is called"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var out, errw bytes.Buffer
			assert.Equal(t, c.exit, runDryrun(context.Background(), c.opt, &out, &errw))
			assert.Contains(t, errw.String(), c.says)
			assert.Empty(t, out.String())
		})
	}
}

func TestDryrunText(t *testing.T) {
	dir := putFiles(t, map[string]string{"bad.nc": "G21 G90 G17 G94 G40 G49 G54 M5 S0\nG0 X700 Y10\nM2\n"})
	file := filepath.Join(dir, "bad.nc")
	var out, errw bytes.Buffer
	assert.Equal(t, 1, runDryrun(context.Background(), dryrunOptions{Files: []string{file}, Machine: "laser-600x400"}, &out, &errw))
	assert.Contains(t, out.String(), file+":2:4: error: X reaches 700.000 mm, 100.000 mm past the upper limit of 600.000 mm; first on line 2, worst on line 2 [D601]\n    help: ")
	assert.Contains(t, out.String(), file+": fail: 1 error, 0 warnings\n")
	assert.Empty(t, errw.String())
}

func TestDryrunExplain(t *testing.T) {
	var out, errw bytes.Buffer
	assert.Equal(t, 0, runDryrun(context.Background(), dryrunOptions{Explain: "d701"}, &out, &errw))
	assert.Contains(t, out.String(), "D701: beam on in a rapid (error)")
	assert.Empty(t, errw.String())
}

func TestDryrunStockAndStart(t *testing.T) {
	dir := putFiles(t, map[string]string{"a.nc": cleanProgram})
	opt := dryrunOptions{Files: []string{filepath.Join(dir, "a.nc")}, Machine: "laser-600x400", Start: "1,2,3"}
	exit, reports, _ := dryrunJSON(t, opt)
	assert.Equal(t, 0, exit)
	assert.Equal(t, &dryrun.XYZ{X: 1, Y: 2, Z: 3}, reports[0].Start)
	opt.Stock = "55x400x5"
	exit, reports, _ = dryrunJSON(t, opt)
	assert.Equal(t, 1, exit)
	require.NotEmpty(t, reports[0].Problems)
	assert.Equal(t, "D602", reports[0].Problems[0].Code)
}

func TestDryrunInterrupted(t *testing.T) {
	dir := putFiles(t, map[string]string{"a.nc": cleanProgram})
	ctx, stop := context.WithCancel(context.Background())
	stop()
	var out, errw bytes.Buffer
	assert.Equal(t, 130, runDryrun(ctx, dryrunOptions{Files: []string{filepath.Join(dir, "a.nc")}}, &out, &errw))
	assert.Empty(t, out.String())
}
