package work

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"strconv"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/job"
)

// generator draws jobs, uniformly over what a job may say and nothing else: sizes as
// published and odd ones, every game and pair, beds, sheets of every kind as measured,
// kerfs, choices, surveys, house marks, ties, growth, markers, and every other key of a job,
// a machine and a sheet. Its draws depend on the seed alone.
//
// It states nothing that another key of the same job contradicts by rule: no tie on a blade,
// no feed above the machine's fastest, no stock that runs out, no tolerance below what the
// job's own jig holds. A job that asks for such a thing asks to be refused.
type generator struct {
	*rand.Rand
	b strings.Builder

	games     []string
	length    float64 // of the playing surface, about
	width     float64
	process   string
	thickness float64
}

// generatedJob is the job of a seed.
func generatedJob(seed uint64) string {
	g := &generator{Rand: rand.New(rand.NewPCG(seed, 3))}
	g.line("name: %s", g.name("generated", seed))
	g.people()
	g.games = g.drawGames()
	g.line("games: [%s]", strings.Join(g.games, ", "))
	g.surface()
	g.choices()
	g.balls()
	g.house()
	g.process = one(g, "laser", "knife", "shop")
	g.machine(g.sheet())
	g.also()
	return g.b.String() + g.jig(g.b.String())
}

func (g *generator) line(format string, args ...any) { fmt.Fprintf(&g.b, format+"\n", args...) }

// between draws evenly from lo to hi, in steps.
func (g *generator) between(lo, hi, step float64) float64 {
	n := int((hi-lo)/step + 0.5)
	return shortly(lo+step*float64(g.IntN(n+1)), 4)
}

// shortly is a number with so many decimals.
func shortly(v float64, decimals int) float64 {
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'f', decimals, 64), 64)
	return v
}

// one draws one of several.
func one[T any](g *generator, of ...T) T { return of[g.IntN(len(of))] }

// in tells whether a draw of one in n comes up.
func (g *generator) in(n int) bool { return g.IntN(n) == 0 }

// say writes a length as fitters do, one of several ways.
func (g *generator) say(mm float64) string { return g.saying(mm).String() }

// spelt is a length and the way it is spelt.
type spelt struct {
	mm  float64
	way int
}

func (g *generator) saying(mm float64) spelt { return spelt{mm, g.IntN(4)} }

func (s spelt) String() string {
	switch s.way {
	case 0:
		return fmt.Sprintf("%g mm", s.mm)
	case 1:
		return fmt.Sprintf("%g cm", shortly(s.mm/10, 6))
	case 2:
		if in := s.mm / 25.4; in*25.4 == s.mm { // so that a limit of a key stays inside it
			return fmt.Sprintf("%v in", in)
		}
	}
	return fmt.Sprintf("%g", s.mm)
}

// keys are those of a section, as they are stated.
type keys struct {
	g    *generator
	text []string
}

func (k *keys) always(key, format string, args ...any) {
	k.text = append(k.text, key+": "+fmt.Sprintf(format, args...))
}

// maybe states a key in one of n jobs, and tells whether it did.
func (k *keys) maybe(n int, key, format string, args ...any) bool {
	if !k.g.in(n) {
		return false
	}
	k.always(key, format, args...)
	return true
}

func (k *keys) String() string { return "{" + strings.Join(k.text, ", ") + "}" }

// section writes a section that says something.
func (k *keys) section(key string) {
	if len(k.text) > 0 {
		k.g.line("%s: %s", key, k)
	}
}

// sub states a section in a section, where that says something.
func (k *keys) sub(key string, of *keys) {
	if len(of.text) > 0 {
		k.always(key, "%s", of)
	}
}

func (g *generator) name(what string, n any) string {
	return fmt.Sprintf("%s %v%s", what, n, one(g, "", "", "", ", back room", " in Grünau Süd"))
}

