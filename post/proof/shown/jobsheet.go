package shown

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"spotjig/post/proof"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/post"
)

// The job sheet as read back: its texts in the order they are printed, section by
// section. Lines are broken where they fit, so texts are compared without their
// spaces; the heads of tables, which are repeated on a new page, and the feet of
// pages are left out.

// Sizes of letters on a job sheet, points: they tell what is what.
const (
	sizeHeading = 12.5
	sizeCell    = 8.5
	sizeFoot    = 7.5
)

// AsListed reads job-sheet.pdf back (id as-listed): pages whole and in order, and
// word for word what is cut from what, cautions, settings, extents, check
// dimensions, joints, the tape card and the marks.
func AsListed(data []byte, set post.Set, how Printing) jig.Check {
	c := jig.Check{ID: "as-listed", Verdict: jig.Pass}
	pages, err := readPDF(data)
	if err != nil {
		return proof.Failed(c, err.Error())
	}
	l := listing{set: set, sections: map[string]string{}}
	if err := l.read(pages, how); err != nil {
		return proof.Failed(c, "job-sheet.pdf: "+err.Error())
	}
	n := 0
	for _, s := range l.wanted() {
		got, ok := l.sections[s.name]
		if !ok {
			return proof.Failed(c, fmt.Sprintf("job-sheet.pdf: no section %q", s.name))
		}
		for _, w := range s.texts {
			if !strings.Contains(got, squeezed(w...)) {
				return proof.Failed(c, fmt.Sprintf("job-sheet.pdf: %q does not say: %.120s", s.name, lacking(got, w)))
			}
			n += len(w)
		}
	}
	c.Text = fmt.Sprintf("job-sheet.pdf: %d pages say the job's %d figures and texts", len(pages), n)
	return c
}

// lacking is the first of the texts, which belong one behind the other, that is not
// there; all of them if each is somewhere.
func lacking(got string, texts []string) string {
	for _, t := range texts {
		if !strings.Contains(got, squeezed(t)) {
			return t
		}
	}
	return strings.Join(texts, " ")
}

// listing is one job sheet.
type listing struct {
	set      post.Set
	sections map[string]string
}

// read sorts the texts of all pages into sections.
func (l *listing) read(pages []paperPage, how Printing) error {
	size := how.size()
	heading := regexp.MustCompile(`^([0-9]+)  (.+)$`)
	foot := regexp.MustCompile(`^page ([0-9]+)$`)
	name, number, bold := "", 0, ""
	var section strings.Builder
	for i, p := range pages {
		if math.Abs(p.width-size.X) > pageTol || math.Abs(p.height-size.Y) > pageTol {
			return fmt.Errorf("page %d is %.2f x %.2f mm", i+1, p.width, p.height)
		}
		numbered := false
		for _, t := range p.texts {
			switch m := heading.FindStringSubmatch(t.text); {
			case t.size == sizeFoot:
				if f := foot.FindStringSubmatch(t.text); f != nil {
					if numbered = f[1] == strconv.Itoa(i+1); !numbered {
						return fmt.Errorf("page %d says %q", i+1, t.text)
					}
				}
				continue
			case t.size == sizeHeading && m != nil:
				if number++; m[1] != strconv.Itoa(number) {
					return fmt.Errorf("section %d is numbered %s", number, m[1])
				}
				l.sections[name] = section.String()
				section.Reset()
				name, bold = m[2], t.font
				continue
			case t.size == sizeCell && t.font == bold && bold != "":
				continue
			}
			section.WriteString(squeezedBytes(t.text))
		}
		if !numbered {
			return fmt.Errorf("page %d has no number", i+1)
		}
	}
	l.sections[name] = section.String()
	return nil
}

// said is one section's texts: each list must be there, one behind the other.
type said struct {
	name  string
	texts [][]string
}

// wanted is what the job sheet must say.
func (l *listing) wanted() []said {
	s := l.set
	out := []said{
		{"", [][]string{{"playing surface " + layout.Length(s.Table.L) + " by " + layout.Length(s.Table.W) + ", nose to nose"}, {l.verdicts()}}},
		{"What is cut from what", [][]string{l.stock(), l.sheets()}},
	}
	if len(s.Cautions) > 0 {
		var texts []string
		for i, c := range s.Cautions {
			texts = append(texts, strconv.Itoa(i+1), paperShown(c))
		}
		out = append(out, said{"Cautions that apply to this job", [][]string{texts}})
	}
	if s.Machine.Process != machine.Shop {
		out = append(out, said{cp1252("Settings on " + paperShown(s.Machine.Name)), [][]string{l.settings()}}, said{"Extents, origin and start", [][]string{l.extents()}})
	}
	out = append(out, said{"Check dimensions, after cutting", [][]string{l.dimensions()}})
	if joints := l.joints(); len(joints) > 0 {
		out = append(out, said{"Assemble on the bed", [][]string{joints}})
	}
	return append(out, said{"Tape card", [][]string{l.tape(), l.marks()}}, said{"As marked", [][]string{l.marked()}})
}

