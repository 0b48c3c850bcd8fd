package layout

// Surfaces of carom tables. One inside its tolerance is marked with that size's
// own figures.
var (
	caromMatch = size{Name: "carom match", L: 2840, W: 1420, TolL: 5, TolW: 5, Grade: "A",
		Source: "UMB World Rules of Carom Billiard 2.1: 2.84 x 1.42 m, +-5 mm"}
	caromHalf = size{Name: "carom half-match", L: 2300, W: 1150, TolL: 5, TolW: 5, Grade: "A",
		Source: "DBU Materialnormen Karambol 2.1.2: 2.30 x 1.15 m, +-5 mm"}
	caromSmall = size{Name: "carom small", L: 2100, W: 1050, TolL: 5, TolW: 5, Grade: "A",
		Source: "DBU Materialnormen Karambol 2.1.2: 2.10 x 1.05 m, +-5 mm"}
)

// caromGame is three-cushion and straight-rail billiards: five spots. Players
// start from the bottom, which is the head end here.
func caromGame() game {
	const source = "Turnierbillard, table of spots"
	start := value{Name: "start", Title: "side starting spots from the bottom spot",
		Formulas: []formula{{D: dist{W: 182.5 / 1420}, Text: "182.5 mm in 1420 mm of width from the bottom spot",
			Source: "computed: the match table's figure scaled by the width", Grade: "K"}},
		Fixed: []fixed{
			{On: caromMatch, MM: 182.5, Text: "18.25 cm from the bottom spot", Source: source, Grade: "B"},
			{On: caromHalf, MM: 148, Text: "14.8 cm from the bottom spot", Source: source, Grade: "B"},
			{On: caromSmall, MM: 135, Text: "13.5 cm from the bottom spot", Source: source, Grade: "B"},
		}}
	return game{
		ID: "carom", Name: "Carom, three-cushion",
		Summary: "top, centre and bottom spots, two side starting spots",
		Sizes:   []size{caromMatch, caromHalf, caromSmall},
		Ball:    caromBall,
		Values:  []value{start},
		Marks: []rule{
			{ID: "bottom-spot", Name: "bottom spot", Kind: Spot, A: at{Along: dist{L: 0.25}},
				Text: "a quarter of the length from the bottom nose", Source: source, Grade: "B"},
			{ID: "start-left", Name: "left starting spot", Kind: Spot, Of: "start",
				A: at{Along: dist{L: 0.25}, Across: of("start")}},
			{ID: "start-right", Name: "right starting spot", Kind: Spot, Of: "start",
				A: at{Along: dist{L: 0.25}, Across: of("start").times(-1)}},
			{ID: "centre-spot", Name: "centre spot", Kind: Spot, A: at{From: fromMiddle},
				Text: "half the length from either short nose", Source: source, Grade: "B"},
			{ID: "top-spot", Name: "top spot", Kind: Spot, A: at{From: fromFoot, Along: dist{L: 0.25}},
				Text: "a quarter of the length from the top nose", Source: source, Grade: "B"},
		},
		Remarks: []string{"carom: the side starting spots lie 182.5 mm from the bottom spot by a German table of spots and 7 3/16 in (182.6 mm) by an American rule text; 182.5 mm is marked, the difference is less than a pencil line"},
	}
}

// caromBall is 61 to 61.5 mm: World Rules of Carom Billiard as quoted by makers.
const caromBall = 61.5
