package job

import (
	"fmt"
	"math"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
)

// Limits of a playing surface, mm. The smallest published one is 1800 x 900
// (skittle table), the largest 3569 x 1778 (WPBSA); toys and giants are outside.
const (
	lengthSurfaceMin, lengthSurfaceMax = 1000.0, 4000.0
	widthSurfaceMin, widthSurfaceMax   = 450.0, 2200.0
	// ratioMin and ratioMax: every published surface is 2:1 within 3.5 % (the
	// widest off is 113 x 58 in, 1.948, then 140.5 x 70 in, 2.007). Further off
	// one of the two figures is of something else.
	ratioMin, ratioMax = 1.8, 2.2
	// nominalTol: half an inch, as close as a nominal size is ever quoted, and half
	// of the last digit a length is shown with.
	nominalTol = 12.7 + 0.05
	// sizeTol: a table differs from the published surface of its own size by less
	// than this (published tolerances are +-13 mm and less; home tables vary more).
	sizeTol = 30.0
	// tapePM: a steel tape is read to 1 mm, so half of it either way, and is itself
	// true to about as much over 3.6 m (class II: 0.3 + 0.2 L mm, EU directive on
	// measuring instruments, from memory).
	tapePM = 1.0
)

// SizeInfo is a table as sold, with its published playing surface in mm.
type SizeInfo struct {
	Name   string
	L, W   float64
	Source string
}

// Sizes lists the names of tables that are known. A name stands for the published
// surface until the table is measured.
func Sizes() []SizeInfo {
	const in = figure.MMPerInch
	return []SizeInfo{
		{"12 ft snooker", 140.5 * in, 70 * in, "WPBSA Official Rules section 1: 11 ft 8 1/2 in x 5 ft 10 in"},
		{"metric snooker", 3500, 1750, "B&SCC rules, The Standard Table (Metric)"},
		{"10 ft snooker", 112 * in, 56 * in, "Colorado State University FAQ, table sizes"},
		{"12 ft pyramid", 3550, 1775, "pyramid technical requirements, part I"},
		{"match carom", 2840, 1420, "World Rules of Carom Billiard, article 11"},
		{"half-match carom", 2300, 1150, "DBU Materialnormen Karambol 2.1.2"},
		{"small carom", 2100, 1050, "DBU Materialnormen Karambol 2.1.2"},
		{"9 ft pool", 100 * in, 50 * in, "WPA equipment specifications section 5"},
		{"8 ft pro pool", 92 * in, 46 * in, "WPA equipment specifications section 5"},
		{"8 ft pool", 88 * in, 44 * in, "Colorado State University FAQ, table sizes"},
		{"7 ft pool", 78 * in, 39 * in, "Colorado State University FAQ, table sizes"},
		{"7 ft bar pool", 76 * in, 38 * in, "table size articles"},
		{"7 ft blackball", 72 * in, 36 * in, "BAPTO: overall size less about 12 in"},
		{"6 ft pool", 72 * in, 36 * in, "WEPF minimum playing surface"},
	}
}

// sizeNamed returns the known size of that name.
func sizeNamed(name string) (SizeInfo, bool) {
	for _, s := range Sizes() {
		if foldName(s.Name) == foldName(name) {
			return s, true
		}
	}
	return SizeInfo{}, false
}

// foldName drops blanks, hyphens and capitals.
func foldName(s string) string {
	out := make([]rune, 0, len(s))
	for _, r := range s {
		switch {
		case r == ' ' || r == '-' || r == '_':
		case 'A' <= r && r <= 'Z':
			out = append(out, r+'a'-'A')
		default:
			out = append(out, r)
		}
	}
	return string(out)
}

// nominal is a size that names a table or its slate and is no playing surface, or
// (with surface) may also be one.
type nominal struct {
	l, w    float64 // in
	name    string
	surface bool
}

// nominals are the sizes people read off a brochure or a slate.
func nominals() []nominal {
	return []nominal{
		{144, 72, "12 x 6 ft", false},
		{120, 60, "10 x 5 ft", false},
		{108, 54, "9 x 4 1/2 ft", false},
		{96, 48, "8 x 4 ft", false},
		{84, 42, "7 x 3 1/2 ft", true},
		{72, 36, "6 x 3 ft", true},
	}
}

