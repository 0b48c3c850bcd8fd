package layout

import "spotjig/layout/geom"

const (
	sourceWPBSA  = "Official Rules of Snooker, section 1"
	sourceMetric = "B&SCC rules, section 1, The Standard Table (Metric)"
	sourceScaled = "common practice: the full-size figure scaled by the playing surface"
	sourceFifth  = "B&SCC rules, section 1, stated for the metric table; common practice elsewhere"
	sourceString = "the fitter's choice: the head string of WPA rules 8.1 serves both games"
)

// The tables whose markings snooker's rules state in figures.
var (
	snookerFull = size{Name: "full size", L: 3569, W: 1778, TolL: 13, TolW: 13, Grade: "A",
		Source: "Official Rules of Snooker, section 1: 11 ft 8 1/2 in x 5 ft 10 in (3569 x 1778 mm), +-13 mm (1/2 in)"}
	snookerMetric = size{Name: "metric standard", L: 3500, W: 1750, TolL: 3, TolW: 3, Grade: "A",
		Source: "B&SCC rules, section 1, The Standard Table (Metric): 3500 x 1750 mm, +-3 mm"}
)

// Values of snooker's markings, shared with English billiards, which is played
// on the same marks. The first formula of each is the default.
var (
	baulkValue = value{Name: "baulk", Title: "baulk line from the head nose", By: choiceBaulk,
		Formulas: []formula{
			baulkScaled,
			{For: "fifth", D: dist{L: 1. / 5}, Text: "a fifth of the length from the baulk nose", Source: sourceFifth, Grade: "A"},
			{For: "head-string", D: dist{L: 1. / 4}, Text: "the head string: a quarter of the length", Source: sourceString, Grade: "C"},
			baulkBoth,
		},
		Fixed: []fixed{
			{On: snookerFull, MM: 29 * mmPerInch, Except: "head-string", Source: sourceWPBSA, Grade: "A",
				Text: "29 in from the baulk nose"},
			{On: snookerMetric, MM: 700, Except: "head-string", Source: sourceMetric, Grade: "A",
				Text: "700 mm from the baulk nose"},
		},
		About: "no rule body gives markings for smaller tables: scaling the full-size 29 in by the playing surface and the metric table's fifth differ by 12 to 23 mm; a how-to article scales by nominal feet instead, which puts the line about 30 mm further from the nose, and is not offered",
		Advice: []advice{
			{With: []string{"blackball", "eight-ball"}, Take: "fifth", Why: "their rules put the baulk line at a fifth of the length: one line serves both games"},
			{Take: "scaled", Why: "it keeps the full-size table's proportions, and the line stays clear of a head string"},
		}}
	baulkScaled = formula{For: "scaled", D: dist{L: 29 / 140.5},
		Text: "29 in in 140 1/2 in of length", Source: sourceScaled, Grade: "K"}
	baulkBoth = formula{For: "both", D: baulkScaled.D,
		Text: baulkScaled.Text, Source: baulkScaled.Source, Grade: baulkScaled.Grade}
	baulkSecond = value{Name: "baulk-2",
		Formulas: []formula{{D: dist{L: 1. / 4}, Text: "the head string: a quarter of the length", Source: sourceString, Grade: "C"}}}
	dValue = value{Name: "d", Title: "radius of the D", By: choiceD,
		Formulas: []formula{
			{For: "width/6", D: dist{W: 1. / 6}, Text: "radius a sixth of the width", Source: sourceFifth, Grade: "A"},
			{For: "scaled", D: dist{W: 11.5 / 70}, Text: "radius 11 1/2 in in 70 in of width", Source: sourceScaled, Grade: "K"},
		},
		Fixed: []fixed{
			{On: snookerFull, MM: 11.5 * mmPerInch, Text: "radius 11 1/2 in", Source: sourceWPBSA, Grade: "A"},
			{On: snookerMetric, MM: 292, Text: "radius 292 mm", Source: sourceMetric, Grade: "A"},
		},
		About:  "a sixth of the width (metric table) and 11 1/2 in in 70 in (full size) differ by 2 to 4 mm",
		Advice: []advice{{Take: "width/6", Why: "it is published, and a third of the width across is easily checked with a tape"}}}
	blackValue = value{Name: "black", Title: "black spot from the top nose", By: choiceBlack,
		Formulas: []formula{
			{For: "length/11", D: dist{L: 1. / 11}, Text: "an eleventh of the length from the top nose", Source: sourceFifth, Grade: "A"},
			{For: "scaled", D: dist{L: 12.75 / 140.5}, Text: "12 3/4 in in 140 1/2 in of length, from the top nose", Source: sourceScaled, Grade: "K"},
		},
		Fixed: []fixed{
			{On: snookerFull, MM: 12.75 * mmPerInch, Text: "12 3/4 in from the top nose", Source: sourceWPBSA, Grade: "A"},
			{On: snookerMetric, MM: 320, Text: "320 mm from the top nose", Source: sourceMetric, Grade: "A"},
		},
		About:  "an eleventh of the length (metric table) and 12 3/4 in in 140 1/2 in (full size) agree within 0.6 mm; the metric table's stated 320 mm is 1.8 mm more than its own eleventh",
		Advice: []advice{{Take: "length/11", Why: "it is published, and the difference is less than a pencil line"}}}
)