// people draws what people read.
func (g *generator) people() {
	if g.in(4) {
		g.line("date: 20%02d-%02d-%02d", 20+g.IntN(20), 1+g.IntN(12), 1+g.IntN(28))
	}
	if g.in(8) {
		g.line("notes: bring the long straightedge")
	}
	g.line("units: %s", one(g, "mm", "in"))
	g.line("count: %d", 1+g.IntN(3))
	if g.in(8) {
		colour := func() string { return fmt.Sprintf("\"#%06x\"", g.IntN(1<<24)) }
		k := &keys{g: g}
		for _, key := range []string{"lettering", "score", "opening", "outline"} {
			k.maybe(2, key, "%s", colour())
		}
		k.section("colours")
	}
}

func (g *generator) drawGames() []string {
	all := layout.Games()
	a, b := g.IntN(len(all)), g.IntN(len(all))
	if a == b {
		return []string{all[a].ID}
	}
	return []string{all[a].ID, all[b].ID}
}

// plays tells whether any of some games is marked.
func (g *generator) plays(names ...string) bool {
	return slices.ContainsFunc(g.games, func(s string) bool { return slices.Contains(names, s) })
}

func (g *generator) surface() {
	s := one(g, job.Sizes()...)
	g.length, g.width = s.L, s.W
	odd := g.in(2)
	if odd {
		g.length = g.between(1800, 3570, 1)
		g.width = float64(int(g.length / g.between(1.95, 2.05, 0.001)))
	}
	k := &keys{g: g}
	nose := &keys{g: g}
	nose.maybe(4, "nose_height", "%s", g.say(g.between(30, 45, 0.1)))
	nose.maybe(4, "undercut", "%s", g.say(g.between(0, 30, 0.5)))
	nose.maybe(4, "resolution", "%s", g.say(g.between(0.1, 3, 0.1)))
	if !odd {
		k.maybe(2, "size", "%s", s.Name)
	}
	if g.in(4) {
		k.always("measured", "nose-to-nose")
		if g.in(2) { // of the table, or of the survey
			k.text = append(k.text, nose.text...)
			nose.text = nil
		}
		k.section("table")
		g.readings(nose)
		return
	}
	k.text = append(k.text, nose.text...)
	if odd || len(k.text) == 0 || !strings.HasPrefix(k.text[0], "size") || g.in(2) {
		k.always("length", "%s", g.say(g.length))
		k.always("width", "%s", g.say(g.width))
		k.always("measured", "nose-to-nose")
	}
	k.section("table")
}

// readings are those of a survey: enough for a length and a width, and others. They are of
// one table: a diagonal is what lengths, widths and bows make it but for a millimetre and a
// half, and two readings across a nose differ by what its slant makes of where they are
// taken. Those drawn are of the first sights, a quarter of the width from the corners and an
// eighth of the length.
func (g *generator) readings(k *keys) {
	off := func() float64 { return g.between(-3, 3, 0.5) }
	l, w := g.length, g.width
	side, across := one(g, 0, 1, 2), one(g, 0, 1, 2)
	var left, right, widest, narrow spelt
	if side != 1 {
		left = g.saying(l + off())
	}
	if side != 2 {
		right = g.saying(l + off())
	}
	head, foot := w+off(), w+off()
	if across != 1 {
		widest = g.saying(head)
	}
	middle := g.saying((head + foot) / 2)
	if across != 2 {
		narrow = g.saying(foot)
	}
	diagonal := w / 4
	var stations []string
	// station states a place of readings in one of four surveys; another is the first sight's.
	station := func(key string, lo, of, usual float64) float64 {
		at := math.Round(g.between(lo, 0.45, 0.01) * of)
		text := key + ": " + g.say(at)
		if !g.in(4) {
			return usual
		}
		stations = append(stations, text)
		return at
	}
	if g.in(4) {
		diagonal = math.Round(g.between(0.15, 0.45, 0.01) * w)
		stations = append(stations, "diagonal_station: "+g.say(diagonal))
	}
	sideAt := station("side_station", 0.15, w, w/4)
	widthAt := station("width_station", 0.08, l, l/8)
	// Two readings across a slanting nose differ as they lie apart.
	left, right = apart(left, right, (w-2*sideAt)/(w-2*w/4))
	widest, narrow = apart(widest, narrow, (l-2*widthAt)/(l-2*l/8))
	for i, r := range []spelt{left, right, widest, middle, narrow} {
		if r.mm != 0 {
			k.always([]string{"length_left", "length_right", "width_head", "width_middle", "width_foot"}[i], "%s", r)
		}
	}
	k.text = append(k.text, stations...)
	var diagonals []float64 // off what the other readings make them
	if g.in(2) {
		diagonals = append(diagonals, off()/2)
		if g.in(2) {
			diagonals = append(diagonals, off()/2)
		}
	}
	var gaps []string
	bow := map[string]float64{}
	for _, key := range []string{"gap_head", "gap_foot", "gap_left", "gap_right"} {
		off := g.between(-1, 1, 0.1)
		text := key + ": " + g.say(off)
		if g.in(3) {
			bow[key], gaps = off, append(gaps, text)
		}
	}
	// A nose bows as a parabola, all of it in the middle, and is nearer by that much.
	ends, sides := bow["gap_head"]+bow["gap_foot"], bow["gap_left"]+bow["gap_right"]
	share := func(at, of float64) float64 { return 4 * at / of * (1 - at/of) }
	length := meanOf(left.mm, right.mm) + ends*share(sideAt, w)
	width := meanOf(middle.mm+sides, over(widest.mm, sides*share(widthAt, l)), over(narrow.mm, sides*share(widthAt, l)))
	d := math.Hypot(length-2*diagonal, width-sides*share(diagonal, l))
	for i, e := range diagonals {
		k.always([]string{"diagonal_left_head", "diagonal_right_head"}[i], "%.1f", d+e)
	}
	k.text = append(k.text, gaps...)
	k.section("survey")
}

