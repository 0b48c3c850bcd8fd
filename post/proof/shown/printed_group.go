package shown

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"

	"spotjig/post/proof"

	"spotjig/layout/geom"
)

// group holds the pages of one group against its figures.
func (p *printing) group(f figures, leaves []leaf) error {
	if err := ordered(leaves); err != nil {
		return err
	}
	if err := p.locate(&f, leaves); err != nil {
		return err
	}
	cells := map[[2]int]bool{}
	w, h := leaves[0].cross.X1-leaves[0].cross.X0, leaves[0].cross.Y1-leaves[0].cross.Y0
	origin := geom.Point{X: leaves[0].cross.X0 + leaves[0].shift.X, Y: leaves[0].cross.Y0 + leaves[0].shift.Y}
	for _, l := range leaves {
		cells[[2]int{l.col - leaves[0].col, l.row - leaves[0].row}] = true
		if err := p.leaf(&f, l); err != nil {
			return fmt.Errorf("page %d, %s: %w", l.number, l.name(), err)
		}
	}
	for _, g := range f.all {
		for _, k := range g.chain {
			n := int(k.Length()/printStep) + 1
			for i := 0; i <= n; i++ {
				q := k.At(float64(i) / float64(n))
				if !covered(cells, (q.X-origin.X)/w, (q.Y-origin.Y)/h) {
					return fmt.Errorf("no page shows %s at %s", f.names[g.owner], proof.At(q))
				}
			}
		}
	}
	return nil
}

// covered reports whether there is a page for a place, told in columns and rows from the
// first page. Beside a lattice line either page serves.
func covered(cells map[[2]int]bool, x, y float64) bool {
	const beside = 1e-4
	for _, d := range [2]float64{-beside, beside} {
		for _, e := range [2]float64{-beside, beside} {
			if cells[[2]int{int(math.Floor(x + d)), -int(math.Floor(y + e))}] {
				return true
			}
		}
	}
	return false
}

// ordered wants the pages of one group by row from the top, then by column, with the same
// lattice, beginning at column and row 1.
func ordered(leaves []leaf) error {
	col, row := leaves[0].col, leaves[0].row
	for i, l := range leaves {
		col, row = min(col, l.col), min(row, l.row)
		c, d := l.cross, leaves[0].cross
		if math.Abs(c.X0-d.X0)+math.Abs(c.Y0-d.Y0)+math.Abs(c.X1-d.X1)+math.Abs(c.Y1-d.Y1) > printTol {
			return fmt.Errorf("page %d has its crosses elsewhere", l.number)
		}
		if i > 0 {
			if b := leaves[i-1]; l.row < b.row || l.row == b.row && l.col <= b.col {
				return fmt.Errorf("page %d, %s, comes after %s", l.number, l.name(), b.name())
			}
		}
	}
	if col != 1 || row != 1 {
		return fmt.Errorf("pages begin at column %d, row %d", col, row)
	}
	return nil
}

// locate finds where the lattice lies, and gives every page its shift.
func (p *printing) locate(f *figures, leaves []leaf) error {
	first := leaves[0]
	w, h := first.cross.X1-first.cross.X0, first.cross.Y1-first.cross.Y0
	step := func(l leaf) geom.Point {
		return geom.Point{X: float64(l.col-first.col) * w, Y: -float64(l.row-first.row) * h}
	}
	origin := geom.Point{X: -first.cross.X0, Y: -first.cross.Y0}
	if !f.loose {
		for _, l := range leaves {
			said, err := l.said()
			if err != nil {
				return fmt.Errorf("page %d, %s: %w", l.number, l.name(), err)
			}
			d := step(l)
			from := geom.Point{X: said.X - d.X - l.cross.X0, Y: said.Y - d.Y - l.cross.Y0}
			if l.number == first.number {
				origin = from
			}
			if math.Abs(from.X-origin.X) > 2*sayTol || math.Abs(from.Y-origin.Y) > 2*sayTol {
				return fmt.Errorf("page %d, %s, says that it lies at %s, its name says otherwise", l.number, l.name(), proof.At(said))
			}
		}
		fine, ok := settle(f, first, origin)
		if !ok {
			return fmt.Errorf("page %d, %s: what is drawn is not what lies at %s", first.number, first.name(), proof.At(geom.Point{X: first.cross.X0 + origin.X, Y: first.cross.Y0 + origin.Y}))
		}
		origin = fine
	}
	for i, l := range leaves {
		d := step(l)
		leaves[i].shift = geom.Point{X: origin.X + d.X, Y: origin.Y + d.Y}
	}
	if f.loose {
		return p.rows(f, leaves)
	}
	return stretched(f, leaves)
}

