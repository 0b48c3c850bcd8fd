package jig

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// Heights of lettering, mm.
const (
	nameHigh  = 8.0
	BodyHigh  = 3.6
	SmallHigh = 2.8
	LeastHigh = 2.0
	lineLead  = 1.7 // baseline to baseline, in heights
)

// ScoreLines scores on every piece what each kind of jig has: its share of the centre
// line, and its member's check ticks.
func ScoreLines(tp *Template, lim Limits) {
	for _, p := range tp.Pieces {
		if p.Box.Min.Y < -10 && p.Box.Max.Y > 10 {
			centre := geom.Segment{From: geom.Point{X: p.Box.Min.X}, To: geom.Point{X: p.Box.Max.X}}
			score(p, centre, 0.5, obstacles(tp, p, 1.5, lim))
		}
	}
	for i := range tp.members {
		checkTicks(tp, i, lim.Inches)
	}
}

// ScoreLine scores a straight line wherever no opening lies on it, nor another line.
func ScoreLine(p *Piece, s geom.Segment, lim Limits) {
	score(p, s, 0, obstacles(&Template{}, &Piece{Openings: p.Openings}, 1.5, lim))
}

// scoreLeast: shorter stretches are not scored, mm.
const scoreLeast = 4.0

// score draws a line between what is in its way, and no nearer than inset to its ends.
func score(p *Piece, s geom.Segment, inset float64, solid []obstacle) {
	dir := s.To.Sub(s.From).Unit()
	at := func(x float64) geom.Point { return s.From.Add(dir.Scale(x)) }
	along := p.scoresOn(s)
	for _, r := range Runs(s.Length(), func(x float64) bool { return clearOf(solid, at(x)) && clearOf(along, at(x)) }) {
		if lo, hi := math.Max(r.Lo, inset), math.Min(r.Hi, s.Length()-inset); hi-lo > scoreLeast && !p.asDash(at(lo), at(hi)) {
			p.Scores = append(p.Scores, Stroke(at(lo), at(hi)))
		}
	}
}

// scoresOn are the piece's scores that lie on a line: what they mark is not scored again, as
// a blade twice along one line goes deeper than it may.
func (p *Piece) scoresOn(s geom.Segment) []obstacle {
	var out []obstacle
	dir := s.To.Sub(s.From).Unit()
	off := func(q geom.Point) float64 { return math.Abs(q.Sub(s.From).Dot(dir.Left())) }
	for _, c := range p.Scores {
		v := c.Vertices()
		if a, b := v[0].At, v[len(v)-1].At; len(v) == 2 && off(a) < scoreApart && off(b) < scoreApart {
			out = append(out, obstacle{of: geom.Line(a, b), keep: scoreApart})
		}
	}
	return out
}

// scoreApart: two lines nearer than this are one, mm.
const scoreApart = 0.5

// A stroke this long at most, its middle no further than this beside a slot, would be taken
// for the dash beside the slot's true edge, mm.
const (
	dashLike   = 15.0
	dashBeside = 3.0
)

// asDash reports whether a stroke would be taken for the dash of one of the piece's slots.
func (p *Piece) asDash(a, b geom.Point) bool {
	if a.Dist(b) > dashLike {
		return false
	}
	mid := a.Mid(b)
	for _, o := range p.Openings {
		if o.Kind != OpenSlot && o.Kind != OpenArc {
			continue
		}
		// Beside a slot is where its ends are further off than itself.
		off, ends := o.Dist(mid), math.Min(mid.Dist(o.At(0)), mid.Dist(o.At(o.Length())))
		if off < ends && off < o.Width/2+dashBeside+validTol {
			return true
		}
	}
	return false
}

// Check ticks stand this far from a member's ends and from its edge, and are this long, mm:
// they end inside the least web, so that no opening comes near one. Where one would be
// taken for a slot's dash it moves on in steps, as far as most.
const (
	tickEdge  = 0.6
	tickInset = 15.0
	tickStep  = 1.0
	tickMost  = 45.0
	tickLong  = 5.0
	tickLeast = 120.0
)

