package shown

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"spotjig/post/proof"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
)

// As printed
//
// A paper proof shows parts, or marks, at full size on pages that are laid cross on
// cross. So a page says three times where it lies: by its name (B7.2 is the seventh
// column, second row of group B), by the words at its head, and by what is drawn on
// it; and its crosses say how far the next page is. The proof takes the distance
// from cross to cross for the lattice, the names for the place on it, finds where
// the lattice lies from the first contour it meets, and holds everything else
// against that: every contour on every page is a part's, where that part goes; every
// contour that reaches into a page is on it; and wherever there is anything to show,
// there is a page. Nothing is known here of how pages were chosen.

// Limits of the proof as printed, mm.
const (
	// printTol is how far a line may be off: papers print its ends in hundredths of a
	// point, 0.0035 mm.
	printTol = 0.012
	// sayTol is how far the words at a page's head may be off: they are rounded to tenths.
	sayTol = 0.0501 + printTol
	// printStep is how finely contours are followed to see that a page shows each place.
	printStep = 3.0
	// pageTol is how far a paper's size may be off, which is printed in hundredths of a point.
	pageTol = 0.01
	barLong = 100.0 // the scale bars
)

// Widths of lines on a full-size page, mm on paper: they tell what is what.
const (
	inkEdge   = 0.15 // outlines, openings, marks
	inkFine   = 0.10 // lettering, scores, the crosses of spots
	inkCross  = 0.08
	inkBar    = 0.20
	inkNose   = 0.40
	inkWithin = 0.011 // widths come in hundredths of a point, too
)

func isWidth(s stroke, w float64) bool { return math.Abs(s.width-w) < inkWithin }

// Printing says how a paper proof was made.
type Printing struct {
	Paper string // "a4" or "letter"
	Of    string // "template" or "marks"
}

// size is the paper's: ISO 216, or 8 1/2 by 11 inches.
func (o Printing) size() geom.Point {
	if o.Paper == "letter" {
		return geom.Point{X: 8.5 * 25.4, Y: 11 * 25.4}
	}
	return geom.Point{X: 210, Y: 297}
}

// AsPrinted reads proof.pdf back (id as-printed): everything is drawn at full size where it
// goes, on pages that fit together, to within printTol, and nothing else is. How it looks is
// told at the head of this file.
func AsPrinted(data []byte, set post.Set, how Printing) jig.Check {
	c := jig.Check{ID: "as-printed", Verdict: jig.Pass, Limit: printTol, Unit: "mm"}
	pages, err := readPDF(data)
	if err != nil {
		return proof.Failed(c, err.Error())
	}
	p := printing{set: set, how: how}
	err = p.all(pages)
	c.Value = p.worst
	if err != nil {
		return proof.Failed(c, "proof.pdf: "+err.Error())
	}
	c.Text = fmt.Sprintf("proof.pdf: %d full-size pages show all of %d contours and strokes in their places", p.sheets, p.contours)
	return c
}

// printing is one proof being looked at.
type printing struct {
	set      post.Set
	how      Printing
	worst    float64
	sheets   int // full-size pages
	contours int
}

// figure is one contour, stroke or line to be drawn at full size.
type figure struct {
	chain []proof.Curve
	fine  bool
	owner int // of what it is part
	box   proof.Box
}

// figures are what one group must show.
type figures struct {
	letter string
	title  string // as the page's head begins
	names  []string
	all    []figure
	loose  bool // in rows, not where it goes on the table
	index  map[[2]int32][]int
}

// figureCell is the size of the index's squares, mm: much more than printTol.
const figureCell = 0.2

func (f *figures) add(owner int, fine bool, chain []proof.Curve) {
	b := proof.Nothing()
	for _, k := range chain {
		b = b.Union(k.Box())
	}
	f.all = append(f.all, figure{chain, fine, owner, b})
}

// indexed makes the index by the middles of boxes.
func (f *figures) indexed() {
	f.index = make(map[[2]int32][]int, len(f.all))
	for i, g := range f.all {
		k := figureKey(middle(g.box))
		f.index[k] = append(f.index[k], i)
	}
}

func figureKey(p geom.Point) [2]int32 {
	return [2]int32{int32(math.Floor(p.X / figureCell)), int32(math.Floor(p.Y / figureCell))}
}

func middle(b proof.Box) geom.Point { return geom.Point{X: (b.X0 + b.X1) / 2, Y: (b.Y0 + b.Y1) / 2} }

