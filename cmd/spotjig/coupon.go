package main

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"spotjig/cam/jig"
	"spotjig/cam/jig/testpiece"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout/geom"
	"spotjig/layout/problem"
	"spotjig/post"
	"spotjig/post/proof"
	"spotjig/post/rs274/write"
)

// couponOptions are the flags of coupon.
type couponOptions struct {
	job     string
	out     string
	grid    bool
	force   bool
	verbose bool
}

func newCouponCmd(run func(context.Context, couponOptions) error) *cobra.Command {
	o := couponOptions{}
	c := &cobra.Command{
		Use:   "coupon JOB",
		Short: "Make a test piece that tells this machine's kerf, fits and scale",
		Long: "coupon makes the files of a test piece for the job's machine and sheet: combs for\n" +
			"the kerf, slots for a fin's tongue, dovetail sockets for a tail, a square, a hole\n" +
			"and a slot for the marker, and four ticks far apart. Cut it, measure it, fill in\n" +
			"a copy of DIR/reading.txt and run \"spotjig kerf\" on the copy.\n" +
			"With --grid a second program cuts and scores small squares at stepped power and\n" +
			"feed; run that one first, on an offcut, and put what you find into the job.",
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o.job = args[0]
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVarP(&o.out, "out", "o", "spotjig-coupon", "folder to write")
	c.Flags().BoolVar(&o.grid, "grid", false, "also a grid of squares at stepped power and feed")
	c.Flags().BoolVar(&o.force, "force", false, "replace files in DIR that were edited by hand")
	c.Flags().BoolVarP(&o.verbose, "verbose", "v", false, "print the checks that passed as well")
	return c
}

// runCoupon builds the test piece in memory and writes it if every check allows.
func runCoupon(ctx context.Context, o couponOptions, out io.Writer) error {
	return makeTestPiece(ctx, o, steps{}, out)
}

// makeTestPiece is runCoupon with a test's hooks.
func makeTestPiece(ctx context.Context, o couponOptions, hook steps, out io.Writer) error {
	l, err := loadJob(o.job)
	if err != nil {
		return err
	}
	b, err := buildCoupon(ctx, &l, o.grid, hook)
	if err != nil {
		return err
	}
	if failed := failures(b.set.Checks); len(failed) > 0 {
		return refusal(l, o.out, failed)
	}
	if err := replaceFolder(ctx, o.out, b.files, folderOptions{force: o.force, inputs: l.inputs}); err != nil {
		return err
	}
	summariseCoupon(out, l, b, o)
	return nil
}

// buildCoupon runs the stages of a job on a test piece's parts.
func buildCoupon(ctx context.Context, l *loaded, grid bool, hook steps) (built, error) {
	p, m, err := l.loadMachine()
	if err != nil {
		return built{}, err
	}
	if p.Process == machine.Knife {
		return buildKnifeCoupon(ctx, l, hook, p, m)
	}
	if err := l.couponAllowed(p); err != nil {
		return built{}, err
	}
	l.job.Jig.Ties = 0 // every piece must come free, and a tie would be measured with it
	req := jig.Request{Name: l.job.Name, Date: l.job.Date, Version: version, Table: l.job.Table, Games: l.job.Games,
		BallDiameter: l.job.Balls.Diameter, Want: l.job.Jig, Machine: p, Material: m}
	c, err := testpiece.NewCoupon(req)
	if err != nil {
		return built{}, l.stageFault("J094", "material", "use a larger sheet or bed, more sheets, or a sheet of 1.5 to 10 mm", err)
	}
	b := built{set: post.Set{Version: version, Job: l.job, Table: l.job.Table, Machine: p, Material: m, Cautions: post.Cautions(p, m),
		Jig: jig.Jig{Parts: c.Parts}, Checks: c.Checks}}
	b.set.Job.Name += ", test piece"
	if err := b.couponSheets(ctx, l, c); err != nil {
		return built{}, err
	}
	if grid {
		if err := b.couponGrid(ctx, l, req); err != nil {
			return built{}, err
		}
	}
	hook.written(b.files, ".nc")
	if err := b.drawings(hook); err != nil {
		return built{}, err
	}
	if err := b.proveCoupon(ctx); err != nil {
		return built{}, err
	}
	form := testpiece.FormOptions{Job: l.job.Name, Version: version, Material: fmt.Sprintf("%s, %.2f mm", m.Kind, m.Thickness)}
	if err := b.add(output{"reading.txt", func(w io.Writer) error { return testpiece.WriteForm(w, c.Cut, form) }}); err != nil {
		return built{}, err
	}
	err = b.finish(hook)
	return b, err
}

// couponAllowed refuses what has no kerf of its own.
func (l *loaded) couponAllowed(p machine.Profile) error {
	at := problem.Problem{File: l.where(), Field: "machine.process", Code: "J094"}
	switch p.Process {
	case machine.Shop:
		at.Msg = "a shop cuts with its own machine and applies its own kerf, so a test piece of yours tells nothing"
		at.Help = "measure the sheet's thickness, and ask the shop what slot a tongue of that sheet slides in"
		return at
	}
	return nil
}

// couponSheets makes the toolpath and programs of every sheet: marks first, while
// the sheet is whole, then the combs, then everything else.
func (b *built) couponSheets(ctx context.Context, l *loaded, c testpiece.Coupon) error {
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
			if p, _ := b.set.Part(at.ID); p.Role != testpiece.CombPiece {
				pieces.Placed = append(pieces.Placed, placed)
			}
		}
		tp, err := b.couponPath(whole, pieces, cs.Lines)
		if err != nil {
			return l.stageFault("J092", "material", "change kerf, marker or sheet so that every cut has room", err)
		}
		s := post.Sheet{Sheet: whole, Path: tp, Bounds: tp.Bounds, CutLen: tp.Cut, TravelLen: tp.Travel}
		b.set.Sheets = append(b.set.Sheets, s)
	}
	for i := range b.set.Sheets {
		s := &b.set.Sheets[i]
		note := fmt.Sprintf("TEST PIECE, %d sheets in all: measure it, then run spotjig kerf", len(b.set.Sheets))
		if err := b.threePrograms(ctx, l, s, fmt.Sprintf("sheet-%d", s.N), note); err != nil {
			return err
		}
	}
	return nil
}

