package layout

// eightBallSizes spans the surfaces the WEPF allows, 72 x 36 to 84 x 42 in.
func eightBallSizes() []size {
	return []size{{Name: "WEPF, 72 x 36 to 84 x 42 in", L: 1981.2, W: 990.6, TolL: 152.4, TolW: 76.2, Grade: "A",
		Source: "WEPF table specifications: 72 x 36 in at least, 84 x 42 in at most"}}
}

// blackballGame is blackball. The spot's rule crosses imaginary lines between
// corner and centre pockets; with the pockets at the cushions' corners that is a
// quarter of the length.
func blackballGame() game {
	const source = "WPA Blackball rules, section 2"
	return game{
		ID: "blackball", Name: "Blackball",
		Summary: "baulk line at a fifth of the length, black spot",
		Ball:    50.8, // 2 in object ball, WEPF table and ball specifications
		Sizes:   eightBallSizes(),
		Marks: []rule{
			{ID: "baulk-line", Name: "baulk line", Kind: Line,
				A: at{Along: dist{L: 1. / 5}, Off: offRight}, B: at{Along: dist{L: 1. / 5}, Off: offLeft},
				Text: "a fifth of the length from the baulk nose", Source: source, Grade: "A"},
			{ID: "black-spot", Name: "black spot", Kind: Spot, A: at{From: fromFoot, Along: dist{L: 0.25}},
				Text:   "where the diagonals from corner to centre pockets cross: a quarter of the length from the top nose",
				Source: source + "; the quarter computed with the pockets at the cushions' corners", Grade: "K"},
		},
		Remarks: []string{"blackball: baulk is the whole rectangle behind the line and no D is played; a trade standard mentions a D without giving its size (BAPTO), so none is marked"},
	}
}

// eightBallGame is international eight-ball.
func eightBallGame() game {
	const source = "WEPF table specifications"
	return game{
		ID: "eight-ball", Name: "International eight-ball",
		Summary: "baulk line at a fifth of the length, pyramid spot",
		Ball:    50.8, // 2 in object ball, WEPF table and ball specifications
		Sizes:   eightBallSizes(),
		Marks: []rule{
			{ID: "baulk-line", Name: "baulk line", Kind: Line,
				A: at{Along: dist{L: 1. / 5}, Off: offRight}, B: at{Along: dist{L: 1. / 5}, Off: offLeft},
				Text: "a fifth of the length from the baulk nose", Source: source, Grade: "A"},
			{ID: "pyramid-spot", Name: "pyramid spot", Kind: Spot, A: at{From: fromFoot, Along: dist{L: 0.25}},
				Text: "centre of the top half: a quarter of the length from the top nose", Source: source, Grade: "A"},
		},
	}
}
