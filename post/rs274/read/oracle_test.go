package read_test

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"regexp"
	"strconv"
	"strings"
)

// A second interpreter, slow and obvious, written from NIST IR 6556 alone. It works on
// strings and maps, stops at the first thing it does not allow, and finds the extents of
// arcs by walking along them. It shares nothing with package read.

// oracle is its state; lengths in mm.
type oracle struct {
	at              map[string]float64 // machine
	origins         map[int]map[string]float64
	shift, stored   map[string]float64
	home28, home30  map[string]float64
	system          int
	unit            float64
	plane, motion   string
	absolute        bool
	perMinute       bool
	feed            *float64
	retractToR      bool
	params          map[int]float64
	used            bool // anything was moved or shifted
	cycle           map[string]float64
	cycleCode       string
	over            bool
	lo, hi          map[string]float64
	length          float64
	rapids, feeds   int
	retractionKnown bool
	homes           string          // which axes G28's words send home: "all", "named", "" either
	lost            map[string]bool // axes that stand elsewhere in another reading
}

var axisNames = []string{"X", "Y", "Z"}

func zero3() map[string]float64 { return map[string]float64{"X": 0, "Y": 0, "Z": 0} }

func copyOf(m map[string]float64) map[string]float64 {
	c := map[string]float64{}
	for k, v := range m {
		c[k] = v
	}
	return c
}

// newOracle stands in the state that declared() describes.
func newOracle() *oracle {
	o := &oracle{at: map[string]float64{"X": 1, "Y": -2, "Z": 3}, origins: map[int]map[string]float64{}, shift: zero3(), stored: zero3(),
		home28: zero3(), home30: map[string]float64{"X": 10, "Y": 20, "Z": 30}, system: 1, unit: 1, plane: "17", motion: "1",
		absolute: true, perMinute: true, params: map[int]float64{}, lost: map[string]bool{}}
	o.origins[1] = map[string]float64{"X": 1, "Y": -2, "Z": 3}
	o.origins[2] = map[string]float64{"X": 50, "Y": 0, "Z": 0}
	o.lo, o.hi = copyOf(o.at), copyOf(o.at)
	return o
}

var errRefused = errors.New("refused")

func refuse(format string, a ...any) error {
	return fmt.Errorf("%w: "+format, append([]any{errRefused}, a...)...)
}

// run interprets a program; it returns the 1-based line it stopped at, 0 when it did not.
func (o *oracle) run(program string) (int, error) {
	lines := strings.Split(strings.TrimSuffix(program, "\n"), "\n")
	for i, l := range lines {
		if o.over {
			if strings.TrimSpace(dropComments(l)) != "" {
				return i + 1, refuse("words after the end")
			}
			continue
		}
		if err := o.line(l); err != nil {
			return i + 1, err
		}
	}
	if !o.over {
		return len(lines), refuse("no end")
	}
	return 0, nil
}

var blankInside = regexp.MustCompile(`[0-9.][ \t]+[0-9.]|[A-Z\[][ \t]*[-+][ \t]+[0-9.]`)

var commentRE = regexp.MustCompile(`\([^()]*\)`)

func dropComments(l string) string { return commentRE.ReplaceAllString(l, "\x01") }

type word struct {
	letter string
	value  float64
}

