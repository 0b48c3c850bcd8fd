package shown

import (
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"io"
	"strconv"

	"spotjig/post/proof"

	"spotjig/layout/geom"
)

// A PDF as read back: a small reader of what papers hold (pages in order, their
// size, stroked paths and texts), by ISO 32000-1, sections 7.5 (file structure),
// 8.4 and 8.5 (graphics state, paths) and 9.4 (text). What it does not know is an
// error: nothing may be on a page that was not looked at.

// errPDF is wrapped by every error about a PDF as read back.
var errPDF = errors.New("pdf as read")

// Limits of what is read back.
const (
	pdfMax    = 256 << 20
	pagesMax  = 10_000
	mmPerUnit = 25.4 / 72 // a unit of user space, ISO 32000-1, 8.3.2.3
)

// paperPage is one page, mm, y up from its lower left corner.
type paperPage struct {
	width, height float64
	strokes       []stroke
	texts         []paperText
	clip          proof.Box // the first clip rectangle; proof.Nothing() without one
}

// stroke is one subpath that is stroked.
type stroke struct {
	width   float64
	clipped bool          // while the clip was in force
	chain   []proof.Curve // cubics as the arc through their ends and middle
}

// paperText is one piece of text as shown, in the bytes of its encoding.
type paperText struct {
	size    float64 // points
	font    string  // its name in the file
	text    string
	clipped bool
}

// readPDF reads the pages in their order.
func readPDF(data []byte) ([]paperPage, error) {
	f := pdfFile{data: data}
	if len(data) > pdfMax {
		return nil, fmt.Errorf("%w: longer than %d bytes", errPDF, pdfMax)
	}
	if err := f.table(); err != nil {
		return nil, err
	}
	root, err := f.pagesDict()
	if err != nil {
		return nil, err
	}
	kids := refs(root, "/Kids")
	if n, ok := number(root, "/Count"); !ok || int(n) != len(kids) || len(kids) == 0 || len(kids) > pagesMax {
		return nil, fmt.Errorf("%w: %d pages listed, another number stated", errPDF, len(kids))
	}
	whole, err := mediaBox(root)
	if err != nil {
		return nil, err
	}
	var out []paperPage
	for i, kid := range kids {
		p, err := f.page(kid, whole)
		if err != nil {
			return nil, fmt.Errorf("page %d: %w", i+1, err)
		}
		out = append(out, p)
	}
	return out, nil
}

// pdfFile finds objects by the cross-reference table.
type pdfFile struct {
	data    []byte
	offsets map[int]int
	trailer []byte
}

// table reads startxref, the table and the trailer.
func (f *pdfFile) table() error {
	fault := fmt.Errorf("%w: no cross-reference table", errPDF)
	at := bytes.LastIndex(f.data, []byte("startxref\n"))
	if at < 0 || !bytes.HasPrefix(f.data, []byte("%PDF-")) {
		return fault
	}
	line, _, _ := bytes.Cut(f.data[at+len("startxref\n"):], []byte("\n"))
	start, err := strconv.Atoi(string(line))
	if err != nil || start < 0 || start >= at || !bytes.HasPrefix(f.data[start:], []byte("xref\n0 ")) {
		return fault
	}
	rest := f.data[start+len("xref\n0 "):]
	line, rest, _ = bytes.Cut(rest, []byte("\n"))
	n, err := strconv.Atoi(string(line))
	if err != nil || n < 0 || 20*n > len(rest) {
		return fault
	}
	f.offsets = make(map[int]int, n)
	for i := range n { // entries of twenty bytes, 7.5.4
		e := rest[20*i:]
		off, err := strconv.Atoi(string(e[:10]))
		if err != nil || off > len(f.data) {
			return fault
		}
		if e[17] == 'n' {
			f.offsets[i] = off
		}
	}
	f.trailer = rest[20*n:]
	return nil
}

// object returns an object's dictionary and, if it has one, its stream.
func (f *pdfFile) object(n int) (dict, stream []byte, err error) {
	fault := fmt.Errorf("%w: object %d is not where the table says", errPDF, n)
	off, ok := f.offsets[n]
	if !ok {
		return nil, nil, fault
	}
	body, ok := bytes.CutPrefix(f.data[off:], []byte(strconv.Itoa(n)+" 0 obj\n"))
	if !ok {
		return nil, nil, fault
	}
	end := bytes.Index(body, []byte("endobj"))
	if s := bytes.Index(body, []byte("stream\n")); s >= 0 && s < end {
		dict = body[:s]
		l, ok := number(dict, "/Length")
		from := s + len("stream\n")
		if !ok || l < 0 || from+int(l) > len(body) || !bytes.HasPrefix(bytes.TrimLeft(body[from+int(l):], "\r\n"), []byte("endstream")) {
			return nil, nil, fault
		}
		return dict, body[from : from+int(l)], nil
	}
	if end < 0 {
		return nil, nil, fault
	}
	return body[:end], nil, nil
}

