package layout

const (
	sourceWPA  = "WPA rules 8.1"
	sourceRack = "computed from the ball's diameter: a tight triangle round fifteen balls"
)

// poolSizes are what pool's rule bodies publish. WPA prints its tolerances with a plus sign
// only; the usual reading is +-.
var poolSizes = []size{
	{Name: "WPA 9 ft", L: 2540, W: 1270, TolL: 3.175, TolW: 3.175, Grade: "A",
		Source: "WPA Tournament Table & Equipment Specifications, Nov 2001, section 5: 100 x 50 in, +1/8 in"},
	{Name: "WPA 8 ft", L: 2336.8, W: 1168.4, TolL: 3.175, TolW: 3.175, Grade: "A",
		Source: "WPA Tournament Table & Equipment Specifications, Nov 2001, section 5: 92 x 46 in, +1/8 in"},
	{Name: "DBU 9 ft", L: 2540, W: 1270, TolL: 12.7, TolW: 6.35, Grade: "A",
		Source: "DBU Materialnormen Pool 1.1: 2540 x 1270 mm, +-0.5 %"},
	{Name: "DBU 8 ft", L: 2240, W: 1120, TolL: 11.2, TolW: 5.6, Grade: "A",
		Source: "DBU Materialnormen Pool 1.1: 2240 x 1120 mm, +-0.5 %"},
	{Name: "BCA, length twice the width", Twice: true, TolL: 3.175, TolW: 3.175, Grade: "A",
		Source: "BCA equipment specifications: length twice the width, +-1/8 in"},
}

// Where the triangle's corners lie, along from the foot nose. The foot spot is
// L/4 from it and the apex ball stands on the spot. A wall of thickness t round
// a ball of diameter d puts the 60 degree corner 2(d/2 + t) = d + 2t before the
// ball's centre; the base lies 2*sqrt(3)*d behind it (four row pitches of
// d*sqrt(3)/2), and half a ball and the wall more. The side is d(4 + sqrt(3)) +
// 2*sqrt(3)*t. L/4 is measured from the foot, so "before" is plus.
const (
	sqrt3 = 1.7320508075688772935

	tickLength = 25.0 // of a rack corner, mm: our own choice, long enough to lay the triangle to
)

var (
	rackApex = dist{L: 0.25, Ball: 1, Wall: 2}
	rackBase = dist{L: 0.25, Ball: -(2*sqrt3 + 0.5), Wall: -1}
	rackHalf = dist{Ball: (4 + sqrt3) / 2, Wall: sqrt3}
)