// checkTicks scores two ticks on a member's reference edge and letters how far
// apart they are: the maker's first check of the finished jig.
func checkTicks(tp *Template, i int, inches bool) {
	m := tp.members[i]
	e := ReferenceEdge(&Piece{Role: m.role, Box: m.box})
	if e.Length() < tickLeast {
		return
	}
	dir := e.To.Sub(e.From).Unit()
	in := dir.Left()
	pieceAt := func(foot geom.Point) *Piece {
		for _, p := range tp.Pieces {
			if p.member == i && p.Box.Contains(foot) {
				return p
			}
		}
		return nil
	}
	tick := func(at geom.Point) (foot, end geom.Point) {
		return at.Add(in.Scale(tickEdge)), at.Add(in.Scale(tickEdge + tickLong))
	}
	from := func(corner geom.Point, dir geom.Vec) geom.Point {
		for off := tickInset; off <= tickMost; off += tickStep {
			foot, end := tick(corner.Add(dir.Scale(off)))
			if p := pieceAt(foot); p == nil || !p.asDash(foot, end) {
				return corner.Add(dir.Scale(off))
			}
		}
		return corner.Add(dir.Scale(tickInset))
	}
	ends := [2]geom.Point{from(e.From, dir), from(e.To, dir.Scale(-1))}
	for _, at := range ends {
		foot, end := tick(at)
		p := pieceAt(foot)
		if p == nil {
			continue
		}
		p.Scores = append(p.Scores, Stroke(foot, end))
		text := ticksText(ends[0].Dist(ends[1]), inches)
		p.Text = append(p.Text, text)
		p.Notes = append(p.Notes, Note{Text: text, Near: at.Add(in.Scale(9)), High: SmallHigh})
	}
}

// ticks begins what is lettered of check ticks.
const ticks = "TICKS "

// ticksText is how far check ticks are apart, as lettered.
func ticksText(mm float64, inches bool) string {
	if inches {
		return fmt.Sprintf("%s%s (%.2f)", ticks, strings.ToUpper(figure.Inches(mm)), mm)
	}
	return fmt.Sprintf("%s%.2f", ticks, mm)
}

// TicksApart is the distance that check ticks are lettered with, mm; 0 where the text is
// not of ticks.
func TicksApart(text string) float64 {
	d, ok := strings.CutPrefix(text, ticks)
	if !ok {
		return 0
	}
	if _, mm, both := strings.Cut(d, "("); both {
		d = strings.TrimSuffix(mm, ")")
	}
	v, err := strconv.ParseFloat(d, 64)
	if err != nil {
		return 0
	}
	return v
}

// Note is a text that wants to stand near a point.
type Note struct {
	Text string
	Near geom.Point
	High float64
}

// labels is what every piece of a jig is lettered with.
type labels struct {
	req    Request
	lim    Limits
	font   Font
	serves [2]float64 // the range of length
}

// write letters every piece's name, neighbours, marks and the job's data, where nothing
// is cut. A piece on which there is no room for all of it goes without finger holes.
func (l labels) write(tp *Template) {
	for _, p := range tp.Pieces {
		bare := *p
		l.piece(tp, p)
		if len(p.unlettered) > 0 && bare.dropFingers() {
			*p = bare
			l.piece(tp, p)
		}
	}
}

func (l labels) piece(tp *Template, p *Piece) {
	free := NewBlanks(tp, p, l.lim)
	c := p.Box.Center()
	if l.req.Want.Letters != LettersNone || l.req.Letter != "" {
		l.note(p, free, Note{p.ID, c, nameHigh}) // among other jobs' pieces none goes without
	}
	if l.req.Want.Letters == LettersNone {
		l.onlyTable(p, free)
		return
	}
	for _, j := range tp.Seams {
		if other := j.Neighbour(p); other != nil {
			in := p.Box.Center().Sub(j.From.Mid(j.To))
			in = j.into().Scale(math.Copysign(7, in.Dot(j.into())))
			l.note(p, free, Note{"TO " + other.ID, j.From.Mid(j.To).Add(in), SmallHigh})
		}
	}
	for _, n := range p.Notes {
		l.note(p, free, n)
	}
	if slices.ContainsFunc(tp.Fins, func(f *Fin) bool { return f.On == p && f.Shoe != "" }) {
		for _, text := range l.req.settings.letters(tp.End, func(id string) string { return markName(id, l.req.Marks) }) {
			l.note(p, free, Note{text, geom.Point{X: p.Box.Min.X, Y: c.Y}, SmallHigh})
		}
	}
	if l.req.Want.Letters != LettersShort {
		l.markNames(p, free)
	}
	if p.Role != GaugePlate { // it lies as well one way as the other
		l.note(p, free, Note{"<< " + strings.ToUpper(tp.End) + " CUSHION", geom.Point{X: p.Box.Min.X, Y: c.Y}, BodyHigh})
	}
	if l.req.Want.Letters == LettersShort {
		l.onlyTable(p, free)
		return
	}
	l.note(p, free, Note{strings.Join(l.about(tp, p), "\n"), c, BodyHigh})
}

// What a job may ask to be lettered beside everything ("full").
const (
	LettersShort = "short" // names, neighbours and which way the cushion is
	LettersNone  = "none"  // nothing but what scales and upright pieces need
)

// onlyTable letters that a jig is for one table, however little is asked for: on another it
// would mark wrongly, and nothing else on it tells.
func (l labels) onlyTable(p *Piece, free *Blanks) {
	if l.req.Want.For == job.ForThis {
		l.note(p, free, Note{"THIS TABLE ONLY", p.Box.Center(), BodyHigh})
	}
}

