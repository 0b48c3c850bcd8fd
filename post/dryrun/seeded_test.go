package dryrun

import (
	"context"
	"fmt"
	"math"
	"math/rand"
	"os"
	"sort"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
)

// Clean programs in the habits of many writers, and one fault of every kind planted in
// each program that can carry it. All of them are made here.

// habit is one way of writing programs.
type habit struct {
	name  string
	knife bool
	text  string
}

// seedLaser is a laser of 600 x 400 with Z, and everything switched on that has a limit.
func seedLaser() *machine.Profile {
	return &machine.Profile{Name: "seed laser", Process: machine.Laser, HasZ: true,
		Min: machine.Axes{Z: -10}, Max: machine.Axes{X: 600, Y: 400, Z: 50}, Offsets: map[int]machine.Axes{1: {}, 2: {X: 100}},
		KeepOut:    []machine.Zone{{Name: "clamp", Min: machine.Axes{X: 560, Y: 360}, Max: machine.Axes{X: 580, Y: 380}}},
		PowerScale: 1000, PierceMax: 0.5, PowerOn: []string{"M5", "S0"}, NoArcCenterAbs: true, FeedMax: 200, RapidMax: 300, AccelCut: 1500, AccelRap: 3000, Junction: 0.02,
		LineMax: 80, RepeatMax: 4, TimeMax: 3600}
}

// seedKnife is a drag knife of 600 x 300.
func seedKnife() *machine.Profile {
	return &machine.Profile{Name: "seed knife", Process: machine.Knife, HasZ: true,
		Min: machine.Axes{Z: -2}, Max: machine.Axes{X: 600, Y: 300, Z: 20}, Offsets: map[int]machine.Axes{1: {}},
		FeedMax: 200, RapidMax: 200, AccelCut: 1000, AccelRap: 2000, Junction: 0.02, LineMax: 80, TimeMax: 3600, NoArcCenterAbs: true,
		Knife: machine.KnifeProfile{Offset: 0.5, ZUp: 5, ZSkin: -0.1, ZFloor: -1.2, SwivelMax: 25 * geom.Degree, ArcMin: 0.9, Misalign: 1 * geom.Degree}}
}

const modesLine = "G21 G90 G17 G94 G40 G49 G54\n"

