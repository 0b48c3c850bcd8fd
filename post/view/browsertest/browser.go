// Package browsertest drives one headless Chromium over its debugging pipe, for tests:
// pages are opened, typed into and pressed as a person does, and asked what they show.
package browsertest

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Browser drives one headless Chromium over its debugging pipe: JSON messages
// that end with NUL, commands on descriptor 3, answers and events on 4.
type Browser struct {
	t       *testing.T
	in      io.WriteCloser
	mu      sync.Mutex
	next    int
	waiting map[int]chan reply
	session string
	events  []event
}

type reply struct {
	Result json.RawMessage `json:"result"`
	Error  *struct {
		Message string `json:"message"`
	} `json:"error"`
}

type event struct {
	Method string          `json:"method"`
	Params json.RawMessage `json:"params"`
}

// patience is how long one answer may take; a loaded machine starts slowly.
const patience = 3 * time.Minute

// New starts Chromium, or skips the test and prints why not.
func New(t *testing.T) *Browser {
	t.Helper()
	if testing.Short() {
		t.Skip("skipped: -short leaves the browser tests out")
	}
	bin := os.Getenv("CHROMIUM")
	if bin == "" {
		for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
			if p, err := exec.LookPath(name); err == nil {
				bin = p
				break
			}
		}
	}
	if bin == "" {
		t.Skip("skipped: no Chromium found (install Debian's chromium or set CHROMIUM)")
	}
	toR, toW, err := os.Pipe()
	require.NoError(t, err)
	fromR, fromW, err := os.Pipe()
	require.NoError(t, err)
	quick := "--js-flags="
	if os.Getenv("SPOTJIG_ALL") == "" {
		// The same program, compiled once and not again better where it is run often: most of
		// what a start of the page costs, for a page that is used for seconds.
		quick += "--liftoff-only"
	}
	cmd := exec.Command(bin, "--headless=new", quick, "--remote-debugging-pipe", "--no-sandbox", "--disable-gpu", "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage", "--hide-scrollbars",
		"--user-data-dir="+t.TempDir(), "about:blank")
	cmd.ExtraFiles = []*os.File{toR, fromW}
	require.NoError(t, cmd.Start())
	toR.Close()
	fromW.Close()
	b := &Browser{t: t, in: toW, waiting: map[int]chan reply{}}
	done := make(chan struct{})
	go func() { b.read(fromR); close(done) }()
	t.Cleanup(func() {
		b.in.Write([]byte(`{"id":1000000,"method":"Browser.close"}` + "\x00"))
		waited := make(chan error, 1)
		go func() { waited <- cmd.Wait() }()
		select {
		case <-waited:
		case <-time.After(10 * time.Second):
			cmd.Process.Kill()
			<-waited
		}
		b.in.Close()
		fromR.Close()
		<-done
	})
	var target struct{ TargetID string }
	b.Into(&target, "Target.createTarget", map[string]any{"url": "about:blank"})
	var attached struct{ SessionID string }
	b.Into(&attached, "Target.attachToTarget", map[string]any{"targetId": target.TargetID, "flatten": true})
	b.session = attached.SessionID
	for _, domain := range []string{"Page", "Runtime", "Network", "Log"} {
		b.Call(domain+".enable", nil)
	}
	return b
}

// For has the faults of what follows told to a test within the one that began it.
func (b *Browser) For(t *testing.T) { b.t = t }

// read deals answers out to who waits and keeps the events.
func (b *Browser) read(r io.Reader) {
	br := bufio.NewReaderSize(r, 1<<20)
	for {
		msg, err := br.ReadBytes(0)
		if err != nil {
			return
		}
		var m struct {
			ID int `json:"id"`
			reply
			event
		}
		if json.Unmarshal(msg[:len(msg)-1], &m) != nil {
			continue
		}
		b.mu.Lock()
		if ch, ok := b.waiting[m.ID]; ok && m.ID != 0 {
			delete(b.waiting, m.ID)
			ch <- m.reply
		} else if m.Method != "" {
			b.events = append(b.events, m.event)
		}
		b.mu.Unlock()
	}
}

// Call gives the browser a command and returns its answer.
func (b *Browser) Call(method string, params any) json.RawMessage {
	b.t.Helper()
	b.mu.Lock()
	b.next++
	id := b.next
	ch := make(chan reply, 1)
	b.waiting[id] = ch
	b.mu.Unlock()
	m := map[string]any{"id": id, "method": method}
	if params != nil {
		m["params"] = params
	}
	if b.session != "" {
		m["sessionId"] = b.session
	}
	msg, err := json.Marshal(m)
	require.NoError(b.t, err)
	_, err = b.in.Write(append(msg, 0))
	require.NoError(b.t, err, method)
	select {
	case r := <-ch:
		require.Nil(b.t, r.Error, "%s: %+v", method, r.Error)
		return r.Result
	case <-time.After(patience):
		require.FailNow(b.t, "no answer to "+method)
		return nil
	}
}

