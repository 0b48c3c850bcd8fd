package shown

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"spotjig/post/proof"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
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

// AsListed reads job-sheet.pdf back (id as-listed): pages whole and in order, and what is
// cut from what, cautions, settings, extents, check dimensions, joints, the tape card and
// the marks in their places. Words are compared; figures are read as numbers and held to
// the set's within half of the last digit that is promised, so that how they are rounded
// and written is the sheet's alone.
func AsListed(data []byte, set post.Set, how Printing) jig.Check {
	c := jig.Check{ID: "as-listed", Verdict: jig.Pass}
	pages, err := readPDF(data)
	if err != nil {
		return proof.Failed(c, err.Error())
	}
	l := listing{set: set, sections: map[string][]string{}}
	if err := l.read(pages, how); err != nil {
		return proof.Failed(c, "job-sheet.pdf: "+err.Error())
	}
	n, fault := l.holds(l.wanted())
	if fault != "" {
		return proof.Failed(c, "job-sheet.pdf: "+fault)
	}
	c.Text = fmt.Sprintf("job-sheet.pdf: %d pages say the job's %d figures and texts", len(pages), n)
	return c
}

// item is one thing that is printed: a text, or a text with figures in it.
type item struct {
	text  string         // without spaces, in the paper's encoding; "" with figures
	form  *regexp.Regexp // with figures: what may be printed, each figure's parts in brackets
	parts []figureCheck
	shown string // for people
}

// figureCheck takes its groups from what the form found and tells whether they are the figure.
type figureCheck struct {
	groups int
	ok     func(groups []string) bool
}

// plain is a figure printed with so many decimals, or fewer zeros.
type plain struct {
	v        float64
	decimals int
}

// both is a length printed to a tenth of a mm and, in brackets, to a 32nd of an inch.
type both float64

// inch is a length in mm, printed in inches alone.
type inch float64

// sides are a sheet's, in mm: alone, or behind both in inches.
type sides [2]float64

// lasting is a time in seconds, printed in hours, minutes and seconds.
type lasting float64

// itemOf builds an item of texts and figures, printed one behind the other.
func itemOf(parts ...any) item {
	var it item
	var form, text strings.Builder
	form.WriteString("^")
	for _, p := range parts {
		it.shown += fmt.Sprint(p)
		switch p := p.(type) {
		case string:
			text.WriteString(squeezed(p))
			for _, r := range squeezed(p) {
				form.WriteString(`\s*` + regexp.QuoteMeta(string(r)))
			}
		case plain:
			form.WriteString(numberForm)
			it.parts = append(it.parts, figureCheck{1, func(g []string) bool { return near(g[0], p.v, half(p.decimals)) }})
		case both:
			// Either unit may come first.
			form.WriteString(`\s*(?:(-?[0-9]+(?:\.[0-9]+)?) mm \((-?)([0-9]+(?: [0-9]+/[0-9]+)?|[0-9]+/[0-9]+) in\)|(-?)([0-9]+(?: [0-9]+/[0-9]+)?|[0-9]+/[0-9]+) in \((-?[0-9]+(?:\.[0-9]+)?) mm\))`)
			it.parts = append(it.parts, figureCheck{6, func(g []string) bool {
				if g[0] == "" {
					g = []string{g[5], g[3], g[4]}
				}
				return near(g[0], float64(p), half(1)) && math.Abs(inches(g[1], g[2])-float64(p)) <= inchTol+1e-6
			}})
		case inch:
			form.WriteString(`\s*(-?)([0-9]+(?: [0-9]+/[0-9]+)?|[0-9]+/[0-9]+) in`)
			it.parts = append(it.parts, figureCheck{2, func(g []string) bool { return math.Abs(inches(g[0], g[1])-float64(p)) <= inchTol+1e-6 }})
		case sides:
			form.WriteString(`\s*(?:([0-9]+(?: [0-9]+/[0-9]+)?) x ([0-9]+(?: [0-9]+/[0-9]+)?) in \()?([0-9]+(?:\.[0-9])?) x ([0-9]+(?:\.[0-9])?)(?: mm)?\)?`)
			it.parts = append(it.parts, figureCheck{4, func(g []string) bool {
				for i, mm := range p {
					if !near(g[2+i], mm, half(1)) || g[i] != "" && math.Abs(inches("", g[i])-mm) > inchTol+1e-6 {
						return false
					}
				}
				return true
			}})
		case lasting:
			form.WriteString(`\s*(?:([0-9]+) h ?)?(?:([0-9]+) min ?)?(?:([0-9]+(?:\.[0-9])?) s)?`)
			it.parts = append(it.parts, figureCheck{3, func(g []string) bool { return lasts(g, float64(p)) }})
		}
	}
	if it.parts == nil {
		it.text = text.String()
		return it
	}
	if it.form = bareNumber; form.String()+`\s*$` != bareNumber.String() {
		it.form = regexp.MustCompile(form.String() + `\s*$`)
	}
	return it
}