// baulkRules are a baulk line and its D with the three spots on it. Seen from
// baulk yellow is at the right corner of the D and green at the left. The arc
// lies inside baulk, so it runs from 90 to 270 degrees.
func baulkRules(name, suffix string, only when) []rule {
	line := of(name)
	twin := suffix != ""
	title := func(s string) string {
		if twin {
			return "second " + s
		}
		return s
	}
	return []rule{
		{ID: "baulk-line" + suffix, Name: title("baulk line"), Kind: Line, Of: name, Only: only,
			A: at{Along: line, Off: offRight}, B: at{Along: line, Off: offLeft}},
		{ID: "d" + suffix, Name: title("D"), Kind: Arc, Of: "d", Only: only,
			A: at{Along: line}, Radius: of("d"), Start: 90 * geom.Degree, End: 270 * geom.Degree},
		{ID: "yellow" + suffix, Name: title("yellow spot"), Kind: Spot, Only: only,
			A:    at{Along: line, Across: of("d").times(-1)},
			Text: "right corner of the D, seen from baulk", Source: sourceWPBSA, Grade: "A"},
		{ID: "green" + suffix, Name: title("green spot"), Kind: Spot, Only: only,
			A:    at{Along: line, Across: of("d")},
			Text: "left corner of the D, seen from baulk", Source: sourceWPBSA, Grade: "A"},
		{ID: "brown" + suffix, Name: title("brown spot"), Kind: Spot, Only: only, A: at{Along: line},
			Text: "middle of the baulk line", Source: sourceWPBSA, Grade: "A"},
	}
}

// snookerGame is snooker at any scale. With the baulk choice "both" there are
// two baulk lines, each with a D: the scaled one under the plain ids, and one on
// the head string as baulk-line-2, d-2, yellow-2, green-2 and brown-2.
func snookerGame() game {
	marks := baulkRules("baulk", "", when{})
	marks = append(marks,
		rule{ID: "blue", Name: "blue spot", Kind: Spot, A: at{From: fromMiddle},
			Text: "midway between the end noses", Source: sourceWPBSA, Grade: "A"},
		rule{ID: "pink", Name: "pink spot", Kind: Spot, A: at{From: fromFoot, Along: dist{L: 0.25}},
			Text: "midway between the blue spot and the top nose", Source: sourceWPBSA, Grade: "A"},
		rule{ID: "black", Name: "black spot", Kind: Spot, Of: "black",
			A: at{From: fromFoot, Along: of("black")}},
	)
	marks = append(marks, baulkRules("baulk-2", "-2", when{Choice: choiceBaulk, Is: "both"})...)
	return game{
		ID: "snooker", Name: "Snooker",
		Summary: "baulk line, D and six spots",
		Sizes:   []size{snookerFull, snookerMetric},
		Ball:    snookerBall, Reds: 15,
		Values: []value{baulkValue, baulkSecond, dValue, blackValue},
		Marks:  marks,
	}
}

// snookerBall: Official Rules of Snooker, section 1.2.
const snookerBall = 52.5