// table reads the table and survey sections into the job.
func (r *reader) table(j *Job) {
	top := r.top
	f := top.Sub("table")
	t := &j.Table
	t.Name = f.Text("size", "", nameMax)
	measured := f.Word("measured", "", "nose-to-nose") != ""
	t.L = f.Length("length", Range{Min: lengthSurfaceMin, Max: lengthSurfaceMax})
	t.W = f.Length("width", Range{Min: widthSurfaceMin, Max: widthSurfaceMax})
	t.NoseHeight = f.Length("nose_height", Range{Min: 20, Max: 60})
	t.Undercut = f.Length("undercut", Range{Min: 0, Max: 60})
	t.TapePM = f.Length("resolution", Range{Default: tapePM, Min: 0.05, Max: 10})
	f.Idle("undercut", noUndercut, noUndercutHelp)
	f.Done()

	sec := top.Section("survey")
	if sec.Given() {
		sf := top.Sub("survey")
		s := survey(sf, *t)
		j.Survey = &s
		t.NoseHeight, t.Undercut, t.TapePM = s.NoseHeight, s.Undercut, s.Resolution
		for _, key := range []string{"nose_height", "undercut", "resolution"} {
			if sf.Has(key) {
				f.Idle(key, "the survey has its own", "keep one of the two")
			}
		}
		if f.Has("length") || f.Has("width") {
			f.Fault("length", "J016", "both a length or width and a survey are given", "keep the survey, or keep length and width")
		}
		key := "length_left"
		if s.LengthLeft == 0 {
			key = "length_right"
		}
		r.checkSurface(sf, key, surface{surveyMean(s.LengthLeft, s.LengthRight), surveyMean(s.WidthHead, s.WidthMiddle, s.WidthFoot), measured})
		return
	}
	if !r.publishedOr(f, t) {
		return
	}
	if f.Has("length") {
		r.checkSurface(f, "length", surface{t.L, t.W, measured})
	}
	t.Corners = [4][2]float64{{0, -t.W / 2}, {t.L, -t.W / 2}, {t.L, t.W / 2}, {0, t.W / 2}}
}

// publishedOr fills in the published surface where none is measured; ok is false when
// there is no surface at all or a fault was reported.
func (r *reader) publishedOr(f *Fields, t *layout.Table) (ok bool) {
	const help = "measure from cushion nose to cushion nose and write table: {length: 2541, width: 1269.5}"
	known, isKnown := sizeNamed(t.Name)
	hasL, hasW := f.Has("length"), f.Has("width")
	switch {
	case hasL && hasW:
		if t.L == 0 || t.W == 0 {
			return false // reported where it was read
		}
		return true // checkSurface looks at them
	case hasL != hasW:
		missing := "width"
		if hasW {
			missing = "length"
		}
		f.Missing(missing, help)
		return false
	case f.misspelt("length") || f.misspelt("width") || !f.sec.Given() && r.top.misspelt("table"):
		return false // the key as spelt is named
	case isKnown:
		if t.L == 0 || t.W == 0 {
			t.L, t.W = known.L, known.W
		}
		f.Settle("length", Exact(t.L)+" mm")
		f.Settle("width", Exact(t.W)+" mm")
		f.Idle("measured", "no length and width are given that it could be said of", "give length and width as measured")
		r.notes.Add(f.Problem("size", "J019", fmt.Sprintf("no length and width are given: the published %s x %s is used",
			figure.MM(known.L), figure.MM(known.W)), "measure this table from cushion nose to cushion nose before cutting anything"))
		return true
	case t.Name != "":
		var names []string
		for _, s := range Sizes() {
			names = append(names, s.Name)
		}
		f.Fault("size", "J017", fmt.Sprintf("no length and width are given, and no surface is published for %q; %s", t.Name, problem.DidYouMean(t.Name, names)), help)
		return false
	}
	f.Fault("", "J003", "the table's length and width are needed", help)
	return false
}

