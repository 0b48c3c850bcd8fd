package work

import (
	"io"
	"math"
	"slices"

	"spotjig/cam/jig"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
)

// laserFaults are planted in what a beam does.
func laserFaults() []planted {
	sheets := 0
	rows := []planted{
		{name: "offset on the wrong side", hook: steps{request: func(r *path.Request) { r.Material.Kerf = -r.Material.Kerf }}},
		{name: "offset on the wrong side, after the offset code", catch: "as-cut", hook: eachOp(path.Opening, func(o *path.Op) bool {
			box := geom.EmptyBox()
			for _, m := range o.Moves {
				box = box.Union(m.Bounds())
			}
			moved(box.Center(), 1+0.18/box.Width()*2, o.Moves)
			return true
		})},
		{name: "kerf of another sheet", catch: "as-cut", hook: steps{request: func(r *path.Request) {
			if sheets++; sheets == 2 {
				r.Material.Kerf = 0.3
			}
		}}},
		{name: "a placement shifted by 0.1 mm", catch: "as-cut", hook: steps{request: func(r *path.Request) { r.Sheet.Placed = shifted(r.Sheet.Placed) }}},
		{name: "a lead-in dropped", catch: "as-cut", hook: eachOp(path.Outline, func(o *path.Op) bool {
			o.Moves = o.Moves[o.First:]
			o.Last, o.First = o.Last-o.First, 0
			return true
		})},
		{name: "a lead-in from the kept side", catch: "as-cut", hook: eachOp(path.Outline, func(o *path.Op) bool {
			moved(o.Moves[o.First].From, -1, o.Moves[:o.First])
			return o.First > 0
		})},
		{name: "a contour lost", catch: "as-cut", hook: ordered(lost(path.Opening))},
		{name: "a contour cut twice", catch: "as-ordered", hook: ordered(twice(path.Opening))},
		{name: "a hole cut after its outline", catch: "as-ordered", hook: ordered(last(path.Opening))},
		{name: "a score burnt after its outline", catch: "as-ordered", hook: ordered(last(path.Lettering))},
		{name: "a letter burnt after another piece's hole", catch: "as-ordered", hook: ordered(behind(path.Lettering, path.Opening))},
		{name: "a hole cut after another piece is free", catch: "as-ordered", hook: ordered(behind(path.Opening, path.Outline))},
		{name: "a score at the power of a cut", catch: "as-marked", hook: eachOp(path.Score, func(o *path.Op) bool { o.Power = 800; return true })},
		{name: "a cut at the power of a score", catch: "as-cut", hook: eachOp(path.Opening, func(o *path.Op) bool { o.Power = 150; return true })},
		{name: "an arc bent the other way", catch: "as-cut", hook: eachOp(path.Opening, flipArc)},
		{name: "growth twice in the toolpath", job: "laser-warm", catch: "as-cut", hook: steps{request: func(r *path.Request) {
			r.Parts = slices.Clone(r.Parts)
			for i := range r.Parts {
				r.Parts[i].Scale *= r.Parts[i].Scale
			}
		}}},
		{name: "growth left out of the toolpath", job: "laser-warm", catch: "as-cut", hook: steps{request: func(r *path.Request) {
			r.Parts = slices.Clone(r.Parts)
			for i := range r.Parts {
				r.Parts[i].Scale = 1
			}
		}}},
	}
	return named("laser", "laser", rows)
}

// named fills in where the rows belong.
func named(what, job string, rows []planted) []planted {
	for i, r := range rows {
		rows[i].what = what
		if r.job == "" {
			rows[i].job = job
		}
	}
	return rows
}

// flipArc bends the first arc of the covering moves the other way.
func flipArc(o *path.Op) bool {
	for i := o.First; i < o.Last; i++ {
		if m := &o.Moves[i]; math.Abs(m.Bulge) > 0.05 {
			m.Bulge = -m.Bulge
			return true
		}
	}
	return false
}

// swings reports whether a move turns the blade about its tip.
func swings(m path.Move) bool { return m.Lift }