// pagesDict follows trailer, catalogue and page tree.
func (f *pdfFile) pagesDict() ([]byte, error) {
	at := f.trailer
	for _, key := range []string{"/Root", "/Pages"} {
		r := refs(at, key)
		if len(r) != 1 {
			return nil, fmt.Errorf("%w: no %s", errPDF, key)
		}
		dict, _, err := f.object(r[0])
		if err != nil {
			return nil, err
		}
		at = dict
	}
	return at, nil
}

// value returns what follows a key of a dictionary.
func value(dict []byte, key string) []byte {
	i := bytes.Index(dict, []byte(key+" "))
	if i < 0 {
		return nil
	}
	return dict[i+len(key)+1:]
}

// number reads a number that follows a key.
func number(dict []byte, key string) (float64, bool) {
	t := lexer{data: value(dict, key)}
	tok, ok := t.next()
	v, err := strconv.ParseFloat(string(bytes.TrimRight(tok, ">]")), 64)
	return v, ok && err == nil
}

// refs reads the references "7 0 R" that follow a key, one or an array.
func refs(dict []byte, key string) []int {
	t := lexer{data: bytes.TrimPrefix(value(dict, key), []byte("["))}
	var out []int
	for {
		n, ok := t.next()
		v, err := strconv.Atoi(string(n))
		if !ok || err != nil {
			return out
		}
		if g, _ := t.next(); string(g) != "0" {
			return out
		}
		if r, _ := t.next(); string(bytes.TrimRight(r, ">]")) != "R" {
			return out
		}
		out = append(out, v)
	}
}

// mediaBox reads a page's size, mm.
func mediaBox(dict []byte) (geom.Point, error) {
	t := lexer{data: bytes.TrimPrefix(value(dict, "/MediaBox"), []byte("["))}
	var v [4]float64
	for i := range v {
		tok, _ := t.next()
		f, err := strconv.ParseFloat(string(bytes.TrimRight(tok, "]")), 64)
		if err != nil {
			return geom.Point{}, fmt.Errorf("%w: no page size", errPDF)
		}
		v[i] = f
	}
	if v[0] != 0 || v[1] != 0 {
		return geom.Point{}, fmt.Errorf("%w: a page that does not begin at 0, 0", errPDF)
	}
	return geom.Point{X: v[2] * mmPerUnit, Y: v[3] * mmPerUnit}, nil
}

// page reads one page.
func (f *pdfFile) page(n int, size geom.Point) (paperPage, error) {
	dict, _, err := f.object(n)
	if err != nil {
		return paperPage{}, err
	}
	for _, key := range []string{"/UserUnit", "/Rotate", "/CropBox", "/Annots"} {
		if bytes.Contains(dict, []byte(key)) {
			return paperPage{}, fmt.Errorf("%w: a page with %s", errPDF, key)
		}
	}
	if bytes.Contains(dict, []byte("/MediaBox")) {
		if size, err = mediaBox(dict); err != nil {
			return paperPage{}, err
		}
	}
	r := refs(dict, "/Contents")
	if len(r) != 1 {
		return paperPage{}, fmt.Errorf("%w: a page without contents", errPDF)
	}
	dict, stream, err := f.object(r[0])
	if err != nil {
		return paperPage{}, err
	}
	if bytes.Contains(dict, []byte("/FlateDecode")) {
		if stream, err = inflated(stream); err != nil {
			return paperPage{}, err
		}
	}
	c := content{lexer: lexer{data: stream}, page: paperPage{width: size.X, height: size.Y, clip: proof.Nothing()}, state: state{m: [6]float64{1, 0, 0, 1, 0, 0}, line: 1}}
	err = c.run()
	return c.page, err
}

func inflated(stream []byte) ([]byte, error) {
	z, err := zlib.NewReader(bytes.NewReader(stream))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errPDF, err)
	}
	out, err := io.ReadAll(io.LimitReader(z, pdfMax))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errPDF, err)
	}
	return out, nil
}