// couponPath orders one sheet.
func (b *built) couponPath(whole, pieces nest.Sheet, lines []testpiece.Line) (path.Toolpath, error) {
	start, m := b.startPoint(), b.set.Material
	tp, err := path.Laser(path.Request{Sheet: pieces, Parts: b.set.Jig.Parts, Material: m, Start: start})
	if err != nil {
		return path.Toolpath{}, err
	}
	marks, cuts := path.MarksFirst(tp.Ops)
	var combs []path.Drawn
	for _, pl := range whole.Placed {
		if p, _ := b.set.Part(pl.ID); p.Role == testpiece.CombPiece {
			for _, k := range p.Letters {
				combs = append(combs, path.Drawn{Chain: k.Transform(pl.On).Segments(), Layer: path.Lettering, Part: p.ID, Feature: "text", Setting: m.Letter})
			}
		}
	}
	for _, k := range lines {
		combs = append(combs, path.Drawn{Chain: []geom.Segment{k.Segment}, Layer: path.Outline, Part: "COMB", Feature: k.Comb, Setting: m.Cut})
	}
	ops := append(append(marks, path.AsDrawn(combs)...), cuts...)
	return path.Arranged(pieces.N, start, ops), nil
}

// threePrograms writes and dry-runs the cut, its dry run and its edges; note says
// in each what it is.
func (b *built) threePrograms(ctx context.Context, l *loaded, s *post.Sheet, base, note string) error {
	for k, suffix := range []string{"", "-dryrun", "-edges"} {
		name := base + suffix + ".nc"
		var text bytes.Buffer
		err := write.Write(&text, s.Path, write.Options{Kind: write.Kind(k), Machine: b.set.Machine, Version: version, Job: b.set.Job.Name,
			Sheets: s.N, Notes: []string{note}, Cautions: b.set.Cautions})
		if err != nil {
			return l.stageFault("J093", "machine", "change the machine's settings as the message says", err)
		}
		b.files = append(b.files, outFile{name, text.Bytes()})
		c, err := b.dryRun(ctx, s, name, text.Bytes(), write.Kind(k) == write.Cut)
		if err != nil {
			return err
		}
		b.set.Checks = append(b.set.Checks, c)
	}
	return nil
}