// knifeFaults are planted in what a blade does.
func knifeFaults() []planted {
	depth := func(z, put float64) func(*path.Op) bool {
		return func(o *path.Op) bool {
			changed := false
			for i := range o.Moves {
				if math.Abs(o.Moves[i].Z-z) < 1e-9 {
					o.Moves[i].Z, changed = put, true
				}
			}
			return changed
		}
	}
	const cut, score, letter = -0.45, -0.1, -0.12
	rows := []planted{
		{name: "a lead on the wrong side", catch: "tip-path", hook: eachOp(path.Opening, func(o *path.Op) bool {
			mirrored(o.Moves[o.First], o.Moves[:o.First])
			return true
		})},
		{name: "a lead reversed", catch: "tip-complete", hook: eachOp(path.Outline, func(o *path.Op) bool {
			moved(o.Moves[o.First].From, -1, o.Moves[:o.First])
			return true
		})},
		{name: "heading lost between contours: run-in left out", catch: "tip-complete", hook: eachOp(path.Opening, func(o *path.Op) bool {
			at := o.Moves[o.First].From
			down := path.Move{Segment: geom.Segment{From: at, To: at}, Z: cut, Feed: o.Moves[1].Feed}
			o.Moves = slices.Concat([]path.Move{down}, o.Moves[o.First:])
			o.Last, o.First = o.Last-o.First+1, 1
			return true
		})},
		{name: "heading lost between strokes: turn at the start left out", catch: "tip-path", hook: eachOp(path.Lettering, func(o *path.Op) bool {
			i := slices.IndexFunc(o.Moves[:o.First], func(m path.Move) bool { return m.From != m.To })
			if i < 0 {
				return false
			}
			at := o.Moves[i].To
			o.Moves = slices.Delete(o.Moves, i, i+1)
			for k := range o.Moves[:i] {
				o.Moves[k].From, o.Moves[k].To = at, at
			}
			o.First, o.Last = o.First-1, o.Last-1
			return true
		})},
		{name: "nothing brings the blade round at first", catch: "tip-path", hook: ordered(func(ops []path.Op) []path.Op { return ops[1:] })},
		{name: "a score cut at full depth", catch: "tip-depth", hook: eachOp(path.Score, depth(score, cut))},
		{name: "a fold cut at full depth", job: "card", catch: "tip-depth", hook: eachOp(path.Score, depth(-0.5, -1.1))},
		{name: "lettering at full depth", catch: "tip-depth", hook: eachOp(path.Lettering, depth(letter, cut))},
		{name: "a score at the depth of lettering", catch: "tip-depth", hook: eachOp(path.Score, depth(score, letter))},
		{name: "lettering at the depth of a score", catch: "tip-complete", hook: eachOp(path.Lettering, depth(letter, score))},
		{name: "an outline at the depth of a score", catch: "tip-complete", hook: eachOp(path.Outline, depth(cut, score))},
		{name: "an outline just through, not to its depth", catch: "tip-complete", hook: eachOp(path.Outline, depth(cut, -0.36))},
		{name: "cuts deeper than set", catch: "tip-depth", hook: steps{knife: func(r *path.KnifeRequest) { r.Material.Cut.Depth = -0.6 }}},
		{name: "a swivel dropped", catch: "tip-path", hook: eachOp(path.Lettering, func(o *path.Op) bool {
			for i := o.First; i < o.Last; i++ {
				if !swings(o.Moves[i]) || math.Abs(o.Moves[i].Bulge) < 0.2 {
					continue
				}
				at := o.Moves[i].From
				o.Moves = slices.Delete(o.Moves, i, i+1)
				for ; o.Moves[i].From == o.Moves[i].To; i++ {
					o.Moves[i].From, o.Moves[i].To = at, at
				}
				o.Moves[i].From = at
				o.Last--
				return true
			}
			return false
		})},
		{name: "a swivel the wrong way round", catch: "tip-path", hook: eachOp(path.Lettering, func(o *path.Op) bool {
			for i := o.First; i < o.Last; i++ {
				if m := &o.Moves[i]; swings(*m) && math.Abs(m.Bulge) > 0.2 {
					m.Bulge = -m.Bulge
					return true
				}
			}
			return false
		})},
		{name: "a swivel at full depth", catch: "dry-run", hook: eachOp(path.Lettering, func(o *path.Op) bool {
			done := false
			for i := range o.Moves {
				if swings(o.Moves[i]) && o.Moves[i].Z > letter {
					o.Moves[i].Z = letter
					done = done || math.Abs(float64(o.Moves[i].Sweep())) > math.Pi/2 // far more than is turned at depth
				}
			}
			for i := range o.Moves {
				if m := &o.Moves[i]; m.From == m.To && m.Z < 0 {
					m.Z = letter
				}
			}
			return done
		})},
		{name: "the overrun missing", catch: "tip-overrun", hook: ordered(func(ops []path.Op) []path.Op {
			o := &ops[len(ops)-1] // the last: after any other the blade would point elsewhere as well
			up := o.Moves[len(o.Moves)-1]
			at := o.Moves[o.Last-1].To
			up.From, up.To = at, at
			o.Moves = append(slices.Clone(o.Moves[:o.Last]), up)
			return ops
		})},
		{name: "an arc bent the other way", catch: "tip-path", hook: eachOp(path.Outline, flipArc)},
		{name: "a contour lost", catch: "tip-complete", hook: ordered(lost(path.Opening))},
		{name: "a stroke lost", catch: "tip-complete", hook: ordered(lost(path.Score))},
		{name: "a contour cut twice", catch: "as-ordered", hook: ordered(twice(path.Opening))},
		{name: "a fold scored twice", job: "card", catch: "as-ordered", hook: eachTwice(path.Score)},
		{name: "a hole cut after its outline", catch: "as-ordered", hook: ordered(last(path.Opening))},
		{name: "a score cut after its outline", catch: "as-ordered", hook: ordered(last(path.Score))},
		{name: "a letter cut after another piece's hole", catch: "as-ordered", hook: ordered(behind(path.Lettering, path.Opening))},
		{name: "offset of another tool", catch: "tip-path", hook: steps{knife: func(r *path.KnifeRequest) { r.Machine.Knife.Offset = 0.25 }}},
		{name: "a placement shifted by 0.1 mm", catch: "tip-path", hook: steps{knife: func(r *path.KnifeRequest) { r.Sheet.Placed = shifted(r.Sheet.Placed) }}},
		{name: "growth twice in the toolpath", job: "film-warm", catch: "tip-path", hook: steps{knife: func(r *path.KnifeRequest) {
			r.Parts = slices.Clone(r.Parts)
			for i := range r.Parts {
				r.Parts[i].Scale *= r.Parts[i].Scale
			}
		}}},
		{name: "the blade left down in a travel", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^G1 Z5.0000.*\n(\(OUTLINE)`, "$1")},
		{name: "a rapid down into the sheet at the end", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^M2\n`, "G0 Z-0.4500\nM2\n")},
		{name: "the blade let down at the end", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^M2\n`, "G1 Z-0.4500\nM2\n")},
		{name: "down into the sheet faster than it may", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^(G1 Z-0.4500) F.*$`, "$1 F1200")},
		{name: "a rapid down into the sheet", catch: "dry-run", hook: replaceFirst("sheet-1.nc", `(?m)^G1 Z0.5000.*\nG1 Z-0.4500`, "G0 Z-0.4500")},
		{name: "blade down in the dry run", catch: "as-read-dryrun", hook: replaceFirst("sheet-1-dryrun.nc", `(?m)^(\(OUTLINE.*\nG0 .*\n)`, "${1}G1 Z-0.4500\n")},
		{name: "blade down in the edges", catch: "as-read-edges", hook: replaceFirst("sheet-1-edges.nc", `(?m)^(\(EDGES\)\nG0.*\n)`, "${1}G1 Z-0.4500\n")},
	}
	return named("knife", "film", rows)
}

