package nest

import (
	"cmp"
	"math"
	"slices"

	"spotjig/cam/machine"
)

// How outlines are laid
//
// Pieces are laid one after another, each on the first sheet that has a place for it
// (fit.go). Which order is good cannot be known beforehand, so orders are tried: first
// the pieces by size in several senses, each pushed in every way; then the best of
// these is made better (ruin.go). Work is counted, not timed, so that every processor
// stops at the same place; the search also ends when the answer takes no more sheets
// than the area of the pieces needs.
//
// The packing by boxes (pack.go) is the first answer and is only given up for a better
// one, so that outlines never take more sheets than boxes. What is found is held
// against the outlines themselves before it is returned (exact.go).

// workMax bounds the search: rectangles looked at. Some 7 ns each.
const workMax = 3_000_000

// A sheet fewer is looked for longer where it seems in reach: workMore, as long as the
// covers of the pieces fill no more than closeShare of the sheets that would be left, and
// these are no more than closeMost. Of 98 ordinary jobs 12 were laid on a sheet fewer so,
// none of which filled more than 0.94. Where two or more would be left it is workMost, with
// which two more were; one sheet for two was never found so late.
const (
	workMore   = 30_000_000
	workMost   = 80_000_000
	closeShare = 0.95
	closeMost  = 6
)

// Of several sheets the last is worth emptying even when none can be saved: what is left of
// it is put by. Of more than closeMost it is little of the whole. It is gone on with, workMore,
// as long as the emptiest is less than roomy of its room full: then a piece worth having is
// left.
const (
	several = 3
	roomy   = 0.55
	// emptyWeight is how much more it counts that the emptiest gets emptier than that
	// another gets fuller; see score.even.
	emptyWeight = 2000
)

// quietShare: the search ends when one change after the other has brought nothing, as many
// as this goes into the work it may do: a thousand of workMax.
const quietShare = 3000

// slackMax is by how much a change may make score.even worse at the beginning of the search;
// it falls to nothing at the end.
const slackMax = 10_000

// layout is an answer.
type layout struct {
	trays []*tray
	off   []int // pieces that found no place
	score score
}

// score orders answers, smaller is better, by one field after the other. Sheets filled
// unevenly are better: what the fullest hold, the emptiest need not, and one may go.
type score struct {
	left, sheets int   // pieces not laid, sheets
	cost         int64 // of the sheets, as prices has it
	even         int64 // minus the sum of squares of how full the sheets are, in thousandths, and what the emptiest holds, weighted
	last         int64 // area used of the last sheet, mm²
}

func (s score) less(o score) bool {
	switch {
	case s.left != o.left:
		return s.left < o.left
	case s.sheets != o.sheets:
		return s.sheets < o.sheets
	case s.cost != o.cost:
		return s.cost < o.cost
	case s.even != o.even:
		return s.even < o.even
	}
	return s.last < o.last
}

// follows reports whether a search may go from an answer to this one: it is no worse but
// that its sheets are filled less evenly by so much.
func (s score) follows(o score, slack int64) bool {
	if s.left != o.left || s.sheets != o.sheets || s.cost != o.cost {
		return s.less(o)
	}
	return s.even <= o.even+slack
}

// plan is one way to lay everything.
type plan struct {
	seq  []int
	pref []int
	way  push
}

// search is the problem and the work done on it.
type search struct {
	*packing
	forms    [][]form            // by item
	class    []int               // by item: the first that lies as it does
	area     []float64           // covers, gap included, by item
	least    int                 // sheets that the area of the pieces needs
	price    []int64             // of a sheet, by stock
	cheap    []int               // the stocks, cheapest first
	start    [corner + 1][]*tray // empty sheets, by stock
	numbered []*form             // all forms, by their numbers
	finder
}

func newSearch(p *packing, items []Item, least int) *search {
	s := &search{packing: p, least: least, price: prices(p.stock)}
	s.cheap = slices.Clone(p.preferences()[0])
	slices.SortStableFunc(s.cheap, func(a, b int) int { return cmp.Compare(s.price[a], s.price[b]) })
	narrow := int64(math.MaxInt64)
	for _, z := range p.item {
		narrow = min(narrow, min(z.w, z.h)+p.gap)
	}
	for i, it := range items {
		boxes := cover(it.Outline, it.Openings, narrow)
		z := p.item[i]
		s.forms = append(s.forms, forms(boxes, z.w-p.gap, z.h-p.gap, p.gap))
		for k := range s.forms[i] {
			s.forms[i][k].number = len(s.numbered)
			s.numbered = append(s.numbered, &s.forms[i][k])
		}
		s.area = append(s.area, unitedArea(s.forms[i][0].boxes))
		s.class = append(s.class, slices.IndexFunc(s.forms, func(f []form) bool { return alike(f, s.forms[i]) }))
	}
	return s
}

