package nest

import (
	"math"
	"sort"

	"spotjig/cam/machine"
)

// How parts are laid
//
// Members are rectangles but for their tails, and fins and plugs are small, so
// parts are laid by their boxes. A sheet keeps the list of its largest free
// rectangles, which may overlap; a box goes into the corner of one of them, and
// every free rectangle it meets is cut into what is left on its four sides
// ("maximal rectangles": J. Jylänki, A Thousand Ways to Pack the Bin, 2010).
// A part goes on the first sheet that has room for it, so that small parts, which
// come last, fill what large ones leave.
//
// No one rule for the order of parts and the choice of corner is best, and the
// work is small: all combinations are tried and the best is kept: most parts
// laid, then fewest sheets, then least area of stock, then the smallest rectangle
// used on the last sheet, then the first found.
//
// The gap is had by growing every box and every sheet by one gap to the right
// and upwards. All places are whole numbers of 1e-6 mm, so that no comparison
// depends on rounding.

// grain is how many of the packing's units make a mm.
const grain = 1e6

func units(f float64) int64 { return int64(math.Round(f * grain)) }

func mm(u int64) float64 { return float64(u) / grain }

// size is how large a box is, in units, gap included.
type size struct{ w, h int64 }

func (s size) area() float64 { return float64(float64(s.w) * float64(s.h)) }

// rect is an upright rectangle, its lower left corner and its size in units.
type rect struct{ x, y, w, h int64 }

func (r rect) holds(q rect) bool {
	return q.x >= r.x && q.y >= r.y && q.x+q.w <= r.x+r.w && q.y+q.h <= r.y+r.h
}

func (r rect) meets(q rect) bool {
	return q.x < r.x+r.w && r.x < q.x+q.w && q.y < r.y+r.h && r.y < q.y+q.h
}

// spot is where an item's box lies in the usable rectangle of its sheet.
type spot struct {
	item   int
	x, y   int64
	turned bool
}

// bin is one sheet being filled.
type bin struct {
	stock int // index into packing.stock
	free  []rect
	spots []spot
	maxX  int64
	maxY  int64
}

// packing is the problem in whole numbers.
type packing struct {
	stock  []machine.Stock
	room   []size // usable rectangle of each stock size, plus one gap
	item   []size
	gap    int64
	margin float64
}

func newPacking(items []Item, opt Options) *packing {
	p := &packing{gap: units(opt.Gap), margin: opt.Margin}
	for _, s := range opt.Stock {
		room := opt.room(s, p.gap)
		t := machine.Stock{Width: s.Height, Height: s.Width, Count: s.Count}
		if turned := opt.room(t, p.gap); turned.area() > room.area() && turned.w > 0 {
			s, room = t, turned
		}
		p.stock, p.room = append(p.stock, s), append(p.room, room)
	}
	for _, it := range items {
		b := it.Outline.Bounds()
		p.item = append(p.item, size{units(b.Width()) + p.gap, units(b.Height()) + p.gap})
	}
	return p
}

// room is the usable rectangle of a stock, plus one gap.
func (o Options) room(s machine.Stock, gap int64) size {
	w, h := o.usable(s.Width, s.Height)
	return size{units(w-2*o.Margin) + gap, units(h-2*o.Margin) + gap}
}

func fits(s, room size) bool { return s.w <= room.w && s.h <= room.h || s.h <= room.w && s.w <= room.h }

// checkFit refuses an item that fits no sheet; the size it names is of the
// sheet with the longest usable side.
func (p *packing) checkFit(items []Item) error {
	best := p.room[0]
	for _, r := range p.room[1:] {
		if max(r.w, r.h) > max(best.w, best.h) || max(r.w, r.h) == max(best.w, best.h) && r.area() > best.area() {
			best = r
		}
	}
	for i, s := range p.item {
		ok := false
		for _, r := range p.room {
			ok = ok || fits(s, r)
		}
		if !ok {
			return &FitError{
				ID: items[i].ID, Width: mm(s.w - p.gap), Height: mm(s.h - p.gap),
				MaxLong:  math.Max(0, mm(max(best.w, best.h)-p.gap)),
				MaxShort: math.Max(0, mm(min(best.w, best.h)-p.gap)),
			}
		}
	}
	return nil
}

// best tries every combination of stock preference, item order and corner rule.
// left counts the items for which the stock does not suffice.
func (p *packing) best() (bins []bin, left int) {
	left = len(p.item) + 1
	for _, pref := range p.preferences() {
		for _, key := range orders {
			seq := p.sorted(key)
			for _, rule := range rules {
				b, l := p.fill(seq, pref, rule)
				if l < left || l == left && p.better(b, bins) {
					bins, left = b, l
				}
			}
		}
	}
	return bins, left
}

