package layout

import (
	"fmt"
	"math"
	"strings"
)

// Request is what a plan is made from.
type Request struct {
	Table   Table
	Games   []string // ids, in the job's order
	Choices Choices  // empty values take the default
	Balls   Balls    // zero diameter: 57.15 mm, a 2 1/4 in set
	House   []HouseMark
}

// Plan says where every mark of the chosen games goes on the table.
type Plan struct {
	Marks    []Mark
	Notes    []Note    // the fitter's choices and what each moves
	Findings []Finding // what the fitter should know before marking
}

// Note is a choice that is the fitter's to make, or a place where published
// sources disagree.
type Note struct {
	Choice    string // as the job file names it; "" for a disagreement without one
	Chosen    string
	Recommend string
	Text      string // what it is about and why the recommendation
	Options   []Option
}

// Option is one value of a choice and what it does on this table, mm.
type Option struct {
	Value        string
	At           float64 // the distance it gives
	Moves        float64 // against the chosen value
	Rule, Source string
}

// Finding is a thing about the marks the fitter should know.
type Finding struct {
	Marks    []string // ids concerned
	Distance float64  // mm, where one is meant
	Text     string
	Help     string
}

// poolBall is the diameter of a pool ball, 2 1/4 in (WPA ball specification).
const poolBall = 57.15

// NewPlan works out every mark.
//
// Marks come in the order of the games and, within a game, of its rules. Marks
// that coincide are one mark: it keeps the first id and lists the others in
// Also. When two games give one id to different places the later mark is called
// "<game>-<id>". On a true rectangle the positions are the rules' closed
// formulas; on a surveyed table see ground. An unknown game or choice and a
// table without a size are errors.
func NewPlan(r Request) (Plan, error) {
	if err := r.check(); err != nil {
		return Plan{}, err
	}
	if r.Balls.Diameter == 0 {
		r.Balls.Diameter = poolBall
	}
	marks, err := r.marks(r.Table)
	if err != nil {
		return Plan{}, err
	}
	p := Plan{Marks: marks}
	describe(p.Marks, groundOf(r.Table, r.Balls))
	return p, nil
}

// check refuses what no plan can be made from.
func (r Request) check() error {
	for _, v := range []float64{r.Table.L, r.Table.W} {
		if !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("table length and width must be above 0 mm, have %g and %g", r.Table.L, r.Table.W)
		}
	}
	for _, id := range r.Games {
		if _, ok := gameNamed(id); !ok {
			return fmt.Errorf("unknown game %q", id)
		}
	}
	for _, c := range choiceNames() {
		got, known := r.Choices.pick(c), choiceValues()[c]
		if got != "" && !contains(known, got) {
			return fmt.Errorf("%s is %q; it may be %s", string(c), got, strings.Join(known, ", "))
		}
	}
	return nil
}

func contains(list []string, s string) bool {
	for _, v := range list {
		if v == s {
			return true
		}
	}
	return false
}

// marks places every mark on a table and merges those that coincide.
func (r Request) marks(t Table) ([]Mark, error) {
	g := groundOf(t, r.Balls)
	var set markSet
	for _, id := range r.Games {
		gm, _ := gameNamed(id)
		p := placer{ground: g, game: gm, choices: r.Choices}
		for _, rl := range gm.Marks {
			if rl.Only.met(r.Choices) {
				set.add(p.mark(rl))
			}
		}
	}
	return set.marks, nil
}

// placer turns one game's rules into marks on one table.
type placer struct {
	ground
	game    game
	choices Choices
}

// mm returns a distance on this table.
func (p placer) mm(d dist) float64 {
	v := float64(d.L*p.l) + float64(d.W*p.w) + float64(d.Ball*p.ball) + float64(d.Wall*p.wall) + d.MM
	for _, t := range d.Terms {
		v += float64(t.K * p.stated(t.Of).mm)
	}
	return v
}

// stated is a value as it stands on this table, with the words of its rule.
type stated struct {
	mm                  float64
	text, source, grade string
}

// stated returns the game's value of that name on this table.
func (p placer) stated(name string) stated {
	v, ok := p.game.value(name)
	if !ok {
		panic("layout: internal error: game " + p.game.ID + " has no value " + name)
	}
	return p.under(v, p.choices.pick(v.By))
}

// under returns a value as it would stand with that choice.
func (p placer) under(v value, choice string) stated {
	for _, f := range v.Fixed {
		if f.On.holds(p.l, p.w) && (f.Except == "" || f.Except != choice) {
			return stated{f.MM, f.Text, f.Source, f.Grade}
		}
	}
	f := v.Formulas[0]
	for _, o := range v.Formulas {
		if choice != "" && o.For == choice {
			f = o
		}
	}
	return stated{p.mm(f.D), f.Text, f.Source, f.Grade}
}

// at returns a place in the table frame.
func (p placer) at(a at) (x, y float64) {
	return p.place(a.From, p.mm(a.Along), a.Off, p.mm(a.Across))
}

// mark places one mark.
func (p placer) mark(r rule) Mark {
	m := Mark{ID: r.ID, Name: r.Name, Games: []string{p.game.ID}, Kind: r.Kind, Group: r.Group,
		Rule: r.Text, Source: graded(r.Source, r.Grade)}
	if r.Of != "" {
		s := p.stated(r.Of)
		m.Rule, m.Source = s.text, graded(s.source, s.grade)
	}
	switch r.Kind {
	case Spot:
		m.X, m.Y = p.at(r.A)
	case Line:
		m.X, m.Y = p.at(r.A)
		m.X2, m.Y2 = p.at(r.B)
	case Arc:
		m.X, m.Y = p.at(r.A)
		m.Radius, m.StartDeg, m.EndDeg = p.mm(r.Radius), r.StartDeg, r.EndDeg
	case Outline:
		for _, a := range r.Around {
			x, y := p.at(a)
			m.Points = append(m.Points, [2]float64{x, y})
		}
	}
	return m
}

// graded returns a source as it is shown: what is known from memory only says so.
func graded(source, grade string) string {
	switch {
	case grade != "U":
		return source
	case source == "":
		return "from memory"
	}
	return "from memory (" + source + ")"
}
