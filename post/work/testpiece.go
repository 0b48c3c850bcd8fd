package work

import (
	"context"
	"fmt"
	"io"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/jig/testpiece"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post"
	"spotjig/post/proof"
	"spotjig/post/proof/cut"
	"spotjig/post/proof/recorded"
	"spotjig/post/proof/table"
	"spotjig/post/rs274/write"
)

// BuildTestPiece makes the test piece of the job's machine and sheet, from which a beam's
// kerf, fits and scale are read, or a blade's offset and depth. It is Build with other parts.
func (o *Order) BuildTestPiece(ctx context.Context, opt Options) (Made, error) {
	r, err := o.begin(opt)
	if err != nil {
		return Made{}, err
	}
	if r.made.Set.Machine.Process == machine.Shop {
		return Made{}, problem.Problem{File: o.Name(), Field: "machine.process", Code: "J094",
			Msg:  "a shop cuts with its own machine and applies its own kerf, so a test piece of yours tells nothing",
			Help: "measure the sheet's thickness, and ask the shop what slot a tongue of that sheet slides in"}
	}
	r.piece = true
	r.fromOffcut(&r.made.Set.Material)
	r.made.Set.Job.Name = post.Parts(", ", r.made.Set.Job.Name, "test piece")
	var outs []Output
	if r.made.Set.Machine.Process == machine.Knife {
		outs, err = r.bladePiece()
	} else {
		outs, err = r.beamPiece()
	}
	if err != nil {
		return Made{}, err
	}
	return r.steps.finish(r, ctx, outs)
}

// fromOffcut makes the one offcut that was given, if any, the material's only sheet.
func (r *run) fromOffcut(m *machine.Material) {
	if s := r.opt.Stock; s != (job.Offcut{}) {
		m.Sheets = []machine.Stock{{Width: s.Width, Height: s.Height, Count: 1}}
	}
}

// offcutStep is the step between the heights of offcuts that are tried, mm: nobody saws a
// sheet more finely for a test piece.
const offcutStep = 10.0

// leastOffcut is the lowest offcut that the test piece fits on, as wide as the one that was
// given, or else as wide as the bed; false where none was given or none will do.
func (r *run) leastOffcut() (job.Offcut, bool) {
	given, m := r.opt.Stock, r.made.Set.Machine
	if given == (job.Offcut{}) {
		return given, false
	}
	req := r.request()
	fits := func(w, h float64) bool {
		req.Material.Sheets = []machine.Stock{{Width: w, Height: h, Count: 1}}
		_, err := testpiece.NewCoupon(req)
		return err == nil
	}
	for _, w := range []float64{given.Width, m.Max.X - m.Min.X} {
		for h := offcutStep; h <= m.Max.Y-m.Min.Y; h += offcutStep {
			if fits(w, h) {
				return job.Offcut{Width: w, Height: h}, true
			}
		}
	}
	return given, false
}

// bladePiece lays squares that are cut with offsets and depths on either side of the
// profile's. All but one are cut wrong on purpose; the proof of each reckons with a blade of
// the offset that is lettered on it.
func (r *run) bladePiece() ([]Output, error) {
	set := &r.made.Set
	c := testpiece.NewKnifeCoupon(set.Machine, set.Material)
	r.trials, set.Jig = c.Trials, jig.Jig{Parts: c.Parts}
	if err := r.steps.lay(set); err != nil {
		return nil, r.fault("J091", "material.sheets", "use a larger sheet or bed", err)
	}
	if err := r.paths(); err != nil {
		return nil, err
	}
	head := r.programNote()
	var out []Output
	for i := range set.Sheets {
		out = append(append(out, r.drawing(i)), r.sheetPrograms(i, head)...)
	}
	text := "Blade test piece: " + set.Material.Kind + fmt.Sprintf(", %g mm", set.Material.Thickness) + "\n\n" + strings.Join(c.Reading, "\n\n") + "\n"
	return append(append(out, r.sheetPictures()...), noMarks(),
		newOutput("reading.txt", stageShown,
			func(w io.Writer, _ post.Set) error { _, err := io.WriteString(w, text); return err },
			checkedBy(proveBladeReading)),
		r.jobOutput(), r.record(), r.sums()), nil
}

