package recorded

import (
	"context"
	"fmt"

	"spotjig/post/proof"
	"spotjig/post/proof/cut"
	"spotjig/post/proof/table"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/post"
	"spotjig/post/rs274/read"
)

// Again proves a folder made earlier from its record alone: set is the record's
// (record.Record.Set), which keeps no toolpath, scores or lettering. Drawings are
// compared in outlines and openings, a laser's programs are judged as cut, the
// dry run must make the cutting program's moves, the edges program must trace the recorded
// bounds, and parts must lie on their marks. A knife's programs are compared
// with each other only: without the strokes its tip cannot be judged.
func Again(ctx context.Context, set post.Set, file func(name string) ([]byte, bool)) ([]jig.Check, error) {
	var out []jig.Check
	for i := range set.Sheets {
		out = append(out, againSheet(ctx, set, i, file)...)
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	out = append(out, table.AsAssembled(set.Jig.Parts, set.Marks, set.Checks)...)
	if data, ok := file("marks.csv"); ok {
		out = append(out, Marks(data, set.Marks))
	} else {
		out = append(out, proof.Missing("marks-csv", "marks.csv"))
	}
	return proof.Merge(out), nil
}

func againSheet(ctx context.Context, set post.Set, i int, file func(string) ([]byte, bool)) []jig.Check {
	s := set.Sheets[i]
	name := fmt.Sprintf("sheet-%d", s.N)
	var out []jig.Check
	if data, ok := file(name + ".dxf"); set.Held(i) {
		out = append(out, cut.Held(name, ok))
	} else if ok {
		out = append(out, cut.Against(data, set, i, true))
	} else {
		out = append(out, proof.Missing("dxf", name+".dxf"))
	}
	if set.Machine.Process == machine.Shop {
		return out
	}
	var programs [3]proof.Program
	for k, suffix := range [3]string{"", "-dryrun", "-edges"} {
		data, ok := file(name + suffix + ".nc")
		if !ok {
			return append(out, proof.Missing("as-read"+suffix, name+suffix+".nc"))
		}
		p, err := proof.ReadProgram(ctx, data)
		if err != nil {
			return append(out, jig.Check{ID: "as-read" + suffix, Verdict: jig.Fail, Text: fmt.Sprintf("%s%s.nc: %v", name, suffix, err)})
		}
		programs[k] = p
	}
	if set.Machine.Process == machine.Laser {
		out = append(out, cut.AsCut(programs[0], set.Jig.Parts, s.Sheet, cut.CuttingOf(set), false)...)
	}
	return append(out, sameMotion(programs[0], programs[1], s.N),
		cut.Edges(programs[2], path.Toolpath{Sheet: s.N, Bounds: s.Bounds}, set.Machine))
}

// sameMotion checks that a dry run makes the cutting program's moves in the
// plane, one for one, with nothing active.
func sameMotion(cut, dry proof.Program, n int) jig.Check {
	c := jig.Check{ID: "as-read-dryrun", Verdict: jig.Pass}
	a, b := plane(cut), plane(dry)
	if len(a) != len(b) {
		return proof.Failed(c, fmt.Sprintf("sheet %d: the dry run makes %d moves, the cutting program %d", n, len(b), len(a)))
	}
	for i, m := range b {
		if m.Turn != read.Off || m.S != 0 {
			return proof.Failed(c, fmt.Sprintf("sheet %d: line %d of the dry run: beam on", n, m.Line))
		}
		if m.Curve != a[i].Curve || m.Rapid != a[i].Rapid {
			return proof.Failed(c, fmt.Sprintf("sheet %d: line %d of the dry run is not line %d of the cutting program", n, m.Line, a[i].Line))
		}
	}
	c.Text = fmt.Sprintf("sheet %d: the dry run makes the cutting program's %d moves", n, len(a))
	return c
}

// plane are the moves that move in the plane.
func plane(p proof.Program) []*proof.Move {
	out := make([]*proof.Move, 0, len(p.Moves))
	for i := range p.Moves {
		if m := &p.Moves[i]; m.A != m.B || m.Arc {
			out = append(out, m)
		}
	}
	return out
}