// better compares two packings of as many items.
func (p *packing) better(a, b []bin) bool {
	if len(a) != len(b) {
		return len(a) < len(b)
	}
	if s, t := p.stockArea(a), p.stockArea(b); s != t {
		return s < t
	}
	if len(a) == 0 {
		return false
	}
	u, v := a[len(a)-1], b[len(b)-1]
	return size{u.maxX, u.maxY}.area() < size{v.maxX, v.maxY}.area()
}

func (p *packing) stockArea(bins []bin) float64 {
	a := 0.0
	for _, b := range bins {
		a += p.stock[b.stock].Width * p.stock[b.stock].Height
	}
	return a
}

// preferences are the orders in which stock sizes are taken: as given, largest
// first, smallest first.
func (p *packing) preferences() [][]int {
	given := make([]int, len(p.stock))
	for i := range given {
		given[i] = i
	}
	if len(given) == 1 {
		return [][]int{given}
	}
	large := append([]int(nil), given...)
	sort.SliceStable(large, func(i, j int) bool { return p.room[large[i]].area() > p.room[large[j]].area() })
	small := append([]int(nil), given...)
	sort.SliceStable(small, func(i, j int) bool { return p.room[small[i]].area() < p.room[small[j]].area() })
	return [][]int{given, large, small}
}

// orders are the keys by which items are sorted, largest first.
var orders = [...]func(size) float64{
	func(s size) float64 { return s.area() },
	func(s size) float64 { return float64(max(s.w, s.h)) },
	func(s size) float64 { return float64(min(s.w, s.h)) },
	func(s size) float64 { return float64(s.w + s.h) },
	func(s size) float64 { return float64(s.w) },
	func(s size) float64 { return float64(s.h) },
}

func (p *packing) sorted(key func(size) float64) []int {
	seq := make([]int, len(p.item))
	for i := range seq {
		seq[i] = i
	}
	sort.SliceStable(seq, func(i, j int) bool {
		a, b := p.item[seq[i]], p.item[seq[j]]
		if ka, kb := key(a), key(b); ka != kb {
			return ka > kb
		}
		return a.area() > b.area()
	})
	return seq
}

// rules score the corner of a free rectangle for a box, smaller is better.
var rules = [...]func(free rect, s size) (float64, float64){
	func(f rect, s size) (float64, float64) { // shortest left-over side
		a, b := float64(f.w-s.w), float64(f.h-s.h)
		return math.Min(a, b), math.Max(a, b)
	},
	func(f rect, s size) (float64, float64) { // least left-over area
		return float64(f.w)*float64(f.h) - s.area(), math.Min(float64(f.w-s.w), float64(f.h-s.h))
	},
	func(f rect, s size) (float64, float64) { // lowest, then leftmost
		return float64(f.y + s.h), float64(f.x)
	},
	func(f rect, s size) (float64, float64) { // leftmost, then lowest
		return float64(f.x + s.w), float64(f.y)
	},
}

type rule = func(rect, size) (float64, float64)

// fill lays the items in the given order.
func (p *packing) fill(seq, pref []int, r rule) (bins []bin, left int) {
	used := make([]int, len(p.stock))
	for _, it := range seq {
		done := false
		for i := range bins {
			if done = p.lay(&bins[i], it, r); done {
				break
			}
		}
		if done {
			continue
		}
		k := p.open(pref, used, p.item[it])
		if k < 0 || len(bins) == sheetsMax {
			left++
			continue
		}
		used[k]++
		bins = append(bins, bin{stock: k, free: []rect{{0, 0, p.room[k].w, p.room[k].h}}})
		p.lay(&bins[len(bins)-1], it, r)
	}
	return bins, left
}

// open picks the stock for a new sheet that holds s; -1 when there is none.
func (p *packing) open(pref, used []int, s size) int {
	for _, k := range pref {
		if c := p.stock[k].Count; (c == 0 || used[k] < c) && fits(s, p.room[k]) {
			return k
		}
	}
	return -1
}

// lay puts one item into the best corner of a sheet, if there is room.
func (p *packing) lay(b *bin, it int, r rule) bool {
	s := p.item[it]
	best, found := spot{item: it}, false
	var s1, s2 float64
	for _, f := range b.free {
		for _, turned := range [2]bool{false, true} {
			q := s
			if turned {
				q = size{s.h, s.w}
			}
			if q.w > f.w || q.h > f.h || turned && q == s {
				continue
			}
			a1, a2 := r(f, q)
			if !found || a1 < s1 || a1 == s1 && (a2 < s2 || a2 == s2 && before(f, best)) {
				found, s1, s2 = true, a1, a2
				best.x, best.y, best.turned = f.x, f.y, turned
			}
		}
	}
	if found {
		p.take(b, best)
	}
	return found
}