// couponGrid adds the programs of the power and feed grid. It has no pieces, so
// it is no sheet of the set; its files are listed like all others.
func (b *built) couponGrid(ctx context.Context, l *loaded, req jig.Request) error {
	g, err := testpiece.NewGrid(req)
	if err != nil {
		return l.stageFault("J094", "material.sheets", "leave --grid out, or use a larger sheet or bed", err)
	}
	var chains []path.Drawn
	for _, k := range g.Letters {
		chains = append(chains, path.Drawn{Chain: k.Segments(), Layer: path.Lettering, Part: "GRID", Feature: "text", Setting: b.set.Material.Letter})
	}
	for _, q := range g.Squares {
		d := path.Drawn{Chain: q.Outline.Segments(), Layer: path.Score, Part: "GRID", Feature: q.Name, Setting: q.Setting}
		if q.Through {
			d.Layer = path.Opening
		}
		chains = append(chains, d)
	}
	tp := path.Arranged(1, b.startPoint(), path.AsDrawn(chains))
	s := post.Sheet{Sheet: nest.Sheet{N: 1, Width: g.Width, Height: g.Height}, Path: tp, Bounds: tp.Bounds}
	note := fmt.Sprintf("GRID of powers and feeds, on an offcut of %.0f x %.0f mm with its lower left corner at the work zero", g.Width, g.Height)
	if err := b.threePrograms(ctx, l, &s, "grid", note); err != nil {
		return err
	}
	for i, suffix := range []string{"", "-dryrun", "-edges"} {
		if err := b.proveGrid(ctx, s, "grid"+suffix, i); err != nil {
			return err
		}
	}
	return nil
}

// proveGrid reads one of the grid's programs back and holds it to the grid: every
// square at the power and feed that are lettered beside it.
func (b *built) proveGrid(ctx context.Context, s post.Sheet, name string, kind int) error {
	data, _ := b.file(name + ".nc")
	p, err := proof.ReadProgram(ctx, data)
	if err != nil {
		return b.unread(ctx, name, err)
	}
	c := proof.Edges(p, s.Path, b.set.Machine)
	if write.Kind(kind) != write.Edges {
		c = proof.AsRead(p, s.Path, b.set.Machine, write.Kind(kind) == write.Cut)
	}
	c.ID = "as-read:" + name
	b.set.Checks = append(b.set.Checks, c)
	return nil
}

// unread notes that a program cannot be read back as one of ours.
func (b *built) unread(ctx context.Context, name string, err error) error {
	b.set.Checks = append(b.set.Checks, jig.Check{ID: "as-read:" + name, Verdict: jig.Fail, Text: name + ".nc: " + err.Error()})
	return ctx.Err()
}

