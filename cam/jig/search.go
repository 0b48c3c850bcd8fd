package jig

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
)

// Design as a search
//
// The usual plan is drawn first and nearly always sound: then it is made, and a job costs
// what one plan costs. Only where it cannot be drawn, or a check of the design fails, are
// others drawn: each differs from the usual one in where legs, crosspieces and seams may
// stand, how far bands reach, or which template carries which mark, first in one of these,
// then in two. All are held against the same checks and priced in one place, and the best
// sound one is made. The number of plans is fixed, nothing is timed: every processor makes
// the same.
//
// Where none is sound, changes of the job are tried one at a time, and the first that
// frees it is what the refusal advises.
//
// A plan that the design finds sound may still not be laid on the sheets there are, or not
// be cut. Whoever lays and cuts then asks for another plan instead, and judges those offered.

// drawn is how a plan differs from the usual one; the zero value is the usual one.
type drawn struct {
	clear float64 // seams stand this much further from spots, mm
	less  float64 // pieces leave this share of the bed free
	least float64 // no piece is cut shorter than usual and this, mm
	arm   float64 // an arm shorter than usual and this goes with its pad, mm
	near  float64 // wings this much further apart still are one, mm
	far   float64 // wings this much further from a crosspiece still lie on it, mm
	edge  float64 // a crosspiece's edges stand this much further from its lines, mm
	nose  bool    // a crosspiece is widened towards the nose
	part  int     // so many of the places for the templates' parting are passed over
	whole bool    // no gauge: the templates carry the marks in the middle
	wide  bool    // members are as wide as usual where narrower ones would fit more to a sheet
	stock int     // pieces fit another size of sheet: so many larger ones are passed over
	end   string  // those of this template alone do; "" for all
}

// variant is a plan with what makes it unlike the usual one, in a fitter's words.
type variant struct {
	words string
	how   drawn
}

// variants are the plans drawn when the usual one is not sound: unlike it in one thing, and
// in two.
func variants() (one, two []variant) {
	one = []variant{
		{"no short arms beside a pad", drawn{arm: 90}},
		{"no narrow pieces", drawn{least: 50}},
		{"crosspieces widened towards the nose", drawn{nose: true}},
		{"seams further from spots", drawn{clear: 6}},
		{"wider crosspieces", drawn{edge: 12}},
		{"wings that lie near each other in one", drawn{near: 80}},
		{"wings on the nearest crosspiece", drawn{far: 120}},
		{"smaller pieces", drawn{less: 0.15}},
		{"much smaller pieces", drawn{less: 0.3}},
		{"the templates parted elsewhere", drawn{part: 1}},
		{"the templates parted further off", drawn{part: 3}},
		{"no gauge in the middle", drawn{whole: true}},
	}
	for i, a := range one {
		for _, b := range one[i+1:] {
			if both, ok := a.how.with(b.how); ok && len(two) < pairsMost {
				two = append(two, variant{a.words + ", " + b.words, both})
			}
		}
	}
	return one, two
}

// otherSheets are the plans with pieces for the other sizes of sheet at hand, for where
// there are too few of the largest: of all pieces, and of those of one template, where
// marks, or what is asked of them, keep a pad of the other from being divided.
func otherSheets(req Request) (all, ofOne []variant) {
	for i := range beds(req)[1:] {
		all = append(all, variant{"pieces for a smaller size of sheet", drawn{stock: i + 1}})
		for _, end := range []string{Head, Foot} {
			ofOne = append(ofOne, variant{"pieces of the " + end + " template for a smaller size of sheet", drawn{stock: i + 1, end: end}})
		}
	}
	return all, ofOne
}

