package layout

import (
	"bufio"
	"bytes"
	"cmp"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
)

// Finished marks are checked by a file of readings, one place a line:
//
//	# hall, table 3
//	by: A. Fitter
//	date: 2026-11-20
//	tolerance: 1 mm
//	yellow: head 524.5 mm, right 423 mm
//	brown: left-right 0.5 mm
//	baulk-line@left: head 524 mm
//	d: radius 211.5 mm
//	black: from pink 404 mm
//	foot spot: x 1905.2 mm, y -0.5 mm
//
// A place answers to its id and to its name as printed. A reading is a nose (head, foot, right, left) and the distance square to it; a
// difference (left-right, head-foot) and how much the first is more than the
// second, which a bad tape cannot spoil; radius; or from, another place and the
// distance to it, which is a check only; or x and y as on the job sheet's form, from the
// middle of the head nose, + to the foot and + to the left. A line's ends and an outline's corners
// are named as on the tape card. Lengths are written as everywhere; one printed in both units
// counts by the first. The form's own lines below its table are read as they stand there.

// Limits of a readings file.
const (
	readingsBytesMax = 64 << 10 // ten times a table with every game on it
	readingsLinesMax = 1000
)

// Readings are the finished marks as the fitter measured them.
type Readings struct {
	By, Date  string
	Said      []string // the form's other lines, as written
	Tolerance float64  // mm; 0: not given
	places    []placeReadings
}

// FormLines stand below the form's table; the first is who marked, and when.
func FormLines() []string {
	return []string{"Marked by, date", "Hall, table, cloth", "Temperature and humidity", "Left undone"}
}

// placeReadings are the readings of one place.
type placeReadings struct {
	id        string
	line, col int
	at        []markReading
}

// markReading is one of them.
type markReading struct {
	what string // one of readingWords
	of   string // from: the other place
	mm   float64
	bare bool // without a unit, so that mm was taken
	col  int
}

// jobSections begin lines of job files. A place may be called so, but hardly two in one file
// with nothing measured at either.
var jobSections = []string{"table", "survey", "games", "choices", "house", "machine", "material", "jig"}

// readingWords are what can be measured.
var readingWords = []string{"head", "foot", "right", "left", "left-right", "head-foot", "radius", "from", "x", "y"}

// ReadReadings reads a readings file. Faults come back as a problem.List with
// file, line and column.
func ReadReadings(r io.Reader, file string) (Readings, error) {
	data, err := io.ReadAll(io.LimitReader(r, readingsBytesMax+1))
	if err != nil {
		return Readings{}, fmt.Errorf("read readings: %w", err)
	}
	p := readingsParser{file: file, seen: map[string]int{}}
	if len(data) > readingsBytesMax {
		p.fault(0, 0, "", "S060", fmt.Sprintf("more than %d bytes", readingsBytesMax), "keep one table to a file")
		return Readings{}, p.list.Err()
	}
	if !utf8.Valid(data) {
		p.fault(0, 0, "", "S060", "not text in UTF-8", "save the file as plain text")
		return Readings{}, p.list.Err()
	}
	s := bufio.NewScanner(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))))
	s.Buffer(nil, readingsBytesMax+1)
	for n := 1; s.Scan(); n++ {
		if n > readingsLinesMax {
			p.fault(n, 0, "", "S060", fmt.Sprintf("more than %d lines", readingsLinesMax), "keep one table to a file")
			break
		}
		p.line(n, s.Text())
	}
	if err := s.Err(); err != nil {
		return Readings{}, fmt.Errorf("read readings: %w", err)
	}
	if len(p.keys) > 1 {
		p.list = nil
		p.fault(p.keys[0].line, 1, "", "S061", fmt.Sprintf("no readings but a job file, with %s: here and %s: on line %d", p.keys[0].id, p.keys[1].id, p.keys[1].line),
			"name the job once, first, and the text file with the readings after it: spotjig marked club.yaml readings.txt")
		return Readings{}, p.list.Err()
	}
	if len(p.out.places) == 0 && len(p.list) == 0 {
		p.fault(0, 0, "", "S061", "no readings", `write one place a line, e.g. "yellow: head 524.5 mm, right 423 mm"`)
	}
	return p.out, p.list.Err()
}

// readingsParser gathers readings and faults.
type readingsParser struct {
	file string
	out  Readings
	seen map[string]int  // place or key to the line it was given on
	keys []placeReadings // lines that are a job file's sections and no readings
	list problem.List
}