// proveBladeReading holds the text that tells how to read the squares against the set: it
// must be for this sheet, and tell how to read the kinds of square that the set has, each of
// them and no other.
func proveBladeReading(p proving) jig.Check {
	c := jig.Check{ID: "reading", Verdict: jig.Pass, Text: "how to read the test piece"}
	head, text, _ := strings.Cut(string(p.data), "\n") // the first line holds the sheet's name
	var kind string
	var thick float64
	if at := strings.LastIndex(head, ", "); at > 0 {
		kind = strings.TrimPrefix(head[:at], "Blade test piece: ")
		fmt.Sscanf(head[at:], ", %g mm", &thick)
	}
	if kind != p.set.Material.Kind || thick != p.set.Material.Thickness {
		return proof.Failed(c, fmt.Sprintf("reading.txt is for %q, %g mm", kind, thick))
	}
	told := map[string]bool{} // by kind; true: the set has such squares
	for _, word := range squareKind.FindAllStringSubmatch(text, -1) {
		told[word[1]] = false
	}
	for _, part := range p.set.Jig.Parts {
		if len(part.ID) == 0 || part.Role != testpiece.TrialPiece {
			continue
		}
		if _, ok := told[part.ID[:1]]; !ok {
			return proof.Failed(c, "reading.txt does not tell how to read "+part.ID)
		}
		told[part.ID[:1]] = true
	}
	for _, kind := range slices.Sorted(maps.Keys(told)) {
		if !told[kind] {
			return proof.Failed(c, "reading.txt tells how to read squares "+kind+", and the sheet has none")
		}
	}
	return c
}

// squareKind finds the kinds of square that a text tells of: "square D", "squares O".
var squareKind = regexp.MustCompile(`\b[Ss]quares? ([A-Z])\b`)

// noMarks is the marks.csv of a test piece, which has no marks; also are further checks that
// are made with it.
func noMarks(also ...func(proving) jig.Check) Output {
	none := func(p proving) jig.Check { return recorded.Marks(p.data, nil) }
	return newOutput("marks.csv", stageCut, writeMarks, checkedBy(append(also, none)...))
}

// beamPiece lays combs, sockets and slots, and orders each sheet: marks and openings first,
// while the sheet is whole, then the combs, then the outlines.
func (r *run) beamPiece() ([]Output, error) {
	set := &r.made.Set
	set.Job.DXF = "nominal"
	set.Job.Jig.Ties = 0 // every piece must come free, and a tie would be measured with it
	c, err := testpiece.NewCoupon(r.request())
	if err != nil {
		help := "use a larger sheet or bed, more sheets, or a sheet of 1.5 to 10 mm"
		if least, ok := r.leastOffcut(); ok {
			help = "use an offcut of " + figure.Sheet(least.Width, least.Height) + " or more: that wide, it is the least high one that this test piece goes on"
		}
		return nil, r.fault("J094", "material", help, err)
	}
	set.Jig, set.Checks = jig.Jig{Parts: c.Parts, Joints: []jig.Joint{c.Joint}}, c.Checks
	areas := map[string]float64{}
	for _, p := range c.Parts {
		areas[p.ID] = p.Outline.Area()
	}
	for i, cs := range c.Sheets {
		whole := nest.Sheet{N: i + 1, Width: cs.Width, Height: cs.Height}
		pieces := whole // without those that the combs' lines make
		for _, at := range cs.Laid {
			placed := nest.Placed{ID: at.ID, On: geom.Placement{X: at.At.X, Y: at.At.Y}}
			whole.Placed = append(whole.Placed, placed)
			whole.UsedFraction += areas[at.ID] / (cs.Width * cs.Height)
			if p, _ := set.Part(at.ID); p.Role != testpiece.CombPiece {
				pieces.Placed = append(pieces.Placed, placed)
			}
		}
		tp, err := r.combPath(whole, pieces, cs.Lines)
		if err != nil {
			return nil, r.fault("J092", "material", "change kerf, marker or sheet so that every cut has room", err)
		}
		set.Sheets = append(set.Sheets, post.Sheet{Sheet: whole, Path: tp, Bounds: tp.Bounds})
	}
	var out []Output
	for i, s := range set.Sheets {
		head := write.Options{Job: set.Job.Name, Sheets: s.N,
			Notes: []string{fmt.Sprintf("TEST PIECE, %d sheets in all: measure it, then run spotjig kerf", len(set.Sheets))}}
		out = append(append(out, r.drawing(i)), r.combPrograms(i, head)...)
	}
	out = append(out, r.firstLight())
	if r.opt.Grid {
		grid, err := r.grid()
		if err != nil {
			return nil, err
		}
		out = append(out, grid...)
	}
	form := testpiece.FormOptions{Job: r.Job.Name, Version: r.opt.Version, Material: fmt.Sprintf("%s, %.2f mm", set.Material.Kind, set.Material.Thickness)}
	return append(append(out, r.sheetPictures()...),
		noMarks(func(p proving) jig.Check { return table.AsTried(p.set, c.Cut.Flank) }),
		newOutput("reading.txt", stageShown,
			func(w io.Writer, _ post.Set) error { return testpiece.WriteForm(w, c.Cut, form) },
			checkedBy(func(p proving) jig.Check { return proveForm(p.data, c.Cut) })),
		r.jobOutput(), r.record(), r.sums()), nil
}