// with is both differences in one plan; ok is false when both are of the bed, of the
// templates' parting or of the size of sheet: two of those make no plan that differs in two
// things.
func (d drawn) with(o drawn) (both drawn, ok bool) {
	return drawn{
		clear: d.clear + o.clear, least: d.least + o.least, arm: d.arm + o.arm, near: d.near + o.near, far: d.far + o.far, edge: d.edge + o.edge,
		less: d.less + o.less, part: d.part + o.part, stock: d.stock + o.stock, end: cmp.Or(d.end, o.end),
		nose: d.nose || o.nose, whole: d.whole || o.whole, wide: d.wide || o.wide,
	}, d.less*o.less == 0 && d.part*o.part == 0 && d.stock*o.stock == 0
}

const (
	pairsMost   = 24 // plans that differ in two things
	changesMost = 20 // changes of the job tried
)

// asDrawn are the limits that a plan of one end is drawn to, never laxer than those it is
// held against.
func (lim Limits) asDrawn(end string) Limits {
	lim.JointClear += lim.draw.clear
	if lim.draw.end == end {
		lim.BedW, lim.BedH = lim.smallW, lim.smallH
	}
	lim.BedW *= 1 - lim.draw.less
	lim.BedH *= 1 - lim.draw.less
	return lim
}

// price is what a plan costs, the weightiest first.
type price struct {
	unsound int // 1: it cannot be drawn or a check fails
	off     int // what the worst mark likely is off by, 0.1 mm
	sheets  int // by area
	pieces  int
	cut     int // length of all that is cut, mm: what the time goes by
}

// priced prices a plan.
func priced(j Jig, err error, lim Limits) price {
	if err != nil || failing(j) != nil {
		return price{unsound: 1}
	}
	p := price{pieces: len(j.Parts)}
	for _, b := range j.Budgets {
		p.off = max(p.off, int(math.Round(b.Likely*10)))
	}
	area, cut := 0.0, 0.0
	for _, part := range j.Parts {
		b := part.Outline.Bounds().Grow(lim.gap / 2)
		area += b.Width() * b.Height()
		cut += part.Outline.Length()
		for _, o := range part.Openings {
			cut += o.Contour().Length()
		}
	}
	p.sheets, p.cut = int(math.Ceil(area/(lim.BedW*lim.BedH)-1e-6)), int(math.Round(cut))
	return p
}

func (p price) compare(o price) int {
	return cmp.Or(cmp.Compare(p.unsound, o.unsound), cmp.Compare(p.off, o.off), cmp.Compare(p.sheets, o.sheets),
		cmp.Compare(p.pieces, o.pieces), cmp.Compare(p.cut, o.cut))
}

// failing is the first check that fails, nil where none does.
func failing(j Jig) *Check {
	if i := slices.IndexFunc(j.Checks, func(c Check) bool { return c.Verdict == Fail }); i >= 0 {
		return &j.Checks[i]
	}
	return nil
}

// NewKind returns a kind for a request, with the limits of a job.
type NewKind func(Request) (Kind, error)

// RefusedError says that no plan of a job can be made.
type RefusedError struct {
	Err   error  // what stands in the way of the usual plan
	Plans int    // how many were tried
	Free  string // the change that frees it, tried; "" where none was found
}

// Error names what stands in the way.
func (e *RefusedError) Error() string { return e.Err.Error() }

// Unwrap returns what stands in the way.
func (e *RefusedError) Unwrap() error { return e.Err }

// Help says what to change.
func (e *RefusedError) Help() string {
	tried := fmt.Sprintf("%s tried, none is sound", figure.Count(e.Plans, "plan"))
	if e.Free == "" {
		return tried + ", nor is any after one change of bed, sheet, marker or marks: make a jig for each game"
	}
	return fmt.Sprintf("%s; it is made %s, which was tried", tried, e.Free)
}

// Search designs the usual plan, or where that is not sound, the best sound one of many.
// Where there is none it returns what the usual one comes to, a *RefusedError or a jig with
// checks that fail, the first of which says what would free it.
func Search(req Request, kind NewKind) (Jig, error) {
	usual, lim, err := req.drawnAs(drawn{}, kind)
	if lim.BedW == 0 || err == nil && failing(usual) == nil {
		return usual, err
	}
	best, refused := Instead(req, kind, reason(usual, err), math.MaxInt, func(Request, Jig) bool { return true })
	if refused == nil {
		return best, nil
	}
	if refused.Err = err; err != nil {
		return Jig{}, refused
	}
	c := failing(usual)
	c.Text += "; " + refused.Help()
	return usual, nil
}

