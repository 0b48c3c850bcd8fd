package work

import (
	"math"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/layout/geom"
	"spotjig/post"
)

// nester lays pieces on sheets.
type nester func([]nest.Item, nest.Options) ([]nest.Sheet, error)

// layOut nests the parts, spare fins included, on sheets.
func layOut(set *post.Set, on nester) error {
	var steps [2][]nest.Item
	for _, p := range set.Jig.Parts {
		step := 0
		if set.Machine.Process == machine.Shop && set.Material.InSteps() && p.FitsThickness() {
			step = 1 // on sheets of their own: see post.Set.Held and Ordered
		}
		steps[step] = append(steps[step], nest.Item{ID: p.ID, Outline: p.AtCutSize(p.Outline), Openings: wide(p)})
	}
	room := jig.RoomFor(set.Machine, set.Material)
	opt := nest.Options{
		Stock:  shared(set.Material.Sheets, set.Job.Copies),
		Margin: set.Machine.MarginBed + room.Edge,
		Gap:    room.Gap,
	}
	if set.Machine.Process != machine.Shop {
		at := set.Machine.Offsets[1]
		opt.Travel = nest.Travel{X: set.Machine.Max.X - at.X, Y: set.Machine.Max.Y - at.Y}
	}
	for _, items := range steps {
		if len(items) == 0 {
			continue
		}
		if len(opt.Stock) == 0 {
			first := items[0].Outline.Bounds()
			return &nest.StockError{Sheets: len(set.Sheets), Pieces: len(set.Jig.Parts), Left: len(items), ID: items[0].ID, W: first.Width(), H: first.Height()}
		}
		sheets, err := on(items, opt)
		if err != nil {
			return err
		}
		for _, s := range sheets {
			s.N = len(set.Sheets) + 1
			set.Sheets = append(set.Sheets, post.Sheet{Sheet: s})
		}
		opt.Stock = unused(opt.Stock, sheets)
	}
	return nil
}

// shared is the stock that is left for one copy when every copy gets as much.
func shared(stock []machine.Stock, copies int) []machine.Stock {
	if copies <= 1 {
		return stock
	}
	var out []machine.Stock
	for _, s := range stock {
		if s.Count > 0 && s.Count < copies {
			continue
		}
		s.Count /= copies
		out = append(out, s)
	}
	return out
}

// openingMin is how wide an opening is, mm, that pieces may lie in: no piece but a plug is
// smaller, and a plug lies anywhere.
const openingMin = 50.0

// wide are the openings of a part, at cut size, that are wide enough for other parts to lie in.
func wide(p jig.Part) []geom.Contour {
	var out []geom.Contour
	for _, o := range p.Openings {
		c := p.AtCutSize(o.Contour())
		if b := c.Bounds(); math.Min(b.Width(), b.Height()) >= openingMin && o.Kind != jig.OpenArc {
			out = append(out, c)
		}
	}
	return out
}

// unused is the stock that sheets leave.
func unused(stock []machine.Stock, sheets []nest.Sheet) []machine.Stock {
	var left []machine.Stock
	for _, s := range stock {
		n := s.Count
		for _, u := range sheets {
			if s.Is(u.Width, u.Height) {
				n--
			}
		}
		if s.Count > 0 && n <= 0 {
			continue
		}
		s.Count = max(n, 0)
		left = append(left, s)
	}
	return left
}
