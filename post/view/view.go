// Package view draws a finished job as pictures: one self-contained page to
// open by double click, and the same table and sheet pictures as SVG files.
// Every length shown comes out of the post.Set; the page adds none of its own.
//
// The page holds each piece and each repeated letter stroke once, in a store of
// definitions, and every picture places them by reference. Pictures of the
// table are laid out three times, for wide, medium and narrow windows (the last
// with the head end down), and the style sheet shows the one that fits.
package view

import (
	"bytes"
	"fmt"
	"io"

	"spotjig/post"
)

// limitDefault is the size a page must stay under, bytes: 2 MB opens at once
// on an old telephone and passes most mail boxes.
const limitDefault = 2_000_000

// Options are the choices of a page.
type Options struct {
	// Limit is the largest page written, bytes; 0 means two million. A page that
	// would be larger leaves the lettering out of the cut order, and says so.
	Limit int
}

// Write writes the page. It fails when the page cannot be kept under the limit,
// and passes on what w reports; nothing is written before the page is whole.
func Write(w io.Writer, set post.Set, opt Options) error {
	limit := opt.Limit
	if limit <= 0 {
		limit = limitDefault
	}
	b := build(set, true)
	if b.Len() > limit {
		b = build(set, false)
	}
	if b.Len() > limit {
		return fmt.Errorf("view: the page would be %d bytes, the limit is %d", b.Len(), limit)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// WriteTable writes the picture of the table, its marks and the template on it
// as one SVG file.
func WriteTable(w io.Writer, set post.Set, _ Options) error {
	b := new(bytes.Buffer)
	sc := alone(set)
	writeAlone(b, sc, newPlan(sc, landscape, layoutWide, true))
	_, err := w.Write(b.Bytes())
	return err
}

// WriteSheet writes the picture of sheet n (from 1) as one SVG file; an unknown
// number is an error.
func WriteSheet(w io.Writer, set post.Set, n int, _ Options) error {
	for _, s := range set.Sheets {
		if s.N != n {
			continue
		}
		b := new(bytes.Buffer)
		sc := newScene(set)
		writeAlone(b, sc, newSheetPicture(sc, s))
		_, err := w.Write(b.Bytes())
		return err
	}
	return fmt.Errorf("view: no sheet %d; there are %d", n, len(set.Sheets))
}
