// Package shown proves what people look at: the paper proof (as-printed), the job sheet
// (as-listed), page and pictures (as-shown), read back as drawn shapes and text.
package shown

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"spotjig/post/proof"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
)

// Limits of the proof as shown, mm: pages print thousandths of places and
// hundredths in the show of the cut order.
const (
	placeTol = 0.00051
	turnTol  = 1e-6
	growTol  = 1e-8
	showTol  = 0.03  // hundredths of ends, and what an arc between them makes of that
	sumTol   = 0.051 // of figures printed with one decimal
)

// svgArc is the arc of up to a quarter between two points.
func svgArc(a, b geom.Point, r float64, left bool) proof.Curve {
	half := math.Asin(math.Min(1, proof.Dist(a, b)/2/r))
	bulge := math.Tan(half / 2)
	if !left {
		bulge = -bulge
	}
	return proof.Bulged(a, b, bulge)
}

// AsShown reads view.html back, or a picture of its own, against the set (id
// as-shown): every piece's shape, score and letter; where pieces lie on table and
// sheets; every mark; the tables of checks, budgets, marks and cautions; the order
// of the cut as its toolpath; and that nothing but its own script can act in it.
func AsShown(name string, data []byte, set post.Set) jig.Check {
	c := jig.Check{ID: "as-shown", Verdict: jig.Pass, Limit: printTol, Unit: "mm"}
	v := shown{set: set, glyph: map[string][]stroke{}}
	p, err := readPage(string(data))
	if err == nil {
		v.page = p
		err = v.all(name)
	}
	c.Value = v.worst
	if err != nil {
		return proof.Failed(c, name+": "+err.Error())
	}
	c.Text = fmt.Sprintf("%s shows each piece (%d), mark (%d) and sheet (%d) as it is, and only its own script can act in it", name, len(set.Jig.Parts), len(set.Marks), len(set.Sheets))
	return c
}

// shown is one page being looked at.
type shown struct {
	*page
	set   post.Set
	worst float64             // of what is drawn
	show  float64             // of the cut order
	room  []proof.Curve       // an operation's chain is laid out in it
	glyph map[string][]stroke // of the store, read once
}

func (v *shown) all(name string) error {
	for i, part := range v.set.Pieces() {
		if err := v.piece(i, part); err != nil {
			return fmt.Errorf("%s: %w", part.ID, err)
		}
	}
	if err := v.onTable(); err != nil {
		return err
	}
	if err := v.drawnMarks(); err != nil {
		return err
	}
	var sheets []post.Sheet
	switch {
	case name == "view.html":
		sheets = v.set.Sheets
	case name != "table.svg":
		for _, s := range v.set.Sheets {
			if name == fmt.Sprintf("sheet-%d-picture.svg", s.N) {
				sheets = append(sheets, s)
			}
		}
	}
	if len(sheets) != len(v.sheets) {
		return fmt.Errorf("%d sheets are drawn", len(v.sheets))
	}
	for i, s := range sheets {
		if err := v.sheet(v.sheets[i], s); err != nil {
			return fmt.Errorf("sheet %d: %w", s.N, err)
		}
	}
	if name != "view.html" {
		return nil
	}
	for _, ref := range []string{"#s-table", "#s-jig", "#s-marks", "#s-contacts"} {
		n := 0
		for _, p := range v.plans {
			if p == ref {
				n++
			}
		}
		if n != 3 {
			return fmt.Errorf("%s is in %d of three pictures of the table", ref, n)
		}
	}
	if err := v.listed(); err != nil {
		return err
	}
	return v.order()
}

