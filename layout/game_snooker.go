package layout

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
	baulkValue = value{Name: "baulk", By: choiceBaulk,
		Formulas: []formula{
			baulkScaled,
			{For: "fifth", D: dist{L: 1. / 5}, Text: "a fifth of the length from the baulk nose", Source: sourceFifth, Grade: "A"},
			{For: "head-string", D: dist{L: 1. / 4}, Text: "the head string: a quarter of the length", Source: sourceString, Grade: "C"},
			baulkBoth,
		},
		Fixed: []fixed{
			{On: snookerFull, MM: 29 * mmPerInch, Except: "head-string", Source: sourceWPBSA,
				Text: "29 in from the baulk nose"},
			{On: snookerMetric, MM: 700, Except: "head-string", Source: sourceMetric,
				Text: "700 mm from the baulk nose"},
		}}
	baulkScaled = formula{For: "scaled", D: dist{L: 29 / 140.5},
		Text: "29 in in 140 1/2 in of length", Source: sourceScaled, Grade: "K"}
	baulkBoth = formula{For: "both", D: baulkScaled.D,
		Text: baulkScaled.Text, Source: baulkScaled.Source, Grade: baulkScaled.Grade}
	baulkSecond = value{Name: "baulk-2",
		Formulas: []formula{{D: dist{L: 1. / 4}, Text: "the head string: a quarter of the length", Source: sourceString, Grade: "C"}}}
	dValue = value{Name: "d", By: choiceD,
		Formulas: []formula{
			{For: "width/6", D: dist{W: 1. / 6}, Text: "radius a sixth of the width", Source: sourceFifth, Grade: "A"},
			{For: "scaled", D: dist{W: 11.5 / 70}, Text: "radius 11 1/2 in in 70 in of width", Source: sourceScaled, Grade: "K"},
		},
		Fixed: []fixed{
			{On: snookerFull, MM: 11.5 * mmPerInch, Text: "radius 11 1/2 in", Source: sourceWPBSA},
			{On: snookerMetric, MM: 292, Text: "radius 292 mm", Source: sourceMetric},
		}}
	blackValue = value{Name: "black", By: choiceBlack,
		Formulas: []formula{
			{For: "length/11", D: dist{L: 1. / 11}, Text: "an eleventh of the length from the top nose", Source: sourceFifth, Grade: "A"},
			{For: "scaled", D: dist{L: 12.75 / 140.5}, Text: "12 3/4 in in 140 1/2 in of length, from the top nose", Source: sourceScaled, Grade: "K"},
		},
		Fixed: []fixed{
			{On: snookerFull, MM: 12.75 * mmPerInch, Text: "12 3/4 in from the top nose", Source: sourceWPBSA},
			{On: snookerMetric, MM: 320, Text: "320 mm from the top nose", Source: sourceMetric},
		}}
)

// baulkRules are a baulk line and its D with the three spots on it. Seen from
// baulk yellow is at the right corner of the D and green at the left. The arc
// lies inside baulk, so it runs from 90 to 270 degrees.
func baulkRules(of, suffix string, only when) []rule {
	line := dist{Of: of}
	twin := suffix != ""
	name := func(s string) string {
		if twin {
			return "second " + s
		}
		return s
	}
	return []rule{
		{ID: "baulk-line" + suffix, Name: name("baulk line"), Kind: Line, Of: of, Only: only,
			A: at{Along: line, Off: offRight}, B: at{Along: line, Off: offLeft}},
		{ID: "d" + suffix, Name: name("D"), Kind: Arc, Of: "d", Only: only,
			A: at{Along: line}, Radius: dist{Of: "d"}, StartDeg: 90, EndDeg: 270},
		{ID: "yellow" + suffix, Name: name("yellow spot"), Kind: Spot, Only: only,
			A:    at{Along: line, Across: dist{Of: "d", K: -1}},
			Text: "right corner of the D, seen from baulk", Source: sourceWPBSA, Grade: "A"},
		{ID: "green" + suffix, Name: name("green spot"), Kind: Spot, Only: only,
			A:    at{Along: line, Across: dist{Of: "d"}},
			Text: "left corner of the D, seen from baulk", Source: sourceWPBSA, Grade: "A"},
		{ID: "brown" + suffix, Name: name("brown spot"), Kind: Spot, Only: only, A: at{Along: line},
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
			A: at{From: fromFoot, Along: dist{Of: "black"}}},
	)
	marks = append(marks, baulkRules("baulk-2", "-2", when{Choice: choiceBaulk, Is: "both"})...)
	return game{
		ID: "snooker", Name: "Snooker",
		Summary: "baulk line, D and six spots",
		Sizes:   []size{snookerFull, snookerMetric},
		Values:  []value{baulkValue, baulkSecond, dValue, blackValue},
		Marks:   marks,
	}
}
