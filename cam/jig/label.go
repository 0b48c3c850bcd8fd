package jig

import (
	"fmt"
	"math"
	"strings"

	"spotjig/layout"
	"spotjig/layout/geom"
)

// Heights of lettering, mm.
const (
	nameHigh  = 8.0
	BodyHigh  = 3.6
	SmallHigh = 2.8
	LeastHigh = 2.0
	lineLead  = 1.7 // baseline to baseline, in heights
)

// CentreLine scores v = 0 wherever no opening lies on it, to the piece's ends.
func CentreLine(tp *Template, p *Piece, lim Limits) {
	solid := Obstacles(tp, p, 1.5, lim)
	ok := func(s float64) bool { return ClearOf(solid, geom.Point{X: p.Box.Min.X + s}) }
	for _, r := range Runs(p.Box.Width(), ok) {
		if lo, hi := math.Max(r.Lo, 0.5), math.Min(r.Hi, p.Box.Width()-0.5); hi-lo > 4 {
			p.Scores = append(p.Scores, Stroke(geom.Point{X: p.Box.Min.X + lo}, geom.Point{X: p.Box.Min.X + hi}))
		}
	}
}

// Check ticks stand this far from a member's ends and are this long, mm.
const (
	tickInset = 15.0
	tickLong  = 5.0
	tickLeast = 120.0
)

// CheckTicks scores two ticks on a member's reference edge and letters how far
// apart they are: the maker's first check of the finished jig.
func CheckTicks(tp *Template, i int) {
	m := tp.Members[i]
	e := ReferenceEdge(tp, &Piece{Role: m.role, Box: m.box})
	if e.Length() < tickLeast {
		return
	}
	dir := e.To.Sub(e.From).Unit()
	in := dir.Left()
	ends := [2]geom.Point{e.From.Add(dir.Scale(tickInset)), e.To.Add(dir.Scale(-tickInset))}
	for _, at := range ends {
		foot := at.Add(in.Scale(0.6))
		for _, p := range tp.Pieces {
			if p.member == i && p.Box.Contains(foot) {
				p.Scores = append(p.Scores, Stroke(foot, at.Add(in.Scale(0.6+tickLong))))
				p.Text = append(p.Text, fmt.Sprintf("TICKS %.2f", ends[0].Dist(ends[1])))
				p.Notes = append(p.Notes, Note{Text: fmt.Sprintf("TICKS %.2f", ends[0].Dist(ends[1])), Near: at.Add(in.Scale(9)), High: SmallHigh})
			}
		}
	}
}

// Note is a text that wants to stand near a point.
type Note struct {
	Text string
	Near geom.Point
	High float64
}

// letterPieces writes every piece's name, neighbours, marks and the job's data,
// where nothing is cut.
func letterPieces(tp *Template, lim Limits, req Request, font Font, serves [2]float64) {
	for _, p := range tp.Pieces {
		bare := *p
		letterPiece(tp, p, lim, req, font, serves)
		if len(p.unlettered) > 0 && bare.dropFingers() {
			*p = bare
			letterPiece(tp, p, lim, req, font, serves)
		}
	}
}

// letterPiece letters one piece.
func letterPiece(tp *Template, p *Piece, lim Limits, req Request, font Font, serves [2]float64) {
	r := NewBlanks(tp, p, lim)
	c := p.Box.Center()
	write(p, r, Note{p.ID, c, nameHigh}, font)
	for _, j := range tp.Seams {
		if other := j.neighbour(p); other != nil {
			in := p.Box.Center().Sub(j.From.Mid(j.To))
			in = j.Into().Scale(math.Copysign(7, in.Dot(j.Into())))
			write(p, r, Note{"TO " + other.ID, j.From.Mid(j.To).Add(in), SmallHigh}, font)
		}
	}
	for _, n := range p.Notes {
		write(p, r, n, font)
	}
	markNames(p, r, req.Marks, font)
	write(p, r, Note{"<< " + strings.ToUpper(tp.End) + " CUSHION", geom.Point{X: p.Box.Min.X, Y: c.Y}, BodyHigh}, font)
	write(p, r, Note{strings.Join(aboutPiece(tp, p, req, serves), "\n"), c, BodyHigh}, font)
}

