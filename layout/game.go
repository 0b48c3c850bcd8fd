package layout

import "sort"

// GameInfo describes a game that is built in.
type GameInfo struct {
	ID, Name, Summary string
	// Grade is the weakest grade among its rules' sources: "A" the text of a
	// rule body, "B" an encyclopaedia, trade body or maker, "C" a how-to or
	// glossary, "K" computed or common practice, "U" from memory.
	Grade string
	// Provenance says the same in words, for lists: "from memory" where it is.
	Provenance string
	// Surfaces are the playing surfaces its rule or trade bodies publish, length and
	// width, mm, the usual one first.
	Surfaces [][2]float64
}

// allGames lists the games that are built in, in the order they are shown.
func allGames() []game {
	list := []game{
		poolGame(),
		snookerGame(),
		billiardsGame(),
		sixRedGame(),
		blackballGame(),
		eightBallGame(),
		caromGame(),
	}
	list = append(list, balklineGames()...)
	return append(list, pyramidGame(), heyballGame())
}

// builtIn are the games, built once. Nobody writes to it.
var builtIn = allGames()

// Games lists the games that are built in.
func Games() []GameInfo {
	var out []GameInfo
	for _, g := range builtIn {
		info := GameInfo{ID: g.ID, Name: g.Name, Summary: g.Summary, Grade: g.grade(), Provenance: g.provenance()}
		for _, z := range g.Sizes {
			if !z.Twice {
				info.Surfaces = append(info.Surfaces, [2]float64{z.L, z.W})
			}
		}
		out = append(out, info)
	}
	return out
}

// gameNamed returns the game with that id.
func gameNamed(id string) (game, bool) {
	for _, g := range builtIn {
		if g.ID == id {
			return g, true
		}
	}
	return game{}, false
}

// provenance says in words where a game's rules are from.
func (g game) provenance() string {
	switch grade := g.grade(); {
	case g.FromMemory:
		return "from memory"
	case grade == "U":
		return "partly from memory"
	case grade == "K":
		return "rule text, partly computed or common practice"
	case grade == "A":
		return "rule text"
	}
	return "rule text, partly from lesser sources"
}

// gradeOrder ranks grades from the strongest to the weakest.
const gradeOrder = "ABKCU"

// grade returns the weakest grade among the game's default rules.
func (g game) grade() string {
	if g.FromMemory {
		return "U"
	}
	worst := 0
	see := func(grade string) {
		for i := range gradeOrder {
			if gradeOrder[i:i+1] == grade && i > worst {
				worst = i
			}
		}
	}
	for _, r := range g.Marks {
		if r.Only.met(Choices{}) {
			see(r.Grade)
		}
	}
	for _, v := range g.Values {
		see(v.Formulas[0].Grade)
	}
	return gradeOrder[worst : worst+1]
}

// choiceValues lists what each choice may be; the empty string, always allowed,
// is the default.
func choiceValues() map[choice][]string {
	return map[choice][]string{
		choiceBaulk: {"head-string", "scaled", "fifth", "both"},
		choiceD:     {"width/6", "scaled"},
		choiceBlack: {"length/11", "scaled"},
		choiceRack:  {"corners", "outline"},
		choiceBox:   {"none", "epbf", "norway"},
		choiceSide:  {"none", "7in", "9in"},
	}
}

// choiceNames lists the choices in the order they are shown.
func choiceNames() []choice {
	var out []choice
	for c := range choiceValues() {
		out = append(out, c)
	}
	sort.Slice(out, func(i, j int) bool { return out[i] < out[j] })
	return out
}

// Grounds says what the grade of a game's rules means.
func (g GameInfo) Grounds() string {
	switch g.Grade {
	case "A":
		return "rule body"
	case "B":
		return "encyclopaedia, trade body or maker"
	case "C":
		return "how-to or glossary"
	case "K":
		return "computed or common practice"
	}
	return "from memory"
}