func (l *listing) verdicts() string {
	n := map[jig.Verdict]int{}
	for _, c := range l.set.Checks {
		n[c.Verdict]++
	}
	return fmt.Sprintf("Checks: %d failed, %d warned, %d passed", n[jig.Fail], n[jig.Warn], n[jig.Pass])
}

func (l *listing) stock() []string {
	m := l.set.Material
	out := []string{thicknessShown(m)}
	if l.set.Machine.Process != machine.Knife {
		out = append(out, "; width of cut at the underside "+figureShown(m.Kerf, 3)+" mm, plus or minus "+figureShown(m.KerfPM, 3))
	}
	return out
}

// thicknessShown says how thick the sheet is and whether that was measured.
func thicknessShown(m machine.Material) string {
	if !m.Measured {
		return "not measured, " + figureShown(m.Thickness, 6) + " mm thick as sold"
	}
	return "measured " + figureShown(m.Thickness, 6) + " mm thick, sold as " + figureShown(m.Sold, 6) + " mm"
}

func (l *listing) sheets() []string {
	var out []string
	for i, s := range l.set.Sheets {
		var pieces []string
		for _, p := range s.Placed {
			pieces = append(pieces, paperShown(p.ID))
		}
		files, time := fmt.Sprintf("sheet-%d.dxf", s.N), "-"
		if l.set.Machine.Process != machine.Shop {
			files, time = files+fmt.Sprintf(", sheet-%d.nc, -dryrun.nc, -edges.nc", s.N), lasting(s.Time)
		}
		if l.set.Held(i) {
			files = "none yet: second step"
		}
		out = append(out, strconv.Itoa(s.N), figureShown(s.Width, 1)+" x "+figureShown(s.Height, 1), strings.Join(pieces, ", "), figureShown(s.UsedFraction*100, 0)+" %", time, files)
	}
	return out
}

func (l *listing) settings() []string {
	m := l.set.Material
	var out []string
	for i, k := range []machine.Setting{m.Letter, m.Score, m.Cut} {
		first, proven := figureShown(k.Power, 1), paperShown(k.Proven)
		if l.set.Machine.Process == machine.Knife {
			first = figureShown(k.Depth, 3)
		}
		if proven == "" {
			proven = "NOT PROVEN"
		}
		out = append(out, [3]string{"lettering", "score", "cut"}[i], first, figureShown(k.Feed.PerMinute(), 0), strconv.Itoa(k.Passes), proven)
	}
	return out
}

func (l *listing) extents() []string {
	var out []string
	for _, s := range l.set.Sheets {
		at := [2]float64{}
		if m := l.set.Machine; m.Park != nil {
			at = [2]float64{m.Park.X - m.Offsets[1].X, m.Park.Y - m.Offsets[1].Y}
		}
		longest := 0.0
		for _, o := range s.Path.Ops {
			if n := len(o.Moves); n > 0 {
				from, to := o.Moves[0].From, o.Moves[n-1].To
				longest = math.Max(longest, math.Hypot(from.X-at[0], from.Y-at[1]))
				at = [2]float64{to.X, to.Y}
			}
		}
		on := s.BeamOn
		if l.set.Machine.Process == machine.Knife {
			on = s.Time
		}
		b := s.Bounds
		out = append(out, strconv.Itoa(s.N), tenths(b.Min.X), tenths(b.Max.X), tenths(b.Min.Y), tenths(b.Max.Y),
			figureShown(s.CutLen/1000, 2)+" m", figureShown(s.TravelLen/1000, 2)+" m", tenths(longest)+" mm", lasting(on))
	}
	return out
}

