package record

import (
	"fmt"

	"spotjig/cam/jig"
	"spotjig/cam/nest"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
)

// Set returns the job as the record tells it, for proving a folder again. What
// a record does not keep is empty: scores, lettering, joints and toolpaths. A
// shape that cannot be is an error that names the part or opening.
func (r Record) Set() (post.Set, error) {
	set := post.Set{Version: r.Version, Job: r.Job, Table: r.Job.Table, Machine: r.Machine, Material: r.Material}
	for _, m := range r.Marks {
		mark, err := m.mark()
		if err != nil {
			return post.Set{}, err
		}
		set.Marks = append(set.Marks, mark)
	}
	bySheet := map[int][]nest.Placed{}
	for _, p := range r.Parts {
		part, err := p.part()
		if err != nil {
			return post.Set{}, err
		}
		set.Jig.Parts = append(set.Jig.Parts, part)
		if p.OnSheet != nil {
			on := geom.Placement{X: p.OnSheet.X, Y: p.OnSheet.Y, TurnDeg: p.OnSheet.TurnDeg}
			bySheet[p.Sheet] = append(bySheet[p.Sheet], nest.Placed{ID: p.ID, On: on})
		}
	}
	for _, s := range r.Sheets {
		set.Sheets = append(set.Sheets, s.sheet(bySheet[s.N]))
		delete(bySheet, s.N)
	}
	for n := range bySheet {
		return post.Set{}, fmt.Errorf("parts lie on sheet %d, which is not listed: %w", n, ErrRecord)
	}
	for _, c := range r.Checks {
		set.Checks = append(set.Checks, jig.Check{
			ID: c.ID, Verdict: jig.Verdict(c.Verdict), Value: c.Value, Limit: c.Limit, Unit: c.Unit, Text: c.Text,
		})
	}
	return set, nil
}

func (s Sheet) sheet(placed []nest.Placed) post.Sheet {
	out := post.Sheet{
		Sheet:  nest.Sheet{N: s.N, Width: s.Width, Height: s.Height, Placed: placed, UsedFraction: s.UsedFraction},
		CutLen: s.CutMM, TravelLen: s.TravelMM, Time: s.TimeS,
	}
	if b := s.Bounds; b != nil {
		out.Bounds = geom.Box{Min: geom.Point{X: b.XMin, Y: b.YMin}, Max: geom.Point{X: b.XMax, Y: b.YMax}}
	}
	return out
}

func (m Mark) mark() (layout.Mark, error) {
	out := layout.Mark{
		ID: m.ID, Also: m.Also, Name: m.Name, Games: m.Games, Kind: layout.Kind(m.Kind),
		Points: m.Points, Rule: m.Rule, Source: m.Source,
	}
	need := map[layout.Kind][]*float64{
		layout.Spot:    {m.X, m.Y},
		layout.Line:    {m.X, m.Y, m.X2, m.Y2},
		layout.Arc:     {m.X, m.Y, m.Radius, m.StartDeg, m.EndDeg},
		layout.Outline: {},
	}
	want, ok := need[out.Kind]
	if !ok {
		return out, fmt.Errorf("mark %.40q: unknown kind %.40q: %w", m.ID, m.Kind, ErrRecord)
	}
	for _, v := range want {
		if v == nil {
			return out, fmt.Errorf("mark %.40q: a %s lacks a number: %w", m.ID, m.Kind, ErrRecord)
		}
	}
	for _, f := range []struct {
		to   *float64
		from *float64
	}{{&out.X, m.X}, {&out.Y, m.Y}, {&out.X2, m.X2}, {&out.Y2, m.Y2}, {&out.Radius, m.Radius}, {&out.StartDeg, m.StartDeg}, {&out.EndDeg, m.EndDeg}} {
		if f.from != nil {
			*f.to = *f.from
		}
	}
	return out, nil
}

func (p Part) part() (jig.Part, error) {
	out := jig.Part{
		ID: p.ID, Template: p.Template, Role: jig.Role(p.Role), Scale: p.Scale,
		OnTable: jig.Pose{X: p.OnTable.X, Y: p.OnTable.Y, Z: p.OnTable.Z, TurnDeg: p.OnTable.TurnDeg, Upright: p.OnTable.Upright},
	}
	if !(p.Scale > 0.9 && p.Scale < 1.1) {
		return out, fmt.Errorf("part %.40q: scale %v is not near 1: %w", p.ID, p.Scale, ErrRecord)
	}
	v := make([]geom.Vertex, len(p.Outline))
	for i, q := range p.Outline {
		v[i] = geom.Vertex{At: geom.Point{X: q.X, Y: q.Y}, Bulge: q.Bulge}
	}
	var err error
	if out.Outline, err = geom.NewClosed(v...); err != nil {
		return out, fmt.Errorf("part %.40q: outline: %w", p.ID, err)
	}
	for _, o := range p.Openings {
		open, err := o.opening()
		if err != nil {
			return out, fmt.Errorf("part %.40q: opening %.40q: %w", p.ID, o.ID, err)
		}
		out.Openings = append(out.Openings, open)
	}
	return out, nil
}

// opening refuses what would make no contour: a missing number, a width or
// radius that is not positive, a sweep beyond a full turn.
func (o Opening) opening() (jig.Opening, error) {
	out := jig.Opening{ID: o.ID, Kind: jig.OpeningKind(o.Kind)}
	if o.Mark != nil {
		out.Mark = *o.Mark
	}
	var missing bool
	get := func(v *float64) float64 {
		if v == nil {
			missing = true
			return 0
		}
		return *v
	}
	sound := true
	switch out.Kind {
	case jig.OpenSlot, jig.OpenFin:
		out.From = geom.Point{X: get(o.X1), Y: get(o.Y1)}
		out.To = geom.Point{X: get(o.X2), Y: get(o.Y2)}
		out.Width = get(o.Width)
		sound = out.Width > 0 && out.From.Dist(out.To) > 0
	case jig.OpenArc:
		out.C = geom.Point{X: get(o.Cx), Y: get(o.Cy)}
		out.R, out.StartDeg, out.EndDeg, out.Width = get(o.R), get(o.StartDeg), get(o.EndDeg), get(o.Width)
		sound = out.Width > 0 && out.R > out.Width/2 && out.EndDeg > out.StartDeg && out.EndDeg-out.StartDeg < 360
	case jig.OpenSpot, jig.OpenSocket, jig.OpenFinger, jig.OpenHang:
		out.C, out.R = geom.Point{X: get(o.X), Y: get(o.Y)}, get(o.R)
		sound = out.R > 0
	default:
		return out, fmt.Errorf("unknown kind %.40q: %w", o.Kind, ErrRecord)
	}
	if missing || !sound {
		return out, fmt.Errorf("a %s with a number missing or impossible: %w", o.Kind, ErrRecord)
	}
	return out, nil
}