// poolGame is American pool as the WPA rules name its parts.
func poolGame() game {
	headX, footX := dist{L: 0.25}, dist{L: 0.25}
	corner := when{Choice: choiceRack, Is: "corners", Default: true}
	box := func(is string) when { return when{Choice: choiceBox, Is: is} }
	return game{
		ID: "pool", Name: "American pool",
		Summary: "head, centre and foot spots, head and long strings, rack; a break box when asked",
		Sizes:   poolSizes,
		Ball:    poolBall,
		Marks: []rule{
			{ID: "head-spot", Name: "head spot", Kind: Spot, A: at{Along: headX},
				Text: "long string and head string cross, a quarter of the length from the head nose", Source: sourceWPA, Grade: "A"},
			{ID: "centre-spot", Name: "centre spot", Kind: Spot, A: at{From: fromMiddle},
				Text: "middle of the table: long string and centre string cross", Source: sourceWPA, Grade: "A"},
			{ID: "foot-spot", Name: "foot spot", Kind: Spot, A: at{From: fromFoot, Along: footX},
				Text: "long string and foot string cross, a quarter of the length from the foot nose", Source: sourceWPA, Grade: "A"},
			{ID: "head-string", Name: "head string", Kind: Line, A: at{Along: headX, Off: offRight}, B: at{Along: headX, Off: offLeft},
				Text: "a quarter of the length from the head nose, nose to nose", Source: sourceWPA, Grade: "A"},
			{ID: "long-string", Name: "long string", Kind: Line, A: at{From: fromFoot, Along: footX}, B: at{From: fromFoot},
				Text: "middle of the width, marked from the foot spot to the foot nose", Source: sourceWPA, Grade: "A"},
			{ID: "rack", Name: "rack outline", Kind: Outline, Only: when{Choice: choiceRack, Is: "outline"},
				Around: []at{
					{From: fromFoot, Along: rackApex},
					{From: fromFoot, Along: rackBase, Across: rackHalf.times(-1)},
					{From: fromFoot, Along: rackBase, Across: rackHalf},
				},
				Text: "outline of a tight triangle, its first ball on the foot spot", Source: sourceRack, Grade: "K"},
			{ID: "rack-apex", Name: "rack front corner", Kind: Line, Group: "rack", Only: corner,
				A:    at{From: fromFoot, Along: rackApex, Across: dist{MM: -tickLength / 2}},
				B:    at{From: fromFoot, Along: rackApex, Across: dist{MM: tickLength / 2}},
				Text: "front corner of a tight triangle, its first ball on the foot spot", Source: sourceRack, Grade: "K"},
			{ID: "rack-left", Name: "rack left corner", Kind: Line, Group: "rack", Only: corner,
				A:    at{From: fromFoot, Along: rackBase, Across: rackHalf.plus(dist{MM: -tickLength})},
				B:    at{From: fromFoot, Along: rackBase, Across: rackHalf},
				Text: "left end of the triangle's back edge", Source: sourceRack, Grade: "K"},
			{ID: "rack-right", Name: "rack right corner", Kind: Line, Group: "rack", Only: corner,
				A:    at{From: fromFoot, Along: rackBase, Across: rackHalf.times(-1)},
				B:    at{From: fromFoot, Along: rackBase, Across: rackHalf.times(-1).plus(dist{MM: tickLength})},
				Text: "right end of the triangle's back edge", Source: sourceRack, Grade: "K"},
			{ID: "break-box-right", Name: "right break box line", Kind: Line, Only: box("epbf"),
				A:    at{Along: dist{}, Across: dist{W: -0.25}},
				B:    at{Along: headX, Across: dist{W: -0.25}},
				Text: "from the first sight in from the right corner to the head string", Source: sourceEPBF, Grade: "C"},
			{ID: "break-box-left", Name: "left break box line", Kind: Line, Only: box("epbf"),
				A:    at{Along: dist{}, Across: dist{W: 0.25}},
				B:    at{Along: headX, Across: dist{W: 0.25}},
				Text: "from the first sight in from the left corner to the head string", Source: sourceEPBF, Grade: "C"},
			{ID: "break-box-right", Name: "right break box line", Kind: Line, Only: box("norway"),
				A:    at{Off: offRight, Across: dist{MM: 420}},
				B:    at{Along: headX, Off: offRight, Across: dist{MM: 420}},
				Text: "420 mm from the right long nose, head nose to head string", Source: sourceNorway, Grade: "A"},
			{ID: "break-box-left", Name: "left break box line", Kind: Line, Only: box("norway"),
				A:    at{Off: offLeft, Across: dist{MM: 420}},
				B:    at{Along: headX, Off: offLeft, Across: dist{MM: 420}},
				Text: "420 mm from the left long nose, head nose to head string", Source: sourceNorway, Grade: "A"},
		},
		Remarks: []string{
			"break box: the EPBF box is the middle half of the width, the Norwegian one lies between lines 420 mm from each long nose (430 mm wide on a 1270 mm table, where the other is 635 mm); mark the one your events use",
			"9-ball and 10-ball: the 1-ball stands on the foot spot by WPA rule, some federations put the 9 there (from memory); the marks are the same",
		},
	}
}

const (
	sourceEPBF   = "EPBF break box, as a glossary gives it"
	sourceNorway = "Norges Biljardforbund 10.3.14"
)
