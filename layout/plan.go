package layout

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"spotjig/layout/problem"
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
	// The range of length in which marks follow the same rules as here, and those of several
	// owners are still one, mm.
	AlikeFrom, AlikeTo float64
}

// Note is a choice that is the fitter's to make, or a place where published
// sources disagree.
type Note struct {
	Choice    string   `json:"choice,omitempty"` // as the job file names it; "" for a disagreement without one
	Chosen    string   `json:"chosen,omitempty"`
	Recommend string   `json:"recommend,omitempty"`
	Text      string   `json:"text"` // what it is about and why the recommendation
	Options   []Option `json:"options,omitempty"`
}

// Option is one value of a choice and what it does on this table, mm to 1e-6.
type Option struct {
	Value  string  `json:"value"`
	At     float64 `json:"at"`    // the distance it gives
	Moves  float64 `json:"moves"` // against the chosen value
	Rule   string  `json:"rule"`
	Source string  `json:"source"`
}

// Finding is a thing about the marks the fitter should know.
type Finding struct {
	Marks    []string `json:"marks"`    // ids concerned
	Distance float64  `json:"distance"` // mm to 1e-6, where one is meant
	Text     string   `json:"text"`
	Help     string   `json:"help"`
}

// poolBall is the diameter of a pool ball, 2 1/4 in (WPA ball specification).
const poolBall = 57.15

// NewPlan works out every mark.
//
// Marks come in the order of the games and, within a game, of its rules. Marks
// that coincide are one mark: it keeps the first id and lists the others in
// Also. When two games give one id or name to different places each is called by its
// game too, "<game>-<id>". On a true rectangle the positions are the rules' closed
// formulas; on a surveyed table see ground. Faults come back as a problem.List
// whose problems have a field and no file or line.
func NewPlan(r Request) (Plan, error) {
	if err := r.check(); err != nil {
		return Plan{}, err
	}
	if r.Balls.Diameter == 0 {
		r.Balls.Diameter = poolBall
	}
	house, err := r.parseHouse()
	if err != nil {
		return Plan{}, err
	}
	raw := r.marks(r.Table, house)
	r.spread(raw, house)
	set := markSet{parts: math.Inf(1)}
	for _, m := range raw {
		set.add(m)
	}
	p := Plan{Marks: set.named()}
	describe(p.Marks, groundOf(r.Table, r.Balls))
	p.Notes = r.notes()
	p.AlikeFrom, p.AlikeTo = r.alike(set.parts)
	p.Findings = append(r.outside(p.Marks), tooNear(p.Marks, r.Choices.minApart())...)
	return p, nil
}

// The longest and shortest side of a playing surface taken for real, mm: half
// the width of the smallest home table and well past the largest one published.
const (
	surfaceMin = 300
	surfaceMax = 6000
)

// check refuses what no plan can be made from.
func (r Request) check() error {
	var list problem.List
	for _, v := range []struct {
		field string
		mm    float64
	}{{"table.length", r.Table.L}, {"table.width", r.Table.W}} {
		if !(v.mm >= surfaceMin && v.mm <= surfaceMax) {
			list.Add(problem.Problem{Field: v.field, Code: "S001",
				Msg:  fmt.Sprintf("%g mm is not between %d and %d mm", v.mm, surfaceMin, surfaceMax),
				Help: "give the playing surface, cushion nose to cushion nose, with its unit"})
		}
	}
	ids := gameIDs()
	for i, id := range r.Games {
		if !slices.Contains(ids, id) {
			list.Add(problem.Problem{Field: fmt.Sprintf("games[%d]", i), Code: "S002",
				Msg: fmt.Sprintf("unknown game %q", id), Help: problem.DidYouMean(id, ids)})
		}
	}
	for _, c := range choiceNames() {
		got, known := r.Choices.pick(c), choiceValues()[c]
		if got != "" && !slices.Contains(known, got) {
			list.Add(problem.Problem{Field: "choices." + string(c), Code: "S003",
				Msg: fmt.Sprintf("unknown value %q", got), Help: "it may be " + strings.Join(known, ", ")})
		}
	}
	if d := r.Balls.Diameter; !(d >= 0 && d <= ballMax) {
		list.Add(problem.Problem{Field: "balls.diameter", Code: "S004",
			Msg:  fmt.Sprintf("%g mm is not between 0 and %d mm", d, ballMax),
			Help: "give the diameter of one ball; the largest published is 68 mm"})
	}
	return list.Err()
}

// ballMax is past any ball played with; the largest published is 68 mm.
const ballMax = 100

// gameIDs lists the ids of the games that are built in.
func gameIDs() []string {
	var out []string
	for _, g := range builtIn {
		out = append(out, g.ID)
	}
	return out
}

// marks places every mark on a table, those that coincide still apart. Which
// published size the table is, if any, is decided by the table asked for, so that
// a small error of the tape does not change the rule a mark follows.
func (r Request) marks(t Table, house []houseMark) []Mark {
	on := groundOf(t, r.Balls)
	asked := groundOf(r.Table, r.Balls)
	var out []Mark
	for _, id := range r.Games {
		gm, _ := gameNamed(id)
		p := placer{ground: on, asked: asked, game: gm, choices: r.Choices}
		for _, rl := range gm.Marks {
			if rl.Only.met(r.Choices) {
				out = append(out, p.mark(rl))
			}
		}
	}
	for _, h := range house {
		out = append(out, h.mark(on))
	}
	return out
}

// placer turns one game's rules into marks on one table.
type placer struct {
	ground
	asked   ground // of the table the plan is for
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
		if f.On.holds(p.asked.l, p.asked.w) && (f.Except == "" || f.Except != choice) {
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
		Rule: r.Text, Source: p.graded(r.Source, r.Grade)}
	if r.Of != "" {
		s := p.stated(r.Of)
		m.Rule, m.Source = s.text, p.graded(s.source, s.grade)
	}
	switch r.Kind {
	case Spot:
		m.X, m.Y = p.at(r.A)
	case Line:
		m.X, m.Y = p.at(r.A)
		m.X2, m.Y2 = p.at(r.B)
	case Arc:
		m.X, m.Y = p.at(r.A)
		m.Radius, m.Start, m.End = p.mm(r.Radius), r.Start, r.End
	case Outline:
		for _, a := range r.Around {
			x, y := p.at(a)
			m.Points = append(m.Points, [2]float64{x, y})
		}
	}
	return m
}

// graded returns a source as it is shown: what is known from memory says so.
func (p placer) graded(source, grade string) string {
	switch {
	case grade != "U" && !p.game.FromMemory:
		return source
	case source == "":
		return "from memory"
	}
	return "from memory (" + source + ")"
}