// cleanPrograms are the originals. Each marks the line before which anything may be put
// (the beam off, the blade up, in G90 and mm) with a comment (safe), and the
// line before which the beam is on or the blade down with (live).
func cleanPrograms() []habit {
	return []habit{
		{"laser, one word for the beam a line", false, "(OPENING H2 black)\nG17 G21 G40 G49\nG54 G80 G90 G94\nM5\nS0\n(safe)\nG0 X10.0000 Y10.0000\nM4\nS300\nG1 X50.0000 F1200\n(live)\nG2 X60.0000 Y20.0000 I0.0000 J10.0000\nG1 X60.0000 Y40.0000\nS0\nM5\nM2\n"},
		{"inches", false, "G20 G90 G17 G94 G40 G49 G54\nM5 S0\n(safe)\nG0 X1.00000 Y1.00000\nM4 S250\nG1 X3.00000 F40\n(live)\nG3 X3.50000 Y1.50000 I0 J0.5\nG1 Y3\nM5\nS0\nM30\n"},
		{"incremental", false, "G21 G91 G17 G94 G40 G49 G54\nM5 S0\nG0 X20 Y20\nM4\nS300\nG1 X40 F900\n(live)\nG1 Y40\nG1 X-40\nG1 Y-40\nS0\nM5\nG90\n(safe)\nG0 X0 Y0\nM2\n"},
		{"radius arcs", false, modesLine + "M5 S0\n(safe)\nG0 X100 Y100\nM3 S400\nG1 X150 F1500\n(live)\nG2 X170 Y80 R20\nG1 Y50\nG2 X150 Y30 R20\nM5\nM2\n"},
		{"no spaces", false, "G21G90G17G94G40G49G54\nM5S0\n(safe)\nG0X10Y10\nM4S300\nG1X50F1200\n(live)\nY50\nX10\nY10\nM5\nM2\n"},
		{"N words", false, "N10 G21 G90 G17 G94\nN20 G40 G49 G54\nN30 M5 S0\n(safe)\nN40 G0 X10 Y10\nN50 M4\nN60 S300\nN70 G1 X50 F1200\n(live)\nN80 G1 Y50\nN90 S0\nN100 M5\nN110 M2\n"},
		{"lower case", false, "g21 g90 g17 g94 g40 g49 g54\nm5 s0\n(safe)\ng0 x10 y10\nm4\ns300\ng1 x50 f1200\n(live)\ng1 y50\ns0\nm5\nm2\n"},
		{"CR LF", false, strings.ReplaceAll(modesLine+"M5 S0\n(safe)\nG0 X10 Y10\nM4\nS300\nG1 X50 F1200\n(live)\nG1 Y50\nS0\nM5\nM2\n", "\n", "\r\n")},
		{"percent lines", false, "%\n(part 7)\n" + modesLine + "M5 S0\n(safe)\nG0 X10 Y10\nM4\nS300\nG1 X50 F1200\n(live)\nG1 Y50\nS0\nM5\nM2\n%\n"},
		{"rows of a picture", false, rasterRows()},
		{"many passes with Z", false, modesLine + "M5 S0\nG0 Z5\n(safe)\nG0 X10 Y10\n" + passes(4) + "G0 Z5\nM2\n"},
		{"parameters", false, modesLine + "M5 S0\n#1=10 #2=40\n(safe)\nG0 X#1 Y#1\nM4\nS300\nG1 X[#1+#2] F[600*2]\n(live)\nG1 Y[#1+#2]\nS0\nM5\nM2\n"},
		{"knife, swivels at corners", true, modesLine + "G0 Z5\n(safe)\nG0 X20 Y20\nG1 Z-0.6 F300\nG1 X26 F900\nG1 X50.5\n(live)\nG1 Z-0.1 F300\nG3 X50 Y20.5 I-0.5 J0\nG1 Z-0.6\nG1 Y50.5 F900\nG0 Z5\nM2\n"},
		{"knife, smooth contour", true, modesLine + "G0 Z5\n(safe)\nG0 X100.5 Y100\nG1 Z-0.6 F300\nG1 X110.5 F900\n(live)\nG3 X115 Y105.5 I-0.5 J5\nG1 X115 Y115.5\nG0 Z5\nM2\n"},
	}
}

// rasterRows has no subprograms: every row is written out.
func rasterRows() string {
	var b strings.Builder
	b.WriteString(modesLine + "M5 S0\nF6000\n(safe)\nM4\n")
	rnd := rand.New(rand.NewSource(3))
	for row := 0; row < 20; row++ {
		y := 50 + float64(row)/10
		fmt.Fprintf(&b, "G0 X50.000 Y%.3f S0\n", y)
		for i := 1; i < 40; i++ {
			fmt.Fprintf(&b, "G1 X%.3f S%d\n", 50+float64(i)/5, 1+rnd.Intn(999))
			if row == 3 && i == 7 {
				b.WriteString("(live)\n")
			}
		}
	}
	return b.String() + "S0\nM5\nM2\n"
}

// passes cuts one square at several depths.
func passes(n int) string {
	var b strings.Builder
	for i := 0; i < n; i++ {
		fmt.Fprintf(&b, "G0 X10 Y10\nG0 Z%d\nM3 S500\nG1 X40 F1000\n", 4-i)
		if i == 1 {
			b.WriteString("(live)\n")
		}
		b.WriteString("G1 Y40\nG1 X10\nG1 Y10\nM5\n")
	}
	return b.String()
}

// seed is one kind of fault. plant returns the faulty program, "" when this program cannot carry it.
type seed struct {
	kind  string
	code  string
	plant func(h habit) string
	opt   func(o *Options)
}

// putBefore puts lines before a mark.
func putBefore(h habit, mark, lines string) string {
	if !strings.Contains(h.text, mark) {
		return ""
	}
	end := "\n"
	if strings.Contains(h.text, "\r\n") {
		end = "\r\n"
	}
	return strings.Replace(h.text, mark, strings.ReplaceAll(lines, "\n", end)+end+mark, 1)
}

