package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"spotjig/cmd/spotjig/folder"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
)

// history is the file beside a job in which its owner keeps the markings of the table. It
// is only ever added to: its bytes are read, held against a new marking, and that is
// appended in one write.
type history struct {
	name     string // "" where the job is in no file
	data     []byte
	markings []layout.Marking
	added    []byte
	already  int // markings that were its last one before they were given
	given    int
}

// historyJSON is what a report says of a history.
type historyJSON struct {
	File     string `json:"file"`     // "" where the job is in no file
	Markings int    `json:"markings"` // in the file, those just kept included
	Kept     int    `json:"kept"`     // just now
}

// historyName is the file beside a job: club.marked.txt of club.yaml.
func historyName(job string) string {
	return strings.TrimSuffix(job, filepath.Ext(job)) + ".marked.txt"
}

// openHistory reads the history beside a job; there need not be one.
func openHistory(job string, keep bool) (*history, error) {
	h := &history{}
	if job == standardInput || job == "" {
		if keep {
			return nil, usageError{errors.New("--keep: the history stands beside the job's file, and this job is in none: name a file")}
		}
		return h, nil
	}
	h.name = historyName(job)
	info, err := os.Stat(h.name)
	if errors.Is(err, fs.ErrNotExist) {
		return h, nil
	}
	if err == nil && !info.Mode().IsRegular() {
		return nil, h.fault("is no plain file", "move it away, or give the job's file another name")
	}
	if h.data, err = (&reading{}).file(h.name); err != nil {
		return nil, err
	}
	h.markings, err = layout.ReadHistory(bytes.NewReader(h.data), h.name)
	return h, err
}

func (h *history) fault(msg, help string) error {
	return problem.Problem{File: h.name, Code: "S067", Msg: msg, Help: help}
}

// last is the last marking kept, against the plan as it is today, and its jig.
func (h *history) last(l loaded) (*layout.Comparison, string) {
	if len(h.markings) == 0 {
		return nil, ""
	}
	m := h.markings[len(h.markings)-1]
	c := layout.CompareKept(l.Request(), l.Plan, m)
	return &c, m.Jig
}

// add puts a file of readings behind the markings, in memory, and reads all of it again:
// what cannot be read tomorrow is not written today.
func (h *history) add(jig, name string, readings []byte) error {
	h.given++
	if h.name == "" {
		return nil
	}
	entry, already := layout.Kept(h.markings, jig, readings)
	if already {
		h.already++
		return nil
	}
	whole := append([]byte(nil), h.data...)
	whole = append(whole, h.added...)
	if n := len(whole); n > 0 && whole[n-1] != '\n' {
		entry = "\n" + entry
	}
	again, err := layout.ReadHistory(bytes.NewReader(append(whole, entry...)), h.name)
	if err != nil {
		return fmt.Errorf("%s as a further marking: %w", name, err)
	}
	if len(again) != len(h.markings)+1 {
		panic("spotjig: internal error: a marking reads as several")
	}
	h.markings, h.added = again, append(h.added, entry...)
	return nil
}

// write appends what was added, if the file is still the one that was read. Other runs are
// kept out meanwhile.
func (h *history) write(ctx context.Context) error {
	if len(h.added) == 0 {
		return nil
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	unlock, err := folder.Lock(h.name + ".lock")
	if err != nil {
		return h.fault("another run is adding to it, or it cannot be locked: "+folder.Reason(err), "wait until that run has ended, and give the readings again")
	}
	defer unlock()
	now, err := os.ReadFile(h.name)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return h.fault("cannot be read: "+folder.Reason(err), "check its permissions")
	}
	if !bytes.Equal(now, h.data) {
		return h.fault("was changed while the readings were looked at", "give the readings again")
	}
	f, err := os.OpenFile(h.name, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o666)
	if err != nil {
		return h.fault("cannot be added to: "+folder.Reason(err), "check its permissions")
	}
	_, err = io.Copy(f, bytes.NewReader(h.added))
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		// Half a marking would stand in the way of the next one.
		err = errors.Join(err, os.Truncate(h.name, int64(len(h.data))))
		return h.fault("cannot be added to: "+err.Error(), "make room on the disk; what was in it is as it was")
	}
	return nil
}

// report is what a report says of the history.
func (h *history) report(keep bool) historyJSON {
	kept := 0
	if keep {
		kept = h.given - h.already
	}
	if h.name == "" {
		return historyJSON{}
	}
	return historyJSON{File: h.name, Markings: len(h.markings) - (h.given - h.already - kept), Kept: kept}
}

// text says where the readings are kept, or how to keep them.
func (h *history) text(keep bool) string {
	t := h.report(keep)
	switch {
	case h.name == "":
		return ""
	case h.given == h.already:
		return fmt.Sprintf("\nkept already: %s, its last marking\n", h.name)
	case keep:
		return fmt.Sprintf("\nkept: %s, %s now\n", h.name, figure.Count(t.Markings, "marking"))
	case t.Markings > 0:
		return fmt.Sprintf("\nnot kept: --keep adds it to %s\n", h.name)
	}
	return ""
}
