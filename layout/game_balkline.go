package layout

import (
	"strings"

	"spotjig/layout/figure"
)

const (
	sourceCadre    = "DBU balkline rules"
	sourceCadre2   = "Balkline rules, club copy"
	sourceBalkUS   = "18.2 balkline rules"
	sourceComputed = "computed: the fraction of the width that the game's number rounds down"
	sourceAnchor7  = "glossary of billiard terms, anchor space"
)

// balkline is one of the balkline games. Four lines make nine fields, a third of
// the width from each nose; three make six, with one line along the middle. The
// game is named after that distance in cm with the fraction dropped, and the
// rules state the rounded figure: it is what is marked on the game's own table.
type balkline struct {
	id, name string
	on       size // its own table; without one the figure holds everywhere
	mm       float64
	lines    int
	anchors  bool
	anchor   float64 // the anchor's side when the fitter chose none
	source   string
	grade    string
}

// balklineGames are the balkline games, one row each.
func balklineGames() []game {
	var out []game
	for _, b := range []balkline{
		{id: "balkline-47", name: "Balkline 47/1 and 47/2", on: caromMatch, mm: 470, lines: 4, anchors: true, anchor: 7, source: sourceCadre, grade: "A"},
		{id: "balkline-71", name: "Balkline 71/2", on: caromMatch, mm: 710, lines: 3, anchors: true, anchor: 7, source: sourceCadre, grade: "A"},
		{id: "balkline-38", name: "Balkline 38/2", on: caromHalf, mm: 380, lines: 4, source: sourceCadre2, grade: "A"},
		{id: "balkline-57", name: "Balkline 57/2", on: caromHalf, mm: 570, lines: 3, source: sourceCadre2, grade: "A"},
		{id: "balkline-35", name: "Balkline 35/2", on: caromSmall, mm: 350, lines: 4, source: sourceCadre, grade: "A"},
		{id: "balkline-52", name: "Balkline 52/2", on: caromSmall, mm: 520, lines: 3, source: sourceCadre, grade: "A"},
		{id: "balkline-18.2", name: "Balkline 18.2, 5 x 10 ft", mm: 18 * mmPerInch, lines: 4, anchors: true, anchor: 9, source: sourceBalkUS, grade: "C"},
	} {
		out = append(out, b.game())
	}
	return out
}

// game writes a balkline game down.
func (b balkline) game() game {
	g := game{ID: b.id, Name: b.name, Ball: caromBall,
		Values: []value{b.value()}, Remarks: balklineRemarks(b.anchors)}
	g.Summary = "four lines, nine fields"
	if b.lines == 3 {
		g.Summary = "three lines, six fields"
	}
	if b.anchors {
		g.Values = append(g.Values, anchorValue(b.anchor))
		g.Summary += "; anchors where the lines meet the noses"
	}
	if b.on.Name != "" {
		g.Sizes = []size{b.on}
	}
	end := func(from datum) at { return at{From: from, Along: of("balk")} }
	across := func(id, name string, from datum) rule {
		a, z := end(from), end(from)
		a.Off, z.Off = offRight, offLeft
		return rule{ID: id, Name: name, Kind: Line, Of: "balk", A: a, B: z}
	}
	g.Marks = append(g.Marks, across("balk-head", "head balk line", fromHead), across("balk-foot", "foot balk line", fromFoot))
	if b.lines == 3 {
		g.Marks = append(g.Marks, rule{ID: "balk-centre", Name: "centre balk line", Kind: Line,
			A: at{}, B: at{From: fromFoot}, Text: "middle of the width, nose to nose", Source: b.source, Grade: b.grade})
	} else {
		for _, s := range balkSides {
			g.Marks = append(g.Marks, rule{ID: "balk-" + s.name, Name: s.name + " balk line", Kind: Line, Of: "balk",
				A: at{Off: s.off, Across: of("balk")}, B: at{From: fromFoot, Off: s.off, Across: of("balk")}})
		}
	}
	if b.anchors {
		g.Marks = append(g.Marks, b.anchorRules()...)
	}
	return g
}

