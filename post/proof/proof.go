// Package proof holds what is about to be written against what it must be. It
// judges the text of the files, read back by code that shares nothing with the
// code that wrote them: programs against their toolpaths (as-read), programs
// against the nominal parts (as-cut), the parts against the marks on the table
// (as-assembled), drawings and record against the parts. A check that fails
// stops everything: nothing is written.
package proof

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/post"
)

// Run proves the files of a set, but for the record, which is written last (see
// Record). file gives a file's bytes by name. One check comes back for each
// kind of proof, the worst over all sheets. The error is ctx's.
func Run(ctx context.Context, set post.Set, file func(name string) ([]byte, bool)) ([]jig.Check, error) {
	bySheet := make([][]jig.Check, len(set.Sheets))
	var all sync.WaitGroup
	for i := range set.Sheets {
		all.Go(func() { bySheet[i] = proveSheet(ctx, set, i, file) })
	}
	all.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	checks := slices.Concat(bySheet...)
	checks = append(checks, AsAssembled(set.Jig.Parts, set.Marks, set.Jig.Checks)...)
	checks = append(checks, AsJoined(set), AsGrown(set))
	if data, ok := file("marks.csv"); ok {
		checks = append(checks, Marks(data, set.Marks))
	} else {
		checks = append(checks, missing("marks-csv", "marks.csv"))
	}
	return merge(checks), nil
}

// Shown proves what people look at: paper proof, job sheet and page, against the
// set that they were drawn from. They are read side by side.
func Shown(set post.Set, file func(name string) ([]byte, bool), how Printing) []jig.Check {
	type look struct {
		id, name string
		at       func([]byte) jig.Check
	}
	looks := []look{
		{"as-printed", "proof.pdf", func(data []byte) jig.Check { return AsPrinted(data, set, how) }},
		{"as-listed", "job-sheet.pdf", func(data []byte) jig.Check { return AsListed(data, set, how) }},
		{"as-shown", "view.html", func(data []byte) jig.Check { return AsShown("view.html", data, set) }},
	}
	pictures := []string{"table.svg"}
	for _, s := range set.Sheets {
		pictures = append(pictures, fmt.Sprintf("sheet-%d.svg", s.N))
	}
	for _, name := range pictures {
		if how.Pictures {
			looks = append(looks, look{"as-shown", name, func(data []byte) jig.Check { return AsShown(name, data, set) }})
		}
	}
	out := make([]jig.Check, len(looks))
	var all sync.WaitGroup
	for i, l := range looks {
		data, ok := file(l.name)
		if !ok {
			out[i] = missing(l.id, l.name)
			continue
		}
		all.Go(func() { out[i] = l.at(data) })
	}
	all.Wait()
	return merge(out)
}

func missing(id, name string) jig.Check {
	return jig.Check{ID: id, Verdict: jig.Fail, Text: "there is no " + name}
}

// held checks that no drawing of a sheet goes out whose pieces would not fit it.
func held(name string, there bool) jig.Check {
	c := jig.Check{ID: "held", Verdict: jig.Pass, Text: name + " is held back until the sheet's thickness is measured"}
	if there {
		return failed(c, name+".dxf is drawn for a thickness that nobody has measured")
	}
	return c
}

// proveSheet proves one sheet's drawing and programs.
func proveSheet(ctx context.Context, set post.Set, i int, file func(string) ([]byte, bool)) []jig.Check {
	s := set.Sheets[i]
	name := fmt.Sprintf("sheet-%d", s.N)
	var out []jig.Check
	if data, ok := file(name + ".dxf"); set.Held(i) {
		out = append(out, held(name, ok))
	} else if ok {
		out = append(out, Drawing(data, set, i))
	} else {
		out = append(out, missing("dxf", name+".dxf"))
	}
	if set.Machine.Process == machine.Shop {
		return out
	}
	for _, suffix := range [3]string{"", "-dryrun", "-edges"} {
		id := "as-read" + suffix
		data, ok := file(name + suffix + ".nc")
		if !ok {
			out = append(out, missing(id, name+suffix+".nc"))
			continue
		}
		p, err := ReadProgram(ctx, data)
		if err != nil {
			out = append(out, jig.Check{ID: id, Verdict: jig.Fail, Text: fmt.Sprintf("%s%s.nc: %v", name, suffix, err)})
			continue
		}
		switch suffix {
		case "":
			out = append(out, AsRead(p, s.Path, set.Machine, true))
			out = append(out, cutChecks(p, set, i)...)
		case "-dryrun":
			out = append(out, AsRead(p, s.Path, set.Machine, false))
		case "-edges":
			out = append(out, Edges(p, s.Path, set.Machine))
		}
	}
	return out
}

// cutChecks judges the program as cut by the set's process.
func cutChecks(p Program, set post.Set, i int) []jig.Check {
	if set.Machine.Process == machine.Knife {
		return ByTip(p, Blading{Parts: set.Jig.Parts, Sheet: set.Sheets[i].Sheet, Knife: set.Machine.Knife, Material: set.Material})
	}
	return AsCut(p, set.Jig.Parts, set.Sheets[i].Sheet, CuttingOf(set), true)
}

// CuttingOf returns how the set's sheets are cut.
func CuttingOf(set post.Set) Cutting {
	m := set.Material
	return Cutting{
		Kerf: m.Kerf, Passes: m.Cut.Passes, Scores: m.Score.Passes, Letters: m.Letter.Passes, Ties: set.Job.Jig.Ties, TieWidth: set.Job.Jig.TieWidth,
		Power: m.Cut.Power, Score: m.Score.Power, Letter: m.Letter.Power,
	}
}

// merge makes one check of those with one id: the first that fails, else the
// one with the worst value. Order is that of first appearance.
func merge(all []jig.Check) []jig.Check {
	var out []jig.Check
	where := map[string]int{}
	count := map[string]int{}
	for _, c := range all {
		count[c.ID]++
		i, ok := where[c.ID]
		if !ok {
			where[c.ID] = len(out)
			out = append(out, c)
			continue
		}
		if out[i].Verdict != jig.Fail && (c.Verdict == jig.Fail || c.Value > out[i].Value) {
			out[i] = c
		}
	}
	for i, c := range out {
		if n := count[c.ID]; n > 1 && c.Verdict == jig.Pass && c.ID != "as-shown" {
			out[i].Text = fmt.Sprintf("%d sheets, the worst: %s", n, c.Text)
		}
		if math.IsNaN(c.Value) || math.IsInf(c.Value, 0) {
			out[i].Value, out[i].Verdict = 0, jig.Fail
		}
	}
	return out
}
