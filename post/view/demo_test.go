package view_test

import (
	"fmt"
	"math"

	"spotjig/cam/jig"
	"spotjig/cam/jig/budget"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
)

// demoSet is a small finished job drawn up by hand: a 9 ft table marked for
// pool and snooker, ten plates and eight fins on two sheets. Its dimensions are
// our own invention; nothing here comes out of the designer.
func demoSet() post.Set {
	s := post.Set{
		Version: "test",
		Job: job.Job{
			Name: "Community hall, back room", Date: "2026-11-20", Games: []string{"pool", "snooker"},
			Choices: layout.Choices{BaulkLine: "scaled", D: "width/6", Black: "length/11", Rack: "corners", MinApart: 8},
			Balls:   layout.Balls{Diameter: 57.15, Reds: 15},
			Jig: job.Jig{For: "class", MarkerTip: 0.7, MarkerGuide: 2.8, Spots: "point", Tolerance: 1,
				NosePM: 0.3, Fit: "slide", FinFix: "bonded", SideTravel: 8, ShopTempC: 20, HallTempC: 20, ShopRH: 50, HallRH: 50},
		},
		Table: layout.Table{Name: "9 ft pool", L: 2540, W: 1270, NoseHeight: 36.5, TapePM: 0.5,
			Corners: [4][2]float64{{0, -635}, {2540, -635}, {2540, 635}, {0, 635}}},
		Machine: machine.Profile{Name: "shop-laser", Process: machine.Laser, Max: machine.Axes{X: 620, Y: 420},
			Offsets: map[int]machine.Axes{1: {X: 10, Y: 10}}, BeamWord: "M4", PowerScale: 1000, RapidMax: 200,
			FeedMax: 100, AccelCut: 500, AccelRap: 1000, MarginBed: 5, SupportGrid: 12, Wavelength: 10600},
		Material: machine.Material{Name: "cast-acrylic-5", Kind: "cast acrylic", Sold: 5, Thickness: 4.85, Kerf: 0.18, KerfPM: 0.03,
			Expansion: 70e-6, Sheets: []machine.Stock{{Width: 600, Height: 400}},
			Cut:    machine.Setting{Power: 900, Feed: machine.FeedPerMinute(500), Passes: 1, Proven: "M. Weaver, 2026-11-18"},
			Score:  machine.Setting{Power: 220, Feed: machine.FeedPerMinute(2400), Passes: 1, Proven: "M. Weaver, 2026-11-18"},
			Letter: machine.Setting{Power: 150, Feed: machine.FeedPerMinute(3600), Passes: 1}},
		Cautions: []string{
			"Fire: acrylic flames while it is cut. Stay beside the machine for the whole job, extinguisher in reach.",
			"Fume: extraction on before the first cut and for 20 minutes after the last; lid shut meanwhile.",
			"Eyes: the beam is invisible. Never open or bridge the lid switch.",
			"Sheet: cast acrylic only, by the supplier's data sheet. Never vinyl or PVC.",
		},
	}
	s.Marks = demoMarks()
	s.Jig = demoJig()
	s.Jig.Checks, s.Jig.Budgets = demoChecks(), demoBudgets(s.Marks)
	s.Checks = s.Jig.Checks
	s.Sheets = demoSheets(s)
	s.Tape = []layout.TapePlace{
		{ID: "baulk-line@right", Name: "baulk line, right end", End: "head nose", EndDist: 2540 * 29 / 140.5, Side: "right nose", Check: "left nose", CheckAs: "left nose", CheckBy: 1270},
		{ID: "yellow", Name: "yellow", End: "head nose", EndDist: 2540 * 29 / 140.5, Side: "right nose", SideDist: 635 - 1270.0/6, Check: "baulk-line@right", CheckAs: "baulk line, right end", CheckBy: 635 - 1270.0/6},
	}
	return s
}