// bareNumber is the form of most items: tables are of numbers.
var bareNumber = regexp.MustCompile(`^` + numberForm + `\s*$`)

// numberForm is a number, behind any blanks.
const numberForm = `\s*(-?[0-9]+(?:\.[0-9]+)?)`

// half is half of the last of so many decimals, and what arithmetic may add.
func half(decimals int) float64 { return 0.5*math.Pow(10, float64(-decimals)) + 1e-6 }

// inchTol is how far a length printed in inches may be off, mm: half of 1/32 of an inch.
const inchTol = 25.4 / 64

func near(digits string, want, tol float64) bool {
	v, err := strconv.ParseFloat(digits, 64)
	return err == nil && math.Abs(v-want) <= tol
}

// inches reads "20 5/8" with its sign, and returns mm.
func inches(sign, text string) float64 {
	sum := 0.0
	for _, part := range strings.Fields(text) {
		top, bottom, isFraction := strings.Cut(part, "/")
		v, err := strconv.ParseFloat(top, 64)
		if isFraction {
			d, err2 := strconv.ParseFloat(bottom, 64)
			v, err = v/d, errors.Join(err, err2)
		}
		if err != nil {
			return math.NaN()
		}
		sum += v
	}
	if sign == "-" {
		sum = -sum
	}
	return 25.4 * sum
}

// lasts tells whether hours, minutes and seconds are a time, to half of the last of them
// that is printed.
func lasts(groups []string, want float64) bool {
	sec, unit := 0.0, 0.0
	for i, s := range []float64{3600, 60, 1} {
		if groups[i] != "" {
			v, _ := strconv.ParseFloat(groups[i], 64)
			sec, unit = sec+v*s, s
			if strings.Contains(groups[i], ".") {
				unit = s / 10
			}
		}
	}
	return unit > 0 && math.Abs(sec-want) <= unit/2+1e-6
}

// says tells whether the items are printed one behind the other.
func says(printed []string, items []item) bool {
	for at := range printed {
		if follows(printed[at:], items) {
			return true
		}
	}
	return len(items) == 0
}

// partsMax is how many lines one item with figures may be broken into. A text may be broken
// into any number, because each line shows whether it still is that text; figures are known
// only when all of them are there.
const partsMax = 24

// follows tells whether the items stand at the beginning of what is printed. A text or a
// figure may be broken into lines; a line of text may go on with the next item.
func follows(printed []string, items []item) bool {
	if len(items) == 0 {
		return true
	}
	it := items[0]
	if it.form == nil && it.text == "" {
		return follows(printed, items[1:])
	}
	joined := ""
	for n := range printed {
		if it.form != nil && n == partsMax {
			return false
		}
		joined = strings.TrimSpace(joined + " " + printed[n])
		if it.matches(joined) {
			return follows(printed[n+1:], items[1:])
		}
		if it.form != nil {
			continue
		}
		plain := squeezedBytes(joined)
		if rest, ok := strings.CutPrefix(plain, it.text); ok {
			return follows(append([]string{rest}, printed[n+1:]...), items[1:])
		}
		if !strings.HasPrefix(it.text, plain) {
			return false
		}
	}
	return false
}

// matches tells whether what is printed is the item.
func (it item) matches(printed string) bool {
	if it.form == nil {
		return squeezedBytes(printed) == it.text
	}
	m := it.form.FindStringSubmatch(printed)
	if m == nil {
		return false
	}
	groups := m[1:]
	for _, f := range it.parts {
		if !f.ok(groups[:f.groups]) {
			return false
		}
		groups = groups[f.groups:]
	}
	return true
}

