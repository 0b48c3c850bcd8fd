package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cmd/spotjig/page"
	"spotjig/layout/job"
	"spotjig/post/view/browsertest"
	"spotjig/post/web"
)

// builtPage is the page, compiled once for all tests of it, with the stamp of the commands
// that it is held against.
var builtPage = sync.OnceValues(func() ([]web.File, error) {
	return page.Build(context.Background(), "", thisBuild().Stamp)
})

// openPage opens the page from its file, as by double click, and waits for the program.
func openPage(t *testing.T, b *browsertest.Browser) {
	t.Helper()
	files, err := builtPage()
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, page.Write(filepath.Join(dir, "page"), files))
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

// inFull leaves a test of the page out of a run between two edits: each start of a browser
// and of the page's program in it takes seconds, and TestPage goes through most of the page.
func inFull(t *testing.T) {
	t.Helper()
	if os.Getenv("SPOTJIG_ALL") == "" {
		t.Skip("the page once more: SPOTJIG_ALL=1 runs it")
	}
	t.Parallel()
}

// TestPage uses the page in a browser as a fitter does: readings are typed, marks and the
// whole set are what the commands give, byte for byte. The page is started once for all of
// it: what was done before must not matter to what follows. Between two edits it types
// readings, compares marks and judges one program; SPOTJIG_ALL=1 makes the demo's set, and
// does all the rest. (post/web/bridge holds sets against the commands' in every run.)
func TestPage(t *testing.T) {
	t.Parallel()
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
	every := os.Getenv("SPOTJIG_ALL") != ""
	t.Run("readings typed", func(t *testing.T) {
		b.For(t)
		b.Type("#f-table-length", "2541")
		b.Type("#f-table-width", "1269.5")
		b.Until(`document.body.classList.contains("has")`)
		b.Until(`document.querySelector("#f-table-length-t .echo") !== null && document.querySelector("#f-table-length-t .echo").textContent.indexOf("2541.0 mm") === 0`)
		b.Click(`#f-games input[value="snooker"]`)
		b.Until(`document.querySelector('#mark-rows tr[data-id="black"]') !== null`)
		b.Until(`document.querySelector("#plan").naturalWidth > document.querySelector("#plan").naturalHeight`)
		t.Logf("a change takes %v ms", b.Eval(`document.body.dataset.took`))
		for _, part := range []string{"job", "table", "marking", "make"} {
			b.Picture("1400-"+part, "#"+part)
		}
	})
	t.Run("marks are the command's", func(t *testing.T) { b.For(t); sameMarks(t, b) })
	if every {
		t.Run("job is saved", func(t *testing.T) { b.For(t); savesJob(t, b, dir) })
	}
	settled(b, func() { b.Click("#demo") })
	b.Until(`document.querySelector("#text").value.indexOf("Mill Lane") > 0`)
	t.Run("cautions are read first", func(t *testing.T) { b.For(t); heeds(t, b) })
	if every {
		t.Run("cancelled", func(t *testing.T) { b.For(t); cancels(t, b) })
		t.Run("set is the command's", func(t *testing.T) { b.For(t); sameSet(t, b, dir) })
		t.Run("planted fault", func(t *testing.T) { b.For(t); plantedFault(t, b) })
	}
	t.Run("dropped", func(t *testing.T) { b.For(t); judgesWhatIsDropped(t, b) })
	if every {
		programsAndOtherJobs(t, b)
	}
	b.For(t)
	assert.Empty(t, b.Complaints())
}

// savesJob saves the job, which is the text shown, and has the command read it.
func savesJob(t *testing.T, b *browsertest.Browser, dir string) {
	b.Click("#save")
	saved := filepath.Join(dir, "job.yaml")
	require.Eventually(t, func() bool { _, err := os.Stat(saved); return err == nil }, 30*time.Second, 50*time.Millisecond)
	data, err := os.ReadFile(saved)
	require.NoError(t, err)
	assert.Equal(t, b.Eval(`document.querySelector("#text").value`), string(data))
	assert.NotContains(t, printed(t, "marks", saved), "no length and width are given")
}