func (p *readingsParser) fault(line, col int, field, code, msg, help string) {
	p.list.Add(problem.Problem{File: p.file, Line: line, Col: col, Field: field, Code: code, Msg: msg, Help: help})
}

// line reads one line.
func (p *readingsParser) line(n int, text string) {
	text, _, _ = strings.Cut(text, "#")
	if strings.TrimSpace(text) == "" {
		return
	}
	if strings.HasPrefix(text, markingLine) {
		p.fault(n, 1, "", "S062", "begins as a marking of a history does, and no place's name", `leave the hyphens out, e.g. "yellow: head 524.5 mm, right 423 mm"`)
		return
	}
	head, rest, ok := strings.Cut(text, ":")
	key := strings.TrimSpace(head)
	col := 1 + utf8.RuneCountInString(head) - utf8.RuneCountInString(strings.TrimLeft(head, " \t"))
	if !ok {
		p.fault(n, col, "", "S062", "no colon after the place's name", `e.g. "yellow: head 524.5 mm, right 423 mm"`)
		return
	}
	if at, twice := p.seen[key]; twice {
		p.fault(n, col, key, "S063", fmt.Sprintf("given again, after line %d", at), "put all readings of a place on one line")
		return
	}
	p.seen[key] = n
	after := utf8.RuneCountInString(head) + 2
	if slices.Contains(FormLines()[1:], key) {
		if said := strings.TrimSpace(rest); said != "" {
			p.out.Said = append(p.out.Said, key+": "+said)
		}
		return
	}
	switch strings.ToLower(key) {
	case "marked by, date":
		p.out.By = strings.TrimSpace(rest)
		if day := forms().formDay.FindStringIndex(rest); day != nil {
			p.out.By, p.out.Date = strings.Trim(rest[:day[0]], " ,"), rest[day[0]:day[1]]
		}
	case "by":
		p.out.By = strings.TrimSpace(rest)
	case "date":
		p.out.Date = strings.TrimSpace(rest)
	case "tolerance":
		if mm, ok := p.length(n, after, key, rest); ok {
			if !(mm > 0) {
				p.fault(n, after, key, "S065", fmt.Sprintf("%g mm is not above 0", mm), "1 mm is usual")
			}
			p.out.Tolerance = mm
		}
	default:
		pr := placeReadings{id: key, line: n, col: col}
		if what, _, _ := strings.Cut(strings.TrimSpace(rest), " "); slices.Contains(jobSections, head) && !slices.Contains(readingWords, what) {
			p.keys = append(p.keys, pr)
		}
		if m := forms().decimalComma.FindStringIndex(rest); m != nil {
			number := strings.TrimSpace(forms().spelled.FindString(rest[m[0]:]))
			p.fault(n, after+utf8.RuneCountInString(rest[:m[0]]), key, "S065", fmt.Sprintf("%q has a comma inside the number", number), problem.CommaHelp(number))
			return
		}
		for at := forms().parted.FindStringIndex(rest); at != nil; at = forms().parted.FindStringIndex(rest) { // a comma forgotten
			rest = rest[:at[0]+1] + "," + rest[at[0]+2:]
		}
		for _, part := range strings.Split(rest, ",") {
			if r, ok := p.reading(n, after, key, part); ok {
				pr.at = append(pr.at, r)
			}
			after += utf8.RuneCountInString(part) + 1
		}
		p.out.places = append(p.out.places, pr)
	}
}

// readingForms are the forms of what a person writes into the form with readings. They are
// made when the first is read: most runs read none.
type readingForms struct {
	decimalComma *regexp.Regexp // a number with a comma in it, which would part two readings
	spelled      *regexp.Regexp // that with its unit
	formDay      *regexp.Regexp
	parted       *regexp.Regexp // two readings without a comma between them
	otherUnit    *regexp.Regexp
	unitless     *regexp.Regexp
}