// Instead is the best sound plan but the usual one, which is not sound for the reason given.
// What is not seen in a plan, whether its pieces can be laid and cut, cut tells; of each list
// of plans it is asked of so many at most, the cheapest, and of so many changes of the job.
// Where no plan will do, the error has no Err.
func Instead(req Request, kind NewKind, reason string, most int, cut func(Request, Jig) bool) (Jig, *RefusedError) {
	plans := 1
	one, two := variants()
	lists := [][]variant{one, two}
	if LimitsFor(req).MemberWidth < MemberWide {
		lists = slices.Insert(lists, 0, []variant{{"members as wide as usual", drawn{wide: true}}})
	}
	if most < math.MaxInt { // what is laid and cut may want sheets that there are more of
		all, ofOne := otherSheets(req)
		lists = slices.Insert(lists, 0, all, ofOne)
	}
	for _, list := range lists {
		sound := soundOf(list, req, kind)
		plans += len(list) - len(sound)
		for _, v := range sound[:min(most, len(sound))] {
			plans++
			j, _, err := req.drawnAs(v.how, kind)
			if err != nil || failing(j) != nil || !cut(req, j) {
				continue
			}
			j.Checks = append(j.Checks, Check{ID: "plan", Verdict: Pass,
				Text: fmt.Sprintf("the usual plan is not sound (%s); of the others that are, the best has %s", reason, v.words)})
			return j, nil
		}
	}
	return Jig{}, &RefusedError{Plans: plans, Free: frees(req, kind, most, cut)}
}

// soundOf are the sound plans of a list, the cheapest first; of two alike, the first. Prices
// do not hang on lettering: plans are drawn without, and need not be sound with it.
func soundOf(list []variant, req Request, kind NewKind) []variant {
	type bid struct {
		variant
		price
	}
	var bids []bid
	for _, v := range list {
		bare := req
		bare.bare = true
		j, lim, err := bare.drawnAs(v.how, kind)
		if p := priced(j, err, lim); p.unsound == 0 {
			bids = append(bids, bid{v, p})
		}
	}
	slices.SortStableFunc(bids, func(a, b bid) int { return a.price.compare(b.price) })
	out := make([]variant, len(bids))
	for i, b := range bids {
		out[i] = b.variant
	}
	return out
}

// reason is why a plan is not sound.
func reason(j Jig, err error) string {
	if err != nil {
		return err.Error()
	}
	c := failing(j)
	return c.ID + ": " + c.Text
}

// drawnAs designs one plan, with the limits it is held against; these are zero where the
// kind refuses the job whatever the plan.
func (r Request) drawnAs(how drawn, kind NewKind) (Jig, Limits, error) {
	r.draw = how
	k, err := kind(r)
	if err != nil {
		return Jig{}, Limits{}, err
	}
	j, err := Design(r, k)
	return j, k.Limits(), err
}

// change is one change of a job, in a fitter's words.
type change struct {
	words string
	make  func(*Request)
}

// frees is the first change that makes the usual plan sound, "" where none does; cut is
// asked of so many at most.
func frees(req Request, kind NewKind, most int, cut func(Request, Jig) bool) string {
	for i, c := range changes(req) {
		if i == changesMost || most == 0 {
			break
		}
		with := req
		c.make(&with)
		sound := len(with.Marks) > 0
		var j Jig
		for _, bare := range []bool{true, false} {
			with.bare = bare
			if sound {
				var err error
				j, _, err = with.drawnAs(drawn{}, kind)
				sound = err == nil && failing(j) == nil
			}
		}
		if !sound {
			continue
		}
		if cut(with, j) {
			return c.words
		}
		most--
	}
	return ""
}