// apart is two readings that differ by a share of what they differed by; one alone stays.
func apart(a, b spelt, share float64) (spelt, spelt) {
	if a.mm == 0 || b.mm == 0 {
		return a, b
	}
	mid, half := (a.mm+b.mm)/2, (a.mm-b.mm)/2*share
	a.mm, b.mm = shortly(mid+half, 2), shortly(mid-half, 2)
	return a, b
}

// over is a reading and what is added to it, 0 where none was taken.
func over(mm, by float64) float64 {
	if mm == 0 {
		return 0
	}
	return mm + by
}

// meanOf is the mean of the readings taken.
func meanOf(v ...float64) float64 {
	sum, n := 0.0, 0.0
	for _, x := range v {
		if x != 0 {
			sum, n = sum+x, n+1
		}
	}
	return sum / n
}

func (g *generator) balls() {
	k := &keys{g: g}
	k.maybe(8, "diameter", "%s", g.say(g.between(25, 100, 0.01)))
	if g.plays("snooker", "six-red") {
		k.maybe(4, "reds", "%d", 1+g.IntN(15))
	}
	k.maybe(2, "rack_wall", "%s", g.say(g.between(0, 20, 0.5)))
	k.section("balls")
}

// choices draws those that some game asks for: another is a problem of its own.
func (g *generator) choices() {
	k := &keys{g: g}
	switch {
	case g.plays("snooker", "six-red"):
		k.always("baulk_line", "%s", one(g, "head-string", "scaled", "fifth", "both"))
	case g.plays("billiards"):
		k.always("baulk_line", "%s", one(g, "head-string", "scaled", "fifth"))
	}
	if g.plays("snooker", "six-red", "billiards") {
		k.always("d", "%s", one(g, "width/6", "scaled"))
		k.always("black", "%s", one(g, "length/11", "scaled"))
	}
	if g.plays("pool") {
		k.always("break_box", "%s", one(g, "none", "epbf", "norway"))
	}
	if g.plays("balkline-47", "balkline-71") {
		k.always("anchor", "%s", one(g, "none", "7in", "9in"))
	}
	k.maybe(4, "min_apart", "%s", g.say(g.between(0, 100, 1)))
	k.section("choices")
}