var forms = sync.OnceValue(func() readingForms {
	return readingForms{
		decimalComma: regexp.MustCompile(`[0-9.]+,[0-9]`),
		spelled:      regexp.MustCompile(`^[^ ,]*,[0-9]*( *(mm|cm|m|in|ft|"|'))?`),
		formDay:      regexp.MustCompile(`[0-9]{4}-[0-9]{2}-[0-9]{2}`),
		parted:       regexp.MustCompile(`[0-9a-z"')] +(?:head|foot|right|left|left-right|head-foot|radius|x|y) +[-+.0-9]`),
		otherUnit:    regexp.MustCompile(`((?:mm|in|")\s*)\(-?[0-9./ ]+(?:mm|in)?\)\s*$`),
		unitless:     regexp.MustCompile(`^[-+.0-9\s]+$`),
	}
})

// length reads a length that starts at a column.
func (p *readingsParser) length(line, col int, field, text string) (float64, bool) {
	e, fault := parseExpr(text)
	if fault != nil {
		p.fault(line, col+fault.Col-1, field, fault.Code, fault.Msg, fault.Help)
		return 0, false
	}
	mm := e(math.NaN(), math.NaN())
	if math.IsNaN(mm) || math.Abs(mm) > surfaceMax {
		p.fault(line, col, field, "S065", "not a length that can be measured on a table", "write a number and its unit, e.g. 524.5 mm")
		return 0, false
	}
	return mm, true
}

// reading reads one reading of a place.
func (p *readingsParser) reading(line, col int, field, text string) (markReading, bool) {
	trimmed := strings.TrimLeft(text, " \t")
	col += utf8.RuneCountInString(text) - utf8.RuneCountInString(trimmed)
	word, rest, _ := strings.Cut(trimmed, " ")
	r := markReading{what: word, col: col}
	if !slices.Contains(readingWords, word) {
		p.fault(line, col, field, "S064", fmt.Sprintf("unknown reading %q", word), problem.DidYouMean(word, readingWords))
		return r, false
	}
	col += utf8.RuneCountInString(word) + 1
	if word == "from" {
		of := strings.TrimLeft(rest, " \t")
		col += utf8.RuneCountInString(rest) - utf8.RuneCountInString(of)
		end := len(of) // a name may have blanks; the distance begins with a digit
		for i := range of {
			if i > 0 && of[i-1] == ' ' && (of[i] >= '0' && of[i] <= '9' || of[i] == '.') {
				end = i
				break
			}
		}
		r.of, rest = strings.TrimSpace(of[:end]), of[end:]
		col += utf8.RuneCountInString(of[:end])
	}
	rest = forms().otherUnit.ReplaceAllString(rest, "$1")
	r.bare = forms().unitless.MatchString(rest)
	mm, ok := p.length(line, col, field, rest)
	if ok && mm < 0 && !strings.Contains(word, "-") && word != "y" {
		p.fault(line, col, field, "S065", fmt.Sprintf("%g mm is below 0", mm), "only a difference (left-right, head-foot) and y may be negative")
		return r, false
	}
	r.mm = mm
	return r, ok
}

// Allowed is how far off a mark may be as finished, mm: what 19 of 20 layings of its jig
// stay within, and what none passes; or a tolerance that somebody states, which is both.
type Allowed struct{ Likely, Worst float64 }

// Within is a tolerance that somebody states.
func Within(mm float64) Allowed { return Allowed{mm, mm} }

// stated tells a tolerance from what a jig holds.
func (a Allowed) stated() bool { return a.Likely == a.Worst }

// Comparison is the finished marks beside the plan.
type Comparison struct {
	By, Date string
	Said     []string // what else the form tells
	Lines    []Deviation
	Unread   []string // places of the plan no reading tells of
	Pass     bool     // every place that was read is inside what it is allowed
}

// Alike is the tolerance of all places that were read, mm, where somebody states one and
// it is the same everywhere.
func (c Comparison) Alike() (mm float64, ok bool) {
	for _, d := range c.Lines {
		if d.Allowed != c.Lines[0].Allowed || !d.Allowed.stated() {
			return 0, false
		}
		mm = d.Allowed.Worst
	}
	return mm, len(c.Lines) > 0
}

// Deviation is one place as measured, mm.
type Deviation struct {
	ID, Name      string
	Along, Across float64 // + towards the foot, + to the left
	HasAlong      bool
	HasAcross     bool
	Others        []OtherDeviation
	Off           float64 // the whole of it, along and across together
	Allowed       Allowed
	Inside        bool // of the worst case
	Likely        bool // inside what is likely
}

// OtherDeviation is a radius or a distance from another place.
type OtherDeviation struct {
	Name         string
	Read, Wanted float64
}