// combPath orders one sheet of combs and pieces.
func (r *run) combPath(whole, pieces nest.Sheet, lines []testpiece.Line) (path.Toolpath, error) {
	set := &r.made.Set
	m := set.Material
	tp, err := r.steps.laser(path.Request{Sheet: pieces, Parts: set.Jig.Parts, Material: m, Start: r.made.Set.Machine.StandsAt()})
	if err != nil {
		return path.Toolpath{}, err
	}
	before, freeing := path.Freeing(tp.Ops)
	var letters, combs []path.Drawn
	for _, pl := range whole.Placed {
		if p, _ := set.Part(pl.ID); p.Role == testpiece.CombPiece {
			for _, k := range p.Letters {
				letters = append(letters, path.Drawn{Chain: k.Transform(pl.On).Segments(), Layer: path.Lettering, Part: p.ID, Feature: "text", Setting: m.Letter})
			}
		}
	}
	for _, k := range lines {
		combs = append(combs, path.Drawn{Chain: []geom.Segment{k.Segment}, Layer: path.Outline, Part: "COMB", Feature: k.Comb, Setting: m.Cut})
	}
	ops := slices.Concat(path.AsDrawn(letters), before, path.AsDrawn(combs), freeing)
	return path.Arranged(pieces.N, r.made.Set.Machine.StandsAt(), ops), nil
}

// combPrograms are the programs of a sheet with combs. Its ticks are scored beside the
// pieces, on what is left of the sheet, so that strokes are held against the whole sheet.
func (r *run) combPrograms(i int, head write.Options) []Output {
	out := r.sheetPrograms(i, head)
	name := out[write.Cut].name
	out[write.Cut].prove = func(ctx context.Context, p proving) (found, error) {
		s := p.set.Sheets[i]
		f, program, err := readProgram(ctx, p, s, name, "as-read", write.Cut)
		if err == nil && program != nil {
			f.cut.sheet = i
			how := cut.CuttingOf(p.set)
			f.checks = append(f.checks, cut.AsCut(*program, p.set.Jig.Parts, s.Sheet, how, false)...)
			f.checks = append(f.checks, strokes(*program, p.set, s, how)...)
		}
		return f, err
	}
	return out
}

// strokes checks that every stroke, and nothing else, is burnt where it belongs and at its own
// power. The strokes of all pieces are taken as those of one part, the whole sheet.
func strokes(p proof.Program, set post.Set, s post.Sheet, how cut.Cutting) []jig.Check {
	whole := jig.Part{ID: "SHEET", Scale: 1, Outline: geom.Rect(geom.Box{Max: geom.Point{X: s.Width, Y: s.Height}})}
	for _, pl := range s.Placed {
		part, _ := set.Part(pl.ID)
		whole.Scores = append(whole.Scores, geom.Moved(part.Scores, pl.On)...)
		whole.Letters = append(whole.Letters, geom.Moved(part.Letters, pl.On)...)
	}
	sheet := nest.Sheet{N: s.N, Width: s.Width, Height: s.Height, Placed: []nest.Placed{{ID: whole.ID}}}
	out := slices.DeleteFunc(cut.AsCut(p, []jig.Part{whole}, sheet, how, true), func(c jig.Check) bool { return c.ID != "as-marked" })
	if len(out) == 0 {
		panic("work: internal error: strokes were not checked")
	}
	return out
}