// judgesWhatIsDropped drops a program on the page, which names the line that leaves the machine.
func judgesWhatIsDropped(t *testing.T, b *browsertest.Browser) {
	b.Eval(`(function () {
		var d = new DataTransfer();
		d.items.add(new File(["G21 G90 G17 G94 G54 G40 G49\nG0 X9000\nM2\n"], "dropped.nc"));
		document.querySelector("#drop").dispatchEvent(new DragEvent("drop", { dataTransfer: d, bubbles: true, cancelable: true }));
		return true;
	})()`)
	b.Until(`document.querySelector("#judge-status").textContent.indexOf("dropped.nc, held against") === 0`)
	assert.Contains(t, b.Eval(`document.querySelector("#findings").textContent`), "line 2")
}

// programsAndOtherJobs is what is done after a set has been made: programs are judged, and
// other jobs read.
func programsAndOtherJobs(t *testing.T, b *browsertest.Browser) {
	t.Run("judged as the command judges", func(t *testing.T) { b.For(t); sameVerdict(t, b) })
	t.Run("other cautions are read anew", func(t *testing.T) {
		b.For(t)
		assert.Equal(t, true, b.Eval(`document.querySelector("#heeded").checked`), "the same cautions were read")
		settled(b, func() { b.Choose("#text", strings.ReplaceAll(string(job.Demo()), "process: laser", "process: shop")) })
		b.Until(`!document.querySelector("#heeded").checked && document.querySelector("#build").disabled`)
	})
	t.Run("hostile text", func(t *testing.T) { b.For(t); showsHostileText(t, b) })
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

// heeds reads the cautions, before which nothing is made.
func heeds(t *testing.T, b *browsertest.Browser) {
	assert.Equal(t, true, b.Eval(`document.querySelector("#build").disabled`), "no program before the cautions are read")
	assert.NotEmpty(t, b.Eval(`document.querySelector("#cautions").textContent`))
	b.Click("#heeded")
}

// cancels begins to make a set and cancels it.
func cancels(t *testing.T, b *browsertest.Browser) {
	b.Click("#build")
	b.Until(`!document.querySelector("#cancel").disabled`)
	b.Click("#cancel")
	b.Until(`document.querySelector("#made-status").textContent.indexOf("Cancelled") === 0`)
	assert.Equal(t, true, b.Eval(`document.querySelector("#save-set").disabled`))
}

// sameSet makes the demo's whole set, after one that was cancelled, and holds the archive
// against the folder that the command writes.
func sameSet(t *testing.T, b *browsertest.Browser, downloads string) {
	assert.Equal(t, true, b.Eval(`document.querySelector("#heeded").checked`), "its cautions were read before")
	b.Click("#build")
	b.Until(`!document.querySelector("#save-set").disabled || document.querySelector("#made-faults").textContent !== ""`)
	t.Logf("made in %v ms", b.Eval(`document.body.dataset.made`))
	b.Picture("1400-made", "#make")
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
	b.Click("#single summary")
	b.Click(`#made-rows button[data-file="marks.csv"]`)
	one := filepath.Join(downloads, "marks.csv")
	require.Eventually(t, func() bool { _, err := os.Stat(one); return err == nil }, 30*time.Second, 50*time.Millisecond)
	got, err := os.ReadFile(one)
	require.NoError(t, err)
	want, err := os.ReadFile(filepath.Join(folder, "marks.csv"))
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
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
	assert.Regexp(t, `^fail: \d+ errors?, `, b.Eval(`document.querySelector("#verdict").textContent`))
	assert.Contains(t, b.Eval(`document.querySelector("#findings").textContent`), "line 6")
	b.Until(`document.querySelector("#way").naturalWidth > 0`)
	b.Picture("1400-judge", "#judge")
	svg := b.Eval(`document.querySelector("#way").src`).(string)
	b.Choose("#scrub", "300")
	b.Until(fmt.Sprintf(`document.querySelector("#way").src !== %q`, svg))
	assert.Contains(t, b.Eval(`document.querySelector("#findings").textContent`), "G1 X900 Y50")
	b.Click("#play")
	b.Until(`document.querySelector("#scrub").value === "1000" && document.querySelector("#play").textContent === "Play"`)
}

// sameVerdict holds what the page says of a program, with and without what is usual taken
// and a sheet, against what the command prints.
func sameVerdict(t *testing.T, b *browsertest.Browser) {
	name := filepath.Join(t.TempDir(), "bought.nc")
	require.NoError(t, os.WriteFile(name, []byte("G1 X50 Y10 F600\nG1 X50 Y50\nM2\n"), 0o600))
	b.Choose("#machine", "laser-600x400")
	for _, c := range []struct {
		stock  string
		assume bool
	}{{"", false}, {"", true}, {"40x40x5", true}, {"24 in x 16 in", true}} {
		args := []string{"dryrun", "--machine", "laser-600x400", name}
		if c.assume {
			args = append(args, "--assume")
		}
		if c.stock != "" {
			args = append(args, "--stock", c.stock)
		}
		var out, errw bytes.Buffer
		run(context.Background(), args, nil, &out, &errw)
		want, _, _ := strings.Cut(strings.TrimPrefix(out.String(), name+": "), "\n")
		b.Eval(fmt.Sprintf(`document.querySelector("#stock").value = %q; document.querySelector("#assume").checked = %v; document.querySelector("#judge-status").textContent = ""; true`, c.stock, c.assume))
		b.Give("#program", name)
		b.Until(`document.querySelector("#judge-status").textContent.indexOf("bought.nc, held against laser-600x400") === 0`)
		assert.Equal(t, want, b.Eval(`document.querySelector("#verdict").textContent`), "%v: %s%s", args, &out, &errw)
		rests := b.Eval(`document.querySelector("#rests").textContent`).(string)
		assert.Equal(t, strings.Contains(out.String(), "\n  if "), rests != "", rests)
	}
	b.Picture("1400-assumed", "#judge")
	b.Choose("#stock", "banana")
	b.Until(`document.querySelector("#judge-status").textContent.indexOf("WxHxT") > 0`)
	b.Choose("#stock", "")
	b.Until(`document.querySelector("#judge-status").textContent.indexOf("held against") > 0`)
	b.Eval(`document.querySelector("#assume").checked = false; true`)
	b.Choose("#machine", "job")
	b.Until(`document.querySelector("#judge-status").textContent.indexOf("sheet 600 x 400") > 0`)
}

// TestPageOnAPhone marks a table with the page at a phone's width: a step at a time, the
// step remembered, what was read on the cloth compared, nothing wider than the screen.
func TestPageOnAPhone(t *testing.T) {
	inFull(t)
	b := browsertest.New(t)
	b.Size(390, 844)
	b.Media("dark", "reduce")
	files, err := builtPage()
	require.NoError(t, err)
	s := httptest.NewServer(page.Handler(files))
	t.Cleanup(s.Close)
	shown := func() {
		b.Go(s.URL)
		b.Until(`document.body.dataset.ready !== undefined && document.body.classList.contains("has")`)
	}
	narrow := func() {
		b.Until(`document.querySelector("#plan").naturalHeight > document.querySelector("#plan").naturalWidth && document.querySelector("#plan").naturalWidth > 0`)
		assert.LessOrEqual(t, b.Eval(`document.documentElement.scrollWidth`), 390.0)
	}
	shown()
	settled(b, func() { b.Click("#demo") })
	b.Until(`document.querySelector("#step-h").textContent.indexOf("Step 1 of") === 0`)
	narrow()
	for _, part := range []string{"job", "table", "marks", "balls", "marking", "make", "judge"} {
		b.Picture("390-"+part, "#"+part)
	}
	b.Choose("#text", "units: in\n"+string(job.Demo()))
	b.Until(`document.querySelector("#step-how").textContent.indexOf("20 21/32 in (524.5 mm)") >= 0`)
	b.Until(`document.querySelector("#plan").naturalWidth > 0`)
	b.Picture("390-inches", "#table")
	b.Size(1400, 1000)
	b.Until(`document.querySelector("#plan").naturalHeight < document.querySelector("#plan").naturalWidth`)
	b.Picture("1400-inches", "#table")
	b.Size(390, 844)
	settled(b, func() { b.Click("#demo") })
	yellow := b.Eval(`Array.prototype.findIndex.call(document.querySelectorAll("#steps option"), function (o) { return o.textContent.indexOf("yellow") >= 0 })`).(float64)
	require.Greater(t, yellow, 0.0)
	for range int(yellow) {
		b.Click("#next")
	}
	assert.Contains(t, b.Eval(`document.querySelector("#step-h").textContent`), "yellow")
	how := b.Eval(`document.querySelector("#step-how").textContent`).(string)
	assert.Contains(t, how, "524.5 mm (20 21/32 in) from the head nose")
	b.Type("#read-end", "524.5 mm")
	b.Type("#read-side", "440")
	b.Click("#take")
	b.Until(`document.querySelector("#readings").value.indexOf("yellow") === 0`)
	b.Until(`document.querySelector("#compare-verdict").textContent !== ""`)
	assert.Contains(t, b.Eval(`document.querySelector("#compare-rows").textContent`), "outside")
	b.Click("#keep")
	b.Until(`localStorage.getItem("spotjig job") !== null`)
	narrow()
	b.Picture("390-compare", "#compare")

	// Without the network, from the service worker: the kept job and the step are there.
	b.Until(`navigator.serviceWorker.ready.then(function (r) { return r.active.state === "activated" || r.active.state === "activating" })`)
	b.Until(`caches.keys().then(function (k) { return k.length === 1 })`)
	b.Call("Network.emulateNetworkConditions", map[string]any{"offline": true, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0})
	s.Close()
	shown()
	assert.Contains(t, b.Eval(`document.querySelector("#text").value`), "Mill Lane")
	b.Until(`document.querySelector("#step-h").textContent.indexOf("yellow") > 0`)
	for _, c := range b.Complaints() {
		assert.True(t, strings.HasPrefix(c, "request: "+s.URL), c)
	}
}

// showsHostileText: a job file that wants to act is shown as text.
func showsHostileText(t *testing.T, b *browsertest.Browser) {
	for i, text := range []string{"<img src=x onerror=document.title='acted'>", "</script><script>document.title='acted'</script>", "\"><svg onload=document.title='acted'>"} {
		name := filepath.Join(t.TempDir(), "job.yaml")
		require.NoError(t, os.WriteFile(name, []byte(strings.Replace(string(job.Demo()), "Mill Lane Hall, table 1", "'"+strings.ReplaceAll(text, "'", "''")+"'", 1)), 0o600))
		settled(b, func() { b.Give("#open", name) })
		b.Until(fmt.Sprintf(`document.querySelector("#f-name").value === %q`, text))
		assert.Equal(t, true, b.Eval(`document.body.classList.contains("has")`), "job %d", i)
		program := filepath.Join(t.TempDir(), "a<img src=x onerror=document.title='acted'>.nc")
		require.NoError(t, os.WriteFile(program, []byte("("+text+")\nG1 "+text+"\nM2\n"), 0o600))
		b.Give("#program", program)
		b.Until(`document.querySelector("#judge-status").textContent.indexOf("held against") > 0`)
	}
	assert.NotEqual(t, "acted", b.Eval(`document.title`))
	assert.Equal(t, 0.0, b.Eval(`document.querySelectorAll("main script, main [onload], main [onerror]").length`))
}

// TestPageIsQuick prints sizes, times and memory, in a browser as it is and with its page
// four times slower; it asserts none. The browser slows pages and not their workers: what
// the program took in its worker is counted four times instead. It is to be run by itself
// to be believed.
func TestPageIsQuick(t *testing.T) {
	inFull(t)
	b := browsertest.New(t)
	files, err := builtPage()
	require.NoError(t, err)
	t.Logf("page %d bytes", len(files[0].Data))
	b.Size(1400, 1000)
	for _, rate := range []int{1, 4} {
		b.Call("Emulation.setCPUThrottlingRate", map[string]any{"rate": rate})
		openPage(t, b)
		paint := b.Eval(`performance.getEntriesByName("first-contentful-paint").map(function (e) { return e.startTime })[0] || 0`)
		ready := b.Eval(`document.body.dataset.ready`)
		settled(b, func() { b.Click("#demo") })
		var took []float64
		for i := range 21 {
			settled(b, func() { b.Type("#f-table-length", fmt.Sprint(2540+i)) })
			b.Until(`document.querySelector("#f-table-length-t .echo") !== null`)
			all, worked := b.Eval(`Number(document.body.dataset.took)`).(float64), b.Eval(`Number(document.body.dataset.worked)`).(float64)
			took = append(took, all+float64(rate-1)*worked)
		}
		slices.Sort(took)
		t.Logf("processor slowed %d times: first paint %v ms, ready %v ms, a change %.0f ms (least %.0f, most %.0f of %d)", rate, paint, ready, took[len(took)/2], took[0], took[len(took)-1], len(took))
		t.Logf("memory of the program %v bytes, of the page's script %v", b.Eval(`document.body.dataset.memory`), b.Eval(`performance.memory.usedJSHeapSize`))
	}
	b.Call("Emulation.setCPUThrottlingRate", map[string]any{"rate": 1})
	begun := time.Now()
	printed(t, "make", "-o", filepath.Join(t.TempDir(), "set"))
	native := time.Since(begun)
	b.Click("#heeded")
	b.Click("#build")
	b.Until(`!document.querySelector("#save-set").disabled`)
	t.Logf("a set: native %v, in the page %v ms, memory %v bytes", native, b.Eval(`document.body.dataset.made`), b.Eval(`document.body.dataset.memory`))
	const size = 100_000_000
	name := filepath.Join(t.TempDir(), "long.nc")
	require.NoError(t, os.WriteFile(name, longProgram(size), 0o600))
	begun = time.Now()
	b.Give("#program", name)
	b.Until(`document.querySelector("#judge-status").textContent.indexOf("being") > 0`)
	for b.Eval(`!document.querySelector("#judged").hidden`) != true && time.Since(begun) < 5*time.Minute {
		time.Sleep(100 * time.Millisecond)
	}
	b.Until(`!document.querySelector("#judged").hidden`)
	t.Logf("dry run of %d bytes: %v, memory %v bytes, of the page's script %v, %v", size, time.Since(begun), b.Eval(`document.body.dataset.memory`), b.Eval(`performance.memory.usedJSHeapSize`), b.Eval(`document.querySelector("#judged-lines").textContent`))
}

// longProgram is a program of about size bytes that goes to and fro.
func longProgram(size int) []byte {
	var b bytes.Buffer
	b.WriteString("G21 G90 G17 G94 G54 G40 G49\nM5 S0\nG0 X10 Y10\nM4\nF600\n")
	for i := 0; b.Len() < size; i++ {
		fmt.Fprintf(&b, "G1 X%d.%04d Y%d.%04d S500\n", 10+i*37%560, i%10000, 10+i*53%370, i*7%10000)
	}
	b.WriteString("M5\nM2\n")
	return b.Bytes()
}

// TestPageAxe has a published checker of accessibility look at the page, where AXE names
// its script (axe-core's axe.min.js).
func TestPageAxe(t *testing.T) {
	script := os.Getenv("AXE")
	if script == "" {
		t.Skip("skipped: AXE does not name axe-core's axe.min.js")
	}
	source, err := os.ReadFile(script)
	require.NoError(t, err)
	b := browsertest.New(t)
	t.Cleanup(func() {
		if t.Failed() {
			t.Log(b.Eval(`["status", "judge-status", "made-status", "faults"].map(function (id) { return document.getElementById(id).textContent; })`), b.Complaints())
		}
	})
	openPage(t, b)
	for _, width := range []int{1400, 390} {
		for _, scheme := range []string{"light", "dark"} {
			b.Size(width, 900)
			b.Media(scheme, "reduce")
			b.Click("#demo")
			b.Until(`document.body.classList.contains("has") && document.querySelector("#f-table-length-t .fault") === null`)
			plantedFault(t, b)
			axe := func(what string) {
				got := b.Eval(`axe.run().then(function (r) { return r.violations.map(function (v) { return v.id + ": " + v.nodes.map(function (n) { return n.target.join(" ") + " " + n.failureSummary; }).join("; "); }); })`)
				assert.Empty(t, got, "%s, %d pixels, %s", what, width, scheme)
			}
			b.Eval(`document.querySelectorAll("details").forEach(function (d) { d.open = true; }); document.querySelector("#readings").value = "yellow: head 530"; document.querySelector("#readings").dispatchEvent(new Event("input")); true`)
			b.Until(`document.querySelector("#compare-rows").textContent !== ""`)
			b.Eval(string(source) + ";true")
			axe("faults found")
			b.Eval(`document.querySelector("#heeded").checked = true; document.querySelector("#heeded").dispatchEvent(new Event("change")); true`)
			b.Click("#build")
			b.Until(`!document.querySelector("#save-set").disabled && !document.querySelector("#single").hidden`)
			b.Click("#next")
			axe("a set made, the second step")
			assumed := filepath.Join(t.TempDir(), "bought.nc")
			require.NoError(t, os.WriteFile(assumed, []byte("G1 X50 Y10 F600\nM2\n"), 0o600))
			b.Eval(`document.querySelector("#assume").checked = true; true`)
			b.Give("#program", assumed)
			b.Until(`document.querySelector("#rests").textContent !== ""`)
			settled(b, func() { b.Type("#f-table-length", "100 x") })
			axe("something taken, a field's fault, no table shown")
			b.Eval(`document.querySelector("#assume").checked = false; true`)
		}
	}
}