// house draws marks of every kind: where and how as fitters ask for them, and anywhere.
func (g *generator) house() {
	if g.in(2) {
		return
	}
	g.line("house:")
	at := func() string {
		return one(g, "L/4", "L/2", "L/3", "L*3/4", "L - 300 mm", fmt.Sprintf("%g", g.between(300, 1500, 1)), fmt.Sprintf("%g", math.Round(g.between(0.12, 0.88, 0.001)*g.length)))
	}
	off := func() string {
		return one(g, "0", "W/4", "W/6 + 10 mm", "-(W/3)", fmt.Sprintf("%g", math.Round(g.between(-0.4, 0.4, 0.001)*g.width)))
	}
	for i := range 1 + g.IntN(3) {
		k := &keys{g: g}
		k.always("id", "house-%d", i)
		k.maybe(4, "name", "mark %d of ours", i)
		put := func(kind string, places ...string) {
			k.always("kind", "%s", kind)
			for i, key := range []string{"x", "y", "x2", "y2"} {
				if i < len(places) {
					k.always(key, "%s", places[i])
				}
			}
		}
		switch one(g, "spot", "across", "along", "slanting", "arc", "rectangle") {
		case "spot":
			put("spot", at(), off())
		case "across":
			x := at()
			put("line", x, "-W/2", x, "W/2")
		case "along":
			y := off()
			put("line", "0", y, at(), y)
		case "slanting":
			x, y := g.between(0.15, 0.7, 0.001)*g.length, g.between(-0.3, 0.15, 0.001)*g.width
			put("line", fmt.Sprintf("%.0f", x), fmt.Sprintf("%.0f", y), fmt.Sprintf("%.0f", x+g.between(60, 400, 1)), fmt.Sprintf("%.0f", y+g.between(-60, 200, 1)))
		case "arc":
			put("arc", at(), one(g, "0", "W/6", "-W/8"))
			k.always("radius", "%g", g.between(60, 250, 1))
			from := g.between(-180, 270, one(g, 1.0, 90))
			k.always("start_deg", "%g", from)
			k.always("end_deg", "%g", from+one(g, 90.0, 180, 360, g.between(30, 360, 1)))
		case "rectangle":
			x, y := math.Round(g.between(0.12, 0.75, 0.001)*g.length), g.between(-300, 100, 1)
			put("rectangle", fmt.Sprintf("%g", x), fmt.Sprintf("%g", y), fmt.Sprintf("%g", x+g.between(100, 300, 1)), fmt.Sprintf("%g", y+g.between(100, 300, 1)))
		}
		g.line("  - %s", k)
	}
}

// jig draws what is asked of the template. A tolerance is one that the jig of the job so
// far holds: rest is that job.
func (g *generator) jig(rest string) string {
	k := &keys{g: g}
	blade := g.process == "knife"
	of := one(g, "class", "this")
	k.always("for", "%s", of)
	tip := g.between(0.3, 2, 0.1)
	k.always("marker", "{tip: %s, guide: %s}", g.say(tip), g.say(g.between(tip+0.1, 8, 0.1)))
	if g.in(3) {
		k.always("spots", "sticker")
		k.always("sticker", "%s", g.say(g.between(6, 40, 0.5)))
	}
	if g.plays("pool") {
		k.always("rack", "%s", one(g, "corners", "outline"))
	}
	k.always("letters", "%s", one(g, "full", "short", "none"))
	k.maybe(4, "nose_contact", "%s", g.say(g.between(0, 1, 0.05)))
	k.maybe(4, "fin_seat", "%s", g.say(g.between(0, 0.5, 0.05)))
	k.maybe(4, "side_reading", "%s", g.say(g.between(0, 1, 0.05)))
	k.maybe(4, "sighting", "%s", g.say(g.between(0, 1, 0.05)))
	k.maybe(4, "joint_closure", "%s", g.say(g.between(0, 0.5, 0.05)))
	k.maybe(4, "joint_slip", "%s", g.say(g.between(0, 0.5, 0.01)))
	if !blade {
		k.always("fit", "%s", one(g, "press", "slide", "loose"))
		k.always("joint", "%s", one(g, "dovetail", "keyed"))
		k.always("fins", "%s", one(g, "bonded", "screwed"))
		k.always("spare_fins", "%s", one(g, "no", "yes"))
		k.always("side_travel", "%s", g.say(g.between(1.5, 12, 0.5)))
		if of == "class" {
			k.maybe(4, "settings", "yes")
		}
	}
	k.maybe(4, "piece_max", "%s", g.say(g.between(300, 1300, 10)))
	if g.process == "laser" && g.in(2) {
		k.always("ties", "{count: %d, width: %g}", 1+g.IntN(8), g.between(0.2, 1, 0.1))
	}
	if g.in(2) {
		k.always("shop_temperature", "%g", g.between(-5, 40, 1))
		k.always("hall_temperature", "%g", g.between(-5, 40, 1))
		k.always("shop_humidity", "%g %%", g.between(0, 100, 1))
		k.always("hall_humidity", "%g %%", g.between(0, 100, 1))
		k.always("compensate_growth", "%s", one(g, "no", "yes"))
	}
	if g.in(4) {
		g.tolerance(k, rest)
	}
	return fmt.Sprintf("jig: %s\n", k)
}