// piece holds the store's drawing of a piece.
func (v *shown) piece(i int, part jig.Part) error {
	id := fmt.Sprintf("p%d", i)
	if i >= len(v.parts) || v.parts[i] != textShown(part.ID) {
		return fmt.Errorf("it is not in its place in the store")
	}
	var f figures
	f.part(part, proof.Mover{K: 1, Cos: 1})
	f.indexed()
	drawn := make([]bool, len(f.all))
	take := func(d string, width float64, by geom.Point) error {
		strokes, err := v.read(d, width == inkFine)
		if err != nil {
			return err
		}
		for _, s := range strokes {
			s.width = width
			m := middle(boxOf(s.chain))
			m = geom.Point{X: m.X + by.X, Y: m.Y + by.Y}
			if !f.near(m, 2*printTol, func(k int) bool {
				d, ok := sameFigure(s, f.all[k], by)
				if ok && !drawn[k] {
					drawn[k] = true
					v.worst = math.Max(v.worst, d)
					return true
				}
				return false
			}) {
				return fmt.Errorf("a line at %s is not the piece's", proof.At(m))
			}
		}
		return nil
	}
	for _, kind := range []struct {
		key   string
		width float64
	}{{id + " body", inkEdge}, {id + " score", inkFine}, {fmt.Sprintf("l%d ", i), inkFine}} {
		for _, d := range v.paths[kind.key] {
			if err := take(d, kind.width, geom.Point{}); err != nil {
				return err
			}
		}
	}
	for _, u := range v.strokes[fmt.Sprintf("l%d", i)] {
		xs, ys, _ := strings.Cut(u.transform, " ")
		x, errx := strconv.ParseFloat(xs, 64)
		y, erry := strconv.ParseFloat(ys, 64)
		d := v.paths[u.ref[1:]+" "]
		if errx != nil || erry != nil || len(d) != 1 {
			return fmt.Errorf("a stroke that is not in the store")
		}
		if err := take(d[0], inkFine, geom.Point{X: x, Y: y}); err != nil {
			return err
		}
	}
	for k, ok := range drawn {
		if !ok {
			return fmt.Errorf("a line at %s is not drawn", proof.At(middle(f.all[k].box)))
		}
	}
	return nil
}

// read reads path data; strokes of lettering are often the same.
func (v *shown) read(d string, again bool) ([]stroke, error) {
	if s, ok := v.glyph[d]; ok {
		return s, nil
	}
	s, err := readPath(d)
	if again && err == nil {
		v.glyph[d] = s
	}
	return s, err
}

// onTable wants every flat piece on the table where it goes, once, and the noses to be the
// table's.
func (v *shown) onTable() error {
	at := map[string]string{}
	for _, u := range v.jig {
		if _, twice := at[u.ref]; twice {
			return fmt.Errorf("%s lies on the table twice", u.ref)
		}
		at[u.ref] = u.transform
	}
	for i, p := range v.set.Jig.Parts {
		t, ok := at[fmt.Sprintf("#p%d", i)]
		flat := p.Lies()
		if ok != flat || flat && !sits(t, p.OnTable.Plan(), 1) {
			return fmt.Errorf("%s does not lie on the table where it goes", p.ID)
		}
		if p.OnTable.Upright && len(v.paths[fmt.Sprintf("u%d fin", i)]) != 1 {
			return fmt.Errorf("%s does not stand on the table", p.ID)
		}
	}
	if len(v.paths["cloth cloth"]) != 1 {
		return fmt.Errorf("no table is drawn")
	}
	s, err := readPath(v.paths["cloth cloth"][0])
	if err != nil || len(s) != 1 {
		return fmt.Errorf("the table is no outline")
	}
	s[0].width = inkNose
	if !(&printing{set: v.set}).nose(s[0], geom.Point{}) {
		return fmt.Errorf("another table is drawn")
	}
	return nil
}

// sits reports whether a transform is a placement and a scale.
func sits(t string, on geom.Placement, scale float64) bool {
	move, turned, grown := numbersOf(t, "translate"), numbersOf(t, "rotate"), numbersOf(t, "scale")
	if len(move) != 2 {
		return false
	}
	a, k := 0.0, 1.0
	if len(turned) == 1 {
		a = turned[0]
	}
	if len(grown) == 1 {
		k = grown[0]
	}
	return math.Abs(move[0]-on.X) <= placeTol && math.Abs(move[1]-on.Y) <= placeTol &&
		math.Abs(math.Remainder(a-on.Turn.Degrees(), 360)) <= turnTol && math.Abs(k-scale) <= growTol
}

