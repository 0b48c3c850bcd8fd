package paper

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"spotjig/layout/figure"
	"spotjig/post"
)

// Sent is a file that a shop is sent: its name and the SHA-256 of its bytes, in hex.
type Sent struct{ Name, SHA256 string }

// WriteOrder writes the page that goes to a shop with the drawings: what is to be cut from
// what, how often, how much cutting that is, what each layer means, how true it must be,
// what comes in a second step, and the files, by their hashes.
func WriteOrder(w io.Writer, set post.Set, files []Sent, opt Options) error {
	size, err := opt.size()
	if err != nil {
		return err
	}
	s := newSheaf(set, size, "Order")
	s.page()
	s.font("B", 18)
	s.put(s.margin, s.y+6.5, s.fitted("Order: "+clean(set.Title()), s.width()))
	s.y += 10
	s.wanted(set)
	if err := s.cutting(set); err != nil {
		return err
	}
	s.layers(set)
	s.sent(files)
	s.cautions(set)
	return s.finish(w)
}

// wanted says what is ordered.
func (s *sheaf) wanted(set post.Set) {
	s.heading("What is ordered")
	m := set.Material
	s.para(fmt.Sprintf("%s, %s. Quantity: %s of every drawing. Drawings in mm, %s; face up, not mirrored. Lettering is on the face.",
		capital(clean(m.Called())), post.ThicknessOf(m), figure.Count(set.Job.Copies, "sheet"), drawnAs(set)))
	s.para("Tolerance asked: outlines and openings within " + figure.Fixed(orderTol, 2) + " mm of the drawing at the underside; nothing polished by flame, no edges rounded; protective film left on.")
	if set.Material.Measured {
		if !set.AtOnce() {
			s.para("Second step. " + orderNow(set) + " From the sheet or batch of the first.")
		}
		s.para("All from one sheet or batch, of the thickness stated here: fins fit slots cut for it. Please measure before cutting, and say if it is more than " + figure.Fixed(thickTold(m.Thickness), 2) + " mm off.")
	} else {
		s.para("Two steps. " + orderNow(set) + " Please say how thick the sheet is in truth, at four places, and keep the rest from the same sheet or batch for the second step.")
	}
}

// orderTol is what a shop is asked to keep, mm: what good laser cutting of 3 to 6 mm acrylic
// is sold as, common practice.
const orderTol = 0.1

// cutting says how much work each sheet is.
func (s *sheaf) cutting(set post.Set) error {
	s.heading("The sheets")
	rows := [][]string{{"Sheet", s.inUnits("Size"), "Pieces", "Cut through", "Pierced", "Scored", "Lettered", "Drawing"}}
	var sum post.Work
	for i, sh := range set.Sheets {
		if set.Held(i) || set.Ordered(i) {
			continue
		}
		k, err := set.WorkOf(i)
		if err != nil {
			return err
		}
		sum = post.Work{Cut: sum.Cut + k.Cut, Score: sum.Score + k.Score, Letter: sum.Letter + k.Letter, Pierces: sum.Pierces + k.Pierces}
		rows = append(rows, s.work(strconv.Itoa(sh.N), s.sides(sh), len(sh.Placed), k, set.DrawingName(sh.N, "")+".dxf"))
	}
	if len(rows) > 2 {
		rows = append(rows, s.work("all", "", 0, sum, ""))
	}
	if len(rows) == 1 {
		s.para("None yet: every sheet has slots or fins on it, and waits for the sheet's measured thickness.")
		return nil
	}
	shares := []float64{9, 17, 10, 15, 11, 13, 13, 30}
	if s.inches {
		shares[1], shares[7] = 34, 22
	}
	s.table(shares, rows)
	return nil
}

func (s *sheaf) work(n, size string, pieces int, k post.Work, name string) []string {
	count := ""
	if pieces > 0 {
		count = strconv.Itoa(pieces)
	}
	return []string{n, size, count, figure.Metres(k.Cut), strconv.Itoa(k.Pierces), figure.Metres(k.Score), figure.Metres(k.Letter), name}
}

// layers is the key to the drawings.
func (s *sheaf) layers(set post.Set) {
	s.heading("Layers of the drawings, in the order in which they are cut")
	c := set.Job.Colours
	s.table([]float64{18, 60, 22}, [][]string{{"Layer", "What is done", "Colour in the SVG"},
		{"LETTERING", "engraved as lines, not through", c.Lettering},
		{"SCORE", "scored as lines, not through", c.Score},
		{"OPENING", "cut through, before any outline", c.Opening},
		{"OUTLINE", "cut through, last: it frees the piece", c.Outline},
		{"SHEET, NOTE", "not cut: the sheet's edge, and words", "not in it"}})
}

// sent lists the files by their hashes.
func (s *sheaf) sent(files []Sent) {
	if len(files) == 0 {
		return
	}
	s.heading("The files, by their SHA-256")
	rows := [][]string{{"File", "SHA-256"}}
	for _, f := range files {
		rows = append(rows, []string{f.Name, strings.Join([]string{f.SHA256[:32], f.SHA256[32:]}, " ")})
	}
	s.table([]float64{34, 66}, rows)
}