// unitedArea is the area that rectangles cover, overlaps counted once.
func unitedArea(rs []rect) float64 {
	var ys []int64
	for _, r := range rs {
		ys = append(ys, r.y, r.y+r.h)
	}
	slices.Sort(ys)
	ys = slices.Compact(ys)
	a := 0.0
	for i := 1; i < len(ys); i++ {
		var spans []span
		for _, r := range rs {
			if r.y <= ys[i-1] && ys[i] <= r.y+r.h {
				spans = append(spans, span{r.x, r.x + r.w})
			}
		}
		a += band{ys[i-1], ys[i], united(spans, 0)}.area()
	}
	return a
}

// improve looks for an answer better than that of the boxes.
func (s *search) improve(first layout) layout {
	best := first
	enough := func(l layout) bool {
		return !emptied(len(l.trays)) && l.score.left == 0 && l.score.sheets <= s.least && (len(s.stock) == 1 || s.work > workMax/10)
	}
	var pref []int
	var at layout
	for _, p := range s.preferences() {
		for _, key := range orders {
			for way := down; way <= corner; way++ {
				l := s.decode(plan{s.sorted(key), p, way})
				if at.trays == nil || l.score.less(at.score) {
					pref, at = p, l
				}
				if s.work > workMax {
					break
				}
			}
		}
	}
	if at.score.less(best.score) {
		best = at
	}
	row := chance(1)
	most := s.budget(best)
	for quiet := 0; len(at.trays) > 0 && !enough(best) && s.work < most && quiet < most/quietShare; quiet++ {
		l := s.rebuilt(at, pref, &row)
		if !l.score.follows(at.score, slackMax*int64(most-s.work)/int64(most)) {
			continue
		}
		if at = l; at.score.less(best.score) {
			best, quiet, most = at, 0, s.budget(at)
		}
	}
	return best
}

// budget is how much work may be done to better an answer.
func (s *search) budget(l layout) int {
	sheets := l.score.sheets // on which all would have to lie
	if l.score.left == 0 {
		sheets--
	}
	covered, room := 0.0, 0.0
	for _, a := range s.area {
		covered += a
	}
	for _, r := range s.room {
		room = math.Max(room, r.area())
	}
	if sheets <= closeMost && covered <= closeShare*room*float64(sheets) {
		if sheets > 1 {
			return workMost
		}
		return workMore
	}
	if emptied(len(l.trays)) && s.emptiest(l) < roomy {
		return workMore
	}
	return workMax
}

// emptied reports whether the last of so many sheets is worth emptying.
func emptied(sheets int) bool { return sheets >= several && sheets <= closeMost }

// emptiest is how full the emptiest sheet is, by covers.
func (s *search) emptiest(l layout) float64 {
	least := 1.0
	for _, t := range l.trays {
		least = math.Min(least, t.full/s.room[t.stock].area())
	}
	return least
}

// decode lays the pieces by a plan.
func (s *search) decode(p plan) layout {
	var l layout
	used := make([]int, len(s.stock))
	for _, it := range p.seq {
		if !s.onOne(l.trays, it) {
			s.onNew(&l, it, p.pref, used, p.way)
		}
	}
	s.smaller(l.trays, used)
	l.score = s.scored(l)
	return l
}

// onNew lays a piece on a sheet of its own, the first of the stocks preferred that is there
// and holds it.
func (s *search) onNew(l *layout, it int, pref, used []int, way push) {
	k := s.open(pref, used, s.item[it])
	if k < 0 || len(l.trays) == sheetsMax {
		l.off = append(l.off, it)
		return
	}
	used[k]++
	l.trays = append(l.trays, s.with(s.empty(k, way), it))
}

// onOne lays a piece on the first tray that has a place for it.
func (s *search) onOne(trays []*tray, it int) bool {
	for i, t := range trays {
		if next := s.with(t, it); next != nil {
			trays[i] = next
			return true
		}
	}
	return false
}