// proveCoupon is prove for a test piece. Its ticks are scored beside the pieces, on
// what is left of the sheet, so the strokes are held to the sheet as a whole.
func (b *built) proveCoupon(ctx context.Context) error {
	for i, s := range b.set.Sheets {
		name := fmt.Sprintf("sheet-%d", s.N)
		data, _ := b.file(name + ".dxf")
		b.set.Checks = append(b.set.Checks, proof.Drawing(data, b.set, i))
		var programs [3]proof.Program
		for k, suffix := range []string{"", "-dryrun", "-edges"} {
			text, _ := b.file(name + suffix + ".nc")
			p, err := proof.ReadProgram(ctx, text)
			if err != nil {
				return b.unread(ctx, name+suffix, err)
			}
			programs[k] = p
		}
		how := proof.CuttingOf(b.set)
		b.set.Checks = append(b.set.Checks, proof.AsRead(programs[0], s.Path, b.set.Machine, true),
			proof.AsRead(programs[1], s.Path, b.set.Machine, false), proof.Edges(programs[2], s.Path, b.set.Machine))
		b.set.Checks = append(b.set.Checks, proof.AsCut(programs[0], b.set.Jig.Parts, s.Sheet, how, false)...)
		b.set.Checks = append(b.set.Checks, b.couponStrokes(programs[0], s, how)...)
	}
	data, _ := b.file("marks.csv")
	b.set.Checks = append(b.set.Checks, proof.Marks(data, nil))
	return nil
}

// couponStrokes checks that every stroke is burnt where it belongs, at its own
// power, and no other: those of all pieces, as strokes of the whole sheet.
func (b *built) couponStrokes(p proof.Program, s post.Sheet, how proof.Cutting) []jig.Check {
	whole := jig.Part{ID: "SHEET", Scale: 1, Outline: geom.Rect(geom.Box{Max: geom.Point{X: s.Width, Y: s.Height}})}
	for _, pl := range s.Placed {
		part, _ := b.set.Part(pl.ID)
		for _, k := range part.Scores {
			whole.Scores = append(whole.Scores, k.Transform(pl.On))
		}
		for _, k := range part.Letters {
			whole.Letters = append(whole.Letters, k.Transform(pl.On))
		}
	}
	sheet := nest.Sheet{N: s.N, Width: s.Width, Height: s.Height, Placed: []nest.Placed{{ID: whole.ID}}}
	var out []jig.Check
	for _, c := range proof.AsCut(p, []jig.Part{whole}, sheet, how, true) {
		if c.ID == "as-marked" {
			out = append(out, c)
		}
	}
	if len(out) == 0 {
		panic("spotjig: internal error: strokes were not checked")
	}
	return out
}

// summariseCoupon tells a person what was made and what to do with it.
func summariseCoupon(w io.Writer, l loaded, b built, o couponOptions) {
	m := b.set.Material
	allowed := fmt.Sprintf("kerf allowed for %.3f mm", m.Kerf)
	next := "cut it, copy reading.txt elsewhere, fill the copy in, run: spotjig kerf COPY"
	if b.set.Machine.Process == machine.Knife {
		allowed = fmt.Sprintf("blade's offset %.2f mm", b.set.Machine.Knife.Offset)
		next = "cut it, read it as reading.txt says, and put offset and depth into machine and material"
	}
	fmt.Fprintf(w, "test piece for %s, %s %.2f mm, %s\n", b.set.Machine.Name, m.Kind, m.Thickness, allowed)
	for _, s := range b.set.Sheets {
		fmt.Fprintf(w, "  sheet %d  %.0f x %.0f mm, %d pieces, %s\n", s.N, s.Width, s.Height, len(s.Placed), clock(s.Time))
	}
	printChecks(w, b.set.Checks, o.verbose)
	for _, n := range l.notes {
		wrap(w, "  note     ", n.Msg)
	}
	for _, c := range b.set.Cautions {
		wrap(w, "  caution  ", c)
	}
	if o.grid {
		wrap(w, "  next     ", "run grid.nc on an offcut first; put the power and feed that just cut through, and those that just score, into the job, and make the test piece again")
	}
	wrap(w, "  next     ", next)
	fmt.Fprintf(w, "wrote %d files to %s\n", len(b.files), o.out)
}
