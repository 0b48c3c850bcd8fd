package terminal

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf16"
	"unicode/utf8"

	"spotjig/layout/problem"
)

// Plain is the one way to standard output and standard error, and the one
// place that decides what may stand there. File names, and texts quoted from
// files, may hold anything: what would move the cursor, colour the screen or turn
// the reading direction is written as an escape that can be read. Line ends
// (LF, CR LF) and tabs pass. Escapes have the form of JSON's, so that JSON stays
// JSON; bytes that are not UTF-8 become \xNN.
type Plain struct {
	W    io.Writer
	rest []byte // the beginning of a character or of a CR LF, not yet written
}

// Write takes all of b. It keeps back up to three bytes of an unfinished
// character until the next Write or Close.
func (p *Plain) Write(b []byte) (int, error) {
	return len(b), p.pass(append(p.rest, b...), false)
}

// Close writes what was kept back.
func (p *Plain) Close() error { return p.pass(p.rest, true) }

func (p *Plain) pass(b []byte, last bool) error {
	var out bytes.Buffer
	for len(b) > 0 {
		if !last && (!utf8.FullRune(b) || len(b) == 1 && b[0] == '\r') {
			break
		}
		r, n := utf8.DecodeRune(b)
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&out, `\x%02x`, b[0])
		case r == '\r' && len(b) > 1 && b[1] == '\n', r == '\n', r == '\t', !hidden(r):
			out.Write(b[:n])
		case r > 0xffff:
			hi, lo := utf16.EncodeRune(r)
			fmt.Fprintf(&out, `\u%04x\u%04x`, hi, lo)
		default:
			fmt.Fprintf(&out, `\u%04x`, r)
		}
		b = b[n:]
	}
	p.rest = append([]byte(nil), b...)
	_, err := p.W.Write(out.Bytes())
	return err
}

// hidden reports whether a character does something instead of being seen.
func hidden(r rune) bool {
	return problem.Unseen(r)
}