// line reads a line into words and does it.
func (o *oracle) line(l string) error {
	if len(l) > 256 {
		return refuse("long")
	}
	s := strings.ToUpper(dropComments(l))
	if blankInside.MatchString(s) {
		return refuse("a blank inside a number")
	}
	s = strings.NewReplacer(" ", "", "\t", "").Replace(s)
	s = strings.TrimPrefix(s, "/")
	if m := regexp.MustCompile(`^N(\d{1,5})([^\d.]|$)`).FindStringSubmatch(s); m != nil {
		s = s[1+len(m[1]):]
	}
	var words []word
	sets := [][2]float64{}
	for s != "" {
		if s[0] == 1 {
			s = s[1:]
			continue
		}
		if s[0] == '#' {
			n, rest, err := o.value(s[1:])
			if err != nil {
				return err
			}
			if len(rest) == 0 || rest[0] != '=' {
				return refuse("= missing")
			}
			v, rest, err := o.value(rest[1:])
			if err != nil {
				return err
			}
			k := int(math.Round(n))
			if math.Abs(n-float64(k)) > 1e-4 || k < 1 || k > 5399 {
				return refuse("parameter %v", n)
			}
			if k >= 5061 && k <= 5066 || k >= 5211 && k <= 5216 || k >= 5220 && k <= 5390 {
				return refuse("parameter %v is the controller's", k)
			}
			sets = append(sets, [2]float64{float64(k), v})
			s = rest
			continue
		}
		letter := s[:1]
		if !strings.Contains("ABCDFGHIJKLMPQRSTXYZ", letter) {
			return refuse("letter %q", letter)
		}
		v, rest, err := o.value(s[1:])
		if err != nil {
			return err
		}
		words = append(words, word{letter, v})
		s = rest
	}
	for _, a := range sets {
		o.params[int(a[0])] = a[1]
		for i, ax := range axisNames {
			if int(a[0]) == 5161+i {
				o.home28[ax] = a[1] * o.unit
			}
			if int(a[0]) == 5181+i {
				o.home30[ax] = a[1] * o.unit
			}
		}
	}
	return o.do(words)
}

// groupsOf is Table 4 of the report.
var groupsOf = map[string]string{
	"0": "motion", "1": "motion", "2": "motion", "3": "motion", "38.2": "motion", "80": "motion", "81": "motion", "82": "motion",
	"83": "motion", "84": "motion", "85": "motion", "86": "motion", "87": "motion", "88": "motion", "89": "motion",
	"17": "plane", "18": "plane", "19": "plane", "90": "distance", "91": "distance", "93": "feed", "94": "feed",
	"20": "units", "21": "units", "40": "comp", "41": "comp", "42": "comp", "43": "length", "49": "length", "98": "return", "99": "return",
	"54": "system", "55": "system", "56": "system", "57": "system", "58": "system", "59": "system", "59.1": "system", "59.2": "system", "59.3": "system",
	"61": "path", "61.1": "path", "64": "path",
	"4": "zero", "10": "zero", "28": "zero", "30": "zero", "53": "zero", "92": "zero", "92.1": "zero", "92.2": "zero", "92.3": "zero",
}

var mGroupsOf = map[string]string{"0": "stop", "1": "stop", "2": "stop", "30": "stop", "60": "stop", "6": "tool", "3": "spindle", "4": "spindle", "5": "spindle",
	"7": "cool", "8": "cool", "9": "cool", "48": "over", "49": "over"}