// about is what every piece carries: template, games, table size, the range of
// length it serves, date and version.
func (l labels) about(tp *Template, p *Piece) []string {
	t := l.req.Table
	serve := fmt.Sprintf("FOR LENGTH %.1f TO %.1f", l.serves[0], l.serves[1])
	if l.req.Inches {
		serve = "FOR LENGTH " + strings.TrimSuffix(strings.ToUpper(figure.InchesFirst(figure.Between(l.serves[0], l.serves[1]))), " MM)") + ")"
	}
	if l.req.Want.For == job.ForThis {
		serve = "THIS TABLE ONLY"
	}
	what := tp.End + " template " + string(p.Role)
	if p.Role == GaugePlate {
		what = "gauge under a thread"
	}
	out := []string{
		strings.ToUpper(what),
		strings.ToUpper(strings.Join(l.req.Games, " + ")),
		TableLetters(t, l.req.Inches),
		serve,
	}
	if slices.ContainsFunc(p.Openings, func(o Opening) bool { return o.Mark != "" && (o.Kind == OpenSlot || o.Kind == OpenArc) }) {
		out = append(out, fmt.Sprintf("RULE BY THE DASH, TOOL %s MM", figure.Short(l.req.Want.MarkerGuide, 2)))
	}
	out = append(out,
		strings.TrimSpace(plain(l.req.Date, 10)+" SPOTJIG "+l.req.Version),
	)
	if l.req.Want.CompensateGrowth {
		out = append(out, fmt.Sprintf("TRUE AT %.0f C", l.req.Want.HallTempC))
	}
	if p.Role == GaugePlate {
		return out
	}
	return append(out, stackText(tp, p))
}

// TableLetters is how a table stands on every piece of its jig, which tells jigs on a
// shelf apart.
func TableLetters(t layout.Table, inches bool) string {
	if inches {
		return strings.TrimSpace(strings.ToUpper(plain(t.Name, 24) + " " + figure.InchesFirst(figure.By(t.L, t.W))))
	}
	return strings.TrimSpace(fmt.Sprintf("%s %.1f X %.1f MM", strings.ToUpper(plain(t.Name, 24)), t.L, t.W))
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
func (l labels) markNames(p *Piece, free *Blanks) {
	seen := map[string]bool{}
	for _, o := range p.Openings {
		if o.Mark == "" || seen[o.Mark] {
			continue
		}
		seen[o.Mark] = true
		name, at := markName(o.Mark, l.req.Marks), o.Middle()
		if o.Kind == OpenPair { // each beyond its own end
			out := o.B.Sub(o.A).Unit().Scale(pairNote)
			at = o.A.Add(out.Scale(-1))
			l.note(p, free, Note{markName(o.Far, l.req.Marks), o.B.Add(out), SmallHigh})
		}
		l.note(p, free, Note{name, at, SmallHigh})
	}
}

// pairNote is how far beyond its end of a pair a spot's name wants to stand, mm.
const pairNote = 14.0

// markName is the mark's name, as it stands on every paper, in capitals.
func markName(id string, marks []layout.Mark) string {
	return strings.ToUpper(plain(strings.ReplaceAll(plainName(id, marks), ", ", " / "), markNameMax))
}

// markNameMax is the longest name of a mark that is lettered, characters: past any that
// games share, and a house mark's must not fill the piece.
const markNameMax = 72

// note letters lines of text as near as possible to where they want to be,
// smaller where there is less room, and dropping lines from the end where there
// is none. What could not be placed is left out and noted by a check.
func (l labels) note(p *Piece, free *Blanks, n Note) {
	lines := strings.Split(n.Text, "\n")
	for len(lines) > 0 {
		for _, k := range []float64{1, 0.85, 0.7} {
			high := math.Max(n.High*k, LeastHigh)
			w, h := 0.0, high*lineLead*float64(len(lines)-1)+high
			for _, text := range lines {
				w = math.Max(w, l.font.Width(text, high))
			}
			at, turn, ok := free.Nearest(w, h, n.Near)
			if !ok {
				continue
			}
			on := geom.Placement{X: at.X, Y: at.Y, Turn: turn}
			for i, text := range lines {
				up := h - high - float64(i)*high*lineLead
				q := on.Apply(geom.Point{X: 0, Y: up})
				p.Letters = append(p.Letters, l.font.Strokes(text, high, geom.Placement{X: q.X, Y: q.Y, Turn: turn})...)
			}
			p.Text = append(p.Text, lines...)
			return
		}
		lines = lines[:len(lines)-1]
	}
	p.unlettered = append(p.unlettered, n.Text)
}
