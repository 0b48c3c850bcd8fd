package bridge

import (
	"io"

	"spotjig/post"
)

// lineMax is how much of a program's line is shown, characters.
const lineMax = 120

// lines passes a program on and keeps the text of some of its lines, counted as the
// interpreter counts them: a line ends at LF, CR LF or CR.
type lines struct {
	r    io.Reader
	want map[int64]bool
	got  map[int64]string
	last int64 // the greatest number wanted

	n    int64 // the number of the line that is being read, from 1
	text []byte
	cr   bool // the byte before was a CR
}

func newLines(r io.Reader, want []int64) *lines {
	l := &lines{r: r, want: map[int64]bool{}, got: map[int64]string{}, n: 1}
	for _, n := range want {
		l.want[n] = true
		l.last = max(l.last, n)
	}
	return l
}

// Read implements io.Reader.
func (l *lines) Read(p []byte) (int, error) {
	n, err := l.r.Read(p)
	for _, c := range p[:n] {
		if l.n > l.last {
			break
		}
		switch {
		case c == '\n' && l.cr:
		case c == '\n' || c == '\r':
			l.end()
		case l.want[l.n] && len(l.text) < 4*lineMax:
			l.text = append(l.text, c)
		}
		l.cr = c == '\r'
	}
	if err == io.EOF && len(l.text) > 0 {
		l.end()
	}
	return n, err
}

// end ends the line that is being read.
func (l *lines) end() {
	if l.want[l.n] {
		l.got[l.n] = post.OneLine(string(l.text), lineMax, "…")
		l.text = l.text[:0]
	}
	l.n++
}