// within tells whether the item stands somewhere in running text, however it is broken.
func (it item) within(printed []string) bool {
	anywhere := it
	anywhere.form = regexp.MustCompile(strings.TrimSuffix(strings.TrimPrefix(it.form.String(), "^"), "$"))
	for _, m := range anywhere.form.FindAllString(strings.Join(printed, " "), -1) {
		if anywhere.matches(m) {
			return true
		}
	}
	return false
}

// lacking is the first of the items, which belong one behind the other, that is not
// there; all of them if each is somewhere.
func lacking(got []string, items []item) string {
	var all []string
	for _, it := range items {
		if !says(got, []item{it}) {
			return it.shown
		}
		all = append(all, it.shown)
	}
	return strings.Join(all, " ")
}

// listing is one job sheet.
type listing struct {
	set      post.Set
	sections map[string][]string // what each prints, line by line
}

// read sorts the texts of all pages into sections.
func (l *listing) read(pages []paperPage, how Printing) error {
	size := how.size()
	heading := regexp.MustCompile(`^([0-9]+)  (.+)$`)
	foot := regexp.MustCompile(`^page ([0-9]+)$`)
	name, number, bold := "", 0, ""
	var section []string
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
				l.sections[name], section = section, nil
				name, bold = m[2], t.font
				continue
			case t.size == sizeCell && t.font == bold && bold != "":
				continue
			}
			section = append(section, t.text)
		}
		if !numbered {
			return fmt.Errorf("page %d has no number", i+1)
		}
	}
	l.sections[name] = section
	return nil
}

// said is one section's items: each list must be there, one behind the other.
type said struct {
	name   string
	items  [][]item
	within []item   // each somewhere in the running text
	never  []string // words that are not in it
}

// each makes an item of each text.
func each(texts ...string) []item {
	var out []item
	for _, t := range texts {
		out = append(out, itemOf(t))
	}
	return out
}

// wanted is what the job sheet must say.
func (l *listing) wanted() []said {
	s := l.set
	takes, never := l.takes()
	out := []said{
		{name: "", items: [][]item{{itemOf("Checks: ", plain{l.count(jig.Fail), 0}, " failed, ", plain{l.count(jig.Warn), 0}, " warned, ", plain{l.count(jig.Pass), 0}, " passed")}}},
		{name: "What is cut from what", items: [][]item{l.sheets()}},
		{name: "What it takes", items: takes, within: l.hours(), never: never},
	}
	if s.Letter != "" {
		out[1].items = append(out[1].items, each("The sheets are shared with other jobs: cut each once, whichever job is first. This job's pieces and files begin with "+s.Letter+
			"; jobs.yaml names all jobs. Sheets, time and cost are those of whole sheets."))
	}
	l.opening(&out[0])
	l.stock(&out[1])
	if texts := l.cautioned(); len(texts) > 0 {
		out = append(out, said{name: "Cautions that apply to this job", items: [][]item{each(texts...)}})
	}
	if s.Machine.Process != machine.Shop {
		out = append(out, said{name: cp1252("Settings on " + paperShown(s.Machine.Name)), items: [][]item{l.settings()}}, said{name: "Extents, origin and start", items: [][]item{l.extents()}})
	}
	out = append(out, said{name: "Check dimensions, after cutting", items: [][]item{l.dimensions()}})
	if joints := l.joints(); len(joints) > 0 {
		out = append(out, said{name: "Assemble on the bed", items: [][]item{joints}})
	}
	return append(out, said{name: "Tape card", items: [][]item{l.tape(), l.marks()}}, said{name: "As marked", items: [][]item{l.marked()}})
}

func (l *listing) count(v jig.Verdict) float64 {
	n := 0
	for _, c := range l.set.Checks {
		if c.Verdict == v {
			n++
		}
	}
	return float64(n)
}

// opening wants the table's size in its paragraph, which begins with words of the job.
func (l *listing) opening(s *said) {
	s.within = append(s.within, itemOf("playing surface ", both(l.set.Table.L), " by ", both(l.set.Table.W), ", nose to nose"))
}