// toleranceMax is the widest tolerance that the reader takes, mm.
const toleranceMax = 10.0

// tolerance states one that the jig of the job holds, for all marks or for some.
func (g *generator) tolerance(k *keys, rest string) {
	o, err := Read("generated.yaml", []byte(rest+fmt.Sprintf("jig: %s\n", k)), nil)
	if err != nil {
		return
	}
	holds := o.holds()
	var ids []string
	worst := 0.0
	for id, b := range holds {
		ids = append(ids, id)
		worst = math.Max(worst, b.Likely)
	}
	sort.Strings(ids)
	from := func(likely float64) float64 { // the next tenth that holds it
		return math.Max(0.1, math.Ceil(likely*10+1e-6)/10)
	}
	if len(ids) == 0 || from(worst) > toleranceMax {
		return
	}
	if g.in(2) {
		k.always("tolerance", "%s", g.say(g.between(from(worst), toleranceMax, 0.1)))
		return
	}
	each := &keys{g: g}
	for _, id := range ids {
		each.maybe(3, id, "%g", g.between(from(holds[id].Likely), toleranceMax, 0.1))
	}
	k.sub("tolerance", each)
}

// sheet draws the material.
func (g *generator) sheet() *keys {
	k := &keys{g: g}
	m := one(g, machine.Materials()...)
	sold := m.Sold
	if g.in(8) { // a kind that is not built in as a sheet
		k.always("kind", "%s", one(g, "petg", "hdpe", "polystyrene", "foam board", "ptfe", "epoxy glass", "carbon fibre", "polyurethane", "rubber", "solid card", "pp", "pvc film", "pet film"))
		sold = one(g, 0.3, 0.5, 0.8, 1, 2, 3, 5)
	} else {
		k.always("like", "%s", m.Name)
	}
	k.always("sold", "%g", sold)
	g.thickness = g.between(0.8*sold, 1.15*sold, 0.01)
	k.always("thickness", "%s", g.say(g.thickness))
	k.maybe(8, "name", "rack %d", g.IntN(9))
	k.maybe(2, "colour", "%s", one(g, "black", "clear", "red", "blue", "white", "not known to us"))
	if g.process != "knife" { // a blade has none
		k.always("kerf", "%g", g.between(0.05, 0.45, 0.01))
		k.maybe(2, "kerf_pm", "%g", g.between(0, 0.1, 0.01))
		g.line("dxf: %s", one(g, "nominal", "compensated"))
	}
	k.maybe(8, "expansion_ppm", "%g", g.between(5, 150, 1))
	k.maybe(8, "moisture_ppm", "%g", g.between(0, 150, 1))
	k.maybe(8, "density", "%g", g.between(100, 2200, 10))
	k.maybe(8, "modulus", "%g", g.between(0.5, 20, 0.1))
	return k
}

// clampRoom is how wide a strip beside the bed is in which clamps stand, mm.
const clampRoom = 60.0

// machine draws what cuts, the bed and the sheets that lie on it, and writes them with the
// material's other keys.
func (g *generator) machine(sheet *keys) {
	m := &keys{g: g}
	m.always("process", "%s", g.process)
	m.maybe(8, "name", "machine %d", g.IntN(9))
	m.maybe(4, "rate", "%g", g.between(0, 120, 1))
	m.maybe(4, "margin", "%s", g.say(g.between(0, 10, 0.5)))
	x, y := g.between(300, 1300, 10), g.between(200, 900, 10)
	clamp := g.process != "shop" && g.in(4)
	if clamp || g.process == "shop" || g.in(2) {
		g.stock(sheet, x, y, clamp)
	}
	switch g.process {
	case "laser":
		fastest := g.motion(m)
		g.beam(m, sheet, fastest)
	case "knife":
		fastest := g.motion(m)
		g.blade(m, sheet, fastest)
	}
	if g.process != "shop" {
		g.reach(m, x, y, clamp)
		g.writing(m)
	}
	sheet.section("material")
	m.section("machine")
}