// drawnMarks wants every mark drawn where it is, and no other.
func (v *shown) drawnMarks() error {
	if len(v.marks) != len(v.set.Marks) {
		return fmt.Errorf("%d marks are drawn", len(v.marks))
	}
	for i, m := range v.set.Marks {
		id := fmt.Sprintf("m%d", i)
		fault := fmt.Errorf("%s is not drawn where it is", m.ID)
		if v.marks[id] != textShown(m.ID) {
			return fault
		}
		if m.Kind == layout.Spot {
			x, errx := strconv.ParseFloat(v.circles[id][0], 64)
			y, erry := strconv.ParseFloat(v.circles[id][1], 64)
			if errx != nil || erry != nil || math.Abs(x-m.X) > placeTol || math.Abs(y-m.Y) > placeTol {
				return fault
			}
			continue
		}
		d := v.paths[id+" line"]
		if len(d) != 1 {
			return fault
		}
		s, err := readPath(d[0])
		if err != nil || len(s) != 1 {
			return fault
		}
		s[0].width = inkEdge
		if _, ok := sameFigure(s[0], figure{chain: proof.ChainOfMark(m)}, geom.Point{}); !ok {
			return fault
		}
	}
	return nil
}

// sheet wants pieces and letters of a sheet's picture where they are cut.
func (v *shown) sheet(d drawnSheet, s post.Sheet) error {
	if !sameRect(d.stock, proof.Box{X0: 0, Y0: 0, X1: s.Width, Y1: s.Height}) {
		return fmt.Errorf("the stock is %s x %s", d.stock[2], d.stock[3])
	}
	if b := s.Bounds; b.Max.X > b.Min.X && !sameRect(d.bounds, proof.Box{X0: b.Min.X, Y0: b.Min.Y, X1: b.Max.X, Y1: b.Max.Y}) {
		return fmt.Errorf("the extents are others")
	}
	n, pieces := 0, v.set.Pieces()
	for _, pl := range s.Placed {
		i := slices.IndexFunc(pieces, func(p jig.Part) bool { return p.ID == pl.ID })
		if i < 0 {
			return fmt.Errorf("%q is no part", pl.ID)
		}
		part := pieces[i]
		refs := []string{fmt.Sprintf("#p%d", i)}
		if len(part.Letters) > 0 {
			refs = append(refs, fmt.Sprintf("#l%d", i))
		}
		for _, ref := range refs {
			if n >= len(d.uses) || d.uses[n].ref != ref || !sits(d.uses[n].transform, pl.On, proof.MoverOf(part, pl.On).K) {
				return fmt.Errorf("%s does not lie where it is cut", pl.ID)
			}
			n++
		}
	}
	if n != len(d.uses) {
		return fmt.Errorf("a piece too many")
	}
	return nil
}

func sameRect(r [4]string, b proof.Box) bool {
	want := [4]float64{b.X0, b.Y0, b.X1 - b.X0, b.Y1 - b.Y0}
	for i, s := range r {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil || math.Abs(f-want[i]) > placeTol {
			return false
		}
	}
	return true
}

// textShown is how a text of the job is shown.
func textShown(s string) string { return post.OneLine(s, 400, "…") }

// words is a text as its words with one space between.
func words(s ...string) string { return strings.Join(strings.Fields(strings.Join(s, " ")), " ") }