// Compare holds readings against the plan. The tolerance is the readings' own,
// else what each mark is allowed. A difference beats the distances it is the difference of;
// two opposite distances are taken as their difference. A place the plan does not
// have is a problem.
func Compare(r Request, p Plan, read Readings, allowed func(Mark) Allowed) (Comparison, error) {
	if read.Tolerance > 0 {
		allowed = func(Mark) Allowed { return Within(read.Tolerance) }
	}
	out := Comparison{By: read.By, Date: read.Date, Said: read.Said, Pass: true}
	g := groundOf(r.Table, r.Balls)
	places := namesOf(p)
	var list problem.List
	done := map[string]bool{}
	for _, pr := range read.places {
		pl, fault := places.named(pr.id)
		if fault != nil {
			fault.Line, fault.Col, fault.Field = pr.line, pr.col, pr.id
			list.Add(*fault)
			continue
		}
		done[pl.id] = true
		d := Deviation{ID: pl.id, Name: pl.name}
		for _, k := range pr.at {
			if k.what == "radius" && pl.mark.Kind != Arc {
				list.Add(problem.Problem{Line: pr.line, Col: k.col, Field: pr.id, Code: "S066", Msg: "it is no arc and has no radius", Help: "give distances from the noses"})
			}
			if want := wantedOf(k.what, pl, g); k.bare && math.Abs(k.mm-want) > inchSlip && math.Abs(k.mm*mmPerInch-want) < inchSlip {
				list.Add(problem.Problem{Line: pr.line, Col: k.col, Field: pr.id, Code: "S065", Msg: fmt.Sprintf("%s %g is %g mm, where %s belongs", k.what, k.mm, k.mm, figure.MM(want)),
					Help: fmt.Sprintf("a bare number is in mm; if inches were meant, write %s %g in", k.what, k.mm)})
			}
			if k.what != "from" {
				continue
			}
			o, fault := places.named(k.of)
			if fault != nil {
				fault.Line, fault.Col, fault.Field = pr.line, k.col, pr.id
				list.Add(*fault)
				continue
			}
			d.Others = append(d.Others, OtherDeviation{"from " + o.name, k.mm, math.Hypot(pl.x-o.x, pl.y-o.y)})
		}
		d.take(pr, pl, g)
		d.judge(allowed(pl.mark))
		out.Lines = append(out.Lines, d)
		out.Pass = out.Pass && d.Inside
	}
	for _, pl := range places.all {
		if !done[pl.id] {
			out.Unread = append(out.Unread, pl.name)
		}
	}
	return out, list.Err()
}

// inchSlip: a bare number further off than this, and within it as inches, was meant as inches,
// mm. No mark is set a hand's breadth off.
const inchSlip = 50.0

// wantedOf is what a reading of a place should be by the plan; NaN where that hangs on another.
func wantedOf(what string, pl place, g ground) float64 {
	head, foot, right, left := g.sides(pl.x, pl.y)
	want, ok := map[string]float64{"head": head, "foot": foot, "right": right, "left": left, "radius": pl.mark.Radius, "x": pl.x, "y": pl.y}[what]
	if !ok {
		return math.NaN()
	}
	return want
}

// names are the plan's places by everything they answer to.
type names struct {
	all    []place            // in the plan's order
	ids    []string           // every id, those of other owners too
	byName map[string][]place // ids and printed names, folded
}

// namesOf names the places of a plan. A place answers to its id, the id of every owner
// of its mark, and its name as printed: whole, and by each owner's share of it ("head
// spot" for "head spot, brown"). An arc is also its centre.
func namesOf(p Plan) names {
	n := names{byName: map[string][]place{}}
	for _, m := range p.Marks {
		for _, pl := range placesOf(m) {
			n.all = append(n.all, pl)
			end := strings.TrimPrefix(pl.id, m.ID)
			for _, id := range append([]string{m.ID}, m.Also...) {
				n.ids = append(n.ids, id+end)
				n.add(id+end, pl)
			}
			end = strings.TrimPrefix(pl.name, m.Name)
			for _, name := range append(strings.Split(m.Name, ", "), m.Name) {
				n.add(name+end, pl)
				if end == ", centre" {
					n.add(name, pl)
				}
			}
		}
	}
	return n
}

// add files a place under a name, once.
func (n names) add(name string, pl place) {
	key := foldPlace(name)
	for _, have := range n.byName[key] {
		if have.id == pl.id {
			return
		}
	}
	n.byName[key] = append(n.byName[key], pl)
}