// near calls f for the figures whose middles may lie within tol of p, until it
// says true.
func (f *figures) near(p geom.Point, tol float64, is func(int) bool) bool {
	lo, hi := figureKey(geom.Point{X: p.X - tol, Y: p.Y - tol}), figureKey(geom.Point{X: p.X + tol, Y: p.Y + tol})
	for x := lo[0]; x <= hi[0]; x++ {
		for y := lo[1]; y <= hi[1]; y++ {
			for _, i := range f.index[[2]int32{x, y}] {
				if is(i) {
					return true
				}
			}
		}
	}
	return false
}

// leaf is one full-size page: its name, its cell of the lattice and its strokes.
type leaf struct {
	paperPage
	number   int       // in the file, from 1
	col, row int       // as named; rows count downwards
	cross    proof.Box // the rectangle of its four crosses
	shift    geom.Point
}

// shown is the part of the frame that the page can show.
func (l leaf) shown() proof.Box {
	return proof.Box{X0: l.clip.X0 + l.shift.X, Y0: l.clip.Y0 + l.shift.Y, X1: l.clip.X1 + l.shift.X, Y1: l.clip.Y1 + l.shift.Y}
}

// all goes through groups and pages.
func (p *printing) all(pages []paperPage) error {
	size := p.how.size()
	for i, g := range pages {
		if math.Abs(g.width-size.X) > pageTol || math.Abs(g.height-size.Y) > pageTol {
			return fmt.Errorf("page %d is %.2f x %.2f mm, not %.1f x %.1f", i+1, g.width, g.height, size.X, size.Y)
		}
	}
	groups := p.groups()
	leaves, maps, err := sorted(pages)
	if err != nil {
		return err
	}
	p.sheets = len(leaves)
	at := 0
	for i, g := range groups {
		n := at
		for n < len(leaves) && leaves[n].letter() == g.letter {
			n++
		}
		if len(g.all) > 0 && n == at {
			return fmt.Errorf("no page shows the %s", g.title)
		}
		if n == at {
			continue
		}
		if err := p.group(g, leaves[at:n]); err != nil {
			return fmt.Errorf("%s: %w", g.title, err)
		}
		if len(maps) == 0 {
			return fmt.Errorf("no map of the %s", g.title)
		}
		if err := mapped(maps[0], leaves[at:n]); err != nil {
			return fmt.Errorf("map of the %s: %w", g.title, err)
		}
		maps, at = maps[1:], n
		p.contours += len(groups[i].all)
	}
	if at < len(leaves) || len(maps) > 0 && len(leaves) > 0 {
		return fmt.Errorf("a page too many, or in another order")
	}
	return nil
}

// letter begins the page's name.
func (l leaf) letter() string { return l.name()[:1] }

// name is the page's name, the text in the largest letters.
func (l leaf) name() string {
	best := paperText{text: "?"}
	for _, t := range l.texts {
		if t.size > best.size {
			best = t
		}
	}
	return best.text
}

// sorted parts the full-size pages from the maps before them.
func sorted(pages []paperPage) (leaves []leaf, maps []paperPage, err error) {
	pattern := regexp.MustCompile(`^[A-Z]([1-9][0-9]*)\.([1-9][0-9]*)$`)
	for i, g := range pages {
		if g.clip == proof.Nothing() {
			if len(leaves) > 0 {
				return nil, nil, fmt.Errorf("page %d is no full-size page", i+1)
			}
			maps = append(maps, g)
			continue
		}
		l := leaf{paperPage: g, number: i + 1}
		m := pattern.FindStringSubmatch(l.name())
		if m == nil {
			return nil, nil, fmt.Errorf("page %d has no name", i+1)
		}
		l.col, _ = strconv.Atoi(m[1])
		l.row, _ = strconv.Atoi(m[2])
		if err := l.marked(); err != nil {
			return nil, nil, fmt.Errorf("page %d, %s: %w", l.number, l.name(), err)
		}
		leaves = append(leaves, l)
	}
	return leaves, maps, nil
}

