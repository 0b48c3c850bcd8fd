package layout_test

import (
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
)

// factRow is a row of testdata/tables/markings.csv: what a rule body (or, where
// the grade in brackets says so, a lesser source) publishes about a table.
type factRow struct {
	game, quantity, unit, source string
	value, mm, tol               float64
}

func facts(t *testing.T) []factRow {
	t.Helper()
	f, err := os.Open("../testdata/tables/markings.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 150, "the table is there")
	num := func(s string) float64 {
		if s == "" {
			return 0
		}
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return v
	}
	var out []factRow
	for _, r := range rows[1:] {
		out = append(out, factRow{game: r[0], quantity: r[1], value: num(r[2]), unit: r[3], mm: num(r[4]), tol: num(r[5]), source: r[6]})
	}
	return out
}

// exact returns a row's figure in mm as its own unit gives it, and how far from
// it we may be. A figure printed in inches is exact; one printed in mm was
// rounded to the mm when the rule's own figure is in inches.
func (r factRow) exact(l, w float64) (mm, tol float64) {
	switch r.unit {
	case "in":
		return r.value * 25.4, 1e-9
	case "mm":
		if strings.HasPrefix(r.game, "snooker 12ft") {
			return r.value, 0.5
		}
		return r.value, 1e-4
	case "cm":
		return r.value * 10, 1e-9
	case "m":
		return r.value * 1000, 1e-9
	case "fraction of length":
		return r.value * l, 1e-5 * l
	case "fraction of width":
		return r.value * w, 1e-5 * w
	}
	return r.mm, 1e-9
}

// measure is one figure taken from a plan.
type measure func(p layout.Plan, l, w float64) float64

func fromHead(id string) measure {
	return func(p layout.Plan, _, _ float64) float64 { m, _ := p.Mark(id); return m.X }
}

func fromFoot(id string) measure {
	return func(p layout.Plan, l, _ float64) float64 { m, _ := p.Mark(id); return l - m.X }
}

func radius(id string) measure {
	return func(p layout.Plan, _, _ float64) float64 { m, _ := p.Mark(id); return m.Radius }
}

func apart(a, b string) measure {
	return func(p layout.Plan, _, _ float64) float64 {
		m, _ := p.Mark(a)
		n, _ := p.Mark(b)
		return max(m.X-n.X, n.X-m.X, m.Y-n.Y, n.Y-m.Y)
	}
}

// sided is the length of a line.
func sided(id string) measure {
	return func(p layout.Plan, _, _ float64) float64 {
		m, _ := p.Mark(id)
		return max(m.X2-m.X, m.X-m.X2, m.Y2-m.Y, m.Y-m.Y2)
	}
}

// factCase says on which table, with which choices and by which figure a row is
// checked. A row with size is the table's own published size instead.
type factCase struct {
	game    string
	l, w    float64
	choices layout.Choices
	by      measure
}

// factCases maps "game: quantity" to how it is checked.
func factCases() map[string]factCase {
	full := func(game string, by measure) factCase { return factCase{game: game, l: 3569, w: 1778, by: by} }
	metric := func(by measure) factCase { return factCase{game: "snooker", l: 3500, w: 1750, by: by} }
	// A table of no published size, so that a fraction is a fraction.
	any := func(game string, c layout.Choices, by measure) factCase {
		return factCase{game: game, l: 2000, w: 1000, choices: c, by: by}
	}
	carom := func(l float64, by measure) factCase { return factCase{game: "carom", l: l, w: l / 2, by: by} }
	balk := func(game string, l float64, by measure) factCase {
		return factCase{game: game, l: l, w: l / 2, by: by}
	}
	out := map[string]factCase{
		"snooker 12ft: baulk line from bottom cushion face": full("snooker", fromHead("baulk-line")),
		"snooker 12ft: D radius":                            full("snooker", radius("d")),
		"snooker 12ft: black spot from top cushion face":    full("snooker", fromFoot("black")),
		"snooker 12ft: blue spot from top cushion":          full("snooker", fromFoot("blue")),
		"snooker 12ft: pink spot from top cushion":          full("snooker", fromFoot("pink")),

		"english billiards 12ft: baulk line from baulk cushion face":                            full("billiards", fromHead("baulk-line")),
		"english billiards 12ft: D radius":                                                      full("billiards", radius("d")),
		"english billiards 12ft: billiard spot from top cushion":                                full("billiards", fromFoot("billiard-spot")),
		"english billiards 12ft: billiard spot from top cushion (Broadfoot)":                    full("billiards", fromFoot("billiard-spot")),
		"english billiards 12ft: pyramid spot from top cushion":                                 full("billiards", fromFoot("pyramid-spot")),
		"snooker metric standard table: baulk line from bottom cushion face":                    metric(fromHead("baulk-line")),
		"snooker metric standard table: D radius, mm":                                           metric(radius("d")),
		"snooker metric standard table: black spot from top cushion face":                       metric(fromFoot("black")),
		"snooker metric standard table: baulk line":                                             any("snooker", layout.Choices{BaulkLine: "fifth"}, fromHead("baulk-line")),
		"snooker metric standard table: D radius, fraction of width":                            any("snooker", layout.Choices{D: "width/6"}, radius("d")),
		"snooker metric standard table: black spot":                                             any("snooker", layout.Choices{Black: "length/11"}, fromFoot("black")),
		"pool WPA: head string from head cushion nose":                                          any("pool", layout.Choices{}, fromHead("head-string")),
		"pool WPA: foot string from foot cushion nose":                                          any("pool", layout.Choices{}, fromFoot("foot-spot")),
		"pool WPA: centre string":                                                               any("pool", layout.Choices{}, fromFoot("centre-spot")),
		"pool break box EPBF: width, middle part":                                               any("pool", layout.Choices{BreakBox: "epbf"}, apart("break-box-left", "break-box-right")),
		"pool break box Norway: line from long cushion nose":                                    any("pool", layout.Choices{BreakBox: "norway"}, boxNorway),
		"blackball / WEPF: baulk line from baulk cushion":                                       any("eight-ball", layout.Choices{}, fromHead("baulk-line")),
		"blackball / WEPF: pyramid spot from top cushion":                                       any("eight-ball", layout.Choices{}, fromFoot("pyramid-spot")),
		"blackball WPA: baulk line from baulk cushion":                                          any("blackball", layout.Choices{}, fromHead("baulk-line")),
		"blackball WPA: black spot from top cushion (corner-centre diagonals, cushion corners)": any("blackball", layout.Choices{}, fromFoot("black-spot")),

		"carom match: end spot from short cushion":              carom(2840, fromHead("bottom-spot")),
		"carom match: centre spot from short cushion":           carom(2840, fromHead("centre-spot")),
		"carom match: side starting spot from bottom spot":      carom(2840, apart("bottom-spot", "start-left")),
		"carom half-match: end spot from short cushion":         carom(2300, fromFoot("top-spot")),
		"carom half-match: side starting spot from bottom spot": carom(2300, apart("bottom-spot", "start-right")),
		"carom small: end spot from short cushion":              carom(2100, fromFoot("top-spot")),
		"carom small: side starting spot from bottom spot":      carom(2100, apart("bottom-spot", "start-left")),
		"balkline 47 match: line from cushion (nominal)":        balk("balkline-47", 2840, fromHead("balk-head")),
		"balkline 71 match: line from cushion (nominal)":        balk("balkline-71", 2840, fromFoot("balk-foot")),
		"balkline 38 half-match: line from cushion (nominal)":   balk("balkline-38", 2300, fromHead("balk-head")),
		"balkline 57 half-match: line from cushion (nominal)":   balk("balkline-57", 2300, fromFoot("balk-foot")),
		"balkline 35 small: line from cushion (nominal)":        balk("balkline-35", 2100, fromHead("balk-head")),
		"balkline 52 small: line from cushion (nominal)":        balk("balkline-52", 2100, fromFoot("balk-foot")),
		"balkline 18.2: line from cushion":                      balk("balkline-18.2", 2845, fromHead("balk-head")),
		"balkline 18.2: anchor side":                            balk("balkline-18.2", 2845, sided("anchor-right-head-b")),
		"balkline: anchor side":                                 balk("balkline-47", 2840, sided("anchor-head-left-b")),
		"russian pyramid 12ft: front mark from front cushion":   {game: "pyramid", l: 3550, w: 1775, by: fromHead("front-line")},
		"russian pyramid 12ft: centre mark":                     {game: "pyramid", l: 3550, w: 1775, by: fromHead("centre-mark")},
	}
	for _, s := range []struct {
		name string
		l, w float64
	}{{"10ft", 2844.8, 1422.4}, {"9ft", 2540, 1270}, {"8ft pro", 2336.8, 1168.4}, {"8ft", 2235.2, 1117.6},
		{"7ft", 1981.2, 990.6}, {"7ft", 1930.4, 965.2}, {"6ft", 1828.8, 914.4}} {
		at := func(c layout.Choices, by measure) factCase { return factCase{"snooker", s.l, s.w, c, by} }
		key := fmt.Sprintf("snooker scaled %s %gx%g: ", s.name, s.l, s.w)
		out[key+"baulk line, proportional 29/140.5 L"] = at(layout.Choices{BaulkLine: "scaled"}, fromHead("baulk-line"))
		out[key+"baulk line, L/5"] = at(layout.Choices{BaulkLine: "fifth"}, fromHead("baulk-line"))
		out[key+"D radius, proportional 11.5/70 W"] = at(layout.Choices{D: "scaled"}, radius("d"))
		out[key+"D radius, W/6"] = at(layout.Choices{D: "width/6"}, radius("d"))
		out[key+"black spot, proportional 12.75/140.5 L"] = at(layout.Choices{Black: "scaled"}, fromFoot("black"))
		out[key+"black spot, L/11"] = at(layout.Choices{Black: "length/11"}, fromFoot("black"))
		out[key+"pink spot, L/4"] = at(layout.Choices{}, fromFoot("pink"))
		out[key+"largest ball diameter for 15 reds between pink and black"] = at(layout.Choices{Black: "scaled"}, nil)
	}
	return out
}

// boxNorway is how far the break box's right line is from the right long nose.
func boxNorway(p layout.Plan, _, w float64) float64 {
	m, _ := p.Mark("break-box-right")
	return m.Y + w/2
}

// sizeCases maps "game: quantity" of a size row to the game that carries the
// size and whether the row is its length.
func sizeCases() map[string]string {
	return map[string]string{
		"snooker 12ft": "snooker", "english billiards 12ft": "billiards", "snooker metric standard table": "snooker",
		"pool WPA 9ft": "pool", "pool WPA 8ft": "pool", "pool DBU": "pool", "carom match": "carom",
		"carom half-match": "carom", "carom small": "carom", "russian pyramid 12ft": "pyramid",
	}
}

// notAMark tells the rows that state neither a mark nor the size of a game's
// table that is built in: balls, pockets, rails, heights, and surfaces that
// encyclopaedias quote. Checked here so that a row cannot drop out unnoticed.
func notAMark(r factRow) bool {
	if r.game == "skittle billiards" || strings.Contains(r.quantity, "(encyclopaedia)") || strings.Contains(r.quantity, "(American)") {
		return true
	}
	for _, word := range []string{"height", "ball ", "mass", "sight", "rail width", "cushion width", "flatness", "slate",
		"mouth", "angle", "draft", "shelf", "frame width", "corner T", "corner E", "side T", "side E", "diamond"} {
		if strings.Contains(r.quantity+" ", word) && !strings.HasPrefix(r.quantity, "largest ball") {
			return true
		}
	}
	return false
}

func TestEveryPublishedMark(t *testing.T) {
	cases, sizes, used := factCases(), sizeCases(), map[string]bool{}
	for _, r := range facts(t) {
		key := r.game + ": " + r.quantity
		if _, ok := cases[key]; !ok {
			key += ", " + r.unit // two rows of one name, told apart by unit
		}
		c, isMark := cases[key]
		t.Run(key, func(t *testing.T) {
			switch {
			case isMark:
				used[key] = true
				checkFact(t, r, c)
			case strings.Contains(r.quantity, "length") || strings.Contains(r.quantity, "width"):
				checkSize(t, r, sizes[r.game])
			case r.game == "rack":
				checkRack(t, r)
			default:
				assert.True(t, notAMark(r), "nothing in factCases checks this row: %s", r.source)
			}
		})
	}
	for key := range cases {
		assert.True(t, used[key], "no row for %q", key)
	}
}

func checkFact(t *testing.T, r factRow, c factCase) {
	t.Helper()
	req := layout.Request{Table: layout.Table{L: c.l, W: c.w}, Games: []string{c.game}, Choices: c.choices}
	want, tol := r.exact(c.l, c.w)
	if c.by == nil {
		f, err := layout.FitBalls(req)
		require.NoError(t, err)
		assert.InDelta(t, want, f.Snooker.LargestBall, tol, r.source)
		return
	}
	assert.InDelta(t, want, c.by(plan(t, req), c.l, c.w), tol, r.source)
}

// checkSize holds a published size, and its limits, against CheckSizes.
func checkSize(t *testing.T, r factRow, game string) {
	t.Helper()
	if notAMark(r) {
		return
	}
	switch r.game {
	case "blackball / WEPF":
		checkRange(t, r)
		return
	case "pool BCA":
		checkTwice(t, r)
		return
	}
	require.NotEmpty(t, game, "no game in sizeCases has this size: %s", r.source)
	isLength := strings.Contains(r.quantity, "length")
	l, w := r.mm, r.mm/2
	if !isLength {
		l, w = r.mm*2, r.mm
	}
	if r.game == "snooker 12ft" || r.game == "english billiards 12ft" {
		l, w = 3569, 1778
	}
	check := func(off float64) layout.SizeCheck {
		tb := layout.Table{L: l, W: w}
		if isLength {
			tb.L += off
		} else {
			tb.W += off
		}
		got := layout.CheckSizes(tb, []string{game})
		for _, k := range got {
			if r.game != "pool DBU" || strings.HasPrefix(k.Size, "DBU") {
				return k
			}
		}
		require.Fail(t, "no size of that body", r.source)
		return layout.SizeCheck{}
	}
	require.Positive(t, r.tol, r.source)
	got := check(0)
	pub, tol := got.L, got.TolL
	if !isLength {
		pub, tol = got.W, got.TolW
	}
	assert.InDelta(t, r.mm, pub, 1e-9, r.source)
	assert.InDelta(t, r.tol, tol, 1e-9, r.source)
	for _, sign := range []float64{-1, 1} {
		assert.True(t, check(sign*r.tol).Inside, "at the limit: %s", r.source)
		assert.False(t, check(sign*(r.tol+0.01)).Inside, "past the limit: %s", r.source)
	}
}

// checkRange holds the WEPF's largest and smallest surfaces.
func checkRange(t *testing.T, r factRow) {
	t.Helper()
	past := 0.01
	if strings.HasSuffix(r.quantity, "min") {
		past = -past
	}
	at := func(v float64) bool {
		tb := layout.Table{L: v, W: v / 2}
		if strings.Contains(r.quantity, "width") {
			tb = layout.Table{L: v * 2, W: v}
		}
		return layout.CheckSizes(tb, []string{"eight-ball"})[0].Inside
	}
	assert.True(t, at(r.mm), r.source)
	assert.False(t, at(r.mm+past), r.source)
}

// checkTwice holds the BCA's rule for any size: length twice the width, +-1/8 in.
func checkTwice(t *testing.T, r factRow) {
	t.Helper()
	at := func(l float64) bool {
		return layout.CheckSizes(layout.Table{L: l, W: 990.6}, []string{"pool"})[0].Inside
	}
	assert.True(t, at(r.value*990.6+r.tol), r.source)
	assert.False(t, at(r.value*990.6+r.tol+0.01), r.source)
}

// checkRack holds a printed triangle's inside against the outline: five balls
// wide at the back row, and (1 + 2 sqrt 3) balls deep. The depth is printed to a
// tenth of a mm, 25.51 cm.
func checkRack(t *testing.T, r factRow) {
	t.Helper()
	if notAMark(r) {
		return
	}
	f, err := layout.FitBalls(layout.Request{Table: layout.Table{L: 2540, W: 1270}, Games: []string{"pool"}})
	require.NoError(t, err)
	if strings.Contains(r.quantity, "width") {
		assert.InDelta(t, r.mm, f.Rack.Width, 1e-9, r.source)
		return
	}
	assert.InDelta(t, r.mm, f.Rack.Depth, 0.06, r.source)
}