// do carries a line's words out.
func (o *oracle) do(words []word) error {
	g, m, v := map[string]string{}, map[string]string{}, map[string]float64{}
	mCount, cancels := 0, false
	for _, w := range words {
		switch w.letter {
		case "G":
			t := math.Round(w.value*10) / 10
			code := strconv.FormatFloat(t, 'f', -1, 64)
			if code == "91.1" {
				continue
			}
			grp, ok := groupsOf[code]
			if !ok || math.Abs(t-w.value) > 1e-10 {
				return refuse("G%v", w.value)
			}
			if grp == "motion" && g[grp] != "" && (g[grp] == "80") != (code == "80") {
				if cancels = true; code == "80" {
					continue
				}
			} else if g[grp] != "" {
				return refuse("two of %s", grp)
			}
			g[grp] = code
		case "M":
			code := strconv.FormatFloat(math.Round(w.value), 'f', -1, 64)
			grp, ok := mGroupsOf[code]
			if !ok || math.Abs(math.Round(w.value)-w.value) > 1e-10 {
				return refuse("M%v", w.value)
			}
			if m[grp] != "" {
				return refuse("two of %s", grp)
			}
			m[grp] = code
			if mCount++; mCount > 4 {
				return refuse("five M")
			}
		default:
			if _, twice := v[w.letter]; twice {
				return refuse("two %s", w.letter)
			}
			v[w.letter] = w.value
		}
	}
	has := func(l string) bool { _, ok := v[l]; return ok }
	axes := has("X") || has("Y") || has("Z")
	takes := map[string]bool{"10": true, "28": true, "30": true, "92": true}[g["zero"]]
	explicit := g["motion"]
	if takes && axes && explicit != "" && explicit != "80" {
		return refuse("axis words twice")
	}
	if cancels && axes {
		return refuse("G80 beside a move")
	}
	if !takes && !axes && explicit != "" && explicit != "80" && explicit != "0" && explicit != "1" {
		return refuse("no axis words")
	}
	if !axes && (g["zero"] == "10" || g["zero"] == "92" || g["zero"] == "53") {
		return refuse("no axis words")
	}
	motion := ""
	if axes && !takes {
		if motion = explicit; motion == "" {
			motion = o.motion
		}
	}
	if has("A") || has("B") || has("C") || g["comp"] == "41" || g["comp"] == "42" || g["length"] == "43" || m["tool"] != "" || m["stop"] == "60" {
		return refuse("not in the file")
	}
	if map[string]bool{"38.2": true, "84": true, "86": true, "87": true, "88": true}[explicit] {
		return refuse("G%s", explicit)
	}
	ok := "XYZFST"
	ok += map[string]string{"4": "P", "10": "PL"}[g["zero"]]
	ok += map[string]string{"2": "IJKR", "3": "IJKR", "81": "RL", "82": "RLP", "83": "RLQ", "85": "RL", "89": "RLP"}[motion]
	if g["path"] == "64" {
		ok += "PQ"
	}
	for l := range v {
		if !strings.Contains(ok, l) {
			return refuse("%s without use", l)
		}
	}
	for _, l := range []string{"F", "S", "T", "L"} {
		if v[l] < 0 {
			return refuse("negative %s", l)
		}
		if (l == "T" || l == "L") && math.Abs(v[l]-math.Round(v[l])) > 1e-4 {
			return refuse("%s is not whole", l)
		}
	}
	// The order of Table 8.
	if c := g["feed"]; c != "" {
		if (c == "94") != o.perMinute {
			o.feed = nil
		}
		o.perMinute = c == "94"
	}
	if has("F") {
		f := v["F"]
		o.feed = &f
	}
	if g["zero"] == "4" && (!has("P") || v["P"] < 0) {
		return refuse("dwell")
	}
	if c := g["units"]; c != "" {
		u := map[string]float64{"20": 25.4, "21": 1}[c]
		if u != o.unit {
			if o.used {
				return refuse("units changed")
			}
			if !has("F") {
				o.feed = nil
			}
		}
		o.unit = u
	}
	if c := g["plane"]; c != "" {
		o.plane = c
	}
	if c := g["system"]; c != "" {
		o.system = map[string]int{"54": 1, "55": 2, "56": 3, "57": 4, "58": 5, "59": 6, "59.1": 7, "59.2": 8, "59.3": 9}[c]
	}
	if c := g["distance"]; c != "" {
		o.absolute = c == "90"
	}
	if c := g["return"]; c != "" {
		o.retractToR, o.retractionKnown = c == "99", true
	}
	if err := o.zeroGroup(g["zero"], v); err != nil {
		return err
	}
	if explicit != "" {
		o.motion = explicit
	}
	if motion != "" {
		if err := o.move(motion, g["zero"] == "53", v); err != nil {
			return err
		}
	}
	if s := m["stop"]; s == "2" || s == "30" {
		o.over = true
	}
	return nil
}

// zeroGroup does G10, G28, G30 and G92.
func (o *oracle) zeroGroup(code string, v map[string]float64) error {
	switch code {
	case "10":
		if v["L"] != 2 || v["P"] < 1 || v["P"] > 9 || v["P"] != math.Trunc(v["P"]) {
			return refuse("G10")
		}
		n := int(v["P"])
		if o.origins[n] == nil {
			o.origins[n] = map[string]float64{}
		}
		for _, a := range axisNames {
			if x, ok := v[a]; ok {
				o.origins[n][a] = x * o.unit
			}
		}
		o.used = true
	case "28", "30":
		if _, err := o.target(v, false); err != nil {
			return err
		}
		for _, a := range axisNames {
			if _, ok := v[a]; ok {
				to, _ := o.target(v, false)
				o.straight(to)
				o.rapids++
				break
			}
		}
		o.used = true
		o.rapids++
		home, before := copyOf(map[string]map[string]float64{"28": o.home28, "30": o.home30}[code]), copyOf(o.at)
		_, x := v["X"]
		_, y := v["Y"]
		_, z := v["Z"]
		for _, a := range axisNames {
			_, named := v[a]
			if named || !x && !y && !z || o.homes == "all" {
				delete(o.lost, a)
				continue
			}
			if o.homes == "named" {
				home[a] = before[a]
			} else if home[a] != before[a] { // one reading stands here, the other there
				o.lost[a] = true
			}
		}
		o.straight(home)
	case "92":
		for _, a := range axisNames {
			if x, ok := v[a]; ok {
				org, known := o.origins[o.system][a]
				if !known && o.absolute {
					return refuse("origin")
				}
				if o.lost[a] {
					return refuse("a shift from nowhere")
				}
				o.shift[a] = o.at[a] - org - x*o.unit
			}
		}
		o.stored, o.used = copyOf(o.shift), true
	case "92.1":
		o.shift, o.stored, o.used = zero3(), zero3(), true
	case "92.2":
		o.shift, o.used = zero3(), true
	case "92.3":
		o.shift, o.used = copyOf(o.stored), true
	}
	return nil
}

