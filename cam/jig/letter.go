package jig

import (
	_ "embed"
	"math"
	"strings"
	"sync"

	"spotjig/layout/geom"
)

// futural is the stroke alphabet; NOTICE-futural.txt travels with it and says
// where it comes from: glyph n is ASCII 32 + n, capital height 21 units.
//
//go:embed futural.jhf
var futural string

//go:embed NOTICE-futural.txt
var futuralNotice string

// Alphabet is the stroke alphabet as its file has it, for whoever reads letters back.
func Alphabet() string { return futural }

// LetteringNotice is the acknowledgement that must travel with the alphabet.
func LetteringNotice() string { return futuralNotice }

const (
	glyphCap  = 21.0 // capital height in glyph units
	glyphBase = 9.0  // y of the baseline, glyph units, growing downwards from the letter R
)

// glyph is one character: its bearings and its strokes in glyph units.
type glyph struct {
	left, right float64
	strokes     [][]geom.Point
}

// alphabet reads the embedded glyphs: five columns of number, three of vertex
// count, then character pairs offset from the letter R; " R" lifts the pen.
func alphabet() []glyph {
	var out []glyph
	lines := strings.Split(futural, "\n")
	for i := 0; i < len(lines); i++ {
		l := strings.TrimRight(lines[i], "\r")
		if len(l) < 10 {
			continue
		}
		n := atoi(l[5:8])
		body := l[8:]
		for len(body) < 2*n && i+1 < len(lines) {
			i++
			body += strings.TrimRight(lines[i], "\r")
		}
		out = append(out, parseGlyph(body, n))
	}
	return out
}

func parseGlyph(body string, n int) glyph {
	g := glyph{left: float64(body[0]) - 'R', right: float64(body[1]) - 'R'}
	var cur []geom.Point
	for k := 1; k < n; k++ {
		a, b := body[2*k], body[2*k+1]
		if a == ' ' && b == 'R' {
			g.strokes, cur = append(g.strokes, cur), nil
			continue
		}
		cur = append(cur, geom.Point{X: float64(a) - 'R', Y: float64(b) - 'R'})
	}
	if len(cur) > 0 {
		g.strokes = append(g.strokes, cur)
	}
	return g
}

func atoi(s string) int {
	n := 0
	for _, c := range strings.TrimSpace(s) {
		n = n*10 + int(c-'0')
	}
	return n
}

// glyphs is the alphabet, read once: every line of lettering asks for it.
var glyphs = sync.OnceValue(alphabet)

// Font is the alphabet as read.
type Font struct{ glyphs []glyph }

// NewFont returns the alphabet.
func NewFont() Font { return Font{glyphs()} }

// glyph returns a character's; what the alphabet lacks shows as '?'.
func (l Font) glyph(r rune) glyph {
	if i := int(r) - 32; i >= 0 && i < len(l.glyphs) {
		return l.glyphs[i]
	}
	return l.glyphs['?'-32]
}

// Width returns the advance of the text at a capital height, mm.
func (l Font) Width(text string, height float64) float64 {
	w := 0.0
	for _, r := range text {
		g := l.glyph(r)
		w += g.right - g.left
	}
	return w * height / glyphCap
}

// Strokes returns the text as open chains: baseline start at the placement's
// origin, capitals height mm high. A glyph's dot becomes a stroke of 0.3 mm.
func (l Font) Strokes(text string, height float64, on geom.Placement) []geom.Contour {
	var out []geom.Contour
	k := height / glyphCap
	x := 0.0
	for _, r := range text {
		g := l.glyph(r)
		for _, s := range g.strokes {
			var v []geom.Vertex
			for _, p := range s {
				q := geom.Point{X: (x + p.X - g.left) * k, Y: (glyphBase - p.Y) * k}
				v = append(v, geom.Vertex{At: on.Apply(q)})
			}
			if c, err := geom.NewOpen(v...); err == nil {
				out = append(out, c)
			}
		}
		x += g.right - g.left
	}
	return out
}

// Lettering returns the text as open stroke chains, baseline starting at a
// point, reading along +x, capitals height mm high. ASCII only; any other
// character shows as a question mark.
func Lettering(text string, at geom.Point, height float64) []geom.Contour {
	return NewFont().Strokes(text, height, geom.Placement{X: at.X, Y: at.Y})
}

// Round3 rounds to 0.001 mm: sizes that people read are kept to that.
func Round3(f float64) float64 { return math.Round(f*1000) / 1000 }