// surveyMean is the mean of the readings taken; 0 when there are none.
func surveyMean(readings ...float64) float64 {
	sum, n := 0.0, 0
	for _, v := range readings {
		if v != 0 {
			sum, n = sum+v, n+1
		}
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}

// surface is a playing surface as given, 0 where it is not.
type surface struct {
	l, w     float64
	measured bool // stated to be measured nose to nose
}

// checkSurface refuses a surface that is a nominal size or not 2:1, at the key that
// gave the length.
func (r *reader) checkSurface(f *Fields, key string, of surface) {
	l, w := of.l, of.w
	if l == 0 || w == 0 {
		return
	}
	size := figure.MM(l) + " x " + figure.MM(w)
	if l <= w {
		f.Fault(key, "J015", size+": the length is not the longer side", "exchange length and width")
		return
	}
	if ratio := l / w; ratio < ratioMin || ratio > ratioMax {
		f.Fault(key, "J015", fmt.Sprintf("%s: the length is %.2f times the width; every table played on is within %g to %g", size, ratio, ratioMin, ratioMax),
			"measure both again, from cushion nose to cushion nose")
		return
	}
	r.checkName(f, l, w)
	if of.measured {
		return
	}
	for _, n := range nominals() {
		if math.Abs(l-n.l*figure.MMPerInch) > nominalTol || math.Abs(w-n.w*figure.MMPerInch) > nominalTol {
			continue
		}
		about := fmt.Sprintf("%s is the nominal or slate size %g x %g in (%s)", size, n.l, n.w, n.name)
		if n.surface {
			r.notes.Add(f.Problem(key, "J014", about+", which is also a real playing surface",
				"make sure it was measured between cushion noses, then write measured: nose-to-nose"))
			return
		}
		f.Fault(key, "J013", about+", not the playing surface",
			"measure between cushion noses; if this was measured so, write measured: nose-to-nose")
	}
}

// Measured to the wooden rail or the slate instead of the nose, both readings come out
// over by twice the nose's overhang: 50 to 110 mm, alike within the tape and the
// table. Common practice.
const (
	overhangMin, overhangMax = 50.0, 110.0
	overhangAlike            = 12.0
)

// checkName notes a surface that is not the one published for the table's name.
func (r *reader) checkName(f *Fields, l, w float64) {
	name := f
	if f.sec.Path != "table" {
		name = Open(r.top.Section("table"), new(problem.List))
	}
	known, ok := sizeNamed(name.Text("size", "", nameMax))
	if !ok || math.Abs(l-known.L) <= sizeTol && math.Abs(w-known.W) <= sizeTol {
		return
	}
	msg := fmt.Sprintf("%s is published as %s x %s, this one measures %s x %s",
		known.Name, figure.MM(known.L), figure.MM(known.W), figure.MM(l), figure.MM(w))
	help := "check the name and both readings; the readings are used"
	over := [2]float64{l - known.L, w - known.W}
	if min(over[0], over[1]) >= overhangMin && max(over[0], over[1]) <= overhangMax && math.Abs(over[0]-over[1]) <= overhangAlike {
		msg += fmt.Sprintf(": both are over by about %s, as if measured to the rail or the slate", figure.MM((over[0]+over[1])/2))
		help = "measure from cushion nose to cushion nose, at nose height, before marking or cutting anything"
	}
	r.notes.Add(name.Problem("size", "J017", msg, help))
}

// Why nobody asks how far the rubber falls back.
const (
	noUndercut     = "a template is clear of the rubber however little it falls back"
	noUndercutHelp = "keep it for your own records, or remove it"
)

// survey reads the readings taken; which of them make a table is layout's to say.
func survey(f *Fields, t layout.Table) layout.Survey {
	defer f.Done()
	long := Range{Min: lengthSurfaceMin, Max: lengthSurfaceMax}
	wide := Range{Min: widthSurfaceMin, Max: widthSurfaceMax}
	across := Range{Min: lengthSurfaceMin, Max: 1.2 * lengthSurfaceMax}
	station := Range{Min: 0, Max: lengthSurfaceMax / 2}
	gap := Range{Min: -20, Max: 20}
	s := layout.Survey{
		LengthLeft:    f.Length("length_left", long),
		LengthRight:   f.Length("length_right", long),
		WidthHead:     f.Length("width_head", wide),
		WidthMiddle:   f.Length("width_middle", wide),
		WidthFoot:     f.Length("width_foot", wide),
		DiagLeftHead:  f.Length("diagonal_left_head", across),
		DiagRightHead: f.Length("diagonal_right_head", across),
		SideStation:   f.Length("side_station", station),
		WidthStation:  f.Length("width_station", station),
		DiagStation:   f.Length("diagonal_station", station),
		NoseHeight:    f.Length("nose_height", Range{Default: t.NoseHeight, Min: 20, Max: 60}),
		Undercut:      f.Length("undercut", Range{Default: t.Undercut, Min: 0, Max: 60}),
		GapHead:       f.Length("gap_head", gap),
		GapFoot:       f.Length("gap_foot", gap),
		GapLeft:       f.Length("gap_left", gap),
		GapRight:      f.Length("gap_right", gap),
		Strung:        f.Has("gap_head") && f.Has("gap_foot"),
		Resolution:    f.Length("resolution", Range{Default: t.TapePM, Min: 0.05, Max: 10}),
	}
	f.Idle("undercut", noUndercut, noUndercutHelp)
	for _, of := range []struct {
		key, what string
		readings  float64
	}{
		{"side_station", "lengths", s.LengthLeft + s.LengthRight},
		{"width_station", "widths at the ends", s.WidthHead + s.WidthFoot},
		{"diagonal_station", "diagonals", s.DiagLeftHead + s.DiagRightHead},
	} {
		if of.readings == 0 {
			f.Idle(of.key, "no "+of.what+" were read", "give the readings, or remove it")
		}
	}
	return s
}
