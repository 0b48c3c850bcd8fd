package work

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/dryrun"
	"spotjig/post/dxf"
	"spotjig/post/paper"
	"spotjig/post/proof"
	"spotjig/post/proof/cut"
	"spotjig/post/proof/recorded"
	"spotjig/post/proof/shown"
	"spotjig/post/proof/table"
	"spotjig/post/proof/tip"
	"spotjig/post/record"
	"spotjig/post/rs274/write"
	"spotjig/post/svg"
	"spotjig/post/view"
)

// RecordName is the file that lists all others.
const RecordName = "record.json"

// templateOutputs are the files of a template, in the order of their checks.
func (r *run) templateOutputs() []Output {
	if len(r.jobs) > 0 {
		return r.sharedOutputs()
	}
	out := append(r.sheetOutputs(), r.jobOutputs()...)
	return append(out, r.sums())
}

// jobOutputs are the files that each of several jobs on shared sheets has for itself: marks,
// page, papers, the job, the record.
func (r *run) jobOutputs() []Output {
	out := append([]Output{marksOutput()}, r.shownOutputs()...)
	return append(out, r.jobOutput(), r.record())
}

func marksOutput() Output { return newOutput("marks.csv", stageCut, writeMarks, proveMarks) }

// sheetOutputs are the programs and drawings that a machine or a shop works from.
func (r *run) sheetOutputs() []Output {
	set := r.made.Set
	var out []Output
	for i := range set.Sheets {
		if !set.Held(i) {
			out = append(out, r.drawing(i), r.cutPicture(i))
		}
		if set.Machine.Process != machine.Shop {
			out = append(out, r.sheetPrograms(i, r.programNote())...)
		}
	}
	if set.Machine.Process == machine.Laser {
		out = append(out, r.firstLight())
	}
	return out
}

// programNote is what stands in the head of a template's programs.
func (r *run) programNote() write.Options {
	t, head := r.made.Set.Table, write.Options{Job: r.Job.Name, Sheets: len(r.made.Set.Sheets)}
	if len(r.jobs) == 0 {
		head.Table = post.Parts(" ", t.Name, figure.By(t.L, t.W))
	}
	return head
}

// drawing is a sheet's drawing.
func (r *run) drawing(i int) Output {
	name := r.made.Set.DrawingName(r.made.Set.Sheets[i].N, "") + ".dxf"
	return newOutput(name, stageCut,
		func(w io.Writer, set post.Set) error {
			d, err := dxf.FromSet(set, i)
			if err != nil {
				return &drawingError{err}
			}
			return dxf.Write(w, d, dxf.Options{Version: r.opt.Version})
		},
		checkedBy(func(p proving) jig.Check {
			if p.set.Held(i) {
				return cut.Held(name, true)
			}
			return cut.Drawing(p.data, p.set, i)
		}))
}

// cutPicture is a sheet's drawing as SVG, for cutters' software that reads no DXF.
func (r *run) cutPicture(i int) Output {
	name := r.made.Set.DrawingName(r.made.Set.Sheets[i].N, "-cut") + ".svg"
	return newOutput(name, stageCut,
		func(w io.Writer, set post.Set) error {
			if err := svg.Write(w, set, i, svg.Options{Version: r.opt.Version}); err != nil {
				return &drawingError{err}
			}
			return nil
		},
		checkedBy(func(p proving) jig.Check { return cut.SVG(p.data, p.set, i) }))
}

// lightPower is the power of the first-light test, as a share of full power.
const lightPower = 0.01

// firstLight is the program that is run first: it shows in a minute whether the controller
// takes programs as they are written for it.
func (r *run) firstLight() Output {
	const name = "check.nc"
	at := func(x, y float64) geom.Point { return geom.Point{X: x, Y: y} }
	m := r.made.Set.Machine
	feed := machine.Feed(20)
	if m.FeedMax > 0 {
		feed = min(feed, m.FeedMax)
	}
	tick := path.Drawn{Chain: []geom.Segment{{From: at(20, 20), To: at(30, 20)}}, Layer: path.Score, Part: "CHECK", Feature: "tick",
		Setting: machine.Setting{Power: lightPower * m.PowerScale, Feed: feed}}
	s := r.made.Set.Sheets[0]
	s.Path = path.Arranged(1, r.made.Set.Machine.StandsAt(), path.AsDrawn([]path.Drawn{tick}))
	s.Path.Bounds = geom.Box{Min: at(10, 10), Max: at(50, 50)}
	head := write.Options{Job: r.Job.Name, Sheets: 1, Notes: []string{
		"Run it on an offcut, lid shut. Seen must be: a square of 40 mm with no beam at all, then one tick of 10 mm, faint or nothing, then the head at the work zero, dark. Anything else: emergency stop, and no other program of this set."}}
	return newOutput(name, stageCut,
		func(w io.Writer, set post.Set) error { return writeProgram(w, set, s, write.Light, head) },
		func(ctx context.Context, p proving) (found, error) {
			f, _, err := readProgram(ctx, p, s, name, "first-light", write.Light)
			return f, err
		})
}