func atSafe(lines string) func(habit) string {
	return func(h habit) string { return putBefore(h, "(safe)", lines) }
}

func atLive(lines string) func(habit) string {
	return func(h habit) string {
		if h.knife {
			return ""
		}
		return putBefore(h, "(live)", lines)
	}
}

func atLiveKnife(lines string) func(habit) string {
	return func(h habit) string {
		if !h.knife {
			return ""
		}
		return putBefore(h, "(live)", lines)
	}
}

func laserOnly(f func(habit) string) func(habit) string {
	return func(h habit) string {
		if h.knife {
			return ""
		}
		return f(h)
	}
}

func knifeOnly(f func(habit) string) func(habit) string {
	return func(h habit) string {
		if !h.knife {
			return ""
		}
		return f(h)
	}
}

// without drops a word from the whole program, whatever its case.
func without(word string) func(habit) string {
	return func(h habit) string {
		for _, w := range []string{word, strings.ToLower(word)} {
			for _, follow := range []string{" ", "\n", "\r", "G", "M"} {
				if strings.Contains(h.text, w+follow) {
					return strings.ReplaceAll(h.text, w+follow, follow)
				}
			}
		}
		return ""
	}
}

// ending replaces the last line that ends the program.
func ending(by string) func(habit) string {
	return func(h habit) string {
		if strings.Contains(h.text, "%") {
			return ""
		}
		for _, w := range []string{"M2", "m2", "M30"} {
			if i := strings.LastIndex(h.text, w); i >= 0 {
				return h.text[:i] + by + "\n"
			}
		}
		return ""
	}
}

// mmOnly plants nothing in a program in inches.
func mmOnly(f func(habit) string) func(habit) string {
	return func(h habit) string {
		if h.name == "inches" {
			return ""
		}
		return f(h)
	}
}