func demoMarks() []layout.Mark {
	spot := func(id, name string, x, y float64, rule string, games ...string) layout.Mark {
		return layout.Mark{ID: id, Name: name, Games: games, Kind: layout.Spot, X: x, Y: y, Rule: rule,
			FromHead: fmt.Sprintf("%.1f mm", x), FromFoot: fmt.Sprintf("%.1f mm", 2540-x), Across: fmt.Sprintf("%.1f mm", y), Source: "common practice"}
	}
	const baulk, d = 2540 * 29 / 140.5, 1270.0 / 6
	out := []layout.Mark{
		spot("head-spot", "head spot", 635, 0, "a quarter of the length", "pool"),
		spot("centre-spot", "centre spot, blue", 1270, 0, "half the length", "pool", "snooker"),
		spot("foot-spot", "foot spot, pink", 1905, 0, "three quarters of the length", "pool", "snooker"),
		{ID: "head-string", Name: "head string", Games: []string{"pool"}, Kind: layout.Line, X: 635, Y: -635, X2: 635, Y2: 635,
			Rule: "a quarter of the length", Source: "WPA rules 8.1", FromHead: "635.0 mm"},
		{ID: "long-string", Name: "long string", Games: []string{"pool"}, Kind: layout.Line, X: 1905, X2: 2540,
			Rule: "foot spot to foot rail", Source: "WPA rules 8.1"},
		{ID: "rack", Name: "rack outline", Games: []string{"pool"}, Kind: layout.Outline,
			Points: [][2]float64{{1848, 0}, {2131.5, -163.8}, {2131.5, 163.8}}, Rule: "tight triangle", Source: "computed"},
		{ID: "baulk-line", Name: "baulk line", Games: []string{"snooker"}, Kind: layout.Line, X: baulk, Y: -635, X2: baulk, Y2: 635,
			Rule: "29 in in 140 1/2 in of length", Source: "common practice", FromHead: "524.3 mm"},
		{ID: "d", Name: "the D", Games: []string{"snooker"}, Kind: layout.Arc, X: baulk, Radius: d, Start: 90 * geom.Degree, End: 270 * geom.Degree,
			Rule: "a sixth of the width", Source: "common practice"},
		spot("yellow", "yellow", baulk, -d, "right corner of the D", "snooker"),
		spot("green", "green", baulk, d, "left corner of the D", "snooker"),
		spot("brown", "brown", baulk, 0, "middle of the baulk line", "snooker"),
		spot("black", "black", 2540-2540.0/11, 0, "an eleventh of the length", "snooker"),
	}
	out[1].Also, out[2].Also = []string{"blue"}, []string{"pink"}
	return out
}

// plate is a rectangle w by h with corners of radius 3; tail adds a dovetail to its right edge.
func plate(w, h float64, tail bool) geom.Contour {
	const r = 3.0
	b := math.Tan(math.Pi / 8)
	p := func(x, y, bulge float64) geom.Vertex { return geom.Vertex{At: geom.Point{X: x, Y: y}, Bulge: bulge} }
	v := []geom.Vertex{p(r, 0, 0), p(w-r, 0, b), p(w, r, 0)}
	if tail {
		m := h / 2
		v = append(v, p(w, m-10, 0), p(w+15, m-15, 0), p(w+15, m+15, 0), p(w, m+10, 0))
	}
	v = append(v, p(w, h-r, b), p(w-r, h, 0), p(r, h, b), p(0, h-r, 0), p(0, r, b))
	return geom.MustClosed(v...)
}