// Into gives a command and decodes its answer.
func (b *Browser) Into(out any, method string, params any) {
	b.t.Helper()
	require.NoError(b.t, json.Unmarshal(b.Call(method, params), out))
}

// Seen returns the parameters of every event of that name so far.
func (b *Browser) Seen(method string) []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	var out []string
	for _, e := range b.events {
		if e.Method == method {
			out = append(out, string(e.Params))
		}
	}
	return out
}

// Eval runs an expression in the page and returns its JSON value.
func (b *Browser) Eval(expr string) any {
	b.t.Helper()
	var r struct {
		Result           struct{ Value any }
		ExceptionDetails any
	}
	b.Into(&r, "Runtime.evaluate", map[string]any{"expression": expr, "returnByValue": true, "awaitPromise": true})
	require.Nil(b.t, r.ExceptionDetails, expr)
	return r.Result.Value
}

// Until waits for an expression to become true.
func (b *Browser) Until(expr string) {
	b.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if b.Eval(expr) == true {
			return
		}
	}
	require.FailNow(b.t, "never came true: "+expr)
}

// Size sets the window, pixels.
func (b *Browser) Size(width, height int) {
	b.t.Helper()
	b.Call("Emulation.setDeviceMetricsOverride", map[string]any{"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false})
}

// Media sets colour scheme and motion as a person may ask for them.
func (b *Browser) Media(scheme, motion string) {
	b.t.Helper()
	b.Call("Emulation.setEmulatedMedia", map[string]any{"features": []map[string]string{
		{"name": "prefers-color-scheme", "value": scheme}, {"name": "prefers-reduced-motion", "value": motion}}})
}

// Open opens a page from a file of its own.
func (b *Browser) Open(page []byte) {
	b.t.Helper()
	name := filepath.Join(b.t.TempDir(), "view.html")
	require.NoError(b.t, os.WriteFile(name, page, 0o600))
	b.Call("Page.navigate", map[string]any{"url": "file://" + name})
	b.Until(`location.protocol === "file:" && document.readyState === "complete"`)
}

// Key presses and lets go of a key.
func (b *Browser) Key(key string) {
	b.t.Helper()
	for _, kind := range []string{"keyDown", "keyUp"} {
		p := map[string]any{"type": kind, "key": key, "code": key}
		if key == " " {
			p["code"], p["windowsVirtualKeyCode"] = "Space", 32
			if kind == "keyDown" {
				p["text"] = " "
			}
		}
		b.Call("Input.dispatchKeyEvent", p)
	}
}

// Type writes into the element as a person does, over what is there.
func (b *Browser) Type(selector, text string) {
	b.t.Helper()
	b.Eval(fmt.Sprintf(`(function(){var e=document.querySelector(%q);e.focus();e.select();return true})()`, selector))
	b.Call("Input.insertText", map[string]any{"text": text})
}

// Choose picks a value of a select element, or sets a range, and tells the page.
func (b *Browser) Choose(selector, value string) {
	b.t.Helper()
	b.Eval(fmt.Sprintf(`(function(){var e=document.querySelector(%q);e.value=%q;e.dispatchEvent(new Event('input',{bubbles:true}));e.dispatchEvent(new Event('change',{bubbles:true}));return true})()`, selector, value))
}

// Give hands files to a file input.
func (b *Browser) Give(selector string, files ...string) {
	b.t.Helper()
	var r struct{ Result struct{ ObjectID string } }
	b.Into(&r, "Runtime.evaluate", map[string]any{"expression": fmt.Sprintf("document.querySelector(%q)", selector)})
	b.Call("DOM.setFileInputFiles", map[string]any{"objectId": r.Result.ObjectID, "files": files})
}

// Picture saves what an element looks like, for people to look at, where the environment
// names a folder for it.
func (b *Browser) Picture(name, selector string) {
	b.t.Helper()
	dir := os.Getenv("SPOTJIG_PICTURES")
	if dir == "" {
		return
	}
	at := b.Eval(fmt.Sprintf(`(function(){var r=document.querySelector(%q).getBoundingClientRect();return [r.left+scrollX,r.top+scrollY,r.width,r.height]})()`, selector)).([]any)
	var r struct{ Data []byte }
	b.Into(&r, "Page.captureScreenshot", map[string]any{"captureBeyondViewport": true, "format": "png",
		"clip": map[string]any{"x": at[0], "y": at[1], "width": at[2], "height": at[3], "scale": 1}})
	require.NoError(b.t, os.WriteFile(filepath.Join(dir, name+".png"), r.Data, 0o600))
}

// Go opens an address; what the page before would ask about leaving it is not asked.
func (b *Browser) Go(url string) {
	b.t.Helper()
	b.Eval("window.onbeforeunload = null")
	b.Call("Page.navigate", map[string]any{"url": url})
	b.Until(fmt.Sprintf(`location.href.indexOf(%q) === 0 && document.readyState === "complete"`, url))
}

// stands is the middle of an element on the window, scrolled to.
func (b *Browser) stands(selector string) [2]float64 {
	b.t.Helper()
	// A scroll of the page's own may still be running: the element is pressed
	// once it stands still and is what a finger there would touch.
	at := b.Eval(fmt.Sprintf(`new Promise(function(done){var e=document.querySelector(%q),was='';(function look(){
		e.scrollIntoView({block:'center',behavior:'instant'});
		var r=e.getBoundingClientRect(),x=r.left+r.width/2,y=r.top+r.height/2,is=x+' '+y,hit=document.elementFromPoint(x,y);
		if(is===was&&hit&&(e.contains(hit)||hit.contains(e))){done([x,y]);return}
		was=is;requestAnimationFrame(function(){setTimeout(look,30)})})()})`, selector)).([]any)
	return [2]float64{at[0].(float64), at[1].(float64)}
}

// Click presses the middle of the element, as a pointer does.
func (b *Browser) Click(selector string) {
	b.t.Helper()
	at := b.stands(selector)
	for _, kind := range []string{"mousePressed", "mouseReleased"} {
		b.Call("Input.dispatchMouseEvent", map[string]any{"type": kind, "x": at[0], "y": at[1], "button": "left", "clickCount": 1})
	}
}

// Complaints returns everything the page or the browser found fault with, and
// every request but that of the page itself and what it made in memory.
func (b *Browser) Complaints() []string {
	out := append(b.Seen("Runtime.exceptionThrown"), b.Seen("Log.entryAdded")...)
	out = append(out, b.Seen("Runtime.consoleAPICalled")...)
	for _, r := range b.Seen("Network.requestWillBeSent") {
		var p struct {
			Request struct{ URL string }
		}
		if json.Unmarshal([]byte(r), &p) == nil && !strings.HasPrefix(p.Request.URL, "file:///") && !strings.HasPrefix(p.Request.URL, "blob:") {
			out = append(out, "request: "+p.Request.URL)
		}
	}
	return out
}

// Phone gives the window a phone's size and a finger instead of a mouse, and takes the network
// away.
func (b *Browser) Phone(width, height int) {
	b.t.Helper()
	b.Call("Emulation.setDeviceMetricsOverride", map[string]any{"width": width, "height": height, "deviceScaleFactor": 2, "mobile": true})
	b.Call("Emulation.setTouchEmulationEnabled", map[string]any{"enabled": true, "maxTouchPoints": 5})
	b.Call("Network.emulateNetworkConditions", map[string]any{"offline": true, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0})
}

// Touch lays fingers on the window, all at once, moves them along their ways in some moves,
// and lifts them: each way is where one finger is at the beginning and at the end, in pixels.
func (b *Browser) Touch(ways ...[2][2]float64) {
	b.t.Helper()
	const moves = 8
	fingers := func(share float64) []map[string]any {
		var out []map[string]any
		for i, w := range ways {
			out = append(out, map[string]any{"id": i, "x": w[0][0] + (w[1][0]-w[0][0])*share, "y": w[0][1] + (w[1][1]-w[0][1])*share})
		}
		return out
	}
	b.Call("Input.dispatchTouchEvent", map[string]any{"type": "touchStart", "touchPoints": fingers(0)})
	for i := 1; i <= moves && ways[0][0] != ways[0][1]; i++ {
		b.Call("Input.dispatchTouchEvent", map[string]any{"type": "touchMove", "touchPoints": fingers(float64(i) / moves)})
	}
	b.Call("Input.dispatchTouchEvent", map[string]any{"type": "touchEnd", "touchPoints": []any{}})
}

// Tap touches the middle of the element with one finger.
func (b *Browser) Tap(selector string) {
	b.t.Helper()
	at := b.stands(selector)
	b.Touch([2][2]float64{at, at})
}
