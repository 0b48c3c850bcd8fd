package layout

// pyramidGame is Russian pyramid.
func pyramidGame() game {
	const source = "Russian pyramid, general rules, section 2"
	front := dist{L: 0.25}
	return game{
		ID: "pyramid", Name: "Russian pyramid",
		Summary: "front, centre and rear marks, front line",
		Ball:    68, // encyclopaedia, Russian pyramid
		Sizes: []size{{Name: "12 ft", L: 3550, W: 1775, TolL: 50, TolW: 50, Grade: "A",
			Source: "Pyramid technical requirements, part I: 3550 x 1775 mm, +-50 mm as printed"}},
		Marks: []rule{
			{ID: "front-mark", Name: "front mark", Kind: Spot, A: at{Along: front},
				Text: "centre of the front half: a quarter of the length from the front nose", Source: source, Grade: "A"},
			{ID: "centre-mark", Name: "centre mark", Kind: Spot, A: at{From: fromMiddle},
				Text: "middle of the table", Source: source, Grade: "A"},
			{ID: "rear-mark", Name: "rear mark", Kind: Spot, A: at{From: fromFoot, Along: dist{L: 0.25}},
				Text: "centre of the rear half", Grade: "U"},
			{ID: "front-line", Name: "front line", Kind: Line,
				A: at{Along: front, Off: offRight}, B: at{Along: front, Off: offLeft},
				Text: "through the front mark, parallel to the short nose", Source: "the front line, an article on the pyramid rules", Grade: "B"},
		},
		Remarks: []string{"Russian pyramid: the rules name a centre line without saying that it is drawn; it is not marked"},
	}
}