func demoJig() jig.Jig {
	const baulk, d, w = 2540 * 29 / 140.5, 1270.0 / 6, 3.1
	part := func(id, tmpl string, role jig.Role, o geom.Contour, at jig.Pose) jig.Part {
		return jig.Part{ID: id, Template: tmpl, Role: role, Outline: o, OnTable: at, Scale: 1, Text: []string{id + " " + tmpl},
			Letters: jig.Lettering(id+" "+tmpl, geom.Point{X: 8, Y: 8}, 7)}
	}
	var j jig.Jig
	j.LengthMin, j.LengthMax = 2538, 2542
	pad := part("H2", "head", "pad", plate(390, 510, false), jig.Pose{X: 290, Y: -255})
	pt := func(x, y float64) geom.Point { return geom.Point{X: x - 290, Y: y + 255} }
	for i := 0; i < 6; i++ {
		a := 92 + float64(i)*30
		pad.Openings = append(pad.Openings, jig.Opening{ID: fmt.Sprintf("d.%d", i+1), Kind: jig.OpenArc, Mark: "d", Figure: geom.Arc(pt(baulk, 0), d, geom.Angle(a)*geom.Degree, geom.Angle(a+26)*geom.Degree), Width: w})
	}
	for i, y := range []float64{-190, -90, 20, 120} {
		pad.Openings = append(pad.Openings, jig.Opening{ID: fmt.Sprintf("baulk-line.%d", i+1), Kind: jig.OpenSlot, Mark: "baulk-line", Figure: geom.Line(pt(baulk, y), pt(baulk, y+70)), Width: w},
			jig.Opening{ID: fmt.Sprintf("head-string.%d", i+1), Kind: jig.OpenSlot, Mark: "head-string", Figure: geom.Line(pt(635, y), pt(635, y+70)), Width: w})
	}
	for _, m := range []struct {
		id string
		at geom.Point
	}{{"yellow", pt(baulk, -d)}, {"green", pt(baulk, d)}, {"brown", pt(baulk, 0)}, {"head-spot", pt(635, 0)}} {
		pad.Openings = append(pad.Openings, jig.Opening{ID: m.id, Kind: jig.OpenSpot, Mark: m.id, Figure: geom.Dot(m.at), Width: w})
	}
	for _, x := range [][2]float64{{0, 220}, {250, 330}, {360, 390}} { // the centre line stops short of the holes
		pad.Scores = append(pad.Scores, geom.MustOpen(geom.Vertex{At: geom.Point{X: x[0], Y: 255}}, geom.Vertex{At: geom.Point{X: x[1], Y: 255}}))
	}
	j.Parts = append(j.Parts, pad)
	for i, y := range []float64{-605, 255} {
		arm := part([]string{"H3", "H1"}[i], "head", "arm", plate(180, 350, false), jig.Pose{X: 500, Y: y})
		for k := 0; k < 3; k++ {
			arm.Openings = append(arm.Openings, jig.Opening{ID: fmt.Sprintf("head-string.%d", k+1), Kind: jig.OpenSlot, Mark: "head-string", Figure: geom.Line(geom.Point{X: 135, Y: 20 + float64(k)*110}, geom.Point{X: 135, Y: 110 + float64(k)*110}), Width: w})
		}
		for k := 0; k < 33; k++ {
			l := 3.0
			if k%10 == 6 {
				l = 6
			}
			x := 40 + float64(k)/2
			arm.Scores = append(arm.Scores, geom.MustOpen(geom.Vertex{At: geom.Point{X: x, Y: 320}}, geom.Vertex{At: geom.Point{X: x, Y: 320 + l}}))
		}
		leg := part([]string{"H5", "H4"}[i], "head", "leg", plate(480, 80, true), jig.Pose{X: 8, Y: []float64{-430, 350}[i]})
		j.Parts = append(j.Parts, arm, leg)
	}
	spine := part("F1", "foot", "spine", plate(420, 90, true), jig.Pose{X: 1235, Y: -45})
	spine.Openings = []jig.Opening{{ID: "centre-spot", Kind: jig.OpenSpot, Mark: "centre-spot", Figure: geom.Dot(geom.Point{X: 35, Y: 45}), Width: w}}
	s2 := part("F2", "foot", "spine", plate(420, 90, true), jig.Pose{X: 1655, Y: -45})
	s2.Openings = []jig.Opening{{ID: "foot-spot", Kind: jig.OpenSpot, Mark: "foot-spot", Figure: geom.Dot(geom.Point{X: 250, Y: 45}), Width: w}}
	s3 := part("F3", "foot", "spine", plate(455, 90, false), jig.Pose{X: 2075, Y: -45})
	s3.Openings = []jig.Opening{{ID: "black", Kind: jig.OpenSpot, Mark: "black", Figure: geom.Dot(geom.Point{X: 2540 - 2540.0/11 - 2075, Y: 45}), Width: w},
		{ID: "hang", Kind: jig.OpenHang, Figure: geom.Dot(geom.Point{X: 430, Y: 70}), Width: 2 * 4}}
	j.Parts = append(j.Parts, spine, s2, s3,
		part("F4", "foot", "leg", plate(90, 390, true), jig.Pose{X: 2440, Y: 45}), part("F5", "foot", "leg", plate(90, 390, true), jig.Pose{X: 2530, Y: -45, Turn: 180 * geom.Degree}))
	fin := geom.MustClosed(geom.Vertex{At: geom.Point{X: 1.5}}, geom.Vertex{At: geom.Point{X: 58}}, geom.Vertex{At: geom.Point{X: 66, Y: 5}},
		geom.Vertex{At: geom.Point{X: 14, Y: 52}}, geom.Vertex{At: geom.Point{X: 0, Y: 52}}, geom.Vertex{At: geom.Point{X: 0, Y: 2}})
	fins := []struct {
		id, tmpl, role string
		at             jig.Pose
	}{{"HE1", "head", "end fin", jig.Pose{X: 0, Y: 390, Upright: true}}, {"HE2", "head", "end fin", jig.Pose{X: 0, Y: -390, Upright: true}},
		{"HS1", "head", "side fin", jig.Pose{X: 548, Y: 635, Turn: 270 * geom.Degree, Upright: true}}, {"HS2", "head", "side fin", jig.Pose{X: 548, Y: -635, Turn: 90 * geom.Degree, Upright: true}},
		{"FE1", "foot", "end fin", jig.Pose{X: 2540, Y: 390, Turn: 180 * geom.Degree, Upright: true}}, {"FE2", "foot", "end fin", jig.Pose{X: 2540, Y: -390, Turn: 180 * geom.Degree, Upright: true}}}
	for _, f := range fins {
		p := part(f.id, f.tmpl, jig.Role(f.role), fin, f.at)
		p.Letters = jig.Lettering(f.id, geom.Point{X: 6, Y: 20}, 6)
		j.Parts = append(j.Parts, p)
	}
	j.Joints = []jig.Joint{{Tail: "F1", Socket: "F2", From: geom.Point{X: 1655, Y: -45}, To: geom.Point{X: 1655, Y: 45}, Key: "one tail, 6 mm off centre"},
		{Tail: "F2", Socket: "F3", From: geom.Point{X: 2075, Y: -45}, To: geom.Point{X: 2075, Y: 45}, Key: "one tail, 12 mm off centre"}}
	return j
}