// target is where the axis words lead.
func (o *oracle) target(v map[string]float64, machine bool) (map[string]float64, error) {
	to := copyOf(o.at)
	for _, a := range axisNames {
		x, ok := v[a]
		if !ok {
			continue
		}
		if o.lost[a] && !machine && !o.absolute {
			if x != 0 {
				return nil, refuse("a step from nowhere")
			}
			continue
		}
		delete(o.lost, a)
		switch {
		case machine:
			to[a] = x * o.unit
		case o.absolute:
			org, known := o.origins[o.system][a]
			if !known {
				return nil, refuse("origin of %d %s", o.system, a)
			}
			to[a] = x*o.unit + org + o.shift[a]
		default:
			to[a] += x * o.unit
		}
	}
	return to, nil
}

func (o *oracle) visit(p map[string]float64) {
	for _, a := range axisNames {
		o.lo[a], o.hi[a] = math.Min(o.lo[a], p[a]), math.Max(o.hi[a], p[a])
	}
}

func (o *oracle) straight(to map[string]float64) {
	o.length += math.Sqrt(math.Pow(to["X"]-o.at["X"], 2) + math.Pow(to["Y"]-o.at["Y"], 2) + math.Pow(to["Z"]-o.at["Z"], 2))
	o.at = copyOf(to)
	o.visit(to)
	o.used = true
}

// needFeed refuses a cut without a feed.
func (o *oracle) needFeed(v map[string]float64) error {
	if _, here := v["F"]; !o.perMinute && !here {
		return refuse("no F in G93")
	}
	if o.feed == nil || *o.feed <= 0 {
		return refuse("no feed")
	}
	return nil
}

// move does a motion code.
func (o *oracle) move(code string, machine bool, v map[string]float64) error {
	if machine && (!o.absolute || code != "0" && code != "1") {
		return refuse("G53")
	}
	if code == "80" {
		return refuse("no motion mode")
	}
	if code != "0" && len(o.lost) > 0 {
		_, _, w, _, _, _ := o.planeAxes()
		if len(o.lost) > 1 || !o.lost[w] || len(code) != 2 || code != o.cycleCode {
			return refuse("a cut from nowhere")
		}
	}
	_, _, w, _, _, _ := o.planeAxes()
	lost := o.lost[w] && len(code) == 2 // a cycle's word for this axis is a depth and says nothing of where it stands
	if lost {
		delete(o.lost, w)
	}
	to, err := o.target(v, machine)
	if err != nil {
		return err
	}
	if lost {
		o.lost[w] = true
	}
	switch code {
	case "0":
		o.rapids++
		o.straight(to)
		return nil
	case "1":
		if err := o.needFeed(v); err != nil {
			return err
		}
		o.feeds++
		o.straight(to)
		return nil
	case "2", "3":
		if err := o.needFeed(v); err != nil {
			return err
		}
		o.feeds++
		return o.arc(code == "2", to, v)
	}
	return o.drill(code, v)
}

// planeAxes gives the two axes of the plane in turning sense, their centre words, and the third.
func (o *oracle) planeAxes() (u, v, w, cu, cv, cw string) {
	switch o.plane {
	case "18":
		return "Z", "X", "Y", "K", "I", "J"
	case "19":
		return "Y", "Z", "X", "J", "K", "I"
	}
	return "X", "Y", "Z", "I", "J", "K"
}