// value is the distance of the lines from the noses.
func (b balkline) value() value {
	v := value{Name: "balk", Title: "balk lines from the noses"}
	text := figure.MM(b.mm) + " from the nose"
	if b.on.Name == "" {
		text = "18 in from the nose"
		v.Formulas = []formula{{D: dist{MM: b.mm}, Text: text, Source: b.source, Grade: b.grade}}
		return v
	}
	scaled := formula{D: dist{W: 1. / 3}, Text: "a third of the width from the nose", Source: sourceComputed, Grade: "K"}
	if b.lines == 3 {
		scaled.D, scaled.Text = dist{W: 1. / 2}, "half the width from the nose"
	}
	v.Formulas = []formula{scaled}
	v.Fixed = []fixed{{On: b.on, MM: b.mm, Text: text, Source: b.source, Grade: b.grade}}
	return v
}

// anchorValue is half the side of an anchor; seven or nine inches by choice.
func anchorValue(inches float64) value {
	seven := formula{For: "7in", D: dist{MM: 3.5 * mmPerInch}, Text: "square of 7 in, one side on the nose, astride the line", Source: sourceAnchor7, Grade: "B"}
	nine := formula{For: "9in", D: dist{MM: 4.5 * mmPerInch}, Text: "square of 9 in, one side on the nose, astride the line", Source: sourceBalkUS, Grade: "C"}
	v := value{Name: "half-anchor", Title: "half the side of an anchor", By: choiceSide, Formulas: []formula{seven, nine},
		About:  "a glossary gives 7 in, the American 18.2 rules 9 in",
		Advice: []advice{{With: []string{"balkline-18.2"}, Take: "9in", Why: "the 18.2 rules say so"}, {Take: "7in", Why: "the games on the match table use it"}}}
	if inches == 9 {
		v.Formulas = []formula{nine, seven}
	}
	return v
}

// balkSides are the long noses.
var balkSides = []struct {
	name string
	off  datum
}{{"right", offRight}, {"left", offLeft}}

// anchorRules are the anchors: at every end of a line three strokes that make a
// square with the nose. Strokes of one anchor share its group.
func (b balkline) anchorRules() []rule {
	var out []rule
	half, side := of("half-anchor"), of("half-anchor").times(2)
	add := func(group string, strokes [3][2]at) {
		for i, s := range strokes {
			id := group + []string{"-a", "-b", "-c"}[i]
			out = append(out, rule{ID: id, Name: strings.ReplaceAll(id, "-", " "), Kind: Line, Group: group,
				Of: "half-anchor", A: s[0], B: s[1], Only: when{Choice: choiceSide, Is: "none", Not: true}})
		}
	}
	for _, e := range []struct {
		name string
		from datum
	}{{"head", fromHead}, {"foot", fromFoot}} {
		// Where the lines along the table meet this end nose.
		lines := []at{{From: e.from}}
		names := []string{""}
		if b.lines == 4 {
			lines = []at{{From: e.from, Off: offRight, Across: of("balk")}, {From: e.from, Off: offLeft, Across: of("balk")}}
			names = []string{"-right", "-left"}
		}
		for i, l := range lines {
			corner := func(out float64, in dist) at {
				p := l
				p.Along, p.Across = in, l.Across.plus(half.times(out))
				return p
			}
			add("anchor-"+e.name+names[i], [3][2]at{
				{corner(-1, dist{}), corner(-1, side)}, {corner(-1, side), corner(1, side)}, {corner(1, side), corner(1, dist{})}})
		}
		// Where the line across at this end meets the long noses.
		for _, s := range balkSides {
			corner := func(out float64, in dist) at {
				return at{From: e.from, Along: of("balk").plus(half.times(out)), Off: s.off, Across: in}
			}
			add("anchor-"+s.name+"-"+e.name, [3][2]at{
				{corner(-1, dist{}), corner(-1, side)}, {corner(-1, side), corner(1, side)}, {corner(1, side), corner(1, dist{})}})
		}
	}
	return out
}

// balklineRemarks are what the sources leave open.
func balklineRemarks(anchors bool) []string {
	out := []string{"balkline: exact thirds and halves of the width are up to 5 mm more than the games' names (473.3 for 47, 383.3 for 38, 575 for 57, 525 for 52); on the game's own table the named figure is marked, on any other the exact fraction"}
	if anchors {
		out = append(out, "balkline: the former Parker's box is 3 1/2 x 7 in (glossary of billiard terms); it is not marked")
	}
	return out
}