// suffixes of a sheet's programs, by write.Kind.
var suffixes = [3]string{"", "-dryrun", "-edges"}

// sheetPrograms are the three programs of the i-th sheet.
func (r *run) sheetPrograms(i int, head write.Options) []Output {
	var out []Output
	for k, suffix := range suffixes {
		kind := write.Kind(k)
		name := fmt.Sprintf("sheet-%d%s.nc", r.made.Set.Sheets[i].N, suffix)
		out = append(out, newOutput(name, stageCut,
			func(w io.Writer, set post.Set) error {
				return writeProgram(w, set, set.Sheets[i], kind, head)
			},
			func(ctx context.Context, p proving) (found, error) {
				f, program, err := readProgram(ctx, p, p.set.Sheets[i], name, "as-read"+suffix, kind)
				if err == nil && program != nil && kind == write.Cut {
					f.cut.sheet = i
					f.checks = append(f.checks, r.cutChecks(*program, p.set, i)...)
				}
				return f, err
			}))
	}
	return out
}

// writeProgram writes one program of a sheet; head says what it is of.
func writeProgram(w io.Writer, set post.Set, s post.Sheet, kind write.Kind, head write.Options) error {
	head.Park = set.Machine.StandsAt()
	head.Kind, head.Machine, head.Version, head.Cautions = kind, set.Machine, set.Version, set.Cautions
	if err := write.Write(w, s.Path, head); err != nil {
		return &programError{err}
	}
	return nil
}

// readProgram has the dry run judge a program's text, and holds its moves against the
// toolpath. The program is nil when it holds what our programs never do; id names the check of
// its moves.
func readProgram(ctx context.Context, p proving, s post.Sheet, name, id string, kind write.Kind) (found, *proof.Program, error) {
	f, err := dryRun(ctx, p.set, s, File{Name: name, Data: p.data}, kind == write.Cut)
	if err != nil {
		return f, nil, err
	}
	program, err := proof.ReadProgram(ctx, p.data, p.set.Machine)
	if err != nil {
		f.checks = []jig.Check{{ID: id, Verdict: jig.Fail, Text: name + ": " + err.Error()}}
		return f, nil, ctx.Err()
	}
	var c jig.Check
	switch kind {
	case write.Edges:
		c = cut.Edges(program, s.Path, p.set.Machine)
	case write.Light:
		c = cut.Light(program, p.set.Machine)
	default:
		c = cut.AsRead(program, s.Path, p.set.Machine, kind == write.Cut)
	}
	c.ID = id
	f.checks = []jig.Check{c}
	return f, &program, nil
}

// dryRun judges one program's text against the machine, the sheet and the material.
func dryRun(ctx context.Context, set post.Set, s post.Sheet, file File, isCut bool) (found, error) {
	m, p := set.Material, judgedOn(set)
	rep, err := dryrun.Run(ctx, bytes.NewReader(file.Data), dryrun.Options{File: file.Name, Machine: &p, Material: &m, Laps: isCut,
		Stock: dryrun.StockOf([3]float64{s.Width, s.Height, m.Thickness})})
	if err != nil {
		return found{}, err
	}
	c := jig.Check{ID: "dry-run:" + file.Name, Verdict: jig.Verdict(rep.Verdict), Value: float64(rep.Errors()), Text: "bounds and hazards, " + file.Name}
	for _, p := range rep.Problems {
		c.Text += fmt.Sprintf("; line %d: %s [%s]", p.Line, p.Text, p.Code)
	}
	f := found{judged: []jig.Check{c}}
	if isCut {
		f.cut = &estimate{time: rep.TimeS, beamOn: rep.BeamOnS, cutLen: rep.FeedMM, travelLen: rep.RapidMM}
		if n := len(s.Path.Ops); len(rep.Laps)/2 == n { // travel and work of each operation, then the way home
			f.cut.laps = rep.Laps
		}
	}
	return f, nil
}