// stepTol is how far the distance from cross to cross may be off, mm: that of two printed
// numbers.
const stepTol = 0.0036

// stretched sharpens the lattice's step, of which the crosses tell only the printed
// digits, by the pages furthest from the first; the lattice is the same for all.
func stretched(f *figures, leaves []leaf) error {
	first := leaves[0]
	var more, far geom.Point // by how much each step is more; how many steps that was measured over
	for _, l := range leaves[1:] {
		fine, ok := settle(f, l, l.shift)
		if !ok {
			continue
		}
		if n := math.Abs(float64(l.col - first.col)); n > far.X {
			far.X, more.X = n, (fine.X-l.shift.X)/float64(l.col-first.col)
		}
		if n := math.Abs(float64(l.row - first.row)); n > far.Y {
			far.Y, more.Y = n, (fine.Y-l.shift.Y)/float64(l.row-first.row)
		}
	}
	if off := math.Max(math.Abs(more.X)*far.X, math.Abs(more.Y)*far.Y); off > printTol+stepTol*math.Max(far.X, far.Y) {
		return fmt.Errorf("pages laid cross on cross are %.3f mm off", off)
	}
	for i, l := range leaves {
		leaves[i].shift.X += more.X * float64(l.col-first.col)
		leaves[i].shift.Y += more.Y * float64(l.row-first.row)
	}
	return nil
}

// What the words at a page's head say of its lower left cross.
var (
	crossLong = regexp.MustCompile(`^lower left cross: ([0-9.]+) mm (from|behind) head nose,$`)
	crossSide = regexp.MustCompile(`^([0-9.]+) mm (left|right) of the centre line$`)
)

// said is where the words at the page's head put its lower left cross.
func (l leaf) said() (geom.Point, error) {
	var out geom.Point
	n := 0
	for _, t := range l.texts {
		for k, re := range []*regexp.Regexp{crossLong, crossSide} {
			m := re.FindStringSubmatch(t.text)
			if m == nil {
				continue
			}
			n++
			v, err := strconv.ParseFloat(m[1], 64)
			if err != nil {
				return out, err
			}
			if m[2] == "behind" || m[2] == "right" {
				v = -v
			}
			if k == 0 {
				out.X = v
			} else {
				out.Y = v
			}
		}
	}
	if n != 2 {
		return out, fmt.Errorf("it does not say where it lies")
	}
	return out, nil
}

// settle sharpens a shift that is known to a tenth of a mm by the first contour of
// the page that is a figure's.
func settle(f *figures, l leaf, shift geom.Point) (geom.Point, bool) {
	for _, s := range l.strokes {
		if !s.clipped || !isWidth(s, inkEdge) {
			continue
		}
		b := boxOf(s.chain)
		m := middle(b)
		m = geom.Point{X: m.X + shift.X, Y: m.Y + shift.Y}
		var fine geom.Point
		if f.near(m, sayTol, func(i int) bool {
			g := f.all[i]
			q := middle(g.box)
			if math.Abs(q.X-m.X) > sayTol || math.Abs(q.Y-m.Y) > sayTol {
				return false
			}
			fine = geom.Point{X: shift.X + q.X - m.X, Y: shift.Y + q.Y - m.Y}
			_, ok := sameFigure(s, g, fine)
			return ok
		}) {
			return fine, true
		}
	}
	return shift, false
}

func boxOf(chain []proof.Curve) proof.Box {
	b := proof.Nothing()
	for _, k := range chain {
		b = b.Union(k.Box())
	}
	return b
}

// sameFigure compares a stroke, shifted, with a figure: ends and middles of each
// lie on the other.
func sameFigure(s stroke, g figure, shift geom.Point) (worst float64, ok bool) {
	return sameWithin(printTol, s, g, shift)
}

