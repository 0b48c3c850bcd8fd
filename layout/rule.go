package layout

import "spotjig/layout/geom"

// How a game is written down. A game is data: named values (how far the baulk
// line is from the nose, say) that may have one formula per choice and fixed
// figures on tables of a published size, and marks placed by those values.
// Adding a game is one file with one function that returns a game, and its
// name in the list of allGames.

// game is one game's markings.
type game struct {
	ID, Name, Summary string
	FromMemory        bool    // no text was at hand: every mark says so
	Ball              float64 // usual diameter of its object balls, mm
	Reds              int     // how many reds are set up; 0 where a triangle of them is not
	Sizes             []size
	Values            []value
	Marks             []rule
	Remarks           []string // where its sources disagree or say too little
}

// size is a playing surface a rule body publishes.
type size struct {
	Name       string
	L, W       float64
	TolL, TolW float64 // +- mm; 0 none published
	Twice      bool    // any size whose length is twice its width; L and W are 0
	Source     string
	Grade      string
}

// holds reports whether a surface of that length and width is this size. The
// limits themselves are inside.
func (s size) holds(l, w float64) bool {
	return near(l, s.L, s.TolL+sizeTol) && near(w, s.W, s.TolW+sizeTol)
}

// dist is a distance as a rule states it: so much of the length, of the width,
// of the ball's diameter, of the triangle's wall, a fixed part, and named values
// of the game. Its zero value is no distance.
type dist struct {
	L, W, Ball, Wall, MM float64
	Terms                []term
}

// term is a named value K times over.
type term struct {
	Of string
	K  float64
}

// of is the game's named value.
func of(name string) dist { return dist{Terms: []term{{name, 1}}} }

// times returns the distance k times over.
func (d dist) times(k float64) dist {
	out := dist{L: d.L * k, W: d.W * k, Ball: d.Ball * k, Wall: d.Wall * k, MM: d.MM * k}
	for _, t := range d.Terms {
		out.Terms = append(out.Terms, term{t.Of, t.K * k})
	}
	return out
}

// plus returns the sum of two distances.
func (d dist) plus(e dist) dist {
	return dist{L: d.L + e.L, W: d.W + e.W, Ball: d.Ball + e.Ball, Wall: d.Wall + e.Wall, MM: d.MM + e.MM,
		Terms: append(append([]term(nil), d.Terms...), e.Terms...)}
}

// value is a named distance of a game.
type value struct {
	Name, Title string    // Title for people
	By          choice    // which of the fitter's choices picks the formula; none: the first
	Formulas    []formula // the first is the default
	Fixed       []fixed   // on a table of that size these figures stand, unscaled
	About       string    // where the sources disagree
	Advice      []advice  // the first that applies is the recommendation
}

// advice recommends a formula, when a game that makes the difference is marked too.
type advice struct {
	With      []string // games; none: always
	Take, Why string
}

// formula is one way of stating a value.
type formula struct {
	For                 string // the choice's value
	D                   dist
	Text, Source, Grade string
}

// fixed is a figure a rule states for one size of table.
type fixed struct {
	On                  size
	MM                  float64
	Text, Source, Grade string
	Except              string // a choice that overrides even the fixed figure
}

// datum is what a distance along or across the table is measured from.
type datum int

const (
	fromHead   datum = iota // from the head nose, along the centre line
	fromMiddle              // from midway between the end noses, towards the foot
	fromFoot                // from the foot nose, along the centre line
)

const (
	offCentre datum = iota // from the centre line, + to the left
	offRight               // from the right side nose, inwards
	offLeft                // from the left side nose, inwards
)

// at is a place on the table: a distance along from a datum and one across.
type at struct {
	From   datum
	Along  dist
	Off    datum
	Across dist
}

// rule is one mark of a game.
type rule struct {
	ID, Name   string
	Kind       Kind
	A, B       at   // spot or centre; start and end of a line
	Around     []at // corners of an outline, counter-clockwise on a true table
	Radius     dist
	Start, End geom.Angle
	Group      string

	Text, Source, Grade string // empty Source: those of the value Of
	Of                  string // the value whose text and source the mark carries
	Only                when
}

// choice names one of the fitter's choices.
type choice string

const (
	noChoice    choice = ""
	choiceBaulk choice = "baulk_line"
	choiceD     choice = "d"
	choiceBlack choice = "black"
	choiceRack  choice = "rack"
	choiceBox   choice = "break_box"
	choiceSide  choice = "anchor"
)

// when limits a mark to one value of a choice; the zero value limits nothing.
// Default says that the mark is there too when the fitter chose nothing.
type when struct {
	Choice  choice
	Is      string
	Default bool
	Not     bool // every value but Is, the default included
}

// met reports whether the fitter's choices ask for the mark.
func (w when) met(c Choices) bool {
	if w.Choice == noChoice {
		return true
	}
	got := c.pick(w.Choice)
	if w.Not {
		return got != w.Is
	}
	return got == w.Is || got == "" && w.Default
}

// pick returns the fitter's value for a choice.
func (c Choices) pick(name choice) string {
	switch name {
	case choiceBaulk:
		return c.BaulkLine
	case choiceD:
		return c.D
	case choiceBlack:
		return c.Black
	case choiceRack:
		return c.Rack
	case choiceBox:
		return c.BreakBox
	case choiceSide:
		return c.Anchor
	}
	return ""
}

// value returns the game's value of that name.
func (g game) value(name string) (value, bool) {
	for _, v := range g.Values {
		if v.Name == name {
			return v, true
		}
	}
	return value{}, false
}