// figureShown prints a number without trailing zeros.
func figureShown(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// verdictSign stands before a verdict, so that its colour is never alone.
func verdictSign(v jig.Verdict) string {
	return map[jig.Verdict]string{jig.Pass: "✓", jig.Warn: "▲", jig.Fail: "✕"}[v]
}

// listed holds the lists of checks, budgets, marks and cautions, item by item.
func (v *shown) listed() error {
	m := v.set.Material
	kerf := []any{"; kerf (width of cut) ", plain{m.Kerf, 3}, " mm."}
	if v.set.Machine.Process == machine.Knife {
		kerf = []any{"; a blade takes no width away."}
	}
	sheet := itemOf(slices.Concat([]any{textShown(m.Kind) + ", "}, thickness(m), kerf)...)
	if !sheet.within([]string{v.told.String()}) {
		return fmt.Errorf("it does not say: %s", sheet.shown)
	}
	want := map[string][]string{}
	for _, verdict := range []jig.Verdict{jig.Fail, jig.Warn, jig.Pass} {
		for _, c := range v.set.Checks {
			if c.Verdict != verdict {
				continue
			}
			item := []string{verdictSign(verdict), string(verdict), textShown(c.Text)}
			if c.Unit != "" || c.Value != 0 || c.Limit != 0 {
				item = append(item, figureShown(c.Value, 3))
				if c.Limit != 0 {
					item = append(item, "against", figureShown(c.Limit, 3))
				}
				item = append(item, textShown(c.Unit))
			}
			want["checks"] = append(want["checks"], words(append(item, textShown(c.ID))...))
		}
	}
	for _, u := range v.set.Jig.Budgets {
		want["budget"] = append(want["budget"], v.budget(u))
	}
	for _, m := range v.set.Marks {
		want["marks"] = append(want["marks"], words(textShown(m.Name), textShown(m.Rule)+".", textShown(m.Source), textShown(m.FromHead), textShown(m.Across)))
	}
	for _, c := range v.set.Cautions {
		want["cautions"] = append(want["cautions"], words(textShown(c)))
	}
	for _, section := range []string{"checks", "budget", "marks", "cautions"} {
		got := v.lists[section]
		for i, w := range want[section] {
			if i >= len(got) || got[i] != w {
				return fmt.Errorf("the list of %s lacks, in its place: %.100s", section, w)
			}
		}
		if len(got) > len(want[section]) {
			return fmt.Errorf("the list of %s is too long", section)
		}
	}
	return v.places()
}

// places wants the steps to end with every place of the tape card, in its order, each
// distance in millimetres and in inches.
func (v *shown) places() error {
	got := v.lists["at-table"]
	if len(got) < len(v.set.Tape) {
		return fmt.Errorf("the steps lack places of the tape card")
	}
	got = got[len(got)-len(v.set.Tape):]
	called := map[string]string{}
	for _, c := range v.set.Tape {
		called[c.ID] = c.Name
	}
	for i, c := range v.set.Tape {
		parts := []any{textShown(c.Name)}
		read := ""
		far := func(from string, d float64) {
			parts = append(parts, " from the "+from+" ")
			if math.Abs(d) < half(1) {
				parts = append(parts, "at it")
				return
			}
			parts = append(parts, both(d))
			word, _, _ := strings.Cut(from, " ")
			read += " read, " + word
		}
		far(c.End, c.EndDist)
		far(c.Side, c.SideDist)
		if c.Radius > 0 {
			parts = append(parts, " radius ", both(c.Radius))
			read += " read, radius"
		}
		check := c.Check
		if n, ok := called[check]; ok {
			check = n
		}
		parts = append(parts, " check: from "+textShown(check)+" ", both(c.CheckBy), read)
		if !itemOf(parts...).matches(cp1252(got[i])) {
			return fmt.Errorf("the steps say otherwise than the tape card of %s: %.100s", c.ID, got[i])
		}
	}
	return nil
}

func (v *shown) budget(u jig.Budget) string {
	name := u.Mark
	for _, m := range v.set.Marks {
		if m.ID == u.Mark {
			name = m.Name
		}
	}
	item := []string{textShown(name), "worst", figureShown(u.Worst, 2) + ",", "likely", figureShown(u.Likely, 2) + ",", "limit", figureShown(u.Tolerance, 2),
		verdictSign(u.Verdict), string(u.Verdict)}
	for _, t := range u.Terms {
		kind := "independent"
		if t.Common {
			kind = "common"
		}
		item = append(item, textShown(t.Name), figureShown(t.Worst, 3), kind)
	}
	if u.Improve != "" {
		item = append(item, "What would help most:", textShown(u.Improve)+".")
	}
	return words(item...)
}

// cutShow is the data of the cut order's show.
type cutShow struct {
	Parts, Features, Layers []string
	Start                   []float64 // x, y
	Sheets                  []showSheet
}

// showSheet is a sheet of the show. Boxes are xmin, ymin, xmax, ymax in mm, sheet frame.
type showSheet struct {
	N                int
	Size             [2]float64
	Travel, Bounds   []float64
	Known            bool // where the sheet's corner lies in the travel
	Time, Cut, Rapid float64
	Pieces           [][]float64 // number in Parts, x, y, turn in degrees, scale
	Ops              []showOp
}

// showOp is one operation: a list of layer, part, feature, power, length, the times of
// the travel to it and of itself, and path data.
type showOp struct {
	layer, part, feature int
	power, length        float64
	travel, work         float64 // s
	d                    string
}

// UnmarshalJSON implements json.Unmarshaler.
func (o *showOp) UnmarshalJSON(b []byte) error {
	fault := func() error { return fmt.Errorf("%w: an operation %.40s", errPage, b) }
	i := bytes.IndexByte(b, '"')
	if i < 1 || b[0] != '[' {
		return fault()
	}
	f := strings.Split(string(b[1:i]), ",")
	j := bytes.IndexByte(b[i+1:], '"')
	if len(f) != 8 || j < 0 {
		return fault()
	}
	var v [7]float64
	for k := range v {
		n, err := strconv.ParseFloat(f[k], 64)
		if err != nil {
			return fault()
		}
		v[k] = n
	}
	o.layer, o.part, o.feature, o.power, o.length, o.travel, o.work, o.d = int(v[0]), int(v[1]), int(v[2]), v[3], v[4], v[5], v[6], string(b[i+1:i+1+j])
	return nil
}

// lettersOut is what the page says when its show leaves lettering out.
const lettersOut = "Lettering is left out here"

// timeTol is how far an operation's time may be from the dry run's, s: half its last digit.
const timeTol = 0.0001

// order holds the show of the cut order against the toolpaths.
func (v *shown) order() error {
	planned := slices.ContainsFunc(v.set.Sheets, func(s post.Sheet) bool { return len(s.Path.Ops) > 0 })
	if !planned || v.set.Machine.Process == "shop" {
		if v.data != "" {
			return fmt.Errorf("there is a cut order where nothing is cut")
		}
		return nil
	}
	var show cutShow
	if err := json.Unmarshal([]byte(v.data), &show); err != nil {
		return fmt.Errorf("cut order: %w", err)
	}
	if len(show.Sheets) != len(v.set.Sheets) {
		return fmt.Errorf("cut order of %d sheets", len(show.Sheets))
	}
	out := strings.Contains(v.told.String(), lettersOut)
	for i, s := range v.set.Sheets {
		d := show.Sheets[i]
		if d.N != s.N || d.Size != [2]float64{s.Width, s.Height} || math.Abs(d.Time-s.Time) > sumTol || math.Abs(d.Cut-s.CutLen) > sumTol || math.Abs(d.Rapid-s.TravelLen) > sumTol {
			return fmt.Errorf("cut order of sheet %d: another size, time or length", s.N)
		}
		if err := v.stage(show, d, s); err != nil {
			return fmt.Errorf("cut order of sheet %d: %w", s.N, err)
		}
		n, before := 0, 0.0
		for k, o := range s.Path.Ops {
			travel, work := s.Took(k)
			before += travel
			if len(o.Moves) == 0 || out && o.Layer == path.Lettering {
				before += work
				continue
			}
			if n >= len(d.Ops) || !v.sameOp(show, d.Ops[n], o) {
				return fmt.Errorf("cut order of sheet %d: operation %d is not %s %s %s", s.N, n+1, o.Layer, o.Part, o.Feature)
			}
			if math.Abs(d.Ops[n].travel-before) > timeTol || math.Abs(d.Ops[n].work-work) > timeTol {
				return fmt.Errorf("cut order of sheet %d: operation %d takes another time", s.N, n+1)
			}
			n, before = n+1, 0
		}
		if n != len(d.Ops) {
			return fmt.Errorf("cut order of sheet %d: %d operations, %d planned", s.N, len(d.Ops), n)
		}
	}
	return nil
}

// stage looks at what stands still in the show of a sheet: the machine's travel and start,
// the cut's extents, and every piece where it is cut.
func (v *shown) stage(show cutShow, d showSheet, s post.Sheet) error {
	m := v.set.Machine
	same := func(got []float64, want ...float64) bool {
		return slices.EqualFunc(got, want, func(a, b float64) bool { return math.Abs(a-b) <= printTol })
	}
	var travel []float64
	zero, known := m.Offsets[1]
	if m.Max.X > m.Min.X && m.Max.Y > m.Min.Y {
		if !known {
			zero = m.Min
		}
		travel = []float64{m.Min.X - zero.X, m.Min.Y - zero.Y, m.Max.X - zero.X, m.Max.Y - zero.Y}
	}
	if !same(d.Travel, travel...) || d.Known != (known && travel != nil) {
		return fmt.Errorf("the machine's travel is drawn elsewhere")
	}
	if at := m.StandsAt(); !same(show.Start, at.X, at.Y) {
		return fmt.Errorf("the head does not start where it stands")
	}
	if b := s.Bounds; !same(d.Bounds, b.Min.X, b.Min.Y, b.Max.X, b.Max.Y) {
		return fmt.Errorf("the cut's extents are drawn elsewhere")
	}
	i := 0
	for _, p := range s.Placed {
		part, ours := v.set.Part(p.ID)
		if !ours {
			continue // of another job on the sheet
		}
		scale := part.Scale
		if scale == 0 {
			scale = 1
		}
		n := slices.Index(show.Parts, textShown(p.ID))
		if i >= len(d.Pieces) || !same(d.Pieces[i], float64(n), p.On.X, p.On.Y, p.On.Turn.Degrees(), scale) {
			return fmt.Errorf("%s does not lie where it is cut", p.ID)
		}
		i++
	}
	if i != len(d.Pieces) {
		return fmt.Errorf("%d pieces lie on it", len(d.Pieces))
	}
	return nil
}

// sameOp reports whether an operation of the show is the toolpath's, and goes along it.
func (v *shown) sameOp(show cutShow, d showOp, o path.Op) bool {
	name := func(list []string, i int) string {
		if i < 0 || i >= len(list) {
			return ""
		}
		return list[i]
	}
	part := textShown(o.Part)
	if _, ok := v.set.Part(o.Part); !ok {
		part = "" // of the waste
	}
	if name(show.Layers, d.layer) != o.Layer.String() || name(show.Parts, d.part) != part || name(show.Features, d.feature) != textShown(o.Feature) || math.Abs(d.power-o.Power) > proof.PowerTol {
		return false
	}
	chain := v.room[:0]
	length := 0.0
	for _, m := range o.Moves {
		k := proof.Bulged(m.From, m.To, m.Bulge)
		if l := k.Length(); l > dot {
			chain, length = append(chain, k), length+l
		}
	}
	v.room = chain
	strokes, err := readPath(d.d)
	if err != nil || len(strokes) > 1 || math.Abs(length-d.length) > printTol {
		return false
	}
	if len(strokes) == 0 || len(chain) == 0 {
		return length <= printTol
	}
	worst, ok := sameWithin(showTol, stroke{width: inkEdge, chain: strokes[0].chain}, figure{chain: chain}, geom.Point{})
	v.show = math.Max(v.show, worst)
	return ok
}
