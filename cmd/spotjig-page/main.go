//go:build js && wasm

// Command spotjig-page is spotjig as a page runs it: it waits for calls of the page's
// worker and answers each with JSON. What is asked and answered is post/web/bridge's.
package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"syscall/js"

	"spotjig/layout/job"
	"spotjig/post/web/bridge"
)

// call is what the page asks.
type call struct {
	Do       string              `json:"do"`
	Text     string              `json:"text"` // of the job
	Path     string              `json:"path"`
	Values   []string            `json:"values"`
	Readings string              `json:"readings"`
	Taken    []bridge.Taken      `json:"taken"`
	Options  bridge.Options      `json:"options"`
	Judge    bridge.JudgeOptions `json:"judge"`
	Narrow   bool                `json:"narrow"` // the window
	Part     int                 `json:"part"`
}

// gcPercent lets the heap grow to five times what is alive before it is swept, because a
// change is over within some milliseconds. That is more than the command allows itself: the
// page stays, and asks the system only once for memory that it has grown to.
const gcPercent = 400

func main() {
	version := ""
	if len(os.Args) > 1 {
		version = os.Args[1]
	}
	debug.SetGCPercent(gcPercent)
	p := &page{version: version}
	answer := js.FuncOf(func(_ js.Value, args []js.Value) (out any) {
		defer func() {
			if r := recover(); r != nil {
				out = map[string]any{"bug": fmt.Sprintf("%v\n%s", r, debug.Stack())}
			}
		}()
		var c call
		if err := json.Unmarshal([]byte(args[0].String()), &c); err != nil {
			return map[string]any{"bug": err.Error()}
		}
		return p.run(c, args[1], args[2])
	})
	js.Global().Get("spotjigReady").Invoke(answer)
	select {} // until the worker is ended
}

// page is what stays between two calls.
type page struct {
	version string
	made    bridge.Made   // the last set, whose files are asked for
	judged  bridge.Judged // the last program, to be played
	compare bridge.Comparer
}

// run answers one call. file is the program to judge, tell takes progress.
func (p *page) run(c call, file, tell js.Value) any {
	var v any
	var err error
	switch c.Do {
	case "start":
		v = bridge.Look(bridge.Start(), c.Narrow)
	case "demo":
		v = bridge.Look(bridge.Demo(), c.Narrow)
	case "open":
		// One byte past the longest, which the reader then refuses.
		var data []byte
		if data, err = io.ReadAll(io.LimitReader(newBlob(file), job.FileMax+1)); err == nil {
			v = bridge.Look(string(data), c.Narrow)
		}
	case "look":
		v = bridge.Look(c.Text, c.Narrow)
	case "change":
		v = bridge.Change(c.Text, c.Path, c.Values, c.Narrow)
	case "marks":
		v, err = bridge.MarksJSON(c.Text)
	case "readings":
		v, err = bridge.Readings(c.Text, c.Taken)
	case "compare":
		v = p.compare.Compare(c.Text, c.Readings, p.version)
	case "make":
		c.Options.Version = p.version
		c.Options.Stage = func(s string) { tell.Invoke(s) }
		var data []byte
		if p.made, data, err = bridge.Make(context.Background(), c.Text, c.Options); err == nil {
			return withBytes(p.made, data)
		}
	case "file":
		return withBytes(c.Path, p.made.Of(c.Path))
	case "judge":
		p.judged, err = judge(c, file, tell)
		v = p.judged
	case "play":
		v, err = p.judged.Play(float64(c.Part) / partMax)
	case "machines":
		v = bridge.Machines()
	default:
		err = errors.New("unknown call " + c.Do)
	}
	if err != nil {
		return map[string]any{"error": err.Error()}
	}
	return withBytes(v, nil)
}

// partMax is the page's whole way.
const partMax = 1000

// judge has a program judged, piece by piece as it is read.
func judge(c call, file, tell js.Value) (bridge.Judged, error) {
	size := file.Get("size").Int()
	o := c.Judge
	o.Open = func() io.Reader { return newBlob(file) }
	o.Progress = func(done int64) { tell.Invoke(float64(done) / float64(max(size, 1))) }
	return bridge.Judge(context.Background(), c.Text, o)
}

// withBytes turns a value into JSON, with bytes beside it that need no copy of their own.
func withBytes(v any, data []byte) any {
	text, err := json.Marshal(v)
	if err != nil {
		return map[string]any{"bug": err.Error()}
	}
	out := map[string]any{"json": string(text)}
	if data != nil {
		to := js.Global().Get("Uint8Array").New(len(data))
		js.CopyBytesToJS(to, data)
		out["bytes"] = to
	}
	return out
}

// pieceMax is how much of a file is asked for at once, bytes.
const pieceMax = 1 << 20

// blob reads a file that the browser holds, never more than a piece of it in memory.
type blob struct {
	file     js.Value
	at, size int
	piece    []byte
}

func newBlob(file js.Value) *blob { return &blob{file: file, size: file.Get("size").Int()} }

// Read implements io.Reader.
func (b *blob) Read(p []byte) (int, error) {
	if len(b.piece) == 0 {
		if b.at >= b.size {
			return 0, io.EOF
		}
		end := min(b.at+pieceMax, b.size)
		reader := js.Global().Get("FileReaderSync").New()
		got := js.Global().Get("Uint8Array").New(reader.Call("readAsArrayBuffer", b.file.Call("slice", b.at, end)))
		b.piece = make([]byte, got.Length())
		if js.CopyBytesToGo(b.piece, got) == 0 {
			return 0, io.ErrUnexpectedEOF
		}
		b.at = end
	}
	n := copy(p, b.piece)
	b.piece = b.piece[n:]
	return n, nil
}