func (l *listing) dimensions() []string {
	var out []string
	for _, p := range l.set.Jig.Parts {
		b := boxOf(proof.ChainOf(p.Outline))
		w, h := b.X1-b.X0, b.Y1-b.Y0
		ticks := ""
		for _, t := range p.Text {
			if d, ok := strings.CutPrefix(t, "TICKS "); ok && ticks == "" {
				ticks = d
			}
		}
		out = append(out, paperShown(p.ID), paperShown(string(p.Role)), figureShown(math.Max(w, h), 2), figureShown(math.Min(w, h), 2), ticks)
	}
	return out
}

func (l *listing) joints() []string {
	var out []string
	for _, j := range l.set.Jig.Joints {
		out = append(out, paperShown(j.Tail), paperShown(j.Socket), paperShown(j.Key))
	}
	return out
}

// tape is the tape card, line by line.
func (l *listing) tape() []string {
	called := map[string]string{}
	for _, c := range l.set.Tape {
		called[c.ID] = c.Name
	}
	from := func(d float64, nose string) string {
		if tenths(d) == tenths(0) {
			return "at the " + nose
		}
		return layout.Length(d) + ", " + nose
	}
	var out []string
	for i, c := range l.set.Tape {
		name, check := paperShown(c.Name), c.Check
		if c.Radius > 0 {
			name += ", radius " + layout.Length(c.Radius)
		}
		if n, ok := called[check]; ok {
			check = n
		}
		out = append(out, strconv.Itoa(i+1), name, from(c.EndDist, c.End), from(c.SideDist, c.Side), layout.Length(c.CheckBy)+" to "+paperShown(check))
	}
	return out
}

func (l *listing) marks() []string {
	var out []string
	for _, m := range l.set.Marks {
		out = append(out, paperShown(m.Name), paperShown(m.FromHead), paperShown(m.FromFoot), paperShown(m.Across), paperShown(m.Rule))
	}
	return out
}

// marked is the form for what is on the cloth.
func (l *listing) marked() []string {
	var out []string
	for _, m := range l.set.Marks {
		name := paperShown(m.Name)
		point := func(which string, x, y float64) { out = append(out, name, which, tenths(x), tenths(y)) }
		switch m.Kind {
		case layout.Spot:
			point("", m.X, m.Y)
		case layout.Line:
			point("one end", m.X, m.Y)
			point("other end", m.X2, m.Y2)
		case layout.Arc:
			point("centre", m.X, m.Y)
			out = append(out, name, "radius", tenths(m.Radius))
		default:
			for i, p := range m.Points {
				point("corner "+strconv.Itoa(i+1), p[0], p[1])
			}
		}
	}
	return append(out, "Marked by, date", "Hall, table, cloth", "Temperature and humidity", "Left undone")
}

// tenths prints a length to a tenth of a mm.
func tenths(v float64) string { return strings.TrimSuffix(layout.MM(v), " mm") }

// lasting prints a time for people.
func lasting(sec float64) string {
	t := int(math.Round(sec))
	switch {
	case t < 60:
		return fmt.Sprintf("%d s", t)
	case t < 3600:
		return fmt.Sprintf("%d min %02d s", t/60, t%60)
	}
	return fmt.Sprintf("%d h %02d min", t/3600, t/60%60)
}

// paperShown is how a text of the job is printed.
func paperShown(s string) string { return post.OneLine(s, 600, "...") }

// squeezed are texts as printed, without their spaces.
func squeezed(texts ...string) string {
	var b strings.Builder
	for _, t := range texts {
		for _, r := range t {
			if !unicode.IsSpace(r) {
				b.WriteRune(r)
			}
		}
	}
	return cp1252(b.String())
}

// squeezedBytes leaves the spaces out of a text in the paper's encoding.
func squeezedBytes(s string) string {
	return strings.Map(func(r rune) rune {
		if r == ' ' {
			return -1
		}
		return r
	}, s)
}

// cp1252 is a text in the encoding of the papers' fonts (WinAnsiEncoding, ISO 32000-1,
// annex D.2); what it does not have is printed as a dot.
func cp1252(s string) string {
	const high = "€?‚ƒ„…†‡ˆ‰Š‹Œ?Ž??‘’“”•–—˜™š›œ?žŸ"
	out := make([]byte, 0, len(s))
	for _, r := range s {
		if r < 0x80 || r >= 0xA0 && r <= 0xFF {
			out = append(out, byte(r))
			continue
		}
		switch i := strings.IndexRune(high, r); {
		case i >= 0:
			out = append(out, byte(0x80+len([]rune(high[:i]))))
		default:
			out = append(out, '.')
		}
	}
	return string(out)
}
