// Package nest lays parts on sheets.
package nest

import (
	"fmt"
	"math"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// The limits of one call: far above any jig, low enough to stay quick.
const (
	itemsMax  = 2000
	sheetsMax = 500
)

// Item is one part to be cut: its outline at cut size, part frame.
type Item struct {
	ID      string
	Outline geom.Contour
}

// Placed is an item on a sheet; On carries it from part frame to sheet frame.
type Placed struct {
	ID string
	On geom.Placement // TurnDeg 0, 90, 180 or 270
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
	return fmt.Sprintf("piece %s is %.1f x %.1f mm; the largest that fits the stock, the travel and the margins is %.1f x %.1f mm",
		e.ID, e.Width, e.Height, e.MaxLong, e.MaxShort)
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
	return fmt.Sprintf("the stock of %d sheets holds %d of %d pieces; no place for %s (%.1f x %.1f mm)",
		e.Sheets, e.Pieces-e.Left, e.Pieces, e.ID, e.W, e.H)
}

// Nest lays every item on as few sheets as it finds, none nearer to another
// than Gap nor to an edge than Margin. The answer depends on nothing but the
// arguments; places are whole multiples of 1e-6 mm. Errors: *FitError,
// *StockError, or a plain one for options that make no sense.
//
// Parts are laid by their boxes; see pack.go for the method. A stock of which the
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
	if left > 0 {
		return nil, p.stockError(items, best)
	}
	return p.sheets(items, p.downsize(best)), nil
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

// sheets turns a packing into the answer.
func (p *packing) sheets(items []Item, bins []bin) []Sheet {
	out := make([]Sheet, len(bins))
	for n, b := range bins {
		st := p.stock[b.stock]
		s := Sheet{N: n + 1, Width: st.Width, Height: st.Height}
		area := 0.0
		spots := append([]spot(nil), b.spots...)
		sortSpots(spots)
		for _, sp := range spots {
			it := items[sp.item]
			s.Placed = append(s.Placed, Placed{it.ID, p.place(it, sp)})
			area += math.Abs(it.Outline.Area())
		}
		s.UsedFraction = area / (st.Width * st.Height)
		out[n] = s
	}
	return out
}

// place is the placement that puts an item's box at its spot.
func (p *packing) place(it Item, sp spot) geom.Placement {
	b := it.Outline.Bounds()
	x, y := p.margin+mm(sp.x), p.margin+mm(sp.y)
	if sp.turned { // (px, py) -> (-py, px)
		return geom.Placement{X: round6(x + b.Max.Y), Y: round6(y - b.Min.X), TurnDeg: 90}
	}
	return geom.Placement{X: round6(x - b.Min.X), Y: round6(y - b.Min.Y)}
}

// round6 rounds to 1e-6 mm: what decides a placement is kept at that grain.
func round6(f float64) float64 { return math.Round(f*1e6) / 1e6 }