// before settles ties of the rules: lower, then further left.
func before(f rect, s spot) bool { return f.y < s.y || f.y == s.y && f.x < s.x }

func (p *packing) box(sp spot) rect {
	s := p.item[sp.item]
	if sp.turned {
		s = size{s.h, s.w}
	}
	return rect{sp.x, sp.y, s.w, s.h}
}

// take occupies a spot and cuts the free rectangles it meets.
func (p *packing) take(b *bin, sp spot) {
	q := p.box(sp)
	b.spots = append(b.spots, sp)
	b.maxX, b.maxY = max(b.maxX, q.x+q.w), max(b.maxY, q.y+q.h)
	b.free = without(b.free, q)
}

// without is what a rectangle leaves of the free ones: the largest that are free still.
func without(free []rect, q rect) []rect {
	var kept, cut []rect
	for _, f := range free {
		if !f.meets(q) {
			kept = append(kept, f)
			continue
		}
		for _, c := range [4]rect{
			{f.x, f.y, q.x - f.x, f.h},
			{q.x + q.w, f.y, f.x + f.w - q.x - q.w, f.h},
			{f.x, f.y, f.w, q.y - f.y},
			{f.x, q.y + q.h, f.w, f.y + f.h - q.y - q.h},
		} {
			if c.w > 0 && c.h > 0 {
				cut = append(cut, c)
			}
		}
	}
	for i, c := range cut {
		if !covered(c, kept, cut, i) {
			kept = append(kept, c)
		}
	}
	return kept
}

// covered reports whether a cut piece lies in another free rectangle; of equal
// ones the first is kept. A kept rectangle never lies in a cut piece, because
// it did not lie in the rectangle that was cut.
func covered(c rect, kept, cut []rect, i int) bool {
	for _, k := range kept {
		if k.holds(c) {
			return true
		}
	}
	for j, k := range cut {
		if j != i && k.holds(c) && (k != c || j < i) {
			return true
		}
	}
	return false
}

// downsize lays each sheet's items on the smallest stock that holds them all.
func (p *packing) downsize(bins []bin) []bin {
	if len(p.stock) == 1 {
		return bins
	}
	used := make([]int, len(p.stock))
	for _, b := range bins {
		used[b.stock]++
	}
	small := p.preferences()[2]
	out := append([]bin(nil), bins...)
	for i, b := range bins {
		for _, k := range small {
			if p.room[k].area() >= p.room[b.stock].area() {
				break
			}
			if c := p.stock[k].Count; c > 0 && used[k] >= c {
				continue
			}
			if nb, ok := p.refill(b, k); ok {
				used[b.stock]--
				used[k]++
				out[i] = nb
				break
			}
		}
	}
	return out
}

// refill tries to lay a sheet's items on one sheet of stock k.
func (p *packing) refill(b bin, k int) (bin, bool) {
	for _, key := range orders {
		seq := make([]int, 0, len(b.spots))
		for _, it := range p.sorted(key) {
			for _, sp := range b.spots {
				if sp.item == it {
					seq = append(seq, it)
				}
			}
		}
		for _, r := range rules {
			nb := bin{stock: k, free: []rect{{0, 0, p.room[k].w, p.room[k].h}}}
			ok := true
			for _, it := range seq {
				if ok = p.lay(&nb, it, r); !ok {
					break
				}
			}
			if ok {
				return nb, true
			}
		}
	}
	return bin{}, false
}

// stockError names the first item without a place.
func (p *packing) stockError(items []Item, bins []bin) error {
	laid := make([]bool, len(items))
	for _, b := range bins {
		for _, s := range b.spots {
			laid[s.item] = true
		}
	}
	e := &StockError{Sheets: len(bins), Pieces: len(items)}
	for i := len(items) - 1; i >= 0; i-- {
		if !laid[i] {
			e.Left++
			e.ID, e.W, e.H = items[i].ID, mm(p.item[i].w-p.gap), mm(p.item[i].h-p.gap)
		}
	}
	return e
}

// fewest is how many sheets the pieces need at least, by area. Pieces a gap apart do
// not overlap when each is grown by half a gap, which makes an area A into no less than
// A + g√(πA) + πg²/4 (Brunn and Minkowski), and grown they lie in the usable rectangle
// grown by as much.
func (p *packing) fewest(items []Item) int {
	g, total, room := mm(p.gap), 0.0, 0.0
	for _, it := range items {
		a := math.Abs(it.Outline.Area())
		for _, o := range it.Openings {
			a -= math.Abs(o.Area())
		}
		total += a + float64(g*math.Sqrt(math.Pi*a)) + float64(math.Pi*g*g/4)
	}
	for _, r := range p.room {
		room = math.Max(room, r.area()/(grain*grain))
	}
	return max(1, int(math.Ceil(total/room-1e-6)))
}