// stock wants the sheet's thickness and the width of cut in theirs.
func (l *listing) stock(s *said) {
	m := l.set.Material
	s.within = append(s.within, itemOf(thickness(m)...))
	if l.set.Machine.Process != machine.Knife {
		s.within = append(s.within, itemOf("width of cut at the underside ", plain{m.Kerf, 3}, " mm, plus or minus ", plain{m.KerfPM, 3}))
	}
}

// thickness says how thick the sheet is and whether that was measured.
func thickness(m machine.Material) []any {
	if !m.Measured {
		return []any{"not measured, ", plain{m.Thickness, 6}, " mm thick as sold"}
	}
	return []any{"measured ", plain{m.Thickness, 6}, " mm thick, sold as ", plain{m.Sold, 6}, " mm"}
}

func (l *listing) sheets() []item {
	var out []item
	for i, s := range l.set.Sheets {
		var pieces []string
		for _, p := range s.Placed {
			pieces = append(pieces, paperShown(p.ID))
		}
		files, time := fmt.Sprintf("sheet-%d.dxf", s.N), itemOf("-")
		if l.set.Job.DXF == "compensated" {
			files = fmt.Sprintf("sheet-%d-compensated.dxf", s.N)
		}
		if l.set.Machine.Process != machine.Shop {
			files, time = files+fmt.Sprintf(", sheet-%d.nc, -dryrun.nc, -edges.nc", s.N), itemOf(lasting(s.Time))
		}
		if l.set.Held(i) {
			files = "none yet: second step"
		}
		if l.set.Ordered(i) {
			files = "ordered already: first step"
		}
		out = append(out, itemOf(strconv.Itoa(s.N)), itemOf(sides{s.Width, s.Height}), itemOf(strings.Join(pieces, ", ")),
			itemOf(plain{s.UsedFraction * 100, 0}, " %"), time, itemOf(files))
	}
	return out
}

func (l *listing) settings() []item {
	m := l.set.Material
	var out []item
	for i, k := range []machine.Setting{m.Letter, m.Score, m.Cut} {
		first, proven := itemOf(plain{k.Power, 1}), paperShown(k.Proven)
		if l.set.Machine.Process == machine.Knife {
			first = itemOf(plain{k.Depth, 3})
		}
		if proven == "" {
			proven = "NOT PROVEN"
		}
		out = append(out, itemOf([3]string{"lettering", "score", "cut"}[i]), first, itemOf(plain{float64(k.Feed) * 60, 0}), itemOf(plain{float64(k.Passes), 0}), itemOf(proven))
	}
	return out
}

func (l *listing) extents() []item {
	var out []item
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
		out = append(out, itemOf(strconv.Itoa(s.N)), itemOf(plain{b.Min.X, 1}), itemOf(plain{b.Max.X, 1}), itemOf(plain{b.Min.Y, 1}), itemOf(plain{b.Max.Y, 1}),
			itemOf(plain{s.CutLen / 1000, 2}, " m"), itemOf(plain{s.TravelLen / 1000, 2}, " m"), itemOf(plain{longest, 1}, " mm"), itemOf(lasting(on)))
	}
	return out
}

func (l *listing) dimensions() []item {
	var out []item
	for _, p := range l.set.Jig.Parts {
		b, grown := boxOf(proof.ChainOf(p.Outline)), proof.MoverOf(p, geom.Placement{}).K
		w, h := (b.X1-b.X0)*grown, (b.Y1-b.Y0)*grown
		size := func(mm float64) item {
			if l.set.Job.Units == job.UnitsInch {
				return itemOf(inch(mm), " (", plain{mm, 2}, ")")
			}
			return itemOf(plain{mm, 2})
		}
		ticks := itemOf("")
		for _, t := range slices.Backward(p.Text) {
			if d, ok := strings.CutPrefix(t, "TICKS "); ok {
				d = strings.TrimSuffix(d[strings.LastIndexByte(d, '(')+1:], ")") // inches stand before it
				if mm, err := strconv.ParseFloat(d, 64); err == nil {
					ticks = size(mm * grown)
				}
			}
		}
		out = append(out, itemOf(paperShown(p.ID)), itemOf(paperShown(string(p.Role))), size(math.Max(w, h)), size(math.Min(w, h)), ticks)
	}
	return out
}