// eachTwice makes every operation of a layer twice.
func eachTwice(layer path.Layer) steps {
	return ordered(func(ops []path.Op) []path.Op {
		var out []path.Op
		for _, o := range ops {
			out = append(out, o)
			if o.Layer == layer && o.Part != "waste" {
				out = append(out, o)
			}
		}
		return out
	})
}

// designFaults are planted in the design, before any sheet is laid out: what
// every file agrees in must still be wrong by a proof.
func designFaults() []planted {
	parts := func(f func(p *jig.Part) bool) steps {
		return steps{design: func(j *jig.Jig) {
			j.Parts = slices.Clone(j.Parts)
			for i := range j.Parts {
				j.Parts[i].Openings = slices.Clone(j.Parts[i].Openings)
				if f(&j.Parts[i]) {
					return
				}
			}
			panic("nothing to plant the fault in")
		}}
	}
	socket := func(f func(*jig.Opening)) func(*jig.Part) bool {
		return func(p *jig.Part) bool {
			for i := range p.Openings {
				if p.Openings[i].Kind == jig.OpenSocket {
					f(&p.Openings[i])
					return true
				}
			}
			return false
		}
	}
	slot := func(kind jig.OpeningKind, f func(*jig.Opening)) func(*jig.Part) bool {
		return func(p *jig.Part) bool {
			i := slices.IndexFunc(p.Openings, func(o jig.Opening) bool { return o.Kind == kind })
			if i >= 0 {
				f(&p.Openings[i])
			}
			return i >= 0
		}
	}
	shoe := func(f func(*jig.Part)) func(*jig.Part) bool {
		return func(p *jig.Part) bool {
			if p.Role == jig.NoseShoe {
				f(p)
			}
			return p.Role == jig.NoseShoe
		}
	}
	// The first score of a piece that has slots is the dash of its first slot.
	dashed := func(f func(geom.Contour) []geom.Contour) func(*jig.Part) bool {
		return func(p *jig.Part) bool {
			if !slices.ContainsFunc(p.Openings, func(o jig.Opening) bool { return o.Kind == jig.OpenSlot }) {
				return false
			}
			p.Scores = slices.Concat(f(p.Scores[0]), p.Scores[1:])
			return true
		}
	}
	scaled := func(f func(float64) float64) steps {
		return steps{design: func(j *jig.Jig) {
			for i := range j.Parts {
				j.Parts[i].Scale = f(j.Parts[i].Scale)
			}
		}}
	}
	return named("design", "laser", []planted{
		{name: "a piece with marks put 0.1 mm off", catch: "as-assembled", hook: steps{set: func(s *post.Set) {
			for i, p := range s.Jig.Parts {
				if p.ID == "H3" { // the pad with the D
					s.Jig.Parts[i].OnTable.X += 0.1
				}
			}
		}}},
		{name: "a hole 0.1 mm off its mark", catch: "as-assembled", hook: parts(func(p *jig.Part) bool {
			for i := range p.Openings {
				if p.Openings[i].Kind == jig.OpenSpot {
					p.Openings[i].Figure = p.Openings[i].Transform(geom.Placement{X: 0.1})
					return true
				}
			}
			return false
		})},
		{name: "a slot on its line's middle", catch: "as-assembled", hook: parts(slot(jig.OpenSlot, func(o *jig.Opening) { o.Figure = o.Transform(geom.Placement{X: -0.15}) }))},
		{name: "an arc ruled along its inner edge", catch: "as-assembled", hook: parts(slot(jig.OpenArc, func(o *jig.Opening) { o.Radius += 0.3 }))},
		{name: "a slot 0.01 mm wider on both sides", catch: "as-assembled", hook: parts(slot(jig.OpenSlot, func(o *jig.Opening) { o.Width += 0.02 }))},
		{name: "a dash beside the wrong edge", catch: "as-assembled", hook: parts(dashed(func(c geom.Contour) []geom.Contour {
			return []geom.Contour{c.Transform(geom.Placement{X: 2*2 + 3.1})}
		}))},
		{name: "no dash beside a true edge", catch: "as-assembled", hook: parts(dashed(func(geom.Contour) []geom.Contour { return nil }))},
		{name: "a leg put 0.1 mm off along its joint", catch: "as-joined", hook: parts(func(p *jig.Part) bool { p.OnTable.Y += 0.1; return p.ID == "H1" })},
		{name: "a lap's pin hole shifted 0.1 mm", job: "film", catch: "as-joined", hook: parts(socket(func(o *jig.Opening) { o.Figure = o.Transform(geom.Placement{X: 0.1}) }))},
		{name: "a pin hole of another size", job: "card", catch: "as-joined", hook: parts(socket(func(o *jig.Opening) { o.Width += 0.2 }))},
		{name: "a fin 0.1 mm beside its slot", catch: "as-joined", hook: parts(func(p *jig.Part) bool { p.OnTable.Y += 0.1; return p.Role == "end fin" })},
		{name: "a gauge's distance told 0.1 mm wrong", catch: "as-gauged", hook: steps{design: func(j *jig.Jig) { j.Gauges[0].Reach[1] += 0.1 }}},
		{name: "a gauge that counts from another piece", catch: "as-gauged", hook: steps{design: func(j *jig.Jig) { j.Gauges[0].Pieces[0] = "H1" }}},
		{name: "a film gauge's distance told 0.1 mm wrong", job: "film", catch: "as-gauged", hook: steps{design: func(j *jig.Jig) { j.Gauges[0].Reach[1] += 0.1 }}},
		{name: "a gauge that nobody is told of", catch: "as-gauged", hook: steps{design: func(j *jig.Jig) { j.Gauges = nil }}},
		{name: "a second gauge's distance told 0.1 mm wrong", job: "snooker", catch: "as-gauged", hook: steps{design: func(j *jig.Jig) { j.Gauges[1].Reach[0] += 0.1 }}},
		{name: "a second gauge read as the first is", job: "snooker", catch: "as-gauged", hook: steps{design: func(j *jig.Jig) { j.Gauges[1].Times = 1 }}},
		{name: "a second gauge's ends exchanged in its readings", job: "snooker", catch: "as-gauged", hook: steps{design: func(j *jig.Jig) { j.Gauges[1].Far = 1 - j.Gauges[1].Far }}},
		{name: "a key 0.1 mm off", job: "keyed", catch: "as-joined", hook: parts(func(p *jig.Part) bool {
			if p.Role == jig.SlidingKey {
				p.OnTable.X += 0.1
			}
			return p.Role == jig.SlidingKey
		})},
		{name: "a key that nobody cuts", job: "keyed", catch: "as-joined", hook: steps{design: func(j *jig.Jig) { j.Joints[0].Part = "HK99" }}},
		{name: "a key 0.1 mm too narrow", job: "keyed", catch: "as-joined", hook: parts(func(p *jig.Part) bool {
			if p.Role != jig.SlidingKey {
				return false
			}
			b := p.Outline.Bounds()
			p.Outline = geom.Rect(geom.Box{Min: b.Min, Max: geom.Point{X: b.Max.X, Y: b.Max.Y - 0.1}})
			return true
		})},
		{name: "a piece of a keyed joint 0.1 mm off along its seam", job: "keyed", catch: "as-joined", hook: parts(func(p *jig.Part) bool { p.OnTable.Y += 0.1; return p.ID == "H1" })},
		{name: "a shoe 0.1 mm before the nose", job: "set", catch: "as-shod", hook: parts(shoe(func(p *jig.Part) { p.OnTable.X -= 0.1 }))},
		{name: "a shoe beside its fin", job: "set", catch: "as-shod", hook: parts(shoe(func(p *jig.Part) { p.OnTable.Y += 0.1 }))},
		{name: "a shoe that hangs 0.1 mm high", job: "set", catch: "as-shod", hook: parts(shoe(func(p *jig.Part) { p.OnTable.Z += 0.1 }))},
		{name: "a shoe with a slot too narrow for the fin", job: "set", catch: "as-shod", hook: parts(shoe(func(p *jig.Part) { p.Outline = p.Outline.Scaled(0.97) }))},
		{name: "a shoe that nobody cuts", job: "set", catch: "as-shod", hook: steps{design: func(j *jig.Jig) {
			j.Parts = slices.DeleteFunc(j.Parts, func(p jig.Part) bool { return p.ID == "HN1" })
		}}},
		{name: "fins without seats for their shoes", job: "set", catch: "as-shod", hook: steps{design: func(j *jig.Jig) {
			for i, p := range j.Parts {
				if p.Role == jig.EndFin {
					j.Parts[i].Outline = geom.Rect(p.Outline.Bounds())
				}
			}
		}}},
		{name: "settings without shoes", catch: "as-shod", hook: steps{design: func(j *jig.Jig) {
			j.Settings = []jig.Setting{{Template: "head", Rows: []jig.SettingRow{{Leaves: 3, From: j.LengthMin, To: j.LengthMax}}}}
		}}},
		{name: "a leaf too many in a row", job: "set", catch: "as-set", hook: steps{design: func(j *jig.Jig) { j.Settings[0].Rows[2].Leaves++ }}},
		{name: "a row left out", job: "set", catch: "as-set", hook: steps{design: func(j *jig.Jig) { j.Settings[0].Rows = slices.Delete(j.Settings[0].Rows, 2, 3) }}},
		{name: "a range longer than its table", job: "set", catch: "as-set", hook: steps{design: func(j *jig.Jig) { j.LengthMax += 2 }}},
		{name: "a row that tells less than it leaves", job: "set", catch: "as-set", hook: steps{design: func(j *jig.Jig) { j.Settings[1].Rows[0].Left -= 0.1 }}},
		{name: "a mark with another's setting", job: "set", catch: "as-set", hook: steps{design: func(j *jig.Jig) {
			a, b := &j.Settings[0], &j.Settings[1]
			a.Marks[0], b.Marks[0] = b.Marks[0], a.Marks[0]
		}}},
		{name: "a mark without a setting", job: "set", catch: "as-set", hook: steps{design: func(j *jig.Jig) { j.Settings[0].Marks = j.Settings[0].Marks[1:] }}},
		{name: "a gauge longer at one end", catch: "as-gauged", hook: parts(func(p *jig.Part) bool {
			if p.Role != jig.GaugePlate {
				return false
			}
			b := p.Outline.Bounds()
			b.Max.X += 0.1
			p.Outline = geom.Rect(b)
			return true
		})},
		{name: "a gauge whose line is scored beside its hole", catch: "as-gauged", hook: parts(func(p *jig.Part) bool {
			if p.Role == jig.GaugePlate {
				for i := range p.Scores {
					p.Scores[i] = p.Scores[i].Transform(geom.Placement{Y: 0.1})
				}
			}
			return p.Role == jig.GaugePlate
		})},
		{name: "growth twice", job: "laser-warm", catch: "as-grown", hook: scaled(func(k float64) float64 { return k * k })},
		{name: "growth the wrong way", job: "film-warm", catch: "as-grown", hook: scaled(func(k float64) float64 { return 1 / k })},
		{name: "growth that nobody asked for", job: "film", catch: "as-grown", hook: scaled(func(k float64) float64 { return k * 1.0004 })},
		{name: "every slot of a line lost", catch: "as-covered", hook: steps{design: func(j *jig.Jig) {
			line := ""
			for i := range j.Parts {
				p := &j.Parts[i]
				p.Openings = slices.DeleteFunc(slices.Clone(p.Openings), func(o jig.Opening) bool {
					if o.Kind == jig.OpenArc && line == "" {
						line = o.Mark
					}
					return o.Mark == line && line != ""
				})
			}
		}}},
		{name: "the hole of a spot lost", catch: "as-assembled", hook: steps{design: func(j *jig.Jig) {
			for i := range j.Parts {
				p := &j.Parts[i]
				p.Openings = slices.DeleteFunc(slices.Clone(p.Openings), func(o jig.Opening) bool { return o.Mark == "foot-spot" })
			}
		}}},
		{name: "coverage misstated", catch: "as-covered", hook: steps{design: func(j *jig.Jig) {
			for i, c := range j.Checks {
				if c.ID == "cover:head-string" {
					j.Checks[i].Value = 0.99
				}
			}
		}}},
	})
}