// stock draws the sheets at hand: of the bed's size as many as it takes, of others a few.
func (g *generator) stock(sheet *keys, x, y float64, clamp bool) {
	price := func() string { return "" }
	if g.in(2) {
		price = func() string { return fmt.Sprintf(", price: %g", g.between(1, 60, 0.5)) }
	}
	stock := []string{fmt.Sprintf("{width: %s, height: %s%s}", g.say(x), g.say(y), price())}
	for range g.IntN(3) {
		w, h := g.between(200, 1500, 10), g.between(150, 1500, 10)
		if clamp { // nothing lies under it
			w, h = math.Min(w, x), math.Min(h, y)
		}
		stock = append(stock, fmt.Sprintf("{width: %g, height: %g, count: %d%s}", w, h, 1+g.IntN(6), price()))
	}
	g.Shuffle(len(stock), func(i, k int) { stock[i], stock[k] = stock[k], stock[i] })
	sheet.always("sheets", "[%s]", strings.Join(stock, ", "))
}

// reach states the travel: from zero, or as limits that lie anywhere, with a work zero and
// room beside the bed in which clamps may stand.
func (g *generator) reach(m *keys, x, y float64, clamp bool) {
	blade := g.process == "knife"
	if !clamp && g.in(2) {
		if !blade {
			m.always("travel", "{x: %g, y: %g}", x, y)
			return
		}
		m.always("travel", "{x: %g, y: %g, z: 20}", x, y)
		m.maybe(2, "offsets", "{G54: {x: 0, y: 0, z: 1.2}}")
		return
	}
	ox, oy := g.between(-1500, 500, 1), g.between(-1500, 500, 1)
	zx, zy := g.between(0, 40, 1), g.between(0, 40, 1)
	beside := 0.0
	if clamp {
		beside = clampRoom
	}
	z, zero, up := "", "", ""
	if blade {
		lowest := g.between(-60, 60, 0.5)
		z, zero, up = fmt.Sprintf(", z: [%g, %g]", lowest, lowest+40), fmt.Sprintf(", z: %g", lowest+g.between(6, 10, 0.1)), fmt.Sprintf(", z: %g", lowest+39)
	}
	m.always("limits", "{x: [%g, %g], y: [%g, %g]%s}", ox, ox+zx+x+beside, oy, oy+zy+y, z)
	m.always("offsets", "{G54: {x: %g, y: %g%s}%s}", ox+zx, oy+zy, zero, one(g, "", ", G55: {x: 1, y: 2}"))
	if clamp {
		m.always("keep_out", "[{name: clamp, min: {x: %g, y: %g}, max: {x: %g, y: %g}}]", ox+zx+x+clampRoom/2, oy, ox+zx+x+clampRoom, oy+200)
	}
	m.maybe(2, "park", "{x: %g, y: %g%s}", ox+g.between(0, 100, 1), oy+g.between(0, 100, 1), up)
	m.maybe(4, "homes", "{G28: {x: %g, y: %g%s}}", ox, oy, up)
}

// motion draws speeds and limits, and returns the fastest cut.
func (g *generator) motion(m *keys) float64 {
	fastest := 200.0
	if g.in(4) {
		fastest = g.between(10, 500, 10)
		m.always("feed_max", "%g mm/s", fastest)
		m.always("rapid_max", "%g mm/min", 60*g.between(fastest, 600, 10))
	}
	m.maybe(4, "accel_cut", "%g mm/s2", g.between(100, 10000, 100))
	m.maybe(4, "accel_rapid", "%g", g.between(100, 20000, 100))
	m.maybe(4, "junction", "%g mm", g.between(0, 0.1, 0.01))
	m.maybe(4, "support_pitch", "%g", g.between(5, 40, 1))
	m.maybe(4, "time_max", "%.0f s", g.between(200000, 1000000, 1000))
	m.maybe(4, "scale_ppm", "{x: %g, y: %g}", g.between(-1000, 1000, 10), g.between(-1000, 1000, 10))
	m.maybe(4, "skew", "%g", g.between(-1000, 1000, 10))
	return fastest
}

