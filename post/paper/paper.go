// Package paper prints a finished job: the job sheet for the wall beside the
// machine and the table, and a proof at full size on office paper. Both are PDF,
// black on white, drawn from the same geometry as the cut files; the only
// numbers in them are the post.Set's.
package paper

import (
	"errors"
	"fmt"
	"io"
	"sort"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/post"
)

// Options are the choices of a print.
type Options struct {
	Paper string // "a4" (the default) or "letter"
	Of    string // proof: "template" (the default) or "marks"
}

// ErrOptions is wrapped by the error for an option that is not known.
var ErrOptions = errors.New("paper options")

// paperSize is a page in mm.
type paperSize struct {
	name          string
	width, height float64
}

// size returns the page of the options: ISO 216 A4, or US Letter (8 1/2 by 11 in).
func (o Options) size() (paperSize, error) {
	switch strings.ToLower(o.Paper) {
	case "", "a4":
		return paperSize{"A4", 210, 297}, nil
	case "letter":
		return paperSize{"Letter", 215.9, 279.4}, nil
	}
	return paperSize{}, fmt.Errorf("%w: unknown paper %q; there are a4 and letter", ErrOptions, o.Paper)
}

// textMax is the longest text taken over from a job, characters.
const textMax = 600

// clean makes a job's text fit to be printed.
func clean(s string) string { return post.OneLine(s, textMax, "...") }

// sheaf is a PDF being written: text at the cursor, drawing anywhere.
type sheaf struct {
	*fpdf.Fpdf
	tr     func(string) string
	size   paperSize
	margin float64
	y      float64 // cursor, mm from the top
	number int     // of the last heading
	foot   string
	inches bool // lengths in both units have inches first
}

// newSheaf begins a document that is the same bytes for the same set: its dates
// are the job's.
func newSheaf(set post.Set, size paperSize, title string) *sheaf {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: size.width, Ht: size.height}})
	day, err := time.Parse("2006-01-02", set.Job.Date)
	if err != nil {
		day = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC) // any fixed day: a clock may not come in
	}
	f.SetCreationDate(day)
	f.SetModificationDate(day)
	f.SetCatalogSort(true)
	f.SetCompression(false) // a compressor made for every page takes five times as long as the drawing; a proof of a 9 ft table stays below a megabyte
	f.SetProducer("spotjig "+clean(set.Version), true)
	f.SetTitle(title+": "+clean(set.Title()), true)
	f.SetAutoPageBreak(false, 0)
	f.SetMargins(0, 0, 0)
	f.SetCellMargin(0)
	s := &sheaf{inches: set.Job.Units == job.UnitsInch, Fpdf: f, size: size, margin: 15, tr: f.UnicodeTranslatorFromDescriptor("")}
	s.foot = post.Parts(", ", title, clean(set.Job.Name), clean(set.Job.Date), "spotjig "+clean(set.Version))
	return s
}

// finish writes the document out.
func (s *sheaf) finish(w io.Writer) error {
	if err := s.Output(w); err != nil {
		return fmt.Errorf("write pdf: %w", err)
	}
	return nil
}

// width is what a line of text may use.
func (s *sheaf) width() float64 { return s.size.width - 2*s.margin }

// bottom is where the text area ends.
func (s *sheaf) bottom() float64 { return s.size.height - s.margin - 4 }

// page begins a page with its footer.
func (s *sheaf) page() {
	s.AddPage()
	s.font("", 7.5)
	s.SetTextColor(0, 0, 0)
	s.SetDrawColor(0, 0, 0)
	n := fmt.Sprintf("page %d", s.PageNo())
	s.put(s.margin, s.size.height-s.margin+3, s.fitted(s.foot, s.width()-20))
	s.put(s.size.width-s.margin-s.GetStringWidth(n), s.size.height-s.margin+3, n)
	s.y = s.margin
}

// keep starts a new page unless h mm are left.
func (s *sheaf) keep(h float64) {
	if s.PageNo() == 0 || s.y+h > s.bottom() {
		s.page()
	}
}

func (s *sheaf) font(style string, size float64) { s.SetFont("Helvetica", style, size) }

// put writes one line with its baseline at x, y.
func (s *sheaf) put(x, y float64, text string) { s.Text(x, y, s.tr(text)) }

// wide is how long a text is in the present font, mm.
func (s *sheaf) wide(text string) float64 { return s.GetStringWidth(s.tr(text)) }

// fitted cuts a text to a width, with dots.
func (s *sheaf) fitted(text string, width float64) string {
	if s.wide(text) <= width {
		return text
	}
	r := []rune(text)
	return string(r[:s.fits(r, width-s.wide("..."))]) + "..."
}

// fits is how many characters of a text go into a width; at least one.
func (s *sheaf) fits(r []rune, width float64) int {
	return max(1, sort.Search(len(r), func(n int) bool { return s.wide(string(r[:n+1])) > width }))
}

// units is a text with the unit that people read first in front.
func (s *sheaf) units(text string) string {
	if s.inches {
		return figure.InchesFirst(text)
	}
	return text
}

// inUnits heads a column of lengths.
func (s *sheaf) inUnits(what string) string {
	if s.inches {
		return what + ", in (mm)"
	}
	return what + ", mm"
}

// sides is how large a sheet is, in a column of lengths.
func (s *sheaf) sides(sh post.Sheet) string {
	return strings.Replace(strings.TrimSuffix(s.units(figure.Sheet(sh.Width, sh.Height)), " mm"), " mm)", ")", 1)
}

