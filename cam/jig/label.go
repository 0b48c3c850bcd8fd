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
	bodyHigh  = 3.6
	smallHigh = 2.8
	leastHigh = 2.0
	lineLead  = 1.7 // baseline to baseline, in heights
)

// centreLine scores v = 0 wherever no opening lies on it, to the piece's ends.
func centreLine(tp *template, p *piece, lim limits) {
	solid := obstacles(tp, p, 1.5, lim)
	ok := func(s float64) bool { return clearOf(solid, geom.Point{X: p.box.Min.X + s}) }
	for _, r := range runs(p.box.Width(), ok) {
		if lo, hi := math.Max(r.lo, 0.5), math.Min(r.hi, p.box.Width()-0.5); hi-lo > 4 {
			p.scores = append(p.scores, line(geom.Point{X: p.box.Min.X + lo}, geom.Point{X: p.box.Min.X + hi}))
		}
	}
}

// Check ticks stand this far from a member's ends and are this long, mm.
const (
	tickInset = 15.0
	tickLong  = 5.0
	tickLeast = 120.0
)

// checkTicks scores two ticks on a member's reference edge and letters how far
// apart they are: the maker's first check of the finished jig.
func checkTicks(tp *template, i int) {
	m := tp.members[i]
	e := referenceEdge(tp, &piece{role: m.role, box: m.box})
	if e.Length() < tickLeast {
		return
	}
	dir := e.To.Sub(e.From).Unit()
	in := dir.Left()
	ends := [2]geom.Point{e.From.Add(dir.Scale(tickInset)), e.To.Add(dir.Scale(-tickInset))}
	for _, at := range ends {
		foot := at.Add(in.Scale(0.6))
		for _, p := range tp.pieces {
			if p.member == i && p.box.Contains(foot) {
				p.scores = append(p.scores, line(foot, at.Add(in.Scale(0.6+tickLong))))
				p.text = append(p.text, fmt.Sprintf("TICKS %.2f", ends[0].Dist(ends[1])))
				p.notes = append(p.notes, note{text: fmt.Sprintf("TICKS %.2f", ends[0].Dist(ends[1])), near: at.Add(in.Scale(9)), high: smallHigh})
			}
		}
	}
}

// note is a text that wants to stand near a point.
type note struct {
	text string
	near geom.Point
	high float64
}

// letterPieces writes every piece's name, neighbours, marks and the job's data,
// where nothing is cut.
func letterPieces(tp *template, lim limits, req Request, font lettering, serves [2]float64) {
	for _, p := range tp.pieces {
		bare := *p
		letterPiece(tp, p, lim, req, font, serves)
		if len(p.unlettered) > 0 && bare.dropFingers() {
			*p = bare
			letterPiece(tp, p, lim, req, font, serves)
		}
	}
}

// letterPiece letters one piece.
func letterPiece(tp *template, p *piece, lim limits, req Request, font lettering, serves [2]float64) {
	r := newBlanks(tp, p, lim)
	c := p.box.Center()
	write(p, r, note{p.id, c, nameHigh}, font)
	for _, j := range tp.joints {
		if other := j.neighbour(p); other != nil {
			in := p.box.Center().Sub(j.from.Mid(j.to))
			in = j.into().Scale(math.Copysign(7, in.Dot(j.into())))
			write(p, r, note{"TO " + other.id, j.from.Mid(j.to).Add(in), smallHigh}, font)
		}
	}
	for _, n := range p.notes {
		write(p, r, n, font)
	}
	markNames(p, r, req.Marks, font)
	write(p, r, note{"<< " + strings.ToUpper(tp.end) + " CUSHION", geom.Point{X: p.box.Min.X, Y: c.Y}, bodyHigh}, font)
	write(p, r, note{strings.Join(aboutPiece(tp, p, req, serves), "\n"), c, bodyHigh}, font)
}

// neighbour returns the piece on the other side of the joint, nil if p has no part in it.
func (j *joint) neighbour(p *piece) *piece {
	switch p {
	case j.a:
		return j.b
	case j.b:
		return j.a
	}
	return nil
}

// aboutPiece is what every piece carries: template, games, table size, the range of
// length it serves, date and version.
func aboutPiece(tp *template, p *piece, req Request, serves [2]float64) []string {
	t := req.Table
	serve := fmt.Sprintf("FOR LENGTH %.1f TO %.1f", serves[0], serves[1])
	if req.Want.For == "this" {
		serve = "THIS TABLE ONLY"
	}
	out := []string{
		strings.ToUpper(tp.end + " template " + string(p.role)),
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
func markNames(p *piece, r *blanks, marks []layout.Mark, font lettering) {
	seen := map[string]bool{}
	for _, o := range p.openings {
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
		write(p, r, note{markName(o.Mark, marks), at, smallHigh}, font)
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
func write(p *piece, r *blanks, n note, font lettering) {
	lines := strings.Split(n.text, "\n")
	for len(lines) > 0 {
		for _, k := range []float64{1, 0.85, 0.7} {
			high := math.Max(n.high*k, leastHigh)
			w, h := 0.0, high*lineLead*float64(len(lines)-1)+high
			for _, l := range lines {
				w = math.Max(w, font.width(l, high))
			}
			at, turn, ok := r.nearest(w, h, n.near)
			if !ok {
				continue
			}
			on := geom.Placement{X: at.X, Y: at.Y, TurnDeg: turn}
			for i, l := range lines {
				up := h - high - float64(i)*high*lineLead
				q := on.Apply(geom.Point{X: 0, Y: up})
				p.letters = append(p.letters, font.strokes(l, high, geom.Placement{X: q.X, Y: q.Y, TurnDeg: turn})...)
			}
			p.text = append(p.text, lines...)
			return
		}
		lines = lines[:len(lines)-1]
	}
	p.unlettered = append(p.unlettered, n.text)
}