func seeds() []seed {
	s := []seed{
		{"past the X limit", Travel, mmOnly(atSafe("G0 X600.01 Y10")), nil},
		{"below the Y limit", Travel, mmOnly(atSafe("G0 X10 Y-0.01")), nil},
		{"an arc past the limit, ends inside", Travel, mmOnly(laserOnly(atSafe("G0 X10 Y1\nG1 X10 Y1 F600\nG3 X20 Y1 I5 J0\nG0 X10 Y10"))), nil},
		{"work offset past the limit", Travel, mmOnly(laserOnly(atSafe("G55\nG0 X550 Y10\nG54"))), nil},
		{"a shift past the limit", Travel, mmOnly(atSafe("G0 X10 Y10\nG92 X500\nG0 X50\nG0 X0\nG92.1")), nil},
		{"a shift of coordinates", Shifted, mmOnly(atSafe("G0 X10 Y10\nG92 X10 Y10")), nil},
		{"keep-out zone, rapid round its corner", KeepOut, mmOnly(laserOnly(atSafe("G0 X550 Y370\nG0 X570 Y390"))), nil},
		{"keep-out zone, cut", KeepOut, mmOnly(laserOnly(atSafe("G0 X550 Y370\nG1 X590 Y370 F600"))), nil},
		{"keep-out zone, arc", KeepOut, mmOnly(laserOnly(atSafe("G0 X555 Y370\nG1 X556 F600\nG2 X584 Y370 I14 J0"))), nil},
		{"off the sheet", OffStock, atLive("G90 G1 X310 Y10 F600"), func(o *Options) { o.Stock.Max.X = 300 }},
		{"through the sheet", ThroughSheet, mmOnly(laserOnly(atSafe("G0 Z-6"))), nil},
		{"below the mat", BelowFloor, atLiveKnife("G1 Z-1.3 F300"), nil},
		{"home not declared", "D208", atSafe("G28"), nil},
		{"move to the stored home", WentHome, mmOnly(atSafe("G28")), func(o *Options) { o.Machine.Home28 = &machine.Axes{X: 1, Y: 1, Z: 5} }},
		{"Z on a machine without", "D212", mmOnly(laserOnly(atSafe("G0 Z0"))), func(o *Options) { o.Machine.HasZ = false }},
		{"beam on in a rapid", RapidBeam, atLive("G90 G0 X30 Y30"), nil},
		{"beam on in a dwell", DwellBeam, atLive("G4 P0.6"), nil},
		{"beam on at a stop", PauseBeam, atLive("M0"), nil},
		{"beam on standing still", StillBeam, mmOnly(laserOnly(atSafe("M3 S200\nM5"))), nil},
		{"beam on at the end", EndBeam, laserOnly(ending("M3 S100\nM2")), nil},
		{"power over full scale", PowerScale, atLive("S1001"), nil},
		{"power over the cap", PowerCap, atLive("S901"), func(o *Options) { o.Material = &machine.Material{Name: "thin", PowerCap: 900} }},
		{"M5 behind the move", StopEarly, atLive("G90 G1 X35 Y35 F600 M5"), nil},
		{"M3 behind the move", StartEarly, mmOnly(laserOnly(atSafe("G1 X35 Y35 F600 M3\nM5"))), nil},
		{"G91 behind the move", ModeEarly, mmOnly(atSafe("G0 X3 Y3 G91\nG90")), nil},
		{"a path burnt five times", BurntOften, atLive("G90 G1 X30 Y30 F600\nX31\nX30\nX31\nX30\nX31"), nil},
		{"a cut that goes nowhere", NoMotion, atLive("G91 G1 X0 F600\nG90"), nil},
		{"spindle word on a knife", NoSpindle, knifeOnly(atSafe("M3 S1000")), nil},
		{"tool word", NoTools, atSafe("T1"), nil},
		{"feed over the limit", FeedOver, atLive("G90 G1 X30 Y30 F12001"), nil},
		{"takes too long", TooLong, atSafe("G4 P3600"), nil},
		{"dwell in milliseconds", DwellLong, atSafe("G4 P500"), nil},
		{"stop and go on", PauseMoves, atSafe("M0"), nil},
		{"radius arc near half a turn", "D409", mmOnly(laserOnly(atSafe("G0 X10 Y10\nG1 X11 F600\nG2 X31 Y10 R10.001"))), nil},
		{"arc next to a whole turn", "D410", mmOnly(laserOnly(atSafe("G0 X50 Y50\nG1 X51 F600\nG2 X51 Y50.0005 I-10 J0"))), nil},
		{"rapid with the blade down", BladeRapid, atLiveKnife("G0 X70 Y20"), nil},
		{"blade turned 90 degrees at depth", BladeTurn, atLiveKnife("G1 Y26 F900"), nil},
		{"swivel of 90 degrees at depth", BladeTurn, func(h habit) string {
			if !strings.Contains(h.name, "swivels") {
				return ""
			}
			return strings.Replace(h.text, "G1 Z-0.1 F300\n", "", 1)
		}, nil},
		{"plunge while moving", BladePlunge, knifeOnly(atSafe("G0 X70 Y70\nG1 X80 Z-0.5 F300\nG0 Z5")), nil},
		{"plunge at travel speed", BladePlunge, knifeOnly(atSafe("G0 X70 Y70\nG0 Z-0.5\nG0 Z5")), nil},
		{"heading not known", BladeHeading, knifeOnly(func(h habit) string {
			return strings.Replace(h.text, "(safe)", "G0 X70 Y70\nG1 Z-0.5 F300\nG1 X70.2\nG1 X70.4\nG1 X70.6\nG0 Z5\n(safe)", 1)
		}), nil},
		{"arc tighter than the blade", BladeArc, atLiveKnife("G91\nG1 X10\nG3 X0.8 Y0.8 J0.8\nG90"), nil},
		{"line too long for the machine", "D112", atSafe("(" + strings.Repeat("-", 79) + ")"), nil},
		{"no end", "D128", ending(""), nil},
		{"words after the end", "D129", ending("M2\nG0 X1"), nil},
		{"no closing percent", "D126", func(h habit) string {
			if i := strings.LastIndex(h.text, "M2\n%"); i > 0 {
				return h.text[:i]
			}
			return ""
		}, nil},
		{"percent in the middle", "D127", func(h habit) string {
			if strings.HasPrefix(h.text, "%") {
				return ""
			}
			return putBefore(h, "(safe)", "%")
		}, nil},
		{"units not stated", "D301", func(h habit) string {
			if p := without("G21")(h); p != "" {
				return p
			}
			return without("G20")(h)
		}, nil},
		{"distance mode not stated", "D302", func(h habit) string {
			if h.name == "incremental" {
				return without("G91")(h)
			}
			return without("G90")(h)
		}, nil},
		{"plane not stated", "D303", without("G17"), nil},
		{"work offset not stated", "D304", without("G54"), nil},
		{"feed mode not stated", "D305", without("G94"), nil},
		{"compensation not stated", "D306", without("G40"), nil},
		{"length offset not stated", "D307", without("G49"), nil},
		{"no feed", "D501", atSafe("G1 X10 Y10 F0"), nil},
		{"no feed in G93", "D502", mmOnly(atSafe("G93 G1 X10 Y10 F5\nG1 X11\nG94")), nil},
		{"units changed", "D211", func(h habit) string {
			if h.name == "inches" {
				return putBefore(h, "(live)", "G21")
			}
			return putBefore(h, "(live)", "G20")
		}, nil},
		{"arc off its circle", "D401", mmOnly(laserOnly(atSafe("G0 X50 Y50\nG1 X51 F600\nG2 X61 Y50 I5.01 J0"))), nil},
		{"radius too short", "D402", mmOnly(laserOnly(atSafe("G0 X50 Y50\nG1 X51 F600\nG2 X71 Y50 R9"))), nil},
	}
	power := func(o *Options) { o.Machine.PowerOn = nil }
	router := func(o *Options) { o.Machine.Process, o.Machine.HasSpindle = machine.Router, true }
	spindle := func(o *Options) { o.Machine.HasSpindle = true }
	s = append(s, []seed{
		{"code by rounding", "D134", mmOnly(atSafe("G0.99999 X10 Y10 F600")), nil},
		{"blank inside a number", "D135", mmOnly(atSafe("G0 X1 0")), nil},
		{"stop sign in a comment", "D136", atSafe("(stop!)"), nil},
		{"umlaut in a comment", "D136", atSafe("(Gr\u00f6\u00dfe)"), nil},
		{"comment for the operator", "D137", atSafe("( msg , look)"), nil},
		{"CR alone", "D138", func(h habit) string { return strings.Replace(h.text, "\n", "\r", 3) }, nil},
		{"one line with CR LF", "D139", func(h habit) string {
			if strings.Contains(h.text, "\r") {
				return strings.Replace(h.text, "\r\n", "\n", 1)
			}
			return strings.Replace(h.text, "\n", "\r\n", 1)
		}, nil},
		{"byte-order mark", "D140", func(h habit) string { return "\xEF\xBB\xBF" + h.text }, nil},
		{"more decimals than read", "D141", mmOnly(atSafe("G0 X10.001")), func(o *Options) { o.Machine.Decimals = 2 }},
		{"code that is refused", "D142", atSafe("G64"), func(o *Options) { o.Machine.Refused = []string{"G64"} }},
		{"setting", "D143", atSafe("$30=255"), nil},
		{"first tool", "D213", laserOnly(atSafe("T1 M6")), spindle},
		{"cut after going home", "D214", mmOnly(atSafe("G91 G28 Y0\nG90 G1 X20 F600")), func(o *Options) { o.Machine.Home28 = &machine.Axes{X: 5, Y: 5, Z: 5} }},
		{"work zero nobody declared", "D215", laserOnly(atSafe("G0 X10")), func(o *Options) { o.Machine.Offsets = nil }},
		{"origin written", "D216", atSafe("G10 L2 P1 X0 Y0"), nil},
		{"home written", "D216", atSafe("#5161=0"), nil},
		{"beam not stated", "D309", laserOnly(func(h habit) string {
			if strings.HasPrefix(h.name, "rows") { // M4 and S0 stand before its first move
				return ""
			}
			return strings.NewReplacer("M5 S0", "", "M5S0", "", "m5 s0", "", "M5\nS0\n(safe)", "(safe)").Replace(h.text)
		}), power},
		{"power not stated", "D310", func(h habit) string {
			if h.name != "radius arcs" {
				return ""
			}
			return strings.NewReplacer("M5 S0", "M5", "M3 S400", "M3").Replace(h.text)
		}, power},
		{"beam never switched", "D311", func(h habit) string {
			if h.name != "radius arcs" {
				return ""
			}
			return strings.NewReplacer("M5 S0", "S0", "M3 S400", "S400").Replace(h.text)
		}, power},
		{"short dwells in a row", DwellBeam, atLive("G4 P0.2\nG4 P0.2\nG4 P0.2"), nil},
		{"short dwells with power rewritten", DwellBeam, atLive("G4 P0.2\nS301\nG4 P0.2\nS302\nG4 P0.2"), nil},
		{"short dwells between steps of a last digit", DwellBeam, atLive("G91\nG4 P0.2\nG1 X0.0001\nG4 P0.2\nG1 X0.0001\nG4 P0.2\nG90"), nil},
		{"a crawl", StillLong, atLive("G91 G1 X10 F0.01\nG90"), func(o *Options) { o.Machine.TimeMax = 0 }},
		{"a crawl in inverse time", StillLong, mmOnly(atLive("G91 G93 G1 X0.5 F0.01\nG90 G94 F600")), func(o *Options) { o.Machine.TimeMax = 0 }},
		{"circles of a hundredth", StillLong, mmOnly(atLive("G91\n" + strings.Repeat("G2 X0 Y0 I0.01 J0 F60\n", 1200) + "G90")), nil},
		{"power written ever again", StillLong, atLive(strings.Repeat("S300\nS301\n", 600)), nil},
		{"the other beam word", OtherWord, laserOnly(atSafe("M3 S0\nM5")), func(o *Options) { o.Machine.BeamWord = "M4" }},
		{"spindle off in the sheet", MillStill, mmOnly(laserOnly(atSafe("G0 Z5\nG0 X20 Y20\nG1 Z-1 F300\nG0 Z5"))), router},
		{"rapid with the tool in the sheet", MillRapid, mmOnly(laserOnly(atSafe("M3\nG0 Z5\nG0 X20 Y20\nG0 Z-1\nG0 Z5\nM5"))), router},
		{"no lift before the first travel", BladeHeight, knifeOnly(func(h habit) string { return strings.Replace(h.text, "G0 Z5\n", "", 1) }), nil},
		{"blade down at the end", BladeLeft, knifeOnly(func(h habit) string { return strings.Replace(h.text, "G0 Z5\nM2", "M2", 1) }), nil},
		{"plunge faster than the profile's", BladeFast, knifeOnly(func(h habit) string { return h.text + " " }), func(o *Options) { o.Machine.Knife.Plunge = 4.9 }},
		{"dip on an arc across the sheet", BladePlunge, knifeOnly(atSafe("G0 X70 Y70 Z0.5\nG18 G2 X72 Z0.5 I1 K0 F300\nG17\nG0 Z5")), nil},
		{"corners rounded far", WideBlend, mmOnly(atSafe("G64 P0.5")), nil},
		{"program's name", "D145", func(h habit) string {
			if strings.HasPrefix(h.text, "%") {
				return strings.Replace(h.text, "%\n", "%\nO0012 (left side)\n", 1)
			}
			return "O12\n" + h.text
		}, nil},
		{"cycle in two ways", "D411", mmOnly(laserOnly(atSafe("G0 X10 Y10 Z9\nG91 G99 G81 X5 Y5 Z-1 R-1 L3 F600\nG80 G90"))), nil},
	}...)
	for _, c := range []struct{ kind, code, line string }{
		{"unknown character", "D101", "@"}, {"semicolon comment", "D144", "; note"}, {"controller command", "D101", "$H"}, {"NUL", "D101", "\x00"}, {"non-ASCII", "D101", "G0 X1 é"},
		{"program number", "D102", "O1000"}, {"unknown letter", "D102", "G0 U1"}, {"unknown G", "D103", "G5 X1"}, {"absolute arc centres", "D103", "G90.1"}, {"G70", "D103", "G70"},
		{"unknown M", "D104", "M106"}, {"two points", "D105", "G0 X1.2.3"}, {"letter without number", "D105", "G0 X"}, {"exponent", "D102", "G0 X1E1"}, {"huge number", "D106", "G0 X10000000000"},
		{"word twice", "D107", "G0 X1 X2"}, {"two motions", "D108", "G0 G1 X1"}, {"five M words", "D109", "M5 M8 M48 M0 M6"}, {"comment in a comment", "D110", "(a (b))"}, {"comment left open", "D110", "(a"},
		{"long line number", "D111", "N100000 M5"}, {"N in the middle", "D111", "M5 N10"}, {"bracket left open", "D113", "G0 X[1"}, {"division by zero", "D114", "G0 X[1/0]"},
		{"deep expression", "D115", "#1=" + strings.Repeat("[", 33) + "1" + strings.Repeat("]", 33)}, {"parameter zero", "D116", "#0=1"}, {"parameter unset", "D117", "G0 X#99"},
		{"controller's parameter", "D118", "#5221=1"}, {"unused word", "D119", "G0 X10 K1"}, {"G2 alone", "D120", "G2"}, {"axis words twice", "D121", "G1 G92 X1"}, {"after G80", "D122", "G80\nX10"},
		{"half a tool", "D123", "T1.5"}, {"negative feed", "D124", "F-1"}, {"negative dwell", "D124", "G4 P-1"}, {"dwell without time", "D125", "G4"}, {"G10 L20", "D130", "G10 L20 P1 X0"},
		{"G53 in an arc", "D131", "G53 G2 X1 I1 F1"}, {"cycle without end", "D132", "G98 G81 X1 Y1 Z0 R1 L9999 F1\nG80"}, {"cycle, R below Z", "D133", "G98 G81 X1 Y1 Z3 R1 F1\nG80"},
		{"rotary axis", "D201", "G0 X10 A5"}, {"cutter compensation", "D202", "G41 D1"}, {"tool length", "D203", "G43 H1"}, {"probe", "D204", "G38.2 X10 F1"}, {"tapping", "D205", "G84 X1 Z1 R1 F1"},
		{"tool change", "D206", "M6"}, {"pallet", "D207", "M60"}, {"G30", "D208", "G30"}, {"work offset unknown", "D209", "G56 G0 X1"}, {"old shift", "D210", "G92.3"},
		{"cycle without return level", "D308", "G81 X1 Y1 Z0 R1 F1\nG80"}, {"radius arc to its start", "D403", "G2 X10 R5 F600"}, {"radius and centre", "D404", "G2 X20 R5 I5 F600"},
		{"arc without centre", "D405", "G2 X20 F600"}, {"K in G17", "D406", "G2 X20 I5 K1 F600"}, {"zero radius", "D407", "G2 X20 I0 F600"}, {"arc with Z only", "D408", "G2 Z1 I1 F600"},
	} {
		line := c.line
		s = append(s, seed{c.kind, c.code, mmOnly(atSafe("G0 X10 Y10\n" + line)), nil})
	}
	return s
}