// sameWithin is sameFigure for another tolerance.
func sameWithin(tol float64, s stroke, g figure, shift geom.Point) (worst float64, ok bool) {
	if isWidth(s, inkFine) != g.fine {
		return 0, false
	}
	a := follower{chain: g.chain, tol: tol}
	for _, k := range s.chain {
		for _, q := range [3]geom.Point{k.A, k.At(0.5), k.B} {
			a.follow(geom.Point{X: q.X + shift.X, Y: q.Y + shift.Y})
		}
		if a.worst > tol {
			return a.worst, false
		}
	}
	b := follower{chain: s.chain, tol: tol}
	for _, k := range g.chain {
		for _, q := range [3]geom.Point{k.A, k.At(0.5), k.B} {
			b.follow(geom.Point{X: q.X - shift.X, Y: q.Y - shift.Y})
		}
		if b.worst > tol {
			return b.worst, false
		}
	}
	return math.Max(a.worst, b.worst), true
}

// follower goes along a chain beside points that come in order, one way or the
// other: the curve that the last one lay on, or one beside it, is tried first.
type follower struct {
	chain []proof.Curve
	tol   float64
	last  int
	worst float64
}

func (f *follower) follow(q geom.Point) {
	n := len(f.chain)
	for _, i := range [3]int{f.last, f.last + 1, f.last + n - 1} {
		if _, d := f.chain[i%n].Nearest(q); d <= f.tol {
			f.last, f.worst = i%n, math.Max(f.worst, d)
			return
		}
	}
	i, d := proof.NearestOf(f.chain, q)
	f.last, f.worst = i, math.Max(f.worst, d)
}

// leaf holds one page: everything drawn is a figure in its place, every figure
// that reaches into the page is drawn once, the noses are where they are, and what
// is named is there.
func (p *printing) leaf(f *figures, l leaf) error {
	drawn := make([]bool, len(f.all))
	noses := 0
	for _, s := range l.strokes {
		if !s.clipped {
			continue
		}
		if isWidth(s, inkNose) {
			if !p.nose(s, l.shift) || f.loose {
				return fmt.Errorf("a nose that is no nose of the table")
			}
			noses++
			continue
		}
		m := middle(boxOf(s.chain))
		m = geom.Point{X: m.X + l.shift.X, Y: m.Y + l.shift.Y}
		if !f.near(m, 2*printTol, func(i int) bool {
			d, ok := sameFigure(s, f.all[i], l.shift)
			if ok && !drawn[i] {
				drawn[i] = true
				p.worst = math.Max(p.worst, d)
				return true
			}
			return false
		}) {
			return fmt.Errorf("the line at %s is no part's", proof.At(m))
		}
	}
	if noses != 1 && !f.loose {
		return fmt.Errorf("%d tables are drawn", noses)
	}
	in := l.shown()
	for i, g := range f.all {
		if !drawn[i] && meets(g, in) {
			return fmt.Errorf("a line of %s at %s is missing", f.names[g.owner], proof.At(middle(g.box)))
		}
	}
	return p.named(f, l)
}

// meets reports whether a figure reaches into a box, a hair's breadth at least.
func meets(g figure, in proof.Box) bool {
	const hair = 0.01
	b := g.box
	if b.X1 < in.X0+hair || b.X0 > in.X1-hair || b.Y1 < in.Y0+hair || b.Y0 > in.Y1-hair {
		return false
	}
	for _, k := range g.chain {
		n := int(k.Length()/0.5) + 1
		for i := 0; i <= n; i++ {
			if q := k.At(float64(i) / float64(n)); q.X > in.X0+hair && q.X < in.X1-hair && q.Y > in.Y0+hair && q.Y < in.Y1-hair {
				return true
			}
		}
	}
	return false
}

// nose reports whether a stroke is the table's outline.
func (p *printing) nose(s stroke, shift geom.Point) bool {
	var table []proof.Curve
	c := p.set.Table.Corners
	for i := range c {
		j := (i + 1) % len(c)
		table = append(table, proof.LineOf(geom.Point{X: c[i][0], Y: c[i][1]}, geom.Point{X: c[j][0], Y: c[j][1]}))
	}
	d, ok := sameFigure(s, figure{chain: table}, shift)
	p.worst = math.Max(p.worst, d)
	return ok
}