func (l *listing) joints() []item {
	var out []item
	for _, j := range l.set.Jig.Joints {
		out = append(out, each(paperShown(j.Tail), paperShown(j.Socket), paperShown(j.Key))...)
	}
	return out
}

// tape is the tape card, line by line.
func (l *listing) tape() []item {
	called := map[string]string{}
	for _, c := range l.set.Tape {
		called[c.ID] = c.Name
	}
	from := func(d float64, nose string) item {
		if math.Abs(d) <= half(1) {
			return itemOf("at the " + nose)
		}
		return itemOf(both(d), ", "+nose)
	}
	var out []item
	for i, c := range l.set.Tape {
		name, check := itemOf(paperShown(c.Name)), c.Check
		if c.Radius > 0 {
			name = itemOf(paperShown(c.Name)+", radius ", both(c.Radius))
		}
		if n, ok := called[check]; ok {
			check = n
		}
		out = append(out, itemOf(strconv.Itoa(i+1)), name, from(c.EndDist, c.End), from(c.SideDist, c.Side), itemOf(both(c.CheckBy), " to "+paperShown(check)))
	}
	return out
}

func (l *listing) marks() []item {
	var out []item
	for _, m := range l.set.Marks {
		out = append(out, itemOf(paperShown(m.Name)), l.turned(strings.TrimSuffix(paperShown(m.FromHead), " from the head nose")), l.turned(strings.TrimSuffix(paperShown(m.FromFoot), " from the foot nose")), l.turned(paperShown(m.Across)), l.turned(paperShown(m.Rule)))
	}
	return out
}

// inBoth finds a length in both units; alone one printed to a tenth of a mm that stands in no
// bracket. A job that asks for inches has them in front of the second too, in thousandths
// where it is shorter than a quarter of an inch.
var (
	inBoth = regexp.MustCompile(`([0-9.-]+ mm) \(([0-9/ -]+ in)\)`)
	alone  = regexp.MustCompile(`(?:^|[^(0-9.])([0-9]+\.[0-9]) mm`)
)

// turned is a text with lengths, with the unit first that the job asks for.
func (l *listing) turned(text string) item {
	if l.set.Job.Units != job.UnitsInch {
		return itemOf(text)
	}
	var parts []any
	text = inBoth.ReplaceAllString(text, "$2 ($1)")
	for at := alone.FindStringSubmatchIndex(text); at != nil; at = alone.FindStringSubmatchIndex(text) {
		mm, _ := strconv.ParseFloat(text[at[2]:at[3]], 64)
		if parts = append(parts, text[:at[2]]); mm >= 25.4/4 {
			parts = append(parts, both(mm))
		} else {
			parts = append(parts, plain{mm / 25.4, 3}, " in (", plain{mm, 1}, " mm)")
		}
		text = text[at[1]:]
	}
	return itemOf(append(parts, text)...)
}

// marked is the form for what is on the cloth.
func (l *listing) marked() []item {
	var out []item
	planned := func(mm float64) item {
		if l.set.Job.Units == job.UnitsInch {
			return itemOf(inch(mm), " (", plain{mm, 1}, ")")
		}
		return itemOf(plain{mm, 1})
	}
	for _, m := range l.set.Marks {
		name := itemOf(paperShown(m.Name))
		point := func(which string, x, y float64) {
			out = append(out, name, itemOf(which), planned(x), planned(y))
		}
		switch m.Kind {
		case layout.Spot:
			point("", m.X, m.Y)
		case layout.Line:
			first, second := "right end", "left end"
			turned := m.Y2 < m.Y
			if along := math.Abs(m.X2-m.X) > math.Abs(m.Y2-m.Y); along {
				first, second, turned = "head end", "foot end", m.X2 < m.X
			}
			if turned {
				first, second = second, first
			}
			point(first, m.X, m.Y)
			point(second, m.X2, m.Y2)
		case layout.Arc:
			point("centre", m.X, m.Y)
			out = append(out, name, itemOf("radius"), planned(m.Radius))
		default:
			for i, p := range m.Points {
				point("corner "+strconv.Itoa(i+1), p[0], p[1])
			}
		}
	}
	return append(out, each("Marked by, date", "Hall, table, cloth", "Temperature and humidity", "Left undone")...)
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
