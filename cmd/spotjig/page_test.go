package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/view/browsertest"
	"spotjig/post/web"
)

// builtPage is the page, compiled once for all tests of it.
var builtPage = sync.OnceValues(func() ([]web.File, error) { return buildPage(context.Background(), "") })

// openPage opens the page from its file, as by double click, and waits for the program.
func openPage(t *testing.T, b *browsertest.Browser) {
	t.Helper()
	files, err := builtPage()
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, writePage(filepath.Join(dir, "page"), files))
	b.Go("file://" + filepath.Join(dir, "page", web.PageName))
	b.Until(`document.body.dataset.ready !== undefined && document.body.dataset.state !== undefined`)
}

// settled does something and waits until the page shows what came of it.
func settled(b *browsertest.Browser, what func()) {
	was := b.Eval(`document.body.dataset.state || "0"`).(string)
	what()
	b.Until(fmt.Sprintf(`document.body.dataset.state > Number(%q) && document.body.dataset.took !== ""`, was))
}

// printed is what a command prints.
func printed(t *testing.T, args ...string) string {
	t.Helper()
	var out, errw bytes.Buffer
	require.Zero(t, run(context.Background(), args, nil, &out, &errw), errw.String())
	return out.String()
}

// TestPage uses the page in a browser as a fitter does: readings are typed, marks and the
// whole set are what the commands give, byte for byte.
func TestPage(t *testing.T) {
	b := browsertest.New(t)
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("the page: %v\n%v", b.Eval(`document.querySelector("#status").textContent`), b.Complaints())
		}
	})
	b.Size(1400, 1000)
	b.Media("light", "reduce")
	openPage(t, b)
	dir := t.TempDir()
	b.Call("Browser.setDownloadBehavior", map[string]any{"behavior": "allow", "downloadPath": dir, "eventsEnabled": true})
	t.Logf("ready after %v ms", b.Eval(`document.body.dataset.ready`))
	t.Run("a reading that is none", func(t *testing.T) {
		b.For(t)
		assert.Contains(t, b.Eval(`document.querySelector("#faults").textContent`), "J019", "nothing is measured yet")
		settled(b, func() { b.Type("#f-table-length", "100 x") })
		b.Until(`document.querySelector("#f-table-length-t .fault") !== null`)
		assert.Contains(t, b.Eval(`document.querySelector("#f-table-length-t .fault").textContent`), "100 x")
	})
	t.Run("readings typed", func(t *testing.T) {
		b.For(t)
		b.Type("#f-table-length", "2541")
		b.Type("#f-table-width", "1269.5")
		b.Until(`document.body.classList.contains("has")`)
		b.Until(`document.querySelector("#f-table-length-t .echo") !== null && document.querySelector("#f-table-length-t .echo").textContent.indexOf("2541.0 mm") === 0`)
		b.Click(`#f-games input[value="snooker"]`)
		b.Until(`document.querySelector('#mark-rows tr[data-id="black"]') !== null`)
		b.Until(`document.querySelector("#narrow").src.indexOf("blob:") === 0`)
		t.Logf("a change takes %v ms", b.Eval(`document.body.dataset.took`))
		b.Picture("1400")
	})
	t.Run("marks are the command's", func(t *testing.T) { b.For(t); sameMarks(t, b) })
	t.Run("set is the command's", func(t *testing.T) { b.For(t); sameSet(t, b, dir) })
	t.Run("planted fault", func(t *testing.T) { b.For(t); plantedFault(t, b) })
	b.For(t)
	assert.Empty(t, b.Complaints())
}

// sameMarks saves the job, and holds every row of the page against what the command says
// of the saved file.
func sameMarks(t *testing.T, b *browsertest.Browser) {
	name := filepath.Join(t.TempDir(), "job.yaml")
	require.NoError(t, os.WriteFile(name, []byte(b.Eval(`document.querySelector("#text").value`).(string)), 0o600))
	var want struct {
		Marks []struct{ ID, Name string }
	}
	require.NoError(t, json.Unmarshal([]byte(printed(t, "marks", name, "--format", "json")), &want))
	require.NotEmpty(t, want.Marks)
	got := b.Eval(`Array.prototype.map.call(document.querySelectorAll("#mark-rows tr"), function (r) { return r.dataset.id })`).([]any)
	require.Len(t, got, len(want.Marks))
	for i, m := range want.Marks {
		assert.Equal(t, m.ID, got[i])
	}
	shown := b.Eval(`document.querySelector("#marks").textContent`).(string)
	for line := range strings.Lines(printed(t, "marks", name)) {
		cells := strings.Split(strings.TrimSpace(line), "  ")
		if len(cells) < 4 || cells[0] == "mark" {
			continue
		}
		for _, c := range cells[1 : len(cells)-1] {
			assert.Contains(t, shown, strings.TrimSpace(c), line)
		}
	}
}

// sameSet makes the whole set of the demo and holds the archive against the folder that
// the command writes.
func sameSet(t *testing.T, b *browsertest.Browser, downloads string) {
	settled(b, func() { b.Click("#demo") })
	b.Until(`document.querySelector("#text").value.indexOf("Mill Lane") > 0`)
	assert.Equal(t, true, b.Eval(`document.querySelector("#build").disabled`), "no program before the cautions are read")
	assert.NotEmpty(t, b.Eval(`document.querySelector("#cautions").textContent`))
	b.Click("#heeded")
	b.Click("#build")
	b.Until(`!document.querySelector("#save-set").disabled || document.querySelector("#made-faults").textContent !== ""`)
	t.Logf("demo made in %v ms", b.Eval(`document.body.dataset.made`))
	b.Click("#save-set")
	archive := filepath.Join(downloads, "spotjig-set.zip")
	require.Eventually(t, func() bool { _, err := os.Stat(archive); return err == nil }, 30*time.Second, 50*time.Millisecond)
	folder := filepath.Join(t.TempDir(), "set")
	printed(t, "make", "-o", folder)
	data, err := os.ReadFile(archive)
	require.NoError(t, err)
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, z.File, len(entries))
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		got, err := io.ReadAll(r)
		require.NoError(t, err)
		want, err := os.ReadFile(filepath.Join(folder, f.Name))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(want, got), "%s differs", f.Name)
	}
	settled(b, func() { b.Type("#f-name", "Another hall") })
	assert.Equal(t, true, b.Eval(`document.querySelector("#save-set").disabled`), "a set of another job is not saved")
}

// plantedFault drops a program that leaves the machine on a known line.
func plantedFault(t *testing.T, b *browsertest.Browser) {
	name := filepath.Join(t.TempDir(), "planted.nc")
	program := "G21 G90 G17 G94 G54 G40 G49\nG0 X10 Y10\nM4 S0\nG1 X50 Y10 F600 S500\nG1 X50 Y50\nG1 X900 Y50\nM5\nM2\n"
	require.NoError(t, os.WriteFile(name, []byte(program), 0o600))
	b.Give("#program", name)
	b.Until(`!document.querySelector("#judged").hidden`)
	assert.Equal(t, "fail", b.Eval(`document.querySelector("#verdict").textContent`))
	assert.Contains(t, b.Eval(`document.querySelector("#findings").textContent`), "line 6")
	b.Until(`document.querySelector("#way").naturalWidth > 0`)
	b.Picture("1400-judged")
	svg := b.Eval(`document.querySelector("#way").src`).(string)
	b.Choose("#scrub", "300")
	b.Until(fmt.Sprintf(`document.querySelector("#way").src !== %q`, svg))
}
