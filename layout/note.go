package layout

import (
	"slices"

	"spotjig/layout/geom"
)

// notes lists the fitter's choices for the games marked, with what each moves on
// this table, and what the sources leave open.
func (r Request) notes() []Note {
	var out []Note
	var seen []string
	g := groundOf(r.Table, r.Balls)
	for _, id := range r.Games {
		gm, _ := gameNamed(id)
		p := placer{ground: g, asked: g, game: gm, choices: r.Choices}
		for _, v := range gm.Values {
			if len(v.Formulas) > 1 && !slices.Contains(seen, v.Name) {
				seen = append(seen, v.Name)
				out = append(out, p.note(v, r.Games))
			}
		}
	}
	for _, id := range r.Games {
		gm, _ := gameNamed(id)
		for _, text := range gm.Remarks {
			if !slices.Contains(seen, text) {
				seen = append(seen, text)
				out = append(out, Note{Text: text})
			}
		}
	}
	return out
}

// note says what the choice of a value's formula does.
func (p placer) note(v value, games []string) Note {
	offered := func(value string) bool {
		return value == v.Formulas[0].For || Request{Games: games}.answered(v.By, value)
	}
	chosen := p.choices.pick(v.By)
	if !offered(chosen) {
		chosen = v.Formulas[0].For
	}
	n := Note{Choice: string(v.By), Chosen: chosen, Text: v.Title}
	if v.About != "" {
		n.Text += ": " + v.About
	}
	for _, a := range v.Advice {
		if a.applies(games) {
			n.Recommend = a.Take
			n.Text += "; recommended is " + a.Take + ": " + a.Why
			break
		}
	}
	now := p.under(v, chosen).mm
	for _, f := range v.Formulas {
		if !offered(f.For) {
			continue
		}
		s := p.under(v, f.For)
		n.Options = append(n.Options, Option{Value: f.For, At: geom.Millionth(s.mm), Moves: geom.Millionth(s.mm - now),
			Rule: s.text, Source: p.graded(s.source, s.grade)})
	}
	for _, f := range v.Fixed {
		if f.On.holds(p.asked.l, p.asked.w) {
			n.Text += "; this table is " + f.On.Name + ", where the rule's own figure holds unscaled"
		}
	}
	return n
}

// applies reports whether the advice is for a job with these games.
func (a advice) applies(games []string) bool {
	if len(a.With) == 0 {
		return true
	}
	return slices.ContainsFunc(a.With, func(g string) bool { return slices.Contains(games, g) })
}
