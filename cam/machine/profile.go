package machine

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// Limits of a machine, mm. The smallest bed that takes any piece of a jig is a
// tenth of a metre; nothing sold to workshops passes ten metres.
const (
	travelMin, TravelMax = 100.0, 10_000.0
	heightMin, heightMax = 1.0, 1_000.0
	// coordMax bounds every coordinate a profile may name.
	coordMax = 20_000.0
	rateMax  = 100_000.0
)

// Limits of lists and texts in a profile.
const (
	NameMax  = 60 // characters
	zonesMax = 50
	wordsMax = 40
)

// profileFields reads a machine section; what it does not say comes from the
// built-in it is "like", else from its process.
func profileFields(f *job.Fields) Profile {
	p := profileBase(f)
	p.Name = f.Text("name", p.Name, NameMax)
	readController(f, &p)
	readLimits(f, &p)
	readStart(f, &p)
	p.KeepOut = readZones(f, p.KeepOut)
	readBeam(f, &p)
	readMotion(f, &p)
	readDialect(f.Sub("dialect"), &p)
	readKnife(f, &p)
	readShopLimits(f, &p)
	checkTravel(f, &p)
	readWriting(f.Sub("program"), &p)
	settleProfile(f, p)
	idleKeys(f, p)
	f.Done()
	return p
}

// idleKeys notes what is said of a machine and means nothing for its process.
func idleKeys(f *job.Fields, p Profile) {
	idle := func(why string, keys ...string) {
		for _, key := range keys {
			f.Idle(key, why, ifShared)
		}
	}
	switch p.Process {
	case Shop: // margin, scale and skew stand for any machine
		idle("a shop has machines of its own, and gets drawings", "controller", "travel", "limits", "power_on", "parameters", "offsets", "homes", "park", "keep_out",
			"name", "beam", "power_scale", "pierce_max", "still_max", "wavelength", "spindle", "tool_in", "floor", "feed_max", "rapid_max", "rate", "accel_cut", "accel_rapid", "junction",
			"dialect", "program", "support_pitch", "time_max", "repeat_max")
		return
	case Knife:
		idle("a blade has no beam", "beam", "power_scale", "pierce_max", "still_max", "wavelength")
		idle("a blade's sheet lies on a mat", "support_pitch")
		idle("a blade burns nothing", "repeat_max")
		f.Sub("program").Idle("power", "a blade has no power", ifShared)
		f.Sub("dialect").Idle("power_word", "a blade has no power", ifShared)
		f.Sub("dialect").Idle("dark_rapids", "a blade has no beam", ifShared)
	}
	if p.Process != Router {
		idle("only a router's spindle goes down to it", "floor")
	}
	if !p.HasSpindle {
		idle("the machine has no spindle", "tool_in")
	}
	if p.Writing.Air == "" {
		f.Sub("program").Idle("air_for", "no air is switched", "give program.air, or remove it")
	}
}

// settleProfile notes what several keys say together, or a built-in that the section is
// like.
func settleProfile(f *job.Fields, p Profile) {
	stated := func(key string) bool { return f.Sub("travel").Has(key) || f.Sub("limits").Has(key) }
	f.Unsettle("travel")
	f.Unsettle("limits")
	if p.Max.X > p.Min.X && p.Max.Y > p.Min.Y {
		f.SettleAs("limits.x", job.ExactLengths(p.Min.X, p.Max.X), stated("x"))
		f.SettleAs("limits.y", job.ExactLengths(p.Min.Y, p.Max.Y), stated("y"))
		if p.HasZ {
			f.SettleAs("limits.z", job.ExactLengths(p.Min.Z, p.Max.Z), stated("z"))
		}
	}
	if p.PowerOn != nil {
		f.Settle("power_on", job.QuotedList(p.PowerOn))
	}
	if p.ExtraWords != nil {
		f.SettleAs("dialect.extra_words", job.QuotedList(p.ExtraWords), f.Sub("dialect").Has("extra_words"))
	}
	if p.ParametersZero {
		f.Settle("parameters", "zero")
	}
}

// profileBase is what the section starts from.
func profileBase(f *job.Fields) Profile {
	var p Profile
	if like := likeName(f); like != "" {
		var ok bool
		if p, ok = Lookup(like); !ok {
			f.Fault("like", "M001", unknownName("machine", like, ProfileNames()), `"spotjig list machines" shows what is built in`)
		}
	}
	def := p.Process
	if def == "" {
		def = Laser
	}
	proc := Process(f.Word("process", string(def), string(Laser), string(Knife), string(Router), string(Shop)))
	if p.Process == proc {
		p.Name = ""
		return p
	}
	f.Idle("like", "that machine's process is another", "name a machine of the process, or leave process out")
	switch proc {
	case Knife:
		return knifeDefaults("")
	case Router:
		return routerDefaults("")
	case Shop:
		return shopDefaults("")
	}
	return laserDefaults("")
}