// neighbour returns the piece on the other side of the joint, nil if p has no part in it.
func (j *Seam) neighbour(p *Piece) *Piece {
	switch p {
	case j.A:
		return j.B
	case j.B:
		return j.A
	}
	return nil
}

// aboutPiece is what every piece carries: template, games, table size, the range of
// length it serves, date and version.
func aboutPiece(tp *Template, p *Piece, req Request, serves [2]float64) []string {
	t := req.Table
	serve := fmt.Sprintf("FOR LENGTH %.1f TO %.1f", serves[0], serves[1])
	if req.Want.For == "this" {
		serve = "THIS TABLE ONLY"
	}
	out := []string{
		strings.ToUpper(tp.End + " template " + string(p.Role)),
		strings.ToUpper(strings.Join(req.Games, " + ")),
		fmt.Sprintf("%s %.1f X %.1f MM", strings.ToUpper(plain(t.Name, 24)), t.L, t.W),
		serve,
		plain(req.Date, 10) + " SPOTJIG " + req.Version,
	}
	if req.Want.CompensateGrowth {
		out = append(out, fmt.Sprintf("TRUE AT %.0f C", req.Want.HallTempC))
	}
	return append(out, stackText(tp, p))
}

// plain keeps what the stroke alphabet can draw, at most n characters.
func plain(s string, n int) string {
	var b strings.Builder
	for _, r := range s {
		if b.Len() >= n {
			break
		}
		if r < 32 || r > 126 {
			r = '?'
		}
		b.WriteRune(r)
	}
	return strings.TrimSpace(b.String())
}

// markNames letters each mark once on each piece that shows it.
func markNames(p *Piece, r *Blanks, marks []layout.Mark, font Font) {
	seen := map[string]bool{}
	for _, o := range p.Openings {
		if o.Mark == "" || seen[o.Mark] {
			continue
		}
		seen[o.Mark] = true
		at := o.C
		switch o.Kind {
		case OpenSlot:
			at = o.From.Mid(o.To)
		case OpenArc:
			s, c := math.Sincos((o.StartDeg + o.EndDeg) / 2 * math.Pi / 180)
			at = geom.Point{X: o.C.X + o.R*c, Y: o.C.Y + o.R*s}
		}
		write(p, r, Note{markName(o.Mark, marks), at, SmallHigh}, font)
	}
}

// markName is the mark's name, all its owners', in capitals.
func markName(id string, marks []layout.Mark) string {
	for _, m := range marks {
		if m.ID == id {
			ids := append([]string{m.ID}, m.Also...)
			return strings.ToUpper(strings.ReplaceAll(strings.Join(ids, " / "), "-", " "))
		}
	}
	return strings.ToUpper(id)
}

// write letters lines of text as near as possible to where they want to be,
// smaller where there is less room, and dropping lines from the end where there
// is none. What could not be placed is left out and noted by a check.
func write(p *Piece, r *Blanks, n Note, font Font) {
	lines := strings.Split(n.Text, "\n")
	for len(lines) > 0 {
		for _, k := range []float64{1, 0.85, 0.7} {
			high := math.Max(n.High*k, LeastHigh)
			w, h := 0.0, high*lineLead*float64(len(lines)-1)+high
			for _, l := range lines {
				w = math.Max(w, font.Width(l, high))
			}
			at, turn, ok := r.Nearest(w, h, n.Near)
			if !ok {
				continue
			}
			on := geom.Placement{X: at.X, Y: at.Y, TurnDeg: turn}
			for i, l := range lines {
				up := h - high - float64(i)*high*lineLead
				q := on.Apply(geom.Point{X: 0, Y: up})
				p.Letters = append(p.Letters, font.Strokes(l, high, geom.Placement{X: q.X, Y: q.Y, TurnDeg: turn})...)
			}
			p.Text = append(p.Text, lines...)
			return
		}
		lines = lines[:len(lines)-1]
	}
	p.unlettered = append(p.unlettered, n.Text)
}