func demoChecks() []jig.Check {
	return []jig.Check{
		{ID: "bed", Verdict: jig.Pass, Value: 510, Limit: 610, Unit: "mm", Text: "longest piece H2 fits the bed with a 5 mm margin"},
		{ID: "web", Verdict: jig.Pass, Value: 11.4, Limit: 8, Unit: "mm", Text: "least material between two openings: H2 yellow and d.1"},
		{ID: "cover", Verdict: jig.Warn, Value: 0.78, Limit: 0.8, Unit: "", Text: "head-string is covered 78 %: finish the gaps with a straightedge"},
		{ID: "budget", Verdict: jig.Fail, Value: 1.12, Limit: 1, Unit: "mm", Text: "centre-spot: worst case above the tolerance; mark it from both ends and take the middle"},
		{ID: "as-cut", Verdict: jig.Pass, Value: 0.002, Limit: 0.02, Unit: "mm", Text: "the program cuts the nominal parts: sheet 1 and sheet 2"},
		{ID: "repeat", Verdict: jig.Pass, Text: "the job as a whole gives the same bytes twice"},
	}
}

func demoBudgets(marks []layout.Mark) []jig.Budget {
	var out []jig.Budget
	for i, m := range marks {
		k := float64(i%4) * 0.12
		b := jig.Budget{Mark: m.ID, Tolerance: 1, Verdict: jig.Pass, Improve: "measure the kerf again",
			Total: budget.Total{Worst: 0.6 + k, Likely: 0.4 + k/2, Terms: []budget.Term{{Name: "nose contact", Worst: 0.3}, {Name: "marker", Worst: 0.2 + k}, {Name: "growth", Worst: 0.1, Common: true}}}}
		if m.ID == "centre-spot" {
			b.Worst, b.Likely, b.Verdict = 1.12, 0.71, jig.Warn
		}
		out = append(out, b)
	}
	return out
}

