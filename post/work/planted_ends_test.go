package work

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"

	"spotjig/cam/path"
	"spotjig/layout/geom"
)

// endFaults are strokes that start late, end early or go on too far, and contours that are
// left open or overlap: what a proof sees only if it is exact where a stroke ends.
func endFaults() []planted {
	const late, early = 0.006, -0.006
	rows := []planted{
		{name: "picture: a letter's end off by 0.001 mm along its stroke", catch: "svg", hook: strokeMoved("sheet-1-cut.svg", pictured, isLetter, atStart, 0.001)},
		{name: "picture: an outline that goes back 0.001 mm on itself", catch: "svg", hook: strokeMoved("sheet-1-cut.svg", pictured, isAround, atStart, -0.001)},
		{name: "picture: a letter starts late", catch: "svg", hook: strokeMoved("sheet-1-cut.svg", pictured, isLetter, atStart, late)},
		{name: "picture: a letter starts too soon", catch: "svg", hook: strokeMoved("sheet-1-cut.svg", pictured, isLetter, atStart, early)},
		{name: "picture: a letter ends early", catch: "svg", hook: strokeMoved("sheet-1-cut.svg", pictured, isLetter, atEnd, late)},
		{name: "picture: a letter ends too late", catch: "svg", hook: strokeMoved("sheet-1-cut.svg", pictured, isLetter, atEnd, early)},
		{name: "picture: a letter that comes round starts late", catch: "svg", hook: strokeMoved("sheet-1-cut.svg", pictured, comesRound, atStart, late)},
		{name: "picture: a letter that comes round ends early", catch: "svg", hook: strokeMoved("sheet-1-cut.svg", pictured, comesRound, atEnd, late)},
		{name: "picture: a line starts late", catch: "svg", hook: strokeMoved("sheet-1-cut.svg", pictured, isLine, atStart, late)},
		{name: "picture: a line ends early", catch: "svg", hook: strokeMoved("sheet-1-cut.svg", pictured, isLine, atEnd, late)},
		{name: "picture: an outline left open", catch: "svg", hook: replaceFirst("sheet-1-cut.svg", `(id="OUTLINE"[^>]*>\n<path d="[^Z]*)Z`, "$1")},
		{name: "picture: a cut along the line left open", job: "taken", catch: "svg", hook: leftOpen("sheet-1-cut-compensated.svg")},
		{name: "drawing: a letter's end off by 0.001 mm along its stroke", catch: "dxf", hook: strokeMoved("sheet-1.dxf", drawn, isLetter, atStart, 0.001)},
		{name: "drawing: an outline that goes back 0.001 mm on itself", catch: "dxf", hook: strokeMoved("sheet-1.dxf", drawn, isAround, atStart, -0.001)},
		{name: "drawing: a letter starts late", catch: "dxf", hook: strokeMoved("sheet-1.dxf", drawn, isLetter, atStart, late)},
		{name: "drawing: a letter ends early", catch: "dxf", hook: strokeMoved("sheet-1.dxf", drawn, isLetter, atEnd, late)},
		{name: "drawing: a letter that comes round starts late", catch: "dxf", hook: strokeMoved("sheet-1.dxf", drawn, comesRound, atStart, late)},
		{name: "drawing: a letter that comes round ends early", catch: "dxf", hook: strokeMoved("sheet-1.dxf", drawn, comesRound, atEnd, late)},
		{name: "drawing: a cut along the line left open", job: "taken", catch: "dxf", hook: leftOpen("sheet-1-compensated.dxf")},
		{name: "program: a letter starts late", catch: "as-read", hook: strokeMoved("sheet-1.nc", programmed, isLetter, atStart, late)},
		{name: "program: a letter ends early", catch: "as-read", hook: strokeMoved("sheet-1.nc", programmed, isLetter, atEnd, late)},
		{name: "program: a letter starts late", job: "film", catch: "as-read", hook: strokeMoved("sheet-1.nc", programmed, isLetter, atStart, late)},
		{name: "program: a letter ends early", job: "film", catch: "as-read", hook: strokeMoved("sheet-1.nc", programmed, isLetter, atEnd, late)},
		{name: "toolpath: a letter starts late", catch: "as-marked", hook: eachOp(path.Lettering, func(o *path.Op) bool { return trimmed(o, late, 0) })},
		{name: "toolpath: a letter ends early", catch: "as-marked", hook: eachOp(path.Lettering, func(o *path.Op) bool { return trimmed(o, 0, late) })},
		{name: "toolpath: a line starts late", catch: "as-marked", hook: eachOp(path.Score, func(o *path.Op) bool { return trimmed(o, late, 0) })},
		{name: "toolpath: a line goes on too far", catch: "as-marked", hook: eachOp(path.Score, func(o *path.Op) bool { return trimmed(o, 0, early) })},
		{name: "toolpath: a cut ends before it began", catch: "as-cut", hook: eachOp(path.Outline, func(o *path.Op) bool {
			o.Moves = slices.Clone(o.Moves[:o.Last])
			return trimmed(o, 0, 0.05)
		})},
		{name: "toolpath: a blade raised for 0.1 mm of a line", job: "film", catch: "tip-complete", hook: eachOp(path.Score, func(o *path.Op) bool { return raised(o, 10.2, 10.3) })},
		{name: "toolpath: a blade raised for 0.1 mm of an outline", job: "film", catch: "tip-complete", hook: eachOp(path.Outline, func(o *path.Op) bool { return raised(o, 10.2, 10.3) })},
	}
	return named("ends", "laser", rows)
}