// arc walks along an arc in small steps.
func (o *oracle) arc(clockwise bool, to, v map[string]float64) error {
	ua, va, wa, cu, cv, cw := o.planeAxes()
	has := func(l string) bool { _, ok := v[l]; return ok }
	if !has(ua) && !has(va) || has(cw) || has("R") && (has(cu) || has(cv)) || !has("R") && !has(cu) && !has(cv) {
		return refuse("arc words")
	}
	su, sv, eu, ev := o.at[ua], o.at[va], to[ua], to[va]
	var ou, ov float64
	if has("R") {
		r := v["R"] * o.unit
		chord := math.Hypot(eu-su, ev-sv)
		if r == 0 || chord == 0 || chord/2 > math.Abs(r)+o.tolerance()/2 {
			return refuse("radius")
		}
		// Both centres on the perpendicular bisector are tried; the right one gives a
		// turn of the right size in the right sense.
		h := math.Sqrt(math.Max(0, r*r-chord*chord/4))
		found := false
		for _, side := range []float64{1, -1} {
			ou, ov = (su+eu)/2-side*h*(ev-sv)/chord, (sv+ev)/2+side*h*(eu-su)/chord
			turn := sweepOf(su-ou, sv-ov, eu-ou, ev-ov, clockwise)
			if r > 0 && math.Abs(turn) <= math.Pi+1e-6 || r < 0 && math.Abs(turn) >= math.Pi-1e-6 {
				found = true
				break
			}
		}
		if !found {
			return refuse("no centre")
		}
	} else {
		ou, ov = su+v[cu]*o.unit, sv+v[cv]*o.unit
		r0, r1 := math.Hypot(su-ou, sv-ov), math.Hypot(eu-ou, ev-ov)
		if r0 == 0 || r1 == 0 || math.Abs(r0-r1) > o.tolerance() {
			return refuse("off the circle")
		}
	}
	turn := sweepOf(su-ou, sv-ov, eu-ou, ev-ov, clockwise)
	r := math.Hypot(su-ou, sv-ov)
	start := math.Atan2(sv-ov, su-ou)
	const steps = 4000
	for i := 1; i < steps; i++ {
		a := start + turn*float64(i)/steps
		p := copyOf(o.at)
		p[ua], p[va] = ou+r*math.Cos(a), ov+r*math.Sin(a)
		o.visit(p)
	}
	o.length += math.Hypot(r*turn, to[wa]-o.at[wa])
	o.at = copyOf(to)
	o.visit(to)
	o.used = true
	return nil
}

// tolerance is 0.0002 inch or 0.002 mm.
func (o *oracle) tolerance() float64 {
	if o.unit == 1 {
		return 0.002
	}
	return 0.0002 * 25.4
}

// sweepOf is the turn from a to b, counter-clockwise positive, a whole one for equal directions.
func sweepOf(ax, ay, bx, by float64, clockwise bool) float64 {
	t := math.Atan2(by, bx) - math.Atan2(ay, ax)
	for t <= 1e-12 {
		t += 2 * math.Pi
	}
	for t > 2*math.Pi+1e-12 {
		t -= 2 * math.Pi
	}
	if clockwise {
		if t -= 2 * math.Pi; t > -1e-12 {
			t = -2 * math.Pi
		}
	}
	return t
}