func seedOptions(h habit) Options {
	if h.knife {
		return Options{File: h.name, Machine: seedKnife(), Stock: &Box3{Min: machine.Axes{Z: -0.5}, Max: machine.Axes{X: 600, Y: 300}}}
	}
	return Options{File: h.name, Machine: seedLaser(), Stock: &Box3{Min: machine.Axes{Z: -5}, Max: machine.Axes{X: 600, Y: 400}}}
}

func judgeText(t testing.TB, text string, opt Options) Report {
	r, err := Run(context.Background(), strings.NewReader(text), opt)
	require.NoError(t, err)
	return r
}

// TestSeededFaults plants every kind of fault in three clean programs that can carry it, with
// SPOTJIG_ALL=1 in every one; kind after kind begins at the next program. The clean ones
// give nothing at all; of the planted ones all are found. It prints the table.
func TestSeededFaults(t *testing.T) {
	clean := cleanPrograms()
	for _, h := range clean {
		r := judgeText(t, h.text, seedOptions(h))
		require.Zero(t, r.Errors(), "%s: %+v", h.name, r.Problems)
		require.Empty(t, r.Problems, h.name)
	}
	var table strings.Builder
	found := map[string]bool{}
	total := 0
	for k, s := range seeds() {
		planted, hit := 0, 0
		for i := range clean {
			h := clean[(k+i)%len(clean)]
			text := s.plant(h)
			if text == "" || text == h.text {
				continue
			}
			if planted == 3 && os.Getenv("SPOTJIG_ALL") == "" {
				break
			}
			opt := seedOptions(h)
			if s.opt != nil {
				s.opt(&opt)
			}
			planted++
			r := judgeText(t, text, opt)
			ok := false
			for _, p := range r.Problems {
				if p.Code == s.code {
					ok = true
				}
			}
			if ok {
				hit++
				found[s.code] = true
			} else {
				assert.Fail(t, "missed", "%s (%s) in %s: found %v\n%s", s.kind, s.code, h.name, places(r), text[:min(len(text), 600)])
			}
			if severity(s.code) == Error {
				assert.Equal(t, Fail, r.Verdict, "%s in %s", s.kind, h.name)
			} else {
				assert.NotEqual(t, Pass, r.Verdict, "%s in %s", s.kind, h.name)
			}
		}
		assert.NotZero(t, planted, s.kind)
		total += planted
		fmt.Fprintf(&table, "%-40s %s %2d of %2d\n", s.kind, s.code, hit, planted)
	}
	t.Logf("%d kinds, %d programs, all found:\n%s", len(seeds()), total, table.String())
	var missing []string
	for _, c := range Codes() {
		if !found[c] && c != NoFile {
			missing = append(missing, c)
		}
	}
	sort.Strings(missing)
	assert.Empty(t, missing, "codes that no seeded fault brings out")
}