// likeName is the built-in that a section is like, "" when it is like none. Every value
// of it is settled by its own key.
func likeName(f *job.Fields) string {
	name := f.Text("like", "", NameMax)
	f.Unsettle("like")
	return name
}

// ProfileNames lists the built-in machines.
func ProfileNames() []string {
	return names(Profiles(), func(p Profile) string { return p.Name })
}

// names lists what each of a catalogue's rows is called.
func names[T any](rows []T, name func(T) string) []string {
	var out []string
	for _, r := range rows {
		out = append(out, name(r))
	}
	return out
}

// unknownName words a name that no catalogue has.
func unknownName(what, name string, known []string) string {
	return fmt.Sprintf("unknown built-in %s %q; %s", what, name, problem.DidYouMean(name, known))
}

// readLimits reads travel, counted from 0, or limits, which may lie anywhere.
func readLimits(f *job.Fields, p *Profile) {
	t := f.Sub("travel")
	if x := t.Length("x", job.Range{Min: travelMin, Max: TravelMax}); x > 0 {
		p.Min.X, p.Max.X = 0, x
	}
	if y := t.Length("y", job.Range{Min: travelMin, Max: TravelMax}); y > 0 {
		p.Min.Y, p.Max.Y = 0, y
	}
	if z := t.Length("z", job.Range{Min: heightMin, Max: heightMax}); z > 0 {
		p.HasZ, p.Min.Z, p.Max.Z = true, 0, z
		if p.Process == Knife { // counted from the mat, seen from the sheet's face
			p.Min.Z, p.Max.Z = math.Inf(-1), z
		}
	}
	t.Done()
	l := f.Sub("limits")
	pair(l, "x", travelMin, &p.Min.X, &p.Max.X)
	pair(l, "y", travelMin, &p.Min.Y, &p.Max.Y)
	if pair(l, "z", heightMin, &p.Min.Z, &p.Max.Z) {
		p.HasZ = true
	}
	l.Done()
}

// pair reads a lower and an upper limit at least apart from each other; ok is
// false when the key is not there or at fault.
func pair(f *job.Fields, key string, apart float64, lo, hi *float64) (ok bool) {
	v := f.Lengths(key, 2, job.Range{Min: -coordMax, Max: coordMax})
	if v == nil {
		return false
	}
	if v[1]-v[0] < apart {
		f.Fault(key, "M006", fmt.Sprintf("from %g to %g mm is less than %g mm of travel", v[0], v[1], apart), "write the lower limit first: [0, 600]")
		return false
	}
	*lo, *hi = v[0], v[1]
	return true
}

// axes reads a place in machine coordinates; coordinates not given are def's.
func axes(f *job.Fields, def Axes) Axes {
	defer f.Done()
	at := func(key string, d float64) float64 {
		return f.Length(key, job.Range{Default: d, Min: -coordMax, Max: coordMax})
	}
	return Axes{X: at("x", def.X), Y: at("y", def.Y), Z: at("z", def.Z)}
}

// optionalAxes reads an optional place; nil when the key is not there.
func optionalAxes(f *job.Fields, key string, def *Axes) *Axes {
	sub := f.Sub(key)
	if !f.There(key) {
		return def
	}
	a := axes(sub, Axes{})
	return &a
}

// isModeWord tells whether a word states a mode, offset or function, or S0, a beam's
// power at power-on.
func isModeWord(w string) bool { return w == "S0" || IsCode(w) }

// IsCode tells whether a word is a code: G or M, one or two digits, and a point and a digit
// for the few that have them.
func IsCode(w string) bool {
	if w == "" || w[0] != 'G' && w[0] != 'M' {
		return false
	}
	whole, tenth, point := strings.Cut(w[1:], ".")
	digits := func(s string) bool { return strings.Trim(s, "0123456789") == "" }
	ok := len(whole) >= 1 && len(whole) <= 2 && digits(whole)
	return ok && (!point || len(tenth) == 1 && digits(tenth))
}

