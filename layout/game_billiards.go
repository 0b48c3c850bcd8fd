package layout

import "spotjig/layout/geom"

// billiardsGame is English billiards, played on snooker's table and marks: the
// billiard spot is snooker's black, the pyramid spot its pink.
func billiardsGame() game {
	const source = "English Billiards, measurements; WPBSA Official Rules, section 1"
	line := of("baulk")
	return game{
		ID: "billiards", Name: "English billiards",
		Summary: "baulk line, D, billiard, pyramid and centre spots",
		Ball:    snookerBall,
		Sizes:   []size{snookerFull},
		Values:  []value{baulkValue, dValue, blackValue},
		Marks: []rule{
			{ID: "baulk-line", Name: "baulk line", Kind: Line, Of: "baulk",
				A: at{Along: line, Off: offRight}, B: at{Along: line, Off: offLeft}},
			{ID: "d", Name: "D", Kind: Arc, Of: "d", A: at{Along: line}, Radius: of("d"), Start: 90 * geom.Degree, End: 270 * geom.Degree},
			{ID: "d-right", Name: "right corner of the D", Kind: Spot, A: at{Along: line, Across: of("d").times(-1)},
				Text: "right corner of the D, seen from baulk", Source: source, Grade: "B"},
			{ID: "d-left", Name: "left corner of the D", Kind: Spot, A: at{Along: line, Across: of("d")},
				Text: "left corner of the D, seen from baulk", Source: source, Grade: "B"},
			{ID: "baulk-spot", Name: "middle of the baulk line", Kind: Spot, A: at{Along: line},
				Text: "middle of the baulk line", Source: source, Grade: "B"},
			{ID: "centre-spot", Name: "centre spot", Kind: Spot, A: at{From: fromMiddle},
				Text: "midway between the end noses", Source: source, Grade: "B"},
			{ID: "pyramid-spot", Name: "pyramid spot", Kind: Spot, A: at{From: fromFoot, Along: dist{L: 0.25}},
				Text: "midway between the centre spot and the top nose", Source: source, Grade: "B"},
			{ID: "billiard-spot", Name: "billiard spot", Kind: Spot, Of: "black", A: at{From: fromFoot, Along: of("black")}},
		},
	}
}