// beam draws what a laser is switched and measured by, and how it cuts.
func (g *generator) beam(m, sheet *keys, fastest float64) {
	m.maybe(2, "beam", "%s", one(g, "M3", "M4"))
	if g.in(2) {
		m.always("power_scale", "%g", one(g, 1.0, 100, 255, 1000, 10000, 65535))
	}
	m.maybe(4, "pierce_max", "%g s", g.between(0, 3, 0.1))
	m.maybe(8, "still_max", "%g s", g.between(4, 20, 0.5))
	m.maybe(4, "wavelength", "%g nm", one(g, 450.0, 1064, 5500, 10600))
	top := 100.0
	if g.in(8) {
		top = g.between(80, 100, 1)
		sheet.always("power_cap", "%g %%", top)
	}
	most := 1
	for _, key := range []string{"cut", "score", "letter"} {
		k := &keys{g: g}
		k.maybe(4, "power", "%g %%", g.between(5, top, 1))
		k.maybe(4, "feed", "%g mm/s", g.between(1, fastest, 0.5))
		if g.in(4) {
			passes := 1 + g.IntN(4)
			most = max(most, passes)
			k.always("passes", "%d", passes)
		}
		k.maybe(4, "proven", `"A. Holt, 2026-11-02"`)
		sheet.sub(key, k)
	}
	// Where a cut begins and ends it is run over once more.
	m.maybe(4, "repeat_max", "%d", 2*most+g.IntN(4))
}

// blade draws a drag knife: its heights reach through the sheet.
func (g *generator) blade(m, sheet *keys, fastest float64) {
	k := &keys{g: g}
	k.always("offset", "%s", g.say(g.between(0.2, 0.9, 0.05)))
	k.maybe(4, "wedge", "%g", g.between(20, 70, 1))
	k.maybe(4, "up", "%s", g.say(g.between(1, 15, 0.5)))
	floor := math.Min(-1.2, shortly(-g.thickness-0.2, 2))
	if floor < -1.2 || g.in(4) {
		floor = shortly(floor-g.between(0, 3, 0.1), 2)
		k.always("floor", "%s", g.say(floor))
	}
	k.maybe(4, "skin", "%g", -g.between(0.02, math.Min(0.2, g.thickness/2), 0.01))
	k.maybe(4, "plunge", "%g mm/s", g.between(1, fastest, 1))
	k.maybe(4, "lift", "%g mm/s", g.between(1, fastest, 1))
	k.maybe(4, "swivel", "%g mm/s", g.between(1, fastest, 1))
	k.maybe(4, "swivel_angle", "%g", g.between(0, 90, 1))
	k.maybe(4, "misalignment", "%g", g.between(0.1, 10, 0.1))
	k.maybe(4, "sheet_max", "%g", g.between(0.5, 4, 0.1))
	// A blade that follows no small arc cuts them as corners, or the job asks to be refused.
	if g.in(2) {
		k.always("arc_min", "%g", g.between(0, 0.9, 0.1))
		k.maybe(2, "tight_arcs", "refuse")
	} else {
		k.always("arc_min", "%g", g.between(0.5, 3, 0.1))
		k.always("tight_arcs", "corner")
	}
	m.sub("knife", k)
	for _, key := range []string{"cut", "score", "letter"} {
		s := &keys{g: g}
		s.maybe(4, "feed", "%g mm/s", g.between(1, fastest, 0.5))
		s.maybe(8, "passes", "%d", 1+g.IntN(3))
		through := g.between(0, shortly(-floor-g.thickness, 2), 0.01)
		if key == "cut" {
			s.maybe(4, "depth", "%g", -shortly(g.thickness+through, 2))
		} else {
			s.maybe(4, "depth", "%g", -g.between(0.02, math.Min(0.2, g.thickness/2), 0.01))
		}
		sheet.sub(key, s)
	}
}