// readStart reads what holds before a program's first line.
func readStart(f *job.Fields, p *Profile) {
	if words := f.Words("power_on", wordsMax); words != nil {
		p.PowerOn = modeWords(f, "power_on", words)
	}
	switch f.Word("parameters", "", "zero", "unknown") {
	case "zero":
		p.ParametersZero = true
	case "unknown":
		p.ParametersZero = false
	}
	offsets := f.Sub("offsets")
	for i, name := range offsetNames() {
		if sub := offsets.Sub(name); offsets.There(name) {
			if p.Offsets == nil {
				p.Offsets = map[int]Axes{}
			}
			p.Offsets[i+1] = axes(sub, Axes{})
		}
	}
	offsets.Done()
	homes := f.Sub("homes")
	p.Home28 = optionalAxes(homes, "G28", p.Home28)
	p.Home30 = optionalAxes(homes, "G30", p.Home30)
	homes.Done()
	p.Park = optionalAxes(f, "park", p.Park)
}

// offsetNames lists the work offsets in the order of their numbers 1 to 9 (NIST IR
// 6556 section 3.5.13).
func offsetNames() []string {
	return []string{"G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"}
}

// modeWords checks words and raises their letters; nil when one is no word.
func modeWords(f *job.Fields, key string, words []string) []string {
	var out []string
	for _, w := range words {
		w = strings.ToUpper(w)
		if !isModeWord(w) {
			f.Fault(key, "M007", fmt.Sprintf("%q is not a mode or function word", w), "list words such as G21 G90 G17 G94 G54 G40 G49")
			return nil
		}
		if !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return out
}

// readZones reads the boxes that the head must not enter.
func readZones(f *job.Fields, def []Zone) []Zone {
	items := f.Items("keep_out", zonesMax)
	if items == nil {
		return def
	}
	var out []Zone
	for i, z := range items {
		zone := Zone{Name: z.Text("name", fmt.Sprintf("zone %d", i+1), NameMax)}
		zone.Min = axes(z.Sub("min"), Axes{Z: -Unbounded()})
		zone.Max = axes(z.Sub("max"), Axes{Z: Unbounded()})
		switch {
		case !z.There("min") || !z.There("max"):
			z.Missing("max", "write {name: clamp, min: {x: 0, y: 0}, max: {x: 40, y: 30}}; without z at every height")
		case zone.Min.X >= zone.Max.X || zone.Min.Y >= zone.Max.Y || zone.Min.Z >= zone.Max.Z:
			z.Fault("min", "M009", "min is not below max on every axis", "give the corner nearest to machine zero's side as min")
		}
		z.Done()
		out = append(out, zone)
	}
	return out
}

// stillAfter is what a beam may stay in one place beyond the longest dwell, s.
const stillAfter = 0.5

// stillKerfs is the longest way, in kerfs, that a cut takes without getting two kerfs from
// where the beam came on: round a hole whose cut has a radius of 4/3 of a kerf, from half a
// radius beyond its middle, with a quarter of a turn over the start and half a radius out:
// (1.5 + 2.5 pi + 0.5) 4/3 = 13.1.
const stillKerfs = 14

// StillFor is how long the beam may stay in one place on a sheet, s: StillMax, or where nobody
// stated that, as long as the slowest cut that the sheet's settings ask for stays there. A weak
// beam cuts that slowly or not at all, and whoever stated the feed tried it.
func (p Profile) StillFor(m Material) float64 {
	slowest := math.Inf(1)
	for _, s := range [...]Setting{m.Cut, m.Score, m.Letter} {
		if s.Feed > 0 {
			slowest = math.Min(slowest, float64(s.Feed))
		}
	}
	if p.StillStated || p.StillMax == 0 {
		return p.StillMax
	}
	return math.Max(p.StillMax, stillKerfs*m.Kerf/slowest)
}

// readBeam reads what the beam is switched and measured by.
func readBeam(f *job.Fields, p *Profile) {
	p.BeamWord = f.Word("beam", p.BeamWord, "M4", "M3")
	p.PowerScale = f.Number("power_scale", job.Range{Default: p.PowerScale, Min: 1, Max: 1_000_000})
	p.PierceMax = f.Number("pierce_max", job.Range{Default: p.PierceMax, Min: 0, Max: 60}, "s")
	still := p.StillMax
	if still > 0 { // a beam may pierce as long as it may, and cut on from there
		still = math.Max(still, p.PierceMax+stillAfter)
	}
	p.StillMax = f.Number("still_max", job.Range{Default: still, Min: 0, Max: 600}, "s")
	p.StillStated = f.Has("still_max")
	p.Wavelength = f.Number("wavelength", job.Range{Default: p.Wavelength, Min: 180, Max: 1_000_000}, "nm")
	p.HasSpindle = f.Yes("spindle", p.HasSpindle)
	p.ToolIn = f.Whole("tool_in", job.Range{Default: float64(p.ToolIn), Min: 0, Max: 999})
	p.Floor = f.Length("floor", job.Range{Default: p.Floor, Min: -500, Max: 0})
}

// readMotion reads speeds and accelerations.
func readMotion(f *job.Fields, p *Profile) {
	p.FeedMax = feed(f, "feed_max", p.FeedMax)
	p.RapidMax = feed(f, "rapid_max", p.RapidMax)
	p.Rate = f.Number("rate", job.Range{Default: p.Rate, Max: rateMax})
	accel := func(key string, def float64) float64 {
		return f.Number(key, job.Range{Default: def, Min: 1, Max: 100_000}, "mm/s2", "mm/s²")
	}
	p.AccelCut = accel("accel_cut", p.AccelCut)
	p.AccelRap = accel("accel_rapid", p.AccelRap)
	p.Junction = f.Length("junction", job.Range{Default: p.Junction, Min: 0, Max: 5})
}

// readDialect reads what the controller understands beyond the published report.
func readDialect(f *job.Fields, p *Profile) {
	p.SemicolonComments = f.Yes("semicolon_comments", p.SemicolonComments)
	p.DwellMillis = f.Yes("dwell_ms", p.DwellMillis)
	if words := f.Words("extra_words", wordsMax); words != nil {
		p.ExtraWords = modeWords(f, "extra_words", words)
	}
	p.LineMax = f.Whole("line_max", job.Range{Default: float64(p.LineMax), Min: 16, Max: 65_536})
	p.NoArcCenterAbs = !f.Yes("arc_centre_absolute", !p.NoArcCenterAbs)
	readTraits(f, p)
	f.Done()
}

// angle reads an angle in degrees; the range's limits are degrees too.
func angle(f *job.Fields, key string, def geom.Angle, in job.Range) geom.Angle {
	in.Default = degrees(def)
	return f.Angle(key, in)
}

// StandsAt is where the head stands before a program, sheet frame: where the profile parks
// it, else the work zero.
func (p Profile) StandsAt() geom.Point {
	if p.Park == nil {
		return geom.Point{}
	}
	zero := p.Offsets[1]
	return geom.Point{X: p.Park.X - zero.X, Y: p.Park.Y - zero.Y}
}

// degrees is an angle as a file has it, without what radians leave below a millionth.
func degrees(a geom.Angle) float64 { return geom.Millionth(a.Degrees()) }

// readKnife reads the blade and its heights.
func readKnife(top *job.Fields, p *Profile) {
	f := top.Sub("knife")
	if p.Process != Knife {
		if top.Has("knife") {
			top.Fault("knife", "M015", "knife settings on a machine whose process is "+string(p.Process), "write process: knife, or remove them")
		}
		return
	}
	k := &p.Knife
	k.Offset = f.Length("offset", job.Range{Default: k.Offset, Min: 0.05, Max: 5})
	k.Wedge = angle(f, "wedge", k.Wedge, job.Range{Min: 10, Max: 80})
	k.ZUp = f.Length("up", job.Range{Default: k.ZUp, Min: 0.5, Max: 200})
	k.ZSkin = f.Length("skin", job.Range{Default: k.ZSkin, Min: -5, Max: 0})
	k.ZFloor = f.Length("floor", job.Range{Default: k.ZFloor, Min: -50, Max: -0.05})
	k.Plunge, k.Lift, k.Swivel = reached(f, "plunge", k.Plunge, *p), reached(f, "lift", k.Lift, *p), reached(f, "swivel", k.Swivel, *p)
	k.SwivelMax = angle(f, "swivel_angle", k.SwivelMax, job.Range{Min: 0, Max: 180})
	k.ArcMin = f.Length("arc_min", job.Range{Default: k.ArcMin, Min: 0, Max: 50})
	k.ArcTight = f.Word("tight_arcs", k.ArcTight, ArcsRefuse, ArcsCorner)
	k.Misalign = angle(f, "misalignment", k.Misalign, job.Range{Min: 0.05, Max: 30})
	k.SheetMax = f.Length("sheet_max", job.Range{Default: k.SheetMax, Min: 0.05, Max: 10})
	if k.ZSkin <= k.ZFloor {
		f.Fault("floor", "M015", fmt.Sprintf("the floor at %g mm is not below the skin depth of %g mm", k.ZFloor, k.ZSkin), "heights count from the sheet's upper face, up positive: skin -0.1, floor -1.2")
	}
	if k.ZSkin == 0 && k.SwivelMax < 180*geom.Degree {
		f.Fault("skin", "M015", fmt.Sprintf("with a skin depth of 0 mm the blade turns at full depth only, by no more than %g degrees, and letters turn it by up to 180", degrees(k.SwivelMax)),
			"give a depth just into the sheet's face, skin: -0.1, or swivel_angle: 180 if the machine may turn its blade at depth")
	}
	f.Done()
}

// reached reads a speed that the machine must reach. What nobody states is no faster than
// the machine.
func reached(f *job.Fields, key string, usual Feed, p Profile) Feed {
	v := feed(f, key, min(usual, p.FeedMax))
	tooFast(f, key, v, p)
	return v
}

// tooFast names a speed that is stated above the machine's fastest.
func tooFast(f *job.Fields, key string, v Feed, p Profile) {
	if v > p.FeedMax {
		f.Fault(key, "M014", fmt.Sprintf("%g mm/s is faster than the machine's %g mm/s", float64(v), float64(p.FeedMax)), "give a feed the machine reaches, or its feed_max")
	}
}

// readShopLimits reads the limits a workshop sets for itself and what it measured
// of its machine.
func readShopLimits(f *job.Fields, p *Profile) {
	p.MarginBed = f.Length("margin", job.Range{Default: p.MarginBed, Min: 0, Max: 200})
	p.SupportGrid = f.Length("support_pitch", job.Range{Default: p.SupportGrid, Min: 1, Max: 200})
	p.TimeMax = f.Number("time_max", job.Range{Default: p.TimeMax, Min: 1, Max: 1_000_000}, "s")
	p.RepeatMax = f.Whole("repeat_max", job.Range{Default: float64(p.RepeatMax), Min: 1, Max: 1000})
	s := f.Sub("scale_ppm")
	p.ScaleX = s.Number("x", job.Range{Default: p.ScaleX, Min: -50_000, Max: 50_000}, "ppm")
	p.ScaleY = s.Number("y", job.Range{Default: p.ScaleY, Min: -50_000, Max: 50_000}, "ppm")
	s.Done()
	p.SkewMicrons = f.Number("skew", job.Range{Default: p.SkewMicrons, Min: -50_000, Max: 50_000}, "µm/m", "um/m")
}

// checkTravel refuses a machine without travel and places outside it, and settles
// a knife's heights.
func checkTravel(f *job.Fields, p *Profile) {
	if p.Process == Shop {
		p.Min, p.Max, p.HasZ = Axes{}, Axes{}, false // a sheet is as large as the shop says
		return
	}
	if p.Max.X <= p.Min.X || p.Max.Y <= p.Min.Y {
		if t, l := f.Sub("travel"), f.Sub("limits"); (t.There("x") || l.There("x")) && (t.There("y") || l.There("y")) {
			return // reported where it was read
		}
		f.Fault("travel", "M005", "the travel in x and y is not given", "write travel: {x: 600, y: 400}, as far as the head can go")
		return
	}
	if p.Process == Router && p.Max.Z <= p.Min.Z {
		f.Fault("travel", "M005", "the travel in z is not given", "write travel: {x: 600, y: 400, z: 80}: a router goes up and down")
		return
	}
	if p.Process == Knife {
		p.HasZ = true
		switch {
		case math.IsInf(p.Min.Z, -1): // travel z was given: from the mat up
			p.Min.Z, p.Max.Z = p.Knife.ZFloor, job.OnGrid(p.Knife.ZFloor+p.Max.Z)
		case p.Max.Z <= p.Min.Z:
			p.Min.Z, p.Max.Z = p.Knife.ZFloor, job.OnGrid(p.Knife.ZFloor+builtinKnifeZ)
		}
	}
	if p.Park != nil && !p.inside(*p.Park) {
		f.Fault("park", "M009", "the park place is outside the travel", "give it in machine coordinates, inside travel or limits")
	}
	if span := math.Min(p.Max.X-p.Min.X, p.Max.Y-p.Min.Y); 2*p.MarginBed >= span {
		f.Fault("margin", "M005", fmt.Sprintf("a margin of %g mm a side leaves nothing of %g mm of travel", p.MarginBed, span), "give a margin of a few mm")
	}
}

// inside tells whether the head can stand there.
func (p Profile) inside(a Axes) bool {
	ok := a.X >= p.Min.X && a.X <= p.Max.X && a.Y >= p.Min.Y && a.Y <= p.Max.Y
	return ok && (!p.HasZ || a.Z >= p.Min.Z && a.Z <= p.Max.Z)
}