// marked finds the page's crosses and holds its scale bars.
func (l *leaf) marked() error {
	var across, up []geom.Point // middles of the crosses' arms
	l.cross = proof.Nothing()
	for _, s := range l.strokes {
		if !isWidth(s, inkCross) || len(s.chain) != 1 || s.clipped {
			continue
		}
		k := s.chain[0]
		switch m := k.At(0.5); { // crosses have the longest arms of what is as thin
		case k.Length() < 7:
		case k.A.Y == k.B.Y:
			across = append(across, m)
		case k.A.X == k.B.X:
			up = append(up, m)
		}
	}
	for _, m := range across {
		if !slices.ContainsFunc(up, func(q geom.Point) bool { return proof.Dist(m, q) <= printTol }) {
			return fmt.Errorf("a cross whose arms do not meet")
		}
		l.cross = l.cross.With(m)
	}
	if len(across) != 4 || len(up) != 4 {
		return fmt.Errorf("%d crosses", len(across))
	}
	for _, m := range across {
		c := l.cross
		if math.Min(math.Abs(m.X-c.X0), math.Abs(m.X-c.X1)) > printTol || math.Min(math.Abs(m.Y-c.Y0), math.Abs(m.Y-c.Y1)) > printTol {
			return fmt.Errorf("its crosses are no rectangle")
		}
	}
	if in := l.clip; in.X0 > l.cross.X0 || in.Y0 > l.cross.Y0 || in.X1 < l.cross.X1 || in.Y1 < l.cross.Y1 {
		return fmt.Errorf("it does not show all up to its crosses")
	}
	bars := 0
	for _, s := range l.strokes {
		if isWidth(s, inkBar) && len(s.chain) == 1 && math.Abs(s.chain[0].Length()-barLong) <= printTol {
			bars++
		}
	}
	if bars != 2 {
		return fmt.Errorf("%d scale bars of 100 mm", bars)
	}
	return nil
}

// mapped wants each page of a group named on the group's map, and no other.
func mapped(m paperPage, leaves []leaf) error {
	named := regexp.MustCompile(`^[A-Z][1-9][0-9]*\.[1-9][0-9]*$`)
	var got, want []string
	for _, t := range m.texts {
		if named.MatchString(t.text) {
			got = append(got, t.text)
		}
	}
	for _, l := range leaves {
		want = append(want, l.name())
	}
	if !slices.Equal(got, want) {
		return fmt.Errorf("it names the pages %s, there are %s", strings.Join(got, " "), strings.Join(want, " "))
	}
	return nil
}

// groups are what the proof must show, from the parts or the marks.
func (p *printing) groups() []figures {
	if p.how.Of == "marks" {
		return []figures{p.markFigures()}
	}
	var out []figures
	var order []string
	rest := figures{title: "upright pieces and plugs", loose: true}
	for _, part := range p.set.Jig.Parts {
		if !slices.Contains(order, part.Template) {
			order = append(order, part.Template)
			out = append(out, figures{title: part.Template + " template"})
		}
		g, to := &out[slices.Index(order, part.Template)], proof.OnTable(part)
		if !part.Lies() {
			g, to = &rest, proof.Mover{K: 1, Cos: 1}
		}
		g.part(part, to)
	}
	out = append(out, rest)
	for i := range out {
		out[i].letter = string(rune('A' + i%26))
		out[i].indexed()
	}
	return out
}

// part adds a part's outline, openings, scores and letters.
func (f *figures) part(p jig.Part, to proof.Mover) {
	owner := len(f.names)
	f.names = append(f.names, p.ID)
	moved := func(fine bool, chain []proof.Curve) {
		for i, k := range chain {
			chain[i] = to.Curve(k)
		}
		f.add(owner, fine, chain)
	}
	moved(false, proof.ChainOf(p.Outline))
	for _, o := range p.Openings {
		moved(false, proof.OpeningEdge(o))
	}
	for _, chains := range [2][]geom.Contour{p.Scores, p.Letters} {
		for _, c := range chains {
			moved(true, proof.ChainOf(c))
		}
	}
}

// A spot is printed as a cross in a ring, mm.
const (
	spotRing = 2.0
	spotArm  = 5.0
)

// markFigures are the marks as a paper jig.
func (p *printing) markFigures() figures {
	f := figures{letter: "M", title: "marks"}
	for i, m := range p.set.Marks {
		f.names = append(f.names, m.Name)
		if m.Kind != layout.Spot {
			f.add(i, false, proof.ChainOfMark(m))
			continue
		}
		f.add(i, false, []proof.Curve{proof.ArcOf(geom.Point{X: m.X, Y: m.Y}, spotRing, 0, 2*math.Pi)})
		f.add(i, true, []proof.Curve{proof.LineOf(geom.Point{X: m.X - spotArm, Y: m.Y}, geom.Point{X: m.X + spotArm, Y: m.Y})})
		f.add(i, true, []proof.Curve{proof.LineOf(geom.Point{X: m.X, Y: m.Y - spotArm}, geom.Point{X: m.X, Y: m.Y + spotArm})})
	}
	f.indexed()
	return f
}
