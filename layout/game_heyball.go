package layout

// heyballGame is Chinese eight-ball. No rule text was at hand: table, ball and
// marks are from memory, and every mark says so.
func heyballGame() game {
	head, foot := dist{L: 0.25}, dist{L: 0.25}
	return game{
		ID: "chinese-eight-ball", Name: "Chinese eight-ball",
		Summary:    "head, centre and foot spots, head string",
		FromMemory: true,
		Ball:       poolBall, // from memory
		Sizes:      []size{{Name: "2540 x 1270 mm", L: 2540, W: 1270, Grade: "U", Source: "from memory"}},
		Marks: []rule{
			{ID: "head-spot", Name: "head spot", Kind: Spot, A: at{Along: head},
				Text: "middle of the head string", Grade: "U"},
			{ID: "centre-spot", Name: "centre spot", Kind: Spot, A: at{From: fromMiddle},
				Text: "middle of the table", Grade: "U"},
			{ID: "foot-spot", Name: "foot spot", Kind: Spot, A: at{From: fromFoot, Along: foot},
				Text: "a quarter of the length from the foot nose", Grade: "U"},
			{ID: "head-string", Name: "head string", Kind: Line, A: at{Along: head, Off: offRight}, B: at{Along: head, Off: offLeft},
				Text: "a quarter of the length from the head nose, nose to nose", Grade: "U"},
		},
	}
}
