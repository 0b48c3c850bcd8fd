package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"sync"

	"spotjig/cam/jig"
	"spotjig/cam/jig/film"
	"spotjig/cam/jig/plate"
	"spotjig/cam/machine"
	"spotjig/cam/nest"
	"spotjig/cam/path"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/dryrun"
	"spotjig/post/dxf"
	"spotjig/post/paper"
	"spotjig/post/record"
	"spotjig/post/rs274/write"
	"spotjig/post/view"
)

// built is a finished job: the set, and every file's bytes.
type built struct {
	set    post.Set
	files  []outFile
	trials []jig.KnifeTrial // of a blade's test piece
}

// steps are hooks for tests that plant faults between stages; nil in the program.
type steps struct {
	design   func(*jig.Jig)                     // after the design, before the sheets
	request  func(*path.Request)                // before a laser's toolpath
	knife    func(*path.KnifeRequest)           // before a knife's
	toolpath func(*path.Toolpath)               // after it, before its programs
	set      func(*post.Set)                    // after the programs
	program  func(name string, b []byte) []byte // a file's bytes, after writing and before proof
	files    func([]outFile)                    // drawings and programs, before proof
	drawn    func(*post.Set)                    // what drawings and marks.csv are written from
	shown    func(*post.Set)                    // what page and papers are drawn from
	recorded func(*post.Set)                    // what the record is written from
}

// build runs every stage from marks to files, in memory. Checks that fail are
// in the set; whoever calls decides that nothing is written.
func build(ctx context.Context, l *loaded, hook steps) (built, error) {
	p, m, err := l.loadMachine()
	if err != nil {
		return built{}, err
	}
	marks, skew, err := l.jigMarks()
	if err != nil {
		return built{}, err
	}
	set := post.Set{Version: version, Tape: layout.TapeCard(l.request(), l.plan), Job: l.job, Table: l.job.Table, Marks: marks, Machine: p, Material: m, Cautions: post.Cautions(p, m)}
	l.at("designing the template")
	set.Jig, err = design(jig.Request{Name: l.job.Name, Date: l.job.Date, Version: version, Table: l.job.Table, Games: l.job.Games,
		Marks: marks, Also: l.job.Also, BallDiameter: l.job.Balls.Diameter, Want: l.job.Jig, Machine: p, Material: m})
	if err != nil {
		return built{}, l.stageFault("J090", "machine", "use a larger bed, a thinner sheet or fewer marks", err)
	}
	if hook.design != nil {
		hook.design(&set.Jig)
	}
	set.Checks = append(append(layoutChecks(l), skew...), set.Jig.Checks...)
	l.at("laying the pieces on sheets")
	if err := layOut(&set); err != nil {
		return built{}, l.stageFault("J091", "material.sheets", "use larger sheets, more of them, or a larger bed", err)
	}
	b := built{set: set}
	l.at("writing and dry-running the programs")
	if err := b.programs(ctx, l, hook); err != nil {
		return built{}, err
	}
	if hook.set != nil {
		hook.set(&b.set)
	}
	if err := b.drawings(hook); err != nil {
		return built{}, err
	}
	l.at("reading everything back")
	if err := b.prove(ctx); err != nil {
		return built{}, err
	}
	if len(failures(b.set.Checks)) > 0 {
		return b, nil // refused: nobody will see a picture of it
	}
	l.at("drawing page and papers")
	if err := b.pictures(l.shape, hook); err != nil {
		return built{}, err
	}
	b.provePictures(l.shape)
	err = b.finish(hook)
	return b, err
}

// written lets the hook change the files of some kinds.
func (h steps) written(files []outFile, kinds ...string) {
	for i, f := range files {
		if h.program != nil && slices.Contains(kinds, filepath.Ext(f.name)) {
			files[i].data = h.program(f.name, f.data)
		}
	}
}