// named wants every name written over the drawing to be that of something on the page.
func (p *printing) named(f *figures, l leaf) error {
	in := l.shown()
	for _, t := range l.texts {
		if !t.clipped || t.text == "nose of the side cushion" || t.text == "nose of the end cushion" || !plainText(t.text) {
			continue
		}
		there := false
		for _, g := range f.all {
			there = there || !g.fine && f.names[g.owner] == t.text && boxesMeet(g.box, in)
		}
		if !there && slices.ContainsFunc(f.names, plainText) {
			return fmt.Errorf("it names %q, which is not on it", t.text)
		}
	}
	return nil
}

func boxesMeet(a, b proof.Box) bool { return a.X0 < b.X1 && b.X0 < a.X1 && a.Y0 < b.Y1 && b.Y0 < a.Y1 }

// plainText reports whether a text is printed as it is, whatever the paper's encoding.
func plainText(s string) bool {
	return !slices.ContainsFunc([]byte(s), func(c byte) bool { return c < ' ' || c > '~' })
}

// rows finds where the loose parts were put: each where its outline is drawn with
// everything that is in it. Their figures are moved there.
func (p *printing) rows(f *figures, leaves []leaf) error {
	var drawn figures
	for _, l := range leaves {
		for _, s := range l.strokes {
			if s.clipped && (isWidth(s, inkEdge) || isWidth(s, inkFine)) {
				chain := make([]proof.Curve, len(s.chain))
				for i, k := range s.chain {
					chain[i] = proof.Mover{K: 1, Cos: 1, Sin: 0, X: l.shift.X, Y: l.shift.Y, Turn: 0}.Curve(k)
				}
				drawn.add(0, isWidth(s, inkFine), chain)
			}
		}
	}
	drawn.indexed()
	taken := make([]bool, len(drawn.all))
	for owner := range f.names {
		if !p.row(f, owner, &drawn, taken) {
			return fmt.Errorf("%s is not drawn, or not as it is", f.names[owner])
		}
	}
	f.indexed()
	return nil
}

// row looks for one loose part among what is drawn.
func (p *printing) row(f *figures, owner int, drawn *figures, taken []bool) bool {
	from := slices.IndexFunc(f.all, func(g figure) bool { return g.owner == owner })
	to := from
	for to < len(f.all) && f.all[to].owner == owner {
		to++
	}
	own := f.all[from:to]
	for i, d := range drawn.all {
		if taken[i] || d.fine || math.Abs(d.box.X1-d.box.X0-own[0].box.X1+own[0].box.X0) > 2*printTol {
			continue
		}
		a, b := middle(d.box), middle(own[0].box)
		shift := geom.Point{X: a.X - b.X, Y: a.Y - b.Y}
		all := true
		for _, g := range own {
			all = all && drawn.has(g, shift)
		}
		if !all {
			continue
		}
		for k, g := range own {
			own[k] = g.moved(shift)
		}
		for j, e := range drawn.all { // a piece larger than a page is on several
			taken[j] = taken[j] || !e.fine && proof.Dist(middle(e.box), a) < printTol
		}
		return true
	}
	return false
}

// has reports whether the figure, shifted, is among those drawn.
func (f *figures) has(g figure, shift geom.Point) bool {
	m := middle(g.box)
	return f.near(geom.Point{X: m.X + shift.X, Y: m.Y + shift.Y}, 2*printTol, func(i int) bool {
		d := f.all[i]
		width := inkEdge
		if d.fine {
			width = inkFine
		}
		_, ok := sameFigure(stroke{width: width, chain: d.chain}, g, geom.Point{X: -shift.X, Y: -shift.Y})
		return ok
	})
}

func (g figure) moved(by geom.Point) figure {
	to := proof.Mover{K: 1, Cos: 1, Sin: 0, X: by.X, Y: by.Y, Turn: 0}
	chain := make([]proof.Curve, len(g.chain))
	for i, k := range g.chain {
		chain[i] = to.Curve(k)
	}
	g.chain, g.box = chain, boxOf(chain)
	return g
}