// lines breaks a text to a width in the present font; a word longer than the
// width is broken where it must be.
func (s *sheaf) lines(text string, width float64) []string {
	text = s.units(text)
	var out []string
	line := ""
	for _, word := range strings.Fields(text) {
		for s.wide(word) > width {
			cut := []rune(word)
			n := s.fits(cut, width)
			if n == len(cut) {
				break
			}
			if line != "" {
				out, line = append(out, line), ""
			}
			out, word = append(out, string(cut[:n])), string(cut[n:])
		}
		switch {
		case line == "":
			line = word
		case s.wide(line+" "+word) <= width:
			line += " " + word
		default:
			out, line = append(out, line), word
		}
	}
	if line != "" || len(out) == 0 {
		out = append(out, line)
	}
	return out
}

// Sizes of text, points, and its line height, mm.
const (
	bodySize = 9.5
	bodyLead = 4.5
)

// headingRoom is kept under a heading for the beginning of its text, mm.
const headingRoom = 24.0

// heading writes a numbered heading and keeps some room under it.
func (s *sheaf) heading(text string) { s.headingOver(text, headingRoom) }

// headingOver writes a numbered heading that stays with what follows, so many mm.
func (s *sheaf) headingOver(text string, below float64) {
	s.keep(below)
	s.number++
	s.y += 4
	s.font("B", 12.5)
	s.put(s.margin, s.y+4, fmt.Sprintf("%d  %s", s.number, text))
	s.SetLineWidth(0.4)
	s.Line(s.margin, s.y+6, s.margin+s.width(), s.y+6)
	s.y += 9
}

// para writes a paragraph.
func (s *sheaf) para(text string) { s.item(text, 0, "") }

// mono writes a line as it is typed on a machine.
func (s *sheaf) mono(text string) {
	s.keep(bodyLead)
	s.SetFont("Courier", "", bodySize)
	s.put(s.margin+6.5, s.y+3.5, s.fitted(text, s.width()-6.5))
	s.y += bodyLead
}

// tick writes a paragraph behind a box to tick.
func (s *sheaf) tick(text string) {
	s.item(text, hanging, "box")
}

// bullet writes a paragraph behind a number or a sign.
func (s *sheaf) bullet(sign, text string) { s.item(text, hanging, sign) }

// numbered writes a list, whose last item does not stand alone on a new page.
func (s *sheaf) numbered(texts []string) {
	for i, t := range texts {
		if i == len(texts)-2 {
			s.font("", bodySize)
			s.keep(1.3 + bodyLead*float64(len(s.lines(clean(t), s.width()-hanging))+len(s.lines(clean(texts[i+1]), s.width()-hanging))))
		}
		s.bullet(strconv.Itoa(i+1), clean(t))
	}
}

// hanging is how far a list's text stands in, mm.
const hanging = 6.5

// item writes a paragraph indented behind a sign; "box" draws a box to tick.
func (s *sheaf) item(text string, indent float64, sign string) {
	s.font("", bodySize)
	ls := s.lines(text, s.width()-indent)
	s.keep(float64(len(ls)) * bodyLead)
	s.font("", bodySize)
	if sign == "box" {
		s.SetLineWidth(0.3)
		s.Rect(s.margin, s.y+0.5, 3.4, 3.4, "D")
	} else if sign != "" {
		s.font("B", bodySize)
		s.put(s.margin, s.y+3.5, sign)
		s.font("", bodySize)
	}
	for _, l := range ls {
		s.put(s.margin+indent, s.y+3.5, l)
		s.y += bodyLead
	}
	s.y += 1.3
}

// sub writes a small heading and keeps it with what follows, at least below mm.
func (s *sheaf) sub(text string, below float64) {
	s.keep(8 + below)
	s.font("B", bodySize+0.5)
	s.y += 1.5
	s.put(s.margin, s.y+3.6, text)
	s.y += 5.6
}

// table writes rows in columns of the given shares of the width; the first row
// is the head and is repeated on a new page. "[]" draws a box to tick.
func (s *sheaf) table(shares []float64, rows [][]string) {
	sum := 0.0
	for _, f := range shares {
		sum += f
	}
	for i, row := range rows {
		least := s.rowHeight(shares, sum, row, i == 0)
		for k := 1; i == 0 && k < min(3, len(rows)); k++ { // the head does not stay alone, nor with one row
			least += s.rowHeight(shares, sum, rows[k], false)
		}
		if s.PageNo() == 0 || s.y+least > s.bottom() {
			s.page()
			if i > 0 {
				s.row(shares, sum, rows[0], true)
			}
		}
		s.row(shares, sum, row, i == 0)
	}
	s.y += 2
}

const (
	cellSize = 8.5
	cellLead = 4.0
	cellPad  = 1.2
)

func (s *sheaf) cellFont(head bool) {
	if head {
		s.font("B", cellSize)
	} else {
		s.font("", cellSize)
	}
}

func (s *sheaf) rowHeight(shares []float64, sum float64, row []string, head bool) float64 {
	s.cellFont(head)
	n := 1
	for i, c := range row {
		n = max(n, len(s.lines(c, s.width()*shares[i]/sum-2*cellPad)))
	}
	return float64(n)*cellLead + 1.6
}

func (s *sheaf) row(shares []float64, sum float64, row []string, head bool) {
	h := s.rowHeight(shares, sum, row, head)
	x := s.margin
	s.SetLineWidth(0.2)
	for i, c := range row {
		w := s.width() * shares[i] / sum
		if c == "[]" {
			s.Rect(x+cellPad, s.y+0.9, 3.2, 3.2, "D")
		} else {
			for k, l := range s.lines(c, w-2*cellPad) {
				s.put(x+cellPad, s.y+3.4+float64(k)*cellLead, l)
			}
		}
		x += w
	}
	s.y += h
	if head {
		s.SetLineWidth(0.4)
	}
	s.Line(s.margin, s.y, s.margin+s.width(), s.y)
}