func demoSheets(s post.Set) []post.Sheet {
	at := func(x, y, turn float64) geom.Placement {
		return geom.Placement{X: x, Y: y, Turn: geom.FromDegrees(turn)}
	}
	place := [][]nest.Placed{
		{{ID: "H2", On: at(10, 395, 270)}},
		{{ID: "H4", On: at(10, 10, 0)}, {ID: "H5", On: at(10, 95, 0)}, {ID: "F1", On: at(10, 180, 0)}, {ID: "F2", On: at(10, 275, 0)}, {ID: "HE1", On: at(510, 10, 0)}, {ID: "HE2", On: at(510, 70, 0)}},
		{{ID: "H1", On: at(10, 10, 0)}, {ID: "H3", On: at(195, 10, 0)}, {ID: "F4", On: at(380, 10, 0)}, {ID: "HS1", On: at(480, 10, 0)}, {ID: "HS2", On: at(480, 70, 0)}},
		{{ID: "F3", On: at(10, 10, 0)}, {ID: "F5", On: at(420, 110, 90)}, {ID: "FE1", On: at(480, 10, 0)}, {ID: "FE2", On: at(480, 70, 0)}},
	}
	var out []post.Sheet
	for i, ps := range place {
		sh := post.Sheet{Sheet: nest.Sheet{N: i + 1, Width: 600, Height: 400, Placed: ps, UsedFraction: 0.61}}
		sh.Path = demoPath(s, sh.Sheet)
		sh.Bounds, sh.CutLen, sh.TravelLen = sh.Path.Bounds, sh.Path.Cut, sh.Path.Travel
		sh.Time, sh.BeamOn = sh.CutLen/10+sh.TravelLen/150, sh.CutLen/10
		at := geom.Point{}
		for _, o := range sh.Path.Ops {
			cut := 0.0
			for _, m := range o.Moves {
				cut += m.Length()
			}
			sh.Laps = append(sh.Laps, at.Dist(o.Moves[0].From)/150, cut/10)
			at = o.Moves[len(o.Moves)-1].To
		}
		out = append(out, sh)
	}
	return out
}

func demoPath(s post.Set, sh nest.Sheet) path.Toolpath {
	t := path.Toolpath{Sheet: sh.N, Process: machine.Laser, Bounds: geom.EmptyBox()}
	last := geom.Point{}
	add := func(o path.Op, c geom.Contour, feed machine.Feed) {
		if o.Closed {
			in := c.Start().Add(c.Segment(0).Tangent(0).Left().Scale(-2))
			o.Moves = append(o.Moves, path.Move{Segment: geom.Segment{From: in, To: c.Start()}, Feed: feed})
			o.First = 1
		}
		for _, g := range c.Segments() {
			o.Moves = append(o.Moves, path.Move{Segment: g, Feed: feed})
		}
		o.Last, o.Pass = len(o.Moves), 1
		t.Travel += last.Dist(o.Moves[0].From)
		for _, m := range o.Moves {
			t.Cut += m.Length()
			t.Bounds = t.Bounds.Union(m.Bounds())
			last = m.To
		}
		t.Ops = append(t.Ops, o)
	}
	for _, pl := range sh.Placed {
		p, _ := s.Part(pl.ID)
		for _, c := range p.Letters {
			add(path.Op{Layer: path.Lettering, Part: p.ID, Feature: "letters", Power: 150}, c.Transform(pl.On), s.Material.Letter.Feed)
		}
		for _, c := range p.Scores {
			add(path.Op{Layer: path.Score, Part: p.ID, Feature: "score", Power: 220}, c.Transform(pl.On), s.Material.Score.Feed)
		}
		for _, o := range p.Openings {
			add(path.Op{Layer: path.Opening, Part: p.ID, Feature: o.ID, Power: 900, Closed: true}, o.Contour().Transform(pl.On), s.Material.Cut.Feed)
		}
		add(path.Op{Layer: path.Outline, Part: p.ID, Feature: "outline", Power: 900, Closed: true}, p.Outline.Transform(pl.On), s.Material.Cut.Feed)
	}
	return t
}