// textFaults are planted in the text of drawings, programs, marks and record.
func textFaults() []planted {
	recorded := func(f func(*post.Set)) steps { return steps{recorded: f} }
	return slices.Concat(
		named("program", "laser", []planted{
			{name: "G2 and G3 swapped", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^G2 `, "G3 ")},
			{name: "first light: the beam on in the square", catch: "first-light", hook: replaceFirst("check.nc", `(?m)^(G1 X50.0000 Y10.0000)`, "M4\nS1\n$1")},
			{name: "first light: at the power of a cut", catch: "first-light", hook: replaceFirst("check.nc", `(?m)^S10$`, "S800")},
			{name: "first light: no tick", catch: "first-light", hook: replaceFirst("check.nc", `(?m)^M4\nS10\n`, "")},
			{name: "first light: the head left where it is", catch: "first-light", hook: replaceFirst("check.nc", `(?m)^G0 X0.0000 Y0.0000\n`, "")},
			{name: "air not switched on", job: "ways", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^M8\n`, "")},
			{name: "air on while lettering", job: "ways", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^(\(LETTERING.*\n)`, "${1}M8\n")},
			{name: "a stop lost", job: "ways", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^M0\n`, "")},
			{name: "a stop in the middle of the lettering", job: "ways", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^(\(LETTERING.*\n)`, "${1}M0\n")},
			{name: "the head not taken back", job: "ways", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^G0 .*\nM2\n`, "M2\n")},
			{name: "a power with the wrong move", job: "ways", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^(G1 .*) S120\n(.*)\n`, "$1\n$2 S120\n")},
			{name: "a height at the end of a beam's program", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^M2\n`, "G0 Z5\nM2\n")},
			{name: "one arc lost", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^G[23] .*\n`, "")},
			{name: "one coordinate off by 0.001 mm", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^(G1 X\d+\.\d\d)[0-8]`, "${1}9")},
			{name: "beam left on before a rapid", catch: "dry-run", hook: replaceFirst("sheet-1.nc", `(?m)^S0\nM5\n\(OUTLINE`, "(OUTLINE")},
			{name: "inches for millimetres", catch: "dry-run", hook: replaceFirst("sheet-1.nc", `G21`, "G20")},
			{name: "inches for millimetres", job: "film", catch: "dry-run", hook: replaceFirst("sheet-1.nc", `G21`, "G20")},
			{name: "beam word in the dry run", catch: "as-read-dryrun", hook: replaceFirst("sheet-1-dryrun.nc", `(?m)^G1 `, "M4\nS10\nG1 ")},
			{name: "beam word in the edges", catch: "as-read-edges", hook: replaceFirst("sheet-1-edges.nc", `\(EDGES\)`, "M4\nS10\n(EDGES)")},
			{name: "programs of two sheets exchanged", catch: "as-read", hook: swapFiles("sheet-1.nc", "sheet-2.nc")},
			{name: "dry runs of two sheets exchanged", catch: "as-read-dryrun", hook: swapFiles("sheet-1-dryrun.nc", "sheet-2-dryrun.nc")},
			{name: "cut and dry run exchanged", job: "film", catch: "as-read", hook: swapFiles("sheet-1.nc", "sheet-1-dryrun.nc")},
			{name: "edges of another sheet", catch: "as-read-edges", hook: swapFiles("sheet-2-edges.nc", "sheet-4-edges.nc")},
		}),
		named("drawing", "laser", []planted{
			{name: "layers swapped", catch: "dxf", hook: replaceFirst("sheet-1.dxf", `(AcDbEntity\s+8\s+)OPENING`, "${1}OUTLINE")},
			{name: "layers swapped, for a blade", job: "film", catch: "dxf", hook: replaceFirst("sheet-1.dxf", `(AcDbEntity\s+8\s+)SCORE`, "${1}OUTLINE")},
			{name: "the notes plotted", catch: "dxf", hook: replaceFirst("sheet-1.dxf", `(\nNOTE\n70\n0\n62\n2\n6\nContinuous\n290\n)0`, "${1}1")},
			{name: "a cut not plotted", catch: "dxf", hook: replaceFirst("sheet-1.dxf", `(\nOUTLINE\n70\n0\n62\n1\n6\nContinuous\n)`, "${1}290\n0\n")},
			{name: "a note beside the stock", catch: "dxf", hook: replaceFirst("sheet-1.dxf", `(AcDbEntity\s+8\s+NOTE\n(?:[^\n]*\n)*?10\n)[0-9.]+`, "${1}600.5")},
			{name: "the bar of the notes 99 mm long", catch: "dxf", hook: replaceFirst("sheet-1.dxf", `(\n10\n)100(\.0+\n20\n-[0-9.]+\n10\n)100\.0`, "${1}99${2}99.0")},
			{name: "the notes of another sheet's thickness", catch: "dxf", hook: steps{drawn: func(s *post.Set) { s.Material.Thickness += 0.1 }}},
			{name: "the notes of another kerf", job: "taken", catch: "dxf", hook: steps{drawn: func(s *post.Set) { s.Material.Kerf += 0.001 }}},
			{name: "the kerf taken on the wrong side", job: "taken", catch: "dxf", hook: steps{drawn: func(s *post.Set) { s.Material.Kerf *= -1 }}},
			{name: "nominal under the other name", job: "taken", catch: "dxf", hook: steps{files: func(outs []Output) {
				for i := range outs {
					if write := outs[i].write; outs[i].name == "sheet-1-compensated.dxf" {
						outs[i].write = func(w io.Writer, s post.Set) error { s.Job.DXF = "nominal"; return write(w, s) }
					}
				}
			}}},
			{name: "picture: layers swapped", catch: "svg", hook: replaceFirst("sheet-1-cut.svg", `id="OPENING"`, `id="OUTLINE"`)},
			{name: "picture: a group of another colour", catch: "svg", hook: replaceFirst("sheet-1-cut.svg", `#0000ff`, `#ff0000`)},
			{name: "picture: at another size", catch: "svg", hook: replaceFirst("sheet-1-cut.svg", `width="600mm"`, `width="600"`)},
			{name: "picture: the sheet of another size", catch: "svg", hook: replaceFirst("sheet-1-cut.svg", `viewBox="0 0 600`, `viewBox="0 0 610`)},
			{name: "picture: a path off by 0.001 mm across itself", catch: "svg", hook: addFirst("sheet-1-cut.svg", `id="OUTLINE"[^>]*>\n<path d="M[0-9.]+ ([0-9.]+)`, 0.001)},
			{name: "picture: an arc bent the other way", catch: "svg", hook: replaceFirst("sheet-1-cut.svg", `(id="OPENING"[^>]*>\n(?:.*\n)*?<path d="M[^A]*A[0-9.]+ [0-9.]+ 0 0 )1`, "${1}0")},
			{name: "picture: a path lost", catch: "svg", hook: replaceFirst("sheet-1-cut.svg", `<path .*\n`, "")},
			{name: "picture: not only paths", catch: "svg", hook: replaceFirst("sheet-1-cut.svg", `</svg>`, `<text>cut</text></svg>`)},
			{name: "picture: turned", catch: "svg", hook: replaceFirst("sheet-1-cut.svg", `<path d`, `<path transform="rotate(90)" d`)},
			{name: "picture: nominal under the other name", job: "taken", catch: "svg", hook: steps{files: func(outs []Output) {
				for i := range outs {
					if write := outs[i].write; outs[i].name == "sheet-1-cut-compensated.svg" {
						outs[i].write = func(w io.Writer, s post.Set) error { s.Job.DXF = "nominal"; return write(w, s) }
					}
				}
			}}},
			{name: "in inches", catch: "dxf", hook: replaceFirst("sheet-1.dxf", `(\$INSUNITS\s+70\s+)4`, "${1}1")},
			{name: "drawings of two sheets exchanged", catch: "dxf", hook: swapFiles("sheet-1.dxf", "sheet-2.dxf")},
			{name: "a piece 0.1 mm off", catch: "dxf", hook: steps{drawn: func(s *post.Set) {
				s.Sheets = slices.Clone(s.Sheets)
				s.Sheets[0].Placed = shifted(s.Sheets[0].Placed)
			}}},
			{name: "growth left out", job: "laser-warm", catch: "dxf", hook: steps{drawn: func(s *post.Set) {
				s.Jig.Parts = slices.Clone(s.Jig.Parts)
				for i := range s.Jig.Parts {
					s.Jig.Parts[i].Scale = 1
				}
			}}},
		}),
		named("marks.csv", "laser", []planted{
			{name: "a mark moved", catch: "marks-csv", hook: replaceFirst("marks.csv", `0\.0000`, "0.5000")},
			{name: "a mark lost", catch: "marks-csv", hook: replaceFirst("marks.csv", `\n[^\n]*\n`, "\n")},
		}),
		named("record", "laser", []planted{
			{name: "another kerf", catch: "record", hook: recorded(func(s *post.Set) { s.Material.Kerf += 0.01 })},
			{name: "another thickness", catch: "record", hook: recorded(func(s *post.Set) { s.Material.Thickness += 0.01 })},
			{name: "another bed", catch: "record", hook: recorded(func(s *post.Set) { s.Machine.Max.X += 10 })},
			{name: "another blade", job: "film", catch: "record", hook: recorded(func(s *post.Set) { s.Machine.Knife.Offset += 0.01 })},
			{name: "another table", catch: "record", hook: recorded(func(s *post.Set) { s.Job.Table.L += 1 })},
			{name: "a mark 0.1 mm off", catch: "record", hook: recorded(func(s *post.Set) {
				s.Marks = append([]layout.Mark(nil), s.Marks...)
				s.Marks[0].X += 0.1
			})},
			{name: "a piece 0.1 mm off", catch: "record", hook: recorded(func(s *post.Set) {
				s.Jig.Parts = slices.Clone(s.Jig.Parts)
				s.Jig.Parts[2].OnTable.X += 0.1
			})},
			{name: "a check's verdict changed", catch: "record", hook: recorded(func(s *post.Set) {
				s.Checks = slices.Clone(s.Checks)
				for i, c := range s.Checks {
					if c.Verdict == jig.Pass {
						s.Checks[i].Verdict = jig.Warn
						return
					}
				}
			})},
			{name: "its date edited", catch: "record", hook: replaceFirst("record.json", `"date":"2`, `"date":"1`)},
			{name: "a hash changed", catch: "record", hook: replaceFirst("record.json", `"sha256":"..`, `"sha256":"zz`)},
		}),
		named("test piece", "laser-test", []planted{
			{name: "a joint to be tried 0.1 mm off along its seam", catch: "as-tried", hook: tried("J1", func(p *jig.Part) { p.OnTable.X += 0.1 })},
			{name: "a key to be tried 0.1 mm off", job: "keyed-test", catch: "as-tried", hook: tried("JK1", func(p *jig.Part) { p.OnTable.Y += 0.1 })},
			{name: "a tail to be tried with a flank 0.02 mm short", catch: "as-tried", hook: tried("J1", func(p *jig.Part) {
				shoulder, mid := p.Seams[0].Start(), p.Seams[0].Bounds().Center().X
				p.Outline = cornersMoved(p.Outline, func(q geom.Point) bool { return q.X > mid && q.Y > shoulder.Y+1 })
				p.Seams[0] = cornersMoved(p.Seams[0], func(q geom.Point) bool { return q.X > mid && q.X < shoulder.X })
			})},
			{name: "a joint to be tried without its key", job: "keyed-test", catch: "as-tried", hook: steps{set: func(s *post.Set) { s.Jig.Joints[0].Part = "" }}},
			{name: "no joint to be tried", catch: "as-tried", hook: steps{set: func(s *post.Set) { s.Jig.Joints = nil }}},
			{name: "a form that tells of another joint", catch: "reading", hook: replaceFirst("reading.txt", `  joint: dovetail`, "  joint: keyed   ")},
			{name: "a form without a place for a shoulder", catch: "reading", hook: replaceFirst("reading.txt", `joint_left: \[\]\n`, "")},
			{name: "a form without a place for a diagonal", catch: "reading", hook: replaceFirst("reading.txt", `  a_c: \[\]\n`, "")},
			{name: "a form that holds a reading", catch: "reading", hook: replaceFirst("reading.txt", `(?m)^comb_x: \[`, "${0}99.9")},
			{name: "a text of squares that are not on the sheet", job: "film-test", catch: "reading", hook: replaceFirst("reading.txt", `$`, "Feed: look at the squares F.\n")},
			{name: "a text without the squares for depths", job: "film-test", catch: "reading", hook: replaceFirst("reading.txt", `(?s)Depth: .*`, "")},
			{name: "a program read back otherwise", catch: "as-read", hook: replaceFirst("sheet-1.nc", `(?m)^G[23] .*\n`, "")},
			{name: "layers swapped", catch: "dxf", hook: replaceFirst("sheet-1.dxf", `(AcDbEntity\s+8\s+)OPENING`, "${1}OUTLINE")},
			{name: "beam word in the dry run", catch: "as-read-dryrun", hook: replaceFirst("sheet-1-dryrun.nc", `(?m)^G1 `, "M4\nS10\nG1 ")},
			{name: "a blade's offsets exchanged", job: "film-test", catch: "tip-path", hook: steps{knife: func(r *path.KnifeRequest) {
				r.Trials = slices.Clone(r.Trials)
				r.Trials[0].Offset, r.Trials[6].Offset = r.Trials[6].Offset, r.Trials[0].Offset
			}}},
			{name: "a blade's depths exchanged", job: "film-test", catch: "tip-depth", hook: steps{knife: func(r *path.KnifeRequest) {
				r.Trials = slices.Clone(r.Trials)
				r.Trials[7].Depth, r.Trials[8].Depth = r.Trials[8].Depth, r.Trials[7].Depth
			}}},
			{name: "a square not cut", job: "film-test", catch: "tip-complete", hook: ordered(lost(path.Outline))},
			{name: "blade down in the edges", job: "film-test", catch: "as-read-edges", hook: replaceFirst("sheet-1-edges.nc", `(?m)^(\(EDGES\)\nG0.*\n)`, "${1}G1 Z-0.4500 F300\n")},
		}),
	)
}

// shifted moves the first piece of a sheet by 0.1 mm.
func shifted(in []nest.Placed) []nest.Placed {
	out := append([]nest.Placed(nil), in...)
	out[0].On.X += 0.1
	return out
}

// tried changes a part of the joint to be tried before anything is cut.
func tried(id string, f func(*jig.Part)) steps {
	return steps{request: func(r *path.Request) {
		for i := range r.Parts {
			if r.Parts[i].ID == id {
				f(&r.Parts[i])
			}
		}
	}}
}

// cornersMoved moves the corners of an outline or of a seam that f picks by 0.02 mm along x.
func cornersMoved(c geom.Contour, f func(geom.Point) bool) geom.Contour {
	v := slices.Clone(c.Vertices())
	for i := range v {
		if f(v[i].At) {
			v[i].At.X -= 0.02
		}
	}
	if c.Closed() {
		return geom.MustClosed(v...)
	}
	return geom.MustOpen(v...)
}