// empty is an empty sheet of stock k.
func (s *search) empty(k int, way push) *tray {
	t := &s.start[way]
	for len(*t) <= k {
		*t = append(*t, &tray{stock: len(*t), way: way})
	}
	return (*t)[k]
}

// with is the tray with a piece more; nil when there is no place for it. What was
// asked before is answered from memory: most changes of an order leave most sheets as
// they were.
func (s *search) with(t *tray, it int) *tray {
	room := s.room[t.stock]
	if t.full+s.area[it] > room.area() {
		return nil
	}
	it = s.class[it]
	if t.next == nil {
		t.next = make([]*tray, len(s.item))
	}
	if t.next[it] == nil {
		next := nowhere
		if l, at, ok := s.find(t, s.forms[it], room, t.way); ok {
			l.item = it
			next = t.put(l, &s.forms[it][at], s.area[it])
		}
		t.next[it] = next
	}
	if t.next[it] == nowhere {
		return nil
	}
	return t.next[it]
}

// smaller lays each sheet's pieces on the cheapest stock that holds them.
func (s *search) smaller(trays []*tray, used []int) {
	for i, t := range trays {
		for _, k := range s.cheap {
			if s.price[k] >= s.price[t.stock] {
				break
			}
			if c := s.stock[k].Count; c > 0 && used[k] >= c {
				continue
			}
			if nt := s.again(t, k); nt != nil {
				used[t.stock]--
				used[k]++
				trays[i] = nt
				break
			}
		}
	}
}

// again lays a tray's pieces, in the order they were laid, on a sheet of stock k; nil
// when they do not all go.
func (s *search) again(t *tray, k int) *tray {
	out := s.empty(k, t.way)
	for _, l := range t.laid {
		if out = s.with(out, l.item); out == nil {
			return nil
		}
	}
	return out
}

// named gives each piece of an answer its own number in place of its class's.
func (s *search) named(l layout) layout {
	next := slices.Clone(s.class) // by class: the first piece not yet given
	for i, t := range l.trays {
		mine := *t
		mine.laid = slices.Clone(t.laid)
		for k, on := range mine.laid {
			c := on.item
			mine.laid[k].item = next[c]
			for next[c]++; next[c] < len(s.class) && s.class[next[c]] != c; next[c]++ {
			}
		}
		l.trays[i] = &mine
	}
	return l
}

// scored is an answer's score.
func (s *search) scored(l layout) score {
	const mm2 = grain * grain
	out := score{left: len(l.off), sheets: len(l.trays), cost: s.cost(l.trays)}
	least := int64(1000)
	for _, t := range l.trays {
		area := 0.0
		for _, on := range t.laid {
			area += s.area[on.item]
		}
		full := int64(1000 * area / s.room[t.stock].area())
		least = min(least, full)
		out.even -= full * full
		out.last = int64(float64(t.maxX) * float64(t.maxY) / mm2)
	}
	if emptied(len(l.trays)) {
		out.even += emptyWeight * least
	}
	return out
}

// cost is what the sheets cost.
func (s *search) cost(trays []*tray) int64 {
	c := int64(0)
	for _, t := range trays {
		c += s.price[t.stock]
	}
	return c
}

// prices are what a sheet of each stock costs: its price in hundredths when every stock
// has one, else its area in mm².
func prices(stock []machine.Stock) []int64 {
	priced := !slices.ContainsFunc(stock, func(s machine.Stock) bool { return s.Price == 0 })
	out := make([]int64, len(stock))
	for k, s := range stock {
		out[k] = int64(math.Round(s.Width * s.Height))
		if priced {
			out[k] = int64(math.Round(100 * s.Price))
		}
	}
	return out
}

// asLaid is an answer of the boxes as one of outlines.
func (p *packing) asLaid(bins []bin) []*tray {
	out := make([]*tray, len(bins))
	for i, b := range bins {
		out[i] = &tray{stock: b.stock, maxX: b.maxX, maxY: b.maxY}
		for _, sp := range b.spots {
			deg := 0
			if sp.turned {
				deg = 90
			}
			out[i].laid = append(out[i].laid, laid{item: sp.item, x: sp.x, y: sp.y, deg: deg})
		}
	}
	return out
}
