package post

import (
	"fmt"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/figure"
	"spotjig/layout/job"
)

// Work is what is done to one sheet, as drawn: lengths in mm, and how often the sheet is
// pierced, which is how many contours are cut through.
type Work struct {
	Cut, Score, Letter float64
	Pierces            int
}

// WorkOf returns what the drawing of the i-th sheet asks for. The error is Drawing's.
func (s Set) WorkOf(i int) (Work, error) {
	drawn, err := s.Drawing(i)
	if err != nil {
		return Work{}, err
	}
	var w Work
	for _, d := range drawn {
		switch d.Layer {
		case LayerLettering:
			w.Letter += d.Length()
		case LayerScore:
			w.Score += d.Length()
		default:
			w.Cut += d.Length()
			w.Pierces++
		}
	}
	return w, nil
}

// Spent is how long the machine takes over one copy, s, as the dry run tells it operation by
// operation: lettering, scores, cuts with their lead-ins, and travel.
type Spent struct{ Letter, Score, Cut, Travel float64 }

// Spent returns how long the machine takes; nothing where a shop cuts.
func (s Set) Spent() Spent {
	var by Spent
	for _, sh := range s.Sheets {
		rest := sh.Time
		for i, o := range sh.Path.Ops {
			_, t := sh.Took(i)
			rest -= t
			switch o.Layer {
			case path.Lettering:
				by.Letter += t
			case path.Score:
				by.Score += t
			default:
				by.Cut += t
			}
		}
		by.Travel += rest
	}
	return by
}

// Time is how long the machine takes over one copy, s; 0 where a shop cuts.
func (s Set) Time() float64 {
	sum := 0.0
	for _, sh := range s.Sheets {
		sum += sh.Time
	}
	return sum
}

// Needed is one line of what all copies take: a thing, how much of it, and what it costs,
// 0 when that is not known.
type Needed struct {
	What, Much string
	Cost       float64
}

// Bill lists what all copies take, and what that costs together as far as prices are known.
func (s Set) Bill() (lines []Needed, total float64) {
	n := s.Job.Copies
	lines = s.sheetBill(n)
	if t := s.Time() * float64(n); t > 0 {
		by := s.Spent()
		k := float64(n)
		lines = append(lines, Needed{
			What: "machine time, setting up not counted",
			Much: fmt.Sprintf("%s: cuts %s, scores %s, lettering %s, travel %s", figure.Time(t), figure.Time(k*by.Cut), figure.Time(k*by.Score), figure.Time(k*by.Letter), figure.Time(k*by.Travel)),
			Cost: t / 3600 * s.Machine.Rate,
		})
	}
	lines = append(lines, s.sundries(n)...)
	for _, l := range lines {
		total += l.Cost
	}
	return lines, total
}

// sheetBill lists the sheets, size by size in the order in which they are used.
func (s Set) sheetBill(copies int) []Needed {
	type size struct{ w, h float64 }
	var order []size
	count := map[size]int{}
	for _, sh := range s.Sheets {
		k := size{sh.Width, sh.Height}
		if count[k] == 0 {
			order = append(order, k)
		}
		count[k] += copies
	}
	var out []Needed
	for _, k := range order {
		l := Needed{What: "sheet " + figure.Sheet(k.w, k.h) + ", " + s.Material.Called(), Much: figure.Count(count[k], "sheet")}
		for _, st := range s.Material.Sheets {
			if st.Is(k.w, k.h) {
				l.Cost = st.Price * float64(count[k])
				break
			}
		}
		out = append(out, l)
	}
	return out
}

// shoes counts the shoes at the end fins.
func (s Set) shoes() int {
	n := 0
	for _, p := range s.Jig.Parts {
		if p.Role == jig.NoseShoe {
			n++
		}
	}
	return n
}

// sundries are the small things.
func (s Set) sundries(copies int) []Needed {
	var out []Needed
	bonded, boxes := 0, false
	for _, p := range s.Jig.Parts {
		boxes = boxes || p.Role.Box()
		if p.Role == jig.EndFin {
			bonded += copies
		}
	}
	switch {
	case boxes:
		out = append(out, Needed{What: "glue for card", Much: "the boxes' tabs and bases"})
	case bonded > 0 && s.Job.Jig.FinFix == "screwed":
		out = append(out, Needed{What: "screws for the end fins", Much: figure.Count(bonded, "fin")})
	case bonded > 0:
		out = append(out, Needed{What: "two-part or UV adhesive", Much: figure.Count(bonded, "end fin") + ", sparingly"})
	}
	if shod := s.shoes(); shod > 0 {
		out = append(out, Needed{What: fmt.Sprintf("leaves, cut from plastic or brass sheet %g mm thick", jig.LeafThick),
			Much: fmt.Sprintf("%d of %s", 2*jig.LeavesEach*shod*copies, jig.LeafSize)})
	}
	if s.Machine.Process == machine.Knife {
		cut := 0.0
		for _, sh := range s.Sheets {
			cut += sh.CutLen
		}
		out = append(out, Needed{What: "sharp blade, and a spare", Much: "for " + figure.Metres(cut*float64(copies)) + " of cuts"})
	}
	marker := fmt.Sprintf("line %s wide, body %s", figure.MM(s.Job.Jig.MarkerTip), figure.MM(s.Job.Jig.MarkerGuide))
	if s.Job.Jig.Spots == job.SpotsSticker {
		out = append(out, Needed{What: "adhesive spots", Much: figure.MM(s.Job.Jig.Sticker) + " across, one a spot and table"})
	}
	out = append(out, Needed{What: "marker that cloth takes and that wears off", Much: marker})
	if len(s.Jig.Gauges) > 0 {
		out = append(out, Needed{What: "thin strong thread", Much: "the table's length and a metre"})
	}
	return out
}