// cutChecks judges what the program cuts, by the set's process.
func (r *run) cutChecks(p proof.Program, set post.Set, i int) []jig.Check {
	sheet := set.Sheets[i].Sheet
	if set.Machine.Process == machine.Knife {
		return tip.ByTip(p, tip.Blading{Parts: set.Jig.Parts, Sheet: sheet, Knife: set.Machine.Knife, Material: set.Material, Trials: r.trials})
	}
	return cut.AsCut(p, set.Jig.Parts, sheet, cut.CuttingOf(set), true)
}

func writeMarks(w io.Writer, set post.Set) error { return record.WriteMarks(w, set.Marks) }

// proveMarks holds marks.csv against the marks, and the parts, put where they go on the
// table, against the marks and each other: openings on their marks, seams and fins fitting,
// grown as asked. It also fails a drawing of what fits the sheet's thickness if that is not
// measured yet.
func proveMarks(_ context.Context, p proving) (found, error) {
	var f found
	for i, s := range p.set.Sheets {
		if p.set.Held(i) {
			name, picture := p.set.DrawingName(s.N, ""), p.set.DrawingName(s.N, "-cut")
			f.checks = append(f.checks, cut.Held(name, p.has(name+".dxf") || p.has(picture+".svg")))
		}
	}
	f.checks = append(f.checks, table.AsAssembled(p.set)...)
	f.checks = append(f.checks, table.AsJoined(p.set), table.AsGauged(p.set), table.AsShod(p.set), table.AsSet(p.set), table.AsGrown(p.set), recorded.Marks(p.data, p.set.Marks))
	return f, nil
}

// printing is how papers are printed.
func (r *run) printing() shown.Printing {
	return shown.Printing{Paper: r.opt.Paper, Of: r.opt.ProofOf}
}

// shownOutputs are what people look at.
func (r *run) shownOutputs() []Output {
	how := r.printing()
	whole := page("view.html", func(w io.Writer, set post.Set) error { return view.Write(w, set, view.Options{}) })
	whole.long = true
	out := []Output{
		newOutput("proof.pdf", stageShown,
			func(w io.Writer, set post.Set) error {
				return paper.WriteProof(w, set, paper.Options{Paper: how.Paper, Of: how.Of})
			},
			checkedBy(func(p proving) jig.Check { return shown.AsPrinted(p.data, p.set, how) })),
		newOutput("job-sheet.pdf", stageShown,
			func(w io.Writer, set post.Set) error {
				return paper.WriteJobSheet(w, set, paper.Options{Paper: how.Paper})
			},
			checkedBy(func(p proving) jig.Check { return shown.AsListed(p.data, p.set, how) })),
		whole,
	}
	if r.made.Set.Machine.Process == machine.Shop && r.whole == nil {
		out = append(out, r.order(how))
	}
	if !r.opt.SVG {
		return out
	}
	out = append(out, page("table.svg", func(w io.Writer, set post.Set) error { return view.WriteTable(w, set, view.Options{}) }))
	return append(out, r.sheetPictures()...)
}

// order is the page that goes to a shop with the drawings.
func (r *run) order(how shown.Printing) Output {
	return newOutput("order.pdf", stageShown,
		func(w io.Writer, set post.Set) error {
			var sent []paper.Sent
			for _, f := range listFiles(r.made.Files) {
				if forShop(f.Name) && !orderedBefore(set, f.Name) {
					sent = append(sent, paper.Sent{Name: f.Name, SHA256: f.SHA256})
				}
			}
			return paper.WriteOrder(w, set, sent, paper.Options{Paper: how.Paper})
		},
		checkedBy(func(p proving) jig.Check {
			var sent []shown.SentFile
			for _, f := range p.files {
				if !forShop(f.Name) {
					continue
				}
				file := shown.SentFile{Name: f.Name, Data: f.Data}
				if strings.HasSuffix(f.Name, ".dxf") {
					var err error
					if file.Work, err = cut.WorkIn(f.Data); err != nil {
						return jig.Check{ID: "as-asked", Verdict: jig.Fail, Text: f.Name + ": " + err.Error()}
					}
				}
				sent = append(sent, file)
			}
			return shown.AsAsked(p.data, p.set, sent, how)
		}))
}