// trimmed takes so much off the first and the last of the moves along a contour or stroke,
// mm, if they are straight and long enough.
func trimmed(o *path.Op, first, last float64) bool {
	a, z := &o.Moves[o.First], &o.Moves[o.Last-1]
	if a.Bulge != 0 || z.Bulge != 0 || a.Length() < 2 || z.Length() < 2 {
		return false
	}
	a.From = toward(a.From, a.To, first)
	z.To = toward(z.To, z.From, last)
	if o.First > 0 {
		o.Moves[o.First-1].To = a.From
	}
	if o.Last < len(o.Moves) {
		o.Moves[o.Last].From = z.To
	}
	return true
}

// raised raises the blade from so far to so far along the first straight move that is long
// enough, mm.
func raised(o *path.Op, from, until float64) bool {
	i := slices.IndexFunc(o.Moves, func(m path.Move) bool { return m.Bulge == 0 && m.Z < 0 && m.Length() > until+1 })
	if i < 0 {
		return false
	}
	m := o.Moves[i]
	a, b := toward(m.From, m.To, from), toward(m.From, m.To, until)
	bit := func(from, to geom.Point, z float64) path.Move {
		k := m
		k.Segment, k.Z = geom.Segment{From: from, To: to}, z
		return k
	}
	o.Moves = slices.Replace(o.Moves, i, i+1, bit(m.From, a, m.Z), bit(a, a, 0.5), bit(a, b, 0.5), bit(b, b, m.Z), bit(b, m.To, m.Z))
	o.Last += 4
	return true
}

// toward is p, moved so far towards q, mm.
func toward(p, q geom.Point, by float64) geom.Point { return p.Add(q.Sub(p).Scale(by / p.Dist(q))) }

// format tells how a file writes a stroke: the pattern of one, with its layer and its points
// in two groups, that of a point, and how a point is written.
type format struct {
	stroke, point *regexp.Regexp
	digits        int
}

var (
	pictured = format{regexp.MustCompile(`<g id="([A-Z]+)|<path d="(M[^"]*)"`), regexp.MustCompile(`(?:[ML]|A[0-9.]+ [0-9.]+ 0 0 [01] )([0-9.]+) ([0-9.]+)`), 6}
	drawn    = format{regexp.MustCompile(`AcDbEntity\n8\n([A-Z]+)\n|AcDbPolyline\n90\n[^\n]*\n70\n[^\n]*\n((?:(?:10|20|42)\n[^\n]*\n)*)`), regexp.MustCompile(`(?m)^10\n([0-9.]+)\n20\n([0-9.]+)\n`), 6}
	// A stroke of a program is the rapid to its start, what switches the tool on, and its
	// straight moves.
	programmed = format{regexp.MustCompile(`\(([A-Z]+)[^\n]*\n|(G0 X[^\n]*\n(?:[MSG][^XY\n]*\n)*(?:G1 X[^\n]*\n)+)`), regexp.MustCompile(`(?m)^G[01] X([0-9.]+) Y([0-9.]+)`), 4}
)

// stroke is one as its file has it.
type stroke struct {
	layer string
	ends  string // what follows its last point
	at    []geom.Point
}

