// Package nest lays parts on sheets.
package nest

import (
	"fmt"
	"math"
	"slices"

	"spotjig/cam/machine"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
)

// The limits of one call: far above any jig, low enough to stay quick.
const (
	itemsMax  = 2000
	sheetsMax = 500
)

// Item is one part to be cut: its outline at cut size, part frame, and those of its
// openings in which smaller parts may lie, waste that is cut after them.
type Item struct {
	ID       string
	Outline  geom.Contour
	Openings []geom.Contour
}

// Placed is an item on a sheet; On carries it from part frame to sheet frame.
type Placed struct {
	ID string
	On geom.Placement // Turn 0, 90, 180 or 270 degrees
}

// Sheet is one sheet of stock with what is cut from it. Sheet frame: origin at
// the lower left corner of the stock.
type Sheet struct {
	N             int // from 1
	Width, Height float64
	Placed        []Placed
	UsedFraction  float64 // area of the parts over area of the stock
}

// Options says what the parts are laid on. Lengths in mm.
type Options struct {
	Stock  []machine.Stock
	Travel Travel
	// Gap is the least distance between two outlines: room for two half kerfs,
	// for the lead-ins of both, and for the web of waste between them.
	Gap float64
	// Margin is the least distance from an outline to the edge of the stock and
	// of the travel, on every side; the lead-ins lie in it.
	Margin float64
}

// Travel is what the machine reaches of a sheet, from the sheet's lower left
// corner, mm. Zero: no limit.
type Travel struct{ X, Y float64 }

// FitError says that a piece is larger than anything that can be cut here.
type FitError struct {
	ID            string
	Width, Height float64 // the piece's box
	// The longest and the shortest side of the largest piece that fits.
	MaxLong, MaxShort float64
}

// Error names the piece, its size and the largest size that fits.
func (e *FitError) Error() string {
	return fmt.Sprintf("piece %s is %s; the largest that fits the stock, the travel and the margins is %s",
		e.ID, figure.By(e.Width, e.Height), figure.By(e.MaxLong, e.MaxShort))
}

// StockError says that the stock is used up before all pieces are laid.
type StockError struct {
	Sheets int // how many there are
	Pieces int // how many pieces there are to lay
	Left   int // how many of them find no place
	ID     string
	W, H   float64 // the first of those
}

// Error says how far the stock reaches.
func (e *StockError) Error() string {
	return fmt.Sprintf("the stock of %s holds %d of %s; no place for %s (%s)",
		figure.Count(e.Sheets, "sheet"), e.Pieces-e.Left, figure.Count(e.Pieces, "piece"), e.ID, figure.By(e.W, e.H))
}

// Nest lays every item on as few sheets as it finds, none nearer to another
// than Gap nor to an edge than Margin. The answer depends on nothing but the
// arguments; places are whole multiples of 1e-6 mm. Errors: *FitError,
// *StockError, or a plain one for options that make no sense.
//
// Parts are laid by their boxes first (pack.go) and then by their outlines (search.go),
// at quarter turns; the answer is never on more sheets than the boxes need. A stock of which the
// travel reaches more when it is loaded a quarter turned is loaded so, and its
// sheets have width and height exchanged.
func Nest(items []Item, opt Options) ([]Sheet, error) {
	if err := opt.check(); err != nil {
		return nil, err
	}
	if len(items) > itemsMax {
		return nil, fmt.Errorf("%d pieces, the limit is %d", len(items), itemsMax)
	}
	if len(items) == 0 {
		return nil, nil
	}
	for _, it := range items {
		if it.Outline.IsEmpty() {
			return nil, fmt.Errorf("piece %s has no outline", it.ID)
		}
	}
	p := newPacking(items, opt)
	if err := p.checkFit(items); err != nil {
		return nil, err
	}
	best, left := p.best()
	if left == 0 {
		best = p.downsize(best)
	}
	out, ok := p.byOutline(items, opt, best, left)
	if !ok {
		return nil, p.stockError(items, best)
	}
	return out, nil
}

