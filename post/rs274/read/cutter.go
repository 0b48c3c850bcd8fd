package read

import (
	"bytes"
	"io"
)

// cutter cuts a file into pieces of whole lines.
type cutter struct {
	whole []byte // the lines, and pad bytes more that mean nothing
	atEnd bool   // they are the last
	count int    // pieces cut so far
	added bool   // the last line had no end

	r      io.Reader
	buf    []byte
	last   int // where the lines in hand end in buf
	end    int // where what has been read ends
	inLong bool
}

func newCutter(r io.Reader) cutter {
	size := bufSize
	if s, ok := r.(interface{ Len() int }); ok { // a text in memory
		size = min(size, max(s.Len(), bufMin))
	}
	return cutter{r: r, buf: make([]byte, size+1+pad)} // one byte spare for a closing line end
}

// next reads on and sets whole and atEnd; whole may be empty. It returns the length so
// far of a line that is too long to hold, when it meets one: that line is passed over.
func (c *cutter) next() (long int, err error) {
	kept := copy(c.buf, c.buf[c.last:c.end])
	if kept > lineHard {
		long, kept, c.inLong = kept, 0, true
	}
	n, err := c.r.Read(c.buf[kept : len(c.buf)-1-pad])
	if err != nil && err != io.EOF {
		return 0, err
	}
	c.count++
	c.end, c.atEnd = kept+n, err == io.EOF
	if last := c.end - 1; c.atEnd && c.end > 0 && c.buf[last] != '\n' && c.buf[last] != '\r' {
		c.buf[c.end] = '\n'
		c.end++
		c.added = true
	}
	from := 0
	if c.inLong { // its end counts it
		if from = bytes.IndexAny(c.buf[:c.end], "\r\n"); from < 0 {
			from = c.end
		}
		c.inLong = from == c.end
	}
	c.last = c.end
	if !c.atEnd {
		c.last = from + lastEnd(c.buf[from:c.end])
	}
	c.whole = c.buf[from : c.last+pad]
	return long, nil
}

// lastEnd returns the place after the last line end of b: a line feed, or, in a
// file that has none, a carriage return that is not the last byte.
func lastEnd(b []byte) int {
	if i := bytes.LastIndexByte(b, '\n'); i >= 0 {
		return i + 1
	}
	if i := bytes.LastIndexByte(b[:max(len(b)-1, 0)], '\r'); i >= 0 {
		return i + 1
	}
	return 0
}