// TestBlockDeleteBothWays: a fault behind a block delete sign is found, and so is one that
// only the switch brings out.
func TestBlockDeleteBothWays(t *testing.T) {
	h := habit{}
	off := judgeText(t, modesLine+"/G0 X700\nG0 X1 Y1\nM2\n", seedOptions(h))
	assert.Contains(t, codesOf(off), Travel)
	assert.InDelta(t, 700, off.Max.X, 1e-9)
	on := judgeText(t, modesLine+"M4 S100\n/S0\nG0 X1 Y1\nM5\nM2\n", seedOptions(h))
	require.Contains(t, codesOf(on), RapidBeam)
	for _, p := range on.Problems {
		if p.Code == RapidBeam {
			assert.Contains(t, p.Text, "block delete switch on")
		}
	}
	both := judgeText(t, modesLine+"/G0 X500\nG0 Y1\nM2\n", seedOptions(h))
	assert.Equal(t, Pass, both.Verdict, "%+v", both.Problems)
	assert.InDelta(t, 500, both.End.X, 1e-9, "end is told with the switch off")
}

// TestPlainJudgeAgrees: with a zone far away the full judge sees every move; it finds the
// same and comes to the same sums as the short cut.
func TestPlainJudgeAgrees(t *testing.T) {
	text := string(rasterProgram(1 << 18))
	for _, text := range []string{text, strings.ReplaceAll(text, "S512", "S1200"), strings.ReplaceAll(text, "Y0.500", "Y0.100"), strings.ReplaceAll(text, "G0 X5.000", "G0 X-5.000"), strings.ReplaceAll(text, "S0", "S1"),
		strings.ReplaceAll(text, "F6000", "F20"), strings.ReplaceAll(text, "F6000", "F5")} {
		opt := benchOptions()
		a := judgeText(t, text, opt)
		opt.Machine.KeepOut = []machine.Zone{{Name: "far", Min: machine.Axes{X: 9000}, Max: machine.Axes{X: 9001, Y: 1}}}
		b := judgeText(t, text, opt)
		assert.Equal(t, strings.Contains(text, "F5\n") || strings.Contains(text, "F20\n"), found(a, StillLong) > 0)
		assert.InDelta(t, a.FeedMM, b.FeedMM, 1e-3)
		assert.InDelta(t, a.TimeS, b.TimeS, 1e-3)
		a.FeedMM, b.FeedMM = math.Round(a.FeedMM), math.Round(b.FeedMM)
		assert.Equal(t, a, b)
	}
}