// writing draws a controller, its traits and how programs are written for it.
func (g *generator) writing(m *keys) {
	beam := g.process == "laser"
	controller := one(g, machine.ControllerNames()...)
	m.always("controller", "%s", controller)
	semicolons := controller != "report-only"
	m.maybe(4, "power_on", "%s", one(g, "G21 G90 G17 G94 G54 G40 G49", "[G20, G91, G18, G93, G55]", "G21 G90 G1 M5", "G90"))
	m.maybe(4, "parameters", "%s", one(g, "zero", "unknown"))
	m.maybe(4, "tool_in", "%d", g.IntN(10))
	d := &keys{g: g}
	if g.in(4) {
		semicolons = g.in(2)
		d.always("semicolon_comments", "%s", map[bool]string{true: "yes", false: "no"}[semicolons])
	}
	d.maybe(4, "dwell_ms", "%s", one(g, "no", "yes"))
	extra := d.maybe(4, "extra_words", "[M62, M63]")
	d.maybe(4, "line_max", "%d", g.rangeInt(100, 1000))
	d.maybe(4, "arc_centre_absolute", "%s", one(g, "no", "yes"))
	d.maybe(4, "after_end", "%s", one(g, "restored", "kept"))
	d.maybe(4, "line_ends", "%s", one(g, "any", "lf"))
	d.maybe(4, "dark_rapids", "%s", one(g, "no", "yes"))
	word := "S"
	if beam && g.in(4) {
		word = "M"
		d.always("power_word", "M")
	}
	d.maybe(4, "home_words", "%s", one(g, "all", "named"))
	d.maybe(4, "acts_on", "%s", one(g, "none", "[0x21, 0x3F, 0x7E, 0x80-0xFF]", "[0x18]"))
	d.maybe(4, "arc_tolerance", "%g", one(g, 0, g.between(0.002, 1, 0.001)))
	decimals := g.in(4)
	if decimals {
		d.always("decimals", "%d", g.rangeInt(4, 10))
	}
	d.maybe(4, "refused_words", "[G92, G38.2, M60]")
	m.sub("dialect", d)

	w := &keys{g: g}
	if word == "M" {
		w.maybe(2, "power", "with-beam")
	} else if beam {
		w.maybe(2, "power", "%s", one(g, "own-line", "with-beam", "with-move"))
	}
	w.maybe(2, "one_code", "%s", one(g, "no", "yes"))
	if semicolons {
		w.maybe(2, "comments", "%s", one(g, "brackets", "semicolons", "none"))
	} else {
		w.maybe(2, "comments", "%s", one(g, "brackets", "none"))
	}
	w.maybe(2, "numbers", "%s", one(g, "full", "short"))
	w.maybe(2, "line_end", "%s", one(g, "lf", "crlf"))
	if beam {
		if !decimals { // programs in inches hold five
			w.maybe(2, "unit", "%s", one(g, "mm", "in"))
		}
		if w.maybe(2, "air", "%s", one(g, "M7", "M8")) {
			w.maybe(2, "air_for", "%s", one(g, "[cut]", "[cut, score]", "[cut, score, letter]", "[score]"))
		}
	}
	w.maybe(4, "pause", "%s", one(g, "no", "yes"))
	w.maybe(4, "park", "%s", one(g, "no", "yes"))
	words := []string{"[G64]", "[G61]", "[G61.1]", "[G64, M9]"}
	if extra {
		words = append(words, "[M62, G64]")
	}
	w.maybe(4, "start", "%s", one(g, words...))
	w.maybe(4, "end", "%s", one(g, words...))
	w.maybe(2, "last", "%s", one(g, "M2", "M30"))
	m.sub("program", w)
}

// rangeInt draws a whole number.
func (g *generator) rangeInt(lo, hi int) int { return lo + g.IntN(hi-lo+1) }

// also draws other tables of the same size.
func (g *generator) also() {
	if !g.in(4) {
		return
	}
	g.line("also_tables:")
	for i := range 1 + g.IntN(3) {
		g.line("  - {name: table %d, length: %s, width: %s}", i+2, g.say(g.length+g.between(-8, 8, 0.5)), g.say(g.width+g.between(-8, 8, 0.5)))
	}
}