// drill does G81, G82, G83, G85 and G89.
func (o *oracle) drill(code string, v map[string]float64) error {
	if !o.retractionKnown {
		return refuse("return level")
	}
	ua, va, wa, _, _, _ := o.planeAxes()
	_, again := v["R"]
	follows := o.cycleCode == code && !again // the level of R is an earlier hole's
	if o.cycleCode != code {
		o.cycle, o.cycleCode = map[string]float64{}, code
	}
	for _, l := range []string{"R", wa, "P", "Q"} {
		if x, ok := v[l]; ok {
			key := l
			if l == wa {
				key = "depth"
			}
			o.cycle[key] = x
		}
	}
	need := []string{"R", "depth"}
	if code == "82" || code == "89" {
		need = append(need, "P")
	}
	if code == "83" {
		need = append(need, "Q")
	}
	for _, k := range need {
		if _, ok := o.cycle[k]; !ok {
			o.cycleCode = ""
			return refuse("%s missing", k)
		}
	}
	repeats := 1.0
	if l, ok := v["L"]; ok {
		repeats = l
	}
	if repeats < 1 || o.cycle["P"] < 0 || code == "83" && o.cycle["Q"] <= 0 || !o.perMinute {
		return refuse("cycle")
	}
	if err := o.needFeed(v); err != nil {
		return err
	}
	level := o.origins[o.system][wa] + o.shift[wa]
	r, z := o.cycle["R"]*o.unit+level, o.cycle["depth"]*o.unit+level
	over := copyOf(o.at)
	du, dv := 0.0, 0.0
	if o.absolute {
		in := copyOf(v)
		delete(in, wa)
		to, _ := o.target(in, false)
		over[ua], over[va] = to[ua], to[va]
	} else {
		r = o.at[wa] + o.cycle["R"]*o.unit
		z = r + o.cycle["depth"]*o.unit
		du, dv = v[ua]*o.unit, v[va]*o.unit
	}
	if r < z {
		return refuse("R below Z")
	}
	go1 := func(rapid bool, w float64) {
		p := copyOf(o.at)
		p[wa] = w
		o.straight(p)
		if rapid {
			o.rapids++
		} else {
			o.feeds++
		}
	}
	low := o.at[wa] < r
	if low {
		go1(true, r)
	}
	back := o.at[wa]
	if o.retractToR {
		back = r
	}
	for i := 0; i < int(math.Round(repeats)); i++ {
		over[ua] += du
		over[va] += dv
		p := copyOf(over)
		p[wa] = o.at[wa]
		o.straight(p)
		o.rapids++
		if o.at[wa] != r {
			go1(true, r)
		}
		if code == "83" {
			for deep := r - o.cycle["Q"]*o.unit; deep > z; deep -= o.cycle["Q"] * o.unit {
				go1(false, deep)
				go1(true, r)
				go1(true, math.Min(r, deep+0.254))
			}
		}
		go1(false, z)
		go1(code != "85" && code != "89", back)
	}
	switch down := !o.absolute && o.retractToR && o.cycle["R"] != 0; {
	case down && (repeats > 1.5 || follows), !o.retractToR && low:
		o.lost[wa] = true // another controller stands higher or lower now
	case o.absolute && o.retractToR:
		delete(o.lost, wa)
	}
	return nil
}

// value reads a real value off the front of s.
func (o *oracle) value(s string) (float64, string, error) {
	if s == "" {
		return 0, "", refuse("value missing")
	}
	if m := regexp.MustCompile(`^[+-]?(\d+\.?\d*|\.\d+)`).FindString(s); m != "" {
		rest := s[len(m):]
		if strings.HasPrefix(rest, ".") {
			return 0, "", refuse("two points")
		}
		x, _ := strconv.ParseFloat(m, 64)
		if math.Abs(x) > 1e9 {
			return 0, "", refuse("large")
		}
		return x, rest, nil
	}
	switch s[0] {
	case '[':
		return o.bracket(s)
	case '#':
		n, rest, err := o.value(s[1:])
		if err != nil {
			return 0, "", err
		}
		k := int(math.Round(n))
		if math.Abs(n-float64(k)) > 1e-4 || k < 1 || k > 5399 {
			return 0, "", refuse("parameter")
		}
		return o.param(k), rest, nil
	}
	for name, f := range unary {
		if !strings.HasPrefix(s, name+"[") {
			continue
		}
		x, rest, err := o.bracket(s[len(name):])
		if err != nil {
			return 0, "", err
		}
		if name == "ATAN" {
			if !strings.HasPrefix(rest, "/[") {
				return 0, "", refuse("ATAN")
			}
			var y float64
			if y, rest, err = o.bracket(rest[1:]); err != nil {
				return 0, "", err
			}
			if x == 0 && y == 0 {
				return 0, "", refuse("no direction")
			}
			return math.Atan2(x+0, y+0) * 180 / math.Pi, rest, nil
		}
		r := f(x)
		if math.IsNaN(r) || math.IsInf(r, 0) || math.Abs(r) > 1e9 {
			return 0, "", refuse("%s of %v", name, x)
		}
		return r, rest, nil
	}
	return 0, "", refuse("no value at %q", s)
}