// foldPlace makes a name alike however it is written: capitals, hyphens and blanks do
// not matter.
func foldPlace(name string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == ' ' || r == '-' || r == ',' }), " ")
}

// named finds a place; the fault says what stands in the way, without a place in the
// file.
func (n names) named(name string) (place, *problem.Problem) {
	found := n.byName[foldPlace(name)]
	switch len(found) {
	case 0:
		return place{}, &problem.Problem{Code: "S066", Msg: fmt.Sprintf("no such place as %q in the plan", name), Help: problem.DidYouMean(name, n.ids)}
	case 1:
		return found[0], nil
	}
	var ids []string
	for _, pl := range found {
		ids = append(ids, pl.id)
	}
	return place{}, &problem.Problem{Code: "S066", Msg: fmt.Sprintf("%q names %d places of the plan", name, len(found)), Help: "write one of " + strings.Join(ids, ", ")}
}

// take works the deviations out.
func (d *Deviation) take(pr placeReadings, pl place, g ground) {
	head, foot, right, left := g.sides(pl.x, pl.y)
	got := map[string]float64{}
	for _, k := range pr.at {
		if k.what == "radius" {
			d.Others = append(d.Others, OtherDeviation{"radius", k.mm, pl.mark.Radius})
		}
		got[k.what] = k.mm
	}
	d.Along, d.HasAlong = axis(got, [3]string{"head", "foot", "head-foot"}, head, foot)
	d.Across, d.HasAcross = axis(got, [3]string{"right", "left", "left-right"}, right, left)
	if x, ok := got["x"]; ok && !d.HasAlong {
		d.Along, d.HasAlong = x-pl.x, true
	}
	if y, ok := got["y"]; ok && !d.HasAcross {
		d.Across, d.HasAcross = y-pl.y, true
	}
}

// axis returns how far a place is off along one axis, + away from the nose the
// first word names. Words are the near nose, the far nose and their difference,
// which is written near less far along the table and far less near across it.
func axis(got map[string]float64, words [3]string, near, far float64) (float64, bool) {
	a, hasA := got[words[0]]
	b, hasB := got[words[1]]
	diff, hasDiff := got[words[2]]
	if hasDiff && words[2] == "left-right" {
		diff = -diff
	}
	switch {
	case hasDiff:
		return (diff - (near - far)) / 2, true
	case hasA && hasB:
		return ((a - b) - (near - far)) / 2, true
	case hasA:
		return a - near, true
	case hasB:
		return far - b, true
	}
	return 0, false
}

// judge holds a place against what it is allowed: as a whole, and by each radius and
// distance.
func (d *Deviation) judge(allowed Allowed) {
	d.Off, d.Allowed = math.Hypot(d.Along, d.Across), allowed
	most := d.Off
	for _, o := range d.Others {
		most = math.Max(most, math.Abs(o.Read-o.Wanted))
	}
	d.Inside, d.Likely = most <= allowed.Worst+mergeTol, most <= allowed.Likely+mergeTol
}

// verdict is the record's word on a place.
func (d Deviation) verdict() string {
	switch {
	case !d.Inside:
		return "OUTSIDE"
	case !d.Likely:
		return "unlikely"
	}
	return "inside"
}

// RecordOptions are what a record of a marking needs besides the comparison.
type RecordOptions struct {
	Job, Table, Version string
	Jig                 string      // what is lettered on the jig to take; "" when none is told
	Look                screen.Look // no columns: the usual width
}

// movedRow is how far one place moved between two markings, mm.
type movedRow struct {
	name          string
	along, across float64
	has           [2]bool
}