func isLetter(s stroke) bool {
	return s.layer == "LETTERING" && s.ends != "Z" && s.at[0].Dist(s.at[len(s.at)-1]) > 1
}

func isLine(s stroke) bool { return s.layer == "SCORE" && len(s.at) == 2 }

func isAround(s stroke) bool { return s.layer == "OUTLINE" && len(s.at) > 2 }

// comesRound is a letter of many strokes that ends where it began.
func comesRound(s stroke) bool {
	return s.layer == "LETTERING" && len(s.at) > 8 && s.at[0].Dist(s.at[len(s.at)-1]) < 1e-3
}

const (
	atStart = iota
	atEnd
)

// strokeMoved moves an end of the first stroke that is wanted along that stroke, inwards by so
// many mm.
func strokeMoved(file string, f format, wanted func(stroke) bool, end int, by float64) steps {
	return steps{program: func(name string, b []byte) []byte {
		if name != file {
			return b
		}
		layer := ""
		for _, at := range f.stroke.FindAllSubmatchIndex(b, -1) {
			if at[2] >= 0 {
				layer = string(b[at[2]:at[3]])
				continue
			}
			text := b[at[4]:at[5]]
			points := f.point.FindAllSubmatchIndex(text, -1)
			s := stroke{layer: layer}
			for _, p := range points {
				s.at = append(s.at, geom.Point{X: numberIn(text[p[2]:p[3]]), Y: numberIn(text[p[4]:p[5]])})
			}
			if len(points) < 2 {
				continue
			}
			s.ends = string(text[points[len(points)-1][1]:])
			if !wanted(s) {
				continue
			}
			i, n := 0, 1
			if end == atEnd {
				i, n = len(points)-1, len(points)-2
			}
			to, p := toward(s.at[i], s.at[n], by), points[i]
			put := fmt.Sprintf("%s%.*f%s%.*f", text[p[0]:p[2]], f.digits, to.X, text[p[3]:p[4]], f.digits, to.Y)
			return slices.Concat(b[:at[4]+p[0]], []byte(put), b[at[4]+p[5]:])
		}
		panic("no stroke to plant the fault in: " + file)
	}}
}

func numberIn(b []byte) float64 {
	v, err := strconv.ParseFloat(string(b), 64)
	if err != nil {
		panic(err)
	}
	return v
}

// leftOpen opens the first closed chain that begins with a straight edge: it is drawn back to
// where it began, but begins 0.03 mm further on. A kerf of 0.18 mm leaves 0.001 mm of that.
func leftOpen(file string) steps {
	const gap = 0.03
	if chain := regexp.MustCompile(`(id="OUTLINE"[^>]*>\n(?:[^\n]*\n)*?<path d=")M([0-9.]+) ([0-9.]+)(L([0-9.]+) ([0-9.]+)[^"]*A[^"LA]*)Z"`); file == "sheet-1-cut-compensated.svg" {
		return changeFirst(file, chain, func(b []byte, at []int) (put []byte, from, to int) {
			p := toward(pointAt(b, at[4:8]), pointAt(b, at[10:14]), gap)
			return fmt.Appendf(nil, `M%.6f %.6f%s"`, p.X, p.Y, b[at[8]:at[9]]), at[3], at[1]
		})
	}
	chain := regexp.MustCompile(`\nOUTLINE\n100\nAcDbPolyline\n90\n(\d+)\n70\n1\n10\n([0-9.]+)\n20\n([0-9.]+)\n(10\n([0-9.]+)\n20\n([0-9.]+)\n(?:(?:10|20|42)\n[^\n]*\n)*)`)
	return changeFirst(file, chain, func(b []byte, at []int) (put []byte, from, to int) {
		start := pointAt(b, at[4:8])
		p := toward(start, pointAt(b, at[10:14]), gap)
		return fmt.Appendf(nil, "%d\n70\n0\n10\n%.6f\n20\n%.6f\n%s10\n%.6f\n20\n%.6f\n", int(numberIn(b[at[2]:at[3]]))+1, p.X, p.Y, b[at[8]:at[9]], start.X, start.Y), at[2], at[1]
	})
}

// pointAt is the point whose x and y two groups of a match hold.
func pointAt(b []byte, at []int) geom.Point {
	return geom.Point{X: numberIn(b[at[0]:at[1]]), Y: numberIn(b[at[2]:at[3]])}
}