// jigMarks are the marks the template is made for: those of the table as
// surveyed for one table, those of the true rectangle of its size for a class. It
// says so when the difference matters.
func (l *loaded) jigMarks() ([]layout.Mark, []jig.Check, error) {
	if l.survey == nil || l.job.Jig.For == "this" {
		return l.plan.Marks, nil, nil
	}
	worst := layout.Mark{}
	most := 0.0
	for _, m := range l.plan.Marks {
		if by := math.Hypot(m.MovedX, m.MovedY); by > most {
			worst, most = m, by
		}
	}
	limit := l.job.Jig.Tolerance / 3
	c := jig.Check{ID: "survey-skew", Verdict: jig.Pass, Value: most, Limit: limit, Unit: "mm",
		Text: "how far the table's own shape moves a mark from the true rectangle"}
	if most > limit {
		c.Verdict = jig.Warn
		c.Text = fmt.Sprintf("the table's own shape moves the %s from the true rectangle: make the jig for this table (jig.for: this)", worst.Name)
	}
	r := l.request()
	r.Table = layout.Table{Name: r.Table.Name, L: r.Table.L, W: r.Table.W, TapePM: r.Table.TapePM,
		NoseHeight: r.Table.NoseHeight, Undercut: r.Table.Undercut}
	plan, err := layout.NewPlan(r)
	if err != nil {
		return nil, nil, l.located(l.where(), err)
	}
	return plan.Marks, []jig.Check{c}, nil
}

// otherSize: a table this share of the length off a published size is another
// size, not that one badly fitted.
const otherSize = 0.02

// layoutChecks are what survey, sizes and ball fit say of the job.
func layoutChecks(l *loaded) []jig.Check {
	var out []jig.Check
	for _, c := range layout.CheckSizes(l.job.Table, l.job.Games) {
		v := jig.Pass
		if !c.Inside {
			v = jig.Warn
		}
		if math.Abs(c.OffL) > otherSize*c.L {
			continue // another size of table: the game is marked at its scale
		}
		out = append(out, jig.Check{ID: "size:" + c.Game, Verdict: v, Value: c.OffL, Limit: c.TolL, Unit: "mm", Text: c.Text()})
	}
	fit, err := layout.FitBalls(l.request())
	if err == nil && fit.Snooker != nil {
		v := jig.Pass
		if !fit.Snooker.Fits {
			v = jig.Warn
		}
		out = append(out, jig.Check{ID: "balls", Verdict: v, Value: fit.Ball, Limit: fit.Snooker.LargestBall, Unit: "mm", Text: fit.Snooker.Advice})
	}
	for _, f := range l.plan.Findings {
		out = append(out, jig.Check{ID: "marks", Verdict: jig.Warn, Value: f.Distance, Limit: l.job.Choices.MinApart, Unit: "mm", Text: f.Text})
	}
	return out
}

// design designs the kind of jig that fits what cuts it.
func design(req jig.Request) (jig.Jig, error) {
	if req.Machine.Process != machine.Knife {
		return jig.Design(req, plate.New(req))
	}
	k, err := film.New(req)
	if err != nil {
		return jig.Jig{}, err
	}
	return jig.Design(req, k)
}

// layOut nests the parts, spare fins included, on sheets.
func layOut(set *post.Set) error {
	var steps [2][]nest.Item
	for _, p := range set.Jig.Parts {
		step := 0
		if set.Machine.Process == machine.Shop && p.FitsThickness() {
			step = 1 // on sheets of their own: see post.Set.Held
		}
		steps[step] = append(steps[step], nest.Item{ID: p.ID, Outline: p.Outline.Scaled(p.Scale)})
	}
	opt := nest.Options{
		Stock:  set.Material.Sheets,
		Margin: set.Machine.MarginBed + jig.EdgeRoom(set.Material.Kerf),
		Gap:    2 * jig.EdgeRoom(set.Material.Kerf),
	}
	if set.Machine.Process != machine.Shop {
		at := set.Machine.Offsets[1]
		opt.Travel = nest.Travel{X: set.Machine.Max.X - at.X, Y: set.Machine.Max.Y - at.Y}
	}
	for _, items := range steps {
		if len(items) == 0 {
			continue
		}
		if len(opt.Stock) == 0 {
			first := items[0].Outline.Bounds()
			return &nest.StockError{Sheets: len(set.Sheets), Pieces: len(set.Jig.Parts), Left: len(items), ID: items[0].ID, W: first.Width(), H: first.Height()}
		}
		sheets, err := nest.Nest(items, opt)
		if err != nil {
			return err
		}
		for _, s := range sheets {
			s.N = len(set.Sheets) + 1
			set.Sheets = append(set.Sheets, post.Sheet{Sheet: s})
		}
		opt.Stock = unused(opt.Stock, sheets)
	}
	return nil
}

// unused is the stock that sheets leave.
func unused(stock []machine.Stock, sheets []nest.Sheet) []machine.Stock {
	var left []machine.Stock
	for _, s := range stock {
		n := s.Count
		for _, u := range sheets {
			if u.Width == s.Width && u.Height == s.Height || u.Width == s.Height && u.Height == s.Width {
				n--
			}
		}
		if s.Count > 0 && n <= 0 {
			continue
		}
		left = append(left, machine.Stock{Width: s.Width, Height: s.Height, Count: max(n, 0)})
	}
	return left
}