// forShop tells whether a shop is sent this file with its order: the drawings, DXF and SVG.
func forShop(name string) bool {
	return strings.HasSuffix(name, ".dxf") || strings.Contains(name, "-cut") && strings.HasSuffix(name, ".svg")
}

// orderedBefore tells whether a drawing went to the shop in the first of two steps.
func orderedBefore(set post.Set, name string) bool {
	for i, s := range set.Sheets {
		if set.Ordered(i) && (name == set.DrawingName(s.N, "")+".dxf" || name == set.DrawingName(s.N, "-cut")+".svg") {
			return true
		}
	}
	return false
}

// page is something that a browser shows, with its proof.
func page(name string, write writer) Output {
	return newOutput(name, stageShown, write, checkedBy(func(p proving) jig.Check { return shown.AsShown(name, p.data, p.set) }))
}

// sheetPictures show every sheet with its pieces and their names.
func (r *run) sheetPictures() []Output {
	var out []Output
	for _, s := range r.made.Set.Sheets {
		out = append(out, page(fmt.Sprintf("sheet-%d-picture.svg", s.N), func(w io.Writer, set post.Set) error {
			return view.WriteSheet(w, set, s.N, view.Options{})
		}))
	}
	return out
}

// checkedBy is a proof that makes one check by each function.
func checkedBy(fs ...func(proving) jig.Check) prover {
	return func(_ context.Context, p proving) (out found, _ error) {
		for _, f := range fs {
			out.checks = append(out.checks, f(p))
		}
		return out, nil
	}
}

// record lists every other file but the sums, and every check but its own and that of the
// sums.
func (r *run) record() Output {
	return newOutput(RecordName, stageListed,
		func(w io.Writer, set post.Set) error {
			return record.Write(w, set, record.Options{Files: listFiles(r.files())})
		},
		checkedBy(func(p proving) jig.Check {
			var files []recorded.File
			for _, f := range p.files {
				if f.Name != p.set.FileName(RecordName) && (f.of == 0 || f.of == p.of) {
					files = append(files, recorded.File{Name: f.Name, Data: f.Data})
				}
			}
			return recorded.Record(p.data, p.set, files)
		}))
}

// SumsName is the file by which "sha256sum -c SHA256SUMS" checks a folder.
const SumsName = "SHA256SUMS"

// sums lists the hash of every other file.
func (r *run) sums() Output {
	return newOutput(SumsName, stageSummed,
		func(w io.Writer, _ post.Set) error {
			for _, f := range listFiles(r.made.Files) {
				if _, err := fmt.Fprintf(w, "%s  %s\n", f.SHA256, f.Name); err != nil {
					return err
				}
			}
			return nil
		},
		checkedBy(func(p proving) jig.Check { return proveSums(p.data, p.files) }))
}

// proveSums reads the sums as sha256sum does: 64 digits, two blanks, a name.
func proveSums(data []byte, files []File) jig.Check {
	c := jig.Check{ID: "sums", Verdict: jig.Pass}
	seen := map[string]string{}
	for line := range strings.Lines(string(data)) {
		hash, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		if !ok || len(hash) != 64 || seen[name] != "" || !strings.HasSuffix(line, "\n") {
			return proof.Failed(c, fmt.Sprintf("%s: not a line of it: %.90q", SumsName, line))
		}
		seen[name] = hash
	}
	for _, f := range files {
		if f.Name == SumsName {
			continue
		}
		if got := fmt.Sprintf("%x", sha256.Sum256(f.Data)); seen[f.Name] != got {
			return proof.Failed(c, fmt.Sprintf("%s: %s is not as listed", SumsName, f.Name))
		}
		delete(seen, f.Name)
	}
	if len(seen) > 0 {
		return proof.Failed(c, SumsName+" lists files that are not written")
	}
	c.Text = "hashes of " + figure.Count(len(files)-1, "file")
	return c
}

// listFiles returns what a record says of the files.
func listFiles(files []File) []record.File {
	out := make([]record.File, len(files))
	for i, f := range files {
		out[i] = record.File{Name: f.Name, Bytes: len(f.Data), SHA256: f.sum}
	}
	return out
}