// byOutline is the answer that outlines give, or that of the boxes, of which left pieces
// found no place, when it is as good; ok is false when neither lays every piece.
func (p *packing) byOutline(items []Item, opt Options, boxes []bin, left int) (out []Sheet, ok bool) {
	first := layout{trays: p.asLaid(boxes)}
	least := p.fewest(items)
	if left == 0 && len(p.stock) == 1 && len(boxes) <= least && !emptied(len(boxes)) {
		return p.sheets(items, first.trays), true
	}
	s := newSearch(p, items, least)
	first.score = s.scored(first)
	first.score.left = left
	if l := s.improve(first); l.score.left == 0 && l.score.less(first.score) {
		if out = p.sheets(items, s.named(l).trays); sound(items, opt, out) {
			return out, true
		}
	}
	return p.sheets(items, first.trays), left == 0
}

// usable is how much of a sheet is inside the travel.
func (o Options) usable(w, h float64) (float64, float64) {
	if o.Travel.X > 0 {
		w = math.Min(w, o.Travel.X)
	}
	if o.Travel.Y > 0 {
		h = math.Min(h, o.Travel.Y)
	}
	return w, h
}

// Holds reports whether a part lies on the sheet.
func (s Sheet) Holds(id string) bool {
	return slices.ContainsFunc(s.Placed, func(p Placed) bool { return p.ID == id })
}

// isOf reports whether a sheet is of that stock, loaded either way.
func (s Sheet) isOf(st machine.Stock) bool {
	return s.Width == st.Width && s.Height == st.Height || s.Width == st.Height && s.Height == st.Width
}

func (o Options) check() error {
	for _, f := range []float64{o.Gap, o.Margin, o.Travel.X, o.Travel.Y} {
		if math.IsNaN(f) || math.IsInf(f, 0) || f < 0 {
			return fmt.Errorf("gap, margin and travel must be finite and not negative, not %v", f)
		}
	}
	if len(o.Stock) == 0 {
		return fmt.Errorf("no stock to lay the pieces on")
	}
	for i, s := range o.Stock {
		if !(s.Width > 0 && s.Height > 0) || math.IsInf(s.Width, 1) || math.IsInf(s.Height, 1) || s.Count < 0 {
			return fmt.Errorf("stock %d: %v x %v mm, count %d: sizes must be above 0 and the count not negative", i+1, s.Width, s.Height, s.Count)
		}
	}
	return nil
}

// sheets turns trays into the answer.
func (p *packing) sheets(items []Item, trays []*tray) []Sheet {
	out := make([]Sheet, len(trays))
	for n, t := range trays {
		st := p.stock[t.stock]
		s := Sheet{N: n + 1, Width: st.Width, Height: st.Height}
		area := 0.0
		on := slices.Clone(t.laid)
		slices.SortFunc(on, func(a, b laid) int { return a.item - b.item })
		for _, l := range on {
			it := items[l.item]
			s.Placed = append(s.Placed, Placed{it.ID, p.place(it, l)})
			area += math.Abs(it.Outline.Area())
		}
		s.UsedFraction = area / (st.Width * st.Height)
		out[n] = s
	}
	return out
}

// place is the placement that puts an item's turned box where it is laid.
func (p *packing) place(it Item, l laid) geom.Placement {
	on := geom.Placement{Turn: geom.FromDegrees(float64(l.deg))}
	b := it.Outline.Bounds()
	q := geom.EmptyBox().Include(on.Apply(b.Min)).Include(on.Apply(b.Max))
	on.X, on.Y = round6(p.margin+mm(l.x)-q.Min.X), round6(p.margin+mm(l.y)-q.Min.Y)
	return on
}

// round6 rounds to 1e-6 mm: what decides a placement is kept at that grain.
func round6(f float64) float64 { return math.Round(f*1e6) / 1e6 }

// Offcut is the largest upright rectangle of a sheet, mm, that keeps clear of every piece
// by that much: what may be cut off and put by. Width runs across, height up.
func (s Sheet) Offcut(items []Item, clear float64) (width, height float64) {
	free := []rect{{0, 0, units(s.Width), units(s.Height)}}
	for _, it := range items {
		for _, on := range s.Placed {
			if on.ID != it.ID {
				continue
			}
			c := it.Outline.Transform(on.On)
			at := c.Bounds().Min
			for _, r := range cover(c, nil, 0) {
				free = without(free, rect{units(at.X-clear) + r.x, units(at.Y-clear) + r.y, r.w + units(2*clear), r.h + units(2*clear)})
			}
		}
	}
	best := rect{}
	for _, r := range free {
		if (size{r.w, r.h}).area() > (size{best.w, best.h}).area() {
			best = r
		}
	}
	return mm(best.w), mm(best.h)
}