// programs makes every sheet's toolpath and the three programs of it, and has
// the dry run judge their text. Sheets have nothing to do with each other and are
// made side by side, but for a test's hooks, which see them in order.
func (b *built) programs(ctx context.Context, l *loaded, hook steps) error {
	if b.set.Machine.Process == machine.Shop {
		return nil
	}
	work := make([]sheetWork, len(b.set.Sheets))
	err := eachOf(len(work), hook.toolpath == nil && hook.request == nil && hook.knife == nil && hook.program == nil, func(i int) error {
		return b.sheet(ctx, l, hook, &b.set.Sheets[i], &work[i])
	})
	if err != nil {
		return err
	}
	for _, w := range work {
		b.files = append(b.files, w.files...)
		b.set.Checks = append(b.set.Checks, w.checks...)
	}
	return nil
}

// sheetWork is what one sheet adds to the job.
type sheetWork struct {
	files  []outFile
	checks []jig.Check
}

// sheet makes one sheet's programs.
func (b *built) sheet(ctx context.Context, l *loaded, hook steps, s *post.Sheet, w *sheetWork) error {
	tp, err := b.toolpath(s.Sheet, hook)
	if err != nil {
		return l.stageFault("J092", "material", "change kerf, marker or sheet so that every cut has room", err)
	}
	if hook.toolpath != nil {
		hook.toolpath(&tp)
	}
	s.Path, s.Bounds = tp, tp.Bounds
	for k, suffix := range []string{"", "-dryrun", "-edges"} {
		name := fmt.Sprintf("sheet-%d%s.nc", s.N, suffix)
		text, err := b.program(l, *s, write.Kind(k))
		if err != nil {
			return l.stageFault("J093", "machine", "change the machine's settings as the message says", err)
		}
		if hook.program != nil {
			text = hook.program(name, text)
		}
		w.files = append(w.files, outFile{name, text})
		c, err := b.dryRun(ctx, s, name, text, write.Kind(k) == write.Cut)
		if err != nil {
			return err
		}
		w.checks = append(w.checks, c)
	}
	return nil
}