// WriteMoved prints what moved between two markings of a table, the earlier first: of every
// place that both tell of how much further it is to the foot and to the left. Noses wear
// and cloths are renewed; a table that everything moved on has other cushions.
func WriteMoved(w io.Writer, before, after Comparison, look screen.Look) error {
	was := map[string]Deviation{}
	for _, d := range before.Lines {
		was[d.ID] = d
	}
	rows := [][]string{{"place", "along", "across"}}
	worst, name := 0.0, ""
	for _, d := range after.Lines {
		b, ok := was[d.ID]
		r := movedRow{name: d.Name, along: d.Along - b.Along, across: d.Across - b.Across, has: [2]bool{d.HasAlong && b.HasAlong, d.HasAcross && b.HasAcross}}
		if !ok || !r.has[0] && !r.has[1] {
			continue
		}
		row := []string{r.name, "not read", "not read"}
		for k, v := range []float64{r.along, r.across} {
			if !r.has[k] {
				continue
			}
			row[1+k] = figure.Signed(v)
			if geom.Millionth(math.Abs(v)) > geom.Millionth(worst) {
				worst, name = math.Abs(v), r.name
			}
		}
		rows = append(rows, row)
	}
	since := cmp.Or(before.Date, "the marking before")
	if len(rows) == 1 {
		_, err := fmt.Fprintf(w, "\nMoved since %s: no place is told of by both\n", since)
		return err
	}
	text := "\nMoved since " + since + ": most the " + name + ", by " + figure.MM(worst) + "\n\n"
	if name == "" {
		text = "\nMoved since " + since + ": nothing\n\n"
	}
	_, err := io.WriteString(w, folded(text, look)+laidOut(rows, look)+"\nalong: + towards the foot nose; across: + to the left\n")
	return err
}

// jig is the record's line on the jig to take.
func (o RecordOptions) jig() string {
	if o.Jig == "" {
		return ""
	}
	return "jig:        the one lettered " + o.Jig + "\n"
}

// WriteComparison prints the record to keep with the table: every place, the
// verdict, and a line to sign.
func WriteComparison(w io.Writer, c Comparison, o RecordOptions) error {
	o.Look.Columns = cmp.Or(o.Look.Columns, screen.Columns)
	var b strings.Builder
	mm, alike := c.Alike()
	tolerance := figure.MM(mm)
	if !alike {
		tolerance = "each mark's own"
	}
	fmt.Fprintf(&b, "Marks as measured\n\njob:        %s\ntable:      %s\ntolerance:  %s\ntool:       spotjig %s\n%s", o.Job, o.Table, tolerance, o.Version, o.jig())
	for _, s := range c.Said {
		b.WriteString(s + "\n")
	}
	b.WriteString("\n")
	head := []string{"place", "along", "across", "off"}
	if !alike {
		head = append(head, "likely", "worst")
	}
	more := slices.ContainsFunc(c.Lines, func(d Deviation) bool { return len(d.Others) > 0 })
	if more {
		head = append(head, "other readings")
	}
	rows := [][]string{append(head, "verdict")}
	for _, d := range c.Lines {
		part := func(v float64, has bool) string {
			if !has {
				return "not read"
			}
			return figure.Signed(v)
		}
		var others []string
		for _, k := range d.Others {
			others = append(others, fmt.Sprintf("%s %s (%s)", k.Name, figure.MM(k.Read), figure.Signed(k.Read-k.Wanted)))
		}
		off := figure.MM(d.Off)
		if !d.HasAlong && !d.HasAcross {
			off = "-"
		}
		row := []string{d.Name, part(d.Along, d.HasAlong), part(d.Across, d.HasAcross), off}
		if !alike {
			row = append(row, figure.MM(d.Allowed.Likely), figure.MM(d.Allowed.Worst))
		}
		if more {
			row = append(row, cmp.Or(strings.Join(others, "; "), "-"))
		}
		rows = append(rows, append(row, d.verdict()))
	}
	table := laidOut(rows, o.Look)
	above := b.String()
	b.Reset()
	b.WriteString("\nalong: + towards the foot nose; across: + to the left, seen from the head\n")
	if !alike {
		b.WriteString("likely, worst: what the jig holds by its error budget, or both the tolerance that the job states; unlikely: between the two\n")
	}
	if len(c.Unread) > 0 {
		fmt.Fprintf(&b, "not measured: %s\n", strings.Join(c.Unread, "; "))
	}
	verdict := "every place measured is inside its tolerance"
	if !c.Pass {
		verdict = "not every place is inside its tolerance: rub out and mark again where it says OUTSIDE"
	}
	fmt.Fprintf(&b, "\nverdict: %s\n\nmeasured by: %s\ndate:        %s\nsigned:      %s\n", verdict,
		cmp.Or(c.By, strings.Repeat("_", 30)), cmp.Or(c.Date, strings.Repeat("_", 30)), strings.Repeat("_", 30))
	_, err := io.WriteString(w, folded(trimLines(above), o.Look)+table+folded(trimLines(b.String()), o.Look))
	return err
}