// param is a numbered parameter; those tied to the state come from it.
func (o *oracle) param(k int) float64 {
	for i, a := range axisNames {
		switch k {
		case 5211 + i:
			return o.shift[a] / o.unit
		case 5161 + i:
			return o.home28[a] / o.unit
		case 5181 + i:
			return o.home30[a] / o.unit
		case 5221 + i, 5241 + i:
			return o.origins[(k-5201)/20][a] / o.unit
		}
	}
	if k == 5220 {
		return float64(o.system)
	}
	return o.params[k]
}

var unary = map[string]func(float64) float64{
	"ABS": math.Abs, "EXP": math.Exp, "FIX": math.Floor, "FUP": math.Ceil, "SQRT": math.Sqrt, "ATAN": nil,
	"ACOS": func(x float64) float64 { return math.Acos(x) * 180 / math.Pi },
	"ASIN": func(x float64) float64 { return math.Asin(x) * 180 / math.Pi },
	"COS":  func(x float64) float64 { return math.Cos(x * math.Pi / 180) },
	"SIN":  func(x float64) float64 { return math.Sin(x * math.Pi / 180) },
	"TAN":  func(x float64) float64 { return math.Tan(x * math.Pi / 180) },
	"LN":   func(x float64) float64 { return math.Log(x) },
	"ROUND": func(x float64) float64 {
		if x < 0 {
			return -math.Floor(-x + 0.5)
		}
		return math.Floor(x + 0.5)
	},
}

// bracket reads [a op b op c ...] into lists and folds them rank by rank.
func (o *oracle) bracket(s string) (float64, string, error) {
	s = s[1:]
	var vals []float64
	var ops []string
	for {
		x, rest, err := o.value(s)
		if err != nil {
			return 0, "", err
		}
		vals, s = append(vals, x), rest
		if strings.HasPrefix(s, "]") {
			s = s[1:]
			break
		}
		op := regexp.MustCompile(`^(\*\*|\*|/|MOD|\+|-|OR|XOR|AND)`).FindString(s)
		if op == "" {
			return 0, "", refuse("operator at %q", s)
		}
		ops, s = append(ops, op), s[len(op):]
	}
	for _, rank := range []string{" ** ", " * / MOD ", " + - OR XOR AND "} {
		for i := 0; i < len(ops); {
			if !strings.Contains(rank, " "+ops[i]+" ") {
				i++
				continue
			}
			r := apply(vals[i], ops[i], vals[i+1])
			if math.IsNaN(r) || math.IsInf(r, 0) || math.Abs(r) > 1e9 {
				return 0, "", refuse("%v %s %v", vals[i], ops[i], vals[i+1])
			}
			vals = append(append(append([]float64{}, vals[:i]...), r), vals[i+2:]...)
			ops = append(append([]string{}, ops[:i]...), ops[i+1:]...)
		}
	}
	return vals[0], s, nil
}

func apply(a float64, op string, b float64) float64 {
	yes := map[bool]float64{true: 1}
	switch op {
	case "**":
		return math.Pow(a, b)
	case "*":
		return a * b
	case "/":
		return a / b
	case "MOD":
		return remainder(a, math.Abs(b))
	case "+":
		return a + b
	case "-":
		return a - b
	case "OR":
		return yes[a != 0 || b != 0]
	case "AND":
		return yes[a != 0 && b != 0]
	}
	return yes[(a != 0) != (b != 0)]
}

// remainder is a - b·floor(a/b), exactly for the numbers as they are held; NaN for b 0.
func remainder(a, b float64) float64 {
	if b == 0 {
		return math.NaN()
	}
	x, y := new(big.Rat).SetFloat64(a), new(big.Rat).SetFloat64(b)
	q := new(big.Rat).Quo(x, y)
	n := new(big.Int).Div(q.Num(), q.Denom()) // rounds down for a positive divisor
	r, _ := new(big.Rat).Sub(x, new(big.Rat).Mul(y, new(big.Rat).SetInt(n))).Float64()
	return r
}