// eachOf runs f for 0 to n-1, side by side or one after another, and returns the
// error of the lowest number.
func eachOf(n int, together bool, f func(int) error) error {
	errs := make([]error, n)
	bugs := make([]any, n)
	var wait sync.WaitGroup
	for i := range n {
		if !together {
			errs[i] = f(i)
			continue
		}
		wait.Go(func() {
			defer func() { bugs[i] = recover() }() // a panic must reach the one that reports it
			errs[i] = f(i)
		})
	}
	wait.Wait()
	for _, b := range bugs {
		if b != nil {
			panic(b)
		}
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// toolpath orders one sheet for the machine's process.
func (b *built) toolpath(s nest.Sheet, hook steps) (path.Toolpath, error) {
	start := b.startPoint()
	if b.set.Machine.Process == machine.Knife {
		req := path.KnifeRequest{Sheet: s, Parts: b.set.Jig.Parts, Machine: b.set.Machine, Material: b.set.Material, Start: start, Trials: b.trials}
		if hook.knife != nil {
			hook.knife(&req)
		}
		return path.Knife(req)
	}
	req := path.Request{Sheet: s, Parts: b.set.Jig.Parts, Material: b.set.Material, Start: start,
		Ties: path.Ties{Count: b.set.Job.Jig.Ties, Width: b.set.Job.Jig.TieWidth}}
	if hook.request != nil {
		hook.request(&req)
	}
	return path.Laser(req)
}

// startPoint is where the head stands before a program, sheet frame.
func (b *built) startPoint() geom.Point {
	if p := b.set.Machine.Park; p != nil {
		at := b.set.Machine.Offsets[1]
		return geom.Point{X: p.X - at.X, Y: p.Y - at.Y}
	}
	return geom.Point{}
}

func (b *built) program(l *loaded, s post.Sheet, kind write.Kind) ([]byte, error) {
	t := b.set.Table
	var out bytes.Buffer
	err := write.Write(&out, s.Path, write.Options{
		Kind: kind, Machine: b.set.Machine, Version: version, Job: l.job.Name, Sheets: len(b.set.Sheets),
		Table:    fmt.Sprintf("%s %.1f x %.1f mm", t.Name, t.L, t.W),
		Cautions: b.set.Cautions,
	})
	return out.Bytes(), err
}

// dryRun judges one program's text against the machine, the sheet and the material.
func (b *built) dryRun(ctx context.Context, s *post.Sheet, name string, text []byte, cut bool) (jig.Check, error) {
	m, p := b.set.Material, judgedOn(b.set)
	rep, err := dryrun.Run(ctx, bytes.NewReader(text), dryrun.Options{File: name, Machine: &p, Material: &m,
		Stock: &dryrun.Box3{Min: machine.Axes{Z: -m.Thickness}, Max: machine.Axes{X: s.Width, Y: s.Height}}})
	if err != nil {
		return jig.Check{}, err
	}
	if cut {
		s.Time, s.BeamOn = rep.TimeS, rep.BeamOnS
		s.CutLen, s.TravelLen = rep.FeedMM, rep.RapidMM
	}
	c := jig.Check{ID: "dry-run:" + name, Verdict: jig.Verdict(rep.Verdict), Value: float64(rep.Errors()), Text: "bounds and hazards, " + name}
	for _, p := range rep.Problems {
		c.Text += fmt.Sprintf("; line %d: %s [%s]", p.Line, p.Text, p.Code)
	}
	return c, nil
}

// drawings adds the DXF of each sheet and the marks.
func (b *built) drawings(hook steps) error {
	var outs []output
	set := b.set
	if hook.drawn != nil {
		hook.drawn(&set)
	}
	for i, s := range set.Sheets {
		if set.Held(i) {
			continue
		}
		outs = append(outs, output{fmt.Sprintf("sheet-%d.dxf", s.N), func(w io.Writer) error {
			return dxf.Write(w, dxf.FromSet(set, i), dxf.Options{Version: version})
		}})
	}
	err := b.add(append(outs, output{"marks.csv", func(w io.Writer) error { return record.WriteMarks(w, set.Marks) }})...)
	hook.written(b.files, ".dxf", ".csv")
	if hook.files != nil {
		hook.files(b.files)
	}
	return err
}

// pictures adds what people look at: the job sheet, the paper proof and the page.
// They show every check made so far.
func (b *built) pictures(o outputOptions, hook steps) error {
	set := b.set
	if hook.shown != nil {
		set.Checks = slices.Clone(set.Checks)
		hook.shown(&set)
	}
	outs := []output{
		{"job-sheet.pdf", func(w io.Writer) error { return paper.WriteJobSheet(w, set, paper.Options{Paper: o.paper}) }},
		{"proof.pdf", func(w io.Writer) error {
			return paper.WriteProof(w, set, paper.Options{Paper: o.paper, Of: o.proofOf})
		}},
		{"view.html", func(w io.Writer) error { return view.Write(w, set, view.Options{}) }},
	}
	if o.svg {
		outs = append(outs, output{"table.svg", func(w io.Writer) error { return view.WriteTable(w, set, view.Options{}) }})
		for _, s := range set.Sheets {
			outs = append(outs, output{fmt.Sprintf("sheet-%d.svg", s.N), func(w io.Writer) error {
				return view.WriteSheet(w, set, s.N, view.Options{})
			}})
		}
	}
	err := b.add(outs...)
	hook.written(b.files, ".pdf", ".html", ".svg")
	return err
}

// output is a file and what writes it.
type output struct {
	name  string
	write func(io.Writer) error
}

// add writes files into memory, side by side.
func (b *built) add(outs ...output) error {
	made := make([]outFile, len(outs))
	err := eachOf(len(outs), true, func(i int) error {
		var text bytes.Buffer
		if err := outs[i].write(&text); err != nil {
			return fmt.Errorf("%s: %w", outs[i].name, err)
		}
		made[i] = outFile{outs[i].name, text.Bytes()}
		return nil
	})
	b.files = append(b.files, made...)
	return err
}

// finish writes the record, which lists every other file, and reads it back.
func (b *built) finish(hook steps) error {
	files, set := listFiles(b.files), b.set
	if hook.recorded != nil {
		hook.recorded(&set)
	}
	if err := b.add(output{"record.json", func(w io.Writer) error { return record.Write(w, set, record.Options{Files: files}) }}); err != nil {
		return err
	}
	hook.written(b.files, ".json")
	b.proveRecord()
	return nil
}

// file returns a file's bytes.
func (b *built) file(name string) ([]byte, bool) {
	for _, f := range b.files {
		if f.name == name {
			return f.data, true
		}
	}
	return nil, false
}