// grid are the programs of the power and feed grid; the proof holds every square against the
// power and feed that are lettered beside it. The grid has no pieces, so it is no sheet of the
// set.
func (r *run) grid() ([]Output, error) {
	set := &r.made.Set
	g, err := testpiece.NewGrid(r.request())
	if err != nil {
		return nil, r.fault("J094", "material.sheets", "leave --grid out, or use a larger sheet or bed", err)
	}
	var chains []path.Drawn
	for _, k := range g.Letters {
		chains = append(chains, path.Drawn{Chain: k.Segments(), Layer: path.Lettering, Part: "GRID", Feature: "text", Setting: set.Material.Letter})
	}
	for _, q := range g.Squares {
		d := path.Drawn{Chain: q.Outline.Segments(), Layer: path.Score, Part: "GRID", Feature: q.Name, Setting: q.Setting}
		if q.Through {
			d.Layer = path.Opening
		}
		chains = append(chains, d)
	}
	tp := path.Arranged(1, r.made.Set.Machine.StandsAt(), path.AsDrawn(chains))
	s := post.Sheet{Sheet: nest.Sheet{N: 1, Width: g.Width, Height: g.Height}, Path: tp, Bounds: tp.Bounds}
	head := write.Options{Job: set.Job.Name, Sheets: 1, Notes: []string{
		fmt.Sprintf("GRID of powers and feeds, on an offcut of %.0f x %.0f mm with its lower left corner at the work zero", g.Width, g.Height)}}
	var out []Output
	for k, suffix := range suffixes {
		kind, name := write.Kind(k), "grid"+suffix
		out = append(out, newOutput(name+".nc", stageCut,
			func(w io.Writer, set post.Set) error { return writeProgram(w, set, s, kind, head) },
			func(ctx context.Context, p proving) (found, error) {
				f, _, err := readProgram(ctx, p, s, name+".nc", "as-read:"+name, kind)
				f.cut = nil // of no sheet of the set
				return f, err
			}))
	}
	return out, nil
}

// proveForm reads the form back as the command kerf reads a filled one: it must have a place
// for every reading, hold none yet, and say what was cut.
func proveForm(data []byte, want testpiece.Cut) jig.Check {
	c := jig.Check{ID: "reading", Verdict: jig.Pass, Text: "the form for readings, read back as kerf reads it"}
	back, err := testpiece.ReadForm("reading.txt", data)
	if err != nil {
		return proof.Failed(c, err.Error())
	}
	if keys := back.Unoffered(); len(keys) > 0 {
		return proof.Failed(c, "reading.txt has no place for "+strings.Join(keys, ", "))
	}
	if keys := back.Answered(); len(keys) > 0 {
		return proof.Failed(c, "reading.txt answers what nobody has measured yet: "+strings.Join(keys, ", "))
	}
	if why := sameCut(back.Cut, want); why != "" {
		c.Verdict, c.Text = jig.Fail, "reading.txt tells of another test piece: "+why
	}
	return c
}

// sameCut says where two descriptions of a test piece differ, "" where they agree.
func sameCut(a, b testpiece.Cut) string {
	type figure struct {
		name string
		a, b []float64
	}
	fits := func(c testpiece.Cut) (out []float64) {
		for _, f := range c.Fits {
			out = append(out, f.Clearance)
		}
		return out
	}
	one := func(v float64) []float64 { return []float64{v} }
	for _, f := range []figure{
		{"thickness", one(a.Thickness), one(b.Thickness)}, {"kerf", one(a.Kerf), one(b.Kerf)},
		{"pieces", one(float64(a.Pieces)), one(float64(b.Pieces))}, {"comb", one(a.Comb), one(b.Comb)},
		{"square", one(a.Square), one(b.Square)}, {"slots", a.Slots, b.Slots}, {"flanks", a.Flanks, b.Flanks},
		{"ticks", []float64{a.ScaleX, a.ScaleY}, []float64{b.ScaleX, b.ScaleY}}, {"fits", fits(a), fits(b)}, {"flank", one(a.Flank), one(b.Flank)},
	} {
		if !slices.EqualFunc(f.a, f.b, func(x, y float64) bool { return math.Abs(x-y) <= formTol }) {
			return fmt.Sprintf("%s %v, not %v", f.name, f.a, f.b)
		}
	}
	if a.Keyed != b.Keyed {
		return "another form of joint"
	}
	return ""
}

// formTol: the form prints a tenth of a micrometre.
const formTol = 0.0001

// judgedOn is the machine that the dry run judges a set's programs on: the set's own. For a
// blade's test piece it has no limits of swivel and of arc: most of its squares are cut for
// other offsets than the profile's, and the dry run's blade seems to turn too far and too
// tightly on them. The proof by the tip judges each square by the offset it is cut for.
func judgedOn(set post.Set) machine.Profile {
	p := set.Machine
	if p.Process != machine.Knife {
		return p
	}
	for _, part := range set.Jig.Parts {
		if part.Role != testpiece.TrialPiece {
			return p
		}
	}
	p.Knife.SwivelMax, p.Knife.ArcMin = 180*geom.Degree, 0
	return p
}