// changes are those tried, the least first: how the sheet is cut, how marks are set, more
// sheets, one house mark, a larger bed, thinner sheet, one game.
func changes(req Request) []change {
	var out []change
	add := func(words string, make func(*Request)) { out = append(out, change{words, make}) }
	if req.Machine.Process == machine.Knife && req.Machine.Knife.ArcTight == machine.ArcsRefuse {
		add("with tight arcs cut as corners (machine.knife.tight_arcs: corner)", func(r *Request) { r.Machine.Knife.ArcTight = machine.ArcsCorner })
	}
	if req.Want.Ties > 0 {
		add("without ties (jig.ties)", func(r *Request) { r.Want.Ties = 0 })
	}
	if req.Want.Spots == job.SpotsSticker {
		add("with spots as points (jig.spots: point)", func(r *Request) { r.Want.Spots = job.SpotsPoint })
	}
	if req.Want.MarkerGuide > 1 {
		add("with a marker of 1 mm (jig.marker.guide: 1)", func(r *Request) { r.Want.MarkerGuide = 1 })
	}
	if req.Want.Joint == job.JointKeyed {
		add("with dovetails (jig.joint: dovetail)", func(r *Request) { r.Want.Joint = job.JointDovetail })
	}
	if req.Want.PieceMax > 0 {
		add("without jig.piece_max", func(r *Request) { r.Want.PieceMax = 0 })
	}
	if slices.ContainsFunc(req.Material.Sheets, func(s machine.Stock) bool { return s.Count > 0 }) {
		add("with as many sheets as it takes (material.sheets without count)", func(r *Request) {
			r.Material.Sheets = slices.Clone(r.Material.Sheets)
			for i := range r.Material.Sheets {
				r.Material.Sheets[i].Count = 0
			}
		})
	}
	games := owners(req.Marks)
	for _, m := range req.Marks {
		if slices.Equal(m.Games, []string{house}) {
			add("without the house mark "+m.ID, func(r *Request) { r.Marks = without(r.Marks, func(o layout.Mark) bool { return o.ID == m.ID }) })
		}
	}
	zero := req.Machine.Offsets[1]
	w, h := req.Machine.Max.X-zero.X, req.Machine.Max.Y-zero.Y
	if req.Machine.Process == machine.Shop {
		w, h = 0, 0
	}
	for _, s := range req.Material.Sheets {
		w, h = math.Max(w, s.Width), math.Max(h, s.Height)
	}
	for _, bed := range [][2]float64{{600, 400}, {900, 600}, {1300, 900}} {
		if bed[0] >= w && bed[1] >= h && bed != [2]float64{w, h} {
			add("on a bed and sheets of "+figure.Sheet(bed[0], bed[1]), func(r *Request) {
				r.Machine.Max.X, r.Machine.Max.Y = zero.X+bed[0], zero.Y+bed[1]
				r.Material.Sheets = []machine.Stock{{Width: bed[0], Height: bed[1]}}
			})
		}
	}
	if t := 3.0; req.Machine.Process != machine.Knife && req.Material.Thickness > t {
		add("in sheet of "+figure.Length(t), func(r *Request) { r.Material.Thickness, r.Material.Sold = t, t })
	}
	for _, g := range games {
		if g != house && len(games) > 1 {
			add("without "+g+", which then has a jig of its own (games)", func(r *Request) {
				r.Marks = without(r.Marks, func(o layout.Mark) bool { return slices.Equal(o.Games, []string{g}) })
				r.Games = slices.DeleteFunc(slices.Clone(r.Games), func(s string) bool { return s == g })
			})
		}
	}
	return out
}

func without(marks []layout.Mark, drop func(layout.Mark) bool) []layout.Mark {
	return slices.DeleteFunc(slices.Clone(marks), drop)
}

// house is whose the marks are that no game asks for.
const house = "house"

// owners are the games that own a mark, each once, in the order met.
func owners(marks []layout.Mark) []string {
	var out []string
	for _, m := range marks {
		for _, g := range m.Games {
			if !slices.Contains(out, g) {
				out = append(out, g)
			}
		}
	}
	return out
}
